/* beam_leg.c - what the faces between two ends leave of a wave, for all lanes of a tile together.
 *
 * The loops over lanes are plain so that the compiler turns them into vector code; nothing in them depends on another lane. */
#include <string.h>

#include "radio/beam_int.h"

#define NEAR_F ((float)SCENE_NEAR_M)

/* +1 in lanes within the polygon or the tolerance of its outline, else 0: outline_holds() of scene.c. */
static RT_INLINE void polygon_holds(const struct beam_polygon *q, const float *u, const float *v, int32_t *holds)
{
    int32_t odd[BEAM_LANES] = { 0 }, near[BEAM_LANES] = { 0 };
    for (uint32_t i = 0; i < q->n; i++) {
        const struct beam_side s = q->sides[i];
#pragma omp simd
        for (int l = 0; l < BEAM_LANES; l++) {
            const float pu = u[l] - s.ax, pv = v[l] - s.ay;
            odd[l] ^= ((s.ay > v[l]) != (s.by > v[l])) & (pu < pv * s.slope);
            float t = (pu * s.dx + pv * s.dy) * s.over_length2;
            t = t < 0.0f ? 0.0f : t > 1.0f ? 1.0f : t;
            const float ru = pu - t * s.dx, rv = pv - t * s.dy;
            near[l] |= ru * ru + rv * rv <= q->tolerance2_m2;
        }
    }
    for (int l = 0; l < BEAM_LANES; l++)
        holds[l] = odd[l] | near[l];
}

static RT_INLINE void face_rows(const struct beam_face *f, const struct beam_points *at, int32_t rows[BEAM_LANES])
{
    float u[BEAM_LANES], v[BEAM_LANES];
    const struct beam_vec fu = f->u, fv = f->v;
    const float ou = f->ou, ov = f->ov, u0 = f->u0, u1 = f->u1, v0 = f->v0, v1 = f->v1;
    const int32_t row = f->row;
    int32_t any = 0;
#pragma omp simd reduction(| : any)
    for (int l = 0; l < BEAM_LANES; l++) {
        u[l] = at->x[l] * fu.x + at->y[l] * fu.y + at->z[l] * fu.z - ou;
        v[l] = at->x[l] * fv.x + at->y[l] * fv.y + at->z[l] * fv.z - ov;
        const int32_t in = (u[l] >= u0) & (u[l] <= u1) & (v[l] >= v0) & (v[l] <= v1);
        rows[l] = in ? row : -1;
        any |= in;
    }
    if (!any)
        return;
    int32_t holds[BEAM_LANES];
    if (f->outline.n) {
        polygon_holds(&f->outline, u, v, holds);
        for (int l = 0; l < BEAM_LANES; l++)
            rows[l] = holds[l] ? rows[l] : -1;
    }
    for (uint32_t i = 0; i < f->n_cuts; i++) {
        polygon_holds(&f->cuts[i], u, v, holds);
        for (int l = 0; l < BEAM_LANES; l++)
            rows[l] = holds[l] ? -1 : rows[l];
    }
    for (uint32_t i = f->n_patches; i-- > 0;) { /* backwards: the first one listed wins */
        const struct beam_patch q = f->patches[i];
#pragma omp simd
        for (int l = 0; l < BEAM_LANES; l++) {
            const int32_t in = (u[l] > q.u0) & (u[l] < q.u1) & (v[l] > q.v0) & (v[l] < q.v1) & (rows[l] >= 0);
            rows[l] = in ? q.row : rows[l];
        }
    }
}

RT_WIDE void beam_face_rows(const struct beam_face *f, const struct beam_points *at, int32_t rows[BEAM_LANES])
{
    face_rows(f, at, rows);
}

static RT_INLINE void widen(const float *v, float *low, float *high)
{
    float least = v[0], most = v[0];
    for (int l = 1; l < BEAM_LANES; l++) {
        least = v[l] < least ? v[l] : least;
        most = v[l] > most ? v[l] : most;
    }
    *low = least;
    *high = most;
}

RT_WIDE void beam_end_init(const struct beam_scene *bs, const struct beam_points *at, bool is_bounce,
                           struct beam_end *out)
{
    float *box = out->box;
    out->at = at;
    out->is_bounce = is_bounce;
    /* A bounce that lies in a plane counts as before it: end_side_m() of trace.c.  Twice the width, for rounding. */
    const float touch = is_bounce ? 2.0f * NEAR_F : 0.0f;
    widen(at->x, &box[0], &box[3]);
    widen(at->y, &box[1], &box[4]);
    widen(at->z, &box[2], &box[5]);
    const float x = 0.5f * (box[0] + box[3]), y = 0.5f * (box[1] + box[4]), z = 0.5f * (box[2] + box[5]);
    const float dx = box[3] - x, dy = box[4] - y, dz = box[5] - z;
    for (uint32_t k = 0; k < bs->n_padded; k += 16) {
        const float *nx = bs->nx + k, *ny = bs->ny + k, *nz = bs->nz + k, *d = bs->d + k;
        float *low = out->low_m + k, *high = out->high_m + k;
        for (int i = 0; i < 16; i++) {
            const float side = x * nx[i] + y * ny[i] + z * nz[i] - d[i];
            const float reach = dx * fabsf(nx[i]) + dy * fabsf(ny[i]) + dz * fabsf(nz[i]);
            low[i] = side - reach;
            high[i] = side + reach + touch;
        }
    }
}

/* Marks the planes that some lane's leg may cross: ends on either side. */
static RT_INLINE void mark_planes(const struct beam_scene *bs, const struct beam_end *a, const struct beam_end *b,
                                  uint8_t *between)
{
    for (uint32_t k = 0; k < bs->n_padded; k += 16) {
        const float *a_low = a->low_m + k, *a_high = a->high_m + k, *b_low = b->low_m + k, *b_high = b->high_m + k;
        int32_t is_between[16];
        for (int i = 0; i < 16; i++) {
            const float low = a_low[i] < b_low[i] ? a_low[i] : b_low[i];
            const float high = a_high[i] > b_high[i] ? a_high[i] : b_high[i];
            is_between[i] = (low <= -NEAR_F) & (high >= NEAR_F);
        }
        for (int i = 0; i < 16; i++)
            between[k + (uint32_t)i] = (uint8_t)is_between[i];
    }
}

struct leg {
    struct beam_points way; /* from a to b, not of length 1 */
    float over_length[BEAM_LANES];
};

static RT_INLINE void pass_face(const struct beam_antenna *an, const struct beam_face *f, const int32_t *rows,
                                const float *cos_incidence, beam_f4 *power, struct beam_complex *phase)
{
    for (int l = 0; l < BEAM_LANES; l++) {
        if (rows[l] < 0)
            continue;
        const struct beam_node node = beam_node_of(cos_incidence[l]);
        beam_f4 pass = beam_look_up(an->pass, rows[l], node);
        if (f->is_half)
            pass = beam_f4_sqrt(pass);
        power[l] *= pass;
        if (phase) {
            struct beam_c4 turn = { beam_look_up(an->pass_re, rows[l], node),
                                    beam_look_up(an->pass_im, rows[l], node) };
            if (f->is_half)
                turn = beam_half_turn(turn);
            turn = beam_times((struct beam_c4){ phase->re[l], phase->im[l] }, turn);
            phase->re[l] = turn.re;
            phase->im[l] = turn.im;
        }
    }
}

/* Lanes whose leg crosses the face, and in which row of the tables; then the face's toll. */
static RT_INLINE void cross_face(const struct beam_work *w, const struct beam_face *f, const struct beam_end *from,
                                 const struct beam_end *to, const struct leg *leg, beam_f4 *power,
                                 struct beam_complex *phase)
{
    const struct beam_scene *bs = w->bs;
    const struct beam_points *a = from->at, *b = to->at;
    const float from_touch = from->is_bounce ? NEAR_F : 0.0f, to_touch = to->is_bounce ? NEAR_F : 0.0f;
    const float nx = bs->nx[f->plane], ny = bs->ny[f->plane], nz = bs->nz[f->plane], d = bs->d[f->plane];
    struct beam_points x;
    float cos_incidence[BEAM_LANES];
    int32_t crosses[BEAM_LANES], rows[BEAM_LANES], any = 0;
#pragma omp simd reduction(| : any)
    for (int l = 0; l < BEAM_LANES; l++) {
        const float flat_a = a->x[l] * nx + a->y[l] * ny + a->z[l] * nz - d;
        const float flat_b = b->x[l] * nx + b->y[l] * ny + b->z[l] * nz - d;
        const float side_a = fabsf(flat_a) < from_touch ? NEAR_F : flat_a;
        const float side_b = fabsf(flat_b) < to_touch ? NEAR_F : flat_b;
        crosses[l] = ((side_a > 0.0f) != (side_b > 0.0f)) & (fabsf(side_a) >= NEAR_F) & (fabsf(side_b) >= NEAR_F);
        const float gap = side_a - side_b;
        const float t = side_a / (crosses[l] ? gap : 1.0f);
        x.x[l] = a->x[l] + t * leg->way.x[l];
        x.y[l] = a->y[l] + t * leg->way.y[l];
        x.z[l] = a->z[l] + t * leg->way.z[l];
        cos_incidence[l] = fabsf(gap) * leg->over_length[l];
        any |= crosses[l];
    }
    if (!any)
        return;
    face_rows(f, &x, rows);
    for (int l = 0; l < BEAM_LANES; l++)
        rows[l] = crosses[l] ? rows[l] : -1;
    pass_face(w->antenna, f, rows, cos_incidence, power, phase);
}

RT_WIDE void beam_leg(const struct beam_work *w, const struct beam_end *a, const struct beam_end *b,
                      const uint32_t *without, uint32_t n_without, beam_f4 power[BEAM_LANES],
                      struct beam_complex *phase)
{
    const struct beam_scene *bs = w->bs;
    struct leg leg;
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float x = b->at->x[l] - a->at->x[l], y = b->at->y[l] - a->at->y[l], z = b->at->z[l] - a->at->z[l];
        const float length2 = x * x + y * y + z * z;
        leg.way.x[l] = x;
        leg.way.y[l] = y;
        leg.way.z[l] = z;
        leg.over_length[l] = 1.0f / sqrtf(length2 > 1e-18f ? length2 : 1e-18f);
    }
    mark_planes(bs, a, b, w->between);
    for (uint32_t k = 0; k < n_without; k++)
        w->between[without[k]] = 0;
    float box[6];
    for (int k = 0; k < 3; k++) {
        box[k] = a->box[k] < b->box[k] ? a->box[k] : b->box[k];
        box[3 + k] = a->box[3 + k] > b->box[3 + k] ? a->box[3 + k] : b->box[3 + k];
    }
    for (uint32_t i = 0; i < bs->n_faces_padded; i += 16) {
        const float *x0 = bs->box[0] + i, *y0 = bs->box[1] + i, *z0 = bs->box[2] + i;
        const float *x1 = bs->box[3] + i, *y1 = bs->box[4] + i, *z1 = bs->box[5] + i;
        _Alignas(16) uint8_t near[16];
        int32_t is_near[16];
        for (int k = 0; k < 16; k++)
            is_near[k] = (x0[k] <= box[3]) & (x1[k] >= box[0]) & (y0[k] <= box[4]) & (y1[k] >= box[1]) &
                         (z0[k] <= box[5]) & (z1[k] >= box[2]);
        for (int k = 0; k < 16; k++)
            near[k] = (uint8_t)is_near[k];
        for (uint32_t half = 0; half < 2; half++) {
            uint64_t bits;
            memcpy(&bits, near + 8 * half, sizeof bits);
            for (; bits; bits &= bits - 1) {
                const struct beam_face *f = &bs->faces[i + 8 * half + (uint32_t)__builtin_ctzll(bits) / 8];
                if (w->between[f->plane])
                    cross_face(w, f, a, b, &leg, power, phase);
            }
        }
    }
}

/* beam_leg.c - what the faces between two ends leave of a wave, for all lanes of a tile together.
 *
 * The loops over lanes are plain so that the compiler turns them into vector code; nothing in them depends on another lane. */
#include "radio/beam_int.h"

#define NEAR_F ((float)SCENE_NEAR_M)

/* More than any rounding of coordinates. */
#define ROUNDING_M 1e-3f

/* +1 in lanes within the polygon, in `near` in those within the tolerance of its outline, else 0: outline_holds() of scene.c. */
static RT_INLINE void polygon_holds(const struct beam_polygon *q, const float *u, const float *v, int32_t *odd,
                                    int32_t *near)
{
    for (int l = 0; l < BEAM_LANES; l++)
        odd[l] = near[l] = 0;
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
}

/* Rows of the tables where the lanes meet the face, -1 where they miss it; returns the bits of those that do not. */
static RT_INLINE uint32_t face_rows(const struct beam_face *f, const struct beam_points *at, int32_t rows[BEAM_LANES])
{
    float u[BEAM_LANES], v[BEAM_LANES];
    const struct beam_vec fu = f->u, fv = f->v;
    const float ou = f->ou, ov = f->ov, u0 = f->u0, u1 = f->u1, v0 = f->v0, v1 = f->v1;
    const int32_t row = f->row;
    int32_t any = 0;
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        u[l] = at->x[l] * fu.x + at->y[l] * fu.y + at->z[l] * fu.z - ou;
        v[l] = at->x[l] * fv.x + at->y[l] * fv.y + at->z[l] * fv.z - ov;
    }
#pragma omp simd reduction(| : any)
    for (int l = 0; l < BEAM_LANES; l++) {
        const int32_t in = -((u[l] >= u0) & (u[l] <= u1) & (v[l] >= v0) & (v[l] <= v1));
        rows[l] = (row & in) | ~in; /* -1 outside */
        any |= in;
    }
    if (!any)
        return 0;
    int32_t holds[BEAM_LANES], near[BEAM_LANES];
    if (f->outline.n) {
        polygon_holds(&f->outline, u, v, holds, near);
        for (int l = 0; l < BEAM_LANES; l++)
            rows[l] = holds[l] | near[l] ? rows[l] : -1;
    }
    for (uint32_t i = 0; i < f->n_cuts; i++) {
        polygon_holds(&f->cuts[i], u, v, holds, near);
        for (int l = 0; l < BEAM_LANES; l++)
            rows[l] = holds[l] & ~near[l] ? -1 : rows[l];
    }
    for (uint32_t i = f->n_patches; i-- > 0;) { /* backwards: the first one listed wins */
        const struct beam_patch q = f->patches[i];
#pragma omp simd
        for (int l = 0; l < BEAM_LANES; l++) {
            const int32_t in = -((u[l] > q.u0) & (u[l] < q.u1) & (v[l] > q.v0) & (v[l] < q.v1) & (rows[l] >= 0));
            rows[l] = (q.row & in) | (rows[l] & ~in);
        }
    }
    uint32_t bits = 0;
#pragma omp simd reduction(| : bits)
    for (int l = 0; l < BEAM_LANES; l++)
        bits |= (uint32_t)(rows[l] >= 0) << l;
    return bits;
}

RT_WIDE uint32_t beam_face_rows(const struct beam_face *f, const struct beam_points *at, int32_t rows[BEAM_LANES])
{
    return face_rows(f, at, rows);
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

RT_WIDE void beam_end_init(const struct beam_scene *bs, const struct beam_points *at, int n_before,
                           struct beam_end *out)
{
    float *box = out->box;
    out->at = at;
    out->n_before = n_before;
    /* A bounce that lies in a plane may be on either side of it: side_before().  Twice the width, for rounding. */
    const float touch = n_before ? 2.0f * NEAR_F : 0.0f;
    widen(at->x, &box[0], &box[3]);
    widen(at->y, &box[1], &box[4]);
    widen(at->z, &box[2], &box[5]);
    const float x = 0.5f * (box[0] + box[3]), y = 0.5f * (box[1] + box[4]), z = 0.5f * (box[2] + box[5]);
    const float dx = box[3] - x, dy = box[4] - y, dz = box[5] - z;
    for (uint32_t k = 0; k < bs->n_padded; k += 16) {
        const float *nx = bs->nx + k, *ny = bs->ny + k, *nz = bs->nz + k, *d = bs->d + k;
        float *low = out->low_m + k, *high = out->high_m + k;
#pragma omp simd
        for (int i = 0; i < 16; i++) {
            const float side = x * nx[i] + y * ny[i] + z * nz[i] - d[i];
            const float reach = dx * fabsf(nx[i]) + dy * fabsf(ny[i]) + dz * fabsf(nz[i]);
            low[i] = side - reach - touch;
            high[i] = side + reach + touch;
        }
    }
}

/* Marks the planes that some lane's leg may cross: ends on either side. */
static RT_INLINE void mark_planes(const struct beam_scene *bs, const struct beam_end *a, const struct beam_end *b,
                                  int32_t *between)
{
    for (uint32_t k = 0; k < bs->n_padded; k += 16) {
        const float *a_low = a->low_m + k, *a_high = a->high_m + k, *b_low = b->low_m + k, *b_high = b->high_m + k;
        int32_t *out = between + k;
#pragma omp simd
        for (int i = 0; i < 16; i++) {
            const float low = a_low[i] < b_low[i] ? a_low[i] : b_low[i];
            const float high = a_high[i] > b_high[i] ? a_high[i] : b_high[i];
            out[i] = (low <= -NEAR_F) & (high >= NEAR_F);
        }
    }
}

/* The hull of the lanes' legs: the box about them and, in plan, the strip along the line between the middles of the ends. */
struct hull {
    float box[6];
    float x, y, dx, dy, wide;           /* wide: half the strip's width times the length of (dx, dy) */
    beam_f4 low, high, to_low, to_high; /* the box about the starts, and the ways from it to the one about the ends */
};

static RT_INLINE struct hull hull_of(const struct beam_end *a, const struct beam_end *b)
{
    struct hull h;
    for (int k = 0; k < 3; k++) {
        h.box[k] = a->box[k] < b->box[k] ? a->box[k] : b->box[k];
        h.box[3 + k] = a->box[3 + k] > b->box[3 + k] ? a->box[3 + k] : b->box[3 + k];
        h.low[k] = a->box[k] - ROUNDING_M;
        h.high[k] = a->box[3 + k] + ROUNDING_M;
        h.to_low[k] = b->box[k] - a->box[k];
        h.to_high[k] = b->box[3 + k] - a->box[3 + k];
    }
    h.x = 0.5f * (a->box[0] + a->box[3]);
    h.y = 0.5f * (a->box[1] + a->box[4]);
    h.dx = 0.5f * (b->box[0] + b->box[3]) - h.x;
    h.dy = 0.5f * (b->box[1] + b->box[4]) - h.y;
    const float dx = fabsf(h.dx), dy = fabsf(h.dy);
    const float wide_a = (a->box[3] - a->box[0]) * dy + (a->box[4] - a->box[1]) * dx;
    const float wide_b = (b->box[3] - b->box[0]) * dy + (b->box[4] - b->box[1]) * dx;
    h.wide = 0.5f * (wide_a > wide_b ? wide_a : wide_b) + ROUNDING_M * (dx + dy);
    return h;
}

/* Bits of those of 16 faces that the hull may meet. */
static RT_INLINE uint32_t faces_in(const struct beam_scene *bs, const struct hull *h, uint32_t first)
{
    const float *x0 = bs->box[0] + first, *y0 = bs->box[1] + first, *z0 = bs->box[2] + first;
    const float *x1 = bs->box[3] + first, *y1 = bs->box[4] + first, *z1 = bs->box[5] + first;
    const float *ax = bs->plan[0] + first, *ay = bs->plan[1] + first, *bx = bs->plan[2] + first,
                *by = bs->plan[3] + first, *slack = bs->plan[4] + first;
    uint32_t bits = 0;
#pragma omp simd reduction(| : bits)
    for (uint32_t i = 0; i < 16; i++) {
        const float from = (ay[i] - h->y) * h->dx - (ax[i] - h->x) * h->dy;
        const float to = (by[i] - h->y) * h->dx - (bx[i] - h->x) * h->dy;
        const float least = from < to ? from : to, most = from > to ? from : to, wide = h->wide + slack[i];
        const uint32_t near =
            (uint32_t)((x0[i] <= h->box[3]) & (x1[i] >= h->box[0]) & (y0[i] <= h->box[4]) & (y1[i] >= h->box[1]) &
                       (z0[i] <= h->box[5]) & (z1[i] >= h->box[2]) & (least <= wide) & (most >= -wide));
        bits |= near << i;
    }
    return bits;
}

/* Any of three differences, x, y, z, both below 0. */
static RT_INLINE bool any_below(beam_f4 a, beam_f4 b)
{
    const beam_f4 larger = beam_f4_most(a, b);
    return beam_less(beam_less(larger[0], larger[1]), larger[2]) < 0.0f;
}

/* False only if no lane's leg can meet the face's plane within the box about the face. */
static RT_INLINE bool may_meet(const struct beam_scene *bs, uint32_t face, uint32_t plane, const struct beam_end *a,
                               const struct beam_end *b, const struct hull *h)
{
    const float a0 = a->low_m[plane], a1 = a->high_m[plane], b0 = b->low_m[plane], b1 = b->high_m[plane];
    const bool falls = a0 > 0.0f && b1 < 0.0f;
    if (!falls && !(a1 < 0.0f && b0 > 0.0f))
        return true; /* some end may lie in the plane */
    /* Least and most share of the way before the plane: by how far the start is from it, and the end. */
    const float t0 = falls ? a0 / (a0 - b0) : a1 / (a1 - b1), t1 = falls ? a1 / (a1 - b1) : a0 / (a0 - b0);
    const beam_f4 low = bs->low[face], high = bs->high[face];
    return !any_below(high - h->low - t0 * h->to_low, high - h->low - t1 * h->to_low) &&
           !any_below(h->high + t0 * h->to_high - low, h->high + t1 * h->to_high - low);
}

struct leg {
    struct beam_points way; /* from a to b, not of length 1 */
    float over_length[BEAM_LANES];
};

/* The side of a plane on which a leg starts that starts in it: that of the path's points before, or none (crosses() of trace.c). */
static float side_before(const struct beam_scene *bs, uint32_t plane, const struct beam_end *end, int l)
{
    const struct beam_vec n = { bs->nx[plane], bs->ny[plane], bs->nz[plane] };
    for (int i = 1; i <= end->n_before; i++) {
        const float side = beam_vec_dot(beam_lane(end->at - i, l), n) - bs->d[plane];
        if (fabsf(side) >= NEAR_F)
            return side;
    }
    return 0.0f;
}

/* Lanes that start in the plane cross it right there, if they do. */
static uint32_t cross_at_start(const struct beam_scene *bs, uint32_t plane, const struct beam_end *from,
                               const float *side_b, uint32_t lanes, struct beam_points *x)
{
    uint32_t bits = 0;
    for (; lanes; lanes &= lanes - 1) {
        const int l = __builtin_ctz(lanes);
        const float side = side_before(bs, plane, from, l);
        bits |= (uint32_t)((side * side_b[l] < 0.0f) & (fabsf(side_b[l]) >= NEAR_F)) << l;
        x->x[l] = from->at->x[l];
        x->y[l] = from->at->y[l];
        x->z[l] = from->at->z[l];
    }
    return bits;
}

/* Where the lanes' legs meet the face's plane, and at what angle; returns the bits of the lanes that cross the plane there. */
static RT_INLINE uint32_t meet_plane(const struct beam_scene *bs, uint32_t plane, const struct beam_end *from,
                                     const struct beam_end *to, const struct leg *leg, struct beam_points *x,
                                     float *cos_incidence)
{
    const struct beam_points *a = from->at, *b = to->at;
    const float nx = bs->nx[plane], ny = bs->ny[plane], nz = bs->nz[plane], d = bs->d[plane];
    float side_a[BEAM_LANES], side_b[BEAM_LANES];
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        side_a[l] = a->x[l] * nx + a->y[l] * ny + a->z[l] * nz - d;
        side_b[l] = b->x[l] * nx + b->y[l] * ny + b->z[l] * nz - d;
    }
    uint32_t bits = 0, starts_in = 0;
#pragma omp simd reduction(| : bits, starts_in)
    for (int l = 0; l < BEAM_LANES; l++) {
        /* on either side of it, and neither end in it */
        const uint32_t in = (uint32_t)(fabsf(side_a[l]) < NEAR_F);
        const uint32_t crosses = (uint32_t)((side_a[l] * side_b[l] < 0.0f) & (fabsf(side_b[l]) >= NEAR_F)) & ~in;
        bits |= crosses << l;
        starts_in |= in << l;
    }
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float gap = side_a[l] - side_b[l];
        const float t = side_a[l] * gap / (gap * gap + 1e-30f); /* a number even in lanes that do not cross */
        x->x[l] = a->x[l] + t * leg->way.x[l];
        x->y[l] = a->y[l] + t * leg->way.y[l];
        x->z[l] = a->z[l] + t * leg->way.z[l];
        cos_incidence[l] = fabsf(gap) * leg->over_length[l];
    }
    if (starts_in && from->n_before)
        bits |= cross_at_start(bs, plane, from, side_b, starts_in, x);
    return bits;
}

enum { ALL_LANES = (1 << BEAM_LANES) - 1 };

/* What the face leaves in those lanes. */
static RT_INLINE void pass_face(const struct beam_antenna *an, const int32_t *rows, uint32_t lanes,
                                const float *cos_incidence, beam_f4 *power, struct beam_complex *phase)
{
    int32_t at[BEAM_LANES];
    float share[BEAM_LANES];
    const beam_f4 *pass = an->pass;
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        /* as wall_angle_of() */
        const float c = cos_incidence[l] > 1.0f ? 1.0f : cos_incidence[l];
        const float u = sqrtf(c) * (float)(WALL_TABLE_NODES - 1);
        const int32_t i = (int32_t)u, node = i < WALL_TABLE_NODES - 2 ? i : WALL_TABLE_NODES - 2;
        at[l] = rows[l] * WALL_TABLE_NODES + node;
        share[l] = u - (float)node;
    }
    if (lanes == ALL_LANES && !phase) { /* most of them, and without bits to be asked the fastest */
        for (int l = 0; l < BEAM_LANES; l++) {
            const beam_f4 *n = pass + at[l];
            power[l] *= n[0] + share[l] * (n[1] - n[0]);
        }
        return;
    }
    for (; lanes; lanes &= lanes - 1) {
        const int l = __builtin_ctz(lanes);
        const beam_f4 *n = pass + at[l];
        power[l] *= n[0] + share[l] * (n[1] - n[0]);
        if (phase) {
            const struct beam_c4 turn = beam_times((struct beam_c4){ phase->re[l], phase->im[l] },
                                                   beam_between(an->pass_phase + at[l], share[l]));
            phase->re[l] = turn.re;
            phase->im[l] = turn.im;
        }
    }
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
    const struct hull hull = hull_of(a, b);
    for (uint32_t i = 0; i < bs->n_faces_padded; i += 16)
        for (uint32_t faces = faces_in(bs, &hull, i); faces; faces &= faces - 1) {
            const uint32_t face = i + (uint32_t)__builtin_ctz(faces);
            const struct beam_face *f = &bs->faces[face];
            if (!w->between[f->plane] || !may_meet(bs, face, f->plane, a, b, &hull))
                continue;
            struct beam_points x;
            float cos_incidence[BEAM_LANES];
            int32_t rows[BEAM_LANES];
            const uint32_t crossing = meet_plane(bs, f->plane, a, b, &leg, &x, cos_incidence);
            const uint32_t lanes = crossing ? crossing & face_rows(f, &x, rows) : 0;
            if (lanes)
                pass_face(w->antenna, rows, lanes, cos_incidence, power, phase);
        }
}

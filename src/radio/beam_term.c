/* beam_term.c - the waves that one edge bends to the lanes of a tile: trace_edge.c in single precision.
 *
 * The loops over lanes are plain so that the compiler turns them into vector code: no branch in them, and no lane asks for
 * another.  Only looking up in the tables goes lane by lane, for all radios at once. */
#include "radio/beam_term.h"

#include "radio/beam_bent.h"
#include "radio/beam_int.h"

#define NEAR_F ((float)SCENE_NEAR_M)
#define NEAREST_F ((float)TRACE_NEAREST_M)
/* As in trace_edge.c. */
#define GLANCE 0.02f

/* Ways to the edge as from a term's image. */
static RT_INLINE void find_arriving(const struct beam_term *t, const struct beam_ways *ways, struct beam_points *out)
{
    const struct beam_vec n = t->n; /* 0 for the direct term */
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float twice = 2.0f * (ways->in.x[l] * n.x + ways->in.y[l] * n.y + ways->in.z[l] * n.z);
        out->x[l] = ways->in.x[l] - twice * n.x;
        out->y[l] = ways->in.y[l] - twice * n.y;
        out->z[l] = ways->in.z[l] - twice * n.z;
    }
}

/* Sine and cosine of the angle about the edge by which the ways turn there. */
static RT_INLINE void find_angles(struct beam_vec axis, const struct beam_points *arriving,
                                  const struct beam_ways *ways, float *sine, float *cosine)
{
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float ix = arriving->x[l], iy = arriving->y[l], iz = arriving->z[l];
        const float ox = ways->out.x[l], oy = ways->out.y[l], oz = ways->out.z[l];
        const float ia = ix * axis.x + iy * axis.y + iz * axis.z, oa = ox * axis.x + oy * axis.y + oz * axis.z;
        const float px = ix - ia * axis.x, py = iy - ia * axis.y, pz = iz - ia * axis.z;
        const float qx = ox - oa * axis.x, qy = oy - oa * axis.y, qz = oz - oa * axis.z;
        const float size2 = (px * px + py * py + pz * pz) * (qx * qx + qy * qy + qz * qz);
        const float over = 1.0f / sqrtf(size2 > 1e-24f ? size2 : 1e-24f);
        cosine[l] = (px * qx + py * qy + pz * qz) * over;
        sine[l] = (axis.x * (py * qz - pz * qy) + axis.y * (pz * qx - px * qz) + axis.z * (px * qy - py * qx)) * over;
    }
}

static RT_INLINE void find_windows(const struct beam_work *w, struct beam_vec image, const struct beam_points *arriving,
                                   const struct beam_ways *ways, struct beam_reach *out)
{
    const struct beam_points *at = &w->at;
    float most = 0.0f;
#pragma omp simd reduction(max : most)
    for (int l = 0; l < BEAM_LANES; l++) {
        const float wx = at->x[l] - image.x, wy = at->y[l] - image.y, wz = at->z[l] - image.z;
        const float straight2 = wx * wx + wy * wy + wz * wz;
        const float over = 1.0f / sqrtf(straight2 > 1e-12f ? straight2 : 1e-12f);
        const float ox = wx * over - ways->out.x[l], oy = wy * over - ways->out.y[l], oz = wz * over - ways->out.z[l];
        const float ix = wx * over - arriving->x[l], iy = wy * over - arriving->y[l], iz = wz * over - arriving->z[l];
        const float window = ways->is_bent[l] * beam_window(ox * ox + oy * oy + oz * oz + ix * ix + iy * iy + iz * iz);
        out->window[l] = window;
        most = window > most ? window : most;
    }
    out->any_window = most > 0.0f;
}

/* What find_reach() has on the way. */
struct turning {
    struct beam_points arriving;
    float sine[BEAM_LANES], cosine[BEAM_LANES];
};

static RT_INLINE void find_reach(const struct beam_work *w, const struct beam_edge *e, const struct beam_edge_in *in,
                                 const struct beam_term *t, const struct beam_ways *ways, struct turning *turning,
                                 struct beam_reach *out)
{
    const float flat_in = in->flat_m;
    find_arriving(t, ways, &turning->arriving);
    find_angles(e->axis, &turning->arriving, ways, turning->sine, turning->cosine);
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        /* 1 - c loses its digits near 0 */
        const float c = turning->cosine[l], s = turning->sine[l], near = s * s / (1.0f + fabsf(c));
        const float bending = c > 0.0f ? near : 1.0f - c;
        out->reach_m[l] = flat_in * ways->flat_out_m[l] / ways->length_m[l] * bending;
    }
    find_windows(w, t->image, &turning->arriving, ways, out);
}

RT_WIDE void beam_find_reach(const struct beam_work *w, const struct beam_edge *e, const struct beam_edge_in *in,
                             const struct beam_term *t, const struct beam_ways *ways, struct beam_reach *out)
{
    struct turning turning;
    find_reach(w, e, in, t, ways, &turning, out);
}

/* How the ways turn in one term. */
struct turns {
    struct beam_reach to;
    struct beam_points half_way; /* of length 1, between arriving (as from the image) and leaving */
    float sign[BEAM_LANES];      /* +1 turned to the left */
    uint32_t on_line;            /* bits of lanes whose straight path runs over the edge's line */
    float where_m[BEAM_LANES];   /* along the edge, for its share; where any_window */
};

/* Where a straight way meets the screen's plane: meets_m() of trace_edge.c. */
static RT_INLINE void find_where(const struct beam_work *w, const struct beam_edge *e, const struct beam_term *t,
                                 const struct beam_ways *ways, struct turns *out)
{
    const struct beam_scene *bs = w->bs;
    const struct beam_points *at = &w->at;
    const struct beam_vec axis = e->axis, image = t->image, from = e->from;
    const float nx = bs->nx[t->plane], ny = bs->ny[t->plane], nz = bs->nz[t->plane], d = bs->d[t->plane];
    const float image_side = image.x * nx + image.y * ny + image.z * nz - d;
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float wx = at->x[l] - image.x, wy = at->y[l] - image.y, wz = at->z[l] - image.z;
        const float straight2 = wx * wx + wy * wy + wz * wz;
        const float side = at->x[l] * nx + at->y[l] * ny + at->z[l] * nz - d, gap = image_side - side;
        const float meets = (float)(((image_side > 0.0f) ^ (side > 0.0f)) & (gap * gap >= GLANCE * GLANCE * straight2));
        const float k = image_side * gap / (gap * gap + 1e-20f); /* a number even where it is not asked for */
        const float met = (image.x + k * wx - from.x) * axis.x + (image.y + k * wy - from.y) * axis.y +
                          (image.z + k * wz - from.z) * axis.z;
        out->where_m[l] = ways->where_m[l] + meets * out->to.window[l] * (met - ways->where_m[l]);
    }
}

RT_WIDE static void find_turns(const struct beam_work *w, const struct beam_edge *e, const struct beam_edge_in *in,
                               const struct beam_term *t, const struct beam_ways *ways, struct turns *out)
{
    const float flat_in = in->flat_m;
    struct turning turning;
    uint32_t on_line = 0;
    find_reach(w, e, in, t, ways, &turning, &out->to);
#pragma omp simd reduction(| : on_line)
    for (int l = 0; l < BEAM_LANES; l++) {
        const float c = turning.cosine[l], s = turning.sine[l];
        out->sign[l] = s > 0.0f ? 1.0f : -1.0f;
        const float flat = flat_in + ways->flat_out_m[l], apart = flat_in * ways->flat_out_m[l] * fabsf(s);
        on_line |= (uint32_t)((c > 0.0f) & (apart < (float)SCENE_JOIN_M * flat)) << l;
    }
    out->on_line = on_line;
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float hx = turning.arriving.x[l] + ways->out.x[l], hy = turning.arriving.y[l] + ways->out.y[l],
                    hz = turning.arriving.z[l] + ways->out.z[l];
        const float half2 = hx * hx + hy * hy + hz * hz, over_half = 1.0f / sqrtf(half2 > 1e-12f ? half2 : 1e-12f);
        out->half_way.x[l] = hx * over_half;
        out->half_way.y[l] = hy * over_half;
        out->half_way.z[l] = hz * over_half;
    }
    if (out->to.any_window) /* else nobody asks for its place */
        find_where(w, e, t, ways, out);
}

/* ---- what an amplitude jumps by from one side of the edge to the other ---- */

/* Places in the tables for ways that cross a plane of normal n. */
static RT_INLINE void find_places(const struct beam_points *way, struct beam_vec n, struct beam_places *out)
{
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        /* as wall_angle_of() */
        const float c = fabsf(way->x[l] * n.x + way->y[l] * n.y + way->z[l] * n.z), most = c < 1.0f ? c : 1.0f;
        const float u = sqrtf(most) * (float)(WALL_TABLE_NODES - 1);
        const int32_t i = (int32_t)u, node = i < WALL_TABLE_NODES - 2 ? i : WALL_TABLE_NODES - 2;
        out->node[l] = node;
        out->share[l] = u - (float)node;
    }
}

static RT_INLINE beam_f4 between(const beam_f4 *n, float share) { return n[0] + share * (n[1] - n[0]); }

static RT_INLINE void multiply(struct beam_c4 *a, struct beam_c4 b) { *a = beam_times(*a, b); }

/* Multiplies the lanes' amplitudes by what the screen passes of their ways. */
static RT_INLINE void pass_screen(const struct beam_antenna *an, const struct beam_screen *s,
                                  const struct beam_points *way, uint32_t lanes, struct beam_c4 *amplitude)
{
    if (!lanes)
        return;
    struct beam_places at;
    find_places(way, s->n, &at);
    for (; lanes; lanes &= lanes - 1) {
        const int l = __builtin_ctz(lanes);
        const size_t i = (size_t)(s->row * WALL_TABLE_NODES + at.node[l]);
        const beam_f4 size = beam_f4_sqrt(between(an->pass + i, at.share[l]));
        const struct beam_c4 phase = beam_between(an->pass_phase + i, at.share[l]);
        multiply(&amplitude[l], (struct beam_c4){ size * phase.re, size * phase.im });
    }
}

/* The lanes whose ways have a screen on their left: is_on_left() of trace_edge.c. */
static RT_INLINE uint32_t on_left(const struct turns *turns, const struct beam_edge *e, uint32_t screen)
{
    const struct beam_screen *const s = &e->screens[screen], *first = s->behind == NO_REF ? s : &e->screens[s->behind];
    const struct beam_vec left = beam_vec_cross(first->along, e->axis);
    const struct beam_points *way = &turns->half_way;
    uint32_t bits = 0;
#pragma omp simd reduction(| : bits)
    for (int l = 0; l < BEAM_LANES; l++)
        bits |= (uint32_t)(way->x[l] * left.x + way->y[l] * left.y + way->z[l] * left.z >
                           (float)TRACE_ALONG * turns->sign[l])
                << l;
    return first == s ? bits : ~bits;
}

enum { ALL_LANES = (1 << BEAM_LANES) - 1 };

static RT_INLINE void set_all(struct beam_c4 *amplitude, float to)
{
    for (int l = 0; l < BEAM_LANES; l++)
        amplitude[l] = (struct beam_c4){ beam_f4_all(to), beam_f4_all(0.0f) };
}

/* Amplitudes of the path that passes left, and right, of the edge. */
struct sides {
    struct beam_c4 left[BEAM_LANES], right[BEAM_LANES];
};

RT_WIDE static void find_direct_sides(const struct beam_antenna *an, const struct beam_edge *e,
                                      const struct turns *turns, uint32_t lanes, struct sides *out)
{
    set_all(out->left, 1.0f);
    set_all(out->right, 1.0f);
    for (uint32_t i = 0; i < e->n_screens; i++) {
        const uint32_t left = on_left(turns, e, i);
        pass_screen(an, &e->screens[i], &turns->half_way, lanes & left, out->left);
        pass_screen(an, &e->screens[i], &turns->half_way, lanes & ~left, out->right);
    }
}

/* What is left of the lanes' amplitudes by the screens, other than those of one plane, that a leg meets which starts beside
 * the edge, a small step along `beside`, and runs off along `way`: pass_beside() of trace_edge.c.  `sign`: of the way. */
static RT_INLINE void pass_beside(const struct beam_antenna *an, const struct beam_edge *e, uint32_t plane,
                                  struct beam_vec beside, const struct beam_points *way, float sign, uint32_t lanes,
                                  struct beam_c4 *amplitude)
{
    const struct beam_vec axis = e->axis, b = beam_vec_scale(beam_vec_cross(axis, beside), sign);
    for (uint32_t i = 0; i < e->n_screens; i++) {
        const struct beam_screen *s = &e->screens[i];
        if (s->plane == plane)
            continue;
        /* axis . (along x way) = way . (axis x along) */
        const struct beam_vec a = beam_vec_scale(beam_vec_cross(axis, s->along), sign);
        const float on_leg = beam_turn(axis, beside, s->along);
        uint32_t meet = 0;
#pragma omp simd reduction(| : meet)
        for (int l = 0; l < BEAM_LANES; l++) {
            const float across = way->x[l] * a.x + way->y[l] * a.y + way->z[l] * a.z;
            const float on_screen = way->x[l] * b.x + way->y[l] * b.y + way->z[l] * b.z;
            meet |= (uint32_t)((fabsf(across) >= 1e-6f) & (on_screen * across > 0.0f) & (on_leg * across > 0.0f)) << l;
        }
        pass_screen(an, s, way, lanes & meet, amplitude);
    }
}

/* What the screen mirrors of the lanes' ways. */
static RT_INLINE void mirror_by(const struct beam_antenna *an, const struct beam_screen *s,
                                const struct beam_points *way, uint32_t lanes, struct beam_c4 *out)
{
    struct beam_places at;
    find_places(way, s->n, &at);
    for (; lanes; lanes &= lanes - 1) {
        const int l = __builtin_ctz(lanes);
        const size_t k = (size_t)(s->row * WALL_TABLE_NODES + at.node[l]);
        const beam_f4 size = beam_f4_sqrt(between(an->mirror + k, at.share[l]));
        const struct beam_c4 phase = beam_between(an->mirror_phase + k, at.share[l]);
        out[l] = (struct beam_c4){ size * phase.re, size * phase.im };
    }
}

RT_WIDE static void find_mirror_sides(const struct beam_antenna *an, const struct beam_edge *e,
                                      const struct beam_ways *ways, uint32_t plane, const struct turns *turns,
                                      uint32_t lanes, struct sides *out)
{
    set_all(out->left, 0.0f);
    set_all(out->right, 0.0f);
    uint32_t has_left = 0, has_right = 0;
    for (uint32_t i = 0; i < e->n_screens; i++) {
        const struct beam_screen *s = &e->screens[i];
        if (s->plane != plane)
            continue;
        const uint32_t is_left = on_left(turns, e, i);
        const uint32_t left = lanes & is_left & ~has_left, right = lanes & ~is_left & ~has_right;
        has_left |= is_left;
        has_right |= ~is_left;
        struct beam_c4 mirrored[BEAM_LANES];
        mirror_by(an, s, &turns->half_way, left | right, mirrored);
        pass_beside(an, e, plane, s->along, &ways->in, -1.0f, left | right, mirrored);
        pass_beside(an, e, plane, s->along, &ways->out, 1.0f, left | right, mirrored);
        for (uint32_t todo = left | right; todo; todo &= todo - 1) {
            const int l = __builtin_ctz(todo);
            *(left >> l & 1u ? &out->left[l] : &out->right[l]) = mirrored[l];
        }
    }
}

/* The lanes whose spot lies on the antenna's other side of a plane. */
static RT_INLINE uint32_t change_sides(const struct beam_work *w, uint32_t plane)
{
    const float nx = w->bs->nx[plane], ny = w->bs->ny[plane], nz = w->bs->nz[plane], d = w->bs->d[plane];
    const float from = w->antenna->side_m[plane];
    uint32_t bits = 0;
    for (int l = 0; l < BEAM_LANES && fabsf(from) >= NEAR_F; l++) {
        const float to = w->at.x[l] * nx + w->at.y[l] * ny + w->at.z[l] * nz - d;
        bits |= (uint32_t)((fabsf(to) >= NEAR_F) & ((from > 0.0f) != (to > 0.0f))) << l;
    }
    return bits;
}

/* What is mirrored on the edge's line: mirrored_on_line() of trace_edge.c. */
static RT_INLINE void find_mirror_on_line(const struct beam_work *w, const struct beam_edge *e,
                                          const struct beam_term *t, const struct beam_ways *ways,
                                          const struct turns *turns, uint32_t lanes, struct beam_c4 *out)
{
    const struct beam_antenna *an = w->antenna;
    const struct beam_screen *mirror = NULL;
    set_all(out, 0.0f);
    for (uint32_t i = 0; i < e->n_touching && !mirror; i++) {
        const struct beam_screen *s = &e->touching[i];
        if (s->plane == t->plane && (!s->mirrors_on || (s->mirrors_on > 0) == (an->side_m[s->plane] > 0.0f)))
            mirror = s;
    }
    if (!mirror)
        return;
    mirror_by(an, mirror, &turns->half_way, lanes, out);
    for (uint32_t i = 0; i < e->n_touching; i++)
        if (e->touching[i].plane != t->plane)
            pass_screen(an, &e->touching[i], &ways->out, lanes & change_sides(w, e->touching[i].plane), out);
}

/* A complex number per radio and lane. */
struct amplitudes {
    struct beam_lanes re, im;
};

static RT_INLINE void put(struct amplitudes *out, uint32_t n_radios, int l, beam_f4 re, beam_f4 im)
{
    for (uint32_t r = 0; r < n_radios; r++) {
        out->re.v[r][l] = re[r];
        out->im.v[r][l] = im[r];
    }
}

/* For edges whose screens lie in one plane: the table holds the jump from behind screen 0 to the other side. */
RT_WIDE static void find_flat_jump(const struct beam_edge *e, const struct beam_term *t, const struct turns *turns,
                                   struct amplitudes *out)
{
    struct beam_places at;
    struct beam_complex jump;
    find_places(&turns->half_way, e->screens[0].n, &at);
    const uint32_t left = on_left(turns, e, 0);
    for (int l = 0; l < BEAM_LANES; l++) {
        const float sign = left >> l & 1u ? 1.0f : -1.0f;
        const struct beam_c4 here = beam_between(t->jump.at + at.node[l], at.share[l]);
        jump.re[l] = sign * here.re;
        jump.im[l] = sign * here.im;
    }
    beam_by_radio(jump.re, &out->re);
    beam_by_radio(jump.im, &out->im);
}

RT_WIDE static void find_sides_jump(const struct beam_antenna *an, const struct beam_edge *e, const struct beam_term *t,
                                    const struct beam_ways *ways, const struct turns *turns, uint32_t lanes,
                                    struct amplitudes *out)
{
    struct sides sides;
    if (t->is_mirror)
        find_mirror_sides(an, e, ways, t->plane, turns, lanes, &sides);
    else
        find_direct_sides(an, e, turns, lanes, &sides);
    struct beam_complex jump;
    for (int l = 0; l < BEAM_LANES; l++) {
        jump.re[l] = sides.right[l].re - sides.left[l].re;
        jump.im[l] = sides.right[l].im - sides.left[l].im;
    }
    beam_by_radio(jump.re, &out->re);
    beam_by_radio(jump.im, &out->im);
}

/* Lanes whose straight path runs over the edge's line: as in trace_edge.c. */
RT_WIDE static void set_jump_on_line(const struct beam_work *w, const struct beam_edge *e, const struct beam_term *t,
                                     const struct beam_ways *ways, const struct turns *turns, uint32_t lanes,
                                     struct amplitudes *out)
{
    const struct beam_antenna *an = w->antenna;
    struct sides sides;
    struct beam_c4 on_line[BEAM_LANES];
    if (t->is_mirror) {
        find_mirror_sides(an, e, ways, t->plane, turns, lanes, &sides);
        find_mirror_on_line(w, e, t, ways, turns, lanes, on_line);
    } else {
        find_direct_sides(an, e, turns, lanes, &sides);
        set_all(on_line, 1.0f);
        for (uint32_t i = 0; i < e->n_touching; i++)
            pass_screen(an, &e->touching[i], &turns->half_way, lanes, on_line);
    }
    for (; lanes; lanes &= lanes - 1) {
        const int l = __builtin_ctz(lanes);
        const float sign = turns->sign[l];
        put(out, an->n_radios, l, sign * (sides.left[l].re + sides.right[l].re - 2.0f * on_line[l].re),
            sign * (sides.left[l].im + sides.right[l].im - 2.0f * on_line[l].im));
    }
}

/* From the left side to the right one. */
static void find_jump(const struct beam_work *w, const struct beam_edge *e, const struct beam_term *t,
                      const struct beam_ways *ways, const struct turns *turns, uint32_t lanes, struct amplitudes *out)
{
    const struct beam_antenna *an = w->antenna;
    if (t->is_flat)
        find_flat_jump(e, t, turns, out);
    else
        find_sides_jump(an, e, t, ways, turns, lanes, out);
    const uint32_t on_line = lanes & turns->on_line;
    if (on_line)
        set_jump_on_line(w, e, t, ways, turns, on_line, out);
}

/* ---- the share of an edge of finite length ---- */

/* For one radio. */
static RT_INLINE void find_share(const float *where_m, const float *window, const float *end_per_m, float length_m,
                                 float wave_number, float *re, float *im)
{
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        re[l] = (float)((where_m[l] > 0.0f) & (length_m - where_m[l] > 0.0f));
        im[l] = 0.0f;
    }
    for (int end = 0; end < 2; end++) {
        float to_end_m[BEAM_LANES], longer[BEAM_LANES], bent_re[BEAM_LANES], bent_im[BEAM_LANES];
#pragma omp simd
        for (int l = 0; l < BEAM_LANES; l++) {
            to_end_m[l] = end ? length_m - where_m[l] : where_m[l];
            longer[l] = wave_number * (end_per_m[l] * to_end_m[l] * to_end_m[l]);
        }
        beam_bent(longer, true, bent_re, bent_im);
#pragma omp simd
        for (int l = 0; l < BEAM_LANES; l++) {
            const float part = (1.0f - 0.5f * window[l]) * (to_end_m[l] > 0.0f ? 1.0f : -1.0f);
            re[l] -= part * bent_re[l];
            im[l] -= part * bent_im[l];
        }
    }
}

/* ---- an edge ---- */

/* What the lanes' waves have in common over all terms. */
struct passage {
    struct beam_lanes amplitude;
    struct amplitudes phase,
        share; /* phase only where any_window; share, once it is asked for, where no interference is left */
    bool has_share;
};

RT_WIDE static void find_passage(const struct beam_work *w, const struct beam_ways *ways, const struct beam_weighed *b,
                                 struct passage *out)
{
    const struct beam_antenna *an = w->antenna;
    struct beam_lanes left;
    out->has_share = false;
    beam_by_radio(b->legs, &left);
    if (b->any_window) {
        beam_by_radio(b->phase.re, &out->phase.re);
        beam_by_radio(b->phase.im, &out->phase.im);
    }
    for (uint32_t r = 0; r < an->n_radios; r++) {
        const float free_space = an->free_space[r];
        float *amplitude = out->amplitude.v[r];
#pragma omp simd
        for (int l = 0; l < BEAM_LANES; l++) {
            const float length = ways->length_m[l] > NEAREST_F ? ways->length_m[l] : NEAREST_F;
            amplitude[l] = sqrtf(free_space * left.v[r][l]) / length;
        }
    }
}

/* The same for every term without a window. */
RT_WIDE static void find_shares(const struct beam_work *w, const struct beam_edge *e, const struct beam_ways *ways,
                                struct passage *out)
{
    static const float no_window[BEAM_LANES];
    const struct beam_antenna *an = w->antenna;
    for (uint32_t r = 0; r < an->n_radios; r++)
        find_share(ways->where_m, no_window, ways->end_per_m, e->length_m, an->wave_number[r], out->share.re.v[r],
                   out->share.im.v[r]);
    out->has_share = true;
}

/* Lanes that have the term. */
RT_WIDE static uint32_t lanes_of(const struct beam_work *w, const struct beam_term *t, const struct beam_ways *ways)
{
    const struct beam_scene *bs = w->bs;
    const float nx = bs->nx[t->plane], ny = bs->ny[t->plane], nz = bs->nz[t->plane], d = bs->d[t->plane];
    const uint32_t seen_above = t->is_mirror && t->seen_from < 0 ? 0 : 1;
    const uint32_t seen_below = t->is_mirror && t->seen_from > 0 ? 0 : 1;
    uint32_t lanes = 0;
#pragma omp simd reduction(| : lanes)
    for (int l = 0; l < BEAM_LANES; l++) {
        const float side = w->at.x[l] * nx + w->at.y[l] * ny + w->at.z[l] * nz - d;
        const uint32_t above = (uint32_t)(side > 0.0f);
        lanes |= ((above & seen_above) | ((above ^ 1u) & seen_below)) << l;
    }
    for (int l = 0; l < BEAM_LANES; l++)
        lanes &= ~((uint32_t)(ways->is_bent[l] <= 0.0f) << l);
    return lanes & w->active;
}

/* Adds the waves of one radio.  on[lane]: 1 or 0. */
static RT_INLINE void add_waves(const struct beam_edge *e, float wave_number, const struct beam_ways *ways,
                                const struct turns *turns, const struct passage *p, const struct amplitudes *jump,
                                const float *on, uint32_t r, struct beam_group *g)
{
    float x[BEAM_LANES], bent_re[BEAM_LANES], bent_im[BEAM_LANES], share_re[BEAM_LANES], share_im[BEAM_LANES];
    float re[BEAM_LANES], im[BEAM_LANES];
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++)
        x[l] = wave_number * turns->to.reach_m[l];
    beam_bent(x, turns->to.any_window, bent_re, bent_im);
    const float *by_re = p->share.re.v[r], *by_im = p->share.im.v[r];
    if (turns->to.any_window) {
        find_share(turns->where_m, turns->to.window, ways->end_per_m, e->length_m, wave_number, share_re, share_im);
        by_re = share_re;
        by_im = share_im;
    }
    const float *jump_re = jump->re.v[r], *jump_im = jump->im.v[r], *amplitude = p->amplitude.v[r];
    float *rest = g->rest.v[r];
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float a = jump_re[l] * bent_re[l] - jump_im[l] * bent_im[l];
        const float b = jump_re[l] * bent_im[l] + jump_im[l] * bent_re[l];
        const float size = on[l] * turns->sign[l] * amplitude[l];
        re[l] = size * (a * by_re[l] - b * by_im[l]);
        im[l] = size * (a * by_im[l] + b * by_re[l]);
        rest[l] += (1.0f - turns->to.window[l] * turns->to.window[l]) * (re[l] * re[l] + im[l] * im[l]);
    }
    if (!turns->to.any_window)
        return;
    const float *phase_re = p->phase.re.v[r], *phase_im = p->phase.im.v[r];
    float *sum_re = g->re.v[r], *sum_im = g->im.v[r];
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        sum_re[l] += turns->to.window[l] * (re[l] * phase_re[l] - im[l] * phase_im[l]);
        sum_im[l] += turns->to.window[l] * (re[l] * phase_im[l] + im[l] * phase_re[l]);
    }
}

RT_WIDE static void add_term(struct beam_work *w, const struct beam_edge *e, const struct beam_term *t,
                             const struct beam_ways *ways, const struct turns *turns, const struct passage *p,
                             uint32_t lanes)
{
    struct beam_group *g = beam_group_of(w, t->group);
    struct amplitudes jump;
    find_jump(w, e, t, ways, turns, lanes, &jump);
    float on[BEAM_LANES];
    for (int l = 0; l < BEAM_LANES; l++)
        on[l] = (float)(lanes >> l & 1u);
    for (uint32_t r = 0; r < w->antenna->n_radios; r++)
        add_waves(e, w->antenna->wave_number[r], ways, turns, p, &jump, on, r, g);
}

void beam_add_edge(struct beam_work *w, uint32_t edge)
{
    const struct beam_edge *e = &w->bs->edges[edge];
    const struct beam_edge_in *in = &w->antenna->edges[edge];
    struct beam_ways ways;
    struct passage p;
    beam_find_ways(w, e, in, &ways);
    find_passage(w, &ways, &w->weighed[edge], &p);
    for (uint32_t i = 0; i < in->n_terms; i++) {
        struct turns turns;
        const uint32_t lanes = lanes_of(w, &in->terms[i], &ways);
        if (!lanes)
            continue;
        find_turns(w, e, in, &in->terms[i], &ways, &turns);
        if (!turns.to.any_window && !p.has_share)
            find_shares(w, e, &ways, &p);
        add_term(w, e, &in->terms[i], &ways, &turns, &p, lanes);
    }
}

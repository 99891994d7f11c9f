/* beam_edge.c - waves bent at edges, to the lanes of a tile: trace_edge.c in single precision.
 *
 * What an edge brings is found in the order of what it costs to know: for all edges a bound for the whole tile from its middle
 * spot (beam_bound.c); for those that are left the way over the edge for every lane, and what walls leave of it; and the
 * bending itself only for the few that still matter. */
#include "radio/beam_int.h"

#define NEAR_F ((float)SCENE_NEAR_M)
#define NEAREST_F ((float)TRACE_NEAREST_M)
/* As in trace_edge.c. */
#define GLANCE 0.02f
/* An edge of this weight is bent without weighing it more finely. */
#define FOR_CERTAIN 10.0f

static const struct beam_c4 ONE = { { 1.0f, 1.0f, 1.0f, 1.0f }, { 0.0f, 0.0f, 0.0f, 0.0f } };
static const struct beam_c4 NONE = { { 0.0f, 0.0f, 0.0f, 0.0f }, { 0.0f, 0.0f, 0.0f, 0.0f } };

static struct beam_c4 screen_pass(const struct beam_antenna *an, const struct beam_screen *s, struct beam_vec way)
{
    const struct beam_node node = beam_node_of(fabsf(beam_vec_dot(way, s->n)));
    struct beam_c4 phase = { beam_look_up(an->pass_re, s->row, node), beam_look_up(an->pass_im, s->row, node) };
    beam_f4 size = beam_f4_sqrt(beam_look_up(an->pass, s->row, node));
    if (s->is_half) {
        phase = beam_half_turn(phase);
        size = beam_f4_sqrt(size);
    }
    return (struct beam_c4){ size * phase.re, size * phase.im };
}

/* ---- erfc(sqrt(j x)) / 2 ---- */

typedef int32_t beam_i4 __attribute__((vector_size(16)));

/* Reduction and polynomials as in the usual single-precision libraries (Cody and Waite; from memory): within 1e-6 for
 * x up to 1e4, beyond which the value it turns is nothing.  x >= 0. */
static inline void sin_cos(beam_f4 x, beam_f4 *s, beam_f4 *c)
{
    x = beam_f4_least(x, beam_f4_all(3e4f));
    const beam_i4 q = __builtin_convertvector(x * 0.636619772f + 0.5f, beam_i4);
    const beam_f4 k = __builtin_convertvector(q, beam_f4);
    const beam_f4 r = ((x - k * 1.5703125f) - k * 4.837512969970703e-4f) - k * 7.549789948768648e-8f, r2 = r * r;
    const beam_f4 sr = r + r * r2 * (-1.6666654611e-1f + r2 * (8.3321608736e-3f - r2 * 1.9515295891e-4f));
    const beam_f4 cr = 1.0f - 0.5f * r2 + r2 * r2 * (4.166664568e-2f + r2 * (-1.388731625e-3f + r2 * 2.443315711e-5f));
    const beam_i4 odd = -(q & 1);
    const beam_i4 a = ((beam_i4)cr & odd) | ((beam_i4)sr & ~odd), b = ((beam_i4)sr & odd) | ((beam_i4)cr & ~odd);
    *s = (beam_f4)(a ^ ((q & 2) << 30));
    *c = (beam_f4)(b ^ (((q + 1) & 2) << 30));
}

struct beam_c4 beam_half_erfc(const struct beam_scene *bs, beam_f4 x, bool with_phase)
{
    const beam_f4 root = beam_f4_sqrt(beam_f4_most(x, beam_f4_all(0.0f)));
    const beam_f4 at = root / (1.0f + root) * (BEAM_BEND_NODES - 1);
    const beam_i4 i = __builtin_convertvector(at, beam_i4);
    const beam_f4 k = at - __builtin_convertvector(i, beam_f4);
    const float *re = bs->bend_re, *im = bs->bend_im;
    const beam_f4 re0 = { re[i[0]], re[i[1]], re[i[2]], re[i[3]] };
    const beam_f4 re1 = { re[i[0] + 1], re[i[1] + 1], re[i[2] + 1], re[i[3] + 1] };
    const beam_f4 im0 = { im[i[0]], im[i[1]], im[i[2]], im[i[3]] };
    const beam_f4 im1 = { im[i[0] + 1], im[i[1] + 1], im[i[2] + 1], im[i[3] + 1] };
    struct beam_c4 out = { re0 + k * (re1 - re0), im0 + k * (im1 - im0) };
    if (with_phase) {
        beam_f4 s, c;
        sin_cos(x, &s, &c);
        out = beam_times(out, (struct beam_c4){ c, -s });
    }
    return out;
}

/* ---- what passes on either side: as in trace_edge.c ---- */

struct sides {
    struct beam_c4 left, right;
};

static struct sides direct_sides(const struct beam_antenna *an, const struct beam_edge *e, struct beam_vec way)
{
    struct sides out = { ONE, ONE };
    for (uint32_t i = 0; i < e->n_screens; i++) {
        const struct beam_screen *s = &e->screens[i];
        struct beam_c4 *const side = beam_turn(e->axis, way, s->along) > 0.0f ? &out.left : &out.right;
        *side = beam_times(*side, screen_pass(an, s, way));
    }
    return out;
}

static struct beam_c4 pass_beside(const struct beam_antenna *an, const struct beam_edge *e, uint32_t plane,
                                  struct beam_vec beside, struct beam_vec way)
{
    struct beam_c4 amplitude = ONE;
    for (uint32_t i = 0; i < e->n_screens; i++) {
        const struct beam_screen *s = &e->screens[i];
        const float across = beam_turn(e->axis, s->along, way);
        if (s->plane == plane || fabsf(across) < 1e-6f)
            continue;
        const float on_screen = beam_turn(e->axis, beside, way) / across,
                    on_leg = beam_turn(e->axis, beside, s->along) / across;
        if (on_screen > 0.0f && on_leg > 0.0f)
            amplitude = beam_times(amplitude, screen_pass(an, s, way));
    }
    return amplitude;
}

static struct sides mirror_sides(const struct beam_antenna *an, const struct beam_edge *e, struct beam_vec way_in,
                                 struct beam_vec way_out, uint32_t plane, struct beam_vec way)
{
    struct sides out = { NONE, NONE };
    bool has_left = false, has_right = false;
    for (uint32_t i = 0; i < e->n_screens; i++) {
        const struct beam_screen *s = &e->screens[i];
        const bool is_left = beam_turn(e->axis, way, s->along) > 0.0f;
        bool *const has = is_left ? &has_left : &has_right;
        if (s->plane != plane || *has)
            continue;
        *has = true;
        const struct beam_node node = beam_node_of(fabsf(beam_vec_dot(way, s->n)));
        const beam_f4 size = beam_f4_sqrt(beam_look_up(an->mirror, s->row, node));
        struct beam_c4 a = { size * beam_look_up(an->mirror_re, s->row, node),
                             size * beam_look_up(an->mirror_im, s->row, node) };
        a = beam_times(a, pass_beside(an, e, plane, s->along, beam_vec_scale(way_in, -1.0f)));
        a = beam_times(a, pass_beside(an, e, plane, s->along, way_out));
        *(is_left ? &out.left : &out.right) = a;
    }
    return out;
}

/* ---- the lanes ---- */

/* The ways of all lanes over an edge; ways of length 1. */
struct ways {
    struct beam_points point, in, out;
    float flat_out_m[BEAM_LANES], length_m[BEAM_LANES], where_m[BEAM_LANES], end_per_m[BEAM_LANES];
    int32_t is_bent[BEAM_LANES]; /* both legs have a length */
};

RT_WIDE static void find_ways(const struct beam_work *w, const struct beam_edge *e, const struct beam_edge_in *in,
                              struct ways *out)
{
    const struct beam_vec from = e->from, axis = e->axis, an = w->antenna->at;
    const float flat_in = in->flat_m, along_in = in->along_m;
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float x = w->at.x[l] - from.x, y = w->at.y[l] - from.y, z = w->at.z[l] - from.z;
        const float along = x * axis.x + y * axis.y + z * axis.z;
        const float fx = x - axis.x * along, fy = y - axis.y * along, fz = z - axis.z * along;
        const float flat_out = sqrtf(fx * fx + fy * fy + fz * fz), flat = flat_in + flat_out, rise = along - along_in;
        const float over_flat = 1.0f / (flat > 1e-9f ? flat : 1e-9f);
        const float where = flat > 1e-9f ? (along_in * flat_out + along * flat_in) * over_flat : along_in;
        const float length = sqrtf(flat * flat + rise * rise);
        const float px = from.x + axis.x * where, py = from.y + axis.y * where, pz = from.z + axis.z * where;
        const float ix = px - an.x, iy = py - an.y, iz = pz - an.z;
        const float ox = w->at.x[l] - px, oy = w->at.y[l] - py, oz = w->at.z[l] - pz;
        const float s_in = sqrtf(ix * ix + iy * iy + iz * iz), s_out = sqrtf(ox * ox + oy * oy + oz * oz);
        const float over_in = 1.0f / (s_in > NEAR_F ? s_in : NEAR_F),
                    over_out = 1.0f / (s_out > NEAR_F ? s_out : NEAR_F);
        const float below = 2.0f * length * length * length * flat_in * flat_out;
        out->point.x[l] = px;
        out->point.y[l] = py;
        out->point.z[l] = pz;
        out->in.x[l] = ix * over_in;
        out->in.y[l] = iy * over_in;
        out->in.z[l] = iz * over_in;
        out->out.x[l] = ox * over_out;
        out->out.y[l] = oy * over_out;
        out->out.z[l] = oz * over_out;
        out->flat_out_m[l] = flat_out;
        out->length_m[l] = length;
        out->where_m[l] = where;
        out->end_per_m[l] = below > 0.0f ? flat * flat * flat * flat / below : 1e9f;
        out->is_bent[l] = (s_in >= NEAR_F) & (s_out >= NEAR_F);
    }
}

/* One term for all lanes. */
struct turns {
    struct beam_points in;     /* way in, as from the image */
    float reach_m[BEAM_LANES]; /* X of trace.h over the wave number */
    float sign[BEAM_LANES];    /* +1 turned to the left */
    float window[BEAM_LANES];  /* W of trace.h */
    float where_m[BEAM_LANES]; /* along the edge, for its share */
};

RT_WIDE static void find_turns(const struct beam_work *w, const struct beam_edge *e, const struct beam_edge_in *in,
                               const struct beam_term *t, const struct ways *ways, struct turns *out)
{
    const struct beam_scene *bs = w->bs;
    const struct beam_vec axis = e->axis, n = t->n, image = t->image, from = e->from;
    const float nx = bs->nx[t->plane], ny = bs->ny[t->plane], nz = bs->nz[t->plane];
    const float image_side = image.x * nx + image.y * ny + image.z * nz - bs->d[t->plane];
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        /* n is 0 for the direct term */
        const float twice = 2.0f * (ways->in.x[l] * n.x + ways->in.y[l] * n.y + ways->in.z[l] * n.z);
        const float ix = ways->in.x[l] - twice * n.x, iy = ways->in.y[l] - twice * n.y,
                    iz = ways->in.z[l] - twice * n.z;
        const float ox = ways->out.x[l], oy = ways->out.y[l], oz = ways->out.z[l];
        const float ia = ix * axis.x + iy * axis.y + iz * axis.z, oa = ox * axis.x + oy * axis.y + oz * axis.z;
        const float px = ix - ia * axis.x, py = iy - ia * axis.y, pz = iz - ia * axis.z;
        const float qx = ox - oa * axis.x, qy = oy - oa * axis.y, qz = oz - oa * axis.z;
        const float size2 = (px * px + py * py + pz * pz) * (qx * qx + qy * qy + qz * qz);
        const float over = size2 > 1e-24f ? 1.0f / sqrtf(size2 > 1e-24f ? size2 : 1.0f) : 0.0f;
        const float c = (px * qx + py * qy + pz * qz) * over;
        const float s =
            (axis.x * (py * qz - pz * qy) + axis.y * (pz * qx - px * qz) + axis.z * (px * qy - py * qx)) * over;
        /* 1 - c loses its digits near 0 */
        const float bending = c > 0.0f ? s * s / (1.0f + c) : 1.0f - c;
        const float wx = w->at.x[l] - image.x, wy = w->at.y[l] - image.y, wz = w->at.z[l] - image.z;
        const float straight2 = wx * wx + wy * wy + wz * wz, straight = sqrtf(straight2);
        const float over_straight = 1.0f / (straight > 1e-6f ? straight : 1e-6f);
        const float ux = wx * over_straight, uy = wy * over_straight, uz = wz * over_straight;
        const float apart2 = (ux - ox) * (ux - ox) + (uy - oy) * (uy - oy) + (uz - oz) * (uz - oz) +
                             (ux - ix) * (ux - ix) + (uy - iy) * (uy - iy) + (uz - iz) * (uz - iz);
        const float window = ways->is_bent[l] ? beam_window(apart2) : 0.0f;
        /* where a straight way meets the screen's plane: meets_m() of trace_edge.c */
        const float side = w->at.x[l] * nx + w->at.y[l] * ny + w->at.z[l] * nz - bs->d[t->plane],
                    gap = image_side - side;
        const int32_t meets = ((image_side > 0.0f) != (side > 0.0f)) & (fabsf(gap) >= GLANCE * straight);
        const float k = image_side / (meets ? gap : 1.0f);
        const float met = (image.x + k * wx - from.x) * axis.x + (image.y + k * wy - from.y) * axis.y +
                          (image.z + k * wz - from.z) * axis.z;
        out->in.x[l] = ix;
        out->in.y[l] = iy;
        out->in.z[l] = iz;
        out->reach_m[l] = in->flat_m * ways->flat_out_m[l] / ways->length_m[l] * bending;
        out->sign[l] = s > 0.0f ? 1.0f : -1.0f;
        out->window[l] = window;
        out->where_m[l] = ways->where_m[l] + (meets ? window * (met - ways->where_m[l]) : 0.0f);
    }
}

/* |h(x)|^2 at most: 1/4, and 1 / (4 pi x) from above. */
static beam_f4 most_half_erfc2(beam_f4 x) { return beam_f4_least(0.0796f / (x + 1e-6f), beam_f4_all(0.25f)); }

/* For edges whose screens lie in one plane: cosine of the angle of incidence half-way between arriving and leaving, and +1
 * where screen 0 lies left of that way. */
RT_WIDE static void find_half_way(const struct beam_edge *e, const struct ways *ways, const struct turns *turns,
                                  float cos_incidence[BEAM_LANES], float sign[BEAM_LANES])
{
    const struct beam_vec n = e->screens[0].n, along = e->screens[0].along, axis = e->axis;
    const struct beam_vec left = beam_vec_cross(along, axis); /* axis . (way x along) = way . (along x axis) */
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float x = turns->in.x[l] + ways->out.x[l], y = turns->in.y[l] + ways->out.y[l];
        const float z = turns->in.z[l] + ways->out.z[l], size2 = x * x + y * y + z * z;
        const float over = 1.0f / sqrtf(size2 > 1e-12f ? size2 : 1e-12f);
        cos_incidence[l] = fabsf(x * n.x + y * n.y + z * n.z) * over;
        sign[l] = x * left.x + y * left.y + z * left.z > 0.0f ? 1.0f : -1.0f;
    }
}

/* From the side that the straight path passes to the other, for edges with screens in several planes. */
static struct beam_c4 jump_at(const struct beam_antenna *an, const struct beam_edge *e, const struct beam_term *t,
                              const struct ways *ways, const struct turns *turns, int l)
{
    const struct beam_vec way_in = beam_lane(&turns->in, l), way_out = beam_lane(&ways->out, l);
    const struct beam_vec half_way = beam_unit_or(beam_vec_add(way_in, way_out), t->is_mirror ? way_out : way_in);
    const struct sides sides = t->is_mirror ? mirror_sides(an, e, beam_lane(&ways->in, l), way_out, t->plane, half_way)
                                            : direct_sides(an, e, half_way);
    return (struct beam_c4){ sides.right.re - sides.left.re, sides.right.im - sides.left.im };
}

static struct beam_c4 share_of(const struct beam_work *w, float where_m, float length_m, float end_per_m, float window)
{
    const float to_end_m[2] = { where_m, length_m - where_m }, part = 1.0f - 0.5f * window;
    struct beam_c4 share = to_end_m[0] > 0.0f && to_end_m[1] > 0.0f ? ONE : NONE;
    for (int i = 0; i < 2; i++) {
        const float longer_m = end_per_m * to_end_m[i] * to_end_m[i];
        const struct beam_c4 end = beam_half_erfc(w->bs, w->antenna->wave_number * longer_m, true);
        const float sign = to_end_m[i] > 0.0f ? part : -part;
        share.re -= sign * end.re;
        share.im -= sign * end.im;
    }
    return share;
}

/* The lanes' waves over an edge, but for the bending. */
struct passage {
    beam_f4 amplitude[BEAM_LANES];
    struct beam_complex phase, share; /* share of the edge where no interference is left */
};

/* Lanes that have the term. */
static uint32_t lanes_of(const struct beam_work *w, const struct beam_term *t, const struct ways *ways)
{
    const struct beam_scene *bs = w->bs;
    uint32_t lanes = 0;
    for (int l = 0; l < BEAM_LANES; l++) {
        const struct beam_vec at = beam_lane(&w->at, l);
        const float side =
            at.x * bs->nx[t->plane] + at.y * bs->ny[t->plane] + at.z * bs->nz[t->plane] - bs->d[t->plane];
        const bool is_seen = !t->is_mirror || !t->seen_from || (t->seen_from > 0) == (side > 0.0f);
        lanes |= (uint32_t)(is_seen && ways->is_bent[l]) << l;
    }
    return lanes & w->active;
}

static void add_term(struct beam_work *w, const struct beam_edge *e, const struct beam_term *t, const struct ways *ways,
                     const struct turns *turns, const struct passage *p)
{
    const struct beam_antenna *an = w->antenna;
    struct beam_group *g = beam_group_of(w, t->group);
    float cos_incidence[BEAM_LANES], flat_sign[BEAM_LANES];
    if (t->is_flat)
        find_half_way(e, ways, turns, cos_incidence, flat_sign);
    for (uint32_t lanes = lanes_of(w, t, ways); lanes; lanes &= lanes - 1) {
        const int l = __builtin_ctz(lanes);
        const float window = turns->window[l];
        float sign = turns->sign[l];
        struct beam_c4 d;
        if (t->is_flat) { /* the table holds the jump from behind screen 0 to the other side */
            const struct beam_node node = beam_node_of(cos_incidence[l]);
            d = (struct beam_c4){ beam_look_up(t->jump.re, 0, node), beam_look_up(t->jump.im, 0, node) };
            sign *= flat_sign[l];
        } else {
            d = jump_at(an, e, t, ways, turns, l);
        }
        d = beam_times(d, beam_half_erfc(w->bs, an->wave_number * turns->reach_m[l], window > 0.0f));
        const struct beam_c4 share = window > 0.0f
                                         ? share_of(w, turns->where_m[l], e->length_m, ways->end_per_m[l], window)
                                         : (struct beam_c4){ p->share.re[l], p->share.im[l] };
        d = beam_times(d, share);
        d.re *= sign * p->amplitude[l];
        d.im *= sign * p->amplitude[l];
        const beam_f4 power = d.re * d.re + d.im * d.im;
        if (window > 0.0f) {
            d = beam_times(d, (struct beam_c4){ p->phase.re[l], p->phase.im[l] });
            g->re[l] += window * d.re;
            g->im[l] += window * d.im;
        }
        g->rest[l] += (1.0f - window * window) * power;
        w->total[l] += power;
    }
}

static void add_edge(struct beam_work *w, uint32_t edge, const beam_f4 legs[BEAM_LANES])
{
    const struct beam_edge *e = &w->bs->edges[edge];
    const struct beam_edge_in *in = &w->antenna->edges[edge];
    const struct beam_antenna *an = w->antenna;
    struct ways ways;
    struct turns turns[BEAM_TERMS_MAX];
    struct passage p;
    bool any_window = false;
    find_ways(w, e, in, &ways);
    for (uint32_t i = 0; i < in->n_terms; i++) {
        find_turns(w, e, in, &in->terms[i], &ways, &turns[i]);
        for (int l = 0; l < BEAM_LANES; l++)
            any_window = any_window || turns[i].window[l] > 0.0f;
    }
    for (int l = 0; l < BEAM_LANES; l++) {
        const float length = ways.length_m[l] > NEAREST_F ? ways.length_m[l] : NEAREST_F;
        const struct beam_c4 share = share_of(w, ways.where_m[l], e->length_m, ways.end_per_m[l], 0.0f);
        p.amplitude[l] =
            beam_f4_sqrt(an->free_space * beam_antenna_gain(an, beam_lane(&ways.in, l)) * legs[l]) / length;
        p.share.re[l] = share.re;
        p.share.im[l] = share.im;
        p.phase.re[l] = beam_f4_all(1.0f);
        p.phase.im[l] = beam_f4_all(0.0f);
    }
    if (any_window) {
        beam_f4 unused[BEAM_LANES] = { 0 };
        beam_end_init(w->bs, &ways.point, false, &w->edge);
        beam_leg(w, &w->edge, &w->spot, e->planes, e->n_planes, unused, &p.phase);
        beam_leg(w, &w->start, &w->edge, e->planes, e->n_planes, unused, &p.phase);
    }
    for (uint32_t i = 0; i < in->n_terms; i++)
        add_term(w, e, &in->terms[i], &ways, &turns[i], &p);
}

/* The most that is left of the edge's bounds when walls take at least this much. */
static float weigh_bound(const struct beam_bound *b, beam_f4 left)
{
    return beam_f4_largest(b->power * left + b->crossed * beam_f4_sqrt(left));
}

static beam_f4 most_of(const beam_f4 lanes[BEAM_LANES])
{
    beam_f4 most = lanes[0];
    for (int l = 1; l < BEAM_LANES; l++)
        most = beam_f4_most(most, lanes[l]);
    return most;
}

/* Weighs the edge again, with what walls leave.  Under `nothing` the walls before the edge need not be known. */
static void weigh_walls(struct beam_work *w, struct beam_candidate *c, float nothing)
{
    const struct beam_bound *b = &w->bounds[c->i];
    const struct beam_edge *e = &w->bs->edges[c->i];
    beam_f4 *legs = w->legs[c->i];
    struct ways ways;
    find_ways(w, e, &w->antenna->edges[c->i], &ways);
    for (int l = 0; l < BEAM_LANES; l++)
        legs[l] = beam_f4_all(1.0f);
    beam_end_init(w->bs, &ways.point, false, &w->edge);
    beam_leg(w, &w->edge, &w->spot, e->planes, e->n_planes, legs, NULL);
    c->weight = weigh_bound(b, most_of(legs) * b->before);
    if (c->weight < nothing)
        return;
    beam_leg(w, &w->start, &w->edge, e->planes, e->n_planes, legs, NULL);
    c->weight = weigh_bound(b, most_of(legs));
}

/* And again lane by lane. */
static void weigh_lanes(struct beam_work *w, struct beam_candidate *c)
{
    const struct beam_antenna *an = w->antenna;
    const struct beam_edge *e = &w->bs->edges[c->i];
    const struct beam_edge_in *in = &an->edges[c->i];
    const beam_f4 *legs = w->legs[c->i];
    struct ways ways;
    find_ways(w, e, in, &ways);
    beam_f4 most[BEAM_LANES] = { 0 }, free[BEAM_LANES];
    for (int l = 0; l < BEAM_LANES; l++) {
        const float length = ways.length_m[l] > NEAREST_F ? ways.length_m[l] : NEAREST_F;
        const float near = ways.where_m[l], far = e->length_m - near, per_m = ways.end_per_m[l];
        const beam_f4 ends = beam_f4_sqrt(most_half_erfc2(an->wave_number * (per_m * near * near))) +
                             beam_f4_sqrt(most_half_erfc2(an->wave_number * (per_m * far * far)));
        const beam_f4 share = near > 0.0f && far > 0.0f ? 1.0f + ends : ends;
        free[l] = an->free_space * an->most_gain * legs[l] * (share * share / (length * length));
    }
    for (uint32_t i = 0; i < in->n_terms; i++) {
        const struct beam_term *t = &in->terms[i];
        const beam_f4 jump2 = t->jump.most * t->jump.most;
        struct turns turns;
        find_turns(w, e, in, t, &ways, &turns);
        for (int l = 0; l < BEAM_LANES; l++) {
            const beam_f4 power = free[l] * jump2 * most_half_erfc2(an->wave_number * turns.reach_m[l]);
            most[l] += power;
            if (turns.window[l] > 0.0f && w->is_touched[t->group])
                most[l] += 2.0f * turns.window[l] * beam_f4_sqrt(power) * w->groups[t->group].parent[l];
        }
    }
    c->weight = beam_weight(w, most);
}

/* Of what may be left out, a quarter goes by the bounds for the tile, a quarter when the walls are known, and the
 * rest when all is known but the bending. */
void beam_add_edges(struct beam_work *w)
{
    const float start = w->left_out, rest = BEAM_LEFT_OUT - start;
    /* so little that all of them together fit in a quarter */
    const float nothing = 0.25f * rest / (float)(w->bs->scene->edges.n + 1);
    uint32_t n = w->bs->scene->edges.n;
    w->least = w->total[0];
    for (int l = 1; l < BEAM_LANES; l++)
        w->least = beam_f4_least(w->least, w->total[l]);
    for (uint32_t i = 0; i < n; i++) {
        struct beam_bound *b = &w->bounds[i];
        beam_bound_edge(w, i, b);
        w->candidates[i] = (struct beam_candidate){ weigh_bound(b, b->before), i };
    }
    n = beam_choose(w, n, start + 0.25f * rest);
    for (uint32_t k = 0; k < n; k++)
        weigh_walls(w, &w->candidates[k], nothing);
    n = beam_choose(w, n, start + 0.5f * rest);
    for (uint32_t k = 0; k < n; k++)
        if (w->candidates[k].weight < FOR_CERTAIN)
            weigh_lanes(w, &w->candidates[k]);
    n = beam_choose(w, n, BEAM_LEFT_OUT);
    for (uint32_t k = 0; k < n; k++)
        add_edge(w, w->candidates[k].i, w->legs[w->candidates[k].i]);
}

/* beam_edge.c - waves bent at an edge, to the lanes of a tile: trace_edge.c in single precision.
 *
 * First the whole tile is asked what the edge could bring at most: from the spot in its middle, with the margin that its
 * radius allows.  Most edges end there. */
#include "radio/beam_int.h"

#define NEAR_F ((float)SCENE_NEAR_M)
#define NEAREST_F ((float)TRACE_NEAREST_M)
#define TWO_PI2 19.7392088f

enum { TERMS_MAX = 1 + EDGE_SCREENS_MAX };

struct complex4 {
    beam_f4 re, im;
};

static struct complex4 times(struct complex4 a, struct complex4 b)
{
    return (struct complex4){ a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re };
}

static const struct complex4 ONE = { { 1.0f, 1.0f, 1.0f, 1.0f }, { 0.0f, 0.0f, 0.0f, 0.0f } };
static const struct complex4 NONE = { { 0.0f, 0.0f, 0.0f, 0.0f }, { 0.0f, 0.0f, 0.0f, 0.0f } };

/* The principal root. */
static struct complex4 root_of(struct complex4 a)
{
    struct complex4 out;
    for (int r = 0; r < BEAM_RADIOS; r++) {
        const float size = sqrtf(a.re[r] * a.re[r] + a.im[r] * a.im[r]);
        const float re = sqrtf(0.5f * (size + a.re[r] > 0.0f ? size + a.re[r] : 0.0f));
        const float im = sqrtf(0.5f * (size - a.re[r] > 0.0f ? size - a.re[r] : 0.0f));
        out.re[r] = re;
        out.im[r] = a.im[r] < 0.0f ? -im : im;
    }
    return out;
}

static float turn(struct beam_vec axis, struct beam_vec a, struct beam_vec b)
{
    return beam_vec_dot(axis, beam_vec_cross(a, b));
}

static struct beam_vec unit_or(struct beam_vec v, struct beam_vec otherwise)
{
    const float length2 = beam_vec_dot(v, v);
    return length2 > 1e-12f ? beam_vec_scale(v, 1.0f / sqrtf(length2)) : otherwise;
}

static struct beam_vec mirrored(struct beam_vec v, struct beam_vec n)
{
    return beam_vec_sub(v, beam_vec_scale(n, 2.0f * beam_vec_dot(v, n)));
}

static struct complex4 screen_pass(const struct beam_antenna *an, const struct beam_screen *s, struct beam_vec way)
{
    const struct beam_node node = beam_node_of(fabsf(beam_vec_dot(way, s->n)));
    const struct complex4 pass = { beam_look_up(an->pass_re, s->row, node), beam_look_up(an->pass_im, s->row, node) };
    return s->is_half ? root_of(pass) : pass;
}

/* The way over an edge as one spot sees it. */
struct bend {
    const struct beam_edge *e;
    struct beam_vec at, point, way_in, way_out; /* ways of length 1 */
    float flat_in_m, flat_out_m;                /* distances from the edge's line */
    float length_m;                             /* of the way */
    float where_m;                              /* along the edge */
};

static bool find_bend(const struct beam_antenna *an, const struct beam_edge *e, struct beam_vec at, struct bend *b)
{
    const struct beam_vec in = beam_vec_sub(an->at, e->from), out = beam_vec_sub(at, e->from);
    const float t_in = beam_vec_dot(in, e->axis), t_out = beam_vec_dot(out, e->axis);
    const struct beam_vec flat_in = beam_vec_sub(in, beam_vec_scale(e->axis, t_in));
    const struct beam_vec flat_out = beam_vec_sub(out, beam_vec_scale(e->axis, t_out));
    b->e = e;
    b->at = at;
    b->flat_in_m = sqrtf(beam_vec_dot(flat_in, flat_in));
    b->flat_out_m = sqrtf(beam_vec_dot(flat_out, flat_out));
    const float flat = b->flat_in_m + b->flat_out_m, along = t_out - t_in;
    b->where_m = flat > 1e-9f ? (t_in * b->flat_out_m + t_out * b->flat_in_m) / flat : t_in;
    b->length_m = sqrtf(flat * flat + along * along);
    b->point = beam_vec_add(e->from, beam_vec_scale(e->axis, b->where_m));
    const struct beam_vec to_point = beam_vec_sub(b->point, an->at), to_spot = beam_vec_sub(at, b->point);
    const float s_in = sqrtf(beam_vec_dot(to_point, to_point)), s_out = sqrtf(beam_vec_dot(to_spot, to_spot));
    if (s_in < NEAR_F || s_out < NEAR_F)
        return false;
    b->way_in = beam_vec_scale(to_point, 1.0f / s_in);
    b->way_out = beam_vec_scale(to_spot, 1.0f / s_out);
    return true;
}

/* Cosine of the turn at the edge, seen along it, and 1 less it, which near 0 is not found from the cosine. */
static float cos_turn(const struct bend *b, struct beam_vec way_in, float *bending)
{
    const struct beam_vec axis = b->e->axis;
    const struct beam_vec p = beam_vec_sub(way_in, beam_vec_scale(axis, beam_vec_dot(way_in, axis)));
    const struct beam_vec q = beam_vec_sub(b->way_out, beam_vec_scale(axis, beam_vec_dot(b->way_out, axis)));
    const float size2 = beam_vec_dot(p, p) * beam_vec_dot(q, q);
    const float over = size2 > 1e-24f ? 1.0f / sqrtf(size2) : 0.0f;
    const float c = beam_vec_dot(p, q) * over, s = turn(axis, p, q) * over;
    *bending = c > 0.0f ? s * s / (1.0f + c) : 1.0f - c;
    return c;
}

static float zone_share(float nu) { return 0.5f + 0.5f * nu / sqrtf(nu * nu + 0.5f); }

/* Share of the Fresnel zone, in amplitude, that lies on the edge; `slack_m` lengthens it at both ends. */
static beam_f4 left_over(const struct beam_antenna *an, const struct bend *b, float slack_m)
{
    const float flat = b->flat_in_m + b->flat_out_m, l = b->length_m;
    const float shape = 2.0f * flat * flat * flat * flat / (l * l * l * b->flat_in_m * b->flat_out_m);
    beam_f4 out = beam_f4_all(0.0f);
    for (uint32_t r = 0; r < an->n_radios; r++) {
        const float zone = sqrtf(shape * an->over_wavelength[r]);
        out[r] = zone_share((b->where_m + slack_m) * zone) - zone_share((b->where_m - slack_m - b->e->length_m) * zone);
        out[r] = out[r] < 1e-3f ? 0.0f : out[r];
    }
    return out;
}

/* What is left of the interference between the straight wave from `image` and the bent one: W of trace.h. */
static float window_of(float apart2) { return apart2 > 1.0f ? 0.0f : expf(-TWO_PI2 * apart2); }

/* erfc(sqrt(j x)) / 2; without its turning phase where nobody asks for it. */
static struct complex4 half_erfc(const struct beam_scene *bs, beam_f4 x, bool with_phase)
{
    struct complex4 out = NONE;
    for (int r = 0; r < BEAM_RADIOS; r++) {
        const float root = sqrtf(x[r] > 0.0f ? x[r] : 0.0f), at = root / (1.0f + root) * (BEAM_BEND_NODES - 1);
        const int i = (int)at;
        const float k = at - (float)i;
        out.re[r] = bs->bend_re[i] + k * (bs->bend_re[i + 1] - bs->bend_re[i]);
        out.im[r] = bs->bend_im[i] + k * (bs->bend_im[i + 1] - bs->bend_im[i]);
        if (with_phase) {
            const float c = cosf(x[r]), s = -sinf(x[r]), re = out.re[r];
            out.re[r] = re * c - out.im[r] * s;
            out.im[r] = re * s + out.im[r] * c;
        }
    }
    return out;
}

/* ---- what passes on either side: as in trace_edge.c ---- */

struct sides {
    struct complex4 left, right;
};

static struct sides direct_sides(const struct beam_antenna *an, const struct bend *b, struct beam_vec way)
{
    struct sides out = { ONE, ONE };
    for (uint32_t i = 0; i < b->e->n_screens; i++) {
        const struct beam_screen *s = &b->e->screens[i];
        struct complex4 *const side = turn(b->e->axis, way, s->along) > 0.0f ? &out.left : &out.right;
        *side = times(*side, screen_pass(an, s, way));
    }
    return out;
}

static struct complex4 pass_beside(const struct beam_antenna *an, const struct beam_edge *e, uint32_t plane,
                                   struct beam_vec beside, struct beam_vec way)
{
    struct complex4 amplitude = ONE;
    for (uint32_t i = 0; i < e->n_screens; i++) {
        const struct beam_screen *s = &e->screens[i];
        const float across = turn(e->axis, s->along, way);
        if (s->plane == plane || fabsf(across) < 1e-6f)
            continue;
        const float on_screen = turn(e->axis, beside, way) / across, on_leg = turn(e->axis, beside, s->along) / across;
        if (on_screen > 0.0f && on_leg > 0.0f)
            amplitude = times(amplitude, screen_pass(an, s, way));
    }
    return amplitude;
}

static struct sides mirror_sides(const struct beam_antenna *an, const struct bend *b, uint32_t plane,
                                 struct beam_vec way)
{
    struct sides out = { NONE, NONE };
    bool has_left = false, has_right = false;
    for (uint32_t i = 0; i < b->e->n_screens; i++) {
        const struct beam_screen *s = &b->e->screens[i];
        const bool is_left = turn(b->e->axis, way, s->along) > 0.0f;
        bool *const has = is_left ? &has_left : &has_right;
        if (s->plane != plane || *has)
            continue;
        *has = true;
        const struct beam_node node = beam_node_of(fabsf(beam_vec_dot(way, s->n)));
        struct complex4 a = { beam_look_up(an->mirror_re, s->row, node), beam_look_up(an->mirror_im, s->row, node) };
        a = times(a, pass_beside(an, b->e, plane, s->along, beam_vec_scale(b->way_in, -1.0f)));
        a = times(a, pass_beside(an, b->e, plane, s->along, b->way_out));
        *(is_left ? &out.left : &out.right) = a;
    }
    return out;
}

/* (there - here) in the phase of here. */
static struct complex4 jump_of(const struct bend *b, struct beam_vec way_in, struct sides sides)
{
    const bool is_left = turn(b->e->axis, way_in, b->way_out) > 0.0f;
    const struct complex4 here = is_left ? sides.left : sides.right, there = is_left ? sides.right : sides.left;
    const beam_f4 size = beam_f4_sqrt(here.re * here.re + here.im * here.im);
    const beam_f4 far_size = beam_f4_sqrt(there.re * there.re + there.im * there.im);
    const struct complex4 back = { here.re, -here.im };
    struct complex4 out = times((struct complex4){ there.re - here.re, there.im - here.im }, back);
    for (int r = 0; r < BEAM_RADIOS; r++) {
        const bool is_there = size[r] > 1e-12f;
        out.re[r] = is_there ? out.re[r] / size[r] : far_size[r];
        out.im[r] = is_there ? out.im[r] / size[r] : 0.0f;
    }
    return out;
}

/* ---- the terms of an edge ---- */

struct term {
    uint32_t group;
    bool is_mirror;
    struct beam_vec image, n;
};

/* The terms that the antenna can have at the edge: direct, and mirrored by each plane of its screens. */
static int terms_of(const struct beam_work *w, const struct beam_edge *e, struct term terms[TERMS_MAX])
{
    const struct beam_antenna *an = w->antenna;
    terms[0] = (struct term){ .group = 0, .image = an->at };
    int n = 1;
    for (uint32_t i = 0; i < e->n_planes && w->options.order > 0; i++) {
        const uint32_t k = e->planes[i];
        const struct beam_vec normal = { w->bs->nx[k], w->bs->ny[k], w->bs->nz[k] };
        if (fabsf(an->side_m[k]) < NEAR_F)
            continue;
        const struct beam_vec image = beam_vec_sub(an->at, beam_vec_scale(normal, 2.0f * an->side_m[k]));
        terms[n++] = (struct term){ .group = 1 + k, .is_mirror = true, .image = image, .n = normal };
    }
    return n;
}

static bool mirror_is_seen(const struct beam_work *w, const struct beam_edge *e, uint32_t plane, struct beam_vec at)
{
    const struct beam_scene *bs = w->bs;
    const float side = w->antenna->side_m[plane];
    const float out = at.x * bs->nx[plane] + at.y * bs->ny[plane] + at.z * bs->nz[plane] - bs->d[plane];
    for (uint32_t i = 0; i < e->n_screens; i++) {
        const int32_t on = e->screens[i].mirrors_on;
        if (e->screens[i].plane == plane && (!on || ((on > 0) == (side > 0.0f) && (on > 0) == (out > 0.0f))))
            return true;
    }
    return false;
}

static float apart2_of(const struct bend *b, struct beam_vec image)
{
    const struct beam_vec arriving = unit_or(beam_vec_sub(b->at, image), b->way_out);
    const struct beam_vec apart = beam_vec_sub(arriving, b->way_out);
    return beam_vec_dot(apart, apart);
}

/* At most this much power can the edge bring to any spot within `radius_m` of the middle one. */
static beam_f4 most_of_edge(const struct beam_work *w, const struct beam_edge *e, const struct term *terms, int n_terms,
                            struct beam_vec middle, float radius_m, const beam_f4 *parent_most)
{
    const struct beam_antenna *an = w->antenna;
    struct bend b;
    if (!find_bend(an, e, middle, &b) || b.flat_out_m <= 2.0f * radius_m || b.flat_in_m < radius_m)
        return beam_f4_all(1.0f);
    const float least_m = b.length_m > radius_m + NEAREST_F ? b.length_m - radius_m : NEAREST_F;
    const float flat_out_m = b.flat_out_m - radius_m;
    const float k_length = b.flat_in_m * flat_out_m / (b.length_m + radius_m);
    const beam_f4 share = left_over(an, &b, radius_m);
    const beam_f4 free = an->free_space * share * share * an->most_gain / (least_m * least_m);
    const float sin_half = radius_m / b.flat_out_m, cos_half = sqrtf(1.0f - sin_half * sin_half);
    const float straight_m = sqrtf(beam_vec_dot(beam_vec_sub(middle, an->at), beam_vec_sub(middle, an->at)));
    beam_f4 most = beam_f4_all(0.0f);
    for (int i = 0; i < n_terms; i++) {
        const struct beam_vec way_in = terms[i].is_mirror ? mirrored(b.way_in, terms[i].n) : b.way_in;
        /* The least turn in reach: the middle's less the angle that the tile fills as seen from the edge. */
        float bending;
        const float c = cos_turn(&b, way_in, &bending), s = sqrtf(c < 1.0f ? 1.0f - c * c : 0.0f);
        const float cos_least = c >= cos_half ? 1.0f : c * cos_half + s * sin_half;
        const beam_f4 x = an->wave_number * (k_length * (1.0f - cos_least));
        const struct complex4 h = half_erfc(w->bs, x, false);
        const beam_f4 size = h.re * h.re + h.im * h.im;
        const beam_f4 power = 4.0f * size * free; /* an amplitude jumps by two at most */
        const float apart = sqrtf(apart2_of(&b, terms[i].image)) - radius_m / flat_out_m - radius_m / straight_m;
        const float window = apart > 0.0f ? window_of(apart * apart) : 1.0f;
        most += power + 2.0f * window * parent_most[i] * beam_f4_sqrt(power);
    }
    return most;
}

/* Bent waves of one lane. */
static void bend_lane(const struct beam_work *w, const struct bend *b, const struct term *terms, int n_terms, int lane,
                      struct complex4 d[TERMS_MAX][BEAM_LANES], float window[TERMS_MAX][BEAM_LANES])
{
    const struct beam_antenna *an = w->antenna;
    const float nearest = b->length_m > NEAREST_F ? b->length_m : NEAREST_F;
    const beam_f4 free = beam_f4_sqrt(an->free_space * beam_antenna_gain(an, b->way_in)) / nearest;
    const beam_f4 amplitude = free * left_over(an, b, 0.0f);
    const float k_length = b->flat_in_m * b->flat_out_m / b->length_m;
    for (int i = 0; i < n_terms; i++) {
        const struct term *t = &terms[i];
        if (t->is_mirror && !mirror_is_seen(w, b->e, t->group - 1, b->at))
            continue;
        const struct beam_vec way_in = t->is_mirror ? mirrored(b->way_in, t->n) : b->way_in;
        const struct beam_vec half_way =
            unit_or(beam_vec_add(way_in, b->way_out), t->is_mirror ? b->way_out : b->way_in);
        const struct sides sides =
            t->is_mirror ? mirror_sides(an, b, t->group - 1, half_way) : direct_sides(an, b, half_way);
        float bending;
        cos_turn(b, way_in, &bending);
        window[i][lane] = window_of(apart2_of(b, t->image));
        const beam_f4 x = an->wave_number * (k_length * bending);
        const struct complex4 wave = times(jump_of(b, way_in, sides), half_erfc(w->bs, x, window[i][lane] > 0.0f));
        d[i][lane] = (struct complex4){ amplitude * wave.re, amplitude * wave.im };
    }
}

static void most_of_lanes(const struct beam_work *w, const struct term *terms, int n_terms,
                          const struct complex4 d[TERMS_MAX][BEAM_LANES], const float window[TERMS_MAX][BEAM_LANES],
                          const beam_f4 legs[BEAM_LANES], beam_f4 most[BEAM_LANES])
{
    for (int l = 0; l < BEAM_LANES; l++) {
        most[l] = beam_f4_all(0.0f);
        for (int i = 0; i < n_terms; i++) {
            const beam_f4 power = (d[i][l].re * d[i][l].re + d[i][l].im * d[i][l].im) * legs[l];
            most[l] += power;
            if (window[i][l] > 0.0f && w->is_touched[terms[i].group])
                most[l] += 2.0f * window[i][l] * beam_f4_sqrt(power) * w->groups[terms[i].group].parent[l];
        }
    }
}

/* Middle and radius of the lanes that matter. */
static struct beam_vec tile_middle(const struct beam_work *w, float *radius_m)
{
    struct beam_vec low = beam_lane(&w->at, 0), high = low;
    for (int l = 1; l < BEAM_LANES; l++) {
        const struct beam_vec q = beam_lane(&w->at, l);
        low = (struct beam_vec){ fminf(low.x, q.x), fminf(low.y, q.y), fminf(low.z, q.z) };
        high = (struct beam_vec){ fmaxf(high.x, q.x), fmaxf(high.y, q.y), fmaxf(high.z, q.z) };
    }
    const struct beam_vec across = beam_vec_sub(high, low);
    *radius_m = 0.5f * sqrtf(beam_vec_dot(across, across));
    return beam_vec_scale(beam_vec_add(low, high), 0.5f);
}

static bool tile_leaves_out(struct beam_work *w, const struct beam_edge *e, const struct term *terms, int n_terms)
{
    beam_f4 parent_most[TERMS_MAX];
    for (int i = 0; i < n_terms; i++) {
        parent_most[i] = beam_f4_all(0.0f);
        if (!w->is_touched[terms[i].group])
            continue;
        const struct beam_group *g = &w->groups[terms[i].group];
        for (int l = 0; l < BEAM_LANES; l++)
            for (int r = 0; r < BEAM_RADIOS; r++)
                parent_most[i][r] = fmaxf(parent_most[i][r], g->parent[l][r]);
    }
    float radius_m;
    const struct beam_vec middle = tile_middle(w, &radius_m);
    const beam_f4 one = most_of_edge(w, e, terms, n_terms, middle, radius_m + 1e-3f, parent_most);
    beam_f4 most[BEAM_LANES];
    for (int l = 0; l < BEAM_LANES; l++)
        most[l] = one;
    return beam_leave_out(w, most);
}

void beam_add_edge(struct beam_work *w, const struct beam_edge *e)
{
    struct term terms[TERMS_MAX];
    const int n_terms = terms_of(w, e, terms);
    if (tile_leaves_out(w, e, terms, n_terms))
        return;
    struct complex4 d[TERMS_MAX][BEAM_LANES] = { 0 };
    float window[TERMS_MAX][BEAM_LANES] = { 0 };
    struct beam_points point, from;
    for (int l = 0; l < BEAM_LANES; l++) {
        struct bend b;
        if (find_bend(w->antenna, e, beam_lane(&w->at, l), &b))
            bend_lane(w, &b, terms, n_terms, l, d, window);
        point.x[l] = b.point.x;
        point.y[l] = b.point.y;
        point.z[l] = b.point.z;
        from.x[l] = w->antenna->at.x;
        from.y[l] = w->antenna->at.y;
        from.z[l] = w->antenna->at.z;
    }
    beam_f4 legs[BEAM_LANES], most[BEAM_LANES];
    for (int l = 0; l < BEAM_LANES; l++)
        legs[l] = beam_f4_all(1.0f);
    most_of_lanes(w, terms, n_terms, d, window, legs, most);
    if (beam_leave_out(w, most))
        return;
    w->n_paths += (uint64_t)__builtin_popcount(w->active);
    beam_sides(w->bs, &point, w->low_m, w->high_m);
    const struct beam_end bend = { &point, w->low_m, w->high_m };
    beam_leg(w, bend, (struct beam_end){ &w->at, w->at_low_m, w->at_high_m }, e->planes, e->n_planes, legs);
    most_of_lanes(w, terms, n_terms, d, window, legs, most);
    if (beam_leave_out(w, most))
        return;
    beam_leg(w, (struct beam_end){ &from, w->antenna->side_m, w->antenna->side_m }, bend, e->planes, e->n_planes, legs);
    for (int i = 0; i < n_terms; i++) {
        struct beam_group *g = beam_group_of(w, terms[i].group);
        for (int l = 0; l < BEAM_LANES; l++) {
            const beam_f4 power = (d[i][l].re * d[i][l].re + d[i][l].im * d[i][l].im) * legs[l];
            const beam_f4 scale = window[i][l] * beam_f4_sqrt(legs[l]);
            g->re[l] += scale * d[i][l].re;
            g->im[l] += scale * d[i][l].im;
            g->rest[l] += (1.0f - window[i][l] * window[i][l]) * power;
            w->total[l] += power;
        }
    }
}

/* beam_bound.c - what an edge can bring at most, without tracing to it.
 *
 * Once per antenna: the images in the planes of the edge's screens and the most that an amplitude can jump there (what walls
 * let through to the edge: beam_arrival.c).  Once per tile: the bending for the spot in the
 * middle, with the margin that the tile's radius allows. */
#include "radio/beam_bent.h"
#include "radio/beam_int.h"

#define NEAR_F ((float)SCENE_NEAR_M)
#define NEAREST_F ((float)TRACE_NEAREST_M)
/* Where no bound is known. */
#define PLENTY 1e6f

/* ---- once per antenna ---- */

enum { NEVER = 2 };

/* The side of the plane on which its screens mirror a wave that comes from a side: 0 either, +1, -1, or NEVER. */
static int32_t mirror_side(const struct beam_edge *e, uint32_t plane, float from_m)
{
    int32_t side = NEVER;
    for (uint32_t i = 0; i < e->n_screens; i++) {
        const int32_t on = e->screens[i].mirrors_on;
        if (e->screens[i].plane == plane && !on)
            return 0;
        if (e->screens[i].plane == plane && (on > 0) == (from_m > 0.0f))
            side = on;
    }
    return side;
}

static void find_terms(const struct beam_scene *bs, const struct beam_antenna *an, const struct beam_edge *e,
                       struct trace_options options, struct beam_edge_in *out)
{
    const bool flat = beam_edge_is_flat(e);
    out->terms[out->n_terms++] = (struct beam_term){ .plane = e->planes[0], .is_flat = flat, .image = an->at };
    for (uint32_t i = 0; i < e->n_planes && options.order > 0; i++) {
        const uint32_t k = e->planes[i];
        const struct beam_vec n = { bs->nx[k], bs->ny[k], bs->nz[k] };
        const int32_t seen_from = mirror_side(e, k, an->side_m[k]);
        if (fabsf(an->side_m[k]) < NEAR_F || seen_from == NEVER)
            continue;
        out->terms[out->n_terms++] =
            (struct beam_term){ .group = 1 + k,
                                .plane = k,
                                .is_mirror = true,
                                .is_flat = flat,
                                .seen_from = seen_from,
                                .image = beam_vec_sub(an->at, beam_vec_scale(n, 2.0f * an->side_m[k])),
                                .n = n };
    }
    for (uint32_t i = 0; i < out->n_terms; i++) {
        const struct beam_jump *jump = flat ? beam_jump_of(an->tables, e, out->terms[i].is_mirror) : NULL;
        out->terms[i].jump = jump ? *jump : (struct beam_jump){ .most = beam_f4_all(2.0f) };
    }
}

bool beam_look_at_edges(struct arena *a, const struct beam_scene *bs, struct trace_options options, double missing_db,
                        struct beam_box spots, struct beam_antenna *out)
{
    const uint32_t n = bs->scene->edges.n;
    struct beam_edge_in *edges = ARENA_ARRAY(a, struct beam_edge_in, n);
    if (!edges)
        return false;
    for (uint32_t i = 0; i < n; i++) {
        const struct beam_edge *e = &bs->edges[i];
        const struct beam_vec in = beam_vec_sub(out->at, e->from);
        edges[i].along_m = beam_vec_dot(in, e->axis);
        const struct beam_vec flat = beam_vec_sub(in, beam_vec_scale(e->axis, edges[i].along_m));
        edges[i].flat_m = sqrtf(beam_vec_dot(flat, flat));
        find_terms(bs, out, e, options, &edges[i]);
    }
    out->edges = edges;
    return beam_find_arrivals(a, bs, missing_db, spots, out, edges);
}

/* ---- once per tile ---- */

/* The way over an edge as one spot sees it. */
struct bend {
    const struct beam_edge *e;
    struct beam_vec at, point, way_in, way_out; /* ways of length 1 */
    float flat_in_m, flat_out_m;                /* distances from the edge's line */
    float length_m;                             /* of the way */
    float where_m;                              /* along the edge */
};

static RT_INLINE bool find_bend(const struct beam_antenna *an, const struct beam_edge *e, const struct beam_edge_in *in,
                                struct beam_vec at, struct bend *b)
{
    const struct beam_vec out = beam_vec_sub(at, e->from);
    const float t_out = beam_vec_dot(out, e->axis);
    const struct beam_vec flat_out = beam_vec_sub(out, beam_vec_scale(e->axis, t_out));
    b->e = e;
    b->at = at;
    b->flat_in_m = in->flat_m;
    b->flat_out_m = sqrtf(beam_vec_dot(flat_out, flat_out));
    const float flat = b->flat_in_m + b->flat_out_m, along = t_out - in->along_m;
    b->where_m = flat > 1e-9f ? (in->along_m * b->flat_out_m + t_out * b->flat_in_m) / flat : in->along_m;
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

static RT_INLINE float cos_turn(const struct bend *b, struct beam_vec way_in, float *bending)
{
    const struct beam_vec axis = b->e->axis;
    const struct beam_vec p = beam_vec_sub(way_in, beam_vec_scale(axis, beam_vec_dot(way_in, axis)));
    const struct beam_vec q = beam_vec_sub(b->way_out, beam_vec_scale(axis, beam_vec_dot(b->way_out, axis)));
    const float size2 = beam_vec_dot(p, p) * beam_vec_dot(q, q);
    const float over = size2 > 1e-24f ? 1.0f / sqrtf(size2) : 0.0f;
    const float c = beam_vec_dot(p, q) * over, s = beam_turn(axis, p, q) * over;
    *bending = c > 0.0f ? s * s / (1.0f + c) : 1.0f - c;
    return c;
}

static RT_INLINE float apart2_of(const struct bend *b, struct beam_vec image)
{
    const struct beam_vec arriving = beam_unit_or(beam_vec_sub(b->at, image), b->way_out);
    const struct beam_vec apart = beam_vec_sub(arriving, b->way_out);
    return beam_vec_dot(apart, apart);
}

/* Phase by which a way over a point of the edge is longer than over the point of bending, over their distance squared and the
 * wave number. */
static RT_INLINE float end_per_m(const struct bend *b)
{
    const float flat = b->flat_in_m + b->flat_out_m, l = b->length_m, flat2 = flat * flat;
    const float below = 2.0f * l * l * l * b->flat_in_m * b->flat_out_m;
    return below > 0.0f ? flat2 * flat2 / below : 1e9f;
}

/* How far the point of bending moves along the edge within the tile. */
static RT_INLINE float shift_m(const struct beam_work *w, const struct bend *b)
{
    const float flat = b->flat_in_m + b->flat_out_m, level = sqrtf(beam_more(1.0f - b->e->axis.z * b->e->axis.z, 0.0f));
    const float rise = sqrtf(beam_more(b->length_m * b->length_m - flat * flat, 0.0f));
    return w->radius_m * (level + (rise + level * w->radius_m) * b->flat_in_m / (flat * (flat - w->radius_m))) + 1e-3f;
}

/* The most of the edge's share of the bent wave within the tile, and *before of what gets to the edge. */
static RT_INLINE beam_f4 most_share2(const struct beam_work *w, const struct bend *b, const struct beam_edge_in *in,
                                     bool any_window, uint32_t *near, beam_f4 *before)
{
    const float shift = shift_m(w, b), length = b->e->length_m, low = b->where_m - shift, high = b->where_m + shift;
    const float beyond_m = -high > low - length ? -high : low - length;
    const struct beam_stretch *last = in->stretches + in->n_stretches - 1;
    const struct beam_stretch *s = beam_stretch_at(in, low, near);
    for (*before = s->most; s < last && s->to_m < high; s++)
        *before = beam_f4_most(*before, s[1].most);
    if (beyond_m > 0.0f && !any_window) {
        const float per_m = 0.4f * end_per_m(b); /* it changes by less than that within the tile */
        return 4.0f * beam_most_bent2(w->antenna->wave_number * (per_m * beyond_m * beyond_m));
    }
    return beam_f4_all(BEAM_MOST_SHARE * BEAM_MOST_SHARE);
}

RT_WIDE void beam_bound_edge(const struct beam_work *w, uint32_t edge, struct beam_bound *out)
{
    const struct beam_edge *e = &w->bs->edges[edge];
    const struct beam_edge_in *in = &w->antenna->edges[edge];
    const struct beam_antenna *an = w->antenna;
    const float radius_m = w->radius_m;
    struct bend b;
    *out = (struct beam_bound){ .before = beam_f4_all(1.0f) };
    if (!find_bend(an, e, in, w->middle, &b) || b.flat_out_m <= 2.0f * radius_m || b.flat_in_m < radius_m) {
        out->power = out->crossed = beam_f4_all(PLENTY);
        return;
    }
    const float least_m = b.length_m > radius_m + NEAREST_F ? b.length_m - radius_m : NEAREST_F;
    const float flat_out_m = b.flat_out_m - radius_m;
    const float k_length = b.flat_in_m * flat_out_m / (b.length_m + radius_m);
    const float sin_half = radius_m / b.flat_out_m, cos_half = sqrtf(1.0f - sin_half * sin_half);
    beam_f4 size2[BEAM_TERMS_MAX];
    float window[BEAM_TERMS_MAX];
    bool any_window = false;
    for (uint32_t i = 0; i < in->n_terms; i++) {
        const struct beam_term *t = &in->terms[i];
        const struct beam_vec way_in = t->is_mirror ? beam_mirrored(b.way_in, t->n) : b.way_in;
        /* The least turn in reach: the middle's less the angle that the tile fills as seen from the edge. */
        float bending;
        const float c = cos_turn(&b, way_in, &bending), s = sqrtf(c < 1.0f ? 1.0f - c * c : 0.0f);
        const float cos_least = c >= cos_half ? 1.0f : c * cos_half + s * sin_half;
        size2[i] = beam_most_bent2(an->wave_number * (k_length * (1.0f - cos_least))) * (t->jump.most * t->jump.most);
        const struct beam_vec straight = beam_vec_sub(w->middle, t->image);
        const float straight_m = sqrtf(beam_vec_dot(straight, straight));
        const float apart = sqrtf(apart2_of(&b, t->image)) - radius_m / flat_out_m -
                            radius_m / (straight_m > radius_m ? straight_m - radius_m : 1e-3f);
        window[i] = apart > 0.0f ? beam_window(apart * apart) : 1.0f;
        any_window = any_window || window[i] > 0.0f;
    }
    const beam_f4 share2 = most_share2(w, &b, in, any_window, &w->near[edge], &out->before);
    const beam_f4 free = an->free_space * share2 / (least_m * least_m);
    const beam_f4 over_least = 1.0f / (w->least + BEAM_FAINT);
    for (uint32_t i = 0; i < in->n_terms; i++) {
        const beam_f4 power = size2[i] * free;
        out->power += power * over_least;
        if (window[i] > 0.0f && w->is_touched[in->terms[i].group])
            out->crossed += 2.0f * window[i] * w->groups[in->terms[i].group].most * beam_f4_sqrt(power) * over_least;
    }
}

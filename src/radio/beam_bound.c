/* beam_bound.c - what an edge can bring at most, without tracing to it.
 *
 * Once per antenna: the images in the planes of the edge's screens, the most that an amplitude can jump there, and the most
 * that walls let through between the antenna and any point of the edge.  Once per tile: the bending for the spot in the
 * middle, with the margin that the tile's radius allows. */
#include "radio/beam_int.h"

#define NEAR_F ((float)SCENE_NEAR_M)
#define NEAREST_F ((float)TRACE_NEAREST_M)
/* Rounding, where a way must be within a face by more than that. */
#define SLACK_M 1e-3f

/* ---- once per antenna ---- */

static bool is_convex(const struct beam_polygon *q)
{
    float sign = 0.0f;
    for (uint32_t i = 0; i < q->n; i++) {
        const struct beam_side a = q->sides[i], b = q->sides[(i + 1) % q->n];
        const float cross = a.dx * b.dy - a.dy * b.dx;
        if (sign * cross < 0.0f)
            return false;
        sign = cross != 0.0f ? cross : sign;
    }
    return true;
}

static bool polygon_has(const struct beam_polygon *q, float u, float v)
{
    bool odd = false;
    for (uint32_t i = 0; i < q->n; i++) {
        const struct beam_side s = q->sides[i];
        odd ^= (s.ay > v) != (s.by > v) && u - s.ax < (v - s.ay) * s.slope;
    }
    return odd;
}

/* A stretch in a face's plane, as the rectangle about it. */
struct stretch {
    float u[2], v[2], u0, u1, v0, v1;
};

static bool overlaps(const struct stretch *s, float u0, float u1, float v0, float v1)
{
    return s->u1 >= u0 - SLACK_M && s->u0 <= u1 + SLACK_M && s->v1 >= v0 - SLACK_M && s->v0 <= v1 + SLACK_M;
}

/* The most that the face lets through anywhere on the stretch: 1 unless all of it lies in the face. */
static beam_f4 most_through(const struct beam_antenna *an, const struct beam_face *f, const struct stretch *s,
                            uint32_t node)
{
    const beam_f4 all = beam_f4_all(1.0f);
    if (s->u0 < f->u0 + SLACK_M || s->u1 > f->u1 - SLACK_M || s->v0 < f->v0 + SLACK_M || s->v1 > f->v1 - SLACK_M)
        return all;
    if (f->outline.n && (!is_convex(&f->outline) || !polygon_has(&f->outline, s->u[0], s->v[0]) ||
                         !polygon_has(&f->outline, s->u[1], s->v[1])))
        return all;
    for (uint32_t i = 0; i < f->n_cuts; i++) {
        float u0 = 1e30f, u1 = -1e30f, v0 = 1e30f, v1 = -1e30f;
        for (uint32_t k = 0; k < f->cuts[i].n; k++) {
            u0 = fminf(u0, f->cuts[i].sides[k].ax);
            u1 = fmaxf(u1, f->cuts[i].sides[k].ax);
            v0 = fminf(v0, f->cuts[i].sides[k].ay);
            v1 = fmaxf(v1, f->cuts[i].sides[k].ay);
        }
        if (overlaps(s, u0, u1, v0, v1))
            return all;
    }
    beam_f4 most = an->pass_most[(size_t)f->row * WALL_TABLE_NODES + node];
    for (uint32_t i = 0; i < f->n_patches; i++) {
        const struct beam_patch q = f->patches[i];
        if (!overlaps(s, q.u0, q.u1, q.v0, q.v1))
            continue;
        if (q.row < 0)
            return all;
        const beam_f4 pass = an->pass_most[(size_t)q.row * WALL_TABLE_NODES + node];
        for (int r = 0; r < BEAM_RADIOS; r++)
            most[r] = fmaxf(most[r], pass[r]);
    }
    return f->is_half ? beam_f4_sqrt(most) : most;
}

/* The most that gets to any point of the edge: the ways fill a triangle, which meets a plane between in a stretch. */
static beam_f4 most_to_edge(const struct beam_scene *bs, const struct beam_antenna *an, const struct beam_edge *e)
{
    const struct beam_vec ends[2] = { e->from, beam_vec_add(e->from, beam_vec_scale(e->axis, e->length_m)) };
    beam_f4 most = beam_f4_all(1.0f);
    for (uint32_t k = 0; k < bs->n_planes; k++) {
        bool own = false;
        for (uint32_t i = 0; i < e->n_planes; i++)
            own = own || e->planes[i] == k;
        const struct beam_vec n = { bs->nx[k], bs->ny[k], bs->nz[k] };
        const float from = an->side_m[k];
        const float to[2] = { beam_vec_dot(ends[0], n) - bs->d[k], beam_vec_dot(ends[1], n) - bs->d[k] };
        if (own || (from > 0.0f) == (to[0] > 0.0f) || (from > 0.0f) == (to[1] > 0.0f) || fabsf(from) < SLACK_M ||
            fabsf(to[0]) < SLACK_M || fabsf(to[1]) < SLACK_M)
            continue;
        struct beam_vec x[2];
        float least_cos = 1.0f;
        for (int i = 0; i < 2; i++) {
            const struct beam_vec way = beam_vec_sub(ends[i], an->at);
            x[i] = beam_vec_add(an->at, beam_vec_scale(way, from / (from - to[i])));
            least_cos = fminf(least_cos, fabsf(from - to[i]) / sqrtf(beam_vec_dot(way, way)));
        }
        for (uint32_t i = bs->first_face[k]; i < bs->first_face[k + 1]; i++) {
            const struct beam_face *f = &bs->faces[i];
            struct stretch s;
            for (int c = 0; c < 2; c++) {
                s.u[c] = beam_vec_dot(x[c], f->u) - f->ou;
                s.v[c] = beam_vec_dot(x[c], f->v) - f->ov;
            }
            s.u0 = fminf(s.u[0], s.u[1]);
            s.u1 = fmaxf(s.u[0], s.u[1]);
            s.v0 = fminf(s.v[0], s.v[1]);
            s.v1 = fmaxf(s.v[0], s.v[1]);
            most *= most_through(an, f, &s, beam_node_of(least_cos - 1e-5f).i);
        }
    }
    return most;
}

/* Two screens or fewer: one on either side at most, so an amplitude jumps by no more than both pass together. */
static beam_f4 most_direct_jump(const struct beam_antenna *an, const struct beam_edge *e)
{
    beam_f4 most = beam_f4_all(2.0f);
    const bool is_pair = e->n_screens == 2 && beam_vec_dot(e->screens[0].along, e->screens[1].along) < -0.999f;
    if (!is_pair && e->n_screens != 1)
        return most;
    for (uint32_t i = 0; i < 2; i++) {
        beam_f4 pass = beam_f4_all(1.0f);
        if (i < e->n_screens) {
            pass = beam_f4_sqrt(an->pass_most[(size_t)e->screens[i].row * WALL_TABLE_NODES]);
            if (e->screens[i].is_half)
                pass = beam_f4_sqrt(pass);
        }
        most = i ? most + pass : pass;
    }
    return most;
}

static void find_terms(const struct beam_scene *bs, const struct beam_antenna *an, const struct beam_edge *e,
                       struct trace_options options, struct beam_edge_in *out)
{
    out->terms[out->n_terms++] =
        (struct beam_term){ .plane = e->planes[0], .image = an->at, .most_jump = most_direct_jump(an, e) };
    for (uint32_t i = 0; i < e->n_planes && options.order > 0; i++) {
        const uint32_t k = e->planes[i];
        const struct beam_vec n = { bs->nx[k], bs->ny[k], bs->nz[k] };
        if (fabsf(an->side_m[k]) < NEAR_F)
            continue;
        beam_f4 most = beam_f4_all(0.0f);
        for (uint32_t s = 0; s < e->n_screens; s++)
            if (e->screens[s].plane == k)
                most += beam_f4_sqrt(an->mirror_most[(size_t)e->screens[s].row * WALL_TABLE_NODES]);
        out->terms[out->n_terms++] =
            (struct beam_term){ .group = 1 + k,
                                .plane = k,
                                .is_mirror = true,
                                .image = beam_vec_sub(an->at, beam_vec_scale(n, 2.0f * an->side_m[k])),
                                .n = n,
                                .most_jump = most };
    }
}

bool beam_look_at_edges(struct arena *a, const struct beam_scene *bs, struct trace_options options,
                        struct beam_antenna *out)
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
        edges[i].most = most_to_edge(bs, out, e);
        find_terms(bs, out, e, options, &edges[i]);
    }
    out->edges = edges;
    return true;
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

static bool find_bend(const struct beam_antenna *an, const struct beam_edge *e, const struct beam_edge_in *in,
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

static float cos_turn(const struct bend *b, struct beam_vec way_in, float *bending)
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

static float apart2_of(const struct bend *b, struct beam_vec image)
{
    const struct beam_vec arriving = beam_unit_or(beam_vec_sub(b->at, image), b->way_out);
    const struct beam_vec apart = beam_vec_sub(arriving, b->way_out);
    return beam_vec_dot(apart, apart);
}

/* Phase by which a way over a point of the edge is longer than over the point of bending, over their distance squared and the
 * wave number. */
static float end_per_m(const struct bend *b)
{
    const float flat = b->flat_in_m + b->flat_out_m, l = b->length_m, flat2 = flat * flat;
    const float below = 2.0f * l * l * l * b->flat_in_m * b->flat_out_m;
    return below > 0.0f ? flat2 * flat2 / below : 1e9f;
}

/* The most of the edge's share of the bent wave within the tile; *is_within tells that it bends on the edge itself. */
static beam_f4 most_share2(const struct beam_work *w, const struct bend *b, bool any_window, bool *is_within)
{
    const float radius_m = w->radius_m;
    const float below_m = -b->where_m - radius_m, above_m = b->where_m - b->e->length_m - radius_m;
    const float beyond_m = below_m > above_m ? below_m : above_m;
    if (beyond_m > 0.0f && !any_window) {
        const float per_m = 0.4f * end_per_m(b); /* it changes by less than that within the tile */
        const struct beam_c4 end =
            beam_half_erfc(w->bs, w->antenna->wave_number * (per_m * beyond_m * beyond_m), false);
        return 4.0f * (end.re * end.re + end.im * end.im);
    }
    *is_within = b->where_m > radius_m && b->where_m < b->e->length_m - radius_m;
    return beam_f4_all(BEAM_MOST_SHARE * BEAM_MOST_SHARE);
}

/* The most that interferes: of the group's straight wave, over all lanes. */
static beam_f4 most_parent(const struct beam_work *w, uint32_t group)
{
    beam_f4 most = beam_f4_all(0.0f);
    if (!w->is_touched[group])
        return most;
    for (int l = 0; l < BEAM_LANES; l++)
        for (int r = 0; r < BEAM_RADIOS; r++)
            most[r] = fmaxf(most[r], w->groups[group].parent[l][r]);
    return most;
}

float beam_weigh_edge(const struct beam_work *w, uint32_t edge, beam_f4 least)
{
    const struct beam_edge *e = &w->bs->edges[edge];
    const struct beam_edge_in *in = &w->antenna->edges[edge];
    const struct beam_antenna *an = w->antenna;
    const float radius_m = w->radius_m;
    struct bend b;
    if (!find_bend(an, e, in, w->middle, &b) || b.flat_out_m <= 2.0f * radius_m || b.flat_in_m < radius_m)
        return HUGE_VALF;
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
        const struct beam_c4 h = beam_half_erfc(w->bs, an->wave_number * (k_length * (1.0f - cos_least)), false);
        size2[i] = (h.re * h.re + h.im * h.im) * (t->most_jump * t->most_jump);
        const struct beam_vec straight = beam_vec_sub(w->middle, t->image);
        const float straight_m = sqrtf(beam_vec_dot(straight, straight));
        const float apart = sqrtf(apart2_of(&b, t->image)) - radius_m / flat_out_m -
                            radius_m / (straight_m > radius_m ? straight_m - radius_m : 1e-3f);
        window[i] = apart > 0.0f ? beam_window(apart * apart) : 1.0f;
        any_window = any_window || window[i] > 0.0f;
    }
    bool is_within = false;
    const beam_f4 share2 = most_share2(w, &b, any_window, &is_within);
    const beam_f4 free = an->free_space * an->most_gain * share2 / (least_m * least_m);
    const beam_f4 before = is_within ? in->most : beam_f4_all(1.0f), root = beam_f4_sqrt(before);
    beam_f4 most = beam_f4_all(0.0f);
    for (uint32_t i = 0; i < in->n_terms; i++) {
        const beam_f4 power = size2[i] * free;
        most += power * before;
        if (window[i] > 0.0f)
            most += 2.0f * window[i] * most_parent(w, in->terms[i].group) * beam_f4_sqrt(power) * root;
    }
    most /= least + BEAM_FAINT;
    return fmaxf(fmaxf(most[0], most[1]), fmaxf(most[2], most[3]));
}

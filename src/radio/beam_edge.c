/* beam_edge.c - waves bent at edges, to the lanes of a tile: trace_edge.c in single precision.
 *
 * What an edge brings is found in the order of what it costs to know: for all edges the way over the edge for every lane, what
 * reaches the edge (beam_arrival.c) and a bound of the bending; for those that are left then what the walls behind the edge
 * leave; and the bending itself (beam_term.c) only for the few that still matter. */
#include "radio/beam_bent.h"
#include "radio/beam_int.h"
#include "radio/beam_term.h"

#define NEAR_F ((float)SCENE_NEAR_M)
#define NEAREST_F ((float)TRACE_NEAREST_M)
/* Of what may be left out beyond the chains, the part that goes before the walls behind the edges are known. */
#define BENDING_PART 0.5f

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

RT_WIDE void beam_find_ways(const struct beam_work *w, const struct beam_edge *e, const struct beam_edge_in *in,
                            struct beam_ways *out)
{
    const struct beam_vec from = e->from, axis = e->axis, an = w->antenna->at;
    const float flat_in = in->flat_m, along_in = in->along_m;
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float x = w->at.x[l] - from.x, y = w->at.y[l] - from.y, z = w->at.z[l] - from.z;
        const float along = x * axis.x + y * axis.y + z * axis.z;
        const float fx = x - axis.x * along, fy = y - axis.y * along, fz = z - axis.z * along;
        const float flat_out = sqrtf(fx * fx + fy * fy + fz * fz), flat = flat_in + flat_out, rise = along - along_in;
        const float over_flat = flat > 1e-9f ? 1.0f / flat : 0.0f;
        const float where = flat > 1e-9f ? (along_in * flat_out + along * flat_in) * over_flat : along_in;
        const float length = sqrtf(flat * flat + rise * rise), per_flat = length * over_flat;
        const float px = from.x + axis.x * where, py = from.y + axis.y * where, pz = from.z + axis.z * where;
        const float ix = px - an.x, iy = py - an.y, iz = pz - an.z;
        const float ox = w->at.x[l] - px, oy = w->at.y[l] - py, oz = w->at.z[l] - pz;
        const float s_in = flat_in * per_flat, s_out = flat_out * per_flat; /* both legs are as steep */
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
        out->is_bent[l] = (float)((s_in >= NEAR_F) & (s_out >= NEAR_F));
    }
}

/* The most of an amplitude that free space and the edge's ends leave of each lane's way. */
RT_WIDE static void find_free(const struct beam_work *w, const struct beam_edge *e, const struct beam_ways *ways,
                              struct beam_lanes *free)
{
    const struct beam_antenna *an = w->antenna;
    const float length_m = e->length_m;
    float near[BEAM_LANES], far[BEAM_LANES], within[BEAM_LANES], over_length[BEAM_LANES];
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float root = sqrtf(ways->end_per_m[l]), where = ways->where_m[l];
        const float length = ways->length_m[l] > NEAREST_F ? ways->length_m[l] : NEAREST_F;
        near[l] = root * fabsf(where);
        far[l] = root * fabsf(length_m - where);
        within[l] = (float)((where > 0.0f) & (length_m - where > 0.0f));
        over_length[l] = 1.0f / length;
    }
    for (uint32_t r = 0; r < an->n_radios; r++) {
        const float k = sqrtf(an->wave_number[r]), free_space = sqrtf(an->free_space[r]);
        float *out = free->v[r];
#pragma omp simd
        for (int l = 0; l < BEAM_LANES; l++)
            out[l] =
                free_space * over_length[l] * (within[l] + beam_most_bent(k * near[l]) + beam_most_bent(k * far[l]));
    }
}

/* Adds the most that a term's wave can be. */
RT_WIDE static void add_term_bound(const struct beam_work *w, const struct beam_term *t, const struct beam_reach *reach,
                                   const struct beam_lanes *free, struct beam_weighed *out)
{
    const struct beam_antenna *an = w->antenna;
    const bool interferes = reach->any_window && w->is_touched[t->group];
    float root[BEAM_LANES];
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++)
        root[l] = sqrtf(reach->reach_m[l]);
    for (uint32_t r = 0; r < an->n_radios; r++) {
        const float jump = t->jump.most[r], k = sqrtf(an->wave_number[r]);
        const float *parent = w->groups[t->group].parent.v[r], *left = free->v[r];
        float *power = out->power.v[r], *crossed = out->crossed.v[r];
        float here[BEAM_LANES];
#pragma omp simd
        for (int l = 0; l < BEAM_LANES; l++) {
            here[l] = left[l] * jump * beam_most_bent(k * root[l]);
            power[l] += here[l] * here[l];
        }
        if (!interferes)
            continue;
#pragma omp simd
        for (int l = 0; l < BEAM_LANES; l++)
            crossed[l] += 2.0f * reach->window[l] * here[l] * parent[l];
    }
}

/* The most of the bounds over what the lanes have, after what is left of them by walls. */
RT_WIDE static float weigh(const struct beam_work *w, const struct beam_weighed *b)
{
    struct beam_lanes left;
    float most = 0.0f;
    beam_by_radio(b->legs, &left);
    for (uint32_t r = 0; r < w->antenna->n_radios; r++) {
        const float *power = b->power.v[r], *crossed = b->crossed.v[r], *over = w->over.v[r];
        float weight[BEAM_LANES];
#pragma omp simd
        for (int l = 0; l < BEAM_LANES; l++)
            weight[l] = (power[l] * left.v[r][l] + crossed[l] * sqrtf(left.v[r][l])) * over[l];
#pragma omp simd reduction(max : most)
        for (int l = 0; l < BEAM_LANES; l++)
            most = weight[l] > most ? weight[l] : most;
    }
    return most;
}

/* Weighs an edge by what gets to it and how far the ways turn there. */
static float weigh_bending(struct beam_work *w, uint32_t edge)
{
    const struct beam_edge *e = &w->bs->edges[edge];
    const struct beam_edge_in *in = &w->antenna->edges[edge];
    struct beam_weighed *b = &w->weighed[edge];
    struct beam_ways ways;
    struct beam_lanes free;
    struct beam_places places;
    beam_find_ways(w, e, in, &ways);
    find_free(w, e, &ways, &free);
    for (uint32_t r = 0; r < w->antenna->n_radios; r++)
        for (int l = 0; l < BEAM_LANES; l++)
            b->power.v[r][l] = b->crossed.v[r][l] = 0.0f;
    b->any_window = false;
    for (uint32_t i = 0; i < in->n_terms; i++) {
        struct beam_reach reach;
        beam_find_reach(w, e, in, &in->terms[i], &ways, &reach);
        add_term_bound(w, &in->terms[i], &reach, &free, b);
        b->any_window = b->any_window || reach.any_window;
    }
    beam_find_places(in, ways.where_m, &w->near[edge], &places);
    beam_powers_at(in, &places, b->legs);
    return weigh(w, b);
}

/* And again, with the walls behind it. */
static float weigh_walls(struct beam_work *w, uint32_t edge)
{
    const struct beam_edge *e = &w->bs->edges[edge];
    const struct beam_edge_in *in = &w->antenna->edges[edge];
    struct beam_weighed *b = &w->weighed[edge];
    struct beam_ways ways;
    beam_find_ways(w, e, in, &ways);
    if (b->any_window) {
        struct beam_places places;
        beam_find_places(in, ways.where_m, &w->near[edge], &places);
        beam_phases_at(in, &places, &b->phase);
    }
    beam_end_init(w->bs, &ways.point, 0, &w->edge);
    beam_leg(w, &w->edge, &w->spot, e->planes, e->n_planes, b->legs, b->any_window ? &b->phase : NULL);
    return weigh(w, b);
}

void beam_add_edges(struct beam_work *w)
{
    const float start = w->left_out, rest = w->may_leave_out - start;
    uint32_t n = w->bs->scene->edges.n;
    beam_f4 over[BEAM_LANES];
    for (int l = 0; l < BEAM_LANES; l++)
        over[l] = 1.0f / (w->total[l] + BEAM_FAINT);
    beam_by_radio(over, &w->over);
    for (uint32_t i = 0; i < n; i++)
        w->candidates[i] = (struct beam_candidate){ weigh_bending(w, i), i };
    n = beam_choose(w, n, start + BENDING_PART * rest);
    for (uint32_t k = 0; k < n; k++)
        w->candidates[k].weight = weigh_walls(w, w->candidates[k].i);
    n = beam_choose(w, n, w->may_leave_out);
    for (uint32_t k = 0; k < n; k++)
        beam_add_edge(w, w->candidates[k].i);
}

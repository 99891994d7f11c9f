/* beam_edge.c - waves bent at edges, to the lanes of a tile: trace_edge.c in single precision.
 *
 * What an edge brings is found in the order of what it costs to know: for all edges a bound for the whole tile from its middle
 * spot (beam_bound.c); for those that are left the way over the edge for every lane, what reaches the edge (beam_arrival.c)
 * and a bound of the bending; then what the walls behind the edge leave; and the bending itself (beam_term.c) only for the few
 * that still matter. */
#include "radio/beam_bent.h"
#include "radio/beam_int.h"
#include "radio/beam_term.h"

#define NEAR_F ((float)SCENE_NEAR_M)
#define NEAREST_F ((float)TRACE_NEAREST_M)

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
        out->is_bent[l] = (float)((s_in >= NEAR_F) & (s_out >= NEAR_F));
    }
}

/* The most that a term's wave can be, as a share of what free space leaves of the way over the edge. */
RT_WIDE static void add_term_bound(const struct beam_work *w, const struct beam_term *t, const struct beam_turns *turns,
                                   const struct beam_lanes *free, struct beam_weighed *out)
{
    const struct beam_antenna *an = w->antenna;
    const bool interferes = turns->any_window && w->is_touched[t->group];
    for (uint32_t r = 0; r < an->n_radios; r++) {
        const float jump2 = t->jump.most[r] * t->jump.most[r], k = an->wave_number[r];
        const float *parent = w->groups[t->group].parent.v[r], *left = free->v[r];
        float *power = out->power.v[r], *crossed = out->crossed.v[r];
        float here[BEAM_LANES];
#pragma omp simd
        for (int l = 0; l < BEAM_LANES; l++) {
            here[l] = left[l] * jump2 * beam_most_bent2_of(k * turns->reach_m[l]);
            power[l] += here[l];
        }
        if (!interferes)
            continue;
#pragma omp simd
        for (int l = 0; l < BEAM_LANES; l++)
            crossed[l] += 2.0f * turns->window[l] * sqrtf(here[l]) * parent[l];
    }
}

/* What free space and the edge's ends leave at most of each lane's way. */
RT_WIDE static void find_free(const struct beam_work *w, const struct beam_edge *e, const struct beam_ways *ways,
                              struct beam_lanes *free)
{
    const struct beam_antenna *an = w->antenna;
    const float length_m = e->length_m;
    for (uint32_t r = 0; r < an->n_radios; r++) {
        const float k = an->wave_number[r], free_space = an->free_space[r];
        float *out = free->v[r];
#pragma omp simd
        for (int l = 0; l < BEAM_LANES; l++) {
            const float near = ways->where_m[l], far = length_m - near, per_m = k * ways->end_per_m[l];
            const float ends =
                sqrtf(beam_most_bent2_of(per_m * near * near)) + sqrtf(beam_most_bent2_of(per_m * far * far));
            const float share = (float)((near > 0.0f) & (far > 0.0f)) + ends;
            const float length = ways->length_m[l] > NEAREST_F ? ways->length_m[l] : NEAREST_F;
            out[l] = free_space * share * share / (length * length);
        }
    }
}

/* The most of the bounds over what the lanes have, after what is left of them by walls. */
RT_WIDE static float weigh(const struct beam_work *w, const struct beam_weighed *b)
{
    float most = 0.0f;
    for (uint32_t r = 0; r < w->antenna->n_radios; r++) {
        float left[BEAM_LANES];
        for (int l = 0; l < BEAM_LANES; l++)
            left[l] = b->legs[l][r];
        const float *power = b->power.v[r], *crossed = b->crossed.v[r], *over = w->over.v[r];
#pragma omp simd reduction(max : most)
        for (int l = 0; l < BEAM_LANES; l++) {
            const float weight = (power[l] * left[l] + crossed[l] * sqrtf(left[l])) * over[l];
            most = weight > most ? weight : most;
        }
    }
    return most;
}

/* Weighs the edge again, lane by lane, with what gets to it. */
static void weigh_lanes(struct beam_work *w, struct beam_candidate *c)
{
    const struct beam_edge *e = &w->bs->edges[c->i];
    const struct beam_edge_in *in = &w->antenna->edges[c->i];
    struct beam_weighed *b = &w->weighed[c->i];
    struct beam_ways ways;
    struct beam_lanes free;
    beam_find_ways(w, e, in, &ways);
    find_free(w, e, &ways, &free);
    for (uint32_t r = 0; r < w->antenna->n_radios; r++)
        for (int l = 0; l < BEAM_LANES; l++)
            b->power.v[r][l] = b->crossed.v[r][l] = 0.0f;
    b->any_window = false;
    for (uint32_t i = 0; i < in->n_terms; i++) {
        struct beam_turns turns;
        beam_find_turns(w, e, in, &in->terms[i], &ways, &turns);
        add_term_bound(w, &in->terms[i], &turns, &free, b);
        b->any_window = b->any_window || turns.any_window;
    }
    beam_arrivals_at(in, ways.where_m, &w->near[c->i], b->legs, b->any_window ? &b->phase : NULL);
    c->weight = weigh(w, b);
}

/* And again, with the walls behind it. */
static void weigh_walls(struct beam_work *w, struct beam_candidate *c)
{
    const struct beam_edge *e = &w->bs->edges[c->i];
    struct beam_weighed *b = &w->weighed[c->i];
    struct beam_ways ways;
    beam_find_ways(w, e, &w->antenna->edges[c->i], &ways);
    beam_end_init(w->bs, &ways.point, 0, &w->edge);
    beam_leg(w, &w->edge, &w->spot, e->planes, e->n_planes, b->legs, b->any_window ? &b->phase : NULL);
    c->weight = weigh(w, b);
}

static void look_at_total(struct beam_work *w)
{
    w->least = w->total[0];
    for (int l = 0; l < BEAM_LANES; l++) {
        const beam_f4 over = 1.0f / (w->total[l] + BEAM_FAINT);
        w->least = beam_f4_least(w->least, w->total[l]);
        for (uint32_t r = 0; r < w->antenna->n_radios; r++)
            w->over.v[r][l] = over[r];
    }
}

/* Of what may be left out beyond the chains, a seventh goes by the bounds for the tile, a third when the ways and what gets to the edge are
 * known, and the rest when all is known but the bending. */
void beam_add_edges(struct beam_work *w)
{
    const float start = w->left_out, rest = w->may_leave_out - start;
    uint32_t n = w->bs->scene->edges.n;
    look_at_total(w);
    for (uint32_t i = 0; i < n; i++) {
        struct beam_bound b;
        beam_bound_edge(w, i, &b);
        w->candidates[i] = (struct beam_candidate){ beam_weigh_bound(&b), i };
    }
    n = beam_choose(w, n, start + 0.15f * rest);
    for (uint32_t k = 0; k < n; k++)
        weigh_lanes(w, &w->candidates[k]);
    n = beam_choose(w, n, start + 0.5f * rest);
    for (uint32_t k = 0; k < n; k++)
        weigh_walls(w, &w->candidates[k]);
    n = beam_choose(w, n, w->may_leave_out);
    for (uint32_t k = 0; k < n; k++)
        beam_add_edge(w, w->candidates[k].i);
}

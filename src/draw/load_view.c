#include "draw/load_view.h"

#include <math.h>
#include <stdlib.h>

#include "base/units.h"

/* The strictest promise about the line, else the usual. */
static void find_probability(struct load_view *v)
{
    const struct house *h = v->h;
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise *promise = &h->promises.v[i];
        if (promise->kind != PROMISE_LINE || (v->is_promised && promise->probability <= v->probability))
            continue;
        v->probability = promise->probability;
        v->is_promised = true;
    }
    v->probability = v->is_promised ? v->probability : LOAD_VIEW_USUAL_PROBABILITY;
}

static enum rt_code make_line(const struct run *run, struct load_view *v, struct rt_problems *p)
{
    const struct demand *night = demand_by_night(run->arena, v->demand);
    if (!night)
        return rt_fail_memory(p);
    for (int way = 0; way < 2; way++) {
        RT_TRY(line_week_make(run, v->demand, LINE_ALL, (enum load_way)way, v->probability, 1.0, &v->now[way], p));
        RT_TRY(line_week_make(run, night, LINE_ALL, (enum load_way)way, v->probability, 1.0, &v->night[way], p));
    }
    return RT_OK;
}

static enum rt_code judge_cable(const struct run *run, const struct load_view *v, uint32_t cable, enum load_way way,
                                struct cable_load *out, struct rt_problems *p)
{
    const uint32_t i = demand_cable_point(cable);
    const struct load_point *point = &v->demand->points.v[i];
    double means[HOURS_OF_WEEK];
    *out = (struct cable_load){ .hour = demand_busy_hour(v->demand, i, way),
                                .capacity_mbps = way == LOAD_DOWN ? point->down_mbps : point->up_mbps,
                                .mean_mbps = RT_NOT_GIVEN,
                                .needed_mbps = { RT_NOT_GIVEN, RT_NOT_GIVEN } };
    if (!is_given(out->capacity_mbps))
        return RT_OK;
    demand_means(v->demand, i, way, means);
    out->mean_mbps = means[out->hour];
    out->is_flat = true;
    for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++)
        out->is_flat &= out->mean_mbps - means[hour] < 0.01 * out->mean_mbps;
    const struct arena_mark mark = arena_mark(run->arena);
    struct rate_sum sum;
    RT_TRY(demand_sum(run, v->demand, i, out->hour, way, 1.0, &sum, p));
    out->needed_mbps = rate_sum_quantile(&sum, v->probability);
    arena_reset(run->arena, mark);
    return RT_OK;
}

static enum rt_code make_cables(const struct run *run, struct load_view *v, struct rt_problems *p)
{
    const uint32_t n = v->h->cables.n;
    struct cable_load *all = ARENA_ARRAY(run->arena, struct cable_load, 2 * (size_t)n);
    if (!all)
        return rt_fail_memory(p);
    v->cables = (struct cable_load(*)[2])all;
    for (uint32_t i = 0; i < n; i++)
        for (int way = 0; way < 2; way++)
            RT_TRY(judge_cable(run, v, i, (enum load_way)way, &v->cables[i][way], p));
    return RT_OK;
}

enum rt_code load_view_make(struct evaluation *ev, struct load_view **out, struct rt_problems *p)
{
    struct load_view *v = ARENA_NEW(ev->run->arena, struct load_view);
    if (!v)
        return rt_fail_memory(p);
    v->h = ev->h;
    v->rules = ev->rules;
    find_probability(v);
    RT_TRY(evaluation_demand(ev, &v->demand, p));
    v->has_line = ev->h->line.at.line && v->demand->sources.n;
    if (v->has_line) {
        RT_TRY(make_line(ev->run, v, p));
        RT_TRY(make_cables(ev->run, v, p));
    }
    if (ev->radios.n)
        RT_TRY(evaluation_airtime(ev, &v->airtime, p));
    *out = v;
    return RT_OK;
}

/* ---- who asks ---- */

static int by_most(const void *a, const void *b)
{
    const struct load_asker *x = a, *y = b;
    if (x->mbps > y->mbps || x->mbps < y->mbps)
        return x->mbps > y->mbps ? -1 : 1;
    return x->source < y->source ? -1 : x->source > y->source;
}

load_asker_list load_view_askers(struct arena *a, const struct demand *d, enum load_way way, unsigned hour)
{
    const load_use_list uses = d->uses[0];
    load_asker_list list = { .v = ARENA_ARRAY(a, struct load_asker, d->sources.n) };
    for (uint32_t i = 0; list.v && i < uses.n; i++) {
        const struct load_use *u = &uses.v[i];
        const double mbps =
            (way == LOAD_DOWN ? u->down_mbps : u->up_mbps) * d->sources.v[u->source].states.v[u->state].chance[hour];
        if (!(mbps > 0.0))
            continue;
        if (!list.n || list.v[list.n - 1].source != u->source) /* uses are by source */
            list.v[list.n++] = (struct load_asker){ u->source, 0.0 };
        list.v[list.n - 1].mbps += mbps;
    }
    if (list.n)
        qsort(list.v, list.n, sizeof list.v[0], by_most);
    return list;
}

/* ---- the air ---- */

/* Foreign cells first, the mesh in what they leave, and the house in what both leave, as airtime_busy() has it. */
struct air_parts load_view_air(const struct airtime *a, uint32_t radio, unsigned hour)
{
    const struct cell *c = &a->cells.v[radio];
    const double silent = (1.0 - c->neighbours_share) * (1.0 - c->mesh_share);
    struct air_parts parts = { { [AIR_OWN] = silent * airtime_own(a, radio, hour, 1.0),
                                 [AIR_BEACONS] = silent * c->beacon_share,
                                 [AIR_NEIGHBOURS] = c->neighbours_share,
                                 [AIR_MESH] = (1.0 - c->neighbours_share) * c->mesh_share } };
    for (uint32_t i = 0; i < c->sharers.n; i++) {
        const uint32_t other = c->sharers.v[i].radio;
        if (other != NO_REF)
            parts.share[AIR_OWN_RADIOS] += silent * (airtime_own(a, other, hour, 1.0) + a->cells.v[other].beacon_share);
    }
    return parts;
}

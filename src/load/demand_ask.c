/* What is asked of the demand: sums and means at a point. */
#include <math.h>

#include "base/units.h"
#include "load/demand.h"

static const struct demand_state *state_of(const struct demand *d, const struct load_use *u)
{
    return &d->sources.v[u->source].states.v[u->state];
}

static double use_mbps(const struct load_use *u, enum load_way way)
{
    return way == LOAD_DOWN ? u->down_mbps : u->up_mbps;
}

/* Sources and states of a point that send something in the hour; the most that they can ask for at once. */
struct gathered {
    struct rate_source *sources;
    struct rate_state *states;
    uint32_t n;
    double most_mbps;
};

static bool gather(struct arena *a, const struct demand *d, uint32_t point, unsigned hour, enum load_way way,
                   double scale, bool urgent_only, struct gathered *g)
{
    const load_use_list uses = d->uses[point];
    *g = (struct gathered){ .sources = ARENA_ARRAY(a, struct rate_source, uses.n),
                            .states = ARENA_ARRAY(a, struct rate_state, uses.n) };
    if (!g->sources || !g->states)
        return false;
    uint32_t last = NO_REF;
    double most = 0.0;
    for (uint32_t i = 0; i < uses.n; i++) {
        const struct load_use *u = &uses.v[i];
        const struct demand_state *x = state_of(d, u);
        const struct rate_state r = { use_mbps(u, way) * scale, x->chance[hour] };
        if (!(r.chance > 0.0) || !(r.mbps > 0.0) || (urgent_only && x->patience != WAITS_NEVER))
            continue;
        if (u->source != last) {
            g->most_mbps += most;
            most = 0.0;
            g->sources[g->n++].states = &g->states[i];
            last = u->source;
        }
        struct rate_source *s = &g->sources[g->n - 1];
        g->states[(size_t)(s->states - g->states) + s->n++] = r;
        most = fmax(most, r.mbps);
    }
    g->most_mbps += most;
    return true;
}

static double capacity_of(const struct demand *d, uint32_t point, enum load_way way)
{
    return way == LOAD_DOWN ? d->points.v[point].down_mbps : d->points.v[point].up_mbps;
}

static enum rt_code sum_at(const struct run *run, const struct demand *d, uint32_t point, unsigned hour,
                           enum load_way way, double scale, bool urgent_only, struct rate_sum *out,
                           struct rt_problems *p)
{
    const double capacity = capacity_of(d, point, way);
    struct gathered g;
    if (!gather(run->arena, d, point, hour, way, scale, urgent_only, &g))
        return rt_fail_memory(p);
    const double step = capacity / DEMAND_STEPS; /* rates rounded up may pass the most by a step each */
    const double top = fmin(fmax(capacity, g.most_mbps + g.n * step), DEMAND_TIMES_MAX * capacity);
    return rate_sum_make(run, g.sources, g.n, step, top, out, p);
}

enum rt_code demand_fits(const struct run *run, const struct demand *d, uint32_t point, unsigned hour,
                         enum load_way way, double mbps, double chance, bool *out, struct rt_problems *p)
{
    struct gathered g;
    if (!gather(run->arena, d, point, hour, way, 1.0, false, &g))
        return rt_fail_memory(p);
    return rate_sum_fits(run, g.sources, g.n, capacity_of(d, point, way) / DEMAND_STEPS, mbps, chance, out, p);
}

enum rt_code demand_sum(const struct run *run, const struct demand *d, uint32_t point, unsigned hour, enum load_way way,
                        double scale, struct rate_sum *out, struct rt_problems *p)
{
    return sum_at(run, d, point, hour, way, scale, false, out, p);
}

enum rt_code demand_sum_urgent(const struct run *run, const struct demand *d, uint32_t point, unsigned hour,
                               enum load_way way, double scale, struct rate_sum *out, struct rt_problems *p)
{
    return sum_at(run, d, point, hour, way, scale, true, out, p);
}

void demand_means(const struct demand *d, uint32_t point, enum load_way way, double *mbps)
{
    const load_use_list uses = d->uses[point];
    for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++)
        mbps[hour] = 0.0;
    for (uint32_t i = 0; i < uses.n; i++)
        for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++)
            mbps[hour] += use_mbps(&uses.v[i], way) * state_of(d, &uses.v[i])->chance[hour];
}

unsigned demand_busy_hour(const struct demand *d, uint32_t point, enum load_way way)
{
    double mbps[HOURS_OF_WEEK];
    unsigned best = 0;
    demand_means(d, point, way, mbps);
    for (unsigned hour = 1; hour < HOURS_OF_WEEK; hour++)
        if (mbps[hour] > mbps[best])
            best = hour;
    return best;
}

bool demand_hour_within(const struct demand *d, uint32_t point, unsigned hour, unsigned other)
{
    const load_use_list uses = d->uses[point];
    for (uint32_t i = 0; i < uses.n; i++)
        if (state_of(d, &uses.v[i])->chance[hour] > state_of(d, &uses.v[i])->chance[other])
            return false;
    return true;
}

bool demand_hours_equal(const struct demand *d, uint32_t point, unsigned hour, unsigned other)
{
    return demand_hour_within(d, point, hour, other) && demand_hour_within(d, point, other, hour);
}

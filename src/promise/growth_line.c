/* What more devices ask of the internet line, of which a `line` promise says how often it must be enough. */
#include <math.h>

#include "load/line_load.h"
#include "promise/growth.h"

/* Devices multiply as their kind does; a person who uses one thing at a time does not. */
static struct demand *grown_demand(const struct growth *g, const struct demand *d)
{
    double *times = ARENA_ARRAY(g->a, double, d->sources.n);
    for (uint32_t i = 0; times && i < d->sources.n; i++) {
        const struct demand_source *s = &d->sources.v[i];
        times[i] = s->person == NO_REF ? 1.0 + g->share[s->device] * (g->times - 1.0) : 1.0;
    }
    return times ? demand_multiplied(g->a, d, times) : NULL;
}

/* The need of the worst hour; beyond what is summed it is at least the top of that. */
static enum rt_code need_of(const struct growth *g, const struct demand *d, double probability, enum load_way way,
                            double *mbps, struct rt_problems *p)
{
    struct line_week *week = ARENA_NEW(g->a, struct line_week);
    if (!week)
        return rt_fail_memory(p);
    RT_TRY(line_week_make(g->ev->run, d, LINE_ALL, way, probability, 1.0, week, p));
    const double needed = week->hours[week->worst].needed_mbps.high;
    *mbps = isinf(needed) ? DEMAND_TIMES_MAX * week->capacity_mbps : needed;
    return RT_OK;
}

/* Between today and then the need is taken as a straight line. */
static enum rt_code add_way(struct growth *g, const struct demand *now, const struct demand *then, double probability,
                            enum load_way way, struct rt_problems *p)
{
    double now_mbps = 0.0, then_mbps = 0.0;
    RT_TRY(need_of(g, now, probability, way, &now_mbps, p));
    RT_TRY(need_of(g, then, probability, way, &then_mbps, p));
    struct growth_use use = { .what = way == LOAD_DOWN ? STR("the line, down") : STR("the line, up"),
                              .where = STR("line"),
                              .unit = "Mb/s",
                              .limit = line_capacity_mbps(&g->h->line, way),
                              .kept_free = g->headroom,
                              .mend = STR("a faster line, or backups and updates by night") };
    use.growing = g->times > 1.0 ? fmax(0.0, (then_mbps - now_mbps) / (g->times - 1.0)) : 0.0;
    use.fixed = now_mbps - use.growing;
    growth_add(g, use);
    return RT_OK;
}

enum rt_code growth_line(struct growth *g, struct rt_problems *p)
{
    const struct demand *now = NULL;
    double probability = 0.0; /* the strictest of the house's */
    for (uint32_t i = 0; i < g->h->promises.n; i++)
        if (g->h->promises.v[i].kind == PROMISE_LINE)
            probability = fmax(probability, g->h->promises.v[i].probability);
    if (!(probability > 0.0) || !g->h->line.at.line)
        return RT_OK;
    RT_TRY(evaluation_demand(g->ev, &now, p));
    const struct demand *then = grown_demand(g, now);
    if (!then)
        return rt_fail_memory(p);
    RT_TRY(add_way(g, now, then, probability, LOAD_DOWN, p));
    return add_way(g, now, then, probability, LOAD_UP, p);
}

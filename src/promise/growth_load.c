/* The line, cables that several share, and the air: what the demand takes of them as it grows. */
#include <math.h>

#include "base/units.h"
#include "promise/growth.h"
#include "promise/line_facts.h"

/* Where no promise of the house says another: the chance that all fits, and the share of an hour that a channel may be busy (common
 * practice, no source). */
#define USUAL_PROBABILITY 0.95
#define USUAL_BUSY_SHARE 0.8
/* Beyond so many times the devices, or twice what is promised, no end is looked for. */
#define TIMES_MOST 8.0

static double chance_promised(const struct house *h)
{
    double chance = 0.0;
    for (uint32_t i = 0; i < h->promises.n; i++)
        if (h->promises.v[i].kind == PROMISE_LINE)
            chance = fmax(chance, h->promises.v[i].probability);
    return chance > 0.0 ? chance : USUAL_PROBABILITY;
}

/* Devices multiply as their kind does; a person who uses one thing at a time does not. */
static enum rt_code grown(struct growth *g, const struct demand *d, double times, struct demand **out,
                          struct rt_problems *p)
{
    double *factors = ARENA_ARRAY(g->a, double, d->sources.n);
    if (!factors)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < d->sources.n; i++) {
        const struct demand_source *s = &d->sources.v[i];
        factors[i] = s->person == NO_REF ? 1.0 + g->share[s->device] * (times - 1.0) : 1.0;
    }
    *out = demand_multiplied(g->a, d, factors);
    return *out ? RT_OK : rt_fail_memory(p);
}

/* ---- one point, one way ---- */

struct side {
    struct growth *g;
    const struct demand *d;
    uint32_t point;
    enum load_way way;
    double capacity_mbps, usable_mbps, chance, times_most;
    uint32_t n_sources;            /* that send this way today */
    unsigned hours[HOURS_OF_WEEK]; /* those that may be the worst, the fullest in the mean first */
    uint32_t n_hours;
};

/* Needed in an hour at so many times the devices, the upper side of the sum; no more than the sum goes up to. */
static enum rt_code needed(const struct side *s, unsigned hour, double times, double *mbps, struct rt_problems *p)
{
    const struct arena_mark mark = arena_mark(s->g->a);
    struct demand *d = NULL;
    struct rate_sum sum;
    RT_TRY(grown(s->g, s->d, times, &d, p));
    RT_TRY(demand_sum(s->g->ev->run, d, s->point, hour, s->way, 1.0, &sum, p));
    *mbps = fmin(rate_sum_quantile(&sum, s->chance).high, DEMAND_TIMES_MAX * s->capacity_mbps);
    arena_reset(s->g->a, mark);
    return RT_OK;
}

/* Is no more than that needed?  Far cheaper to tell than how much is. */
static enum rt_code fits(const struct side *s, unsigned hour, double times, double mbps, bool *out,
                         struct rt_problems *p)
{
    const struct arena_mark mark = arena_mark(s->g->a);
    struct demand *d = NULL;
    RT_TRY(grown(s->g, s->d, times, &d, p));
    RT_TRY(demand_fits(s->g->ev->run, d, s->point, hour, s->way, mbps, s->chance, out, p));
    arena_reset(s->g->a, mark);
    return RT_OK;
}

/* In the hour that needs most. */
static enum rt_code most_needed(const struct side *s, double times, double *most_mbps, struct rt_problems *p)
{
    *most_mbps = 0.0;
    for (uint32_t i = 0; i < s->n_hours; i++) {
        bool is_less = false;
        double mbps;
        if (i > 0)
            RT_TRY(fits(s, s->hours[i], times, *most_mbps, &is_less, p));
        if (is_less)
            continue;
        RT_TRY(needed(s, s->hours[i], times, &mbps, p));
        *most_mbps = fmax(*most_mbps, mbps);
    }
    return RT_OK;
}

/* An hour in which nothing is likelier than in another cannot be the worst; of equals the first stays. */
static void choose_hours(struct side *s)
{
    for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++) {
        bool is_less = false;
        for (unsigned other = 0; other < HOURS_OF_WEEK && !is_less; other++)
            is_less = other != hour && demand_hour_within(s->d, s->point, hour, other) &&
                      (other < hour || !demand_hour_within(s->d, s->point, other, hour));
        if (!is_less)
            s->hours[s->n_hours++] = hour;
    }
    double mean_mbps[HOURS_OF_WEEK];
    demand_means(s->d, s->point, s->way, mean_mbps);
    for (uint32_t i = 1; i < s->n_hours; i++)
        for (uint32_t k = i; k > 0 && mean_mbps[s->hours[k]] > mean_mbps[s->hours[k - 1]]; k--) {
            const unsigned swap = s->hours[k];
            s->hours[k] = s->hours[k - 1];
            s->hours[k - 1] = swap;
        }
}

/* Fine enough for a twentieth of a year; a thousandth where no years are promised. */
static double fine_enough(const struct growth *g)
{
    return is_given(g->years) && g->years > 0.0 && g->times > 1.0 ? fmin(0.05 * log(g->times) / g->years, 1e-2) : 1e-3;
}

/* Between `low`, at which the hour still fits, and `high`, at which it does not. */
static enum rt_code halve(const struct side *s, unsigned hour, double low, double high, double *lasts,
                          struct rt_problems *p)
{
    const double fine = fine_enough(s->g);
    while (log(high / low) > fine) {
        const double times = sqrt(low * high);
        bool fit = false;
        RT_TRY(fits(s, hour, times, s->usable_mbps, &fit, p));
        if (fit)
            low = times;
        else
            high = times;
    }
    *lasts = low;
    return RT_OK;
}

/* The first hour to run over decides: once one is known, another is searched only if it has run over by then. */
static enum rt_code first_over(const struct side *s, double then_mbps, double *lasts, struct rt_problems *p)
{
    const bool breaks = then_mbps > s->usable_mbps;
    const double from = breaks ? 1.0 : s->g->times;
    double to = breaks ? s->g->times : s->times_most;
    *lasts = INFINITY;
    for (uint32_t i = 0; i < s->n_hours; i++) {
        bool fit = false;
        RT_TRY(fits(s, s->hours[i], to, s->usable_mbps, &fit, p));
        if (fit)
            continue;
        RT_TRY(halve(s, s->hours[i], from, to, lasts, p));
        to = *lasts;
    }
    return RT_OK;
}

static enum rt_code measure(struct side *s, struct growth_use *use, struct rt_problems *p)
{
    double now_mbps, then_mbps;
    choose_hours(s);
    RT_TRY(most_needed(s, 1.0, &now_mbps, p));
    RT_TRY(most_needed(s, s->g->times, &then_mbps, p));
    use->is_curve = true;
    use->curve = (struct growth_curve){ .now = now_mbps, .then = then_mbps };
    return now_mbps > s->usable_mbps ? RT_OK : first_over(s, then_mbps, &use->curve.lasts_times, p);
}

static uint32_t senders(const struct demand *d, uint32_t point, enum load_way way)
{
    const load_use_list uses = d->uses[point];
    uint32_t n = 0, last = NO_REF;
    for (uint32_t i = 0; i < uses.n; i++) {
        const double mbps = way == LOAD_DOWN ? uses.v[i].down_mbps : uses.v[i].up_mbps;
        n += mbps > 0.0 && uses.v[i].source != last;
        last = mbps > 0.0 ? uses.v[i].source : last;
    }
    return n;
}

/* RT_OK with use->curve filled; *side says how it was looked at. */
static enum rt_code look_at(struct growth *g, const struct demand *d, uint32_t point, enum load_way way, struct side *s,
                            struct growth_use *use, struct rt_problems *p)
{
    const struct load_point *q = &d->points.v[point];
    *s = (struct side){ .g = g,
                        .d = d,
                        .point = point,
                        .way = way,
                        .capacity_mbps = way == LOAD_DOWN ? q->down_mbps : q->up_mbps,
                        .chance = chance_promised(g->h),
                        .times_most = fmax(TIMES_MOST, 2.0 * g->times),
                        .n_sources = senders(d, point, way) };
    s->usable_mbps = s->capacity_mbps * (1.0 - g->headroom);
    use->unit = "Mb/s";
    use->limit = s->capacity_mbps;
    use->kept_free = g->headroom;
    return measure(s, use, p);
}

/* Payload that must fit, so that what is needed does and the headroom is left; a larger grid rounds up by a step more a source.
 * Infinite: nothing is enough. */
static double payload_for(const struct side *s, const struct growth_use *use)
{
    const double free = 1.0 - s->g->headroom - s->n_sources * ceil(s->g->times) / DEMAND_STEPS;
    return free > 0.0 ? use->curve.then / free : (double)INFINITY;
}

/* ---- the line ---- */

/* As lines are sold: whole Mb/s, from a hundred in tens, from a thousand in hundreds. */
static double rounded_up(double mbps)
{
    const double step = mbps > 1000.0 ? 100.0 : mbps > 100.0 ? 10.0 : 1.0;
    return ceil(mbps / step - 1e-9) * step;
}

static struct str faster_line(struct growth *g, const struct side *s, const struct growth_use *use)
{
    const double mbps = payload_for(s, use) / line_payload_ratio(&g->h->line);
    const bool is_open = use->curve.then >= DEMAND_TIMES_MAX * s->capacity_mbps;
    if (!isfinite(mbps))
        return STR("a far faster line");
    const char *text = arena_printf(g->a, "a line of %s%.0f Mb/s %s", is_open ? "more than " : "", rounded_up(mbps),
                                    load_way_name(s->way));
    g->failed |= !text;
    return str_from(text ? text : "");
}

static enum rt_code add_line(struct growth *g, const struct demand *d, enum load_way way, struct rt_problems *p)
{
    struct side s;
    struct growth_use use = { .what = str_from(way == LOAD_DOWN ? "what the line carries down"
                                                                : "what the line carries up"),
                              .where = STR("line") };
    if (senders(d, 0, way) == 0)
        return RT_OK;
    RT_TRY(look_at(g, d, 0, way, &s, &use, p));
    use.mend = faster_line(g, &s, &use);
    growth_add(g, use);
    return RT_OK;
}

static enum rt_code add_volume(struct growth *g, const struct demand *d, struct rt_problems *p)
{
    struct demand *twice = NULL;
    struct growth_use use = { .what = STR("what the line includes in a month"),
                              .where = STR("line"),
                              .unit = "GB",
                              .limit = g->h->line.cap_gb_per_month,
                              .kept_free = g->headroom,
                              .mend = STR("a line that includes more") };
    RT_TRY(grown(g, d, 2.0, &twice, p));
    use.growing = line_month_gb(twice) - line_month_gb(d);
    use.fixed = line_month_gb(d) - use.growing;
    growth_add(g, use);
    return RT_OK;
}

enum rt_code growth_line(struct growth *g, struct rt_problems *p)
{
    const struct demand *d = NULL;
    if (!g->h->line.at.line)
        return RT_OK;
    RT_TRY(evaluation_demand(g->ev, &d, p));
    RT_TRY(add_line(g, d, LOAD_DOWN, p));
    RT_TRY(add_line(g, d, LOAD_UP, p));
    return is_given(g->h->line.cap_gb_per_month) ? add_volume(g, d, p) : RT_OK;
}

/* ---- cables ---- */

static struct str faster_link(struct growth *g, const struct side *s, const struct growth_use *use, double speed_mbps)
{
    static const double SPEEDS_MBPS[] = { 100, 1000, 2500, 5000, 10000, 25000, 40000, 100000 };
    const double wanted = payload_for(s, use) * speed_mbps / s->capacity_mbps;
    const char *text = "a second cable beside it";
    for (size_t i = 0; i < RT_COUNT(SPEEDS_MBPS); i++)
        if (SPEEDS_MBPS[i] >= wanted) {
            text = arena_printf(g->a, "a cable and ports of %.0f Mb/s", SPEEDS_MBPS[i]);
            break;
        }
    g->failed |= !text;
    return str_from(text ? text : "");
}

/* Of both ways the one that runs out first; a tie goes to down. */
static enum rt_code add_cable(struct growth *g, const struct demand *d, uint32_t cable, struct growth_use use,
                              struct rt_problems *p)
{
    struct growth_use found[2] = { use, use };
    struct side *sides = ARENA_ARRAY(g->a, struct side, 2);
    const uint32_t point = demand_cable_point(cable);
    if (!sides)
        return rt_fail_memory(p);
    for (int way = LOAD_DOWN; way <= LOAD_UP; way++)
        RT_TRY(look_at(g, d, point, (enum load_way)way, &sides[way], &found[way], p));
    const int worse = found[LOAD_UP].curve.lasts_times < found[LOAD_DOWN].curve.lasts_times ? LOAD_UP : LOAD_DOWN;
    found[worse].mend = faster_link(g, &sides[worse], &found[worse], g->ev->links.v[cable].speed_mbps);
    growth_add(g, found[worse]);
    return RT_OK;
}

/* Over its length it carries nothing: what is asked for in the mean of the fullest hour is too much. */
static struct growth_use dead_cable(const struct demand *d, uint32_t point, struct growth_use use)
{
    double down_mbps[HOURS_OF_WEEK], up_mbps[HOURS_OF_WEEK], most_mbps = 0.0;
    demand_means(d, point, LOAD_DOWN, down_mbps);
    demand_means(d, point, LOAD_UP, up_mbps);
    for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++)
        most_mbps = fmax(most_mbps, fmax(down_mbps[hour], up_mbps[hour]));
    use.unit = "Mb/s";
    use.is_curve = true;
    use.curve = (struct growth_curve){ .now = most_mbps, .then = most_mbps };
    use.mend = STR("a cable that carries so far");
    return use;
}

/* Cables that the traffic of more than one passes. */
enum rt_code growth_cables(struct growth *g, struct rt_problems *p)
{
    const struct house *h = g->h;
    const struct demand *d = NULL;
    RT_TRY(evaluation_demand(g->ev, &d, p));
    for (uint32_t c = 0; c < h->cables.n; c++) {
        const uint32_t point = demand_cable_point(c);
        const struct str id = h->cables.v[c].id, why = g->ev->cables->cables[c].why_not;
        if (senders(d, point, LOAD_DOWN) < 2 && senders(d, point, LOAD_UP) < 2)
            continue;
        const char *what = arena_printf(g->a, "what cable %.*s carries", STR_ARG(id));
        const char *missing = arena_printf(g->a, "say how long cable `%.*s` is (`length_m`)", STR_ARG(id));
        if (!what || !missing)
            return rt_fail_memory(p);
        struct growth_use use = { .what = str_from(what), .where = id };
        if (is_given(d->points.v[point].down_mbps)) {
            RT_TRY(add_cable(g, d, c, use, p));
        } else if (g->ev->links.v[c].is_known) {
            growth_add(g, dead_cable(d, point, use));
        } else {
            use.missing = why.n ? why : str_from(missing);
            growth_add(g, use);
        }
    }
    return RT_OK;
}

/* ---- the air ---- */

/* The least that is promised of the band. */
static double busy_share_max(const struct house *h, enum band band)
{
    double share = INFINITY;
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise *q = &h->promises.v[i];
        if (q->kind == PROMISE_QUIET && (q->bands == 0 || (q->bands >> band & 1)))
            share = fmin(share, q->max_busy_share);
    }
    return isinf(share) ? USUAL_BUSY_SHARE : share;
}

/* In each hour the time taken is a straight line; the first of them to reach the limit decides. */
static void add_radio(struct growth *g, const struct airtime *now, const struct airtime *twice, uint32_t radio)
{
    const struct ap_radio *r = &g->ev->radios.v[radio];
    const struct str id = g->h->equipment.v[r->equipment].id;
    const char *what = arena_printf(g->a, "time on the air (%.*s, %s GHz)", STR_ARG(id), band_name(r->band));
    struct growth_use use = { .what = str_from(what ? what : ""),
                              .where = id,
                              .unit = "%",
                              .limit = 100.0 * busy_share_max(g->h, r->band),
                              .is_curve = true,
                              .curve.lasts_times = INFINITY,
                              .mend = STR("another access point, on a channel of its own") };
    g->failed |= !what;
    for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++) {
        const double busy = 100.0 * airtime_busy(now, radio, hour, 1.0);
        const double more = 100.0 * airtime_busy(twice, radio, hour, 1.0) - busy;
        use.curve.now = fmax(use.curve.now, busy);
        use.curve.then = fmax(use.curve.then, busy + more * (g->times - 1.0));
        if (busy > use.limit)
            use.curve.lasts_times = 0.0;
        else if (more > 1e-9)
            use.curve.lasts_times = fmin(use.curve.lasts_times, 1.0 + (use.limit - busy) / more);
    }
    growth_add(g, use);
}

enum rt_code growth_airtime(struct growth *g, struct rt_problems *p)
{
    const struct airtime *now = NULL;
    struct demand *d = NULL;
    if (g->ev->radios.n == 0)
        return RT_OK;
    RT_TRY(evaluation_airtime(g->ev, &now, p));
    RT_TRY(grown(g, now->demand, 2.0, &d, p));
    struct airtime twice = *now;
    twice.demand = d;
    for (uint32_t r = 0; r < now->cells.n; r++)
        add_radio(g, now, &twice, r);
    return RT_OK;
}

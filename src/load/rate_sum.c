#include "load/rate_sum.h"

#include <math.h>
#include <string.h>

/* Of a step: a rate so near to the grid is on it. */
static const double NEAR = 1e-9;
/* Of 1: what chances may sum to beyond it, by rounding. */
static const double SLACK = 1e-9;

/* How often a rate may be passed that is kept with this chance. */
static double may_pass(double chance) { return (1.0 - chance) * (1.0 + SLACK); }

static double steps_down(double mbps, double step_mbps) { return floor(mbps / step_mbps + NEAR); }
static double steps_up(double mbps, double step_mbps) { return ceil(mbps / step_mbps - NEAR); }

/* One distribution while it grows: entries 0..used hold something, and the last of all; between them all is 0, in both. */
struct growing {
    double *chance, *next;
    uint32_t last; /* the entry for more than the top */
    uint32_t used;
    double enough; /* for the last: more sources only add to it, none is asked for any longer */
};

static bool is_sound(const struct rate_source *s)
{
    double sum = 0.0;
    for (uint32_t i = 0; i < s->n; i++) {
        const struct rate_state *x = &s->states[i];
        if (!(x->mbps >= 0.0 && x->mbps < (double)INFINITY && x->chance >= 0.0))
            return false;
        sum += x->chance;
    }
    return sum <= 1.0 + SLACK;
}

RT_WIDE static void add_times(double chance, const double *restrict from, uint32_t n, double *restrict to)
{
    for (uint32_t k = 0; k < n; k++)
        to[k] += chance * from[k];
}

/* All that was there, moved up by the steps of a state with its chance. */
static void move_up(struct growing *g, double chance, double steps)
{
    const uint32_t room = g->last - 1; /* the highest entry that still names its rate */
    const uint32_t n = g->used + 1, fits = steps > room                       ? 0
                                           : g->used < room - (uint32_t)steps ? n
                                                                              : room - (uint32_t)steps + 1;
    double over = g->chance[g->last];
    if (fits)
        add_times(chance, g->chance, fits, g->next + (uint32_t)steps);
    for (uint32_t k = fits; k < n; k++)
        over += g->chance[k];
    g->next[g->last] += chance * over;
}

/* One source more: the sum so far, convolved with its few rates. */
static void add_source(struct growing *g, const struct rate_source *s, double step_mbps,
                       double (*rounded)(double, double))
{
    double silent = 1.0, most = 0.0;
    for (uint32_t i = 0; i < s->n; i++)
        if (s->states[i].chance > 0.0)
            most = fmax(most, rounded(s->states[i].mbps, step_mbps));
    const uint32_t used = (uint32_t)fmin(g->used + most, g->last - 1);
    memset(g->next, 0, ((size_t)used + 1) * sizeof *g->next); /* beyond nothing has been yet */
    g->next[g->last] = 0.0;
    for (uint32_t i = 0; i < s->n; i++) {
        const double steps = rounded(s->states[i].mbps, step_mbps);
        if (!(s->states[i].chance > 0.0) || !(steps > 0.0))
            continue;
        silent -= s->states[i].chance;
        move_up(g, s->states[i].chance, steps);
    }
    move_up(g, fmax(silent, 0.0), 0.0);
    double *old = g->chance;
    g->chance = g->next;
    g->next = old;
    g->used = used;
}

static enum rt_code convolve(const struct run *run, const struct rate_source *sources, uint32_t n, double step_mbps,
                             double (*rounded)(double, double), struct growing *g, struct rt_problems *p)
{
    memset(g->chance, 0, ((size_t)g->last + 1) * sizeof *g->chance);
    memset(g->next, 0, ((size_t)g->last + 1) * sizeof *g->next);
    g->chance[0] = 1.0;
    g->used = 0;
    for (uint32_t i = 0; i < n && !(g->chance[g->last] > g->enough); i++) {
        if (run_is_cancelled(run))
            return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped");
        add_source(g, &sources[i], step_mbps, rounded);
    }
    return RT_OK;
}

static void moments(const struct rate_source *sources, uint32_t n, struct rate_sum *out)
{
    double variance = 0.0;
    for (uint32_t i = 0; i < n; i++) {
        double mean = 0.0, square = 0.0;
        for (uint32_t k = 0; k < sources[i].n; k++) {
            const struct rate_state *x = &sources[i].states[k];
            mean += x->chance * x->mbps;
            square += x->chance * x->mbps * x->mbps;
            out->low_mean_mbps += x->chance * steps_down(x->mbps, out->step_mbps) * out->step_mbps;
            out->high_mean_mbps += x->chance * steps_up(x->mbps, out->step_mbps) * out->step_mbps;
        }
        out->mean_mbps += mean;
        variance += fmax(0.0, square - mean * mean);
    }
    out->deviation_mbps = sqrt(variance);
}

static enum rt_code check(const struct rate_source *sources, uint32_t n, double step_mbps, double top_mbps,
                          struct rt_problems *p)
{
    if (!(step_mbps > 0.0) || !(top_mbps >= 0.0) || !(top_mbps / step_mbps <= RATE_SUM_ENTRIES_MAX))
        return rt_fail(p, RT_RANGE, RT_NOWHERE, NULL, "a sum of rates up to %g Mb/s in steps of %g Mb/s is too fine",
                       top_mbps, step_mbps);
    for (uint32_t i = 0; i < n; i++)
        if (!is_sound(&sources[i]))
            return rt_fail(p, RT_RANGE, RT_NOWHERE, NULL,
                           "the states of one source fill more than all of its time, or a rate is not one");
    return RT_OK;
}

enum rt_code rate_sum_make(const struct run *run, const struct rate_source *sources, uint32_t n, double step_mbps,
                           double top_mbps, struct rate_sum *out, struct rt_problems *p)
{
    RT_TRY(check(sources, n, step_mbps, top_mbps, p));
    const uint32_t last = (uint32_t)steps_down(top_mbps, step_mbps) + 1;
    *out = (struct rate_sum){ .step_mbps = step_mbps, .top_mbps = top_mbps, .n = last + 1 };
    double *rows[3] = { NULL };
    for (int i = 0; i < 3; i++)
        if (!(rows[i] = ARENA_ARRAY(run->arena, double, (size_t)last + 1)))
            return rt_fail_memory(p);
    struct growing g = { .chance = rows[0], .next = rows[1], .last = last, .enough = INFINITY };
    RT_TRY(convolve(run, sources, n, step_mbps, steps_down, &g, p));
    out->low = g.chance;
    g.chance = rows[2];
    RT_TRY(convolve(run, sources, n, step_mbps, steps_up, &g, p));
    out->high = g.chance;
    moments(sources, n, out);
    return RT_OK;
}

enum rt_code rate_sum_fits(const struct run *run, const struct rate_source *sources, uint32_t n, double step_mbps,
                           double mbps, double chance, bool *out, struct rt_problems *p)
{
    RT_TRY(check(sources, n, step_mbps, mbps, p));
    const uint32_t last = (uint32_t)steps_down(mbps, step_mbps) + 1;
    const double passed = may_pass(chance);
    struct growing g = { .chance = ARENA_ARRAY(run->arena, double, (size_t)last + 1),
                         .next = ARENA_ARRAY(run->arena, double, (size_t)last + 1),
                         .last = last,
                         .enough = passed };
    if (!g.chance || !g.next)
        return rt_fail_memory(p);
    RT_TRY(convolve(run, sources, n, step_mbps, steps_up, &g, p));
    *out = !(g.chance[last] > passed);
    return RT_OK;
}

/* ---- what is asked of it ---- */

static double over(const struct rate_sum *s, const double *chance, double mbps)
{
    const double steps = steps_down(mbps, s->step_mbps);
    double sum = 0.0;
    for (uint32_t k = s->n; k-- > 0 && k > steps;) /* the small ones first */
        sum += chance[k];
    return fmin(sum, 1.0);
}

struct bracket rate_sum_over(const struct rate_sum *s, double mbps)
{
    const bool is_above = mbps > s->top_mbps;
    return (struct bracket){ is_above ? 0.0 : over(s, s->low, mbps), over(s, s->high, fmin(mbps, s->top_mbps)) };
}

static double quantile(const struct rate_sum *s, const double *chance, double passed)
{
    double sum = 0.0;
    for (uint32_t k = s->n; k-- > 0;) {
        sum += chance[k];
        if (sum > passed) /* more than k - 1 steps too often */
            return k + 1 == s->n ? (double)INFINITY : k * s->step_mbps;
    }
    return 0.0;
}

struct bracket rate_sum_quantile(const struct rate_sum *s, double chance)
{
    const double passed = may_pass(chance);
    return (struct bracket){ quantile(s, s->low, passed), quantile(s, s->high, passed) };
}

/* The mean less the mean of what fits. */
static double excess(const struct rate_sum *s, const double *chance, double mean_mbps, double mbps)
{
    double sum = mean_mbps - mbps;
    for (uint32_t k = 0; k + 1 < s->n && k * s->step_mbps < mbps; k++)
        sum += chance[k] * (mbps - k * s->step_mbps);
    return fmax(sum, 0.0);
}

struct bracket rate_sum_excess(const struct rate_sum *s, double mbps)
{
    return (struct bracket){ excess(s, s->low, s->low_mean_mbps, mbps), excess(s, s->high, s->high_mean_mbps, mbps) };
}

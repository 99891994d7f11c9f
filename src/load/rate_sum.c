#include "load/rate_sum.h"

#include <math.h>
#include <string.h>

/* Of a step: a rate so near to the grid is on it. */
static const double NEAR = 1e-9;
/* Of 1: what chances may sum to beyond it, by rounding. */
static const double SLACK = 1e-9;

static double steps_down(double mbps, double step_mbps) { return floor(mbps / step_mbps + NEAR); }
static double steps_up(double mbps, double step_mbps) { return ceil(mbps / step_mbps - NEAR); }

/* One distribution while it grows: entries 0..used hold something, and the last of all. */
struct growing {
    double *chance, *next;
    uint32_t last; /* the entry for more than the top */
    uint32_t used;
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

/* All that was there, moved up by the steps of a state with its chance. */
static void move_up(struct growing *g, double chance, double steps)
{
    const uint32_t room = g->last - 1; /* the highest entry that still names its rate */
    const double *from = g->chance;
    double *to = g->next;
    to[g->last] += chance * from[g->last];
    if (steps > room) {
        for (uint32_t k = 0; k <= g->used; k++)
            to[g->last] += chance * from[k];
        return;
    }
    const uint32_t by = (uint32_t)steps, fits = g->used < room - by ? g->used : room - by;
    for (uint32_t k = 0; k <= fits; k++)
        to[k + by] += chance * from[k];
    for (uint32_t k = fits + 1; k <= g->used; k++)
        to[g->last] += chance * from[k];
}

/* One source more: the sum so far, convolved with its few rates. */
static void add_source(struct growing *g, const struct rate_source *s, double step_mbps,
                       double (*rounded)(double, double))
{
    double silent = 1.0, most = 0.0;
    memset(g->next, 0, ((size_t)g->last + 1) * sizeof *g->next);
    for (uint32_t i = 0; i < s->n; i++) {
        const double steps = rounded(s->states[i].mbps, step_mbps);
        if (!(s->states[i].chance > 0.0) || !(steps > 0.0))
            continue;
        silent -= s->states[i].chance;
        most = fmax(most, steps);
        move_up(g, s->states[i].chance, steps);
    }
    move_up(g, fmax(silent, 0.0), 0.0);
    double *old = g->chance;
    g->chance = g->next;
    g->next = old;
    g->used = (uint32_t)fmin(g->used + most, g->last - 1);
}

static enum rt_code convolve(const struct run *run, const struct rate_source *sources, uint32_t n, double step_mbps,
                             double (*rounded)(double, double), struct growing *g, struct rt_problems *p)
{
    memset(g->chance, 0, ((size_t)g->last + 1) * sizeof *g->chance);
    g->chance[0] = 1.0;
    g->used = 0;
    for (uint32_t i = 0; i < n; i++) {
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

enum rt_code rate_sum_make(const struct run *run, const struct rate_source *sources, uint32_t n, double step_mbps,
                           double top_mbps, struct rate_sum *out, struct rt_problems *p)
{
    if (!(step_mbps > 0.0) || !(top_mbps >= 0.0) || !(top_mbps / step_mbps <= RATE_SUM_ENTRIES_MAX))
        return rt_fail(p, RT_RANGE, RT_NOWHERE, NULL, "a sum of rates up to %g Mb/s in steps of %g Mb/s is too fine",
                       top_mbps, step_mbps);
    for (uint32_t i = 0; i < n; i++)
        if (!is_sound(&sources[i]))
            return rt_fail(p, RT_RANGE, RT_NOWHERE, NULL,
                           "the states of one source fill more than all of its time, or a rate is not one");
    const uint32_t last = (uint32_t)steps_down(top_mbps, step_mbps) + 1;
    *out = (struct rate_sum){ .step_mbps = step_mbps, .top_mbps = top_mbps, .n = last + 1 };
    double *rows[3] = { NULL };
    for (int i = 0; i < 3; i++)
        if (!(rows[i] = ARENA_ARRAY(run->arena, double, (size_t)last + 1)))
            return rt_fail_memory(p);
    struct growing g = { .chance = rows[0], .next = rows[1], .last = last };
    RT_TRY(convolve(run, sources, n, step_mbps, steps_down, &g, p));
    out->low = g.chance;
    g.chance = rows[2];
    RT_TRY(convolve(run, sources, n, step_mbps, steps_up, &g, p));
    out->high = g.chance;
    moments(sources, n, out);
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
    const double passed = (1.0 - chance) * (1.0 + SLACK);
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

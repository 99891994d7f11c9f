/* rate_sum.h - the distribution of a sum of independent sources, each with a few rates.
 *
 * Knows nothing of houses.  The rates are rounded to a grid, once down and once up, and both sums are computed exactly, by
 * convolution: the true distribution lies between the two, at every rate.  For n sources the two lie at most n steps apart. */
#ifndef RT_LOAD_RATE_SUM_H
#define RT_LOAD_RATE_SUM_H

#include "base/array.h"
#include "base/problem.h"
#include "base/run.h"

/* A source sends at `mbps` for this share of the time; what the chances lack to 1 it is silent. */
struct rate_state {
    double mbps, chance;
};

struct rate_source {
    const struct rate_state *states;
    uint32_t n;
};

/* low[k] and high[k]: chance that the sum is k * step_mbps; the last entry holds all that is more than top_mbps. */
struct rate_sum {
    double step_mbps, top_mbps;
    uint32_t n;                           /* of entries */
    double *low, *high;                   /* rates rounded down, and up */
    double mean_mbps, deviation_mbps;     /* exact, not rounded */
    double low_mean_mbps, high_mean_mbps; /* of the rounded rates, what is above the top included */
};

/* A value that lies between two. */
struct bracket {
    double low, high;
};

/* Sums all sources up to top_mbps (more than that is one class); step_mbps > 0, top_mbps / step_mbps at most
 * RATE_SUM_ENTRIES_MAX.  Chances of one source sum to 1 at most; rates and chances are not negative.  A rate within a billionth of
 * a step of the grid counts as on it.  Lives in run->arena.  Errors: RT_NOMEM, RT_CANCELLED, RT_RANGE. */
enum { RATE_SUM_ENTRIES_MAX = 1 << 20 };
RT_MUST_CHECK enum rt_code rate_sum_make(const struct run *run, const struct rate_source *sources, uint32_t n,
                                         double step_mbps, double top_mbps, struct rate_sum *out,
                                         struct rt_problems *p);

/* Is the upper side of rate_sum_quantile() at most this rate?  Without the sum: no more of it is computed than decides.  Errors: as
 * rate_sum_make(). */
RT_MUST_CHECK enum rt_code rate_sum_fits(const struct run *run, const struct rate_source *sources, uint32_t n,
                                         double step_mbps, double mbps, double chance, bool *out,
                                         struct rt_problems *p);

/* Chance that the sum is more than this, mbps >= 0.  Above the top nothing but the chance of more than the top is known. */
struct bracket rate_sum_over(const struct rate_sum *s, double mbps);
/* The least rate that the sum does not pass with this chance, 0 < chance < 1; infinite: it lies above the top. */
struct bracket rate_sum_quantile(const struct rate_sum *s, double chance);
/* Mean of what is above this rate, 0 <= mbps <= top: what would be lost, or has to wait, if no more fits. */
struct bracket rate_sum_excess(const struct rate_sum *s, double mbps);

#endif

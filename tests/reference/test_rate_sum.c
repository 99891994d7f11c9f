/* Sums of independent sources against the closed form of the binomial, against all outcomes counted one by one, and against ten
 * million draws. */
#include "load/rate_sum.h"

#include <math.h>

#include "check.h"
#include "csv.h"
#include "load/queue.h"

enum { SOURCES_MAX = 6, STATES_MAX = 3 };

static struct rate_sum sum_of(struct check_run *c, const struct rate_source *s, uint32_t n, double step, double top)
{
    struct rate_sum out;
    CHECK_OK(c, rate_sum_make(&c->run, s, n, step, top, &out, &c->problems));
    return out;
}

/* n users, each active with chance p: the table of more than k, and the closed form of a larger crowd. */
TEST(users_at_once)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/binomial.csv"));
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const uint32_t n = (uint32_t)csv_num(&t, i, "users_n");
        const struct rate_state on = { 0.1, csv_num(&t, i, "active_probability_p") };
        struct rate_source users[64];
        for (uint32_t k = 0; k < n; k++)
            users[k] = (struct rate_source){ &on, 1 };
        const struct rate_sum s = sum_of(&c, users, n, 0.1, 0.1 * n);
        const double capacity = 0.1 * csv_num(&t, i, "capacity_k"), want = csv_num(&t, i, "probability_more_than_k");
        const struct bracket got = rate_sum_over(&s, capacity);
        CHECK_NEAR("more than k", got.low, want, 5e-11, "");
        CHECK_NEAR("on the grid nothing is rounded", got.high, got.low, 0.0, "");
    }
    check_run_end(&c);
}

TEST(crowd_as_the_closed_form)
{
    struct check_run c = check_run_begin();
    enum { N = 400 };
    const struct rate_state on = { 3.0, 0.07 };
    struct rate_source users[N];
    for (uint32_t k = 0; k < N; k++)
        users[k] = (struct rate_source){ &on, 1 };
    const struct rate_sum s = sum_of(&c, users, N, 1.0, 3.0 * N);
    for (uint32_t k = 0; k < 80; k++) {
        const double want = queue_binomial_over(N, 0.07, k);
        CHECK_NEAR("more than k", rate_sum_over(&s, 3.0 * k + 1.0).low, want, 1e-10 * want + 1e-15, "");
    }
    CHECK_NEAR("mean: n p", s.mean_mbps, 3.0 * N * 0.07, 1e-9, "Mb/s");
    CHECK_NEAR("deviation: root of n p (1 - p)", s.deviation_mbps, 3.0 * sqrt(N * 0.07 * 0.93), 1e-9, "Mb/s");
    const struct rate_sum cut = sum_of(&c, users, N, 1.0, 60.0);
    CHECK_NEAR("what is above the top is one class", rate_sum_over(&cut, 60.0).high, queue_binomial_over(N, 0.07, 20),
               1e-12, "");
    CHECK("above the top nothing more is known",
          rate_sum_over(&cut, 61.0).low == 0.0 && rate_sum_over(&cut, 61.0).high == rate_sum_over(&cut, 60.0).high);
    CHECK("a rate above the top", isinf(rate_sum_quantile(&cut, 0.95).low));
    CHECK_NEAR("mean above a rate", rate_sum_excess(&cut, 45.0).low, rate_sum_excess(&s, 45.0).low, 1e-9, "Mb/s");
    check_run_end(&c);
}

/* ---- all outcomes, one by one ---- */

struct outcomes {
    double mbps[4096], chance[4096];
    uint32_t n;
};

static void list_outcomes(const struct rate_source *s, uint32_t n, struct outcomes *out)
{
    *out = (struct outcomes){ .n = 1, .chance = { 1.0 } };
    for (uint32_t i = 0; i < n; i++) {
        const uint32_t before = out->n;
        double silent = 1.0;
        for (uint32_t k = 0; k < s[i].n; k++) {
            silent -= s[i].states[k].chance;
            for (uint32_t j = 0; j < before; j++) {
                out->mbps[out->n] = out->mbps[j] + s[i].states[k].mbps;
                out->chance[out->n++] = out->chance[j] * s[i].states[k].chance;
            }
        }
        for (uint32_t j = 0; j < before; j++)
            out->chance[j] *= silent;
    }
}

static double outcome_over(const struct outcomes *o, double mbps)
{
    double sum = 0.0;
    for (uint32_t i = 0; i < o->n; i++)
        sum += o->mbps[i] > mbps ? o->chance[i] : 0.0;
    return sum;
}

static double outcome_excess(const struct outcomes *o, double mbps)
{
    double sum = 0.0;
    for (uint32_t i = 0; i < o->n; i++)
        sum += o->chance[i] * fmax(0.0, o->mbps[i] - mbps);
    return sum;
}

static double outcome_quantile(const struct outcomes *o, double chance)
{
    double best = (double)INFINITY;
    for (uint32_t i = 0; i < o->n; i++)
        if (o->mbps[i] < best && outcome_over(o, o->mbps[i]) <= 1.0 - chance)
            best = o->mbps[i];
    return best;
}

struct some_sources {
    struct rate_state states[SOURCES_MAX][STATES_MAX];
    struct rate_source list[SOURCES_MAX];
    uint32_t n;
    double most_mbps;
};

static void draw_sources(struct random *r, struct some_sources *s)
{
    *s = (struct some_sources){ .n = random_below(r, SOURCES_MAX + 1) };
    for (uint32_t i = 0; i < s->n; i++) {
        double left = 1.0, most = 0.0;
        s->list[i] = (struct rate_source){ s->states[i], random_below(r, STATES_MAX + 1) };
        for (uint32_t k = 0; k < s->list[i].n; k++) {
            s->states[i][k] = (struct rate_state){ random_between(r, 0.0, 25.0), random_between(r, 0.0, left) };
            left -= s->states[i][k].chance;
            most = fmax(most, s->states[i][k].mbps);
        }
        s->most_mbps += most;
    }
}

PROP(truth_lies_between, 200)
{
    struct check_run c = check_run_begin();
    struct some_sources s;
    struct outcomes *all = ARENA_NEW(c.run.arena, struct outcomes);
    draw_sources(r, &s);
    list_outcomes(s.list, s.n, all);
    const double step = random_between(r, 0.05, 2.0), top = (s.most_mbps + s.n * step) * random_between(r, 0.4, 1.2);
    const struct rate_sum sum = sum_of(&c, s.list, s.n, step, top);
    double low_total = 0.0, high_total = 0.0;
    for (uint32_t k = 0; k < sum.n; k++) {
        low_total += sum.low[k];
        high_total += sum.high[k];
    }
    CHECK_NEAR("all chances", low_total, 1.0, 1e-12, "");
    CHECK_NEAR("all chances", high_total, 1.0, 1e-12, "");
    CHECK_NEAR("mean", sum.mean_mbps, outcome_excess(all, 0.0), 1e-9, "Mb/s");
    for (int i = 0; i < 8; i++) {
        const double at = random_between(r, 0.0, top), chance = random_between(r, 0.5, 0.999);
        const struct bracket over = rate_sum_over(&sum, at), more = rate_sum_excess(&sum, at);
        const double truth = outcome_over(all, at), rest = outcome_excess(all, at);
        CHECK("chance of more", over.low <= truth + 1e-12 && truth <= over.high + 1e-12);
        CHECK("mean of what is more", more.low <= rest + 1e-9 && rest <= more.high + 1e-9);
        CHECK("mean of what is more, how near", more.high - more.low <= s.n * step + 1e-9);
        const struct bracket q = rate_sum_quantile(&sum, chance);
        const double want = outcome_quantile(all, chance);
        CHECK("not passed", isinf(q.low) ? want > top - 1e-9 : q.low <= want + 1e-9);
        CHECK("not passed", q.high >= want - 1e-9);
        CHECK("how near", isinf(q.high) || q.high - q.low <= s.n * step + 1e-9);
        bool fits = false;
        CHECK_OK(&c, rate_sum_fits(&c.run, s.list, s.n, step, at, chance, &fits, &c.problems));
        CHECK("fits, as the whole sum says", fits == (q.high <= at));
        CHECK("fits, of all outcomes", !fits || truth <= 1.0 - chance + 1e-9);
        CHECK("does not, or only just", fits || outcome_over(all, at - (s.n + 1) * step) > 1.0 - chance - 1e-9);
    }
    check_run_end(&c);
}

/* ---- ten million draws ---- */

enum { DRAWS = 10000000, HOUSEHOLD = 8, TOP_MBPS = 160 };

/* Whole megabits, so that both sums are exact. */
static const struct rate_state FILM[] = { { 5, 0.30 }, { 15, 0.10 }, { 25, 0.02 } };
static const struct rate_state CALL[] = { { 3, 0.20 }, { 4, 0.10 } };
static const struct rate_state UPDATE[] = { { 60, 0.03 }, { 1, 0.5 } };
static const struct rate_source SOURCES[HOUSEHOLD] = { { FILM, 3 },   { FILM, 3 }, { CALL, 2 }, { CALL, 2 },
                                                       { UPDATE, 2 }, { CALL, 2 }, { FILM, 3 }, { UPDATE, 2 } };

/* Two sources from each 64 bits; thresholds of 32 bits, an error of 2e-10 in each chance. */
static void draw_all(uint32_t counts[TOP_MBPS + 1])
{
    uint32_t limit[HOUSEHOLD][3], mbps[HOUSEHOLD][3];
    for (uint32_t i = 0; i < HOUSEHOLD; i++) {
        double sum = 0.0;
        for (uint32_t k = 0; k < 3; k++) {
            sum += k < SOURCES[i].n ? SOURCES[i].states[k].chance : 0.0;
            limit[i][k] = (uint32_t)(sum * 4294967296.0);
            mbps[i][k] = k < SOURCES[i].n ? (uint32_t)SOURCES[i].states[k].mbps : 0;
        }
    }
    struct random r = { .seed = 20261125, .stream = 7 };
    for (uint32_t d = 0; d < DRAWS; d++) {
        uint32_t total = 0;
        uint64_t bits = 0;
        for (uint32_t i = 0; i < HOUSEHOLD; i++) {
            bits = i % 2 ? bits >> 32 : random_next(&r);
            const uint32_t u = (uint32_t)bits;
            for (uint32_t k = 0; k < 3; k++)
                if (u < limit[i][k]) {
                    total += mbps[i][k];
                    break;
                }
        }
        counts[total < TOP_MBPS ? total : TOP_MBPS]++;
    }
}

TEST(ten_million_draws)
{
    struct check_run c = check_run_begin();
    const struct rate_sum s = sum_of(&c, SOURCES, HOUSEHOLD, 1.0, TOP_MBPS);
    uint32_t counts[TOP_MBPS + 1] = { 0 }, above = 0;
    draw_all(counts);
    for (uint32_t k = TOP_MBPS; k-- > 0;) {
        above += counts[k + 1];
        const double want = rate_sum_over(&s, k).low, sigma = sqrt(want * (1.0 - want) / DRAWS);
        CHECK_NEAR("chance of more", (double)above / DRAWS, want, 4.0 * sigma + 1e-9,
                   arena_printf(c.run.arena, "(above %u Mb/s)", k));
    }
    check_run_end(&c);
}

/* ---- ends ---- */

TEST(nonsense_is_refused)
{
    struct check_run c = check_run_begin();
    const struct rate_state twice[] = { { 1, 0.7 }, { 2, 0.4 } }, below[] = { { -1, 0.5 } },
                            endless[] = { { INFINITY, 0.5 } };
    const struct rate_source bad[] = { { twice, 2 }, { below, 1 }, { endless, 1 } };
    struct rate_sum out;
    bool fits;
    for (int i = 0; i < 3; i++) {
        CHECK("not a source", rate_sum_make(&c.run, &bad[i], 1, 1.0, 10.0, &out, &c.problems) == RT_RANGE);
        CHECK("nor here", rate_sum_fits(&c.run, &bad[i], 1, 1.0, 10.0, 0.9, &fits, &c.problems) == RT_RANGE);
    }
    CHECK("no step", rate_sum_make(&c.run, SOURCES, 1, 0.0, 10.0, &out, &c.problems) == RT_RANGE);
    CHECK("too fine", rate_sum_make(&c.run, SOURCES, 1, 1e-6, 10.0, &out, &c.problems) == RT_RANGE);
    check_run_end(&c);
}

TEST(can_be_stopped)
{
    struct check_run c = check_run_begin();
    const atomic_bool stop = true;
    struct rate_sum out;
    c.run.cancel = &stop;
    CHECK("stopped", rate_sum_make(&c.run, SOURCES, HOUSEHOLD, 1.0, 10.0, &out, &c.problems) == RT_CANCELLED);
    check_run_end(&c);
}

TEST(nobody_asks)
{
    struct check_run c = check_run_begin();
    const struct rate_sum s = sum_of(&c, NULL, 0, 1.0, 0.0);
    CHECK_NEAR("nothing", rate_sum_quantile(&s, 0.99).high, 0.0, 0.0, "Mb/s");
    CHECK_NEAR("never more", rate_sum_over(&s, 0.0).high, 0.0, 0.0, "");
    check_run_end(&c);
}

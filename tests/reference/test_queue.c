/* Waiting and blocking against the reference tables, row by row (their sources stand in them; rows of set `disagrees` satisfy no
 * formula and are left out), and against other ways to the same figures. */
#include "load/queue.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "check.h"
#include "csv.h"

static struct csv table(struct check_run *c, const char *name)
{
    return csv_read(c->run.arena, check_path(c, arena_printf(c->run.arena, "tests/reference/%s", name)));
}

static const char *row_label(struct check_run *c, const struct csv *t, uint32_t i)
{
    return arena_printf(c->run.arena, "row %u: %.*s %.*s %.*s", i, STR_ARG(t->rows.v[i][0]), STR_ARG(t->rows.v[i][1]),
                        STR_ARG(t->rows.v[i][2]));
}

/* Half of the last digit printed. */
static double half_digit(struct str cell)
{
    const char *point = memchr(cell.p, '.', cell.n), *e = memchr(cell.p, 'e', cell.n);
    const char *end = e ? e : cell.p + cell.n;
    const int decimals = point ? (int)(end - point) - 1 : 0;
    return 0.5000001 * pow(10.0, (e ? strtod(e + 1, NULL) : 0.0) - decimals);
}

/* To half of the last digit printed; 2e-11 of it where more are printed than that. */
static void check_cell(struct check_run *c, const struct csv *t, uint32_t i, const char *column, double got)
{
    const struct str cell = csv_cell(t, i, column);
    if (cell.n == 0)
        return;
    const double want = csv_num(t, i, column);
    CHECK_NEAR(row_label(c, t, i), got, want, fmax(half_digit(cell), 2e-11 * fabs(want)), column);
}

TEST(erlang)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "erlang_b.csv");
    uint32_t n_seen = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const struct str set = csv_cell(&t, i, "set"), kind = csv_cell(&t, i, "kind");
        const double x = csv_num(&t, i, "offered_or_blocking");
        const uint32_t n = (uint32_t)csv_num(&t, i, "lines");
        double got = NAN;
        if (str_is(set, "disagrees"))
            continue;
        n_seen++;
        if (str_is(kind, "B"))
            got = queue_erlang_b(x, n);
        else if (str_is(kind, "C"))
            got = queue_erlang_c(x, n);
        else if (str_is(kind, "lnB"))
            got = queue_erlang_b_log(x, n);
        else if (str_is(kind, "A(B)"))
            got = queue_erlang_b_offered(x, n);
        else
            continue;
        check_cell(&c, &t, i, "value_computed", got);
        if (str_is(kind, "lnB")) /* some are cut after the last digit, not rounded */
            CHECK_NEAR(row_label(&c, &t, i), got, csv_num(&t, i, "value_published"),
                       2.0 * half_digit(csv_cell(&t, i, "value_published")), "");
        else
            check_cell(&c, &t, i, "value_published", got);
        if (str_is(kind, "B"))
            CHECK_NEAR(row_label(&c, &t, i), exp(queue_erlang_b_log(x, n)), got, 1e-11 * got, "by the logarithm");
    }
    CHECK_NEAR("rows", n_seen, t.rows.n - 15, 0, "that agree with the formula");
    check_run_end(&c);
}

TEST(erlang_lines)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "erlang_b.csv");
    uint32_t n_seen = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        if (!str_is(csv_cell(&t, i, "set"), "published_lines"))
            continue;
        const struct str at = csv_cell(&t, i, "offered_or_blocking"); /* 20@0.02 */
        const double erlang = strtod(at.p, NULL), blocking = strtod(strchr(at.p, '@') + 1, NULL);
        n_seen++;
        check_cell(&c, &t, i, "value_published", queue_erlang_b_lines(erlang, blocking));
        check_cell(&c, &t, i, "value_computed", queue_erlang_b_lines(erlang, blocking));
    }
    CHECK_NEAR("rows", n_seen, 2, 0, "");
    check_run_end(&c);
}

TEST(engset)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "engset.csv");
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const uint32_t sources = (uint32_t)csv_num(&t, i, "sources"), n = (uint32_t)csv_num(&t, i, "lines");
        const bool is_published = str_is(csv_cell(&t, i, "set"), "published");
        const double a = csv_num(&t, i, "busy_ratio_a"); /* the whole of beta, which is printed short */
        const double beta = is_published ? csv_num(&t, i, "beta") : a / (1.0 - a);
        const double time = queue_engset_time(sources, beta, n);
        check_cell(&c, &t, i, "time_congestion", time);
        check_cell(&c, &t, i, "call_congestion", queue_engset_calls(sources, beta, n));
        if (is_published)
            CHECK_NEAR("published: 0.0018 to four decimals", time, 0.0018, 0.00005, "");
    }
    CHECK_NEAR("rows", t.rows.n, 97, 0, "");
    CHECK_NEAR("none to call", queue_engset_calls(0, 1.0, 3), 0.0, 0.0, "");
    check_run_end(&c);
}

TEST(binomial)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "binomial.csv");
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const struct str cell = csv_cell(&t, i, "probability_more_than_k");
        const double want = csv_num(&t, i, "probability_more_than_k");
        const double got =
            queue_binomial_over((uint32_t)csv_num(&t, i, "users_n"), csv_num(&t, i, "active_probability_p"),
                                (uint32_t)csv_num(&t, i, "capacity_k"));
        CHECK_NEAR(row_label(&c, &t, i), got, want, fmax(half_digit(cell), 1e-14), "");
    }
    CHECK("rows", t.rows.n > 50);
    CHECK_NEAR("nobody", queue_binomial_over(10, 0.0, 0), 0.0, 0.0, "");
    CHECK_NEAR("everybody", queue_binomial_over(10, 1.0, 9), 1.0, 0.0, "");
    check_run_end(&c);
}

TEST(waits)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "queue_wait.csv");
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const char *label = row_label(&c, &t, i);
        const double load = csv_num(&t, i, "load_rho"), service_ms = csv_num(&t, i, "service_ms");
        const double mm1 = queue_mg1_wait(load, 1.0), md1 = queue_mg1_wait(load, 0.0);
        CHECK_NEAR(label, service_ms, 1500.0 * 8.0 / csv_num(&t, i, "rate_bit_per_s") * 1e3, 1e-9, "ms");
        check_cell(&c, &t, i, "mm1_wait_ms", mm1 * service_ms);
        check_cell(&c, &t, i, "mm1_sojourn_ms", (mm1 + 1.0) * service_ms);
        check_cell(&c, &t, i, "md1_wait_ms", md1 * service_ms);
        check_cell(&c, &t, i, "md1_sojourn_ms", (md1 + 1.0) * service_ms);
        check_cell(&c, &t, i, "mm1_in_system", (mm1 + 1.0) * load);
        check_cell(&c, &t, i, "md1_in_system", (md1 + 1.0) * load);
        check_cell(&c, &t, i, "mm1_wait_p99_ms", queue_mm1_wait_quantile(load, 0.99) * service_ms);
    }
    CHECK_NEAR("rows", t.rows.n, 24, 0, "");
    CHECK("too much", isinf(queue_mg1_wait(1.0, 0.0)) && isinf(queue_mm1_wait_quantile(1.0, 0.9)) &&
                          isinf(queue_md1_wait_quantile(1.0, 0.9)));
    check_run_end(&c);
}

/* A. K. Erlang 1909, the wait of M/D/1 as a series whose terms take turns in sign (from memory); in long double it holds for a
 * few service times. */
static double erlang_1909_over(double load, double t)
{
    long double sum = 0.0L;
    for (unsigned k = 0; k <= (unsigned)t; k++) {
        const long double x = (long double)load * (k - (long double)t);
        long double term = 1.0L;
        for (unsigned i = 1; i <= k; i++)
            term *= x / i;
        sum += term * expl(-x);
    }
    return (double)(1.0L - (1.0L - load) * sum);
}

TEST(equal_packets_as_in_erlangs_series)
{
    for (double load = 0.05; load < 1.0; load += 0.05)
        for (double t = 0.0; t < 12.0; t += 0.13)
            CHECK_NEAR("chance to wait longer", queue_md1_wait_over(load, t), erlang_1909_over(load, t), 1e-11, "");
}

/* All waits summed are the mean of Pollaczek and Khinchine; the tail goes over into the exponential one without a step. */
TEST(equal_packets_have_the_mean_wait)
{
    for (double load = 0.1; load < 0.96; load += 0.17) {
        const double step = 1e-2 / (1.0 - load);
        double sum = -0.5 * step * queue_md1_wait_over(load, 0.0);
        for (double t = 0.0; t < 25.0 / (1.0 - load); t += step)
            sum += step * queue_md1_wait_over(load, t);
        CHECK_NEAR("mean wait", sum, queue_mg1_wait(load, 0.0), 1e-3 * queue_mg1_wait(load, 0.0), "service times");
    }
    const double last = QUEUE_MD1_EXACT - 1, load = 0.99;
    const double ratio = queue_md1_wait_over(load, last) / queue_md1_wait_over(load, last - 1.0);
    CHECK_NEAR("the tail goes on", queue_md1_wait_over(load, last + 1.0) / queue_md1_wait_over(load, last), ratio, 1e-9,
               "");
    CHECK_NEAR("a quantile is passed as often as said", queue_md1_wait_over(0.8, queue_md1_wait_quantile(0.8, 0.999)),
               0.001, 1e-9, "");
    CHECK_NEAR("few wait", queue_md1_wait_quantile(0.3, 0.6), 0.0, 0.0, "service times");
}

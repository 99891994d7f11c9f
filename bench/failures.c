/* All single failures of one house: with the fields, the proof and the plans of the whole house, and each from nothing. */
#include "failures.h"

#include "promise/failure_table.h"

#include <math.h>

enum {
    SAMPLE = 4, /* every so many failures are done from nothing, the rest taken to be alike */
    REPEATS = 5 /* checks of the whole house; the best counts */
};

static void begin(const struct run *run, const char *path, struct evaluation *ev, struct rt_problems *p)
{
    struct house *h = NULL;
    rows_must(run, house_read(run, path, &h, p), p);
    rows_must(run, evaluation_begin(ev, run, h, evaluation_default_options(h), p), p);
}

/* The house without the radios and the cables of what failed, all promises judged anew. */
static double from_nothing_s(const struct run *run, const char *path, const struct failure *f, struct rt_problems *p)
{
    const struct arena_mark mark = arena_mark(run->arena);
    const double start = cpu_s();
    struct house *h = NULL;
    struct evaluation ev;
    struct promise_results results;
    rows_must(run, house_read(run, path, &h, p), p);
    const uint32_t gone = f->kind == FAILURE_CABLE || f->i == NO_REF ? NO_REF : f->i;
    uint32_t n = 0;
    for (uint32_t c = 0; c < h->cables.n; c++) {
        const struct cable *k = &h->cables.v[c];
        if (!(f->kind == FAILURE_CABLE && f->i == c) &&
            (gone == NO_REF || (k->from.equipment != gone && k->to.equipment != gone)))
            h->cables.v[n++] = *k;
    }
    h->cables.n = n;
    rows_must(run, evaluation_begin(&ev, run, h, evaluation_default_options(h), p), p);
    n = 0;
    for (uint32_t r = 0; r < ev.radios.n; r++)
        if (ev.radios.v[r].equipment != gone)
            ev.radios.v[n++] = ev.radios.v[r];
    ev.radios.n = n;
    rows_must(run, promises_evaluate(&ev, ALL_PROMISE_KINDS & ~(1u << PROMISE_SURVIVE), &results, p), p);
    const double took_s = cpu_s() - start;
    arena_reset(run->arena, mark);
    rt_problems_init(p, run->arena);
    return took_s;
}

void bench_failures(const struct run *run, const char *house_path, struct rows *rows, struct rt_problems *p)
{
    struct evaluation ev;
    struct promise_results results;
    struct failure_table *table = NULL;
    double whole_s = INFINITY;
    for (int i = 0; i < REPEATS; i++) {
        const struct arena_mark mark = arena_mark(run->arena);
        const double start = cpu_s();
        begin(run, house_path, &ev, p);
        rows_must(run, promises_evaluate(&ev, ALL_PROMISE_KINDS, &results, p), p);
        whole_s = fmin(whole_s, cpu_s() - start);
        if (i + 1 < REPEATS) {
            arena_reset(run->arena, mark);
            rt_problems_init(p, run->arena);
        }
    }
    const double start = cpu_s();
    rows_must(run, evaluation_failures(&ev, &table, p), p);
    rows_must(run, failure_table_fill(table, p), p);
    const double all_s = cpu_s() - start;
    const uint32_t n = table->rows.n;
    failure_list list = { ARENA_ARRAY(run->arena, struct failure, n), n };
    for (uint32_t i = 0; i < n; i++)
        list.v[i] = table->rows.v[i].failure;
    double sample_s = 0.0;
    uint32_t n_sample = 0;
    for (uint32_t i = 0; i < n; i += SAMPLE, n_sample++)
        sample_s += from_nothing_s(run, house_path, &list.v[i], p);
    const double nothing_s = sample_s / n_sample * n;
    rows_heading(rows, "All promises, and all single failures, of the main demo, one core");
    rows_add(rows, "check: read, fields, proof, cables, every promise", whole_s, 3, "s",
             arena_printf(run->arena, "%u promises, those to survive included", results.n));
    rows_add(rows, "every single failure against every promise, after that", all_s, 3, "s",
             arena_printf(run->arena, "%u failures", n));
    rows_add(rows, "each failure from nothing", nothing_s, 1, "s",
             arena_printf(run->arena, "%u of them done, %.2f s each, the rest taken to be alike", n_sample,
                          sample_s / n_sample));
    rows_add(rows, "from nothing over ours, the check included", nothing_s / (whole_s + all_s), 1, "times", "");
}

#include "wire/integer_program.h"

#include <coin/Cbc_C_Interface.h>
#include <math.h>
#include <pthread.h>

/* CBC 2.10 keeps how it reads its settings, and what it preprocesses, in variables of the whole process (`nm` shows them): two searches
 * at once would get in each other's way.  So one waits for the other; nothing of it is seen from outside. */
static pthread_mutex_t SOLVER = PTHREAD_MUTEX_INITIALIZER;

uint32_t program_column(struct program *p, double lo, double hi, bool is_whole)
{
    p->failed |= !VEC_PUSH(p->arena, &p->columns, ((struct program_column){ lo, hi, is_whole }));
    return p->columns.n - 1;
}

uint32_t program_row(struct program *p, double lo, double hi)
{
    p->failed |= !VEC_PUSH(p->arena, &p->rows, ((struct program_row){ lo, hi }));
    return p->rows.n - 1;
}

void program_entry(struct program *p, uint32_t row, uint32_t column, double value)
{
    p->failed |= !VEC_PUSH(p->arena, &p->entries, ((struct program_entry){ row, column, value }));
}

/* The entries column by column, as CBC takes them. */
struct packed {
    int *start, *row;
    double *value, *column_lo, *column_hi, *row_lo, *row_hi, *cost;
};

static bool pack(struct arena *a, const struct program *p, const double *cost, struct packed *k)
{
    const uint32_t n = p->columns.n;
    *k = (struct packed){ .start = ARENA_ARRAY(a, int, (size_t)n + 2),
                          .row = ARENA_ARRAY(a, int, p->entries.n),
                          .value = ARENA_ARRAY(a, double, p->entries.n),
                          .column_lo = ARENA_ARRAY(a, double, n),
                          .column_hi = ARENA_ARRAY(a, double, n),
                          .row_lo = ARENA_ARRAY(a, double, p->rows.n),
                          .row_hi = ARENA_ARRAY(a, double, p->rows.n),
                          .cost = ARENA_ARRAY(a, double, n) };
    if (!k->start || !k->row || !k->value || !k->column_lo || !k->column_hi || !k->row_lo || !k->row_hi || !k->cost)
        return false;
    for (uint32_t i = 0; i < p->entries.n; i++)
        k->start[p->entries.v[i].column + 2]++;
    for (uint32_t i = 2; i < n + 2; i++)
        k->start[i] += k->start[i - 1];
    for (uint32_t i = 0; i < p->entries.n; i++) {
        const struct program_entry *e = &p->entries.v[i];
        const int at = k->start[e->column + 1]++;
        k->row[at] = (int)e->row;
        k->value[at] = e->value;
    }
    for (uint32_t i = 0; i < n; i++) {
        k->column_lo[i] = p->columns.v[i].lo;
        k->column_hi[i] = p->columns.v[i].hi;
        k->cost[i] = cost[i];
    }
    for (uint32_t i = 0; i < p->rows.n; i++) {
        k->row_lo[i] = p->rows.v[i].lo;
        k->row_hi[i] = p->rows.v[i].hi;
    }
    return true;
}

static bool take_answer(struct arena *a, const struct program *p, const double *cost, Cbc_Model *model, bool has_gap,
                        struct program_answer *out)
{
    const uint32_t n = p->columns.n;
    const double *x =
        Cbc_numberSavedSolutions(model) > 0 || Cbc_isProvenOptimal(model) ? Cbc_getColSolution(model) : NULL;
    out->is_best = Cbc_isProvenOptimal(model) || Cbc_isProvenInfeasible(model);
    out->bound = Cbc_isProvenInfeasible(model) ? (double)INFINITY : Cbc_getBestPossibleObjValue(model);
    if (!x || Cbc_isProvenInfeasible(model))
        return true;
    out->x = ARENA_ARRAY(a, double, n);
    if (!out->x)
        return false;
    out->is_found = true;
    for (uint32_t i = 0; i < n; i++) {
        out->x[i] = p->columns.v[i].is_whole ? round(x[i]) : x[i];
        out->value += out->x[i] * cost[i];
    }
    if ((out->is_best && !has_gap) || out->bound > out->value)
        out->bound = out->value;
    return true;
}

/* Tells a search that it is to end. */
struct watch {
    const struct run *run;
    bool was_cancelled;
};

/* Called at each node: a cut that nothing fulfils ends it. */
static void look(void *solver, void *cuts, void *watch)
{
    struct watch *w = watch;
    (void)solver;
    if (!run_is_cancelled(w->run))
        return;
    const int column = 0;
    const double one = 1;
    w->was_cancelled = true;
    OsiCuts_addRowCut(cuts, 1, &column, &one, 'G', 1e20);
}

/* For programs with long rows: what makes dense cuts at the root, for longer than the search itself would take, is left out. */
static const struct {
    const char *name, *value;
} LARGE[] = { { "preprocess", "off" }, { "probing", "off" }, { "gomoryCuts", "off" },
              { "twoMirCuts", "off" }, { "passCuts", "10" }, { "timeMode", "elapsed" } };

static bool set_search(struct arena *a, Cbc_Model *model, const struct program *p, const struct program_limits *limits,
                       struct watch *watch)
{
    char text[40];
    if (limits->gap > 0)
        Cbc_setAllowableFractionGap(model, limits->gap);
    if (limits->step > 0) {
        snprintf(text, sizeof text, "%.9g", limits->step * 0.999);
        Cbc_setParameter(model, "increment", text);
    }
    for (size_t i = 0; limits->is_large && i < RT_COUNT(LARGE); i++)
        Cbc_setParameter(model, LARGE[i].name, LARGE[i].value);
    if (limits->is_large && limits->start)
        Cbc_setParameter(model, "feasibilityPump", "off");
    if (limits->is_interruptible && watch->run->cancel)
        Cbc_addCutCallback(model, look, "cancel", watch);
    if (!limits->start)
        return true;
    const uint32_t n = p->columns.n;
    int *columns = ARENA_ARRAY(a, int, n);
    if (!columns)
        return false;
    for (uint32_t i = 0; i < n; i++)
        columns[i] = (int)i;
    Cbc_setMIPStartI(model, (int)n, columns, limits->start);
    return true;
}

static enum rt_code search(const struct run *run, const struct program *p, const double *cost,
                           struct program_limits limits, const struct packed *packed, struct program_answer *out)
{
    const struct packed k = *packed;
    Cbc_Model *model = Cbc_newModel();
    if (!model)
        return RT_NOMEM;
    Cbc_setLogLevel(model, 0);
    Cbc_setParameter(model, "randomSeed", "1");
    Cbc_setParameter(model, "randomCbcSeed", "1");
    Cbc_setMaximumNodes(model, limits.nodes);
    Cbc_setMaximumSeconds(model, limits.seconds);
    Cbc_loadProblem(model, (int)p->columns.n, (int)p->rows.n, k.start, k.row, k.value, k.column_lo, k.column_hi, k.cost,
                    k.row_lo, k.row_hi);
    for (uint32_t i = 0; i < p->columns.n; i++)
        if (p->columns.v[i].is_whole)
            Cbc_setInteger(model, (int)i);
    struct watch watch = { run, false };
    if (!set_search(run->arena, model, p, &limits, &watch)) {
        Cbc_deleteModel(model);
        return RT_NOMEM;
    }
    Cbc_solve(model);
    const bool ok = take_answer(run->arena, p, cost, model, limits.gap > 0, out);
    if (watch.was_cancelled) {
        out->is_cancelled = true;
        out->is_best = false;
        out->bound = -(double)INFINITY;
    }
    Cbc_deleteModel(model);
    return ok ? RT_OK : RT_NOMEM;
}

enum rt_code program_least(const struct run *run, const struct program *p, const double *cost,
                           struct program_limits limits, struct program_answer *out)
{
    struct packed k;
    *out = (struct program_answer){ 0 };
    if (run_is_cancelled(run))
        return RT_CANCELLED;
    if (p->failed || !pack(run->arena, p, cost, &k))
        return RT_NOMEM;
    (void)pthread_mutex_lock(&SOLVER);
    const enum rt_code code = search(run, p, cost, limits, &k, out);
    (void)pthread_mutex_unlock(&SOLVER);
    return code;
}

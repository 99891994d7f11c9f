/* Which promises cannot be kept together, and which to give up.
 *
 * A set of promises is tried by solving for it alone and taking the first choice that holds.  A conflict is first thinned out promise
 * by promise; then sets smaller than what is left are tried, but none that lies within a set already kept: each set that could be
 * kept is first made as large as it will go, so that one trial rules out many. */
#include <math.h>

#include "design/placing_int.h"

enum { NODES = 200000, ROUNDS = 60 };
/* Any choice will do. */
#define ANY_GAP 1e9

enum verdict { KEPT, BROKEN, UNKNOWN };

struct finder {
    const struct run *run;
    struct arena *a;
    const struct placing *q;
    struct placing_limits limits;
    double until_s;
    uint32_t n_all;     /* promises by number */
    uint32_t *promises; /* those asked, ascending */
    uint32_t n;
    bool *given_up;   /* [n_all] for one trial */
    VEC(bool *) kept; /* sets [n] that can be kept */
    struct rt_problems *p;
};

static enum rt_code try_placing(struct finder *f, const struct placing *q, enum verdict *verdict)
{
    const struct arena_mark mark = arena_mark(f->a);
    struct placing_limits limits = { .seconds = fmax(f->until_s - place_now_s(), 0),
                                     .gap = ANY_GAP,
                                     .nodes = f->limits.nodes };
    struct placing_answer answer;
    if (run_is_cancelled(f->run))
        return RT_CANCELLED;
    RT_TRY(placing_solve(f->run, q, f->given_up, NULL, limits, &answer, f->p));
    *verdict = answer.is_found ? KEPT : answer.is_best ? BROKEN : UNKNOWN;
    arena_reset(f->a, mark);
    return run_is_cancelled(f->run) ? RT_CANCELLED : RT_OK;
}

/* set: [n] of the promises asked. */
static enum rt_code try_set(struct finder *f, const bool *set, enum verdict *verdict)
{
    for (uint32_t i = 0; i < f->n_all; i++)
        f->given_up[i] = true;
    for (uint32_t i = 0; i < f->n; i++)
        f->given_up[f->promises[i]] = !set[i];
    return try_placing(f, f->q, verdict);
}

/* ---- one alone ---- */

/* The needs of one promise, as few of them as cannot be kept together: each that cannot be kept by itself, else what is left of them
 * when they are thinned out. */
static enum rt_code broken_needs(struct finder *f, uint32_t promise, index_list *out)
{
    struct placing q = *f->q;
    struct place_need *needs = ARENA_ARRAY(f->a, struct place_need, q.needs.n);
    uint32_t *left = ARENA_ARRAY(f->a, uint32_t, q.needs.n), n = 0;
    enum verdict verdict = UNKNOWN;
    *out = (index_list){ ARENA_ARRAY(f->a, uint32_t, q.needs.n), 0 };
    if (!needs || !left || !out->v)
        return rt_fail_memory(f->p);
    for (uint32_t i = 0; i < f->n_all; i++)
        f->given_up[i] = i != promise;
    q.needs.v = needs;
    for (uint32_t i = 0; i < f->q->needs.n; i++) {
        if (f->q->needs.v[i].promise != promise)
            continue;
        left[n++] = i;
        needs[0] = f->q->needs.v[i];
        q.needs.n = 1;
        RT_TRY(try_placing(f, &q, &verdict));
        if (verdict == BROKEN)
            out->v[out->n++] = i;
    }
    for (uint32_t without = n; !out->n && without-- > 0;) {
        q.needs.n = 0;
        for (uint32_t i = 0; i < n; i++)
            if (i != without)
                needs[q.needs.n++] = f->q->needs.v[left[i]];
        RT_TRY(try_placing(f, &q, &verdict));
        if (verdict == BROKEN) {
            memmove(&left[without], &left[without + 1], (n - without - 1) * sizeof *left);
            n--;
        }
    }
    if (!out->n)
        *out = (index_list){ left, n };
    return RT_OK;
}

/* ---- sets ---- */

static bool is_within_kept(const struct finder *f, const bool *set)
{
    for (uint32_t k = 0; k < f->kept.n; k++) {
        bool is = true;
        for (uint32_t i = 0; i < f->n && is; i++)
            is = !set[i] || f->kept.v[k][i];
        if (is)
            return true;
    }
    return false;
}

/* Keeps a set that can be kept, with all that can be added to it. */
static enum rt_code keep_grown(struct finder *f, const bool *set)
{
    bool *grown = ARENA_ARRAY(f->a, bool, f->n);
    if (!grown)
        return rt_fail_memory(f->p);
    memcpy(grown, set, f->n * sizeof *grown);
    for (uint32_t i = 0; i < f->n; i++) {
        enum verdict verdict = KEPT;
        if (grown[i])
            continue;
        grown[i] = true;
        if (!is_within_kept(f, grown))
            RT_TRY(try_set(f, grown, &verdict));
        grown[i] = verdict == KEPT;
    }
    if (!VEC_PUSH(f->a, &f->kept, grown))
        return rt_fail_memory(f->p);
    return RT_OK;
}

/* Leaves out one after another what can go. */
static enum rt_code thin_out(struct finder *f, bool *set, bool *is_sure)
{
    for (uint32_t i = f->n; i-- > 0;) {
        enum verdict verdict;
        if (!set[i])
            continue;
        set[i] = false;
        RT_TRY(try_set(f, set, &verdict));
        *is_sure &= verdict != UNKNOWN;
        if (verdict == KEPT)
            RT_TRY(keep_grown(f, set));
        set[i] = verdict != BROKEN;
    }
    return RT_OK;
}

/* Sets of `left` more promises from `from` on: the first that cannot be kept stays in `set`. */
static enum rt_code try_smaller(struct finder *f, bool *set, uint32_t from, uint32_t left, bool *found, bool *is_sure)
{
    if (!left) {
        enum verdict verdict;
        if (is_within_kept(f, set))
            return RT_OK;
        RT_TRY(try_set(f, set, &verdict));
        *found = verdict == BROKEN;
        *is_sure &= verdict != UNKNOWN;
        return verdict == KEPT ? keep_grown(f, set) : RT_OK;
    }
    for (uint32_t i = from; i + left <= f->n && !*found; i++) {
        if (place_now_s() > f->until_s) {
            *is_sure = false;
            return RT_OK;
        }
        set[i] = true;
        RT_TRY(try_smaller(f, set, i + 1, left - 1, found, is_sure));
        set[i] = *found;
    }
    return RT_OK;
}

static uint32_t size_of(const struct finder *f, const bool *set)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < f->n; i++)
        n += set[i];
    return n;
}

static enum rt_code find_set(struct finder *f, struct placing_conflict *out)
{
    bool *set = ARENA_ARRAY(f->a, bool, f->n), *smaller = ARENA_ARRAY(f->a, bool, f->n), found = false;
    out->promises.v = ARENA_ARRAY(f->a, uint32_t, f->n);
    if (!set || !smaller || !out->promises.v)
        return rt_fail_memory(f->p);
    out->is_smallest = true;
    RT_TRY(try_smaller(f, smaller, 0, 1, &found, &out->is_smallest));
    if (!found) {
        for (uint32_t i = 0; i < f->n; i++)
            set[i] = true;
        RT_TRY(thin_out(f, set, &out->is_smallest));
    }
    for (uint32_t size = 2; size < size_of(f, set) && !found; size++)
        RT_TRY(try_smaller(f, smaller, 0, size, &found, &out->is_smallest));
    for (uint32_t i = 0; i < f->n; i++)
        if (found ? smaller[i] : set[i])
            out->promises.v[out->promises.n++] = f->promises[i];
    return out->promises.n == 1 && f->promises ? broken_needs(f, out->promises.v[0], &out->needs) : RT_OK;
}

static bool begin(struct finder *f, const bool *given_up)
{
    const struct placing *q = f->q;
    for (uint32_t n = 0; n < q->needs.n; n++)
        f->n_all = q->needs.v[n].promise >= f->n_all ? q->needs.v[n].promise + 1 : f->n_all;
    if (q->budget_promise != NO_REF && q->budget_promise >= f->n_all)
        f->n_all = q->budget_promise + 1;
    bool *is_asked = ARENA_ARRAY(f->a, bool, f->n_all);
    f->promises = ARENA_ARRAY(f->a, uint32_t, f->n_all);
    f->given_up = ARENA_ARRAY(f->a, bool, f->n_all);
    if (!is_asked || !f->promises || !f->given_up)
        return false;
    for (uint32_t n = 0; n < q->needs.n; n++)
        is_asked[q->needs.v[n].promise] = true;
    if (q->budget_promise != NO_REF && q->at_most != INT64_MAX)
        is_asked[q->budget_promise] = true;
    for (uint32_t i = 0; i < f->n_all; i++)
        if (is_asked[i] && !place_is_given_up(given_up, i))
            f->promises[f->n++] = i;
    return true;
}

enum rt_code placing_find_conflict(const struct run *run, const struct placing *q, const bool *given_up,
                                   struct placing_limits limits, struct placing_conflict *out, struct rt_problems *p)
{
    struct finder f = {
        .run = run, .a = run->arena, .q = q, .limits = limits, .until_s = place_now_s() + limits.seconds, .p = p
    };
    enum verdict verdict;
    *out = (struct placing_conflict){ 0 };
    if (!begin(&f, given_up))
        return rt_fail_memory(p);
    bool *set = ARENA_ARRAY(run->arena, bool, f.n);
    if (!set)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < f.n; i++)
        set[i] = true;
    RT_TRY(try_set(&f, set, &verdict));
    out->has_conflict = verdict == BROKEN;
    if (!out->has_conflict)
        return RT_OK;
    memset(set, 0, f.n * sizeof *set);
    RT_TRY(try_set(&f, set, &verdict));
    if (verdict == BROKEN) {
        out->is_smallest = true;
        return RT_OK;
    }
    return find_set(&f, out);
}

/* ---- what to give up ---- */

struct giver {
    struct place_maker m;
    double until_s;
    uint32_t nodes;
    const double *worth;
    bool *given_up;
    struct rt_problems *p;
};

/* Searches until the answer lacks no more rows; *x is NULL if none was found. */
static enum rt_code least_given(struct giver *g, bool is_counted, const double **x, double *value)
{
    struct place_maker *m = &g->m;
    *x = NULL;
    for (int round = 0; round < ROUNDS; round++) {
        const double left_s = g->until_s - place_now_s();
        double *cost = ARENA_ARRAY(m->a, double, m->program.columns.n);
        struct program_answer answer;
        if (!cost)
            return RT_NOMEM;
        for (uint32_t i = 0; i < m->n_promises; i++)
            if (m->let_go[i] != NO_REF)
                cost[m->let_go[i]] = is_counted ? 1 : g->worth[i];
        if (left_s <= 0)
            return RT_OK;
        RT_TRY(program_least(m->run, &m->program, cost,
                             (struct program_limits){ .nodes = g->nodes ? (int)g->nodes : NODES,
                                                      .seconds = left_s,
                                                      .is_large = true,
                                                      .is_interruptible = true },
                             &answer));
        if (answer.is_cancelled || run_is_cancelled(m->run))
            return RT_CANCELLED;
        if (!answer.is_found)
            return RT_OK;
        const uint32_t n = place_add_rows(m, answer.x, false);
        if (m->program.failed)
            return RT_NOMEM;
        if (!n) {
            *x = answer.x;
            *value = answer.value;
            return RT_OK;
        }
    }
    return RT_OK;
}

static void read_given(const struct giver *g, const double *x)
{
    for (uint32_t i = 0; i < g->m.n_promises; i++)
        g->given_up[i] = g->m.let_go[i] != NO_REF && (!x || x[g->m.let_go[i]] > 0.5);
}

static enum rt_code give(struct giver *g)
{
    struct place_maker *m = &g->m;
    const double *x;
    double least = 0, count;
    m->image = ARENA_NEW(m->a, struct image);
    if (!m->image || !image_make(m->a, m->q, m->image) || !place_make(m))
        return RT_NOMEM;
    RT_TRY(least_given(g, false, &x, &least));
    read_given(g, x);
    if (!x)
        return RT_OK;
    const uint32_t row = program_row(&m->program, -INFINITY, least * (1 + 1e-6));
    for (uint32_t i = 0; i < m->n_promises; i++)
        if (m->let_go[i] != NO_REF)
            program_entry(&m->program, row, m->let_go[i], g->worth[i]);
    if (m->program.failed)
        return RT_NOMEM;
    RT_TRY(least_given(g, true, &x, &count));
    if (x)
        read_given(g, x);
    return RT_OK;
}

enum rt_code placing_give_up(const struct run *run, const struct placing *q, uint32_t n_promises, const double *worth,
                             struct placing_limits limits, bool *given_up, struct rt_problems *p)
{
    struct giver g = {
        .m = { .run = run, .a = run->arena, .q = q, .with_budget = true, .is_elastic = true, .n_promises = n_promises },
        .until_s = place_now_s() + limits.seconds,
        .nodes = limits.nodes,
        .worth = worth,
        .given_up = given_up,
        .p = p
    };
    const enum rt_code code = give(&g);
    return code == RT_NOMEM ? rt_fail_memory(p) : code;
}

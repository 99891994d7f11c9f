/* The least sum of costs: radios that hear each other, directly or through others, are one program; a quick search begins it, and
 * ends it where the sum of what each radio costs at least is reached. */
#include "design/tuning.h"

#include <math.h>

#include "design/tuning_int.h"

#define NODES_MAX 20000
#define SAME 1e-9 /* sums that differ by less are equal */

double tuning_cost(const struct tuning *q, const uint32_t *options)
{
    double sum = 0.0;
    for (uint32_t r = 0; r < q->radios.n; r++)
        sum += q->radios.v[r].options.v[options[r]].cost;
    for (uint32_t k = 0; k < q->pairs.n; k++) {
        const struct tune_pair *p = &q->pairs.v[k];
        if (options[p->a] == p->option_a && options[p->b] == p->option_b)
            sum += p->cost;
    }
    return sum;
}

/* ---- a quick search ---- */

struct search {
    const struct tune_view *v;
    const index_list *members;
    uint32_t *options; /* [radios]; NO_REF: not set yet */
};

/* What an option costs by itself and with those that are set, but for one radio. */
static double cost_beside(const struct search *s, uint32_t radio, uint32_t option, uint32_t without)
{
    double sum = s->v->q->radios.v[radio].options.v[option].cost;
    for (uint32_t k = 0; k < s->members->n; k++) {
        const uint32_t other = s->members->v[k];
        if (other != radio && other != without && s->options[other] != NO_REF)
            sum += tune_between(s->v, radio, option, other, s->options[other]);
    }
    return sum;
}

static uint32_t best_option(const struct search *s, uint32_t radio, double *cost)
{
    uint32_t best = 0;
    *cost = (double)INFINITY;
    for (uint32_t i = 0; i < tune_options(s->v, radio); i++) {
        const double c = cost_beside(s, radio, i, NO_REF);
        if (c < *cost - SAME) {
            *cost = c;
            best = i;
        }
    }
    return best;
}

/* One radio after the other, until none gains by a change of its own. */
static void settle(struct search *s)
{
    for (bool has_moved = true; has_moved;) {
        has_moved = false;
        for (uint32_t k = 0; k < s->members->n; k++) {
            const uint32_t r = s->members->v[k];
            double cost;
            const uint32_t best = best_option(s, r, &cost);
            if (s->options[r] == NO_REF || cost < cost_beside(s, r, s->options[r], NO_REF) - SAME) {
                s->options[r] = best;
                has_moved = true;
            }
        }
    }
}

/* The best change of two radios at once; false: none gains. */
static bool move_two(struct search *s, uint32_t a, uint32_t b)
{
    const uint32_t was_a = s->options[a], was_b = s->options[b];
    double least =
        cost_beside(s, a, was_a, b) + cost_beside(s, b, was_b, a) + tune_between(s->v, a, was_a, b, was_b) - SAME;
    bool has_moved = false;
    for (uint32_t i = 0; i < tune_options(s->v, a); i++) {
        const double cost_a = cost_beside(s, a, i, b);
        for (uint32_t j = 0; cost_a < least && j < tune_options(s->v, b); j++) {
            const double cost = cost_a + cost_beside(s, b, j, a) + tune_between(s->v, a, i, b, j);
            if (cost < least) {
                least = cost;
                s->options[a] = i;
                s->options[b] = j;
                has_moved = true;
            }
        }
    }
    return has_moved;
}

static void search_members(const struct tune_view *v, const index_list *members, uint32_t *options)
{
    struct search s = { v, members, options };
    for (uint32_t k = 0; k < members->n; k++)
        options[members->v[k]] = NO_REF;
    settle(&s);
    for (bool has_moved = true; has_moved;) {
        has_moved = false;
        for (uint32_t k = 0; k < members->n; k++)
            for (uint32_t l = k + 1; l < members->n; l++)
                if (v->between[members->v[k] * v->n + members->v[l]])
                    has_moved |= move_two(&s, members->v[k], members->v[l]);
        settle(&s);
    }
}

/* ---- those that hear each other ---- */

static double cost_of(const struct tune_view *v, const index_list *members, const uint32_t *options)
{
    double sum = 0.0;
    for (uint32_t k = 0; k < members->n; k++) {
        const uint32_t r = members->v[k];
        sum += v->q->radios.v[r].options.v[options[r]].cost;
        for (uint32_t l = k + 1; l < members->n; l++)
            sum += tune_between(v, r, options[r], members->v[l], options[members->v[l]]);
    }
    return sum;
}

static double sum_of_least(const struct tune_view *v, const index_list *members)
{
    double sum = 0.0;
    for (uint32_t k = 0; k < members->n; k++) {
        double least = (double)INFINITY;
        for (uint32_t i = 0; i < tune_options(v, members->v[k]); i++)
            least = fmin(least, v->q->radios.v[members->v[k]].options.v[i].cost);
        sum += least;
    }
    return sum;
}

/* What costs more by itself than the quick answer has beyond the least of all is in no better one; nor is a pair that does. */
static void rule_out(const struct tune_view *v, const index_list *members, double spare, bool **allowed)
{
    for (uint32_t k = 0; k < members->n; k++) {
        const uint32_t r = members->v[k];
        const struct tune_option *o = v->q->radios.v[r].options.v;
        double least = (double)INFINITY;
        for (uint32_t i = 0; i < tune_options(v, r); i++)
            least = fmin(least, o[i].cost);
        for (uint32_t i = 0; i < tune_options(v, r); i++)
            allowed[r][i] = allowed[r][i] && o[i].cost <= least + spare;
    }
}

static enum rt_code solve_members(const struct run *run, const struct tune_view *v, const index_list *members,
                                  double seconds, struct tuning_answer *out)
{
    struct tune_program t;
    struct program_answer answer;
    search_members(v, members, out->options);
    const double quick = cost_of(v, members, out->options), least = sum_of_least(v, members);
    if (quick <= least + SAME) {
        out->bound += quick;
        return RT_OK;
    }
    bool **allowed = tune_all_allowed(v);
    if (!allowed || !tune_break_symmetry(v, members, allowed))
        return RT_NOMEM;
    rule_out(v, members, quick - least + SAME, allowed);
    if (!tune_program_make(v, members, (bool *const *)allowed, quick - least + SAME, &t))
        return RT_NOMEM;
    RT_TRY(program_least(run, &t.program, t.cost, (struct program_limits){ .nodes = NODES_MAX, .seconds = seconds },
                         &answer));
    out->is_best &= answer.is_best;
    if (answer.is_found && answer.value < quick - SAME)
        for (uint32_t k = 0; k < members->n; k++) {
            const uint32_t r = members->v[k];
            for (uint32_t i = 0; i < tune_options(v, r); i++)
                if (t.column[r][i] != NO_REF && answer.x[t.column[r][i]] > 0.5)
                    out->options[r] = i;
        }
    out->bound +=
        fmin(fmax(answer.is_found || answer.is_best ? answer.bound : least, least), cost_of(v, members, out->options));
    return RT_OK;
}

/* Marks all that a radio hears, through others too. */
static void mark(const struct tune_view *v, uint32_t radio, uint32_t group, uint32_t *group_of)
{
    group_of[radio] = group;
    for (bool has_grown = true; has_grown;) {
        has_grown = false;
        for (uint32_t a = 0; a < v->n; a++)
            for (uint32_t b = a + 1; b < v->n; b++)
                if (v->between[a * v->n + b] && (group_of[a] == group) != (group_of[b] == group)) {
                    group_of[a] = group_of[b] = group;
                    has_grown = true;
                }
    }
}

enum rt_code tuning_solve(const struct run *run, const struct tuning *q, double seconds, struct tuning_answer *out,
                          struct rt_problems *p)
{
    struct tune_view v;
    *out = (struct tuning_answer){ .is_best = true, .options = ARENA_ARRAY(run->arena, uint32_t, q->radios.n) };
    uint32_t *group_of = ARENA_ARRAY(run->arena, uint32_t, q->radios.n);
    index_list members = { .v = ARENA_ARRAY(run->arena, uint32_t, q->radios.n) };
    if (!out->options || !group_of || !members.v || !tune_view_make(run->arena, q, &v))
        return rt_fail_memory(p);
    for (uint32_t r = 0; r < v.n; r++)
        group_of[r] = NO_REF;
    for (uint32_t r = 0; r < v.n; r++) {
        if (group_of[r] != NO_REF)
            continue;
        mark(&v, r, r, group_of);
        members.n = 0;
        for (uint32_t k = r; k < v.n; k++)
            if (group_of[k] == r)
                members.v[members.n++] = k;
        const enum rt_code code = solve_members(run, &v, &members, seconds, out);
        if (code == RT_NOMEM)
            return rt_fail_memory(p);
        if (code)
            return rt_fail(p, code, RT_NOWHERE, NULL, "stopped");
    }
    out->cost = tuning_cost(q, out->options);
    return RT_OK;
}

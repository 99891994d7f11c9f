/* judge.c - from a table to the diagram of its decisions, downwards from the first axis.
 *
 * At an axis the ends of the spans of all steps of the list cut it into pieces; for each piece the steps that may still fit
 * make the list for the next axis.  A step without terms on later axes fits for certain: a deciding one ends the list.  So
 * the work grows with the pieces that really differ, not with the number of rules times the size of what went before. */
#include "reach/judge_int.h"

enum { PLACES_MAX = 1 << 22, DEEPEST_CALL = 64 };

/* ---- laying out ---- */

static bool step_add_terms(struct judge *j, struct step *step, const struct rule *r)
{
    bool failed = false;
    struct match m = r->match;
    if (r->hours.i != NO_REF)
        match_narrow(j->keep, &m, AXIS_MINUTE, j->week->hours[r->hours.i], &failed);
    step->terms.v = m.terms.v;
    step->terms.n = m.terms.n;
    for (uint32_t i = 0; i < m.terms.n; i++) {
        if (m.terms.v[i].axis >= j->space->n_axes) {
            space_fail(j->space, RT_LIMIT);
            return false;
        }
        step->axes |= (uint64_t)1 << m.terms.v[i].axis;
    }
    return !failed;
}

/* The step of a rule, or of a chain's policy; made at its first place. */
static enum rt_code find_step(struct judge *j, const struct rule *r, enum action policy, uint32_t *out)
{
    const uint32_t number = r ? r->number : 0;
    uint32_t *known = r ? &j->step_of_rule[number] : &j->step_of_policy[policy];
    if (*known != NO_REF) {
        *out = *known;
        return RT_OK;
    }
    static const enum step_kind KINDS[] = { [ACTION_JUMP] = STEP_JUMP,
                                            [ACTION_GOTO] = STEP_JUMP,
                                            [ACTION_RETURN] = STEP_RETURN,
                                            [ACTION_CONTINUE] = STEP_COUNT };
    const enum action action = r ? r->action : policy;
    struct step step = { .rule = r };
    if (action <= ACTION_REJECT)
        step.action = action, step.end = action;
    else
        step.kind = KINDS[action];
    if (r && !step_add_terms(j, &step, r))
        return j->space->code ? space_state(j->space, j->problems) : rt_fail_memory(j->problems);
    *known = *out = j->steps.n;
    return VEC_PUSH(j->keep, &j->steps, step) ? RT_OK : rt_fail_memory(j->problems);
}

static enum rt_code place(struct judge *j, const struct rule *r, enum action policy)
{
    uint32_t step = NO_REF;
    RT_TRY(find_step(j, r, policy, &step));
    if (j->places.n >= PLACES_MAX)
        return rt_fail(j->problems, RT_LIMIT, r ? r->at : RT_NOWHERE, "call fewer chains from within chains",
                       "written out chain by chain the table has more than %d rules", (int)PLACES_MAX);
    j->steps.v[step].n_places++;
    if (!VEC_PUSH(j->keep, &j->places, step) || !VEC_PUSH(j->keep, &j->skips, 1))
        return rt_fail_memory(j->problems);
    return RT_OK;
}

bool judge_asks(const struct judge *j, const struct rule *r)
{
    return (r->families & (1U << j->space->family)) && (r->hours.i == NO_REF || j->week) &&
           (r->action != ACTION_CONTINUE || j->keeps_all_rules);
}

/* Places to be set to the end of a chain once that is known. */
typedef VEC(uint32_t) place_list;

static void skip_to_here(struct judge *j, const place_list *from)
{
    for (uint32_t i = 0; i < from->n; i++)
        j->skips.v[from->v[i]] = j->places.n - from->v[i];
}

static enum rt_code lay_out(struct judge *j, uint32_t chain, unsigned depth);

/* A call: the step, then the called chain; behind a chain that was gone to, a skip to the caller's end. */
static enum rt_code lay_out_call(struct judge *j, const struct rule *r, unsigned depth, place_list *to_end)
{
    if (j->is_open[r->chain] || depth >= DEEPEST_CALL)
        return rt_fail(j->problems, RT_LIMIT, r->at, "let chains call each other downwards only",
                       "chain %.*s is called from within itself, or more than %d deep",
                       STR_ARG(j->table->chains.v[r->chain].name), (int)DEEPEST_CALL);
    const uint32_t at = j->places.n;
    RT_TRY(place(j, r, r->action));
    RT_TRY(lay_out(j, r->chain, depth + 1));
    if (r->action == ACTION_GOTO) {
        if (!VEC_PUSH(j->keep, to_end, j->places.n))
            return rt_fail_memory(j->problems);
        RT_TRY(place(j, NULL, ACTION_RETURN));
    }
    j->skips.v[at] = j->places.n - at;
    return RT_OK;
}

static enum rt_code lay_out(struct judge *j, uint32_t chain, unsigned depth)
{
    const struct chain *c = &j->table->chains.v[chain];
    place_list to_end = { 0 };
    j->is_open[chain] = true;
    for (uint32_t i = 0; i < c->rules.n; i++) {
        const struct rule *r = &c->rules.v[i];
        if (!judge_asks(j, r))
            continue;
        if (r->action == ACTION_JUMP || r->action == ACTION_GOTO) {
            RT_TRY(lay_out_call(j, r, depth, &to_end));
            continue;
        }
        if (r->action == ACTION_RETURN && !VEC_PUSH(j->keep, &to_end, j->places.n))
            return rt_fail_memory(j->problems);
        RT_TRY(place(j, r, r->action));
    }
    skip_to_here(j, &to_end);
    if (depth == 0 || c->policy != ACTION_RETURN)
        RT_TRY(place(j, NULL, c->policy == ACTION_RETURN ? ACTION_DROP : c->policy));
    j->is_open[chain] = false;
    return RT_OK;
}

static uint32_t largest_number(const struct table *t)
{
    uint32_t n = t->n_rules;
    for (uint32_t c = 0; c < t->chains.n; c++)
        for (uint32_t i = 0; i < t->chains.v[c].rules.n; i++)
            if (t->chains.v[c].rules.v[i].number > n)
                n = t->chains.v[c].rules.v[i].number;
    return n;
}

bool judge_begin(struct judge *j, struct space *s)
{
    *j = (struct judge){
        .space = s, .keep = arena_new(s->scratch_limit), .stack = arena_new(s->scratch_limit), .sought = NO_REF
    };
    for (size_t i = 0; i < RT_COUNT(j->step_of_policy); i++)
        j->step_of_policy[i] = NO_REF;
    return j->keep && j->stack;
}

enum rt_code judge_open(struct judge *j, struct space *s, const struct table *t, const struct week_kind *week,
                        bool keeps_all_rules, struct rt_problems *p)
{
    if (!judge_begin(j, s))
        return rt_fail_memory(p);
    j->problems = p;
    j->table = t;
    j->week = week;
    j->keeps_all_rules = keeps_all_rules;
    j->n_numbers = largest_number(t) + 1;
    j->step_of_rule = ARENA_ARRAY(j->keep, uint32_t, j->n_numbers);
    j->is_open = ARENA_ARRAY(j->keep, bool, t->chains.n);
    if (!j->step_of_rule || !j->is_open)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < j->n_numbers; i++)
        j->step_of_rule[i] = NO_REF;
    RT_TRY(lay_out(j, t->start, 0));
    for (uint32_t i = 0; i < j->steps.n; i++)
        j->has_skips |= j->steps.v[i].kind == STEP_JUMP || j->steps.v[i].kind == STEP_RETURN;
    return RT_OK;
}

void judge_close(struct judge *j)
{
    arena_free(j->keep);
    arena_free(j->stack);
}

/* ---- what a table does ---- */

struct judgement {
    struct space *space;
    const struct table *table;
    const struct week_kind *week;
    packet_set does; /* ends in decisions without a number */
    bool *hold;      /* by the house's hours, of the packet asked about */
    uint32_t n_hours;
};

static uint32_t count_hours(const struct table *t)
{
    uint32_t n = 0;
    for (uint32_t c = 0; c < t->chains.n; c++)
        for (uint32_t i = 0; i < t->chains.v[c].rules.n; i++) {
            const uint32_t hours = t->chains.v[c].rules.v[i].hours.i;
            if (hours != NO_REF && hours >= n)
                n = hours + 1;
        }
    return n;
}

static enum rt_code run_for(struct judge *j, packet_set *out, struct rt_problems *p)
{
    if (!judge_prepare(j))
        space_fail(j->space, RT_NOMEM);
    *out = judge_run(j);
    return space_state(j->space, p);
}

enum rt_code judge_table(struct space *s, const struct table *t, const struct week_kind *week, struct judgement **out,
                         struct rt_problems *p)
{
    struct judgement *made = ARENA_NEW(s->run->arena, struct judgement);
    if (!made)
        return rt_fail_memory(p);
    *made = (struct judgement){ .space = s, .table = t, .week = week, .n_hours = count_hours(t) };
    made->hold = ARENA_ARRAY(s->run->arena, bool, made->n_hours);
    if (!made->hold)
        return rt_fail_memory(p);
    struct judge j;
    enum rt_code code = judge_open(&j, s, t, week, false, p);
    if (code == RT_OK) {
        for (enum action a = ACTION_ACCEPT; a <= ACTION_REJECT; a++)
            j.ends[a] = decision(a);
        code = run_for(&j, &made->does, p);
    }
    judge_close(&j);
    if (code == RT_OK)
        *out = made;
    return code;
}

packet_set judged_as(const struct judgement *j, enum action action)
{
    return set_select(j->space, j->does, decision(action));
}

packet_set judged_accept(const struct judgement *j) { return judged_as(j, ACTION_ACCEPT); }

packet_set judged_by(const struct judgement *j, uint32_t number)
{
    struct rt_problems unheard; /* the space remembers what failed */
    rt_problems_init(&unheard, j->space->run->arena);
    struct judge again;
    packet_set out = SET_NONE;
    if (judge_open(&again, j->space, j->table, j->week, false, &unheard) == RT_OK) {
        /* once more, with all other rules ending alike: what the rule cannot fit is left at once */
        again.ends[0] = SET_NONE;
        again.ends[1] = SET_ALL;
        for (uint32_t i = 0; i < again.steps.n; i++) {
            const struct rule *r = again.steps.v[i].rule;
            again.steps.v[i].end = (r ? r->number : 0) == number;
        }
        if (run_for(&again, &out, &unheard) != RT_OK)
            out = SET_NONE;
    } else {
        space_fail(j->space, RT_NOMEM);
    }
    judge_close(&again);
    return out;
}

const struct rule *judged_rule(const struct judgement *j, const struct packet *p, enum action *action)
{
    for (uint32_t i = 0; i < j->n_hours && j->week; i++)
        j->hold[i] = spans_hold(j->week->hours[i], p->at[AXIS_MINUTE]);
    return table_run(j->table, p, j->week ? j->hold : NULL, action);
}

/* ---- the union of many matches: a table that accepts them ---- */

static bool add_match(struct judge *j, const struct match *m, uint32_t end)
{
    struct step step = { .terms = { m->terms.v, m->terms.n }, .end = end };
    for (uint32_t i = 0; i < m->terms.n; i++) {
        if (m->terms.v[i].axis >= j->space->n_axes) {
            space_fail(j->space, RT_LIMIT);
            return false;
        }
        step.axes |= (uint64_t)1 << m->terms.v[i].axis;
    }
    return VEC_PUSH(j->keep, &j->places, j->steps.n) && VEC_PUSH(j->keep, &j->steps, step);
}

packet_set set_of_any(struct space *s, const struct match *m, uint32_t n)
{
    struct judge j;
    bool ok = judge_begin(&j, s);
    j.ends[0] = SET_NONE;
    j.ends[1] = SET_ALL;
    for (uint32_t i = 0; i < n && ok; i++)
        ok = add_match(&j, &m[i], 1);
    ok = ok && add_match(&j, &(const struct match){ { NULL, 0 } }, 0) && judge_prepare(&j);
    if (!ok)
        space_fail(s, RT_NOMEM);
    const packet_set out = ok ? judge_run(&j) : SET_NONE;
    judge_close(&j);
    return out;
}

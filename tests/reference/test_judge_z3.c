/* Random policies, judged here and asked of Z3, a general-purpose theorem prover: the same answers, for all packets and not for
 * a sample. */
#include "check.h"

#include "reach/space_int.h"
#include "table_kit.h"
#include "z3_kit.h"

enum { POLICIES = 300, LEAST_RULES = 5, MOST_RULES = 60, OTHERS_ASKED = 4, QUESTIONS = 3 };
_Static_assert((int)KIT_AXES == (int)Z3_AXES, "the same axes");

/* Is there a packet for which it holds? */
static bool may_hold(struct prover *v, Z3_ast formula)
{
    Z3_solver_push(v->z3, v->solver);
    Z3_solver_assert(v->z3, v->solver, both(v, v->bounds, formula));
    const Z3_lbool answer = Z3_solver_check(v->z3, v->solver);
    Z3_solver_pop(v->z3, v->solver, 1);
    CHECK("Z3 knows", answer != Z3_L_UNDEF);
    return answer == Z3_L_TRUE;
}

/* ---- diagrams ---- */

static Z3_ast set_in_z3(struct prover *v, const struct space *s, packet_set a, Z3_ast *seen)
{
    if (is_end(a))
        return a == SET_ALL ? Z3_mk_true(v->z3) : Z3_mk_false(v->z3);
    if (seen[a])
        return seen[a];
    const struct node *node = node_at(s, a);
    Z3_ast any = Z3_mk_false(v->z3);
    for (uint32_t i = 0; i < node->n; i++)
        any = either(v, any,
                     both(v, within(v, node->axis, i ? node_hi(s, node, i - 1) + 1 : 0, node_hi(s, node, i)),
                          set_in_z3(v, s, node->to[i], seen)));
    return seen[a] = any;
}

struct trial {
    struct check_run c;
    struct kit kit;
    struct table table;
    struct week_kind week;
    struct space *space;
    struct judgement *judged;
    finding_list found;
    struct prover prover;
};

static void check_diagram(struct trial *t, Z3_ast verdicts, enum action action)
{
    struct prover *v = &t->prover;
    const packet_set set = judged_as(t->judged, action);
    Z3_ast *seen = ARENA_ARRAY(t->c.run.arena, Z3_ast, set + 1);
    const Z3_ast ours = set_in_z3(v, t->space, set, seen);
    const Z3_ast theirs = Z3_mk_eq(v->z3, does(v, verdicts), number(v, (axis_value)action, 2));
    CHECK("no packet fares otherwise", !may_hold(v, Z3_mk_xor(v->z3, ours, theirs)));
}

/* Is there a packet that is let through, of these? */
static void check_question(struct trial *t, Z3_ast verdicts)
{
    struct prover *v = &t->prover;
    const struct match asked = kit_match(&t->kit);
    const packet_set ours = set_and(t->space, judged_accept(t->judged), set_of(t->space, &asked));
    const Z3_ast through = Z3_mk_eq(v->z3, does(v, verdicts), number(v, ACTION_ACCEPT, 2));
    CHECK("a packet gets through", may_hold(v, both(v, match_in_z3(v, &asked), through)) == (ours != SET_NONE));
}

static bool is_found(const finding_list *f, enum finding_kind kind, uint32_t rule)
{
    for (uint32_t i = 0; i < f->n; i++)
        if (f->v[i].kind == kind && f->v[i].rule == rule)
            return true;
    return false;
}

static void check_rule(struct trial *t, const struct rule *r, Z3_ast verdicts, uint32_t *others)
{
    struct prover *v = &t->prover;
    const bool unreachable = is_found(&t->found, FINDING_UNREACHABLE, r->number),
               redundant = is_found(&t->found, FINDING_REDUNDANT, r->number);
    /* all that is claimed, and some of what is not */
    if (!unreachable && !redundant && (*others)++ >= OTHERS_ASKED)
        return;
    if (r->action <= ACTION_REJECT)
        CHECK("unreachable", may_hold(v, is_decided_by(v, verdicts, r->number)) == !unreachable);
    if (r->action != ACTION_CONTINUE) {
        const Z3_ast same = Z3_mk_eq(v->z3, does(v, verdicts), does(v, table_in_z3(v, r->number)));
        CHECK("redundant", may_hold(v, Z3_mk_not(v->z3, same)) == !redundant);
    }
}

static void check_policy(struct trial *t)
{
    struct prover *v = &t->prover;
    v->table = &t->table;
    v->week = &t->week;
    const Z3_ast verdicts = table_in_z3(v, 0);
    uint32_t others = 0;
    for (enum action a = ACTION_ACCEPT; a <= ACTION_REJECT; a++)
        check_diagram(t, verdicts, a);
    for (int i = 0; i < QUESTIONS; i++)
        check_question(t, verdicts);
    for (uint32_t c = 0; c < t->table.chains.n; c++)
        for (uint32_t i = 0; i < t->table.chains.v[c].rules.n; i++)
            if (t->table.chains.v[c].rules.v[i].families >> v->family & 1)
                check_rule(t, &t->table.chains.v[c].rules.v[i], verdicts, &others);
}

PROP(z3_gives_the_same_answers, POLICIES)
{
    struct trial t = { .c = check_run_begin() };
    const enum family family = random_below(r, 2) ? FAMILY_IPV6 : FAMILY_IPV4;
    t.kit = kit_new(t.c.run.arena, r, family, 1 + random_below(r, 6));
    t.table = kit_table(&t.kit, 1 + random_below(r, 3), LEAST_RULES + random_below(r, MOST_RULES - LEAST_RULES + 1));
    t.week = kit_week(&t.kit);
    CHECK("room for the table", !t.kit.failed);
    CHECK_OK(&t.c, space_new(&t.c.run, family, KIT_NAMED, &t.space, &t.c.problems));
    CHECK_OK(&t.c, judge_table(t.space, &t.table, &t.week, &t.judged, &t.c.problems));
    CHECK_OK(&t.c, table_findings(t.space, &t.table, &t.week, &t.found, &t.c.problems));
    prover_begin(&t.prover, family);
    check_policy(&t);
    prover_end(&t.prover);
    check_run_end(&t.c);
}

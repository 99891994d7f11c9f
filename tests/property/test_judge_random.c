/* Random tables: what the diagram says of a packet is what the rules say that are run on it one by one (table_run()), and
 * findings hold for tables from which a rule was really taken out. */
#include "check.h"

#include "table_kit.h"

enum { PACKETS = 60 };

struct trial {
    struct check_run c;
    struct kit kit;
    struct space *space;
    struct table table;
    struct week_kind week;
};

/* The space keeps the address of the run. */
static void trial_begin(struct trial *t, struct random *r, uint32_t chains_max, uint32_t rules_max)
{
    *t = (struct trial){ .c = check_run_begin() };
    const enum family family = random_below(r, 2) ? FAMILY_IPV6 : FAMILY_IPV4;
    t->kit = kit_new(t->c.run.arena, r, family, 1 + random_below(r, 5));
    t->table = kit_table(&t->kit, 1 + random_below(r, chains_max), 1 + random_below(r, rules_max));
    t->week = kit_week(&t->kit);
    CHECK("room for the table", !t->kit.failed);
    CHECK_OK(&t->c, space_new(&t->c.run, family, KIT_NAMED, &t->space, &t->c.problems));
}

static uint32_t number_of(const struct rule *r) { return r ? r->number : 0; }

PROP(judged_as_the_rules_are_run, 1500)
{
    struct trial t;
    trial_begin(&t, r, 4, 25);
    const bool has_week = random_below(r, 4) > 0;
    struct judgement *j;
    CHECK_OK(&t.c, judge_table(t.space, &t.table, has_week ? &t.week : NULL, &j, &t.c.problems));
    const packet_set accepted = judged_accept(j);
    for (int i = 0; i < PACKETS; i++) {
        const struct packet p = kit_packet(&t.kit);
        bool hold[KIT_HOURS];
        kit_hours_at(&t.week, &p, hold);
        enum action want, got;
        const uint32_t by = number_of(table_run(&t.table, &p, has_week ? hold : NULL, &want));
        CHECK("the rule that decides", number_of(judged_rule(j, &p, &got)) == by);
        CHECK("what it does", got == want);
        CHECK("accepted", set_holds(t.space, accepted, &p) == (want == ACTION_ACCEPT));
        CHECK("of those it decides", set_holds(t.space, judged_by(j, by), &p));
        CHECK("and not of the next one's", !set_holds(t.space, judged_by(j, by + 1), &p));
    }
    check_run_end(&t.c);
}

PROP(decisions_share_out_all_packets, 300)
{
    struct trial t;
    trial_begin(&t, r, 4, 15);
    struct judgement *j;
    CHECK_OK(&t.c, judge_table(t.space, &t.table, &t.week, &j, &t.c.problems));
    packet_set all = SET_NONE;
    for (uint32_t n = 0; n <= t.table.n_rules; n++) {
        const packet_set one = judged_by(j, n);
        CHECK("no packet is decided twice", set_and(t.space, all, one) == SET_NONE);
        all = set_or(t.space, all, one);
    }
    CHECK("every packet is decided", all == SET_ALL);
    const packet_set a = judged_as(j, ACTION_ACCEPT), d = judged_as(j, ACTION_DROP), e = judged_as(j, ACTION_REJECT);
    CHECK("accepted, dropped or rejected", set_or(t.space, a, set_or(t.space, d, e)) == SET_ALL);
    check_run_end(&t.c);
}

/* ---- findings, against tables really changed ---- */

/* The table with another action for a rule (n: its number; 0: for every rule that decides); taken out: ACTION_CONTINUE. */
static struct table changed(struct trial *t, const struct table *from, uint32_t n, enum action action)
{
    struct table out = *from;
    out.chains.v = ARENA_ARRAY(t->c.run.arena, struct chain, out.chains.n);
    for (uint32_t c = 0; c < out.chains.n; c++) {
        struct chain *chain = &out.chains.v[c];
        *chain = from->chains.v[c];
        chain->rules.v = ARENA_ARRAY(t->c.run.arena, struct rule, chain->rules.n);
        for (uint32_t i = 0; i < chain->rules.n; i++) {
            struct rule *r = &chain->rules.v[i];
            *r = from->chains.v[c].rules.v[i];
            if (n ? r->number == n : r->action <= ACTION_REJECT)
                r->action = action;
        }
    }
    return out;
}

static struct judgement *judge(struct trial *t, const struct table *table)
{
    struct judgement *j;
    CHECK_OK(&t->c, judge_table(t->space, table, &t->week, &j, &t->c.problems));
    return j;
}

/* Packets that get to the rule and fit if no rule before decides. */
static packet_set packets_of(struct trial *t, uint32_t n)
{
    const struct table none = changed(t, &t->table, 0, ACTION_CONTINUE), one = changed(t, &none, n, ACTION_ACCEPT);
    return judged_by(judge(t, &one), n);
}

static void list_rules(const struct table *t, uint32_t chain, const struct rule **seen, uint32_t *n, enum family family)
{
    for (uint32_t i = 0; i < t->chains.v[chain].rules.n; i++) {
        const struct rule *r = &t->chains.v[chain].rules.v[i];
        bool is_new = (r->families >> family & 1) != 0;
        if (!is_new)
            continue;
        for (uint32_t k = 0; k < *n; k++)
            is_new &= seen[k] != r;
        if (is_new)
            seen[(*n)++] = r;
        if (r->action == ACTION_JUMP || r->action == ACTION_GOTO)
            list_rules(t, r->chain, seen, n, family);
    }
}

static bool is_found(const finding_list *f, enum finding_kind kind, uint32_t rule, uint32_t other)
{
    for (uint32_t i = 0; i < f->n; i++)
        if (f->v[i].kind == kind && f->v[i].rule == rule && (other == NO_REF || f->v[i].other == other))
            return true;
    return false;
}

static void check_single(struct trial *t, const finding_list *f, const struct rule *r)
{
    /* a rule is reached when, made one that decides, it decides something */
    const struct table decides = changed(t, &t->table, r->number, ACTION_DROP);
    CHECK("unreachable", is_found(f, FINDING_UNREACHABLE, r->number, NO_REF) ==
                             (judged_by(judge(t, &decides), r->number) == SET_NONE));
    if (r->action == ACTION_CONTINUE)
        return;
    const struct table without = changed(t, &t->table, r->number, ACTION_CONTINUE);
    const struct judgement *before = judge(t, &t->table), *after = judge(t, &without);
    CHECK("redundant", is_found(f, FINDING_REDUNDANT, r->number, NO_REF) ==
                           (judged_as(before, ACTION_ACCEPT) == judged_as(after, ACTION_ACCEPT) &&
                            judged_as(before, ACTION_DROP) == judged_as(after, ACTION_DROP)));
}

static uint32_t check_pair(struct trial *t, const finding_list *f, const struct rule *earlier, const struct rule *later)
{
    const packet_set x = packets_of(t, later->number), y = packets_of(t, earlier->number),
                     both = set_and(t->space, x, y);
    const bool is_pair = earlier->action <= ACTION_REJECT && later->action <= ACTION_REJECT &&
                         earlier->action != later->action && both != SET_NONE;
    const bool shadowed = is_pair && both == x, generalised = is_pair && both == y && !shadowed;
    CHECK("shadowed", is_found(f, FINDING_SHADOWED, later->number, earlier->number) == shadowed);
    CHECK("generalised", is_found(f, FINDING_GENERALISED, later->number, earlier->number) == generalised);
    CHECK("correlated",
          is_found(f, FINDING_CORRELATED, later->number, earlier->number) == (is_pair && !shadowed && !generalised));
    return is_pair;
}

PROP(findings_hold_for_changed_tables, 250)
{
    struct trial t;
    trial_begin(&t, r, 3, 9);
    finding_list f;
    CHECK_OK(&t.c, table_findings(t.space, &t.table, &t.week, &f, &t.c.problems));
    const struct rule *rules[16] = { 0 };
    uint32_t n = 0, pairs = 0;
    list_rules(&t.table, 0, rules, &n, t.kit.family);
    for (uint32_t i = 0; i < n; i++)
        check_single(&t, &f, rules[i]);
    for (uint32_t k = 0; k < n; k++)
        for (uint32_t i = 0; i < k; i++)
            pairs += check_pair(&t, &f, rules[i], rules[k]);
    CHECK("no pair beyond these",
          pairs == f.all[FINDING_SHADOWED] + f.all[FINDING_GENERALISED] + f.all[FINDING_CORRELATED]);
    for (uint32_t i = 0; i < f.n; i++) {
        if (f.v[i].other && (f.v[i].kind == FINDING_UNREACHABLE || f.v[i].kind == FINDING_REDUNDANT))
            CHECK("the other has all its packets",
                  set_minus(t.space, packets_of(&t, f.v[i].rule), packets_of(&t, f.v[i].other)) == SET_NONE);
        CHECK("in order", i == 0 || f.v[i - 1].rule <= f.v[i].rule);
        CHECK("with a reason", f.v[i].because.n > 0);
    }
    check_run_end(&t.c);
}

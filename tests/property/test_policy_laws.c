/* Laws that every policy keeps: of random ones, what a change of their statements does and that joined rules mean what they meant apart;
 * of the demo houses, that nothing is there in vain. */
#include <stdlib.h>

#include "lines_kit.h"
#include "reach/space.h"

/* ---- a change of the statements ---- */

/* All packets that a table lets through, with these of the house's hours holding throughout. */
static packet_set let_through(struct reach *r, struct space *s, const struct table *t, uint32_t hours_bits)
{
    struct span all = { 0, axis_max(AXIS_MINUTE, FAMILY_IPV4) };
    span_list hours[REACH_HOURS_MAX] = { 0 };
    for (uint32_t i = 0; i < r->h->hours.n; i++)
        if (hours_bits >> i & 1)
            hours[i] = (span_list){ &all, 1 };
    const struct week_kind week = { .n_minutes = 10080, .hours = hours };
    struct judgement *j = NULL;
    CHECK_OK(&r->c, judge_table(s, t, &week, &j, &r->c.problems));
    return judged_accept(j);
}

static struct space *space_of(struct reach *r, enum family f)
{
    struct space *s = NULL;
    CHECK_OK(&r->c, space_new(&r->c.run, f, LINES_NAMES, &s, &r->c.problems));
    return s;
}

/* Answers are told by marks, which are numbered per table. */
static packet_set without_answers(struct reach *r, struct space *s, packet_set of)
{
    struct match answers = { 0 };
    bool failed = false;
    match_narrow_to(r->c.run.arena, &answers, AXIS_STATE, STATE_REPLY, STATE_REPLY, &failed);
    CHECK("memory", !failed);
    return set_minus(s, of, set_of(s, &answers));
}

static bool speaks_of_names(const struct lines *lines)
{
    for (uint32_t i = 0; i < lines->n; i++)
        if (memmem(lines->v[i].p, lines->v[i].n, ".example", 8))
            return true;
    return false;
}

/* Names are numbered per table too. */
static struct lines draw_without_names(struct arena *a, struct random *random)
{
    for (;;) {
        const struct lines lines = lines_draw(a, random);
        if (!speaks_of_names(&lines))
            return lines;
    }
}

PROP(a_further_refusal_never_opens_a_path, 60)
{
    struct check_run c = check_run_begin();
    struct lines lines = draw_without_names(c.run.arena, r), more;
    struct reach before = lines_compile(&lines), after;
    do {
        more = lines;
        struct buf b = { .arena = c.run.arena };
        lines_add_statement(&b, r, "refuse");
        const uint32_t at = random_below(r, lines.n + 1);
        for (uint32_t i = more.n++; i > at; i--)
            more.v[i] = more.v[i - 1];
        more.v[at] = buf_done(&b);
    } while (speaks_of_names(&more));
    if (lines_try(&after, &more)) {
        for (enum family f = 0; f < FAMILY_COUNT; f++) {
            struct space *s = space_of(&before, f);
            for (uint32_t bits = 0; bits < 4; bits++) {
                const packet_set was = let_through(&before, s, &before.policy->table, bits);
                const packet_set is = let_through(&after, s, &after.policy->table, bits);
                CHECK("nothing new", without_answers(&before, s, set_minus(s, is, was)) == SET_NONE);
            }
        }
    }
    reach_end(&after);
    reach_end(&before);
    check_run_end(&c);
}

PROP(neighbours_that_do_the_same_may_change_places, 60)
{
    struct check_run c = check_run_begin();
    struct lines lines = draw_without_names(c.run.arena, r);
    struct reach one = lines_compile(&lines), two;
    bool is_swapped = false;
    for (uint32_t i = 0; i + 1 < one.h->statements.n && lines.n == one.h->statements.n && !is_swapped; i++) {
        const struct statement *x = &one.h->statements.v[i], *y = x + 1;
        is_swapped = x->verdict == y->verdict && x->hours.i == y->hours.i;
        if (is_swapped) {
            const struct str keep = lines.v[i];
            lines.v[i] = lines.v[i + 1];
            lines.v[i + 1] = keep;
        }
    }
    CHECK("compiles as before", lines_try(&two, &lines));
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        struct space *s = space_of(&one, f);
        for (uint32_t bits = 0; bits < 4; bits++)
            CHECK("the same packets", without_answers(&one, s, let_through(&one, s, &one.policy->table, bits)) ==
                                          without_answers(&one, s, let_through(&one, s, &two.policy->table, bits)));
    }
    reach_end(&two);
    reach_end(&one);
    check_run_end(&c);
}

/* ---- rules that are joined ---- */

static int by_statement(const void *a, const void *b)
{
    const struct stated *const *x = a, *const *y = b;
    if ((*x)->statement != (*y)->statement)
        return (*x)->statement < (*y)->statement ? -1 : 1;
    return *x < *y ? -1 : *x > *y;
}

/* The statements' rules one by one, as they were before any were joined. */
static struct table apart(struct reach *r)
{
    struct arena *a = r->c.run.arena;
    const uint32_t n = r->policy->stated.n;
    const struct stated **order = ARENA_ARRAY(a, const struct stated *, n);
    struct chain *chain = ARENA_NEW(a, struct chain);
    chain->rules.v = ARENA_ARRAY(a, struct rule, n);
    chain->policy = ACTION_DROP;
    for (uint32_t i = 0; i < n; i++)
        order[i] = &r->policy->stated.v[i];
    qsort(order, n, sizeof(struct stated *), by_statement);
    for (uint32_t i = 0; i < n; i++) {
        const struct statement *s = &r->h->statements.v[order[i]->statement];
        chain->rules.v[chain->rules.n++] =
            (struct rule){ .number = i + 1,
                           .families = order[i]->families,
                           .match = order[i]->match,
                           .hours = s->hours,
                           .action = s->verdict == VERDICT_ALLOW ? ACTION_ACCEPT : ACTION_REJECT };
    }
    return (struct table){ .chains = { chain, 1 }, .n_rules = n };
}

/* The statements' rules of the table, joined. */
static struct table together(struct reach *r)
{
    struct chain *chain = ARENA_NEW(r->c.run.arena, struct chain);
    chain->rules.v = ARENA_ARRAY(r->c.run.arena, struct rule, r->policy->table.n_rules);
    chain->policy = ACTION_DROP;
    static const enum policy_chain CHAINS[] = { CHAIN_TO_GATEWAY, CHAIN_THROUGH };
    for (size_t c = 0; c < RT_COUNT(CHAINS); c++) {
        const struct chain *from = &r->policy->table.chains.v[CHAINS[c]];
        for (uint32_t i = 0; i < from->rules.n; i++)
            if (from->rules.v[i].origin == ORIGIN_STATEMENT)
                chain->rules.v[chain->rules.n++] = from->rules.v[i];
    }
    return (struct table){ .chains = { chain, 1 }, .n_rules = r->policy->table.n_rules };
}

PROP(joined_rules_mean_what_the_statements_rules_meant_apart, 60)
{
    struct check_run c = check_run_begin();
    struct lines lines = lines_draw(c.run.arena, r);
    struct reach house = lines_compile(&lines);
    const struct table one_by_one = apart(&house), joined = together(&house);
    CHECK("never more of them", joined.chains.v[0].rules.n <= one_by_one.chains.v[0].rules.n);
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        struct space *s = space_of(&house, f);
        for (uint32_t bits = 0; bits < 4; bits++)
            CHECK("the same packets",
                  let_through(&house, s, &one_by_one, bits) == let_through(&house, s, &joined, bits));
    }
    reach_end(&house);
    check_run_end(&c);
}

/* ---- none in vain ---- */

static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                      "houses/whin_farm.house.yaml" };

/* Each statement of a house decides some packet: none is there in vain. */
TEST(every_statement_of_the_demo_houses_decides_something)
{
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++) {
        struct reach r = reach_file(HOUSES[i]);
        CHECK("no warning", r.c.problems.n_warnings == 0);
        for (uint32_t s = 0; s < r.h->statements.n; s++) {
            bool is_there = false;
            for (uint32_t k = 0; k < r.policy->stated.n; k++)
                is_there = is_there || r.policy->stated.v[k].statement == s;
            CHECK("a rule of the statement", is_there);
        }
        reach_end(&r);
    }
}

/* Fewer rules would not do: none is unreachable, and without any one some packet would fare otherwise, in one family at least of
 * those it speaks of. */
TEST(no_rule_of_the_demo_houses_is_there_in_vain)
{
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++) {
        struct reach r = reach_file(HOUSES[i]);
        const struct table *t = &r.policy->table;
        struct span some[REACH_HOURS_MAX]; /* no two hours at the same minutes */
        span_list hours[REACH_HOURS_MAX];
        for (uint32_t k = 0; k < REACH_HOURS_MAX; k++) {
            some[k] = (struct span){ 1000 * k + 100, 1000 * k + 700 };
            hours[k] = (span_list){ &some[k], 1 };
        }
        const struct week_kind week = { .n_minutes = 10080, .hours = hours };
        unsigned *vain = ARENA_ARRAY(r.c.run.arena, unsigned, t->n_rules + 1);
        for (enum family f = 0; f < FAMILY_COUNT; f++) {
            struct space *s = space_of(&r, f);
            finding_list found;
            CHECK_OK(&r.c, table_findings(s, t, &week, &found, &r.c.problems));
            for (uint32_t k = 0; k < found.n; k++)
                if (found.v[k].kind == FINDING_UNREACHABLE || found.v[k].kind == FINDING_REDUNDANT)
                    vain[found.v[k].rule] |= 1U << f;
        }
        for (uint32_t c = 0; c < t->chains.n; c++)
            for (uint32_t k = 0; k < t->chains.v[c].rules.n; k++) {
                const struct rule *x = &t->chains.v[c].rules.v[k];
                if (x->action != ACTION_JUMP && (x->families & ~vain[x->number]) == 0)
                    fail_msg("%s: rule %u decides nothing: %.*s", HOUSES[i], x->number, STR_ARG(x->says));
            }
        reach_end(&r);
    }
}

/* ---- the same bytes ---- */

static struct str written(struct reach *r)
{
    struct buf b = { .arena = r->c.run.arena };
    for (uint32_t c = 0; c < r->policy->table.chains.n; c++)
        for (uint32_t i = 0; i < r->policy->table.chains.v[c].rules.n; i++) {
            const struct rule *x = &r->policy->table.chains.v[c].rules.v[i];
            buf_printf(&b, "%u %u %u %d %d %u %u %.*s", x->number, x->families, x->hours.i, (int)x->action,
                       (int)x->origin, x->which, x->at.line, STR_ARG(x->says));
            for (uint32_t t = 0; t < x->match.terms.n; t++)
                for (uint32_t k = 0; k < x->match.terms.v[t].in.n; k++) {
                    const struct span s = x->match.terms.v[t].in.v[k];
                    buf_printf(&b, " %u:%llx%016llx-%llx%016llx", x->match.terms.v[t].axis,
                               (unsigned long long)(s.lo >> 64), (unsigned long long)s.lo,
                               (unsigned long long)(s.hi >> 64), (unsigned long long)s.hi);
                }
            buf_char(&b, '\n');
        }
    for (uint32_t i = 0; i < r->policy->notes.n; i++)
        buf_printf(&b, "%u %.*s\n", r->policy->notes.v[i].at.line, STR_ARG(r->policy->notes.v[i].says));
    return buf_done(&b);
}

TEST(the_same_house_is_the_same_table)
{
    struct reach one = reach_file("houses/larch_end.house.yaml"), two = reach_file("houses/larch_end.house.yaml");
    CHECK_TEXT("table and notes", written(&one), written(&two));
    reach_end(&one);
    reach_end(&two);
}

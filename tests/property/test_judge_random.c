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

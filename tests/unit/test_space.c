/* Sets of packets: ends of the axes, examples that people understand, and what happens when memory, time or depth run out. */
#include "check.h"

#include "reach/space_int.h"
#include "table_kit.h"

enum { TCP = 6, MINUTES_A_DAY = 24 * 60 };

struct trial {
    struct check_run c;
    struct space *s;
    bool failed;
};

static void trial_begin(struct trial *t, enum family family)
{
    *t = (struct trial){ .c = check_run_begin() };
    CHECK_OK(&t->c, space_new(&t->c.run, family, 0, &t->s, &t->c.problems));
}

static packet_set on(struct trial *t, uint32_t axis, axis_value lo, axis_value hi)
{
    struct match m = { 0 };
    match_narrow_to(t->c.run.arena, &m, axis, lo, hi, &t->failed);
    return set_of(t->s, &m);
}

TEST(the_ends_of_a_128_bit_axis)
{
    struct trial t;
    trial_begin(&t, FAMILY_IPV6);
    const axis_value last = ~(axis_value)0, half = (axis_value)1 << 127;
    const packet_set lower = on(&t, AXIS_SOURCE, 0, half - 1), upper = on(&t, AXIS_SOURCE, half, last);
    CHECK("halves make the whole", set_or(t.s, lower, upper) == SET_ALL);
    CHECK("halves share nothing", set_and(t.s, lower, upper) == SET_NONE);
    CHECK("one is not the other", set_not(t.s, lower) == upper);
    CHECK("a span over all is no condition", on(&t, AXIS_SOURCE, 0, last) == SET_ALL);
    CHECK_NEAR("half of all", set_count(t.s, lower) / set_count(t.s, SET_ALL), 0.5, 1e-15, "of all");
    const packet_set one = on(&t, AXIS_DESTINATION, last, last);
    struct packet p;
    CHECK("the last address", set_witness(t.s, one, &p) && p.at[AXIS_DESTINATION] == last && set_holds(t.s, one, &p));
    CHECK_NEAR("one of 2^128", set_count(t.s, one) / set_count(t.s, SET_ALL) * 0x1p64 * 0x1p64, 1.0, 1e-15, "");
    const span_list values = set_values(t.s, set_not(t.s, one), AXIS_DESTINATION, &t.failed);
    CHECK("all but the last", values.n == 1 && values.v[0].lo == 0 && values.v[0].hi == last - 1);
    CHECK("room", !t.failed);
    check_run_end(&t.c);
}

TEST(sizes_of_small_sets)
{
    struct trial t;
    trial_begin(&t, FAMILY_IPV4);
    const packet_set net = on(&t, AXIS_SOURCE, 0xc0a80100, 0xc0a801ff), web = on(&t, AXIS_DESTINATION_PORT, 443, 443);
    CHECK("no nodes", set_size(t.s, SET_ALL) == 0 && set_size(t.s, SET_NONE) == 0);
    CHECK("one axis, one node", set_size(t.s, net) == 1);
    const packet_set both = set_and(t.s, net, web);
    CHECK("two axes, two nodes", set_size(t.s, both) == 2);
    CHECK("the second is shared", space_size(t.s) == 3);
    CHECK_NEAR("a /24", set_count(t.s, net) / set_count(t.s, SET_ALL) * 0x1p32, 256.0, 1e-9, "addresses");
    check_run_end(&t.c);
}

/* Choices for people, common practice, no source. */
TEST(an_example_is_an_ordinary_packet)
{
    struct trial t;
    trial_begin(&t, FAMILY_IPV4);
    struct packet p;
    CHECK("of all", set_witness(t.s, SET_ALL, &p));
    CHECK("from a segment to the internet", p.at[AXIS_FROM] == ZONE_SEGMENT && p.at[AXIS_TO] == ZONE_INTERNET);
    CHECK("a page of the web", p.at[AXIS_PROTOCOL] == TCP && p.at[AXIS_DESTINATION_PORT] == 443);
    CHECK("from a port of its own", p.at[AXIS_SOURCE_PORT] >= 49152);
    CHECK("new, unmarked", p.at[AXIS_STATE] == STATE_NEW && p.at[AXIS_MARK] == 0);
    CHECK("a workday's noon", p.at[AXIS_MINUTE] == MINUTES_A_DAY + 12 * 60);
    CHECK("a MAC of one device", p.at[AXIS_SOURCE_MAC] != 0 && !(p.at[AXIS_SOURCE_MAC] >> 40 & 1));
    CHECK("of a net", set_witness(t.s, on(&t, AXIS_SOURCE, 0xc0a80100, 0xc0a801ff), &p));
    CHECK("neither the net's nor the gateway's address",
          p.at[AXIS_SOURCE] > 0xc0a80101 && p.at[AXIS_SOURCE] < 0xc0a801ff);
    CHECK("of the night", set_witness(t.s, on(&t, AXIS_MINUTE, 20 * 60, 20 * 60 + 30), &p));
    CHECK("within it", p.at[AXIS_MINUTE] >= 20 * 60 && p.at[AXIS_MINUTE] <= 20 * 60 + 30);
    CHECK("none", !set_witness(t.s, SET_NONE, &p));
    check_run_end(&t.c);
}

TEST(more_named_sets_than_a_space_takes)
{
    struct check_run c = check_run_begin();
    struct space *s = NULL;
    CHECK("52 are taken", space_new(&c.run, FAMILY_IPV4, 52, &s, &c.problems) == RT_OK && s);
    CHECK("53 are not", space_new(&c.run, FAMILY_IPV4, 53, &s, &c.problems) == RT_LIMIT && c.problems.n_errors == 1);
    check_run_end(&c);
}

TEST(a_match_on_an_axis_that_is_not_there)
{
    struct trial t;
    trial_begin(&t, FAMILY_IPV4);
    CHECK("no packet", on(&t, AXIS_NAMED + 3, 0, 0) == SET_NONE);
    CHECK("and it is remembered", space_state(t.s, &t.c.problems) == RT_LIMIT);
    check_run_end(&t.c);
}

/* ---- tables that are too deep, cancelled, too large ---- */

TEST(chains_that_call_each_other_in_a_circle)
{
    struct trial t;
    trial_begin(&t, FAMILY_IPV4);
    struct rule rules[2] = {
        { .number = 1, .families = 3, .hours = { .i = NO_REF }, .action = ACTION_JUMP, .chain = 1 },
        { .number = 2, .families = 3, .hours = { .i = NO_REF }, .action = ACTION_GOTO, .chain = 0 }
    };
    struct chain chains[2] = { { .name = STR("first"), .rules = { &rules[0], 1 } },
                               { .name = STR("second"), .rules = { &rules[1], 1 }, .policy = ACTION_RETURN } };
    const struct table circle = { .chains = { chains, 2 }, .n_rules = 2 };
    struct judgement *j = NULL;
    finding_list f = { 0 };
    CHECK("judging", judge_table(t.s, &circle, NULL, &j, &t.c.problems) == RT_LIMIT && !j);
    CHECK("finding", table_findings(t.s, &circle, NULL, &f, &t.c.problems) == RT_LIMIT && f.n == 0);
    CHECK("said", t.c.problems.n_errors == 2);
    /* a rule of the other family does not call */
    rules[1].families = 1U << FAMILY_IPV6;
    CHECK_OK(&t.c, judge_table(t.s, &circle, NULL, &j, &t.c.problems));
    check_run_end(&t.c);
}

TEST(a_run_that_is_cancelled)
{
    struct trial t;
    struct random r = { .seed = 3 };
    trial_begin(&t, FAMILY_IPV4);
    struct kit kit = kit_new(t.c.run.arena, &r, FAMILY_IPV4, 5);
    kit.axes &= ((uint64_t)1 << AXIS_NAMED) - 1;
    const struct table table = kit_table(&kit, 1, 30);
    const atomic_bool cancel = true;
    struct judgement *j = NULL;
    t.c.run.cancel = &cancel;
    CHECK("judging stops", judge_table(t.s, &table, NULL, &j, &t.c.problems) == RT_CANCELLED && !j);
    CHECK("and it is remembered", set_or(t.s, SET_ALL, SET_ALL) == SET_NONE);
    check_run_end(&t.c);
}

struct attempt {
    enum rt_code code;
    size_t used;
    packet_set accepted;
    uint32_t findings;
};

/* All of judging and finding, with so much memory for the run and so much for what judging needs in between. */
static struct attempt attempt(const struct table *table, const struct week_kind *week, size_t limit,
                              size_t scratch_limit)
{
    struct run run = { .arena = arena_new(limit), .seed = 1, .n_threads = 1 };
    struct arena *words = arena_new((size_t)1 << 20);
    struct rt_problems p;
    rt_problems_init(&p, words);
    struct space *s = NULL;
    struct judgement *j = NULL;
    finding_list f = { 0 };
    struct attempt out = { .code = space_new(&run, FAMILY_IPV6, KIT_NAMED, &s, &p) };
    if (out.code == RT_OK) {
        s->scratch_limit = scratch_limit;
        out.code = judge_table(s, table, week, &j, &p);
    }
    if (out.code == RT_OK)
        out.code = table_findings(s, table, week, &f, &p);
    if (out.code == RT_OK) {
        out.accepted = judged_accept(j);
        set_forget(s, out.accepted, 1U << AXIS_SOURCE);
        judged_by(j, 1);
        out.code = space_state(s, &p);
    }
    CHECK("an error has a message, and only an error", (out.code == RT_OK) == (p.n_errors == 0));
    out.findings = f.n;
    out.used = arena_peak(run.arena);
    arena_free(run.arena);
    arena_free(words);
    return out;
}

static void check_attempt(struct attempt got, struct attempt want)
{
    CHECK("no memory, or the same answer",
          got.code == RT_NOMEM ||
              (got.code == RT_OK && got.accepted == want.accepted && got.findings == want.findings));
}

TEST(memory_that_ends_anywhere)
{
    struct check_run c = check_run_begin();
    struct random r = { .seed = 11 };
    struct kit kit = kit_new(c.run.arena, &r, FAMILY_IPV6, 6);
    const struct table table = kit_table(&kit, 3, 24);
    const struct week_kind week = kit_week(&kit);
    enum { PLENTY = 1 << 26 };
    const struct attempt want = attempt(&table, &week, PLENTY, PLENTY);
    CHECK("with enough", want.code == RT_OK && want.findings > 0);
    uint32_t failures = 0, done = 0;
    for (size_t limit = 1024; limit < want.used + 4096; limit += want.used / 90 + 1) {
        const struct attempt got = attempt(&table, &week, limit, PLENTY);
        check_attempt(got, want);
        failures += got.code == RT_NOMEM;
    }
    for (size_t limit = 64; limit < PLENTY && done < 2; limit += limit / 8) {
        const struct attempt got = attempt(&table, &week, PLENTY, limit);
        check_attempt(got, want);
        failures += got.code == RT_NOMEM;
        done += got.code == RT_OK;
    }
    CHECK("it ended in many places", failures > 100 && done == 2);
    check_run_end(&c);
}

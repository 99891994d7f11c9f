/* The promises that the gateway's rules keep: a good policy keeps them all, and each change for the worse breaks exactly those it
 * touches, with a packet that shows it. */
#include <string.h>

#include "check.h"
#include "promise/promise.h"

#define BEFORE                                                                                                \
    "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"                         \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n"           \
    "rooms:\n  hall: {floor: ground, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n"                          \
    "line: {kind: fibre, down_mbps: 100, up_mbps: 20, ipv6_prefix_len: 56, public_ipv4: own, floor: ground, " \
    "at_m: [0, 0, 0]}\n"                                                                                      \
    "segments:\n"                                                                                             \
    "  family: {vlan: 10, ipv4: 10.1.10.0/24}\n"                                                              \
    "  children: {vlan: 20, ipv4: 10.1.20.0/24, known_only: true}\n"                                          \
    "  things: {vlan: 30, ipv4: 10.1.30.0/24}\n"                                                              \
    "devices:\n"                                                                                              \
    "  laptop: {kind: laptop, room: hall, segment: family, link: wifi}\n"                                     \
    "  tablet: {kind: tablet, room: hall, segment: children, link: wifi, mac: \"02:00:00:00:20:01\"}\n"       \
    "  reader: {kind: tablet, room: hall, segment: children, link: wifi, mac: \"02:00:00:00:20:02\"}\n"       \
    "  printer: {kind: printer, room: hall, segment: things, link: wifi, ipv4: 10.1.30.9}\n"                  \
    "  kettle: {kind: appliance, room: hall, segment: things, link: wifi}\n"                                  \
    "hours:\n  night: {from: \"21:00\", to: \"07:00\"}\n  day: {from: \"08:00\", to: \"18:00\"}\n"            \
    "statements:\n"

#define GOOD_RULES                                                                            \
    "  - {id: dark, from: tablet, to: internet, verdict: refuse, hours: night}\n"             \
    "  - {id: out, from: [segment:family, segment:children], to: internet, verdict: allow}\n" \
    "  - {id: print, from: [segment:family, segment:children], to: printer, services: [ipps], verdict: allow}\n"

#define AFTER                                                                                                          \
    "promises:\n"                                                                                                      \
    "  quiet_things: {kind: apart, says: Things begin nothing, from: segment:things, to: [segment:family, "            \
    "segment:children, internet]}\n"                                                                                   \
    "  only_print: {kind: apart, says: Only printing, from: segment:children, to: segment:things, services: [ipps]}\n" \
    "  can_print: {kind: reach, says: All print by day, from: [segment:family, segment:children], to: printer, "       \
    "services: [ipps], hours: day}\n"                                                                                  \
    "  bedtime: {kind: hours, says: The tablet goes dark, from: tablet, to: internet, hours: night}\n"                 \
    "  reads_on: {kind: reach, says: The reader always has the web, from: reader, to: internet, services: [https]}\n"

enum { N_PROMISES = 5 };

/* States in the order of the promises: k, b or u. */
static void check_states(const char *what, const char *rules, const char *want, const char *reason_holds)
{
    struct check_run c = check_run_begin();
    struct buf text = { .arena = c.run.arena };
    buf_printf(&text, "%s%s%s", BEFORE, rules, AFTER);
    struct house *h = NULL;
    CHECK_OK(&c, house_read_bytes(&c.run, "t.house.yaml", buf_done(&text), &h, &c.problems));
    struct evaluation ev = { .run = &c.run, .h = h };
    struct promise_results results;
    CHECK_OK(&c, promises_evaluate(&ev, POLICY_PROMISE_KINDS, &results, &c.problems));
    CHECK_NEAR(what, results.n, N_PROMISES, 0, "promises");
    for (uint32_t i = 0; i < results.n; i++) {
        const char got[2] = { promise_state_name(results.v[i].state)[0], 0 }, wanted[2] = { want[i], 0 };
        const char *label = arena_printf(c.run.arena, "%s: %.*s (%.*s)", what, STR_ARG(results.v[i].promise->id),
                                         STR_ARG(results.v[i].reason));
        CHECK_TEXT(label, str_from(got), str_from(wanted));
        if (want[i] == 'b' && reason_holds)
            CHECK(label,
                  memmem(results.v[i].reason.p, results.v[i].reason.n, reason_holds, strlen(reason_holds)) != NULL);
    }
    check_run_end(&c);
}

TEST(a_good_policy_keeps_them_all) { check_states("good", GOOD_RULES, "kkkkk", NULL); }

TEST(each_change_for_the_worse_breaks_what_it_touches)
{
    static const struct {
        const char *what, *rules, *want, *reason_holds;
    } CASES[] = {
        { "things may use the internet",
          GOOD_RULES "  - {id: bad, from: segment:things, to: internet, services: [https], verdict: allow}\n", "bkkkk",
          "443" },
        { "one thing may reach the laptop",
          GOOD_RULES "  - {id: bad, from: kettle, to: laptop, services: [ssh], verdict: allow}\n", "bkkkk", "kettle" },
        { "children may reach the kettle", GOOD_RULES "  - {id: bad, from: reader, to: kettle, verdict: allow}\n",
          "kbkkk", "reader" },
        { "printing is refused to the reader first",
          "  - {id: bad, from: reader, to: printer, verdict: refuse}\n" GOOD_RULES, "kkbkk", "reader" },
        { "the allowance stands before the dark",
          "  - {id: bad, from: segment:children, to: internet, services: [https], verdict: allow}\n" GOOD_RULES,
          "kkkbk", "tablet" },
        { "both go dark",
          "  - {id: bad, from: segment:children, to: internet, verdict: refuse, hours: night}\n"
          "  - {id: out, from: [segment:family, segment:children], to: internet, verdict: allow}\n"
          "  - {id: print, from: [segment:family, segment:children], to: printer, services: [ipps], verdict: allow}\n",
          "kkkkb", "reader" },
        { "printing by night only",
          "  - {id: dark, from: tablet, to: internet, verdict: refuse, hours: night}\n"
          "  - {id: out, from: [segment:family, segment:children], to: internet, verdict: allow}\n"
          "  - {id: bad, from: [segment:family, segment:children], to: printer, services: [ipps], hours: night, "
          "verdict: "
          "allow}\n",
          "kkbkk", "printer" },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        check_states(CASES[i].what, CASES[i].rules, CASES[i].want, CASES[i].reason_holds);
}

/* Two devices of one segment talk without the gateway: no statement can part them, and the promise says so. */
TEST(a_promise_within_a_segment_is_not_proven_by_rules)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    struct buf text = { .arena = c.run.arena };
    buf_printf(&text, "%s%s%s", BEFORE, GOOD_RULES,
               "promises:\n  alone: {kind: apart, says: Nobody prints, from: kettle, to: printer}\n");
    CHECK_OK(&c, house_read_bytes(&c.run, "t.house.yaml", buf_done(&text), &h, &c.problems));
    struct evaluation ev = { .run = &c.run, .h = h };
    struct promise_results results;
    CHECK_OK(&c, promises_evaluate(&ev, POLICY_PROMISE_KINDS, &results, &c.problems));
    CHECK("broken", results.v[0].state == PROMISE_BROKEN);
    check_run_end(&c);
}

/* What a house keeps once a phase is in: batteries of later phases do not feed earlier stages. */
#include "promise/phase_keeps.h"

#include <string.h>

#include "wire_kit.h"

#define CELL(phase) "  cell: {part: cell_iron, " WIRE_AT ", phase: " phase "}\n"
#define HOUSE(cells, feeds, devices)                                                                    \
    "equipment:\n  gw: {part: gate, " WIRE_AT "}\n  sw: {part: feeder, " WIRE_AT "}\n" cells            \
    "devices:\n  rec: {kind: recorder, " WIRED ", power_w: 10}\n"                                       \
    "cables:\n  up: {from: \"gw:1\", to: \"sw:8\", part: copper, length_m: 1}\n"                        \
    "  r: {from: \"sw:6\", to: rec, part: copper, length_m: 20}\n"                                      \
    "batteries:\n" feeds                                                                                \
    "phases:\n  first: {says: first, by_date: 2027-01-01}\n  then: {says: then, by_date: 2027-06-01}\n" \
    "promises:\n  dark: {kind: outage, says: Lives on, " devices "minutes: 30}\n"

static void check_stages(const char *what, const char *text, enum promise_state first, enum promise_state then,
                         const char *why)
{
    struct check_run c = check_run_begin();
    const struct str whole = str_from(arena_printf(c.run.arena, "%s%s", WIRE_HEAD, text));
    struct house *h = NULL;
    CHECK_OK(&c, house_read_bytes(&c.run, check_path(&c, "tests/houses/test.house.yaml"), whole, &h, &c.problems));
    struct evaluation ev = { .run = &c.run, .h = h };
    struct promise_results results;
    struct phase_stages stages;
    CHECK_OK(&c, promises_evaluate(&ev, ALL_PROMISE_KINDS, &results, &c.problems));
    CHECK_OK(&c, phases_judge(&ev, &stages, &c.problems));
    CHECK_NEAR(what, stages.v.n, 2, 0, "stages");
    const struct promise_result *early = stages.v.v[0].results[0], *late = stages.v.v[1].results[0];
    CHECK(arena_printf(c.run.arena, "%s: %.*s", what, STR_ARG(early->reason)), early->state == first);
    CHECK(arena_printf(c.run.arena, "%s: %.*s", what, STR_ARG(late->reason)), late->state == then);
    CHECK(arena_printf(c.run.arena, "%s: %.*s", what, STR_ARG(early->reason)),
          memmem(early->reason.p, early->reason.n, why, strlen(why)));
    check_run_end(&c);
}

#define ONE "  b: {part: cell_iron, feeds: [gw, sw, rec]}\n"
#define NAMED "devices: [rec], "

TEST(a_battery_of_a_later_phase)
{
    check_stages("not there yet", HOUSE(CELL("then"), ONE, NAMED), PROMISE_BROKEN, PROMISE_KEPT, "is on no battery");
    check_stages("all that it feeds", HOUSE(CELL("then"), ONE, ""), PROMISE_BROKEN, PROMISE_KEPT, "no battery");
    check_stages("there from the first", HOUSE(CELL("first"), ONE, NAMED), PROMISE_KEPT, PROMISE_KEPT, "battery `b`");
    check_stages("bought without a piece of its own", HOUSE("", ONE, NAMED), PROMISE_KEPT, PROMISE_KEPT, "battery `b`");
}

/* Another of the same part, in no phase, feeds the same things by itself until then. */
TEST(two_batteries_of_one_part)
{
    check_stages("the other is there",
                 HOUSE("  old: {part: cell_iron, " WIRE_AT ", owned: true}\n" CELL("then"),
                       "  a: {part: cell_iron, feeds: [gw, sw, rec]}\n  b: {part: cell_iron, feeds: [rec]}\n", NAMED),
                 PROMISE_KEPT, PROMISE_KEPT, "battery `a`");
    check_stages("the other is the later one",
                 HOUSE("  old: {part: cell_iron, " WIRE_AT ", owned: true}\n" CELL("then"),
                       "  a: {part: cell_iron, feeds: [gw, sw]}\n  b: {part: cell_iron, feeds: [rec]}\n", NAMED),
                 PROMISE_BROKEN, PROMISE_KEPT, "rec is on no battery");
}

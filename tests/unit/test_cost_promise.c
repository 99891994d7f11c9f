/* The promise `cost` on the house whose bill test_bill.c works by hand: first phase 367.79, second 249.25, together 617.04 to buy,
 * 510.00 a year. */
#include <string.h>

#include "bill_kit.h"
#include "promise/promise.h"

#define HOUSE                                                                                             \
    "line: {kind: fibre, down_mbps: 100, up_mbps: 20, public_ipv4: own, floor: ground, at_m: [0, 0, 0], " \
    "price_per_month: 38}\n"                                                                              \
    "devices:\n  cam: {kind: camera, " WIRED ", owned: false, part: eye}\n"                               \
    "  tv: {kind: television, " WIRED "}\n"                                                               \
    "equipment:\n  sw: {part: switch_8, " AT ", phase: first}\n"                                          \
    "  ap: {part: dome, mount: ceiling, phase: second}\n"                                                 \
    "cables:\n  c_ap: {from: \"sw:1\", to: ap, part: box_6, length_m: 40, cord_to_m: 0.5}\n"              \
    "  c_cam: {from: \"sw:2\", to: cam, part: box_6, length_m: 270}\n"                                    \
    "  c_tv: {from: \"sw:3\", to: tv, part: metre_6, length_m: 12.3}\n"
#define BUDGET "energy_per_kwh: 0.27, contingency_share: 0.1"

static const struct cost_case {
    const char *what, *promise; /* its figures */
    const char *first, *budget; /* more of the first phase, of the budget */
    double kwh;                 /* NaN: not known */
    bool dome_priced;
    enum promise_state state;
    double margin;
    const char *reason; /* begins so */
} CASES[] = {
    { "to the penny", "purchase: 617.04, yearly: 510", "", "", 200, true, PROMISE_KEPT, 0.0,
      "617.04 GBP of 617.04 GBP to buy; most: category 6 in a box 200.00 GBP, Eye (Tarn) 120.00 GBP, Dome (Tarn) 89.99 "
      "GBP" },
    { "a penny short", "purchase: 617.03, yearly: 510", "", "", 200, true, PROMISE_BROKEN, -0.01,
      "617.04 GBP of 617.03 GBP to buy" },
    { "the year decides", "purchase: 1000, yearly: 500", "", "", 200, true, PROMISE_BROKEN, -10.0,
      "510.00 GBP of 500.00 GBP a year; energy 54.00 GBP, the line 456.00 GBP" },
    { "one phase", "purchase: 260, phase: second", "", "", 200, true, PROMISE_KEPT, 10.75,
      "second: 249.25 GBP of 260.00 GBP to buy; most: category 6 in a box 100.00 GBP, Dome (Tarn) 89.99 GBP, fixing at "
      "ceiling "
      "25.00 GBP" },
    { "another phase's budget does not matter then", "purchase: 260, phase: second", ", budget: 300", "", 200, true,
      PROMISE_KEPT, 10.75, "second: " },
    { "a phase's budget is passed", "purchase: 1000", ", budget: 300", "", 200, true, PROMISE_BROKEN, -67.79,
      "first: 367.79 GBP of 300.00 GBP to buy" },
    { "the house's budget stands in", "purchase: 1000", "", ", yearly: 400", 200, true, PROMISE_BROKEN, -110.0,
      "510.00 GBP of 400.00 GBP a year" },
    { "no figure of its own", "", "", ", purchase: 700, yearly: 400", 200, true, PROMISE_BROKEN, -110.0,
      "510.00 GBP of 400.00 GBP a year" },
    { "no figure of its own, of a phase with a budget", "phase: first", ", budget: 400", "", 200, true, PROMISE_KEPT,
      32.21, "first: 367.79 GBP of 400.00 GBP to buy" },
    { "a promise goes before the budget", "purchase: 1000", "", ", purchase: 10", 200, true, PROMISE_KEPT, 382.96,
      "617.04 GBP of 1 000.00 GBP to buy" },
    { "a price is missing", "purchase: 1000, yearly: 600", "", "", 200, false, PROMISE_UNKNOWN, 0,
      "no price is known for Dome (Tarn)" },
    { "two facts are missing", "purchase: 1000, yearly: 600", "", "", RT_NOT_GIVEN, false, PROMISE_UNKNOWN, 0,
      "no price is known for Dome (Tarn), and 1 more fact" },
    { "missing, but broken already", "purchase: 100", "", "", 200, false, PROMISE_BROKEN, -418.05,
      "518.05 GBP of 100.00 GBP to buy" },
    { "what is missing belongs to the other phase", "purchase: 400, phase: first", "", "", 200, false, PROMISE_KEPT,
      32.21, "first: 367.79 GBP of 400.00 GBP to buy" },
    { "the year is not known, and nobody asked", "purchase: 1000", "", "", RT_NOT_GIVEN, true, PROMISE_KEPT, 382.96,
      "617.04 GBP of " },
    { "the line alone is too dear", "yearly: 400", "", "", RT_NOT_GIVEN, true, PROMISE_BROKEN, -56.0,
      "456.00 GBP of 400.00 GBP a year; energy not known, the line 456.00 GBP" },
    { "the year is not known", "yearly: 600", "", "", RT_NOT_GIVEN, true, PROMISE_UNKNOWN, 0,
      "what the equipment draws in a year is not known" },
};

/* The whole of the bill is worked in test_bill.c; work by hand is added here as there. */
static struct bill_house house_of(const struct cost_case *q, char *text, size_t size)
{
    snprintf(text, size,
             "phases:\n  first: {by_date: 2027-01-01%s}\n  second: {by_date: 2027-06-01}\n" HOUSE "budget: {" BUDGET
             "%s}\npromises:\n  money: {kind: cost, says: Within what we have, %s}\n",
             q->first, q->budget, q->promise);
    struct bill_house b = bill_house(text);
    bill_leg(&b, "c_tv", RUN_UNDER_FLOOR, 18.45);
    bill_work_at(&b, WORK_HOLE, 6.0, "c_ap", "c_cam");
    bill_work_at(&b, WORK_BOARD, 8.0, "c_tv", NULL);
    b.energy.kwh_per_year = q->kwh;
    if (!q->dome_priced)
        bill_part_of(&b, "dome")->price = RT_NOT_GIVEN;
    bill_of(&b);
    return b;
}

static struct promise_result only_result(struct bill_house *b)
{
    struct evaluation ev = { .run = &b->c.run, .h = b->h, .bill = b->bill };
    struct promise_results results;
    CHECK_OK(&b->c, promises_evaluate(&ev, 1u << PROMISE_COST, &results, &b->c.problems));
    CHECK_NEAR("one promise", results.n, 1, 0, "");
    return results.v[0];
}

TEST(costs_by_hand)
{
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        char text[4096];
        struct bill_house b = house_of(&CASES[i], text, sizeof text);
        const struct promise_result r = only_result(&b);
        const char *label = arena_printf(b.c.run.arena, "%s (%.*s)", CASES[i].what, STR_ARG(r.reason));
        CHECK_TEXT(label, str_from(promise_state_name(r.state)), str_from(promise_state_name(CASES[i].state)));
        const size_t n = strlen(CASES[i].reason);
        CHECK_TEXT(CASES[i].what, ((struct str){ r.reason.p, n < r.reason.n ? n : r.reason.n }),
                   str_from(CASES[i].reason));
        if (CASES[i].state != PROMISE_UNKNOWN) {
            CHECK_NEAR(label, r.margin, CASES[i].margin, 1e-9, "GBP");
            CHECK_TEXT(label, str_from(r.unit), STR("GBP"));
        }
        check_run_end(&b.c);
    }
}

/* The evidence holds the sums that the reason tells, and every line. */
TEST(evidence)
{
    char text[4096];
    struct bill_house b = house_of(&CASES[0], text, sizeof text);
    const struct promise_result r = only_result(&b);
    struct buf out = { .arena = b.c.run.arena };
    struct json j = { .out = &out, .compact = true };
    fact_write(&j, NULL, r.evidence);
    const struct str json = buf_done(&out);
    static const char *const HELD[] = {
        "\"purchase\":617.04",
        "\"phase\":\"second\",\"by_date\":\"2027-06-01\",\"purchase\":249.25,\"budget\":null",
        "\"yearly\":{\"energy_kwh\":200.0,\"energy\":54.00,\"line\":456.00,\"total\":510.00}",
        "\"what\":\"yearly\",\"phase\":\"\",\"most\":510.00,\"comes_to\":510.00,\"margin\":0.00",
        "\"what\":\"category 6 by the "
        "metre\",\"count\":13.00,\"unit\":\"m\",\"cable_m\":12.3,\"each\":0.50,\"total\":6.50",
        "\"missing\":[]",
    };
    for (size_t i = 0; i < RT_COUNT(HELD); i++)
        CHECK(HELD[i], memmem(json.p, json.n, HELD[i], strlen(HELD[i])) != NULL);
    check_run_end(&b.c);
}

/* Little memory is told, never half an answer. */
TEST(memory_runs_out)
{
    char text[4096];
    struct bill_house b = house_of(&CASES[0], text, sizeof text);
    enum rt_code code = RT_NOMEM;
    unsigned n_refused = 0;
    for (size_t kb = 1; kb < 1024 && code != RT_OK; kb++) {
        struct run run = b.c.run;
        struct rt_problems p;
        run.arena = arena_new(kb * 1024);
        rt_problems_init(&p, b.c.run.arena);
        struct evaluation ev = { .run = &run, .h = b.h, .bill = b.bill };
        struct promise_results results;
        code = promises_evaluate(&ev, 1u << PROMISE_COST, &results, &p);
        n_refused += code == RT_NOMEM;
        CHECK("told", code == RT_OK || code == RT_NOMEM);
        CHECK("whole", code != RT_OK || results.v[0].state == PROMISE_KEPT);
        arena_free(run.arena);
    }
    CHECK("refused at first", n_refused > 0);
    CHECK("enough in the end", code == RT_OK);
    check_run_end(&b.c);
}

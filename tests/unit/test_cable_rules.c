/* What a cable owes to where it lies: room in the runs, distance to mains, weather, warmth; and what breaks the promise. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "check.h"
#include "csv.h"
#include "data/cabling.h"
#include "promise/promise.h"
#include "wire/cable_rules.h"

/* A hall of 40 m, a switch at one end and things at its wall, all in runs at the height of the outlets so that lengths are plain. */
#define HEAD                                                                                               \
    "rooftree: 1\nname: Test house\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"                \
    "parts_file: ../parts/demo.parts.yaml\n"                                                               \
    "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [40, 0], [40, 6], [0, 6]] }\n"      \
    "  yard: { level_m: 0, height_m: 5, open_air: true, outline: [[0, 6], [40, 6], [40, 20], [0, 20]] }\n" \
    "rooms:\n  hall: { floor: ground, outline: [[0, 0], [40, 0], [40, 6], [0, 6]], keep_free: [cable] }\n" \
    "segments:\n  home: {}\n"                                                                              \
    "equipment:\n  switch: { part: switch_16_poe, room: hall, at_m: [1, 3, 1] }\n"                         \
    "  far_switch: { part: switch_16_poe, room: hall, at_m: [31, 3, 1] }\n%s"                              \
    "devices:\n  one: { kind: desktop, room: hall, at_m: [31, 3, 1], segment: home, link: wired }\n"       \
    "  two: { kind: desktop, room: hall, at_m: [11, 3, 1], segment: home, link: wired }\n"                 \
    "runs:\n  duct: { kind: duct, floors: [ground], line: [[1, 3, 1], [31, 3, 1]]%s }\n"
#define PROMISED "promises:\n  p: { kind: cable, says: All is as it should be }\n"

struct ruled {
    struct check_run c;
    struct house *h;
    struct evaluation ev;
    struct promise_results results;
    struct cable_rules rules;
};

static void rule(struct ruled *a, const char *equipment, const char *run, const char *rest)
{
    a->c = check_run_begin();
    const struct str all = str_from(arena_printf(a->c.run.arena, HEAD "%s" PROMISED, equipment, run, rest));
    CHECK_OK(&a->c,
             house_read_bytes(&a->c.run, check_path(&a->c, "houses/larch_end.house.yaml"), all, &a->h, &a->c.problems));
    a->ev = (struct evaluation){ .run = &a->c.run, .h = a->h };
    CHECK_OK(&a->c, promises_evaluate(&a->ev, 1u << PROMISE_CABLE, &a->results, &a->c.problems));
    const struct cable_plan *plan;
    const struct wire_links *links;
    CHECK_OK(&a->c, evaluation_cables(&a->ev, &plan, &links, &a->c.problems));
    CHECK_OK(&a->c, cable_rules_check(&a->c.run, plan, links, &a->rules, &a->c.problems));
}

#define ONE "cables:\n  c: { from: \"switch:1\", to: one, part: cable_6_m }\n"
#define THREE                                                                                                    \
    "cables:\n  c: { from: \"switch:1\", to: one, part: cable_6_m }\n  d: { from: \"switch:2\", to: two, part: " \
    "cable_6_m }\n"                                                                                              \
    "  e: { from: \"switch:3\", to: \"far_switch:3\", part: cable_6_m }\n"

/* Category 6 of 6.1 mm fills 29.2 mm2; three of them 87.7, which is 40 % of 219.2 mm2 (NFPA 70 (NEC) chapter 9 table 1, from memory: 53, 31, 40 % of one, two, more). */
TEST(a_duct_that_is_too_full)
{
    static const struct {
        const char *cables;
        double area_mm2;
        uint32_t n;
        bool kept;
    } CASES[] = {
        { THREE, 220, 3, true },
        { THREE, 218, 3, false },
        { ONE, 56, 1, true },
        { ONE, 54, 1, false },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct ruled a;
        struct check_run scratch = check_run_begin();
        rule(&a, "", arena_printf(scratch.run.arena, ", mains_m: 1, area_mm2: %.0f", CASES[i].area_mm2),
             CASES[i].cables);
        CHECK("state", a.results.v[0].state == (CASES[i].kept ? PROMISE_KEPT : PROMISE_BROKEN));
        CHECK("one run", a.rules.fills.n == 1 && a.rules.fills.v[0].n_cables == CASES[i].n);
        CHECK_NEAR("used", a.rules.fills.v[0].used_mm2, CASES[i].n * 3.14159265 / 4.0 * 6.1 * 6.1, 1e-4, "mm2");
        check_run_end(&scratch);
        check_run_end(&a.c);
    }
    struct ruled a;
    rule(&a, "", ", mains_m: 1, area_mm2: 200", THREE);
    CHECK_TEXT("reason", a.results.v[0].reason,
               STR("duct: 3 cables fill it by 44 %, 88 of 200 mm2; at most 40 %: it needs 220 mm2, or some of them "
                   "another way"));
    CHECK_NEAR("margin", a.results.v[0].margin, 40.0 - 100.0 * 87.67 / 200.0, 0.05, "%");
    check_run_end(&a.c);
}

/* A cable whose part says no diameter counts as common cable of its category; one to be chosen as the least that serves. */
TEST(a_cable_of_unknown_width)
{
    struct ruled a;
    rule(&a, "", ", area_mm2: 40", "cables:\n  c: { from: \"switch:1\", to: one }\n");
    const struct cable_category *category = cable_category_find(STR("5e"));
    CHECK_NEAR("used", a.rules.fills.v[0].used_mm2, 3.14159265 / 4.0 * category->outer_mm * category->outer_mm, 1e-4,
               "mm2");
    CHECK("too full", a.results.v[0].state == PROMISE_BROKEN);
    check_run_end(&a.c);
    rule(&a, "", "", "cables:\n  c: { from: \"switch:1\", to: one }\n");
    CHECK("without a limit", a.results.v[0].state == PROMISE_KEPT && !is_given(a.rules.fills.v[0].share));
    check_run_end(&a.c);
}

/* link_rules.csv, EN 50174-2:2000 (read): every row of the table. */
TEST(distances_are_the_published_ones)
{
    static const struct {
        const char *condition;
        bool mains_screened, data_screened;
        enum divider divider;
    } ROWS[] = {
        { "unscreened power and unscreened data cable; no divider or plastic", false, false, DIVIDER_NONE },
        { "unscreened power and unscreened data cable; aluminium divider", false, false, DIVIDER_ALUMINIUM },
        { "unscreened power and unscreened data cable; steel divider", false, false, DIVIDER_STEEL },
        { "unscreened power and screened data cable; no divider", false, true, DIVIDER_NONE },
        { "unscreened power and screened data cable; aluminium divider", false, true, DIVIDER_ALUMINIUM },
        { "unscreened power and screened data cable; steel divider", false, true, DIVIDER_STEEL },
        { "screened power and unscreened data cable; no divider", true, false, DIVIDER_NONE },
        { "screened power and unscreened data cable; aluminium divider", true, false, DIVIDER_ALUMINIUM },
        { "screened power and unscreened data cable; steel divider", true, false, DIVIDER_STEEL },
        { "screened power and screened data cable", true, true, DIVIDER_NONE },
    };
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/link_rules.csv"));
    uint32_t n = 0, n_read = 0;
    for (uint32_t row = 0; row < t.rows.n; row++) {
        const struct str name = csv_cell(&t, row, "rule"), condition = csv_cell(&t, row, "condition");
        n_read += str_is(name, "separation_min") && str_is(csv_cell(&t, row, "document"), "EN 50174-2:2000 table");
        for (size_t i = 0; i < RT_COUNT(ROWS); i++)
            if (str_is(name, "separation_min") && str_is(condition, ROWS[i].condition)) {
                CHECK_NEAR(ROWS[i].condition,
                           separation_min_m(ROWS[i].mains_screened, ROWS[i].data_screened, ROWS[i].divider),
                           csv_num(&t, row, "value"), 1e-12, "m");
                n++;
            }
        if (str_is(name, "separation_exempt_length"))
            CHECK_NEAR("exempt", SEPARATION_EXEMPT_M, csv_num(&t, row, "value"), 0.0, "m");
        /* A = S x P of later editions, worked without a barrier: never more than ours beside so few circuits */
        if (str_is(name, "separation_example"))
            CHECK("ours is the careful side",
                  separation_min_m(false, false, DIVIDER_NONE) >= csv_num(&t, row, "value"));
    }
    CHECK("all rows", n == RT_COUNT(ROWS) && n_read == RT_COUNT(ROWS));
    check_run_end(&c);
}

/* 30 m to an outlet, the last 15 exempt (EN 50174-2:2000): 15 m count.  Between two switches all 30 do.  10 m to the second outlet
 * are exempt. */
TEST(too_near_to_mains)
{
    static const struct {
        const char *what, *run, *cables;
        double metres[2]; /* 0: no breach */
        double least_m;
    } CASES[] = {
        { "to an outlet, and near", ", mains_m: 0.1", THREE, { 15, 30 }, 0.2 },
        { "far enough", ", mains_m: 0.2", THREE, { 0, 0 }, 0.2 },
        { "steel between", ", mains_m: 0.05, mains_divider: steel", THREE, { 0, 0 }, 0.05 },
        { "steel, nearer", ", mains_m: 0.04, mains_divider: steel", THREE, { 15, 30 }, 0.05 },
        { "mains with a screen", ", mains_m: 0.04, mains_screened: true", THREE, { 0, 0 }, 0.03 },
        { "short", ", mains_m: 0", "cables:\n  d: { from: two, to: \"switch:1\", part: cable_6_m }\n", { 0, 0 }, 0.2 },
        { "the other way round",
          ", mains_m: 0",
          "cables:\n  d: { from: one, to: \"switch:1\", part: cable_6_m }\n",
          { 15, 0 },
          0.2 },
        { "fibre", ", mains_m: 0", "cables:\n  d: { from: one, to: switch, part: fibre_os2_m }\n", { 0, 0 }, 0 },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct ruled a;
        uint32_t n = 0;
        rule(&a, "", CASES[i].run, CASES[i].cables);
        for (; n < 2 && CASES[i].metres[n] > 0.0; n++) {
            CHECK(CASES[i].what, n < a.rules.breaches.n && a.rules.breaches.v[n].rule == RULE_MAINS);
            CHECK_NEAR(CASES[i].what, a.rules.breaches.v[n].metres, CASES[i].metres[n], 1e-6, "m");
            CHECK_NEAR(CASES[i].what, a.rules.breaches.v[n].limit, CASES[i].least_m, 1e-12, "m");
        }
        CHECK(CASES[i].what, a.rules.breaches.n == n && a.rules.mains_unknown.n == 0);
        check_run_end(&a.c);
    }
    struct ruled a;
    rule(&a, "", ", mains_m: 0.1", ONE);
    CHECK("broken", a.results.v[0].state == PROMISE_BROKEN);
    CHECK_NEAR("margin", a.results.v[0].margin, -0.1, 1e-12, "m");
    CHECK_TEXT("reason", a.results.v[0].reason,
               STR("cable c: 15.0 m of it lie 0.1 m from mains in duct; 0.2 m are needed for unscreened data cable "
                   "with no metal "
                   "divider: move it, or take screened cable or a metal divider"));
    check_run_end(&a.c);
}

/* A run that does not tell its distance is told once, whatever lies in it, and breaks nothing. */
TEST(an_unknown_distance_breaks_nothing)
{
    struct ruled a;
    rule(&a, "", "", THREE);
    CHECK("kept", a.results.v[0].state == PROMISE_KEPT && a.rules.breaches.n == 0);
    CHECK("told once", a.rules.mains_unknown.n == 1 && a.rules.mains_unknown.v[0].i == 0);
    check_run_end(&a.c);
}

/* Up a wall in a run outdoors: 30 m of it; cable for outdoors may. */
TEST(cable_in_the_weather)
{
    struct ruled a;
    rule(&a, "", ", outdoors: true", ONE);
    CHECK("broken", a.results.v[0].state == PROMISE_BROKEN && a.rules.breaches.v[0].rule == RULE_WEATHER);
    CHECK_TEXT(
        "reason", a.results.v[0].reason,
        STR("cable c: 30.0 m of it lie outdoors, and category 6, by the metre is not made for that: take a cable for "
            "outdoors, or lead it inside"));
    check_run_end(&a.c);
    rule(&a, "", ", outdoors: true", "cables:\n  c: { from: \"switch:1\", to: one, part: cable_6_outdoor_m }\n");
    CHECK("kept", a.results.v[0].state == PROMISE_KEPT && a.rules.breaches.n == 0);
    check_run_end(&a.c);
}

#define BOX "  box: { part: cabinet_outdoor, floor: yard, at_m: [11, 6.3, 1] }\n"
#define TO_CAM "cables:\n  c: { from: \"switch:1\", to: \"cam:1\", part: cable_6_outdoor_m, length_m: 20 }\n"

/* A switch in the yard: broken; in a weatherproof box, or made for outdoors, kept; a promise about other things is not touched. */
TEST(a_switch_in_the_rain)
{
    struct ruled a;
    rule(&a, "  cam: { part: switch_5, floor: yard, at_m: [11, 6.3, 1] }\n", "", TO_CAM);
    CHECK("broken", a.results.v[0].state == PROMISE_BROKEN);
    CHECK_TEXT(
        "reason", a.results.v[0].reason,
        STR("cam stands outdoors, and Ledger 5 is not made for that: take one that stands the weather, build it into a "
            "cabinet for outdoors (`inside`), or put it indoors"));
    check_run_end(&a.c);
    rule(&a, BOX "  cam: { part: switch_5, inside: box }\n", "", TO_CAM);
    CHECK("in a box", a.results.v[0].state == PROMISE_KEPT);
    check_run_end(&a.c);
    rule(&a, "  cam: { part: outdoor_two_band, floor: yard, at_m: [11, 6.3, 1] }\n", "", TO_CAM);
    CHECK("made for it", a.rules.breaches.n == 0);
    check_run_end(&a.c);
}

#define IN_THE_SUN                                                                                                    \
    "rooftree: 1\nname: T\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\nparts_file: "                        \
    "../parts/demo.parts.yaml\n"                                                                                      \
    "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [90, 0], [90, 6], [0, 6]] }\n"                 \
    "rooms:\n  hall: { floor: ground, outline: [[0, 0], [90, 0], [90, 6], [0, 6]], keep_free: [cable] }\n"            \
    "segments:\n  home: {}\n"                                                                                         \
    "equipment:\n  switch: { part: switch_16_poe, room: hall, at_m: [1, 3, 1] }\n"                                    \
    "devices:\n  one: { kind: server, room: hall, at_m: [81.7, 3, 1], segment: home, link: wired }\n"                 \
    "runs:\n  way: { kind: %s, floors: [ground], line: [[1, 3, 1], [81.7, 3, 1]], outdoors: true }\n"                 \
    "cables:\n  c: { from: \"switch:1\", to: one, part: cable_6_outdoor_m, route: [way], cord_from_m: 5, cord_to_m: " \
    "5 }\n"

/* link_rules.csv: 0.4 % per K to 40 degC and 0.6 % beyond (TIA-568-C.2 clause 6.4.7): at 45 degC 11 % more.  82 m on a wall in the sun with
 * 10 m of cords count as 91 fixed and are too long, which in the shade they are not. */
TEST(warm_cable_is_shorter)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    static const char *const KINDS[] = { "surface", "duct" };
    for (int i = 0; i < 2; i++) {
        struct cable_plan *plan = NULL;
        struct wire_links links;
        const struct str text = str_from(arena_printf(c.run.arena, IN_THE_SUN, KINDS[i]));
        CHECK_OK(&c, house_read_bytes(&c.run, check_path(&c, "houses/larch_end.house.yaml"), text, &h, &c.problems));
        CHECK_OK(&c, cables_plan(&c.run, h, &plan, &c.problems));
        CHECK_OK(&c, wire_links_judge(&c.run, plan, &links, &c.problems));
        CHECK_NEAR("fixed", links.v[0].fixed_m, 80.7 + 1.3, 1e-9, "m");
        CHECK_NEAR(KINDS[i], links.v[0].warm_m, i ? 0.0 : 80.7 * 0.11, 1e-9, "m");
        CHECK_NEAR(KINDS[i], links.v[0].speed_mbps, i ? 1000.0 : 0.0, 0.0, "Mb/s");
    }
    check_run_end(&c);
}

#define FIBRE(from, to, splices) \
    "cables:\n  c: { from: \"" from "\", to: \"" to "\", part: fibre_os2_m, length_m: 40, splices: " splices " }\n"
#define ENDS                                                        \
    "  a: { part: converter_fibre, room: hall, at_m: [1, 3, 1] }\n" \
    "  b: { part: converter_fibre, room: hall, at_m: [31, 3, 1] }\n"

/* Two cords are two pairs of connectors of 0.75 dB, each splice 0.3 dB, 40 m and 2.5 m of cord at 0.4 dB a kilometre 0.017 dB
 * (ISO/IEC 11801-1, from memory).  1000BASE-LX bears 4.57 dB (IEEE 802.3 clause 38, from memory): 10 splices, not 11; the demo's
 * converters say that they bear 9 dB: 24, not 26. */
TEST(light_lost_in_splices)
{
    static const struct {
        const char *equipment, *cables;
        double loss_db, loss_max_db;
    } CASES[] = {
        { "", FIBRE("switch:17", "far_switch:17", "10"), 4.517, 4.57 },
        { "", FIBRE("switch:17", "far_switch:17", "11"), 4.817, 4.57 },
        { ENDS, FIBRE("a:1", "b:1", "24"), 8.717, 9.0 },
        { ENDS, FIBRE("a:1", "b:1", "26"), 9.317, 9.0 },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct ruled a;
        rule(&a, CASES[i].equipment, "", CASES[i].cables);
        const bool kept = CASES[i].loss_db < CASES[i].loss_max_db;
        CHECK("state", a.results.v[0].state == (kept ? PROMISE_KEPT : PROMISE_BROKEN));
        if (kept)
            CHECK("not about light", strcmp(a.results.v[0].unit, "dB") != 0);
        else
            CHECK_NEAR("margin", a.results.v[0].margin, CASES[i].loss_max_db - CASES[i].loss_db, 1e-3, "dB");
        check_run_end(&a.c);
    }
    struct ruled a;
    rule(&a, "", "", FIBRE("switch:17", "far_switch:17", "11"));
    CHECK_TEXT("reason", a.results.v[0].reason,
               STR("cable c: light loses 4.8 dB over 42 m, 2 connections and 11 splices; its ends bear 4.6 dB"));
    check_run_end(&a.c);
}

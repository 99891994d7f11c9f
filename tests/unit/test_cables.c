/* Cable routes in small houses whose lengths can be worked by hand, and in the demo houses. */
#include <math.h>
#include <stdio.h>

#include "base/units.h"
#include "check.h"
#include "wire/cables.h"

#define HEAD                                                                                             \
    "rooftree: 1\nname: Test house\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\nparts_file: "  \
    "../parts/demo.parts.yaml\n"                                                                         \
    "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n"      \
    "  far: { level_m: 0, height_m: 2.5, outline: [[20, 0], [28, 0], [28, 6], [20, 6]] }\n"              \
    "rooms:\n  hall: { floor: ground, outline: [[0, 0], [8, 0], [8, 6], [0, 6]], keep_free: [cable] }\n" \
    "  shed: { floor: far, outline: [[20, 0], [28, 0], [28, 6], [20, 6]], use: hall, keep_free: [cable] }\n"

static const struct cable_plan *plan_of(struct check_run *c, const char *rest)
{
    struct house *h = NULL;
    struct cable_plan *plan = NULL;
    const struct str all = str_from(arena_printf(c->run.arena, HEAD "%s", rest));
    CHECK_OK(c, house_read_bytes(&c->run, check_path(c, "houses/larch_end.house.yaml"), all, &h, &c->problems));
    CHECK_OK(c, cables_plan(&c->run, h, &plan, &c->problems));
    return plan;
}

#define CEILING_TWO                                                                      \
    "equipment:\n  one: { part: ceiling_two_band, floor: ground, at_m: [1, 1, 2.48] }\n" \
    "  two: { part: ceiling_two_band, floor: ground, at_m: [7, 5, 2.48] }\n"

/* 0.12 m up, 0.12 m down, and straight between (1, 1) and (7, 5); 0.3 m left over at each end. */
TEST(straight_through_a_void)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan =
        plan_of(&c, "runs:\n  void: { kind: ceiling_void, floors: [ground], outline: [[0, 0], [8, 0], [8, 6], [0, 6]], "
                    "price_per_m: 2, mains_m: 0.2 }\n" CEILING_TWO
                    "cables:\n  c: { from: one, to: two, cord_from_m: 0.5, cord_to_m: 0.5 }\n");
    const struct routed_cable *r = &plan->cables[0];
    CHECK("routed", r->is_routed && !r->length_given && !r->outdoors && !r->leaves_building);
    CHECK_NEAR("fixed", r->fixed_m, 0.24 + sqrt(52.0) + 0.6, 1e-9, "m");
    CHECK_NEAR("cords", r->cords_m, 1.0, 1e-9, "m");
    CHECK_NEAR("mains", r->mains_m, 0.2, 1e-9, "m");
    /* 2 a metre in the void, 5 a metre up and down, the cable at the least price of 0.05 a metre; no ceiling to drill */
    CHECK_NEAR("price", plan->price, sqrt(52.0) * 2.05 + 0.24 * 5.05, 1e-9, "GBP");
    CHECK_NEAR("bound", plan->bound, plan->price, 1e-9, "GBP");
    check_run_end(&c);
}

/* The void is an L: the way bends at its inner corner (2, 4). */
TEST(round_the_corner_of_a_void)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan = plan_of(
        &c, "runs:\n  void: { kind: ceiling_void, floors: [ground], outline: [[0, 0], [2, 0], [2, 4], [8, 4], [8, 6], "
            "[0, 6]] }\n" CEILING_TWO "cables:\n  c: { from: one, to: two, route: [void] }\n");
    CHECK_NEAR("fixed", plan->cables[0].fixed_m, 0.24 + sqrt(1.0 + 9.0) + sqrt(25.0 + 1.0) + 0.6, 1e-9, "m");
    check_run_end(&c);
}

TEST(given_length_is_kept)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan =
        plan_of(&c, "runs:\n  void: { kind: ceiling_void, floors: [ground], outline: [[0, 0], [8, 0], [8, 6], [0, 6]] "
                    "}\n" CEILING_TWO "cables:\n  c: { from: one, to: two, length_m: 12 }\n");
    CHECK("given", plan->cables[0].length_given && plan->cables[0].is_routed);
    CHECK_NEAR("fixed", plan->cables[0].fixed_m, 12.0, 0.0, "m");
    check_run_end(&c);
}

TEST(a_length_that_cannot_be_is_told)
{
    struct check_run c = check_run_begin();
    plan_of(&c, CEILING_TWO "cables:\n  c: { from: one, to: two, length_m: 3 }\n");
    CHECK("one warning", c.problems.n_warnings == 1);
    CHECK_TEXT("says", str_from(c.problems.list.v[0].msg),
               STR("cable 'c' is said to be 5.5 m with its cords, but its ends are 7.2 m apart"));
    check_run_end(&c);
}

TEST(open_air_is_told)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan = plan_of(&c, CEILING_TWO "cables:\n  c: { from: one, to: two }\n");
    CHECK("not routed", !plan->cables[0].is_routed && !is_given(plan->cables[0].fixed_m));
    CHECK_TEXT(
        "why", plan->cables[0].why_not,
        STR("no run, wall, ceiling or floor within reach of `one`: the cable would hang in open air; add a run that "
            "comes within 1 m of it, a longer cord, or the cable's `length_m`"));
    check_run_end(&c);
}

TEST(a_place_that_is_not_given_is_asked_for)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan =
        plan_of(&c, CEILING_TWO
                "segments:\n  home: {}\ndevices:\n  box: { kind: printer, room: hall, segment: home, link: wired "
                "}\ncables:\n  c: { from: one, to: box }\n");
    CHECK_TEXT("why", plan->cables[0].why_not,
               STR("say where `box` is (its `room` or `floor`, and `at_m`): cable `c` ends there"));
    check_run_end(&c);
}

#define DUCT                                                                                    \
    "runs:\n  duct: { kind: duct, floors: [ground, far], line: [[7, 3, -0.5], [21, 3, -0.5]], " \
    "price_per_m: 1, outdoors: true }\n"                                                        \
    "equipment:\n  one: { part: ceiling_two_band, floor: ground, at_m: [7, 3, 0.4] }\n"         \
    "  two: { part: ceiling_two_band, floor: far, at_m: [21, 3, 0.3] }\n"

/* 0.9 m down to the duct, 14 m along it, 0.8 m up. */
TEST(a_duct_leads_to_the_other_building)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan =
        plan_of(&c, DUCT "cables:\n  c: { from: one, to: two, cord_from_m: 0, cord_to_m: 0 }\n");
    const struct routed_cable *r = &plan->cables[0];
    CHECK("leaves the building, outdoors", r->leaves_building && r->outdoors);
    CHECK_NEAR("fixed", r->fixed_m, 0.9 + 14.0 + 0.8 + 0.6, 1e-9, "m");
    CHECK("lies in the run of the file", r->legs.n == 3 && r->legs.v[1].run == 0 && r->legs.v[1].kind == RUN_DUCT);
    check_run_end(&c);
}

TEST(a_route_that_does_not_meet_is_told)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan = plan_of(
        &c, "runs:\n  void: { kind: ceiling_void, floors: [ground], outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n"
            "  stray: { kind: duct, floors: [far], line: [[22, 2, 0.1], [24, 2, 0.1]] }\n" CEILING_TWO
            "cables:\n  c: { from: one, to: two, route: [void, stray] }\n");
    CHECK_TEXT("why", plan->cables[0].why_not,
               STR("the runs named in `route` do not meet one another and both ends of `c`, in this order; name the "
                   "missing run, or leave `route` out"));
    check_run_end(&c);
}

/* Two cables into one place lift its board and drill its ceiling once. */
TEST(work_is_shared)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    struct cable_plan *plan = NULL;
    CHECK_OK(&c, house_read(&c.run, check_path(&c, "houses/larch_end.house.yaml"), &h, &c.problems));
    CHECK_OK(&c, cables_plan(&c.run, h, &plan, &c.problems));
    uint32_t n_shared = 0;
    double total = 0.0;
    for (uint32_t w = 0; w < plan->work.n; w++) {
        const struct cable_work *work = &plan->work.v[w];
        n_shared += work->cables.n > 1;
        total += work->price;
        for (uint32_t i = 1; i < work->cables.n; i++)
            CHECK("ascending", work->cables.v[i - 1].i < work->cables.v[i].i);
    }
    CHECK("some is shared", n_shared >= 3);
    for (uint32_t i = 0; i < h->cables.n; i++) {
        const struct routed_cable *r = &plan->cables[i];
        const struct part *part = &h->parts.list.v[h->cables.v[i].part.i];
        CHECK("every cable has its way", r->is_routed);
        double length = 0.0;
        for (uint32_t k = 0; k < r->legs.n; k++) {
            total += r->legs.v[k].price;
            length += r->legs.v[k].length_m;
        }
        if (part->kind == PART_CABLE)
            total += length * part->price / part->per_m;
        if (!r->length_given)
            CHECK_NEAR("length is that of the legs and the slack", r->fixed_m, length + r->slack_m, 1e-9, "m");
    }
    CHECK_NEAR("price is the sum of legs, work and cable", plan->price, total, 1e-6, "GBP");
    CHECK("bound", plan->bound <= plan->price && plan->bound > 0.9 * plan->price);
    check_run_end(&c);
}

/* Each named run is used, in the file's order. */
TEST(routes_of_the_file_are_kept)
{
    static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/whin_farm.house.yaml",
                                          "houses/quay_flat.house.yaml" };
    for (size_t f = 0; f < RT_COUNT(HOUSES); f++) {
        struct check_run c = check_run_begin();
        struct house *h = NULL;
        struct cable_plan *plan = NULL;
        CHECK_OK(&c, house_read(&c.run, check_path(&c, HOUSES[f]), &h, &c.problems));
        CHECK_OK(&c, cables_plan(&c.run, h, &plan, &c.problems));
        CHECK("no complaint", c.problems.list.n == 0);
        for (uint32_t i = 0; i < h->cables.n; i++) {
            const struct routed_cable *r = &plan->cables[i];
            const ref_list route = h->cables.v[i].route;
            uint32_t stage = 0;
            CHECK("every cable has its way", r->is_routed);
            for (uint32_t k = 0; k < r->legs.n; k++) {
                const uint32_t run = r->legs.v[k].run;
                if (run == NO_REF || !route.n)
                    continue;
                if (stage < route.n && run == route.v[stage].i)
                    stage++;
                CHECK("in order", stage && run == route.v[stage - 1].i);
            }
            CHECK("all of them", stage == route.n);
        }
        check_run_end(&c);
    }
}

#define TWO_ROOMS(keep_free)                                                                                  \
    "rooftree: 1\nname: Test house\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"                   \
    "parts_file: ../parts/demo.parts.yaml\nconstructs:\n  partition: { hole_price: 17, layers: [{ material: " \
    "brick, thickness_m: 0.1 }] }\n"                                                                          \
    "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n"           \
    "walls:\n  between: { floor: ground, construct: partition, line: [[4, 0], [4, 6]] }\n"                    \
    "  end: { floor: ground, construct: partition, line: [[8, 0], [8, 6]] }\n"                                \
    "rooms:\n  left: { floor: ground, outline: [[0, 0], [3.95, 0], [3.95, 6], [0, 6]] }\n"                    \
    "  right: { floor: ground, outline: [[4.05, 0], [8, 0], [8, 6], [4.05, 6]]" keep_free " }\n"              \
    "segments:\n  home: {}\nequipment:\n  switch: { part: switch_16_poe, room: left, at_m: [3.8, 3, 0.5] }\n" \
    "  other: { part: switch_16_poe, room: right, at_m: [7.8, 3, 0.5] }\n"                                    \
    "devices:\n  one: { kind: desktop, room: right, at_m: [4.3, 2, 0.5], segment: home, link: wired }\n"      \
    "  two: { kind: desktop, room: right, at_m: [4.3, 4, 0.5], segment: home, link: wired }\n"                \
    "  three: { kind: desktop, room: right, at_m: [7.8, 5, 0.5], segment: home, link: wired }\n"              \
    "  middle: { kind: desktop, room: right, at_m: [6, 3, 0.5], segment: home, link: wired }\n"               \
    "cables:\n  c: { from: switch, to: one, part: cable_6_m }\n  d: { from: switch, to: two, part: cable_6_m }\n"

static const struct cable_plan *plan_of_all(struct check_run *c, const char *all)
{
    struct house *h = NULL;
    struct cable_plan *plan = NULL;
    CHECK_OK(c,
             house_read_bytes(&c->run, check_path(c, "houses/larch_end.house.yaml"), str_from(all), &h, &c->problems));
    CHECK_OK(c, cables_plan(&c->run, h, &plan, &c->problems));
    return plan;
}

/* No void, no run: along the skirtings, and both through one hole at the construct's price. */
TEST(two_cables_through_one_hole)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan = plan_of_all(&c, TWO_ROOMS(""));
    CHECK("routed", plan->cables[0].is_routed && plan->cables[1].is_routed);
    CHECK("one hole", plan->work.n == 1 && plan->work.v[0].kind == WORK_HOLE);
    CHECK("for both", plan->work.v[0].cables.n == 2);
    CHECK_NEAR("price of the hole", plan->work.v[0].price, 17.0, 0.0, "GBP");
    CHECK_NEAR("in the wall", plan->work.v[0].at_m.x, 4.0, 1e-9, "m");
    check_run_end(&c);
}

/* The right-hand room is kept free of cable that can be seen, its wall is of brick: there is no way. */
TEST(a_room_kept_free_of_cable)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan = plan_of_all(&c, TWO_ROOMS(", keep_free: [cable]"));
    CHECK("no way", !plan->cables[0].is_routed && !plan->cables[1].is_routed);
    CHECK_TEXT(
        "why", plan->cables[0].why_not,
        STR("`one` is in a room that is kept free of cable, and no hidden way leads there; add a void or a run behind "
            "its wall, take `cable` out of the room's `keep_free`, or give the cable's `length_m`"));
    check_run_end(&c);
}

/* Two places for switches, one in each room: the trunk between them and the desktop that hangs on the far switch share one
 * hole; what hangs on the switch of its own room needs none. */
TEST(two_cabinets)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan =
        plan_of_all(&c, TWO_ROOMS("") "  trunk: { from: switch, to: other, part: cable_6_m }\n"
                                      "  e: { from: other, to: three, part: cable_6_m }\n");
    for (uint32_t i = 0; i < plan->h->cables.n; i++)
        CHECK("routed", plan->cables[i].is_routed);
    CHECK("one hole", plan->work.n == 1 && plan->work.v[0].kind == WORK_HOLE);
    CHECK("for the three that pass", plan->work.v[0].cables.n == 3);
    for (uint32_t i = 0; i < 3; i++)
        CHECK("not the one in its room", plan->work.v[0].cables.v[i].i == i);
    CHECK_NEAR("bound", plan->bound, plan->price, 0.02 * plan->price, "GBP");
    check_run_end(&c);
}

/* Ceilings over one another: one void between, so each cable's way is straight, a metre left over at each switch. */
TEST(lengths_from_two_switches)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan =
        plan_of(&c, "runs:\n  void: { kind: ceiling_void, floors: [ground], outline: [[0, 0], [8, 0], [8, 6], [0, 6]], "
                    "price_per_m: "
                    "2 }\nequipment:\n  a: { part: switch_16_poe, floor: ground, at_m: [1, 1, 2.48] }\n"
                    "  b: { part: switch_16_poe, floor: ground, at_m: [7, 5, 2.48] }\n"
                    "  one: { part: ceiling_two_band, floor: ground, at_m: [1, 4, 2.48] }\n"
                    "  two: { part: ceiling_two_band, floor: ground, at_m: [7, 1, 2.48] }\n"
                    "cables:\n  trunk: { from: a, to: b }\n  c: { from: a, to: one }\n  d: { from: b, to: two }\n");
    CHECK_NEAR("trunk", plan->cables[0].fixed_m, 0.24 + sqrt(52.0) + 2.0, 1e-9, "m");
    CHECK_NEAR("of the first", plan->cables[1].fixed_m, 0.24 + 3.0 + 1.3, 1e-9, "m");
    CHECK_NEAR("of the second", plan->cables[2].fixed_m, 0.24 + 4.0 + 1.3, 1e-9, "m");
    CHECK_NEAR("price", plan->price, (sqrt(52.0) + 7.0) * 2.05 + 3 * 0.24 * 5.05, 1e-9, "GBP");
    check_run_end(&c);
}

/* The desktop's cable may be a long one, but its cord of half a metre does not reach the outlet that its neighbour's does. */
TEST(each_cable_has_its_own_cord)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan =
        plan_of_all(&c, TWO_ROOMS("") "  far: { from: switch, to: middle, part: cable_6_m, cord_to_m: 3 }\n"
                                      "  near: { from: switch, to: middle, part: cable_6_m, cord_to_m: 0.5 }\n");
    CHECK("a cord of 3 m reaches the wall 2 m away", plan->cables[2].is_routed);
    CHECK("one of half a metre does not", !plan->cables[3].is_routed);
    check_run_end(&c);
}

/* Two voids that nothing joins, in two buildings. */
TEST(no_run_leads_there)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan = plan_of_all(
        &c,
        "rooftree: 1\nname: Test house\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"
        "parts_file: ../parts/demo.parts.yaml\n"
        "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n"
        "  far: { level_m: 0, height_m: 2.5, outline: [[20, 0], [28, 0], [28, 6], [20, 6]] }\n"
        "runs:\n  a: { kind: ceiling_void, floors: [ground], outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n"
        "  b: { kind: ceiling_void, floors: [far], outline: [[20, 0], [28, 0], [28, 6], [20, 6]] }\n"
        "equipment:\n  one: { part: ceiling_two_band, floor: ground, at_m: [1, 1, 2.48] }\n"
        "  two: { part: ceiling_two_band, floor: far, at_m: [21, 3, 2.48] }\ncables:\n  c: { from: one, to: two }\n");
    CHECK("not routed, leaves the building", !plan->cables[0].is_routed && plan->cables[0].leaves_building);
    CHECK_TEXT("why", plan->cables[0].why_not,
               STR("no run leads from `one` to `two`; add one (a riser between floors, a duct or trench between "
                   "buildings), or "
                   "the cable's `length_m`"));
    check_run_end(&c);
}

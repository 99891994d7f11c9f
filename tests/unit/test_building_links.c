/* Copper, fibre or radio between two buildings: lengths, prices and rates worked by hand from the parts of parts/demo.parts.yaml. */
#include "wire/building_links.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "check.h"
#include "promise/promise.h"

/* Two buildings of 8 by 6 m whose walls face one another 12 m apart (or as told); the gateway stands in the first. */
#define HEAD                                                                                             \
    "rooftree: 1\nname: Test house\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\nparts_file: "  \
    "../parts/demo.parts.yaml\n"                                                                         \
    "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n"      \
    "  far: { level_m: 0, height_m: 2.5, outline: [[%.0f, 0], [%.0f, 0], [%.0f, 6], [%.0f, 6]] }\n%s"    \
    "rooms:\n  hall: { floor: ground, outline: [[0, 0], [8, 0], [8, 6], [0, 6]], keep_free: [cable] }\n" \
    "segments:\n  home: {}\n"                                                                            \
    "promises:\n  p: { kind: cable, says: All is as it should be }\n"                                    \
    "equipment:\n  one: { part: gateway_2g5, floor: ground, at_m: [7, 3, 0.4] }\n%s"

struct compared {
    struct check_run c;
    struct house *h;
    struct evaluation ev;
    struct promise_results results;
    struct building_links links;
};

static void compare(struct compared *a, double far_m, const char *floors, const char *rest)
{
    const struct cable_plan *plan;
    const struct wire_links *links;
    a->c = check_run_begin();
    const struct str all =
        str_from(arena_printf(a->c.run.arena, HEAD, far_m, far_m + 8.0, far_m + 8.0, far_m, floors, rest));
    CHECK_OK(&a->c,
             house_read_bytes(&a->c.run, check_path(&a->c, "houses/larch_end.house.yaml"), all, &a->h, &a->c.problems));
    a->ev = (struct evaluation){ .run = &a->c.run, .h = a->h };
    CHECK_OK(&a->c, promises_evaluate(&a->ev, 1u << PROMISE_CABLE, &a->results, &a->c.problems));
    CHECK_OK(&a->c, evaluation_cables(&a->ev, &plan, &links, &a->c.problems));
    CHECK_OK(&a->c, building_links_compare(&a->c.run, plan, links, &a->links, &a->c.problems));
}

static const struct building_option *option(const struct building_link *l, enum link_medium medium)
{
    for (int i = 0; i < MEDIUM_COUNT; i++)
        if (l->options[i].medium == medium)
            return &l->options[i];
    fail_msg("no option %d", (int)medium);
    return NULL;
}

static void check_order(const struct building_link *l, enum link_medium a, enum link_medium b, enum link_medium c)
{
    CHECK("order", l->options[0].medium == a && l->options[1].medium == b && l->options[2].medium == c);
}

#define FED "  two: { part: switch_5_fed, floor: far, at_m: [21, 3, 0.3] }\n"
#define DUCT                                                                                                    \
    "runs:\n  duct: { kind: duct, floors: [ground, far], line: [[7, 3, -0.5], [21, 3, -0.5]], outdoors: true, " \
    "mains_m: 1 }\n"                                                                                            \
    "cables:\n  c: { from: one, to: \"two:1\", part: cable_6_outdoor_m }\n"                                     \
    "  d: { from: \"two:2\", to: cam, part: cable_6_m, length_m: 3 }\n"
#define CAMERA                                                                                                  \
    "devices:\n  cam: { kind: camera, floor: far, at_m: [22, 3, 2], segment: home, link: wired, poe_class: 2, " \
    "speed_mbps: 20 }\n"
#define DESK "  desk: { kind: desktop, floor: far, at_m: [22, 4, 1], segment: home, link: wired, speed_mbps: 100 }\n"

/* 0.9 m down to the duct, 14 m along it, and 1 m over at each end: 16.9 m fixed; the cord of 2 m at the far end reaches the duct.
 * Copper at 1.05 a metre and two protectors of 34, fibre at 1.30 and two converters of 39, two bridges of 118 with injectors of
 * 26.  All in there is fed over the cable: no second earth. */
TEST(all_is_fed_over_the_cable)
{
    struct compared a;
    compare(&a, 20.0, "", FED CAMERA DUCT);
    CHECK("one", a.links.v.n == 1 && a.links.v.v[0].cable == 0);
    const struct building_link *l = &a.links.v.v[0];
    CHECK_NEAR("length", l->length_m, 16.9 + 2.5, 1e-9, "m");
    CHECK_NEAR("no digging", l->dig_m, 0.0, 0.0, "m");
    CHECK_NEAR("air", l->air_m, 12.0, 1e-9, "m");
    CHECK_NEAR("behind it", l->needed_mbps, 20.0, 1e-9, "Mb/s");
    CHECK("fed, one earth, of copper", l->wants_power && !l->earths_differ && l->chosen == MEDIUM_COPPER);
    check_order(l, MEDIUM_COPPER, MEDIUM_FIBRE, MEDIUM_RADIO);
    CHECK_NEAR("copper", option(l, MEDIUM_COPPER)->price, 16.9 * 1.05 + 2 * 34, 1e-9, "GBP");
    CHECK_NEAR("fibre", option(l, MEDIUM_FIBRE)->price, 16.9 * 1.30 + 2 * 39, 1e-9, "GBP");
    CHECK_NEAR("radio", option(l, MEDIUM_RADIO)->price, 2 * (118 + 26), 1e-9, "GBP");
    CHECK("mains", option(l, MEDIUM_FIBRE)->mains_needed && !option(l, MEDIUM_COPPER)->mains_needed);
    check_run_end(&a.c);
}

/* An upper storey that reaches 2 m further than the one below is the nearest to the house. */
TEST(the_nearest_storey_counts)
{
    struct compared a;
    compare(&a, 20.0, "  over: { level_m: 2.75, height_m: 2.5, outline: [[18, 0], [28, 0], [28, 6], [18, 6]] }\n",
            FED CAMERA DUCT);
    CHECK("one", a.links.v.n == 1);
    CHECK_NEAR("air", a.links.v.v[0].air_m, 18.0 - 8.0, 1e-9, "m");
    check_run_end(&a.c);
}

/* IEC 60364-5-54 (from memory): what has mains of its own has an earth of its own.  Copper is then last of what works, though
 * cheapest. */
TEST(two_earths)
{
    struct compared a;
    compare(&a, 20.0, "", FED CAMERA DESK DUCT);
    const struct building_link *l = &a.links.v.v[0];
    CHECK("two earths", l->earths_differ && option(l, MEDIUM_COPPER)->discouraged);
    check_order(l, MEDIUM_FIBRE, MEDIUM_RADIO, MEDIUM_COPPER);
    CHECK("cheapest", option(l, MEDIUM_COPPER)->price < option(l, MEDIUM_FIBRE)->price);
    check_run_end(&a.c);
}

/* Copper between buildings is told in the reason, until a surge protector stands in each. */
TEST(copper_without_protectors)
{
    struct compared a;
    compare(&a, 20.0, "", FED CAMERA DUCT);
    CHECK("kept", a.results.v[0].state == PROMISE_KEPT && building_link_is_bare(&a.links.v.v[0]));
    CHECK("told", strstr(a.results.v[0].reason.p,
                         "; beware: cable c joins two buildings in copper without surge protectors: two "
                         "of part `surge_protector` help, 68.00 GBP"));
    CHECK("and at its line", a.c.problems.n_warnings == 1);
    check_run_end(&a.c);
    compare(&a, 20.0, "", FED "  guard: { part: surge_protector, floor: ground, at_m: [7, 4, 1] }\n" CAMERA DUCT);
    CHECK("one is not enough", building_link_is_bare(&a.links.v.v[0]));
    check_run_end(&a.c);
    compare(&a, 20.0, "",
            FED "  guard: { part: surge_protector, floor: ground, at_m: [7, 4, 1] }\n"
                "  other: { part: surge_protector, floor: far, at_m: [21, 4, 1] }\n" CAMERA DUCT);
    CHECK("kept", a.results.v[0].state == PROMISE_KEPT && !building_link_is_bare(&a.links.v.v[0]));
    CHECK("not told", !strstr(a.results.v[0].reason.p, "beware"));
    check_run_end(&a.c);
}

/* Nothing leads there: a trench of 12 m, 25 a metre; from both ends to the nearest corners of the walls hypot(1, 3) and
 * hypot(2, 4), 2 m of slack and the cords.  IEEE 802.11ax-2021 27.5 (from memory): two streams over 80 MHz carry 1201 Mb/s; free
 * space at 5.5 GHz over 12 m is 68.8 dB (ITU-R P.525), so 14 - 3 + 36 - 68.8 - 10 dBm, enough for that. */
TEST(nothing_leads_there_yet)
{
    struct compared a;
    compare(&a, 20.0, "", "devices:\n" DESK);
    CHECK("one", a.links.v.n == 1 && a.links.v.v[0].cable == NO_REF && a.links.v.v[0].chosen == MEDIUM_COUNT);
    const struct building_link *l = &a.links.v.v[0];
    const double length_m = hypot(1, 3) + 12.0 + hypot(2, 4) + 2.0 + 2.5;
    CHECK_NEAR("length", l->length_m, length_m, 1e-9, "m");
    CHECK_NEAR("fibre", option(l, MEDIUM_FIBRE)->price, (length_m - 2.5) * 1.30 + 2 * 39 + 12 * 25, 1e-9, "GBP");
    CHECK_NEAR("radio", option(l, MEDIUM_RADIO)->speed_mbps, 0.8 * 1201, 1.0, "Mb/s");
    check_order(l, MEDIUM_RADIO, MEDIUM_FIBRE, MEDIUM_COPPER);
    check_run_end(&a.c);
}

TEST(a_building_in_the_way_of_radio)
{
    struct compared a;
    compare(&a, 20.0, "  barn: { level_m: 0, height_m: 4, outline: [[12, -1], [16, -1], [16, 7], [12, 7]] }\n",
            "devices:\n" DESK);
    const struct building_link *l = &a.links.v.v[0];
    CHECK_TEXT("in the way", l->in_the_way, STR("barn"));
    CHECK("does not work", !option(l, MEDIUM_RADIO)->works);
    check_order(l, MEDIUM_FIBRE, MEDIUM_COPPER, MEDIUM_RADIO);
    check_run_end(&a.c);
}

/* 412 m: no copper (100 m, TIA-568-C).  99.6 dB of air leave -62.6 dBm: 16-QAM 3/4 (-64 dBm over 80 MHz, 802.11ax table 27-51),
 * 432 Mb/s. */
TEST(too_far_for_copper)
{
    struct compared a;
    compare(&a, 420.0, "",
            "devices:\n  desk: { kind: desktop, floor: far, at_m: [422, 4, 1], segment: home, link: wired, speed_mbps: "
            "100 }\n");
    const struct building_link *l = &a.links.v.v[0];
    CHECK("no copper", !option(l, MEDIUM_COPPER)->works && option(l, MEDIUM_COPPER)->speed_mbps == 0.0);
    CHECK("fibre", option(l, MEDIUM_FIBRE)->works);
    CHECK_NEAR("radio", option(l, MEDIUM_RADIO)->speed_mbps, 0.8 * 432.4, 0.5, "Mb/s");
    check_run_end(&a.c);
}

/* A device that is carried, or on the mesh, wants no cable; an empty outbuilding none either. */
TEST(nothing_there_that_wants_a_link)
{
    struct compared a;
    compare(&a, 20.0, "",
            "devices:\n  tap: { kind: sensor, floor: far, at_m: [22, 4, 1], segment: home, link: mesh }\n");
    CHECK("none", a.links.v.n == 0);
    check_run_end(&a.c);
}

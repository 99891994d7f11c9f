/* What links carry and need, and the promise about them. */
#include <math.h>

#include "base/units.h"
#include "check.h"
#include "promise/promise.h"

#define HEAD                                                                                            \
    "rooftree: 1\nname: Test house\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"             \
    "parts_file: ../parts/demo.parts.yaml\n"                                                            \
    "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n"     \
    "rooms:\n  hall: { floor: ground, outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n"                    \
    "segments:\n  home: {}\n"                                                                           \
    "equipment:\n  gate: { part: gateway_2g5, room: hall, at_m: [0.2, 1, 1] }\n"                        \
    "  switch: { part: switch_16_poe, room: hall, at_m: [0.2, 1.5, 1] }\n"                              \
    "  ap: { part: ceiling_two_band, room: hall, at_m: [4, 3, 2.48] }\n"                                \
    "  ferry: { part: converter_fibre, room: hall, at_m: [0.2, 2, 1] }\n"                               \
    "devices:\n  server: { kind: server, room: hall, at_m: [0.2, 3, 1], segment: home, link: wired }\n" \
    "  film: { kind: television, room: hall, at_m: [0.2, 5, 1], segment: home, link: wired, speed_mbps: 60 }\n"

struct asked {
    struct check_run c;
    struct house *h;
    struct evaluation ev;
    struct promise_results results;
    const struct wire_links *links;
};

static void ask(struct asked *a, const char *rest)
{
    a->c = check_run_begin();
    const struct str all = str_from(arena_printf(a->c.run.arena, HEAD "%s", rest));
    CHECK_OK(&a->c,
             house_read_bytes(&a->c.run, check_path(&a->c, "houses/larch_end.house.yaml"), all, &a->h, &a->c.problems));
    a->ev = (struct evaluation){ .run = &a->c.run, .h = a->h };
    CHECK_OK(&a->c, promises_evaluate(&a->ev, 1u << PROMISE_CABLE, &a->results, &a->c.problems));
    const struct cable_plan *plan;
    CHECK_OK(&a->c, evaluation_cables(&a->ev, &plan, &a->links, &a->c.problems));
}

#define UPLINK "  up: { from: \"gate:3\", to: \"switch:16\", part: cord_0m5, length_m: 0.5 }\n"
#define PROMISED "promises:\n  p: { kind: cable, says: All cables are legal, headroom_share: 0.1%s }\n"

TEST(needs_add_up_towards_the_gateway)
{
    struct asked a;
    ask(&a, "cables:\n" UPLINK
            "  s: { from: \"switch:1\", to: server, part: cable_6_box, length_m: 10, cord_from_m: 0.5, cord_to_m: 2 }\n"
            "  f: { from: \"switch:2\", to: film, part: cable_6_box, length_m: 10 }\n");
    CHECK_NEAR("the film's own", a.links->v[2].needed_mbps, 60.0, 0.0, "Mb/s");
    CHECK_NEAR("a server's kind", a.links->v[1].needed_mbps, 1000.0, 0.0, "Mb/s");
    CHECK_NEAR("both behind the uplink", a.links->v[0].wanted_mbps, 1060.0, 1e-9, "Mb/s");
    CHECK("uplink", a.links->v[0].is_uplink && !a.links->v[1].is_uplink && !a.links->v[2].is_uplink);
    CHECK_NEAR("at most the port", a.links->v[0].needed_mbps, fmin(1060.0, a.links->v[0].port_mbps), 1e-9, "Mb/s");
    check_run_end(&a.c);
}

/* IEEE 802.11: HE, two streams, 80 MHz carries 1201 Mb/s and 40 MHz 574 (802.11ax-2021 clause 27.5, from memory; guard 0.8 us);
 * 0.8 of both is more than the port of 1000 lets through, so that the uplink counts 1000 and the film's 60. */
TEST(an_access_point_needs_what_its_radios_carry)
{
    struct asked a;
    ask(&a, "cables:\n" UPLINK "  w: { from: \"switch:1\", to: ap, part: cable_6_box, length_m: 10 }\n"
            "  f: { from: \"switch:2\", to: film, part: cable_6_box, length_m: 10 }\n");
    CHECK_NEAR("radios", a.links->v[1].wanted_mbps, 0.8 * (1201.0 + 574.0), 2.0, "Mb/s");
    CHECK_NEAR("at most its port", a.links->v[1].needed_mbps, 1000.0, 1e-9, "Mb/s");
    CHECK_NEAR("behind the uplink", a.links->v[0].wanted_mbps, 1060.0, 1e-9, "Mb/s");
    check_run_end(&a.c);
}

/* A device that is bought by its part has the port of its part: a camera's carries 100 Mb/s, whatever the cable could. */
TEST(a_part_of_a_device_has_its_own_port)
{
    static const struct {
        const char *what, *part, *mbps;
        double speed_mbps;
        enum promise_state state;
    } CASES[] = {
        { "its port is slower", ", part: camera_dome", ", devices: [eye], mbps: 500", 100.0, PROMISE_BROKEN },
        { "its port is fast enough", ", part: camera_dome", ", devices: [eye], mbps: 100", 100.0, PROMISE_KEPT },
        { "of no part nobody knows", "", ", devices: [eye], mbps: 500", 1000.0, PROMISE_KEPT },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct asked a;
        struct check_run t = check_run_begin();
        const char *text = arena_printf(
            t.run.arena,
            "  eye: { kind: camera, room: hall, at_m: [0.2, 4, 1], segment: home, link: wired%s }\ncables:\n" UPLINK
            "  e: { from: \"switch:1\", to: eye, part: cable_6_box, length_m: 10 }\n" PROMISED,
            CASES[i].part, CASES[i].mbps);
        ask(&a, text);
        CHECK_NEAR(CASES[i].what, a.links->v[1].speed_mbps, CASES[i].speed_mbps, 0.0, "Mb/s");
        CHECK(CASES[i].what, a.results.v[0].state == CASES[i].state);
        check_run_end(&a.c);
        check_run_end(&t);
    }
}

/* 90 m of fixed cable and 10 m of cords are legal; with headroom of a tenth, 81 + 9. */
TEST(a_run_of_120_m_breaks_the_promise)
{
    static const struct {
        double length_m;
        enum promise_state state;
        double margin_m;
        const char *reason;
    } CASES[] = {
        { 120.0, PROMISE_BROKEN, -40.0, "cable s: 130.0 m of category 6 with its cords; at most 90.0 m for 1000 Mb/s" },
        { 81.0, PROMISE_BROKEN, -1.0, "cable s: 91.0 m of category 6 with its cords; at most 90.0 m for 1000 Mb/s" },
        { 80.0, PROMISE_KEPT, 0.0, NULL },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct asked a;
        struct check_run scratch = check_run_begin();
        ask(&a, arena_printf(scratch.run.arena,
                             "cables:\n  s: { from: \"switch:1\", to: server, part: cable_6_box, length_m: %.1f, "
                             "cord_from_m: 5, cord_to_m: 5 }\n" PROMISED,
                             CASES[i].length_m, ""));
        CHECK("state", a.results.v[0].state == CASES[i].state);
        if (CASES[i].reason) {
            CHECK_NEAR("margin", a.results.v[0].margin, CASES[i].margin_m, 1e-9, "m");
            CHECK_TEXT("reason", a.results.v[0].reason, str_from(CASES[i].reason));
        }
        check_run_end(&scratch);
        check_run_end(&a.c);
    }
}

TEST(a_cable_without_a_way_is_unknown)
{
    struct asked a;
    ask(&a, "  far: { kind: desktop, room: hall, at_m: [4, 3, 1], segment: home, link: wired }\n"
            "cables:\n  s: { from: \"switch:1\", to: far, part: cable_6_box, cord_from_m: 0.5, cord_to_m: 0.5 }\n"
            "promises:\n  p: { kind: cable, says: All cables are legal }\n");
    CHECK("unknown", a.results.v[0].state == PROMISE_UNKNOWN && !is_given(a.results.v[0].margin));
    CHECK_TEXT(
        "reason", a.results.v[0].reason,
        STR("no run, wall, ceiling or floor within reach of `switch`: the cable would hang in open air; add a run that "
            "comes within 1 m of it, a longer cord, or the cable's `length_m`"));
    check_run_end(&a.c);
}

TEST(fibre_does_not_fit_a_copper_port)
{
    struct asked a;
    ask(&a, "cables:\n  s: { from: \"switch:1\", to: \"ferry:1\", part: fibre_os2_m, length_m: 10 }\n"
            "promises:\n  p: { kind: cable, says: All cables are legal }\n");
    CHECK("broken", a.results.v[0].state == PROMISE_BROKEN);
    CHECK_TEXT("reason", a.results.v[0].reason, STR("cable s: OS2 fibre does not fit the port of switch"));
    check_run_end(&a.c);
}

/* Category 5e carries no 10 Gb/s at any length. */
TEST(too_slow_a_category_is_told)
{
    struct asked a;
    ask(&a, "cables:\n  s: { from: server, to: film, part: cable_5e_m, length_m: 10 }\n"
            "promises:\n  p: { kind: cable, says: Fast, mbps: 10000 }\n");
    CHECK("broken", a.results.v[0].state == PROMISE_BROKEN);
    CHECK_NEAR("margin", a.results.v[0].margin, 2500.0 - 10000.0, 1e-9, "Mb/s");
    CHECK_TEXT("reason", a.results.v[0].reason, STR("cable s carries 2500 Mb/s (category 5e), 10000 are needed"));
    check_run_end(&a.c);
}

/* Only the cables of the things named are judged. */
TEST(only_what_is_named)
{
    struct asked a;
    ask(&a, "cables:\n  s: { from: \"switch:1\", to: server, part: cable_6_box, length_m: 120 }\n"
            "  f: { from: \"switch:2\", to: film, part: cable_6_box, length_m: 10 }\n"
            "promises:\n  p: { kind: cable, says: The film runs, devices: [film] }\n"
            "  q: { kind: cable, says: The server is fast, devices: [server] }\n"
            "  none: { kind: cable, says: The other, devices: [ap] }\n");
    CHECK("kept", a.results.v[0].state == PROMISE_KEPT);
    CHECK("broken", a.results.v[1].state == PROMISE_BROKEN);
    CHECK("unknown", a.results.v[2].state == PROMISE_UNKNOWN);
    check_run_end(&a.c);
}

/* Where generated ways lead, and where they do not. */
#include <math.h>

#include "base/units.h"
#include "check.h"
#include "wire/cables.h"

#define HEAD                                                                                            \
    "rooftree: 1\nname: Test house\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\nparts_file: " \
    "../parts/demo.parts.yaml\n"

static const struct cable_plan *plan_of(struct check_run *c, const char *text)
{
    struct house *h = NULL;
    struct cable_plan *plan = NULL;
    const struct str all = str_from(arena_printf(c->run.arena, HEAD "%s", text));
    CHECK_OK(c, house_read_bytes(&c->run, check_path(c, "houses/larch_end.house.yaml"), all, &h, &c->problems));
    CHECK_OK(c, cables_plan(&c->run, h, &plan, &c->problems));
    return plan;
}

static bool lies(const struct routed_cable *r, enum run_kind kind)
{
    for (uint32_t i = 0; i < r->legs.n; i++)
        if (r->legs.v[i].kind == kind)
            return true;
    return false;
}

/* ---- rings ---- */

#define AROUND(first, second, third, fourth)                                                                       \
    "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [6, 0], [6, 4], [0, 4]] }\n"                \
    "walls:\n  outer: { floor: ground, construct: brick_solid, line: [[0, 0], [6, 0], [6, 4], [0, 4], [0, 0]] }\n" \
    "rooms:\n  hall: { floor: ground, outline: [" first ", " second ", " third ", " fourth "] }\n"                 \
    "equipment:\n  switch: { part: switch_16_poe, room: hall, at_m: [0.3, 1, 0.1] }\n"                             \
    "  point: { part: ceiling_two_band, room: hall, at_m: [3, 0.3, 0.1] }\n"                                       \
    "cables:\n  c: { from: switch, to: point, cord_from_m: 0, cord_to_m: 0 }\n"
#define SW "[0.12, 0.12]"
#define SE "[5.88, 0.12]"
#define NE "[5.88, 3.88]"
#define NW "[0.12, 3.88]"

/* A skirting has no beginning: it is the same ring from whichever corner, and either way round, its room is told. */
TEST(a_skirting_goes_all_round)
{
    static const char *const HOUSES[] = {
        AROUND(SW, SE, NE, NW), AROUND(SE, NE, NW, SW), AROUND(NE, NW, SW, SE), AROUND(NW, SW, SE, NE),
        AROUND(SW, NW, NE, SE), AROUND(SE, SW, NW, NE), AROUND(NE, SE, SW, NW), AROUND(NW, NE, SE, SW),
    };
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++) {
        struct check_run c = check_run_begin();
        const struct cable_plan *plan = plan_of(&c, HOUSES[i]);
        const struct routed_cable *r = &plan->cables[0];
        CHECK("along the skirting", r->is_routed && lies(r, RUN_SKIRTING));
        /* Round the one corner between: from (0.18, 1) by (0.18, 0.18) to (3, 0.18), and 1.3 m left over.  The wall's face is 0.124 m
         * from its middle: from each thing to it, and back to the skirting. */
        const double to_it = (0.3 - 0.124) + (0.18 - 0.124);
        CHECK_NEAR("length", r->fixed_m, 0.82 + 2.82 + 2.0 * to_it + 1.3, 1e-9, "m");
        CHECK_NEAR("bound", plan->bound, plan->price, 1e-6, "GBP");
        check_run_end(&c);
    }
}

#define DUCT(line)                                                                                  \
    "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n" \
    "runs:\n  duct: { kind: duct, floors: [ground], line: [" line "] }\n"                           \
    "equipment:\n  one: { part: ceiling_two_band, floor: ground, at_m: [1, 2, 1] }\n"               \
    "  two: { part: ceiling_two_band, floor: ground, at_m: [6, 2, 1] }\n"                           \
    "cables:\n  c: { from: one, to: two, cord_from_m: 0, cord_to_m: 0 }\n"

/* Runs of the file that come by the same place again. */
TEST(a_run_may_meet_itself)
{
    static const struct {
        const char *what, *text;
    } CASES[] = {
        { "a ring, its last side between the two", DUCT("[6, 2, 1], [6, 5, 1], [1, 5, 1], [1, 2, 1], [6, 2, 1]") },
        { "begun at another corner", DUCT("[1, 5, 1], [1, 2, 1], [6, 2, 1], [6, 5, 1], [1, 5, 1]") },
        { "closed but for a centimetre", DUCT("[6, 2, 1], [6, 5, 1], [1, 5, 1], [1, 2, 1], [5.99, 2, 1]") },
        { "a branch, there and back", DUCT("[1, 2, 1], [3, 2, 1], [3, 5, 1], [3, 2, 1], [6, 2, 1]") },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        const struct cable_plan *plan = plan_of(&c, CASES[i].text);
        CHECK("routed", plan->cables[0].is_routed);
        CHECK_NEAR(CASES[i].what, plan->cables[0].fixed_m, 5.0 + 0.6, 0.011, "m");
        check_run_end(&c);
    }
}

/* ---- voids ---- */

/* A room in which no cable may be seen, so that it lies under the floor or over the ceiling or nowhere. */
#define HIDDEN(floor)                                                                                               \
    "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]], " floor " }\n"      \
    "walls:\n  outer: { floor: ground, construct: timber_cladding, line: [[0, 0], [8, 0], [8, 6], [0, 6], [0, 0]] " \
    "}\n"                                                                                                           \
    "rooms:\n  hall: { floor: ground, outline: [[0.1, 0.1], [7.9, 0.1], [7.9, 5.9], [0.1, 5.9]], use: hall, "       \
    "keep_free: [cable] }\n"                                                                                        \
    "equipment:\n  switch: { part: switch_16_poe, room: hall, at_m: [0.3, 3, 0.5] }\n"                              \
    "  point: { part: ceiling_two_band, room: hall, at_m: [7.7, 3, 0.5] }\n"                                        \
    "cables:\n  c: { from: switch, to: point, cord_from_m: 0, cord_to_m: 0 }\n"

TEST(voids_are_where_there_is_room)
{
    enum { NOWHERE = -1 };
    static const struct {
        const char *what, *text;
        int kind;
    } CASES[] = {
        { "boards on joists", HIDDEN("slab: timber_floor"), RUN_UNDER_FLOOR },
        { "tiles on boards", HIDDEN("slab: timber_floor_tiled"), RUN_UNDER_FLOOR },
        { "solid ground", HIDDEN("slab: earth"), NOWHERE },
        { "concrete", HIDDEN("slab: concrete_floor"), NOWHERE },
        { "no slab", HIDDEN("ceiling: concrete_floor"), NOWHERE },
        { "a ceiling under an empty loft", HIDDEN("slab: earth, ceiling: plasterboard_ceiling"), RUN_ATTIC },
        { "a ceiling with boards over it", HIDDEN("slab: earth, ceiling: timber_floor"), RUN_ATTIC },
        { "a roof of tiles", HIDDEN("slab: earth, ceiling: roof_tiles"), NOWHERE },
        { "a roof with foil", HIDDEN("slab: earth, ceiling: roof_foil"), NOWHERE },
        { "a roof of slate", HIDDEN("slab: earth, ceiling: roof_slate"), NOWHERE },
        { "a roof of steel", HIDDEN("slab: earth, ceiling: steel_sheet"), NOWHERE },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        const struct cable_plan *plan = plan_of(&c, CASES[i].text);
        const struct routed_cable *r = &plan->cables[0];
        CHECK(CASES[i].what, r->is_routed == (CASES[i].kind != NOWHERE));
        if (r->is_routed)
            CHECK(CASES[i].what, lies(r, (enum run_kind)CASES[i].kind));
        check_run_end(&c);
    }
}

/* Two equal storeys round a corner are one building, and between them is a space under boards, not a loft. */
TEST(two_storeys_round_a_corner)
{
    struct check_run c = check_run_begin();
    const struct cable_plan *plan = plan_of(
        &c,
        "floors:\n"
        "  ground: { level_m: 0, height_m: 2.5, slab: concrete_floor, ceiling: plasterboard_ceiling, outline: [[0, 0], "
        "[14, 0], [14, 4], [4, 4], [4, 14], [0, 14]] }\n"
        "  first: { level_m: 2.75, height_m: 2.5, slab: timber_floor, ceiling: plasterboard_ceiling, outline: [[0, 0], "
        "[14, 0], [14, 4], [4, 4], [4, 14], [0, 14]] }\n"
        "equipment:\n  switch: { part: switch_16_poe, floor: ground, at_m: [2, 12, 2.48] }\n"
        "  point: { part: ceiling_two_band, floor: first, at_m: [12, 2, 0.1] }\n"
        "cables:\n  c: { from: switch, to: point, cord_from_m: 0, cord_to_m: 0 }\n");
    const struct routed_cable *r = &plan->cables[0];
    uint32_t n_boards = 0;
    for (uint32_t i = 0; i < plan->work.n; i++)
        n_boards += plan->work.v[i].kind == WORK_BOARD;
    CHECK("one building", r->is_routed && !r->leaves_building);
    CHECK("between ceiling and boards", lies(r, RUN_CEILING_VOID) && !lies(r, RUN_ATTIC));
    CHECK("boards are lifted", n_boards >= 2);
    check_run_end(&c);
}

/* ---- doors ---- */

/* A camera over a wide door, 0.3 m before the outer wall. */
#define OVER_DOOR(ceiling, z)                                                                                     \
    "floors:\n  ground: { level_m: 0, height_m: 2.5, slab: concrete_floor, ceiling: " ceiling                     \
    ", outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n"                                                             \
    "  garden: { level_m: 0, height_m: 3, open_air: true, outline: [[-5, -5], [13, -5], [13, 0], [-5, 0]] }\n"    \
    "walls:\n  front: { floor: ground, construct: brick_solid, line: [[0, 0], [8, 0]], openings: [{ kind: door, " \
    "at_m: 2.5, width_m: 3, head_m: 2.1, construct: timber_door }] }\n"                                           \
    "  side: { floor: ground, construct: brick_solid, line: [[8, 0], [8, 6]] }\n"                                 \
    "rooms:\n  hall: { floor: ground, outline: [[0, 0.12], [7.88, 0.12], [7.88, 6], [0, 6]] }\n"                  \
    "segments:\n  home: {}\nequipment:\n  switch: { part: switch_16_poe, room: hall, at_m: [7.7, 3, 0.5] }\n"     \
    "devices:\n  eye: { kind: camera, part: camera_dome, floor: garden, at_m: [4, -0.3, " z                       \
    "], segment: home, link: wired }\n"                                                                           \
    "cables:\n  c: { from: switch, to: eye, cord_to_m: 0 }\n"

TEST(the_wall_over_a_door_is_wall)
{
    static const struct {
        const char *what, *text;
        bool is_routed, is_along_wall;
    } CASES[] = {
        { "over the door, and down beside it", OVER_DOOR("concrete_floor", "2.25"), true, true },
        { "over the door, into the loft", OVER_DOOR("plasterboard_ceiling", "2.4"), true, false },
        { "in the doorway", OVER_DOOR("concrete_floor", "1.8"), false, false },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        const struct cable_plan *plan = plan_of(&c, CASES[i].text);
        const struct routed_cable *r = &plan->cables[0];
        bool is_along_wall = false;
        double lowest_m = INFINITY;
        for (uint32_t k = 0; k < r->legs.n; k++) {
            const struct cable_leg *l = &r->legs.v[k];
            is_along_wall |= str_is(l->says, "along the wall over a doorway (generated)");
            if (l->from_m.x > 2.45 && l->from_m.x < 5.55 && l->from_m.y < 0.5)
                lowest_m = fmin(lowest_m, fmin(l->from_m.z, l->to_m.z));
        }
        CHECK(CASES[i].what, r->is_routed == CASES[i].is_routed);
        CHECK("along the wall", is_along_wall == CASES[i].is_along_wall);
        if (CASES[i].is_along_wall)
            CHECK_NEAR("never in the doorway", fmax(2.1, lowest_m), lowest_m, 1e-9, "m");
        check_run_end(&c);
    }
}

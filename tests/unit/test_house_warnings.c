/* Houses without a mistake whose answers are weaker than they look: exactly these words, and the house is read. */
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "check.h"
#include "house/house.h"

#define HEAD "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"
#define GROUND                                                                                     \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]], " \
    "slab: deck}\nconstructs:\n  deck:\n    layers:\n"
#define FLOORBOARD "      - {material: floorboard, thickness_m: 0.02}\n"
#define HINT                                                                                                   \
    "    take a material that is known there (wood, chipboard, glass ...), or say what was measured straight " \
    "through the construct: 'measured: [{band_ghz: 5, loss_db: ...}]'\n"

static const struct {
    const char *what, *house, *told;
} CASES[] = {
    { "a material that is known in all bands",
      HEAD GROUND "      - {material: chipboard, thickness_m: 0.02}\n      - {material: water, thickness_m: 0.01}\n",
      "" },
    { "a material of which values are known above 50 GHz only", HEAD GROUND FLOORBOARD,
      "t.house.yaml:11:9: take care: construct 'deck': layer 1: no published values of 'floorboard' are known at 2.4, "
      "5 "
      "and 6 GHz; those of other frequencies stand in for them\n"
      "          - {material: floorboard, thickness_m: 0.02}\n"
      "            ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^\n" HINT },
    { "the same, measured in one band",
      HEAD GROUND "      - {material: air, thickness_m: 0.1}\n" FLOORBOARD
                  "    measured: [{band_ghz: 5, loss_db: 3}]\n",
      "t.house.yaml:12:9: take care: construct 'deck': layer 2: no published values of 'floorboard' are known at 2.4 "
      "and "
      "6 GHz; those of other frequencies stand in for them\n"
      "          - {material: floorboard, thickness_m: 0.02}\n"
      "            ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^\n" HINT },
    { "the same, measured in two",
      HEAD GROUND FLOORBOARD "    measured: [{band_ghz: 2.4, loss_db: 2}, {band_ghz: 5, loss_db: 3}]\n",
      "t.house.yaml:11:9: take care: construct 'deck': layer 1: no published values of 'floorboard' are known at 6 "
      "GHz; "
      "those of other frequencies stand in for them\n"
      "          - {material: floorboard, thickness_m: 0.02}\n"
      "            ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^\n" HINT },
    { "the same, measured in all",
      HEAD GROUND FLOORBOARD "    measured: [{band_ghz: 2.4, loss_db: 2}, {band_ghz: 5, loss_db: 3}, "
                             "{band_ghz: 6, loss_db: 3}]\n",
      "" },
};

#define PLOT                                                                                                      \
    HEAD "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n"          \
         "  garden: {level_m: 0, height_m: 2.5, outline: [[10, 0], [30, 0], [30, 8], [10, 8]], open_air: true}\n" \
         "walls:\n"
#define WALL(id, floor, rest) "  " id ": {floor: " floor ", construct: concrete_150, " rest "}\n"

/* How many warnings, and what the first one holds. */
static const struct {
    const char *what, *house;
    unsigned n;
    const char *holds;
} COUNTED[] = {
    { "walls where they belong",
      PLOT WALL("a", "ground", "line: [[0, 0], [10, 0], [10, 8]]") WALL("b", "ground", "line: [[5, 0], [5, 8]]"), 0,
      "" },
    { "an outer leaf", PLOT WALL("a", "ground", "line: [[-0.3, -0.3], [10.3, -0.3]]"), 0, "" },
    { "ten times as far", PLOT WALL("a", "ground", "line: [[24, 0], [24, 3]]"), 1,
      "wall 'a': it reaches outside the outline of floor 'ground': [24.00, 0.00] is 14.00 m off" },
    { "one end astray", PLOT WALL("a", "ground", "line: [[5, 4], [5, 9]]"), 1, "[5.00, 9.00] is 1.00 m off" },
    { "a garden wall", PLOT WALL("a", "garden", "line: [[31, 0], [40, 3]]"), 0, "" },
    { "across the notch of an outline",
      HEAD "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [6, 8], [6, 4], [4, 4], "
           "[4, 8], [0, 8]]}\nwalls:\n" WALL("a", "ground", "line: [[1, 7], [9, 7]]"),
      1, "1.00 m off" },
    { "drawn twice",
      PLOT WALL("a", "ground", "line: [[0, 0], [5, 0], [5, 8]]") WALL("b", "ground", "line: [[5, 7], [5, 2]]"), 1,
      "wall 'b': 5.00 m of it lie on wall 'a', from [5.00, 2.00] on" },
    { "drawn twice, by hand",
      PLOT WALL("a", "ground", "line: [[5, 0], [5, 8]]") WALL("b", "ground", "line: [[5.02, 1], [4.99, 3]]"), 1,
      "2.00 m of it" },
    { "one above the other",
      PLOT WALL("a", "ground", "line: [[5, 0], [5, 8]], height_m: 1")
          WALL("b", "ground", "line: [[5, 0], [5, 8]], base_m: 1"),
      0, "" },
    { "one behind the other",
      PLOT WALL("a", "ground", "line: [[1, 4], [5, 4]]") WALL("b", "ground", "line: [[5, 4], [9, 4]]"), 0, "" },
    { "two leaves",
      PLOT WALL("a", "ground", "line: [[5, 0], [5, 8]]") WALL("b", "ground", "line: [[5.15, 0], [5.15, 8]]"), 0, "" },
    { "a corner", PLOT WALL("a", "ground", "line: [[5, 0], [5, 4]]") WALL("b", "ground", "line: [[5, 4], [9, 4]]"), 0,
      "" },
    { "on two floors",
      PLOT WALL("a", "ground", "line: [[10, 0], [10, 8]]") WALL("b", "garden", "line: [[10, 0], [10, 8]]"), 0, "" },
};

static struct str text_of(struct check_run *c)
{
    struct buf out = { .arena = c->run.arena };
    rt_problems_format(&c->problems, &out);
    return buf_done(&out);
}

#define ROOMS                                                                                                         \
    "parts_file: ../tests/houses/wire.parts.yaml\n"                                                                   \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n"                   \
    "rooms:\n  den: {floor: ground, outline: [[0, 0], [5, 0], [5, 8], [0, 8]], use: living}\n"                        \
    "  hall: {floor: ground, outline: [[5, 0], [10, 0], [10, 8], [5, 8]], use: hall}\n"                               \
    "segments:\n  home: {vlan: 10}\n"                                                                                 \
    "line: {kind: fibre, down_mbps: 100, up_mbps: 20, floor: ground, at_m: [9, 1, 1], box: {mode: modem}}\n"          \
    "equipment:\n  gw: {part: gate, room: den, at_m: [1, 1, 1]}\n  sw: {part: feeder, room: hall, at_m: [6, 1, 1]}\n" \
    "  fed: {part: fed, room: hall, at_m: [7, 1, 1]}\n"                                                               \
    "devices:\n  rec: {kind: recorder, room: hall, at_m: [6, 2, 1], segment: home, link: wired}\n"                    \
    "  eye: {kind: camera, room: hall, at_m: [6, 3, 1], segment: home, link: wired, poe_class: 3}\n"

/* What takes its power over its data cable needs no lead; what stands beside the battery, neither. */
TEST(a_battery_that_feeds_other_rooms)
{
    static const struct {
        const char *battery, *told;
    } ROWS[] = {
        { "{part: cell_lead, room: den, feeds: [gw, fed, eye]}", NULL },
        { "{part: cell_lead, room: hall, feeds: [sw, rec, line]}", NULL },
        { "{part: cell_lead, feeds: [gw, sw]}", NULL }, /* nobody says where it stands */
        { "{part: cell_lead, room: den, feeds: [gw, sw]}",
          "battery 'b' (room 'den') feeds what stands in other rooms: 'sw' ('hall')" },
        { "{part: cell_lead, room: den, feeds: [line, gw, rec]}",
          "battery 'b' (room 'den') feeds what stands in other rooms: the line's box ('hall'), 'rec' ('hall')" },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        struct check_run c = check_run_begin();
        struct house *h = NULL;
        const char *text = arena_printf(c.run.arena, "%s%sbatteries:\n  b: %s\n", HEAD, ROOMS, ROWS[i].battery);
        const char *path = check_path(&c, "houses/t.house.yaml");
        CHECK("read", house_read_bytes(&c.run, path, str_from(text), &h, &c.problems) == RT_OK && h);
        uint32_t n = 0;
        for (uint32_t k = 0; k < c.problems.list.n; k++)
            if (memmem(c.problems.list.v[k].msg, strlen(c.problems.list.v[k].msg), "battery", 7)) {
                CHECK(ROWS[i].battery, ROWS[i].told);
                CHECK_TEXT(ROWS[i].battery, str_from(c.problems.list.v[k].msg), str_from(ROWS[i].told));
                n++;
            }
        CHECK_NEAR("once", n, ROWS[i].told != NULL, 0, "");
        check_run_end(&c);
    }
}

TEST(a_material_that_nobody_measured_there)
{
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        struct house *h = NULL;
        CHECK(CASES[i].what,
              house_read_bytes(&c.run, "t.house.yaml", str_from(CASES[i].house), &h, &c.problems) == RT_OK && h);
        CHECK_TEXT(CASES[i].what, text_of(&c), str_from(CASES[i].told));
        CHECK_NEAR(CASES[i].what, c.problems.n_errors, 0, 0, "");
        check_run_end(&c);
    }
}

TEST(walls_where_nobody_meant_them)
{
    for (size_t i = 0; i < RT_COUNT(COUNTED); i++) {
        struct check_run c = check_run_begin();
        struct house *h = NULL;
        CHECK_OK(&c, house_read_bytes(&c.run, "t.house.yaml", str_from(COUNTED[i].house), &h, &c.problems));
        CHECK_NEAR(COUNTED[i].what, c.problems.n_warnings, COUNTED[i].n, 0, "warnings");
        const struct str told = text_of(&c);
        CHECK(COUNTED[i].what, COUNTED[i].n == 0 || memmem(told.p, told.n, COUNTED[i].holds, strlen(COUNTED[i].holds)));
        check_run_end(&c);
    }
}

TEST(two_things_on_one_mount)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    const char *path = arena_printf(c.run.arena, "%s/t.house.yaml", check_path(&c, "parts"));
    const char *text =
        "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"
        "parts_file: demo.parts.yaml\n"
        "floors: {ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [9, 0], [9, 8]]}}\n"
        "mounts: {shelf: {floor: ground, at_m: [6, 3, 2], surface: shelf, use: [access_point]}}\n"
        "equipment:\n  a1: {part: ceiling_two_band, mount: shelf}\n  a2: {part: ceiling_two_band, mount: shelf}\n";
    CHECK_OK(&c, house_read_bytes(&c.run, path, str_from(text), &h, &c.problems));
    CHECK_NEAR("warnings", c.problems.n_warnings, 1, 0, "");
    const struct str told = text_of(&c), want = STR("equipment 'a2': mount 'shelf' holds 'a1' already");
    CHECK("told", memmem(told.p, told.n, want.p, want.n) != NULL && c.problems.list.v[0].at.line == 11);
    check_run_end(&c);
}

/* What has to be mended first is told first, alone. */
TEST(errors_come_without_warnings)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    const char *text = HEAD GROUND FLOORBOARD "rooms: {hall: {floor: cellar, outline: [[0, 0], [1, 0], [1, 1]]}}\n";
    CHECK("refused", house_read_bytes(&c.run, "t.house.yaml", str_from(text), &h, &c.problems) == RT_UNKNOWN_REF);
    CHECK_NEAR("warnings", c.problems.n_warnings, 0, 0, "");
    check_run_end(&c);
}

TEST(prices_in_another_currency)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    const char *path = arena_printf(c.run.arena, "%s/t.house.yaml", check_path(&c, "parts"));
    const char *text = "rooftree: 1\nname: Test\ncountry: JP\ntime_zone: Asia/Tokyo\ncurrency: JPY\n"
                       "parts_file: demo.parts.yaml\n"
                       "floors: {ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [9, 0], [9, 8]]}}\n";
    CHECK_OK(&c, house_read_bytes(&c.run, path, str_from(text), &h, &c.problems));
    CHECK_NEAR("warnings", c.problems.n_warnings, 1, 0, "");
    CHECK("its place", c.problems.list.n == 1 && c.problems.list.v[0].at.line == 5 && c.problems.list.v[0].is_warning);
    check_run_end(&c);
}

/* What lies over which storey, and which storeys are one building, whatever their shape and their order in the file. */
#include "check.h"
#include "house/house.h"

#define HEAD                                                                                            \
    "rooftree: 1\nname: Test house\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\nparts_file: " \
    "../parts/demo.parts.yaml\nfloors:\n"
/* Arms of 4 m, 14 m long: the centre of the area lies in the missing quarter. */
#define ELL "outline: [[0, 0], [14, 0], [14, 4], [4, 4], [4, 14], [0, 14]] }\n"
#define GROUND_ELL "  ground: { level_m: 0, height_m: 2.5, " ELL
#define FIRST_ELL "  first: { level_m: 2.75, height_m: 2.5, " ELL
#define RECT(id, level, x0, y0, x1, y1)                                                                         \
    "  " id ": { level_m: " level ", height_m: 2.5, outline: [[" x0 ", " y0 "], [" x1 ", " y0 "], [" x1 ", " y1 \
    "], [" x0 ", " y1 "]] }\n"

static struct house *house_of(struct check_run *c, const char *floors)
{
    struct house *h = NULL;
    const struct str all = str_from(arena_printf(c->run.arena, HEAD "%s", floors));
    CHECK_OK(c, house_read_bytes(&c->run, check_path(c, "houses/larch_end.house.yaml"), all, &h, &c->problems));
    return h;
}

static uint32_t floor_named(const struct house *h, const char *id) { return house_find_floor(h, str_from(id)); }

TEST(one_building_or_two)
{
    static const struct {
        const char *what, *floors, *a, *b;
        bool is_one;
    } CASES[] = {
        { "two equal storeys round a corner", GROUND_ELL FIRST_ELL, "ground", "first", true },
        { "the upper one first", FIRST_ELL GROUND_ELL, "ground", "first", true },
        { "a small attic before the ground floor", RECT("attic", "2.75", "9", "1", "12", "3") GROUND_ELL, "ground",
          "attic", true },
        { "a shed in the missing quarter", GROUND_ELL RECT("shed", "0", "7", "7", "10", "10"), "ground", "shed",
          false },
        { "a shed against the wall", GROUND_ELL RECT("shed", "0", "14", "0", "17", "3"), "ground", "shed", false },
        { "the upper storey reaches over the shared wall's width only",
          RECT("ground", "0", "0", "0", "8", "6") RECT("next", "0", "8", "0", "14", "6")
              RECT("first", "2.75", "0", "0", "8.25", "6"),
          "first", "next", false },
        { "two wings under one storey",
          RECT("west", "0", "0", "0", "4", "6") RECT("east", "0", "6", "0", "10", "6")
              RECT("first", "2.75", "0", "0", "10", "6"),
          "west", "east", true },
        { "the same, told from above",
          RECT("first", "2.75", "0", "0", "10", "6") RECT("west", "0", "0", "0", "4", "6")
              RECT("east", "0", "6", "0", "10", "6"),
          "west", "east", true },
        { "cellar and roof, which share nothing but what stands between",
          RECT("cellar", "-2.75", "0", "0", "4", "6") RECT("loft", "2.75", "6", "0", "10", "6")
              RECT("ground", "0", "0", "0", "10", "6"),
          "cellar", "loft", true },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        const struct house *h = house_of(&c, CASES[i].floors);
        const uint32_t a = h->floors.v[floor_named(h, CASES[i].a)].building;
        const uint32_t b = h->floors.v[floor_named(h, CASES[i].b)].building;
        CHECK(CASES[i].what, (a == b) == CASES[i].is_one);
        CHECK("told by one of them that stands first", h->floors.v[a].building == a && h->floors.v[b].building == b);
        check_run_end(&c);
    }
}

TEST(what_lies_over_a_ceiling)
{
    static const struct {
        const char *what, *floors, *low, *high; /* high "": nothing */
    } CASES[] = {
        { "two equal storeys round a corner", GROUND_ELL FIRST_ELL, "ground", "first" },
        { "the upper one first", FIRST_ELL GROUND_ELL, "ground", "first" },
        { "over the upper one lies nothing", GROUND_ELL FIRST_ELL, "first", "" },
        { "a room in the roof", GROUND_ELL RECT("attic", "2.75", "9", "1", "12", "3"), "ground", "attic" },
        { "one storey over both wings",
          RECT("west", "0", "0", "0", "4", "6") RECT("east", "0", "6", "0", "10", "6")
              RECT("first", "2.75", "0", "0", "10", "6"),
          "east", "first" },
        { "a jetty of half a metre is no ceiling",
          RECT("ground", "0", "0", "0", "8", "6") RECT("lean_to", "0", "8", "0", "11", "6")
              RECT("first", "2.75", "0", "0", "8.5", "6"),
          "lean_to", "" },
        { "the one that covers more of it",
          RECT("small", "2.75", "0", "0", "3", "6") RECT("large", "2.75", "3", "0", "8", "6")
              RECT("ground", "0", "0", "0", "8", "6"),
          "ground", "large" },
        { "no storey two metres higher", RECT("ground", "0", "0", "0", "8", "6") RECT("top", "4.6", "0", "0", "8", "6"),
          "ground", "" },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        const struct house *h = house_of(&c, CASES[i].floors);
        const uint32_t above = h->floors.v[floor_named(h, CASES[i].low)].above;
        CHECK_TEXT(CASES[i].what, above == NO_REF ? STR("") : h->floors.v[above].id, str_from(CASES[i].high));
        check_run_end(&c);
    }
}

TEST(open_ground_is_no_building)
{
    struct check_run c = check_run_begin();
    const struct house *h = house_of(&c, GROUND_ELL "  garden: { level_m: 0, height_m: 2.5, open_air: true, " ELL);
    CHECK("garden", h->floors.v[1].building == NO_REF && h->floors.v[1].above == NO_REF);
    CHECK("house", h->floors.v[0].building == 0 && h->floors.v[0].above == NO_REF);
    check_run_end(&c);
}

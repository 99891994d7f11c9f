/* The ground that walls close in.  Expected areas are worked out by hand from the drawn lengths (elementary geometry); of the demo
 * houses, whose rooms and walls were written apart, the room that is written there. */
#include <string.h>

#include "check.h"
#include "house/enclosure.h"

#define HEAD                                                                          \
    "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n" \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\nwalls:\n"
#define WALL(id, line) "  " id ": {floor: ground, construct: concrete_150, line: " line "}\n"
#define BOX WALL("box", "[[0, 0], [10, 0], [10, 8], [0, 8], [0, 0]]")

static const struct {
    const char *what, *house;
    struct vec2 at;
    double area_m2;
    uint32_t corners;
    bool by_edge;
} CASES[] = {
    { "four walls in one line", HEAD BOX, { 5, 4 }, 80, 4, false },
    { "half of it", HEAD BOX WALL("middle", "[[4, 0], [4, 8]]"), { 1, 1 }, 32, 4, false },
    { "and the other half", HEAD BOX WALL("middle", "[[4, 0], [4, 8]]"), { 9, 1 }, 48, 4, false },
    { "a wall that crosses another beyond the box",
      HEAD BOX WALL("middle", "[[4, -1], [4, 9]]"),
      { 1, 1 },
      32,
      4,
      false },
    { "a wall drawn only to the faces of the others",
      HEAD BOX WALL("middle", "[[4, 0.075], [4, 7.925]]"),
      { 1, 1 },
      32,
      4,
      false },
    { "a corner of two walls that stop at its faces",
      HEAD WALL("s", "[[0, 0], [9.93, 0]]") WALL("e", "[[10, 0.07], [10, 8]]") WALL("n", "[[10, 8], [0, 8]]")
          WALL("w", "[[0, 8], [0, 0]]"),
      { 5, 4 },
      80,
      4,
      false },
    { "a stump that ends in the room", HEAD BOX WALL("stump", "[[4, 0], [4, 3], [5, 3]]"), { 1, 1 }, 80, 4, false },
    { "a cupboard on a stump: its own ground",
      HEAD BOX WALL("in", "[[4, 0], [4, 3], [5, 3], [5, 4], [4, 4], [4, 3]]"),
      { 4.5, 3.5 },
      1,
      4,
      false },
    { "and the room around it",
      HEAD BOX WALL("in", "[[4, 0], [4, 3], [5, 3], [5, 4], [4, 4], [4, 3]]"),
      { 1, 1 },
      80,
      4,
      false },
    { "a corner cut off", HEAD BOX WALL("slope", "[[0, 4], [4, 8]]"), { 1, 7 }, 8, 3, false },
    { "what is left of it", HEAD BOX WALL("slope", "[[0, 4], [4, 8]]"), { 5, 4 }, 72, 5, false },
    { "round a corner", HEAD BOX WALL("in", "[[6, 0], [6, 5], [0, 5]]"), { 8, 1 }, 50, 6, false },
    { "a wall that hangs closes nothing",
      HEAD BOX "  beam: {floor: ground, construct: concrete_150, base_m: 2.1, line: [[4, 0], [4, 8]]}\n",
      { 1, 1 },
      80,
      4,
      false },
    { "a door does not open a room",
      HEAD BOX "  middle: {floor: ground, construct: concrete_150, line: [[4, 0], [4, 8]], openings: [{kind: gap, "
               "at_m: 1, width_m: 1, head_m: 2}]}\n",
      { 1, 1 },
      32,
      4,
      false },
    { "one side is the floor's own edge",
      HEAD WALL("three", "[[0, 0], [0, 8], [10, 8], [10, 0]]"),
      { 5, 4 },
      80,
      4,
      true },
    { "one wall across a floor without others", HEAD WALL("middle", "[[4, 0], [4, 8]]"), { 5, 4 }, 48, 4, true },
};

static struct house *read(struct check_run *c, const char *text)
{
    struct house *h = NULL;
    CHECK_OK(c, house_read_bytes(&c->run, "t.house.yaml", str_from(text), &h, &c->problems));
    return h;
}

TEST(the_room_around_a_spot)
{
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        struct enclosure found = { 0 };
        const struct house *h = read(&c, CASES[i].house);
        CHECK_OK(&c, enclosure_find(h, 0, CASES[i].at, c.run.arena, &found, &c.problems));
        CHECK_NEAR(CASES[i].what, polygon_area_m2(found.outline), CASES[i].area_m2, 1e-9, "m2");
        CHECK(CASES[i].what, found.outline.n == CASES[i].corners);
        CHECK(CASES[i].what, found.by_edge == CASES[i].by_edge);
        check_run_end(&c);
    }
}

TEST(a_spot_outside_has_no_room)
{
    struct check_run c = check_run_begin();
    struct enclosure found;
    const struct house *h = read(&c, HEAD BOX WALL("garden", "[[10, 4], [12, 4]]"));
    struct buf said = { .arena = c.run.arena };
    CHECK("refused", enclosure_find(h, 0, (struct vec2){ 11, 3 }, c.run.arena, &found, &c.problems) == RT_GEOMETRY);
    rt_problems_format(&c.problems, &said);
    const char *text = arena_printf(c.run.arena, "%.*s", STR_ARG(buf_done(&said)));
    CHECK("says where", strstr(text, "wall 'garden' ends in the open at [12.00, 4.00]") != NULL);
    check_run_end(&c);
}

/* Every room of a demo house whose walls stand on its outline is found from its middle. */
static void check_rooms(const char *path, uint32_t least)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    uint32_t n = 0;
    CHECK_OK(&c, house_read(&c.run, check_path(&c, path), &h, &c.problems));
    for (uint32_t i = 0; i < h->rooms.n; i++) {
        const struct room *r = &h->rooms.v[i];
        struct enclosure found;
        if (h->floors.v[r->floor.i].open_air ||
            enclosure_find(h, r->floor.i, polygon_centre(r->outline), c.run.arena, &found, &c.problems) != RT_OK)
            continue;
        const double written_m2 = polygon_area_m2(r->outline);
        if (fabs(polygon_area_m2(found.outline) - fabs(written_m2)) < 0.01)
            n++;
    }
    CHECK(path, n >= least);
    check_run_end(&c);
}

TEST(rooms_of_the_quay_flat) { check_rooms("houses/quay_flat.house.yaml", 5); }

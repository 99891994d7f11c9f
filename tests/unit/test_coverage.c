#include "promise/coverage.h"

#include <math.h>

#include "check.h"

/* A room of 4 x 5 cells whose values are 1 .. 20 in some order, one radio. */
enum { NX = 4, NY = 5, CELLS = NX * NY };

struct bench {
    struct house h;
    struct fields f;
    struct floor floor;
    struct room rooms[2];
    struct grid grid;
    bool inside[CELLS];
    uint32_t room[CELLS];
    float gain[CELLS];
    float *gains[1];
};

/* The rooms that a promise names. */
static struct ref BOTH[] = { { .i = 0 }, { .i = 1 } };

static void build(struct bench *b)
{
    *b = (struct bench){ .rooms = { { .id = STR("a"), .use = USE_LIVING }, { .id = STR("b"), .use = USE_OUTDOOR } } };
    b->h.rooms.v = b->rooms;
    b->h.rooms.n = 2;
    for (uint32_t i = 0; i < CELLS; i++) {
        b->gain[i] = (float)(1 + (i * 7) % CELLS);
        b->inside[i] = true;
    }
    b->grid = (struct grid){ .cell_m = 0.5, .height_m = 1.2, .nx = NX, .ny = NY, .inside = b->inside, .room = b->room };
    b->f.grids.v = &b->grid;
    b->f.grids.n = 1;
    b->f.radios.n = 1;
    b->gains[0] = b->gain;
    b->f.gain_db = b->gains;
}

static uint32_t gain_value(const void *user, const struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy,
                           double *value)
{
    (void)user;
    *value = (double)field_gain_db(f, grid, 0, ix, iy);
    return 0;
}

/* Worked by hand: of the values 1 .. 20, 90 % of the area are the 18 largest, so 3 is what that share reaches. */
TEST(share_and_reached_value_of_a_room)
{
    struct check_run c = check_run_begin();
    struct bench b;
    build(&b);
    static const struct {
        double area_share, threshold, reached, share;
        bool kept;
    } CASES[] = {
        { 0.90, 3.0, 3.0, 0.90, true },  { 0.90, 3.5, 3.0, 0.85, false }, { 1.00, 1.0, 1.0, 1.00, true },
        { 1.00, 1.5, 1.0, 0.95, false }, { 0.95, 2.0, 2.0, 0.95, true },  { 0.50, 11.0, 11.0, 0.50, true },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const struct promise promise = { .area_share = CASES[i].area_share,
                                         .height_m = (double)NAN,
                                         .rooms = { BOTH, 1 } };
        const struct room_demand demand = { .judge = gain_value, .threshold = CASES[i].threshold };
        struct coverage got;
        CHECK_OK(&c, coverage_of_promise(&c.run, &b.h, &b.f, &promise, &demand, &got, &c.problems));
        CHECK_NEAR("rooms", got.n_rooms, 1, 0, "");
        CHECK_NEAR("reached", got.rooms[0].reached, CASES[i].reached, 1e-9, "");
        CHECK_NEAR("share", got.rooms[0].share, CASES[i].share, 1e-9, "");
        CHECK("kept", got.kept == CASES[i].kept);
        CHECK_NEAR("worst", got.rooms[0].worst, 1.0, 0, "");
        CHECK_NEAR("where", b.gain[got.rooms[0].spot.iy * NX + got.rooms[0].spot.ix], 1.0, 0, "");
    }
    check_run_end(&c);
}

TEST(each_room_is_judged_by_itself)
{
    struct check_run c = check_run_begin();
    struct bench b;
    build(&b);
    b.rooms[1].use = USE_BEDROOM;
    for (uint32_t i = 0; i < CELLS; i++) /* the two worst cells are a room of their own */
        b.room[i] = b.gain[i] <= 2.0f;
    const struct promise promise = { .area_share = 0.90, .height_m = (double)NAN, .rooms = { BOTH, 2 } };
    const struct room_demand demand = { .judge = gain_value, .threshold = 3.0 };
    struct coverage got;
    CHECK_OK(&c, coverage_of_promise(&c.run, &b.h, &b.f, &promise, &demand, &got, &c.problems));
    CHECK_NEAR("rooms", got.n_rooms, 2, 0, "");
    CHECK("not kept, though 90 % of the house is", !got.kept);
    CHECK_NEAR("worst room", got.rooms[got.worst].room, 1, 0, "");
    CHECK_NEAR("margin", got.margin, -2.0, 1e-9, "");
    check_run_end(&c);
}

/* A room in which no cell lies is told, whatever holds in the others. */
TEST(a_room_without_a_cell_is_told)
{
    struct check_run c = check_run_begin();
    struct bench b;
    build(&b);
    for (uint32_t i = 0; i < CELLS; i++)
        b.room[i] = 1;
    const struct room_demand demand = { .judge = gain_value, .threshold = 0.0 };
    for (uint32_t n = 1; n <= 2; n++) {
        const struct promise promise = { .area_share = 0.9, .height_m = (double)NAN, .rooms = { BOTH, n } };
        struct coverage got;
        CHECK_OK(&c, coverage_of_promise(&c.run, &b.h, &b.f, &promise, &demand, &got, &c.problems));
        CHECK_NEAR("judged", got.n_rooms, n - 1, 0, "rooms");
        CHECK_NEAR("the other", got.unjudged, 0, 0, "room");
        CHECK("of those judged", got.kept);
    }
    const struct promise second = { .area_share = 0.9, .height_m = (double)NAN, .rooms = { BOTH + 1, 1 } };
    struct coverage got;
    CHECK_OK(&c, coverage_of_promise(&c.run, &b.h, &b.f, &second, &demand, &got, &c.problems));
    CHECK("all are judged", got.n_rooms == 1 && got.unjudged == NO_REF);
    check_run_end(&c);
}

/* Worked by hand: a roof rises from 0.2 m at y = 0 to 2.7 m at y = 2.5, so at 1.2 m, the grid's height, it is met at y = 1.0: the
 * rows at 0.25 and 0.75 m are above it, those at 1.25 m and beyond are in the room.  A roof of another floor, and a stair of the
 * same shape, change nothing. */
TEST(spots_above_a_sloping_roof_are_not_in_the_room)
{
    struct check_run c = check_run_begin();
    static struct vec3 corners[] = { { 0, 0, 0.2 }, { 2, 0, 0.2 }, { 2, 2.5, 2.7 }, { 0, 2.5, 2.7 } };
    static struct vec3 other_way[] = { { 0, 2.5, 2.7 }, { 2, 2.5, 2.7 }, { 2, 0, 0.2 }, { 0, 0, 0.2 } };
    static const struct {
        const char *what;
        enum plane_kind kind;
        uint32_t floor;
        bool turned;
        uint32_t cells;
    } CASES[] = { { "roof", PLANE_ROOF, 0, false, CELLS - 2 * NX },
                  { "roof, corners the other way round", PLANE_ROOF, 0, true, CELLS - 2 * NX },
                  { "roof of another floor", PLANE_ROOF, 1, false, CELLS },
                  { "stair", PLANE_STAIR, 0, false, CELLS } };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct bench b;
        build(&b);
        struct plane plane = { .kind = CASES[i].kind,
                               .floor.i = CASES[i].floor,
                               .outline = { .v = CASES[i].turned ? other_way : corners, .n = 4 } };
        b.h.planes.v = &plane;
        b.h.planes.n = 1;
        const struct promise promise = { .area_share = 1.0, .height_m = (double)NAN, .rooms = { BOTH, 1 } };
        const struct room_demand demand = { .judge = gain_value, .threshold = 0.0 };
        struct coverage got;
        CHECK_OK(&c, coverage_of_promise(&c.run, &b.h, &b.f, &promise, &demand, &got, &c.problems));
        CHECK_NEAR(CASES[i].what, got.rooms[0].n_cells, CASES[i].cells, 0, "cells");
        CHECK(CASES[i].what, CASES[i].cells == CELLS || got.rooms[0].spot.at_m.y > 1.0);
    }
    check_run_end(&c);
}

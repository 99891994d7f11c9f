/* Outlines: areas and centres worked by hand; overlaps of shapes whose answer is plain to see. */
#include "check.h"
#include "house/polygon.h"

#define OUTLINE(...)                              \
    ((vec2_list){ (struct vec2[]){ __VA_ARGS__ }, \
                  (uint32_t)(sizeof((struct vec2[]){ __VA_ARGS__ }) / sizeof(struct vec2)) })
#define RECT(x0, y0, x1, y1) OUTLINE({ x0, y0 }, { x1, y0 }, { x1, y1 }, { x0, y1 })
/* A room round a corner: 4 x 4 less its upper right quarter. */
#define CORNER OUTLINE({ 0, 0 }, { 4, 0 }, { 4, 2 }, { 2, 2 }, { 2, 4 }, { 0, 4 })

static const double TOL_M = 0.01;

TEST(area_has_the_sign_of_the_turn)
{
    CHECK_NEAR("left round", polygon_area_m2(RECT(0, 0, 4, 3)), 12, 1e-12, "m2");
    CHECK_NEAR("right round", polygon_area_m2(OUTLINE({ 0, 0 }, { 0, 3 }, { 4, 3 }, { 4, 0 })), -12, 1e-12, "m2");
    CHECK_NEAR("round a corner", polygon_area_m2(CORNER), 12, 1e-12, "m2");
    CHECK_NEAR("far from the origin", polygon_area_m2(RECT(900, 900, 900.5, 900.5)), 0.25, 1e-9, "m2");
}

/* By parts: 2 x 4 about (1, 2) and 2 x 2 about (3, 1), areas 8 and 4. */
TEST(centre_is_that_of_the_area)
{
    const struct vec2 c = polygon_centre(CORNER);
    CHECK_NEAR("x", c.x, (8 * 1.0 + 4 * 3.0) / 12, 1e-12, "m");
    CHECK_NEAR("y", c.y, (8 * 2.0 + 4 * 1.0) / 12, 1e-12, "m");
}

TEST(edges_count_as_inside)
{
    CHECK("inside", polygon_contains(CORNER, (struct vec2){ 1, 3 }));
    CHECK("in the missing quarter", !polygon_contains(CORNER, (struct vec2){ 3, 3 }));
    CHECK("on an edge", polygon_contains(CORNER, (struct vec2){ 2, 3 }));
    CHECK("on a corner", polygon_contains(CORNER, (struct vec2){ 4, 2 }));
    CHECK("level with a corner, outside", !polygon_contains(CORNER, (struct vec2){ 5, 2 }));
    CHECK("level with a corner, inside", polygon_contains(CORNER, (struct vec2){ 1, 2 }));
}

TEST(two_outlines)
{
    static const enum polygon_answer YES = POLYGON_YES, NO = POLYGON_NO;
    const struct {
        const char *what;
        vec2_list a, b;
        enum polygon_answer overlap, within;
    } CASES[] = {
        { "far apart", RECT(0, 0, 1, 1), RECT(5, 5, 6, 6), NO, NO },
        { "a shared edge", RECT(0, 0, 4, 3), RECT(4, 0, 8, 3), NO, NO },
        { "part of an edge shared", RECT(0, 0, 4, 3), RECT(4, 1, 8, 9), NO, NO },
        { "a shared corner", RECT(0, 0, 4, 3), RECT(4, 3, 8, 6), NO, NO },
        { "half a centimetre over", RECT(0, 0, 4, 3), RECT(3.995, 0, 8, 3), NO, NO },
        { "five centimetres over", RECT(0, 0, 4, 3), RECT(3.95, 0, 8, 3), YES, NO },
        { "one in the other", RECT(1, 1, 2, 2), RECT(0, 0, 4, 3), YES, YES },
        { "the same", RECT(0, 0, 4, 3), RECT(0, 0, 4, 3), YES, YES },
        { "the same, the other way round", RECT(0, 0, 4, 3), OUTLINE({ 0, 0 }, { 0, 3 }, { 4, 3 }, { 4, 0 }), YES,
          YES },
        { "upper and lower edges shared", RECT(0, 0, 4, 3), RECT(2, 0, 6, 3), YES, NO },
        { "inside, three edges shared", RECT(0, 0, 2, 3), RECT(0, 0, 6, 3), YES, YES },
        { "a cross", RECT(1, 0, 2, 5), RECT(0, 2, 5, 3), YES, NO },
        { "in the crook", RECT(2, 2, 4, 4), CORNER, NO, NO },
        { "across the crook", RECT(1, 1, 3, 3), CORNER, YES, NO },
        { "all corners inside, an edge not", OUTLINE({ 0, 4 }, { 4, 0 }, { 0, 0 }), CORNER, YES, YES },
        { "round the crook", OUTLINE({ 1, 4 }, { 4, 1 }, { 0, 0 }), CORNER, YES, NO },
        { "a triangle on an edge", OUTLINE({ 1, 3 }, { 3, 3 }, { 2, 5 }), RECT(0, 0, 4, 3), NO, NO },
    };
    struct check_run c = check_run_begin();
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct vec2 at;
        CHECK(CASES[i].what, polygons_overlap(CASES[i].a, CASES[i].b, TOL_M, c.run.arena, &at) == CASES[i].overlap);
        CHECK(CASES[i].what, polygons_overlap(CASES[i].b, CASES[i].a, TOL_M, c.run.arena, &at) == CASES[i].overlap);
        CHECK(CASES[i].what, polygon_within(CASES[i].a, CASES[i].b, TOL_M, c.run.arena, &at) == CASES[i].within);
    }
    check_run_end(&c);
}

TEST(crossings_of_itself)
{
    const struct {
        const char *what;
        vec2_list outline;
        bool want;
    } CASES[] = {
        { "a rectangle", RECT(0, 0, 4, 3), false },
        { "round a corner", CORNER, false },
        { "a bow tie", OUTLINE({ 0, 0 }, { 4, 3 }, { 4, 0 }, { 0, 3 }), true },
        { "a spike back along its side", OUTLINE({ 0, 0 }, { 4, 0 }, { 2, 0 }, { 2, 3 }), true },
        { "a corner on a side", OUTLINE({ 0, 0 }, { 4, 0 }, { 4, 3 }, { 2, 0 }, { 0, 3 }), true },
        { "a point in the middle of a side", OUTLINE({ 0, 0 }, { 2, 0 }, { 4, 0 }, { 4, 3 }), false },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        uint32_t side, other;
        CHECK(CASES[i].what, polygon_crosses_itself(CASES[i].outline, &side, &other) == CASES[i].want);
    }
}

/* Turned, shifted and mirrored, two rectangles overlap or not as they did. */
PROP(overlap_knows_no_place, 300)
{
    struct check_run c = check_run_begin();
    const double w = random_between(r, 0.5, 5), d = random_between(r, -1, 1), turn = random_between(r, 0, 6.28);
    const struct vec2 shift = { random_between(r, -200, 200), random_between(r, -200, 200) };
    struct vec2 p[2][4];
    for (int k = 0; k < 2; k++)
        for (int i = 0; i < 4; i++) {
            const double x = (k ? w + d : 0) + (i == 1 || i == 2 ? w : 0), y = i >= 2 ? 3 : 0;
            p[k][i] = (struct vec2){ shift.x + x * cos(turn) - y * sin(turn), shift.y + x * sin(turn) + y * cos(turn) };
        }
    struct vec2 at;
    if (fabs(d) > 0.03) /* well clear of the tolerance */
        CHECK("overlap", polygons_overlap((vec2_list){ p[0], 4 }, (vec2_list){ p[1], 4 }, TOL_M, c.run.arena, &at) ==
                             (d < 0 ? POLYGON_YES : POLYGON_NO));
    check_run_end(&c);
}

PROP(the_inner_point_is_inside, 300)
{
    struct check_run c = check_run_begin();
    struct vec2 p[12];
    for (int i = 0; i < 12; i++) { /* a star: simple whatever the radii */
        const double radius = random_between(r, 0.3, 5), angle = i * 3.14159265358979 / 6;
        p[i] = (struct vec2){ radius * cos(angle), radius * sin(angle) };
    }
    struct vec2 at = { 0, 0 };
    const vec2_list star = { p, 12 };
    CHECK("found", polygon_inner_point(star, c.run.arena, &at));
    CHECK("inside", polygon_contains(star, at) && polygon_edge_distance_m(star, at) > 1e-3);
    check_run_end(&c);
}

/* By parts: what two outlines share is worked as rectangles. */
TEST(the_area_that_two_share)
{
    const struct {
        const char *what;
        vec2_list a, b;
        double m2;
    } CASES[] = {
        { "far apart", RECT(0, 0, 1, 1), RECT(5, 5, 6, 6), 0 },
        { "a shared edge", RECT(0, 0, 4, 3), RECT(4, 0, 8, 3), 0 },
        { "a corner", RECT(0, 0, 4, 3), RECT(3, 1, 8, 9), 1 * 2 },
        { "the same", CORNER, CORNER, 12 },
        { "the same, the other way round", CORNER, OUTLINE({ 0, 4 }, { 2, 4 }, { 2, 2 }, { 4, 2 }, { 4, 0 }, { 0, 0 }),
          12 },
        { "begun elsewhere", CORNER, OUTLINE({ 2, 2 }, { 2, 4 }, { 0, 4 }, { 0, 0 }, { 4, 0 }, { 4, 2 }), 12 },
        { "one in the other", RECT(1, 1, 2, 2), RECT(0, 0, 4, 3), 1 },
        { "round the corner of the other", CORNER, RECT(1, 1, 3, 3), 4 - 1 },
        { "in the missing quarter", CORNER, RECT(2.5, 2.5, 4, 4), 0 },
        { "two corners, crossed", CORNER, OUTLINE({ 4, 4 }, { 0, 4 }, { 0, 2 }, { 2, 2 }, { 2, 0 }, { 4, 0 }), 8 },
        { "a slanted half", RECT(0, 0, 4, 4), OUTLINE({ 0, 0 }, { 4, 4 }, { 0, 4 }), 8 },
        { "far from the origin", RECT(900, 900, 904, 903), RECT(902, 901, 910, 910), 2 * 2 },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        CHECK_NEAR(CASES[i].what, polygons_shared_m2(CASES[i].a, CASES[i].b), CASES[i].m2, 1e-9, "m2");
        CHECK_NEAR(CASES[i].what, polygons_shared_m2(CASES[i].b, CASES[i].a), CASES[i].m2, 1e-9, "m2");
    }
}

TEST(the_middle_lies_inside)
{
    struct check_run c = check_run_begin();
    const vec2_list thin = OUTLINE({ 0, 0 }, { 14, 0 }, { 14, 4 }, { 4, 4 }, { 4, 14 }, { 0, 14 });
    const struct vec2 centre = polygon_middle(CORNER, c.run.arena), middle = polygon_middle(thin, c.run.arena);
    CHECK_NEAR("the centre where that is inside", centre.x, polygon_centre(CORNER).x, 0, "m");
    CHECK("the centre is not", !polygon_contains(thin, polygon_centre(thin)));
    CHECK("else well inside", polygon_contains(thin, middle) && polygon_edge_distance_m(thin, middle) > 1);
    check_run_end(&c);
}

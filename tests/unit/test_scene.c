/* Faces, planes and edges of small houses, counted and measured by hand; and how antennas lie. */
#include <math.h>

#include "house_kit.h"
#include "radio/scene_int.h"

static const struct plane_of_faces *plane_at(const struct scene *s, struct vec3 n, double d)
{
    for (uint32_t i = 0; i < s->planes.n; i++)
        if (fabs(fabs(vec3_dot(s->planes.v[i].n, n)) - 1.0) < 1e-9 &&
            fabs(plane_side_m(&s->planes.v[i], vec3_scale(n, d))) < 1e-6)
            return &s->planes.v[i];
    return NULL;
}

/* The edge whose line passes the point (and runs upright or level), or NULL. */
static const struct edge *edge_at(const struct scene *s, struct vec3 at, bool is_upright)
{
    for (uint32_t i = 0; i < s->edges.n; i++) {
        const struct edge *e = &s->edges.v[i];
        const struct vec3 r = vec3_sub(at, e->from);
        const double t = vec3_dot(r, e->axis);
        if ((fabs(e->axis.z) > 0.99) == is_upright && t > -1e-6 && t < e->length_m + 1e-6 &&
            vec3_len(vec3_sub(r, vec3_scale(e->axis, t))) < 1e-6)
            return e;
    }
    return NULL;
}

/* Two storeys of 2.4 m, boards 0.3 m above the lower ceiling: the slab lies at 2.55, walls of both floors meet there and share
 * their planes. */
TEST(storeys_stack)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    kit_floor(&k, 0.0, 2.4, kit_box(&k, 0, 0, 5, 4), "concrete_150", "plasterboard_ceiling");
    struct floor *upper = kit_floor(&k, 2.7, 2.4, kit_box(&k, 0, 0, 5, 4), "timber_floor", "plasterboard_ceiling");
    upper->holes.v = ARENA_ARRAY(c.run.arena, struct floor_hole, 1);
    upper->holes.v[upper->holes.n++].outline = kit_box(&k, 1, 1, 2, 3);
    for (uint32_t f = 0; f < 2; f++)
        kit_wall(&k, "walls", f, "brick_single", kit_line(&k, 5, (const double[]){ 0, 0, 5, 0, 5, 4, 0, 4, 0, 0 }));
    struct scene *s = kit_scene(&k);
    CHECK("2 slabs, 2 ceilings, 8 walls", scene_n_faces(s) == 12);
    const struct plane_of_faces *x0 = plane_at(s, (struct vec3){ 1, 0, 0 }, 0.0);
    CHECK("one plane for both storeys", x0 && x0->n_faces == 2);
    const struct face *lower = &s->faces.v[x0->first_face];
    const double top_m = lower->origin.z + lower->v1, high_m = lower[1].origin.z + lower[1].v0;
    CHECK_NEAR("lower wall's top", top_m, 2.55, 2e-5, "m");
    CHECK_NEAR("upper wall's foot", high_m, 2.55, 2e-5, "m");
    const struct plane_of_faces *slab = plane_at(s, (struct vec3){ 0, 0, 1 }, 2.55);
    CHECK("slab", slab && slab->n_faces == 1);
    const struct face *f = &s->faces.v[slab->first_face];
    CHECK("hole", face_at(f, (struct vec2){ 3.0, 2.0 }).is_hit && !face_at(f, (struct vec2){ 1.5, 2.0 }).is_hit);
    /* The lower ceiling gives way to the slab everywhere; on the ground the slab lies 7.5 cm down. */
    for (uint32_t i = 0; i < s->faces.n; i++)
        if (s->faces.v[i].outline.n && s->faces.v[i].construct == kit_construct(&k, "plasterboard_ceiling"))
            CHECK("ceiling on top only",
                  face_at(&s->faces.v[i], (struct vec2){ 3, 2 }).is_hit == (s->faces.v[i].origin.z > 5.0));
    CHECK("ground", plane_at(s, (struct vec3){ 0, 0, 1 }, -0.075) != NULL);
    /* Corners bend along both storeys in one; slab holes bend on four sides. */
    const struct edge *corner = edge_at(s, (struct vec3){ 5, 4, 1.0 }, true);
    CHECK("corner", corner && corner->n_screens == 2);
    CHECK_NEAR("from the ground's slab to the ceiling", corner->length_m, 5.1 + 0.075, 0.02, "m");
    CHECK("hole's sides",
          edge_at(s, (struct vec3){ 1, 2, 2.55 }, false) && edge_at(s, (struct vec3){ 1.5, 3, 2.55 }, false));
    check_run_end(&c);
}

static unsigned count_hits(const struct scene *s, const struct plane_of_faces *p, struct vec3 at)
{
    unsigned n = 0;
    for (uint32_t i = 0; p && i < p->n_faces; i++)
        n += face_at(&s->faces.v[p->first_face + i], face_uv(&s->faces.v[p->first_face + i], at)).is_hit;
    return n;
}

/* Storeys that cross like two bars of a cross have no corner of one in the other: between them there is one slab, not a ceiling too. */
TEST(storeys_that_cross_stack)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    kit_floor(&k, 0.0, 2.4, kit_box(&k, 14, -12, 18, 9), "concrete_150", "concrete_150");
    kit_floor(&k, 2.7, 2.4, kit_box(&k, 0, 0, 20, 4), "timber_floor", "plasterboard_ceiling");
    struct scene *s = kit_scene(&k);
    CHECK("the slab lies half-way",
          count_hits(s, plane_at(s, (struct vec3){ 0, 0, 1 }, 2.55), (struct vec3){ 16, 2, 2.55 }) == 1);
    const struct plane_of_faces *ceiling = plane_at(s, (struct vec3){ 0, 0, 1 }, 2.475);
    CHECK("no ceiling below it", count_hits(s, ceiling, (struct vec3){ 16, 2, 2.475 }) == 0);
    CHECK("but beside it", count_hits(s, ceiling, (struct vec3){ 16, -6, 2.475 }) == 1);
    check_run_end(&c);
}

/* A wall drawn in two pieces, whichever way round, is met once wherever a ray comes, also where the pieces are drawn apart or over
 * one another by less than 2 cm; what is farther apart is a gap with two edges. */
TEST(pieces_of_a_wall_meet)
{
    static const double APART_M[] = { -0.019, -0.005, 0.0, 1e-6, 0.002, 0.019, 0.05 };
    for (size_t g = 0; g < RT_COUNT(APART_M); g++)
        for (int way = 0; way < 4; way++) {
            struct check_run c = check_run_begin();
            struct kit k = kit_begin(&c);
            const double to = 5.0 + APART_M[g];
            kit_floor(&k, 0.0, 2.4, kit_box(&k, 0, 0, 9, 9), "concrete_150", "concrete_150");
            kit_wall_from(&k, "one", 0, "brick_single", way & 1 ? 5 : 0, 4, way & 1 ? 0 : 5, 4);
            kit_wall_from(&k, "other", 0, "brick_single", way & 2 ? 9 : to, 4, way & 2 ? to : 9, 4);
            struct scene *s = kit_scene(&k);
            const struct plane_of_faces *p = plane_at(s, (struct vec3){ 0, 1, 0 }, 4.0);
            const bool is_gap = APART_M[g] > 0.02;
            for (double x = 4.97; x < 5.08; x += 0.0005)
                if (!is_gap || x < 4.9999 || x > to + 1e-4)
                    CHECK("once", count_hits(s, p, (struct vec3){ x, 4, 1 }) == 1);
            for (int i = -20; i <= 20; i++) /* about the middle, where faces reach over */
                CHECK("once or not at all",
                      count_hits(s, p, (struct vec3){ (5 + to) / 2 + i * 0.97e-6, 4, 1 }) == !is_gap);
            CHECK("edges of a gap", (edge_at(s, (struct vec3){ 5, 4, 1 }, true) != NULL) == is_gap);
            check_run_end(&c);
        }
}

TEST(openings_and_their_edges)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    kit_floor(&k, 0.0, 2.4, kit_box(&k, 0, 0, 9, 4), "concrete_150", NULL);
    struct wall *w = kit_wall(&k, "wall", 0, "brick_single", kit_line(&k, 3, (const double[]){ 0, 2, 6, 2, 6, 4 }));
    kit_opening(&k, w, "door", "timber_door", 1.0, 0.9, 0.0, 2.0);
    kit_opening(&k, w, "corner_window", "glass_double", 5.5, 1.0, 0.9, 2.0); /* round the corner */
    struct scene *s = kit_scene(&k);
    const struct plane_of_faces *p = plane_at(s, (struct vec3){ 0, 1, 0 }, 2.0);
    const struct face *f = &s->faces.v[p->first_face];
    CHECK("two openings, one of them halved",
          f->patches.n == 2 && s->faces.v[plane_at(s, (struct vec3){ 1, 0, 0 }, 6.0)->first_face].patches.n == 1);
    CHECK_NEAR("half of the window", f->patches.v[1].u1 - f->patches.v[1].u0, 0.5, 1e-9, "m");
    const struct vec3 in_door = { 1.4, 2.0, -0.05 };
    CHECK("the door reaches the middle of the floor",
          face_at(f, face_uv(f, in_door)).construct == kit_construct(&k, "timber_door"));
    const struct edge *jamb = edge_at(s, (struct vec3){ 1.0, 2.0, 1.0 }, true);
    CHECK("jamb", jamb && jamb->n_screens == 2 && jamb->screens[0].construct != jamb->screens[1].construct);
    CHECK("head", edge_at(s, (struct vec3){ 1.5, 2.0, 2.0 }, false) != NULL);
    CHECK("no sill under a door", edge_at(s, (struct vec3){ 1.5, 2.0, 0.0 }, false) == NULL);
    CHECK("free end", edge_at(s, (struct vec3){ 0.0, 2.0, 1.0 }, true)->n_screens == 1);
    CHECK("a free top, for there is no ceiling", edge_at(s, (struct vec3){ 3.0, 2.0, 2.4 }, false) != NULL);
    check_run_end(&c);
}

/* Where nothing ends there is no edge: a wall drawn in two pieces, two walls that cross, a box flush with a wall. */
TEST(no_edges_where_nothing_ends)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    kit_floor(&k, 0.0, 2.4, kit_box(&k, 0, 0, 9, 9), "concrete_150", "concrete_150");
    kit_wall(&k, "pieces", 0, "brick_single", kit_line(&k, 3, (const double[]){ 0, 4, 5, 4, 9, 4 }));
    kit_wall_from(&k, "across", 0, "brick_single", 2, 0, 2, 9);
    kit_obstacle(&k, "box", 0, "metal_appliance", kit_box(&k, 6, 4.08, 6.6, 4.7), 0.0, 1.8);
    struct scene *s = kit_scene(&k);
    CHECK("joint", edge_at(s, (struct vec3){ 5, 4, 1 }, true) == NULL);
    CHECK("crossing", edge_at(s, (struct vec3){ 2, 4, 1 }, true) == NULL);
    CHECK("tops under a ceiling", edge_at(s, (struct vec3){ 3, 4, 2.475 }, false) == NULL);
    CHECK("flush corners", edge_at(s, (struct vec3){ 6, 4.08, 1 }, true) == NULL);
    CHECK("corners in the room",
          edge_at(s, (struct vec3){ 6, 4.7, 1 }, true) && edge_at(s, (struct vec3){ 6.6, 4.7, 1 }, true));
    CHECK("ends", edge_at(s, (struct vec3){ 2, 0, 1 }, true) && edge_at(s, (struct vec3){ 0, 4, 1 }, true));
    CHECK("no more than these", scene_n_edges(s) == 6);
    check_run_end(&c);
}

/* ---- antennas ---- */

static double dot_of(struct vec3 a, double x, double y, double z) { return a.x * x + a.y * y + a.z * z; }

TEST(poses)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    static const struct {
        enum mount_surface mount, part;
        double faces_deg, tilt_deg;
        struct vec3 front, up;
    } ROWS[] = {
        { SURFACE_CEILING, SURFACE_CEILING, 0, 0, { 0, 0, -1 }, { 0, 1, 0 } },
        { SURFACE_CEILING, SURFACE_CEILING, 90, 90, { 1, 0, 0 }, { 0, 0, 1 } },
        { SURFACE_WALL, SURFACE_WALL, 90, 0, { 1, 0, 0 }, { 0, 0, 1 } },
        { SURFACE_WALL, SURFACE_CEILING, 180, 0, { 0, -1, 0 }, { 0, 0, 1 } },
        { SURFACE_EAVES, SURFACE_WALL, 0, 90, { 0, 0, -1 }, { 0, 1, 0 } },
        { SURFACE_SHELF, SURFACE_CEILING, 270, 0, { 0, 0, 1 }, { -1, 0, 0 } },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        struct mount m = { .surface = ROWS[i].mount, .faces_deg = ROWS[i].faces_deg, .tilt_deg = ROWS[i].tilt_deg };
        struct part part = { .surface = ROWS[i].part };
        k.h->mounts.v = &m;
        k.h->mounts.n = 1;
        k.h->parts.list.v = &part;
        k.h->parts.list.n = 1;
        const struct equipment e = { .faces_deg = RT_NOT_GIVEN, .tilt_deg = RT_NOT_GIVEN };
        const struct antenna_pose pose = antenna_pose_of(k.h, &e);
        CHECK_NEAR("front", dot_of(pose.front, ROWS[i].front.x, ROWS[i].front.y, ROWS[i].front.z), 1.0, 1e-12, "");
        CHECK_NEAR("up", dot_of(pose.up, ROWS[i].up.x, ROWS[i].up.y, ROWS[i].up.z), 1.0, 1e-12, "");
        CHECK_NEAR("square", vec3_dot(pose.front, pose.up), 0.0, 1e-12, "");
    }
    check_run_end(&c);
}

/* By hand from the definition in parts.h: elevation gain at the angle from the front, plus the azimuth cut's gain relative to
 * its largest. */
TEST(gains)
{
    double elevation[] = { 0, 90, 180 }, dbi[] = { 6, 0, -10 }, azimuth[] = { -90, 0, 90 }, cut[] = { -4, 2, -2 };
    const struct antenna round = { .elevation_deg = { elevation, 3 }, .elevation_dbi = { dbi, 3 } };
    struct antenna one_way = round;
    one_way.azimuth_deg.v = azimuth;
    one_way.azimuth_dbi.v = cut;
    one_way.azimuth_deg.n = one_way.azimuth_dbi.n = 3;
    const struct antenna_pose north = { .front = { 0, 1, 0 }, .up = { 0, 0, 1 } };
    static const struct {
        struct vec3 way;
        double round_dbi, one_way_dbi;
    } ROWS[] = {
        { { 0, 3, 0 }, 6.0, 6.0 },      { { 1, 1, 0 }, 3.0, 1.0 }, /* 45 degrees to the right: half-way from 0 to -4 */
        { { -1, 1, 0 }, 3.0, 0.0 },                                /* to the left: half-way from 0 to -6 */
        { { 0, 0, 2 }, 0.0, 0.0 },                                 /* upwards: azimuth 0 */
        { { 0, -1, 0 }, -10.0, -15.0 },                            /* behind: half-way round the back from -4 to -6 */
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        CHECK_NEAR("round", antenna_gain_dbi(&round, north, ROWS[i].way), ROWS[i].round_dbi, 1e-9, "dBi");
        CHECK_NEAR("one way", antenna_gain_dbi(&one_way, north, ROWS[i].way), ROWS[i].one_way_dbi, 1e-9, "dBi");
    }
    CHECK_NEAR("peak", antenna_peak_gain_dbi(&one_way), 6.0, 1e-12, "dBi");
    CHECK_NEAR("no pattern", antenna_gain_dbi(&(struct antenna){ 0 }, north, ROWS[0].way), 0.0, 1e-12, "dBi");
}

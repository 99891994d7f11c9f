/* What must hold of paths in any house: checked on random ones. */
#include <math.h>

#include "cottage.h"

static const struct trace_options USUAL = { .order = 2, .diffraction = true, .estimate = ESTIMATE_MIDDLE };
static const double F_HZ[3] = { 2.437e9, 5.5e9, 6.465e9 };

static struct vec3 somewhere(struct random *r)
{
    return (struct vec3){ random_between(r, 0.2, 12.7), random_between(r, 0.2, 5.8), random_between(r, 0.1, 4.7) };
}

/* Walls, doors, boxes and a slab with a hole, thrown about. */
static void random_house(struct kit *k, struct random *r)
{
    static const char *const WALLS[] = { "brick_single", "stud_wall", "concrete_150", "glass_double", "lath_plaster" };
    kit_floor(k, 0.0, 2.4, kit_box(k, 0, 0, 13, 6), NULL, NULL);
    struct floor *first = kit_floor(k, 2.7, 2.4, kit_box(k, 0, 0, 13, 6), "timber_floor", NULL);
    const double x = random_between(r, 1, 10), y = random_between(r, 1, 4);
    first->holes.v = ARENA_ARRAY(k->c->run.arena, struct floor_hole, 1);
    first->holes.v[first->holes.n++].outline = kit_box(k, x, y, x + 1.3, y + 1.5);
    for (int i = 0; i < 7; i++) {
        const double x0 = random_between(r, 0, 13), y0 = random_between(r, 0, 6), turn = random_between(r, 0, 6.28);
        const double length = random_between(r, 1.5, 4.0);
        struct wall *w = kit_wall_from(k, "wall", random_below(r, 2), WALLS[random_below(r, RT_COUNT(WALLS))], x0, y0,
                                       x0 + length * cos(turn), y0 + length * sin(turn));
        if (random_below(r, 2))
            kit_opening(k, w, "door", random_below(r, 2) ? "timber_door" : NULL, 0.3, 0.9, 0.0, 2.0);
    }
    for (int i = 0; i < 2; i++) {
        const double x0 = random_between(r, 0, 12), y0 = random_between(r, 0, 5);
        kit_obstacle(k, "box", random_below(r, 2), "furniture_full",
                     kit_box(k, x0, y0, x0 + random_between(r, 0.3, 1), y0 + random_between(r, 0.3, 1)), 0.0,
                     random_between(r, 0.5, 2.2));
    }
}

static bool is_same_way(const struct path *a, const struct path *b)
{
    if (a->kind != b->kind || a->points.n != b->points.n)
        return false;
    for (uint32_t i = 0; i < a->points.n; i++)
        if (vec3_len(vec3_sub(a->points.v[i], b->points.v[b->points.n - 1 - i])) > 1e-6)
            return false;
    return true;
}

/* Reciprocity: with isotropic antennas each path has the same gain the other way round, and so has the sum. */
PROP(the_way_back_is_the_same, 60)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    random_house(&k, r);
    struct scene *s = kit_scene(&k);
    const double f_hz = F_HZ[random_below(r, 3)];
    const struct ap_radio a = kit_radio(f_hz, somewhere(r)), b = kit_radio(f_hz, somewhere(r));
    path_list there, back;
    const double there_db = kit_spot(&k, s, &a, b.at_m, USUAL, &there);
    CHECK_NEAR("sum", kit_spot(&k, s, &b, a.at_m, USUAL, &back), there_db, 1e-5, "dB");
    CHECK("as many paths", there.n == back.n);
    for (uint32_t i = 0; i < there.n; i++) {
        bool found = false;
        for (uint32_t m = 0; m < back.n && !found; m++)
            found = is_same_way(&there.v[i], &back.v[m]) && fabs(there.v[i].gain_db - back.v[m].gain_db) < 1e-5;
        CHECK("each path", found);
    }
    check_run_end(&c);
}

/* A lossier wall never strengthens the direct path. */
PROP(more_loss_is_never_more_signal, 60)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    random_house(&k, r);
    const struct ap_radio a = kit_radio(F_HZ[random_below(r, 3)], somewhere(r));
    const struct vec3 at = somewhere(r);
    const struct trace_options direct = { .order = 0, .estimate = ESTIMATE_MIDDLE };
    const double before_db = kit_spot(&k, kit_scene(&k), &a, at, direct, NULL);
    for (uint32_t i = 0; i < k.h->walls.n; i++)
        if (random_below(r, 2))
            k.h->walls.v[i].construct.i = kit_construct(&k, "steel");
    CHECK("no stronger", kit_spot(&k, kit_scene(&k), &a, at, direct, NULL) <= before_db + 1e-9);
    check_run_end(&c);
}

/* Turning and shifting the whole house with all in it changes nothing. */
PROP(the_house_may_stand_anywhere, 12)
{
    const struct cottage_at moved = { random_between(r, 0, 6.28), random_between(r, -50, 50),
                                      random_between(r, -50, 50), random_between(r, -5, 5) };
    struct check_run c = check_run_begin();
    struct kit here = kit_begin(&c), there = kit_begin(&c);
    cottage_build(&here, COTTAGE_HERE);
    cottage_build(&there, moved);
    struct scene *s_here = kit_scene(&here), *s_there = kit_scene(&there);
    CHECK("as many faces and edges",
          scene_n_faces(s_here) == scene_n_faces(s_there) && scene_n_edges(s_here) == scene_n_edges(s_there));
    struct ap_radio a[3], b[3];
    cottage_radios(&COTTAGE_HERE, a);
    cottage_radios(&moved, b);
    for (int i = 0; i < 4; i++) {
        const struct vec3 at = somewhere(r);
        const int f = (int)random_below(r, 3);
        CHECK_NEAR("moved", kit_spot(&there, s_there, &b[f], cottage_point(&moved, at), USUAL, NULL),
                   kit_spot(&here, s_here, &a[f], at, USUAL, NULL), 1e-3, "dB");
    }
    check_run_end(&c);
}

/* Fields and spots agree in random houses too; walls at odd angles, one radio at an odd place. */
PROP(cells_are_spots, 30)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    random_house(&k, r);
    struct scene *s = kit_scene(&k);
    struct ap_radio a = kit_radio(F_HZ[random_below(r, 3)], somewhere(r));
    double elevation[] = { 0, 60, 120, 180 }, dbi[] = { 6, 2, -5, -12 }, azimuth[] = { -120, 0, 90 },
           cut[] = { -9, 0, -5 };
    struct antenna one_way = { .elevation_deg = { elevation, 4 }, .elevation_dbi = { dbi, 4 } };
    if (random_below(r, 2)) {
        one_way.azimuth_deg.v = azimuth;
        one_way.azimuth_dbi.v = cut;
        one_way.azimuth_deg.n = one_way.azimuth_dbi.n = 3;
    }
    const double faces_rad = random_between(r, 0, 6.28), tilt_rad = random_between(r, -0.5, 1.5);
    a.antenna = &one_way;
    a.pose.front = (struct vec3){ sin(faces_rad) * cos(tilt_rad), cos(faces_rad) * cos(tilt_rad), -sin(tilt_rad) };
    a.pose.up = (struct vec3){ sin(faces_rad) * sin(tilt_rad), cos(faces_rad) * sin(tilt_rad), cos(tilt_rad) };
    struct fields f = { 0 };
    const struct field_options options = { .trace = USUAL, .cell_m = 0.6 };
    CHECK_OK(&c, grids_of_house(&c.run, k.h, options.cell_m, &f, &c.problems));
    CHECK_OK(&c, fields_compute(&c.run, k.h, s, (ap_radio_list){ &a, 1 }, options, &f, &c.problems));
    for (int i = 0; i < 8; i++) {
        const uint32_t g = random_below(r, f.grids.n);
        const struct grid *grid = &f.grids.v[g];
        const uint32_t ix = random_below(r, grid->nx), iy = random_below(r, grid->ny);
        if (!grid->inside[(size_t)iy * grid->nx + ix])
            continue;
        const struct vec3 at = { grid->x0_m + (ix + 0.5) * grid->cell_m, grid->y0_m + (iy + 0.5) * grid->cell_m,
                                 grid->z_m };
        CHECK_NEAR("cell", (double)field_gain_db(&f, g, 0, ix, iy), kit_spot(&k, s, &a, at, USUAL, NULL), 0.05, "dB");
    }
    check_run_end(&c);
}

/* The tracer against a full-wave solution: two-dimensional scenes of tests/reference/fdtd_scenes.py (Meep), committed as
 * tests/reference/fdtd/NAME.csv with the house file of the same scene beside it.
 *
 * The scenes are flat, so a wave thins out as 1 / length there and as 1 / length^2 here (a bent one as 1 / (s s') there,
 * as 1 / (s s' (s + s')) here): the level here is raised by the paths' mean length over the straight distance, weighted with
 * their powers.  Levels are relative to free space on both sides.  The bounds are a little above what docs/accuracy.md states as
 * measured. */
#include "base/units.h"
#include "check.h"
#include "csv.h"
#include "house_kit.h"
#include "radio/field.h"

static const double F_HZ = 2.437e9, SOURCE_Z_M = 10.0;

/* What the errors of one scene come to, in dB. */
struct errors {
    double sum, squares, worst;
    uint32_t n;
};

static void errors_add(struct errors *e, double error_db)
{
    e->sum += error_db;
    e->squares += error_db * error_db;
    e->worst = fmax(e->worst, fabs(error_db));
    e->n++;
}

/* Level at a spot relative to free space, in two dimensions. */
static double flat_level_db(const path_list *paths, double gain_db, double straight_m)
{
    double power = 0.0, power_m = 0.0;
    for (uint32_t i = 0; i < paths->n; i++) {
        const double ratio = units_ratio_from_db(paths->v[i].gain_db);
        power += ratio;
        power_m += ratio * paths->v[i].length_m;
    }
    const double free_space_db = -20.0 * log10(4.0 * RT_PI * straight_m * F_HZ / RT_C0_M_S);
    return gain_db - free_space_db + units_db_from_ratio(power_m / power / straight_m);
}

static struct errors compare(struct check_run *c, const char *name, struct trace_options options)
{
    struct arena *a = c->run.arena;
    struct house *h;
    struct scene *scene;
    CHECK_OK(c, house_read(&c->run, check_path(c, arena_printf(a, "tests/reference/fdtd/%s.house.yaml", name)), &h,
                           &c->problems));
    CHECK_OK(c, scene_build(&c->run, h, &scene, &c->problems));
    CHECK("one source", h->equipment.n == 1);
    const struct vec3 source = h->equipment.v[0].at_m;
    const struct ap_radio radio = kit_radio(F_HZ, source);
    const struct csv t = csv_read(a, check_path(c, arena_printf(a, "tests/reference/fdtd/%s.csv", name)));
    struct errors e = { 0 };
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const struct arena_mark mark = arena_mark(a);
        const struct vec3 spot = { csv_num(&t, i, "x_m"), csv_num(&t, i, "y_m"), SOURCE_Z_M };
        path_list paths;
        double gain_db;
        CHECK_OK(c, spot_paths(&c->run, NULL, scene, &radio, spot, options, 0, &paths, &gain_db, &c->problems));
        errors_add(&e, flat_level_db(&paths, gain_db, hypot(spot.x - source.x, spot.y - source.y)) -
                           csv_num(&t, i, "level_db"));
        arena_reset(a, mark);
    }
    return e;
}

static void scene_within(const char *name, uint32_t squares, double mean_db, double rms_db, double worst_db)
{
    struct check_run c = check_run_begin();
    const struct trace_options options = {
        .order = 2, .diffraction = true, .estimate = ESTIMATE_MIDDLE, .vertical = true
    };
    const struct errors e = compare(&c, name, options);
    print_message("    %s: %u squares, mean error %+.2f dB, RMS %.2f dB, worst %.2f dB\n", name, e.n, e.sum / e.n,
                  sqrt(e.squares / e.n), e.worst);
    CHECK("squares compared", e.n == squares);
    CHECK_NEAR("mean error", e.sum / e.n, 0.0, mean_db, "dB");
    CHECK_NEAR("RMS error", sqrt(e.squares / e.n), 0.0, rms_db, "dB");
    CHECK_NEAR("worst error", e.worst, 0.0, worst_db, "dB");
    check_run_end(&c);
}

TEST(slanted_wall) { scene_within("slanted_wall", 437, 0.2, 0.6, 3.0); }
TEST(doorway) { scene_within("doorway", 432, 0.5, 1.5, 7.0); }
TEST(l_room) { scene_within("l_room", 362, 1.2, 2.4, 11.0); }
TEST(two_rooms) { scene_within("two_rooms", 312, 0.6, 1.3, 4.5); }

static double rms_db(const char *name, int order, bool diffraction)
{
    struct check_run c = check_run_begin();
    const struct errors e =
        compare(&c, name,
                (struct trace_options){
                    .order = order, .diffraction = diffraction, .estimate = ESTIMATE_MIDDLE, .vertical = true });
    print_message("    %s, order %d, %s diffraction: RMS %.2f dB\n", name, order, diffraction ? "with" : "without",
                  sqrt(e.squares / e.n));
    check_run_end(&c);
    return sqrt(e.squares / e.n);
}

/* That the method's parts earn their keep: each one left out makes the scene that it matters to worse. */
TEST(every_part_brings_the_level_nearer)
{
    CHECK("edges, doorway", rms_db("doorway", 2, true) < 0.7 * rms_db("doorway", 2, false));
    CHECK("edges, two rooms", rms_db("two_rooms", 2, true) < 0.9 * rms_db("two_rooms", 2, false));
    CHECK("second reflection, L-shaped room", rms_db("l_room", 2, true) < rms_db("l_room", 1, true) - 0.2);
    CHECK("third reflection", fabs(rms_db("l_room", 3, true) - rms_db("l_room", 2, true)) < 0.2);
}

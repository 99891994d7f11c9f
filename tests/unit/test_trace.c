#include <math.h>

#include "base/sum.h"
#include "data/materials.h"
#include "house_kit.h"
#include "radio/slab.h"

static const double F_24 = 2.437e9, F_5 = 5.5e9, F_6 = 6.465e9;
static const struct trace_options NO_BENDS = { .order = 3, .estimate = ESTIMATE_MIDDLE };

/* Friis 1946: received over sent between isotropic antennas is (lambda / 4 pi d)^2.  Independent of the code under test. */
static double friis(double f_hz, double d_m)
{
    const double a = RT_C0_M_S / f_hz / (4.0 * RT_PI * d_m);
    return a * a;
}

/* Mean of TE and TM power reflected by one layer, straight from the layered slab (itself tested against published code). */
static double slab_mirror(const char *material, double thickness_m, double f_hz, double cos_incidence)
{
    const struct material *m = material_find(str_from(material));
    const struct slab_layer layer = { material_permittivity(m, f_hz), thickness_m };
    const struct slab_waves w = slab_at(&layer, 1, f_hz, cos_incidence);
    return (pow(cabs(w.te.r), 2.0) + pow(cabs(w.tm.r), 2.0)) / 2.0;
}

static double slab_pass(const char *material, double thickness_m, double f_hz, double cos_incidence)
{
    const struct material *m = material_find(str_from(material));
    const struct slab_layer layer = { material_permittivity(m, f_hz), thickness_m };
    const struct slab_waves w = slab_at(&layer, 1, f_hz, cos_incidence);
    return (pow(cabs(w.te.t), 2.0) + pow(cabs(w.tm.t), 2.0)) / 2.0;
}

TEST(free_space_is_friis)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    struct scene *s = kit_scene(&k);
    static const struct {
        double f_hz, d_m, want_db;
    } ROWS[] = {
        { 2.4e9, 10.0, -60.05 }, /* 20 log10(4 pi d f / c) by hand */
        { 5.0e9, 1.0, -46.43 },
        { 6.0e9, 30.0, -77.55 },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        const struct ap_radio radio = kit_radio(ROWS[i].f_hz, (struct vec3){ 1.0, 2.0, 3.0 });
        const double k3 = ROWS[i].d_m / 3.0; /* along (1, 2, 2) / 3 */
        const struct vec3 at = { 1.0 + k3, 2.0 + 2.0 * k3, 3.0 + 2.0 * k3 };
        CHECK_NEAR("Friis", kit_spot(&k, s, &radio, at, NO_BENDS, NULL), ROWS[i].want_db, 0.01, "dB");
    }
    check_run_end(&c);
}

/* Closed form of two paths: P = (l / 4 pi)^2 (1 / d1^2 + R(angle) / d2^2), heights h1 and h2 over the mirror. */
TEST(two_rays_over_ground)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    kit_layered(&k, "thick_concrete", "concrete", 0.30);
    kit_floor(&k, 0.15, 3.0, kit_box(&k, -100, -100, 100, 100), "thick_concrete", NULL);
    struct scene *s = kit_scene(&k);
    for (double d = 0.5; d < 60.0; d *= 1.3)
        for (int i = 0; i < 3; i++) {
            const double f_hz = (const double[]){ F_24, F_5, F_6 }[i], h1 = 2.1, h2 = 1.2;
            const struct ap_radio radio = kit_radio(f_hz, (struct vec3){ 0.0, 0.0, h1 });
            const double d1 = hypot(d, h1 - h2), d2 = hypot(d, h1 + h2);
            const double want = friis(f_hz, d1) + friis(f_hz, d2) * slab_mirror("concrete", 0.30, f_hz, (h1 + h2) / d2);
            const struct vec3 at = { d * 0.6, d * 0.8, h2 };
            CHECK_NEAR("two rays", kit_spot(&k, s, &radio, at, NO_BENDS, NULL), units_db_from_ratio(want), 0.02, "dB");
        }
    check_run_end(&c);
}

/* Number of mirrors and place of image number m along one axis of length l (source at x): the classical lattice. */
static double lattice(int m, double x, double l) { return m % 2 ? (m + 1) * l - x : m * l + x; }

/* All images of an empty box up to order 3: the lattice sum, each face's reflection at its own angle. */
static double box_sum(struct vec3 from, struct vec3 at, struct vec3 size, double f_hz, int order, const char *material,
                      double thickness_m)
{
    struct sum total = { 0 };
    for (int i = -order; i <= order; i++)
        for (int j = -order; j <= order; j++)
            for (int n = -order; n <= order; n++) {
                if (abs(i) + abs(j) + abs(n) > order)
                    continue;
                const struct vec3 d = { lattice(i, from.x, size.x) - at.x, lattice(j, from.y, size.y) - at.y,
                                        lattice(n, from.z, size.z) - at.z };
                const double length = vec3_len(d);
                double power = friis(f_hz, length);
                power *= pow(slab_mirror(material, thickness_m, f_hz, fabs(d.x) / length), abs(i));
                power *= pow(slab_mirror(material, thickness_m, f_hz, fabs(d.y) / length), abs(j));
                power *= pow(slab_mirror(material, thickness_m, f_hz, fabs(d.z) / length), abs(n));
                sum_add(&total, power);
            }
    return sum_value(&total);
}

/* A box whose mirror planes lie at 0 and `size` in every direction. */
static struct scene *box_scene(struct kit *k, struct vec3 size, const char *construct, double thickness_m)
{
    const double half = thickness_m / 2.0;
    kit_floor(k, half, size.z - 2.0 * half, kit_box(k, 0, 0, size.x, size.y), construct, construct);
    kit_wall(k, "walls", 0, construct,
             kit_line(k, 5, (const double[]){ 0, 0, size.x, 0, size.x, size.y, 0, size.y, 0, 0 }));
    return kit_scene(k);
}

TEST(empty_room_is_the_lattice_of_images)
{
    static const struct {
        const char *construct, *material;
        double thickness_m;
    } ROWS[] = { { "steel", "metal", 0.01 }, { "brick_wall", "brick", 0.10 }, { "board", "plasterboard", 0.0125 } };
    const struct vec3 size = { 5.2, 3.9, 2.6 };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        struct check_run c = check_run_begin();
        struct kit k = kit_begin(&c);
        if (i)
            kit_layered(&k, ROWS[i].construct, ROWS[i].material, ROWS[i].thickness_m);
        struct scene *s = box_scene(&k, size, ROWS[i].construct, ROWS[i].thickness_m);
        struct random r = { .seed = 7, .stream = i };
        for (int n = 0; n < 40; n++) {
            const struct vec3 from = { random_between(&r, 0.2, 5.0), random_between(&r, 0.2, 3.7),
                                       random_between(&r, 0.2, 2.4) };
            const struct vec3 at = { random_between(&r, 0.2, 5.0), random_between(&r, 0.2, 3.7),
                                     random_between(&r, 0.2, 2.4) };
            if (vec3_len(vec3_sub(at, from)) < 0.3)
                continue;
            const double f_hz = (const double[]){ F_24, F_5, F_6 }[n % 3];
            const struct ap_radio radio = kit_radio(f_hz, from);
            for (int order = 0; order <= 3; order++) {
                const double want = box_sum(from, at, size, f_hz, order, ROWS[i].material, ROWS[i].thickness_m);
                const double got = kit_spot(
                    &k, s, &radio, at, (struct trace_options){ .order = order, .estimate = ESTIMATE_MIDDLE }, NULL);
                CHECK_NEAR(ROWS[i].construct, got, units_db_from_ratio(want), 0.02, "dB");
            }
        }
        check_run_end(&c);
    }
}

/* Three walls at known angles, one of them met in its window: ids, constructs, angles and losses from geometry by hand. */
TEST(crossings_are_told_one_by_one)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    kit_layered(&k, "brick_wall", "brick", 0.10);
    kit_layered(&k, "board", "plasterboard", 0.0125);
    kit_floor(&k, 0.0, 2.5, kit_box(&k, 0, 0, 12, 9), NULL, NULL);
    kit_wall_from(&k, "first", 0, "brick_wall", 3, 0, 3, 9);
    struct wall *w = kit_wall_from(&k, "second", 0, "brick_wall", 6, 0, 6, 9);
    kit_opening(&k, w, "window", "board", 4.0, 1.0, 0.8, 2.0);
    kit_wall_from(&k, "aslant", 0, "board", 7, 9, 11, 5); /* its normal is (1, 1) / sqrt 2 */
    struct scene *s = kit_scene(&k);
    const struct ap_radio radio = kit_radio(F_5, (struct vec3){ 0.0, 0.0, 1.0 });
    path_list paths;
    /* Along (4, 3) / 5: meets x = 3 at y 2.25, x = 6 at y 4.5 (in the window) and x + y = 16 at x 9.142857. */
    const double got = kit_spot(&k, s, &radio, (struct vec3){ 12.0, 9.0, 1.0 },
                                (struct trace_options){ .order = 0, .estimate = ESTIMATE_MIDDLE }, &paths);
    CHECK("one path", paths.n == 1 && paths.v[0].kind == PATH_DIRECT && paths.v[0].crossings.n == 3);
    const struct crossing *x = paths.v[0].crossings.v;
    CHECK_TEXT("first", x[0].id, STR("first"));
    CHECK_TEXT("second", x[1].id, STR("window"));
    CHECK_TEXT("third", x[2].id, STR("aslant"));
    CHECK("constructs", x[0].construct == kit_construct(&k, "brick_wall") &&
                            x[1].construct == kit_construct(&k, "board") &&
                            x[2].construct == kit_construct(&k, "board"));
    const double slanted = (0.8 + 0.6) / sqrt(2.0);
    CHECK_NEAR("angle 1", x[0].angle_deg, units_deg_from_rad(acos(0.8)), 1e-3, "deg");
    CHECK_NEAR("angle 2", x[1].angle_deg, units_deg_from_rad(acos(0.8)), 1e-3, "deg");
    CHECK_NEAR("angle 3", x[2].angle_deg, units_deg_from_rad(acos(slanted)), 1e-3, "deg");
    CHECK_NEAR("where 3", x[2].at_m.x, 64.0 / 7.0, 1e-9, "m");
    const double brick = slab_pass("brick", 0.10, F_5, 0.8), pane = slab_pass("plasterboard", 0.0125, F_5, 0.8);
    const double last = slab_pass("plasterboard", 0.0125, F_5, slanted);
    CHECK_NEAR("loss 1", x[0].loss_db, -units_db_from_ratio(brick), 0.05, "dB");
    CHECK_NEAR("loss 2", x[1].loss_db, -units_db_from_ratio(pane), 0.05, "dB");
    CHECK_NEAR("loss 3", x[2].loss_db, -units_db_from_ratio(last), 0.05, "dB");
    CHECK_NEAR("gain", got, units_db_from_ratio(friis(F_5, 15.0) * brick * pane * last), 0.1, "dB");
    CHECK_NEAR("length", paths.v[0].length_m, 15.0, 1e-9, "m");
    CHECK_NEAR("parts make the whole", paths.v[0].gain_db,
               paths.v[0].antenna_dbi - paths.v[0].free_space_db - x[0].loss_db - x[1].loss_db - x[2].loss_db, 1e-6,
               "dB");
    check_run_end(&c);
}

/* A door in a steel wall: shut it is its leaf, open or left out it is nothing; above its head there is steel. */
/* A wave mirrored by a steel wall exactly where another wall ends on it: if it changes sides it goes through that wall once, if
 * not, never, whichever way the walls were drawn.  Two paths in closed form (Friis and the slab). */
TEST(bounces_in_a_corner_pay_once_or_never)
{
    static const struct {
        const char *what;
        double x, y; /* of the other wall's far end; its near one is (5, 0) */
        bool crosses;
    } ROWS[] = { { "upright between the ends", 5, 9, true }, { "leaning below both ends", 0, 1, false } };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++)
        for (int drawn = 0; drawn < 4; drawn++) {
            struct check_run c = check_run_begin();
            struct kit k = kit_begin(&c);
            kit_floor(&k, 0.0, 3.0, kit_box(&k, -20, -20, 20, 20), NULL, NULL);
            kit_layered(&k, "board", "plasterboard", 0.02);
            if (drawn & 1)
                kit_wall_from(&k, "mirror", 0, "steel", -9, 0, 19, 0);
            else
                kit_wall_from(&k, "mirror", 0, "steel", 19, 0, -9, 0);
            if (drawn & 2)
                kit_wall_from(&k, "other", 0, "board", 5, 0, ROWS[i].x, ROWS[i].y);
            else
                kit_wall_from(&k, "other", 0, "board", ROWS[i].x, ROWS[i].y, 5, 0);
            const struct trace_options once = { .order = 1, .estimate = ESTIMATE_MIDDLE };
            const struct ap_radio radio = kit_radio(F_24, (struct vec3){ 3.0, 2.0, 1.5 });
            const double got = kit_spot(&k, kit_scene(&k), &radio, (struct vec3){ 7.0, 2.0, 1.5 }, once, NULL);
            const double square_on = ROWS[i].crosses ? slab_pass("plasterboard", 0.02, F_24, 1.0) : 1.0;
            const double aslant = ROWS[i].crosses ? slab_pass("plasterboard", 0.02, F_24, sqrt(0.5)) : 1.0;
            double want = friis(F_24, 4.0) * square_on +
                          friis(F_24, sqrt(32.0)) * slab_mirror("metal", 0.01, F_24, sqrt(0.5)) * aslant;
            /* The leaning one mirrors too: both ends' distances from x + 5 y = 5 and between their feet come to 20 / sqrt 26. */
            if (!ROWS[i].crosses)
                want += friis(F_24, sqrt(800.0 / 26.0)) * slab_mirror("plasterboard", 0.02, F_24, sqrt(0.5));
            CHECK_NEAR(ROWS[i].what, got, units_db_from_ratio(want), 0.01, "dB");
            check_run_end(&c);
        }
}

TEST(openings_are_respected)
{
    const struct trace_options direct = { .order = 1, .estimate = ESTIMATE_MIDDLE };
    for (int open = 0; open < 3; open++) {
        struct check_run c = check_run_begin();
        struct kit k = kit_begin(&c);
        kit_layered(&k, "leaf", "wood", 0.04);
        kit_floor(&k, 0.0, 2.5, kit_box(&k, 0, 0, 4, 4), NULL, NULL);
        struct wall *w = kit_wall_from(&k, "wall", 0, "steel", 2, 0, 2, 4);
        struct opening *o = kit_opening(&k, w, "door", open == 2 ? NULL : "leaf", 1.5, 1.0, 0.0, 2.0);
        o->stands_open = open == 1;
        struct scene *s = kit_scene(&k);
        const struct ap_radio low = kit_radio(F_24, (struct vec3){ 0.5, 2.0, 1.0 });
        const struct ap_radio high = kit_radio(F_24, (struct vec3){ 0.5, 2.0, 2.2 });
        const double pass = open ? 1.0 : slab_pass("wood", 0.04, F_24, 1.0);
        path_list paths;
        kit_spot(&k, s, &low, (struct vec3){ 3.5, 2.0, 1.0 }, direct, &paths);
        CHECK_NEAR("through the door", paths.v[0].gain_db, units_db_from_ratio(friis(F_24, 3.0) * pass), 0.05, "dB");
        CHECK("crossings", paths.v[0].crossings.n == (open ? 0u : 1u));
        CHECK("above the head", kit_spot(&k, s, &high, (struct vec3){ 3.5, 2.0, 2.2 }, direct, NULL) < -150.0);
        CHECK("beside the jamb", kit_spot(&k, s, &low, (struct vec3){ 3.5, 3.9, 1.0 }, direct, NULL) < -150.0);
        /* The leaf mirrors with its own reflection, an open door not at all. */
        kit_spot(&k, s, &low, (struct vec3){ 1.0, 2.0, 1.0 }, direct, &paths);
        CHECK("mirrored by the leaf only", paths.n == (open ? 1u : 2u));
        if (!open)
            CHECK_NEAR("mirror", paths.v[1].gain_db,
                       units_db_from_ratio(friis(F_24, 2.5) * slab_mirror("wood", 0.04, F_24, 1.0)), 0.05, "dB");
        check_run_end(&c);
    }
}

/* A solid box costs its construct once, whatever the side; going back costs the same. */
TEST(an_obstacle_is_paid_once)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    kit_layered(&k, "block", "wood", 0.30);
    kit_floor(&k, 0.0, 2.5, kit_box(&k, 0, 0, 6, 6), NULL, NULL);
    kit_obstacle(&k, "box", 0, "block", kit_box(&k, 2, 2, 3, 3), 0.0, 1.5);
    struct scene *s = kit_scene(&k);
    const struct trace_options direct = { .order = 0, .estimate = ESTIMATE_MIDDLE };
    path_list paths;
    const struct ap_radio radio = kit_radio(F_5, (struct vec3){ 1.0, 2.5, 1.0 });
    kit_spot(&k, s, &radio, (struct vec3){ 5.0, 2.5, 1.0 }, direct, &paths);
    CHECK("one crossing", paths.v[0].crossings.n == 1);
    CHECK_NEAR("loss", paths.v[0].crossings.v[0].loss_db, -units_db_from_ratio(slab_pass("wood", 0.30, F_5, 1.0)), 0.05,
               "dB");
    CHECK_NEAR("enters at", paths.v[0].crossings.v[0].at_m.x, 2.0, 1e-9, "m");
    const struct ap_radio above = kit_radio(F_5, (struct vec3){ 1.0, 2.5, 2.0 });
    kit_spot(&k, s, &above, (struct vec3){ 5.0, 2.5, 2.0 }, direct, &paths);
    CHECK("passes over it", paths.v[0].crossings.n == 0);
    /* In by one side, out by another at another angle: the same both ways. */
    const struct vec3 a = { 1.0, 2.2, 1.0 }, b = { 2.6, 5.0, 0.7 };
    const struct ap_radio there = kit_radio(F_5, a), back = kit_radio(F_5, b);
    CHECK_NEAR("both ways", kit_spot(&k, s, &there, b, direct, NULL), kit_spot(&k, s, &back, a, direct, NULL), 1e-9,
               "dB");
    check_run_end(&c);
}

/* Two storeys: straight up through the slab, and no slit between the walls of the storeys (whose slab is 0.4 m thick
 * with its void) through which a ray could slip out. */
TEST(storeys_leave_no_slit)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    kit_floor(&k, 0.0, 2.4, kit_box(&k, 0, 0, 5, 5), "steel", NULL);
    kit_floor(&k, 2.8, 2.4, kit_box(&k, 0, 0, 5, 5), "timber_floor", "steel");
    for (uint32_t f = 0; f < 2; f++)
        kit_wall(&k, "walls", f, "steel", kit_line(&k, 5, (const double[]){ 0, 0, 5, 0, 5, 5, 0, 5, 0, 0 }));
    struct scene *s = kit_scene(&k);
    const struct trace_options options = { .order = 2, .diffraction = true, .estimate = ESTIMATE_MIDDLE };
    const struct ap_radio radio = kit_radio(F_24, (struct vec3){ 2.5, 2.5, 1.3 });
    path_list paths;
    kit_spot(&k, s, &radio, (struct vec3){ 2.5, 2.5, 4.0 }, options, &paths);
    CHECK("the slab between",
          paths.v[0].crossings.n == 1 && paths.v[0].crossings.v[0].construct == kit_construct(&k, "timber_floor"));
    CHECK_NEAR("half-way between ceiling and boards", paths.v[0].crossings.v[0].at_m.z, 2.6, 1e-9, "m");
    for (double z = -0.5; z < 6.0; z += 0.01)
        for (int i = 0; i < 3; i++) {
            const struct vec3 out = { i == 0 ? 9.0 : 2.5 + i, i == 1 ? -4.0 : 2.5, i == 2 ? 9.0 : z };
            CHECK("shut in", kit_spot(&k, s, &radio, out, (struct trace_options){ .order = 0 }, NULL) < -120.0);
        }
    check_run_end(&c);
}

/* Houses at their worst: nothing, ends in walls, coincident walls, the same point twice. */
TEST(degenerate_scenes_stay_finite)
{
    const struct trace_options options = { .order = 3, .diffraction = true, .estimate = ESTIMATE_CAREFUL };
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    kit_floor(&k, 0.0, 2.5, kit_box(&k, 0, 0, 4, 4), "timber_floor", "plasterboard_ceiling");
    kit_wall_from(&k, "wall", 0, "brick_single", 2, 0, 2, 3);
    kit_wall_from(&k, "again", 0, "brick_single", 2, 0, 2, 3);
    kit_wall_from(&k, "point", 0, "brick_single", 1, 1, 1, 1);
    kit_obstacle(&k, "flat", 0, "steel", kit_box(&k, 1, 1, 1, 2), 0.0, 1.0);
    struct scene *s = kit_scene(&k);
    const double xs[] = { 0.0, 1.0, 2.0, 4.0 }, zs[] = { 0.0, 1.0, 2.5 };
    for (int i = 0; i < 4; i++)
        for (int j = 0; j < 3; j++) {
            const struct ap_radio radio = kit_radio(F_5, (struct vec3){ xs[i], 1.5, zs[j] });
            for (int m = 0; m < 4; m++)
                for (int n = 0; n < 3; n++) {
                    path_list paths;
                    const struct vec3 at = { xs[m], n + 1.0, zs[n] };
                    const double gain_db = kit_spot(&k, s, &radio, at, options, &paths);
                    CHECK("finite", isfinite(gain_db) && gain_db < 10.0);
                    for (uint32_t p = 0; p < paths.n; p++)
                        CHECK("path", isfinite(paths.v[p].gain_db) && isfinite(paths.v[p].length_m));
                }
        }
    const struct ap_radio left = kit_radio(F_5, (struct vec3){ 1.5, 1.5, 1.0 });
    path_list paths;
    kit_spot(&k, s, &left, (struct vec3){ 2.5, 1.5, 1.0 }, (struct trace_options){ .order = 0 }, &paths);
    CHECK("two walls on one line count twice", paths.v[0].crossings.n == 2);
    check_run_end(&c);

    struct check_run nothing = check_run_begin();
    struct kit empty = kit_begin(&nothing);
    s = kit_scene(&empty);
    CHECK("no faces", scene_n_faces(s) == 0 && scene_n_edges(s) == 0);
    CHECK_NEAR("same point", kit_spot(&empty, s, &left, left.at_m, options, NULL), units_db_from_ratio(friis(F_5, 0.1)),
               1e-6, "dB");
    check_run_end(&nothing);
}

/* Raise the memory allowed step by step: every stop on the way is a clean RT_NOMEM. */
TEST(memory_running_out_is_an_error)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    kit_floor(&k, 0.0, 2.5, kit_box(&k, 0, 0, 4, 4), "timber_floor", "plasterboard_ceiling");
    kit_opening(&k, kit_wall_from(&k, "wall", 0, "brick_single", 2, 0, 2, 3), "door", "timber_door", 1, 1, 0, 2);
    const struct ap_radio radio = kit_radio(F_5, (struct vec3){ 1.0, 1.5, 1.0 });
    enum rt_code code = RT_NOMEM;
    int stops = 0;
    for (size_t limit = 1000; code != RT_OK; limit += limit / 4, stops++) {
        struct run run = { .arena = arena_new(limit), .n_threads = 1 };
        struct rt_problems problems;
        rt_problems_init(&problems, run.arena);
        struct scene *s = NULL;
        path_list paths;
        double gain_db;
        code = scene_build(&run, k.h, &s, &problems);
        if (code == RT_OK)
            code =
                spot_paths(&run, NULL, s, &radio, (struct vec3){ 3.0, 1.5, 1.0 },
                           (struct trace_options){ .order = 2, .diffraction = true }, 0, &paths, &gain_db, &problems);
        CHECK("ends cleanly", code == RT_OK || code == RT_NOMEM);
        arena_free(run.arena);
    }
    CHECK("was short at first", stops > 3);
    check_run_end(&c);
}

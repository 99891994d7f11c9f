#include <math.h>

#include "house_kit.h"
#include "radio/trace.h"
#include "radio/wedge.h"

static const double F_HZ[3] = { 2.437e9, 5.5e9, 6.465e9 };
static const struct trace_options USUAL = { .order = 1, .diffraction = true, .estimate = ESTIMATE_MIDDLE };
static const struct trace_options NO_BENDS = { .order = 1, .estimate = ESTIMATE_MIDDLE };

static struct tracer tracer_at(struct kit *k, const struct scene *s, double f_hz, struct vec3 from,
                               struct trace_options options)
{
    struct tracer t;
    const struct antenna_pose pose = { .front = { 0.0, 0.0, -1.0 }, .up = { 0.0, 1.0, 0.0 } };
    CHECK_OK(k->c, tracer_init(&k->c->run, s, f_hz, from, NULL, pose, options, &t, &k->c->problems));
    return t;
}

static double spot_db(const struct tracer *t, struct vec3 at) { return units_db_from_ratio(trace_spot_power(t, at)); }

/* The largest change of level from one centimetre to the next on a straight walk. */
static double largest_step_db(const struct tracer *t, struct vec3 from, struct vec3 to)
{
    const double length_m = vec3_len(vec3_sub(to, from));
    const int n = (int)(length_m / 0.01);
    double last_db = spot_db(t, from), largest = 0.0;
    for (int i = 1; i <= n; i++) {
        const double db = spot_db(t, vec3_add(from, vec3_scale(vec3_sub(to, from), (double)i / n)));
        largest = fmax(largest, fabs(db - last_db));
        last_db = db;
    }
    return largest;
}

struct scenery {
    const char *what;
    void (*build)(struct kit *k);
    struct vec3 antenna;
    struct vec3 walks[3][2]; /* across a shadow or a mirror's end, clear of walls; the last may be missing (all zero) */
};

static void free_end(struct kit *k) { kit_wall_from(k, "wall", 0, "brick_single", 0, 0, 0, 4); }

static void free_metal_end(struct kit *k) { kit_wall_from(k, "wall", 0, "steel", 0, 0, 0, 4); }

static void open_door(struct kit *k)
{
    kit_opening(k, kit_wall_from(k, "wall", 0, "stud_foil", 0, 0, 0, 6), "gap", NULL, 3, 1, 0, 2.0);
}

static void shut_door(struct kit *k)
{
    kit_opening(k, kit_wall_from(k, "wall", 0, "brick_solid", 0, 0, 0, 6), "door", "hollow_door", 3, 1, 0, 2.0);
}

static void corner(struct kit *k)
{
    kit_wall(k, "walls", 0, "brick_single", kit_line(k, 3, (const double[]){ 4, 4, 0, 4, 0, 0 }));
}

static void box(struct kit *k) { kit_obstacle(k, "box", 0, "metal_appliance", kit_box(k, 0, 3, 0.7, 3.7), 0, 1.8); }

static void hole(struct kit *k)
{
    struct floor *f = kit_floor(k, 2.6, 2.5, kit_box(k, -6, -6, 6, 10), "concrete_150", NULL);
    f->holes.v = ARENA_ARRAY(k->c->run.arena, struct floor_hole, 1);
    f->holes.v[f->holes.n++].outline = kit_box(k, -1, 1, 1, 4);
}

static const struct scenery SCENERIES[] = {
    { "free end of a brick wall",
      free_end,
      { -2.013, 3.007, 1.211 },
      { { { 2, 3, 1.2 }, { 2, 7, 1.2 } },
        { { -3, 3.5, 1.2 }, { -3, 8, 1.2 } },
        { { 0.5, 6, 1.5 }, { 6, 4.2, 0.5 } } } },
    { "free end of a metal wall",
      free_metal_end,
      { -2.013, 3.007, 1.211 },
      { { { 2, 3, 1.2 }, { 2, 7, 1.2 } },
        { { -3, 3.5, 1.2 }, { -3, 8, 1.2 } },
        { { 0.5, 6, 1.5 }, { 6, 4.2, 0.5 } } } },
    { "open door",
      open_door,
      { -2.013, 2.507, 2.303 },
      { { { 2, 2, 1.2 }, { 2, 8, 1.2 } },
        { { -1.5, 1, 1.2 }, { -1.5, 8, 1.2 } },
        { { 0.5, 4, 1.2 }, { 6, 4, 1.2 } } } },
    { "shut door",
      shut_door,
      { -2.013, 2.507, 2.303 },
      { { { 2, 2, 1.2 }, { 2, 8, 1.2 } },
        { { -1.5, 1, 1.2 }, { -1.5, 8, 1.2 } },
        { { 0.5, 4, 1.2 }, { 6, 4, 1.2 } } } },
    { "outer corner",
      corner,
      { -2.013, 3.007, 1.211 },
      { { { 2, 4.5, 1.2 }, { 2, 9, 1.2 } },
        { { -3, 3.5, 1.2 }, { -3, 8, 1.2 } },
        { { 0.5, 3.5, 1.2 }, { 3.5, 3.5, 1.2 } } } },
    { "metal box",
      box,
      { -2.013, 3.007, 1.211 },
      { { { 2, 3.75, 1.2 }, { 2, 7, 1.2 } },
        { { -3, 1.5, 1.2 }, { -3, 6, 1.2 } },
        { { 0.1, 3.9, 1.2 }, { 0.1, 6, 1.2 } } } },
    { "hole in a slab",
      hole,
      { 0.513, 2.007, 1.003 },
      { { { 0, -3, 4 }, { 0, 8, 4 } }, { { -3, 2, 4 }, { 3, 2, 4 } }, { { 0, -3, 1.2 }, { 0, 8, 1.2 } } } },
};

/* No step in the field where a shadow or a reflection ends, a centimetre (a fifth of a wavelength at 6 GHz) at a time.  The
 * bound leaves room for the dip that two constructs of opposite phase make on their common boundary and for the corner of a
 * door, where two edges end; without bent waves, or with their powers simply added, the step is the wall's whole loss. */
#define MOST_STEP_DB 1.7

TEST(no_jump_at_shadows_and_mirrors)
{
    for (size_t i = 0; i < RT_COUNT(SCENERIES); i++) {
        const struct scenery *q = &SCENERIES[i];
        struct check_run c = check_run_begin();
        struct kit k = kit_begin(&c);
        kit_floor(&k, 0.0, 2.5, kit_box(&k, -6, -6, 6, 10), NULL, NULL);
        q->build(&k);
        struct scene *s = kit_scene(&k);
        double largest_without = 0.0;
        for (int f = 0; f < 3; f++) {
            const struct tracer t = tracer_at(&k, s, F_HZ[f], q->antenna, USUAL);
            const struct tracer bare = tracer_at(&k, s, F_HZ[f], q->antenna, NO_BENDS);
            for (int w = 0; w < 3; w++) {
                const double with = largest_step_db(&t, q->walks[w][0], q->walks[w][1]);
                const double without = largest_step_db(&bare, q->walks[w][0], q->walks[w][1]);
                if (!(with < MOST_STEP_DB))
                    print_error("%s, %.4g GHz, walk %d: a step of %.2f dB, %.2f dB without bent waves\n", q->what,
                                F_HZ[f] / 1e9, w, with, without);
                CHECK("no jump", with < MOST_STEP_DB);
                largest_without = fmax(largest_without, without);
            }
        }
        CHECK("there was a jump to smooth", largest_without > 3.0 * MOST_STEP_DB);
        check_run_end(&c);
    }
}

/* Sommerfeld's half-plane (Born and Wolf, Principles of Optics, 11.5; Kouyoumjian and Pathak 1974): the shadow of a perfectly
 * conducting screen far from the antenna, checked with the uniform coefficient of wedge.h, which has tests of its own against
 * exact series.  In deep shadow no interference is left, so |d|^2 of the direct term and of the mirrored one add: the mean of
 * the soft and the hard screen. */
TEST(deep_shadow_is_the_mean_of_soft_and_hard)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    kit_floor(&k, -60.0, 120.0, kit_box(&k, -6, -6, 6, 10), NULL, NULL); /* so tall that its ends do not matter */
    kit_wall_from(&k, "screen", 0, "steel", 0, 0, 40, 0);
    struct scene *s = kit_scene(&k);
    const double phi_in = 0.6, s_in = 5.0;
    for (int f = 0; f < 3; f++) {
        const double wavelength_m = RT_C0_M_S / F_HZ[f], wave_number = 2.0 * RT_PI / wavelength_m;
        const struct vec3 from = { s_in * cos(phi_in), s_in * sin(phi_in), 0.0 };
        const struct tracer t = tracer_at(&k, s, F_HZ[f], from, USUAL);
        for (double phi = phi_in + RT_PI + 0.6; phi < 2.0 * RT_PI - 0.15; phi += 0.1)
            for (double s_out = 1.0; s_out < 9.0; s_out *= 2.0) {
                const struct wedge_ray ray = { s_in, s_out, 1.0, phi_in, phi, 2.0 };
                const struct wedge_terms terms = wedge_terms(wave_number, &ray);
                const double soft = cabs(wedge_solid(&terms, -1.0, -1.0)), hard = cabs(wedge_solid(&terms, 1.0, 1.0));
                const double free = wavelength_m / (4.0 * RT_PI) * wedge_spread(s_in, s_out);
                const double want = free * free * (soft * soft + hard * hard) / 2.0;
                const struct vec3 at = { s_out * cos(phi), s_out * sin(phi), 0.0 };
                CHECK_NEAR("shadow", spot_db(&t, at), units_db_from_ratio(want), 0.1, "dB");
            }
    }
    check_run_end(&c);
}

/* Fresnel's straight edge (Born and Wolf 8.7, from memory): on the shadow's boundary a quarter of the power, 6.02 dB. */
TEST(a_quarter_on_the_boundary)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    kit_floor(&k, -60.0, 120.0, kit_box(&k, -6, -6, 6, 10), NULL, NULL);
    kit_wall_from(&k, "screen", 0, "steel", 0, 0, 40, 0);
    struct scene *s = kit_scene(&k);
    const struct trace_options direct = { .order = 0, .diffraction = true, .estimate = ESTIMATE_MIDDLE };
    for (int side = 0; side < 2; side++) {
        const struct vec3 from = { 0.0, 3.0, 0.0 }, at = { side ? 2e-4 : -2e-4, -4.0, 0.0 };
        const struct tracer t = tracer_at(&k, s, F_HZ[1], from, direct);
        const double free = RT_C0_M_S / F_HZ[1] / (4.0 * RT_PI * 7.0);
        CHECK_NEAR("boundary", spot_db(&t, at), units_db_from_ratio(free * free / 4.0), 0.05, "dB");
    }
    check_run_end(&c);
}

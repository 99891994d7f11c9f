/* What the tracer bends round the edge of a lone steel wall, against the terms of the half-plane (wedge.h, which
 * test_wedge.c holds against exact solutions).  In the shadow nothing else arrives; the tracer adds the two terms, of the passing
 * and of the mirrored wave, as powers. */
#include "house_kit.h"
#include "radio/wedge.h"

static const double F_HZ = 2.437e9, MIDDLE_M = 200.0;

static struct vec3 around_edge(double distance_m, double phi_deg)
{
    const double phi = units_rad_from_deg(phi_deg);
    return (struct vec3){ distance_m * cos(phi), distance_m * sin(phi), MIDDLE_M };
}

/* A wall 400 m high from the origin along +x, so that nothing comes over it or round its other end; phi as in wedge.h. */
static struct kit half_plane(struct check_run *c)
{
    struct kit k = kit_begin(c);
    kit_floor(&k, 0.0, 400.0, kit_box(&k, -50, -50, 510, 50), NULL, NULL);
    kit_wall_from(&k, "wall", 0, "steel", 0, 0, 500, 0);
    return k;
}

TEST(shadow_of_a_steel_wall)
{
    static const struct {
        double s_in_m, phi_in_deg, s_out_m, phi_out_deg;
    } CASES[] = {
        { 6, 100, 5, 281 }, { 6, 100, 5, 285 },      { 6, 100, 5, 300 },  { 6, 100, 5, 330 },
        { 3, 60, 7, 242 },  { 3, 60, 7, 260 },       { 3, 60, 7, 300 },   { 8, 135, 2, 318 },
        { 8, 135, 2, 340 }, { 1.5, 80, 1.5, 270.5 }, { 12, 45, 12, 226 }, { 12, 45, 12, 290 },
    };
    struct check_run c = check_run_begin();
    struct kit k = half_plane(&c);
    const struct scene *scene = kit_scene(&k);
    const struct trace_options options = { .order = 1, .diffraction = true, .vertical = true };
    const double wavelength_m = RT_C0_M_S / F_HZ;
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const struct ap_radio radio = kit_radio(F_HZ, around_edge(CASES[i].s_in_m, CASES[i].phi_in_deg));
        const double got_db =
            kit_spot(&k, scene, &radio, around_edge(CASES[i].s_out_m, CASES[i].phi_out_deg), options, NULL);
        const struct wedge_ray ray = { CASES[i].s_in_m,
                                       CASES[i].s_out_m,
                                       1.0,
                                       units_rad_from_deg(CASES[i].phi_in_deg),
                                       units_rad_from_deg(CASES[i].phi_out_deg),
                                       2.0 };
        const struct wedge_terms terms = wedge_terms(2 * RT_PI / wavelength_m, &ray);
        const double mirror = cabs(terms.mirror_o + terms.mirror_n), incident = cabs(terms.incident);
        const double unit = wavelength_m / (4 * RT_PI) * wedge_spread(ray.s_in_m, ray.s_out_m);
        const double want_db = units_db_from_ratio(unit * unit * (incident * incident + mirror * mirror));
        CHECK_NEAR(arena_printf(c.run.arena, "case %zu", i), got_db, want_db, 0.1, "dB");
    }
    check_run_end(&c);
}

/* From the light into the shadow the level runs on: no step at the boundary, where half the amplitude is left. */
TEST(no_step_at_the_shadow)
{
    struct check_run c = check_run_begin();
    struct kit k = half_plane(&c);
    const struct scene *scene = kit_scene(&k);
    const struct trace_options options = { .order = 0, .diffraction = true, .vertical = true };
    const struct ap_radio radio = kit_radio(F_HZ, around_edge(6, 100));
    const double free_space_db = -20 * log10(4 * RT_PI * 11 * F_HZ / RT_C0_M_S);
    const double lit_db = kit_spot(&k, scene, &radio, around_edge(5, 279.999), options, NULL);
    const double dark_db = kit_spot(&k, scene, &radio, around_edge(5, 280.001), options, NULL);
    CHECK_NEAR("lit side", lit_db, free_space_db - 20 * log10(2), 0.1, "dB");
    CHECK_NEAR("dark side", dark_db, lit_db, 0.02, "dB");
    check_run_end(&c);
}

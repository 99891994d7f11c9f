/* Wedge diffraction against exact solutions and independently computed values: tests/reference/wedge_check.csv, whose
 * head and generator (make_wedge_check.py) say what each row is. */
#include "radio/wedge.h"

#include "base/units.h"
#include "check.h"
#include "csv.h"

static struct csv read_table(struct check_run *c)
{
    return csv_read(c->run.arena, check_path(c, "tests/reference/wedge_check.csv"));
}

static struct wedge_ray ray_of(const struct csv *t, uint32_t i)
{
    return (struct wedge_ray){ .s_in_m = csv_num(t, i, "s_in_m"),
                               .s_out_m = csv_num(t, i, "s_out_m"),
                               .sin_beta0 = csv_num(t, i, "sin_beta0"),
                               .phi_in_rad = units_rad_from_deg(csv_num(t, i, "phi_in_deg")),
                               .phi_out_rad = units_rad_from_deg(csv_num(t, i, "phi_out_deg")),
                               .n = csv_num(t, i, "n") };
}

static bool is_row(const struct csv *t, uint32_t i, struct str what) { return str_eq(csv_cell(t, i, "what"), what); }
static double sign_of(const struct csv *t, uint32_t i)
{
    return str_eq(csv_cell(t, i, "pol"), STR("soft")) ? -1.0 : 1.0;
}
static double complex value_of(const struct csv *t, uint32_t i)
{
    return CMPLX(csv_num(t, i, "re"), csv_num(t, i, "im"));
}
static double complex expj(double angle) { return CMPLX(cos(angle), sin(angle)); }

TEST(transition_function_at_every_size)
{
    struct check_run c = check_run_begin();
    const struct csv t = read_table(&c);
    uint32_t n = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        if (!is_row(&t, i, STR("transition")))
            continue;
        const double complex want = value_of(&t, i);
        CHECK_NEAR("F(x)", cabs(wedge_transition(csv_num(&t, i, "kl")) - want), 0.0, 1e-9 * cabs(want), "of F");
        n++;
    }
    CHECK("rows", n == 70);
    /* Kouyoumjian and Pathak 1974, eq. (30), both ends (from memory): F = (sqrt(pi x) - 2 x e^(j pi/4)
     * - (2/3) x^2 e^(-j pi/4)) e^(j (pi/4 + x)) for small x, 1 + j / 2x - 3/(4 x^2) - j 15/(8 x^3)
     * + 105/(16 x^4) for large (the paper prints 75; 3.5.7 = 105 is what integration by parts gives). */
    const double s = 1e-3, l = 100.0;
    const double complex small =
        (sqrt(RT_PI * s) - 2 * s * expj(RT_PI / 4) - 2.0 / 3.0 * s * s * expj(-RT_PI / 4)) * expj(RT_PI / 4 + s);
    const double complex large =
        CMPLX(1 - 3 / (4 * l * l) + 105 / (16 * l * l * l * l), 1 / (2 * l) - 15 / (8 * l * l * l));
    CHECK_NEAR("small x", cabs(wedge_transition(s) - small), 0.0, 1e-7, "");
    CHECK_NEAR("large x", cabs(wedge_transition(l) - large), 0.0, 1e-8, "");
    CHECK("infinite x", wedge_transition(INFINITY) == 1.0);
    check_run_end(&c);
}

TEST(coefficient_against_the_formula_written_out)
{
    struct check_run c = check_run_begin();
    const struct csv t = read_table(&c);
    uint32_t n = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        if (!is_row(&t, i, STR("coefficient")))
            continue;
        const struct wedge_ray ray = ray_of(&t, i);
        const struct wedge_terms terms = wedge_terms(csv_num(&t, i, "k_per_m"), &ray);
        const double r = sign_of(&t, i);
        const double complex want = value_of(&t, i);
        /* 12 digits of the angles in the table are the limit near the boundaries. */
        CHECK_NEAR("D", cabs(wedge_solid(&terms, r, r) - want), 0.0, 1e-8 * cabs(want), "of D");
        if (ray.n == 2.0)
            CHECK_NEAR("D of a screen", cabs(wedge_screen(&terms, 0.0, r) - want), 0.0, 1e-8 * cabs(want), "of D");
        n++;
    }
    CHECK("rows", n == 520);
    check_run_end(&c);
}

/* The geometrical wave of a unit plane wave at the spot: incident where it passes, mirrored off both faces. */
static double complex rays_of_plane(double k, double rho_m, double phi_in, double phi_out, double n, double sign)
{
    const double minus = phi_out - phi_in, plus = phi_out + phi_in;
    double complex u = fabs(minus) <= RT_PI ? expj(k * rho_m * cos(minus)) : 0.0;
    u += plus <= RT_PI ? sign * expj(k * rho_m * cos(plus)) : 0.0;
    u += 2 * n * RT_PI - plus <= RT_PI ? sign * expj(k * rho_m * cos(2 * n * RT_PI - plus)) : 0.0;
    return u;
}

/* UTD is exact for a plane wave over a half-plane; over a wedge it leaves out what falls as (k rho)^-3/2 (the
 * formula written out in Python leaves out the same, at most 1.03 of that here). */
TEST(total_field_of_a_plane_wave_is_the_exact_one)
{
    struct check_run c = check_run_begin();
    const struct csv t = read_table(&c);
    uint32_t n = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        if (!is_row(&t, i, STR("half_plane")) && !is_row(&t, i, STR("plane")))
            continue;
        const struct wedge_ray ray = ray_of(&t, i);
        const double k = csv_num(&t, i, "k_per_m"), r = sign_of(&t, i);
        const struct wedge_terms terms = wedge_terms(k, &ray);
        const double complex bent =
            wedge_solid(&terms, r, r) * wedge_spread(INFINITY, ray.s_out_m) * expj(-k * ray.s_out_m);
        const double complex got = bent + rays_of_plane(k, ray.s_out_m, ray.phi_in_rad, ray.phi_out_rad, ray.n, r);
        const double left_out = ray.n == 2.0 ? 1e-8 : 1.5 * pow(k * ray.s_out_m, -1.5);
        CHECK_NEAR("total field", cabs(got - value_of(&t, i)), 0.0, left_out, "of the plane wave");
        n++;
    }
    CHECK("rows", n == 240);
    check_run_end(&c);
}

/* H0(2)(x), leading terms of the asymptotic series (Abramowitz and Stegun 9.2.28), over |H0(2)(y)|: here x, y > 50. */
static double complex line_source(double x, double y)
{
    const double size = sqrt(y / x) * (1 - 1 / (16 * x * x)) / (1 - 1 / (16 * y * y));
    return size * expj(-(x - RT_PI / 4 - 1 / (8 * x)));
}

TEST(total_field_of_a_line_source_comes_near_the_exact_one)
{
    struct check_run c = check_run_begin();
    const struct csv t = read_table(&c);
    uint32_t n = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        if (!is_row(&t, i, STR("line")))
            continue;
        const struct wedge_ray ray = ray_of(&t, i);
        const double k = csv_num(&t, i, "k_per_m"), r = sign_of(&t, i), si = ray.s_in_m, so = ray.s_out_m;
        const struct wedge_terms terms = wedge_terms(k, &ray);
        double complex got = wedge_solid(&terms, r, r) * line_source(k * si, k * si) * expj(-k * so) / sqrt(so);
        const double turns[3] = { ray.phi_out_rad - ray.phi_in_rad, ray.phi_out_rad + ray.phi_in_rad,
                                  2 * ray.n * RT_PI - ray.phi_out_rad - ray.phi_in_rad };
        for (int j = 0; j < 3; j++)
            if (fabs(turns[j]) <= RT_PI)
                got += (j ? r : 1.0) * line_source(k * sqrt(si * si + so * so - 2 * si * so * cos(turns[j])), k * si);
        CHECK_NEAR("total field", cabs(got - value_of(&t, i)), 0.0, 1.0 / csv_num(&t, i, "kl"),
                   "of the wave at the edge");
        n++;
    }
    CHECK("rows", n == 184);
    check_run_end(&c);
}

static struct wedge_ray any_ray(struct random *r, double n)
{
    return (struct wedge_ray){ .s_in_m = random_between(r, 0.2, 20),
                               .s_out_m = random_between(r, 0.2, 20),
                               .sin_beta0 = random_between(r, 0.3, 1),
                               .phi_in_rad = random_between(r, 0.02, n * RT_PI - 0.02),
                               .phi_out_rad = random_between(r, 0.02, n * RT_PI - 0.02),
                               .n = n };
}

static double any_n(struct random *r) { return random_below(r, 2) ? 2.0 : random_between(r, 1.1, 2.0); }
static double any_k(struct random *r) { return 2 * RT_PI / random_between(r, 0.04, 0.13); }

PROP(there_and_back_are_the_same, 3000)
{
    const struct wedge_ray there = any_ray(r, any_n(r));
    struct wedge_ray back = there;
    back.s_in_m = there.s_out_m, back.s_out_m = there.s_in_m;
    back.phi_in_rad = there.phi_out_rad, back.phi_out_rad = there.phi_in_rad;
    const double k = any_k(r);
    const struct wedge_terms a = wedge_terms(k, &there), b = wedge_terms(k, &back);
    const double size = cabs(a.incident) + cabs(a.mirror_o) + cabs(a.mirror_n);
    CHECK_NEAR("incident", cabs(a.incident - b.incident), 0.0, 1e-9 * size, "");
    CHECK_NEAR("mirror_o", cabs(a.mirror_o - b.mirror_o), 0.0, 1e-9 * size, "");
    CHECK_NEAR("mirror_n", cabs(a.mirror_n - b.mirror_n), 0.0, 1e-9 * size, "");
    CHECK_NEAR("spread", wedge_spread(there.s_in_m, there.s_out_m), wedge_spread(back.s_in_m, back.s_out_m), 1e-12, "");
}

/* Across a boundary the wave that ends there (amplitude w, 1 / (s + s') of the spherical wave) is made up by the jump of
 * its term: D steps by w, and at the boundary itself the sum is half the wave. */
PROP(field_is_continuous_across_shadow_and_reflection, 2000)
{
    const double n = any_n(r), k = any_k(r), step = 1e-9;
    struct wedge_ray ray = any_ray(r, n);
    const struct {
        double at_rad;
        int term;
        double lit_side;
    } edges[3] = { { ray.phi_in_rad + RT_PI, 0, -1 },
                   { RT_PI - ray.phi_in_rad, 1, -1 },
                   { (2 * n - 1) * RT_PI - ray.phi_in_rad, 2, 1 } };
    for (int i = 0; i < 3; i++) {
        if (edges[i].at_rad < 0.01 || edges[i].at_rad > n * RT_PI - 0.01)
            continue;
        double complex bent[2];
        for (int side = 0; side < 2; side++) {
            ray.phi_out_rad = edges[i].at_rad + (side ? -1 : 1) * edges[i].lit_side * step; /* [0] lit, [1] dark */
            const struct wedge_terms t = wedge_terms(k, &ray);
            bent[side] = (i == 0   ? t.incident
                          : i == 1 ? t.mirror_o
                                   : t.mirror_n) *
                         wedge_spread(ray.s_in_m, ray.s_out_m);
        }
        const double wave = 1 / (ray.s_in_m + ray.s_out_m);
        CHECK_NEAR("lit + wave = dark", cabs(bent[0] + wave - bent[1]), 0.0, 1e-5 * wave, "1/m");
        const double other = cabs(bent[0] + bent[1]) / 2; /* the regular rest of the term, small against the wave */
        CHECK_NEAR("half the wave", cabs(bent[1]), 0.5 * wave, other + 1e-6 * wave, "1/m");
    }
}

PROP(a_screen_that_is_not_there_bends_nothing, 500)
{
    const struct wedge_ray ray = any_ray(r, 2.0);
    const struct wedge_terms t = wedge_terms(any_k(r), &ray);
    CHECK("nothing", cabs(wedge_screen(&t, 1.0, 0.0)) == 0.0);
}

/* The passing wave with what the edge bends out of it. */
static double complex passing(double x, bool lit, double t)
{
    const double complex bent = wedge_bent(x);
    return t + (1.0 - t) * (lit ? 1.0 - bent : bent);
}

/* Plane wave square on a half-plane without mirror: passing factor and D tell the same field. */
PROP(passing_factor_is_ray_plus_bent_wave, 2000)
{
    const double k = any_k(r), s_m = random_between(r, 0.2, 20), t = random_between(r, 0, 1);
    const struct wedge_ray ray = { .s_in_m = INFINITY,
                                   .s_out_m = s_m,
                                   .sin_beta0 = 1,
                                   .phi_in_rad = RT_PI / 2,
                                   .phi_out_rad = random_between(r, 0.01, 2 * RT_PI - 0.01),
                                   .n = 2 };
    const double turn = ray.phi_out_rad - ray.phi_in_rad;
    const bool lit = turn <= RT_PI;
    const struct wedge_terms terms = wedge_terms(k, &ray);
    const double complex straight = expj(k * s_m * cos(turn));
    const double complex sum =
        straight * (lit ? 1.0 : t) + wedge_screen(&terms, t, 0.0) * wedge_spread(INFINITY, s_m) * expj(-k * s_m);
    const double complex got = straight * passing(k * s_m * (1 + cos(turn)), lit, t);
    CHECK_NEAR("field", cabs(got - sum), 0.0, 1e-8, "of the plane wave");
}

TEST(passing_factor_at_its_limits)
{
    CHECK_NEAR("boundary, dark", cabs(passing(0, false, 0.2) - 0.6), 0.0, 1e-9, "");
    CHECK_NEAR("boundary, lit", cabs(passing(0, true, 0.2) - 0.6), 0.0, 1e-9, "");
    CHECK("far in the light", passing(INFINITY, true, 0.2) == 1.0);
    CHECK_NEAR("deep in the shadow", cabs(passing(1e9, false, 0.2)), 0.2, 1e-4, "");
    /* Largest fringe behind a straight edge: 1.3704 of the intensity at v = 1.2172 (Born and Wolf, 8.7.3, Cornu's
     * spiral; figures from memory); detour = pi v^2 / 2. */
    const double v = 1.2172;
    CHECK_NEAR("largest fringe", pow(cabs(passing(RT_PI * v * v / 2, true, 0)), 2), 1.3704, 2e-4, "");
    /* ITU-R P.526, single knife edge: 6.9 + 20 log10(sqrt((v - 0.1)^2 + 1) + v - 0.1) dB for v > -0.78, an approximation
     * (from memory). */
    for (double u = 0; u < 4; u += 0.25) {
        const double loss_db = -20 * log10(cabs(passing(RT_PI * u * u / 2, false, 0)));
        CHECK_NEAR("knife edge", loss_db, 6.9 + 20 * log10(sqrt((u - 0.1) * (u - 0.1) + 1) + u - 0.1), 0.25, "dB");
    }
}

#include "radio/slab.h"

#include <math.h>

#include "base/units.h"
#include "check.h"
#include "csv.h"
#include "data/materials.h"

enum { LAYERS_MAX = 16 };

/* Parses "glass:0.004+air:0.016+glass:0.004". */
static size_t layers_of_text(struct str text, double f_hz, struct slab_layer *out)
{
    char copy[256];
    snprintf(copy, sizeof copy, "%.*s", STR_ARG(text));
    size_t n = 0;
    for (char *at = copy; *at;) {
        char *colon = strchr(at, ':');
        const struct material *m = material_find((struct str){ at, (size_t)(colon - at) });
        char *end;
        out[n++] = (struct slab_layer){ material_permittivity(m, f_hz), strtod(colon + 1, &end) };
        at = *end ? end + 1 : end;
    }
    return n;
}

static void check_amplitude(const char *what, double complex got, double re, double im, double loss_db)
{
    const double complex want = CMPLX(re, im);
    if (loss_db < 60.0)
        CHECK_NEAR(what, slab_loss_db(got), loss_db, 0.01, "dB");
    /* 0.01 dB is 0.115 % of the amplitude; the values are held far closer, down to their printed digits. */
    CHECK_NEAR(what, cabs(got - want), 0.0, 1e-6 * cabs(want) + 1e-9, "");
}

static void check_row(struct check_run *c, const struct csv *t, uint32_t row, const char *name, struct slab_wave got)
{
    const char *what = arena_printf(c->run.arena, "row %u, %s", row, name);
    check_amplitude(what, got.r, csv_num(t, row, "r_re"), csv_num(t, row, "r_im"),
                    csv_num(t, row, "reflection_loss_db"));
    check_amplitude(what, got.t, csv_num(t, row, "t_re"), csv_num(t, row, "t_im"),
                    csv_num(t, row, "transmission_loss_db"));
}

static struct slab_wave wave_of_row(const struct csv *t, uint32_t row, const struct slab_layer *layers, size_t n)
{
    const double angle_rad = units_rad_from_deg(csv_num(t, row, "angle_deg"));
    const struct slab_waves w = slab_at(layers, n, csv_num(t, row, "f_ghz") * 1e9, cos(angle_rad));
    return str_is(csv_cell(t, row, "pol"), "TE") ? w.te : w.tm;
}

/* slab_check.csv, multilayer_check.csv: characteristic matrix in 40 digits, made by make_slab_check.py beside them. */
TEST(single_layers_of_the_check_table)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/slab_check.csv"));
    CHECK_NEAR("rows", t.rows.n, 1800, 0, "rows");
    for (uint32_t row = 0; row < t.rows.n; row++) {
        const struct material *m = material_find(csv_cell(&t, row, "material"));
        const struct slab_layer layer = { material_permittivity(m, csv_num(&t, row, "f_ghz") * 1e9),
                                          csv_num(&t, row, "thickness_m") };
        check_row(&c, &t, row, m->name, wave_of_row(&t, row, &layer, 1));
    }
    check_run_end(&c);
}

TEST(stacks_of_the_check_table)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/multilayer_check.csv"));
    CHECK_NEAR("rows", t.rows.n, 240, 0, "rows");
    for (uint32_t row = 0; row < t.rows.n; row++) {
        struct slab_layer layers[LAYERS_MAX];
        const size_t n = layers_of_text(csv_cell(&t, row, "layers"), csv_num(&t, row, "f_ghz") * 1e9, layers);
        check_row(&c, &t, row, "stack", wave_of_row(&t, row, layers, n));
    }
    check_run_end(&c);
}

/* The check tables can tell: a layer thicker by a thousandth, or of the other polarisation, is off in nearly every row. */
TEST(the_check_table_tells_small_differences)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/slab_check.csv"));
    uint32_t told = 0, told_apart = 0, slanted = 0;
    for (uint32_t row = 0; row < t.rows.n; row++) {
        const struct material *m = material_find(csv_cell(&t, row, "material"));
        const struct slab_layer layer = { material_permittivity(m, csv_num(&t, row, "f_ghz") * 1e9),
                                          csv_num(&t, row, "thickness_m") * 1.001 };
        const struct slab_wave got = wave_of_row(&t, row, &layer, 1);
        const double complex want = CMPLX(csv_num(&t, row, "t_re"), csv_num(&t, row, "t_im"));
        told += cabs(got.t - want) > 1e-6 * cabs(want) + 1e-9;
        if (csv_num(&t, row, "angle_deg") > 0.0 && row % 2 == 1) {
            const double complex other = CMPLX(csv_num(&t, row - 1, "t_re"), csv_num(&t, row - 1, "t_im"));
            slanted++;
            told_apart += cabs(other - want) > 1e-6 * cabs(want) + 1e-9;
        }
    }
    CHECK("thickness", told > t.rows.n * 9 / 10);
    CHECK("polarisation", told_apart > slanted * 9 / 10);
    check_run_end(&c);
}

static double power(double complex a) { return creal(a) * creal(a) + cimag(a) * cimag(a); }

static struct slab_layer random_layer(struct random *r, bool lossless)
{
    const double eps = random_between(r, 1.0, 10.0), loss = lossless ? 0.0 : random_between(r, 0.0, 2.0);
    return (struct slab_layer){ CMPLX(eps, -loss), random_between(r, 0.0, 0.3) };
}

PROP(lossless_layers_keep_the_energy, 500)
{
    struct slab_layer layers[LAYERS_MAX];
    const uint32_t n = random_below(r, 6);
    for (uint32_t i = 0; i < n; i++)
        layers[i] = random_layer(r, true);
    const struct slab_waves w = slab_at(layers, n, random_between(r, 1e9, 8e9), random_between(r, 1e-4, 1.0));
    CHECK_NEAR("TE", power(w.te.r) + power(w.te.t), 1.0, 1e-9, "of the power");
    CHECK_NEAR("TM", power(w.tm.r) + power(w.tm.t), 1.0, 1e-9, "of the power");
}

PROP(lossy_layers_never_make_energy, 500)
{
    struct slab_layer layers[LAYERS_MAX];
    const uint32_t n = 1 + random_below(r, 6);
    for (uint32_t i = 0; i < n; i++)
        layers[i] = random_layer(r, false);
    if (random_below(r, 3) == 0)
        layers[0].eps = CMPLX(1.0, -random_between(r, 1.0, 1e8)); /* up to metal */
    const struct slab_waves w = slab_at(layers, n, random_between(r, 1e9, 8e9), random_between(r, 0.0, 1.0));
    CHECK("TE", power(w.te.r) + power(w.te.t) <= 1.0 + 1e-9);
    CHECK("TM", power(w.tm.r) + power(w.tm.t) <= 1.0 + 1e-9);
}

PROP(transmission_is_the_same_from_the_back, 500)
{
    struct slab_layer layers[LAYERS_MAX], turned[LAYERS_MAX];
    const uint32_t n = 1 + random_below(r, 6);
    for (uint32_t i = 0; i < n; i++)
        turned[n - 1 - i] = layers[i] = random_layer(r, false);
    const double f_hz = random_between(r, 1e9, 8e9), c = random_between(r, 0.01, 1.0);
    const struct slab_waves a = slab_at(layers, n, f_hz, c), b = slab_at(turned, n, f_hz, c);
    CHECK_NEAR("TE", cabs(a.te.t - b.te.t), 0.0, 1e-9 * cabs(a.te.t), "");
    CHECK_NEAR("TM", cabs(a.tm.t - b.tm.t), 0.0, 1e-9 * cabs(a.tm.t), "");
}

PROP(a_layer_cut_in_two_is_the_same_layer, 300)
{
    const struct slab_layer whole = random_layer(r, false);
    const double share = random_unit(r), f_hz = random_between(r, 1e9, 8e9), c = random_between(r, 0.001, 1.0);
    const struct slab_layer halves[2] = { { whole.eps, whole.thickness_m * share },
                                          { whole.eps, whole.thickness_m * (1.0 - share) } };
    const struct slab_waves a = slab_at(&whole, 1, f_hz, c), b = slab_at(halves, 2, f_hz, c);
    CHECK_NEAR("TE t", cabs(a.te.t - b.te.t), 0.0, 1e-9, "");
    CHECK_NEAR("TE r", cabs(a.te.r - b.te.r), 0.0, 1e-9, "");
    CHECK_NEAR("TM t", cabs(a.tm.t - b.tm.t), 0.0, 1e-9, "");
    CHECK_NEAR("TM r", cabs(a.tm.r - b.tm.r), 0.0, 1e-9, "");
}

TEST(limits)
{
    const double f_hz = 5.25e9, lambda_m = RT_C0_M_S / f_hz;
    for (double deg = 0.0; deg < 89.0; deg += 11.0) {
        const double c = cos(units_rad_from_deg(deg)), sin2 = 1.0 - c * c;
        const struct slab_waves air = slab_at(NULL, 0, f_hz, c);
        CHECK_NEAR("no layers: all goes through", cabs(air.te.t - 1.0) + cabs(air.tm.t - 1.0), 0.0, 1e-15, "");
        CHECK("and nothing comes back", air.te.r == 0.0 && air.tm.r == 0.0);

        /* A layer of air only turns the phase: exp(-j k0 d cos). */
        const struct slab_waves gap = slab_at(&(struct slab_layer){ 1.0, 0.1 }, 1, f_hz, c);
        CHECK_NEAR("air, t", cabs(gap.te.t - cexp(CMPLX(0.0, -2.0 * RT_PI * 0.1 / lambda_m * c))), 0.0, 1e-12, "");
        CHECK_NEAR("air, r", cabs(gap.te.r), 0.0, 1e-12, "");

        /* Half a wavelength inside, measured along the normal: transparent for both waves. */
        const double half_m = lambda_m / (2.0 * sqrt(4.0 - sin2));
        const struct slab_waves half = slab_at(&(struct slab_layer){ 4.0, half_m }, 1, f_hz, c);
        CHECK_NEAR("half a wave, TE", cabs(half.te.t + 1.0), 0.0, 1e-12, "");
        CHECK_NEAR("half a wave, TM", cabs(half.tm.t + 1.0), 0.0, 1e-12, "");

        /* Metal: r = -1 for TE, +1 for TM, nothing through, for all thicknesses. */
        const double complex metal = material_permittivity(material_find(STR("metal")), f_hz);
        for (double d_m = 1e-4; d_m < 20.0; d_m *= 10.0) {
            const struct slab_waves m = slab_at(&(struct slab_layer){ metal, d_m }, 1, f_hz, c);
            CHECK_NEAR("metal, TE", cabs(m.te.r + 1.0), 0.0, 1e-3, "");
            CHECK_NEAR("metal, TM", cabs(m.tm.r - 1.0), 0.0, 0.03, "");
            CHECK_NEAR("metal, through", slab_loss_db(m.te.t), 200.0, 0.0, "dB");
        }
    }
    /* Brewster's angle of a lossless layer: no TM reflection whatever the thickness. */
    const struct slab_waves brewster = slab_at(&(struct slab_layer){ 4.0, 0.0123 }, 1, f_hz, cos(atan(2.0)));
    CHECK_NEAR("Brewster", cabs(brewster.tm.r), 0.0, 1e-12, "");
    /* Exactly grazing: a mirror, without a NaN; beyond: taken as the end. */
    const struct slab_waves grazing = slab_at(&(struct slab_layer){ CMPLX(4.0, -0.1), 0.1 }, 1, f_hz, 0.0);
    CHECK_NEAR("grazing TE", cabs(grazing.te.r + 1.0), 0.0, 1e-5, "");
    CHECK_NEAR("grazing TM", cabs(grazing.tm.r + 1.0), 0.0, 1e-4, "");
    CHECK_NEAR("air stays air", cabs(slab_at(&(struct slab_layer){ 1.0, 0.1 }, 1, f_hz, 0.0).te.t), 1.0, 1e-9, "");
}

TEST(thin_metal_is_a_sheet)
{
    /* A sheet of resistance R between two half-spaces of air: t = 1 / (1 + 377/(2 R)) square on; TE and TM put 1/cos and cos
     * beside the 377 (transmission line with a shunt; common to textbooks, from memory). */
    static const struct {
        const char *material;
        double ohm;
    } CASES[] = { { "low_e_coating", 10.0 }, { "metal_film", 1.0 } };
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        for (double deg = 0.0; deg < 85.0; deg += 20.0) {
            const double f_hz = 2.45e9, c = cos(units_rad_from_deg(deg)), y = 376.730313668 / (2.0 * CASES[i].ohm);
            const double complex eps = material_permittivity(material_find(str_from(CASES[i].material)), f_hz);
            const struct slab_waves w = slab_at(&(struct slab_layer){ eps, 100e-9 }, 1, f_hz, c);
            CHECK_NEAR(CASES[i].material, slab_loss_db(w.te.t), 20.0 * log10(1.0 + y / c), 0.02, "dB");
            CHECK_NEAR(CASES[i].material, slab_loss_db(w.tm.t), 20.0 * log10(1.0 + y * c), 0.02, "dB");
        }
}

TEST(wire_lath_is_an_inductance)
{
    /* Diamond mesh square on, Wilson 2002 (from memory); one constant fitted to two points, so 0.6 dB. */
    static const double CASES[][2] = { { 2.3, 20.99 }, { 5.25, 13.18 } };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const double f_hz = CASES[i][0] * 1e9;
        const double complex eps = material_permittivity(material_find(STR("wire_lath")), f_hz);
        const struct slab_waves w = slab_at(&(struct slab_layer){ eps, 1e-3 }, 1, f_hz, 1.0);
        CHECK_NEAR("diamond mesh", slab_loss_db(w.te.t), CASES[i][1], 0.6, "dB");
        CHECK_NEAR("takes no power", power(w.te.r) + power(w.te.t), 1.0, 1e-9, "of the power");
    }
}

TEST(published_losses_where_the_slab_is_right)
{
    /* Wilson 2002 (wall_loss_measured.csv, from memory) for materials on which the slab agrees: single glass, particle
     * board, ceramic tile. */
    static const struct {
        const char *material;
        double d_m, f_ghz, want_db, tol_db;
    } CASES[] = {
        { "glass", 0.0025, 2.3, 0.50, 0.3 },      { "glass", 0.0025, 5.25, 1.69, 0.3 },
        { "chipboard", 0.018, 2.3, 1.65, 0.5 },   { "chipboard", 0.018, 5.25, 1.95, 0.5 },
        { "ceramic_tile", 0.0078, 2.3, 2.22, 1 }, { "ceramic_tile", 0.0078, 5.25, 1.42, 1.2 },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const double f_hz = CASES[i].f_ghz * 1e9;
        const struct slab_layer layer = { material_permittivity(material_find(str_from(CASES[i].material)), f_hz),
                                          CASES[i].d_m };
        CHECK_NEAR(CASES[i].material, slab_loss_db(slab_at(&layer, 1, f_hz, 1.0).te.t), CASES[i].want_db,
                   CASES[i].tol_db, "dB");
    }
}

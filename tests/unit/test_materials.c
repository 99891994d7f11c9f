#include "data/materials.h"

#include <complex.h>
#include <math.h>

#include "check.h"
#include "csv.h"

/* The k-th law of the material a row of the published table speaks of, or NULL. */
static const struct material_law *law_of_row(const struct csv *t, uint32_t row)
{
    const struct str name = csv_cell(t, row, "material");
    const struct material *m = material_find(name);
    uint32_t k = 0;
    for (uint32_t i = 0; i < row; i++)
        k += str_is(csv_cell(t, i, "edition"), "P.2040-3") && str_eq(csv_cell(t, i, "material"), name);
    return m && k < m->n_laws ? &m->laws[k] : NULL;
}

static bool same_law(const struct csv *t, uint32_t row, const struct material_law *law)
{
    return law && law->f_min_ghz == csv_num(t, row, "f_min_ghz") && law->f_max_ghz == csv_num(t, row, "f_max_ghz") &&
           law->a == csv_num(t, row, "a") && law->b == csv_num(t, row, "b") &&
           law->c_s_per_m == csv_num(t, row, "c_s_per_m") && law->d == csv_num(t, row, "d");
}

TEST(every_row_of_p2040_3_is_here)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/building_materials.csv"));
    uint32_t n = 0;
    for (uint32_t row = 0; row < t.rows.n; row++) {
        if (!str_is(csv_cell(&t, row, "edition"), "P.2040-3"))
            continue;
        n++;
        const struct material_law *law = law_of_row(&t, row);
        const char *what = arena_printf(c.run.arena, "row %u, %.*s", row, STR_ARG(csv_cell(&t, row, "material")));
        CHECK(what, same_law(&t, row, law));
        /* The comparison can fail: any number changed by a part in a thousand is seen. */
        for (int k = 0; k < 6; k++) {
            struct material_law wrong = *law;
            double *const v[] = { &wrong.f_min_ghz, &wrong.f_max_ghz, &wrong.a, &wrong.b, &wrong.c_s_per_m, &wrong.d };
            *v[k] = *v[k] * 1.001 + 1e-20;
            CHECK(what, *v[k] == 0.0 || !same_law(&t, row, &wrong));
        }
    }
    /* And nothing under that name which the table does not have. */
    uint32_t n_laws = 0;
    for (uint32_t i = 0; i < material_count(); i++)
        if (strstr(material_get(i)->source, "P.2040-3 (08/2023), Table 3"))
            n_laws += material_get(i)->n_laws;
    CHECK_NEAR("laws said to be of P.2040-3", n_laws, n, 0, "laws");
    check_run_end(&c);
}

TEST(permittivity_of_the_check_table)
{
    /* eps_r and eps_imag of slab_check.csv: computed with 40 digits by make_slab_check.py. */
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/slab_check.csv"));
    for (uint32_t row = 0; row < t.rows.n; row++) {
        const struct material *m = material_find(csv_cell(&t, row, "material"));
        const double complex eps = material_permittivity(m, csv_num(&t, row, "f_ghz") * 1e9);
        CHECK_NEAR(m->name, creal(eps), csv_num(&t, row, "eps_r"), 1e-8, "");
        CHECK_NEAR(m->name, cimag(eps), -csv_num(&t, row, "eps_imag"), 1e-8, "");
    }
    check_run_end(&c);
}

TEST(permittivity_of_the_older_edition_agrees_roughly)
{
    /* ITU-R P.2040-1 Table 3 (from memory, five of its values checked): two editions of one quantity, so a material that
     * was mixed up with another would show.  Wide tolerance: the editions differ. */
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/building_materials.csv"));
    for (uint32_t row = 0; row < t.rows.n; row++) {
        if (!str_is(csv_cell(&t, row, "edition"), "P.2040-1"))
            continue;
        const struct material *m = material_find(csv_cell(&t, row, "material"));
        const double complex eps = material_permittivity(m, 5.5e9);
        if (material_covers(m, 5.5e9))
            CHECK_NEAR(m->name, creal(eps), csv_num(&t, row, "a"), 0.25, "");
    }
    check_run_end(&c);
}

TEST(water_relaxes_as_debye_says)
{
    /* Single Debye relaxation of water at 20 degrees C: static 80.1, high 5.2, 9.36 ps (from memory).  The law of the table
     * is a fit to it, hence 4 %. */
    const struct material *water = material_find(STR("water"));
    for (double f_hz = 2.0e9; f_hz <= 7.5e9; f_hz += 0.25e9) {
        const double complex want = 5.2 + (80.1 - 5.2) / CMPLX(1.0, 2.0 * M_PI * f_hz * 9.36e-12);
        const double complex got = material_permittivity(water, f_hz);
        CHECK_NEAR("real", creal(got) / creal(want), 1.0, 0.04, "of the Debye value");
        CHECK_NEAR("imaginary", cimag(got) / cimag(want), 1.0, 0.04, "of the Debye value");
    }
}

TEST(materials_are_passive_named_and_sourced)
{
    for (uint32_t i = 0; i < material_count(); i++) {
        const struct material *m = material_get(i);
        CHECK(m->name, material_find(str_from(m->name)) == m); /* no name twice */
        CHECK(m->name, m->says[0] && m->source[0] && m->n_laws > 0);
        for (double f_hz = 1e9; f_hz < 1e11; f_hz *= 1.3) {
            const double complex eps = material_permittivity(m, f_hz);
            CHECK(m->name, isfinite(creal(eps)) && isfinite(cimag(eps)) && cimag(eps) <= 0.0);
        }
    }
}

TEST(ranges_are_told)
{
    const struct material *board = material_find(STR("floorboard")), *brick = material_find(STR("brick"));
    CHECK("floorboard is known from 50 GHz on", !material_covers(board, 5.5e9) && material_covers(board, 60e9));
    CHECK("brick is known up to 40 GHz", material_covers(brick, 5.5e9) && !material_covers(brick, 60e9));
    CHECK("and from 110 GHz on", material_covers(brick, 110e9));
    CHECK("no such thing", material_find(STR("kryptonite")) == NULL);
    for (uint32_t i = 0; i < material_count(); i++) {
        const struct material *m = material_get(i);
        const bool beyond = strcmp(m->name, "floorboard") == 0 || strcmp(m->name, "clear_acrylic") == 0;
        CHECK(m->name, material_covers(m, 2.412e9) != beyond && material_covers(m, 7.115e9) != beyond);
    }
}

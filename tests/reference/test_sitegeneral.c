/* The main demo against the site-general model of ITU-R P.1238 (old form, kept for losses through floors): a model for any
 * house of the kind must lie within its own spread of a model for this one.
 *
 *     L = 20 log10(f_MHz) + N log10(d_m) + Lf(n) - 28 dB,  d > 1 m, n floors between
 *
 * Coefficients of a residential house, from the reference table radio/indoor_sitegeneral.csv, whose head says how each was
 * seen: N = 28 at 2.4 GHz (read for 1.8-2 GHz, 2.4 from memory) and at 5.2 GHz (memory); Lf of one floor 5 and 7 dB
 * (memory); of two floors at 2.4 GHz 4 n = 8 dB (read for 1.8-2 GHz).  The spread of residential places is 8 dB
 * (standard deviation, memory). */
#include "base/units.h"
#include "check.h"
#include "house_kit.h"
#include "radio/field.h"

#include "csv.h"

/* Half of that spread: the median of many spots is steadier than one. */
static const double MEDIAN_WITHIN_DB = 4.0;

static double loss_p1238_db(double f_hz, double n, double d_m, double floors_db)
{
    return 20 * log10(f_hz / 1e6) + n * log10(d_m) + floors_db - 28;
}

/* The formula as written above gives the examples worked beside the table. */
TEST(formula_gives_the_worked_examples)
{
    struct check_run c = check_run_begin();
    const char *path = check_reference(&c, "radio/indoor_sitegeneral.csv");
    if (!path) {
        check_run_end(&c);
        skip();
    }
    const struct csv t = csv_read(c.run.arena, path);
    uint32_t n = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        double d_m, coefficient, floors_db, f_mhz;
        const struct str item = csv_cell(&t, i, "item");
        const char *text = arena_printf(c.run.arena, "%.*s", STR_ARG(item));
        if (sscanf(text, "old form %*d: d = %lf m, N = %lf, Lf = %lf, f = %lf", &d_m, &coefficient, &floors_db,
                   &f_mhz) != 4)
            continue;
        CHECK_NEAR(text, loss_p1238_db(1e6 * f_mhz, coefficient, d_m, floors_db), csv_num(&t, i, "value"), 1e-3, "dB");
        n++;
    }
    CHECK("worked examples", n == 6);
    check_run_end(&c);
}

/* Storeys whose walking surface lies between two heights, of those that cover the place. */
static uint32_t floors_between(const struct house *h, struct vec2 at_m, double z1_m, double z2_m)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const struct floor *f = &h->floors.v[i];
        n += !f->open_air && f->slab.i != NO_REF && polygon_contains(f->outline, at_m) &&
             (f->level_m - z1_m) * (f->level_m - z2_m) < 0;
    }
    return n;
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Our loss less the formula's: all spots in rooms of the access points' own building, with so many floors between. */
static void median_within(struct check_run *c, const struct house *h, const struct fields *f, double f_hz,
                          uint32_t n_floors, double floors_db)
{
    enum { MAX = 200000 };
    double *excess_db = ARENA_ARRAY(c->run.arena, double, MAX);
    uint32_t n = 0;
    for (uint32_t g = 0; g < f->grids.n; g++)
        for (uint32_t r = 0; r < f->radios.n; r++) {
            const struct grid *grid = &f->grids.v[g];
            const struct ap_radio *radio = &f->radios.v[r];
            const struct floor *home = &h->floors.v[h->equipment.v[radio->equipment].floor.i];
            if (radio->centre_hz != f_hz || h->floors.v[grid->floor].open_air)
                continue;
            for (uint32_t i = 0; i < grid->nx * grid->ny; i++) {
                const struct vec2 at = { grid->x0_m + (i % grid->nx + 0.5) * grid->cell_m,
                                         grid->y0_m + (i / grid->nx + 0.5) * grid->cell_m };
                const double d_m = vec3_len(vec3_sub((struct vec3){ at.x, at.y, grid->z_m }, radio->at_m));
                if (!grid->inside[i] || grid->room[i] == NO_REF || d_m <= 1.0 || n == MAX ||
                    !polygon_contains(home->outline, at) || floors_between(h, at, grid->z_m, radio->at_m.z) != n_floors)
                    continue;
                const double loss_db = -(double)field_gain_db(f, g, r, i % grid->nx, i / grid->nx);
                excess_db[n++] = loss_db - loss_p1238_db(f_hz, 28, d_m, floors_db);
            }
        }
    CHECK("spots to compare", n > 100);
    qsort(excess_db, n, sizeof *excess_db, by_size);
    print_message(
        "    %.3f GHz, %u floors: %u spots, median of loss - P.1238 %+.1f dB, middle half %+.1f to %+.1f dB\n",
        f_hz / 1e9, n_floors, n, excess_db[n / 2], excess_db[n / 4], excess_db[n - n / 4 - 1]);
    CHECK_NEAR("median against P.1238", excess_db[n / 2], 0.0, MEDIAN_WITHIN_DB, "dB");
}

TEST(main_demo_lies_within_the_spread)
{
    struct check_run c = check_run_begin();
    struct arena *a = c.run.arena;
    struct house *h;
    struct scene *scene;
    ap_radio_list given;
    CHECK_OK(&c, house_read(&c.run, check_path(&c, "houses/larch_end.house.yaml"), &h, &c.problems));
    CHECK_OK(&c, scene_build(&c.run, h, &scene, &c.problems));
    CHECK_OK(&c, ap_radios_resolve(&c.run, h, NULL, &given, &c.problems));
    /* Isotropic antennas where the access points hang: the formula knows no patterns. */
    const double bands_hz[2] = { 2.437e9, 5.25e9 };
    ap_radio_list radios = { .v = ARENA_ARRAY(a, struct ap_radio, 2 * (size_t)given.n) };
    for (uint32_t i = 0; i < given.n; i++)
        for (int b = 0; b < 2 && (i == 0 || given.v[i].equipment != given.v[i - 1].equipment); b++) {
            radios.v[radios.n] = kit_radio(bands_hz[b], given.v[i].at_m);
            radios.v[radios.n++].equipment = given.v[i].equipment;
        }
    struct fields f = { 0 };
    const struct field_options options = { .trace = { .order = 2, .diffraction = true, .estimate = ESTIMATE_MIDDLE },
                                           .cell_m = 1.0 };
    CHECK_OK(&c, grids_of_house(&c.run, h, options.cell_m, &f, &c.problems));
    CHECK_OK(&c, fields_compute(&c.run, h, scene, radios, options, &f, &c.problems));
    median_within(&c, h, &f, bands_hz[0], 0, 0);
    median_within(&c, h, &f, bands_hz[0], 1, 5);
    median_within(&c, h, &f, bands_hz[0], 2, 8);
    median_within(&c, h, &f, bands_hz[1], 0, 0);
    median_within(&c, h, &f, bands_hz[1], 1, 7);
    check_run_end(&c);
}

#include "data/constructs.h"

#include <math.h>

#include "check.h"
#include "csv.h"
#include "data/materials.h"

static const double BANDS_GHZ[] = { 2.4, 5, 6 };

static const struct built_in_measured *measured_in(const struct built_in_construct *c, double band_ghz)
{
    for (uint32_t i = 0; i < c->n_measured; i++)
        if (fabs(c->measured[i].band_ghz - band_ghz) < 0.01)
            return &c->measured[i];
    return NULL;
}

TEST(every_construct_is_whole)
{
    for (uint32_t i = 0; i < built_in_construct_count(); i++) {
        const struct built_in_construct *c = built_in_construct_get(i);
        CHECK(c->id, built_in_construct_find(str_from(c->id)) == c); /* no name twice */
        CHECK(c->id, c->says[0] && c->n_layers > 0);
        for (uint32_t k = 0; k < c->n_layers; k++) {
            const struct material *m = material_find(str_from(c->layers[k].material));
            CHECK(c->id, m && c->layers[k].thickness_m > 0.0);
            CHECK("known over all bands", material_covers(m, 2.4e9) && material_covers(m, 7.125e9));
        }
        CHECK("all bands or none", c->n_measured == 0 || c->n_measured == RT_COUNT(BANDS_GHZ));
        for (uint32_t k = 0; k < c->n_measured; k++) {
            const struct built_in_measured *m = &c->measured[k];
            CHECK("in order", m->band_ghz == BANDS_GHZ[k]);
            CHECK(c->id, m->low_db > 0.0 && m->low_db <= m->loss_db && m->loss_db <= m->high_db && m->high_db < 60.0);
            CHECK("sourced", m->source[0]);
        }
    }
    CHECK("no such thing", built_in_construct_find(STR("brick")) == NULL);
}

TEST(names_of_the_house_format_are_here)
{
    static const char *const NAMES[] = {
        "brick_single",
        "brick_solid",
        "brick_cavity",
        "block_100",
        "block_insulated",
        "concrete_150",
        "concrete_floor",
        "stud_wall",
        "stud_foil",
        "stud_tiled",
        "lath_plaster",
        "wire_lath_plaster",
        "timber_floor",
        "timber_floor_tiled",
        "heating_mat_floor",
        "stone_500",
        "stone_rubble_600",
        "cob_600",
        "timber_door",
        "hollow_door",
        "metal_door",
        "glass_single",
        "glass_double",
        "glass_low_e",
        "roof_tiles",
        "roof_foil",
        "roof_slate",
        "timber_cladding",
        "steel_sheet",
        "mirror",
        "chimney_breast",
        "metal_appliance",
        "water_tank",
        "furniture_full",
        "earth",
        "plasterboard_ceiling",
    };
    for (size_t i = 0; i < RT_COUNT(NAMES); i++)
        CHECK(NAMES[i], built_in_construct_find(str_from(NAMES[i])) != NULL);
    CHECK_NEAR("no others", built_in_construct_count(), RT_COUNT(NAMES), 0, "constructs");
}

/* Published losses of the like, by their rows in tests/reference/wall_loss_measured.csv (each with its own source there).
 * times: how many of the published thing the construct holds.  The published value must lie between low and high, and the
 * middle must not be further from it than off_db. */
static const struct {
    const char *construct;
    double band_ghz;
    const char *item;
    double f_ghz, thickness_m, times, off_db;
} PUBLISHED[] = {
    { "brick_single", 2.4, "red brick dry", 2.3, 0.102, 1, 1.5 },
    { "brick_single", 5, "red brick dry", 5.25, 0.102, 1, 6.0 },
    { "brick_solid", 2.4, "red brick wet", 2.3, 0.102, 2, 1.5 },
    { "brick_solid", 2.4, "heavy interior wall (load-bearing or over 0.1 m)", 1.8, 0, 1, 3.0 },
    { "block_100", 2.4, "cinder block dry", 2.3, 0.194, 1, 3.0 },
    { "block_100", 5, "cinder block dry", 5.25, 0.194, 1, 6.0 },
    { "concrete_150", 2.4, "concrete wall", 2.437, 0, 1, 0.5 },
    { "concrete_150", 5, "concrete wall", 5.5, 0, 1, 2.0 },
    { "concrete_150", 2.4, "plain concrete (fresh)", 2.5, 0.102, 1, 8.0 },
    { "concrete_150", 5, "plain concrete (fresh)", 5.5, 0.102, 1, 2.0 },
    { "concrete_floor", 2.4, "1 floor(s): 18.3 k^((k+2)/(k+1)-0.46)", 1.8, 0, 1, 1.0 },
    { "concrete_floor", 2.4, "one floor, office building 2", 0.914, 0, 1, 5.0 },
    { "stud_wall", 2.4, "drywall 12.8 mm", 2.3, 0.0128, 2.1, 2.0 },
    { "stud_wall", 5, "drywall 12.8 mm", 5.25, 0.0128, 2.1, 2.0 },
    { "stud_wall", 2.4, "light interior wall (plasterboard, particle board, thin light concrete under 0.1 m)", 1.8, 0,
      1, 1.0 },
    { "stud_wall", 5, "interior wall, residential", NAN, 0, 1, 2.0 },
    { "timber_cladding", 2.4, "wood", 2.437, 0, 1, 0.5 },
    { "timber_cladding", 5, "wood", 5.5, 0, 1, 2.0 },
    { "wire_lath_plaster", 2.4, "diamond mesh (stucco lath)", 2.3, 0, 1, 1.0 },
    { "wire_lath_plaster", 2.4, "stucco wall", 2.3, 0.02575, 1, 7.0 },
    { "wire_lath_plaster", 5, "stucco wall", 5.25, 0.02575, 1, 5.0 },
    { "stone_500", 2.4, "external wall: stone blocks", NAN, 0, 1, 3.0 },
    { "stone_rubble_600", 2.4, "external wall: stone blocks", NAN, 0, 1, 6.5 },
    { "timber_door", 2.4, "fir lumber", 2.3, 0.038, 1, 0.5 },
    { "timber_door", 5, "fir lumber", 5.25, 0.038, 1, 0.5 },
    { "timber_door", 5, "wood", 5.5, 0, 1, 1.5 },
    { "hollow_door", 2.4, "particle board", 2.3, 0.018, 1, 0.5 },
    { "hollow_door", 5, "particle board", 5.25, 0.018, 1, 0.5 },
    { "plasterboard_ceiling", 2.4, "drywall 9.0 mm", 2.3, 0.009, 1, 0.5 },
    { "plasterboard_ceiling", 5, "drywall 12.8 mm", 5.25, 0.0128, 1, 0.5 },
    { "glass_double", 2.4, "standard multi-pane glass", 2.437, 0, 1, 0.1 },
    { "glass_double", 5, "standard multi-pane glass", 5.5, 0, 1, 0.1 },
    { "glass_double", 6, "standard multi-pane glass", 6.0, 0, 1, 0.2 },
    { "glass_low_e", 2.4, "low-e (IRR) glass", 2.437, 0, 1, 0.1 },
    { "glass_low_e", 5, "low-e (IRR) glass", 5.5, 0, 1, 0.1 },
    { "glass_low_e", 6, "low-e (IRR) glass", 6.0, 0, 1, 0.3 },
};

/* The loss in the row of that item, frequency (NaN: whatever it says) and thickness (0: whatever it says). */
static double published_db(const struct csv *t, const char *item, double f_ghz, double thickness_m)
{
    for (uint32_t row = 0; row < t->rows.n; row++)
        if (str_is(csv_cell(t, row, "item"), item) && (isnan(f_ghz) || csv_num(t, row, "f_ghz") == f_ghz) &&
            (thickness_m <= 0.0 || csv_num(t, row, "thickness_m") == thickness_m))
            return csv_num(t, row, "loss_db");
    return NAN;
}

TEST(measured_losses_are_those_published)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/wall_loss_measured.csv"));
    for (size_t i = 0; i < RT_COUNT(PUBLISHED); i++) {
        const struct built_in_construct *b = built_in_construct_find(str_from(PUBLISHED[i].construct));
        const struct built_in_measured *m = measured_in(b, PUBLISHED[i].band_ghz);
        const char *what = arena_printf(c.run.arena, "%s at %g GHz, %s", b->id, m->band_ghz, PUBLISHED[i].item);
        const double db =
            published_db(&t, PUBLISHED[i].item, PUBLISHED[i].f_ghz, PUBLISHED[i].thickness_m) * PUBLISHED[i].times;
        CHECK(what, db >= m->low_db - 0.05 && db <= m->high_db + 0.05);
        CHECK_NEAR(what, m->loss_db, db, PUBLISHED[i].off_db, "dB");
    }
    check_run_end(&c);
}

TEST(a_timber_floor_loses_what_a_floor_of_a_house_loses)
{
    /* ITU-R P.1238 floor penetration loss, residential, house, one floor: 5 dB at 2.4 GHz, 7 dB at 5.2 GHz (from memory). */
    const struct built_in_construct *f = built_in_construct_find(STR("timber_floor"));
    CHECK_NEAR("2.4 GHz", measured_in(f, 2.4)->loss_db, 5.0, 0.5, "dB");
    CHECK_NEAR("5 GHz", measured_in(f, 5)->loss_db, 7.0, 0.5, "dB");
}

TEST(what_spoils_houses_is_told_apart)
{
    /* Modern energy-efficient buildings lose 20 to 25 dB more than old ones (I. Rodriguez and others, VTC Fall 2014,
     * abstract): what makes the difference is foil and coated glass. */
    static const char *const PAIRS[][2] = {
        { "stud_wall", "stud_foil" },
        { "glass_double", "glass_low_e" },
        { "roof_tiles", "roof_foil" },
        { "lath_plaster", "wire_lath_plaster" },
        { "timber_floor", "heating_mat_floor" },
        { "timber_door", "metal_door" },
    };
    for (size_t i = 0; i < RT_COUNT(PAIRS); i++)
        for (size_t b = 0; b < RT_COUNT(BANDS_GHZ); b++) {
            const struct built_in_measured *kind =
                measured_in(built_in_construct_find(str_from(PAIRS[i][0])), BANDS_GHZ[b]);
            const struct built_in_measured *harsh =
                measured_in(built_in_construct_find(str_from(PAIRS[i][1])), BANDS_GHZ[b]);
            CHECK_NEAR(PAIRS[i][1], harsh->loss_db - kind->loss_db, 17.5, 9.5, "dB more");
        }
}

/* So that no house of built-in constructs rests on a law outside its range. */
TEST(every_material_is_known_in_the_bands_of_wifi)
{
    static const double F_HZ[] = { 2.412e9, 2.472e9, 5.18e9, 5.885e9, 5.935e9, 7.115e9 };
    for (uint32_t i = 0; i < built_in_construct_count(); i++) {
        const struct built_in_construct *c = built_in_construct_get(i);
        for (uint32_t k = 0; k < c->n_layers; k++)
            for (size_t f = 0; f < RT_COUNT(F_HZ); f++)
                CHECK(c->id, material_covers(material_find(str_from(c->layers[k].material)), F_HZ[f]));
    }
}

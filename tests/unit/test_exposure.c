#include "radio/exposure.h"

#include <math.h>
#include <string.h>

#include "check.h"
#include "csv.h"

/* exposure.csv: its limits' sources are in its column 'seen'; its distances come from an independent script. */
TEST(limits_and_distances_of_the_table)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/exposure.csv"));
    uint32_t n;
    const struct exposure_limit *l = exposure_limits(&n);
    unsigned n_met[16] = { 0 };
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const struct str standard = csv_cell(&t, i, "standard");
        const char *who = str_dup(c.run.arena, csv_cell(&t, i, "population")).p;
        const double eirp_w = csv_num(&t, i, "eirp_w"), density = csv_num(&t, i, "limit_w_per_m2");
        const double eirp_dbm = 30 + 10 * log10(eirp_w);
        const char *label = arena_printf(c.run.arena, "%.*s, %s, %g W", STR_ARG(standard), who, eirp_w);
        CHECK_NEAR(label, exposure_distance_m(eirp_dbm, density, 1), csv_num(&t, i, "distance_m"), 6e-6, "m");
        CHECK_NEAR(label, exposure_distance_m(eirp_dbm, density, 2.56), csv_num(&t, i, "distance_1p6_m"), 6e-6, "m");
        CHECK_NEAR(label, exposure_distance_m(eirp_dbm, density, 4), csv_num(&t, i, "distance_2_m"), 6e-6, "m");
        CHECK_NEAR(label, exposure_density_w_per_m2(eirp_dbm, csv_num(&t, i, "distance_2_m"), 4), density,
                   density * 1e-3, "W/m2");
        for (uint32_t k = 0; k < n; k++) {
            const bool is_public = strstr(who, "general") != NULL;
            const bool whole_body = strstr(who, "local") == NULL;
            if (!str_is(standard, l[k].says) || is_public != l[k].is_public || whole_body != l[k].whole_body)
                continue;
            CHECK_NEAR(label, l[k].density_w_per_m2, density, 0, "W/m2");
            CHECK(label, strstr(who, arena_printf(c.run.arena, "%g min", l[k].averaging_s / 60)) != NULL);
            double from_mhz, to_mhz;
            CHECK(label,
                  sscanf(str_dup(c.run.arena, csv_cell(&t, i, "band_mhz")).p, "%lf-%lf", &from_mhz, &to_mhz) == 2);
            CHECK_NEAR(label, l[k].from_hz, from_mhz * 1e6, 0, "Hz");
            CHECK_NEAR(label, l[k].to_hz, to_mhz * 1e6, 0, "Hz");
            n_met[k]++;
        }
    }
    for (uint32_t k = 0; k < n; k++)
        CHECK(l[k].says, n_met[k] == 4); /* every limit here has its rows there */
    check_run_end(&c);
}

TEST(limits_by_name)
{
    CHECK("ICNIRP", exposure_limit_public(STR("icnirp_2020"), 2.437e9)->density_w_per_m2 == 10);
    CHECK("ICNIRP, 6 GHz band", exposure_limit_public(STR("icnirp_2020"), 7.1e9)->density_w_per_m2 == 10);
    CHECK("FCC", exposure_limit_public(STR("fcc"), 5.5e9)->density_w_per_m2 == 10);
    CHECK("another name", exposure_limit_public(STR("icnirp"), 5.5e9) == NULL);
    CHECK("outside of the band", exposure_limit_public(STR("fcc"), 1e9) == NULL);
}

/* Worked by hand.  Two radios of one access point, 20 dBm (0.1 W) at 2.437 GHz and 23.0103 dBm (0.2 W) at 5.21 GHz, limit
 * 10 W/m2, field doubled:  S(0.5 m) = 4 * 0.3 / (4 pi 0.25) = 0.381972 W/m2, fraction 0.0381972; the sum is 1 at
 * sqrt(4 * 0.3 / (4 pi 10)) = 0.0977205 m; 2 D^2 / lambda for 0.2 m at 5.21 GHz = 0.08 / 0.0575417 = 1.390295 m. */
TEST(an_access_point_by_hand)
{
    struct ap_radio v[] = {
        { .equipment = 3, .centre_hz = 2.437e9, .eirp_dbm = 20 },
        { .equipment = 4, .centre_hz = 2.437e9, .eirp_dbm = 36 },
        { .equipment = 3, .centre_hz = 5.21e9, .eirp_dbm = 23.010299957 },
    };
    const ap_radio_list radios = { v, RT_COUNT(v) };
    struct exposure e;
    CHECK("known limit", exposure_of_access_point(&radios, 3, STR("icnirp_2020"), 0.5, 0.2, &e));
    CHECK_NEAR("radios", e.n_radios, 2, 0, "");
    CHECK_NEAR("fraction", e.fraction, 0.0381972, 1e-7, "");
    CHECK_NEAR("distance", e.distance_m, 0.0977205, 1e-7, "m");
    CHECK_NEAR("far field", e.far_field_m, 1.390295, 1e-5, "m");
    CHECK("touching stays finite", exposure_of_access_point(&radios, 3, STR("fcc"), 0, 0, &e) && isfinite(e.fraction));
    CHECK_NEAR("size not known", e.far_field_m, 0, 0, "m");
    CHECK("silent", exposure_of_access_point(&radios, 9, STR("fcc"), 1, 0, &e) && e.n_radios == 0 && e.fraction == 0);
    CHECK("unknown limit", !exposure_of_access_point(&radios, 3, STR("none"), 1, 0, &e));
}

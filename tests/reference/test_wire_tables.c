/* Watts over the data cable, copper, bundles, cabinets and batteries against the reference tables, row by row.  Sources of the
 * rows stand in the tables themselves. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "check.h"
#include "csv.h"
#include "data/batteries.h"
#include "data/cabinets.h"
#include "data/conductors.h"
#include "wire/poe.h"

static struct csv table(struct check_run *c, const char *name)
{
    return csv_read(c->run.arena, check_path(c, arena_printf(c->run.arena, "tests/reference/%s", name)));
}

static const char *row_label(struct check_run *c, const struct csv *t, uint32_t i, const char *first,
                             const char *second)
{
    return arena_printf(c->run.arena, "row %u: %.*s %.*s", i, STR_ARG(csv_cell(t, i, first)),
                        STR_ARG(csv_cell(t, i, second)));
}

/* IEEE 802.3-2022 clauses 33 and 145: at the end of the longest channel a class has its watts, to the standard's rounding. */
TEST(classes)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "poe_classes.csv");
    uint32_t n_seen = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const struct poe_class *k = poe_class((int)csv_num(&t, i, "class"));
        const char *label = row_label(&c, &t, i, "class", "standard");
        if (csv_num(&t, i, "type") !=
            k->type) /* the two further rows of clause 145, which our source side never takes */
            continue;
        n_seen++;
        CHECK_NEAR(label, k->pair_sets * 2, csv_num(&t, i, "pairs_powered"), 0, "pairs");
        CHECK_NEAR(label, k->source_w, csv_num(&t, i, "pse_min_output_W"), 0, "W");
        CHECK_NEAR(label, k->device_w, csv_num(&t, i, "pd_max_input_W"), 0, "W");
        CHECK_NEAR(label, k->loop_ohm, csv_num(&t, i, "channel_loop_per_pairset_ohm"), 0, "ohm");
        CHECK_NEAR(label, k->source_v, csv_num(&t, i, "pse_min_V"), 0, "V");
        CHECK_NEAR(label, k->device_v, csv_num(&t, i, "pd_min_V"), 0, "V");
        CHECK_NEAR(label, k->pair_set_a, csv_num(&t, i, "max_current_per_pairset_A"), 0, "A");
        const struct poe_flow f = poe_from_source(k->source_w, k->source_v, k->loop_ohm / k->pair_sets);
        CHECK_NEAR(label, f.current_a, csv_num(&t, i, "check_current_total_A"), 5e-5, "A");
        CHECK_NEAR(label, f.loss_w, csv_num(&t, i, "check_loss_W"), 5e-5, "W");
        CHECK_NEAR(label, f.load_w, csv_num(&t, i, "pd_check_W"), 5e-5, "W");
        CHECK_NEAR(label, f.load_v, csv_num(&t, i, "pd_check_V"), 5e-4, "V");
        enum poe_limit limit;
        const double most_w = poe_deliverable_w(k, k, k->loop_ohm, &limit);
        CHECK_NEAR(label, most_w, fmin(csv_num(&t, i, "pd_check_W"), k->device_w), 0.01, "W delivered");
    }
    CHECK_NEAR("all classes", n_seen, POE_CLASS_TOP + 1, 0, "rows");
    check_run_end(&c);
}

/* Worked by an independent script in double; figures printed to 1e-6. */
TEST(worked_loops)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "poe_worked.csv");
    CHECK_NEAR("table", t.rows.n, 69, 0, "rows");
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const char *label = row_label(&c, &t, i, "case", "length_m");
        double loop_ohm = csv_num(&t, i, "loop_ohm");
        const struct str wire = csv_cell(&t, i, "case");
        if (wire.n == 5 && memcmp(wire.p, "AWG", 3) == 0) { /* from the wire, not from the table's own loop */
            const int awg = (wire.p[3] - '0') * 10 + (wire.p[4] - '0');
            const double ohm_per_m = copper_ohm_per_m(awg_area_mm2(awg), csv_num(&t, i, "copper_degC"));
            CHECK_NEAR(label, ohm_per_m, csv_num(&t, i, "loop_per_pairset_ohm_per_m"), 6e-8, "ohm/m");
            const double exact_ohm = ohm_per_m * csv_num(&t, i, "length_m") / csv_num(&t, i, "pairsets");
            CHECK_NEAR(label, exact_ohm, loop_ohm, 6e-7, "ohm");
            loop_ohm = exact_ohm;
        }
        const bool by_source = str_is(csv_cell(&t, i, "given"), "supply");
        const double source_v = csv_num(&t, i, "pse_V");
        const struct poe_flow f = by_source ? poe_from_source(csv_num(&t, i, "pse_W"), source_v, loop_ohm)
                                            : poe_from_load(csv_num(&t, i, "pd_W"), source_v, loop_ohm);
        CHECK(label, f.is_possible == str_is(csv_cell(&t, i, "solvable"), "yes"));
        if (!f.is_possible)
            continue;
        CHECK_NEAR(label, f.source_w, csv_num(&t, i, "pse_W"), 1e-6, "W");
        CHECK_NEAR(label, f.current_a, csv_num(&t, i, "current_A"), 1e-6, "A");
        CHECK_NEAR(label, f.loss_w, csv_num(&t, i, "loss_W"), 1e-6, "W");
        CHECK_NEAR(label, f.load_w, csv_num(&t, i, "pd_W"), 1e-4, "W");
        CHECK_NEAR(label, f.load_v, csv_num(&t, i, "pd_V"), 1e-5, "V");
        CHECK_NEAR(label, f.load_w / f.source_w, csv_num(&t, i, "efficiency_ratio"), 1e-6, "");
    }
    check_run_end(&c);
}

/* A printed table of wire (ohm per 1000 ft) and a second one. */
TEST(conductors)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "conductor.csv");
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const char *label = row_label(&c, &t, i, "awg", "diameter_mm");
        const int awg = (int)csv_num(&t, i, "awg");
        const double area_mm2 = awg_area_mm2(awg), ohm_per_m = copper_ohm_per_m(area_mm2, 20.0);
        CHECK_NEAR(label, area_mm2, csv_num(&t, i, "area_mm2"), 1e-6, "mm2");
        CHECK_NEAR(label, awg_of_area(csv_num(&t, i, "area_mm2")), awg, 0, "AWG");
        CHECK_NEAR(label, ohm_per_m, csv_num(&t, i, "table_ohm_per_m_20degC"),
                   0.0004 * csv_num(&t, i, "table_ohm_per_m_20degC"), "ohm/m");
        CHECK_NEAR(label, ohm_per_m, csv_num(&t, i, "second_table_ohm_per_m_20degC"),
                   0.0006 * csv_num(&t, i, "second_table_ohm_per_m_20degC"), "ohm/m");
        CHECK_NEAR(label, ohm_per_m, csv_num(&t, i, "computed_ohm_per_m_20degC"), 1e-7, "ohm/m");
        CHECK_NEAR(label, copper_ohm_per_m(area_mm2, 45.0), csv_num(&t, i, "computed_ohm_per_m_45degC"), 1e-7, "ohm/m");
        CHECK_NEAR(label, copper_ohm_per_m(area_mm2, 60.0), csv_num(&t, i, "computed_ohm_per_m_60degC"), 1e-7, "ohm/m");
    }
    check_run_end(&c);
}

/* nec2017 rows: NEC 2017 table 725.144, from memory in the table as here, so they only show that no digit slipped.  The 2020
 * edition was read: wires of AWG 23 and 22 at 75 degC carry at least 0.5 A in bundles up to 192. */
TEST(bundles)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "bundle_heat.csv");
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const char *label = row_label(&c, &t, i, "set", "awg");
        const struct str set = csv_cell(&t, i, "set");
        const int awg = (int)given_or(csv_num(&t, i, "awg"), 0);
        const double a = csv_num(&t, i, "current_per_conductor_A"), value = csv_num(&t, i, "value");
        if (str_is(set, "nec2017")) {
            const double limit_degc = csv_num(&t, i, "limit_degC");
            for (int end = 0; end < 2; end++) {
                const unsigned n = (unsigned)csv_num(&t, i, end ? "bundle_max" : "bundle_min");
                CHECK_NEAR(label, bundle_current_max_a(awg, n, limit_degc, 30.0), a, 1e-12, "A");
            }
        } else if (str_is(set, "loss_per_metre")) {
            CHECK_NEAR(label, 8.0 * a * a * copper_ohm_per_m(awg_area_mm2(awg), 20.0), value, 5e-5, "W/m");
        } else if (str_is(set, "measured_rise")) {
            const double heat_w_per_m = 100 * 8.0 * a * a * copper_ohm_per_m(awg_area_mm2(awg), 20.0);
            CHECK_NEAR(label, bundle_rise_k(100, heat_w_per_m), value, 1e-9, "K");
            /* the scaling row: 18.4 K at 0.48 A */
            CHECK_NEAR(label, bundle_rise_k(100, heat_w_per_m * (0.48 * 0.48) / (a * a)), 18.4, 0.05, "K");
        } else if (str_is(set, "ieee8023bt_rise_max")) {
            const double heat_w_per_m = 100 * 8.0 * a * a * copper_ohm_per_m(awg_area_mm2(24), 20.0);
            CHECK("a legal bundle of 100 stays under the standard's warming",
                  bundle_rise_k(100, heat_w_per_m) <= value);
        }
    }
    CHECK("wires beyond the table", isnan(bundle_current_max_a(28, 1, 60.0, 30.0)));
    CHECK("bundles beyond it", isnan(bundle_current_max_a(24, 62, 60.0, 30.0)));
    check_run_end(&c);
}

/* NEC table 310.15(B)(2)(b) where a row says so, printed to two digits. */
TEST(warm_air)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "ambient_correction.csv");
    for (uint32_t i = 0; i < t.rows.n; i++)
        CHECK_NEAR(row_label(&c, &t, i, "conductor_limit_degC", "ambient_degC"),
                   ambient_correction(csv_num(&t, i, "conductor_limit_degC"), csv_num(&t, i, "ambient_degC"),
                                      csv_num(&t, i, "reference_ambient_degC")),
                   csv_num(&t, i, "factor_ratio"), 5.1e-5, "");
    check_run_end(&c);
}

/* The number after "KEY=" in a cell; NaN where it is not there. */
static double input(struct str cell, const char *key)
{
    const size_t n = strlen(key);
    for (size_t i = 0; i + n < cell.n; i++)
        if ((i == 0 || cell.p[i - 1] == ' ') && memcmp(cell.p + i, key, n) == 0 && cell.p[i + n] == '=') {
            char digits[32] = { 0 };
            for (size_t k = 0; k + 1 < sizeof digits && i + n + 1 + k < cell.n && cell.p[i + n + 1 + k] != ' '; k++)
                digits[k] = cell.p[i + n + 1 + k];
            return strtod(digits, NULL);
        }
    return RT_NOT_GIVEN;
}

static void check_cabinet(const char *label, struct str group, struct str key, struct str in, double value)
{
    static const struct {
        const char *key;
        enum cabinet_place place;
    } PLACES[] = { { "free on all sides", CABINET_FREE },
                   { "second printed example", CABINET_FREE },
                   { "on a wall", CABINET_ON_WALL },
                   { "end of a free row", CABINET_FREE_ROW_END },
                   { "end of a wall row", CABINET_WALL_ROW_END },
                   { "middle of a free row", CABINET_FREE_ROW_MIDDLE },
                   { "middle of a wall row", CABINET_WALL_ROW_MIDDLE },
                   { "middle of a wall row, top covered", CABINET_WALL_ROW_ROOF_OVER } };
    const double h = input(in, "H"), w = input(in, "W"), d = input(in, "D"), k = input(in, "k");
    if (str_is(group, "cabinet_area")) {
        for (size_t i = 0; i < RT_COUNT(PLACES); i++)
            if (str_is(key, PLACES[i].key))
                CHECK_NEAR(label, cabinet_area_m2(PLACES[i].place, h, w, d), value, 5e-7, "m2");
    } else if (is_given(h)) {
        const double area_m2 = cabinet_area_m2(CABINET_ON_WALL, h, w, d);
        CHECK_NEAR(label, cabinet_rise_k(input(in, "P"), area_m2, CABINET_STEEL_W_PER_M2_K, 0), value, 5e-5, "K");
    } else if (is_given(input(in, "A"))) { /* 242 W warm 4.4 m2 by 10 K */
        CHECK_NEAR(label, cabinet_rise_k(value, input(in, "A"), k, 0), input(in, "dT"), 1e-9, "K");
    } else if (is_given(k)) { /* 500 W and 15 K ask for 6.06 m2 */
        CHECK_NEAR(label, cabinet_rise_k(input(in, "P"), value, k, 0), input(in, "dT"), 1e-4, "K");
    }
}

static void check_battery(const char *label, struct str key, struct str in, double value)
{
    const double c = input(in, "C"), rated_h = given_or(input(in, "H"), 20.0), k = input(in, "k");
    if (is_given(c)) {
        CHECK_NEAR(label, battery_hours(c, rated_h, input(in, "I"), k), value, 1e-6, "h");
    } else if (str_is(key, "exponent from two points")) { /* 0.35 A for 20 h and 7 A for 40 min of 7 Ah */
        CHECK_NEAR(label, battery_hours(7.0, 20.0, 7.0, value) * 60.0, 40.0, 1e-3, "min");
        CHECK_NEAR(label, battery_hours(7.0, 20.0, 0.35, value), 20.0, 1e-9, "h");
    } else {
        const double capacity_wh = input(in, "Ah") * input(in, "V"), draw_w = input(in, "P") / input(in, "eta");
        CHECK_NEAR(label, battery_hours(capacity_wh, rated_h, draw_w, given_or(k, 1.0)) * 60.0, value, 1e-3, "min");
    }
}

/* The printed run times without Peukert are its exponent 1. */
TEST(cabinets_and_batteries)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "environment.csv");
    uint32_t n_areas = 0, n_heats = 0, n_batteries = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const char *label = row_label(&c, &t, i, "group", "inputs_SI");
        const struct str group = csv_cell(&t, i, "group"), key = csv_cell(&t, i, "key");
        const struct str in = csv_cell(&t, i, "inputs_SI");
        const double value = csv_num(&t, i, "value");
        const bool is_area = str_is(group, "cabinet_area"), is_heat = str_is(group, "cabinet_heat");
        if (is_area || (is_heat && !str_is(key, "enclosure curve"))) {
            check_cabinet(label, group, key, in, value);
            n_areas += is_area;
            n_heats += is_heat;
        }
        if (str_is(group, "battery_peukert") || str_is(group, "ups_runtime")) {
            check_battery(label, key, in, value);
            n_batteries++;
        }
    }
    CHECK_NEAR("areas", n_areas, 8, 0, "rows");
    CHECK_NEAR("heats", n_heats, 6, 0, "rows");
    CHECK_NEAR("batteries", n_batteries, 15, 0, "rows");
    check_run_end(&c);
}

/* The exponents lie in the ranges read for their kind; more age and more cold never give more. */
TEST(chemistries)
{
    static const struct {
        const char *name;
        double from, to;
    } READ[] = { { "flooded_lead", 1.2, 1.35 },
                 { "lead", 1.1, 1.2 },
                 { "gel", 1.1, 1.25 },
                 { "lithium_iron_phosphate", 1.03, 1.08 } };
    for (size_t i = 0; i < RT_COUNT(READ); i++) {
        const struct battery_chemistry *c = battery_chemistry_find(str_from(READ[i].name));
        CHECK(READ[i].name, c && c->peukert >= READ[i].from && c->peukert <= READ[i].to);
    }
    /* IEEE 485, cell sizing factors for lead from memory: 1.19 at 50 degF, 1.11 at 60, 1.04 at 70, 1 at 77. */
    static const double FACTORS[][2] = { { 50, 1.19 }, { 60, 1.11 }, { 70, 1.04 }, { 77, 1.0 } };
    for (size_t i = 0; i < RT_COUNT(FACTORS); i++)
        CHECK_NEAR("lead in the cold",
                   battery_share(battery_chemistry_find(STR("lead")), 0, (FACTORS[i][0] - 32.0) / 1.8),
                   1.0 / FACTORS[i][1], 0.02, "");
    uint32_t n;
    const struct battery_chemistry *all = battery_chemistries(&n);
    for (uint32_t i = 0; i < n; i++)
        for (double t = -30; t < 50; t += 0.5)
            for (double age = 0; age < 25; age++) {
                const double share = battery_share(&all[i], age, t);
                CHECK(all[i].name, share >= 0 && share <= 1 && share >= battery_share(&all[i], age + 1, t) &&
                                       share >= battery_share(&all[i], age, t - 1));
            }
}

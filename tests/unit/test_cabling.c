/* Categories, reaches, cords and warmth row by row against links.csv, cord_lengths.csv and link_rules.csv; each row of those tables
 * names its source and how it was seen. */
#include "data/cabling.h"

#include <math.h>
#include <string.h>

#include "check.h"
#include "csv.h"

static struct csv table(struct check_run *c, const char *name)
{
    return csv_read(c->run.arena, check_path(c, arena_printf(c->run.arena, "tests/reference/%s", name)));
}

/* "50 um OM3" and "Cat6A" against "om3" and "6a"; both classes of category 8 are one grade there. */
static bool is_grade(struct check_run *c, struct str grade, const char *category)
{
    const char *text = arena_printf(c->run.arena, "%.*s", STR_ARG(grade));
    if (category[0] == '8')
        return strcasecmp(text, "Cat8") == 0;
    if (category[0] >= '0' && category[0] <= '9')
        return strncasecmp(text, "Cat", 3) == 0 && strcasecmp(text + 3, category) == 0;
    if (strcmp(category, "twinax") == 0)
        return strstr(text, "direct attach");
    return strcasestr(text, category);
}

/* Every row of ours is one of theirs. */
TEST(reaches_are_the_published_ones)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "links.csv");
    uint32_t n;
    const struct cable_reach *reaches = cable_reaches(&n);
    for (uint32_t i = 0; i < n; i++) {
        bool found = false;
        for (uint32_t row = 0; row < t.rows.n; row++)
            found |= is_grade(&c, csv_cell(&t, row, "grade"), reaches[i].category) &&
                     csv_num(&t, row, "speed_bit_per_s") == reaches[i].speed_mbps * 1e6 &&
                     csv_num(&t, row, "max_channel_m") == reaches[i].channel_max_m;
        CHECK(arena_printf(c.run.arena, "%s %.0f Mb/s", reaches[i].category, reaches[i].speed_mbps), found);
    }
    check_run_end(&c);
}

/* Optics that nothing here takes: another one of the same speed stands in the table too. */
static bool is_other_optic(struct str application)
{
    static const char *const OTHER[] = { "10GBASE-LRM", "10GBASE-ER", "1000BASE-LX/LH or LX10" };
    for (size_t i = 0; i < RT_COUNT(OTHER); i++)
        if (str_is(application, OTHER[i]))
            return true;
    return false;
}

/* Every row of theirs: no category of that grade is told to go further at that speed, so that of two sources that disagree the
 * shorter one counts; a grade that cannot carry it has length 0.  Two rows are not for a grade by name. */
TEST(nothing_goes_further_than_published)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "links.csv");
    uint32_t n, n_other = 0, n_judged = 0;
    const struct cable_category *all = cable_categories(&n);
    for (uint32_t row = 0; row < t.rows.n; row++) {
        const double max_m = csv_num(&t, row, "max_channel_m");
        const struct str grade = csv_cell(&t, row, "grade"), application = csv_cell(&t, row, "application");
        if (is_other_optic(application) || (str_is(application, "1000BASE-LX") && max_m == 550)) {
            n_other++;
            continue;
        }
        for (uint32_t i = 0; i < n; i++) {
            if (!is_grade(&c, grade, all[i].name))
                continue;
            const double ours_m = cable_channel_max_m(&all[i], csv_num(&t, row, "speed_bit_per_s") / 1e6);
            const char *what =
                arena_printf(c.run.arena, "%.*s %.*s: %.0f m", STR_ARG(grade), STR_ARG(application), ours_m);
            CHECK(what, ours_m <= max_m);
            CHECK(what, ours_m > 0.0 || max_m == 0.0 || str_is(application, "5GBASE-T"));
            n_judged++;
        }
    }
    CHECK_NEAR("other optics", n_other, 5, 0, "rows");
    CHECK_NEAR("judged, category 8 twice", n_judged, t.rows.n - 5 + 3, 0, "rows");
    check_run_end(&c);
}

/* Cords that lose a fifth more, TIA-568-B: so much fixed cable and cord is just legal; the printed work-area cord is the formula's,
 * rounded, with 5 m in the cabinet.  TSB-75 and cords that lose half more allow less fixed cable for the same cord, but never so
 * little that what we allow at 90 m is beyond them by more than the 10 m that TIA-568 gives the cords there. */
TEST(cords_shorten_the_fixed_cable)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "cord_lengths.csv");
    const struct cable_category *category = cable_category_find(STR("6"));
    uint32_t n = 0, n_other = 0;
    for (uint32_t row = 0; row < t.rows.n; row++) {
        const double fixed_m = csv_num(&t, row, "horizontal_m"), cords_m = csv_num(&t, row, "formula_cord_m");
        const double extra = csv_num(&t, row, "cord_extra_attenuation_ratio");
        const char *what = arena_printf(c.run.arena, "row %u", row);
        const bool is_tsb = str_is(csv_cell(&t, row, "standard"), "TSB-75");
        /* the formulas that the rows print, from their own figures */
        CHECK_NEAR(what, (is_tsb ? 93.6 - fixed_m : 102.0 - fixed_m) / (1.0 + extra), cords_m, 5e-5, "m");
        if (is_tsb || extra != 0.2) {
            n_other++;
            continue;
        }
        CHECK_NEAR(what, cable_length_max_m(category, 100.0, cords_m), fixed_m + cords_m, 1e-3, "m");
        CHECK_NEAR(what, cords_m - 5.0, csv_num(&t, row, "printed_work_area_m"), 0.5, "m");
        CHECK_NEAR(what, cable_length_max_m(category, 100.0, cords_m), csv_num(&t, row, "length_total_m"), 0.5, "m");
        n++;
    }
    CHECK("rows", n == 5 && n_other == 10);
    check_run_end(&c);
}

static double rule(const struct csv *t, const char *name, const char *condition)
{
    for (uint32_t row = 0; row < t->rows.n; row++)
        if (str_is(csv_cell(t, row, "rule"), name) && str_is(csv_cell(t, row, "condition"), condition))
            return csv_num(t, row, "value");
    fail_msg("no rule %s, %s", name, condition);
    return 0.0;
}

/* Permanent link and channel with the cords (TIA-568-C, ISO/IEC 11801). */
TEST(ninety_and_ten)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "link_rules.csv");
    const struct cable_category *category = cable_category_find(STR("5e"));
    const double cords_m = rule(&t, "cords_total_max", "stranded"),
                 fixed_m = rule(&t, "permanent_link_max", "solid cable");
    CHECK_NEAR("channel", cable_length_max_m(category, 100.0, cords_m), rule(&t, "channel_max", "90 m + 10 m"), 1e-9,
               "m");
    CHECK_NEAR("permanent link", cable_length_max_m(category, 100.0, 0.0), fixed_m, 1e-9, "m");
    CHECK_NEAR("2.5 Gb/s at 90 + 10 m", cable_speed_mbps(category, fixed_m, cords_m, INFINITY), 2500.0, 0.0, "Mb/s");
    CHECK_NEAR("nothing at 91 + 10 m", cable_speed_mbps(category, fixed_m + 1.0, cords_m, INFINITY), 0.0, 0.0, "Mb/s");
    CHECK_NEAR("10 Gb/s over 5e", cable_channel_max_m(category, 10000.0), 0.0, 0.0, "m");
    CHECK("no such category", cable_category_find(STR("3")) == NULL);
    check_run_end(&c);
}

/* TIA-568-C.2 clause 6.4.7: percent per K; and the lengths printed for warm places, 84 m rounded up from 83.3. */
TEST(warm_cable_loses_more)
{
    struct check_run c = check_run_begin();
    const struct csv t = table(&c, "link_rules.csv");
    const double to_40 = rule(&t, "insertion_loss_rise", "unscreened 20-40 degC") / 100.0;
    const double to_60 = rule(&t, "insertion_loss_rise", "unscreened 40-60 degC") / 100.0;
    const double screened = rule(&t, "insertion_loss_rise", "screened 20-60 degC") / 100.0;
    CHECK_NEAR("20 degC", cable_warm_ratio(false, 20.0), 1.0, 1e-12, "");
    CHECK_NEAR("below", cable_warm_ratio(false, 5.0), 1.0, 1e-12, "");
    CHECK_NEAR("30 degC", cable_warm_ratio(false, 30.0), 1.0 + 10.0 * to_40, 1e-12, "");
    CHECK_NEAR("50 degC", cable_warm_ratio(false, 50.0), 1.0 + 20.0 * to_40 + 10.0 * to_60, 1e-12, "");
    CHECK_NEAR("50 degC, screened", cable_warm_ratio(true, 50.0), 1.0 + 30.0 * screened, 1e-12, "");
    CHECK_NEAR("at 40 degC", 90.0 / cable_warm_ratio(false, 40.0),
               rule(&t, "horizontal_max_at_40degC", "unscreened with 10 m cords at 20 degC"), 1.0, "m");
    CHECK_NEAR("at 60 degC", 90.0 / cable_warm_ratio(false, 60.0), rule(&t, "horizontal_max_at_60degC", "unscreened"),
               0.5, "m");
    CHECK_NEAR("at 60 degC, screened", 90.0 / cable_warm_ratio(true, 60.0),
               rule(&t, "horizontal_max_at_60degC", "screened"), 0.5, "m");
    check_run_end(&c);
}

/* Copper of a higher category may stand for a lower one; fibre must be the same (its cores or its modes differ). */
TEST(what_may_stand_for_what)
{
    CHECK("6a for 5e", cable_category_serves(STR("6a"), STR("5e")) && !cable_category_serves(STR("5e"), STR("6a")));
    CHECK("8.1 for 7a", cable_category_serves(STR("8.1"), STR("7a")));
    CHECK("om4 for om3",
          !cable_category_serves(STR("om4"), STR("om3")) && cable_category_serves(STR("om3"), STR("om3")));
    CHECK("no fibre for copper", !cable_category_serves(STR("os2"), STR("5e")));
    CHECK("copper", cable_is_copper(STR("8.2")) && !cable_is_copper(STR("om5")) && !cable_is_copper(STR("twinax")));
}

/* IEEE 802.3 allots 1.5 dB of a multimode channel to connections, two pairs of 0.75 dB: the rest of the budget is the longest fibre's own
 * loss.  Of single-mode 2 dB are allotted (clauses 38, 52, 86 and 87, from memory). */
TEST(the_longest_channel_loses_what_it_may)
{
    uint32_t n;
    const struct cable_reach *r = cable_reaches(&n);
    uint32_t n_fibre = 0;
    for (uint32_t i = 0; i < n; i++) {
        const struct cable_category *c = cable_category_find(str_from(r[i].category));
        if (c->family != CABLE_MULTIMODE && c->family != CABLE_SINGLE_MODE) {
            CHECK("copper has none", r[i].loss_max_db <= 0.0 && c->db_per_km <= 0.0);
            continue;
        }
        const double loss_db = r[i].channel_max_m / 1e3 * c->db_per_km + 2 * FIBRE_CONNECTION_DB;
        CHECK("it does", loss_db <= r[i].loss_max_db + 0.05);
        CHECK("not far below", r[i].loss_max_db - loss_db < 1.3);
        n_fibre++;
    }
    CHECK_NEAR("rows", n_fibre, 11, 0, "");
    CHECK_NEAR("OM4 at 10 Gb/s", cable_loss_max_db(cable_category_find(STR("om4")), 10000), 2.9, 1e-12, "dB");
    CHECK_NEAR("OM4 at 1 Gb/s", cable_loss_max_db(cable_category_find(STR("om4")), 1000), 3.56, 1e-12, "dB");
}

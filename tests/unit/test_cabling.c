/* The table of reaches against the published one, cords against TIA-568-B. */
#include "data/cabling.h"

#include <math.h>
#include <string.h>

#include "check.h"
#include "csv.h"

/* "50 um OM3" and "Cat6A" against "om3" and "6a". */
static bool is_grade(struct check_run *c, struct str grade, const char *category)
{
    const char *text = arena_printf(c->run.arena, "%.*s", STR_ARG(grade));
    if (category[0] >= '0' && category[0] <= '9')
        return strncasecmp(text, "Cat", 3) == 0 && strcasecmp(text + 3, category) == 0;
    if (strcmp(category, "twinax") == 0)
        return strstr(text, "direct attach");
    return strcasestr(text, category);
}

/* links.csv: every row of ours is one of theirs, and no speed of theirs at which a source gives a shorter length is told
 * longer (rows that claim a screen or a maker's figure apart). */
TEST(reaches_are_the_published_ones)
{
    struct check_run c = check_run_begin();
    const char *path = check_reference(&c, "wire/links.csv");
    if (!path)
        skip();
    const struct csv t = csv_read(c.run.arena, path);
    uint32_t n;
    const struct cable_reach *reaches = cable_reaches(&n);
    for (uint32_t i = 0; i < n; i++) {
        bool found = false;
        double shortest_m = INFINITY;
        for (uint32_t row = 0; row < t.rows.n; row++) {
            const double max_m = csv_num(&t, row, "max_channel_m");
            if (!is_grade(&c, csv_cell(&t, row, "grade"), reaches[i].category) ||
                csv_num(&t, row, "speed_bit_per_s") != reaches[i].speed_mbps * 1e6)
                continue;
            found |= max_m == reaches[i].channel_max_m;
            shortest_m = fmin(shortest_m, max_m);
        }
        const char *what = arena_printf(c.run.arena, "%s %.0f Mb/s", reaches[i].category, reaches[i].speed_mbps);
        CHECK(what, found);
        if (strncmp(reaches[i].category, "om1", 3) != 0 && strncmp(reaches[i].category, "om3", 3) != 0 &&
            strncmp(reaches[i].category, "os2", 3) != 0) /* other optics of the same speed stand there too */
            CHECK_NEAR(what, reaches[i].channel_max_m, shortest_m, 0.0, "m");
    }
    check_run_end(&c);
}

/* cord_lengths.csv, TIA-568 with cords that lose a fifth more: so much fixed cable and cord is just legal. */
TEST(cords_shorten_the_fixed_cable)
{
    struct check_run c = check_run_begin();
    const char *path = check_reference(&c, "wire/cord_lengths.csv");
    if (!path)
        skip();
    const struct csv t = csv_read(c.run.arena, path);
    const struct cable_category *category = cable_category_find(STR("6"));
    uint32_t n = 0;
    for (uint32_t row = 0; row < t.rows.n; row++) {
        if (!str_is(csv_cell(&t, row, "standard"), "TIA-568") ||
            csv_num(&t, row, "cord_extra_attenuation_ratio") != 0.2)
            continue;
        const double fixed_m = csv_num(&t, row, "horizontal_m"), cords_m = csv_num(&t, row, "formula_cord_m");
        CHECK_NEAR("fixed and cords", cable_length_max_m(category, 100.0, cords_m), fixed_m + cords_m, 1e-3, "m");
        n++;
    }
    CHECK("rows", n == 5);
    check_run_end(&c);
}

/* link_rules.csv: permanent link 90 m, channel 100 m with 10 m of cords (TIA-568-C, ISO/IEC 11801). */
TEST(ninety_and_ten)
{
    const struct cable_category *category = cable_category_find(STR("5e"));
    CHECK_NEAR("channel", cable_length_max_m(category, 100.0, 10.0), 100.0, 1e-9, "m");
    CHECK_NEAR("permanent link", cable_length_max_m(category, 100.0, 0.0), 90.0, 1e-9, "m");
    CHECK_NEAR("1 Gb/s at 90 + 10 m", cable_speed_mbps(category, 90.0, 10.0, INFINITY), 2500.0, 0.0, "Mb/s");
    CHECK_NEAR("nothing at 91 + 10 m", cable_speed_mbps(category, 91.0, 10.0, INFINITY), 0.0, 0.0, "Mb/s");
    CHECK_NEAR("10 Gb/s over 5e", cable_channel_max_m(category, 10000.0), 0.0, 0.0, "m");
    CHECK("no such category", cable_category_find(STR("3")) == NULL);
}

/* Rates of the profiles by kind against the published table that each state names; what they add up to in a demo household against
 * published volumes. */
#include "data/profiles.h"

#include <math.h>
#include <string.h>

#include "check.h"
#include "csv.h"
#include "data/device_kinds.h"

/* The state's own words for a row: the letter of its source, then what of it. */
static bool names_row(const struct csv *t, uint32_t i, const struct default_state *s)
{
    const struct str letter = csv_cell(t, i, "source"), what = csv_cell(t, i, "what"),
                     resolution = csv_cell(t, i, "resolution");
    const char *colon = strchr(s->source, ':');
    if (!colon || letter.n != (size_t)(colon - s->source) || strncmp(letter.p, s->source, letter.n) != 0)
        return false;
    struct str said = { colon + 2, strcspn(colon + 2, ";") };
    const char *comma = memchr(said.p, ',', said.n);
    const size_t first = comma ? (size_t)(comma - said.p) : said.n;
    if (!str_eq(what, (struct str){ said.p, first }) && !str_eq(resolution, said))
        return false;
    if (!comma)
        return true;
    const struct str rest = { comma + 2, said.n - first - 2 };
    const double fps = csv_num(t, i, "frames_per_s");
    return str_eq(resolution, rest) || (fps > 14.5 && fps < 15.5 && strncmp(rest.p, "15 a second", 11) == 0);
}

TEST(rates_are_published_ones)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/video.csv"));
    uint32_t n, n_checked = 0;
    const struct default_profile *all = default_profiles(&n);
    for (uint32_t i = 0; i < n; i++)
        for (uint32_t k = 0; k < all[i].n_states; k++) {
            const struct default_state *s = &all[i].states[k];
            const bool is_ours = strncmp(s->source, "common practice", 15) == 0 || strncmp(s->source, "ITU-T", 5) == 0;
            uint32_t n_found = 0;
            for (uint32_t r = 0; r < t.rows.n; r++) {
                if (is_ours || !names_row(&t, r, s))
                    continue;
                const char *label = arena_printf(c.run.arena, "%s: %s (%s)", all[i].name, s->says, s->source);
                const bool down_is_ours = strstr(s->source, "down: common") != NULL;
                const double down = csv_num(&t, r, "down_Mbit_per_s"), up = csv_num(&t, r, "up_Mbit_per_s");
                /* what a table prints as seen at home is sent where the house is the one that is looked at */
                CHECK_NEAR(label, down_is_ours ? s->up_mbps : s->down_mbps, down_is_ours && !isnan(up) ? up : down, 0,
                           "Mb/s");
                if (!strstr(s->source, "common"))
                    CHECK_NEAR(label, s->up_mbps, up, 0, "Mb/s up");
                n_found++;
            }
            if (!is_ours)
                CHECK(arena_printf(c.run.arena, "%s: %s names one row: %s", all[i].name, s->says, s->source),
                      n_found == 1);
            n_checked += n_found;
        }
    CHECK("most states", n_checked > 25);
    check_run_end(&c);
}

/* G.711, a packet each 20 ms: voip.csv. */
TEST(call_on_the_desk)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/voip.csv"));
    const struct default_state *call = &default_profile_find(STR("desk_phone"), false)->states[0];
    uint32_t n = 0;
    for (uint32_t i = 0; i < t.rows.n; i++)
        if (str_is(csv_cell(&t, i, "codec"), "G.711") && csv_num(&t, i, "packet_ms") == 20.0) {
            CHECK_NEAR("each way", call->down_mbps * 1e3, csv_num(&t, i, "ip_kbit_per_s"), 1e-9, "kbit/s");
            CHECK_NEAR("each way", call->up_mbps * 1e3, csv_num(&t, i, "ip_kbit_per_s"), 1e-9, "kbit/s");
            n++;
        }
    CHECK("its row", n == 1);
    check_run_end(&c);
}

TEST(every_kind_has_one_and_nobody_does_more_than_all_the_time)
{
    uint32_t n_kinds, n;
    const struct device_kind *kinds = device_kinds(&n_kinds);
    for (uint32_t i = 0; i < n_kinds; i++) {
        const struct default_profile *seen = default_profile_find(str_from(kinds[i].name), false),
                                     *kept = default_profile_find(str_from(kinds[i].name), true);
        CHECK(kinds[i].name, seen && kept);
        CHECK(kinds[i].name, (seen != kept) == kinds[i].takes_pictures);
        CHECK("to the recorder", kept->states[0].with == (kinds[i].takes_pictures ? WITH_RECORDER : WITH_INTERNET));
    }
    CHECK("no such kind", !default_profile_find(STR("lawnmower"), false));
    const struct default_profile *all = default_profiles(&n);
    for (uint32_t i = 0; i < n; i++)
        for (unsigned hour = 0; hour < 7 * HOURS_OF_DAY; hour++) {
            double sum = 0.0;
            for (uint32_t k = 0; k < all[i].n_states; k++)
                sum += default_chance(&all[i].states[k], hour);
            CHECK(all[i].name, sum <= 1.0);
        }
    CHECK_NEAR("work at ten on a Monday",
               default_chance(&default_profile_find(STR("work_laptop"), false)->states[0], 10), 0.25, 1e-12, "");
    CHECK_NEAR("none on a Sunday",
               default_chance(&default_profile_find(STR("work_laptop"), false)->states[0], 6 * 24 + 10), 0.0, 0, "");
}

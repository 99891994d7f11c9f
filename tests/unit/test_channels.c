#include "data/channels.h"

#include <math.h>
#include <string.h>

#include "check.h"
#include "csv.h"

static enum band band_named(struct str name)
{
    return str_is(name, "2.4") ? BAND_2G4 : str_is(name, "5") ? BAND_5G : BAND_6G;
}

/* channels.csv: numbers and centres read in the ns-3 simulator; 6 GHz channel 2 from memory.  Both ways: each row is a channel
 * here, and there are no others. */
TEST(every_channel_of_the_table)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/channels.csv"));
    unsigned n_wifi = 0, n_mesh = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const int channel = (int)csv_num(&t, i, "channel");
        const double width_mhz = csv_num(&t, i, "width_mhz"), centre_hz = csv_num(&t, i, "centre_mhz") * 1e6;
        const struct str band_text = csv_cell(&t, i, "band");
        const char *label = arena_printf(c.run.arena, "%.*s channel %d", STR_ARG(band_text), channel);
        if (str_is(band_text, "802.15.4")) {
            CHECK(label, channel >= MESH_CHANNEL_FIRST && channel <= MESH_CHANNEL_LAST);
            CHECK_NEAR(label, mesh_channel_centre_hz(channel), centre_hz, 0, "Hz");
            n_mesh++;
            continue;
        }
        const enum band band = band_named(band_text);
        if (band == BAND_2G4 && channel == 14) { /* DSSS only, left out here */
            CHECK(label, !channel_exists(band, channel, 20));
            continue;
        }
        CHECK(label, channel_exists(band, channel, (int)width_mhz));
        CHECK_NEAR(label, channel_centre_hz(band, channel), centre_hz, 0, "Hz");
        CHECK_NEAR(label, channel_width_mhz(band, channel), band == BAND_2G4 ? 20 : width_mhz, 0, "MHz");
        n_wifi++;
    }
    CHECK_NEAR("mesh channels", n_mesh, 16, 0, "");
    uint32_t n_blocks;
    const struct channel_block *b = channel_blocks(&n_blocks);
    unsigned n_here = 0;
    for (uint32_t i = 0; i < n_blocks; i++)
        n_here += (unsigned)((b[i].last - b[i].first) / b[i].step + 1);
    CHECK_NEAR("channels", n_here, n_wifi, 0, "");
    check_run_end(&c);
}

/* A channel found around a primary holds it: checked by frequencies alone. */
TEST(wide_channels_hold_their_primaries)
{
    unsigned n_found = 0;
    for (enum band band = 0; band < BAND_COUNT; band++)
        for (int primary = 1; primary <= 253; primary++)
            for (int width_mhz = 20; width_mhz <= 320; width_mhz *= 2) {
                const int centre = channel_around(band, primary, width_mhz);
                CHECK("a channel or none", centre == 0 || channel_exists(band, centre, width_mhz));
                if (!centre)
                    continue;
                const double off_hz = channel_centre_hz(band, primary) - channel_centre_hz(band, centre);
                CHECK("inside", fabs(off_hz) + 10e6 <= width_mhz * 0.5e6);
                CHECK("on its raster", width_mhz == 20 || fmod(fabs(off_hz), 20e6) == 10e6);
                n_found++;
            }
    CHECK("many", n_found > 300);
}

/* IEEE 802.11-2016 Table E-4 (from memory). */
TEST(wide_channels_by_hand)
{
    static const struct {
        enum band band;
        int primary, width_mhz, want;
    } CASES[] = {
        { BAND_5G, 36, 80, 42 },   { BAND_5G, 64, 160, 50 },   { BAND_5G, 100, 160, 114 }, { BAND_5G, 144, 80, 138 },
        { BAND_5G, 165, 80, 171 }, { BAND_5G, 149, 160, 163 }, { BAND_5G, 42, 80, 0 },     { BAND_5G, 36, 320, 0 },
        { BAND_6G, 1, 80, 7 },     { BAND_6G, 37, 160, 47 },   { BAND_6G, 1, 320, 31 },    { BAND_6G, 225, 80, 0 },
        { BAND_2G4, 1, 40, 3 },    { BAND_2G4, 13, 40, 11 },   { BAND_2G4, 6, 40, 8 },     { BAND_2G4, 6, 80, 0 },
        { BAND_6G, 2, 40, 0 },
    };
    struct check_run c = check_run_begin();
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        CHECK_NEAR(arena_printf(c.run.arena, "case %zu", i),
                   channel_around(CASES[i].band, CASES[i].primary, CASES[i].width_mhz), CASES[i].want, 0, "");
    CHECK_NEAR("no such channel", channel_width_mhz(BAND_5G, 37), 0, 0, "MHz");
    check_run_end(&c);
}

/* Wide channels and their lowest 20 MHz channel: IEEE Std 802.11-2020 annex E, tables E-1 and E-4 (from memory); at 2.4 GHz the
 * other half lies above primaries up to 7 and below from 8 on. */
TEST(lowest_primary_by_hand)
{
    static const struct {
        enum band band;
        int centre, width_mhz, primary;
    } CASES[] = {
        { BAND_2G4, 6, 20, 6 },   { BAND_2G4, 3, 40, 1 },     { BAND_2G4, 9, 40, 7 },  { BAND_2G4, 11, 40, 13 },
        { BAND_5G, 36, 20, 36 },  { BAND_5G, 38, 40, 36 },    { BAND_5G, 42, 80, 36 }, { BAND_5G, 155, 80, 149 },
        { BAND_5G, 50, 160, 36 }, { BAND_5G, 114, 160, 100 }, { BAND_6G, 7, 80, 1 },   { BAND_6G, 15, 160, 1 },
        { BAND_6G, 31, 320, 1 },  { BAND_5G, 40, 80, 0 },     { BAND_2G4, 2, 40, 0 },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        CHECK_NEAR("primary", channel_primary(CASES[i].band, CASES[i].centre, CASES[i].width_mhz), CASES[i].primary, 0,
                   "");
}

/* Back and forth: the lowest primary lies in its channel. */
TEST(lowest_primaries_lead_back)
{
    uint32_t n;
    const struct channel_block *b = channel_blocks(&n);
    for (uint32_t i = 0; i < n; i++)
        for (int centre = b[i].first; centre <= b[i].last; centre += b[i].step) {
            const int primary = channel_primary(b[i].band, centre, b[i].width_mhz);
            CHECK("it is a channel", channel_exists(b[i].band, primary, 20));
            CHECK_NEAR("and leads back",
                       b[i].width_mhz == 20 ? primary : channel_around(b[i].band, primary, b[i].width_mhz), centre, 0,
                       "");
        }
}

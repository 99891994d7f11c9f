#include "radio/interference.h"

#include <math.h>

#include "check.h"

TEST(overlap_is_the_shared_part_of_the_sender)
{
    CHECK_NEAR("same channel", interference_overlap_share(2412e6, 20e6, 2412e6, 20e6), 1.0, 1e-12, "");
    CHECK_NEAR("one channel on: 15 of 20 MHz", interference_overlap_share(2417e6, 20e6, 2412e6, 20e6), 0.75, 1e-12, "");
    /* Channels 1 and 6 do not overlap: 25 MHz apart, 20 MHz wide (IEEE 802.11-2016 clause 17, channel plan). */
    CHECK_NEAR("1 and 6", interference_overlap_share(2412e6, 20e6, 2437e6, 20e6), 0.0, 1e-12, "");
    CHECK_NEAR("wide into narrow", interference_overlap_share(5210e6, 80e6, 5180e6, 20e6), 0.25, 1e-12, "");
    CHECK_NEAR("narrow into wide", interference_overlap_share(5180e6, 20e6, 5210e6, 80e6), 1.0, 1e-12, "");
}

TEST(neighbours_add_by_time_and_overlap_on_their_floor)
{
    struct neighbour list[] = {
        { .band = BAND_2G4, .channel = 1, .width_mhz = 20, .level_dbm = -60, .busy_share = 0.1, .floor = { .i = 0 } },
        { .band = BAND_2G4, .channel = 2, .width_mhz = 20, .level_dbm = -60, .busy_share = 0.2, .floor = { .i = 0 } },
        { .band = BAND_5G, .channel = 36, .width_mhz = 80, .level_dbm = -70, .busy_share = 1.0, .floor = { .i = 1 } },
    };
    struct house h = { .neighbours.v = list, .neighbours.n = 3 };
    /* By hand: 1e-6 mW * (0.1 * 1 + 0.2 * 0.75) = 2.5e-7 mW = -66.02 dBm. */
    CHECK_NEAR("two on channel 1", interference_neighbours_dbm(&h, 0, 2412e6, 20e6), -66.02, 0.01, "dBm");
    CHECK("none on channel 11", interference_neighbours_dbm(&h, 0, 2462e6, 20e6) == (double)-INFINITY);
    CHECK("other floor", interference_neighbours_dbm(&h, 0, 5210e6, 80e6) == (double)-INFINITY);
    /* One that names no floor was heard on all of them. */
    list[0].floor.i = NO_REF;
    CHECK_NEAR("everywhere", interference_neighbours_dbm(&h, 1, 2412e6, 20e6), -70.0, 0.01, "dBm");
    CHECK_NEAR("also here", interference_neighbours_dbm(&h, 0, 2412e6, 20e6), -66.02, 0.01, "dBm");
    /* Primary 36 of an 80 MHz channel means the channel around 5210 MHz (channels.csv). */
    CHECK_NEAR("named by its primary", interference_neighbours_dbm(&h, 1, 5210e6, 80e6), -70.0, 0.01, "dBm");
}

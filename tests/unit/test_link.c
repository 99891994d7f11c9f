#include "radio/link.h"

#include <math.h>

#include "check.h"
#include "csv.h"
#include "data/shadowing.h"

static const struct ap_radio AP = { .band = BAND_5G,
                                    .phy = PHY_AX,
                                    .centre_hz = 5210e6,
                                    .width_hz = 80e6,
                                    .streams = 2,
                                    .power_dbm = 20,
                                    .noise_figure_db = 6 };
static const struct radio_ability PHONE = { .phy = PHY_AX,
                                            .bands = 1u << BAND_2G4 | 1u << BAND_5G,
                                            .streams = 2,
                                            .width_mhz = 80,
                                            .power_dbm = 14,
                                            .gain_dbi = -2,
                                            .body_loss_db = 3,
                                            .noise_figure_db = 7 };

#define NO_INTERFERENCE (-(double)INFINITY)

/* Points of the normal distribution (Abramowitz and Stegun table 26.5, from memory; 7 digits). */
TEST(margin_of_an_availability)
{
    static const struct {
        double share, z;
    } CASES[] = { { 0.5, 0 },          { 0.75, 0.6744898 },  { 0.9, 1.2815516 },  { 0.95, 1.6448536 },
                  { 0.99, 2.3263479 }, { 0.999, 3.0902323 }, { 0.1, -1.2815516 }, { 0.999999, 4.7534243 } };
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        CHECK_NEAR("z", shadow_margin_db(2.4e9, CASES[i].share), 8 * CASES[i].z, 8 * 6e-8, "dB");
    for (double share = -1; share <= 2; share += 0.25)
        CHECK("finite for anything", isfinite(shadow_margin_db(5e9, share)));
}

/* indoor_sitegeneral.csv, row of shadow fading in dwellings (from memory, as that row says). */
TEST(shadowing_of_dwellings)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/indoor_sitegeneral.csv"));
    unsigned n = 0;
    for (uint32_t i = 0; i < t.rows.n; i++)
        if (str_is(csv_cell(&t, i, "part"), "shadow") && str_is(csv_cell(&t, i, "environment"), "residential")) {
            CHECK_NEAR("residential", SHADOWING_RESIDENTIAL_DB, csv_num(&t, i, "value"), 0, "dB");
            n++;
        }
    CHECK("a row", n == 1);
    check_run_end(&c);
}

/* Worked by hand.  Path -80 dB, half of the places.  Down: 20 - 80 - 2 - 3 = -65 dBm; noise -173.9752 + 79.0309 + 7 =
 * -87.9443; ratio 22.9443.  Two streams: 19.9340 each, as at the reference receiver (-84.9443) -65.0103 dBm: MCS 3 (-68, not
 * -64).  One stream into two antennas: 25.9546, -58.9897 dBm: MCS 6 (-59), 980*6*3/4 = 4410 bits in 13.6 us = 324.26 Mb/s;
 * two streams at MCS 3: 980*4*2/2 = 3920 bits, 288.24 Mb/s.  So one stream at MCS 6.
 * Up: 14 - 85 = -71 dBm; noise with 6 dB -88.9443; ratio 17.9443; one stream into two antennas: 20.9546, -63.9897: MCS 4,
 * 980*4*3/4 = 2940 bits, 216.18 Mb/s; two streams: 14.9340, -70.0103: MCS 2 (-71), 980*2*2*3/4 = 2940 bits: the same rate, but
 * the longer preamble costs, so one stream.
 * Frames of 40 MHz lose down: one stream gets MCS 7, 468*6*5/6 = 2340 bits, two get MCS 4, 468*4*2*3/4 = 2808.
 * Payload of one stream at MCS 6: floor((5484 - 44) / 13.6) = 400 symbols hold 220497 octets, 141 packets of 1560; 1759702 bits
 * fill the 400, 5484 us; AIFS 43, backoff 67.5, SIFS 16, block acknowledgement 40: 5650.5 us for 141 * 1472 * 8 bits. */
TEST(a_link_by_hand)
{
    const struct link l = link_compute(&AP, &PHONE, -80, 0.5, NO_INTERFERENCE);
    CHECK_NEAR("level", l.level_dbm, -65, 1e-9, "dBm");
    CHECK_NEAR("promised level", l.promised_level_dbm, -65, 1e-9, "dBm");
    CHECK_NEAR("uplink level", l.uplink_level_dbm, -71, 1e-9, "dBm");
    CHECK_NEAR("noise", l.noise_dbm, -87.9443, 1e-3, "dBm");
    CHECK_NEAR("uplink noise", l.uplink_noise_dbm, -88.9443, 1e-3, "dBm");
    CHECK_NEAR("ratio", l.snr_db, 22.9443, 1e-3, "dB");
    CHECK_NEAR("uplink ratio", l.uplink_snr_db, 17.9443, 1e-3, "dB");
    CHECK_NEAR("MCS", l.mcs, 6, 0, "");
    CHECK_NEAR("streams", l.streams, 1, 0, "");
    CHECK_NEAR("rate", l.phy_mbps, 4410 / 13.6, 1e-6, "Mb/s");
    CHECK_NEAR("uplink MCS", l.uplink_mcs, 4, 0, "");
    CHECK_NEAR("uplink streams", l.uplink_streams, 1, 0, "");
    CHECK_NEAR("uplink rate", l.uplink_phy_mbps, 2940 / 13.6, 1e-6, "Mb/s");
    CHECK_NEAR("width", l.sent_mhz, 80, 0, "MHz");
    CHECK_NEAR("payload", l.payload_mbps, 141 * 1472 * 8 / 5650.5, 1e-3, "Mb/s");
    /* 90 % of places: 1.2815516 * 8 = 10.2524 dB less */
    const struct link promised = link_compute(&AP, &PHONE, -80, 0.9, NO_INTERFERENCE);
    CHECK_NEAR("mean stays", promised.level_dbm, -65, 1e-9, "dBm");
    CHECK_NEAR("promised", promised.promised_level_dbm, -75.2524, 1e-4, "dBm");
    CHECK_NEAR("promised uplink", promised.promised_uplink_level_dbm, -81.2524, 1e-4, "dBm");
    CHECK_NEAR("promised ratio", promised.snr_db, 22.9443 - 10.2524, 1e-3, "dB");
    /* interference as strong as the noise: 3.0103 dB less */
    const struct link disturbed = link_compute(&AP, &PHONE, -80, 0.5, -87.9443);
    CHECK_NEAR("disturbed ratio", disturbed.snr_db, 22.9443 - 3.0103, 1e-3, "dB");
}

/* The end of reach, worked by hand: a phone of one antenna hears MCS 0 of a 20 MHz frame down to -82 - (10 - 7) = -85 dBm
 * (sensitivity -82 dBm for a noise figure of 10 dB, phone 7 dB); the access point of one antenna and 6 dB: -86 dBm. */
TEST(end_of_reach)
{
    struct ap_radio ap = AP;
    struct radio_ability phone = PHONE;
    ap.streams = phone.streams = 1;
    struct link l = link_compute(&ap, &phone, -85 - 15 + 0.01, 0.5, NO_INTERFERENCE);
    CHECK_NEAR("just heard", l.mcs, 0, 0, "");
    CHECK_NEAR("in part of the channel", l.sent_mhz, 20, 0, "MHz");
    CHECK_NEAR("HE MCS 0", l.phy_mbps, 117 / 13.6, 1e-6, "Mb/s");
    l = link_compute(&ap, &phone, -85 - 15 - 0.01, 0.5, NO_INTERFERENCE);
    CHECK("not heard", l.mcs == -1 && l.phy_mbps == 0 && l.payload_mbps == 0 && l.streams == 0 && l.sent_mhz == 0);
    l = link_compute(&ap, &phone, -86 - 9 + 0.01, 0.5, NO_INTERFERENCE);
    CHECK("uplink just heard", l.uplink_mcs == 0);
    l = link_compute(&ap, &phone, -86 - 9 - 0.01, 0.5, NO_INTERFERENCE);
    CHECK("uplink not heard", l.uplink_mcs == -1 && l.uplink_payload_mbps == 0 && l.mcs >= 0);
}

/* Close by, the best of the generation both have: rates of wifi_rates.csv (published tables). */
TEST(the_best_of_what_both_have)
{
    static const struct {
        const char *what;
        enum band band;
        enum phy ap, device;
        double width_mhz;
        double want_mbps;
    } CASES[] = {
        { "be, both, 320 MHz", BAND_6G, PHY_BE, PHY_BE, 320, 5764.7 },
        { "ax of be, 160 MHz", BAND_6G, PHY_BE, PHY_AX, 320, 2402.0 },
        { "ax, 80 MHz", BAND_5G, PHY_AX, PHY_BE, 80, 1201.0 },
        { "ac, 80 MHz", BAND_5G, PHY_AX, PHY_AC, 80, 780.0 },
        { "n at 5 GHz takes 40 MHz", BAND_5G, PHY_AX, PHY_N, 80, 270.0 },
        { "ac at 2.4 GHz is n", BAND_2G4, PHY_AX, PHY_AC, 20, 130.0 },
        { "ax at 2.4 GHz", BAND_2G4, PHY_AX, PHY_AX, 20, 286.8 },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct ap_radio ap = AP;
        struct radio_ability device = PHONE;
        ap.band = CASES[i].band;
        ap.phy = CASES[i].ap;
        ap.width_hz = CASES[i].width_mhz * 1e6;
        device.phy = CASES[i].device;
        device.bands = 7;
        device.width_mhz = 320;
        const struct link l = link_compute(&ap, &device, -30, 0.5, NO_INTERFERENCE);
        CHECK_NEAR(CASES[i].what, l.phy_mbps, CASES[i].want_mbps, 0.25, "Mb/s");
        CHECK_NEAR(CASES[i].what, l.uplink_phy_mbps, CASES[i].want_mbps, 0.25, "Mb/s");
    }
}

TEST(who_can_use_what)
{
    struct ap_radio ap = AP;
    struct radio_ability device = PHONE;
    CHECK("5 GHz", link_is_possible(&ap, &device));
    ap.band = BAND_6G;
    CHECK("a phone without 6 GHz", !link_is_possible(&ap, &device));
    const struct link l = link_compute(&ap, &device, -40, 0.9, NO_INTERFERENCE);
    CHECK("levels all the same", l.level_dbm == -25 && l.mcs == -1 && l.payload_mbps == 0);
    device.bands |= 1u << BAND_6G;
    CHECK("with it", link_is_possible(&ap, &device));
    device.phy = PHY_AC;
    CHECK("ac is not at 6 GHz", !link_is_possible(&ap, &device));
}

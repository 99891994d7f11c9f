/* The generations' numbers, the rates made from them and the medium access times, against published tables. */
#include "data/wifi.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "check.h"
#include "csv.h"
#include "radio/mac.h"
#include "radio/noise.h"
#include "radio/phy.h"

static enum phy phy_named(struct str name)
{
    for (enum phy phy = PHY_N; phy <= PHY_BE; phy++)
        if (str_is(name, wifi_generation(phy)->name))
            return phy;
    fail_msg("no generation %.*s", STR_ARG(name));
    return PHY_N;
}

static const char *row_label(struct check_run *c, const struct csv *t, uint32_t row)
{
    return arena_printf(c->run.arena, "row %u: %.*s %.*s MHz MCS %.*s", row, STR_ARG(csv_cell(t, row, "phy")),
                        STR_ARG(csv_cell(t, row, "width_mhz")), STR_ARG(csv_cell(t, row, "mcs_per_stream")));
}

/* wifi_rates.csv: the VHT rows of one stream equal the Linux kernel's table; others by an independent script, a dozen of them
 * asserted there against printed tables.  Exact rates to 1e-5 Mb/s, printed tables (not rounded down) to 0.1. */
TEST(every_rate_of_the_table)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/wifi_rates.csv"));
    CHECK("a full table", t.rows.n > 900);
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const struct phy_mode m = { phy_named(csv_cell(&t, i, "phy")), wifi_width_index(csv_num(&t, i, "width_mhz")),
                                    (int)csv_num(&t, i, "n_ss"), (int)csv_num(&t, i, "mcs_per_stream") };
        const char *label = row_label(&c, &t, i);
        CHECK(label, phy_mode_exists(m));
        CHECK_TEXT(label, str_from(wifi_mcs(m.mcs)->modulation), csv_cell(&t, i, "modulation"));
        CHECK_TEXT(label, str_from(wifi_mcs(m.mcs)->coding), csv_cell(&t, i, "coding_rate"));
        CHECK_NEAR(label, phy_bits_per_symbol(m), csv_num(&t, i, "n_dbps"), 0, "bits");
        const double rate_mbps = phy_rate_bps(m, csv_num(&t, i, "gi_us") * 1e-6) / 1e6;
        CHECK_NEAR(label, rate_mbps, csv_num(&t, i, "rate_mbps"), 1e-5, "Mb/s");
        CHECK_NEAR(label, rate_mbps, csv_num(&t, i, "table_1dp_mbps"), 0.11, "Mb/s");
    }
    check_run_end(&c);
}

/* Modes that the standard does not have, and some that it has (IEEE 802.11-2016 tables of 21.5, from memory). */
TEST(modes_that_do_not_exist)
{
    static const struct {
        const char *what;
        struct phy_mode m;
        bool want;
    } CASES[] = {
        { "VHT 20 MHz MCS 9, 1 stream", { PHY_AC, 0, 1, 9 }, false },
        { "VHT 20 MHz MCS 9, 2 streams", { PHY_AC, 0, 2, 9 }, false },
        { "VHT 20 MHz MCS 9, 3 streams", { PHY_AC, 0, 3, 9 }, true },
        { "VHT 80 MHz MCS 6, 3 streams", { PHY_AC, 2, 3, 6 }, false },
        { "VHT 80 MHz MCS 9, 6 streams", { PHY_AC, 2, 6, 9 }, false },
        { "VHT 160 MHz MCS 9, 3 streams", { PHY_AC, 3, 3, 9 }, false },
        { "HE 20 MHz MCS 9, 1 stream", { PHY_AX, 0, 1, 9 }, true },
        { "HT 80 MHz", { PHY_N, 2, 1, 0 }, false },
        { "HT MCS 8 of one stream", { PHY_N, 0, 1, 8 }, false },
        { "HT 5 streams", { PHY_N, 0, 5, 0 }, false },
        { "HE 320 MHz", { PHY_AX, 4, 1, 0 }, false },
        { "EHT 320 MHz, 8 streams, MCS 13", { PHY_BE, 4, 8, 13 }, true },
        { "no stream", { PHY_BE, 0, 0, 0 }, false },
        { "MCS -1", { PHY_BE, 0, 1, -1 }, false },
        { "width -1", { PHY_BE, -1, 1, 0 }, false },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        CHECK(CASES[i].what, phy_mode_exists(CASES[i].m) == CASES[i].want);
}

/* wifi_sensitivity.csv: read in a public simulation of 802.11be. */
TEST(every_sensitivity_of_the_table)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/wifi_sensitivity.csv"));
    unsigned n_modes = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const struct phy_mode m = { phy_named(csv_cell(&t, i, "phy")), wifi_width_index(csv_num(&t, i, "width_mhz")), 1,
                                    (int)csv_num(&t, i, "mcs_per_stream") };
        const char *label = row_label(&c, &t, i);
        CHECK_NEAR(label, wifi_mcs(m.mcs)->sensitivity_dbm[m.width_index], csv_num(&t, i, "sensitivity_dbm"), 0, "dBm");
        CHECK(label, m.mcs <= wifi_generation(m.phy)->mcs_top);
        n_modes++;
    }
    /* and the table has all that the generations have */
    unsigned n_want = 0;
    for (enum phy phy = PHY_N; phy <= PHY_BE; phy++)
        for (int w = 0; w < WIFI_WIDTHS; w++)
            n_want += wifi_generation(phy)->data_tones[w] ? (unsigned)wifi_generation(phy)->mcs_top + 1 : 0;
    CHECK_NEAR("rows", n_modes, n_want, 0, "");
    check_run_end(&c);
}

/* A receiver like the standard's reference (noise figure 10 dB) must get each modulation exactly at its sensitivity; one with
 * a noise figure of 7 dB exactly 3 dB below. */
TEST(modulation_switches_at_the_sensitivity)
{
    for (enum phy phy = PHY_N; phy <= PHY_BE; phy++)
        for (int w = 0; w < WIFI_WIDTHS; w++)
            for (int mcs = 0; mcs <= wifi_generation(phy)->mcs_top; mcs++) {
                const struct phy_mode m = { phy, w, 3, mcs };
                if (!phy_mode_exists(m))
                    continue;
                for (double nf_db = 7; nf_db <= 10; nf_db += 3) {
                    const double level_dbm = wifi_mcs(mcs)->sensitivity_dbm[w] - (10 - nf_db);
                    const double snr_db = level_dbm - noise_floor_dbm(20e6 * (1 << w), nf_db);
                    CHECK_NEAR("needed", phy_needed_snr_db(m), snr_db, 1e-9, "dB");
                    CHECK_NEAR("at it", phy_best_mcs(phy, w, 3, snr_db + 0.01), mcs, 0, "");
                    CHECK("below it", phy_best_mcs(phy, w, 3, snr_db - 0.01) < mcs);
                }
            }
}

/* k T B: -174 dBm/Hz (textbook value -173.975 at 290 K) plus 10 log10(20e6) = 73.010, worked by hand. */
TEST(noise_by_hand)
{
    CHECK_NEAR("20 MHz, 7 dB", noise_floor_dbm(20e6, 7), -173.9752 + 73.0103 + 7, 1e-3, "dBm");
    CHECK_NEAR("1 Hz", noise_floor_dbm(1, 0), -173.9752, 1e-3, "dBm");
    CHECK_NEAR("two equal", noise_add_dbm(-90, -90), -86.9897, 1e-4, "dBm");
    CHECK_NEAR("ten to one", noise_add_dbm(-100, -90), -90 + 0.413927, 1e-5, "dBm");
    CHECK_NEAR("none", noise_add_dbm(-90, -(double)INFINITY), -90, 0, "dBm");
}

/* Two streams into two antennas: half the power each.  One stream into two: both antennas' power.  Worked by hand. */
TEST(streams_share_power_and_antennas)
{
    CHECK_NEAR("1 in 1", phy_stream_snr_db(20, 1, 1), 20, 1e-12, "dB");
    CHECK_NEAR("2 in 2", phy_stream_snr_db(20, 2, 2), 20 - 3.0103, 1e-4, "dB");
    CHECK_NEAR("1 in 2", phy_stream_snr_db(20, 1, 2), 20 + 3.0103, 1e-4, "dB");
    CHECK_NEAR("2 in 4", phy_stream_snr_db(20, 2, 4), 20 + 1.7609, 1e-4, "dB");
}

/* ---- medium access ---- */

/* The cell of wifi_mac.csv with this key and class, in its unit. */
static double mac_value(const struct csv *t, const char *key, const char *what)
{
    for (uint32_t i = 0; i < t->rows.n; i++)
        if (str_is(csv_cell(t, i, "key"), key) && str_is(csv_cell(t, i, "phy_or_class"), what))
            return csv_num(t, i, "value");
    fail_msg("wifi_mac.csv has no %s, %s", key, what);
    return (double)NAN;
}

/* wifi_mac.csv; its column 'seen' says where each value was read or that it is from memory. */
TEST(medium_access_figures)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/wifi_mac.csv"));
    static const struct {
        const char *name;
        enum wifi_access access;
    } CLASSES[] = { { "voice", ACCESS_VOICE },
                    { "video", ACCESS_VIDEO },
                    { "best effort", ACCESS_BEST_EFFORT },
                    { "background", ACCESS_BACKGROUND } };
    for (size_t i = 0; i < RT_COUNT(CLASSES); i++) {
        const struct wifi_edca *e = wifi_edca(CLASSES[i].access);
        CHECK_NEAR(CLASSES[i].name, e->aifsn, mac_value(&t, "edca_aifsn", CLASSES[i].name), 0, "slots");
        CHECK_NEAR(CLASSES[i].name, e->cw_min, mac_value(&t, "edca_cw_min", CLASSES[i].name), 0, "slots");
        CHECK_NEAR(CLASSES[i].name, e->cw_max, mac_value(&t, "edca_cw_max", CLASSES[i].name), 0, "slots");
    }
    const struct wifi_timing *five = wifi_timing(BAND_5G), *two = wifi_timing(BAND_2G4);
    CHECK_NEAR("slot", five->slot_s * 1e6, mac_value(&t, "slot", "OFDM HT VHT HE at 5 GHz"), 1e-9, "us");
    CHECK_NEAR("slot", two->slot_s * 1e6, mac_value(&t, "slot", "ERP short slot at 2.4 GHz"), 1e-9, "us");
    CHECK_NEAR("SIFS", five->sifs_s * 1e6, mac_value(&t, "sifs", "OFDM at 5 GHz"), 1e-9, "us");
    CHECK_NEAR("SIFS", two->sifs_s * 1e6, mac_value(&t, "sifs", "2.4 GHz"), 1e-9, "us");
    CHECK_NEAR("service, tail", WIFI_SERVICE_TAIL_BITS,
               mac_value(&t, "service_bits", "OFDM and later") + mac_value(&t, "tail_bits", "OFDM and later"), 0,
               "bits");
    CHECK_NEAR("QoS header, check", WIFI_MAC_HEADER_BYTES + WIFI_CHECK_BYTES,
               mac_value(&t, "length", "MAC header and check sequence with QoS"), 0, "bytes");
    CHECK_NEAR("delimiter", WIFI_DELIMITER_BYTES, mac_value(&t, "length", "aggregate delimiter"), 0, "bytes");
    CHECK_NEAR("block ack", wifi_generation(PHY_AC)->block_ack_bytes,
               mac_value(&t, "length", "block ack compressed 64 frames"), 0, "bytes");
    CHECK_NEAR("HT aggregate", wifi_generation(PHY_N)->aggregate_max_bytes, mac_value(&t, "aggregate_max", "HT"), 0,
               "");
    CHECK_NEAR("VHT aggregate", wifi_generation(PHY_AC)->aggregate_max_bytes, mac_value(&t, "aggregate_max", "VHT"), 0,
               "");
    CHECK_NEAR("longest frame", WIFI_FRAME_MAX_S * 1e3, mac_value(&t, "frame_time_max", "HT VHT HE"), 1e-9, "ms");
    check_run_end(&c);
}

/* Preambles seen as an exchange: a frame of one symbol, less that symbol. */
TEST(preambles)
{
    static const struct {
        const char *name;
        enum phy phy;
        int streams;
        double further_us;
    } CASES[] = { { "HT mixed 1 stream", PHY_N, 1, 0 },
                  { "HT mixed 1 stream", PHY_N, 2, 4 },
                  { "VHT 1 stream", PHY_AC, 1, 0 },
                  { "VHT 1 stream", PHY_AC, 2, 4 },
                  { "HE single user 1 stream", PHY_AX, 1, 0 },
                  { "HE single user 2 streams", PHY_AX, 2, 0 } };
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/wifi_mac.csv"));
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const struct phy_mode m = { CASES[i].phy, 1, CASES[i].streams, 7 };
        const double one_symbol_us = mac_exchange(BAND_5G, m, 1, 1).data_s * 1e6;
        CHECK_NEAR(CASES[i].name, one_symbol_us - phy_symbol_s(m) * 1e6,
                   mac_value(&t, "preamble", CASES[i].name) + CASES[i].further_us, 1e-6, "us");
    }
    check_run_end(&c);
}

/* The mode that a row of wifi_airtime.csv names: "HE 80 MHz 2ss MCS11 0.8 us". */
static struct phy_mode mode_of_row(struct check_run *c, struct str text)
{
    const char *s = str_dup(c->run.arena, text).p;
    char name[8];
    int width, streams, mcs;
    if (sscanf(s, "%7s %d MHz %dss MCS%d", name, &width, &streams, &mcs) != 4)
        fail_msg("cannot read %s", s);
    const enum phy phy = phy_named(str_from(name));
    return (struct phy_mode){ phy, wifi_width_index(width), streams, phy == PHY_N ? mcs % 8 : mcs };
}

/* wifi_airtime.csv: computed by an independent script from wifi_mac.csv.  Its rows know no encryption; HT and VHT rows with
 * the short guard interval are compared by the time of their symbols. */
TEST(airtimes_of_the_table)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/wifi_airtime.csv"));
    unsigned n_control = 0, n_exchanges = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const double bytes = csv_num(&t, i, "bytes"), want_us = csv_num(&t, i, "time_us");
        const char *label = arena_printf(c.run.arena, "row %u: %.*s", i, STR_ARG(csv_cell(&t, i, "what")));
        if (str_is(csv_cell(&t, i, "kind"), "control")) {
            CHECK_NEAR(label, mac_legacy_frame_s(bytes, csv_num(&t, i, "rate_Mbit_per_s") * 1e6) * 1e6, want_us, 1e-6,
                       "us");
            n_control++;
            continue;
        }
        if (str_is(csv_cell(&t, i, "phy"), "legacy")) {
            const double data_us = mac_legacy_frame_s(bytes, csv_num(&t, i, "rate_Mbit_per_s") * 1e6) * 1e6;
            const char *parts = str_dup(c.run.arena, csv_cell(&t, i, "parts")).p;
            CHECK_NEAR(label, data_us, strtod(strstr(parts, "data ") + 5, NULL), 1e-6, "us");
            n_control++;
            continue;
        }
        const int packets = (int)csv_num(&t, i, "packets");
        const struct phy_mode m = mode_of_row(&c, csv_cell(&t, i, "phy"));
        CHECK_NEAR(label, packets * mac_packet_bytes(1500, 0), bytes, 0, "bytes");
        struct mac_exchange x = mac_exchange(BAND_5G, m, packets, mac_packet_bytes(1500, 0));
        /* the rows answer with a block acknowledgement of 64 packets */
        const double ack_us = mac_legacy_frame_s(32, 24e6) * 1e6;
        double got_us = (x.total_s - x.acknowledgement_s) * 1e6 + ack_us;
        if (strstr(str_dup(c.run.arena, csv_cell(&t, i, "phy")).p, "short guard"))
            got_us -= 0.4 * ceil((22 + 8 * bytes) / phy_bits_per_symbol(m));
        CHECK_NEAR(label, got_us, want_us, 1e-3, "us");
        CHECK_NEAR(label, packets * 1500 * 8 / got_us, csv_num(&t, i, "throughput_Mbit_per_s"), 1e-3, "Mb/s");
        /* and the longest frame holds where the row says it does not */
        if (str_is(csv_cell(&t, i, "data_frame_over_5484_us"), "yes"))
            CHECK(label, mac_packets_max(m, mac_packet_bytes(1500, 0)) < packets);
        n_exchanges++;
    }
    CHECK("rows of each kind", n_control >= 15 && n_exchanges >= 12);
    check_run_end(&c);
}

/* Worked by hand for HE 80 MHz, 2 streams, MCS 11, 0.8 us at 5 GHz: a packet takes 4+26+16+8+1500+4 = 1558, filled to 1560
 * octets; a symbol holds floor(980*10*2*5/6) = 16333 bits in 13.6 us; 256 packets are 3194902 bits with service and tail, 196
 * symbols, 2665.6 us; preamble 52; AIFS 43, backoff 67.5, SIFS 16, block acknowledgement of 56 octets at 24 Mb/s 40 us:
 * 2884.1 us for 256 * 1472 * 8 = 3014656 bits. */
TEST(payload_by_hand)
{
    const struct phy_mode m = { PHY_AX, 2, 2, 11 };
    CHECK_NEAR("packets", mac_packets_max(m, 1560), 256, 0, "");
    CHECK_NEAR("HE 80 MHz", mac_payload_bps(BAND_5G, m) / 1e6, 3014656 / 2884.1, 1e-3, "Mb/s");
    /* The same at 2.4 GHz: two extensions of 6 us, two shorter SIFS of 10 us (in AIFS and before the answer): all equal. */
    CHECK_NEAR("at 2.4 GHz", mac_payload_bps(BAND_2G4, m) / 1e6, 3014656 / 2884.1, 1e-3, "Mb/s");
    /* The slowest mode: HT 20 MHz MCS 0, 26 bits in 4 us; floor((5484 - 36) / 4) = 1362 symbols hold 35412 bits, 2 packets
     * (25 of 4423.75 octets: 2 * 1560 = 3120); 24982 bits, 961 symbols, 3844 us; answer at 6 Mb/s 68 us; all 4074.5 us. */
    const struct phy_mode slow = { PHY_N, 0, 1, 0 };
    CHECK_NEAR("packets", mac_packets_max(slow, 1560), 2, 0, "");
    CHECK_NEAR("HT MCS 0", mac_payload_bps(BAND_5G, slow) / 1e6, 2 * 1472 * 8 / 4074.5, 1e-3, "Mb/s");
}

/* Laws of a link that hold whatever the numbers are. */
#include <math.h>

#include "check.h"
#include "data/wifi.h"
#include "radio/link.h"
#include "radio/mac.h"
#include "radio/phy.h"

static struct ap_radio any_ap(struct random *r)
{
    static const double WIDTHS[] = { 20, 40, 80, 160, 320 };
    return (struct ap_radio){ .band = (enum band)random_below(r, BAND_COUNT),
                              .phy = (enum phy)random_below(r, PHY_COUNT),
                              .centre_hz = random_between(r, 2.4e9, 7.1e9),
                              .width_hz = WIDTHS[random_below(r, 5)] * 1e6,
                              .streams = 1 + random_below(r, 8),
                              .power_dbm = random_between(r, 0, 30),
                              .noise_figure_db = random_between(r, 3, 12) };
}

static struct radio_ability any_device(struct random *r)
{
    static const double WIDTHS[] = { 20, 40, 80, 160, 320 };
    return (struct radio_ability){ .phy = (enum phy)random_below(r, PHY_COUNT),
                                   .bands = 1 + random_below(r, 7),
                                   .streams = 1 + random_below(r, 4),
                                   .width_mhz = WIDTHS[random_below(r, 5)],
                                   .power_dbm = random_between(r, 0, 20),
                                   .gain_dbi = random_between(r, -5, 5),
                                   .body_loss_db = random_between(r, 0, 10),
                                   .noise_figure_db = random_between(r, 3, 12) };
}

static double any_interference(struct random *r)
{
    return random_below(r, 2) ? -(double)INFINITY : random_between(r, -110, -60);
}

static void check_sound(const struct link *l)
{
    const double v[] = { l->level_dbm, l->promised_level_dbm, l->uplink_level_dbm, l->promised_uplink_level_dbm,
                         l->noise_dbm, l->uplink_noise_dbm,   l->snr_db,           l->uplink_snr_db,
                         l->phy_mbps,  l->payload_mbps,       l->uplink_phy_mbps,  l->uplink_payload_mbps };
    for (size_t i = 0; i < RT_COUNT(v); i++)
        CHECK("finite", isfinite(v[i]));
    CHECK("payload below the rate", l->payload_mbps <= l->phy_mbps && l->uplink_payload_mbps <= l->uplink_phy_mbps);
    CHECK("a link or none", (l->mcs >= 0) == (l->payload_mbps > 0) && (l->mcs >= 0) == (l->streams > 0));
}

PROP(more_level_never_lowers_the_rate, 3000)
{
    const struct ap_radio ap = any_ap(r);
    const struct radio_ability device = any_device(r);
    const double availability = random_between(r, 0.5, 0.99), interference_dbm = any_interference(r);
    double last = 0, last_up = 0;
    for (double gain_db = -130; gain_db < -20; gain_db += random_between(r, 0.1, 8)) {
        const struct link l = link_compute(&ap, &device, gain_db, availability, interference_dbm);
        check_sound(&l);
        CHECK("down", l.payload_mbps >= last);
        CHECK("up", l.uplink_payload_mbps >= last_up);
        last = l.payload_mbps;
        last_up = l.uplink_payload_mbps;
    }
}

PROP(a_wider_channel_never_raises_the_ratio, 3000)
{
    struct ap_radio ap = any_ap(r);
    struct radio_ability device = any_device(r);
    device.width_mhz = 320;
    const double gain_db = random_between(r, -120, -30), interference_dbm = any_interference(r);
    double last = (double)INFINITY, last_payload = 0;
    for (ap.width_hz = 20e6; ap.width_hz <= 320e6; ap.width_hz *= 2) {
        const struct link l = link_compute(&ap, &device, gain_db, 0.9, interference_dbm);
        CHECK("ratio", l.snr_db <= last + 1e-12);
        CHECK("but never lowers the payload", l.payload_mbps >= last_payload);
        last = l.snr_db;
        last_payload = l.payload_mbps;
    }
}

PROP(interference_and_availability_cost, 3000)
{
    const struct ap_radio ap = any_ap(r);
    const struct radio_ability device = any_device(r);
    const double gain_db = random_between(r, -120, -30), interference_dbm = random_between(r, -110, -60);
    const struct link calm = link_compute(&ap, &device, gain_db, 0.9, -(double)INFINITY);
    const struct link loud = link_compute(&ap, &device, gain_db, 0.9, interference_dbm);
    const struct link sure = link_compute(&ap, &device, gain_db, 0.99, -(double)INFINITY);
    CHECK("interference", loud.payload_mbps <= calm.payload_mbps && loud.snr_db < calm.snr_db);
    CHECK("availability", sure.payload_mbps <= calm.payload_mbps && sure.promised_level_dbm < calm.promised_level_dbm);
    CHECK("the mean stays", sure.level_dbm == calm.level_dbm);
}

/* Within a generation: rates, payloads and needs rise with the modulation, rates with streams and width. */
TEST(rates_rise_with_everything)
{
    for (enum phy phy = PHY_N; phy <= PHY_BE; phy++)
        for (int w = 0; w < WIFI_WIDTHS; w++)
            for (int streams = 1; streams <= WIFI_STREAMS_MAX; streams++) {
                double rate_bps = 0, payload_bps = 0, need_db = -(double)INFINITY;
                for (int mcs = 0; mcs < WIFI_MCS_COUNT; mcs++) {
                    const struct phy_mode m = { phy, w, streams, mcs };
                    if (!phy_mode_exists(m))
                        continue;
                    CHECK("rate", phy_rate_bps(m, 0.8e-6) > rate_bps);
                    CHECK("payload", mac_payload_bps(BAND_5G, m) > payload_bps);
                    CHECK("need", phy_needed_snr_db(m) > need_db);
                    CHECK("a longer guard costs", phy_rate_bps(m, 0.4e-6) > phy_rate_bps(m, 0.8e-6));
                    rate_bps = phy_rate_bps(m, 0.8e-6);
                    payload_bps = mac_payload_bps(BAND_5G, m);
                    need_db = phy_needed_snr_db(m);
                    const struct phy_mode more = { phy, w, streams + 1, mcs }, wider = { phy, w + 1, streams, mcs };
                    CHECK("streams", !phy_mode_exists(more) || phy_rate_bps(more, 0.8e-6) > rate_bps);
                    CHECK("width", !phy_mode_exists(wider) || phy_rate_bps(wider, 0.8e-6) > rate_bps);
                }
            }
}

/* Every frame keeps the limits of its generation and of the air. */
TEST(aggregates_keep_their_limits)
{
    for (enum phy phy = PHY_N; phy <= PHY_BE; phy++)
        for (int w = 0; w < WIFI_WIDTHS; w++)
            for (int streams = 1; streams <= WIFI_STREAMS_MAX; streams++)
                for (int mcs = 0; mcs < WIFI_MCS_COUNT; mcs++) {
                    const struct phy_mode m = { phy, w, streams, mcs };
                    if (!phy_mode_exists(m))
                        continue;
                    const double bytes = mac_packet_bytes(1500, WIFI_CCMP_BYTES);
                    const int n = mac_packets_max(m, bytes);
                    const struct mac_exchange x = mac_exchange(BAND_5G, m, n, bytes);
                    CHECK("size", n * bytes <= wifi_generation(phy)->aggregate_max_bytes);
                    CHECK("window", n <= wifi_generation(phy)->window);
                    CHECK("time", n == 1 || x.data_s <= WIFI_FRAME_MAX_S + 1e-12);
                    const bool could_more = (n + 1) * bytes <= wifi_generation(phy)->aggregate_max_bytes &&
                                            n + 1 <= wifi_generation(phy)->window;
                    CHECK("full", !could_more || mac_exchange(BAND_5G, m, n + 1, bytes).data_s > WIFI_FRAME_MAX_S);
                }
}

#include "radio/link.h"

#include <math.h>

#include "base/units.h"
#include "data/shadowing.h"
#include "data/wifi.h"
#include "radio/mac.h"
#include "radio/noise.h"
#include "radio/phy.h"

/* z with P(Z <= z) = p, by Newton's method on the C library's erfc(); p in (0, 1).  Works in the lower tail, where erfc keeps
 * its digits; the steps are safe since the start lies outside and the tail is convex. */
static double normal_quantile(double p)
{
    if (p > 0.5)
        return -normal_quantile(1.0 - p);
    double z = -sqrt(-2.0 * log(2.0 * p)); /* from the Chernoff bound: P(Z <= z) <= exp(-z * z / 2) / 2 */
    for (int i = 0; i < 60; i++) {
        const double below = 0.5 * erfc(-z / sqrt(2.0));
        const double density = exp(-0.5 * z * z) / sqrt(2.0 * RT_PI);
        const double step = (below - p) / density;
        z -= step;
        if (fabs(step) < 1e-14 * (1.0 + fabs(z)))
            break;
    }
    return z;
}

double shadow_margin_db(double f_hz, double availability)
{
    (void)f_hz; /* one standard deviation for all bands; the parameter stays for tables that tell them apart */
    return SHADOWING_RESIDENTIAL_DB * normal_quantile(fmin(fmax(availability, 1e-9), 1.0 - 1e-9));
}

bool link_is_possible(const struct ap_radio *ap, const struct radio_ability *device)
{
    if (!(device->bands & 1u << ap->band))
        return false;
    return ap->band != BAND_6G || (ap->phy >= PHY_AX && device->phy >= PHY_AX);
}

static enum phy common_phy(const struct ap_radio *ap, const struct radio_ability *device)
{
    const enum phy phy = ap->phy < device->phy ? ap->phy : device->phy;
    return phy == PHY_AC && ap->band == BAND_2G4 ? PHY_N : phy; /* VHT is not defined at 2.4 GHz */
}

/* Index of the widest channel that both sides and the generation have. */
static int common_width_index(const struct ap_radio *ap, const struct radio_ability *device, enum phy phy)
{
    const double widest_mhz = fmin(ap->width_hz / 1e6, device->width_mhz);
    int i = 0;
    while (i + 1 < WIFI_WIDTHS && 20 << (i + 1) <= widest_mhz && wifi_generation(phy)->data_tones[i + 1] > 0)
        i++;
    return i;
}

/* A direction: what is common to all ways of sending, and the best of them. */
struct way {
    enum band band;
    enum phy phy;
    int widest_index;
    int send_streams, receive_antennas;
    double level_dbm, noise_figure_db, interference_dbm;
};

struct best {
    struct phy_mode mode; /* mcs -1: none */
    double payload_bps;
};

static double snr_db(const struct way *w, int width_index)
{
    const double noise_dbm = noise_floor_dbm(20e6 * (1 << width_index), w->noise_figure_db);
    return w->level_dbm - noise_add_dbm(noise_dbm, w->interference_dbm);
}

/* Tried from wide to narrow and from many streams to one, since then few modes are left whose rate, which the payload never
 * reaches, is above the best payload so far.  Of equals the later, simpler one stays. */
static struct best best_mode(const struct way *w)
{
    struct best best = { .mode = { .mcs = -1 } };
    const int streams_max = w->send_streams < w->receive_antennas ? w->send_streams : w->receive_antennas;
    for (int width_index = w->widest_index; width_index >= 0; width_index--) {
        const double antenna_snr_db = snr_db(w, width_index);
        for (int streams = streams_max; streams >= 1; streams--) {
            const double stream_snr_db = phy_stream_snr_db(antenna_snr_db, streams, w->receive_antennas);
            const struct phy_mode m = { w->phy, width_index, streams,
                                        phy_best_mcs(w->phy, width_index, streams, stream_snr_db) };
            if (m.mcs < 0 || phy_bits_per_symbol(m) / phy_symbol_s(m) < best.payload_bps)
                continue;
            const double payload_bps = mac_payload_bps(w->band, m);
            if (payload_bps >= best.payload_bps)
                best = (struct best){ m, payload_bps };
        }
    }
    return best;
}

static int whole_streams(double streams, enum phy phy)
{
    const int most = wifi_generation(phy)->streams_max;
    return streams >= most ? most : streams >= 1 ? (int)streams : 1;
}

struct link link_compute(const struct ap_radio *ap, const struct radio_ability *device, double gain_db,
                         double availability, double interference_dbm)
{
    const double margin_db = shadow_margin_db(ap->centre_hz, availability);
    const double path_db = gain_db + device->gain_dbi - device->body_loss_db;
    const double level_dbm = ap->power_dbm + path_db, uplink_level_dbm = device->power_dbm + path_db;
    const enum phy phy = common_phy(ap, device);
    const int ap_streams = whole_streams(ap->streams, phy), device_streams = whole_streams(device->streams, phy);
    const struct way down = { .band = ap->band,
                              .phy = phy,
                              .widest_index = common_width_index(ap, device, phy),
                              .send_streams = ap_streams,
                              .receive_antennas = device_streams,
                              .level_dbm = level_dbm - margin_db,
                              .noise_figure_db = device->noise_figure_db,
                              .interference_dbm = interference_dbm };
    struct way up = down;
    up.send_streams = device_streams;
    up.receive_antennas = ap_streams;
    up.level_dbm = uplink_level_dbm - margin_db;
    up.noise_figure_db = ap->noise_figure_db;

    const double width_hz = 20e6 * (1 << down.widest_index);
    struct link l = { .level_dbm = level_dbm,
                      .promised_level_dbm = down.level_dbm,
                      .uplink_level_dbm = uplink_level_dbm,
                      .promised_uplink_level_dbm = up.level_dbm,
                      .width_mhz = width_hz / 1e6,
                      .noise_dbm = noise_floor_dbm(width_hz, down.noise_figure_db),
                      .uplink_noise_dbm = noise_floor_dbm(width_hz, up.noise_figure_db),
                      .snr_db = snr_db(&down, down.widest_index),
                      .uplink_snr_db = snr_db(&up, up.widest_index),
                      .phy = phy,
                      .mcs = -1,
                      .uplink_mcs = -1 };
    if (!link_is_possible(ap, device))
        return l;
    const struct best b = best_mode(&down), u = best_mode(&up);
    if (b.mode.mcs >= 0) {
        l.mcs = b.mode.mcs;
        l.streams = b.mode.streams;
        l.sent_mhz = 20 << b.mode.width_index;
        l.phy_mbps = phy_rate_bps(b.mode, wifi_generation(phy)->guard_s) / 1e6;
        l.payload_mbps = b.payload_bps / 1e6;
    }
    if (u.mode.mcs >= 0) {
        l.uplink_mcs = u.mode.mcs;
        l.uplink_streams = u.mode.streams;
        l.uplink_sent_mhz = 20 << u.mode.width_index;
        l.uplink_phy_mbps = phy_rate_bps(u.mode, wifi_generation(phy)->guard_s) / 1e6;
        l.uplink_payload_mbps = u.payload_bps / 1e6;
    }
    return l;
}

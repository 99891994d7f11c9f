#include "radio/mac.h"

#include <math.h>

#include "data/wifi.h"

#define IP_PACKET_BYTES 1500.0 /* the MTU of Ethernet (RFC 894) */

double mac_legacy_frame_s(double bytes, double rate_bps)
{
    const double bits_per_symbol = rate_bps * WIFI_LEGACY_SYMBOL_S;
    return WIFI_LEGACY_PREAMBLE_S +
           WIFI_LEGACY_SYMBOL_S * ceil((WIFI_SERVICE_TAIL_BITS + 8.0 * bytes) / bits_per_symbol - 1e-9);
}

double mac_packet_bytes(double ip_bytes, double security_bytes)
{
    const double bytes =
        WIFI_DELIMITER_BYTES + WIFI_MAC_HEADER_BYTES + security_bytes + WIFI_LLC_BYTES + ip_bytes + WIFI_CHECK_BYTES;
    return 4.0 * ceil(bytes / 4.0);
}

static double preamble_s(struct phy_mode m)
{
    const struct wifi_generation *g = wifi_generation(m.phy);
    return g->preamble_s + wifi_training_fields(m.streams) * g->training_s + g->after_training_s;
}

static double data_frame_s(struct phy_mode m, double bytes)
{
    return preamble_s(m) + phy_symbol_s(m) * ceil((WIFI_SERVICE_TAIL_BITS + 8.0 * bytes) / phy_bits_per_symbol(m));
}

/* The highest of the basic rates 6, 12 and 24 Mb/s that is not above the data's reference rate (IEEE 802.11-2016 10.7.6.5). */
static double response_rate_bps(int mcs)
{
    const double reference_mbps = wifi_mcs(mcs)->reference_mbps;
    return reference_mbps >= 24 ? 24e6 : reference_mbps >= 12 ? 12e6 : 6e6;
}

int mac_packets_max(struct phy_mode m, double packet_bytes)
{
    const struct wifi_generation *g = wifi_generation(m.phy);
    const double n_symbols = floor((WIFI_FRAME_MAX_S - preamble_s(m)) / phy_symbol_s(m));
    const double bytes_in_time = (n_symbols * phy_bits_per_symbol(m) - WIFI_SERVICE_TAIL_BITS) / 8.0;
    const double n = floor(fmin(bytes_in_time, g->aggregate_max_bytes) / packet_bytes);
    return (int)fmax(1.0, fmin(n, g->window));
}

struct mac_exchange mac_exchange(enum band band, struct phy_mode m, int packets, double packet_bytes)
{
    const struct wifi_timing *t = wifi_timing(band);
    const struct wifi_edca *e = wifi_edca(ACCESS_BEST_EFFORT);
    struct mac_exchange x = {
        .packets = packets,
        .arbitration_s = t->sifs_s + e->aifsn * t->slot_s,
        .backoff_s = e->cw_min / 2.0 * t->slot_s,
        .data_s = data_frame_s(m, packets * packet_bytes) + t->extension_s,
        .sifs_s = t->sifs_s,
        .acknowledgement_s =
            mac_legacy_frame_s(wifi_generation(m.phy)->block_ack_bytes, response_rate_bps(m.mcs)) + t->extension_s,
    };
    x.total_s = x.arbitration_s + x.backoff_s + x.data_s + x.sifs_s + x.acknowledgement_s;
    return x;
}

double mac_payload_bps(enum band band, struct phy_mode m)
{
    const double packet_bytes = mac_packet_bytes(IP_PACKET_BYTES, WIFI_CCMP_BYTES);
    const struct mac_exchange x = mac_exchange(band, m, mac_packets_max(m, packet_bytes), packet_bytes);
    return x.packets * 8.0 * (IP_PACKET_BYTES - WIFI_IPV4_BYTES - WIFI_UDP_BYTES) / x.total_s;
}

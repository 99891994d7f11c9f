/* mac.h - what is left of a rate after the medium access: one station alone, no losses.
 *
 * One exchange is: arbitration space, mean backoff (half of CWmin), preamble, data, SIFS, (block) acknowledgement at a basic
 * rate; as many packets go into the data as the generation's aggregate size, its acknowledgement window and the longest
 * frame allow.  With one sender there are no collisions, so the mean backoff is all there is of contention.  Both directions
 * take the same time: access point and station send best effort with the same parameters.
 *
 * Losses are not taken off: at the edge of a modulation's reach up to a tenth of long frames is sent again. */
#ifndef RT_RADIO_MAC_H
#define RT_RADIO_MAC_H

#include "data/wifi_mac.h"
#include "radio/phy.h"

struct mac_exchange {
    int packets;
    double arbitration_s, backoff_s, data_s, sifs_s, acknowledgement_s;
    double total_s;
};

/* Time of a frame of the old form (OFDM, IEEE 802.11-2016 clause 17) with this many octets.  rate_bps one of 6, 9, 12, 18,
 * 24, 36, 48, 54 Mb/s. */
double mac_legacy_frame_s(double bytes, double rate_bps);

/* Octets on the air of one packet within an aggregate.  ip_bytes: the IP packet; security_bytes: WIFI_CCMP_BYTES or 0. */
double mac_packet_bytes(double ip_bytes, double security_bytes);

/* Packets that fit into one aggregate; at least 1. */
int mac_packets_max(struct phy_mode m, double packet_bytes);

/* One exchange of `packets` packets. */
struct mac_exchange mac_exchange(enum band band, struct phy_mode m, int packets, double packet_bytes);

/* UDP payload of one station alone, bit/s: full aggregates of encrypted 1500-octet IPv4 packets. */
double mac_payload_bps(enum band band, struct phy_mode m);

#endif

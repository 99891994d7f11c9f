/* wifi_mac.h - times and sizes of the medium access of IEEE 802.11. */
#ifndef RT_DATA_WIFI_MAC_H
#define RT_DATA_WIFI_MAC_H

#include "data/wireless.h"

/* Spaces and slots of a band. */
struct wifi_timing {
    double slot_s, sifs_s;
    double extension_s; /* silence that belongs to the end of each OFDM frame */
};

const struct wifi_timing *wifi_timing(enum band band);

/* Access categories of EDCA. */
enum wifi_access { ACCESS_BEST_EFFORT, ACCESS_BACKGROUND, ACCESS_VIDEO, ACCESS_VOICE };

struct wifi_edca {
    int aifsn;
    int cw_min, cw_max; /* slots */
};

const struct wifi_edca *wifi_edca(enum wifi_access access);

/* Sizes in octets and times of the frames around the data.  Sources in wifi_mac.c. */
#define WIFI_MAC_HEADER_BYTES 26.0 /* of a QoS data frame, three addresses */
#define WIFI_CHECK_BYTES 4.0
#define WIFI_DELIMITER_BYTES 4.0 /* before each packet of an aggregate, which is filled to a multiple of 4 */
#define WIFI_CCMP_BYTES 16.0     /* header and check of the encryption */
#define WIFI_LLC_BYTES 8.0
#define WIFI_IPV4_BYTES 20.0
#define WIFI_UDP_BYTES 8.0
#define WIFI_SERVICE_TAIL_BITS 22.0 /* 16 + 6 around the data of each frame */
#define WIFI_LEGACY_PREAMBLE_S 20e-6
#define WIFI_LEGACY_SYMBOL_S 4e-6
#define WIFI_FRAME_MAX_S 5.484e-3 /* longest frame on the air */

#endif

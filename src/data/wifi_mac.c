#include "data/wifi_mac.h"

/* Slots and spaces: IEEE 802.11-2016 Tables 17-21 (5 GHz) and 18-5 (2.4 GHz, short slot, 6 us signal extension), table numbers
 * from memory; the 5 GHz values read in the ns-3 simulator's reference scripts, SIFS at 2.4 GHz in an EURASIP article
 * (JWCN 2011:103, table 1).  6 GHz as 5 GHz. */
static const struct wifi_timing TIMINGS[BAND_COUNT] = {
    [BAND_2G4] = { 9e-6, 10e-6, 6e-6 },
    [BAND_5G] = { 9e-6, 16e-6, 0 },
    [BAND_6G] = { 9e-6, 16e-6, 0 },
};

/* IEEE 802.11-2016 Table 9-137, for CWmin 15 and CWmax 1023; read in the Linux kernel's ieee80211_set_wmm_default(). */
static const struct wifi_edca EDCA[] = {
    [ACCESS_BEST_EFFORT] = { 3, 15, 1023 },
    [ACCESS_BACKGROUND] = { 7, 15, 1023 },
    [ACCESS_VIDEO] = { 2, 7, 15 },
    [ACCESS_VOICE] = { 2, 3, 7 },
};

/* Sizes of wifi_mac.h: IEEE 802.11-2016 9.2.4 (header 26 + check 4 with QoS), 9.7.1 (delimiter 4), 12.5.3.2 (CCMP 8 + 8), 17.3.5
 * (service 16, tail 6), 10.14 (frame of at most 5.484 ms, aPPDUMaxTime); IEEE 802.2 and RFC 1042 (LLC and SNAP 8), RFC 791 (20),
 * RFC 768 (8).  Header, delimiter, service and tail read in the ns-3 scripts; the rest from memory. */

const struct wifi_timing *wifi_timing(enum band band) { return &TIMINGS[band]; }

const struct wifi_edca *wifi_edca(enum wifi_access access) { return &EDCA[access]; }

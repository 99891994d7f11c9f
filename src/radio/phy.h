/* phy.h - one way of sending: generation, width, streams and modulation; its rate, and the signal it needs.
 *
 * Rates come from the numbers of OFDM, not from a table: data tones x bits x streams x code rate, rounded down to whole bits
 * of a symbol, over the length of a symbol.  Source: IEEE 802.11-2016 clauses 19 and 21, 802.11ax-2021 clause 27, 802.11be
 * clause 36 (from memory; all rates are checked against published tables). */
#ifndef RT_RADIO_PHY_H
#define RT_RADIO_PHY_H

#include <stdbool.h>

#include "data/wireless.h"

struct phy_mode {
    enum phy phy;
    int width_index; /* the channel is 20 << width_index MHz wide */
    int streams;     /* 1 to 8 */
    int mcs;         /* per stream */
};

/* True if the standard has this mode.  Any values are allowed. */
bool phy_mode_exists(struct phy_mode m);

/* The rest takes modes that exist. */

/* Data bits in one symbol over all streams. */
int phy_bits_per_symbol(struct phy_mode m);
/* Length of a symbol with the guard interval of 0.8 us that every receiver supports. */
double phy_symbol_s(struct phy_mode m);
/* Data rate with any guard interval, bit/s. */
double phy_rate_bps(struct phy_mode m, double guard_s);

/* Signal to noise ratio that one stream needs after the receiver has told the streams apart.
 *
 * The published minimum sensitivity is the level at which a reference receiver (noise figure 10 dB, implementation loss 5 dB:
 * IEEE 802.11-2016 17.3.10.2, from memory) loses at most 10 % of frames.  Less that receiver's own noise it is a ratio, which
 * holds for a receiver of any noise figure; the implementation loss stays in it. */
double phy_needed_snr_db(struct phy_mode m);

/* The highest modulation of a generation, width and number of streams whose need a stream's ratio meets, or -1. */
int phy_best_mcs(enum phy phy, int width_index, int streams, double stream_snr_db);

/* Signal to noise ratio of each stream after separation, from the ratio of the whole signal at one receive antenna.
 *
 * The power is shared by the streams, and a receiver of n antennas that separates s of them keeps n - s + 1 antennas' worth
 * of signal for each (zero forcing over independent paths; Winters, Salz, Gitlin, IEEE Trans. Commun. 42, 1994, from memory).
 * 1 <= streams <= antennas. */
double phy_stream_snr_db(double snr_db, int streams, int antennas);

#endif

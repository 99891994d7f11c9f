/* channels.h - the channels of the three bands of IEEE 802.11 and of IEEE 802.15.4 at 2.4 GHz: numbers and centres.
 *
 * A channel is named by its centre number; a wide channel is also found from any of its 20 MHz channels (the primary). */
#ifndef RT_DATA_CHANNELS_H
#define RT_DATA_CHANNELS_H

#include <stdbool.h>
#include <stdint.h>

#include "data/wireless.h"

/* Channels first, first + step ... last of one width. */
struct channel_block {
    enum band band;
    int width_mhz;
    int first, last, step;
};

/* In rising order of band, width and number. */
const struct channel_block *channel_blocks(uint32_t *n);
/* True if the band has a channel with this centre number and width. */
bool channel_exists(enum band band, int channel, int width_mhz);
/* Centre of a channel number.  5 GHz: 5000 + 5 n MHz; 2.4 GHz: 2407 + 5 n; 6 GHz: 5950 + 5 n, channel 2: 5935. */
double channel_centre_hz(enum band band, int channel);
/* Centre number of the channel of this width that holds the 20 MHz channel `primary`, or 0 if there is none.  At 2.4 GHz the
 * 40 MHz channel reaches up from primaries 1 to 7 and down from the others; of two 320 MHz channels the lower is taken. */
int channel_around(enum band band, int primary, int width_mhz);
/* The lowest 20 MHz channel of the channel with this centre number and width that channel_around() leads back from; 0: there is no
 * such channel. */
int channel_primary(enum band band, int centre, int width_mhz);
/* The width of the channel that has this centre number, or 0.  Unambiguous at 5 and 6 GHz; 20 at 2.4 GHz. */
int channel_width_mhz(enum band band, int channel);

/* IEEE 802.15.4 O-QPSK, channels 11 to 26, 2 MHz wide. */
enum { MESH_CHANNEL_FIRST = 11, MESH_CHANNEL_LAST = 26 };
double mesh_channel_centre_hz(int channel);

#endif

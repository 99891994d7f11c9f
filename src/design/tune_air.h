/* tune_air.h - what one cell costs another of its time, by where their channels lie and how well it is heard.
 *
 * Two that hear each other on channels of one raster, of which one holds the other, take turns: one loses the time that the other
 * sends.  On channels that overlap otherwise neither can read the other's preamble, so they send into each other, and a frame is lost
 * if the other begins during it or up to a frame before: twice the time (Abramson 1970: pure ALOHA).  What arrives too weak for
 * either, or from beside the channel, is noise. */
#ifndef RT_DESIGN_TUNE_AIR_H
#define RT_DESIGN_TUNE_AIR_H

#include <stdbool.h>

struct air_channel {
    double centre_hz, width_hz;
};

/* One holds the other, their edges a multiple of 20 MHz apart (IEEE 802.11 20 MHz channels and what is made of them). */
bool air_takes_turns(struct air_channel x, struct air_channel y);

/* Share of a transmission's power that may reach a receiver's channel: in its own channel flat, beside it as the transmit spectrum
 * mask allows (IEEE 802.11-2016 17.3.9.3 and 21.3.17.1, from memory: with W the width, 0 dB to W/2 - 1 MHz, -20 dB from W/2 + 1 MHz,
 * -28 dB at W, -40 dB at 3/2 W); nothing is counted farther off. */
double air_mask_share(struct air_channel tx, struct air_channel rx);

/* Share of its time that a receiver loses to a sender heard at level_dbm (all its power), which is on the air for busy_share. */
double air_loss_share(struct air_channel tx, double level_dbm, double busy_share, struct air_channel rx,
                      double rx_noise_dbm);

#endif

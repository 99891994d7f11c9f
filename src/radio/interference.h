/* interference.h - what foreign cells add to the noise of a channel. */
#ifndef RT_RADIO_INTERFERENCE_H
#define RT_RADIO_INTERFERENCE_H

#include "house/house.h"

/* Was it heard on that floor?  One that names no floor was heard all over the house. */
static inline bool interference_is_heard_on(const struct neighbour *n, uint32_t floor)
{
    return n->floor.i == NO_REF || n->floor.i == floor;
}

/* Share of a transmission's power (flat over its own channel) that falls into a receiver's channel, 0 to 1. */
double interference_overlap_share(double tx_centre_hz, double tx_width_hz, double rx_centre_hz, double rx_width_hz);

/* Level of one neighbour within a channel while it sends; -INFINITY: it was not heard on this floor, or lies beside it. */
double interference_neighbour_dbm(const struct house *h, uint32_t neighbour, uint32_t floor, double centre_hz,
                                  double width_hz);
/* Where a neighbour's channel lies. */
double interference_neighbour_centre_hz(const struct neighbour *n);

/* Mean power in a channel from the neighbours in the house file, each weighted by the share of time it is on the air and by
 * its overlap.  A neighbour is taken to be as strong all over the floor on which it was heard, and on other floors as far
 * as it was heard there too (one entry each), or everywhere if it names no floor: measured facts, not a model of the
 * neighbours' houses.
 * Returns dBm; -INFINITY if none. */
double interference_neighbours_dbm(const struct house *h, uint32_t floor, double centre_hz, double width_hz);

#endif

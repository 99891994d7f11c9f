#include "radio/interference.h"

#include <math.h>

#include "base/units.h"
#include "data/channels.h"

double interference_overlap_share(double tx_centre_hz, double tx_width_hz, double rx_centre_hz, double rx_width_hz)
{
    const double low_hz = fmax(tx_centre_hz - tx_width_hz / 2, rx_centre_hz - rx_width_hz / 2);
    const double high_hz = fmin(tx_centre_hz + tx_width_hz / 2, rx_centre_hz + rx_width_hz / 2);
    return high_hz > low_hz && tx_width_hz > 0.0 ? (high_hz - low_hz) / tx_width_hz : 0.0;
}

/* A neighbour's channel may be written by its own number or by that of its primary 20 MHz channel. */
double interference_neighbour_centre_hz(const struct neighbour *n)
{
    const int channel = (int)n->channel, width_mhz = (int)n->width_mhz;
    if (channel_exists(n->band, channel, width_mhz))
        return channel_centre_hz(n->band, channel);
    const int around = channel_around(n->band, channel, width_mhz);
    return channel_centre_hz(n->band, around ? around : channel);
}

double interference_neighbour_dbm(const struct house *h, uint32_t neighbour, uint32_t floor, double centre_hz,
                                  double width_hz)
{
    const struct neighbour *n = &h->neighbours.v[neighbour];
    const double share =
        interference_overlap_share(interference_neighbour_centre_hz(n), n->width_mhz * 1e6, centre_hz, width_hz);
    return interference_is_heard_on(n, floor) && share > 0.0 ? n->level_dbm + 10.0 * log10(share) : (double)-INFINITY;
}

double interference_neighbours_dbm(const struct house *h, uint32_t floor, double centre_hz, double width_hz)
{
    double sum_w = 0.0;
    for (uint32_t i = 0; i < h->neighbours.n; i++)
        sum_w += units_w_from_dbm(interference_neighbour_dbm(h, i, floor, centre_hz, width_hz)) *
                 h->neighbours.v[i].busy_share;
    return sum_w > 0.0 ? units_dbm_from_w(sum_w) : (double)-INFINITY;
}

/* link.h - from levels to rates: one access point radio and one device, both directions. */
#ifndef RT_RADIO_LINK_H
#define RT_RADIO_LINK_H

#include "radio/ap_radio.h"

/* What a promised availability costs: z(p) of the normal distribution times the standard deviation of shadowing in dwellings
 * (ITU-R P.1238, data/shadowing.h; the same in all bands).  availability is the share of places or times, above 0 and below 1;
 * 0.5 costs nothing.  Values outside are taken as the nearest of 1e-9 and 1 - 1e-9. */
double shadow_margin_db(double f_hz, double availability);

struct link {
    double level_dbm;          /* at the device's receiver, local mean: power + gain + device antenna - body loss */
    double promised_level_dbm; /* less the margin of the availability */
    double uplink_level_dbm;   /* of the device at the access point, local mean */
    double promised_uplink_level_dbm;
    double width_mhz;                   /* of the channel both can use; noise and ratios are for this width */
    double noise_dbm, uplink_noise_dbm; /* thermal noise in the channel plus the receiver's noise figure */
    double snr_db, uplink_snr_db;       /* of the promised levels, interference counted as noise, at one antenna */
    enum phy phy;                       /* of the frames: the older of the two */
    int mcs, uplink_mcs;                /* per stream; -1: below the lowest sensitivity, no link */
    int streams, uplink_streams;
    double sent_mhz, uplink_sent_mhz;         /* width of the frames: a weak signal is sent in part of the channel */
    double phy_mbps, uplink_phy_mbps;         /* 0 without a link */
    double payload_mbps, uplink_payload_mbps; /* of one station alone (UDP payload, mac.h), 0 without a link */
};

/* The link over a path gain as in field.h.  interference_dbm: mean power in the channel from others, -INFINITY if none.
 * Without a common band (link_is_possible) the levels are given all the same, and no link.
 *
 * Both sides use the older of the two generations (at 2.4 GHz that of ac is n) and the narrower of the two widths.  In each
 * direction the frame's width, streams and modulation are those with the largest payload among all whose needed ratio
 * (phy.h) the promised level meets; all power goes into whatever width is sent, and interference is taken as falling into it
 * whole.  Each side receives with as many antennas as it has streams. */
struct link link_compute(const struct ap_radio *ap, const struct radio_ability *device, double gain_db,
                         double availability, double interference_dbm);

/* True if the device can use this radio at all: it has the band, and at 6 GHz both sides are of ax or later. */
bool link_is_possible(const struct ap_radio *ap, const struct radio_ability *device);

#endif

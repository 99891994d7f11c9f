/* link.h - from levels to rates: one access point radio and one device, both directions. */
#ifndef RT_RADIO_LINK_H
#define RT_RADIO_LINK_H

#include "radio/ap_radio.h"

/* z(p) of the normal distribution times the standard deviation: what a promised availability costs.
 * Shadowing standard deviation by ITU-R P.1238 (residential; source beside the table in data/). */
double shadow_margin_db(double f_hz, double availability);

struct link {
    double level_dbm;          /* at the device's receiver, local mean: power + gain + device antenna - body loss */
    double promised_level_dbm; /* less the margin of the availability */
    double uplink_level_dbm;   /* of the device at the access point, local mean */
    double promised_uplink_level_dbm;
    double noise_dbm;                         /* thermal noise in the channel plus noise figure, device side */
    double snr_db, uplink_snr_db;             /* of the promised levels */
    int mcs, uplink_mcs;                      /* per stream; -1: below the lowest sensitivity, no link */
    double phy_mbps, uplink_phy_mbps;         /* 0 without a link */
    double payload_mbps, uplink_payload_mbps; /* of one station alone (UDP payload), 0 without a link */
};

/* The link over a path gain as in field.h.  interference_dbm: mean power in the channel from others, -INFINITY if none. */
struct link link_compute(const struct ap_radio *ap, const struct radio_ability *device, double gain_db,
                         double availability, double interference_dbm);

/* True if the device can use this radio at all (band). */
bool link_is_possible(const struct ap_radio *ap, const struct radio_ability *device);

#endif

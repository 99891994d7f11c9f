#include "promise/radio_judge.h"

#include <math.h>

#include "base/units.h"
#include "radio/interference.h"

bool radio_may_serve(const struct ap_radio *radio, const struct radio_ability *device, uint32_t bands)
{
    return bands & 1u << radio->band && link_is_possible(radio, device);
}

double radio_strength_dbm(const struct ap_radio *radio, double gain_db) { return radio->power_dbm + gain_db; }

double radio_signal_excess_db(const struct promise *promise, const struct ap_radio *radio,
                              const struct radio_ability *device, double gain_db)
{
    const struct link link = link_compute(radio, device, gain_db, promise->availability, -INFINITY);
    const double down_db = link.promised_level_dbm - promise->level_dbm;
    const double up_db = link.promised_uplink_level_dbm - given_or(promise->uplink_level_dbm, promise->level_dbm);
    switch (promise->direction) {
    case DIRECTION_DOWN:
        return down_db;
    case DIRECTION_UP:
        return up_db;
    case DIRECTION_BOTH:
        break;
    }
    return fmin(down_db, up_db);
}

double radio_roaming_level_dbm(const struct promise *promise, const struct ap_radio *radio,
                               const struct radio_ability *device, double gain_db)
{
    return link_compute(radio, device, gain_db, promise->availability, -INFINITY).promised_level_dbm;
}

struct radio_rates radio_rates_alone(const struct house *h, const struct promise *promise, const struct ap_radio *radio,
                                     const struct radio_ability *device, uint32_t floor, double gain_db)
{
    const double noise_dbm = interference_neighbours_dbm(h, floor, radio->centre_hz, radio->width_hz);
    const struct link link = link_compute(radio, device, gain_db, promise->availability, noise_dbm);
    return (struct radio_rates){ link.payload_mbps, link.uplink_payload_mbps };
}

double radio_judged_mbps(const struct promise *promise, struct radio_rates rates)
{
    if (!is_given(promise->up_mbps))
        return rates.down_mbps;
    return fmin(rates.down_mbps, rates.up_mbps - promise->up_mbps + promise->mbps);
}

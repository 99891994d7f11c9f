#include "promise/radio_judge.h"

#include <math.h>

#include "base/units.h"
#include "radio/interference.h"

bool radio_may_serve(const struct ap_radio *radio, const struct radio_ability *device, uint32_t bands)
{
    return bands & 1u << radio->band && link_is_possible(radio, device);
}

double radio_strength_dbm(const struct ap_radio *radio, double gain_db) { return radio->power_dbm + gain_db; }

struct radio_levels radio_signal_levels(const struct promise *promise, const struct ap_radio *radio,
                                        const struct radio_ability *device, double gain_db)
{
    const struct link link = link_compute(radio, device, gain_db, promise->availability, -INFINITY);
    return (struct radio_levels){ link.promised_level_dbm, link.promised_uplink_level_dbm };
}

static double down_excess_db(const struct promise *promise, struct radio_levels levels)
{
    return levels.down_dbm - promise->level_dbm;
}

static double up_excess_db(const struct promise *promise, struct radio_levels levels)
{
    return levels.up_dbm - given_or(promise->uplink_level_dbm, promise->level_dbm);
}

bool radio_uplink_decides(const struct promise *promise, struct radio_levels levels)
{
    if (promise->direction != DIRECTION_BOTH)
        return promise->direction == DIRECTION_UP;
    return up_excess_db(promise, levels) < down_excess_db(promise, levels);
}

double radio_signal_excess_db(const struct promise *promise, const struct ap_radio *radio,
                              const struct radio_ability *device, double gain_db)
{
    const struct radio_levels levels = radio_signal_levels(promise, radio, device, gain_db);
    return radio_uplink_decides(promise, levels) ? up_excess_db(promise, levels) : down_excess_db(promise, levels);
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

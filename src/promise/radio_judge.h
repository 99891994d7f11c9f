/* radio_judge.h - what one radio alone gives a device at a spot, in the terms in which promises about rooms judge it.
 *
 * The evaluators choose among the radios of the house; who looks for places of new ones asks the same of each.  All figures of a
 * radio rise with the gain, or stay. */
#ifndef RT_PROMISE_RADIO_JUDGE_H
#define RT_PROMISE_RADIO_JUDGE_H

#include "radio/link.h"

enum { ALL_BANDS = (1 << BAND_COUNT) - 1 };

/* May this radio serve the device in one of these bands (bits)? */
bool radio_may_serve(const struct ap_radio *radio, const struct radio_ability *device, uint32_t bands);
/* By this a device chooses among radios: the stronger, in dBm. */
double radio_strength_dbm(const struct ap_radio *radio, double gain_db);

/* `signal`: what the device hears, and what is heard of it, at the promised availability. */
struct radio_levels {
    double down_dbm, up_dbm;
};
struct radio_levels radio_signal_levels(const struct promise *promise, const struct ap_radio *radio,
                                        const struct radio_ability *device, double gain_db);
/* Does the uplink decide: is it alone promised, or the shorter of the two? */
bool radio_uplink_decides(const struct promise *promise, struct radio_levels levels);
/* How far its link lies above the promised levels, in dB: downlink, uplink, or the lesser of the two. */
double radio_signal_excess_db(const struct promise *promise, const struct ap_radio *radio,
                              const struct radio_ability *device, double gain_db);

/* `roaming`: the level that is held against the promised one, in dBm. */
double radio_roaming_level_dbm(const struct promise *promise, const struct ap_radio *radio,
                               const struct radio_ability *device, double gain_db);

struct radio_rates {
    double down_mbps, up_mbps;
};

/* `rate`: of one station while no other of the house is on the air, with the neighbours heard on that floor as noise. */
struct radio_rates radio_rates_alone(const struct house *h, const struct promise *promise, const struct ap_radio *radio,
                                     const struct radio_ability *device, uint32_t floor, double gain_db);
/* The rate that is held against the promised one: down, or up less what was promised up and more what was promised down where
 * that is less: the direction that falls shorter of its own promise decides. */
double radio_judged_mbps(const struct promise *promise, struct radio_rates rates);

#endif

/* airtime.h - how busy each radio's channel is, hour by hour, and what a device gets there in the busiest one. */
#ifndef RT_LOAD_AIRTIME_H
#define RT_LOAD_AIRTIME_H

#include "load/contention.h"
#include "load/demand.h"

/* Radios that hear each other on a common channel, and take turns. */
struct cell {
    uint32_t radio;          /* of fields->radios */
    double neighbours_share; /* of the time that foreign cells keep it busy (above the level at which stations defer) */
    double mesh_share;       /* that the low-power mesh does */
    double beacon_share;     /* its own beacons: SSIDs times 10 a second, at the lowest basic rate */
    LIST(uint32_t) sharers;  /* own other radios that it hears on its channel */
    uint32_t n_stations;
};

struct airtime {
    const struct demand *demand;
    const struct stations *stations;
    struct cell *cells; /* as fields->radios */
    uint32_t n_cells;
};

RT_MUST_CHECK enum rt_code airtime_make(const struct run *run, const struct demand *d, const struct stations *s,
                                        struct airtime **out, struct rt_problems *p);

/* Share of the time that the channel of a radio is busy in an hour of the week: neighbours, mesh, beacons, own traffic at the
 * rates of its stations (a slow station takes long), sharers; mean, and the value not passed with `chance`.  May exceed 1: more
 * is asked than there is. */
RT_MUST_CHECK enum rt_code airtime_busy(const struct run *run, const struct airtime *a, uint32_t radio, unsigned hour,
                                        double chance, double *mean, struct bracket *not_passed, struct rt_problems *p);

/* Payload rate that one more device, always with something to send, gets from the radio over this link in that hour: its share
 * of the turns against the mean of others' (contention.h), and what the channel has left. */
RT_MUST_CHECK enum rt_code airtime_rate(const struct run *run, const struct airtime *a, uint32_t radio, unsigned hour,
                                        const struct link *link, double *down_mbps, double *up_mbps,
                                        struct rt_problems *p);

#endif

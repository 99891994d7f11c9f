/* airtime.h - how busy the channel of each radio is, hour by hour, and what a device gets there in the busiest one.
 *
 * A radio takes turns with everything it hears on its channel: neighbours' cells, other radios of the house, the low-power mesh.
 * Its own stations take as long for their traffic as their links are slow. */
#ifndef RT_LOAD_AIRTIME_H
#define RT_LOAD_AIRTIME_H

#include "load/contention.h"
#include "load/demand.h"

/* Signals above this level make a station wait (preamble of a 20 MHz channel: IEEE 802.11-2016 17.3.10.6, from memory). */
#define DEFER_DBM (-82.0)

/* Somebody else on the channel of a radio. */
struct air_sharer {
    uint32_t neighbour, radio; /* of house->neighbours, or of the fields' radios; the other NO_REF */
    double level_dbm;          /* in the channel, where the radio hangs */
};

struct cell {
    uint32_t radio;                  /* of the fields' radios */
    LIST(struct air_sharer) sharers; /* neighbours, then radios of the house */
    double neighbours_share;         /* of the time that foreign cells are on it, each by itself */
    double beacon_share;             /* its own beacons, one for each SSID */
    double mesh_share;               /* the low-power mesh, where it lies in the channel */
};

struct airtime {
    const struct demand *demand;
    const struct stations *stations;
    LIST(struct cell) cells; /* as the fields' radios */
};

/* What is heard where an access point hangs is taken from the field on its floor, at the nearest cell and the usual height.
 * airtime_want() asks in a field for these cells.  Lives in run->arena.  Errors: RT_NOMEM; RT_MISSING: the field was not asked for
 * there. */
void airtime_want(const struct house *h, ap_radio_list radios, struct fields *fields);
RT_MUST_CHECK enum rt_code airtime_make(const struct run *run, const struct demand *d, const struct stations *s,
                                        struct airtime **out, struct rt_problems *p);

/* Share of the time that the devices of the low-power mesh are on its channel. */
double airtime_of_mesh(const struct house *h);
/* Gain from one radio to where another hangs; NaN: there is no field there. */
double airtime_gain_db(const struct airtime *a, uint32_t from, uint32_t to);

/* Share of an hour of the week that the radio's own stations take, in the mean; times `scale` (growth). */
double airtime_own(const struct airtime *a, uint32_t radio, unsigned hour, double scale);
/* That its channel is busy in the mean: own stations, those of the radios it shares with, beacons, mesh, neighbours.  May exceed
 * 1: more is asked for than there is. */
double airtime_busy(const struct airtime *a, uint32_t radio, unsigned hour, double scale);
/* The hour in which that is largest (the first of equals). */
unsigned airtime_busy_hour(const struct airtime *a, uint32_t radio);
/* As busy in every hour of the week, to the percent. */
bool airtime_is_flat(const struct airtime *a, uint32_t radio);
/* Distribution of what own stations and those of the radios it shares with take together; as shares of the time, not Mb/s.
 * Errors: those of rate_sum_make(). */
RT_MUST_CHECK enum rt_code airtime_sum(const struct run *run, const struct airtime *a, uint32_t radio, unsigned hour,
                                       struct rate_sum *out, struct rt_problems *p);

/* Share of the time that Wi-Fi, own and foreign, lies over a mesh channel in an hour of the week. */
double airtime_over_mesh(const struct airtime *a, int mesh_channel, unsigned hour);
/* What foreign cells heard on a floor and the house's own radios at its access points would take of a channel, in the mean of an
 * hour; without the radio itself. */
double airtime_foreign_at(const struct airtime *a, uint32_t radio, double centre_hz, unsigned hour);

/* What one more device, with always something to send, gets: by the payload rate that it has alone. */
enum { AIR_CURVE_POINTS = 6 };
struct air_curve {
    double alone_mbps[AIR_CURVE_POINTS], got_mbps[AIR_CURVE_POINTS];
};
/* For a radio in an hour, by contention.h against the mean traffic of its stations and of those it shares with, in what the
 * others leave.  Errors: those of contention_solve(). */
RT_MUST_CHECK enum rt_code air_curve_make(const struct airtime *a, uint32_t radio, unsigned hour, struct air_curve *out,
                                          struct rt_problems *p);
/* Interpolated in the logarithm of the rate; 0 for 0. */
double air_curve_at(const struct air_curve *c, double alone_mbps);

#endif

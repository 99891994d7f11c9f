/* contention.h - how stations share one channel.  Knows nothing of houses.
 *
 * G. Bianchi, "Performance analysis of the IEEE 802.11 distributed coordination function", IEEE JSAC 18(3), 2000 (equations 7, 9
 * and 13, from memory; checked against tests/reference/wifi_bianchi.csv), extended to classes of stations of different windows,
 * rates and frames: each class has its own chance to send, and a collision lasts as long as its longest frame.  A class that
 * wants less than it could have sends in fewer slots, just so many that it gets what it wants. */
#ifndef RT_LOAD_CONTENTION_H
#define RT_LOAD_CONTENTION_H

#include "base/problem.h"

/* Stations of one kind on a channel. */
struct contender {
    uint32_t n;
    double window;       /* CWmin + 1, at least 2 */
    int stages;          /* doublings up to CWmax, 0 to 16 */
    double success_s;    /* that one exchange takes which succeeds, arbitration space included */
    double collision_s;  /* that a frame of it takes which collides */
    double payload_bits; /* that a success delivers */
    double offered_bps;  /* that each of the n wants to send; INFINITY: always something to send */
};

struct contender_result {
    double tau;            /* chance that one of it sends in a slot */
    double collision;      /* chance that a frame of it collides */
    double throughput_bps; /* of all n together */
    double airtime_share;  /* of the time, for its successes */
};

struct contention {
    double idle_share, success_share, collision_share; /* of the time */
    double throughput_bps;
};

enum { CONTENTION_CLASSES_MAX = 64 };

/* Fills results[n_classes].  slot_s > 0; a class of n 0 gets zeros.  Errors: RT_RANGE for values outside those above. */
RT_MUST_CHECK enum rt_code contention_solve(const struct contender *classes, uint32_t n_classes, double slot_s,
                                            struct contender_result *results, struct contention *out,
                                            struct rt_problems *p);

#endif

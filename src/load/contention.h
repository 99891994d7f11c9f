/* contention.h - how stations share one channel.  Knows nothing of houses.
 *
 * Saturated: G. Bianchi, "Performance analysis of the IEEE 802.11 distributed coordination function", IEEE JSAC 18(3), 2000, with
 * the fixed point of its equations (7) and (9), extended to classes of stations of different windows, rates and frames (each
 * class its own tau, the times weighted by who wins). */
#ifndef RT_LOAD_CONTENTION_H
#define RT_LOAD_CONTENTION_H

#include "base/problem.h"
#include "base/run.h"

/* Stations of one kind on a channel. */
struct contender {
    double n;             /* so many; not whole where some are active part of the time */
    double window;        /* CWmin + 1 */
    int stages;           /* doublings up to CWmax */
    double success_s;     /* time on the air of one exchange that succeeds, arbitration space included */
    double collision_s;   /* that one of its frames blocks when it collides */
    double payload_bits;  /* that a success delivers */
    double offered_share; /* of the time that it has something to send; 1: saturated */
};

struct contender_result {
    double tau;            /* chance that it sends in a slot, when it has something */
    double collision;      /* chance that a frame of it collides */
    double throughput_bps; /* of all n together */
    double airtime_share;  /* of the time, for its successes */
};

struct contention {
    double idle_share, success_share, collision_share; /* of the time */
    double throughput_bps;
};

/* Solves for the classes; results[n].  slot_s > 0.  n classes up to CONTENTION_CLASSES_MAX, each with n >= 0.  Converges always
 * (bisection on the common idle chance); classes of n 0 get zeros.  Errors: RT_RANGE. */
enum { CONTENTION_CLASSES_MAX = 64 };
RT_MUST_CHECK enum rt_code contention_solve(const struct contender *classes, uint32_t n, double slot_s,
                                            struct contender_result *results, struct contention *out,
                                            struct rt_problems *p);

#endif

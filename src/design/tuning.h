/* tuning.h - channel, width and power of each radio, and the channel of the low-power mesh, chosen together.
 *
 * First as plain numbers (struct tuning), solved by an integer program; then from a house and back. */
#ifndef RT_DESIGN_TUNING_H
#define RT_DESIGN_TUNING_H

#include "promise/evaluation.h"

/* What one radio may be set to. */
struct tune_option {
    double channel; /* centre channel number */
    double centre_hz, width_hz;
    double power_dbm; /* the most that part and country allow there */
    bool needs_radar_detection;
    double cost; /* of this choice by itself: foreign cells on it, narrowness, radar duty */
};

/* Two radios (or radio and mesh) that hear each other cost this, if set so. */
struct tune_pair {
    uint32_t a, b;               /* radios, a < b; b == n_radios: the mesh */
    uint32_t option_a, option_b; /* of theirs */
    double cost;                 /* above 0 */
};

struct tune_radio {
    uint32_t radio; /* carried through */
    LIST(struct tune_option) options;
};

struct tuning {
    LIST(struct tune_radio) radios; /* then the mesh, if it has options: one more, channel 11 to 26 */
    bool has_mesh;
    LIST(struct tune_pair) pairs;
};

struct tuning_answer {
    uint32_t *options; /* of each radio */
    double cost, bound;
    bool is_best;
};

/* Least sum of costs.  Errors: RT_NOMEM, RT_CANCELLED. */
RT_MUST_CHECK enum rt_code tuning_solve(const struct run *run, const struct tuning *q, double seconds,
                                        struct tuning_answer *out, struct rt_problems *p);
double tuning_cost(const struct tuning *q, const uint32_t *options);
/* In the LP format. */
void tuning_write_lp(const struct tuning *q, struct buf *out);

/* ---- of a house ---- */

/* Sets channel, width and power of every radio of the house that may be tuned, and the mesh's channel if that may: writes
 * `radios` of its equipment (new lists in the arena) and mesh.channel.  Asked for: as little air shared with neighbours, own cells
 * and the mesh as can be had, at widths that the rate promises need; radar channels only if allowed or needed; then powers as low
 * as the promises that held at the most power still hold (each radio by itself, in steps of 1 dB, lowered in turn).
 * `ev` is of the house and is begun anew as settings change.  Errors: RT_NOMEM, RT_CANCELLED, those of the evaluation. */
struct tuning_result {
    struct tuning_answer answer;
    uint32_t n_radar; /* radios on channels with radar duty */
    str_list
        why; /* a line for each radio: "a_landing 5 GHz on 36, 80 MHz, 17 dBm: shared with none of the house's, one neighbour at -73 dBm" */
};
RT_MUST_CHECK enum rt_code house_tune(const struct run *run, struct house *h, bool allows_radar, double seconds,
                                      struct tuning_result *out, struct rt_problems *p);

#endif

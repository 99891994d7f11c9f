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
 * `radios` of its equipment (new lists in the arena; what is `off` stays so) and mesh.channel.  Needs a house whose cables are there.
 *
 * Channels: as little air shared with neighbours, own cells and the mesh as can be had (tune_air.h), all counted as shares of the time
 * that a cell loses; at no less width than each cell of a room needs that has its promised rate now, else rather narrower than shared
 * down to 40 MHz; at 2.4 GHz 20 MHz unless such a rate needs more.  Channels where the radio could send 3 dB less than it does now, with
 * radar duty (unless allowed), or on which it may only answer, are taken where there is no other.  If a promise of signal, rate, roaming,
 * quiet, or to survive the loss of an access point, that the house keeps as it is set now would be lost, or the air be fuller than on
 * the channels the file gives, radar channels and no less width than now are tried, then the channels of now; what loses least is taken.
 *
 * Powers: the most that part and country allow (written as left open), then lowered in turn by 1 dB to whole dBm, not below 5 dBm, as
 * long as what held still holds, with 1 dB of headroom where there was as much, else with what there was; what is broken does not get
 * worse by it.  `seconds` bounds the search for channels; what else it does is bounded by counts, so that the answer is the same each
 * time.
 *
 * Errors: RT_NOMEM, RT_CANCELLED, those of the evaluation (warnings are left to whoever evaluates the house afterwards); h is then
 * as it was. */
struct tuning_result {
    struct tuning_answer answer; /* of options that are not kept; cost, bound and is_best say how good it is */
    uint32_t n_radar;            /* radios on channels with radar duty */
    str_list
        why; /* a line for each radio: "a_landing 5 GHz on 36, 80 MHz, 17 dBm: shared with none of the house's, one neighbour at -73 dBm" */
};
RT_MUST_CHECK enum rt_code house_tune(const struct run *run, struct house *h, bool allows_radar, double seconds,
                                      struct tuning_result *out, struct rt_problems *p);

#endif

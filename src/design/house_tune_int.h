/* house_tune_int.h - shared by the sources that tune a house. */
#ifndef RT_DESIGN_HOUSE_TUNE_INT_H
#define RT_DESIGN_HOUSE_TUNE_INT_H

#include "design/tuning.h"
#include "promise/promise.h"

/* A radio as the house has it now. */
struct tuned_radio {
    const struct part_radio *part;
    bool may_tune, is_outdoors;
    double peak_dbi;
    double own_share;    /* of its fullest hour, at the width it has now */
    double beacon_share; /* of the time */
    double least_mhz;    /* the rate promises need this width */
};

/* How much is left open. */
struct tune_freedom {
    bool allows_radar, keeps_widths, keeps_channels;
    const bool *stays; /* [now.radios.n]: radios that keep theirs; NULL: none */
};

struct house_tuner {
    const struct run *run;
    const struct house *h;
    struct rt_problems problems; /* of evaluations that nobody sees */
    struct evaluation now;       /* as the house is set */
    const struct fields *fields; /* of now; NULL: no radio is on */
    const struct airtime *air;   /* likewise */
    struct tuned_radio *radios;  /* [now.radios.n] */
    bool *asked;                 /* [promises.n]: rests on what is tuned here */
};

/* How a promise that was asked for stands. */
struct tune_verdict {
    enum promise_state state;
    double margin;
    uint32_t radio; /* that decides it; NO_REF: not one alone */
};

/* ---- tune_options.c ---- */

/* Fills least_mhz: of each radio, so that each cell that it serves now with a promised rate keeps it. */
void tune_find_widths(struct house_tuner *t);
/* The settings of all radios and of the mesh, and what they cost.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code tune_make(const struct house_tuner *t, struct tune_freedom freedom, struct tuning *out);
/* The channel number to write for a centre number: the lowest 20 MHz channel that stands for it. */
double tune_channel_to_write(enum band band, double centre, double width_hz);

/* ---- house_tune.c ---- */

/* Judges what is asked for in an evaluation whose field is there, at other powers (NULL: its own). */
RT_MUST_CHECK enum rt_code tune_judge(const struct house_tuner *t, const struct evaluation *ev, const double *power_dbm,
                                      struct tune_verdict *out);

/* ---- tune_power.c ---- */

/* The least powers at which what was `held` still is; power_dbm[radios.n] comes as the most of each.  `ev` has its field and airtime.
 * Errors: RT_NOMEM, RT_CANCELLED, those of the evaluators (in t->problems). */
RT_MUST_CHECK enum rt_code tune_lower_powers(struct house_tuner *t, const struct evaluation *ev,
                                             const struct airtime *air, const struct tune_verdict *held,
                                             double *power_dbm);
enum { TUNE_LEAST_DBM = 5 };

#endif

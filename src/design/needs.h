/* needs.h - what the promises about rooms ask of the offers: which part at which site serves which cell.
 *
 * Each offer's radios are on the channel ap_radios_resolve() gives them when the file leaves it open (what is there already: on the
 * file's, where it may stay, wherever it hangs), at the most power that part and country allow (what may not be tuned: at the file's);
 * channels with radar duty only if the options allow them, or for what is on one already.
 * The field of each site is computed once, at the estimate promises are judged at, in the cells of the promised rooms on the grid
 * on which promises are judged, to the last bit as in a house where that part hangs there.  So the rows of a choice hold if and
 * only if the promise's own judge keeps it in a house with just those access points, channels left open - but for these, where
 * rows may hope for more, never for less:
 * - a signal that must be heard (direction up or both) is judged at the radio the downlink chooses of all; rows ask that some
 *   access point serve by itself;
 * - a rate where foreign cells are heard: rows ask that it hold on some channel that the radio may be set to;
 * - a rate in the busy hour: rows ask for the same rate alone;
 * - what survives an access point: what else dies with it is not known here.
 * What depends on other stations and on channels to be chosen is judged on the whole house afterwards, and `tighter` asks for more
 * where that turned out too hopeful. */
#ifndef RT_DESIGN_NEEDS_H
#define RT_DESIGN_NEEDS_H

#include "design/space.h"

/* How much more than promised is asked for, by promise. */
struct tighter {
    double by_db;      /* signal, roaming */
    double rate_times; /* rate: 1 as promised */
    bool own_channel;  /* rate: no better channel is counted on than the one that each radio has by itself */
};

struct needs; /* fields of all sites, kept between calls */

/* The fields of all sites.  Errors: RT_NOMEM, RT_CANCELLED, those of evaluation_begin(). */
RT_MUST_CHECK enum rt_code needs_begin(const struct run *run, const struct design_space *space, struct needs **out,
                                       struct rt_problems *p);

/* Needs of signal, rate and roaming, and of those a `survive` promise names for access points (bears_loss; carried under the
 * survive promise's index, made tighter by the stronger of its own and that promise's).  tighter: [promises.n], NULL: as promised.
 * Cells that the same offers serve are one; cells that every choice serves are left out, and counted off `wanted`; cells
 * that none serves are left out, and stay in it.  Radios that stand in the house and are not offered (a gateway's) serve
 * whatever is chosen.  No rows for a room that every choice serves, nor for a kind of device without a radio.  Sets out->needs,
 * in run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code needs_make(const struct run *run, const struct needs *n, const struct tighter *tighter,
                                      struct placing *out, struct rt_problems *p);

/* Which kinds needs_make() makes needs of. */
bool needs_cover(enum promise_kind kind);

/* Radios of an offer's part for which the country has no channel where it hangs (6 GHz outdoors, in many): bits of part.radios.  The
 * house must switch them off; no need counts on them. */
uint32_t needs_radios_off(const struct needs *n, uint32_t offer);

#endif

/* needs.h - what the promises about rooms ask of the offers: which part at which site serves which cell.
 *
 * Each offer's radios are on the channel ap_radios_resolve() gives them when the file leaves it open, at the most power that part and
 * country allow; the field of each site is computed once, at the estimate promises are judged at, in the cells of the promised rooms
 * on the grid on which promises are judged.  So a cell is served here if and only if the promise's own judge says so of this offer
 * alone; what depends on other stations and channels (the busy hour, quiet) is judged on the whole house afterwards, and `tighter`
 * asks for more where that turned out too hopeful. */
#ifndef RT_DESIGN_NEEDS_H
#define RT_DESIGN_NEEDS_H

#include "design/space.h"

/* How much more than promised is asked for, by promise. */
struct tighter {
    double by_db;      /* signal, roaming */
    double rate_times; /* rate: 1 as promised */
};

struct needs; /* fields of all sites, kept between calls */

/* The fields of all sites.  Errors: RT_NOMEM, RT_CANCELLED, those of evaluation_begin(). */
RT_MUST_CHECK enum rt_code needs_begin(const struct run *run, const struct design_space *space, struct needs **out,
                                       struct rt_problems *p);

/* Needs of signal, rate and roaming, and of those a `survive` promise names for access points (bears_loss; carried under the
 * survive promise's index).  tighter: [promises.n], NULL: as promised.  Cells that the same offers serve are one; cells that every
 * choice serves are left out, and counted off.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code needs_make(const struct run *run, const struct needs *n, const struct tighter *tighter,
                                      struct placing *out, struct rt_problems *p);

/* Which kinds needs_make() makes needs of. */
bool needs_cover(enum promise_kind kind);

/* Radios of an offer's part for which the country has no channel where it hangs (6 GHz outdoors, in many): bits of part.radios.  The
 * house must switch them off; no need counts on them. */
uint32_t needs_radios_off(const struct needs *n, uint32_t offer);

#endif

/* gather.h - what the sheets show, computed: fields, cables, ports, cabinets, week, failures, the spots of broken promises. */
#ifndef RT_DRAW_GATHER_H
#define RT_DRAW_GATHER_H

#include "draw/draw.h"
#include "promise/promise.h"

/* Fills what options->what (0: everything) needs: cables, numbers, fronts, energy, ports, failures, load.  *fields: the whole field, or grids alone where no sheet shows one.
 * Errors: those of what is computed. */
RT_MUST_CHECK enum rt_code draw_gather(struct evaluation *ev, struct draw_options *options,
                                       const struct fields **fields, struct rt_problems *p);

/* Notes at the deciding spots of the broken promises among the results, in the arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code draw_notes(struct arena *a, const struct promise_results *results,
                                      struct draw_options *options, struct rt_problems *p);

#endif

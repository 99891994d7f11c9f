/* result.h - the ways in which an evaluator ends. */
#ifndef RT_PROMISE_RESULT_H
#define RT_PROMISE_RESULT_H

#include "promise/coverage.h"

/* Unknown, with the fact that is missing and where to give it.  Returns RT_OK. */
enum rt_code result_unknown(struct evaluation *ev, struct promise_result *out, const char *fmt, ...) RT_PRINTF(3, 4);
/* Broken without a spot to show.  Returns RT_OK. */
enum rt_code result_broken(struct evaluation *ev, struct promise_result *out, const char *fmt, ...) RT_PRINTF(3, 4);
/* Broken because no access point of the house serves the band (BAND_COUNT: no band of the device).  Returns RT_OK. */
enum rt_code result_no_radio(struct evaluation *ev, struct promise_result *out, enum band band);
/* The radio that a promise means; NULL after ending as unknown if its kind of device has none. */
const struct radio_ability *result_device(struct evaluation *ev, const struct promise *promise,
                                          struct promise_result *out);
/* Completes a result of rooms whose decision has a radio: the reason in words, that radio's paths as evidence, the witness
 * under the title. */
RT_MUST_CHECK enum rt_code result_at_spot(struct evaluation *ev, const struct decision *decision, const char *title,
                                          struct promise_result *out, struct rt_problems *p);

#endif

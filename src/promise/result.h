/* result.h - the ways in which an evaluator ends. */
#ifndef RT_PROMISE_RESULT_H
#define RT_PROMISE_RESULT_H

#include "promise/promise.h"

/* Unknown, with the fact that is missing and where to give it.  Returns RT_OK. */
enum rt_code result_unknown(struct evaluation *ev, struct promise_result *out, const char *fmt, ...) RT_PRINTF(3, 4);
/* Broken without a spot to show.  Returns RT_OK. */
enum rt_code result_broken(struct evaluation *ev, struct promise_result *out, const char *fmt, ...) RT_PRINTF(3, 4);
/* Broken because no access point of the house serves the band (BAND_COUNT: no band of the device).  Returns RT_OK. */
enum rt_code result_no_radio(struct evaluation *ev, struct promise_result *out, enum band band);
/* Completes a result of rooms: the reason in words, the deciding access point's paths as evidence, the witness. */
RT_MUST_CHECK enum rt_code result_at_spot(struct evaluation *ev, const struct ap_radio *radio, uint32_t floor,
                                          struct vec3 above_floor_m, const char *title, struct promise_result *out,
                                          struct rt_problems *p);

#endif

/* loss.h - how a promise ends where damage took what it speaks of.  Each returns true after ending it as broken, with the lost things as
 * evidence; false (and nothing done) where nothing of it is lost, or nothing has failed. */
#ifndef RT_PROMISE_LOSS_H
#define RT_PROMISE_LOSS_H

#include "promise/damage.h"
#include "promise/result.h"

/* The equipment or device of this id; NO_REF: the house has none. */
uint32_t thing_of_id(const struct house *h, struct str id);

/* One thing is dead, or (unless only power counts) cut off. */
bool breaks_by_loss(struct evaluation *ev, uint32_t thing, bool power_alone, struct promise_result *out);
/* One of those that the promise names is. */
bool breaks_by_names(struct evaluation *ev, const struct promise *promise, bool power_alone,
                     struct promise_result *out);
/* The line, or the gateway before it. */
bool breaks_by_line(struct evaluation *ev, struct promise_result *out);
/* Two sides of a conversation: one of them, or what lies between.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code breaks_by_way(struct evaluation *ev, const struct promise *promise, bool *broken,
                                         struct promise_result *out, struct rt_problems *p);
/* The recorder or its pictures. */
bool breaks_by_recorder(struct evaluation *ev, uint32_t recording, struct promise_result *out);

#endif

/* outage_stages.h - what goes when without mains, battery by battery, and what goes without the line. */
#ifndef RT_PROMISE_OUTAGE_STAGES_H
#define RT_PROMISE_OUTAGE_STAGES_H

#include "promise/promise.h"

/* Adds evidence `stages` and `without_line` to a result of the kind outage, and tells the same in its reason.  Of promises only those of
 * the kinds that promises_evaluate() was asked for.  Errors: those of damage_make() and of the evaluators. */
RT_MUST_CHECK enum rt_code outage_tell_stages(struct evaluation *ev, struct promise_result *out, struct rt_problems *p);

/* The same judgement without the stages, which ask for fields: for trying batteries.  Errors: those of evaluation_energy(),
 * evaluation_tree() and, for devices on Wi-Fi, evaluation_proof(). */
RT_MUST_CHECK enum rt_code outage_judge(struct evaluation *ev, const struct promise *promise,
                                        struct promise_result *out, struct rt_problems *p);

#endif

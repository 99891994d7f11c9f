/* phase_keeps.h - what the house keeps once a phase is in: promises judged with all that is there or bought by then, and without
 * what later phases bring. */
#ifndef RT_PROMISE_PHASE_KEEPS_H
#define RT_PROMISE_PHASE_KEEPS_H

#include "promise/damage.h"
#include "promise/promise.h"

struct phase_stage {
    uint32_t phase;     /* of house->phases */
    uint32_t n_missing; /* equipment and cables that only later phases bring */
    const struct promise_result *
        *results;             /* as house->promises; what failure_touches() leaves out is that of the whole house */
    uint32_t n_kept, n_later; /* promises kept by then, and those that the whole house keeps and this does not yet */
};

struct phase_stages {
    LIST(struct phase_stage) v; /* by date, those without one last; ties in the order of the file */
};

/* All promises of `whole` must have been judged.  Lives in its run's arena.  Errors: those of evaluation_bill() and promise_after(). */
RT_MUST_CHECK enum rt_code phases_judge(struct evaluation *whole, struct phase_stages *out, struct rt_problems *p);
/* Does the whole house keep it, and this stage not yet? */
bool phase_is_later(const struct evaluation *whole, const struct phase_stage *stage, uint32_t promise);

#endif

/* mend_int.h - shared by the sources of mend.h. */
#ifndef RT_PROMISE_MEND_INT_H
#define RT_PROMISE_MEND_INT_H

#include "promise/mend.h"

enum { MEND_ESTIMATES = 3 }; /* as enum estimate */

struct mender {
    struct failure_table *table;
    struct evaluation *whole;
    const struct house *h;
    struct arena *arena;
    struct fields **
        fields; /* [(mount * parts + part) * MEND_ESTIMATES + estimate], of the tried radios alone; NULL until asked for */
    struct mend *out;
    struct rt_problems unheard; /* what is odd about houses that are only tried */
};

/* How a try ended: a house that cannot be built so is none; what stops all work goes on. */
RT_MUST_CHECK enum rt_code mend_quietly(struct mender *m, enum rt_code code, struct rt_problems *p);

void mend_begin(const struct mender *m, struct house *h, struct evaluation *with);
RT_MUST_CHECK enum rt_code mend_try(struct mender *m, struct evaluation *with, const char *says, struct rt_problems *p);
/* mend_ap.c */
RT_MUST_CHECK enum rt_code mend_by_access_point(struct mender *m, const struct damage *d, struct rt_problems *p);

#endif

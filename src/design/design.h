/* design.h - the least costly house that keeps the promises: places, parts, channels, wires, in one consistent result.
 *
 *   space -> needs -> placing -> tuning -> fit -> every promise judged on the whole house -> tighter needs, until they hold. */
#ifndef RT_DESIGN_H
#define RT_DESIGN_H

#include "design/fit.h"
#include "design/needs.h"
#include "design/tuning.h"
#include "promise/promise.h"

/* A promise that the design could not keep, and why. */
struct design_loss {
    uint32_t promise;
    index_list
        with; /* the other promises of the smallest conflicting set found; empty: it cannot be kept by any equipment */
    bool is_smallest;
    struct str says; /* what it would save to let it go, or which fact would make it possible */
};

/* What one promise costs: the price less that of the least costly house without it. */
struct design_worth {
    uint32_t promise;
    int64_t price;
    bool is_proven; /* both prices are */
};

struct design {
    const struct design_space *space;
    struct placing placing;       /* that led to it ... */
    struct placing_answer answer; /* ... its answer ... */
    bool *given_up;               /* ... and the promises it does without, as house->promises */
    struct fitted fitted;
    struct tuning_result tuned;
    struct evaluation *ev; /* of fitted.house */
    struct promise_results results;
    int64_t total, bound; /* of what is to be bought; no choice among these places costs less than the bound */
    double gap;           /* (total - bound) / total, at least 0 */
    double seconds;
    double first_s;  /* after how many a whole house was there */
    unsigned rounds; /* of placing and judging */
    bool is_stopped; /* by time or cancel: the best so far */
    LIST(struct design_loss) losses;
    LIST(struct design_worth) worths; /* the dearest first */
};

/* Promises are taken to be worth the more the earlier they stand in the file.  With a cancel, or when the time is out, the best found
 * so far.  Errors: RT_NOMEM, RT_CANCELLED before there is anything to show, RT_MISSING. */
RT_MUST_CHECK enum rt_code design_make(const struct run *run, const struct house *h, struct design_options options,
                                       struct design **out, struct rt_problems *p);

#endif

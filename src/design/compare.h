/* compare.h - two houses side by side: their promises, what they cost, what stands in them, what their files say differently. */
#ifndef RT_DESIGN_COMPARE_H
#define RT_DESIGN_COMPARE_H

#include "base/json.h"
#include "design/file_difference.h"
#include "promise/promise.h"

/* One of the two, judged. */
struct compared {
    struct evaluation *ev;
    struct promise_results results;
    const struct bill *bill;
};

/* A promise of one or both, by its id. */
struct compared_promise {
    const struct promise_result *of[2]; /* NULL: that house promises no such thing */
};

struct comparison {
    struct compared house[2];
    LIST(struct compared_promise) promises; /* as in the first, then those only the second has */
    file_difference_list differences;
};

/* Judges both and puts them together.  Errors: RT_CONFLICT (their currencies differ), RT_NOMEM, RT_CANCELLED, those of the
 * evaluation. */
RT_MUST_CHECK enum rt_code houses_compare(struct evaluation *first, struct evaluation *second, struct comparison *out,
                                          struct rt_problems *p);

/* `drawings`: files that show both. */
void comparison_write_json(struct json *j, const struct comparison *c, const struct str *drawings, uint32_t n_drawings);
void comparison_write_text(struct buf *out, const struct comparison *c, unsigned columns, bool colour);

#endif

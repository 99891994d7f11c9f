/* mend.h - the cheapest addition that keeps a promise through a failure: parts in hand are tried one by one.
 *
 * Tried are: one more access point on each free mount that is meant for one, on a cable from what still works; a battery under all that
 * stops with the mains; a second disk that holds the same pictures.  The price is that of the whole bill with it, less the bill without:
 * cable, outlet and work included.  What no such part mends is answered in words. */
#ifndef RT_PROMISE_MEND_H
#define RT_PROMISE_MEND_H

#include "promise/failure_table.h"

struct mend {
    uint32_t row, promise; /* of the table; of house->promises */
    uint32_t survive;      /* the promise to survive that breaks by it; NO_REF: none */
    bool is_found;
    int64_t price; /* smallest units of the currency; 0: none found */
    struct str says;
    uint32_t n_tried;
};
struct mends {
    struct mend *v;
    uint32_t n;
};

/* For each promise to survive that is broken, what would mend its worst failure; where there is none, for the failure that breaks most
 * the first promise that it breaks.  Lives in the run's arena.  Errors: RT_CANCELLED, and those of the evaluations of the houses tried. */
RT_MUST_CHECK enum rt_code failures_mend(struct failure_table *t, struct mends *out, struct rt_problems *p);

void mends_write_json(struct json *j, const char *key, const struct failure_table *t, const struct mends *list);
void mends_write_text(struct buf *out, const struct failure_table *t, const struct mends *list, unsigned columns,
                      bool colour);

#endif

/* acceptance.h - the tests of the hand-over day, made from the promises of a house: where to stand and what with, what to read, what
 * counts as pass.  The figure that passes is always the promise's own, or one of its evidence (docs/json.md). */
#ifndef RT_BOOK_ACCEPTANCE_H
#define RT_BOOK_ACCEPTANCE_H

#include "promise/promise.h"

/* One box to tick. */
struct acceptance_row {
    uint32_t promise;         /* of house->promises */
    struct str where;         /* the spot, port, thing or time, and what to do there */
    struct str device, band;  /* with which device, on which band; may be empty */
    struct str passes;        /* in words, the figure included */
    struct str computed;      /* what Rooftree expects to be read; may be empty */
    double at_least, at_most; /* what passes; NaN: no such figure */
    const char *unit;         /* of both; "" without a figure */
    int decimals;
    bool is_further; /* one more of its kind: in the spreadsheet, not in the book */
};

/* All rows of one promise. */
struct acceptance_test {
    const struct promise_result *result;
    struct str how;  /* what to take, and how it is read */
    struct str note; /* what is broken or not known already; may be empty */
    uint32_t first, n;
};

struct acceptance {
    const struct house *h;
    LIST(struct acceptance_row) rows;
    LIST(struct acceptance_test) tests; /* by heading, then in the order of the file */
};

/* `results`: of all kinds, of ev's house.  Lives in the run's arena.  Errors: those of evaluation_proof(), evaluation_ports(),
 * evaluation_power(), failure_result(). */
RT_MUST_CHECK enum rt_code acceptance_make(struct evaluation *ev, const struct promise_results *results,
                                           struct acceptance **out, struct rt_problems *p);

/* The same as a table for a spreadsheet (RFC 4180), one row a box, with columns left empty to fill in. */
void acceptance_write_csv(struct buf *out, const struct acceptance *list);

#endif

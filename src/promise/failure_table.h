/* failure_table.h - every single failure against every promise and every thing of the house.
 *
 * Entries are computed when first asked for and kept with the evaluation, so that a promise to survive, the whole table and a drawing of
 * it share them. */
#ifndef RT_PROMISE_FAILURE_TABLE_H
#define RT_PROMISE_FAILURE_TABLE_H

#include "promise/damage.h"
#include "promise/promise.h"

struct failure_row {
    struct failure failure;
    struct damage *damage;                 /* NULL until asked for */
    const struct promise_result **results; /* as house->promises; each NULL until asked for */
    uint32_t n_broken;                     /* promises that the whole house keeps, or does not know, and this breaks */
    uint32_t n_dead, n_cut_off;            /* things, the failed one included */
};

struct failure_table {
    struct evaluation *whole;
    LIST(struct failure_row) rows; /* of all kinds, as failures_of_house() */
};

/* The house's table.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code evaluation_failures(struct evaluation *whole, struct failure_table **out,
                                               struct rt_problems *p);
/* Errors: those of damage_make(). */
RT_MUST_CHECK enum rt_code failure_damage(struct failure_table *t, uint32_t row, const struct damage **out,
                                          struct rt_problems *p);
/* A promise after a failure; those that no failure touches (apart, hours, cost, exposure, growth, survive) are as in the whole house.
 * Errors: those of the evaluators. */
RT_MUST_CHECK enum rt_code failure_result(struct failure_table *t, uint32_t row, uint32_t promise,
                                          const struct promise_result **out, struct rt_problems *p);
/* The same after any damage, kept nowhere. */
RT_MUST_CHECK enum rt_code promise_after(struct evaluation *whole, const struct damage *d, uint32_t promise,
                                         const struct promise_result **out, struct rt_problems *p);
/* All of it, with progress.  Errors: RT_CANCELLED, and those above. */
RT_MUST_CHECK enum rt_code failure_table_fill(struct failure_table *t, struct rt_problems *p);

/* Does any failure touch promises of this kind? */
bool failure_touches(enum promise_kind kind);
/* Did the failure break it: broken now, and not in the whole house? */
bool failure_breaks(const struct failure_table *t, uint32_t row, uint32_t promise);

/* The object that docs/json.md documents as `failures`; the table must be filled. */
void failure_table_write_json(struct json *j, const char *key, const struct failure_table *t);
/* The same for people. */
void failure_table_write_text(struct buf *out, const struct failure_table *t, unsigned columns, bool colour);

#endif

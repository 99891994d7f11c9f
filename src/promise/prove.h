/* prove.h - everything that the rules of a house do, put together for one reader: the `prove` command. */
#ifndef RT_PROMISE_PROVE_H
#define RT_PROMISE_PROVE_H

#include "promise/promise.h"
#include "reach/difference.h"
#include "reach/matrix.h"
#include "reach/ruleset.h"

struct prove_report {
    struct evaluation ev;
    struct proof *proof;
    struct matrix *matrix;
    struct promise_results promises; /* apart, reach, hours */
    finding_list findings[FAMILY_COUNT];
    const char *ruleset; /* file name of the foreign rules; NULL: the compiled ones */
    note_list ruleset_notes;
    struct difference *difference; /* from another house; NULL: not asked for */
};

/* `ruleset` names a kernel's listing to judge in place of the compiled rules (NULL: none); `other` is a house to compare with
 * (NULL: none).  Errors: those of evaluation_proof(), ruleset_read(), difference_make(). */
RT_MUST_CHECK enum rt_code prove_report_make(const struct run *run, const struct house *h, const char *ruleset,
                                             const struct house *other, struct prove_report *out,
                                             struct rt_problems *p);

/* The object documented in docs/json.md under `prove`, and the same for people. */
void prove_report_write_json(struct json *j, const struct prove_report *r);
void prove_report_write_text(struct buf *out, const struct prove_report *r, unsigned columns, bool colour);

#endif

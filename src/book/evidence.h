/* evidence.h - the evidence of a promise as a householder reads it: a few lines, a small table or figure beneath its sentence. */
#ifndef RT_BOOK_EVIDENCE_H
#define RT_BOOK_EVIDENCE_H

#include "book/book_int.h"

/* Writes the evidence of one result into b->flow. */
typedef enum rt_code evidence_writer(struct book *b, const struct promise_result *r, struct rt_problems *p);
/* clang-format off */
evidence_writer
    evidence_rooms, evidence_quiet, evidence_exposure, /* evidence_air.c */
    evidence_rules, evidence_line, evidence_recording, evidence_survive, evidence_growth, evidence_cost, /* evidence_sum.c */
    evidence_power, evidence_cable, evidence_outage; /* evidence_wire.c */
/* clang-format on */

/* Where in the book the evidence of a result stands; lives in the book's arena. */
const char *evidence_place(struct book *b, const struct promise_result *r);
/* What would keep a broken promise, as far as it is known without trying parts; empty: it is kept, or its reason says it. */
struct str evidence_mend(struct book *b, const struct promise_result *r);

/* ---- for the writers ---- */

/* What people call a thing by its id: `says`, else the id as words. */
struct str evidence_thing(struct book *b, struct str id);
/* "32 %" of a share; "1.2 %" where there are decimals. */
struct str evidence_share(struct book *b, double share, int decimals);
/* A number with its unit and a true minus sign; "not known" for NaN, "no link" for minus infinity. */
struct str evidence_figure(struct book *b, double value, int decimals, const char *unit);
struct flow_cell evidence_cell(struct str text);
struct flow_cell evidence_soft(struct str text);

#endif

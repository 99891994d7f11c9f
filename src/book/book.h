/* book.h - what leaves the screen: the hand-over book, labels, cards, the household's sheet. */
#ifndef RT_BOOK_H
#define RT_BOOK_H

#include "book/flow.h"
#include "draw/draw.h"
#include "promise/promise.h"
#include "reach/secret.h"

struct book_options {
    enum flow_paper paper;
    struct flow_form form;              /* zero: PDF */
    struct str date;                    /* "2026-11-25"; empty: the book leaves a line to write it on */
    struct str by;                      /* who hands over; empty: a line to write on */
    bool rehearses;                     /* try the rules on this kernel, and say in the book what came of it */
    const struct radio_ability *device; /* whose level and rate the fields show; must be set */
    struct str device_name;
    const struct secrets *secrets; /* for cards alone; NULL: not asked for */
    struct str label_grid;         /* labels.h; empty: the usual one of the paper */
    uint32_t labels_used;          /* of the first sheet */
};

/* The paper of a country: Letter where it is the custom, else A4.  Common practice, no source: ISO 216 but in the countries listed. */
enum flow_paper book_paper_of(struct str country);

/* The whole book of a house, as options->form has it.  `ev` was begun; everything it lacks is computed.  Errors: those of what it tells, and
 * flow_write()'s. */
RT_MUST_CHECK enum rt_code book_make(const struct run *run, struct evaluation *ev, const struct book_options *options,
                                     struct flow_made *out, struct rt_problems *p);

#endif

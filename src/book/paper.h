/* paper.h - what `book --what` makes: one row each in paper.c.  A new paper: its maker, its row, its word in the option (command.c). */
#ifndef RT_BOOK_PAPER_H
#define RT_BOOK_PAPER_H

#include "book/book.h"

/* As book_make(): the PDF or its pages, or what is wrong. */
typedef enum rt_code paper_maker(const struct run *run, struct evaluation *ev, const struct book_options *options,
                                 struct flow_made *out, struct rt_problems *p);

struct paper {
    const char *name; /* as on the command line */
    paper_maker *make;
    bool holds_secrets; /* options->secrets must be set, and the file be for its owner's eyes alone */
};

/* household.c: which network for what, on one page for the door of the fridge; a house of very many things takes more.  Errors: those of
 * evaluation_proof() and flow_write(). */
paper_maker household_make;
/* cards.c: a card for each Wi-Fi name, with a code that phones read (wifi_uri.h), from options->secrets.  Errors: RT_USAGE (no secrets),
 * RT_MISSING (no Wi-Fi name), and those of evaluation_proof() and flow_write(). */
paper_maker cards_make;

/* The first is made where nothing is said. */
const struct paper *papers(size_t *n);
/* NULL: there is none of this name. */
const struct paper *paper_find(struct str name);

#endif

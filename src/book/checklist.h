/* checklist.h - what is to be done when the house is built, to be ticked off: the book's order of work, its fixtures, holes, cables
 * and tests, for whoever has a telephone in hand in place of paper.
 *
 * Words, order and figures are the book's.  Every box has an id that is the same in every revision of the house in which that very
 * thing is to be done, so that what was ticked and read can be kept beside the house file:
 *   order/N                       a step of the order of work
 *   fix/THING                     equipment, or a device at the end of a cable
 *   hole/FLOOR/X,Y,Z, board/...   work at a place, in decimetres
 *   cable/ID/laid, /ended, /tested
 *   test/PROMISE/BAND/WHERE       a test of the day; a promise made anew is a test made anew */
#ifndef RT_BOOK_CHECKLIST_H
#define RT_BOOK_CHECKLIST_H

#include "book/acceptance.h"

struct checklist_box {
    struct str id, name;      /* name: in a few words, to be told when the house has it no more */
    double at_least, at_most; /* of a reading that passes; NaN: no such figure */
};

struct checklist {
    struct str json; /* the object documented in docs/api.md under `installation`, without what was done */
    LIST(struct checklist_box) boxes;
};

/* Lives in ev->run->arena.  Errors: those of evaluation_ports(), evaluation_bill(), promises_evaluate(), acceptance_make(). */
RT_MUST_CHECK enum rt_code checklist_make(struct evaluation *ev, struct checklist **out, struct rt_problems *p);
/* Does this reading pass?  -1: the box has no figure. */
int checklist_passes(const struct checklist_box *box, double reading);

#endif

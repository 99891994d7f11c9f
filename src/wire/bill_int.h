/* bill_int.h - how the lines of a bill come together. */
#ifndef RT_WIRE_BILL_INT_H
#define RT_WIRE_BILL_INT_H

#include "base/units.h"
#include "data/work_hours.h"
#include "wire/bill.h"

/* Something that joins the line of its like. */
struct bill_item {
    enum bill_kind kind;
    uint32_t phase, part;
    bool owned;
    struct str what, unit;
    double count, price;
    double length_m; /* of cable: count is then left to the end, when boxes are rounded up; else 0 */
    struct str who;
};

struct draft_line {
    struct bill_line line;
    double price;
    VEC(struct str) who;
};

struct bill_draft {
    const struct run *run;
    struct arena *a;
    const struct house *h;
    const struct cable_plan *cables;
    const struct wire_links *links;
    bool prices_hold; /* the parts file reckons in the house's currency */
    uint32_t *cable_phase, *cable_part, *device_phase;
    VEC(struct draft_line) lines;
    VEC(struct bill_gap) gaps;
    bool failed; /* the arena's ceiling was reached */
};

/* Adds to the line of the same kind, phase, part, words and price, or begins it.  A price that is not given or below zero
 * becomes a gap. */
void bill_add(struct bill_draft *d, struct bill_item item);
void bill_gap(struct bill_draft *d, uint32_t phase, bool is_yearly, const char *fmt, ...) RT_PRINTF(4, 5);
/* Hours of labour for n pieces or metres; nothing where labour is not paid. */
void bill_labour(struct bill_draft *d, enum work_task task, uint32_t phase, double n, struct str who);
static inline bool bill_pays_labour(const struct bill_draft *d) { return is_given(d->h->budget.labour_per_h); }

/* "Saucer 2 (Brackenholt)". */
struct str bill_part_words(struct bill_draft *d, uint32_t part);
/* Pieces of a part. */
void bill_part(struct bill_draft *d, enum bill_kind kind, uint32_t part, uint32_t phase, bool owned, struct str who);

/* The later of two phases: by their dates where both have one, else by the file's order; NO_REF is earliest. */
uint32_t bill_later_phase(const struct house *h, uint32_t a, uint32_t b);

/* A part and the work of setting it up; fixing it at a mount. */
void bill_thing(struct bill_draft *d, uint32_t part, uint32_t phase, bool owned, struct str who);
void bill_fixing(struct bill_draft *d, uint32_t mount, uint32_t phase, struct str who);
/* Equipment, devices, batteries, and what fixes them. */
void bill_things(struct bill_draft *d);
/* A work, with the first of the new cables that share it. */
void bill_work(struct bill_draft *d, const struct cable_work *w);
/* Cables, their cords and outlets, and the work of laying them.  Errors: RT_CANCELLED. */
RT_MUST_CHECK enum rt_code bill_cables(struct bill_draft *d, struct rt_problems *p);
/* Cables whose part is left open: the parts that serve all of them for the least money, boxes shared. */
RT_MUST_CHECK enum rt_code bill_open_cables(struct bill_draft *d, struct rt_problems *p);
/* One cable that is to be bought: its ends and the laying; of one whose part is left open without the cable itself. */
void bill_new_cable(struct bill_draft *d, uint32_t cable);
/* bill_cut_m() of the draft's cable. */
double bill_cable_m(const struct bill_draft *d, uint32_t cable);

#endif

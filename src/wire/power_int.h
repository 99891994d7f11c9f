/* power_int.h - shared by the sources of power.h. */
#ifndef RT_WIRE_POWER_INT_H
#define RT_WIRE_POWER_INT_H

#include "wire/poe.h"
#include "wire/power.h"

/* Things are numbered: equipment first, then devices. */
struct power_maker {
    struct arena *arena;
    const struct house *h;
    const struct cable_plan *cables;
    const struct port_numbers *ports; /* NULL: those of the file */
    struct power_plan *plan;
    uint32_t *first_cable, *cables_of; /* of each thing */
    uint32_t *depth;                   /* of each equipment: how many feed one another above it */
    double *own_w, *own_most_w;        /* of each feed, without what it passes on */
    double *rise_k;                    /* of each cable, by the bundles it lies in */
    uint32_t *n_bundle;                /* of each cable, powered ones in its fullest bundle; 0: not known */
    uint32_t depth_max;
    bool failed;
};

const struct part *part_of_equipment(const struct house *h, uint32_t equipment);
/* NULL: none, or not in the parts file. */
const struct part *part_of_device(const struct house *h, const struct device *d);
const struct part *part_of_cable(const struct house *h, uint32_t cable);
static inline bool feed_is_on(const struct power_feed *f) { return f->source != NO_REF; }

void power_find_feeds(struct power_maker *m);  /* power_find.c: who is fed by what, over which cables */
void power_loops(struct power_maker *m);       /* power_copper.c: resistance of each way at its temperature */
void power_bundles(struct power_maker *m);     /* power_copper.c: warmth by the currents found */
void power_check_wires(struct power_maker *m); /* power_copper.c: currents against what bundles bear */

#endif

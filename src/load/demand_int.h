/* demand_int.h - shared by the sources of demand: who asks (demand.c), and where it passes (demand_way.c). */
#ifndef RT_LOAD_DEMAND_INT_H
#define RT_LOAD_DEMAND_INT_H

#include "load/demand.h"

struct demand_maker {
    struct arena *arena;
    const struct house *h;
    const struct cable_tree *tree;
    const struct wire_links *links;
    const struct stations *stations;
    struct demand *d;
    VEC(struct demand_source) sources;
    VEC(struct str) unknown;
    bool failed; /* the arena's ceiling */
};

void demand_missing(struct demand_maker *m, const char *fmt, ...) RT_PRINTF(2, 3);
/* Points and uses, of the sources in m->d. */
void demand_lay_ways(struct demand_maker *m);

#endif

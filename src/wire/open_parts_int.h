/* open_parts_int.h - shared by the sources of open_parts.h. */
#ifndef RT_WIRE_OPEN_PARTS_INT_H
#define RT_WIRE_OPEN_PARTS_INT_H

#include "wire/open_parts.h"
#include "wire/ports_int.h"

struct open_maker {
    const struct run *run;
    struct arena *a;
    struct house *h;
    struct cable_tree tree;
    ports_candidates *candidates; /* of each equipment */
    double *shelf_units;
    uint32_t n_shelves;
    enum rt_code code; /* of the first error that was told */
};

/* The part that the file gives; NULL: none. */
static inline const struct part *open_own_part(const struct house *h, uint32_t e)
{
    return h->equipment.v[e].part.i == NO_REF ? NULL : &h->parts.list.v[h->equipment.v[e].part.i];
}

/* open_part_fit.c: why a part of the kind will not do there, ports and watts apart ("stands no weather"); NULL: it will. */
const char *open_part_unfit(const struct open_maker *m, uint32_t e, const struct part *part);

#endif

/* cable_floor.h - one floor's sheet of cables as it is drawn: cable_sheet.c has the plan, cable_signs.c its signs and their key,
 * cable_side.c the tables beside it. */
#ifndef RT_DRAW_CABLE_FLOOR_H
#define RT_DRAW_CABLE_FLOOR_H

#include "draw/cable_pages.h"
#include "draw/cable_stretch.h"

/* Width of the tables beside the plan. */
static inline double cable_side_mm(const struct sheet *s) { return sheet_side_mm(s) - 8.0; }

struct cable_floor {
    struct sheet *s;
    struct install *in;
    stretch_list stretches;
    bool *is_here, *is_named;            /* of each of house->cables */
    VEC(const struct stretch *) bundles; /* too many cables for one label: K1, K2 ... */
    uint32_t n_bundles, n_work[2], n_rises;
    bool has_squares;
    struct buf unplaced;  /* names that found no room */
    struct draw_box room; /* where names may stand */
    double right_mm;      /* where the tables begin */
};

/* Does the rise pass, begin or end on this floor? */
bool cable_rise_is_here(const struct house *h, const struct install_rise *r, uint32_t floor);
/* "up to first floor, loft": where it leads beyond the floor of the sheet; empty: it stays. */
struct str cable_rise_leads(struct sheet *s, const struct install_rise *r);
/* The tables right of the plan: what goes up and down, cables, holes, boards. */
void cable_side_write(struct cable_floor *c);

#endif

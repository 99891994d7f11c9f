/* needs_int.h - what is kept of the fields of all places. */
#ifndef RT_DESIGN_NEEDS_INT_H
#define RT_DESIGN_NEEDS_INT_H

#include "design/needs.h"

/* The cells of a room, at a height that is promised there. */
struct need_room {
    uint32_t room, grid;
    uint32_t first, n; /* cells: of the rows of gain_db, and of needs.cells */
};

/* Whoever has radios is a holder: first the offers, as placing.offers, then what stands in the house and is none of them (the
 * gateway), which serves whatever is chosen. */
struct needs {
    const struct design_space *space;
    struct evaluation bare; /* the house without equipment: the country's rules, the scene */
    uint32_t n_offers, n_holders;
    ap_radio_list radios;         /* of all holders, those of one after those of the other */
    uint32_t *first_radio;        /* [n_holders + 1] */
    uint32_t *radios_off;         /* [n_offers]: bits of the part's radios */
    uint32_t n_sorts, *sort;      /* of each radio: alike but for place, pose and antenna */
    const struct ap_radio **like; /* [n_sorts]: one of each */
    struct fields grids;          /* without fields */
    LIST(struct need_room) rooms;
    uint32_t n_cells;
    size_t *cells;   /* [n_cells]: index in the raster of its grid */
    float **gain_db; /* as radios -> [n_cells]; radios of one field share it */
};

/* Is it a promise about rooms: signal, rate, roaming? */
bool needs_is_about_rooms(enum promise_kind kind);

/* The holders and their radios.  Errors: RT_NOMEM; those of ap_radios_resolve() for equipment that stays as it is. */
RT_MUST_CHECK enum rt_code needs_find_radios(const struct run *run, struct needs *n, struct rt_problems *p);

#endif

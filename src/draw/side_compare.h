/* side_compare.h - in what the fields of two houses differ on a floor that both have. */
#ifndef RT_DRAW_SIDE_COMPARE_H
#define RT_DRAW_SIDE_COMPARE_H

#include "draw/draw.h"

#define SIDE_MORE_DB 3.0 /* a lesser difference of levels is none: half or twice the power */

/* Two houses with their fields, which are computed everywhere. */
struct side_pair {
    const struct house *house[2];
    const struct fields *fields[2];
};

/* A floor and height that both have. */
struct side_spot {
    uint32_t floor[2]; /* index in each house */
    uint32_t grid[2];  /* index in its fields */
    enum band band;
};

struct side_difference {
    bool has_area;          /* both have the band, and there is a place where somebody can be in either house */
    double better_share[2]; /* of that area: where this one is better than the other by more than SIDE_MORE_DB */
    uint32_t n_promises;    /* signal promises that both make in some room of the floor */
    str_list only_kept[2];  /* names of the rooms in which one is kept in this house and broken in the other */
};

/* Levels are those of the strongest access point at the options' device and availability, cell by cell of the first house's grid;
 * a cell counts if its middle lies in a room of either house where somebody can be.
 * Promises are those of the same id about rooms of the same id; each is judged as its house makes it, at this band alone if it
 * names it, over all bands if it names none.  Texts and lists live in run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code side_compare(const struct run *run, const struct side_pair *pair,
                                        const struct draw_options *options, const struct side_spot *at,
                                        struct side_difference *out, struct rt_problems *p);

#endif

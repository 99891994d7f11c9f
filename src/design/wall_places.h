/* wall_places.h - where something may hang on the walls of a room: the middle of each stretch that is clear of doors, windows and
 * what stands before it. */
#ifndef RT_DESIGN_WALL_PLACES_H
#define RT_DESIGN_WALL_PLACES_H

#include "house/house.h"

struct wall_place {
    uint32_t wall;
    struct vec2 at_m; /* just before the wall's face */
    double faces_deg; /* into the room */
    double free_m;    /* length of the stretch it is the middle of */
};

typedef LIST(struct wall_place) wall_place_list;

/* At this height above the floor; a stretch is at least 0.6 m long and 0.15 m away from openings and corners.  In the order of the
 * walls, along each.  False: the arena's ceiling. */
RT_MUST_CHECK bool wall_places_of(struct arena *a, const struct house *h, uint32_t room, double z_m,
                                  wall_place_list *out);

/* The same on the outer face of a building's walls, in a room of open air. */
RT_MUST_CHECK bool wall_places_outside(struct arena *a, const struct house *h, uint32_t room, double z_m,
                                       wall_place_list *out);

#endif

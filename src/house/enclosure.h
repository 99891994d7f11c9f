/* enclosure.h - the ground that walls close in: what becomes a room when somebody points into it.
 *
 * The middles of the walls of a floor are lines of a plane graph; the room is the face of it around the spot, without the stumps that
 * end in it.  Walls drawn only to the face of the next one meet it (half its thickness is bridged, and 3 cm besides); doors and gaps do
 * not open a room.  Walls that hang (their foot 0.5 m above the floor or more) close nothing. */
#ifndef RT_HOUSE_ENCLOSURE_H
#define RT_HOUSE_ENCLOSURE_H

#include "house/house.h"

struct enclosure {
    vec2_list
        outline;  /* corners in order, anticlockwise, to the millimetre; none lies on the line between its neighbours */
    bool by_edge; /* where no wall stands, the floor's own outline closes it */
};

/* The ground around at_m (metres, on that floor), from walls alone if they close; else with the floor's outline.  Lives in the arena.
 * Errors: RT_GEOMETRY (nothing closes around it: says where the nearest wall ends in the open), RT_LIMIT (too many walls), RT_NO_MEMORY. */
RT_MUST_CHECK enum rt_code enclosure_find(const struct house *h, uint32_t floor, struct vec2 at_m, struct arena *a,
                                          struct enclosure *out, struct rt_problems *p);

#endif

/* drawing.h - the house as something to draw, resolved: where every floor, wall, cable, device stands, in metres.
 *
 * For a plan or a view in three dimensions.  Points of three numbers are above the datum; heights alone (base_m, sill_m, at the top
 * of a wall ...) are above the floor of the thing, as in the house file.  `path` is the JSON pointer of the thing in the file. */
#ifndef RT_WEB_DRAWING_H
#define RT_WEB_DRAWING_H

#include "base/json.h"
#include "house/house.h"
#include "radio/ap_radio.h"
#include "wire/cables.h"

/* What is drawn from; cables NULL: they are not routed.  Scratch memory comes from the arena. */
struct drawing {
    struct arena *arena;
    const struct house *h;
    const ap_radio_list *radios; /* as resolved; NULL: not */
    const struct cable_plan *cables;
    struct json *j;
};

/* The keys of the answer, in the object that is open. */
void drawing_write_building(struct drawing *d); /* drawing_building.c: floors, walls, rooms ... */
void drawing_write_things(struct drawing *d);   /* drawing_things.c: mounts, equipment, devices, neighbours ... */

/* ---- for the two ---- */
void drawing_path(struct drawing *d, const char *section, struct str id);
void drawing_point2(struct drawing *d, const char *key, struct vec2 at);
void drawing_point3(struct drawing *d, const char *key, struct vec3 at); /* NaN: null */
void drawing_points2(struct drawing *d, const char *key, vec2_list points);
void drawing_floor(struct drawing *d, struct ref floor); /* its id, or null */
void drawing_room(struct drawing *d, struct ref room);

#endif

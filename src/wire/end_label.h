/* end_label.h - what is written where a cable can be unplugged: at its two ends, on the ports, on the outlets.
 *
 * Two short lines.  The first says what it is: the cable's id of the house file, the same at both its ends and on the outlet it
 * comes out of; of a port the equipment's id and the port's number.  The second says where the other end is: the thing, its port
 * if it has several, the room.  Ids of a house are unique, and so is every label; and since they stand in the file, a label stays
 * true when other cables come and go.  docs/cables.md tells people. */
#ifndef RT_WIRE_END_LABEL_H
#define RT_WIRE_END_LABEL_H

#include "wire/power.h"

struct end_label {
    struct str name; /* "c_hub", "switch:4" */
    struct str far;  /* "to hub, airing cupboard"; of a port with its cable before it */
};

/* The label at one end of a cable (at_from: its first).  Ports of the file, else those of `ports`.  Texts live in the arena;
 * empty when its ceiling is reached. */
struct end_label end_label_of_cable(struct arena *a, const struct house *h, uint32_t cable, bool at_from,
                                    struct port_numbers ports);
/* The label of a port; cable NO_REF: "free". */
struct end_label end_label_of_port(struct arena *a, const struct house *h, uint32_t equipment, unsigned number,
                                   uint32_t cable, bool at_from, struct port_numbers ports);
/* Both lines as one: "c_hub to hub, airing cupboard". */
struct str end_label_line(struct arena *a, struct end_label label);

/* "switch:4"; a thing with one port (0) has none to name. */
struct str end_label_port(struct arena *a, struct str thing, unsigned port);
/* Port of a cable's end: the file's, else the one picked. */
unsigned end_label_number(const struct cable_end *end, unsigned picked);
/* What people call the room a cable's end is in; else the floor; empty: neither is said. */
struct str end_label_room(const struct house *h, const struct cable_end *end);

/* Does the cable come out of the wall in a socket here?  Where a fixed cable ends for one thing that a cord then reaches: a
 * device, or what hangs on a mount by itself.  *outdoors: it must stand the weather. */
bool cable_has_outlet(const struct house *h, const struct cable *cable, bool at_from, bool *outdoors);

#endif

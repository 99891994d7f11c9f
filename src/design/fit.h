/* fit.h - from a choice of places to a whole house: gateway, switches, cables, ports, battery, disks. */
#ifndef RT_DESIGN_FIT_H
#define RT_DESIGN_FIT_H

#include "design/space.h"

/* Why a thing of the result is there. */
struct fit_reason {
    struct str id; /* of equipment, cable, battery, recording */
    struct str says;
};

struct fitted {
    struct house *house; /* equipment, cables, batteries, recordings, mounts that are used; channels still open */
    LIST(struct fit_reason) reasons;
    str_list added, moved; /* ids of equipment; then of new batteries */
};

/* The answer as a house.
 *
 * Access points are named after their rooms (ap_landing), switches and cabinets after theirs, cables after what they lead to; of a
 * house designed anew, what is of the same kind and hangs or stands in the same place, or is spoken of by promises, takes on its old
 * id, so that names in promises, SSIDs and recordings hold.  Parts of switches and of the gateway are the answer's; where ports and
 * watts do not fit switch by switch, those of open_parts_choose().  Ports are left open (wire/ports.h chooses them).
 *
 * Then: disks, the least costly that keep each `recording` promise and bear the writing; batteries, the least costly one or two in a
 * room that keep each `outage` promise, what is there used first; slots or a fan for a new cabinet that would be too warm; segments by
 * house_segment() if the file has none; radios off for which the country has no channel where they hang.  What no part in hand keeps
 * is left, and told among the reasons.
 *
 * What is there stays as it is; a piece that the answer hangs elsewhere takes its cable along, one that it does not use stays unless
 * its place or port is wanted; a cable is plugged into another switch only where no port is left for the way up of a new one.
 * What is new has no phase (stages.h gives it one), and is reached in the segment the file's other equipment is, else in the first.
 * Errors: RT_NOMEM, RT_CANCELLED, those of the evaluation and of addresses_plan(). */
RT_MUST_CHECK enum rt_code fit_house(const struct run *run, const struct design_space *space,
                                     const struct placing_answer *answer, struct fitted *out, struct rt_problems *p);

/* The house with segments, SSIDs and statements if its file has none of them, by who lives there and what is in it: family, work,
 * lodger, things, cameras, guests; a VLAN and a subnet clear of foreign ranges each; its devices; a statement for each that needs the
 * internet, and those that were promised (reach, hours).  Else a copy as it is.  To be done before space_make(): where there are
 * several segments, switches must keep them apart.  Lives in run->arena.  Errors: RT_NOMEM, those of addresses_plan(). */
RT_MUST_CHECK enum rt_code house_segment(const struct run *run, const struct house *h, struct house **out,
                                         struct rt_problems *p);

/* The user's file with the design in it, byte for byte the same elsewhere (house/edit.h): `before` is as read from the file,
 * `after` as fitted and tuned.  The result reads back as `after`.  Lives in run->arena.  Errors: those of edit_apply(); RT_CONFLICT
 * if it would not read back. */
RT_MUST_CHECK enum rt_code fit_write(const struct run *run, const struct house *before, const struct house *after,
                                     struct str *bytes, struct rt_problems *p);

#endif

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
    str_list added, moved; /* ids of equipment */
};

/* The answer as a house: access points named after their rooms ("ap_landing"), switches and gateway after theirs; parts of switches
 * and of the gateway by open_parts_choose(), so that ports, watts, VLANs and rack units fit; cables by the answer's links, with the
 * parts chosen; a battery, the least costly that keeps every `outage` promise, if one is promised and what is there does not; disks
 * likewise for `recording`; segments and SSIDs if the file has none.  What is new has no phase (stages.h
 * gives it one), and is reached in the segment the file's other equipment is.
 * Errors: RT_NOMEM, RT_CANCELLED; RT_MISSING where no part in hand will do, with what it lacks. */
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

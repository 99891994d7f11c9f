/* preview.h - the level in a floor while an access point is dragged about: coarse and quick.
 *
 * What walls and edges do, and what the other access points give, does not change while one is moved: both are made at the first
 * picture of a band, the former when something is moved first, and kept until the house changes. */
#ifndef RT_WEB_PREVIEW_H
#define RT_WEB_PREVIEW_H

#include "web/api_field.h"
#include "web/study.h"

#define PREVIEW_CELL_M 0.5
#define PREVIEW_ORDER 1

/* An access point where it is held now. */
struct held {
    struct str equipment;       /* of the house; empty: a new one */
    struct str part;            /* another part than it has; a must for a new one */
    uint32_t floor;             /* on which it is held */
    struct vec3 at_m;           /* z above that floor */
    double faces_deg, tilt_deg; /* NaN: as it hangs now */
};

/* The field of `asked` with the access point there, at the centres of cells; values in the run's arena.  What is made for the next
 * picture is kept in the lane.  Errors: RT_UNKNOWN_REF, RT_SHAPE (it is no access point), those of ap_radios_resolve() (a channel
 * that may not be used there) and of the field. */
RT_MUST_CHECK enum rt_code preview_make(struct lane *lane, const struct run *run, const struct held *held,
                                        const struct field_asked *asked, struct field_nodes *out,
                                        struct rt_problems *p);
/* The same with nothing moved: a field that is soon there, until the whole one is.  Errors: RT_UNKNOWN_REF, those of the field. */
RT_MUST_CHECK enum rt_code preview_still(struct lane *lane, const struct run *run, const struct field_asked *asked,
                                         struct field_nodes *out, struct rt_problems *p);

#endif

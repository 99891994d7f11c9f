/* stations.h - which device on Wi-Fi sits on which radio, and how fast its frames go there. */
#ifndef RT_LOAD_STATIONS_H
#define RT_LOAD_STATIONS_H

#include "radio/field.h"
#include "radio/link.h"

/* Where what is carried is held above the floor (common practice, no source). */
#define STATION_HEIGHT_M 1.2

/* A device of the house on Wi-Fi. */
struct station {
    uint32_t device;
    uint32_t radio;   /* of fields->radios; NO_REF: none that it may and can use */
    double gain_db;   /* of the way to its cell; of one without a place the middle one of its room's cells */
    struct link link; /* at middle conditions (availability 0.5), neighbours as noise */
    uint32_t floor;
    struct str why_not; /* radio NO_REF: what is missing */
};

struct stations {
    const struct house *h;
    const struct fields *fields;
    LIST(struct station) list; /* in the order of devices */
    uint32_t *of_device;       /* index into list; NO_REF: not on Wi-Fi */
};

/* Asks in a field for the cells that stations_choose() reads. */
void stations_want(const struct house *h, struct fields *fields);

/* A device joins, among the radios that carry an SSID of its segment on a band it has, the one it gets the highest payload rate
 * from (as devices of today choose: common practice, no source; ties to the lower index).  `alive`: one for each radio; NULL: all.
 * Lives in run->arena.  Errors: RT_NOMEM; RT_MISSING:
 * the field was not asked for where a device is. */
RT_MUST_CHECK enum rt_code stations_choose(const struct run *run, const struct house *h, const struct fields *fields,
                                           const bool *alive, struct stations **out, struct rt_problems *p);

#endif

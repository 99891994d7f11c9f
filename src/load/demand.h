/* demand.h - who makes traffic, how much, when, and along which way.
 *
 * Each device, or a person who uses one of theirs at a time, is a source by itself.  In every hour of the week it is in one of its
 * states with the chance that its profile says, else silent.  Profiles of the house file, else the named ones of
 * data/profiles.h by kind of device; which one was taken is told. */
#ifndef RT_LOAD_DEMAND_H
#define RT_LOAD_DEMAND_H

#include "load/rate_sum.h"
#include "load/stations.h"
#include "wire/cable_tree.h"

enum { HOURS_OF_WEEK = 168 }; /* by the house's clock, Monday 0 h first */

/* How long a state bears to wait for its rate. */
enum patience {
    WAITS_NEVER,     /* a call, a game: each packet at once (ITU-T G.114) */
    WAITS_BRIEFLY,   /* a film, a page: on average within seconds */
    WAITS_TILL_NIGHT /* a backup, an update: any hour of the day will do */
};

struct demand_state {
    struct str says;
    double down_mbps, up_mbps; /* towards the source, and from it */
    uint32_t with;             /* the other end, a device of the house; NO_REF: the internet */
    enum patience patience;
    double chance[HOURS_OF_WEEK];
};

struct demand_source {
    uint32_t device; /* where the traffic arrives */
    uint32_t person; /* whose use it is, of all their devices; NO_REF: the device's own */
    struct str profile;
    bool is_default; /* profile of data/profiles.h, not of the house file */
    LIST(struct demand_state) states;
};

/* A place that all traffic on a way passes. */
enum load_point_kind { POINT_LINE, POINT_CABLE, POINT_RADIO };
struct load_point {
    enum load_point_kind kind;
    uint32_t i;                /* house->cables, or radios; 0 for the line */
    double down_mbps, up_mbps; /* that it carries; down: away from the gateway.  Radio: NaN (airtime.h) */
};

/* One state of one source through one point. */
struct load_use {
    uint32_t source, state;
    double down_mbps, up_mbps; /* along the point's own down and up */
};

struct demand {
    const struct house *h;
    LIST(struct demand_source) sources; /* by device, then those of persons */
    LIST(struct load_point) points;     /* the line, cables in the file's order, radios in theirs */
    LIST(struct load_use) * uses;       /* of each point, by source and state */
    str_list unknown;                   /* facts that are missing: "television `den`: on which access point" */
};

/* `stations` may be NULL: without radios.  Lives in run->arena.  Errors: RT_NOMEM, RT_CANCELLED. */
RT_MUST_CHECK enum rt_code demand_make(const struct run *run, const struct house *h, const struct cable_tree *tree,
                                       const struct stations *stations, struct demand **out, struct rt_problems *p);

/* The sum at a point in one hour of the week, one way; top and step by the point's capacity (step: a 4096th of it, stated in
 * the sum).  scale: all rates so many times (growth).  Errors: those of rate_sum_make(). */
enum load_way { LOAD_DOWN, LOAD_UP };
RT_MUST_CHECK enum rt_code demand_sum(const struct run *run, const struct demand *d, uint32_t point, unsigned hour,
                                      enum load_way way, double scale, struct rate_sum *out, struct rt_problems *p);
/* Means of a point over the week: 168 values. */
void demand_means(const struct demand *d, uint32_t point, enum load_way way, double *mbps);
/* The hour of the week in which the mean at the point is largest (the first of equals). */
unsigned demand_busy_hour(const struct demand *d, uint32_t point, enum load_way way);

#endif

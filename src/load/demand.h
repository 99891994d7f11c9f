/* demand.h - who makes traffic, how much, when, and along which way.
 *
 * Each device, or a person who uses one of theirs at a time, is a source by itself.  In every hour of the week it is in one of its
 * states with the chance that its profile says, else silent.  Profiles of the house file, else the named ones of
 * data/profiles.h by kind of device; which one was taken is told.
 *
 * A way leads from the source through the cable tree: to the internet, past the gateway and through the line; to another device, to
 * the equipment that both hang on if they share a segment, else to the gateway, and down again.  What is on Wi-Fi begins it at its
 * radio and goes on with the access point's cables. */
#ifndef RT_LOAD_DEMAND_H
#define RT_LOAD_DEMAND_H

#include "load/rate_sum.h"
#include "load/stations.h"
#include "wire/cable_tree.h"
#include "wire/links.h"

enum { HOURS_OF_WEEK = 168 }; /* by the house's clock, Monday 0 h first */

struct demand_state {
    struct str says;
    double down_mbps, up_mbps; /* towards the source, and from it; payload */
    uint32_t with;             /* the other end, as the cable tree numbers things; NO_REF: the internet */
    enum patience patience;
    double chance[HOURS_OF_WEEK];
};

struct demand_source {
    uint32_t
        device; /* where the traffic arrives; of a person the first of their devices that are carried, else of all theirs */
    uint32_t person; /* whose use it is, of all their devices; NO_REF: the device's own */
    struct str profile;
    bool is_default; /* profile of data/profiles.h, not of the house file */
    LIST(struct demand_state) states;
};

/* A place that all traffic on a way passes. */
enum load_point_kind { POINT_LINE, POINT_CABLE, POINT_RADIO };
struct load_point {
    enum load_point_kind kind;
    uint32_t i; /* house->cables, or radios; 0 for the line */
    double down_mbps,
        up_mbps; /* payload that it carries; down: away from the gateway.  NaN: not known; radios: always (airtime.h) */
};

/* One state of one source through one point. */
struct load_use {
    uint32_t source, state;
    double down_mbps, up_mbps; /* along the point's own down and up */
};
typedef LIST(struct load_use) load_use_list;

struct demand {
    const struct house *h;
    LIST(struct demand_source) sources; /* by device, then those of persons */
    LIST(struct load_point) points;     /* the line, cables in the file's order, radios in theirs */
    load_use_list *uses;                /* of each point, by source and state */
    str_list unknown;                   /* facts that are missing: "how television `den` gets to the gateway" */
};

static inline uint32_t demand_cable_point(uint32_t cable) { return 1 + cable; }
static inline uint32_t demand_radio_point(const struct house *h, uint32_t radio) { return 1 + h->cables.n + radio; }

/* `links`: what the cables carry; NULL: not known.  `stations` may be NULL: without radios.  Lives in run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code demand_make(const struct run *run, const struct house *h, const struct cable_tree *tree,
                                       const struct wire_links *links, const struct stations *stations,
                                       struct demand **out, struct rt_problems *p);
/* The same demand with all that bears to wait till night done in the hours from NIGHT_FROM to NIGHT_TO, evenly, as far as they have
 * room.  Shares all but its sources with the other.  NULL: the arena's ceiling. */
enum { NIGHT_FROM = 1, NIGHT_TO = 6 };
struct demand *demand_by_night(struct arena *a, const struct demand *d);

/* The same with so many times each source (growth): whole copies, each by itself, and for what is left of one a copy that is there for
 * that share of its chances.  times[sources.n], each 0 or more.  NULL: the arena's ceiling. */
struct demand *demand_multiplied(struct arena *a, const struct demand *d, const double *times);

enum load_way { LOAD_DOWN, LOAD_UP };
/* The sum at a point whose capacity is known, in one hour of the week, one way.  Step: a 4096th of the capacity; top: all that can
 * be asked for at once, up to 16 times the capacity.  scale: all rates so many times (growth).  Errors: those of rate_sum_make(). */
enum { DEMAND_STEPS = 4096, DEMAND_TIMES_MAX = 16 };
RT_MUST_CHECK enum rt_code demand_sum(const struct run *run, const struct demand *d, uint32_t point, unsigned hour,
                                      enum load_way way, double scale, struct rate_sum *out, struct rt_problems *p);
/* Is no more than this needed there with this chance, by the upper side of the sum?  mbps: at most 16 times the capacity. */
RT_MUST_CHECK enum rt_code demand_fits(const struct run *run, const struct demand *d, uint32_t point, unsigned hour,
                                       enum load_way way, double mbps, double chance, bool *out, struct rt_problems *p);
/* Only of states that never wait. */
RT_MUST_CHECK enum rt_code demand_sum_urgent(const struct run *run, const struct demand *d, uint32_t point,
                                             unsigned hour, enum load_way way, double scale, struct rate_sum *out,
                                             struct rt_problems *p);
/* Means of a point over the week: 168 values. */
void demand_means(const struct demand *d, uint32_t point, enum load_way way, double *mbps);
/* The hour of the week in which the mean at the point is largest (the first of equals). */
unsigned demand_busy_hour(const struct demand *d, uint32_t point, enum load_way way);
/* Does a point see the same in both hours, as on two weekdays? */
bool demand_hours_equal(const struct demand *d, uint32_t point, unsigned hour, unsigned other);
/* Is no state likelier in the hour than in the other?  Then never is more asked for there, whatever the rates. */
bool demand_hour_within(const struct demand *d, uint32_t point, unsigned hour, unsigned other);

/* "Mia" or "the television `den`". */
struct str demand_source_words(struct arena *a, const struct demand *d, uint32_t source);

#endif

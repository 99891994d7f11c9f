/* load_view.h - what the sheets of the week, the load and the spectrum show of a house, computed once. */
#ifndef RT_DRAW_LOAD_VIEW_H
#define RT_DRAW_LOAD_VIEW_H

#include "promise/line_facts.h"

/* Without a promise about the line its sheets show what serves so much of the time. */
#define LOAD_VIEW_USUAL_PROBABILITY 0.99

/* A source's mean at the line in one hour. */
struct load_asker {
    uint32_t source;
    double mbps;
};
typedef LIST(struct load_asker) load_asker_list;

/* One way through a cable, in the hour in which its mean is largest. */
struct cable_load {
    unsigned hour;
    bool is_flat;         /* its mean is the same in every hour */
    double capacity_mbps; /* payload; NaN: not known */
    double mean_mbps;     /* NaN with it */
    struct bracket
        needed_mbps; /* not passed with the probability of the view; infinite: more than 16 times the cable */
};

/* What a radio's channel is busy with in an hour, as shares of the time; they add up to the whole, airtime_busy(). */
enum air_part { AIR_OWN, AIR_BEACONS, AIR_OWN_RADIOS, AIR_NEIGHBOURS, AIR_MESH, AIR_PART_COUNT };
struct air_parts {
    double share[AIR_PART_COUNT];
};

struct load_view {
    const struct house *h;
    const struct regdb_country *rules; /* NULL: not known */
    bool has_line;                     /* and somebody who asks; else nothing of the line is set */
    double probability;
    bool is_promised;
    const struct demand *demand;
    struct line_week now[2], night[2]; /* by enum load_way; by night: with what bears to wait done then */
    struct cable_load (*cables)[2];    /* as house->cables */
    const struct airtime *airtime;     /* NULL: the house has no radios */
};

/* Lives in the run's arena.  Errors: those of evaluation_demand(), evaluation_airtime(), line_week_make(), demand_sum(). */
RT_MUST_CHECK enum rt_code load_view_make(struct evaluation *ev, struct load_view **out, struct rt_problems *p);

/* Who asks at the line in an hour, most first; ties in the order of sources.  v is NULL at the arena's ceiling. */
load_asker_list load_view_askers(struct arena *a, const struct demand *d, enum load_way way, unsigned hour);
struct air_parts load_view_air(const struct airtime *a, uint32_t radio, unsigned hour);

#endif

/* growth.h - what runs out when the devices of a house multiply.
 *
 * Devices grow from one time to `times` in geometric steps over `years`: after t years there are times^(t / years).  Of each kind of
 * device the house file says (`growth`) which share of that growth it takes: at f times the devices there are 1 + share (f - 1)
 * times as many of it.  So what most resources are used for is a straight line over f: a fixed part, and one that grows.
 *
 * A new resource: a function that adds its uses, and one row of the table in promise_growth.c. */
#ifndef RT_PROMISE_GROWTH_H
#define RT_PROMISE_GROWTH_H

#include "promise/evaluation.h"

/* Figures of what does not go up in a straight line. */
struct growth_curve {
    double now, then;   /* in use now, and at `times` the devices */
    double lasts_times; /* as growth_lasts_times() */
};

/* One thing that there is so much of. */
struct growth_use {
    struct str what;  /* "sockets for cables in the cupboard under the stairs" */
    struct str where; /* id of the bottleneck: equipment, battery, segment */
    const char *unit; /* "", "W", "K" ... */
    double limit;     /* all there is at the end of the years; of it the promise keeps kept_free */
    double kept_free;
    double limit_now;      /* where it ages: today's, from which it falls evenly; 0: as limit */
    double fixed, growing; /* in use now are both together; at f times the devices fixed + growing f */
    bool is_curve; /* then `curve` stands for fixed, growing and limit_now (of which the words alone are taken) */
    struct growth_curve curve;
    bool is_whole;      /* sockets, addresses: a begun one is one */
    struct str mend;    /* what would keep it: "a larger battery"; empty: nothing comes to mind */
    struct str missing; /* what to say in the house file; then only what and where are set besides */
};

struct growth {
    struct evaluation *ev;
    const struct house *h;
    struct arena *a;
    double times, years; /* years NaN: not said over how many */
    double headroom;     /* share of each limit that is kept free */
    double *share;       /* of each device, of the growth */
    VEC(struct growth_use) uses;
    bool failed;
};

typedef enum rt_code growth_resource(struct growth *g, struct rt_problems *p);

/* The share of the growth that a kind takes: the house file's, else 1, and 0 for what a house has one of (growth_is_one_of_a_house). */
double growth_share(const struct house *h, struct str kind);
/* Recorders, servers, hubs, meters, weather stations, heat pumps, inverters (common practice, no source). */
bool growth_is_one_of_a_house(struct str kind);

void growth_add(struct growth *g, struct growth_use use);
/* Adds what one device uses to the two parts. */
static inline void growth_of_device(const struct growth *g, uint32_t device, double amount, struct growth_use *use)
{
    use->growing += amount * g->share[device];
    use->fixed += amount * (1.0 - g->share[device]);
}

/* What is in use at so many times the devices; of a curve either now (1) or at `times`. */
double growth_used(const struct growth_use *use, double times);
/* What may be used of the limit at the end of the years. */
double growth_usable(const struct growth_use *use);
/* At most so many times the devices; 0: too little even now; INFINITY: it does not grow, or hardly. */
double growth_lasts_times(const struct growth *g, const struct growth_use *use);
/* Years until there are so many times the devices; NaN where the promise names no years or no growth. */
double growth_years(const struct growth *g, double times);

/* What grows of the watts that a source gives at its ports, its feeds at full or as used; what it feeds may feed others in turn. */
double growth_of_feeds_w(const struct growth *g, const struct power_plan *power, uint32_t source, bool at_full);

/* ---- resources, for the table ---- */
growth_resource growth_sockets, growth_watts, growth_cabinets, growth_batteries, growth_addresses, growth_line,
    growth_cables, growth_airtime, growth_disks, growth_runs;

#endif

/* power.h - watts over the data cable (IEEE 802.3 clauses 33 and 145): classes, losses solved exactly, budgets. */
#ifndef RT_WIRE_POWER_H
#define RT_WIRE_POWER_H

#include "wire/cables.h"

/* Ports at both ends of a cable, by number from 1; 0: not known, or a device's only one. */
struct port_numbers {
    unsigned from, to;
};

/* One powered device on one cable. */
struct power_feed {
    uint32_t cable;
    uint32_t source; /* equipment that feeds; NO_REF: none does */
    unsigned port;
    uint32_t device, equipment;     /* what is fed, one of them */
    int class_asked, class_granted; /* 0 to 8; granted -1: none */
    double wanted_w;                /* at the device, most it draws */
    double delivered_w;             /* that its class and this cable can deliver at its socket */
    double drawn_w;                 /* at the source, while the device draws wanted_w */
    double loss_w, device_v, current_a;
    double loop_ohm;  /* per pair set, at its temperature, cords included */
    bool is_known;    /* false: the cable's length is not */
    struct str limit; /* what decides */
};

/* One thing that feeds others. */
struct power_source {
    uint32_t equipment;
    double budget_w; /* NaN: not given */
    double typical_w, worst_w,
        start_w; /* of its feeds, at its ports: as used, all at full, all starting as their class */
    uint32_t n_feeds;
};

struct power_plan {
    const struct house *h;
    LIST(struct power_feed) feeds;     /* by cable; and devices that no cable feeds, cable NO_REF */
    LIST(struct power_source) sources; /* by equipment */
    double bundle_rise_k;              /* warming of the fullest bundle; NaN: not known */
};

/* `ports`: one for each of house->cables; NULL: ports of the house file alone.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code power_plan_make(const struct run *run, const struct cable_plan *cables,
                                           const struct port_numbers *ports, struct power_plan **out,
                                           struct rt_problems *p);

#endif

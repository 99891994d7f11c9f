/* power.h - watts over the data cable (IEEE 802.3 clauses 33 and 145): classes, losses solved exactly, budgets.
 *
 * The careful reading throughout: a source holds the least voltage that its port's type allows, gives each class its watts in
 * the order of the ports until its budget is spent, and the copper is as warm as a home gets. */
#ifndef RT_WIRE_POWER_H
#define RT_WIRE_POWER_H

#include "wire/cables.h"

/* Ports at both ends of a cable, by number from 1; 0: not known, or a device's only one. */
struct port_numbers {
    unsigned from, to;
};

/* What decides how much a device can have.  kind, words */
#define POWER_LIMITS(X)                                                      \
    X(CLASS, "its own class") /* it has all that it may ask for */           \
    X(PORT, "the class of the port")                                         \
    X(BUDGET, "the budget of what feeds it")                                 \
    X(LOSS, "the loss in the cable")                                         \
    X(VOLTAGE, "the voltage behind the cable")                               \
    X(WIRES, "the current in a bundle of such wires")                        \
    X(WARMTH, "the warmth of the bundle") /* more than its cable may have */ \
    X(LENGTH, "the length of the cable")  /* which is not known */           \
    X(FIBRE, "fibre, which carries no power")                                \
    X(SOURCE, "nothing that feeds it") /* at the other end */                \
    X(CABLE, "no cable")                                                     \
    X(RING, "a ring of things that feed one another")

enum power_limit {
#define X(upper, words) POWER_BY_##upper,
    POWER_LIMITS(X)
#undef X
};

/* One powered device on one cable. */
struct power_feed {
    uint32_t cable;             /* the one at the device; NO_REF: none */
    ref_list way;               /* all cables from the device to the source, sockets in between passed */
    uint32_t source;            /* equipment that feeds; NO_REF: none does */
    unsigned port;              /* of the source; 0: not known */
    uint32_t device, equipment; /* what is fed, one of them */
    int class_asked, port_class;
    int class_granted;  /* 0 to 8; -1: none, it stays dark */
    double typical_w;   /* at the device, in use, with what it passes on */
    double wanted_w;    /* at the device, most it draws, with what it passes on */
    bool most_is_class; /* nothing is said of its most: wanted_w is what its class may draw */
    double delivered_w; /* that its class and this cable can deliver at its socket; NaN: not known */
    double
        drawn_w; /* at the source, while the device draws wanted_w; of a cable of unknown length as if it were the longest legal one */
    double drawn_typical_w;
    double loss_w, device_v,
        current_a;      /* while the device draws wanted_w, or what is delivered if that is less; NaN: not known */
    double loop_ohm;    /* per pair set, at its temperature, cords included; NaN: not known */
    double copper_degc; /* assumed of its fixed cable */
    double wire_a, wire_max_a; /* in each wire, and what a bundle such as this bears; NaN: not known */
    bool is_known;             /* false: the length of a cable on the way is not */
    uint32_t unknown_cable;    /* which; NO_REF: none */
    enum power_limit limit;
};

/* One thing that feeds others. */
struct power_source {
    uint32_t equipment;
    double budget_w; /* over all its ports; of one that is fed itself at most what is left of that; NaN: not given */
    double typical_w, worst_w,
        start_w; /* of its feeds, at its ports: as used, all at full, all starting as their class */
    uint32_t n_feeds;
};

/* The bundle that warms most. */
struct power_bundle {
    uint32_t run; /* of house->runs; NO_REF: it is not known which cables lie together */
    uint32_t n_powered;
    double rise_k; /* NaN: not known */
};

struct power_plan {
    const struct house *h;
    LIST(struct power_feed) feeds;     /* by cable; and devices that no cable feeds, cable NO_REF */
    LIST(struct power_source) sources; /* by equipment */
    struct power_bundle bundle;
    uint32_t *feed_of_equipment, *feed_of_device; /* index into feeds; NO_REF: it is not powered over a cable */
};

/* `ports`: one for each of house->cables; NULL: ports of the house file alone.  Lives in run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code power_plan_make(const struct run *run, const struct cable_plan *cables,
                                           const struct port_numbers *ports, struct power_plan **out,
                                           struct rt_problems *p);

/* In words, as in the list. */
const char *power_limit_words(enum power_limit limit);
/* What feeds at this equipment's ports; NULL: nothing hangs there. */
const struct power_source *power_source_of(const struct power_plan *plan, uint32_t equipment);

#endif

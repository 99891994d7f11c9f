/* ports.h - which cable is in which port of a house, what is left free, and where another device is best joined.
 *
 * Ports that the file gives are kept; the others are chosen by port_choice.h: the ports, watts and speeds that are needed first, then
 * ports meant for the way to the gateway for that, the least power over Ethernet and speed laid open, the lowest numbers. */
#ifndef RT_WIRE_PORTS_H
#define RT_WIRE_PORTS_H

#include "wire/links.h"
#include "wire/power.h"

/* One end of a cable at equipment. */
struct planned_end {
    unsigned port;  /* from 1; 0: a device's only one, or none fits */
    bool is_chosen; /* by us, not by the file */
    unsigned lacks; /* bits of enum choice_lack (port_choice.h): what it does not get there */
};

struct planned_cable {
    struct planned_end from, to;
};

/* The ports of one switch, gateway, access point or injector.  Ports of the gateway for the internet line are not counted. */
struct equipment_ports {
    uint32_t equipment;
    uint32_t n, n_used, n_free;
    uint32_t
        n_spare; /* free copper ports that are not meant for the way to the gateway: what a household can plug into */
    uint32_t n_poe, n_poe_free;
    double poe_asked_w,
        poe_budget_w; /* by the classes of what hangs there; NaN: no power over Ethernet, or not given */
};

/* A cable towards the gateway with more than one thing behind it. */
struct planned_uplink {
    uint32_t cable;
    uint32_t lower, upper; /* equipment at its two ends, the lower one further from the gateway */
    double speed_mbps;     /* what the cable and its two ports carry; NaN: the length is not known */
    double needed_mbps;    /* sum of the needs behind it */
    double ports_mbps;     /* sum of the speeds of the used ports behind it: all at full at once */
    double needed_share;   /* needed_mbps / speed_mbps: above 1 it is overrun; NaN as speed_mbps */
    double ports_share;    /* ports_mbps / speed_mbps */
    uint32_t second_cable; /* that rests until this one fails; NO_REF: none */
};

/* Where a wired device or an access point without a cable is joined for the least money. */
struct port_proposal {
    uint32_t device, equipment; /* what is to be joined, one of them */
    uint32_t at;                /* equipment; NO_REF: nowhere, says tells why */
    unsigned port;
    double length_m; /* cords included */
    double price;    /* of laying this one cable alone, and its metres */
    struct str says; /* "to switch, port 5: 14.2 m by the riser, about 31.00" */
};

/* Cables that cannot all have what they need. */
struct port_conflict {
    ref_list cables; /* ascending */
    struct str says;
};

struct port_plan {
    const struct house *h;
    struct planned_cable *cables;           /* as house->cables */
    struct port_numbers *numbers;           /* the same, for power_plan_make() */
    LIST(struct equipment_ports) equipment; /* of what has ports, by equipment */
    LIST(struct planned_uplink) uplinks;    /* by cable */
    LIST(struct port_proposal) proposals;   /* equipment first, then devices */
    LIST(struct port_conflict) conflicts;   /* one at most */
    uint32_t n_free, n_spare;               /* over all switches and gateways */
    double price, bound;                    /* of the proposals: no choice of places is cheaper than the bound */
    bool is_best;                           /* false: the search was cut short; price - bound is the gap */
};

/* Lives in run->arena; `links` is that of the same plan.  Errors: RT_NOMEM, RT_CANCELLED, those of cables_plan(). */
RT_MUST_CHECK enum rt_code port_plan_make(const struct run *run, const struct cable_plan *cables,
                                          const struct wire_links *links, struct port_plan **out,
                                          struct rt_problems *p);

/* Ports of an equipment; NULL: it has none, or its part is not known. */
const struct equipment_ports *port_plan_of(const struct port_plan *plan, uint32_t equipment);

#endif

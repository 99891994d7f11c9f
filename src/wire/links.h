/* links.h - is each cable legal in length and fast enough for what hangs on it? */
#ifndef RT_WIRE_LINKS_H
#define RT_WIRE_LINKS_H

#include "wire/cables.h"

struct wire_link {
    uint32_t cable;      /* of house->cables */
    struct str category; /* of the part: 5e, 6, 6a, om3 ...; of the least one that serves where none is chosen */
    bool category_chosen, is_fibre;
    double fixed_m, cords_m;
    double warm_m;       /* so much longer it counts for being warm on its way (copper) */
    double length_m;     /* cords included; NaN: not known */
    double length_max_m; /* that carries needed_mbps with these cords (data/cabling.h) */
    double port_mbps;    /* the slower of the two ports; infinite: only devices, whose ports nobody gave */
    double speed_mbps;   /* fastest that category, length and both ports carry; 0: none */
    double needed_mbps;  /* by what hangs on it, at most port_mbps; an uplink: by all behind it */
    double wanted_mbps;  /* the same without its own ports' limit */
    bool is_uplink;      /* more than one thing lies behind it */
    bool is_known;       /* false: its length is not */
    bool fits;           /* its plug fits the ports at both ends */
    struct str limit;    /* what decides the speed: "length", "category 6", "port of switch" */
};

struct wire_links {
    struct wire_link *v; /* as house->cables */
    uint32_t n;
};

/* What a thing (equipment, then devices) needs for itself; 0: nothing that is known. */
double wire_own_need_mbps(const struct house *h, uint32_t thing);

/* A port that a cable's end does not name is the fastest of the part that takes its plug.  An access point needs what its radios
 * carry as they are set, taken as 0.8 of their fastest rate (common practice, no source); a device what the house file or its kind says.
 * Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code wire_links_judge(const struct run *run, const struct cable_plan *plan,
                                            struct wire_links *out, struct rt_problems *p);

/* What the radios of a part would need, set as this equipment's are. */
double wire_radios_mbps(const struct equipment *e, const struct part *part);

#endif

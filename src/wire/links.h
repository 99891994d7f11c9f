/* links.h - is each cable legal in length and fast enough for what hangs on it? */
#ifndef RT_WIRE_LINKS_H
#define RT_WIRE_LINKS_H

#include "wire/cables.h"

struct wire_link {
    uint32_t cable;      /* of house->cables */
    struct str category; /* of the part: 5e, 6, 6a, om3 ...; of the least one that serves where none is chosen */
    bool is_fibre;
    double length_m;     /* cords included */
    double length_max_m; /* that carries needed_mbps (links.csv, TIA-568 channel) */
    double speed_mbps;   /* fastest that category, length and both ports carry */
    double needed_mbps;  /* by what hangs on it; an uplink: by all behind it, at most its fastest port */
    bool is_uplink;
    bool is_known;    /* false: its length is not */
    struct str limit; /* what decides: "length", "category", "port of switch" ... */
};

struct wire_links {
    struct wire_link *v; /* as house->cables */
    uint32_t n;
};

/* Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code wire_links_judge(const struct run *run, const struct cable_plan *plan,
                                            struct wire_links *out, struct rt_problems *p);

#endif

/* ports_int.h - a house as a problem of port_choice.h, shared by the sources of ports.h and by the choice of open parts. */
#ifndef RT_WIRE_PORTS_INT_H
#define RT_WIRE_PORTS_INT_H

#include "wire/cable_tree.h"
#include "wire/port_choice.h"
#include "wire/ports.h"

/* A part as port_choice.h sees it; price 0.  Groups live in the arena.  False: its ceiling. */
bool ports_part(struct arena *a, const struct part *part, struct choice_part *out);
/* Does anything at all plug into it? */
static inline bool ports_has_any(const struct part *part) { return part && part->ports.n > 0; }
/* What a part asks of the port that feeds it, if it takes its power over the cable. */
struct choice_want ports_want_of_part(const struct part *part);
struct choice_want ports_want_of_device(const struct house *h, const struct device *d);
/* The thing at the other end of a cable, sockets in between passed; NO_REF: none.  Things are numbered as in cable_tree.h. */
uint32_t ports_far_thing(const struct house *h, uint32_t cable, uint32_t thing);
/* What plugs in at the ends of a cable: that of its part, else copper. */
uint32_t ports_medium(const struct house *h, const struct cable *c);
/* Fastest port that takes the medium; infinite: no ports are listed. */
double ports_fastest_mbps(const struct part *part, uint32_t medium);

/* Parts that an open equipment may become; n 0: its part is given. */
typedef LIST(uint32_t) ports_candidates;

/* One plug of the problem and the cable's end that it is. */
struct ports_end {
    uint32_t cable;
    bool is_from;
};

struct ports_problem {
    const struct house *h;
    struct arena *a;
    struct cable_tree tree;
    const struct wire_links *links;     /* NULL: needs are summed up here */
    const ports_candidates *candidates; /* of each equipment; NULL: all parts are given */
    double *behind_mbps;                /* without links: of each thing, what it and all behind it need */
    uint32_t *site_of;                  /* of each equipment; CHOICE_NONE */
    uint32_t *equipment_of;             /* of each site */
    VEC(struct choice_site) sites;
    VEC(struct choice_plug) plugs;
    VEC(struct ports_end) ends; /* as plugs */
    bool failed;
};

/* Sites for all equipment whose part has ports (or one of whose candidates has), plugs for the ends of all cables there.  Parts that
 * are given have no price.  False: the arena's ceiling. */
bool ports_problem_make(struct arena *a, const struct house *h, const struct wire_links *links,
                        const ports_candidates *candidates, struct ports_problem *out);

/* ports_propose.c: places for what has no cable yet. */
enum rt_code ports_propose(const struct run *run, struct ports_problem *problem, const struct choice_answer *answer,
                           struct port_plan *plan, struct rt_problems *p);

#endif

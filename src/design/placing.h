/* placing.h - which access point hangs where, and which switch its cable leads to, for the least money.
 *
 * Knows nothing of houses, walls or radio: *offers* (a part at a site), *needs* (rooms whose cells want offers that serve them),
 * *things* that want a cable to one of the *hubs*, *works* that are paid once for all cables that pass (holes, lifted boards), and
 * the switches a hub may be made of.  space.h makes all this from a house, fit.h makes a house from the answer.
 *
 * An integer program, solved by CBC (wire/integer_program.h): least price; of equals the fewest boxes; of equals the least power
 * sent.  Prices are whole numbers of the smallest unit of the currency, none below 0.
 *
 * Exact sums: lengths count in whole millimetres, watts (asked and sent) in whole milliwatts, each rounded to the nearest.
 *
 * Ports at a hub that is used.  Its switches, bought or there, hang on one another or on the hub's free ports: each takes one port of
 * its own for its way up (not if it has `n_up`), and one of what it hangs on; where the hub has no free ports (count 0), the first
 * hangs on nothing there, and there must be one.  These ports, and one for each cable that ends at the hub, are taken; any thing may
 * be in any port that feeds its class at its speed, or at the fastest there is for that class in the whole placing if none is as fast.
 * Taken and `spare` for each switch together are not more than there are; taken alone not more than the share that headroom leaves.
 * Watts are taken together over the switches of a hub. */
#ifndef RT_DESIGN_PLACING_H
#define RT_DESIGN_PLACING_H

#include "base/array.h"
#include "base/problem.h"
#include "base/run.h"
#include "base/str.h"
#include "house/building.h" /* NO_REF */

/* A part at a site.  Of the offers of one site at most one is chosen. */
struct place_offer {
    uint32_t site;
    uint32_t part; /* what it is: carried through, not read here */
    uint32_t
        piece; /* of the pieces that are there already and may hang here; each hangs at one site; NO_REF: bought.  One of
                     * price 0 stays where it is and counts as no box */
    int64_t price;     /* part (unless it is there), fixing, work; without cable and switch */
    int poe_class;     /* it asks of its port; -1: fed otherwise */
    double power_w;    /* of the switch's budget */
    double speed_mbps; /* its port should carry */
    double sent_w;     /* by all its radios: the third aim */
    bool is_fixed;     /* it is there and stays: chosen in every answer */
};

/* Served by these: offers of `at_least` different sites among them. */
struct place_clause {
    uint32_t at_least;
    index_list offers; /* ascending */
};

/* Cells of a room that the same offers serve.  Served if every clause holds. */
struct place_cell {
    uint32_t weight;                   /* how many cells */
    LIST(struct place_clause) clauses; /* at most 64 */
};

/* A promise in one room: cells of a weight of at least `wanted` are to be served. */
struct place_need {
    uint32_t promise, room; /* carried through; needs of one promise are given up together */
    uint32_t all, always;   /* cells of the room; those that every answer serves */
    uint32_t wanted;        /* of the others are to be served */
    LIST(struct place_cell) cells;
    bool bears_loss;     /* and still so when any one site has failed */
    const double *ranks; /* [offers.n]: placing_rank(); NULL: each call finds them anew */
};

/* What wants a cable: a site (if an offer of it is chosen), a device (always), or a hub that is not the core (if it is used: its
 * way up, which must come to a core in the end).  What is wanted of the port is the offer's, else the thing's own. */
struct place_thing {
    uint32_t site, device, hub; /* one of them, the others NO_REF */
    int poe_class;              /* of a device or hub; -1: none */
    double power_w, speed_mbps; /* of a device or hub */
    index_list links; /* of placing.links; one is chosen.  Without any it can have no cable: a site is then of no use */
};

/* A cable from a thing to a hub.  Not for a thing that has its cable already: its link has price 0 and length 0. */
struct place_link {
    uint32_t thing, hub;
    int64_t price;    /* what this cable costs alone: ends, legs, work; without metres and shared works */
    double length_m;  /* of cable that is bought for it */
    uint32_t cabling; /* of placing.cablings; NO_REF: nothing is bought by the metre */
    index_list works;
};

/* Ways to buy the metres of one sort of cable: one of them is taken for all. */
struct place_cabling {
    struct place_cable_part {
        uint32_t part;
        int64_t price;
        double per_m; /* sold by this length, whole pieces; each started piece is paid */
    } * parts;
    uint32_t n_parts;
};

/* Like ports of a switch. */
struct place_ports {
    uint32_t count;
    int poe_class; /* highest it feeds; -1: none */
    double speed_mbps;
};

struct place_switch {
    uint32_t part;
    int64_t price;
    double poe_budget_w; /* 0: feeds nothing */
    uint32_t n_up;       /* ports for the way up alone, not among `ports` */
    LIST(struct place_ports) ports;
};

/* A place where cables come together. */
struct place_hub {
    bool is_core; /* the gateway is here: no way up needed, and it is always used; others are if a cable leads there */
    index_list switches;     /* of placing.switches that may be bought for it, any number of each */
    index_list there;        /* of placing.switches that stand there already, each once (their price is 0) */
    struct place_ports free; /* ports without a switch: the gateway's own (poe_class -1) */
    uint32_t spare;          /* ports to be left free at each switch */
    double headroom_share;   /* of ports and watts to be left free */
    int64_t price;           /* of using it at all (a cabinet, a socket); 0 for the core */
    uint32_t most;           /* switches bought for it at most */
};

struct placing {
    uint32_t n_sites, n_pieces;
    LIST(struct place_offer) offers;
    LIST(struct place_need) needs;
    LIST(struct place_thing) things;
    LIST(struct place_link) links;
    LIST(int64_t) works;
    LIST(struct place_cabling) cablings;
    LIST(struct place_switch) switches;
    LIST(struct place_hub) hubs;
    int64_t owing;           /* what is to be paid whatever is chosen */
    int64_t at_most;         /* the sum must not exceed this (a promised budget); INT64_MAX: no limit */
    uint32_t budget_promise; /* whose budget that is, given up with it; NO_REF: nobody's */
};

struct placing_limits {
    double seconds; /* for the whole call */
    double gap;     /* (price - bound) / price at which it is good enough; 0: proven best */
    uint32_t
        nodes; /* of each search; 0: the seconds alone limit it.  With nodes and seconds enough, the same answer each time */
};

struct placing_answer {
    bool is_found;
    bool is_best;         /* proven within the gap */
    bool is_stopped;      /* by time or cancel before that */
    int64_t price, bound; /* no choice is cheaper than the bound; price includes `owing` */
    uint32_t n_boxes;     /* offers chosen that are bought or moved, and switches bought */
    bool *offers;         /* [offers.n] */
    uint32_t *links;      /* [things.n]: index into links; NO_REF: it needs none in this answer */
    uint32_t *switches;   /* [hubs.n * switches.n]: how many are bought */
    uint32_t *cablings;   /* [cablings.n]: which of its parts */
};

/* How near each offer comes to keeping each need alone (placing_rank.c): whoever asks about the same needs again and again has it found
 * once.  false: the arena's ceiling. */
bool placing_rank(struct arena *a, struct placing *q);

/* The least price at which all needs hold but those of promises in `given_up` (by promise index; NULL: none).  `start`: an answer
 * to begin from, or NULL.  Needs that bear a loss are added for the sites of answers as they turn out to be lost.
 * is_found false with is_best: there is no such choice (placing_conflict tells why).  With a cancel, the best so far, RT_OK.
 * Lives in run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code placing_solve(const struct run *run, const struct placing *q, const bool *given_up,
                                         const struct placing_answer *start, struct placing_limits limits,
                                         struct placing_answer *out, struct rt_problems *p);

/* A choice by a quick search alone (greedy, then swaps and drops): good, not proven; is_found false where it finds none. */
RT_MUST_CHECK enum rt_code placing_greedy(const struct run *run, const struct placing *q, const bool *given_up,
                                          struct placing_answer *out, struct rt_problems *p);

/* What a choice of offers, links, switches and cablings costs, and whether everything that was asked holds: the plain words of this
 * header, evaluated without a solver. */
int64_t placing_price(const struct placing *q, const struct placing_answer *a);
bool placing_holds(const struct placing *q, const bool *given_up, const struct placing_answer *a);
bool placing_need_holds(const struct placing *q, uint32_t need, const bool *offers);

/* The program itself, of the least price, in the LP format, whose writing solvers share, with losses of all sites written out: names
 * by what they are and its index, as o12 an offer, a3 a way of a link, k0_1 switches of hub 0.  out->failed: the arena's ceiling. */
void placing_write_lp(const struct placing *q, const bool *given_up, struct buf *out);

/* ---- when nothing keeps everything (placing_conflict.c) ---- */

/* Promises that cannot be kept together, though without any one of them the others can.  None: even without any promise there is no
 * choice (a device with nowhere to lead its cable, two fixed offers at one site). */
struct placing_conflict {
    bool has_conflict;
    index_list promises; /* ascending; the budget's among them if it is part of it */
    bool is_smallest;    /* no smaller set conflicts; false: the limits came first */
    index_list needs;    /* where one promise stands alone: its needs that no choice serves */
};

/* A conflict of the promises with needs, and of the budget's, that are not given up; has_conflict false: they can be kept together,
 * or the limits came before anything was known.  Errors: RT_NOMEM, RT_CANCELLED. */
RT_MUST_CHECK enum rt_code placing_find_conflict(const struct run *run, const struct placing *q, const bool *given_up,
                                                 struct placing_limits limits, struct placing_conflict *out,
                                                 struct rt_problems *p);

/* The promises to give up so that the others can be kept: those of the least sum of `worth[promise]` (larger is dearer to the
 * household; above 0), of equals the fewest.  Sets them in given_up[n_promises]; all of them if even so nothing can be had.
 * Errors: RT_NOMEM, RT_CANCELLED. */
RT_MUST_CHECK enum rt_code placing_give_up(const struct run *run, const struct placing *q, uint32_t n_promises,
                                           const double *worth, struct placing_limits limits, bool *given_up,
                                           struct rt_problems *p);

#endif

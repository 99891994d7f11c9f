/* port_choice.h - which plug goes into which port, and which part stands where that is left open, for the least money.
 *
 * Knows nothing of houses: *sites*, of which each becomes one of its candidate parts; parts with groups of like ports; *plugs*,
 * of which each wants one port at one of the sites it can be joined to.  An integer program, solved exactly in this order:
 *
 *   1. what is asked for is there: ports, watts, spare ports, speed (choice_measure.lack, by the weights below);
 *   2. the least money for parts and joins;
 *   3. ports meant for the way up carry that and nothing else;
 *   4. the least power over Ethernet laid open: the sum of the classes of the ports in use;
 *   5. the least speed laid open, in the same way;
 *   6. the lowest port numbers: their sum.
 *
 * Ports of one part that are alike in all this are given out lowest number first, to plugs that are fed before those that are
 * not, then by index.  The same problem has the same answer each time (integer_program.h). */
#ifndef RT_WIRE_PORT_CHOICE_H
#define RT_WIRE_PORT_CHOICE_H

#include "base/array.h"
#include "base/problem.h"
#include "base/run.h"

#define CHOICE_NONE UINT32_MAX

enum choice_medium { CHOICE_COPPER = 1, CHOICE_FIBRE = 2 };

/* Like ports of a part; their numbers follow on those of the group before, from 1. */
struct choice_group {
    unsigned count;
    uint32_t media;    /* bits of enum choice_medium: the plugs it takes */
    double speed_mbps; /* fastest */
    int poe_class;     /* highest it feeds, 0 to 8; -1: none */
    bool is_up;        /* meant for the way up */
    bool is_closed;    /* never chosen: only plugs that name the port are in it */
};

struct choice_part {
    int64_t price;
    const struct choice_group *groups;
    uint32_t n_groups;
    double budget_w; /* over all its ports; infinite: no limit */
    double units;    /* that it takes of its shelf */
};

struct choice_site {
    const struct choice_part *parts; /* one at least; one alone: it is fixed */
    uint32_t n_parts;
    unsigned spare;   /* copper ports, not closed nor for the way up, to be left free */
    uint32_t shelf;   /* of choice_problem.shelf_units; CHOICE_NONE */
    uint32_t up;      /* the site above; CHOICE_NONE: none */
    double room_mbps; /* what may still be joined at it and at all sites below; infinite: no limit */
};

/* What a plug asks of its port. */
struct choice_want {
    int poe_class;     /* -1: no power */
    double watts;      /* of the budget */
    double speed_mbps; /* at least */
};

struct choice_join {
    uint32_t site;
    unsigned port; /* given: then this is the plug's only join, and its rate 0; 0: to be chosen */
    int64_t price;
};

struct choice_plug {
    uint32_t media; /* bits: what it is */
    bool is_up;     /* the way up leads out of this port */
    const struct choice_join *joins;
    uint32_t n_joins;
    const struct choice_want *wants; /* one; or one for each part of the site `follows` */
    uint32_t follows;                /* CHOICE_NONE: the first of wants always */
    uint32_t set;                    /* plugs of one set go to different sites; CHOICE_NONE: of no set */
    double rate_mbps;                /* against room_mbps */
};

struct choice_problem {
    const struct choice_site *sites;
    uint32_t n_sites;
    const struct choice_plug *plugs;
    uint32_t n_plugs;
    const double *shelf_units;
    uint32_t n_shelves;
    bool is_strict; /* lacking speed and spare ports are conflicts too */
};

/* What one does without, and how much each weighs in 1. */
enum choice_lack { LACK_PORT = 1, LACK_POWER = 2, LACK_SPEED = 4 };
#define LACK_PORT_WEIGHT 1000
#define LACK_POWER_WEIGHT 100
#define LACK_SPARE_WEIGHT 10  /* for each port too few */
#define LACK_UNITS_WEIGHT 100 /* for each unit that a shelf is too low */
#define LACK_SPEED_WEIGHT 1

struct choice_seat {
    uint32_t join; /* of its joins; CHOICE_NONE: it has no port */
    uint32_t site;
    unsigned port;
    uint32_t want;  /* which of its wants holds */
    unsigned lacks; /* bits of enum choice_lack */
};

/* The six sums, in order. */
enum { CHOICE_LACK, CHOICE_PRICE, CHOICE_UP, CHOICE_CLASS, CHOICE_SPEED, CHOICE_NUMBER, CHOICE_N_SUMS };

struct choice_answer {
    uint32_t *parts;           /* of each site */
    struct choice_seat *seats; /* of each plug */
    double sums[CHOICE_N_SUMS];
    double bound;      /* no choice with as little lacking is cheaper */
    bool is_best;      /* false: a limit stopped the search; sums[CHOICE_PRICE] - bound is then the gap */
    bool has_conflict; /* ports, watts or units lack (is_strict: anything) ... */
    uint32_t *conflict,
        n_conflict; /* ... for these plugs, though not as soon as any one of them is left out; ascending */
};

/* Lives in run->arena.  Errors: RT_NOMEM and RT_CANCELLED, without a problem told. */
RT_MUST_CHECK enum rt_code choice_solve(const struct run *run, const struct choice_problem *q,
                                        struct choice_answer *out);

/* The sums of a choice, however it was found. */
void choice_sums(const struct choice_problem *q, const uint32_t *parts, const struct choice_seat *seats, double *sums);
/* The group of port `number`; CHOICE_NONE: the part has no such port. */
uint32_t choice_group_of(const struct choice_part *part, unsigned number);

#endif

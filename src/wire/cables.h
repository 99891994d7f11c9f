/* cables.h - where every cable of the house lies, how long it is, and what it takes to get it there.
 *
 * Cables lie in the runs of the house file and, where those end, in generated ones (voids over and under floors, wall drops,
 * stacked walls and cupboards), which say that they are generated. */
#ifndef RT_WIRE_CABLES_H
#define RT_WIRE_CABLES_H

#include "base/run.h"
#include "house/house.h"

/* A stretch of one cable. */
struct cable_leg {
    uint32_t run; /* of house->runs; NO_REF: generated */
    enum run_kind kind;
    uint32_t floor;           /* whose drawing shows it; NO_REF: between floors */
    struct vec3 from_m, to_m; /* above the datum */
    double length_m;
    double price;    /* of laying this cable here, house currency; what is shared stands in holes and boards */
    struct str says; /* "under the boards of the ground floor (generated)" */
};

/* Something done once for all cables that pass: a hole drilled, a board lifted. */
enum opening_work { WORK_HOLE, WORK_BOARD };
struct cable_work {
    enum opening_work kind;
    uint32_t construct; /* drilled through; NO_REF for boards */
    uint32_t floor;
    struct vec3 at_m; /* above the datum */
    double price;
    ref_list cables; /* of house->cables that use it, ascending */
    struct str says; /* "through brick single, between hall and front room" */
};

struct routed_cable {
    bool is_routed;
    struct str why_not; /* if not: what is missing or in the way, and what to do */
    LIST(struct cable_leg) legs;
    double fixed_m; /* permanent link, slack at both ends included; the file's length_m if it gives one; NaN: not known.
                     * A cable whose part is a cord is that cord alone, straight from one thing to the other: its length
                     * stands here and cords_m is 0 */
    double slack_m;
    double cords_m; /* both cords together */
    bool length_given;
    double lacks_m;       /* so much longer it must be to reach from one end to the other; 0: it is long enough */
    double mains_m;       /* least distance to mains cables on the way; NaN: not known */
    bool outdoors;        /* part of it lies outdoors */
    bool leaves_building; /* between buildings: earths may differ, lightning */
};

struct cable_plan {
    const struct house *h;
    struct routed_cable *cables; /* as house->cables */
    LIST(struct cable_work) work;
    double
        price; /* all legs, all work, and the metres of cable at the price of their part (at least 0.05 a metre); what
                   * is owned counts as if it were to be laid */
    double bound; /* no routing of these cables in which none passes one hole twice costs less (route_net.h) */
};

/* The building that a floor belongs to: floors that stand over one another, one by one, are one, told by the first of them in the
 * file; NO_REF: open ground. */
uint32_t cable_building_of(const struct house *h, uint32_t floor);

/* Routes all cables at once, shared work paid once: near the least cost, and how near tells the bound.  What cannot be routed
 * is told in why_not; lengths of the file that are shorter than the distance of the two ends are warnings.
 * Errors: RT_NOMEM, RT_CANCELLED. */
RT_MUST_CHECK enum rt_code cables_plan(const struct run *run, const struct house *h, struct cable_plan **out,
                                       struct rt_problems *p);

/* Each cable by its own cheapest way, as if there were no other: price and bound are the sum of these; a work lists all the cables
 * that would pass, each of which would pay for it.  For cables of which only some will be laid.  Errors as above. */
RT_MUST_CHECK enum rt_code cables_plan_alone(const struct run *run, const struct house *h, struct cable_plan **out,
                                             struct rt_problems *p);

#endif

/* front.h - what stands where in each cabinet, and on each wall where things of the network hang together, seen from the front.
 *
 * Places of the house file are kept (`unit` in a cabinet, `at_m` on a wall); the others are ours: the gateway on top, the patching
 * by the switch, the battery at the bottom, the power strip on it, what is no rack part on shelves.  Common practice, no source. */
#ifndef RT_WIRE_FRONT_H
#define RT_WIRE_FRONT_H

#include "wire/energy.h"

/* One rack unit, and the width of a panel.  Source: IEC 60297-3-100 (44.45 mm; 482.6 mm), from memory. */
#define RACK_UNIT_M 0.04445
#define RACK_WIDTH_M 0.4826

enum stand_kind {
    STAND_EQUIPMENT,
    STAND_DEVICE,
    STAND_LINE_BOX, /* the provider's */
    STAND_PATCH,    /* room for a row of sockets: ours */
    STAND_STRIP,    /* room for a power strip: ours */
    STAND_SHELF     /* under what is no rack part: ours */
};

/* Where its power comes from. */
enum stand_power { POWER_NONE, POWER_MAINS, POWER_BATTERY, POWER_CABLE };

struct stand {
    enum stand_kind kind;
    uint32_t which;            /* of equipment or devices; of the rows of sockets; NO_REF */
    double x_m, z_m, w_m, h_m; /* its lower left corner, and its size */
    unsigned unit, units;      /* rack units: its lowest, from 1; 0: not in units */
    bool is_given;             /* the house file says where */
    bool is_moved;             /* it does, but something else is there: as near as there is room */
    bool is_size_known;        /* else taken as 0.2 m x 0.06 m, or 0.03 m */
    bool fits;                 /* false: there is no room left for it; no place */
    bool is_too_deep;
    enum stand_power power;
    double power_w; /* most it draws for itself; NaN: not said */
};

/* A cable that comes out of the wall here, in the order of the sockets. */
struct patched {
    uint32_t cable;
    bool at_from; /* its first end is here */
};

struct front {
    uint32_t cabinet; /* of equipment; NO_REF: a wall */
    uint32_t floor, room;
    struct str name;      /* of the files: the cabinet's id, else that of the first thing */
    double w_m, h_m, d_m; /* of the cabinet, or of what the wall shows */
    double foot_m; /* lower edge of the cabinet above the floor; NaN: not known.  A wall's z are above the floor */
    unsigned rack_units; /* 0: no rack */
    unsigned units_free;
    double rack_z_m; /* lower edge of unit 1 above the cabinet's lower edge */
    bool is_size_known;
    LIST(struct stand) stands; /* from top to bottom, then left to right; last what has no room */
    LIST(struct patched) patched;
    uint32_t n_strip;                /* plugs for the power strip */
    uint32_t n_battery;              /* plugs for the battery's own sockets */
    double heat_w;                   /* of all in it at full */
    const struct cabinet_heat *heat; /* NULL: a wall */
    LIST(uint32_t) batteries;        /* of house->batteries that feed something here */
};

struct front_plan {
    const struct house *h;
    struct front *v; /* cabinets in the order of the file, then walls by their first thing */
    uint32_t n;
};

/* Lives in run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code front_plan_make(const struct run *run, const struct energy_plan *energy,
                                           struct front_plan **out, struct rt_problems *p);

#endif

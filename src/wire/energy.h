/* energy.h - the cabinet's air, the battery's minutes, the year's energy.
 *
 * What lives without mains: what a battery's `feeds` names, and what that feeds over its ports.  Something that takes its power
 * over its cable lives only through what feeds it: naming it beside a battery does not help. */
#ifndef RT_WIRE_ENERGY_H
#define RT_WIRE_ENERGY_H

#include "wire/power.h"

struct cabinet_heat {
    uint32_t equipment; /* the cabinet */
    double heat_w;      /* given off inside, all at full; NaN: of some of it nobody said what it draws */
    double rise_k;      /* inside over the room, closed, hung or stood at a wall; NaN: its size is not given */
    double vented_k;    /* the same with slots of CABINET_SLOT_M2 at foot and top; NaN as rise_k */
    double air_k; /* of these what the house file says of its air; a fan moves CABINET_FAN_M3_PER_H; NaN as rise_k */
    double flow_m3_per_h; /* of a fan that keeps the rise to CABINET_RISE_K; 0: none is needed; NaN as rise_k */
    struct str missing;   /* what to say in the house or parts file, where rise_k is not known */
    double rack_units;    /* NaN: not given */
    double rack_units_used;
};
#define CABINET_RISE_K 10.0
#define CABINET_FAN_M3_PER_H 60.0 /* a usual one of 120 mm, behind a grille (common practice, no source) */
#define CABINET_SLOT_M2 0.01

struct battery_life {
    uint32_t battery;   /* of house->batteries */
    double capacity_wh; /* as printed; NaN: not given */
    double load_w;      /* all it feeds, and what that feeds over cables, in use */
    double draw_w;      /* from its cells: the load, what the conversion loses, its own use */
    double usable_wh;   /* at this age, temperature and rate of discharge */
    double minutes;     /* 0 where the load is more than it can give at once; NaN: a fact is missing */
    bool is_overloaded;
    bool is_absent;     /* its piece is not there: it feeds nothing, and lasts 0 minutes */
    struct str missing; /* what to say in the file */
};

struct energy_plan {
    const struct house *h;
    const struct power_plan *power;
    LIST(struct cabinet_heat) cabinets;
    struct battery_life *batteries;                                      /* as house->batteries */
    uint32_t *battery_of_equipment, *battery_of_device, battery_of_line; /* of house->batteries; NO_REF: none */
    double
        typical_w; /* at the plug: all the network's equipment, what it feeds over cables, devices that name a part, the line's box */
    double kwh_per_year;
    str_list
        missing; /* whose draw is not known and counts as nothing here, once each: what to say in the house or parts file */
};

/* Lives in run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code energy_plan_make(const struct run *run, const struct power_plan *power,
                                            struct energy_plan **out, struct rt_problems *p);

/* The same house while some of house->equipment is not there: batteries whose piece is absent feed nothing.  What is not there still
 * counts as load on the others and in the year: no battery then lasts longer than is told. */
RT_MUST_CHECK enum rt_code energy_plan_without(const struct run *run, const struct power_plan *power,
                                               const bool *absent, struct energy_plan **out, struct rt_problems *p);
/* The piece of house->equipment that a battery of the file is: of its part, first in its room, in the order of the file; NO_REF: none. */
uint32_t energy_battery_piece(const struct house *h, uint32_t battery);

/* What a device draws in use: its own figure, its part's, its kind's; NaN: none of them. */
double energy_device_w(const struct house *h, uint32_t device);
/* Minutes for which a battery of the house feeds a load, at an age; NaN: its capacity, its chemistry or its own draw is not known. */
double energy_battery_minutes(const struct house *h, uint32_t battery, double load_w, double age_years);

/* kWh of a steady load in a year of 8760 hours. */
double energy_kwh_per_year(double load_w);

/* Share that a supply between plug and port lets through (common practice, no source). */
#define PORT_SUPPLY_RATIO 0.9

#endif

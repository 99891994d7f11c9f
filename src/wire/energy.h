/* energy.h - the cabinet's air, the battery's minutes, the year's energy. */
#ifndef RT_WIRE_ENERGY_H
#define RT_WIRE_ENERGY_H

#include "wire/power.h"

struct cabinet_heat {
    uint32_t equipment; /* the cabinet */
    double heat_w;      /* given off inside */
    double rise_k;      /* inside over the room; NaN: its size is not given */
    double rack_units, rack_units_used;
};

struct battery_life {
    uint32_t battery; /* of house->batteries */
    double load_w;    /* all it feeds, and what that feeds over cables */
    double usable_wh; /* at this age, temperature and rate of discharge */
    double minutes;   /* NaN: a fact is missing */
    struct str missing;
};

struct energy_plan {
    LIST(struct cabinet_heat) cabinets;
    struct battery_life *batteries; /* as house->batteries */
    double typical_w;               /* of all the network's equipment */
    double kwh_per_year;
};

/* Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code energy_plan_make(const struct run *run, const struct power_plan *power,
                                            struct energy_plan **out, struct rt_problems *p);

#endif

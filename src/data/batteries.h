/* batteries.h - how much of what is printed on a battery it gives, by what it is made of, age, warmth and rate. */
#ifndef RT_DATA_BATTERIES_H
#define RT_DATA_BATTERIES_H

#include "base/str.h"

enum { BATTERY_TEMPERATURES = 7 };

struct battery_chemistry {
    const char *name; /* word of the parts file */
    const char *says;
    double peukert;       /* the careful end of what is read of its kind */
    double rated_h;       /* hours over which the printed capacity is taken out */
    double fade_per_year; /* share of the printed capacity lost each year */
    /* Share of the capacity at these temperatures, rising; straight in between, the ends hold beyond. */
    double temperature_degc[BATTERY_TEMPERATURES], share[BATTERY_TEMPERATURES];
};

/* By a part's `chemistry`: lead, gel, flooded_lead, lithium_iron_phosphate, lithium_ion.  NULL: not known. */
const struct battery_chemistry *battery_chemistry_find(struct str name);
/* The table, in its own order, and its length. */
const struct battery_chemistry *battery_chemistries(uint32_t *n);

/* Share of the printed capacity at an age and a temperature, 0 to 1. */
double battery_share(const struct battery_chemistry *c, double age_years, double temperature_degc);

/* Peukert: hours that a battery of capacity C, rated over H hours, gives a current I: H (C / (I H))^k.  With energy and power in
 * place of charge and current the voltage cancels.  capacity, draw, rated_h > 0; a draw of 0 lasts for ever (INFINITY). */
double battery_hours(double capacity, double rated_h, double draw, double peukert);

/* What the electronics between battery and load let through: 0.85, the least of the examples on the page of run-time
 * formulae that credits IEEE 1188 and IEC 62040. */
#define BATTERY_CONVERSION_RATIO 0.85

#endif

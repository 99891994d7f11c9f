/* units.h - the only conversions between units; everything inside is SI (dB and dBm only within radio/). */
#ifndef RT_UNITS_H
#define RT_UNITS_H

#include <math.h>
#include <stdbool.h>

#define RT_PI 3.14159265358979323846
/* Speed of light in vacuum, exact by definition of the metre (SI brochure, 9th edition). */
#define RT_C0_M_S 299792458.0

static inline double units_w_from_dbm(double p_dbm) { return pow(10.0, (p_dbm - 30.0) / 10.0); }
static inline double units_dbm_from_w(double p_w) { return 10.0 * log10(p_w) + 30.0; }
static inline double units_ratio_from_db(double x_db) { return pow(10.0, x_db / 10.0); }
static inline double units_db_from_ratio(double x) { return 10.0 * log10(x); }
static inline double units_rad_from_deg(double a_deg) { return a_deg * (RT_PI / 180.0); }
static inline double units_deg_from_rad(double a_rad) { return a_rad * (180.0 / RT_PI); }

/* A number of the house file that was left out is NaN; a number that is there is finite (the reader refuses others). */
#define RT_NOT_GIVEN ((double)NAN)
static inline bool is_given(double x) { return !isnan(x); }
static inline double given_or(double x, double fallback) { return isnan(x) ? fallback : x; }

#endif

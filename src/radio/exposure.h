/* exposure.h - radio power density where people are, against the public limits (data/exposure_limits.h).
 *
 * Worst case throughout: every radio sends all the time (duty 1) along its antenna's largest gain.  The formula is that of
 * the far field,  S = reflection * EIRP / (4 pi d^2);  nearer than 2 D^2 / lambda (D the antenna's largest size) it is not
 * exact and as a rule overstates the density.  Source: FCC OET Bulletin 65, section 2 (from memory). */
#ifndef RT_RADIO_EXPOSURE_H
#define RT_RADIO_EXPOSURE_H

#include "data/exposure_limits.h"
#include "radio/ap_radio.h"

/* What reflections may add to the power density: the field doubled (OET 65, from memory; 1.6 times, that is 2.56, is its
 * allowance for reflection off the ground, and 1 is free space). */
#define EXPOSURE_REFLECTION_WORST 4.0

/* Power density at a distance d_m > 0. */
double exposure_density_w_per_m2(double eirp_dbm, double d_m, double reflection);
/* Distance at which a density is met. */
double exposure_distance_m(double eirp_dbm, double density_w_per_m2, double reflection);
/* 2 D^2 / lambda. */
double exposure_far_field_m(double size_m, double f_hz);

struct exposure {
    uint32_t n_radios;  /* counted; 0: the access point sends nothing, and the rest is 0 */
    double fraction;    /* of the limit at the nearest place, summed over the radios: above 1 is too much */
    double distance_m;  /* where the sum is 1 */
    double far_field_m; /* the formula is exact beyond this, over all radios */
    const struct exposure_limit *limit; /* of the radio that counts most */
};

/* All radios of one access point together, at the nearest place a person can be (nearest_m from the antenna; less than 1 cm
 * is taken as 1 cm).  size_m: largest measure of the part, which bounds its antennas; 0 if it is not known (far_field_m is
 * then 0).  limit_name: a name of data/exposure_limits.h.  Returns false, with *out untouched, if that name has no public
 * limit at a radio's frequency. */
bool exposure_of_access_point(const ap_radio_list *radios, uint32_t equipment, struct str limit_name, double nearest_m,
                              double size_m, struct exposure *out);

#endif

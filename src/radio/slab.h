/* slab.h - plane waves through and off a stack of flat layers with air on both sides.
 *
 * Conventions (those of ITU-R P.2040): time factor exp(+j w t).  TE: the electric field stands at right angles to the
 * plane of incidence; r and t are then ratios of tangential E.  TM: the electric field lies in that plane; r and t are
 * ratios of tangential H.  So r_te = -r_tm square on, and a perfect conductor has r_te = -1, r_tm = +1.  r refers to the
 * front face, t goes from the front face to the point of the back face straight behind it. */
#ifndef RT_RADIO_SLAB_H
#define RT_RADIO_SLAB_H

#include <complex.h>
#include <stddef.h>

struct slab_layer {
    double complex eps; /* relative permittivity, imaginary part <= 0 (material_permittivity()) */
    double thickness_m; /* >= 0 */
};

struct slab_wave {
    double complex r, t;
};

struct slab_waves {
    struct slab_wave te, tm;
};

/* Reflection and transmission of n layers, in the order in which the wave meets them, at an angle of incidence given by
 * its cosine (0..1; 0, exactly grazing, is taken as 1e-6).  n = 0 is air: r = 0, t = 1.  t underflows to 0 behind thick metal;
 * nothing overflows.  Source: interface values and multiple reflections composed from the back to the front (the recursion
 * of Parratt 1954); equal to the characteristic matrix of Born and Wolf, Principles of Optics, section 1.6 (from memory). */
struct slab_waves slab_at(const struct slab_layer *layers, size_t n, double f_hz, double cos_incidence);

/* -20 log10 |amplitude|, at most 200 dB: finite for an amplitude of 0. */
double slab_loss_db(double complex amplitude);

#endif

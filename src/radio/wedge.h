/* wedge.h - diffraction at straight edges by the uniform theory of diffraction (UTD).
 *
 * Sources: Kouyoumjian and Pathak, Proc. IEEE 62 (1974) 1448, eqs. (25)-(31), for the perfectly conducting wedge;
 * Luebbers, IEEE Trans. Antennas Propag. 32 (1984) 70, for face reflections R in place of +-1; Burnside and Burgener,
 * IEEE Trans. Antennas Propag. 31 (1983) 104, for the thin screen that lets part of the wave pass.  All from memory; the
 * tests check against exact series solutions.
 *
 * Conventions.  Time factor exp(+j w t); a wave that has gone r metres carries exp(-j k r).  R and T are ratios of
 * tangential E for TE waves and of tangential H for TM waves, as in slab.h.  Angles phi are measured around the edge from
 * the o-face (phi = 0) through free space to the n-face (phi = n pi): n = 2 a half-plane or thin screen, n = 1.5 the
 * outer corner of a house.  beta0 is the angle between ray and edge.
 *
 *                  Q . . . . . . .  phi = 0, the o-face lies here        E_d = E_i(1 m) * D * wedge_spread(s_in, s_out)
 *     phi > 0 is measured from the o-face, by the source and by the spot       * exp(-j k (s_in + s_out))
 *
 * A wave polarised along the edge (vertical, at a vertical edge) is the soft case; its R is that of TE waves for level
 * rays.  A wave with H along the edge is the hard case; its R is that of TM waves.
 *
 * D comes in terms that hold the geometry alone, so that polarisations and estimates of one path share them:
 *     solid wedge          D = incident + r_o * mirror_o + r_n * mirror_n      (perfect conductor: r = -1 soft, +1 hard)
 *     thin screen, n = 2   D = (1 - t) * incident + r * (mirror_o + mirror_n)
 *
 * Summing powers.  At the edge of a shadow D is -1/2 of the passing wave on the lit side and +1/2 on the dark side, so the
 * passing wave (or, for the mirror terms, the mirrored one) and its D must be added as amplitudes there, not as powers. */
#ifndef RT_RADIO_WEDGE_H
#define RT_RADIO_WEDGE_H

#include <complex.h>
#include <math.h>
#include <stdbool.h>

/* F(x) of Kouyoumjian and Pathak, x >= 0:  F = 2 j sqrt(x) exp(jx) * integral of exp(-j t^2) dt from sqrt(x) on.
 * F(0) = 0, F(infinity) = 1.  Relative error below 1e-9 at every x (tested). */
double complex wedge_transition(double x);

/* One ray over an edge.  All of it follows from geometry; no wavelength in it. */
struct wedge_ray {
    double s_in_m, s_out_m;         /* source to edge point, edge point to spot; > 0 (s_in_m may be INFINITY) */
    double sin_beta0;               /* (0, 1] */
    double phi_in_rad, phi_out_rad; /* of the source and the spot, 0 .. n pi */
    double n;                       /* exterior angle over pi, 1 < n <= 2 */
};

/* Parts of the diffraction coefficient, square roots of metres; see the top of the file. */
struct wedge_terms {
    double complex incident, mirror_o, mirror_n;
};

/* The terms at wave number k_per_m = 2 pi / wavelength.  Exactly on a shadow or reflection boundary the spot counts as
 * lit.  With the source on a face (phi_in 0 or n pi) incident and reflected wave are one: halve D then (K&P after eq. 30). */
struct wedge_terms wedge_terms(double k_per_m, const struct wedge_ray *ray);

double complex wedge_solid(const struct wedge_terms *terms, double complex r_o, double complex r_n);
double complex wedge_screen(const struct wedge_terms *terms, double complex t, double complex r);

/* Amplitude of a spherical wave behind the edge over that at 1 m from the source, D apart: 1 / sqrt(s s' (s + s')), in
 * 1 / m^1.5.  For a plane wave (s' infinite, amplitude 1 at the edge) it is 1 / sqrt(s). */
static inline double wedge_spread(double s_in_m, double s_out_m)
{
    return isinf(s_in_m) ? 1.0 / sqrt(s_out_m) : 1.0 / sqrt(s_in_m * s_out_m * (s_in_m + s_out_m));
}

/* What an edge bends out of a wave of amplitude 1 that ends there: erfc(sqrt(j x)) / 2, 1/2 at x = 0; x >= 0, which may be
 * infinite, is the phase by which the way over the edge is longer, k L (1 - cos(bend)).  To be added to the wave in the
 * shadow and taken from it in the light: then t + (1 - t) (lit ? 1 - bent : bent) is the exact field of a plane wave
 * behind a half-plane (t = 0; mirror apart), continuous, with Fresnel's fringes.  A term of D is this times the spread. */
double complex wedge_bent(double x);

#endif

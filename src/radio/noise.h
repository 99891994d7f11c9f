/* noise.h - what a signal must stand out from. */
#ifndef RT_RADIO_NOISE_H
#define RT_RADIO_NOISE_H

/* Thermal noise in a channel plus the receiver's noise figure.  width_hz > 0.
 * Source: Nyquist (1928), k T B at the standard noise temperature of 290 K (IEEE Std 161, from memory); k is exact by
 * definition of the kelvin (SI brochure, 9th edition). */
double noise_floor_dbm(double width_hz, double noise_figure_db);

/* Sum of two powers; -INFINITY stands for none. */
double noise_add_dbm(double a_dbm, double b_dbm);

#endif

/* conductors.h - copper wire: what it resists, how warm and how loaded it may get in a bundle. */
#ifndef RT_DATA_CONDUCTORS_H
#define RT_DATA_CONDUCTORS_H

/* Cross-section of the American wire gauge: ASTM B258 (from memory), diameter 0.127 mm x 92^((36 - n) / 39). */
double awg_area_mm2(int awg);
/* The gauge nearest to a cross-section, by ratio. */
int awg_of_area(double area_mm2);

/* Direct-current resistance of a solid annealed copper wire, area > 0.  IACS: 0.017241 ohm mm2/m at 20 degC, and 0.00393 per K
 * (NBS Handbook 100; the coefficient from memory). */
double copper_ohm_per_m(double area_mm2, double temperature_degc);

/* Cords are stranded: their resistance is greater than that of a solid wire of the same gauge.  20 % is what ISO/IEC 11801 and
 * TIA-568 allow 24 AWG cords in attenuation, taken here for resistance as well (common practice, no source). */
#define CORD_RESISTANCE_RATIO 1.2
/* Gauge of cords of which nothing is said (common practice, no source). */
#define CORD_AWG 24

/* Warming in the middle of a bundle of n cables that lose heat_w_per_m in all, still air.  Scaled from a measured bundle: 100
 * cables of 24 AWG with 0.3 A in each of 8 wires, 7.2 K (read on a cabling white paper); by heat, and by the bundle's
 * surface, that is the root of n.  With 0.48 A that gives 18.4 K. */
double bundle_rise_k(unsigned n, double heat_w_per_m);

/* Greatest current in each wire of a bundle of n cables, for cable that may get as warm as limit_degc in air of ambient_degc.
 * NFPA 70 (NEC) 2017, table 725.144, 60 and 75 degC columns, from memory; corrected for other air than 30 degC by 310.15,
 * sqrt((limit - ambient) / (limit - 30)).  It serves as a warning, not as leave: local codes decide.  NaN where the table
 * says nothing (bundles beyond its rows, wires thinner than 26 AWG, limits under 60 degC). */
double bundle_current_max_a(int awg, unsigned n, double limit_degc, double ambient_degc);
/* The correction alone; 0 where the air is as warm as the cable may get. */
double ambient_correction(double limit_degc, double ambient_degc, double reference_degc);

#endif

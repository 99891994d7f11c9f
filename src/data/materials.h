/* materials.h - what houses are made of, as radio waves see it.
 *
 * Each material follows laws of the form of ITU-R P.2040-3 section 3: relative permittivity a * f^b and conductivity
 * c * f^d with f in GHz, each valid over a range of frequencies.  Most rows are that recommendation's Table 3; those it
 * lacks (water, tile, stone, wire lath ...) say where they come from.  Thin metal (foil, the coating of low-e glass) is an
 * ordinary layer of a few nanometres or micrometres: what counts is conductivity times thickness, the sheet conductance.
 * Wire lath is a sheet of which 1 mm of thickness stands for one layer of lath (see its row). */
#ifndef RT_DATA_MATERIALS_H
#define RT_DATA_MATERIALS_H

#include <complex.h>
#include <stdbool.h>
#include <stdint.h>

#include "base/str.h"

struct material_law {
    double f_min_ghz, f_max_ghz; /* where it holds */
    double a, b;                 /* relative permittivity a * f^b */
    double c_s_per_m, d;         /* conductivity c * f^d, S/m */
};

struct material {
    const char *name;
    const char *says; /* for a householder */
    const char *source;
    const struct material_law *laws; /* in the source's order; ranges may overlap, the first that holds is used */
    uint32_t n_laws;
};

uint32_t material_count(void);
/* i below material_count(). */
const struct material *material_get(uint32_t i);
/* The material of that name, or NULL. */
const struct material *material_find(struct str name);

/* True if one of the laws is valid at the frequency. */
bool material_covers(const struct material *m, double f_hz);
/* Complex relative permittivity a f^b - j sigma / (2 pi f eps0), time factor exp(+j w t): losses are negative imaginary.
 * Outside all ranges the law whose range is nearest is carried on (material_covers() tells).  f_hz > 0.
 * Source: ITU-R P.2040-3 section 3 (from memory). */
double complex material_permittivity(const struct material *m, double f_hz);

#endif

/* separation.h - how far a data cable keeps from mains cable beside it, and how full a pipe for cable may be.
 *
 * The distances are those of EN 50174-2:2000 (table read in two public copies): against noise, not in place of what the electrical
 * code asks for.  Later editions ask for less beside the few circuits of a house (A = S x P, from memory), so these are the careful
 * side there. */
#ifndef RT_DATA_SEPARATION_H
#define RT_DATA_SEPARATION_H

#include <stdbool.h>
#include <stdint.h>

enum divider { DIVIDER_NONE, DIVIDER_ALUMINIUM, DIVIDER_STEEL, DIVIDER_COUNT };

/* Least distance; a divider of plastic counts as none.  Fibre needs none and is not asked about. */
double separation_min_m(bool mains_screened, bool data_screened, enum divider divider);

/* The last so many metres of a cable, at the outlet, are exempt (EN 50174-2:2000, read). */
#define SEPARATION_EXEMPT_M 15.0

/* Share of a pipe's cross-section that n cables may take: 53 % for one, 31 % for two, 40 % for more (NFPA 70 (NEC) chapter 9
 * table 1, from memory). */
double fill_share_max(uint32_t n_cables);

#endif

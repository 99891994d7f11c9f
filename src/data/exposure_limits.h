/* exposure_limits.h - the most radio power density to which people may be exposed. */
#ifndef RT_DATA_EXPOSURE_LIMITS_H
#define RT_DATA_EXPOSURE_LIMITS_H

#include <stdbool.h>
#include <stdint.h>

#include "base/str.h"

struct exposure_limit {
    const char *name; /* word of the house file: icnirp_2020, fcc */
    const char *says; /* document, for people */
    bool is_public;   /* the general public; else workers who know */
    bool whole_body;  /* averaged over the body and a long time; else local */
    double from_hz, to_hz;
    double density_w_per_m2;
    double averaging_s;
    const char *clause; /* table or section, and how it was seen */
};

const struct exposure_limit *exposure_limits(uint32_t *n);
/* The whole-body limit for the public under this name at this frequency, or NULL. */
const struct exposure_limit *exposure_limit_public(struct str name, double f_hz);

#endif

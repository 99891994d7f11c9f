#include "data/exposure_limits.h"

/* clang-format off */
static const struct exposure_limit LIMITS[] = {
    { "icnirp_2020", "ICNIRP 2020",        true,  true,  2.0e9, 300e9, 10,  30 * 60, "Table 5, from memory" },
    { "icnirp_2020", "ICNIRP 2020",        true,  false, 2.0e9,   6e9, 40,   6 * 60, "Table 6, read as quoted by a textbook" },
    { "icnirp_2020", "ICNIRP 2020",        false, true,  2.0e9, 300e9, 50,  30 * 60, "Table 5, from memory" },
    { "icnirp_2020", "ICNIRP 2020",        false, false, 2.0e9,   6e9, 200,  6 * 60, "Table 6, read as quoted by a textbook" },
    { "fcc",         "FCC 47 CFR 1.1310",  true,  true,  1.5e9, 100e9, 10,  30 * 60, "Table 1 (1.0 mW/cm2), read as quoted from OET 65" },
    { "fcc",         "FCC 47 CFR 1.1310",  false, true,  1.5e9, 100e9, 50,   6 * 60, "Table 1 (5.0 mW/cm2), read as quoted from OET 65" },
};
/* clang-format on */

const struct exposure_limit *exposure_limits(uint32_t *n)
{
    *n = (uint32_t)RT_COUNT(LIMITS);
    return LIMITS;
}

const struct exposure_limit *exposure_limit_public(struct str name, double f_hz)
{
    for (size_t i = 0; i < RT_COUNT(LIMITS); i++) {
        const struct exposure_limit *l = &LIMITS[i];
        if (str_is(name, l->name) && l->is_public && l->whole_body && f_hz >= l->from_hz && f_hz <= l->to_hz)
            return l;
    }
    return NULL;
}

#include "radio/noise.h"

#include <math.h>

#include "base/units.h"

#define BOLTZMANN_J_PER_K 1.380649e-23
#define STANDARD_TEMPERATURE_K 290.0

double noise_floor_dbm(double width_hz, double noise_figure_db)
{
    return units_dbm_from_w(BOLTZMANN_J_PER_K * STANDARD_TEMPERATURE_K * width_hz) + noise_figure_db;
}

double noise_add_dbm(double a_dbm, double b_dbm)
{
    const double strong = fmax(a_dbm, b_dbm), weak = fmin(a_dbm, b_dbm);
    if (isinf(weak))
        return strong;
    return strong + 10.0 * log10(1.0 + units_ratio_from_db(weak - strong));
}

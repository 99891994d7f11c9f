#include "radio/exposure.h"

#include <math.h>

#include "base/units.h"

double exposure_density_w_per_m2(double eirp_dbm, double d_m, double reflection)
{
    return reflection * units_w_from_dbm(eirp_dbm) / (4.0 * RT_PI * d_m * d_m);
}

double exposure_distance_m(double eirp_dbm, double density_w_per_m2, double reflection)
{
    return sqrt(reflection * units_w_from_dbm(eirp_dbm) / (4.0 * RT_PI * density_w_per_m2));
}

double exposure_far_field_m(double size_m, double f_hz) { return 2.0 * size_m * size_m * f_hz / RT_C0_M_S; }

bool exposure_of_access_point(const ap_radio_list *radios, uint32_t equipment, struct str limit_name, double nearest_m,
                              double size_m, struct exposure *out)
{
    const double d_m = fmax(nearest_m, 0.01);
    struct exposure e = { 0 };
    double most = 0, at_1_m = 0; /* at_1_m: sum of fractions at 1 m, which falls with the square of the distance */
    for (uint32_t i = 0; i < radios->n; i++) {
        const struct ap_radio *r = &radios->v[i];
        if (r->equipment != equipment)
            continue;
        const struct exposure_limit *limit = exposure_limit_public(limit_name, r->centre_hz);
        if (!limit)
            return false;
        const double part =
            exposure_density_w_per_m2(r->eirp_dbm, 1.0, EXPOSURE_REFLECTION_WORST) / limit->density_w_per_m2;
        if (part > most) {
            most = part;
            e.limit = limit;
        }
        at_1_m += part;
        e.far_field_m = fmax(e.far_field_m, exposure_far_field_m(size_m, r->centre_hz));
        e.n_radios++;
    }
    e.fraction = at_1_m / (d_m * d_m);
    e.distance_m = sqrt(at_1_m);
    *out = e;
    return true;
}

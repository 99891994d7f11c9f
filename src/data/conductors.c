#include "data/conductors.h"

#include <math.h>
#include <stddef.h>

#include "base/compiler.h"
#include "base/units.h"

#define COPPER_OHM_MM2_PER_M 0.017241
#define COPPER_PER_K 0.00393
#define REFERENCE_DEGC 20.0

double awg_area_mm2(int awg)
{
    const double diameter_mm = 0.127 * pow(92.0, (36 - awg) / 39.0);
    return RT_PI / 4.0 * diameter_mm * diameter_mm;
}

int awg_of_area(double area_mm2)
{
    const double diameter_mm = sqrt(area_mm2 * 4.0 / RT_PI);
    return (int)lround(36.0 - 39.0 * log(diameter_mm / 0.127) / log(92.0));
}

double copper_ohm_per_m(double area_mm2, double temperature_degc)
{
    return COPPER_OHM_MM2_PER_M / area_mm2 * (1.0 + COPPER_PER_K * (temperature_degc - REFERENCE_DEGC));
}

/* ---- bundles ---- */

#define MEASURED_CABLES 100.0
#define MEASURED_A 0.3
#define MEASURED_WIRES 8.0
#define MEASURED_RISE_K 7.2

double bundle_rise_k(unsigned n, double heat_w_per_m)
{
    if (n == 0)
        return 0.0;
    const double measured_w_per_m =
        MEASURED_CABLES * MEASURED_WIRES * MEASURED_A * MEASURED_A * copper_ohm_per_m(awg_area_mm2(24), REFERENCE_DEGC);
    return MEASURED_RISE_K * (heat_w_per_m / measured_w_per_m) * sqrt(MEASURED_CABLES / n);
}

/* Bundles of the table's columns: up to so many cables. */
static const unsigned BUNDLES[] = { 1, 7, 19, 37, 61 };
enum { N_BUNDLES = RT_COUNT(BUNDLES) };

/* clang-format off */
static const struct {
    int awg;
    double limit_degc;
    double max_a[N_BUNDLES]; /* 0: not in the rows that are known */
} CURRENTS[] = {
    { 26, 60.0, { 1.0, 1.0, 0.7, 0.5, 0.0 } }, { 26, 75.0, { 1.0, 1.0, 0.8, 0.6, 0.0 } },
    { 24, 60.0, { 2.0, 1.0, 0.8, 0.6, 0.5 } }, { 24, 75.0, { 2.0, 1.4, 1.0, 0.7, 0.6 } },
    { 23, 60.0, { 2.5, 1.2, 0.8, 0.6, 0.5 } }, { 23, 75.0, { 2.5, 1.5, 1.1, 0.8, 0.7 } },
    { 22, 60.0, { 3.0, 1.4, 1.0, 0.7, 0.0 } }, { 22, 75.0, { 3.0, 1.8, 1.2, 0.9, 0.0 } },
};
/* clang-format on */
#define TABLE_DEGC 30.0

double ambient_correction(double limit_degc, double ambient_degc, double reference_degc)
{
    return sqrt(fmax(limit_degc - ambient_degc, 0.0) / (limit_degc - reference_degc));
}

double bundle_current_max_a(int awg, unsigned n, double limit_degc, double ambient_degc)
{
    size_t column = 0;
    while (column < N_BUNDLES && n > BUNDLES[column])
        column++;
    /* A gauge or limit between the rows takes the harsher row. */
    double best_a = RT_NOT_GIVEN;
    for (size_t i = 0; column < N_BUNDLES && i < RT_COUNT(CURRENTS); i++)
        if (CURRENTS[i].awg >= awg && CURRENTS[i].limit_degc <= limit_degc && CURRENTS[i].max_a[column] > 0.0) {
            const double max_a =
                CURRENTS[i].max_a[column] * ambient_correction(CURRENTS[i].limit_degc, ambient_degc, TABLE_DEGC);
            best_a = isnan(best_a) ? max_a : fmax(best_a, max_a);
        }
    return best_a;
}

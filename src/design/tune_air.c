#include "design/tune_air.h"

#include <math.h>

#include "load/airtime.h"
#include "radio/interference.h"

#define RASTER_HZ 20e6
#define MASK_STEPS 20
/* From the level beside an access point down to the noise: where noise rises by so much all but the nearest stations are lost, half of
 * them in the mean; by less in proportion (common practice, no source). */
#define LINK_RANGE_DB 50.0
#define STATIONS_HIT 0.5
#define BELOW_MASK_DB 10.0 /* a sender keeps clear of the mask (common practice, no source) */
#define BLIND_TIMES 2.0

static double low_hz(struct air_channel c) { return c.centre_hz - c.width_hz / 2.0; }
static double high_hz(struct air_channel c) { return c.centre_hz + c.width_hz / 2.0; }

bool air_takes_turns(struct air_channel x, struct air_channel y)
{
    const bool holds =
        (low_hz(x) <= low_hz(y) && high_hz(x) >= high_hz(y)) || (low_hz(y) <= low_hz(x) && high_hz(y) >= high_hz(x));
    const double steps = (low_hz(x) - low_hz(y)) / RASTER_HZ;
    return holds && fabs(steps - round(steps)) < 1e-6;
}

static double mask_db(double offset_hz, double width_hz)
{
    static const struct {
        double half_widths, mhz, db;
    } CORNERS[] = { { 1.0, -1.0, 0.0 }, { 1.0, 1.0, -20.0 }, { 2.0, 0.0, -28.0 }, { 3.0, 0.0, -40.0 } };
    double at_hz = 0.0, at_db = 0.0;
    for (size_t i = 0; i < sizeof CORNERS / sizeof CORNERS[0]; i++) {
        const double next_hz = CORNERS[i].half_widths * width_hz / 2.0 + CORNERS[i].mhz * 1e6;
        if (offset_hz <= next_hz)
            return at_db + (CORNERS[i].db - at_db) * (offset_hz - at_hz) / (next_hz - at_hz);
        at_hz = next_hz;
        at_db = CORNERS[i].db;
    }
    return -(double)INFINITY;
}

double air_mask_share(struct air_channel tx, struct air_channel rx)
{
    const double step_hz = rx.width_hz / MASK_STEPS;
    double sum = 0.0;
    for (int i = 0; i < MASK_STEPS; i++) {
        const double f_hz = low_hz(rx) + (i + 0.5) * step_hz;
        sum += pow(10.0, mask_db(fabs(f_hz - tx.centre_hz), tx.width_hz) / 10.0) * step_hz / tx.width_hz;
    }
    return fmin(sum, 1.0);
}

double air_loss_share(struct air_channel tx, double level_dbm, double busy_share, struct air_channel rx,
                      double rx_noise_dbm)
{
    const double overlap = interference_overlap_share(tx.centre_hz, tx.width_hz, rx.centre_hz, rx.width_hz);
    if (overlap > 0.0 && level_dbm + 10.0 * log10(overlap) >= DEFER_DBM)
        return air_takes_turns(tx, rx) ? busy_share : fmin(BLIND_TIMES * busy_share, 1.0);
    const double in_dbm =
        level_dbm + (overlap > 0.0 ? 10.0 * log10(overlap) : 10.0 * log10(air_mask_share(tx, rx)) - BELOW_MASK_DB);
    const double rise_db = 10.0 * log10(1.0 + pow(10.0, (in_dbm - rx_noise_dbm) / 10.0));
    return busy_share * STATIONS_HIT * fmin(rise_db / LINK_RANGE_DB, 1.0);
}

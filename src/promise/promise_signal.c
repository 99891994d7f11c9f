/* `signal`: these rooms hear (and are heard) at a level, at a given availability.
 *
 * At each spot the strongest radio of the band counts, as a device would choose it.  Several bands in one promise must each
 * keep it; without bands any one will do.  The uplink is judged at the radio that the downlink chose. */
#include <math.h>

#include "base/units.h"
#include "promise/coverage.h"
#include "promise/result.h"

struct signal_view {
    const struct promise *promise;
    const struct radio_ability *device;
};

/* How far a radio's link lies above the promised levels at a cell, in dB. */
static double excess_db(const struct signal_view *s, const struct ap_radio *radio, double gain_db)
{
    const struct promise *pr = s->promise;
    const struct link link = link_compute(radio, s->device, gain_db, pr->availability, -INFINITY);
    const double down_db = link.promised_level_dbm - pr->level_dbm;
    const double up_db = link.promised_uplink_level_dbm - given_or(pr->uplink_level_dbm, pr->level_dbm);
    switch (pr->direction) {
    case DIRECTION_DOWN:
        return down_db;
    case DIRECTION_UP:
        return up_db;
    case DIRECTION_BOTH:
        break;
    }
    return fmin(down_db, up_db);
}

/* The radio of the bands that is strongest at a cell, or NO_REF. */
static uint32_t chosen_radio(const struct signal_view *s, const struct fields *f, uint32_t bands, uint32_t grid,
                             uint32_t ix, uint32_t iy)
{
    uint32_t best = NO_REF;
    double best_dbm = -INFINITY;
    for (uint32_t r = 0; r < f->radios.n; r++) {
        const struct ap_radio *radio = &f->radios.v[r];
        if (!(bands & 1u << radio->band) || !link_is_possible(radio, s->device))
            continue;
        const double level_dbm = radio->power_dbm + (double)field_gain_db(f, grid, r, ix, iy);
        if (level_dbm > best_dbm) {
            best_dbm = level_dbm;
            best = r;
        }
    }
    return best;
}

/* The radio that decides at a cell: the one with the least excess over the bands that must each hold.  NO_REF, and an
 * excess of -INFINITY, if a band has no radio for the device; *band is that band, or the radio's. */
static uint32_t deciding_radio(const struct signal_view *s, const struct fields *f, uint32_t grid, uint32_t ix,
                               uint32_t iy, double *least_db, enum band *band)
{
    const uint32_t any = (1u << BAND_COUNT) - 1;
    uint32_t decides = NO_REF;
    *least_db = INFINITY;
    *band = BAND_COUNT;
    for (uint32_t b = 0; b < (s->promise->bands ? BAND_COUNT : 1u); b++) {
        const uint32_t bands = s->promise->bands ? s->promise->bands & 1u << b : any;
        if (!bands)
            continue;
        const uint32_t r = chosen_radio(s, f, bands, grid, ix, iy);
        double db = -INFINITY;
        if (r != NO_REF)
            db = excess_db(s, &f->radios.v[r], (double)field_gain_db(f, grid, r, ix, iy));
        if (db >= *least_db)
            continue;
        *least_db = db;
        decides = r;
        if (s->promise->bands)
            *band = (enum band)b;
    }
    return decides;
}

static double judged_level_dbm(const void *user, const struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy)
{
    const struct signal_view *s = user;
    double least_db;
    enum band band;
    deciding_radio(s, f, grid, ix, iy, &least_db, &band);
    return s->promise->level_dbm + least_db;
}

enum rt_code promise_signal(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                            struct rt_problems *p)
{
    struct arena *a = ev->run->arena;
    const struct signal_view view = { promise, evaluation_radio_of(ev, promise->device_kind) };
    if (!view.device)
        return result_unknown(ev, out, "say in `device_kind` whose radio is meant: `%.*s` has none",
                              STR_ARG(promise->device_kind));
    const struct room_demand demand = { .value = judged_level_dbm,
                                        .user = &view,
                                        .threshold = promise->level_dbm,
                                        .unit = "dB",
                                        .key = "level_dbm",
                                        .decimals = 1 };
    struct spot spot;
    double worst_dbm;
    bool decided;
    fact_num(a, out->evidence, "wanted_level_dbm", promise->level_dbm, 1);
    fact_num(a, out->evidence, "availability", promise->availability, 3);
    RT_TRY(judge_rooms(ev, promise, &demand, out, &spot, &worst_dbm, &decided, p));
    if (!decided)
        return RT_OK;
    const struct fields *f;
    RT_TRY(evaluation_fields(ev, ev->options.trace.estimate, &f, p));
    double least_db;
    enum band band;
    const uint32_t r = deciding_radio(&view, f, spot.grid, spot.ix, spot.iy, &least_db, &band);
    if (r == NO_REF)
        return result_no_radio(ev, out, band);
    const char *title = arena_printf(a, "\u2212%.0f dBm here", -worst_dbm);
    return result_at_spot(ev, &f->radios.v[r], f->grids.v[spot.grid].floor, spot.at_m, title, out, p);
}

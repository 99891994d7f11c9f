/* `signal`: these rooms hear (and are heard) at a level, at a given availability.
 *
 * At each spot the strongest radio of the band counts, as a device would choose it.  Several bands in one promise must each
 * keep it; without bands any one will do.  The uplink is judged at the radio that the downlink chose. */
#include <math.h>

#include "base/units.h"
#include "promise/radio_judge.h"
#include "promise/result.h"

struct signal_view {
    const struct evaluation *ev;
    const struct promise *promise;
    const struct radio_ability *device;
};

/* The radio of the bands that is strongest at a cell, or NO_REF. */
static uint32_t chosen_radio(const struct signal_view *s, const struct fields *f, uint32_t bands, uint32_t grid,
                             uint32_t ix, uint32_t iy)
{
    uint32_t best = NO_REF;
    double best_dbm = -INFINITY;
    for (uint32_t r = 0; r < f->radios.n; r++) {
        const struct ap_radio *radio = &f->radios.v[r];
        if (!radio_may_serve(radio, s->device, bands) || evaluation_radio_is_dead(s->ev, r))
            continue;
        const double level_dbm = radio_strength_dbm(radio, (double)field_gain_db(f, grid, r, ix, iy));
        if (level_dbm > best_dbm) {
            best_dbm = level_dbm;
            best = r;
        }
    }
    return best;
}

/* The judged level is the promised one plus the least excess over the bands that must each hold.  A band without a radio
 * for the device decides at once: NO_REF, and a level of -INFINITY. */
static uint32_t deciding_radio(const void *user, const struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy,
                               double *level_dbm)
{
    const struct signal_view *s = user;
    uint32_t decides = NO_REF;
    *level_dbm = INFINITY;
    for (uint32_t b = 0; b < (s->promise->bands ? BAND_COUNT : 1u); b++) {
        const uint32_t bands = s->promise->bands ? s->promise->bands & 1u << b : ALL_BANDS;
        if (!bands)
            continue;
        const uint32_t r = chosen_radio(s, f, bands, grid, ix, iy);
        double dbm = -INFINITY;
        if (r != NO_REF)
            dbm = s->promise->level_dbm + radio_signal_excess_db(s->promise, &f->radios.v[r], s->device,
                                                                 (double)field_gain_db(f, grid, r, ix, iy));
        if (dbm < *level_dbm) {
            *level_dbm = dbm;
            decides = r;
        }
    }
    return decides;
}

/* Both directions of the radio that decides: what is judged is a promised level and an excess over it, which nobody could read. */
static struct cell_figures levels_met(const void *user, const struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy)
{
    const struct signal_view *s = user;
    double judged;
    const uint32_t r = deciding_radio(user, f, grid, ix, iy, &judged);
    if (r == NO_REF)
        return (struct cell_figures){ -INFINITY, -INFINITY };
    const struct radio_levels levels =
        radio_signal_levels(s->promise, &f->radios.v[r], s->device, (double)field_gain_db(f, grid, r, ix, iy));
    return (struct cell_figures){ levels.down_dbm, levels.up_dbm };
}

enum rt_code signal_coverage(const struct run *run, const struct house *h, const struct fields *f,
                             const struct promise *promise, struct coverage *out, struct rt_problems *p)
{
    const struct evaluation whole = { .run = run, .h = h };
    const struct signal_view view = { &whole, promise, evaluation_radio_of(&whole, promise->device_kind) };
    const struct room_demand demand = { .judge = deciding_radio, .user = &view, .threshold = promise->level_dbm };
    *out = (struct coverage){ 0 };
    return view.device ? coverage_of_promise(run, h, f, promise, &demand, out, p) : RT_OK;
}

/* The first of the promised bands that no access point of the house serves for the device; BAND_COUNT: any band. */
static enum band band_without_radio(const struct evaluation *ev, const struct signal_view *s)
{
    for (uint32_t b = 0; b < BAND_COUNT; b++) {
        bool served = !(s->promise->bands & 1u << b);
        for (uint32_t r = 0; r < ev->radios.n; r++)
            served =
                served || (radio_may_serve(&ev->radios.v[r], s->device, 1u << b) && !evaluation_radio_is_dead(ev, r));
        if (!served)
            return (enum band)b;
    }
    return BAND_COUNT;
}

enum rt_code promise_signal(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                            struct rt_problems *p)
{
    const struct signal_view view = { ev, promise, result_device(ev, promise, out) };
    if (!view.device)
        return RT_OK;
    const bool asks_back = promise->direction != DIRECTION_DOWN;
    const struct room_demand demand = { .judge = deciding_radio,
                                        .tell = asks_back ? levels_met : NULL,
                                        .user = &view,
                                        .threshold = promise->level_dbm,
                                        .unit = "dB",
                                        .key = "level_dbm",
                                        .back_key = asks_back ? "uplink_level_dbm" : NULL,
                                        .decimals = 1 };
    struct decision decision;
    fact_num(ev->run->arena, out->evidence, "wanted_level_dbm", promise->level_dbm, 1);
    if (asks_back)
        fact_num(ev->run->arena, out->evidence, "wanted_uplink_level_dbm",
                 given_or(promise->uplink_level_dbm, promise->level_dbm), 1);
    RT_TRY(judge_rooms(ev, promise, &demand, out, &decision, p));
    if (!decision.is_made)
        return RT_OK;
    if (!decision.radio)
        return result_no_radio(ev, out, band_without_radio(ev, &view));
    const bool is_back =
        radio_uplink_decides(promise, (struct radio_levels){ decision.met.there, decision.met.way_back });
    const char *title = is_back
                            ? arena_printf(ev->run->arena, "uplink \u2212%.0f dBm from here", -decision.met.way_back)
                            : arena_printf(ev->run->arena, "\u2212%.0f dBm here", -decision.met.there);
    return result_at_spot(ev, &decision, title, out, p);
}

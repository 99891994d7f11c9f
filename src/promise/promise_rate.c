/* `rate`: a kind of device gets its payload rate in these rooms.
 *
 * Alone: no other station of the house is on the air; the neighbours' cells are, as noise, for their share of the time.
 * The busy hour needs the demand of the whole household and is judged where that is computed. */
#include <math.h>

#include "base/units.h"
#include "promise/coverage.h"
#include "promise/result.h"
#include "radio/interference.h"

struct rate_view {
    const struct evaluation *ev;
    const struct promise *promise;
    const struct radio_ability *device;
};

static double judged_mbps_of(const struct rate_view *v, const struct ap_radio *radio, uint32_t floor, double gain_db)
{
    const double noise_dbm = interference_neighbours_dbm(v->ev->h, floor, radio->centre_hz, radio->width_hz);
    const struct link link = link_compute(radio, v->device, gain_db, v->promise->availability, noise_dbm);
    const double down = link.payload_mbps;
    if (!is_given(v->promise->up_mbps))
        return down;
    /* The direction that falls shorter of its own promise decides. */
    return fmin(down, link.uplink_payload_mbps - v->promise->up_mbps + v->promise->mbps);
}

static uint32_t best_radio(const struct rate_view *v, const struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy,
                           double *mbps)
{
    uint32_t best = NO_REF;
    *mbps = 0.0;
    for (uint32_t r = 0; r < f->radios.n; r++) {
        const struct ap_radio *radio = &f->radios.v[r];
        if ((v->promise->bands && !(v->promise->bands & 1u << radio->band)) || !link_is_possible(radio, v->device))
            continue;
        const double gain_db = (double)field_gain_db(f, grid, r, ix, iy);
        const double rate = judged_mbps_of(v, radio, f->grids.v[grid].floor, gain_db);
        if (best == NO_REF || rate > *mbps) {
            best = r;
            *mbps = rate;
        }
    }
    return best;
}

static double judged_mbps(const void *user, const struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy)
{
    double mbps;
    best_radio(user, f, grid, ix, iy, &mbps);
    return mbps;
}

enum rt_code promise_rate(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                          struct rt_problems *p)
{
    struct arena *a = ev->run->arena;
    if (promise->when == WHEN_BUSY_HOUR)
        return result_unknown(ev, out, "the busy hour is not evaluated by this version");
    const struct rate_view view = { ev, promise, evaluation_radio_of(ev, promise->device_kind) };
    if (!view.device)
        return result_unknown(ev, out, "say in `device_kind` whose radio is meant: `%.*s` has none",
                              STR_ARG(promise->device_kind));
    const struct room_demand demand = {
        .value = judged_mbps, .user = &view, .threshold = promise->mbps, .unit = "Mb/s", .key = "mbps", .decimals = 0
    };
    struct spot spot;
    double worst_mbps;
    bool decided;
    fact_num(a, out->evidence, "wanted_mbps", promise->mbps, 1);
    fact_num(a, out->evidence, "wanted_up_mbps", promise->up_mbps, 1);
    fact_num(a, out->evidence, "availability", promise->availability, 3);
    RT_TRY(judge_rooms(ev, promise, &demand, out, &spot, &worst_mbps, &decided, p));
    if (!decided)
        return RT_OK;
    const struct fields *f;
    RT_TRY(evaluation_fields(ev, ev->options.trace.estimate, &f, p));
    const uint32_t r = best_radio(&view, f, spot.grid, spot.ix, spot.iy, &worst_mbps);
    if (r == NO_REF)
        return result_no_radio(ev, out, BAND_COUNT);
    const char *title = arena_printf(a, "%.0f Mb/s here", fmax(worst_mbps, 0.0));
    return result_at_spot(ev, &f->radios.v[r], f->grids.v[spot.grid].floor, spot.at_m, title, out, p);
}

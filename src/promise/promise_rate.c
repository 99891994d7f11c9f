/* `rate`: a kind of device gets its payload rate in these rooms.
 *
 * Alone: no other station of the house is on the air; the neighbours' cells are, as noise, for their share of the time.
 * The busy hour needs the demand of the whole household and is judged where that is computed. */
#include <math.h>

#include "base/units.h"
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

static uint32_t best_radio(const void *user, const struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy,
                           double *mbps)
{
    const struct rate_view *v = user;
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

enum rt_code promise_rate(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                          struct rt_problems *p)
{
    if (promise->when == WHEN_BUSY_HOUR)
        return result_unknown(ev, out, "the busy hour is not evaluated by this version");
    const struct rate_view view = { ev, promise, result_device(ev, promise, out) };
    if (!view.device)
        return RT_OK;
    const struct room_demand demand = {
        .judge = best_radio, .user = &view, .threshold = promise->mbps, .unit = "Mb/s", .key = "mbps", .decimals = 0
    };
    struct decision decision;
    fact_num(ev->run->arena, out->evidence, "wanted_mbps", promise->mbps, 1);
    fact_num(ev->run->arena, out->evidence, "wanted_up_mbps", promise->up_mbps, 1);
    RT_TRY(judge_rooms(ev, promise, &demand, out, &decision, p));
    if (!decision.is_made)
        return RT_OK;
    if (!decision.radio)
        return result_no_radio(ev, out, BAND_COUNT);
    const char *title = arena_printf(ev->run->arena, "%.0f Mb/s here", fmax(decision.value, 0.0));
    return result_at_spot(ev, &decision, title, out, p);
}

/* `roaming`: in these rooms a second access point is heard well enough to take over before the first is lost. */
#include <math.h>

#include "promise/radio_judge.h"
#include "promise/result.h"

struct roaming_view {
    const struct evaluation *ev;
    const struct promise *promise;
    const struct radio_ability *device;
};

/* The second access point: the strongest radio that is not of the same equipment as the strongest one. */
static uint32_t second_radio(const struct roaming_view *v, const struct fields *f, uint32_t bands, uint32_t grid,
                             uint32_t ix, uint32_t iy, double *level_dbm)
{
    uint32_t first = NO_REF, second = NO_REF;
    double first_dbm = -INFINITY, second_dbm = -INFINITY;
    for (uint32_t r = 0; r < f->radios.n; r++) {
        const struct ap_radio *radio = &f->radios.v[r];
        if (!radio_may_serve(radio, v->device, bands) || evaluation_radio_is_dead(v->ev, r))
            continue;
        const double gain_db = (double)field_gain_db(f, grid, r, ix, iy);
        const double dbm = radio_roaming_level_dbm(v->promise, radio, v->device, gain_db);
        const bool same = first != NO_REF && radio->equipment == f->radios.v[first].equipment;
        if (dbm > first_dbm) {
            if (!same) {
                second = first;
                second_dbm = first_dbm;
            }
            first = r;
            first_dbm = dbm;
        } else if (!same && dbm > second_dbm) {
            second = r;
            second_dbm = dbm;
        }
    }
    *level_dbm = second_dbm;
    return second;
}

/* Each band that is named must offer a second access point; without bands any one will do. */
static uint32_t deciding_second(const void *user, const struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy,
                                double *level_dbm)
{
    const struct roaming_view *v = user;
    if (!v->promise->bands)
        return second_radio(v, f, ALL_BANDS, grid, ix, iy, level_dbm);
    uint32_t worst = NO_REF;
    *level_dbm = INFINITY;
    for (uint32_t b = 0; b < BAND_COUNT; b++) {
        if (!(v->promise->bands & 1u << b))
            continue;
        double dbm;
        const uint32_t r = second_radio(v, f, 1u << b, grid, ix, iy, &dbm);
        if (dbm < *level_dbm) {
            *level_dbm = dbm;
            worst = r;
        }
    }
    return worst;
}

enum rt_code promise_roaming(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                             struct rt_problems *p)
{
    const struct roaming_view view = { ev, promise, result_device(ev, promise, out) };
    if (!view.device)
        return RT_OK;
    const struct room_demand demand = { .judge = deciding_second,
                                        .user = &view,
                                        .threshold = promise->level_dbm,
                                        .unit = "dB",
                                        .key = "second_level_dbm",
                                        .decimals = 1 };
    struct decision decision;
    fact_num(ev->run->arena, out->evidence, "wanted_level_dbm", promise->level_dbm, 1);
    RT_TRY(judge_rooms(ev, promise, &demand, out, &decision, p));
    if (!decision.is_made)
        return RT_OK;
    if (!decision.radio)
        return result_broken(ev, out, "there is no second access point to change to");
    const char *title = arena_printf(ev->run->arena, "second access point \u2212%.0f dBm here", -decision.met.there);
    return result_at_spot(ev, &decision, title, out, p);
}

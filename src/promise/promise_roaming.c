/* `roaming`: in these rooms a second access point is heard well enough to take over before the first is lost. */
#include <math.h>

#include "base/units.h"
#include "promise/coverage.h"
#include "promise/result.h"

struct roaming_view {
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
        if (!(bands & 1u << radio->band) || !link_is_possible(radio, v->device))
            continue;
        const double gain_db = (double)field_gain_db(f, grid, r, ix, iy);
        const double dbm =
            link_compute(radio, v->device, gain_db, v->promise->availability, -INFINITY).promised_level_dbm;
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
static uint32_t deciding_second(const struct roaming_view *v, const struct fields *f, uint32_t grid, uint32_t ix,
                                uint32_t iy, double *level_dbm)
{
    const uint32_t all = (1u << BAND_COUNT) - 1;
    if (!v->promise->bands)
        return second_radio(v, f, all, grid, ix, iy, level_dbm);
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

static double judged_level_dbm(const void *user, const struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy)
{
    double level_dbm;
    deciding_second(user, f, grid, ix, iy, &level_dbm);
    return level_dbm;
}

enum rt_code promise_roaming(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                             struct rt_problems *p)
{
    struct arena *a = ev->run->arena;
    const struct roaming_view view = { promise, evaluation_radio_of(ev, promise->device_kind) };
    if (!view.device)
        return result_unknown(ev, out, "say in `device_kind` whose radio is meant: `%.*s` has none",
                              STR_ARG(promise->device_kind));
    const struct room_demand demand = { .value = judged_level_dbm,
                                        .user = &view,
                                        .threshold = promise->level_dbm,
                                        .unit = "dB",
                                        .key = "second_level_dbm",
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
    const uint32_t r = deciding_second(&view, f, spot.grid, spot.ix, spot.iy, &worst_dbm);
    if (r == NO_REF)
        return result_broken(ev, out, "there is no second access point to change to");
    const char *title = arena_printf(a, "second access point \u2212%.0f dBm here", -worst_dbm);
    return result_at_spot(ev, &f->radios.v[r], f->grids.v[spot.grid].floor, spot.at_m, title, out, p);
}

/* `rate`: a kind of device gets its payload rate in these rooms.
 *
 * Alone: no other station of the house is on the air; the neighbours' cells are, as noise, for their share of the time.
 * In the busy hour, each radio's own: it takes turns with the mean traffic of the household and with whatever else is on the
 * channel (load/airtime.h), and no more comes through the access point's cable than others leave there. */
#include <math.h>

#include "base/units.h"
#include "promise/line_facts.h"
#include "promise/radio_judge.h"
#include "promise/result.h"

/* A radio in its busiest hour. */
struct busy_radio {
    unsigned hour;
    struct air_curve curve;
    double wire_down_mbps, wire_up_mbps; /* left on its access point's cable */
};

struct rate_view {
    const struct evaluation *ev;
    const struct promise *promise;
    const struct radio_ability *device;
    const struct busy_radio *busy; /* as ev->radios; NULL: alone */
};

static double judged_mbps_of(const struct rate_view *v, uint32_t r, uint32_t floor, double gain_db)
{
    const struct ap_radio *radio = &v->ev->radios.v[r];
    struct radio_rates rates = radio_rates_alone(v->ev->h, v->promise, radio, v->device, floor, gain_db);
    if (v->busy) {
        const struct busy_radio *b = &v->busy[r];
        rates.down_mbps = fmin(air_curve_at(&b->curve, rates.down_mbps), b->wire_down_mbps);
        rates.up_mbps = fmin(air_curve_at(&b->curve, rates.up_mbps), b->wire_up_mbps);
    }
    return radio_judged_mbps(v->promise, rates);
}

static uint32_t best_radio(const void *user, const struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy,
                           double *mbps)
{
    const struct rate_view *v = user;
    uint32_t best = NO_REF;
    *mbps = 0.0;
    for (uint32_t r = 0; r < f->radios.n; r++) {
        const struct ap_radio *radio = &f->radios.v[r];
        if (!radio_may_serve(radio, v->device, v->promise->bands ? v->promise->bands : ALL_BANDS) ||
            evaluation_radio_is_dead(v->ev, r))
            continue;
        const double gain_db = (double)field_gain_db(f, grid, r, ix, iy);
        const double rate = judged_mbps_of(v, r, f->grids.v[grid].floor, gain_db);
        if (best == NO_REF || rate > *mbps) {
            best = r;
            *mbps = rate;
        }
    }
    return best;
}

/* ---- the busy hour ---- */

static void wire_left(const struct evaluation *ev, const struct demand *d, struct busy_radio *b, uint32_t equipment)
{
    const uint32_t cable = ev->tree->parent_cable[equipment];
    double down[HOURS_OF_WEEK], up[HOURS_OF_WEEK];
    b->wire_down_mbps = b->wire_up_mbps = (double)INFINITY;
    if (cable == NO_REF) /* the gateway's own radio */
        return;
    const struct load_point *point = &d->points.v[demand_cable_point(cable)];
    demand_means(d, demand_cable_point(cable), LOAD_DOWN, down);
    demand_means(d, demand_cable_point(cable), LOAD_UP, up);
    if (is_given(point->down_mbps))
        b->wire_down_mbps = fmax(point->down_mbps - down[b->hour], 0.0);
    if (is_given(point->up_mbps))
        b->wire_up_mbps = fmax(point->up_mbps - up[b->hour], 0.0);
}

static enum rt_code find_busy(struct evaluation *ev, struct rate_view *v, struct fact *evidence, struct rt_problems *p)
{
    struct arena *a = ev->run->arena;
    const struct airtime *air = NULL;
    struct busy_radio *busy = ARENA_ARRAY(a, struct busy_radio, ev->radios.n);
    struct fact *list = fact_array(a, evidence, "air");
    RT_TRY(evaluation_airtime(ev, &air, p));
    if (!busy || !list)
        return rt_fail_memory(p);
    for (uint32_t r = 0; r < ev->radios.n; r++) {
        const struct ap_radio *radio = &ev->radios.v[r];
        if (evaluation_radio_is_dead(ev, r))
            continue;
        busy[r].hour = airtime_busy_hour(air, r);
        RT_TRY(air_curve_make(air, r, busy[r].hour, &busy[r].curve, p));
        wire_left(ev, air->demand, &busy[r], radio->equipment);
        struct fact *o = fact_object(a, list, NULL);
        fact_str(a, o, "access_point", ev->h->equipment.v[radio->equipment].id);
        fact_text(a, o, "band", band_name(radio->band));
        fact_str(a, o, "hour", radio_hour_words(a, air, r));
        fact_num(a, o, "busy_share", airtime_busy(air, r, busy[r].hour, 1.0), 3);
        fact_num(a, o, "mbps_of_256_alone", air_curve_at(&busy[r].curve, 256.0), 1);
        fact_num(a, o, "wire_left_mbps", isfinite(busy[r].wire_down_mbps) ? busy[r].wire_down_mbps : RT_NOT_GIVEN, 0);
    }
    v->busy = busy;
    return RT_OK;
}

/* The hour, and how full the channel is then, behind the words about the spot. */
static enum rt_code add_hour(struct evaluation *ev, const struct decision *decision, struct promise_result *out,
                             struct rt_problems *p)
{
    const struct airtime *air = NULL;
    const uint32_t r = (uint32_t)(decision->radio - ev->radios.v);
    RT_TRY(evaluation_airtime(ev, &air, p));
    const unsigned hour = airtime_busy_hour(air, r);
    const bool is_flat = airtime_is_flat(air, r);
    const struct str when = is_flat ? STR("") : radio_hour_words(ev->run->arena, air, r);
    out->reason = str_from(arena_printf(
        ev->run->arena, "%.*s; the %s GHz channel of %.*s is taken for %.0f %% of %s%.*s", STR_ARG(out->reason),
        band_name(decision->radio->band), STR_ARG(ev->h->equipment.v[decision->radio->equipment].id),
        100.0 * airtime_busy(air, r, hour, 1.0), is_flat ? "every hour" : "its busiest hour, ", STR_ARG(when)));
    return out->reason.p ? RT_OK : rt_fail_memory(p);
}

enum rt_code promise_rate(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                          struct rt_problems *p)
{
    struct rate_view view = { ev, promise, result_device(ev, promise, out), NULL };
    if (!view.device)
        return RT_OK;
    const struct room_demand demand = {
        .judge = best_radio, .user = &view, .threshold = promise->mbps, .unit = "Mb/s", .key = "mbps", .decimals = 0
    };
    struct decision decision;
    fact_num(ev->run->arena, out->evidence, "wanted_mbps", promise->mbps, 1);
    fact_num(ev->run->arena, out->evidence, "wanted_up_mbps", promise->up_mbps, 1);
    if (promise->when == WHEN_BUSY_HOUR)
        RT_TRY(find_busy(ev, &view, out->evidence, p));
    RT_TRY(judge_rooms(ev, promise, &demand, out, &decision, p));
    if (!decision.is_made)
        return RT_OK;
    if (!decision.radio)
        return result_no_radio(ev, out, BAND_COUNT);
    const char *title = arena_printf(ev->run->arena, "%.0f Mb/s here", fmax(decision.met.there, 0.0));
    RT_TRY(result_at_spot(ev, &decision, title, out, p));
    return view.busy ? add_hour(ev, &decision, out, p) : RT_OK;
}

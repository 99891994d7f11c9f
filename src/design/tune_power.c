/* Powers, lowered in turn by one dB at a time as long as what held at the most power still holds.
 *
 * Gains do not hold power, so each cell of a promised room needs of each radio some least power to be served by it: looked up once,
 * after which a step costs a comparison for each cell.  What that leaves out (which radio a device prefers, quiet, the air in the
 * busy hour) is judged by the promises' own evaluators at the end, and powers go up again until they agree. */
#include <math.h>

#include "base/units.h"
#include "design/house_tune_int.h"
#include "promise/coverage.h"
#include "promise/radio_judge.h"

#define HEADROOM_DB 1.0
#define LACK_DB 60.0 /* what is broken by more is not held up */
#define SAME_DB 1e-3
#define FAR_DB 1000.0 /* so much more power, and only the way back counts; so much less, and only the way there */

struct power_room {
    uint32_t n_cells, wanted;
    double *least_dbm; /* [n_cells][radios]; infinite: never */
};

struct power_promise {
    const struct promise *promise;
    const struct radio_ability *device;
    uint32_t at_least;    /* access points at each cell */
    double headroom_db;   /* to be left: what there is at the most power, up to HEADROOM_DB; below 0: it is not kept */
    bool survives_losses; /* of any one access point */
    LIST(struct power_room) rooms;
};

struct lowering {
    const struct house_tuner *t;
    const struct evaluation *ev;
    struct arena *arena;
    struct air_curve *curves; /* [radios] */
    LIST(struct power_promise) promises;
    double *power_dbm;
};

/* ---- the least power at a cell ---- */

static double least_for_level(const struct promise *q, const struct radio_ability *device, const struct ap_radio *radio,
                              double gain_db)
{
    if (q->kind == PROMISE_ROAMING)
        return radio->power_dbm - (radio_roaming_level_dbm(q, radio, device, gain_db) - q->level_dbm);
    struct ap_radio loud = *radio, low = *radio;
    loud.power_dbm += FAR_DB;
    low.power_dbm -= FAR_DB;
    if (radio_signal_excess_db(q, &loud, device, gain_db) < 0.0) /* the way back */
        return (double)INFINITY;
    if (q->direction == DIRECTION_UP)
        return -(double)INFINITY;
    return low.power_dbm - radio_signal_excess_db(q, &low, device, gain_db);
}

static bool has_rate(const struct lowering *l, const struct power_promise *pp, uint32_t r, uint32_t floor,
                     double power_dbm, double gain_db)
{
    struct ap_radio radio = l->ev->radios.v[r];
    radio.power_dbm = power_dbm;
    struct radio_rates rates = radio_rates_alone(l->t->h, pp->promise, &radio, pp->device, floor, gain_db);
    if (pp->promise->when == WHEN_BUSY_HOUR) {
        rates.down_mbps = air_curve_at(&l->curves[r], rates.down_mbps);
        rates.up_mbps = air_curve_at(&l->curves[r], rates.up_mbps);
    }
    return radio_judged_mbps(pp->promise, rates) >= pp->promise->mbps;
}

/* In whole dB below the most, or above it, where the rate is short. */
static double least_for_rate(const struct lowering *l, const struct power_promise *pp, uint32_t r, uint32_t floor,
                             double gain_db)
{
    const double most_dbm = l->ev->radios.v[r].power_dbm;
    int holds = -(int)LACK_DB, fails = (int)ceil(most_dbm - TUNE_LEAST_DBM) + 2; /* a dB of headroom below the least */
    if (!has_rate(l, pp, r, floor, most_dbm - holds, gain_db))
        return (double)INFINITY;
    while (fails - holds > 1) {
        const int middle = holds + (fails - holds) / 2;
        if (has_rate(l, pp, r, floor, most_dbm - middle, gain_db))
            holds = middle;
        else
            fails = middle;
    }
    return most_dbm - holds;
}

static double least_of(const struct lowering *l, const struct power_promise *pp, uint32_t r, uint32_t grid, uint32_t ix,
                       uint32_t iy)
{
    const struct fields *f = l->ev->fields[l->ev->options.trace.estimate];
    const struct ap_radio *radio = &l->ev->radios.v[r];
    const double gain_db = (double)field_gain_db(f, grid, r, ix, iy);
    if (!radio_may_serve(radio, pp->device, pp->promise->bands ? pp->promise->bands : ALL_BANDS))
        return (double)INFINITY;
    if (pp->promise->kind == PROMISE_RATE)
        return least_for_rate(l, pp, r, f->grids.v[grid].floor, gain_db);
    return least_for_level(pp->promise, pp->device, radio, gain_db);
}

static bool make_room(const struct lowering *l, const struct power_promise *pp, uint32_t room, uint32_t g,
                      struct power_room *out)
{
    const struct grid *grid = &l->ev->fields[l->ev->options.trace.estimate]->grids.v[g];
    const uint32_t n = l->ev->radios.n;
    *out = (struct power_room){ 0 };
    for (uint32_t iy = 0; iy < grid->ny; iy++)
        for (uint32_t ix = 0; ix < grid->nx; ix++)
            out->n_cells += cell_is_in_room(l->t->h, grid, room, ix, iy);
    out->least_dbm = ARENA_ARRAY(l->arena, double, (size_t)out->n_cells *n);
    if (out->n_cells == 0)
        return true;
    if (!out->least_dbm)
        return false;
    double *least_dbm = out->least_dbm;
    uint32_t n_possible = 0;
    for (uint32_t iy = 0; iy < grid->ny; iy++)
        for (uint32_t ix = 0; ix < grid->nx; ix++) {
            bool is_possible = false;
            if (!cell_is_in_room(l->t->h, grid, room, ix, iy))
                continue;
            for (uint32_t r = 0; r < n; r++, least_dbm++) {
                *least_dbm = least_of(l, pp, r, g, ix, iy);
                is_possible |= *least_dbm < (double)INFINITY;
            }
            n_possible += is_possible;
        }
    const uint32_t wanted = cells_wanted(pp->promise->area_share, out->n_cells);
    out->wanted = wanted < n_possible ? wanted : n_possible;
    return true;
}

static bool add_promise(struct lowering *l, uint32_t i)
{
    const struct promise *q = &l->t->h->promises.v[i];
    struct power_promise *pp = &l->promises.v[l->promises.n];
    *pp = (struct power_promise){ .promise = q,
                                  .device = evaluation_radio_of(l->ev, q->device_kind),
                                  .at_least = q->kind == PROMISE_ROAMING ? 2 : 1 };
    if (!pp->device)
        return true;
    pp->rooms.v = ARENA_ARRAY(l->arena, struct power_room, l->t->h->rooms.n);
    if (!pp->rooms.v)
        return false;
    const struct fields *f = l->ev->fields[l->ev->options.trace.estimate];
    for (uint32_t room = 0; room < l->t->h->rooms.n; room++) {
        const uint32_t g = room_is_meant(q, room) ? coverage_grid_of(l->t->h, f, q, room) : NO_REF;
        if (g == NO_REF)
            continue;
        if (!make_room(l, pp, room, g, &pp->rooms.v[pp->rooms.n]))
            return false;
        pp->rooms.n += pp->rooms.v[pp->rooms.n].n_cells > 0;
    }
    l->promises.n++;
    return true;
}

/* ---- do they hold? ---- */

/* Access points of the bands (bits) that serve a cell, counted up to `enough`; radios of one follow each other. */
static uint32_t count_serving(const struct lowering *l, const double *least_dbm, double headroom_db, uint32_t bands,
                              uint32_t without, uint32_t enough)
{
    const ap_radio_list *radios = &l->ev->radios;
    uint32_t n = 0, last = NO_REF;
    for (uint32_t r = 0; r < radios->n && n < enough; r++) {
        const uint32_t e = radios->v[r].equipment;
        if (e != last && e != without && bands >> radios->v[r].band & 1u &&
            l->power_dbm[r] - headroom_db >= least_dbm[r]) {
            last = e;
            n++;
        }
    }
    return n;
}

/* Signal and roaming ask it of each band that is named; rate of any of them. */
static bool serves_cell(const struct lowering *l, const struct power_promise *pp, const double *least_dbm,
                        uint32_t without)
{
    const uint32_t bands = pp->promise->bands ? pp->promise->bands : ALL_BANDS;
    if (!pp->promise->bands || pp->promise->kind == PROMISE_RATE)
        return count_serving(l, least_dbm, pp->headroom_db, bands, without, pp->at_least) >= pp->at_least;
    for (uint32_t b = 0; b < BAND_COUNT; b++)
        if (bands >> b & 1u &&
            count_serving(l, least_dbm, pp->headroom_db, 1u << b, without, pp->at_least) < pp->at_least)
            return false;
    return true;
}

static bool rooms_hold(const struct lowering *l, const struct power_promise *pp, uint32_t without)
{
    for (uint32_t i = 0; i < pp->rooms.n; i++) {
        const struct power_room *room = &pp->rooms.v[i];
        uint32_t n = 0;
        for (uint32_t c = 0; c < room->n_cells && n < room->wanted; c++)
            n += serves_cell(l, pp, &room->least_dbm[(size_t)c * l->ev->radios.n], without);
        if (n < room->wanted)
            return false;
    }
    return true;
}

static bool promise_holds(const struct lowering *l, const struct power_promise *pp)
{
    bool holds = rooms_hold(l, pp, NO_REF);
    for (uint32_t r = 0; r < l->ev->radios.n && pp->survives_losses && holds; r++)
        if (r == 0 || l->ev->radios.v[r].equipment != l->ev->radios.v[r - 1].equipment)
            holds = rooms_hold(l, pp, l->ev->radios.v[r].equipment);
    return holds;
}

static bool all_hold(const struct lowering *l)
{
    for (uint32_t i = 0; i < l->promises.n; i++)
        if (!promise_holds(l, &l->promises.v[i]))
            return false;
    return true;
}

/* ---- what is held ---- */

static bool is_about_rooms(enum promise_kind kind)
{
    return kind == PROMISE_SIGNAL || kind == PROMISE_RATE || kind == PROMISE_ROAMING;
}

/* Named by a promise to survive? */
static bool is_to_survive(const struct lowering *l, uint32_t promise)
{
    const struct house *h = l->t->h;
    for (uint32_t i = 0; i < h->promises.n; i++) {
        if (!l->t->asked[i] || h->promises.v[i].kind != PROMISE_SURVIVE)
            continue;
        for (uint32_t k = 0; k < h->promises.v[i].promises.n; k++)
            if (str_eq(h->promises.v[i].promises.v[k], h->promises.v[promise].id))
                return true;
    }
    return false;
}

/* The headroom that a promise has at the powers of now, up to HEADROOM_DB. */
static void find_headroom(const struct lowering *l, struct power_promise *pp)
{
    double holds_db = -LACK_DB, fails_db = HEADROOM_DB;
    pp->headroom_db = HEADROOM_DB;
    if (promise_holds(l, pp))
        return;
    while (fails_db - holds_db > SAME_DB) {
        pp->headroom_db = (holds_db + fails_db) / 2.0;
        if (promise_holds(l, pp))
            holds_db = pp->headroom_db;
        else
            fails_db = pp->headroom_db;
    }
    pp->headroom_db = holds_db;
}

/* Promises about rooms; kept ones, and broken ones too, which are not to get worse. */
static bool gather(struct lowering *l)
{
    const struct house *h = l->t->h;
    l->promises.v = ARENA_ARRAY(l->arena, struct power_promise, 2 * (size_t)h->promises.n);
    if (!l->promises.v)
        return false;
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const uint32_t n = l->promises.n;
        if (!l->t->asked[i] || !is_about_rooms(h->promises.v[i].kind))
            continue;
        if (!add_promise(l, i))
            return false;
        if (l->promises.n == n)
            continue;
        struct power_promise *pp = &l->promises.v[n];
        find_headroom(l, pp);
        l->promises.n -= !promise_holds(l, pp);
        if (!is_to_survive(l, i))
            continue;
        struct power_promise *after = &l->promises.v[l->promises.n++];
        *after = *pp;
        after->survives_losses = true;
        find_headroom(l, after);
        l->promises.n -= !promise_holds(l, after);
    }
    return true;
}

static enum rt_code make_curves(struct lowering *l, const struct airtime *air, struct rt_problems *p)
{
    l->curves = ARENA_ARRAY(l->arena, struct air_curve, l->ev->radios.n);
    if (!l->curves)
        return RT_NOMEM;
    for (uint32_t r = 0; r < l->ev->radios.n; r++)
        RT_TRY(air_curve_make(air, r, airtime_busy_hour(air, r), &l->curves[r], p));
    return RT_OK;
}

/* ---- down, and up again ---- */

/* The next whole dBm below. */
static double step_down_dbm(double power_dbm) { return ceil(power_dbm - 1.0 - 1e-9); }

static void lower_in_turn(struct lowering *l, bool *may_fall)
{
    for (bool has_fallen = true; has_fallen;) {
        has_fallen = false;
        for (uint32_t r = 0; r < l->ev->radios.n; r++) {
            const double was_dbm = l->power_dbm[r];
            if (!may_fall[r])
                continue;
            l->power_dbm[r] = step_down_dbm(was_dbm);
            may_fall[r] = l->power_dbm[r] >= TUNE_LEAST_DBM && all_hold(l);
            if (may_fall[r])
                has_fallen = true;
            else
                l->power_dbm[r] = was_dbm;
        }
    }
}

static bool is_lost(const struct house_tuner *t, const struct tune_verdict *held, const struct tune_verdict *now)
{
    for (uint32_t i = 0; i < t->h->promises.n; i++)
        if (t->asked[i] && held[i].state == PROMISE_KEPT && now[i].state != PROMISE_KEPT)
            return true;
    return false;
}

/* The evaluators judge; where they miss something that was held, all go up: by 1, 2, 4 ... dB above the lowest. */
static enum rt_code raise_until_held(struct lowering *l, const struct tune_verdict *held, const double *most_dbm)
{
    const uint32_t n = l->ev->radios.n;
    double *lowest_dbm = ARENA_ARRAY(l->arena, double, n);
    struct tune_verdict *now = ARENA_ARRAY(l->arena, struct tune_verdict, l->t->h->promises.n);
    if (!lowest_dbm || !now)
        return RT_NOMEM;
    for (uint32_t r = 0; r < n; r++)
        lowest_dbm[r] = l->power_dbm[r];
    for (double up_db = 1.0;; up_db *= 2.0) {
        bool is_most = true;
        for (uint32_t r = 0; r < n; r++)
            is_most = is_most && l->power_dbm[r] >= most_dbm[r];
        if (is_most)
            return RT_OK;
        RT_TRY(tune_judge(l->t, l->ev, l->power_dbm, now));
        if (!is_lost(l->t, held, now))
            return RT_OK;
        for (uint32_t r = 0; r < n; r++)
            l->power_dbm[r] = fmin(lowest_dbm[r] + up_db, most_dbm[r]);
    }
}

enum rt_code tune_lower_powers(struct house_tuner *t, const struct evaluation *ev, const struct airtime *air,
                               const struct tune_verdict *held, double *power_dbm)
{
    struct lowering l = { .t = t, .ev = ev, .arena = t->run->arena, .power_dbm = power_dbm };
    bool *may_fall = ARENA_ARRAY(l.arena, bool, ev->radios.n);
    double *most_dbm = ARENA_ARRAY(l.arena, double, ev->radios.n);
    if (!may_fall || !most_dbm)
        return RT_NOMEM;
    for (uint32_t r = 0; r < ev->radios.n; r++) {
        may_fall[r] = t->radios[r].may_tune;
        most_dbm[r] = power_dbm[r];
    }
    RT_TRY(make_curves(&l, air, &t->problems));
    if (!gather(&l))
        return RT_NOMEM;
    lower_in_turn(&l, may_fall);
    return raise_until_held(&l, held, most_dbm);
}

/* What is made better of a house once it is found: a battery that growth does not outrun, reserve that costs nothing, radios off that
 * nobody needs where the air is full. */
#include <math.h>

#include "base/units.h"
#include "design/design_int.h"

/* ---- batteries ---- */

static double number(const struct fact *object, const char *key)
{
    const struct fact *f = fact_find(object, key);
    return f && f->kind == FACT_NUM ? f->num : RT_NOT_GIVEN;
}

/* By how much more load than today's a battery must bear, so that it is none that runs out first; 0: none does. */
static double reserve_for(const struct promise_result *r)
{
    const struct fact *uses = fact_find(r->evidence, "uses"), *u = uses ? uses->first : NULL;
    double reserve = 0.0;
    for (; u; u = u->next) {
        const struct fact *enough = fact_find(u, "enough");
        if (!str_is(fact_find_str(u, "resource"), "battery") || !enough || enough->num != 0.0)
            continue;
        /* it grows, ages, and has to keep its headroom */
        const double times = number(u, "then") / number(u, "now") * number(u, "limit_now") / number(u, "usable");
        reserve = times > 1.0 ? fmax(reserve, times - 1.0) : reserve;
    }
    return reserve;
}

/* The same places have the same channels and powers. */
static void keep_settings(const struct house *from, struct house *to)
{
    for (uint32_t e = 0; e < to->equipment.n; e++) {
        const uint32_t was = house_find_equipment(from, to->equipment.v[e].id);
        if (was != NO_REF)
            to->equipment.v[e].radios = from->equipment.v[was].radios;
    }
    to->mesh.channel = from->mesh.channel;
}

/* The reserve at which no battery would run out first in this house. */
static double reserve_of(const struct trial *t)
{
    double reserve = 0.0;
    for (uint32_t i = 0; i < t->results.n; i++) {
        const struct promise_result *r = &t->results.v[i];
        if (r->promise->kind == PROMISE_GROWTH && r->state == PROMISE_BROKEN)
            reserve = fmax(reserve, reserve_for(r));
    }
    return reserve;
}

enum { RESERVES_MOST = 3 /* what hangs where changes with the batteries, and so does what each must bear */ };

enum rt_code design_reserve_battery(struct designer *d, struct rt_problems *p)
{
    struct trial t = d->best;
    struct design_space *space = ARENA_NEW(d->run->arena, struct design_space);
    if (!space)
        return rt_fail_memory(p);
    *space = *d->space;
    for (int i = 0; i < RESERVES_MOST; i++) {
        const double reserve = reserve_of(&t);
        if (reserve <= space->options.battery_reserve)
            return RT_OK;
        space->options.battery_reserve = reserve;
        RT_TRY(fit_house(&d->calm, space, &t.answer, &t.fitted, p));
        keep_settings(d->best.fitted.house, t.fitted.house);
        RT_TRY(design_judge(d, &t, p));
        if (design_is_better(&t, &d->best))
            d->best = t;
    }
    return RT_OK;
}

/* ---- reserve ---- */

static const double RESERVES_DB[] = { 1.0, 0.5 }, RESERVE_TIMES = 1.05;
static const double SOLVE_SHARE = 0.35, TIME_SHARE_LEAST = 0.45; /* of all the time, or it is not looked for */

static void ask_more(const struct designer *d, double by_db, struct tighter *out)
{
    for (uint32_t i = 0; i < d->h->promises.n; i++)
        out[i] = (struct tighter){ .by_db = d->tighter[i].by_db + by_db,
                                   .rate_times = d->tighter[i].rate_times * RESERVE_TIMES,
                                   .own_channel = d->tighter[i].own_channel };
}

static bool has_time(const struct designer *d)
{
    return !run_is_cancelled(d->run) && design_left_s(d, 0.0) >= TIME_SHARE_LEAST * d->space->options.seconds;
}

/* A house of other rows for at most so much, if it keeps no less; *is_found: there was one to try, which *t tells of. */
static enum rt_code try_rows(struct designer *d, const struct tighter *rows, int64_t at_most, bool *is_found,
                             struct trial *t, struct rt_problems *p)
{
    const struct placing_limits limits = { .seconds = design_left_s(d, 0.0) * SOLVE_SHARE,
                                           .gap = d->space->options.gap };
    struct placing_answer a;
    RT_TRY(needs_make(&d->calm, d->needs, rows, &d->placing, p));
    d->placing.at_most = at_most;
    d->placing.budget_promise = NO_REF;
    RT_TRY(placing_solve(d->run, &d->placing, d->best.given_up, NULL, limits, &a, p));
    *is_found = a.is_found;
    if (!a.is_found)
        return RT_OK;
    d->answer = a;
    RT_TRY(design_try(d, t, p));
    t->placing.at_most = d->space->placing.at_most;
    t->placing.budget_promise = d->space->placing.budget_promise;
    if (!design_is_better(&d->best, t))
        d->best = *t;
    return RT_OK;
}

enum { CHEAPER_MOST = 4 };

enum rt_code design_find_cheaper(struct designer *d, struct rt_problems *p)
{
    struct tighter *rows = ARENA_ARRAY(d->run->arena, struct tighter, d->h->promises.n);
    const int64_t price = d->best.answer.price;
    bool is_found;
    if (!rows)
        return rt_fail_memory(p);
    if (!d->on_own_channels)
        return RT_OK;
    for (uint32_t i = 0; i < d->h->promises.n; i++) {
        rows[i] = d->tighter[i];
        rows[i].own_channel = false;
    }
    for (int k = 0; k < CHEAPER_MOST && has_time(d); k++) {
        struct trial t = { 0 };
        run_report(d->run, "other channels", (double)k / CHEAPER_MOST);
        RT_TRY(try_rows(d, rows, price - 1, &is_found, &t, p));
        if (is_found && d->best.answer.price < price)
            d->bound = t.answer.bound;
        if (!is_found || d->best.answer.price < price)
            return RT_OK;
        for (uint32_t i = 0; i < t.results.n; i++)
            if (design_is_lacking(d, &t.results.v[i], i) && !design_tighten(&rows[i], &t.results.v[i]))
                return RT_OK;
    }
    return RT_OK;
}

/* Of houses of one price the one that asks for more holds on more channels, so that the second program has something to choose. */
enum rt_code design_find_reserve(struct designer *d, struct rt_problems *p)
{
    struct tighter *more = ARENA_ARRAY(d->run->arena, struct tighter, d->h->promises.n);
    bool is_found = false;
    if (!more)
        return rt_fail_memory(p);
    for (size_t i = 0; i < RT_COUNT(RESERVES_DB) && !is_found; i++) {
        if (!has_time(d))
            return RT_OK;
        run_report(d->run, "reserve for the same money", (double)i / RT_COUNT(RESERVES_DB));
        struct trial t = { 0 };
        ask_more(d, RESERVES_DB[i], more);
        RT_TRY(try_rows(d, more, d->best.answer.price, &is_found, &t, p));
    }
    return RT_OK;
}

/* ---- air ---- */

enum { OFF_MOST = 6 };

/* The fullest radio of those that are too full; NO_REF: none. */
static uint32_t fullest_radio(const struct evaluation *ev, const struct promise_result *r)
{
    const struct fact *list = fact_find(r->evidence, "radios");
    uint32_t fullest = NO_REF;
    double most = r->promise->max_busy_share;
    for (const struct fact *x = list ? list->first : NULL; x; x = x->next)
        for (uint32_t k = 0; k < ev->radios.n; k++) {
            const struct ap_radio *radio = &ev->radios.v[k];
            if (!str_eq(ev->h->equipment.v[radio->equipment].id, fact_find_str(x, "access_point")) ||
                !str_is(fact_find_str(x, "band"), band_name(radio->band)) || number(x, "busy_share") <= most)
                continue;
            most = number(x, "busy_share");
            fullest = k;
        }
    return fullest;
}

static struct house *without_radio(struct arena *a, const struct evaluation *ev, uint32_t radio)
{
    struct house *h = ARENA_NEW(a, struct house);
    struct equipment *things = ARENA_ARRAY(a, struct equipment, ev->h->equipment.n);
    if (!h || !things)
        return NULL;
    *h = *ev->h;
    for (uint32_t e = 0; e < h->equipment.n; e++)
        things[e] = ev->h->equipment.v[e];
    h->equipment.v = things;
    struct equipment *e = &things[ev->radios.v[radio].equipment];
    struct radio_setting *settings = ARENA_ARRAY(a, struct radio_setting, e->radios.n);
    if (!settings)
        return NULL;
    for (uint32_t i = 0; i < e->radios.n; i++) {
        settings[i] = e->radios.v[i];
        if (settings[i].band == ev->radios.v[radio].band)
            settings[i] = (struct radio_setting){ .at = settings[i].at,
                                                  .band = settings[i].band,
                                                  .channel = RT_NOT_GIVEN,
                                                  .width_mhz = RT_NOT_GIVEN,
                                                  .power_dbm = RT_NOT_GIVEN,
                                                  .off = true };
    }
    e->radios.v = settings;
    return h;
}

static enum rt_code count_stranded(struct evaluation *ev, uint32_t *n, struct rt_problems *p)
{
    const struct stations *s = NULL;
    *n = 0;
    RT_TRY(evaluation_stations(ev, &s, p));
    for (uint32_t i = 0; i < s->list.n; i++)
        *n += s->list.v[i].radio == NO_REF;
    return RT_OK;
}

static const struct promise_result *broken_quiet(const struct trial *t)
{
    for (uint32_t i = 0; i < t->results.n; i++)
        if (t->results.v[i].promise->kind == PROMISE_QUIET && t->results.v[i].state == PROMISE_BROKEN)
            return &t->results.v[i];
    return NULL;
}

enum rt_code design_quieten(struct designer *d, struct rt_problems *p)
{
    struct trial t = d->best;
    uint32_t before;
    if (!broken_quiet(&t))
        return RT_OK;
    RT_TRY(count_stranded(t.ev, &before, p));
    for (int i = 0; i < OFF_MOST && broken_quiet(&t) && !run_is_cancelled(d->run); i++) {
        const uint32_t radio = fullest_radio(t.ev, broken_quiet(&t));
        uint32_t stranded;
        if (radio == NO_REF || !t.ev->h->equipment.v[t.ev->radios.v[radio].equipment].tune)
            return RT_OK;
        run_report(d->run, "radios that nobody needs", (double)i / OFF_MOST);
        t.fitted.house = without_radio(d->run->arena, t.ev, radio);
        if (!t.fitted.house)
            return rt_fail_memory(p);
        RT_TRY(design_judge(d, &t, p));
        RT_TRY(count_stranded(t.ev, &stranded, p));
        if (stranded > before)
            return RT_OK;
        if (design_is_better(&t, &d->best))
            d->best = t;
    }
    return RT_OK;
}

/* The loop of a design: places by the integer program, a whole house of them, every promise judged on it, and more asked of the
 * places where the judgement was worse than the program had hoped. */
#include "design/design_int.h"

#include <math.h>
#include <time.h>

#include "base/units.h"

enum { ROUNDS_MOST = 12 };
/* About what the field of one part at one place takes; by the clock it would not be the same places each time. */
static const double FIELD_S = 0.12, FIELDS_SHARE = 0.6;
/* Of the time that is left one step may take no more than this share; but it always has a moment, so that there is a house to show. */
static const double PLACING_SHARE = 0.4, PLACING_LEAST_S = 5.0,
                    GAP_SHARE =
                        0.8, /* of the gap that is asked for: the bill is not to the penny what the program reckons */
    STEP_LEAST_S = 2.0,
                    TELLING_SHARE =
                        0.05; /* is left for writing the house and for a last step that takes longer than it should */

double design_clock_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

double design_left_s(const struct designer *d, double least_s)
{
    return fmax(d->ends_at_s - design_clock_s(), least_s);
}

void design_set_worths(const struct house *h, double *worth)
{
    for (uint32_t i = 0; i < h->promises.n; i++)
        worth[i] = h->promises.n - i + h->promises.n;
}

static bool is_out_of_time(const struct designer *d)
{
    return run_is_cancelled(d->run) || design_clock_s() >= d->ends_at_s;
}

/* ---- places ---- */

static double placing_time_s(const struct designer *d)
{
    return fmax(design_left_s(d, 0.0) * PLACING_SHARE, PLACING_LEAST_S);
}

/* Without a house to show, a call to stop has to wait for one. */
static enum rt_code solve(struct designer *d, const struct placing_answer *start, struct placing_answer *a,
                          struct rt_problems *p)
{
    const struct placing_limits limits = { .seconds = placing_time_s(d), .gap = d->space->options.gap * GAP_SHARE };
    return placing_solve(d->has_best ? d->run : &d->calm, &d->placing, d->given_up, start, limits, a, p);
}

static enum rt_code no_choice(struct rt_problems *p)
{
    return rt_fail(p, RT_LIMIT, RT_NOWHERE, "give it more time with --seconds",
                   "no choice of places was found in the time given");
}

static uint32_t count_given_up(const struct designer *d)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < d->h->promises.n; i++)
        n += d->given_up[i];
    return n;
}

/* Remembers what clashes, to be told later. */
static enum rt_code note_clash(struct designer *d, bool without_budget, struct rt_problems *p)
{
    const uint32_t n = d->h->promises.n;
    struct design_clash clash = { .placing = d->placing,
                                  .given_up = ARENA_ARRAY(d->run->arena, bool, n),
                                  .without_budget = without_budget };
    if (!clash.given_up)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < n; i++)
        clash.given_up[i] = d->given_up[i];
    return VEC_PUSH(d->run->arena, &d->clashes, clash) ? RT_OK : rt_fail_memory(p);
}

/* Is there a budget to be kept still, and no other promise worth less?  Then no other choice of what to give up is better. */
static bool budget_goes_first(const struct designer *d)
{
    const uint32_t budget = d->placing.budget_promise;
    if (budget == NO_REF || d->given_up[budget])
        return false;
    for (uint32_t i = 0; i < d->h->promises.n; i++)
        if (d->worth[i] < d->worth[budget])
            return false;
    return true;
}

/* First without the budget: what that costs shows most often whether the budget can be kept. */
static enum rt_code solve_around_budget(struct designer *d, struct placing_answer *a, struct rt_problems *p)
{
    const uint32_t budget = d->placing.budget_promise;
    struct placing_answer within = { 0 };
    d->given_up[budget] = true;
    RT_TRY(solve(d, d->answer.is_found ? &d->answer : NULL, a, p));
    d->given_up[budget] = false;
    if (!a->is_found || a->price <= d->placing.at_most)
        return RT_OK;
    if (a->bound <= d->placing.at_most)
        RT_TRY(solve(d, NULL, &within, p));
    if (within.is_found) {
        *a = within;
        return RT_OK;
    }
    RT_TRY(note_clash(d, true, p));
    d->given_up[budget] = true;
    return RT_OK;
}

static enum rt_code give_up_something(struct designer *d, struct rt_problems *p)
{
    const struct placing_limits limits = { .seconds = placing_time_s(d) };
    const uint32_t before = count_given_up(d);
    RT_TRY(note_clash(d, false, p));
    RT_TRY(placing_give_up(&d->calm, &d->placing, d->h->promises.n, d->worth, limits, d->given_up, p));
    return count_given_up(d) > before ? RT_OK : no_choice(p);
}

/* Before anything is given up rates count on the best channel that each radio may have; false: they did already. */
static bool count_on_channels(struct designer *d)
{
    const bool is_new = d->on_own_channels;
    d->on_own_channels = false;
    for (uint32_t i = 0; is_new && i < d->h->promises.n; i++)
        d->tighter[i].own_channel = false;
    return is_new;
}

/* Solves the placing as it stands; what cannot be kept is given up. */
static enum rt_code place(struct designer *d, struct rt_problems *p)
{
    struct placing_answer a = { 0 };
    while (!a.is_found) {
        if (budget_goes_first(d))
            RT_TRY(solve_around_budget(d, &a, p));
        else
            RT_TRY(solve(d, d->answer.is_found ? &d->answer : NULL, &a, p));
        if (!a.is_found && count_on_channels(d))
            RT_TRY(needs_make(&d->calm, d->needs, d->tighter, &d->placing, p));
        else if (!a.is_found)
            RT_TRY(give_up_something(d, p));
    }
    d->answer = a;
    d->is_stopped = d->is_stopped || d->answer.is_stopped;
    if (d->rounds == 0)
        d->bound = d->answer.bound;
    return RT_OK;
}

/* ---- a whole house, judged ---- */

enum rt_code design_judge(struct designer *d, struct trial *t, struct rt_problems *p)
{
    const struct run *run = &d->calm;
    const struct bill *bill = NULL;
    t->ev = ARENA_NEW(run->arena, struct evaluation);
    if (!t->ev)
        return rt_fail_memory(p);
    RT_TRY(evaluation_begin(t->ev, run, t->fitted.house, evaluation_default_options(d->h), p));
    RT_TRY(promises_evaluate(t->ev, ALL_PROMISE_KINDS, &t->results, p));
    RT_TRY(evaluation_bill(t->ev, &bill, p));
    t->total = bill->total;
    t->lost = 0.0;
    for (uint32_t i = 0; i < t->results.n; i++)
        if (t->results.v[i].state != PROMISE_KEPT)
            t->lost += d->worth[i];
    return RT_OK;
}

bool design_is_better(const struct trial *a, const struct trial *b)
{
    return a->lost != b->lost ? a->lost < b->lost : a->total < b->total;
}

enum rt_code design_try(struct designer *d, struct trial *t, struct rt_problems *p)
{
    t->placing = d->placing;
    t->answer = d->answer;
    t->given_up = ARENA_ARRAY(d->run->arena, bool, d->h->promises.n);
    if (!t->given_up)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < d->h->promises.n; i++)
        t->given_up[i] = d->given_up[i];
    run_report(d->run, "fitting", 0.0);
    RT_TRY(fit_house(&d->calm, d->space, &d->answer, &t->fitted, p));
    run_report(d->run, "channels", 0.0);
    RT_TRY(house_tune(&d->calm, t->fitted.house, d->space->options.allows_radar,
                      design_left_s(d, STEP_LEAST_S) * PLACING_SHARE, &t->tuned, p));
    return design_judge(d, t, p);
}

/* ---- more is asked for ---- */

static const double STEP_DB = 0.5, STEP_MOST_DB = 6.0, RATE_STEP = 1.1, RATE_STEP_MOST = 2.0, TIGHTER_MOST_DB = 30.0,
                    TIGHTER_MOST_TIMES = 16.0;

bool design_tighten(struct tighter *t, const struct promise_result *r)
{
    const double lacks = is_given(r->margin) ? fmax(-r->margin, 0.0) : 0.0;
    if (r->promise->kind == PROMISE_RATE) {
        const double got = r->promise->mbps - lacks;
        t->rate_times *= fmin(fmax(r->promise->mbps / fmax(got, 1.0), RATE_STEP), RATE_STEP_MOST);
        return t->rate_times <= TIGHTER_MOST_TIMES;
    }
    t->by_db += fmin(fmax(lacks, STEP_DB), STEP_MOST_DB);
    return t->by_db <= TIGHTER_MOST_DB;
}

static enum rt_code lose(struct designer *d, const struct promise_result *r, uint32_t i, struct rt_problems *p)
{
    d->given_up[i] = true;
    d->too_hard[i] = true;
    d->tighter[i] = (struct tighter){ .rate_times = 1.0 };
    const struct design_loss loss = { .promise = i, .is_smallest = true, .says = r->reason };
    return VEC_PUSH(d->run->arena, &d->losses, loss) ? RT_OK : rt_fail_memory(p);
}

bool design_is_lacking(const struct designer *d, const struct promise_result *r, uint32_t promise)
{
    return r->state == PROMISE_BROKEN && !d->given_up[promise] && needs_cover(r->promise->kind);
}

/* Sets *again if another placing may do better. */
static enum rt_code learn(struct designer *d, const struct trial *t, bool *again, struct rt_problems *p)
{
    *again = false;
    for (uint32_t i = 0; i < t->results.n; i++) {
        const struct promise_result *r = &t->results.v[i];
        if (!design_is_lacking(d, r, i))
            continue;
        *again = true;
        if (!design_tighten(&d->tighter[i], r))
            RT_TRY(lose(d, r, i, p));
    }
    return RT_OK;
}

static enum rt_code search(struct designer *d, struct rt_problems *p)
{
    for (bool again = true; again && d->rounds < ROUNDS_MOST; d->rounds++) {
        struct trial t = { 0 };
        if (d->has_best) /* what goes wrong from now on leaves us with what we have */
            p = &d->unheard;
        run_report(d->run, "places", (double)d->rounds / ROUNDS_MOST);
        RT_TRY(needs_make(&d->calm, d->needs, d->tighter, &d->placing, p));
        RT_TRY(place(d, p));
        RT_TRY(design_try(d, &t, p));
        if (!d->has_best || design_is_better(&t, &d->best))
            d->best = t;
        if (!d->has_best)
            d->first_s = design_clock_s() - d->began_at_s;
        d->has_best = true;
        RT_TRY(learn(d, &t, &again, p));
        if (again && is_out_of_time(d)) {
            d->is_stopped = true;
            again = false;
        }
    }
    return RT_OK;
}

/* ---- what comes of it ---- */

/* What no equipment keeps: told with the words of its own judgement, unless a conflict has told it already. */
static enum rt_code tell_the_rest(struct designer *d, struct rt_problems *p)
{
    for (uint32_t i = 0; i < d->best.results.n; i++) {
        const struct promise_result *r = &d->best.results.v[i];
        bool told = r->state == PROMISE_KEPT;
        for (uint32_t k = 0; !told && k < d->losses.n; k++)
            told = d->losses.v[k].promise == i;
        const struct design_loss loss = { .promise = i, .is_smallest = true, .says = r->reason };
        if (!told && !VEC_PUSH(d->run->arena, &d->losses, loss))
            return rt_fail_memory(p);
    }
    return RT_OK;
}

/* Losses that came true: a promise that was given up may be kept all the same by what the others need. */
static void keep_true_losses(struct designer *d)
{
    uint32_t n = 0;
    for (uint32_t k = 0; k < d->losses.n; k++)
        if (d->best.results.v[d->losses.v[k].promise].state != PROMISE_KEPT)
            d->losses.v[n++] = d->losses.v[k];
    d->losses.n = n;
}

/* The bound of the places, and what the fitted house has beyond them: battery and disks are the least that keep their promises, and
 * so come on top of it. */
static void set_bound(const struct designer *d, struct design *out)
{
    const int64_t beyond = out->total - d->best.answer.price;
    out->bound = d->bound + (beyond > 0 ? beyond : 0);
    if (out->bound > out->total)
        out->bound = out->total;
    out->gap = out->total > 0 ? (double)(out->total - out->bound) / (double)out->total : 0.0;
}

/* Where the fields of all places would take most of the time that was asked for, only those of the file are tried. */
static enum rt_code make_space(const struct run *run, const struct house *h, struct design_options options,
                               struct design_space **out, struct rt_problems *p)
{
    uint32_t n_own = 0;
    RT_TRY(space_make(run, h, options, out, p));
    for (uint32_t i = 0; i < (*out)->sites.n; i++)
        n_own += !(*out)->sites.v[i].is_generated;
    if (!n_own || n_own == (*out)->sites.n || (*out)->placing.offers.n * FIELD_S < FIELDS_SHARE * options.seconds)
        return RT_OK;
    rt_warn(p, RT_LIMIT, RT_NOWHERE, "give it more time with --seconds",
            "in %.0f seconds only the mounts of the file are tried, not the %u places that could be proposed",
            options.seconds, (unsigned)(*out)->sites.n);
    options.generates = false;
    return space_make(run, h, options, out, p);
}

static enum rt_code begin(struct designer *d, const struct run *run, const struct house *h,
                          struct design_options options, struct rt_problems *p)
{
    struct design_space *space = NULL;
    struct needs *needs = NULL;
    struct house *segmented = NULL;
    *d = (struct designer){ .run = run, .calm = *run, .began_at_s = design_clock_s() };
    d->calm.cancel = NULL;
    d->ends_at_s = d->began_at_s + options.seconds * (1.0 - TELLING_SHARE);
    rt_problems_init(&d->unheard, run->arena);
    run_report(run, "places to choose from", 0.0);
    RT_TRY(house_segment(run, h, &segmented, p));
    RT_TRY(make_space(run, segmented, options, &space, p));
    d->space = space;
    d->h = space->asked;
    d->placing = space->placing;
    const uint32_t n = d->h->promises.n;
    d->tighter = ARENA_ARRAY(run->arena, struct tighter, n);
    d->given_up = ARENA_ARRAY(run->arena, bool, n);
    d->too_hard = ARENA_ARRAY(run->arena, bool, n);
    d->worth = ARENA_ARRAY(run->arena, double, n);
    if (!d->tighter || !d->given_up || !d->too_hard || !d->worth)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < n; i++)
        d->tighter[i] = (struct tighter){ .rate_times = 1.0, .own_channel = true };
    d->on_own_channels = true;
    design_set_worths(d->h, d->worth);
    run_report(run, "signal of all places", 0.0);
    RT_TRY(needs_begin(run, space, &needs, p)); /* nothing to show before: here a call to stop is heard */
    d->needs = needs;
    return RT_OK;
}

enum rt_code design_make(const struct run *run, const struct house *h, struct design_options options,
                         struct design **out, struct rt_problems *p)
{
    struct designer d;
    struct design *made = ARENA_NEW(run->arena, struct design);
    if (!made)
        return rt_fail_memory(p);
    RT_TRY(begin(&d, run, h, options, p));
    const enum rt_code code = search(&d, p);
    if (code && !(d.has_best && (code == RT_LIMIT || code == RT_CANCELLED)))
        return code;
    RT_TRY(design_find_cheaper(&d, &d.unheard));
    RT_TRY(design_find_reserve(&d, &d.unheard));
    RT_TRY(design_quieten(&d, &d.unheard));
    RT_TRY(design_reserve_battery(&d, &d.unheard));
    for (uint32_t i = 0; i < d.clashes.n; i++)
        RT_TRY(design_explain(&d, &d.clashes.v[i], p));
    keep_true_losses(&d);
    RT_TRY(tell_the_rest(&d, p));
    *made = (struct design){ .space = d.space,
                             .placing = d.best.placing,
                             .answer = d.best.answer,
                             .given_up = d.best.given_up,
                             .fitted = d.best.fitted,
                             .tuned = d.best.tuned,
                             .ev = d.best.ev,
                             .results = d.best.results,
                             .total = d.best.total,
                             .rounds = d.rounds,
                             .first_s = d.first_s,
                             .is_stopped = d.is_stopped };
    made->losses.v = d.losses.v;
    made->losses.n = d.losses.n;
    set_bound(&d, made);
    RT_TRY(design_price_promises(&d, made, p));
    made->seconds = design_clock_s() - d.began_at_s;
    *out = made;
    return RT_OK;
}

/* What each promise costs: the least price of the places with it, less that without it. */
#include <math.h>
#include <stdlib.h>

#include "design/design_int.h"

static const double SECONDS_EACH_MOST = 2.0, SHARE_MOST = 0.3; /* of the time that was asked for, for all */

static int dearest_first(const void *a, const void *b)
{
    const struct design_worth *x = a, *y = b;
    if (x->price != y->price)
        return x->price < y->price ? 1 : -1;
    return (x->promise > y->promise) - (x->promise < y->promise);
}

static bool is_asked(const struct trial *t, uint32_t promise)
{
    if (t->given_up[promise])
        return false;
    for (uint32_t i = 0; i < t->placing.needs.n; i++)
        if (t->placing.needs.v[i].promise == promise)
            return true;
    return false;
}

enum rt_code design_price_promises(struct designer *d, struct design *out, struct rt_problems *p)
{
    const struct trial *t = &d->best;
    const double ends_at_s = design_clock_s() + fmin(design_left_s(d, 0.0), SHARE_MOST * d->space->options.seconds);
    VEC(struct design_worth) list = { 0 };
    uint32_t n = 0;
    for (uint32_t i = 0; i < d->h->promises.n; i++)
        n += is_asked(t, i);
    for (uint32_t i = 0; i < d->h->promises.n; i++) {
        const double left_s = (ends_at_s - design_clock_s()) / (n ? n : 1);
        struct placing_limits limits = { .seconds = left_s < SECONDS_EACH_MOST ? left_s : SECONDS_EACH_MOST };
        struct placing_answer a;
        if (!is_asked(t, i))
            continue;
        n--;
        if (limits.seconds <= 0.0 || run_is_cancelled(d->run))
            break;
        run_report(d->run, "what each promise costs", (double)i / d->h->promises.n);
        t->given_up[i] = true;
        const enum rt_code code = placing_solve(d->run, &t->placing, t->given_up, &t->answer, limits, &a, p);
        t->given_up[i] = false;
        RT_TRY(code);
        const struct design_worth w = { i, t->answer.price - a.price, a.is_best && t->answer.is_best };
        if (a.is_found && w.price > 0 && !VEC_PUSH(d->run->arena, &list, w))
            return rt_fail_memory(p);
    }
    if (list.n)
        qsort(list.v, list.n, sizeof *list.v, dearest_first);
    out->worths.v = list.v;
    out->worths.n = list.n;
    return RT_OK;
}

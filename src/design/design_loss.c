/* Why promises cannot be kept together, in words, and what it would take. */
#include <math.h>

#include "base/units.h"
#include "design/design_int.h"

/* Of the time that is left when a house is found, for each question about what it does not keep. */
static const double STEP_SHARE = 0.25, STEP_LEAST_S = 1.0, SEARCH_LEAST_S = 3.0;

static struct str promise_words(const struct designer *d, uint32_t promise) { return d->h->promises.v[promise].id; }

/* ---- a promise that stands alone ---- */

/* Cells of a need that are served when every place is used. */
static uint32_t most_served(const struct place_need *need)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < need->cells.n; i++)
        n += need->cells.v[i].weight;
    return n;
}

static void alone_words(const struct designer *d, const struct placing *q, const struct placing_conflict *c,
                        struct buf *out)
{
    const struct house *h = d->h;
    for (uint32_t i = 0; i < c->needs.n; i++) {
        const struct place_need *need = &q->needs.v[c->needs.v[i]];
        const double all = fmax(need->all, 1.0);
        if (i)
            buf_text(out, "; ");
        buf_printf(
            out,
            "%.*s: with an access point in every one of the %u places %.0f %% of it is served%s, %.0f %% are promised",
            STR_ARG(house_room_name(h, need->room)), (unsigned)d->space->sites.n,
            100.0 * (most_served(need) + need->always) / all, need->bears_loss ? ", the nearest one lost" : "",
            100.0 * (need->wanted + need->always) / all);
        if (h->rooms.v[need->room].keep_free & FREE_EQUIPMENT)
            buf_text(out, "; nothing may hang in it (`keep_free`)");
    }
    if (!c->needs.n)
        buf_text(out, "no choice of places keeps it, even alone");
}

/* ---- several that cannot all be kept ---- */

static void money_into(const struct designer *d, struct buf *out, int64_t amount)
{
    buf_str(out, money_words(d->run->arena, d->h->currency, amount));
}

/* What the others cost without one of them: what letting it go saves, or what lifting the budget costs. */
static enum rt_code without(struct designer *d, const struct design_clash *clash, uint32_t promise,
                            struct placing_answer *out, struct rt_problems *p)
{
    const struct placing_limits limits = { .seconds = design_left_s(d, STEP_LEAST_S) * STEP_SHARE,
                                           .gap = d->space->options.gap };
    clash->given_up[promise] = true;
    const enum rt_code code = placing_solve(&d->calm, &clash->placing, clash->given_up, NULL, limits, out, p);
    clash->given_up[promise] = false;
    return code;
}

static enum rt_code together_words(struct designer *d, const struct design_clash *clash,
                                   const struct placing_conflict *c, struct buf *out, struct rt_problems *p)
{
    buf_printf(out, "%s", c->is_smallest ? "these cannot all be kept: " : "these were found not to go together: ");
    for (uint32_t i = 0; i < c->promises.n; i++)
        buf_printf(out, "%s%.*s", i ? ", " : "", STR_ARG(promise_words(d, c->promises.v[i])));
    for (uint32_t i = 0; i < c->promises.n; i++) {
        struct placing_answer a;
        const uint32_t promise = c->promises.v[i];
        RT_TRY(without(d, clash, promise, &a, p));
        if (!a.is_found)
            continue;
        const bool is_budget = promise == clash->placing.budget_promise;
        if (is_budget && d->best.answer.price < a.price) /* found since, on other channels */
            a.price = d->best.answer.price;
        buf_printf(out, "; %s %.*s the rest costs ", is_budget ? "beyond" : "without",
                   STR_ARG(promise_words(d, promise)));
        money_into(d, out, a.price);
        if (is_budget && clash->placing.at_most < a.price) {
            buf_text(out, ", ");
            money_into(d, out, a.price - clash->placing.at_most);
            buf_text(out, " more than promised");
        }
    }
    return RT_OK;
}

static enum rt_code add_losses(struct designer *d, const struct placing_conflict *c, struct str says,
                               struct rt_problems *p)
{
    struct arena *a = d->run->arena;
    for (uint32_t i = 0; i < c->promises.n; i++) {
        struct design_loss loss = { .promise = c->promises.v[i], .is_smallest = c->is_smallest };
        loss.with.v = ARENA_ARRAY(a, uint32_t, c->promises.n);
        if (!loss.with.v)
            return rt_fail_memory(p);
        for (uint32_t k = 0; k < c->promises.n; k++)
            if (k != i)
                loss.with.v[loss.with.n++] = c->promises.v[k];
        loss.says = says;
        if (!VEC_PUSH(a, &d->losses, loss))
            return rt_fail_memory(p);
    }
    return RT_OK;
}

/* No set was found in the time there was; but the least price without the budget is known. */
static void budget_words(const struct designer *d, const struct design_clash *clash, struct buf *out)
{
    buf_text(out, "all the others together cost at least ");
    money_into(d, out, d->bound);
    if (d->bound > clash->placing.at_most) {
        buf_text(out, ", ");
        money_into(d, out, d->bound - clash->placing.at_most);
        buf_text(out, " more than promised");
    }
    buf_text(out, "; battery and disks come on top");
}

static enum rt_code set_alone(struct arena *a, uint32_t promise, struct placing_conflict *c, struct rt_problems *p)
{
    c->promises.v = ARENA_ARRAY(a, uint32_t, 1);
    if (!c->promises.v)
        return rt_fail_memory(p);
    c->promises.v[c->promises.n++] = promise;
    return RT_OK;
}

enum rt_code design_explain(struct designer *d, const struct design_clash *clash, struct rt_problems *p)
{
    const struct placing_limits limits = { .seconds = design_left_s(d, STEP_LEAST_S) * STEP_SHARE };
    struct buf says = { .arena = d->run->arena };
    struct placing_conflict c = { 0 };
    run_report(d->run, "promises that cannot be kept together", 0.0);
    if (!clash->without_budget || design_left_s(d, 0.0) > SEARCH_LEAST_S)
        RT_TRY(placing_find_conflict(&d->calm, &clash->placing, clash->given_up, limits, &c, p));
    if (!c.promises.n && clash->without_budget) {
        budget_words(d, clash, &says);
        RT_TRY(set_alone(d->run->arena, clash->placing.budget_promise, &c, p));
    } else if (c.promises.n == 1) {
        alone_words(d, &clash->placing, &c, &says);
        RT_TRY(design_ask_rooms(d, c.promises.v[0], &says, p));
    } else {
        RT_TRY(together_words(d, clash, &c, &says, p));
    }
    return says.failed ? rt_fail_memory(p) : add_losses(d, &c, buf_done(&says), p);
}

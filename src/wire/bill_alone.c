/* What one thing, cable or work adds to a bill by itself: for those who have to choose what to buy. */
#include "wire/bill_int.h"

static enum rt_code too_large(struct rt_problems *p)
{
    return rt_fail(p, RT_LIMIT, RT_NOWHERE, "look for a price with digits too many", "the bill is too large to add up");
}

/* The lines so far, each rounded once; the draft is then empty again. */
static enum rt_code take_sum(struct bill_draft *d, int64_t *sum, struct rt_problems *p)
{
    *sum = 0;
    if (d->failed)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < d->lines.n; i++) {
        const struct draft_line *q = &d->lines.v[i];
        int64_t amount = 0;
        if (q->line.owned || !q->line.is_priced)
            continue;
        if (!money_amount(d->h->currency, q->price, q->line.count, &amount) ||
            __builtin_add_overflow(*sum, amount, sum))
            return too_large(p);
    }
    d->lines.n = d->gaps.n = 0;
    return RT_OK;
}

static struct bill_draft draft(const struct run *run, const struct house *h)
{
    return (struct bill_draft){ .run = run,
                                .a = run->arena,
                                .h = h,
                                .prices_hold = !h->parts.currency.n || str_eq(h->parts.currency, h->currency) };
}

enum rt_code bill_price_alone(const struct run *run, const struct cable_plan *cables, const struct wire_links *links,
                              struct bill_prices *out, struct rt_problems *p)
{
    const struct house *h = cables->h;
    struct bill_draft d = draft(run, h);
    d.cables = cables;
    d.links = links;
    d.cable_phase = ARENA_ARRAY(run->arena, uint32_t, h->cables.n);
    out->cables = ARENA_ARRAY(run->arena, int64_t, h->cables.n);
    out->works = ARENA_ARRAY(run->arena, int64_t, cables->work.n);
    if (!d.cable_phase || !out->cables || !out->works)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < h->cables.n; i++)
        d.cable_phase[i] = NO_REF;
    for (uint32_t i = 0; i < h->cables.n; i++) {
        if (!h->cables.v[i].owned)
            bill_new_cable(&d, i);
        RT_TRY(take_sum(&d, &out->cables[i], p));
    }
    for (uint32_t i = 0; i < cables->work.n; i++) {
        bill_work(&d, &cables->work.v[i]);
        RT_TRY(take_sum(&d, &out->works[i], p));
    }
    return RT_OK;
}

enum rt_code bill_price_part(const struct run *run, const struct house *h, uint32_t part, uint32_t mount, int64_t *out,
                             struct rt_problems *p)
{
    struct bill_draft d = draft(run, h);
    if (part != NO_REF)
        bill_thing(&d, part, NO_REF, false, STR(""));
    if (mount != NO_REF)
        bill_fixing(&d, mount, NO_REF, STR(""));
    return take_sum(&d, out, p);
}

enum rt_code bill_add_unforeseen(const struct house *h, int64_t *amount, struct rt_problems *p)
{
    int64_t more = 0;
    if (*amount > 0 && h->budget.contingency_share > 0.0 &&
        (!money_amount(h->currency, h->budget.contingency_share, money_value(h->currency, *amount), &more) ||
         __builtin_add_overflow(*amount, more, amount)))
        return too_large(p);
    return RT_OK;
}

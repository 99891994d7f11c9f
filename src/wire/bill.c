/* The bill: lines put together, rounded once each, added up by phase; what a year costs. */
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>

#include "data/currencies.h"
#include "wire/bill_int.h"

const char *bill_kind_name(enum bill_kind kind)
{
    static const char *const NAMES[] = { "part", "cable", "outlet", "fixing", "work", "labour", "contingency" };
    return NAMES[kind];
}

uint32_t bill_later_phase(const struct house *h, uint32_t a, uint32_t b)
{
    if (a == NO_REF || b == NO_REF)
        return a == NO_REF ? b : a;
    const struct str date_a = h->phases.v[a].by_date, date_b = h->phases.v[b].by_date;
    const int order = date_a.n && date_b.n ? str_cmp(date_a, date_b) : 0;
    if (order != 0)
        return order < 0 ? b : a;
    return a < b ? b : a;
}

/* ---- putting lines together ---- */

void bill_gap(struct bill_draft *d, uint32_t phase, bool is_yearly, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *text = arena_vprintf(d->a, fmt, args);
    va_end(args);
    const struct bill_gap gap = { str_from(text ? text : ""), phase, is_yearly };
    for (uint32_t i = 0; i < d->gaps.n; i++)
        if (d->gaps.v[i].phase == phase && d->gaps.v[i].is_yearly == is_yearly && str_eq(d->gaps.v[i].says, gap.says))
            return;
    d->failed |= !text || !VEC_PUSH(d->a, &d->gaps, gap);
}

static bool is_price(double price) { return price >= 0.0 && isfinite(price); }

static bool joins(const struct draft_line *q, const struct bill_item *item)
{
    const bool same_price = item->owned || (is_price(q->price) ? q->price == item->price : !is_price(item->price));
    return q->line.kind == item->kind && q->line.phase == item->phase && q->line.part == item->part &&
           q->line.owned == item->owned && same_price && str_eq(q->line.what, item->what) &&
           str_eq(q->line.unit, item->unit);
}

static struct draft_line *line_of(struct bill_draft *d, const struct bill_item *item)
{
    for (uint32_t i = 0; i < d->lines.n; i++)
        if (joins(&d->lines.v[i], item))
            return &d->lines.v[i];
    struct draft_line fresh = { .price = item->price };
    fresh.line = (struct bill_line){ .kind = item->kind,
                                     .what = item->what,
                                     .part = item->part,
                                     .unit = item->unit,
                                     .length_m = RT_NOT_GIVEN,
                                     .each = RT_NOT_GIVEN,
                                     .phase = item->phase,
                                     .owned = item->owned,
                                     .is_priced = item->owned || is_price(item->price) };
    if (!VEC_PUSH(d->a, &d->lines, fresh)) {
        d->failed = true;
        return NULL;
    }
    return &d->lines.v[d->lines.n - 1];
}

static void tell_no_price(struct bill_draft *d, const struct bill_item *item)
{
    const struct house *h = d->h;
    if (item->part != NO_REF && !d->prices_hold)
        bill_gap(d, item->phase, false, "the parts file has its prices in %.*s, the house reckons in %.*s",
                 STR_ARG(h->parts.currency), STR_ARG(h->currency));
    else if (is_given(item->price))
        bill_gap(d, item->phase, false, "the price of %.*s cannot be used: it is below zero or has no end",
                 STR_ARG(item->what));
    else
        bill_gap(d, item->phase, false, "no price is known for %.*s", STR_ARG(item->what));
}

void bill_add(struct bill_draft *d, struct bill_item item)
{
    struct draft_line *q = line_of(d, &item);
    if (!q)
        return;
    q->line.count += item.count;
    if (item.length_m > 0.0)
        q->line.length_m = given_or(q->line.length_m, 0.0) + item.length_m;
    if (item.who.n && !(q->who.n && str_eq(q->who.v[q->who.n - 1], item.who)))
        d->failed |= !VEC_PUSH(d->a, &q->who, item.who);
    if (!q->line.is_priced)
        tell_no_price(d, &item);
}

struct str bill_part_words(struct bill_draft *d, uint32_t part)
{
    const struct part *p = &d->h->parts.list.v[part];
    if (!p->maker.n)
        return p->says.n ? p->says : p->id;
    const char *text = arena_printf(d->a, "%.*s (%.*s)", STR_ARG(p->says), STR_ARG(p->maker));
    d->failed |= !text;
    return str_from(text ? text : "");
}

void bill_part(struct bill_draft *d, enum bill_kind kind, uint32_t part, uint32_t phase, bool owned, struct str who)
{
    bill_add(d, (struct bill_item){ .kind = kind,
                                    .phase = phase,
                                    .part = part,
                                    .owned = owned,
                                    .what = bill_part_words(d, part),
                                    .count = 1.0,
                                    .price = d->prices_hold ? d->h->parts.list.v[part].price : RT_NOT_GIVEN,
                                    .who = who });
}

void bill_labour(struct bill_draft *d, enum work_task task, uint32_t phase, double n, struct str who)
{
    const struct work_time *t = work_time(task);
    if (bill_pays_labour(d) && n > 0.0)
        bill_add(d, (struct bill_item){ .kind = BILL_LABOUR,
                                        .phase = phase,
                                        .part = NO_REF,
                                        .what = str_from(t->says),
                                        .unit = STR("h"),
                                        .count = n * t->hours,
                                        .price = d->h->budget.labour_per_h,
                                        .who = who });
}

/* ---- from drafts to lines ---- */

/* Rank of a phase in time, for boxes of cable: what is left of a box goes to the next phase. */
static bool comes_before(const struct house *h, uint32_t a, uint32_t b)
{
    return a != b && bill_later_phase(h, a, b) == b;
}

/* Boxes of one cable part that this line adds to those of the lines that come before it. */
static double boxes_of(const struct bill_draft *d, uint32_t line)
{
    const struct bill_line *q = &d->lines.v[line].line;
    const double per_m = d->h->parts.list.v[q->part].per_m;
    double before_m = 0.0;
    for (uint32_t i = 0; i < d->lines.n; i++) {
        const struct bill_line *other = &d->lines.v[i].line;
        if (other->kind == BILL_CABLE && other->part == q->part && !other->owned && is_given(other->length_m) &&
            comes_before(d->h, other->phase, q->phase))
            before_m += other->length_m;
    }
    /* A hair less than a whole box more is rounding, not cable. */
    static const double HAIR_M = 1e-6;
    return ceil((before_m + q->length_m - HAIR_M) / per_m) - ceil(fmax(0.0, before_m - HAIR_M) / per_m);
}

static struct str join_names(struct bill_draft *d, const struct draft_line *q)
{
    struct buf b = { .arena = d->a };
    for (uint32_t i = 0; i < q->who.n; i++)
        buf_printf(&b, "%s%.*s", i ? ", " : "", STR_ARG(q->who.v[i]));
    d->failed |= b.failed;
    return b.failed ? STR("") : buf_done(&b);
}

static enum rt_code too_large(struct rt_problems *p)
{
    return rt_fail(p, RT_LIMIT, RT_NOWHERE, "look for a price with digits too many", "the bill is too large to add up");
}

static bool close_line(struct bill_draft *d, uint32_t i)
{
    struct draft_line *q = &d->lines.v[i];
    if (q->line.kind == BILL_CABLE && is_given(q->line.length_m) && !q->line.owned)
        q->line.count = boxes_of(d, i);
    q->line.why = join_names(d, q);
    if (q->line.owned || !q->line.is_priced)
        return true;
    q->line.each = q->price;
    return money_amount(d->h->currency, q->price, q->line.count, &q->line.total);
}

static int by_index(uint32_t a, uint32_t b) { return a < b ? -1 : a > b; }

/* NO_REF wraps round to 0: what has no phase comes first. */
static int by_place(const void *left, const void *right)
{
    const struct bill_line *a = left, *b = right;
    int order = by_index(a->phase + 1, b->phase + 1);
    order = order ? order : by_index(a->kind, b->kind);
    order = order ? order : (int)a->owned - (int)b->owned;
    order = order ? order : by_index(a->part, b->part);
    order = order ? order : str_cmp(a->what, b->what);
    order = order ? order : (a->total < b->total) - (a->total > b->total);
    return order ? order : str_cmp(a->why, b->why);
}

static bool add_to(int64_t *sum, int64_t amount) { return !__builtin_add_overflow(*sum, amount, sum); }

static int64_t *phase_sum(struct bill *b, uint32_t phase) { return phase == NO_REF ? &b->no_phase : &b->phases[phase]; }

static enum rt_code collect(struct bill_draft *d, struct bill *b, struct rt_problems *p)
{
    b->lines.v = ARENA_ARRAY(d->a, struct bill_line, d->lines.n + d->h->phases.n + 1); /* room for contingencies */
    b->phases = ARENA_ARRAY(d->a, int64_t, d->h->phases.n);
    if (d->failed || !b->lines.v || !b->phases)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < d->lines.n; i++) {
        if (!close_line(d, i))
            return too_large(p);
        const struct bill_line *q = &d->lines.v[i].line;
        if (!add_to(phase_sum(b, q->phase), q->total))
            return too_large(p);
        b->lines.v[b->lines.n++] = *q;
    }
    return d->failed ? rt_fail_memory(p) : RT_OK;
}

/* What was not foreseen: a share of each phase's sum. */
static enum rt_code add_contingency(struct bill *b, uint32_t phase, struct rt_problems *p)
{
    const struct house *h = b->h;
    const double share = h->budget.contingency_share;
    int64_t *sum = phase_sum(b, phase);
    struct bill_line q = { .kind = BILL_CONTINGENCY,
                           .what = STR("what was not foreseen"),
                           .part = NO_REF,
                           .count = 1.0,
                           .length_m = RT_NOT_GIVEN,
                           .phase = phase,
                           .is_priced = true };
    if (*sum > 0 && share > 0.0) {
        if (!money_amount(h->currency, share, money_value(h->currency, *sum), &q.total) || !add_to(sum, q.total))
            return too_large(p);
        q.each = money_value(h->currency, q.total);
        b->lines.v[b->lines.n++] = q;
    }
    return add_to(&b->total, *sum) ? RT_OK : too_large(p);
}

/* ---- the running cost ---- */

static enum rt_code add_year(struct bill_draft *d, const struct energy_plan *energy, struct bill *b,
                             struct rt_problems *p)
{
    const struct house *h = d->h;
    enum { MONTHS = 12 };
    b->kwh_per_year = energy ? energy->kwh_per_year : RT_NOT_GIVEN;
    b->energy_known = is_given(b->kwh_per_year) && energy->missing.n == 0 && is_given(h->budget.energy_per_kwh);
    b->line_known = !h->line.at.line || is_given(h->line.price_per_month);
    for (uint32_t i = 0; energy && i < energy->missing.n; i++)
        bill_gap(d, NO_REF, true, "%.*s", STR_ARG(energy->missing.v[i]));
    if (!is_given(b->kwh_per_year))
        bill_gap(d, NO_REF, true, "what the equipment draws in a year is not known");
    else if (!is_given(h->budget.energy_per_kwh))
        bill_gap(d, NO_REF, true, "say in 'budget' what energy costs ('energy_per_kwh')");
    else if (!money_amount(h->currency, h->budget.energy_per_kwh, b->kwh_per_year, &b->energy))
        return too_large(p);
    if (!b->line_known)
        bill_gap(d, NO_REF, true, "say in 'line' what it costs ('price_per_month')");
    else if (h->line.at.line && !money_amount(h->currency, h->line.price_per_month, MONTHS, &b->line))
        return too_large(p);
    b->yearly = b->energy;
    return add_to(&b->yearly, b->line) ? RT_OK : too_large(p);
}

/* ---- the whole ---- */

/* A cable's phase is the latest of its ends; a device's that of the cables to it, since it is of no use before. */
static bool find_phases(struct bill_draft *d)
{
    const struct house *h = d->h;
    d->cable_phase = ARENA_ARRAY(d->a, uint32_t, h->cables.n);
    d->cable_part = ARENA_ARRAY(d->a, uint32_t, h->cables.n);
    d->device_phase = ARENA_ARRAY(d->a, uint32_t, h->devices.n);
    if (!d->cable_phase || !d->cable_part || !d->device_phase)
        return false;
    for (uint32_t i = 0; i < h->devices.n; i++)
        d->device_phase[i] = NO_REF;
    for (uint32_t i = 0; i < h->cables.n; i++) {
        const struct cable *c = &h->cables.v[i];
        const struct cable_end *ends[] = { &c->from, &c->to };
        d->cable_phase[i] = NO_REF;
        d->cable_part[i] = c->part.i;
        for (int k = 0; k < 2; k++)
            if (ends[k]->equipment != NO_REF)
                d->cable_phase[i] = bill_later_phase(h, d->cable_phase[i], h->equipment.v[ends[k]->equipment].phase.i);
        for (int k = 0; k < 2 && !c->owned; k++)
            if (ends[k]->device != NO_REF) {
                uint32_t *phase = &d->device_phase[ends[k]->device];
                *phase = bill_later_phase(h, *phase, d->cable_phase[i]);
            }
    }
    return true;
}

enum rt_code bill_make(const struct run *run, const struct cable_plan *cables, const struct wire_links *links,
                       const struct energy_plan *energy, struct bill **out, struct rt_problems *p)
{
    const struct house *h = cables->h;
    struct bill_draft d = { .run = run,
                            .a = run->arena,
                            .h = h,
                            .cables = cables,
                            .links = links,
                            .prices_hold = !h->parts.currency.n || str_eq(h->parts.currency, h->currency) };
    struct bill *b = ARENA_NEW(run->arena, struct bill);
    if (!b || !find_phases(&d))
        return rt_fail_memory(p);
    *b = (struct bill){ .h = h, .digits = currency_digits(h->currency), .house_share = RT_NOT_GIVEN };
    bill_things(&d);
    RT_TRY(bill_cables(&d, p));
    RT_TRY(collect(&d, b, p));
    RT_TRY(add_contingency(b, NO_REF, p));
    for (uint32_t i = 0; i < h->phases.n; i++)
        RT_TRY(add_contingency(b, i, p));
    if (b->lines.n > 1)
        qsort(b->lines.v, b->lines.n, sizeof *b->lines.v, by_place);
    RT_TRY(add_year(&d, energy, b, p));
    if (h->budget.house_cost > 0.0)
        b->house_share = money_value(h->currency, b->total) / h->budget.house_cost;
    b->cable_parts = d.cable_part;
    b->cable_phases = d.cable_phase;
    b->gaps.v = d.gaps.v;
    b->gaps.n = d.gaps.n;
    *out = b;
    return d.failed ? rt_fail_memory(p) : RT_OK;
}

/* Which phase buys what: the placing of the design again, with nothing to choose from but what was chosen, under the budgets of the
 * phases one after another. */
#include "design/stages.h"

#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "design/design_int.h"
#include "wire/bill.h"

static const double SECONDS_EACH = 5.0;

struct staging {
    const struct run *run;
    struct design *d;
    struct house *h;    /* the fitted one, whose phases are set */
    struct placing q;   /* what was chosen, and nothing else */
    uint32_t *offer_of; /* [q.offers.n]: of d->placing */
    double *worth;
    bool **given_up; /* [stage][promise] */
    bool **chosen;   /* [stage][offer of q] */
    uint32_t *order; /* phases by date */
    uint32_t n;
};

/* ---- only what was chosen ---- */

static bool restrict_clause(struct arena *a, const struct place_clause *all, const uint32_t *new_index,
                            struct place_clause *out)
{
    *out = (struct place_clause){ .at_least = all->at_least };
    out->offers.v = ARENA_ARRAY(a, uint32_t, all->offers.n);
    for (uint32_t i = 0; out->offers.v && i < all->offers.n; i++)
        if (new_index[all->offers.v[i]] != NO_REF)
            out->offers.v[out->offers.n++] = new_index[all->offers.v[i]];
    return out->offers.v != NULL;
}

static bool restrict_need(struct arena *a, const struct place_need *all, const uint32_t *new_index,
                          struct place_need *out)
{
    *out = *all;
    out->ranks = NULL; /* of other offers */
    out->cells.v = ARENA_ARRAY(a, struct place_cell, all->cells.n);
    for (uint32_t i = 0; out->cells.v && i < all->cells.n; i++) {
        const struct place_cell *from = &all->cells.v[i];
        struct place_cell *to = &out->cells.v[i];
        to->weight = from->weight;
        to->clauses.n = from->clauses.n;
        to->clauses.v = ARENA_ARRAY(a, struct place_clause, from->clauses.n);
        for (uint32_t k = 0; to->clauses.v && k < from->clauses.n; k++)
            if (!restrict_clause(a, &from->clauses.v[k], new_index, &to->clauses.v[k]))
                return false;
        if (!to->clauses.v)
            return false;
    }
    return out->cells.v != NULL;
}

/* The links of the answer alone; things of sites without an offer keep none and want none. */
static bool restrict_links(struct arena *a, const struct design *d, struct placing *q)
{
    q->things.v = ARENA_ARRAY(a, struct place_thing, d->placing.things.n);
    for (uint32_t t = 0; q->things.v && t < q->things.n; t++) {
        const uint32_t link = d->answer.links[t];
        q->things.v[t] = d->placing.things.v[t];
        q->things.v[t].links.n = link != NO_REF;
        q->things.v[t].links.v = ARENA_ARRAY(a, uint32_t, 1);
        if (!q->things.v[t].links.v)
            return false;
        q->things.v[t].links.v[0] = link;
    }
    return q->things.v != NULL;
}

static bool restrict_to_answer(struct staging *s)
{
    struct arena *a = s->run->arena;
    const struct placing *all = &s->d->placing;
    uint32_t *new_index = ARENA_ARRAY(a, uint32_t, all->offers.n);
    s->offer_of = ARENA_ARRAY(a, uint32_t, all->offers.n);
    s->q = *all;
    s->q.offers.v = ARENA_ARRAY(a, struct place_offer, all->offers.n);
    s->q.needs.v = ARENA_ARRAY(a, struct place_need, all->needs.n);
    if (!new_index || !s->offer_of || !s->q.offers.v || !s->q.needs.v)
        return false;
    s->q.offers.n = 0;
    for (uint32_t i = 0; i < all->offers.n; i++) {
        new_index[i] = s->d->answer.offers[i] ? s->q.offers.n : NO_REF;
        if (new_index[i] == NO_REF)
            continue;
        s->offer_of[s->q.offers.n] = i;
        s->q.offers.v[s->q.offers.n++] = all->offers.v[i];
    }
    for (uint32_t i = 0; i < all->needs.n; i++)
        if (!restrict_need(a, &all->needs.v[i], new_index, &s->q.needs.v[i]))
            return false;
    s->q.budget_promise = NO_REF;
    return restrict_links(a, s->d, &s->q);
}

/* ---- one phase after another ---- */

static bool is_before(const struct house *h, uint32_t a, uint32_t b)
{
    const struct str x = h->phases.v[a].by_date, y = h->phases.v[b].by_date;
    const int order = x.n && y.n ? str_cmp(x, y) : (int)!x.n - (int)!y.n;
    return order ? order < 0 : a < b;
}

static void sort_phases(struct staging *s)
{
    for (uint32_t i = 0; i < s->n; i++) {
        uint32_t at = i;
        for (; at > 0 && is_before(s->h, i, s->order[at - 1]); at--)
            s->order[at] = s->order[at - 1];
        s->order[at] = i;
    }
}

static int64_t budget_of(const struct staging *s, uint32_t stage)
{
    int64_t amount;
    const double budget = s->h->phases.v[s->order[stage]].budget;
    return is_given(budget) && money_amount(s->h->currency, budget, 1.0, &amount) ? amount : INT64_MAX;
}

static enum rt_code choose_stage(struct staging *s, uint32_t stage, int64_t at_most, struct rt_problems *p)
{
    const struct placing_limits limits = { .seconds = SECONDS_EACH };
    const uint32_t n = s->h->promises.n;
    struct placing_answer a = { 0 };
    s->given_up[stage] = ARENA_ARRAY(s->run->arena, bool, n);
    s->chosen[stage] = ARENA_ARRAY(s->run->arena, bool, s->q.offers.n);
    if (!s->given_up[stage] || !s->chosen[stage])
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < n; i++)
        s->given_up[stage][i] = s->d->given_up[i];
    s->q.at_most = at_most;
    if (at_most < INT64_MAX) {
        RT_TRY(placing_give_up(s->run, &s->q, n, s->worth, limits, s->given_up[stage], p));
        RT_TRY(placing_solve(s->run, &s->q, s->given_up[stage], NULL, limits, &a, p));
    }
    const bool all = stage + 1 == s->n || at_most == INT64_MAX;
    for (uint32_t i = 0; i < n && !all && !a.is_found; i++) /* even the cables are beyond it: no access points yet */
        s->given_up[stage][i] = true;
    for (uint32_t i = 0; i < s->q.offers.n; i++) {
        s->chosen[stage][i] = all || (a.is_found && a.offers[i]) || s->q.offers.v[i].is_fixed;
        s->q.offers.v[i].is_fixed = s->chosen[stage][i];
    }
    for (uint32_t i = 0; all && i < n; i++)
        s->given_up[stage][i] = s->d->given_up[i];
    return RT_OK;
}

static enum rt_code choose_stages(struct staging *s, struct rt_problems *p)
{
    int64_t sum = 0;
    for (uint32_t k = 0; k < s->n; k++) {
        const int64_t budget = budget_of(s, k);
        sum = budget == INT64_MAX || sum > INT64_MAX - budget ? INT64_MAX : sum + budget;
        RT_TRY(choose_stage(s, k, sum, p));
    }
    return RT_OK;
}

/* ---- from offers to equipment ---- */

static struct equipment *added_thing(struct staging *s, uint32_t i)
{
    const uint32_t e = house_find_equipment(s->h, s->d->fitted.added.v[i]);
    return e == NO_REF ? NULL : &s->h->equipment.v[e];
}

/* The stage in which the offer on the thing's mount is first chosen; NO_REF: it is no access point of the placing. */
static uint32_t stage_of_offer(const struct staging *s, const struct equipment *e)
{
    const struct design_space *space = s->d->space;
    for (uint32_t i = 0; i < s->q.offers.n && e->mount.i != NO_REF; i++) {
        const uint32_t mount = space->sites.v[s->q.offers.v[i].site].mount;
        if (!str_eq(space->house->mounts.v[mount].id, s->h->mounts.v[e->mount.i].id))
            continue;
        for (uint32_t k = 0; k < s->n; k++)
            if (s->chosen[k][i])
                return k;
    }
    return NO_REF;
}

static bool is_store(const struct house *h, const struct equipment *e)
{
    const enum part_kind kind = e->part.i == NO_REF ? PART_SUNDRY : h->parts.list.v[e->part.i].kind;
    return kind == PART_BATTERY || kind == PART_DISK || kind == PART_RECORDER;
}

static void set_phase(struct staging *s, struct equipment *e, uint32_t stage) { e->phase.i = s->order[stage]; }

/* What a cable leads away from is wanted when the first of what it leads to is; devices are there from the start. */
static void advance_sources(const struct staging *s, uint32_t *stage, bool *changed)
{
    for (uint32_t c = 0; c < s->h->cables.n; c++) {
        const struct cable *k = &s->h->cables.v[c];
        const uint32_t source = k->from.equipment, wanted = k->to.equipment == NO_REF ? 0 : stage[k->to.equipment];
        if (source == NO_REF || stage[source] <= wanted || stage_of_offer(s, &s->h->equipment.v[source]) != NO_REF)
            continue;
        stage[source] = wanted;
        *changed = true;
    }
}

/* Access points as chosen; stores last, for the time being; the rest when a cable wants it, or from the start if it has none. */
static bool set_phases(struct staging *s)
{
    const struct house *h = s->h;
    uint32_t *stage = ARENA_ARRAY(s->run->arena, uint32_t, h->equipment.n);
    for (uint32_t e = 0; stage && e < h->equipment.n; e++) {
        const uint32_t chosen = stage_of_offer(s, &h->equipment.v[e]);
        stage[e] = chosen != NO_REF ? chosen : is_store(h, &h->equipment.v[e]) ? s->n - 1 : s->n;
    }
    for (bool changed = stage != NULL; changed;) {
        changed = false;
        advance_sources(s, stage, &changed);
    }
    for (uint32_t i = 0; stage && i < s->d->fitted.added.n; i++) {
        struct equipment *e = added_thing(s, i);
        if (e)
            set_phase(s, e, stage[e - h->equipment.v] == s->n ? 0 : stage[e - h->equipment.v]);
    }
    return stage != NULL;
}

/* Battery and disks move to the first phase whose bill, with all before it, still leaves room for them. */
static enum rt_code advance_stores(struct staging *s, struct evaluation *ev, struct rt_problems *p)
{
    const struct bill *bill = NULL;
    RT_TRY(evaluation_bill(ev, &bill, p));
    const double more = 1.0 + given_or(s->h->budget.contingency_share, 0.0);
    int64_t *spent = ARENA_ARRAY(s->run->arena, int64_t, s->n);
    if (!spent)
        return rt_fail_memory(p);
    for (uint32_t k = 0; k < s->n; k++)
        spent[k] = bill->phases[s->order[k]];
    for (uint32_t i = 0; i < s->d->fitted.added.n; i++) {
        struct equipment *e = added_thing(s, i);
        int64_t price;
        if (!e || !is_store(s->h, e) ||
            !money_amount(s->h->currency, s->h->parts.list.v[e->part.i].price, more, &price))
            continue;
        for (uint32_t k = 0; k + 1 < s->n; k++) {
            const int64_t budget = budget_of(s, k);
            if (budget < INT64_MAX && spent[k] + price > budget)
                continue;
            spent[k] += price;
            set_phase(s, e, k);
            break;
        }
    }
    return RT_OK;
}

/* ---- what comes of it ---- */

static enum rt_code begin_again(struct staging *s, struct evaluation **out, struct rt_problems *p)
{
    struct evaluation *ev = ARENA_NEW(s->run->arena, struct evaluation);
    if (!ev)
        return rt_fail_memory(p);
    RT_TRY(evaluation_begin(ev, s->run, s->h, s->d->ev->options, p));
    *out = ev;
    return RT_OK;
}

static bool has_need(const struct staging *s, uint32_t promise)
{
    for (uint32_t i = 0; i < s->d->placing.needs.n; i++)
        if (s->d->placing.needs.v[i].promise == promise)
            return true;
    return false;
}

static enum rt_code describe(struct staging *s, const struct bill *bill, stage_list *out, struct rt_problems *p)
{
    struct arena *a = s->run->arena;
    *out = (stage_list){ .v = ARENA_ARRAY(a, struct stage, s->n), .n = s->n };
    for (uint32_t k = 0; out->v && k < s->n; k++) {
        struct stage *stage = &out->v[k];
        *stage = (struct stage){ .phase = s->order[k], .price = bill->phases[s->order[k]], .budget = budget_of(s, k) };
        stage->things.v = ARENA_ARRAY(a, struct str, s->d->fitted.added.n);
        stage->promises.v = ARENA_ARRAY(a, uint32_t, s->h->promises.n);
        if (!stage->things.v || !stage->promises.v)
            return rt_fail_memory(p);
        for (uint32_t i = 0; i < s->d->fitted.added.n; i++) {
            const struct equipment *e = added_thing(s, i);
            if (e && e->phase.i == stage->phase)
                stage->things.v[stage->things.n++] = e->id;
        }
        for (uint32_t i = 0; i < s->h->promises.n; i++)
            if (has_need(s, i) && !s->given_up[k][i] && (k == 0 || s->given_up[k - 1][i]))
                stage->promises.v[stage->promises.n++] = i;
    }
    return out->v ? RT_OK : rt_fail_memory(p);
}

/* What was not foreseen is a share of each phase, rounded to a penny there, and a box of cable may be opened in another one: the price
 * is that of the bill with the phases in it. */
static void retell_price(struct design *d, const struct bill *bill)
{
    d->total = bill->total;
    d->bound = d->bound < d->total ? d->bound : d->total;
    d->gap = d->total > 0 ? (double)(d->total - d->bound) / (double)d->total : 0.0;
}

enum rt_code stages_split(const struct run *run, struct design *d, stage_list *out, struct rt_problems *p)
{
    struct staging s = { .run = run, .d = d, .h = d->fitted.house, .n = d->fitted.house->phases.n };
    const struct bill *bill = NULL;
    if (!s.n)
        return rt_fail(p, RT_MISSING, RT_NOWHERE, "add `phases:` with a date and a budget for each",
                       "the house has no phases over which the purchase could be split");
    s.order = ARENA_ARRAY(run->arena, uint32_t, s.n);
    s.worth = ARENA_ARRAY(run->arena, double, s.h->promises.n);
    s.given_up = ARENA_ARRAY(run->arena, bool *, s.n);
    s.chosen = ARENA_ARRAY(run->arena, bool *, s.n);
    if (!s.order || !s.worth || !s.given_up || !s.chosen || !restrict_to_answer(&s))
        return rt_fail_memory(p);
    design_set_worths(s.h, s.worth);
    sort_phases(&s);
    RT_TRY(choose_stages(&s, p));
    if (!set_phases(&s))
        return rt_fail_memory(p);
    struct evaluation *ev = NULL;
    RT_TRY(begin_again(&s, &ev, p));
    RT_TRY(advance_stores(&s, ev, p));
    RT_TRY(begin_again(&s, &d->ev, p));
    RT_TRY(promises_evaluate(d->ev, ALL_PROMISE_KINDS, &d->results, p));
    RT_TRY(evaluation_bill(d->ev, &bill, p));
    retell_price(d, bill);
    return describe(&s, bill, out, p);
}

/* Where cables lie, as evidence of a promise of kind `cable`, and the breach that breaks it. */
#include <math.h>

#include "base/units.h"
#include "promise/cable_checks.h"
#include "wire/cable_rules.h"

static bool lies_in(const struct cable_plan *plan, uint32_t cable, uint32_t run)
{
    const struct routed_cable *way = &plan->cables[cable];
    const ref_list route = plan->h->cables.v[cable].route;
    for (uint32_t i = 0; i < way->legs.n; i++)
        if (way->legs.v[i].run == run)
            return true;
    for (uint32_t i = 0; way->legs.n == 0 && i < route.n; i++)
        if (route.v[i].i == run)
            return true;
    return false;
}

static bool run_is_meant(const struct promise *promise, const struct cable_plan *plan, uint32_t run)
{
    for (uint32_t c = 0; c < plan->h->cables.n; c++)
        if (cable_is_meant(plan->h, promise, c) && lies_in(plan, c, run))
            return true;
    return false;
}

static bool breach_is_meant(const struct promise *promise, const struct cable_plan *plan, const struct cable_breach *b)
{
    if (b->equipment != NO_REF)
        return cable_means_thing(promise, plan->h->equipment.v[b->equipment].id);
    return b->cable != NO_REF ? cable_is_meant(plan->h, promise, b->cable) : run_is_meant(promise, plan, b->run);
}

static struct str id_of(const struct house *h, const struct cable_breach *b)
{
    if (b->equipment != NO_REF)
        return h->equipment.v[b->equipment].id;
    return b->cable != NO_REF ? h->cables.v[b->cable].id : (struct str){ 0 };
}

static void add_facts(struct arena *a, const struct house *h, const struct promise *promise,
                      const struct cable_plan *plan, const struct cable_rules *rules, struct fact *evidence)
{
    struct fact *runs = fact_array(a, evidence, "runs");
    for (uint32_t i = 0; i < rules->fills.n; i++) {
        const struct run_fill *f = &rules->fills.v[i];
        if (!run_is_meant(promise, plan, f->run))
            continue;
        struct fact *o = fact_object(a, runs, NULL);
        fact_str(a, o, "id", h->runs.v[f->run].id);
        fact_num(a, o, "cables", f->n_cables, 0);
        fact_num(a, o, "used_mm2", f->used_mm2, 0);
        fact_num(a, o, "share", f->share, 3);
        fact_num(a, o, "share_max", is_given(f->share) ? f->share_max : RT_NOT_GIVEN, 2);
        fact_num(a, o, "mains_m", h->runs.v[f->run].mains_m, 3);
    }
    struct fact *breaches = fact_array(a, evidence, "breaches");
    for (uint32_t i = 0; i < rules->breaches.n; i++) {
        const struct cable_breach *b = &rules->breaches.v[i];
        if (!breach_is_meant(promise, plan, b))
            continue;
        struct fact *o = fact_object(a, breaches, NULL);
        fact_text(a, o, "rule", cable_rule_name(b->rule));
        fact_str(a, o, "id", id_of(h, b));
        fact_str(a, o, "run", b->run == NO_REF ? (struct str){ 0 } : h->runs.v[b->run].id);
        fact_num(a, o, "is", b->is, 3);
        fact_num(a, o, "limit", b->limit, 3);
        fact_num(a, o, "metres", b->metres, 1);
        fact_str(a, o, "says", b->says);
    }
    struct fact *unknown = fact_array(a, evidence, "mains_unknown");
    for (uint32_t i = 0; i < rules->mains_unknown.n; i++)
        if (run_is_meant(promise, plan, rules->mains_unknown.v[i].i))
            fact_str(a, unknown, NULL, h->runs.v[rules->mains_unknown.v[i].i].id);
    if (rules->generated_unknown && promise->devices.n == 0)
        fact_text(a, unknown, NULL, "generated voids");
}

/* The margin of the first breach, in what its figures are. */
static void break_by(struct evaluation *ev, const struct cable_breach *b, uint32_t n_more, struct promise_result *out)
{
    const bool is_share = b->rule == RULE_FILL, is_distance = b->rule == RULE_MAINS;
    out->state = PROMISE_BROKEN;
    out->margin = is_share ? 100.0 * (b->limit - b->is) : is_distance ? b->is - b->limit : b->limit - b->is;
    out->unit = !is_given(out->margin) ? "" : is_share ? "%" : is_distance ? "m" : "K";
    out->margin_decimals = is_distance ? 2 : 0;
    const char *text =
        n_more ? arena_printf(ev->run->arena, "%.*s; and %u more such", STR_ARG(b->says), (unsigned)n_more) : NULL;
    out->reason = text ? str_from(text) : b->says;
}

enum rt_code cable_promise_rules(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                                 struct rt_problems *p)
{
    const struct cable_plan *plan;
    const struct wire_links *links;
    struct cable_rules rules;
    RT_TRY(evaluation_cables(ev, &plan, &links, p));
    RT_TRY(cable_rules_check(ev->run, plan, links, &rules, p));
    add_facts(ev->run->arena, ev->h, promise, plan, &rules, out->evidence);
    const struct cable_breach *first = NULL;
    uint32_t n = 0;
    for (uint32_t i = 0; i < rules.breaches.n; i++)
        if (breach_is_meant(promise, plan, &rules.breaches.v[i])) {
            first = first ? first : &rules.breaches.v[i];
            n++;
        }
    if (first && out->state != PROMISE_BROKEN)
        break_by(ev, first, n - 1, out);
    return RT_OK;
}

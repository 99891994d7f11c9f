/* What everything wants, from the ends inwards; what it is granted, from the sources outwards; once with copper at the air's
 * warmth, and once more with what the bundles add. */
#include "wire/power.h"

#include <math.h>

#include "base/units.h"
#include "wire/power_int.h"

const char *power_limit_words(enum power_limit limit)
{
    static const char *const WORDS[] = {
#define X(upper, words) [POWER_BY_##upper] = words,
        POWER_LIMITS(X)
#undef X
    };
    return WORDS[limit];
}

const struct power_source *power_source_of(const struct power_plan *plan, uint32_t equipment)
{
    for (uint32_t i = 0; i < plan->sources.n; i++)
        if (plan->sources.v[i].equipment == equipment)
            return &plan->sources.v[i];
    return NULL;
}

/* ---- what is wanted ---- */

/* The class at which a feed would run if its source had watts enough. */
static const struct poe_class *class_by_port(const struct power_feed *f)
{
    return poe_class(poe_class_granted(f->class_asked, f->port_class, (double)INFINITY));
}

static double source_v(const struct power_feed *f, const struct poe_class *class)
{
    return fmax(class->source_v, poe_class(f->port_class)->source_v);
}

/* At the source, for load_w at the device; at most what the class gives. */
static double drawn_w(const struct power_feed *f, const struct poe_class *class, double load_w)
{
    const double pair_set_ohm = is_given(f->loop_ohm) ? f->loop_ohm : class->loop_ohm;
    const struct poe_flow flow = poe_from_load(load_w, source_v(f, class), pair_set_ohm / class->pair_sets);
    return flow.is_possible ? fmin(flow.source_w, class->source_w) : class->source_w;
}

struct sums {
    double typical_w, worst_w, start_w;
    uint32_t n;
};

static struct sums sum_of_feeds(const struct power_plan *plan, uint32_t source)
{
    struct sums s = { 0 };
    for (uint32_t i = 0; i < plan->feeds.n; i++) {
        const struct power_feed *f = &plan->feeds.v[i];
        if (f->source != source)
            continue;
        const struct poe_class *class = class_by_port(f);
        s.typical_w += f->drawn_typical_w;
        s.worst_w += f->drawn_w;
        s.start_w += class ? class->source_w : 0.0;
        s.n++;
    }
    return s;
}

static double budget_of(const struct power_maker *m, uint32_t equipment)
{
    const struct part *part = part_of_equipment(m->h, equipment);
    return part ? part->poe_budget_w : RT_NOT_GIVEN;
}

static void want(struct power_maker *m, uint32_t i)
{
    struct power_feed *f = &m->plan->feeds.v[i];
    const struct poe_class *class = class_by_port(f);
    f->typical_w = m->own_w[i];
    f->wanted_w = m->own_most_w[i];
    if (f->equipment != NO_REF) {
        const struct sums s = sum_of_feeds(m->plan, f->equipment);
        const double most_w = given_or(budget_of(m, f->equipment), (double)INFINITY);
        f->typical_w += fmin(s.typical_w, most_w);
        f->wanted_w += fmin(s.worst_w, most_w);
    }
    f->drawn_typical_w = class ? drawn_w(f, class, f->typical_w) : 0.0;
    f->drawn_w = class ? drawn_w(f, class, f->wanted_w) : 0.0;
}

/* ---- what is granted ---- */

static void deliver(struct power_feed *f)
{
    const struct poe_class *class = poe_class(f->class_granted);
    f->delivered_w = class && !f->is_known ? RT_NOT_GIVEN : 0.0;
    f->loss_w = f->current_a = f->device_v = f->delivered_w;
    if (!f->is_known && class)
        f->limit = POWER_BY_LENGTH;
    if (!class || !f->is_known)
        return;
    enum poe_limit by;
    f->delivered_w = poe_deliverable_w(class, poe_class(f->port_class), f->loop_ohm, &by);
    if (f->class_granted == f->class_asked)
        f->limit = by == POE_LIMIT_CLASS ? POWER_BY_CLASS : by == POE_LIMIT_VOLTAGE ? POWER_BY_VOLTAGE : POWER_BY_LOSS;
    const struct poe_flow flow =
        poe_from_load(fmin(f->wanted_w, f->delivered_w), source_v(f, class), f->loop_ohm / class->pair_sets);
    f->loss_w = flow.loss_w;
    f->current_a = flow.current_a;
    f->device_v = flow.load_v;
}

static void grant_one(struct power_feed *f, double *left_w)
{
    const struct poe_class *by_port = class_by_port(f);
    f->class_granted = poe_class_granted(f->class_asked, f->port_class, *left_w);
    f->limit = by_port && by_port->number == f->class_granted ? POWER_BY_PORT : POWER_BY_BUDGET;
    if (!by_port)
        f->limit = POWER_BY_PORT;
    const struct poe_class *class = poe_class(f->class_granted);
    *left_w -= class ? class->source_w : 0.0;
    deliver(f);
}

/* Ports without a number last, then by cable. */
static bool comes_before(const struct power_feed *a, uint32_t i, const struct power_feed *b, uint32_t k)
{
    const unsigned x = a->port ? a->port : ~0u, y = b->port ? b->port : ~0u;
    return x != y ? x < y : i < k;
}

/* What a source can give: its budget, and if it is fed itself what that leaves. */
static double giveable_w(const struct power_maker *m, uint32_t equipment)
{
    const double budget_w = budget_of(m, equipment);
    const uint32_t i = m->plan->feed_of_equipment[equipment];
    if (i == NO_REF)
        return budget_w;
    /* Of unknown length: its class at the end of the longest legal cable. */
    const struct power_feed *f = &m->plan->feeds.v[i];
    const struct poe_class *class = poe_class(f->class_granted);
    const double had_w = is_given(f->delivered_w) ? f->delivered_w : class ? class->device_w : 0.0;
    return fmin(given_or(budget_w, (double)INFINITY), fmax(had_w - m->own_most_w[i], 0.0));
}

static void grant_all(struct power_maker *m, struct power_source *source)
{
    struct power_plan *plan = m->plan;
    source->budget_w = giveable_w(m, source->equipment);
    double left_w = given_or(source->budget_w, (double)INFINITY);
    const struct power_feed *last = NULL;
    uint32_t last_i = 0;
    for (uint32_t n = 0; n < source->n_feeds; n++) { /* in the order of the ports */
        uint32_t next = NO_REF;
        for (uint32_t i = 0; i < plan->feeds.n; i++) {
            const struct power_feed *f = &plan->feeds.v[i];
            if (f->source == source->equipment && (!last || comes_before(last, last_i, f, i)) &&
                (next == NO_REF || comes_before(f, i, &plan->feeds.v[next], next)))
                next = i;
        }
        if (next == NO_REF)
            break;
        grant_one(&plan->feeds.v[next], &left_w);
        last = &plan->feeds.v[next];
        last_i = next;
    }
}

static uint32_t depth_of(const struct power_maker *m, const struct power_feed *f)
{
    return feed_is_on(f) ? m->depth[f->source] : 0;
}

static void balance(struct power_maker *m)
{
    struct power_plan *plan = m->plan;
    power_loops(m);
    for (uint32_t d = m->depth_max + 1; d-- > 0;)
        for (uint32_t i = 0; i < plan->feeds.n; i++)
            if (depth_of(m, &plan->feeds.v[i]) == d)
                want(m, i);
    for (uint32_t d = 0; d <= m->depth_max; d++)
        for (uint32_t i = 0; i < plan->sources.n; i++)
            if (m->depth[plan->sources.v[i].equipment] == d)
                grant_all(m, &plan->sources.v[i]);
}

static void list_sources(struct power_maker *m)
{
    struct power_plan *plan = m->plan;
    plan->sources.v = ARENA_ARRAY(m->arena, struct power_source, m->h->equipment.n);
    m->failed |= !plan->sources.v;
    for (uint32_t e = 0; !m->failed && e < m->h->equipment.n; e++) {
        const struct sums s = sum_of_feeds(plan, e);
        if (s.n)
            plan->sources.v[plan->sources.n++] = (struct power_source){ .equipment = e, .n_feeds = s.n };
    }
}

static void sum_sources(struct power_maker *m)
{
    for (uint32_t i = 0; i < m->plan->sources.n; i++) {
        struct power_source *s = &m->plan->sources.v[i];
        const struct sums sums = sum_of_feeds(m->plan, s->equipment);
        s->typical_w = sums.typical_w;
        s->worst_w = sums.worst_w;
        s->start_w = sums.start_w;
    }
}

enum rt_code power_plan_make(const struct run *run, const struct cable_plan *cables, const struct port_numbers *ports,
                             struct power_plan **out, struct rt_problems *p)
{
    const struct house *h = cables->h;
    struct power_maker m = { .arena = run->arena,
                             .h = h,
                             .cables = cables,
                             .ports = ports,
                             .plan = ARENA_NEW(run->arena, struct power_plan),
                             .rise_k = ARENA_ARRAY(run->arena, double, h->cables.n),
                             .n_bundle = ARENA_ARRAY(run->arena, uint32_t, h->cables.n) };
    if (!m.plan || !m.rise_k || !m.n_bundle)
        return rt_fail_memory(p);
    m.plan->h = h;
    power_find_feeds(&m);
    if (!m.failed)
        list_sources(&m);
    if (m.failed)
        return rt_fail_memory(p);
    balance(&m);
    power_bundles(&m);
    balance(&m);
    power_bundles(&m);
    power_check_wires(&m);
    sum_sources(&m);
    *out = m.plan;
    return RT_OK;
}

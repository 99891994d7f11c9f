/* A house as a problem of port_choice.h. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "data/cabling.h"
#include "data/poe_classes.h"
#include "wire/ports_int.h"

/* ---- parts ---- */

static uint32_t medium_of(const struct port_group *g)
{
    return str_is(g->medium, "copper") ? CHOICE_COPPER : CHOICE_FIBRE;
}

/* What a source has left for others when it is fed itself: what its class brings less what it may draw. */
static double budget_of(const struct part *part)
{
    const double own_w = given_or(part->power_max_w, given_or(part->power_w, 0.0));
    const double budget_w = given_or(part->poe_budget_w, (double)INFINITY);
    if (!is_given(part->poe_class_needed))
        return budget_w;
    return fmin(budget_w, fmax(poe_class((int)part->poe_class_needed)->device_w - own_w, 0.0));
}

bool ports_part(struct arena *a, const struct part *part, struct choice_part *out)
{
    struct choice_group *groups = ARENA_ARRAY(a, struct choice_group, part->ports.n);
    *out = (struct choice_part){ .groups = groups,
                                 .n_groups = part->ports.n,
                                 .budget_w = budget_of(part),
                                 .units = given_or(part->rack_units, 0.0) };
    for (uint32_t i = 0; groups && i < part->ports.n; i++) {
        const struct port_group *g = &part->ports.v[i];
        groups[i] = (struct choice_group){ .count = (unsigned)g->count,
                                           .media = medium_of(g),
                                           .speed_mbps = given_or(g->speed_mbps, 0.0),
                                           .poe_class = (int)given_or(g->poe_class, -1.0),
                                           .is_up = g->uplink,
                                           .is_closed = g->uplink && part->kind == PART_GATEWAY };
    }
    return groups != NULL;
}

double ports_fastest_mbps(const struct part *part, uint32_t medium)
{
    double fastest_mbps = 0;
    for (uint32_t i = 0; part && i < part->ports.n; i++)
        if (medium_of(&part->ports.v[i]) & medium)
            fastest_mbps = fmax(fastest_mbps, given_or(part->ports.v[i].speed_mbps, 0.0));
    return part && part->ports.n ? fastest_mbps : (double)INFINITY;
}

/* ---- what is asked ---- */

static struct choice_want want_of_class(double class)
{
    const struct poe_class *c = is_given(class) ? poe_class((int)class) : NULL;
    return (struct choice_want){ .poe_class = c ? c->number : -1, .watts = c ? c->source_w : 0.0 };
}

struct choice_want ports_want_of_part(const struct part *part)
{
    return want_of_class(part ? part->poe_class_needed : RT_NOT_GIVEN);
}

struct choice_want ports_want_of_device(const struct house *h, const struct device *d)
{
    const uint32_t part = d->part.n ? parts_find(&h->parts, d->part) : NO_REF;
    const double of_part =
        part == NO_REF || d->link != LINK_WIRED ? RT_NOT_GIVEN : h->parts.list.v[part].poe_class_needed;
    return want_of_class(given_or(d->poe_class, of_part));
}

static const struct part *part_of(const struct house *h, uint32_t thing)
{
    if (thing >= h->equipment.n || h->equipment.v[thing].part.i == NO_REF)
        return NULL;
    return &h->parts.list.v[h->equipment.v[thing].part.i];
}

static uint32_t other_end(const struct house *h, uint32_t cable, uint32_t thing)
{
    const struct cable *c = &h->cables.v[cable];
    const uint32_t from = tree_thing_of(h, &c->from);
    return from == thing ? tree_thing_of(h, &c->to) : from;
}

static uint32_t cable_beyond(const struct house *h, uint32_t thing, uint32_t cable)
{
    for (uint32_t c = 0; c < h->cables.n; c++)
        if (c != cable &&
            (tree_thing_of(h, &h->cables.v[c].from) == thing || tree_thing_of(h, &h->cables.v[c].to) == thing))
            return c;
    return NO_REF;
}

uint32_t ports_far_thing(const struct house *h, uint32_t cable, uint32_t thing)
{
    uint32_t at = other_end(h, cable, thing);
    for (uint32_t steps = 0; at != NO_REF && steps < h->cables.n; steps++) {
        const struct part *part = part_of(h, at);
        if (!part || part->kind != PART_OUTLET)
            return at;
        cable = cable_beyond(h, at, cable);
        at = cable == NO_REF ? NO_REF : other_end(h, cable, at);
    }
    return at;
}

uint32_t ports_medium(const struct house *h, const struct cable *c)
{
    const struct part *part = c->part.i == NO_REF ? NULL : &h->parts.list.v[c->part.i];
    const struct cable_category *category = part ? cable_category_find(part->category) : NULL;
    return category && category->family != CABLE_COPPER ? CHOICE_FIBRE : CHOICE_COPPER;
}

/* ---- the problem ---- */

static bool is_open(const struct ports_problem *q, uint32_t thing)
{
    return q->candidates && thing < q->h->equipment.n && q->candidates[thing].n > 0;
}

/* The k-th part that an equipment may become, or its own; NULL: none. */
static const struct part *part_option(const struct ports_problem *q, uint32_t e, uint32_t k)
{
    return is_open(q, e) ? &q->h->parts.list.v[q->candidates[e].v[k]] : part_of(q->h, e);
}

/* Fastest port at an end, whatever is chosen for it. */
static double speed_of_end(const struct ports_problem *q, const struct cable_end *end, uint32_t medium)
{
    double fastest_mbps = 0;
    if (end->equipment == NO_REF || (!is_open(q, end->equipment) && !part_of(q->h, end->equipment)))
        return INFINITY;
    for (uint32_t k = 0; k < (is_open(q, end->equipment) ? q->candidates[end->equipment].n : 1); k++)
        fastest_mbps = fmax(fastest_mbps, ports_fastest_mbps(part_option(q, end->equipment, k), medium));
    return fastest_mbps;
}

static double need_of_cable(const struct ports_problem *q, uint32_t cable)
{
    const struct cable *c = &q->h->cables.v[cable];
    const uint32_t from = tree_thing_of(q->h, &c->from), to = tree_thing_of(q->h, &c->to);
    if (q->links)
        return q->links->v[cable].wanted_mbps;
    if (from == NO_REF || to == NO_REF)
        return 0;
    if (q->tree.parent_cable[from] == cable || q->tree.parent_cable[to] == cable)
        return q->behind_mbps[q->tree.parent_cable[from] == cable ? from : to];
    return fmin(q->behind_mbps[from], q->behind_mbps[to]);
}

/* Watts go away from the gateway: what lies towards it is never fed. */
static struct choice_want want_of_end(const struct ports_problem *q, uint32_t cable, uint32_t thing, uint32_t far,
                                      uint32_t k, bool is_up)
{
    const struct house *h = q->h;
    const struct cable *c = &h->cables.v[cable];
    const uint32_t medium = ports_medium(h, c);
    const struct part *part = far != NO_REF && far < h->equipment.n ? part_option(q, far, k) : NULL;
    const struct cable_end *beyond = tree_thing_of(h, &c->from) == thing ? &c->to : &c->from;
    struct choice_want want = { .poe_class = -1 };
    if (far != NO_REF && !is_up && medium == CHOICE_COPPER)
        want = far < h->equipment.n ? ports_want_of_part(part)
                                    : ports_want_of_device(h, &h->devices.v[far - h->equipment.n]);
    double need_mbps = need_of_cable(q, cable);
    if (far != NO_REF && is_open(q, far) && part->kind == PART_ACCESS_POINT && !is_up)
        need_mbps += wire_radios_mbps(&h->equipment.v[far], part);
    want.speed_mbps = fmin(need_mbps, speed_of_end(q, beyond, medium));
    if (!is_open(q, thing))
        want.speed_mbps = fmin(want.speed_mbps, ports_fastest_mbps(part_of(h, thing), medium));
    if (part && is_open(q, far) && beyond->equipment == far)
        want.speed_mbps = fmin(want.speed_mbps, ports_fastest_mbps(part, medium));
    return want;
}

static void add_end(struct ports_problem *q, uint32_t cable, bool is_from)
{
    const struct cable *c = &q->h->cables.v[cable];
    const struct cable_end *end = is_from ? &c->from : &c->to;
    const uint32_t site = end->equipment == NO_REF ? CHOICE_NONE : q->site_of[end->equipment];
    if (site == CHOICE_NONE)
        return;
    const uint32_t far = ports_far_thing(q->h, cable, end->equipment);
    const bool follows = far != NO_REF && is_open(q, far) && q->site_of[far] != CHOICE_NONE;
    const uint32_t n_wants = follows ? q->candidates[far].n : 1;
    struct choice_join *join = ARENA_NEW(q->a, struct choice_join);
    struct choice_want *wants = ARENA_ARRAY(q->a, struct choice_want, n_wants);
    q->failed |= !join || !wants;
    if (q->failed)
        return;
    const bool is_up = q->tree.parent_cable[end->equipment] == cable ||
                       (c->rests && other_end(q->h, cable, end->equipment) == q->tree.parent[end->equipment]);
    *join = (struct choice_join){ .site = site, .port = (unsigned)given_or(end->port, 0.0) };
    for (uint32_t k = 0; k < n_wants; k++)
        wants[k] = want_of_end(q, cable, end->equipment, far, k, is_up);
    const struct choice_plug plug = { .media = ports_medium(q->h, c),
                                      .is_up = is_up,
                                      .joins = join,
                                      .n_joins = 1,
                                      .wants = wants,
                                      .follows = follows ? q->site_of[far] : CHOICE_NONE,
                                      .set = CHOICE_NONE };
    q->failed |= !VEC_PUSH(q->a, &q->plugs, plug) || !VEC_PUSH(q->a, &q->ends, ((struct ports_end){ cable, is_from }));
}

static void add_site(struct ports_problem *q, uint32_t e)
{
    const uint32_t n = is_open(q, e) ? q->candidates[e].n : 1;
    struct choice_part *parts = ARENA_ARRAY(q->a, struct choice_part, n);
    q->failed |= !parts;
    for (uint32_t k = 0; k < n && !q->failed; k++) {
        const struct part *part = part_option(q, e, k);
        q->failed |= !ports_part(q->a, part, &parts[k]);
        if (is_open(q, e))
            parts[k].price = llround(100.0 * part->price);
    }
    q->site_of[e] = q->sites.n;
    q->equipment_of[q->sites.n] = e;
    const struct choice_site site = {
        .parts = parts, .n_parts = n, .shelf = CHOICE_NONE, .up = CHOICE_NONE, .room_mbps = INFINITY
    };
    q->failed |= !VEC_PUSH(q->a, &q->sites, site);
}

static bool sum_needs(struct ports_problem *q)
{
    const struct cable_tree *t = &q->tree;
    q->behind_mbps = ARENA_ARRAY(q->a, double, t->n_things);
    for (uint32_t i = 0; q->behind_mbps && i < t->n_things; i++)
        q->behind_mbps[i] = wire_own_need_mbps(q->h, i);
    for (uint32_t i = t->n_order; q->behind_mbps && i-- > 1;)
        q->behind_mbps[t->parent[t->order[i]]] += q->behind_mbps[t->order[i]];
    return q->behind_mbps != NULL;
}

bool ports_problem_make(struct arena *a, const struct house *h, const struct wire_links *links,
                        const ports_candidates *candidates, struct ports_problem *out)
{
    struct ports_problem *q = out;
    *q = (struct ports_problem){ .h = h, .a = a, .links = links, .candidates = candidates };
    q->site_of = ARENA_ARRAY(a, uint32_t, h->equipment.n);
    q->equipment_of = ARENA_ARRAY(a, uint32_t, h->equipment.n);
    if (!q->site_of || !q->equipment_of || !cable_tree_hang(a, h, tree_root(h), NULL, NULL, &q->tree))
        return false;
    if (!links && !sum_needs(q))
        return false;
    for (uint32_t e = 0; e < h->equipment.n && !q->failed; e++) {
        q->site_of[e] = CHOICE_NONE;
        if (is_open(q, e) || ports_has_any(part_of(h, e)))
            add_site(q, e);
    }
    for (uint32_t c = 0; c < h->cables.n && !q->failed; c++) {
        add_end(q, c, true);
        add_end(q, c, false);
    }
    return !q->failed;
}

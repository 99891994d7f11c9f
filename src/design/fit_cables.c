/* Cables by the answer's links: which of a hub's things each is plugged into, and what stands at its ends. */
#include <math.h>
#include <stdlib.h>

#include "data/cabling.h"
#include "design/fit_int.h"
#include "wire/cable_tree.h"

/* What is to be plugged in at a hub. */
struct wish {
    uint32_t thing, link; /* of placing */
    int poe_class;
    double power_w, speed_mbps;
};

static struct cable_end end_at(const struct fitter *f, uint32_t thing)
{
    return (
        struct cable_end){ .what = f->things.v[thing].id, .equipment = thing, .device = NO_REF, .port = RT_NOT_GIVEN };
}

static struct cable new_cable(struct str id, struct cable_end from, struct cable_end to, uint32_t part)
{
    return (struct cable){ .id = id,
                           .from = from,
                           .to = to,
                           .part = { .i = part },
                           .length_m = RT_NOT_GIVEN,
                           .cord_from_m = DESIGN_CORD_AT_HUB_M,
                           .cord_to_m = DESIGN_CORD_AT_SITE_M };
}

static struct cable *add_cable(struct fitter *f, struct cable cable)
{
    if (!VEC_PUSH(f->a, &f->cables, cable)) {
        f->failed = true;
        return NULL;
    }
    return &f->cables.v[f->cables.n - 1];
}

/* ---- cords between things that stand together ---- */

static uint32_t cheapest_cord(const struct fitter *f)
{
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < f->h->parts.list.n; i++) {
        const struct part *p = fit_part(f, i);
        if (p->kind == PART_CORD && cable_is_copper(p->category) && p->per_m >= DESIGN_CORD_AT_HUB_M - 1e-9 &&
            (best == NO_REF || p->price < fit_part(f, best)->price))
            best = i;
    }
    return best;
}

static void join(struct fitter *f, uint32_t from, uint32_t to)
{
    const struct str id = fit_name(f, "c", f->things.v[to].id);
    struct cable c = new_cable(id, end_at(f, from), end_at(f, to), cheapest_cord(f));
    c.length_m = DESIGN_CORD_AT_HUB_M;
    (void)add_cable(f, c);
}

/* ---- ports ---- */

/* The least port that will do, the earlier source of equals; NULL: none. */
static struct fit_ports *find_port(struct fit_hub *hub, const struct wish *w, bool asks_speed, uint32_t *source)
{
    struct fit_ports *best = NULL;
    for (uint32_t i = 0; i < hub->sources.n; i++) {
        struct fit_source *s = &hub->sources.v[i];
        for (uint32_t k = 0; k < s->n_ports; k++) {
            struct fit_ports *q = &s->ports[k];
            if (!q->left || q->poe_class < w->poe_class || (w->poe_class >= 0 && s->budget_w < w->power_w - 1e-9) ||
                (asks_speed && q->speed_mbps < w->speed_mbps))
                continue;
            if (!best || q->poe_class < best->poe_class ||
                (q->poe_class == best->poe_class && q->speed_mbps < best->speed_mbps)) {
                best = q;
                *source = i;
            }
        }
    }
    return best;
}

/* A port for the wish, one that is too slow or does not feed it if there is no other (the port plan tells); index of a source. */
static uint32_t take_port(struct fit_hub *hub, struct wish w)
{
    uint32_t source = 0;
    struct fit_ports *q = find_port(hub, &w, true, &source);
    if (!q)
        q = find_port(hub, &w, false, &source);
    if (!q) {
        w.poe_class = -1;
        q = find_port(hub, &w, false, &source);
    }
    if (q)
        q->left--;
    if (w.poe_class >= 0)
        hub->sources.v[source].budget_w -= w.power_w;
    return source;
}

static void use_port_of(struct fit_hub *hub, uint32_t source, const struct wish *w)
{
    struct fit_hub only = { .sources = { .v = &hub->sources.v[source], .n = 1 } };
    (void)take_port(&only, *w);
}

static struct wish wish_of(const struct fitter *f, uint32_t thing)
{
    const struct place_thing *t = &f->q->things.v[thing];
    struct wish w = { .thing = thing,
                      .link = f->answer->links[thing],
                      .poe_class = t->device == NO_REF ? -1 : t->poe_class,
                      .power_w = t->power_w,
                      .speed_mbps = t->speed_mbps };
    for (uint32_t i = 0; t->site != NO_REF && i < f->q->offers.n; i++) {
        const struct place_offer *o = &f->q->offers.v[i];
        if (f->answer->offers[i] && o->site == t->site) {
            w.poe_class = o->poe_class;
            w.power_w = o->power_w;
            w.speed_mbps = o->speed_mbps;
        }
    }
    return w;
}

/* Cables that lie already have their ports. */
static void count_old(struct fitter *f, const struct wish *w)
{
    struct fit_hub *hub = &f->hubs[f->q->links.v[w->link].hub];
    const struct cable *c = &f->cables.v[f->space->links.v[w->link].cable];
    for (uint32_t i = 0; i < hub->sources.n; i++) {
        const uint32_t e = hub->sources.v[i].equipment;
        if (c->from.equipment == e || c->to.equipment == e) {
            use_port_of(hub, i, w);
            return;
        }
    }
}

/* Those that ask for more first. */
static int by_wish(const void *a, const void *b)
{
    const struct wish *x = a, *y = b;
    if (x->poe_class != y->poe_class)
        return x->poe_class < y->poe_class ? 1 : -1;
    if (x->power_w != y->power_w)
        return x->power_w < y->power_w ? 1 : -1;
    if (x->speed_mbps != y->speed_mbps)
        return x->speed_mbps < y->speed_mbps ? 1 : -1;
    return (x->thing > y->thing) - (x->thing < y->thing);
}

/* ---- the ways up of new switches ---- */

static bool is_new(const struct fitter *f, uint32_t thing) { return thing >= f->space->house->equipment.n; }

/* A new switch hangs on the first of its hub that has a port left, the gateway before others. */
static void join_switches(struct fitter *f, uint32_t hub)
{
    struct fit_hub *at = &f->hubs[hub];
    const bool is_core = f->q->hubs.v[hub].is_core;
    for (uint32_t i = 0; i < at->sources.n && !f->failed; i++) {
        const uint32_t thing = at->sources.v[i].equipment;
        uint32_t on = NO_REF;
        const struct wish w = { .poe_class = -1 };
        if (!is_new(f, thing) || i == 0 || (!is_core && i == at->head && !is_new(f, at->sources.v[0].equipment)))
            continue;
        for (uint32_t k = 0; k < i && on == NO_REF; k++) {
            struct fit_hub only = { .sources = { .v = &at->sources.v[k], .n = 1 } };
            uint32_t unused = 0;
            on = find_port(&only, &w, false, &unused) ? k : NO_REF;
        }
        on = on == NO_REF ? 0 : on;
        use_port_of(at, on, &w);
        join(f, at->sources.v[on].equipment, thing);
    }
}

/* ---- cables to things ---- */

static uint32_t cable_part_of(const struct fitter *f, uint32_t link)
{
    const uint32_t cabling = f->q->links.v[link].cabling;
    return cabling == NO_REF ? NO_REF : f->q->cablings.v[cabling].parts[f->answer->cablings[cabling]].part;
}

/* Where a piece that moved had its cable; NO_REF: nowhere.  Others of its cables go. */
static uint32_t old_cable(struct fitter *f, uint32_t thing)
{
    uint32_t first = NO_REF;
    for (uint32_t c = 0; c < f->space->house->cables.n; c++) {
        const struct cable *k = &f->cables.v[c];
        if (k->from.equipment != thing && k->to.equipment != thing)
            continue;
        f->cable_is_gone[c] = first != NO_REF;
        first = first == NO_REF ? c : first;
    }
    return first;
}

/* Fibre ends in a converter at each end, which a cord joins to the switch. */
static uint32_t add_converter(struct fitter *f, uint32_t hub, uint32_t part, uint32_t to)
{
    const struct design_hub *d = &f->space->hubs.v[hub];
    const struct str id = fit_equipment_name(f, PART_CONVERTER, NO_REF, d->room, "fibre_end");
    const uint32_t thing = fit_add_at_hub(f, hub, part, id);
    if (f->failed)
        return to;
    fit_tell(f, id, "turns the cable between the buildings into light");
    join(f, to, thing);
    return thing;
}

static void add_protector(struct fitter *f, uint32_t hub, uint32_t part)
{
    const struct str id = fit_equipment_name(f, PART_PROTECTOR, NO_REF, f->space->hubs.v[hub].room, "protector");
    (void)fit_add_at_hub(f, hub, part, id);
    fit_tell(f, id, "copper leaves the building here: two earths");
}

static void add_way_up(struct fitter *f, const struct wish *w, uint32_t source)
{
    const uint32_t lower = f->q->things.v[w->thing].hub, upper = f->q->links.v[w->link].hub;
    const struct design_link *d = &f->space->links.v[w->link];
    const struct fit_hub *at = &f->hubs[lower];
    uint32_t from = f->hubs[upper].sources.v[source].equipment;
    if (!at->sources.n)
        return;
    uint32_t to = at->sources.v[at->head == NO_REF ? 0 : at->head].equipment;
    const struct str id = fit_name(f, "c", f->things.v[to].id);
    if (d->converter != NO_REF) {
        from = add_converter(f, upper, d->converter, from);
        to = add_converter(f, lower, d->converter, to);
    }
    if (d->protector != NO_REF) {
        add_protector(f, upper, d->protector);
        add_protector(f, lower, d->protector);
    }
    if (f->failed)
        return;
    struct cable c = new_cable(id, end_at(f, from), end_at(f, to), cable_part_of(f, w->link));
    c.cord_from_m = d->cord_hub_m;
    c.cord_to_m = d->cord_thing_m;
    (void)add_cable(f, c);
}

static void add_link(struct fitter *f, const struct wish *w)
{
    const struct place_thing *t = &f->q->things.v[w->thing];
    const struct design_link *d = &f->space->links.v[w->link];
    const uint32_t hub = f->q->links.v[w->link].hub;
    if (!f->hubs[hub].sources.n)
        return;
    const uint32_t source = take_port(&f->hubs[hub], *w);
    if (t->hub != NO_REF) {
        add_way_up(f, w, source);
        return;
    }
    const uint32_t thing = t->site == NO_REF ? NO_REF : f->thing_at[t->site];
    if (t->site != NO_REF && thing == NO_REF)
        return;
    const struct cable_end from = end_at(f, f->hubs[hub].sources.v[source].equipment);
    const struct cable_end to = thing != NO_REF ? end_at(f, thing)
                                                : (struct cable_end){ .what = f->h->devices.v[t->device].id,
                                                                      .equipment = NO_REF,
                                                                      .device = t->device,
                                                                      .port = RT_NOT_GIVEN };
    const uint32_t was = thing == NO_REF || is_new(f, thing) ? NO_REF : old_cable(f, thing);
    const struct str id = was == NO_REF ? fit_name(f, "c", to.what) : f->cables.v[was].id;
    struct cable c = new_cable(id, from, to, cable_part_of(f, w->link));
    c.cord_from_m = d->cord_hub_m;
    c.cord_to_m = d->cord_thing_m;
    if (was != NO_REF)
        f->cables.v[was] = c;
    else
        (void)add_cable(f, c);
}

enum rt_code fit_cables(struct fitter *f)
{
    struct wish *wishes = ARENA_ARRAY(f->a, struct wish, f->q->things.n);
    uint32_t n = 0;
    if (!wishes)
        return rt_fail_memory(f->p);
    for (uint32_t t = 0; t < f->q->things.n; t++) {
        const struct wish w = wish_of(f, t);
        if (w.link == NO_REF)
            continue;
        if (f->space->links.v[w.link].cable != NO_REF)
            count_old(f, &w);
        else
            wishes[n++] = w;
    }
    for (uint32_t i = 0; i < f->space->hubs.n; i++)
        join_switches(f, i);
    qsort(wishes, n, sizeof *wishes, by_wish);
    for (uint32_t i = 0; i < n && !f->failed; i++)
        add_link(f, &wishes[i]);
    return f->failed ? rt_fail_memory(f->p) : RT_OK;
}

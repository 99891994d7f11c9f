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

static bool is_new(const struct fitter *f, uint32_t thing) { return thing >= f->space->house->equipment.n; }

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
    const struct str id = fit_cable_name(f, f->things.v[to].id);
    struct cable c = new_cable(id, end_at(f, from), end_at(f, to), cheapest_cord(f));
    c.length_m = DESIGN_CORD_AT_HUB_M;
    c.cord_to_m = DESIGN_CORD_AT_DEVICE_M; /* as where the file says nothing: a cord has none itself */
    (void)add_cable(f, c);
}

/* ---- ports ---- */

/* Does what is promised to stay free there stay free, if the wish is plugged in? */
static bool keeps_spare(const struct fit_source *s, const struct wish *w)
{
    uint32_t left = 0;
    for (uint32_t k = 0; k < s->n_ports; k++)
        left += s->ports[k].left;
    return left > s->spare && (w->poe_class < 0 || s->budget_w - w->power_w >= s->spare_w - 1e-9);
}

/* The least port that will do, the earlier source of equals; one of a source that keeps what is promised to stay free before all
 * others, for the hub has it as a whole.  NULL: none. */
static struct fit_ports *find_port(struct fit_hub *hub, const struct wish *w, bool asks_speed, uint32_t *source)
{
    struct fit_ports *best = NULL;
    bool best_keeps = false;
    for (uint32_t i = 0; i < hub->sources.n; i++) {
        struct fit_source *s = &hub->sources.v[i];
        const bool keeps = keeps_spare(s, w);
        for (uint32_t k = 0; k < s->n_ports; k++) {
            struct fit_ports *q = &s->ports[k];
            if (!q->left || q->poe_class < w->poe_class || (w->poe_class >= 0 && s->budget_w < w->power_w - 1e-9) ||
                (asks_speed && q->speed_mbps < w->speed_mbps))
                continue;
            const bool is_less = !best || q->poe_class < best->poe_class ||
                                 (q->poe_class == best->poe_class && q->speed_mbps < best->speed_mbps);
            if (!best || (keeps && !best_keeps) || (keeps == best_keeps && is_less)) {
                best = q;
                best_keeps = keeps;
                *source = i;
            }
        }
    }
    return best;
}

/* A piece that no promise needs gives its port away, the last one first; false: there is none. */
static bool drop_idle(struct fitter *f, struct fit_hub *hub)
{
    if (!hub->idle.n)
        return false;
    const struct fit_idle *x = &hub->idle.v[--hub->idle.n];
    if (x->port)
        x->port->left++;
    hub->sources.v[x->source].budget_w += x->power_w;
    f->is_gone[x->thing] = true;
    fit_tell(f, f->things.v[x->thing].id, "it goes: its port is wanted");
    return true;
}

/* A port for the wish, one that is too slow or does not feed it if there is no other (the port plan tells); index of a source. */
static uint32_t take_port(struct fitter *f, struct fit_hub *hub, struct wish w)
{
    uint32_t source = 0;
    struct fit_ports *q = find_port(hub, &w, true, &source);
    while (!q && drop_idle(f, hub))
        q = find_port(hub, &w, true, &source);
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

/* The port that it is in; NULL: none is left there. */
static struct fit_ports *use_port_of(struct fit_hub *hub, uint32_t source, struct wish w)
{
    struct fit_hub only = { .sources = { .v = &hub->sources.v[source], .n = 1 } };
    uint32_t unused = 0;
    struct fit_ports *q = find_port(&only, &w, true, &unused);
    if (!q)
        q = find_port(&only, &w, false, &unused);
    if (w.poe_class >= 0)
        hub->sources.v[source].budget_w -= w.power_w;
    w.poe_class = -1;
    if (!q)
        q = find_port(&only, &w, false, &unused);
    if (q)
        q->left--;
    return q;
}

static struct wish wish_of(const struct fitter *f, uint32_t thing)
{
    const struct place_thing *t = &f->q->things.v[thing];
    struct wish w = { .thing = thing,
                      .link = f->answer->links[thing],
                      .poe_class = t->poe_class,
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

/* The source of the hub that a cable which lies already is plugged into; NO_REF: none. */
static uint32_t source_of(const struct fitter *f, const struct wish *w)
{
    const struct fit_hub *hub = &f->hubs[f->q->links.v[w->link].hub];
    const struct cable *c = &f->cables.v[f->space->links.v[w->link].cable];
    for (uint32_t i = 0; i < hub->sources.n; i++)
        if (c->from.equipment == hub->sources.v[i].equipment || c->to.equipment == hub->sources.v[i].equipment)
            return i;
    return NO_REF;
}

/* Where the way of what is joined already enters the hub, over injectors and converters; NO_REF: nowhere. */
static uint32_t source_above(const struct fit_hub *hub, const struct cable_tree *tree, uint32_t thing)
{
    while (thing != NO_REF && thing < tree->n_things) {
        thing = tree->parent[thing];
        for (uint32_t i = 0; i < hub->sources.n; i++)
            if (hub->sources.v[i].equipment == thing)
                return i;
    }
    return NO_REF;
}

/* What the wish is about, in the house as it was; NO_REF: nothing. */
static uint32_t old_thing(const struct fitter *f, const struct wish *w)
{
    const struct place_thing *t = &f->q->things.v[w->thing];
    if (t->device != NO_REF)
        return tree_device(f->space->house, t->device);
    if (t->site != NO_REF)
        return f->thing_at[t->site];
    const struct design_hub *own = &f->space->hubs.v[t->hub];
    return own->switches.n ? own->switches.v[0] : NO_REF;
}

static void add_idle(struct fitter *f, struct fit_hub *hub, uint32_t source, uint32_t thing, struct wish w)
{
    const struct fit_idle idle = { .thing = thing,
                                   .source = source,
                                   .power_w = w.poe_class >= 0 ? w.power_w : 0.0,
                                   .port = use_port_of(hub, source, w) };
    f->failed |= !VEC_PUSH(f->a, &hub->idle, idle);
}

/* A piece that hangs where no promise needs it keeps its port as long as nobody else wants it. */
static void count_idle(struct fitter *f, const struct cable_tree *tree, uint32_t thing)
{
    struct wish w = { .poe_class = -1 };
    for (uint32_t s = 0; s < f->space->sites.n; s++)
        if (f->thing_at[s] == thing)
            return;
    for (uint32_t i = 0; i < f->q->offers.n; i++)
        if (f->q->offers.v[i].piece != NO_REF && f->space->pieces.v[f->q->offers.v[i].piece] == thing) {
            w.poe_class = f->q->offers.v[i].poe_class;
            w.power_w = f->q->offers.v[i].power_w;
        }
    for (uint32_t at = tree->parent[thing]; at != NO_REF && !f->is_gone[thing]; at = tree->parent[at])
        for (uint32_t h = 0; h < f->space->hubs.n; h++)
            for (uint32_t i = 0; i < f->hubs[h].sources.n; i++)
                if (f->hubs[h].sources.v[i].equipment == at) {
                    add_idle(f, &f->hubs[h], i, thing, w);
                    return;
                }
}

/* Cables that lie already have their ports, and so have switches that hang on others of their hub. */
static enum rt_code count_old(struct fitter *f)
{
    struct cable_tree tree;
    if (!cable_tree_make(f->a, f->space->house, NULL, NULL, &tree))
        return rt_fail_memory(f->p);
    for (uint32_t t = 0; t < f->q->things.n; t++) {
        const struct wish w = wish_of(f, t);
        if (w.link == NO_REF || f->space->links.v[w.link].cable == NO_REF)
            continue;
        struct fit_hub *hub = &f->hubs[f->q->links.v[w.link].hub];
        const uint32_t source = source_above(hub, &tree, old_thing(f, &w));
        if (source != NO_REF)
            (void)use_port_of(hub, source, w);
    }
    for (uint32_t h = 0; h < f->space->hubs.n; h++)
        for (uint32_t i = 1; i < f->hubs[h].sources.n; i++) {
            const uint32_t thing = f->hubs[h].sources.v[i].equipment;
            const uint32_t source = is_new(f, thing) ? NO_REF : source_above(&f->hubs[h], &tree, thing);
            if (source != NO_REF)
                (void)use_port_of(&f->hubs[h], source, (struct wish){ .poe_class = -1 });
        }
    for (uint32_t i = 0; i < f->space->pieces.n; i++)
        count_idle(f, &tree, f->space->pieces.v[i]);
    return f->failed ? rt_fail_memory(f->p) : RT_OK;
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

/* The first source before `i` with a port left; NO_REF: none. */
static uint32_t source_with_port(const struct fit_hub *at, uint32_t i)
{
    for (uint32_t k = 0; k < i; k++)
        for (uint32_t g = 0; g < at->sources.v[k].n_ports; g++)
            if (at->sources.v[k].ports[g].left)
                return k;
    return NO_REF;
}

/* Where all ports are taken, one cable that lies already is plugged into the new switch, and the switch in its place: one that is not
 * fed, and asks for the least speed.  The source whose port is free now; NO_REF: there is no such cable. */
static uint32_t replug(struct fitter *f, uint32_t hub, uint32_t i)
{
    struct fit_hub *at = &f->hubs[hub];
    struct wish best = { .link = NO_REF };
    for (uint32_t t = 0; t < f->q->things.n; t++) {
        const struct wish w = wish_of(f, t);
        if (w.link == NO_REF || f->q->links.v[w.link].hub != hub || f->space->links.v[w.link].cable == NO_REF)
            continue;
        if (source_of(f, &w) < i && w.poe_class < 0 && (best.link == NO_REF || w.speed_mbps < best.speed_mbps))
            best = w;
    }
    if (best.link == NO_REF)
        return NO_REF;
    const uint32_t on = source_of(f, &best), was = at->sources.v[on].equipment;
    struct cable *c = &f->cables.v[f->space->links.v[best.link].cable];
    struct cable_end *end = c->from.equipment == was ? &c->from : &c->to;
    *end = end_at(f, at->sources.v[i].equipment);
    (void)use_port_of(at, i, best);
    fit_tell(f, c->id, "is plugged into `%.*s`, for `%.*s` has no port left", STR_ARG(end->what),
             STR_ARG(f->things.v[was].id));
    return on;
}

/* A new switch hangs on the first of its hub that has a port left, the gateway before others. */
static void join_switches(struct fitter *f, uint32_t hub)
{
    struct fit_hub *at = &f->hubs[hub];
    for (uint32_t i = 0; i < at->sources.n && !f->failed; i++) {
        const uint32_t thing = at->sources.v[i].equipment;
        const struct wish w = { .poe_class = -1 };
        if (!is_new(f, thing) || i == 0)
            continue;
        uint32_t free_source = source_with_port(at, i);
        while (free_source == NO_REF && drop_idle(f, at))
            free_source = source_with_port(at, i);
        if (free_source != NO_REF)
            (void)use_port_of(at, free_source, w);
        uint32_t on = free_source != NO_REF ? free_source : replug(f, hub, i);
        on = on == NO_REF ? 0 : on; /* the plan of ports tells */
        join(f, at->sources.v[on].equipment, thing);
    }
}

/* ---- cables to things ---- */

static uint32_t cable_part_of(const struct fitter *f, uint32_t link)
{
    const uint32_t cabling = f->q->links.v[link].cabling, cord = f->space->links.v[link].cord;
    if (cord != NO_REF)
        return cord;
    return cabling == NO_REF ? NO_REF : f->q->cablings.v[cabling].parts[f->answer->cablings[cabling]].part;
}

/* From the hub to the thing, as the space asked for its price. */
static struct cable cable_of(const struct fitter *f, uint32_t link, struct str id, struct cable_end from,
                             struct cable_end to)
{
    const struct design_link *d = &f->space->links.v[link];
    struct cable c = new_cable(id, from, to, cable_part_of(f, link));
    c.cord_from_m = d->cord_hub_m;
    c.cord_to_m = d->cord_thing_m;
    if (d->cord != NO_REF) {
        c.length_m = fit_part(f, d->cord)->per_m;
        c.cord_from_m = DESIGN_CORD_AT_HUB_M;
        c.cord_to_m = DESIGN_CORD_AT_DEVICE_M;
    }
    return c;
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
    uint32_t to = at->sources.v[0].equipment;
    const struct str id = fit_cable_name(f, f->things.v[to].id);
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
    (void)add_cable(f, cable_of(f, w->link, id, end_at(f, from), end_at(f, to)));
}

static void add_link(struct fitter *f, const struct wish *w)
{
    const struct place_thing *t = &f->q->things.v[w->thing];
    const uint32_t hub = f->q->links.v[w->link].hub;
    if (!f->hubs[hub].sources.n)
        return;
    const uint32_t source = take_port(f, &f->hubs[hub], *w);
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
    const struct str id = was == NO_REF ? fit_cable_name(f, to.what) : f->cables.v[was].id;
    const struct cable c = cable_of(f, w->link, id, from, to);
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
        if (w.link != NO_REF && f->space->links.v[w.link].cable == NO_REF)
            wishes[n++] = w;
    }
    RT_TRY(count_old(f));
    for (uint32_t i = 0; i < f->space->hubs.n; i++)
        join_switches(f, i);
    qsort(wishes, n, sizeof *wishes, by_wish);
    for (uint32_t i = 0; i < n && !f->failed; i++)
        add_link(f, &wishes[i]);
    for (uint32_t i = 0; i < f->recorders.n && f->hubs[0].sources.n && !f->failed; i++) {
        const uint32_t source = take_port(f, &f->hubs[0], (struct wish){ .poe_class = -1 });
        join(f, f->hubs[0].sources.v[source].equipment, f->recorders.v[i]);
    }
    return f->failed ? rt_fail_memory(f->p) : RT_OK;
}

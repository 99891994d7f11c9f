/* Who is fed by what: from each device that takes its power over the cable, through sockets, to a port that gives it. */
#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "data/device_kinds.h"
#include "wire/cable_tree.h"
#include "wire/power_int.h"

const struct part *part_of_equipment(const struct house *h, uint32_t equipment)
{
    const uint32_t i = h->equipment.v[equipment].part.i;
    return i == NO_REF ? NULL : &h->parts.list.v[i];
}

const struct part *part_of_device(const struct house *h, const struct device *d)
{
    const uint32_t i = d->part.n ? parts_find(&h->parts, d->part) : NO_REF;
    return i == NO_REF ? NULL : &h->parts.list.v[i];
}

const struct part *part_of_cable(const struct house *h, uint32_t cable)
{
    const uint32_t i = h->cables.v[cable].part.i;
    return i == NO_REF ? NULL : &h->parts.list.v[i];
}

static void list_cables(struct power_maker *m)
{
    const struct house *h = m->h;
    const uint32_t n = h->equipment.n + h->devices.n;
    uint32_t *first = m->first_cable = ARENA_ARRAY(m->arena, uint32_t, (size_t)n + 2);
    m->cables_of = ARENA_ARRAY(m->arena, uint32_t, (size_t)h->cables.n * 2);
    m->failed |= !first || !m->cables_of;
    if (m->failed)
        return;
    for (int fill = 0; fill < 2; fill++) {
        for (uint32_t c = 0; c < h->cables.n; c++) {
            const uint32_t ends[2] = { tree_thing_of(h, &h->cables.v[c].from), tree_thing_of(h, &h->cables.v[c].to) };
            for (int e = 0; e < 2; e++)
                if (ends[e] != NO_REF && !fill)
                    first[ends[e] + 2]++;
                else if (ends[e] != NO_REF)
                    m->cables_of[first[ends[e] + 1]++] = c;
        }
        for (uint32_t i = 2; !fill && i < n + 2; i++)
            first[i] += first[i - 1];
    }
}

/* ---- ports ---- */

static const struct port_group *group_of(const struct part *part, unsigned number)
{
    double past = 0;
    for (uint32_t i = 0; part && i < part->ports.n; i++) {
        past += part->ports.v[i].count;
        if (number >= 1 && number <= past)
            return &part->ports.v[i];
    }
    return NULL;
}

/* Of a port that is not known by number: the plainest that would do, else the strongest. */
static int class_of_some_port(const struct part *part, int asked)
{
    int best = -1;
    for (uint32_t i = 0; part && i < part->ports.n; i++) {
        if (!is_given(part->ports.v[i].poe_class))
            continue;
        const int class = (int)part->ports.v[i].poe_class;
        if (best < 0 || (best < asked ? class > best : class >= asked && class < best))
            best = class;
    }
    return best;
}

static unsigned port_at(const struct power_maker *m, uint32_t cable, uint32_t thing)
{
    const struct cable *c = &m->h->cables.v[cable];
    const bool is_from = tree_thing_of(m->h, &c->from) == thing;
    if (m->ports)
        return is_from ? m->ports[cable].from : m->ports[cable].to;
    return (unsigned)given_or(is_from ? c->from.port : c->to.port, 0.0);
}

/* Highest class that the port of an equipment feeds; -1: none. */
static int class_of_port(const struct power_maker *m, uint32_t cable, uint32_t equipment, int asked, unsigned *number)
{
    const struct part *part = part_of_equipment(m->h, equipment);
    *number = port_at(m, cable, equipment);
    if (*number == 0)
        return class_of_some_port(part, asked);
    const struct port_group *group = group_of(part, *number);
    return group && is_given(group->poe_class) ? (int)group->poe_class : -1;
}

/* ---- the way ---- */

static bool is_fibre(const struct power_maker *m, uint32_t cable)
{
    const struct part *part = part_of_cable(m->h, cable);
    return part && part->category.n >= 2 && part->category.p[0] == 'o'; /* om3, os2 */
}

static uint32_t far_end(const struct power_maker *m, uint32_t cable, uint32_t thing)
{
    const struct cable *c = &m->h->cables.v[cable];
    const uint32_t from = tree_thing_of(m->h, &c->from);
    return from == thing ? tree_thing_of(m->h, &c->to) : from;
}

/* The cable on the other side of a socket; NO_REF: none. */
static uint32_t cable_beyond(const struct power_maker *m, uint32_t outlet, uint32_t cable)
{
    for (uint32_t i = m->first_cable[outlet]; i < m->first_cable[outlet + 1]; i++)
        if (m->cables_of[i] != cable)
            return m->cables_of[i];
    return NO_REF;
}

static bool way_push(struct power_maker *m, struct power_feed *f, uint32_t cable)
{
    struct ref *grown = ARENA_ARRAY(m->arena, struct ref, (size_t)f->way.n + 1);
    m->failed |= !grown;
    if (m->failed)
        return false;
    for (uint32_t i = 0; i < f->way.n; i++)
        grown[i] = f->way.v[i];
    grown[f->way.n] = (struct ref){ .i = cable };
    f->way.v = grown;
    f->way.n++;
    return true;
}

/* Follows one cable from the thing that is fed; sets the source if there is one at its end. */
static void follow(struct power_maker *m, struct power_feed *f, uint32_t thing, uint32_t cable)
{
    f->cable = cable;
    f->way.n = 0;
    f->limit = POWER_BY_SOURCE;
    unsigned near_port;
    if (thing < m->h->equipment.n && port_at(m, cable, thing) != 0 &&
        class_of_port(m, cable, thing, 0, &near_port) >= 0)
        return; /* it feeds there, it is not fed */
    for (uint32_t at = thing; cable != NO_REF && f->way.n <= m->h->cables.n;) {
        if (is_fibre(m, cable)) {
            f->limit = POWER_BY_FIBRE;
            return;
        }
        if (!way_push(m, f, cable))
            return;
        at = far_end(m, cable, at);
        if (at == NO_REF || at >= m->h->equipment.n || at == thing)
            return;
        unsigned number;
        const int class = class_of_port(m, cable, at, f->class_asked, &number);
        if (class >= 0) {
            f->source = at;
            f->port = number;
            f->port_class = class;
            return;
        }
        const struct part *part = part_of_equipment(m->h, at);
        cable = part && part->kind == PART_OUTLET ? cable_beyond(m, at, cable) : NO_REF;
    }
}

/* ---- what there is to feed ---- */

static bool wants_of_equipment(const struct house *h, uint32_t e, struct power_feed *f, double *own_w, double *most_w)
{
    const struct part *part = part_of_equipment(h, e);
    if (!part || !is_given(part->poe_class_needed))
        return false;
    f->equipment = e;
    f->class_asked = (int)part->poe_class_needed;
    f->most_is_class = !is_given(part->power_max_w);
    const double class_w = poe_class(f->class_asked)->device_w;
    *most_w = fmax(given_or(part->power_max_w, class_w), given_or(part->power_w, 0.0));
    *own_w = given_or(part->power_w, *most_w);
    return true;
}

static bool wants_of_device(const struct house *h, uint32_t i, struct power_feed *f, double *own_w, double *most_w)
{
    const struct device *d = &h->devices.v[i];
    const struct part *part = part_of_device(h, d);
    const double of_part = part && d->link == LINK_WIRED ? part->poe_class_needed : RT_NOT_GIVEN;
    const double asked = given_or(d->poe_class, of_part);
    if (!is_given(asked))
        return false;
    f->device = i;
    f->class_asked = (int)asked;
    const double class_w = poe_class(f->class_asked)->device_w;
    const double part_w = part ? part->power_max_w : RT_NOT_GIVEN;
    const struct device_kind *kind = device_kind_find(d->kind);
    f->most_is_class = !is_given(part_w);
    *most_w = fmax(given_or(part_w, class_w), given_or(d->power_w, 0.0));
    *own_w = given_or(d->power_w, part && is_given(part->power_w) ? part->power_w : kind ? kind->power_w : class_w);
    *own_w = fmin(*own_w, *most_w);
    return true;
}

static void find_source(struct power_maker *m, struct power_feed *f, uint32_t thing)
{
    f->limit = POWER_BY_CABLE;
    for (uint32_t i = m->first_cable[thing]; i < m->first_cable[thing + 1] && !feed_is_on(f); i++)
        follow(m, f, thing, m->cables_of[i]);
    if (!feed_is_on(f) && f->cable != NO_REF) /* the first one is told of */
        f->cable = m->cables_of[m->first_cable[thing]];
}

struct found {
    struct power_feed feed;
    double own_w, most_w;
};

static int by_cable(const void *a, const void *b)
{
    const struct power_feed *x = &((const struct found *)a)->feed, *y = &((const struct found *)b)->feed;
    if (x->cable != y->cable)
        return x->cable < y->cable ? -1 : 1;
    if (x->equipment != y->equipment)
        return x->equipment < y->equipment ? -1 : 1;
    return (x->device > y->device) - (x->device < y->device);
}

/* Things that feed one another in a ring feed nobody. */
static void cut_rings(struct power_maker *m)
{
    const uint32_t n = m->h->equipment.n;
    const struct power_plan *plan = m->plan;
    for (uint32_t e = 0; e < n; e++) {
        uint32_t at = e, steps = 0;
        while (plan->feed_of_equipment[at] != NO_REF && steps <= n) {
            struct power_feed *f = &plan->feeds.v[plan->feed_of_equipment[at]];
            if (!feed_is_on(f))
                break;
            at = f->source;
            steps++;
            if (at == e) {
                f->source = NO_REF;
                f->limit = POWER_BY_RING;
            }
        }
    }
    for (uint32_t e = 0; e < n; e++) {
        uint32_t at = e;
        while (plan->feed_of_equipment[at] != NO_REF && feed_is_on(&plan->feeds.v[plan->feed_of_equipment[at]])) {
            at = plan->feeds.v[plan->feed_of_equipment[at]].source;
            m->depth[e]++;
        }
        m->depth_max = m->depth[e] > m->depth_max ? m->depth[e] : m->depth_max;
    }
}

static bool give_room(struct power_maker *m, uint32_t n_things, struct found **found)
{
    struct power_plan *plan = m->plan;
    *found = ARENA_ARRAY(m->arena, struct found, n_things);
    plan->feeds.v = ARENA_ARRAY(m->arena, struct power_feed, n_things);
    m->own_w = ARENA_ARRAY(m->arena, double, n_things);
    m->own_most_w = ARENA_ARRAY(m->arena, double, n_things);
    plan->feed_of_equipment = ARENA_ARRAY(m->arena, uint32_t, m->h->equipment.n);
    plan->feed_of_device = ARENA_ARRAY(m->arena, uint32_t, m->h->devices.n);
    m->depth = ARENA_ARRAY(m->arena, uint32_t, m->h->equipment.n);
    return *found && plan->feeds.v && m->own_w && m->own_most_w && plan->feed_of_equipment && plan->feed_of_device &&
           m->depth;
}

void power_find_feeds(struct power_maker *m)
{
    const struct house *h = m->h;
    const uint32_t n_things = h->equipment.n + h->devices.n;
    struct found *found;
    list_cables(m);
    m->failed |= !give_room(m, n_things, &found);
    uint32_t n = 0;
    for (uint32_t i = 0; i < n_things && !m->failed; i++) {
        struct found *x = &found[n];
        x->feed = (struct power_feed){ .cable = NO_REF,
                                       .source = NO_REF,
                                       .device = NO_REF,
                                       .equipment = NO_REF,
                                       .class_granted = -1,
                                       .port_class = -1,
                                       .unknown_cable = NO_REF };
        const uint32_t d = i - h->equipment.n;
        if (!(i < h->equipment.n ? wants_of_equipment(h, i, &x->feed, &x->own_w, &x->most_w)
                                 : wants_of_device(h, d, &x->feed, &x->own_w, &x->most_w)))
            continue;
        find_source(m, &x->feed, i);
        n++;
    }
    if (m->failed)
        return;
    if (n)
        qsort(found, n, sizeof *found, by_cable);
    for (uint32_t i = 0; i < h->equipment.n; i++)
        m->plan->feed_of_equipment[i] = NO_REF;
    for (uint32_t i = 0; i < h->devices.n; i++)
        m->plan->feed_of_device[i] = NO_REF;
    m->plan->feeds.n = n;
    for (uint32_t i = 0; i < n; i++) {
        m->plan->feeds.v[i] = found[i].feed;
        m->own_w[i] = found[i].own_w;
        m->own_most_w[i] = found[i].most_w;
        if (found[i].feed.equipment != NO_REF)
            m->plan->feed_of_equipment[found[i].feed.equipment] = i;
        else
            m->plan->feed_of_device[found[i].feed.device] = i;
    }
    cut_rings(m);
}

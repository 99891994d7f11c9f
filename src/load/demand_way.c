/* Where traffic passes: radios, cables, the line. */
#include <math.h>

#include "base/units.h"
#include "load/demand_int.h"
#include "load/line_load.h"

/* Of IEEE 802.3 on a cable, as the line's own framing would count it: preamble, header, check sequence and gap. */
static const struct line ETHERNET = { .framing = FRAMING_ETHERNET, .overhead_bytes = 38.0 };

typedef VEC(struct load_use) growing_uses;

struct way_layer {
    struct demand_maker *m;
    growing_uses *uses; /* of each point */
    bool *told;         /* of each thing: that its way is not known */
};

/* ---- points ---- */

static void add_point(struct demand_maker *m, enum load_point_kind kind, uint32_t i, double down_mbps, double up_mbps)
{
    struct demand *d = m->d;
    d->points.v[d->points.n++] = (struct load_point){ kind, i, down_mbps, up_mbps };
}

static void list_points(struct demand_maker *m)
{
    const struct house *h = m->h;
    const uint32_t n_radios = m->stations ? m->stations->fields->radios.n : 0;
    m->d->points.v = ARENA_ARRAY(m->arena, struct load_point, 1 + (size_t)h->cables.n + n_radios);
    m->failed |= !m->d->points.v;
    if (m->failed)
        return;
    const bool has_line = h->line.at.line != 0;
    add_point(m, POINT_LINE, 0, has_line ? line_capacity_mbps(&h->line, LOAD_DOWN) : RT_NOT_GIVEN,
              has_line ? line_capacity_mbps(&h->line, LOAD_UP) : RT_NOT_GIVEN);
    for (uint32_t c = 0; c < h->cables.n; c++) {
        const double speed_mbps = m->links ? m->links->v[c].speed_mbps : 0.0;
        const double payload_mbps = speed_mbps > 0.0 ? speed_mbps * line_payload_ratio(&ETHERNET) : RT_NOT_GIVEN;
        add_point(m, POINT_CABLE, c, payload_mbps, payload_mbps);
    }
    for (uint32_t r = 0; r < n_radios; r++)
        add_point(m, POINT_RADIO, r, RT_NOT_GIVEN, RT_NOT_GIVEN);
}

/* ---- ways ---- */

/* The same use of a point twice, as by what goes to the gateway and comes back, is one of both. */
static void use(struct way_layer *l, uint32_t point, struct load_use u)
{
    growing_uses *list = &l->uses[point];
    struct load_use *last = list->n ? &list->v[list->n - 1] : NULL;
    if (last && last->source == u.source && last->state == u.state) {
        last->down_mbps += u.down_mbps;
        last->up_mbps += u.up_mbps;
        return;
    }
    l->m->failed |= !VEC_PUSH(l->m->arena, list, u);
}

/* Where a thing's way begins. */
struct start {
    uint32_t thing; /* of the tree: it, or its access point; NO_REF: not known */
    uint32_t radio; /* NO_REF: none */
};

static void tell(struct way_layer *l, uint32_t thing, const struct station *station)
{
    const struct house *h = l->m->h;
    if (l->told[thing] || l->m->tree->gateway == NO_REF) /* then that alone is told */
        return;
    l->told[thing] = true;
    if (thing < h->equipment.n) {
        demand_missing(l->m, "say how `%.*s` gets to the gateway: no cable leads there",
                       STR_ARG(h->equipment.v[thing].id));
        return;
    }
    const struct str id = h->devices.v[thing - h->equipment.n].id;
    if (station && station->why_not.n)
        demand_missing(l->m, "`%.*s` is on no access point: %.*s", STR_ARG(id), STR_ARG(station->why_not));
    else
        demand_missing(l->m, "say how `%.*s` gets to the gateway: no cable leads there", STR_ARG(id));
}

static struct start start_of(struct way_layer *l, uint32_t thing)
{
    const struct demand_maker *m = l->m;
    const struct house *h = m->h;
    struct start s = { thing, NO_REF };
    const struct station *station = NULL;
    if (thing >= h->equipment.n && h->devices.v[thing - h->equipment.n].link == LINK_WIFI) {
        if (!m->stations)
            return (struct start){ NO_REF, NO_REF };
        const uint32_t i = m->stations->of_device[thing - h->equipment.n];
        station = i == NO_REF ? NULL : &m->stations->list.v[i];
        s.radio = station ? station->radio : NO_REF;
        s.thing = s.radio == NO_REF ? NO_REF : m->stations->fields->radios.v[s.radio].equipment;
    }
    if (s.thing == NO_REF || !tree_is_joined(m->tree, s.thing)) {
        tell(l, thing, station);
        s.thing = NO_REF;
    }
    return s;
}

/* From its start up to a thing of the tree; down and up as `u` says. */
static void climb(struct way_layer *l, struct start s, uint32_t up_to, struct load_use u)
{
    const struct cable_tree *tree = l->m->tree;
    if (s.radio != NO_REF)
        use(l, demand_radio_point(l->m->h, s.radio), u);
    for (uint32_t at = s.thing; at != NO_REF && at != up_to; at = tree->parent[at])
        if (tree->parent_cable[at] != NO_REF)
            use(l, demand_cable_point(tree->parent_cable[at]), u);
}

static uint32_t segment_of(const struct house *h, uint32_t thing)
{
    return thing < h->equipment.n ? h->equipment.v[thing].segment.i : h->devices.v[thing - h->equipment.n].segment.i;
}

/* Lowest equipment that both hang on. */
static uint32_t meeting(const struct cable_tree *tree, uint32_t a, uint32_t b)
{
    for (uint32_t x = a; x != NO_REF; x = tree->parent[x])
        for (uint32_t y = b; y != NO_REF; y = tree->parent[y])
            if (x == y)
                return x;
    return NO_REF;
}

static void lay_state(struct way_layer *l, uint32_t source, uint32_t state)
{
    const struct demand_maker *m = l->m;
    const struct demand_state *x = &m->d->sources.v[source].states.v[state];
    const uint32_t thing = tree_device(m->h, m->d->sources.v[source].device);
    const struct load_use there = { source, state, x->down_mbps, x->up_mbps };
    const struct load_use back = { source, state, x->up_mbps, x->down_mbps };
    if (x->with == thing)
        return;
    const struct start s = start_of(l, thing);
    if (x->with == NO_REF) {
        climb(l, s, NO_REF, there);
        use(l, 0, there);
        return;
    }
    const struct start t = start_of(l, x->with);
    const bool is_near = segment_of(m->h, thing) == segment_of(m->h, x->with);
    const uint32_t top = is_near ? meeting(m->tree, s.thing, t.thing) : NO_REF; /* NO_REF: the gateway */
    climb(l, s, top, there);
    climb(l, t, top, back);
}

void demand_lay_ways(struct demand_maker *m)
{
    struct way_layer l = { .m = m };
    list_points(m);
    l.uses = ARENA_ARRAY(m->arena, growing_uses, m->d->points.n);
    l.told = ARENA_ARRAY(m->arena, bool, m->tree->n_things);
    m->d->uses = ARENA_ARRAY(m->arena, load_use_list, m->d->points.n);
    m->failed |= !l.uses || !l.told || !m->d->uses;
    if (m->failed)
        return;
    if (m->tree->gateway == NO_REF)
        demand_missing(m, "say which equipment is the gateway: without one no way through the house is known");
    for (uint32_t i = 0; i < m->d->sources.n; i++)
        for (uint32_t k = 0; k < m->d->sources.v[i].states.n; k++)
            lay_state(&l, i, k);
    for (uint32_t i = 0; i < m->d->points.n; i++)
        m->d->uses[i] = (load_use_list){ l.uses[i].v, l.uses[i].n };
}

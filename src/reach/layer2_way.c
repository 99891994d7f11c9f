/* The way of a frame inside the house, and whether two devices need the gateway to talk. */
#include <math.h>

#include "base/units.h"
#include "reach/layer2_int.h"

struct route {
    const struct layer2 *l2;
    struct arena *arena;
    uint32_t *nodes, n;
    uint32_t segment;
    bool *failed;
};

/* ---- which access point ---- */

static struct vec3 place_of(const struct house *h, struct ref floor, struct ref room, struct vec3 at_m)
{
    if (!is_given(at_m.x) && room.i != NO_REF) {
        const struct vec2 c = polygon_centre(h->rooms.v[room.i].outline);
        at_m = (struct vec3){ c.x, c.y, 1.0 };
    }
    if (is_given(at_m.x) && floor.i != NO_REF)
        at_m.z = house_z_m(h, floor.i, at_m.z);
    return at_m;
}

/* Straight line; an access point on another floor counts as farther than any on the same. */
static double farness(const struct house *h, const struct device *d, uint32_t equipment)
{
    const double OTHER_FLOOR = 1e6;
    const struct equipment *e = &h->equipment.v[equipment];
    const double away_m =
        vec3_len(vec3_sub(place_of(h, d->floor, d->room, d->at_m), place_of(h, e->floor, e->room, e->at_m)));
    const bool same = d->floor.i != NO_REF && d->floor.i == e->floor.i;
    return (isfinite(away_m) ? away_m : OTHER_FLOOR / 2) + (same ? 0 : OTHER_FLOOR);
}

struct air {
    uint32_t ssid, equipment;
    enum band band;
};

/* The SSID and band by which a device is on an access point (NO_REF: the nearest); false: none. */
static bool air_of(const struct layer2 *l2, uint32_t device, uint32_t access_point, struct air *out)
{
    const struct house *h = l2->plan->h;
    double least = INFINITY;
    for (uint32_t s = 0; s < h->ssids.n; s++)
        for (uint32_t i = 0; i < l2->ssids[s].cells.n; i++) {
            const struct l2_cell *cell = &l2->ssids[s].cells.v[i];
            if (!device_hears(l2, device, s, cell) || (access_point != NO_REF && cell->equipment != access_point))
                continue;
            const double far = farness(h, &h->devices.v[device], cell->equipment);
            if (far < least || (far == least && cell->equipment == out->equipment && out->ssid == s)) { /* upper band */
                least = far;
                *out = (struct air){ s, cell->equipment, cell->band };
            }
        }
    return isfinite(least);
}

/* ---- the nodes on the way ---- */

static const struct l2_port *tree_port(const struct layer2 *l2, uint32_t cable, uint32_t node)
{
    if (net_is_device(l2->net, node))
        return NULL;
    for (uint32_t i = l2->first_port[node]; i < l2->first_port[node + 1]; i++)
        if (l2->ports.v[i].cable == cable)
            return &l2->ports.v[i];
    return NULL;
}

static bool lets_through(const struct route *r, uint32_t cable, uint32_t node)
{
    const struct l2_port *port = tree_port(r->l2, cable, node);
    return net_is_device(r->l2->net, node) || net_passes_on(r->l2->net, node) ||
           (port && port_carries(port, r->segment));
}

/* From the device up to the top of the tree; no nodes: it does not get there. */
static struct route climb(struct arena *a, const struct layer2 *l2, uint32_t device, uint32_t access_point,
                          bool *failed)
{
    const struct net *net = l2->net;
    const struct device *d = &l2->plan->h->devices.v[device];
    struct route r = { .l2 = l2, .arena = a, .segment = d->segment.i, .failed = failed };
    struct air air;
    r.nodes = ARENA_ARRAY(a, uint32_t, (size_t)net->n_nodes + 2);
    *failed |= !r.nodes;
    if (!r.nodes || d->segment.i == NO_REF || (d->link != LINK_WIRED && d->link != LINK_WIFI))
        return r;
    uint32_t at = l2->plan->h->equipment.n + device, n = 0;
    r.nodes[n++] = at;
    if (d->link == LINK_WIFI) {
        if (!air_of(l2, device, access_point, &air))
            return r;
        r.nodes[n++] = at = air.equipment;
    }
    for (; net->parent[at] != NO_REF; at = net->parent[at]) {
        const uint32_t cable = net->parent_cable[at];
        if (!lets_through(&r, cable, at) || !lets_through(&r, cable, net->parent[at]))
            return r;
        r.nodes[n++] = net->parent[at];
    }
    if (net->n_order && at == net->order[0])
        r.n = n;
    return r;
}

/* ---- steps ---- */

static uint32_t cable_between(const struct net *net, uint32_t x, uint32_t y)
{
    if (net->parent[x] == y)
        return net->parent_cable[x];
    return net->parent[y] == x ? net->parent_cable[y] : NO_REF; /* none: through the air */
}

static void push(const struct route *r, l2_way *way, struct l2_step step)
{
    const struct address_plan *plan = r->l2->plan;
    step.segment = r->segment;
    step.vlan = plan->segments[r->segment].vlan;
    way->v[way->n++] = step;
}

static struct str words(const struct route *r, const char *text)
{
    *r->failed |= !text;
    return str_from(text ? text : "");
}

static void push_link(const struct route *r, l2_way *way, uint32_t x, uint32_t y)
{
    const struct house *h = r->l2->plan->h;
    const uint32_t cable = cable_between(r->l2->net, x, y);
    if (cable != NO_REF) {
        const struct l2_port *port = tree_port(r->l2, cable, x);
        port = port ? port : tree_port(r->l2, cable, y);
        const bool tagged = port && port->untagged != r->segment;
        push(r, way,
             (struct l2_step){ .kind = STEP_CABLE,
                               .which = cable,
                               .id = h->cables.v[cable].id,
                               .tagged = tagged,
                               .says = words(r, tagged ? arena_printf(r->arena, "cable %.*s, with tag %u",
                                                                      STR_ARG(h->cables.v[cable].id),
                                                                      r->l2->plan->segments[r->segment].vlan)
                                                       : arena_printf(r->arena, "cable %.*s, without a tag",
                                                                      STR_ARG(h->cables.v[cable].id))) });
        return;
    }
    const uint32_t device = net_is_device(r->l2->net, x) ? x : y, point = device == x ? y : x;
    struct air air = { NO_REF, NO_REF, BAND_2G4 };
    if (!air_of(r->l2, device - h->equipment.n, point, &air))
        return;
    const struct str name = r->l2->ssids[air.ssid].name;
    push(r, way,
         (struct l2_step){
             .kind = STEP_AIR,
             .which = air.ssid,
             .id = h->ssids.v[air.ssid].id,
             .band = air.band,
             .says = words(r, arena_printf(r->arena, "SSID '%.*s' at %s GHz", STR_ARG(name), band_name(air.band))) });
}

static enum l2_step_kind kind_of(const struct net *net, uint32_t node)
{
    const struct part *part = net_part(net, node);
    if (net_is_device(net, node))
        return STEP_DEVICE;
    if (part && part->kind == PART_GATEWAY)
        return STEP_GATEWAY;
    if (part && part->kind == PART_ACCESS_POINT)
        return STEP_ACCESS_POINT;
    return net_passes_on(net, node) ? STEP_THROUGH : STEP_SWITCH;
}

static void push_node(const struct route *r, l2_way *way, uint32_t before, uint32_t node, uint32_t after)
{
    const struct house *h = r->l2->plan->h;
    const struct net *net = r->l2->net;
    const uint32_t from = before == NO_REF ? NO_REF : cable_between(net, before, node);
    const uint32_t to = after == NO_REF ? NO_REF : cable_between(net, node, after);
    const bool is_device = net_is_device(net, node);
    struct l2_step s = { .kind = kind_of(net, node),
                         .which = is_device ? node - h->equipment.n : node,
                         .id = is_device ? h->devices.v[node - h->equipment.n].id : h->equipment.v[node].id,
                         .in = from == NO_REF ? 0 : pick_at(net, r->l2->picks, from, node),
                         .out = to == NO_REF ? 0 : pick_at(net, r->l2->picks, to, node) };
    struct buf says = { .arena = r->arena };
    buf_str(&says, s.id);
    if (s.in)
        buf_printf(&says, ", in at port %u", s.in);
    if (s.out)
        buf_printf(&says, ", out at port %u", s.out);
    *r->failed |= says.failed;
    s.says = buf_done(&says);
    push(r, way, s);
}

static l2_way steps(const struct route *r)
{
    l2_way way = { .v = ARENA_ARRAY(r->arena, struct l2_step, (size_t)r->n * 2 + 1) };
    *r->failed |= !way.v;
    for (uint32_t i = 0; way.v && i < r->n; i++) {
        push_node(r, &way, i ? r->nodes[i - 1] : NO_REF, r->nodes[i], i + 1 < r->n ? r->nodes[i + 1] : NO_REF);
        if (i + 1 < r->n)
            push_link(r, &way, r->nodes[i], r->nodes[i + 1]);
    }
    return way;
}

l2_way layer2_way(struct arena *a, const struct layer2 *l2, uint32_t device, uint32_t access_point, bool *failed)
{
    const struct route r = climb(a, l2, device, access_point, failed);
    return r.n && l2->gateway != NO_REF ? steps(&r) : (l2_way){ 0 };
}

/* Up from one to where the two ways meet, and down to the other. */
static struct route join(struct arena *a, const struct route *up, const struct route *down)
{
    struct route r = *up;
    uint32_t shared = 0;
    while (shared < up->n && shared < down->n && up->nodes[up->n - 1 - shared] == down->nodes[down->n - 1 - shared])
        shared++;
    r.n = 0;
    r.nodes = ARENA_ARRAY(a, uint32_t, (size_t)up->n + down->n + 1);
    *r.failed |= !r.nodes;
    if (!r.nodes || !shared)
        return r;
    for (uint32_t i = 0; i + shared <= up->n; i++)
        r.nodes[r.n++] = up->nodes[i];
    for (uint32_t i = down->n - shared; i-- > 0;)
        r.nodes[r.n++] = down->nodes[i];
    return r;
}

l2_way layer2_way_between(struct arena *a, const struct layer2 *l2, uint32_t from, uint32_t to, bool *failed)
{
    const struct route up = climb(a, l2, from, NO_REF, failed), down = climb(a, l2, to, NO_REF, failed);
    if (!up.n || !down.n || up.segment != down.segment || from == to)
        return (l2_way){ 0 };
    const struct route r = join(a, &up, &down);
    return steps(&r);
}

/* ---- who talks with whom ---- */

/* The one isolating SSID on one access point that is all a device can be on; NO_REF: it is otherwise. */
static uint32_t isolating_ssid(const struct layer2 *l2, uint32_t device, bool *is_split)
{
    uint32_t ssid = NO_REF, equipment = NO_REF;
    for (uint32_t s = 0; s < l2->plan->h->ssids.n; s++)
        for (uint32_t i = 0; i < l2->ssids[s].cells.n; i++) {
            const struct l2_cell *cell = &l2->ssids[s].cells.v[i];
            if (!device_hears(l2, device, s, cell))
                continue;
            if (!l2->ssids[s].isolate || (ssid != NO_REF && ssid != s))
                return NO_REF;
            *is_split |= equipment != NO_REF && equipment != cell->equipment;
            ssid = s;
            equipment = cell->equipment;
        }
    return ssid;
}

enum l2_talk layer2_talk(struct arena *a, const struct layer2 *l2, uint32_t from, uint32_t to, struct str *because,
                         bool *failed)
{
    const struct house *h = l2->plan->h;
    const struct device *x = &h->devices.v[from], *y = &h->devices.v[to];
    const struct route up = climb(a, l2, from, NO_REF, failed), down = climb(a, l2, to, NO_REF, failed);
    if (!up.n || !down.n) {
        const struct device *lost = up.n ? y : x;
        *because = words(&up, arena_printf(a,
                                           lost->link == LINK_MESH ? "%.*s is on the low-power mesh, not on the network"
                                                                   : "%.*s has no way into the network",
                                           STR_ARG(lost->id)));
        return TALK_NONE;
    }
    if (x->segment.i != y->segment.i) {
        *because = STR("they are in different segments: the gateway's rules decide");
        return TALK_BY_GATEWAY;
    }
    const struct str segment = h->segments.v[x->segment.i].id;
    bool is_split = false;
    const uint32_t one = isolating_ssid(l2, from, &is_split), other = isolating_ssid(l2, to, &is_split);
    if (one != NO_REF && one == other && from != to) {
        const struct str name = l2->ssids[one].name;
        *because = words(
            &up, is_split
                     ? arena_printf(a,
                                    "both are in %.*s: the client isolation of SSID '%.*s' keeps them apart at one "
                                    "access point, but not from one access point to another",
                                    STR_ARG(segment), STR_ARG(name))
                     : arena_printf(a, "the client isolation of SSID '%.*s' keeps them apart", STR_ARG(name)));
        return is_split ? TALK_UNFILTERED : TALK_ISOLATED;
    }
    const struct route r = join(a, &up, &down);
    const uint32_t n_up = up.n < r.n ? up.n : r.n;
    uint32_t meet = r.n ? r.nodes[0] : NO_REF; /* the node nearest to the gateway */
    for (uint32_t i = 1; i < n_up; i++)
        if (r.nodes[i] == up.nodes[i])
            meet = r.nodes[i];
    const struct str at = meet == NO_REF || net_is_device(l2->net, meet) ? STR("home") : h->equipment.v[meet].id;
    *because = words(&up, arena_printf(a, "both are in %.*s and meet at %.*s: the gateway's rules never see it",
                                       STR_ARG(segment), STR_ARG(at)));
    return TALK_UNFILTERED;
}

/* Where switches stand: with the gateway, where some stand already, and in each other building that wants cables. */
#include <math.h>

#include "design/space_int.h"
#include "design/wall_places.h"
#include "wire/cable_tree.h"

#define SWITCHES_MOST 3       /* of one hub */
#define TOGETHER_M 3.0        /* where no room is said, switches this near to one another are one hub */
#define HUB_HEIGHT_M 1.5      /* on a wall without a cabinet (common practice, no source) */
#define CABINET_UNITS_MIN 6.0 /* gateway, switch, recorder, battery (common practice, no source) */

/* ---- places ---- */

static bool is_taken(const struct house *h, uint32_t mount)
{
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (h->equipment.v[e].mount.i == mount)
            return true;
    return false;
}

static bool may_stand_in(const struct house *h, uint32_t room)
{
    return room == NO_REF || !(h->rooms.v[room].keep_free & (FREE_EQUIPMENT | FREE_CABLE));
}

/* The cabinet mount that is nearest to the point above the datum (NULL: the first) in a building; NO_REF: none. */
static uint32_t cabinet_mount(const struct house *h, uint32_t building, const struct vec3 *near_m)
{
    uint32_t best = NO_REF;
    double best_m = INFINITY;
    for (uint32_t i = 0; i < h->mounts.n; i++) {
        const struct mount *k = &h->mounts.v[i];
        if (!(k->use & MOUNT_CABINET) || k->floor.i == NO_REF || is_taken(h, i) || !may_stand_in(h, k->room.i) ||
            (building != NO_REF && cable_building_of(h, k->floor.i) != building))
            continue;
        const struct vec3 at = { k->at_m.x, k->at_m.y, house_z_m(h, k->floor.i, k->at_m.z) };
        const double away_m = near_m ? vec3_len(vec3_sub(at, *near_m)) : 0.0;
        if (best == NO_REF || away_m < best_m - 1e-9) {
            best = i;
            best_m = away_m;
        }
    }
    return best;
}

/* How well a room does for what hums and blinks: the lower the better. */
static int room_rank(enum room_use use)
{
    switch (use) {
    case USE_STORE:
        return 0;
    case USE_UTILITY:
    case USE_PLANT:
        return 1;
    case USE_GARAGE:
    case USE_WORKSHOP:
        return 2;
    case USE_HALL:
    case USE_OFFICE:
        return 3;
    case USE_BARN:
    case USE_OTHER:
    case USE_DINING:
    case USE_KITCHEN:
    case USE_LIVING:
        return 4;
    default:
        return 9;
    }
}

/* The widest free stretch of wall in the best room of a building (NO_REF: of any). */
static bool wall_of_building(struct space_maker *m, uint32_t building, struct design_hub *hub)
{
    const struct house *h = m->h;
    int best_rank = 9;
    double best_m = 0.0;
    for (uint32_t r = 0; r < h->rooms.n; r++) {
        const uint32_t floor = h->rooms.v[r].floor.i;
        const int rank = room_rank(h->rooms.v[r].use);
        wall_place_list places = { 0 };
        if (floor == NO_REF || h->floors.v[floor].open_air || rank > best_rank || rank == 9 || !may_stand_in(h, r) ||
            (building != NO_REF && cable_building_of(h, floor) != building))
            continue;
        if (!wall_places_of(m->a, h, r, HUB_HEIGHT_M, &places)) {
            m->failed = true;
            return false;
        }
        for (uint32_t i = 0; i < places.n; i++)
            if (rank < best_rank || places.v[i].free_m > best_m + 1e-9) {
                best_rank = rank;
                best_m = places.v[i].free_m;
                hub->room = r;
                hub->floor = floor;
                hub->at_m = (struct vec3){ places.v[i].at_m.x, places.v[i].at_m.y, HUB_HEIGHT_M };
            }
    }
    return best_rank < 9;
}

static struct design_hub empty_hub(void)
{
    return (struct design_hub){ .room = NO_REF,
                                .floor = NO_REF,
                                .building = NO_REF,
                                .cabinet = NO_REF,
                                .gateway = NO_REF,
                                .cabinet_part = NO_REF,
                                .cabinet_mount = NO_REF,
                                .gateway_part = NO_REF };
}

static uint32_t cabinet_for(const struct house *h, bool outdoors)
{
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < h->parts.list.n; i++) {
        const struct part *p = &h->parts.list.v[i], *q = best == NO_REF ? NULL : &h->parts.list.v[best];
        if (p->kind != PART_CABINET || (outdoors && !p->outdoors))
            continue;
        const bool is_large = p->rack_units >= CABINET_UNITS_MIN, was = q && q->rack_units >= CABINET_UNITS_MIN;
        if (!q || (is_large && !was) || (is_large == was && p->price < q->price))
            best = i;
    }
    return best;
}

static void place_at_mount(const struct house *h, uint32_t mount, struct design_hub *hub)
{
    const struct mount *k = &h->mounts.v[mount];
    hub->room = k->room.i;
    hub->floor = k->floor.i;
    hub->at_m = k->at_m;
    hub->cabinet_part = cabinet_for(h, k->outdoors);
    hub->cabinet_mount = hub->cabinet_part == NO_REF ? NO_REF : mount;
}

/* A free place in a building; false: none. */
static bool place_new(struct space_maker *m, uint32_t building, const struct vec3 *near_m, struct design_hub *hub)
{
    const uint32_t mount = cabinet_mount(m->h, building, near_m);
    if (mount != NO_REF)
        place_at_mount(m->h, mount, hub);
    return mount != NO_REF || wall_of_building(m, building, hub);
}

static void place_at_equipment(const struct house *h, uint32_t e, struct design_hub *hub)
{
    const struct equipment *q = &h->equipment.v[e];
    hub->room = q->room.i;
    hub->floor = q->floor.i;
    hub->at_m = q->at_m;
    hub->cabinet = q->inside.i;
    for (uint32_t i = 0; hub->cabinet == NO_REF && i < h->equipment.n; i++) {
        const struct part *p = equipment_part(h, i);
        if (p && p->kind == PART_CABINET && h->equipment.v[i].room.i != NO_REF && h->equipment.v[i].room.i == hub->room)
            hub->cabinet = i;
    }
}

/* ---- which there are ---- */

static bool stands_at(const struct house *h, uint32_t e, const struct design_hub *hub)
{
    const struct equipment *q = &h->equipment.v[e];
    if (q->room.i != NO_REF || hub->room != NO_REF)
        return q->room.i == hub->room;
    return q->floor.i == hub->floor && vec3_len(vec3_sub(q->at_m, hub->at_m)) <= TOGETHER_M;
}

uint32_t maker_hub_of(const struct space_maker *m, uint32_t equipment)
{
    for (uint32_t i = 0; i < m->hubs.n; i++) {
        const struct design_hub *hub = &m->hubs.v[i].hub;
        if (hub->gateway == equipment)
            return i;
        for (uint32_t k = 0; k < hub->switches.n; k++)
            if (hub->switches.v[k] == equipment)
                return i;
    }
    return NO_REF;
}

static bool add_hub(struct space_maker *m, struct design_hub hub)
{
    hub.building = cable_building_of(m->h, hub.floor);
    hub.switches.v = ARENA_ARRAY(m->a, uint32_t, m->h->equipment.n);
    const struct hub_draft draft = { .hub = hub, .up = NO_REF, .up_cable = NO_REF };
    m->failed |= !hub.switches.v || !VEC_PUSH(m->a, &m->hubs, draft);
    return !m->failed;
}

/* The cheapest gateway that keeps segments apart and routes what the line brings. */
static uint32_t gateway_for(const struct space_maker *m)
{
    const struct house *h = m->h;
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < h->parts.list.n; i++) {
        const struct part *p = &h->parts.list.v[i];
        if (p->kind == PART_GATEWAY && (p->vlans || !m->wants_vlans) &&
            !(p->routed_mbps < given_or(h->line.down_mbps, 0.0)) &&
            (best == NO_REF || p->price < h->parts.list.v[best].price))
            best = i;
    }
    return best;
}

static enum rt_code find_core(struct space_maker *m)
{
    const struct house *h = m->h;
    struct design_hub hub = empty_hub();
    hub.gateway = tree_gateway(h);
    if (hub.gateway != NO_REF && h->equipment.v[hub.gateway].floor.i != NO_REF) {
        place_at_equipment(h, hub.gateway, &hub);
        return add_hub(m, hub) ? RT_OK : rt_fail_memory(m->p);
    }
    if (hub.gateway == NO_REF && (hub.gateway_part = gateway_for(m)) == NO_REF)
        return rt_fail(m->p, RT_MISSING, h->line.at, "add one to the parts file",
                       "no gateway in hand routes the %.0f Mb/s of the line%s", given_or(h->line.down_mbps, 0.0),
                       m->wants_vlans ? " and keeps segments apart" : "");
    const bool is_line_placed = h->line.at.line && h->line.floor.i != NO_REF && is_given(h->line.at_m.x);
    const uint32_t floor = is_line_placed ? h->line.floor.i : NO_REF;
    const struct vec3 entry = is_line_placed
                                  ? (struct vec3){ h->line.at_m.x, h->line.at_m.y, house_z_m(h, floor, h->line.at_m.z) }
                                  : (struct vec3){ 0 };
    const uint32_t building = floor == NO_REF ? NO_REF : cable_building_of(h, floor);
    if (cabinet_mount(h, building, NULL) == NO_REF && is_line_placed && !h->floors.v[floor].open_air &&
        may_stand_in(h, house_room_at(h, floor, (struct vec2){ entry.x, entry.y }))) {
        hub.floor = floor;
        hub.room = house_room_at(h, floor, (struct vec2){ entry.x, entry.y });
        hub.at_m = h->line.at_m;
    } else if (!place_new(m, building, is_line_placed ? &entry : NULL, &hub)) {
        return m->failed ? rt_fail_memory(m->p)
                         : rt_fail(m->p, RT_MISSING, RT_NOWHERE,
                                   "add a mount for a cabinet ('use: [cabinet]'), or say where the line enters",
                                   "there is no place for the gateway and the switch");
    }
    return add_hub(m, hub) ? RT_OK : rt_fail_memory(m->p);
}

/* Each switch goes to the hub it stands at, or makes one. */
static bool add_switches(struct space_maker *m)
{
    const struct house *h = m->h;
    for (uint32_t e = 0; e < h->equipment.n && !m->failed; e++) {
        const struct part *p = equipment_part(h, e);
        if (!p || p->kind != PART_SWITCH || h->equipment.v[e].floor.i == NO_REF)
            continue;
        uint32_t i = 0;
        while (i < m->hubs.n && !stands_at(h, e, &m->hubs.v[i].hub))
            i++;
        if (i == m->hubs.n) {
            struct design_hub hub = empty_hub();
            place_at_equipment(h, e, &hub);
            if (!add_hub(m, hub))
                break;
        }
        struct design_hub *hub = &m->hubs.v[i].hub;
        hub->switches.v[hub->switches.n++] = e;
    }
    return !m->failed;
}

static bool wants_cables(const struct space_maker *m, uint32_t building)
{
    const struct house *h = m->h;
    for (uint32_t i = 0; i < m->sites.n; i++)
        if (cable_building_of(h, h->mounts.v[m->sites.v[i].mount].floor.i) == building)
            return true;
    for (uint32_t i = 0; i < h->devices.n; i++) {
        const struct device *d = &h->devices.v[i];
        if (d->link == LINK_WIRED && d->floor.i != NO_REF && cable_building_of(h, d->floor.i) == building)
            return true;
    }
    return false;
}

static bool has_hub(const struct space_maker *m, uint32_t building)
{
    for (uint32_t i = 0; i < m->hubs.n; i++)
        if (m->hubs.v[i].hub.building == building)
            return true;
    return false;
}

static bool add_buildings(struct space_maker *m)
{
    const struct house *h = m->h;
    for (uint32_t f = 0; f < h->floors.n && !m->failed; f++) {
        struct design_hub hub = empty_hub();
        if (h->floors.v[f].open_air || cable_building_of(h, f) != f || has_hub(m, f) || !wants_cables(m, f))
            continue;
        if (place_new(m, f, NULL, &hub))
            add_hub(m, hub);
    }
    return !m->failed;
}

enum rt_code maker_find_hubs(struct space_maker *m)
{
    RT_TRY(find_core(m));
    return add_switches(m) && add_buildings(m) ? RT_OK : rt_fail_memory(m->p);
}

static bool feeds(const struct part *p)
{
    for (uint32_t i = 0; p && i < p->ports.n; i++)
        if (is_given(p->ports.v[i].poe_class))
            return true;
    return false;
}

uint32_t maker_hub_behind(const struct space_maker *m, uint32_t thing, uint32_t *cable, bool *is_fed)
{
    const struct house *h = m->space->asked;
    uint32_t at = thing, first = NO_REF;
    for (uint32_t steps = 0; steps < h->cables.n; steps++) {
        uint32_t c = 0, up = NO_REF;
        at = m->tree.parent[at] == NO_REF ? NO_REF : at;
        if (at == NO_REF)
            break;
        c = m->tree.parent_cable[at];
        up = m->tree.parent[at];
        first = first == NO_REF ? c : first;
        const uint32_t hub = up < h->equipment.n ? maker_hub_of(m, up) : NO_REF;
        if (hub != NO_REF) {
            *cable = first;
            *is_fed = at == thing && feeds(equipment_part(h, up));
            return hub;
        }
        at = up;
    }
    return NO_REF;
}

/* ---- what may stand there ---- */

static bool is_copper(const struct port_group *g) { return str_is(g->medium, "copper") || !g->medium.n; }

/* Copper ports by class and speed; those meant for the way up apart. */
static bool ports_of(struct space_maker *m, const struct part *part, struct place_switch *out)
{
    out->ports.v = ARENA_ARRAY(m->a, struct place_ports, part->ports.n);
    for (uint32_t i = 0; out->ports.v && i < part->ports.n; i++) {
        const struct port_group *g = &part->ports.v[i];
        if (!is_copper(g) || !(g->count >= 1.0))
            continue;
        if (g->uplink)
            out->n_up += (uint32_t)g->count;
        else
            out->ports.v[out->ports.n++] = (struct place_ports){ (uint32_t)g->count, (int)given_or(g->poe_class, -1.0),
                                                                 given_or(g->speed_mbps, 0.0) };
    }
    m->failed |= !out->ports.v;
    return !m->failed;
}

/* What is left for others of one that is fed itself. */
static double budget_of(const struct part *part)
{
    const double budget_w = given_or(part->poe_budget_w, 0.0);
    if (!is_given(part->poe_class_needed))
        return budget_w;
    const struct poe_class *class = poe_class((int)part->poe_class_needed);
    const double own_w = given_or(part->power_max_w, given_or(part->power_w, 0.0));
    return class ? fmin(budget_w, fmax(class->device_w - own_w, 0.0)) : budget_w;
}

static bool add_switch(struct space_maker *m, uint32_t part, int64_t price, uint32_t *at)
{
    struct place_switch q = { .part = part, .price = price, .poe_budget_w = budget_of(maker_part(m, part)) };
    if (!ports_of(m, maker_part(m, part), &q))
        return false;
    *at = m->switches.n;
    m->failed |= !VEC_PUSH(m->a, &m->switches, q);
    return !m->failed;
}

static bool may_be_bought(const struct space_maker *m, const struct part *p)
{
    return p->kind == PART_SWITCH && (p->vlans || !m->wants_vlans) && !is_given(p->poe_class_needed);
}

/* In a rack only where there is a cabinet that takes it. */
static bool fits(const struct space_maker *m, const struct design_hub *hub, const struct part *p)
{
    const uint32_t in_hand = hub->cabinet_part;
    const struct part *cabinet = hub->cabinet != NO_REF ? equipment_part(m->h, hub->cabinet)
                                 : in_hand != NO_REF    ? maker_part(m, in_hand)
                                                        : NULL;
    const bool wants_rack = design_wants_cabinet(p);
    if (!cabinet)
        return !wants_rack;
    return !(p->width_m > cabinet->width_m + 1e-9) && !(p->depth_m > cabinet->depth_m + 1e-9) &&
           !(wants_rack && !is_given(cabinet->rack_units)) && !(p->rack_units > cabinet->rack_units);
}

bool maker_owes_cabinet(const struct space_maker *m, const struct design_hub *hub)
{
    return hub->cabinet_part != NO_REF && hub->gateway_part != NO_REF &&
           design_wants_cabinet(maker_part(m, hub->gateway_part));
}

static enum rt_code list_bought(struct space_maker *m, bool is_core, const struct design_hub *hub,
                                struct place_hub *out)
{
    int64_t cord = 0, cabinet = 0; /* the cord from the gateway to the switch beside it */
    const uint32_t cord_part = maker_cord(m->h, DESIGN_CORD_AT_HUB_M);
    if (is_core && cord_part != NO_REF)
        RT_TRY(maker_piece_price(m, cord_part, &cord));
    if (hub->cabinet_part != NO_REF && !maker_owes_cabinet(m, hub))
        RT_TRY(maker_part_price(m, hub->cabinet_part, hub->cabinet_mount, &cabinet));
    for (uint32_t i = 0; i < m->h->parts.list.n; i++) {
        int64_t price = 0;
        uint32_t at = NO_REF;
        if (!may_be_bought(m, maker_part(m, i)) || !fits(m, hub, maker_part(m, i)))
            continue;
        RT_TRY(maker_part_price(m, i, NO_REF, &price));
        price += cord + (design_wants_cabinet(maker_part(m, i)) ? cabinet : 0);
        for (uint32_t k = 0; k < m->switches.n; k++)
            if (m->switches.v[k].part == i && m->switches.v[k].price == price)
                at = k;
        if (at == NO_REF && !add_switch(m, i, price, &at))
            return rt_fail_memory(m->p);
        out->switches.v[out->switches.n++] = at;
    }
    return RT_OK;
}

static struct place_ports gateway_ports(const struct space_maker *m, const struct design_hub *hub)
{
    const struct part *p =
        hub->gateway != NO_REF ? equipment_part(m->h, hub->gateway) : maker_part(m, hub->gateway_part);
    struct place_ports q = { .poe_class = -1 };
    for (uint32_t i = 0; p && i < p->ports.n; i++)
        if (is_copper(&p->ports.v[i]) && !p->ports.v[i].uplink) {
            q.count += (uint32_t)p->ports.v[i].count;
            q.speed_mbps = fmax(q.speed_mbps, given_or(p->ports.v[i].speed_mbps, 0.0));
        }
    return q;
}

/* Is anything behind it (equipment of asked) that is a thing of its own: a device, an access point, another hub? */
static bool leads_on(const struct space_maker *m, uint32_t e)
{
    const struct cable_tree *t = &m->tree;
    const struct house *h = m->space->asked;
    for (uint32_t i = 0; i < t->n_things; i++) {
        uint32_t at = i;
        while (at != NO_REF && at != e)
            at = t->parent[at];
        const struct part *p = i < h->equipment.n ? equipment_part(h, i) : NULL;
        if (at == e && i != e &&
            (i >= h->equipment.n || (p && (p->kind == PART_ACCESS_POINT || p->kind == PART_SWITCH))))
            return true;
    }
    return false;
}

/* Takes a port, with what it feeds there, from one of the switches that are there; false: none has one left. */
static bool take_port(struct space_maker *m, const struct place_hub *hub, const struct part *fed, double length_m)
{
    const struct poe_class *class = is_given(fed->poe_class_needed) ? poe_class((int)fed->poe_class_needed) : NULL;
    struct place_ports *best = NULL;
    struct place_switch *of = NULL;
    for (uint32_t i = 0; i < hub->there.n; i++) {
        struct place_switch *q = &m->switches.v[hub->there.v[i]];
        for (uint32_t k = 0; k < q->ports.n; k++)
            if (q->ports.v[k].count > 0 && q->ports.v[k].poe_class >= (class ? class->number : -1) &&
                (!best || q->ports.v[k].poe_class < best->poe_class)) {
                best = &q->ports.v[k];
                of = q;
            }
    }
    if (!best)
        return false;
    best->count--;
    of->poe_budget_w = fmax(0.0, of->poe_budget_w - feed_w(maker_feed(m, class, fed->power_max_w, length_m)));
    return true;
}

/* Ports of what is there and is no thing of ours: a recorder, a camera, an injector to nowhere. */
static void take_ports(struct space_maker *m, uint32_t i, struct place_hub *out)
{
    const struct house *h = m->space->asked;
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        const struct part *p = equipment_part(h, e);
        const uint32_t up = m->tree.parent[e];
        if (!p || p->kind == PART_ACCESS_POINT || p->kind == PART_SWITCH || p->kind == PART_GATEWAY || up == NO_REF ||
            up >= h->equipment.n || maker_hub_of(m, up) != i || leads_on(m, e))
            continue;
        if (!take_port(m, out, p, maker_longest_m(m, 0, 0, m->tree.parent_cable[e])) && out->free.count > 0)
            out->free.count--;
    }
}

static enum rt_code list_hub(struct space_maker *m, uint32_t i, struct place_hub *out)
{
    const struct design_hub *hub = &m->hubs.v[i].hub;
    out->is_core = i == 0;
    out->most = SWITCHES_MOST;
    out->switches.v = ARENA_ARRAY(m->a, uint32_t, m->h->parts.list.n);
    out->there.v = ARENA_ARRAY(m->a, uint32_t, hub->switches.n);
    if (!out->switches.v || !out->there.v)
        return rt_fail_memory(m->p);
    for (uint32_t k = 0; k < hub->switches.n; k++)
        if (!add_switch(m, m->h->equipment.v[hub->switches.v[k]].part.i, 0, &out->there.v[out->there.n++]))
            return rt_fail_memory(m->p);
    if (out->is_core)
        out->free = gateway_ports(m, hub);
    take_ports(m, i, out);
    return list_bought(m, out->is_core, hub, out);
}

enum rt_code maker_list_hubs(struct space_maker *m)
{
    struct design_space *s = m->space;
    s->hubs.v = ARENA_ARRAY(m->a, struct design_hub, m->hubs.n);
    s->placing.hubs.v = ARENA_ARRAY(m->a, struct place_hub, m->hubs.n);
    if (!s->hubs.v || !s->placing.hubs.v)
        return rt_fail_memory(m->p);
    for (uint32_t i = 0; i < m->hubs.n; i++) {
        if (m->hubs.v[i].is_left_out)
            continue;
        m->hubs.v[i].index = s->hubs.n;
        s->hubs.v[s->hubs.n++] = m->hubs.v[i].hub;
        struct place_hub *q = &s->placing.hubs.v[s->placing.hubs.n++];
        RT_TRY(list_hub(m, i, q));
        q->spare = m->spare;
        q->headroom_share = m->ports_share;
    }
    s->placing.switches.v = m->switches.v;
    s->placing.switches.n = m->switches.n;
    return RT_OK;
}

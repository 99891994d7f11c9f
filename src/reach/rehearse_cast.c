#include "reach/rehearse_cast.h"

#include <stdio.h>

/* Every player is a namespace with a pair of interfaces, and knows all others of its segment. */
enum { PLAYERS_MAX = 400 };

/* Locally administered (bit 1 of the first octet): gateway, strangers, tunnels' people, the internet. */
static const axis_value MAC_GATEWAY = 0x024757000000, MAC_STRANGER = 0x025354000000, MAC_PEER = 0x025045000000,
                        MAC_INTERNET = 0x02494e000000;

/* The internet of the rehearsal.  Nothing leaves the namespaces, so these only have to be addresses that no registry of special
 * blocks (RFC 6890) lists: documentation blocks would be cut as sources that cannot be. */
static const char *const LINE_IPV4 = "45.67.89.0", *const LINE_IPV6 = "2600:0:0:1::", *const FAR_IPV4 = "45.67.90.0",
                         *const FAR_IPV6 = "2600:0:0:2::", *const SHARED_IPV4 = "100.64.0.0";
enum { NEXT_HOP = 1, WAN = 2, LINE_LEN_IPV4 = 24, FAR_FIRST = 10 };

struct maker {
    struct arena *a;
    const struct house *h;
    const struct address_plan *plan;
    struct cast *c;
    VEC(struct stage_node) nodes;
    VEC(struct player) players;
    struct stage_node nowhere; /* written to once memory is out */
    bool failed;
};

static axis_value constant(const char *text)
{
    enum family family;
    axis_value v = 0;
    (void)!address_read(str_from(text), &family, &v);
    return v;
}

/* A MAC address that no device of the file has. */
static axis_value free_mac(const struct maker *m, axis_value mac)
{
    for (uint32_t i = 0; i < m->h->devices.n; i++)
        if (m->plan->devices[i].mac == mac)
            return free_mac(m, mac + 0x10000);
    return mac;
}

static void add_address(struct maker *m, stage_address_list *list, enum family family, axis_value address, unsigned len)
{
    VEC(struct stage_address) grown = { list->v, list->n, list->n };
    const struct stage_address at = { family, address, len };
    if (address && !VEC_PUSH(m->a, &grown, at))
        m->failed = true;
    list->v = grown.v;
    list->n = grown.n;
}

static struct stage_node *add_player(struct maker *m, struct player who, axis_value mac)
{
    const struct stage_node node = { .wire = who.role == ROLE_GATEWAY ? 0 : cast_wire(who.zone), .mac = mac };
    if (!VEC_PUSH(m->a, &m->nodes, node) || !VEC_PUSH(m->a, &m->players, who)) {
        m->failed = true;
        m->nowhere = (struct stage_node){ 0 };
        return &m->nowhere;
    }
    return &m->nodes.v[m->nodes.n - 1];
}

static struct str named(struct maker *m, const char *before, struct str id)
{
    const char *text = arena_printf(m->a, "%s%.*s", before, STR_ARG(id));
    m->failed |= !text;
    return text ? str_from(text) : id;
}

/* ---- the gateway's interfaces ---- */

static void add_segment_wire(struct maker *m, uint32_t i, struct stage_wire *w)
{
    const struct segment_plan *s = &m->plan->segments[i];
    add_address(m, &w->addresses, FAMILY_IPV4, s->ipv4_gateway, s->ipv4.len);
    add_address(m, &w->addresses, FAMILY_IPV6, s->ula_gateway, s->ula.len);
    add_address(m, &w->addresses, FAMILY_IPV6, s->global_gateway, s->global.len);
    add_address(m, &w->addresses, FAMILY_IPV6, s->link_local_gateway, 64);
}

static void add_tunnel_wire(struct maker *m, uint32_t i, struct stage_wire *w)
{
    const struct tunnel_plan *t = &m->plan->tunnels[i];
    add_address(m, &w->addresses, FAMILY_IPV4, t->ipv4_gateway, t->ipv4.len);
    add_address(m, &w->addresses, FAMILY_IPV6, t->ula_gateway, t->ula.len);
}

/* The line: the provider's box, the provider's shared addresses, or a public one. */
static void add_line(struct maker *m, struct stage_wire *w)
{
    struct cast *c = m->c;
    axis_value base = constant(m->plan->shared_ipv4 ? SHARED_IPV4 : LINE_IPV4);
    unsigned len = LINE_LEN_IPV4;
    if (m->plan->box_ipv4.is_given) {
        base = m->plan->box_ipv4.base;
        len = m->plan->box_ipv4.len;
    }
    if (!m->plan->no_ipv4) {
        c->wan[FAMILY_IPV4] = base + WAN;
        c->stage.next_hop[FAMILY_IPV4] = base + NEXT_HOP;
        c->outside[FAMILY_IPV4] = constant(FAR_IPV4) + FAR_FIRST;
    }
    if (m->plan->delegated.is_given) {
        c->wan[FAMILY_IPV6] = constant(LINE_IPV6) + WAN;
        c->stage.next_hop[FAMILY_IPV6] = constant(LINE_IPV6) + NEXT_HOP;
        c->outside[FAMILY_IPV6] = constant(FAR_IPV6) + FAR_FIRST;
    }
    add_address(m, &w->addresses, FAMILY_IPV4, c->wan[FAMILY_IPV4], len);
    add_address(m, &w->addresses, FAMILY_IPV6, c->wan[FAMILY_IPV6], 64);
    struct stage_node *n = add_player(m, (struct player){ ROLE_INTERNET, ZONE_INTERNET, NO_REF, STR("the internet") },
                                      free_mac(m, MAC_INTERNET));
    for (unsigned f = 0; f < FAMILY_COUNT; f++) {
        const enum family family = (enum family)f;
        n->next_hop[f] = c->wan[f];
        add_address(m, &n->addresses, family, c->stage.next_hop[f], family == FAMILY_IPV4 ? len : 64);
        add_address(m, &n->addresses, family, c->outside[f], family == FAMILY_IPV4 ? 32 : 128);
        c->named[f] = ARENA_ARRAY(m->a, axis_value, m->c->policy->names.n);
        m->failed |= !c->named[f];
        for (uint32_t k = 0; !m->failed && c->outside[f] && k < m->c->policy->names.n; k++) {
            c->named[f][k] = c->outside[f] + 1 + k;
            add_address(m, &n->addresses, family, c->named[f][k], family == FAMILY_IPV4 ? 32 : 128);
        }
    }
    for (uint32_t i = 0; i < m->h->port_openings.n; i++)
        for (uint32_t k = 0; k < m->h->port_openings.v[i].from.n; k++) {
            struct prefix range;
            if (!cast_range(m->h->port_openings.v[i].from.v[k], &range) || !c->outside[range.family])
                continue;
            const axis_value from = prefix_span(range).hi - (range.len < 31);
            add_address(m, &n->addresses, range.family, from, range.family == FAMILY_IPV4 ? 32 : 128);
            add_address(m, &c->openers, range.family, from, 0);
        }
}

static void add_wires(struct maker *m)
{
    struct cast *c = m->c;
    c->stage.wires.n = m->plan->n_zones - 1;
    c->stage.wires.v = ARENA_ARRAY(m->a, struct stage_wire, c->stage.wires.n);
    if (!c->stage.wires.v) {
        m->failed = true;
        return;
    }
    for (uint32_t z = 0; z < m->plan->n_zones; z++) {
        if (z == ZONE_GATEWAY)
            continue;
        struct stage_wire *w = &c->stage.wires.v[cast_wire(z)];
        w->interface = zone_interface(m->plan, z);
        w->mac = free_mac(m, MAC_GATEWAY + z);
        if (z == ZONE_INTERNET)
            add_line(m, w);
        else if (z < ZONE_SEGMENT + m->h->segments.n)
            add_segment_wire(m, z - ZONE_SEGMENT, w);
        else
            add_tunnel_wire(m, z - ZONE_SEGMENT - m->h->segments.n, w);
    }
}

/* ---- inside ---- */

static void go_through(struct stage_node *n, const struct segment_plan *s)
{
    n->next_hop[FAMILY_IPV4] = s->ipv4_gateway;
    n->next_hop[FAMILY_IPV6] = s->ula_gateway ? s->ula_gateway : s->global_gateway;
}

static void add_devices(struct maker *m)
{
    for (uint32_t i = 0; i < m->h->devices.n; i++) {
        const struct device_plan *d = &m->plan->devices[i];
        if (d->zone == NO_REF)
            continue;
        const struct segment_plan *s = &m->plan->segments[d->zone - ZONE_SEGMENT];
        struct stage_node *n = add_player(m, (struct player){ ROLE_DEVICE, d->zone, i, m->h->devices.v[i].id }, d->mac);
        add_address(m, &n->addresses, FAMILY_IPV4, d->ipv4, s->ipv4.len);
        add_address(m, &n->addresses, FAMILY_IPV6, d->ula, s->ula.len);
        add_address(m, &n->addresses, FAMILY_IPV6, d->global, s->global.len);
        go_through(n, s);
    }
}

static void add_strangers(struct maker *m)
{
    for (uint32_t i = 0; i < m->h->segments.n && !m->failed; i++) {
        const struct segment_plan *s = &m->plan->segments[i];
        m->c->stage.nodes.v = m->nodes.v; /* whose addresses are taken */
        m->c->stage.nodes.n = m->nodes.n;
        const axis_value v4 = cast_free_address(m->c, s->ipv4, 0), ula = cast_free_address(m->c, s->ula, 0),
                         global = cast_free_address(m->c, s->global, 0);
        struct stage_node *n = add_player(m,
                                          (struct player){ ROLE_STRANGER, ZONE_SEGMENT + i, NO_REF,
                                                           named(m, "a stranger in ", m->h->segments.v[i].id) },
                                          free_mac(m, MAC_STRANGER + i));
        add_address(m, &n->addresses, FAMILY_IPV4, v4, s->ipv4.len);
        add_address(m, &n->addresses, FAMILY_IPV6, ula, s->ula.len);
        add_address(m, &n->addresses, FAMILY_IPV6, global, s->global.len);
        go_through(n, s);
    }
}

static void add_peers(struct maker *m)
{
    for (uint32_t i = 0; i < m->h->remote_access.n; i++) {
        const struct tunnel_plan *t = &m->plan->tunnels[i];
        for (uint32_t k = 0; k < t->peers.n; k++) {
            const struct str who = m->h->people.v[t->peers.v[k].person].id;
            const char *name = arena_printf(m->a, "%.*s, away", STR_ARG(who));
            struct stage_node *n =
                add_player(m, (struct player){ ROLE_PEER, t->zone, NO_REF, name ? str_from(name) : who },
                           free_mac(m, MAC_PEER + (i << 8) + k));
            add_address(m, &n->addresses, FAMILY_IPV4, t->peers.v[k].ipv4, t->ipv4.len);
            add_address(m, &n->addresses, FAMILY_IPV6, t->peers.v[k].ula, t->ula.len);
            n->next_hop[FAMILY_IPV4] = t->ipv4_gateway;
            n->next_hop[FAMILY_IPV6] = t->ula_gateway;
        }
    }
}

enum rt_code cast_make(const struct run *run, const struct policy *policy, struct cast **out, struct rt_problems *p)
{
    struct cast *c = ARENA_NEW(run->arena, struct cast);
    if (!c)
        return rt_fail_memory(p);
    *c = (struct cast){ .policy = policy };
    struct maker m = { .a = run->arena, .h = policy->h, .plan = policy->plan, .c = c };
    add_player(&m, (struct player){ ROLE_GATEWAY, ZONE_GATEWAY, NO_REF, STR("the gateway") }, 0);
    add_wires(&m);
    add_devices(&m);
    add_strangers(&m);
    add_peers(&m);
    if (m.failed)
        return rt_fail_memory(p);
    if (m.nodes.n > PLAYERS_MAX)
        return rt_fail(p, RT_RANGE, RT_NOWHERE, "rehearse a copy of the house file with fewer devices",
                       "%u devices, strangers and people are more than a rehearsal has room for (%d)", m.nodes.n,
                       PLAYERS_MAX);
    c->stage.nodes.v = m.nodes.v;
    c->stage.nodes.n = m.nodes.n;
    c->stage.internet_wire = cast_wire(ZONE_INTERNET);
    c->players = m.players.v;
    *out = c;
    return RT_OK;
}

/* ---- addresses ---- */

bool cast_range(struct str text, struct prefix *out)
{
    enum family family;
    axis_value one;
    if (!address_read(text, &family, &one))
        return prefix_read(text, out);
    *out = (struct prefix){ family, one, family == FAMILY_IPV4 ? 32 : 128, true };
    return true;
}

static bool is_taken(const struct cast *c, axis_value address)
{
    for (uint32_t i = 0; i < c->stage.nodes.n; i++)
        for (uint32_t k = 0; k < c->stage.nodes.v[i].addresses.n; k++)
            if (c->stage.nodes.v[i].addresses.v[k].address == address)
                return true;
    for (uint32_t i = 0; i < c->stage.wires.n; i++)
        for (uint32_t k = 0; k < c->stage.wires.v[i].addresses.n; k++)
            if (c->stage.wires.v[i].addresses.v[k].address == address)
                return true;
    return false;
}

axis_value cast_mac_seen(const struct cast *c, uint32_t node)
{
    const enum role role = c->players[node].role;
    return role == ROLE_PEER || role == ROLE_GATEWAY ? 0 : c->stage.nodes.v[node].mac;
}

/* From the top of the subnet down, where reservations are least likely; the broadcast address is none. */
axis_value cast_free_address(const struct cast *c, struct prefix subnet, uint32_t nth)
{
    if (!subnet.is_given)
        return 0;
    axis_value at = prefix_span(subnet).hi - 1;
    for (; at > subnet.base; at--)
        if (!is_taken(c, at) && nth-- == 0)
            return at;
    return 0;
}

struct prefix cast_subnet(const struct cast *c, uint32_t zone, enum family family, bool global)
{
    const struct address_plan *plan = c->policy->plan;
    const uint32_t n_segments = c->policy->h->segments.n;
    if (zone < ZONE_SEGMENT)
        return (struct prefix){ 0 };
    if (zone < ZONE_SEGMENT + n_segments) {
        const struct segment_plan *s = &plan->segments[zone - ZONE_SEGMENT];
        return family == FAMILY_IPV4 ? s->ipv4 : global ? s->global : s->ula;
    }
    const struct tunnel_plan *t = &plan->tunnels[zone - ZONE_SEGMENT - n_segments];
    return family == FAMILY_IPV4 ? t->ipv4 : global ? (struct prefix){ 0 } : t->ula;
}

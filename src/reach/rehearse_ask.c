/* Everyone asks everyone in another segment, the internet included, on every port that the file names at that end, on the ports
 * beside it, and on ports that nobody names; the gateway is asked at its own address and at those of other segments; forged
 * senders, strangers, and what a device says before it has an address come on top.
 *
 * Inside a segment each asks the next two only: that talk meets no rule. */
#include "reach/rehearse_ask_int.h"

/* ---- one question ---- */

/* Source ports are never those at which anybody listens, so that no socket stands in another's way. */
uint16_t ask_source_port(struct asker *k, uint32_t node)
{
    uint16_t port = k->next_port[node];
    do {
        port = port ? (uint16_t)(port + 1) : SOURCE_FIRST;
    } while (ask_is_door(k, IP_TCP, port) || ask_is_door(k, IP_UDP, port));
    k->next_port[node] = port;
    k->no_ports_left |= port > SOURCE_LAST;
    return port;
}

static axis_value mark_of(const struct asker *k, uint32_t device)
{
    const struct policy *policy = k->c->policy;
    for (uint32_t i = 0; device != NO_REF && i < policy->marks.n; i++)
        for (uint32_t d = 0; d < policy->marks.v[i].devices.n; d++)
            if (policy->marks.v[i].devices.v[d] == device)
                return policy->marks.v[i].value;
    return 0;
}

static uint64_t named_sets(const struct asker *k, enum family family, axis_value destination)
{
    uint64_t bits = 0;
    for (uint32_t i = 0; i < k->c->policy->names.n; i++)
        if (k->c->named[family] && k->c->named[family][i] && k->c->named[family][i] == destination)
            bits |= UINT64_C(1) << (k->c->policy->names.v[i].axis - AXIS_NAMED);
    return bits;
}

/* The packet as the rules meet it; `destination` after translation. */
struct packet ask_as_met(const struct asker *k, const struct probe *probe, axis_value destination)
{
    struct packet p = { .family = probe->family, .named = named_sets(k, probe->family, destination) };
    const bool has_ports = probe->protocol == IP_TCP || probe->protocol == IP_UDP;
    p.at[AXIS_FROM] = k->c->players[probe->from].zone;
    p.at[AXIS_TO] = k->c->players[probe->to].zone;
    p.at[AXIS_SOURCE_MAC] = cast_mac_seen(k->c, probe->from);
    p.at[AXIS_SOURCE] = probe->source;
    p.at[AXIS_DESTINATION] = destination;
    p.at[AXIS_PROTOCOL] = probe->protocol;
    p.at[AXIS_SOURCE_PORT] = has_ports ? probe->source_port : 0;
    p.at[AXIS_DESTINATION_PORT] = has_ports ? probe->port : 0;
    p.at[AXIS_ICMP_TYPE] = has_ports ? 0 : probe->is_forged ? probe->icmp_type : probe->family ? 128 : 8;
    p.at[AXIS_STATE] = STATE_NEW;
    p.at[AXIS_MARK] = mark_of(k, k->c->players[probe->from].device);
    return p;
}

void ask_push(struct asker *k, const struct probe *probe, const struct packet *packet)
{
    const bool unfiltered = packet->at[AXIS_FROM] == packet->at[AXIS_TO];
    if (!VEC_PUSH(k->a, &k->out->probes, *probe) || !VEC_PUSH(k->a, &k->out->packets, *packet) ||
        !VEC_PUSH(k->a, &k->out->unfiltered, unfiltered))
        k->failed = true;
}

/* Does a port opening take the sender in? */
static bool lets_in(const struct port_opening *o, axis_value source)
{
    bool any_ipv4 = o->from.n == 0;
    for (uint32_t i = 0; i < o->from.n && !any_ipv4; i++) {
        struct prefix range;
        any_ipv4 = cast_range(o->from.v[i], &range) && prefix_holds(range, FAMILY_IPV4, source);
    }
    return any_ipv4;
}

/* What is sent to the gateway from the internet may be for a device behind it: changes who gets it, and returns the address under
 * which the rules meet it. */
axis_value ask_translate(const struct asker *k, struct probe *probe)
{
    const struct policy *policy = k->c->policy;
    if (probe->from != CAST_INTERNET || probe->to != CAST_GATEWAY || probe->family != FAMILY_IPV4)
        return probe->destination;
    for (uint32_t i = 0; i < policy->translations.n; i++) {
        const struct translation *t = &policy->translations.v[i];
        const struct port_opening *o = &k->h->port_openings.v[t->opening];
        if (t->protocol != probe->protocol || probe->port < t->port_from || probe->port > t->port_to ||
            !lets_in(o, probe->source))
            continue;
        probe->to = ask_node_of(k, o->device.i);
        return t->to_ipv4;
    }
    return probe->destination;
}

static void talk(struct asker *k, uint32_t from, uint32_t to, enum family family, axis_value source,
                 axis_value destination, struct door door)
{
    struct probe probe = { .from = from,
                           .to = to,
                           .family = family,
                           .protocol = door.protocol,
                           .source = source,
                           .destination = destination,
                           .source_port = ask_source_port(k, from),
                           .is_closed = door.protocol == IP_UDP && door.port == k->nobodys[CLOSED].port,
                           .port = door.port };
    const axis_value met_at = ask_translate(k, &probe);
    const struct packet met = ask_as_met(k, &probe, met_at);
    ask_push(k, &probe, &met);
}

static void echo(struct asker *k, uint32_t from, uint32_t to, enum family family, axis_value source,
                 axis_value destination)
{
    talk(k, from, to, family, source, destination, (struct door){ echo_of(family), 0 });
}

/* ---- pairs ---- */

/* A node's address of a family; global: one that the internet could answer (IPv6: not the local one). */
axis_value ask_address(const struct asker *k, uint32_t node, enum family family, bool global)
{
    const stage_address_list *at = &k->c->stage.nodes.v[node].addresses;
    for (uint32_t i = 0; i < at->n; i++) {
        const bool is_local = at->v[i].address >> 121 == 0xfc >> 1; /* fc00::/7, RFC 4193 */
        if (at->v[i].family == family && (family == FAMILY_IPV4 || is_local != global))
            return at->v[i].address;
    }
    return 0;
}

static void ask_at(struct asker *k, uint32_t from, uint32_t to, enum family family, axis_value source,
                   axis_value destination, const struct door *doors, uint32_t n)
{
    if (!source || !destination)
        return;
    for (uint32_t i = 0; i < n; i++)
        talk(k, from, to, family, source, destination, doors[i]);
    echo(k, from, to, family, source, destination);
}

/* All doors of a node, and nobody's. */
static void ask_all(struct asker *k, uint32_t from, uint32_t to, enum family family, axis_value source,
                    axis_value destination)
{
    if (source && destination)
        ask_at(k, from, to, family, source, destination, k->nobodys, RT_COUNT(k->nobodys));
    for (uint32_t i = 0; source && destination && i < k->doors[to].n; i++)
        talk(k, from, to, family, source, destination, k->doors[to].v[i]);
}

static void ask_internet(struct asker *k, uint32_t from)
{
    for (unsigned f = 0; f < FAMILY_COUNT; f++) {
        const enum family family = (enum family)f;
        const axis_value source = ask_address(k, from, family, true), local = ask_address(k, from, family, false);
        ask_all(k, from, CAST_INTERNET, family, source, k->c->outside[f]);
        for (uint32_t i = 0; source && k->c->outside[f] && i < k->c->policy->names.n; i++)
            ask_all(k, from, CAST_INTERNET, family, source, k->c->named[f][i]);
        if (family == FAMILY_IPV6 && k->c->outside[f])
            ask_at(k, from, CAST_INTERNET, family, local, k->c->outside[f], k->nobodys, 1);
    }
}

/* A pair in two zones, neither of them the gateway. */
static void ask_across(struct asker *k, uint32_t from, uint32_t to)
{
    if (to == CAST_INTERNET) {
        ask_internet(k, from);
        return;
    }
    const bool from_outside = from == CAST_INTERNET;
    for (unsigned i = 0; i < 3; i++) { /* IPv4, local IPv6, global IPv6 */
        const enum family family = i ? FAMILY_IPV6 : FAMILY_IPV4;
        const axis_value source = from_outside ? k->c->outside[family] : ask_address(k, from, family, i == 2);
        ask_all(k, from, to, family, source, ask_address(k, to, family, i == 2));
    }
}

static bool is_inside(const struct asker *k, uint32_t node)
{
    return k->c->players[node].role == ROLE_DEVICE || k->c->players[node].role == ROLE_STRANGER;
}

/* The next two of the same segment, in a circle. */
static void ask_neighbours(struct asker *k, uint32_t from)
{
    uint32_t found = 0;
    const uint32_t n = k->c->stage.nodes.n;
    for (uint32_t step = 1; step < n && found < 2; step++) {
        const uint32_t to = (from + step) % n;
        if (!is_inside(k, to) || k->c->players[to].zone != k->c->players[from].zone)
            continue;
        found++;
        for (unsigned f = 0; f < FAMILY_COUNT; f++) {
            const enum family family = (enum family)f;
            ask_at(k, from, to, family, ask_address(k, from, family, f == 0), ask_address(k, to, family, f == 0),
                   k->nobodys, RT_COUNT(k->nobodys));
        }
    }
}

/* ---- the gateway ---- */

/* The gateway at all its addresses but link-local ones, which have no meaning outside their link. */
static void ask_gateway(struct asker *k, uint32_t from)
{
    static const struct door FEW[] = { { IP_UDP, 53 }, { IP_TCP, 53 } };
    const struct stage_plan *s = &k->c->stage;
    for (uint32_t w = 0; w < s->wires.n; w++)
        for (uint32_t i = 0; i < s->wires.v[w].addresses.n; i++) {
            const struct stage_address *at = &s->wires.v[w].addresses.v[i];
            const bool is_local = at->address >> 121 == 0xfc >> 1, is_link_local = at->address >> 118 == 0xfe80 >> 6;
            if (at->family == FAMILY_IPV6 && is_link_local)
                continue;
            axis_value source = ask_address(k, from, at->family, at->family == FAMILY_IPV4 || !is_local);
            if (from == CAST_INTERNET)
                source = k->c->outside[at->family];
            if (s->nodes.v[from].wire == w)
                ask_all(k, from, CAST_GATEWAY, at->family, source, at->address);
            else
                ask_at(k, from, CAST_GATEWAY, at->family, source, at->address, FEW, RT_COUNT(FEW));
        }
}

static void gateway_asks(struct asker *k, uint32_t to)
{
    const stage_address_list *own = &k->c->stage.wires.v[k->c->stage.nodes.v[to].wire].addresses;
    for (unsigned f = 0; f < FAMILY_COUNT; f++) {
        const enum family family = (enum family)f;
        const axis_value there = to == CAST_INTERNET ? k->c->outside[f] : ask_address(k, to, family, f == 0);
        for (uint32_t i = 0; i < own->n; i++)
            if (own->v[i].family == family) {
                ask_at(k, CAST_GATEWAY, to, family, own->v[i].address, there, k->nobodys, 1);
                break;
            }
    }
}

/* ---- translation ---- */

/* The gateway's public address at a port that is opened, from those who may and others; and the device itself by IPv6. */
static void ask_openings(struct asker *k)
{
    const struct policy *policy = k->c->policy;
    for (uint32_t i = 0; i < policy->translations.n && k->c->wan[FAMILY_IPV4]; i++) {
        const struct translation *t = &policy->translations.v[i];
        for (uint32_t s = 0; s <= k->c->openers.n; s++) {
            const struct stage_address *opener = s ? &k->c->openers.v[s - 1] : NULL;
            const axis_value source = opener ? opener->address : k->c->outside[FAMILY_IPV4];
            if (opener && opener->family != FAMILY_IPV4)
                continue;
            for (unsigned e = 0; e < (t->port_from == t->port_to ? 1 : 2); e++)
                talk(k, CAST_INTERNET, CAST_GATEWAY, FAMILY_IPV4, source, k->c->wan[FAMILY_IPV4],
                     (struct door){ t->protocol, e ? t->port_to : t->port_from });
        }
    }
    for (uint32_t s = 0; s < k->c->openers.n; s++)
        for (uint32_t i = 0; i < k->h->port_openings.n; i++) {
            const uint32_t node = ask_node_of(k, k->h->port_openings.v[i].device.i);
            if (node != NO_REF && k->c->openers.v[s].family == FAMILY_IPV6)
                ask_all(k, CAST_INTERNET, node, FAMILY_IPV6, k->c->openers.v[s].address,
                        ask_address(k, node, FAMILY_IPV6, true));
        }
}

/* ---- all ---- */

static void ask_everything(struct asker *k)
{
    const uint32_t n = k->c->stage.nodes.n;
    for (uint32_t from = 1; from < n; from++) {
        for (uint32_t to = 1; to < n; to++)
            if (k->c->players[from].zone != k->c->players[to].zone)
                ask_across(k, from, to);
        ask_gateway(k, from);
        ask_for_neighbours(k, from);
        if (!is_inside(k, from))
            continue;
        ask_neighbours(k, from);
        ask_forged_inside(k, from);
        ask_groups(k, from);
    }
    ask_openings(k);
    ask_forged_outside(k);
    for (uint32_t to = 1; to < n; to++)
        gateway_asks(k, to);
}

enum rt_code questions_make(const struct run *run, const struct cast *c, struct questions *out, struct rt_problems *p)
{
    *out = (struct questions){ 0 };
    struct asker k = { .a = run->arena, .c = c, .h = c->policy->h, .plan = c->policy->plan, .out = out };
    k.doors = arena_alloc(k.a, c->stage.nodes.n, sizeof *k.doors);
    k.next_port = ARENA_ARRAY(k.a, uint16_t, c->stage.nodes.n);
    if (!k.doors || !k.next_port)
        return rt_fail_memory(p);
    ask_list_doors(&k);
    ask_choose_nobodys(&k);
    if (!k.failed)
        ask_everything(&k);
    if (k.failed)
        return rt_fail_memory(p);
    if (k.no_ports_left)
        return rt_fail(p, RT_LIMIT, RT_NOWHERE, "rehearse a copy of the house file with fewer devices or services",
                       "one device would have to ask more questions than it has source ports");
    return RT_OK;
}

/* Everyone asks everyone in another segment, the internet included, on every port that the file names at that end, on the ports
 * beside it, and on ports that nobody names; the gateway is asked at its own address and at those of other segments; forged
 * senders, strangers, and what a device says before it has an address come on top.
 *
 * Inside a segment each asks the next two only: that talk meets no rule. */
#include "reach/rehearse_ask.h"

#include <stdlib.h>

/* Nobody's: not in the table of services, and moved on if the file names them. */
enum { PORT_NOBODYS_TCP = 6011, PORT_NOBODYS_UDP = 6013, PORT_CLOSED_UDP = 6017, PORT_MAX = 65535 };
/* Source ports: each sender counts up. */
enum { SOURCE_FIRST = 20000, SOURCE_LAST = 65000 };

enum { CLOSED = 2 };

/* A port at which a node is asked. */
struct door {
    enum ip_protocol protocol;
    uint16_t port;
};

struct asker {
    struct arena *a;
    const struct cast *c;
    const struct house *h;
    const struct address_plan *plan;
    struct questions *out;
    VEC(struct door) * doors; /* of each node */
    struct door nobodys[3];   /* the last: nobody listens there */
    uint16_t *next_port;      /* of each node */
    bool failed, no_ports_left;
};

static const enum ip_protocol ECHO[FAMILY_COUNT] = { IP_ICMP, IP_ICMPV6 };

/* ---- doors ---- */

static void add_door(struct asker *k, uint32_t node, enum ip_protocol protocol, axis_value port)
{
    if (port == 0 || port > PORT_MAX || (protocol != IP_TCP && protocol != IP_UDP))
        return;
    for (uint32_t i = 0; i < k->doors[node].n; i++)
        if (k->doors[node].v[i].protocol == protocol && k->doors[node].v[i].port == port)
            return;
    const struct door d = { protocol, (uint16_t)port };
    if (!VEC_PUSH(k->a, &k->doors[node], d))
        k->failed = true;
}

static void add_all_of(struct asker *k, uint32_t node, const struct match *asks)
{
    const span_list *protocols = match_on(asks, AXIS_PROTOCOL), *ports = match_on(asks, AXIS_DESTINATION_PORT);
    for (uint32_t i = 0; protocols && ports && i < protocols->n; i++)
        for (axis_value protocol = protocols->v[i].lo; protocol <= protocols->v[i].hi; protocol++)
            for (uint32_t s = 0; s < ports->n; s++) {
                const struct span at = ports->v[s];
                const axis_value edges[] = { at.lo, at.hi, at.lo - 1, at.hi + 1 };
                for (size_t e = 0; e < RT_COUNT(edges) && protocol <= IP_UDP; e++)
                    add_door(k, node, (enum ip_protocol)protocol, edges[e]);
            }
}

/* The service's ports, and those beside them. */
static void add_service(struct asker *k, uint32_t node, struct str service)
{
    for (unsigned f = 0; f < FAMILY_COUNT; f++) {
        const match_list asks = service_asks(k->a, k->h, service, (enum family)f, &k->failed);
        for (uint32_t i = 0; i < asks.n; i++)
            add_all_of(k, node, &asks.v[i]);
    }
}

static uint32_t node_of_device(const struct asker *k, uint32_t device)
{
    for (uint32_t i = 0; i < k->c->stage.nodes.n; i++)
        if (k->c->players[i].device == device)
            return i;
    return NO_REF;
}

/* Services that somebody is promised or denied at these ends. */
static void add_ends(struct asker *k, const endpoint_list *to, const str_list *services)
{
    for (uint32_t e = 0; e < to->n; e++) {
        const enum endpoint_kind kind = to->v[e].kind;
        const index_list devices = endpoint_devices(k->a, k->h, &to->v[e], &k->failed);
        for (uint32_t s = 0; s < services->n; s++) {
            if (kind == END_INTERNET || kind == END_NAME || kind == END_ANYONE)
                add_service(k, CAST_INTERNET, services->v[s]);
            if (kind == END_GATEWAY || kind == END_ANYONE)
                add_service(k, CAST_GATEWAY, services->v[s]);
            for (uint32_t d = 0; d < devices.n; d++) {
                const uint32_t node = node_of_device(k, devices.v[d]);
                if (node != NO_REF)
                    add_service(k, node, services->v[s]);
            }
        }
    }
}

static void add_openings_and_tunnels(struct asker *k)
{
    for (uint32_t i = 0; i < k->h->port_openings.n; i++) {
        const uint32_t node = node_of_device(k, k->h->port_openings.v[i].device.i);
        if (node != NO_REF)
            add_service(k, node, k->h->port_openings.v[i].service);
    }
    for (uint32_t i = 0; i < k->h->remote_access.n; i++)
        add_door(k, CAST_GATEWAY, IP_UDP, k->plan->tunnels[i].port);
}

static void list_doors(struct asker *k)
{
    static const struct door GATEWAYS[] = { { IP_UDP, 53 },  { IP_TCP, 53 }, { IP_UDP, 67 },  { IP_UDP, 123 },
                                            { IP_UDP, 547 }, { IP_TCP, 22 }, { IP_TCP, 443 }, { IP_UDP, 5353 } },
                             INTERNETS[] = { { IP_TCP, 80 }, { IP_TCP, 443 }, { IP_UDP, 443 }, { IP_UDP, 53 } };
    for (size_t i = 0; i < RT_COUNT(GATEWAYS); i++)
        add_door(k, CAST_GATEWAY, GATEWAYS[i].protocol, GATEWAYS[i].port);
    for (size_t i = 0; i < RT_COUNT(INTERNETS); i++)
        add_door(k, CAST_INTERNET, INTERNETS[i].protocol, INTERNETS[i].port);
    for (uint32_t i = 0; i < k->h->statements.n; i++)
        add_ends(k, &k->h->statements.v[i].to, &k->h->statements.v[i].services);
    for (uint32_t i = 0; i < k->h->promises.n; i++)
        add_ends(k, &k->h->promises.v[i].to, &k->h->promises.v[i].services);
    for (uint32_t i = 0; i < k->h->devices.n; i++) {
        const uint32_t node = node_of_device(k, i);
        for (uint32_t s = 0; node != NO_REF && s < k->h->devices.v[i].offers.n; s++)
            add_service(k, node, k->h->devices.v[i].offers.v[s].service);
    }
    add_openings_and_tunnels(k);
}

static bool is_door_anywhere(const struct asker *k, enum ip_protocol protocol, uint16_t port)
{
    for (uint32_t n = 0; n < k->c->stage.nodes.n; n++)
        for (uint32_t i = 0; i < k->doors[n].n; i++)
            if (k->doors[n].v[i].protocol == protocol && k->doors[n].v[i].port == port)
                return true;
    return false;
}

static void choose_nobodys(struct asker *k)
{
    k->nobodys[0] = (struct door){ IP_TCP, PORT_NOBODYS_TCP };
    k->nobodys[1] = (struct door){ IP_UDP, PORT_NOBODYS_UDP };
    k->nobodys[CLOSED] = (struct door){ IP_UDP, PORT_CLOSED_UDP };
    for (size_t i = 0; i < RT_COUNT(k->nobodys); i++)
        while (is_door_anywhere(k, k->nobodys[i].protocol, k->nobodys[i].port))
            k->nobodys[i].port++;
}

/* ---- one question ---- */

/* Source ports are never those at which anybody listens, so that no socket stands in another's way. */
static uint16_t next_source_port(struct asker *k, uint32_t node)
{
    uint16_t port = k->next_port[node];
    do {
        port = port ? (uint16_t)(port + 1) : SOURCE_FIRST;
    } while (is_door_anywhere(k, IP_TCP, port) || is_door_anywhere(k, IP_UDP, port));
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
static struct packet as_met(const struct asker *k, const struct probe *probe, axis_value destination)
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

static void push(struct asker *k, const struct probe *probe, const struct packet *packet)
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
static axis_value translate(const struct asker *k, struct probe *probe)
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
        probe->to = node_of_device(k, o->device.i);
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
                           .source_port = next_source_port(k, from),
                           .is_closed = door.protocol == IP_UDP && door.port == k->nobodys[CLOSED].port,
                           .port = door.port };
    const axis_value met_at = translate(k, &probe);
    const struct packet met = as_met(k, &probe, met_at);
    push(k, &probe, &met);
}

static void echo(struct asker *k, uint32_t from, uint32_t to, enum family family, axis_value source,
                 axis_value destination)
{
    talk(k, from, to, family, source, destination, (struct door){ ECHO[family], 0 });
}

/* state: what the gateway's memory says of a packet out of nowhere. */
static void forge_one(struct asker *k, struct probe probe, enum conversation_state state)
{
    probe.is_forged = true;
    if (!probe.source_port)
        probe.source_port = next_source_port(k, probe.from);
    const axis_value met_at = translate(k, &probe);
    struct packet met = as_met(k, &probe, met_at);
    met.at[AXIS_STATE] = state;
    push(k, &probe, &met);
}

static void forged_udp(struct asker *k, uint32_t from, uint32_t to, enum family family, axis_value source,
                       axis_value destination, uint16_t port)
{
    forge_one(k,
              (struct probe){ .from = from,
                              .to = to,
                              .family = family,
                              .protocol = IP_UDP,
                              .source = source,
                              .destination = destination,
                              .port = port },
              STATE_NEW);
}

/* ---- pairs ---- */

/* A node's address of a family; global: one that the internet could answer (IPv6: not the local one). */
static axis_value address_of(const struct asker *k, uint32_t node, enum family family, bool global)
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
        const axis_value source = address_of(k, from, family, true), local = address_of(k, from, family, false);
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
        const axis_value source = from_outside ? k->c->outside[family] : address_of(k, from, family, i == 2);
        ask_all(k, from, to, family, source, address_of(k, to, family, i == 2));
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
            ask_at(k, from, to, family, address_of(k, from, family, f == 0), address_of(k, to, family, f == 0),
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
            axis_value source = address_of(k, from, at->family, at->family == FAMILY_IPV4 || !is_local);
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
        const axis_value there = to == CAST_INTERNET ? k->c->outside[f] : address_of(k, to, family, f == 0);
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
            const uint32_t node = node_of_device(k, k->h->port_openings.v[i].device.i);
            if (node != NO_REF && k->c->openers.v[s].family == FAMILY_IPV6)
                ask_all(k, CAST_INTERNET, node, FAMILY_IPV6, k->c->openers.v[s].address,
                        address_of(k, node, FAMILY_IPV6, true));
        }
}

/* ---- forged ---- */

static axis_value constant(const char *text)
{
    enum family family;
    axis_value v = 0;
    (void)!address_read(str_from(text), &family, &v);
    return v;
}

/* Somebody in another segment to send to. */
static uint32_t node_elsewhere(const struct asker *k, uint32_t from)
{
    const uint32_t n = k->c->stage.nodes.n;
    for (uint32_t step = 1; step < n; step++) {
        const uint32_t to = (from + step) % n;
        if (k->c->players[to].role == ROLE_DEVICE && k->c->players[to].zone != k->c->players[from].zone)
            return to;
    }
    return NO_REF;
}

/* From addresses of others, and from a free one of its own subnet, which is nobody's lie. */
static void forge_from_inside(struct asker *k, uint32_t from)
{
    const uint32_t to = node_elsewhere(k, from);
    const struct player *who = &k->c->players[from];
    for (unsigned f = 0; f < FAMILY_COUNT; f++) {
        const enum family family = (enum family)f;
        const axis_value own_free = cast_free_address(k->c, cast_subnet(k->c, who->zone, family, false), 1);
        const stage_address_list *own = &k->c->stage.wires.v[k->c->stage.nodes.v[from].wire].addresses;
        axis_value gateway = 0;
        for (uint32_t i = 0; i < own->n && !gateway; i++)
            gateway = own->v[i].family == family ? own->v[i].address : 0;
        const axis_value others = to == NO_REF ? 0 : address_of(k, to, family, f == 0);
        const axis_value lies[] = { own_free, others ? others + 1 : 0, k->c->outside[f],
                                    constant(f ? "2001:db8:ffff::1" : "192.0.2.1") };
        for (size_t i = 0; i < RT_COUNT(lies) && lies[i]; i++) {
            if (to != NO_REF && others)
                forged_udp(k, from, to, family, lies[i], others, k->nobodys[1].port);
            if (k->c->outside[f])
                forged_udp(k, from, CAST_INTERNET, family, lies[i], k->c->outside[f], 443);
            if (gateway)
                forged_udp(k, from, CAST_GATEWAY, family, lies[i], gateway, 53);
        }
        if (to != NO_REF && others && address_of(k, from, family, f == 0)) /* an answer to a question nobody asked */
            forge_one(k,
                      (struct probe){ .from = from,
                                      .to = to,
                                      .family = family,
                                      .protocol = ECHO[f],
                                      .source = address_of(k, from, family, f == 0),
                                      .destination = others,
                                      .icmp_type = f ? 129 : 0 },
                      STATE_INVALID);
    }
}

/* Before a device has an address, and to groups of its link (RFC 2131, 8415, 4861, 6762; SSDP from memory). */
static void ask_groups(struct asker *k, uint32_t from)
{
    static const struct {
        const char *source; /* NULL: its own */
        const char *destination;
        enum ip_protocol protocol;
        uint16_t source_port, port;
        uint8_t icmp_type;
        enum conversation_state state;
    } ROWS[] = {
        { "0.0.0.0", "255.255.255.255", IP_UDP, 68, 67, 0, STATE_NEW },
        { "0.0.0.0", "255.255.255.255", IP_UDP, 0, 53, 0, STATE_NEW },
        { NULL, "224.0.0.251", IP_UDP, 5353, 5353, 0, STATE_NEW },
        { NULL, "239.255.255.250", IP_UDP, 0, 1900, 0, STATE_NEW },
        { NULL, "ff02::1:2", IP_UDP, 546, 547, 0, STATE_NEW },
        { NULL, "ff02::fb", IP_UDP, 5353, 5353, 0, STATE_NEW },
        { NULL, "ff02::c", IP_UDP, 0, 1900, 0, STATE_NEW },
        { NULL, "ff02::2", IP_ICMPV6, 0, 0, 133, STATE_UNTRACKED },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        enum family family;
        axis_value to;
        if (!address_read(str_from(ROWS[i].destination), &family, &to))
            continue;
        const axis_value mac = k->c->stage.nodes.v[from].mac;
        /* Link-local, made of the MAC address (RFC 4291, appendix A). */
        const axis_value own_link =
            (axis_value)0xfe80 << 112 | ((mac >> 24) ^ 0x020000) << 40 | (axis_value)0xfffe << 24 | (mac & 0xffffff);
        const axis_value own = family == FAMILY_IPV4 ? address_of(k, from, family, true) : own_link;
        forge_one(k,
                  (struct probe){ .from = from,
                                  .to = CAST_GATEWAY,
                                  .family = family,
                                  .protocol = ROWS[i].protocol,
                                  .source = ROWS[i].source ? constant(ROWS[i].source) : own,
                                  .destination = to,
                                  .source_port = ROWS[i].source_port,
                                  .port = ROWS[i].port,
                                  .icmp_type = ROWS[i].icmp_type },
                  ROWS[i].state);
    }
}

/* IPv6 begins with neighbours who find each other, by packets that the rules see (RFC 4861): "who has the gateway's address?", and
 * the answer to the gateway's own such question. */
static void find_neighbours(struct asker *k, uint32_t from)
{
    enum { SOLICIT = 135, ADVERTISE = 136 };
    const stage_address_list *theirs = &k->c->stage.wires.v[k->c->stage.nodes.v[from].wire].addresses;
    const stage_address_list *own = &k->c->stage.nodes.v[from].addresses;
    axis_value source = 0;
    for (uint32_t i = 0; i < own->n && !source; i++)
        source = own->v[i].family == FAMILY_IPV6 ? own->v[i].address : 0;
    for (uint32_t i = 0; source && i < theirs->n; i++) {
        if (theirs->v[i].family != FAMILY_IPV6 || k->c->players[from].role == ROLE_PEER)
            continue;
        /* The solicited-node address: RFC 4291, section 2.7.1. */
        const axis_value group =
            (axis_value)0xff02 << 112 | (axis_value)0x1ff << 24 | (theirs->v[i].address & 0xffffff);
        struct probe probe = { .from = from,
                               .to = CAST_GATEWAY,
                               .family = FAMILY_IPV6,
                               .protocol = IP_ICMPV6,
                               .source = source,
                               .destination = group,
                               .icmp_type = SOLICIT };
        forge_one(k, probe, STATE_UNTRACKED);
        probe.destination = theirs->v[i].address;
        probe.icmp_type = ADVERTISE;
        forge_one(k, probe, STATE_UNTRACKED);
    }
}

/* From the internet: addresses that cannot be there, the house's own among them. */
static void forge_from_outside(struct asker *k)
{
    static const char *const LIES[] = { "10.1.2.3",    "172.16.1.1",    "192.168.7.7",  "100.64.9.9",
                                        "192.0.2.9",   "198.51.100.9",  "169.254.3.3",  "fd12:3456:789a::1",
                                        "2001:db8::9", "fe80::1:2:3:4", "64:ff9b:1::1", "100::7" };
    for (uint32_t to = 0; to < k->c->stage.nodes.n; to++) {
        if (k->c->players[to].role != ROLE_DEVICE && to != CAST_GATEWAY)
            continue;
        for (unsigned f = 0; f < FAMILY_COUNT; f++) {
            const enum family family = (enum family)f;
            const axis_value at = to == CAST_GATEWAY ? k->c->wan[f] : address_of(k, to, family, true);
            if (!k->c->outside[f] || !at)
                continue;
            for (size_t i = 0; i < RT_COUNT(LIES); i++) {
                enum family of;
                axis_value lie;
                if (address_read(str_from(LIES[i]), &of, &lie) && of == family)
                    forged_udp(k, CAST_INTERNET, to, family, lie, at, k->nobodys[1].port);
            }
            if (to != CAST_GATEWAY)
                forged_udp(k, CAST_INTERNET, to, family, at + 1, at, k->nobodys[1].port);
        }
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
        find_neighbours(k, from);
        if (!is_inside(k, from))
            continue;
        ask_neighbours(k, from);
        forge_from_inside(k, from);
        ask_groups(k, from);
    }
    ask_openings(k);
    forge_from_outside(k);
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
    list_doors(&k);
    choose_nobodys(&k);
    if (!k.failed)
        ask_everything(&k);
    if (k.failed)
        return rt_fail_memory(p);
    if (k.no_ports_left)
        return rt_fail(p, RT_LIMIT, RT_NOWHERE, "rehearse a copy of the house file with fewer devices or services",
                       "one device would have to ask more questions than it has source ports");
    return RT_OK;
}

/* The ports at which everyone is asked: what the file names there, and the ports beside it. */
#include "reach/rehearse_ask_int.h"

/* Nobody's: not in the table of services, and moved on if the file names them. */
enum { PORT_NOBODYS_TCP = 6011, PORT_NOBODYS_UDP = 6013, PORT_CLOSED_UDP = 6017, PORT_MAX = 65535 };

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

uint32_t ask_node_of(const struct asker *k, uint32_t device)
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
                const uint32_t node = ask_node_of(k, devices.v[d]);
                if (node != NO_REF)
                    add_service(k, node, services->v[s]);
            }
        }
    }
}

static void add_openings_and_tunnels(struct asker *k)
{
    for (uint32_t i = 0; i < k->h->port_openings.n; i++) {
        const uint32_t node = ask_node_of(k, k->h->port_openings.v[i].device.i);
        if (node != NO_REF)
            add_service(k, node, k->h->port_openings.v[i].service);
    }
    for (uint32_t i = 0; i < k->h->remote_access.n; i++)
        add_door(k, CAST_GATEWAY, IP_UDP, k->plan->tunnels[i].port);
}

void ask_list_doors(struct asker *k)
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
        const uint32_t node = ask_node_of(k, i);
        for (uint32_t s = 0; node != NO_REF && s < k->h->devices.v[i].offers.n; s++)
            add_service(k, node, k->h->devices.v[i].offers.v[s].service);
    }
    add_openings_and_tunnels(k);
}

bool ask_is_door(const struct asker *k, enum ip_protocol protocol, uint16_t port)
{
    for (uint32_t n = 0; n < k->c->stage.nodes.n; n++)
        for (uint32_t i = 0; i < k->doors[n].n; i++)
            if (k->doors[n].v[i].protocol == protocol && k->doors[n].v[i].port == port)
                return true;
    return false;
}

void ask_choose_nobodys(struct asker *k)
{
    k->nobodys[NOBODYS_TCP] = (struct door){ IP_TCP, PORT_NOBODYS_TCP };
    k->nobodys[NOBODYS_UDP] = (struct door){ IP_UDP, PORT_NOBODYS_UDP };
    k->nobodys[CLOSED] = (struct door){ IP_UDP, PORT_CLOSED_UDP };
    for (size_t i = 0; i < RT_COUNT(k->nobodys); i++)
        while (ask_is_door(k, k->nobodys[i].protocol, k->nobodys[i].port))
            k->nobodys[i].port++;
}

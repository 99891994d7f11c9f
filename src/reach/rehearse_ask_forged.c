/* What no honest socket sends: invented senders, packets out of nowhere, and what is said before there is an address. */
#include "reach/rehearse_ask_int.h"

/* state: what the gateway's memory says of a packet out of nowhere. */
static void forge_one(struct asker *k, struct probe probe, enum conversation_state state)
{
    probe.is_forged = true;
    if (!probe.source_port)
        probe.source_port = ask_source_port(k, probe.from);
    const axis_value met_at = ask_translate(k, &probe);
    struct packet met = ask_as_met(k, &probe, met_at);
    met.at[AXIS_STATE] = state;
    ask_push(k, &probe, &met);
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
void ask_forged_inside(struct asker *k, uint32_t from)
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
        const axis_value others = to == NO_REF ? 0 : ask_address(k, to, family, f == 0);
        const axis_value lies[] = { own_free, others ? others + 1 : 0, k->c->outside[f],
                                    constant(f ? "2001:db8:ffff::1" : "192.0.2.1") };
        for (size_t i = 0; i < RT_COUNT(lies) && lies[i]; i++) {
            if (to != NO_REF && others)
                forged_udp(k, from, to, family, lies[i], others, k->nobodys[NOBODYS_UDP].port);
            if (k->c->outside[f])
                forged_udp(k, from, CAST_INTERNET, family, lies[i], k->c->outside[f], 443);
            if (gateway)
                forged_udp(k, from, CAST_GATEWAY, family, lies[i], gateway, 53);
        }
        if (to != NO_REF && others && ask_address(k, from, family, f == 0)) /* an answer to a question nobody asked */
            forge_one(k,
                      (struct probe){ .from = from,
                                      .to = to,
                                      .family = family,
                                      .protocol = echo_of(family),
                                      .source = ask_address(k, from, family, f == 0),
                                      .destination = others,
                                      .source_port = UNASKED, /* an identifier that no question bears */
                                      .icmp_type = f ? 129 : 0 },
                      STATE_INVALID);
    }
}

/* Before a device has an address, and to groups of its link (RFC 2131, 8415, 4861, 6762; SSDP from memory). */
void ask_groups(struct asker *k, uint32_t from)
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
        const axis_value own = family == FAMILY_IPV4 ? ask_address(k, from, family, true) : own_link;
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
void ask_for_neighbours(struct asker *k, uint32_t from)
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
void ask_forged_outside(struct asker *k)
{
    static const char *const LIES[] = { "10.1.2.3",    "172.16.1.1",    "192.168.7.7",  "100.64.9.9",
                                        "192.0.2.9",   "198.51.100.9",  "169.254.3.3",  "fd12:3456:789a::1",
                                        "2001:db8::9", "fe80::1:2:3:4", "64:ff9b:1::1", "100::7" };
    for (uint32_t to = 0; to < k->c->stage.nodes.n; to++) {
        if (k->c->players[to].role != ROLE_DEVICE && to != CAST_GATEWAY)
            continue;
        for (unsigned f = 0; f < FAMILY_COUNT; f++) {
            const enum family family = (enum family)f;
            const axis_value at = to == CAST_GATEWAY ? k->c->wan[f] : ask_address(k, to, family, true);
            if (!k->c->outside[f] || !at)
                continue;
            for (size_t i = 0; i < RT_COUNT(LIES); i++) {
                enum family of;
                axis_value lie;
                if (address_read(str_from(LIES[i]), &of, &lie) && of == family)
                    forged_udp(k, CAST_INTERNET, to, family, lie, at, k->nobodys[NOBODYS_UDP].port);
            }
            if (to != CAST_GATEWAY)
                forged_udp(k, CAST_INTERNET, to, family, at + 1, at, k->nobodys[NOBODYS_UDP].port);
        }
    }
}

/* What the gateway does itself: addresses, names and time for its segments, relays of discovery, the tunnels' port, openings. */
#include "reach/policy_int.h"

/* ---- addresses, names, time ---- */

static void add_value(struct compiler *c, span_list *to, axis_value lo, axis_value hi)
{
    if (hi)
        policy_add_span(c, to, lo, hi);
}

static void add_prefix(struct compiler *c, span_list *to, const char *text)
{
    struct prefix p;
    if (prefix_read(str_from(text), &p)) {
        const struct span s = prefix_span(p);
        add_value(c, to, s.lo, s.hi);
    }
}

static void segment_to_services(struct compiler *c, uint32_t i)
{
    const struct segment *s = &c->h->segments.v[i];
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        span_list to = zone_gateway_addresses(c->a, c->plan, zone_of_segment(i), f, &c->failed);
        add_prefix(c, &to, f == FAMILY_IPV4 ? "255.255.255.255/32" : "ff02::/16");
        struct rule *r = policy_rule(c, CHAIN_TO_GATEWAY, 1U << f, ACTION_JUMP,
                                     "'%.*s' asks the gateway for addresses, names and time", STR_ARG(s->id));
        policy_from(r, ORIGIN_SEGMENT, i, s->at);
        r->chain = CHAIN_SERVICES;
        policy_is(c, &r->match, AXIS_FROM, zone_of_segment(i));
        policy_in(c, &r->match, AXIS_DESTINATION, to);
    }
}

static void tunnel_to_services(struct compiler *c, uint32_t i)
{
    const struct tunnel_plan *t = &c->plan->tunnels[i];
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        const axis_value at = f == FAMILY_IPV4 ? t->ipv4_gateway : t->ula_gateway;
        if (!at)
            continue;
        struct rule *r = policy_rule(c, CHAIN_TO_GATEWAY, 1U << f, ACTION_JUMP,
                                     "The people of the tunnel '%.*s' ask the gateway for names and time",
                                     STR_ARG(c->h->remote_access.v[i].id));
        policy_from(r, ORIGIN_REMOTE_ACCESS, i, c->h->remote_access.v[i].at);
        r->chain = CHAIN_SERVICES;
        policy_is(c, &r->match, AXIS_FROM, t->zone);
        policy_is(c, &r->match, AXIS_DESTINATION, at);
    }
}

static void ask(struct compiler *c, unsigned families, enum ip_protocol protocol, const struct span *ports, uint32_t n,
                const char *says)
{
    struct rule *r = policy_rule(c, CHAIN_SERVICES, families, ACTION_ACCEPT, "%s", says);
    policy_is(c, &r->match, AXIS_PROTOCOL, protocol);
    policy_in(c, &r->match, protocol == IP_TCP || protocol == IP_UDP ? AXIS_DESTINATION_PORT : AXIS_ICMP_TYPE,
              spans_tidy(c->a, ports, n, &c->failed));
}

/* Ports: RFC 2131, 8415, 1035, 5905.  ICMPv6: what RFC 4890 section 4.4.1 wants the router itself to hear, and echo. */
static void services(struct compiler *c)
{
    const struct span dhcp = { 67, 67 }, dhcpv6 = { 547, 547 }, dns = { 53, 53 }, echo = { 8, 8 };
    const struct span dns_ntp[] = { { 53, 53 }, { 123, 123 } };
    const struct span neighbours[] = { { 128, 128 }, { 130, 136 }, { 141, 143 }, { 148, 149 }, { 151, 153 } };
    ask(c, IPV4, IP_UDP, &dhcp, 1, "Devices get their address from the gateway");
    ask(c, IPV6, IP_UDP, &dhcpv6, 1, "Devices get their IPv6 address from the gateway");
    ask(c, BOTH_FAMILIES, IP_UDP, dns_ntp, 2, "Devices get names and time from the gateway");
    ask(c, BOTH_FAMILIES, IP_TCP, &dns, 1, "Devices get long answers about names from the gateway");
    ask(c, IPV4, IP_ICMP, &echo, 1, "The gateway answers an echo");
    ask(c, IPV6, IP_ICMPV6, neighbours, RT_COUNT(neighbours),
        "Devices and the gateway find each other (RFC 4890 section 4.4.1)");
}

/* ---- the tunnels' port ---- */

static void tunnel_port(struct compiler *c, uint32_t i)
{
    const struct remote_access *t = &c->h->remote_access.v[i];
    const unsigned families = (c->plan->no_ipv4 ? 0 : IPV4) | (c->plan->delegated.is_given ? IPV6 : 0);
    if (!families)
        return;
    struct rule *r =
        policy_rule(c, CHAIN_TO_GATEWAY, families, ACTION_ACCEPT, "%.*s", STR_ARG(t->says.n ? t->says : t->id));
    policy_from(r, ORIGIN_REMOTE_ACCESS, i, t->at);
    policy_is(c, &r->match, AXIS_FROM, ZONE_INTERNET);
    policy_is(c, &r->match, AXIS_PROTOCOL, IP_UDP);
    policy_is(c, &r->match, AXIS_DESTINATION_PORT, c->plan->tunnels[i].port);
}

void policy_own_services(struct compiler *c)
{
    for (uint32_t i = 0; i < c->h->segments.n; i++)
        segment_to_services(c, i);
    for (uint32_t i = 0; i < c->h->remote_access.n; i++)
        tunnel_to_services(c, i);
    services(c);
    struct rule *r = policy_rule(c, CHAIN_TO_GATEWAY, BOTH_FAMILIES, ACTION_DROP,
                                 "Who has no address yet asks for one, and for nothing else");
    policy_is(c, &r->match, AXIS_SOURCE, 0);
    for (uint32_t i = 0; i < c->h->remote_access.n; i++)
        tunnel_port(c, i);
}

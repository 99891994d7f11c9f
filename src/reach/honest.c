/* The packets that a question is about: those that meet the gateway, come from stations that tell the truth, ask for what
 * every segment has of its gateway. */
#include "data/address_blocks.h"
#include "reach/proof_int.h"

static span_list peer_addresses(struct arena *a, const struct tunnel_plan *t, enum family family, bool *failed)
{
    span_list all = { 0 };
    for (uint32_t i = 0; i < t->peers.n; i++) {
        const axis_value address = family == FAMILY_IPV4 ? t->peers.v[i].ipv4 : t->peers.v[i].ula;
        struct span one = { address, address };
        if (address)
            all = spans_join(a, all, (span_list){ &one, 1 }, failed);
    }
    return all;
}

/* Addresses that stations of the zone may have: its subnets less the network's, the broadcast's and the gateway's own; at the
 * end of a tunnel those of its people. */
static span_list zone_addresses(struct arena *a, const struct address_plan *plan, uint32_t zone, enum family family,
                                bool *failed)
{
    span_list all = { 0 };
    const uint32_t segment = zone - ZONE_SEGMENT;
    if (segment >= plan->h->segments.n)
        return peer_addresses(a, &plan->tunnels[segment - plan->h->segments.n], family, failed);
    const struct segment_plan *of = &plan->segments[segment];
    const struct prefix v4[] = { of->ipv4 }, v6[] = { of->ula, of->global };
    const struct prefix *prefixes = family == FAMILY_IPV4 ? v4 : v6;
    const uint32_t n = family == FAMILY_IPV4 ? RT_COUNT(v4) : RT_COUNT(v6);
    for (uint32_t i = 0; i < n; i++) {
        if (!prefixes[i].is_given)
            continue;
        struct span s = prefix_span(prefixes[i]);
        if (s.hi - s.lo >= 3) {
            s.lo += 2; /* the network and, first in every subnet, the gateway */
            s.hi -= family == FAMILY_IPV4;
        }
        all = spans_join(a, all, (span_list){ &s, 1 }, failed);
    }
    return all;
}

/* Unicast addresses of the world outside: in IPv6 those of 2000::/3 (RFC 4291, 2.4), less the blocks that are not global. */
static span_list public_addresses(struct arena *a, enum family family, bool *failed)
{
    uint32_t n;
    const struct address_block *blocks = address_blocks(&n);
    struct span all = { 0, axis_max(AXIS_SOURCE, family) };
    if (family == FAMILY_IPV6)
        all = (struct span){ (axis_value)0x2 << 124, ((axis_value)0x4 << 124) - 1 };
    span_list out = spans_tidy(a, &all, 1, failed);
    for (uint32_t i = 0; i < n; i++) { /* a block comes before those within it, whose word counts more */
        if (blocks[i].is_ipv6 != (family == FAMILY_IPV6))
            continue;
        const struct prefix block = { family, (axis_value)blocks[i].hi << 64 | blocks[i].lo, blocks[i].len, true };
        const struct span s = prefix_span(block);
        const span_list one = { (struct span[]){ s }, 1 };
        out = blocks[i].is_global
                  ? spans_join(a, out, one, failed)
                  : spans_common(a, out, spans_others(a, one, axis_max(AXIS_SOURCE, family), failed), failed);
    }
    return out;
}

/* A packet between the house and the world outside, whose inner address is `axis` and lies in `prefix`. */
static packet_set across_the_line(struct view *v, uint32_t axis, struct prefix prefix)
{
    struct match m = { 0 };
    const struct span s = prefix_span(prefix);
    match_narrow_to(v->a, &m, axis == AXIS_SOURCE ? AXIS_TO : AXIS_FROM, ZONE_INTERNET, ZONE_INTERNET, &v->failed);
    match_narrow_to(v->a, &m, axis, s.lo, s.hi, &v->failed);
    return set_of(v->s, &m);
}

/* What cannot come of honest addresses: unique local ones across the line (RFC 4193, 4.1), or a family the line has not. */
static packet_set never_across(struct view *v)
{
    const struct address_plan *plan = v->proof->policy->plan;
    const bool has_line = v->family == FAMILY_IPV4 ? !plan->no_ipv4 : plan->delegated.is_given;
    const struct prefix any = { v->family, 0, 0, true };
    const struct prefix inner = { v->family, (axis_value)0xfc << 120, 7, true };
    if (v->family == FAMILY_IPV4 && has_line)
        return SET_NONE;
    const struct prefix barred = has_line ? inner : any;
    return set_or(v->s, across_the_line(v, AXIS_SOURCE, barred), across_the_line(v, AXIS_DESTINATION, barred));
}

static bool zone_is_for_known_devices(const struct address_plan *plan, uint32_t zone)
{
    const uint32_t segment = zone - ZONE_SEGMENT;
    return zone >= ZONE_SEGMENT && segment < plan->h->segments.n && plan->h->segments.v[segment].known_only;
}

static span_list known_devices(struct arena *a, const struct address_plan *plan, uint32_t zone, bool *failed)
{
    span_list all = { 0 };
    for (uint32_t i = 0; i < plan->h->devices.n; i++) {
        struct span one = { plan->devices[i].mac, plan->devices[i].mac };
        if (plan->devices[i].zone == zone)
            all = spans_join(a, all, (span_list){ &one, 1 }, failed);
    }
    return all;
}

packet_set crossing_packets(struct view *v)
{
    packet_set within = SET_NONE;
    for (uint32_t zone = 0; zone < v->proof->policy->plan->n_zones; zone++) {
        struct match m = { 0 };
        match_narrow_to(v->a, &m, AXIS_FROM, zone, zone, &v->failed);
        match_narrow_to(v->a, &m, AXIS_TO, zone, zone, &v->failed);
        within = set_or(v->s, within, set_of(v->s, &m));
    }
    return set_not(v->s, within);
}

/* Addresses at which everybody on a link hears: broadcast and multicast. */
static span_list group_addresses(struct view *v)
{
    struct span ipv4[] = { { 0xe0000000, 0xefffffff }, { UINT32_MAX, UINT32_MAX } };
    struct span ipv6 = { (axis_value)0xff << 120, ~(axis_value)0 };
    return v->family == FAMILY_IPV4 ? spans_tidy(v->a, ipv4, RT_COUNT(ipv4), &v->failed)
                                    : spans_tidy(v->a, &ipv6, 1, &v->failed);
}

/* From every inner zone to the gateway, at those addresses. */
static packet_set to_gateway(struct view *v, bool groups)
{
    packet_set all = SET_NONE;
    for (uint32_t zone = ZONE_SEGMENT; zone < v->proof->policy->plan->n_zones; zone++) {
        struct match m = { 0 };
        match_narrow_to(v->a, &m, AXIS_FROM, zone, zone, &v->failed);
        match_narrow_to(v->a, &m, AXIS_TO, ZONE_GATEWAY, ZONE_GATEWAY, &v->failed);
        match_narrow(v->a, &m, AXIS_DESTINATION,
                     groups ? group_addresses(v)
                            : zone_gateway_addresses(v->a, v->proof->policy->plan, zone, v->family, &v->failed),
                     &v->failed);
        all = set_or(v->s, all, set_of(v->s, &m));
    }
    return all;
}

/* Packets that stations may send which tell the truth about their addresses. */
static packet_set honest_sources(struct view *v)
{
    const struct address_plan *plan = v->proof->policy->plan;
    packet_set all = SET_NONE;
    for (uint32_t zone = 0; zone < plan->n_zones; zone++) {
        struct match from = { 0 };
        match_narrow_to(v->a, &from, AXIS_FROM, zone, zone, &v->failed);
        if (zone == ZONE_INTERNET)
            match_narrow(v->a, &from, AXIS_SOURCE, public_addresses(v->a, v->family, &v->failed), &v->failed);
        else if (zone != ZONE_GATEWAY)
            match_narrow(v->a, &from, AXIS_SOURCE, zone_addresses(v->a, plan, zone, v->family, &v->failed), &v->failed);
        if (zone_is_for_known_devices(plan, zone))
            match_narrow(v->a, &from, AXIS_SOURCE_MAC, known_devices(v->a, plan, zone, &v->failed), &v->failed);
        all = set_or(v->s, all, set_of(v->s, &from));
    }
    return all;
}

static packet_set honest_destinations(struct view *v)
{
    const struct address_plan *plan = v->proof->policy->plan;
    struct match line = { 0 };
    match_narrow_to(v->a, &line, AXIS_FROM, ZONE_INTERNET, ZONE_INTERNET, &v->failed);
    match_narrow_to(v->a, &line, AXIS_TO, ZONE_GATEWAY, ZONE_GATEWAY, &v->failed);
    packet_set all = set_or(v->s, to_gateway(v, false), set_of(v->s, &line)); /* the line's own address is not known */
    for (uint32_t zone = 0; zone < plan->n_zones; zone++) {
        struct match to = { 0 };
        if (zone == ZONE_GATEWAY)
            continue;
        match_narrow_to(v->a, &to, AXIS_TO, zone, zone, &v->failed);
        match_narrow(v->a, &to, AXIS_DESTINATION,
                     zone == ZONE_INTERNET ? public_addresses(v->a, v->family, &v->failed)
                                           : zone_addresses(v->a, plan, zone, v->family, &v->failed),
                     &v->failed);
        all = set_or(v->s, all, set_of(v->s, &to));
    }
    return all;
}

/* ICMPv6 that begins nothing: between zones most of it is for one link only and never passes a router (RFC 4890, 4.3.3), the
 * rest are errors.  An echo request is the one that asks (RFC 4443, 4.1). */
static packet_set no_beginning(struct view *v)
{
    enum { ECHO = 128 };
    packet_set all = SET_NONE;
    if (v->family == FAMILY_IPV4)
        return all;
    const struct span types[] = { { 0, ECHO - 1 }, { ECHO + 1, UINT8_MAX } };
    for (size_t i = 0; i < RT_COUNT(types); i++) {
        struct match m = { 0 };
        match_narrow_to(v->a, &m, AXIS_PROTOCOL, IP_ICMPV6, IP_ICMPV6, &v->failed);
        match_narrow_to(v->a, &m, AXIS_ICMP_TYPE, types[i].lo, types[i].hi, &v->failed);
        match_narrow_to(v->a, &m, AXIS_STATE, STATE_NEW, STATE_NEW, &v->failed);
        all = set_or(v->s, all, set_of(v->s, &m));
    }
    struct match gateway = { 0 };
    match_narrow_to(v->a, &gateway, AXIS_TO, ZONE_GATEWAY, ZONE_GATEWAY, &v->failed);
    return set_minus(v->s, all, set_of(v->s, &gateway));
}

packet_set honest_packets(struct view *v)
{
    const packet_set honest = set_and(v->s, honest_sources(v), honest_destinations(v));
    const packet_set barred = set_or(v->s, never_across(v), no_beginning(v));
    return set_minus(v->s, set_and(v->s, honest, v->proof->crossing[v->family]), barred);
}

packet_set called_packets(struct view *v) { return set_and(v->s, honest_sources(v), to_gateway(v, true)); }

/* RFC 1035 and 7766 (53), RFC 2131 (67), RFC 5905 (123), RFC 8415 (547); echo by RFC 792; in IPv6 neighbours find each
 * other by ICMPv6 (RFC 4861), and groups are joined by it (RFC 3810). */
packet_set basic_packets(struct view *v)
{
    static const struct {
        unsigned families;
        enum ip_protocol protocol;
        uint32_t axis, lo, hi;
    } ASKS[] = {
        { 3, IP_UDP, AXIS_DESTINATION_PORT, 53, 53 },   { 3, IP_TCP, AXIS_DESTINATION_PORT, 53, 53 },
        { 1, IP_UDP, AXIS_DESTINATION_PORT, 67, 67 },   { 3, IP_UDP, AXIS_DESTINATION_PORT, 123, 123 },
        { 2, IP_UDP, AXIS_DESTINATION_PORT, 547, 547 }, { 1, IP_ICMP, AXIS_ICMP_TYPE, 8, 8 },
        { 2, IP_ICMPV6, AXIS_ICMP_TYPE, 0, UINT8_MAX },
    };
    packet_set asks = SET_NONE;
    for (size_t i = 0; i < RT_COUNT(ASKS); i++) {
        struct match m = { 0 };
        if (!(ASKS[i].families & 1u << v->family))
            continue;
        match_narrow_to(v->a, &m, AXIS_PROTOCOL, ASKS[i].protocol, ASKS[i].protocol, &v->failed);
        match_narrow_to(v->a, &m, ASKS[i].axis, ASKS[i].lo, ASKS[i].hi, &v->failed);
        asks = set_or(v->s, asks, set_of(v->s, &m));
    }
    return set_and(v->s, asks, set_or(v->s, to_gateway(v, false), to_gateway(v, true)));
}

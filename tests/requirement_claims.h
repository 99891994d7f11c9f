/* requirement_claims.h - what standards ask of the gateway of a house, as claims about all packets of two small houses.  A claim says
 * whether it holds of the table that the street was judged by last, so that it can be tried on a spoilt one too.
 *
 * Clauses of RFC 2827, 4890, 6092 and 7084 from memory: the rows of home_requirements.csv name them. */
#ifndef RT_REQUIREMENT_CLAIMS_H
#define RT_REQUIREMENT_CLAIMS_H

#include "csv.h"
#include "street_kit.h"

#define HOUSE                                                                                                   \
    REACH_HOUSE REACH_LINE "segments: {home: {}, things: {}, guests: {}}\n"                                     \
                           "people: {ann: {kind: adult}}\n"                                                     \
                           "devices:\n"                                                                         \
                           "  laptop: {kind: laptop, room: hall, at_m: [1, 1, 1], segment: home, link: wifi}\n" \
                           "  lamp: {kind: light, room: hall, at_m: [2, 1, 1], segment: things, link: wifi}\n"  \
                           "port_openings: {in: {device: lamp, service: https}}\n"                              \
                           "remote_access: {away: {segment: home, port: 51820, people: [ann]}}\n"
/* The most open house there can be, where nothing but the border keeps what is to be kept, and a closed one. */
static const char OPEN_HOUSE[] = HOUSE "statements: [{from: anyone, to: anyone}]\n";
static const char CLOSED_HOUSE[] = HOUSE "statements:\n"
                                         "  - {from: home, to: gateway, services: [ssh, https]}\n"
                                         "  - {from: home, to: [internet, things]}\n"
                                         "  - {from: guests, to: internet}\n";
enum { HOME = ZONE_SEGMENT, THINGS, GUESTS, AWAY };

enum { IP_AH = 51, IP_HIP = 139, IP_MOBILITY = 135, IP_SCTP = 132, IP_DCCP = 33, IP_SHIM6 = 140, IP_UDPLITE = 136 };

/* ---- sets ---- */

static inline packet_set starts(struct street *t)
{
    return set_minus(t->s, SET_ALL, either(t, is(t, AXIS_STATE, STATE_REPLY), is(t, AXIS_STATE, STATE_RELATED)));
}

static inline packet_set protocol_of(struct street *t, unsigned protocol)
{
    return protocol ? is(t, AXIS_PROTOCOL, protocol) : SET_ALL;
}

static inline packet_set pair(struct street *t, uint32_t from, uint32_t to)
{
    return both(t, is(t, AXIS_FROM, from), is(t, AXIS_TO, to));
}

static inline packet_set port(struct street *t, unsigned protocol, unsigned number)
{
    return both(t, is(t, AXIS_PROTOCOL, protocol), is(t, AXIS_DESTINATION_PORT, number));
}

static inline packet_set messages(struct street *t, unsigned from, unsigned to)
{
    return both(t, is(t, AXIS_PROTOCOL, IP_ICMPV6), on(t, AXIS_ICMP_TYPE, from, to));
}

/* Blocks that the five registries of the world give addresses from (RFC 7020; the blocks from memory). */
static inline packet_set public_addresses(struct street *t, uint32_t axis)
{
    static const char *const BLOCKS[] = { "2400::/12", "2600::/12", "2800::/12", "2a00::/12", "2c00::/12" };
    packet_set out = SET_NONE;
    for (size_t i = 0; i < RT_COUNT(BLOCKS); i++)
        out = either(t, out, within(t, axis, BLOCKS[i]));
    return out;
}

/* From one zone to another, whoever has a public address at either end. */
static inline packet_set outward_honest(struct street *t)
{
    return both(t, both(t, pair(t, HOME, ZONE_INTERNET), in_prefix(t, AXIS_SOURCE, t->r.plan->segments[0].global)),
                public_addresses(t, AXIS_DESTINATION));
}

static inline packet_set inward_honest(struct street *t)
{
    return both(t, both(t, pair(t, ZONE_INTERNET, HOME), public_addresses(t, AXIS_SOURCE)),
                in_prefix(t, AXIS_DESTINATION, t->r.plan->segments[0].global));
}

/* The one port opening of the house, by IPv6. */
static inline packet_set opening(struct street *t)
{
    const packet_set at = is(t, AXIS_DESTINATION, reach_device(&t->r, "lamp")->global);
    return both(t, pair(t, ZONE_INTERNET, THINGS), both(t, at, port(t, IP_TCP, 443)));
}

/* ---- claims: addresses at the border ---- */

typedef bool claim_fn(struct street *t, unsigned protocol);

static inline bool no_multicast_source(struct street *t, unsigned protocol RT_UNUSED)
{
    return none_passes_of(t, both(t, forwarded(t), within(t, AXIS_SOURCE, "ff00::/8")));
}

/* Of every scope: a house has no multicast routing. */
static inline bool no_multicast_destination(struct street *t, unsigned protocol RT_UNUSED)
{
    return none_passes_of(t, both(t, forwarded(t), within(t, AXIS_DESTINATION, "ff00::/8")));
}

static inline bool never_crosses(struct street *t, const char *block)
{
    return none_passes_of(t, both(t, crossing_border(t), within(t, AXIS_SOURCE, block))) &&
           none_passes_of(t, both(t, crossing_border(t), within(t, AXIS_DESTINATION, block)));
}

/* The documentation block holds the stand-in for the delegated prefix: that may be inside, never outside. */
static inline bool no_forbidden_addresses(struct street *t, unsigned protocol RT_UNUSED)
{
    return never_crosses(t, "fec0::/10") && never_crosses(t, "::ffff:0:0/96") && never_crosses(t, "2001:10::/28") &&
           none_passes_of(t, both(t, inward(t), within(t, AXIS_SOURCE, "2001:db8::/32"))) &&
           none_passes_of(t, both(t, outward(t), within(t, AXIS_DESTINATION, "2001:db8::/32")));
}

static inline bool outward_from_own_prefix(struct street *t, unsigned protocol RT_UNUSED)
{
    const packet_set own = in_prefix(t, AXIS_SOURCE, t->r.plan->delegated);
    return none_passes_of(t, both(t, outward(t), set_not(t->s, own))) && some_pass_of(t, both(t, outward(t), own));
}

static inline bool inward_from_others(struct street *t, unsigned protocol RT_UNUSED)
{
    return none_passes_of(t, both(t, inward(t), in_prefix(t, AXIS_SOURCE, t->r.plan->delegated))) &&
           some_pass_of(t, inward(t));
}

static inline bool local_stays(struct street *t, unsigned protocol RT_UNUSED)
{
    return never_crosses(t, "fc00::/7") &&
           some_pass_of(t, both(t, forwarded(t), within(t, AXIS_DESTINATION, "fc00::/7")));
}

static inline bool delegated_stays(struct street *t, unsigned protocol RT_UNUSED)
{
    return none_passes_of(t, both(t, outward(t), in_prefix(t, AXIS_DESTINATION, t->r.plan->delegated)));
}

/* To the gateway besides: who has no address yet, and the link's own addresses. */
static inline bool honest_sources(struct street *t, unsigned protocol RT_UNUSED)
{
    for (uint32_t zone = HOME; zone < t->r.plan->n_zones; zone++) {
        const packet_set from = is(t, AXIS_FROM, zone), own = own_sources(t, zone);
        const packet_set link = either(t, is(t, AXIS_SOURCE, 0), within(t, AXIS_SOURCE, "fe80::/10"));
        const packet_set may = zone == AWAY ? own : either(t, own, link);
        if (!none_passes_of(t, both(t, both(t, forwarded(t), from), set_not(t->s, own))) ||
            !none_passes_of(t, both(t, both(t, is(t, AXIS_TO, ZONE_GATEWAY), from), set_not(t->s, may))) ||
            !some_pass_of(t, both(t, both(t, forwarded(t), from), own)))
            return false;
    }
    return true;
}

/* The line's own address service, and neighbours on the line, speak to the gateway from addresses that are not public. */
static inline packet_set line_service(struct street *t)
{
    if (t->family == FAMILY_IPV4)
        return both(t, port(t, IP_UDP, 68), is(t, AXIS_SOURCE_PORT, 67));
    return either(t, both(t, port(t, IP_UDP, 546), within(t, AXIS_SOURCE, "fe80::/10")),
                  either(t, messages(t, 130, 132), either(t, messages(t, 134, 136), messages(t, 143, 143))));
}

/* Every block of address_blocks.csv that the registries call not globally reachable; and nobody inside sends from another's. */
static inline bool no_reserved_source(struct street *t, unsigned protocol)
{
    const struct csv blocks = csv_read(t->r.c.run.arena, check_path(&t->r.c, "tests/reference/address_blocks.csv"));
    const packet_set from =
        set_minus(t->s, is(t, AXIS_FROM, ZONE_INTERNET), both(t, is(t, AXIS_TO, ZONE_GATEWAY), line_service(t)));
    unsigned n = 0;
    for (uint32_t i = 0; i < blocks.rows.n; i++) {
        struct prefix p;
        if (!str_is(csv_cell(&blocks, i, "globally_reachable"), "no") ||
            !prefix_read(csv_cell(&blocks, i, "block"), &p) || p.family != t->family)
            continue;
        if (!none_passes_of(t, both(t, from, in_prefix(t, AXIS_SOURCE, p))))
            return false;
        n++;
    }
    return n >= 10 && some_pass_of(t, from) && honest_sources(t, protocol);
}

/* ---- claims: what passes ---- */

/* There and back, from anybody at home to anybody public. */
static inline bool flows(struct street *t, unsigned protocol)
{
    const packet_set of = protocol_of(t, protocol);
    const packet_set there = either(t, is(t, AXIS_STATE, STATE_NEW), is(t, AXIS_STATE, STATE_ESTABLISHED));
    return all_pass_of(t, both(t, both(t, outward_honest(t), of), there)) &&
           all_pass_of(t, both(t, both(t, inward_honest(t), of), is(t, AXIS_STATE, STATE_REPLY)));
}

/* Nothing from the internet but answers, and what the opening opens. */
static inline bool nothing_begins_inward(struct street *t, unsigned protocol)
{
    const packet_set calls = both(t, both(t, inward(t), protocol_of(t, protocol)), starts(t));
    const packet_set called =
        both(t, both(t, opening(t), is(t, AXIS_STATE, STATE_NEW)), public_addresses(t, AXIS_SOURCE));
    return none_passes_of(t, set_minus(t->s, calls, opening(t))) && all_pass_of(t, called);
}

static inline bool flows_and_nothing_begins_inward(struct street *t, unsigned protocol)
{
    return flows(t, protocol) && nothing_begins_inward(t, protocol);
}

/* Who calls from the internet and is not let in hears nothing. */
static inline bool refused_in_silence(struct street *t, unsigned protocol)
{
    const packet_set calls = both(t, both(t, inward(t), protocol_of(t, protocol)), starts(t));
    return both(t, calls, judged_as(t->j, ACTION_DROP)) != SET_NONE &&
           both(t, calls, judged_as(t->j, ACTION_REJECT)) == SET_NONE;
}

/* Wherever packets of the protocol pass, so do the errors about them: between the same zones and addresses. */
static inline bool errors_pass(struct street *t, unsigned protocol, unsigned from, unsigned to)
{
    const packet_set talk = both(t, both(t, t->passes, forwarded(t)), protocol_of(t, protocol));
    const uint64_t what = UINT64_C(1) << AXIS_PROTOCOL | UINT64_C(1) << AXIS_SOURCE_PORT |
                          UINT64_C(1) << AXIS_DESTINATION_PORT | UINT64_C(1) << AXIS_ICMP_TYPE |
                          UINT64_C(1) << AXIS_STATE | UINT64_C(1) << AXIS_MARK;
    const packet_set about = both(t, messages(t, from, to), is(t, AXIS_STATE, STATE_RELATED));
    return all_pass_of(t, both(t, set_forget(t->s, talk, what), about));
}

static inline bool errors_come_back(struct street *t, unsigned protocol) { return errors_pass(t, protocol, 1, 2); }

static inline bool errors_only_about_what_runs(struct street *t, unsigned protocol RT_UNUSED)
{
    return none_passes_of(t, both(t, both(t, inward(t), messages(t, 1, 4)), starts(t)));
}

/* UDP-Lite passes where UDP does, out of every zone that may use all services. */
static inline bool like_udp(struct street *t, unsigned protocol)
{
    const uint64_t what = UINT64_C(1) << AXIS_PROTOCOL | UINT64_C(1) << AXIS_SOURCE_PORT |
                          UINT64_C(1) << AXIS_DESTINATION_PORT | UINT64_C(1) << AXIS_ICMP_TYPE;
    const packet_set out = both(t, t->passes, outward(t));
    const packet_set udp = set_forget(t->s, both(t, out, protocol_of(t, IP_UDP)), what);
    return udp != SET_NONE && udp == set_forget(t->s, both(t, out, protocol_of(t, protocol)), what);
}

/* One statement, from anyone to anyone, lets everything in as well as out. */
static inline bool everything_passes(struct street *t, unsigned protocol)
{
    return flows(t, protocol) &&
           all_pass_of(t, both(t, both(t, inward_honest(t), protocol_of(t, protocol)), is(t, AXIS_STATE, STATE_NEW)));
}

/* ---- claims: ICMPv6 ---- */

static inline bool essential_messages_pass(struct street *t, unsigned protocol RT_UNUSED)
{
    const packet_set asks = both(t, outward_honest(t), messages(t, 128, 128));
    const packet_set answers = both(t, inward_honest(t), messages(t, 129, 129));
    return errors_pass(t, 0, 1, 4) && all_pass_of(t, both(t, asks, is(t, AXIS_STATE, STATE_NEW))) &&
           all_pass_of(t, both(t, answers, is(t, AXIS_STATE, STATE_REPLY))) &&
           none_passes_of(t, both(t, both(t, inward(t), messages(t, 128, 128)), starts(t)));
}

static inline bool useful_messages_pass(struct street *t, unsigned protocol RT_UNUSED)
{
    return errors_pass(t, 0, 3, 4) &&
           all_pass_of(t, both(t, both(t, outward_honest(t), messages(t, 144, 147)), is(t, AXIS_STATE, STATE_NEW)));
}

static inline bool no_node_questions(struct street *t, unsigned protocol RT_UNUSED)
{
    return none_passes_of(t, both(t, forwarded(t), messages(t, 138, 140)));
}

/* At the gateway's own addresses of each segment and at those of groups on the link, from own and link-local senders; messages
 * of neighbours belong to no conversation, errors to one. */
static inline bool gateway_hears(struct street *t, unsigned protocol RT_UNUSED)
{
    const packet_set groups = within(t, AXIS_DESTINATION, "ff02::/16");
    const packet_set trusted = messages(t, 148, 149); /* of SEND (RFC 3971) */
    const packet_set neighbours = either(t, trusted, either(t, messages(t, 130, 136), messages(t, 141, 143)));
    for (uint32_t i = 0; i < t->r.h->segments.n; i++) {
        const struct segment_plan *s = &t->r.plan->segments[i];
        packet_set at = either(t, groups, is(t, AXIS_DESTINATION, s->link_local_gateway));
        at = either(t, at, is(t, AXIS_DESTINATION, s->ula_gateway));
        at = either(t, at, is(t, AXIS_DESTINATION, s->global_gateway));
        const packet_set link = either(t, is(t, AXIS_SOURCE, 0), within(t, AXIS_SOURCE, "fe80::/10"));
        const packet_set from = either(t, own_sources(t, ZONE_SEGMENT + i), link);
        const packet_set heard = both(t, both(t, pair(t, ZONE_SEGMENT + i, ZONE_GATEWAY), from), at);
        const packet_set untracked = either(t, is(t, AXIS_STATE, STATE_UNTRACKED), is(t, AXIS_STATE, STATE_NEW));
        if (!all_pass_of(t, both(t, both(t, heard, neighbours), untracked)) ||
            !all_pass_of(t, both(t, both(t, heard, messages(t, 1, 4)), is(t, AXIS_STATE, STATE_RELATED))))
            return false;
    }
    return true;
}

/* ---- claims: the gateway, segments, defaults ---- */

static inline packet_set knocks(struct street *t) { return both(t, pair(t, ZONE_INTERNET, ZONE_GATEWAY), starts(t)); }

static inline bool resolver_is_inside(struct street *t, unsigned protocol RT_UNUSED)
{
    return none_passes_of(t, both(t, knocks(t), either(t, port(t, IP_UDP, 53), port(t, IP_TCP, 53))));
}

static inline bool dhcpv6_is_inside(struct street *t, unsigned protocol RT_UNUSED)
{
    return none_passes_of(t, both(t, knocks(t), port(t, IP_UDP, 547)));
}

/* Nothing at all from the internet to the gateway, but the line's service and the tunnel. */
static inline bool no_management_outside(struct street *t, unsigned protocol RT_UNUSED)
{
    const packet_set tunnel = port(t, IP_UDP, 51820);
    return none_passes_of(t, set_minus(t->s, knocks(t), either(t, tunnel, line_service(t)))) &&
           some_pass_of(t, both(t, knocks(t), tunnel));
}

static inline packet_set management(struct street *t)
{
    packet_set out = SET_NONE;
    static const unsigned TCP[] = { 22, 23, 80, 443, 830 };
    for (size_t i = 0; i < RT_COUNT(TCP); i++)
        out = either(t, out, port(t, IP_TCP, TCP[i]));
    return either(t, out, port(t, IP_UDP, 161));
}

/* From home, and its people away; nobody else. */
static inline bool managed_from_home(struct street *t, unsigned protocol RT_UNUSED)
{
    const packet_set to = both(t, both(t, is(t, AXIS_TO, ZONE_GATEWAY), starts(t)), management(t));
    const packet_set others = either(t, is(t, AXIS_FROM, ZONE_INTERNET), on(t, AXIS_FROM, THINGS, GUESTS));
    return none_passes_of(t, both(t, to, others)) && some_pass_of(t, both(t, to, is(t, AXIS_FROM, HOME)));
}

/* Port control (RFC 6887) and its elder (RFC 6886) on 5351, control of internet gateways on 1900: none is heard. */
static inline bool no_doors_on_demand(struct street *t, unsigned protocol RT_UNUSED)
{
    const packet_set ask = either(t, port(t, IP_UDP, 5351), port(t, IP_UDP, 1900));
    return none_passes_of(t,
                          both(t, both(t, inner(t, AXIS_FROM), is(t, AXIS_TO, ZONE_GATEWAY)), both(t, ask, starts(t))));
}

static inline bool discovery_is_relayed_where_listed(struct street *t, unsigned protocol RT_UNUSED)
{
    const packet_set find = either(t, port(t, IP_UDP, 5353), port(t, IP_UDP, 1900));
    const packet_set to = either(
        t, is(t, AXIS_TO, ZONE_GATEWAY),
        both(t, forwarded(t), within(t, AXIS_DESTINATION, t->family == FAMILY_IPV4 ? "224.0.0.0/4" : "ff00::/8")));
    return none_passes_of(t, both(t, both(t, inner(t, AXIS_FROM), to), both(t, find, starts(t))));
}

static inline bool guests_reach_the_internet_only(struct street *t, unsigned protocol RT_UNUSED)
{
    const packet_set from = both(t, both(t, is(t, AXIS_FROM, GUESTS), starts(t)), inner(t, AXIS_TO));
    const packet_set ask = both(t, pair(t, GUESTS, ZONE_GATEWAY), starts(t));
    return none_passes_of(t, from) &&
           none_passes_of(t, set_minus(t->s, both(t, ask, protocol_of(t, IP_TCP)), port(t, IP_TCP, 53))) &&
           some_pass_of(t, pair(t, GUESTS, ZONE_INTERNET));
}

/* Who may begin is told by the statement's direction; the other side only answers. */
static inline bool one_direction(struct street *t, unsigned protocol)
{
    const packet_set of = protocol_of(t, protocol);
    return none_passes_of(t, both(t, both(t, pair(t, THINGS, HOME), of), starts(t))) &&
           some_pass_of(t, both(t, both(t, pair(t, HOME, THINGS), of), starts(t))) &&
           some_pass_of(t, both(t, both(t, pair(t, THINGS, HOME), of), is(t, AXIS_STATE, STATE_REPLY)));
}

/* Whatever begins between zones passes by something that the house file says. */
static inline bool begins_by_what_is_said(struct street *t, unsigned protocol RT_UNUSED)
{
    const packet_set begins = both(t, both(t, t->passes, forwarded(t)), starts(t));
    packet_set said = SET_NONE;
    const struct table *table = &t->r.policy->table;
    for (uint32_t c = 0; c < table->chains.n; c++)
        for (uint32_t i = 0; i < table->chains.v[c].rules.n; i++) {
            const struct rule *r = &table->chains.v[c].rules.v[i];
            if (r->origin == ORIGIN_STATEMENT || r->origin == ORIGIN_PORT_OPENING || r->origin == ORIGIN_REMOTE_ACCESS)
                said = either(t, said, judged_by(t->j, r->number));
        }
    return begins != SET_NONE && set_minus(t->s, begins, said) == SET_NONE;
}

static inline bool default_is_no(struct street *t, unsigned protocol)
{
    return begins_by_what_is_said(t, protocol) && none_passes_of(t, judged_by(t->j, 0));
}

/* Senders that lie are dropped: an answer would go to whom they name. */
static inline bool liars_hear_nothing(struct street *t, unsigned protocol RT_UNUSED)
{
    const packet_set lies = set_minus(t->s, both(t, is(t, AXIS_FROM, HOME), set_not(t->s, own_sources(t, HOME))),
                                      either(t, is(t, AXIS_SOURCE, 0), within(t, AXIS_SOURCE, "fe80::/10")));
    return lies != SET_NONE && set_minus(t->s, lies, judged_as(t->j, ACTION_DROP)) == SET_NONE;
}

/* ---- claims: the plan ---- */

static inline bool delegation_is_stated(struct street *t, unsigned protocol RT_UNUSED)
{
    return t->r.plan->delegated.is_given && t->r.plan->delegated.len == 56; /* what the line's entry says */
}

static inline bool delegation_has_room(struct street *t, unsigned protocol RT_UNUSED)
{
    return t->r.plan->delegated.len <= 64 && 1U << (64 - t->r.plan->delegated.len) >= t->r.h->segments.n;
}

static inline bool subnets_apart(struct street *t, bool ula)
{
    struct prefix around = t->r.plan->delegated;
    if (ula && !prefix_read(STR("fd00::/8"), &around))
        return false;
    for (uint32_t i = 0; i < t->r.h->segments.n; i++) {
        const struct segment_plan *s = &t->r.plan->segments[i];
        const struct prefix one = ula ? s->ula : s->global;
        if (!one.is_given || one.len != 64 || !prefix_holds(around, FAMILY_IPV6, one.base) ||
            (ula && one.base >> 80 != t->r.plan->segments[0].ula.base >> 80)) /* one /48 */
            return false;
        for (uint32_t k = 0; k < i; k++)
            if (prefix_overlaps(one, ula ? t->r.plan->segments[k].ula : t->r.plan->segments[k].global))
                return false;
    }
    return true;
}

static inline bool public_subnets_apart(struct street *t, unsigned protocol RT_UNUSED)
{
    return subnets_apart(t, false);
}
static inline bool local_subnets_apart(struct street *t, unsigned protocol RT_UNUSED) { return subnets_apart(t, true); }

#endif

/* What standards ask of the gateway of a house, on the most open policy there can be (anyone may talk with anyone), so that
 * nothing but the border itself keeps it; where a standard asks for something to pass, on a closed one.
 *
 * Each row of icmpv6_filtering.csv, and what the rows of home_requirements.csv (test_home_requirements.c) leave open; the texts of
 * RFC 2827, 4890 and 6092 from memory.  Sets of packets (space.h) stand for "no packet at all". */
#include <stdlib.h>

#include "csv.h"
#include "street_kit.h"

#define STREET                                                                                                  \
    REACH_HOUSE REACH_LINE "segments: {home: {}, things: {}}\n"                                                 \
                           "devices:\n"                                                                         \
                           "  laptop: {kind: laptop, room: hall, at_m: [1, 1, 1], segment: home, link: wifi}\n" \
                           "  lamp: {kind: light, room: hall, at_m: [2, 1, 1], segment: things, link: wifi}\n"
static const char OPEN[] = STREET "statements: [{from: anyone, to: anyone}]\n";
static const char CLOSED[] = STREET "statements:\n"
                                    "  - {from: [home, things], to: gateway, verdict: refuse}\n"
                                    "  - {from: home, to: [internet, things]}\n";

/* ---- sets ---- */

static void none_passes(struct street *t, const char *clause, packet_set of) { CHECK(clause, none_passes_of(t, of)); }

static void some_pass(struct street *t, const char *clause, packet_set of) { CHECK(clause, some_pass_of(t, of)); }

/* ---- RFC 6092: what an IPv6 gateway does when nothing is set ---- */

/* What a statement that lets all services out lets out: the deviation (nothing of it comes in by itself) is a note. */
TEST(rfc6092_rec_21_to_47_protocols_pass_where_all_services_do)
{
    struct street t = street_begin(CLOSED, FAMILY_IPV6);
    static const struct {
        unsigned protocol;
        const char *clause;
    } PASS[] = { { 51, "RFC 6092 REC-21, AH" },       { 50, "RFC 6092 REC-22, ESP" },
                 { 139, "RFC 6092 REC-26, HIP" },     { 135, "RFC 6092 REC-28, mobility" },
                 { 6, "RFC 6092 REC-31, TCP" },       { 132, "RFC 6092 REC-38, SCTP" },
                 { 33, "RFC 6092 REC-43, DCCP" },     { 140, "RFC 6092 REC-47, Shim6" },
                 { 136, "RFC 6092 REC-20, UDP-Lite" } };
    for (size_t i = 0; i < RT_COUNT(PASS); i++) {
        const packet_set of = is(&t, AXIS_PROTOCOL, PASS[i].protocol);
        some_pass(&t, PASS[i].clause, both(&t, both(&t, outward(&t), of), is(&t, AXIS_STATE, STATE_NEW)));
        some_pass(&t, PASS[i].clause, both(&t, both(&t, inward(&t), of), is(&t, AXIS_STATE, STATE_REPLY)));
        none_passes(&t, PASS[i].clause, both(&t, both(&t, inward(&t), of), is(&t, AXIS_STATE, STATE_NEW)));
    }
    bool is_said = false;
    for (uint32_t i = 0; i < t.r.policy->notes.n; i++)
        is_said = is_said || memmem(t.r.policy->notes.v[i].says.p, t.r.policy->notes.v[i].says.n, "REC-21", 6);
    CHECK("the deviation is stated", is_said);
    street_end(&t);
}

/* ---- BCP 38, BCP 84, SP 800-41: honest sources ---- */

TEST(rfc2827_section_3_a_segment_sends_from_its_own_addresses)
{
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        struct street t = street_begin(OPEN, f);
        for (uint32_t i = 0; i < t.r.h->segments.n; i++) {
            const packet_set from = is(&t, AXIS_FROM, ZONE_SEGMENT + i);
            const packet_set own = own_sources(&t, ZONE_SEGMENT + i);
            none_passes(&t, "RFC 2827 section 3, through", both(&t, both(&t, forwarded(&t), from), set_not(t.s, own)));
            some_pass(&t, "honest ones pass", both(&t, both(&t, forwarded(&t), from), own));
            /* to the gateway: besides, who has no address yet, and the link's own addresses */
            const packet_set no_address = is(&t, AXIS_SOURCE, 0);
            const packet_set link = f == FAMILY_IPV6 ? within(&t, AXIS_SOURCE, "fe80::/10") : SET_NONE;
            const packet_set may = set_or(t.s, own, set_or(t.s, no_address, link));
            none_passes(&t, "RFC 2827 section 3, to the gateway",
                        both(&t, both(&t, is(&t, AXIS_TO, ZONE_GATEWAY), from), set_not(t.s, may)));
            const packet_set web = both(&t, is(&t, AXIS_PROTOCOL, IP_TCP), is(&t, AXIS_DESTINATION_PORT, 443));
            none_passes(&t, "who has no address asks for one, and for nothing else",
                        both(&t, both(&t, both(&t, from, no_address), is(&t, AXIS_STATE, STATE_NEW)), web));
        }
        street_end(&t);
    }
}

/* SP 800-41 revision 1 section 4.1; blocks of the registries of RFC 6890. */
TEST(no_private_source_comes_from_the_internet)
{
    struct street t = street_begin(OPEN, FAMILY_IPV4);
    static const char *const INNER[] = { "0.0.0.0/8",      "10.0.0.0/8",      "100.64.0.0/10",  "127.0.0.0/8",
                                         "169.254.0.0/16", "172.16.0.0/12",   "192.0.2.0/24",   "192.168.0.0/16",
                                         "198.18.0.0/15",  "198.51.100.0/24", "203.0.113.0/24", "224.0.0.0/4",
                                         "240.0.0.0/4" };
    const packet_set service = both(&t, is(&t, AXIS_PROTOCOL, IP_UDP), is(&t, AXIS_DESTINATION_PORT, 68));
    const packet_set from = both(&t, is(&t, AXIS_FROM, ZONE_INTERNET), set_not(t.s, service)); /* the provider's DHCP */
    for (size_t i = 0; i < RT_COUNT(INNER); i++)
        none_passes(&t, INNER[i], both(&t, from, within(&t, AXIS_SOURCE, INNER[i])));
    some_pass(&t, "public ones", from);
    street_end(&t);
}

/* Nobody reaches an inner IPv4 address from the internet without a translation, whatever the statements say. */
TEST(by_ipv4_nothing_begins_from_the_internet)
{
    struct street t = street_begin(OPEN, FAMILY_IPV4);
    none_passes(&t, "no conversation begins", both(&t, inward(&t), is(&t, AXIS_STATE, STATE_NEW)));
    none_passes(&t, "none goes on", both(&t, inward(&t), is(&t, AXIS_STATE, STATE_ESTABLISHED)));
    street_end(&t);
}

/* ---- RFC 4890: every row of icmpv6_filtering.csv ---- */

/* "1", "1,2", "all": the type is what a table of rules can tell. */
static packet_set messages(struct street *t, unsigned type)
{
    return both(t, is(t, AXIS_PROTOCOL, IP_ICMPV6), is(t, AXIS_ICMP_TYPE, type));
}

/* In which state the memory of conversations sees a message: errors go with a conversation, echo is one, an echo's answer
 * answers; neighbours' messages are of none (Linux does not track them, from memory). */
static enum conversation_state state_of(unsigned type)
{
    return type <= 4                    ? STATE_RELATED
           : type == 129                ? STATE_REPLY
           : type >= 130 && type <= 153 ? STATE_UNTRACKED
                                        : STATE_NEW;
}

static bool begins(struct str s, const char *word)
{
    return s.n >= strlen(word) && memcmp(s.p, word, strlen(word)) == 0;
}

static void check_transit(struct street *open, struct street *closed, unsigned type, struct str want)
{
    const packet_set open_of = both(open, forwarded(open), messages(open, type));
    const packet_set closed_of =
        both(closed, both(closed, forwarded(closed), messages(closed, type)), is(closed, AXIS_STATE, state_of(type)));
    char clause[64];
    snprintf(clause, sizeof clause, "RFC 4890, in transit, type %u", type);
    if (begins(want, "must not drop"))
        some_pass(closed, clause, closed_of);
    else if (begins(want, "should not drop"))
        some_pass(open, clause, open_of);
    else if (begins(want, "not forwarded anyway") || begins(want, "drop unless"))
        none_passes(open, clause, open_of);
    else
        CHECK(clause, begins(want, "policy"));
}

static void check_gateway(struct street *closed, unsigned type, struct str want)
{
    const packet_set of =
        both(closed, both(closed, is(closed, AXIS_FROM, ZONE_SEGMENT), is(closed, AXIS_TO, ZONE_GATEWAY)),
             messages(closed, type));
    char clause[64];
    snprintf(clause, sizeof clause, "RFC 4890, to the gateway, type %u", type);
    if (begins(want, "must not drop") || begins(want, "should not drop"))
        some_pass(closed, clause, both(closed, of, is(closed, AXIS_STATE, state_of(type))));
    else if (begins(want, "dropped anyway"))
        none_passes(closed, clause, both(closed, of, is(closed, AXIS_STATE, STATE_NEW)));
    else
        CHECK(clause, begins(want, "policy"));
}

TEST(rfc4890_each_type_of_message)
{
    struct street open = street_begin(OPEN, FAMILY_IPV6), closed = street_begin(CLOSED, FAMILY_IPV6);
    const struct csv t = csv_read(open.r.c.run.arena, check_path(&open.r.c, "tests/reference/icmpv6_filtering.csv"));
    CHECK("rows", t.rows.n >= 30);
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const unsigned type = (unsigned)csv_num(&t, i, "icmpv6_type");
        check_transit(&open, &closed, type, csv_cell(&t, i, "transit"));
        check_gateway(&closed, type, csv_cell(&t, i, "to_the_filter_itself"));
    }
    street_end(&open);
    street_end(&closed);
}

/* Erratum 2706: under `time exceeded` the example script of appendix B lets `too big` through, so that with state on, time
 * exceeded is cut.  Each has its own type here: 2 and 3 (RFC 4443 sections 3.2, 3.3). */
TEST(rfc4890_erratum_2706_time_exceeded_comes_back)
{
    struct street t = street_begin(CLOSED, FAMILY_IPV6);
    for (unsigned type = 2; type <= 3; type++)
        some_pass(&t, "RFC 4890 section 4.3.1",
                  both(&t, both(&t, inward(&t), messages(&t, type)), is(&t, AXIS_STATE, STATE_RELATED)));
    street_end(&t);
}

/* RFC 7368 section 3.6: guests reach the internet and the gateway's services, nothing else, until a statement says so. */
TEST(rfc7368_section_3_6_a_segment_without_statements_reaches_its_services_only)
{
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        struct street t = street_begin(STREET, f);
        none_passes(&t, "RFC 7368 section 3.6", both(&t, forwarded(&t), is(&t, AXIS_STATE, STATE_NEW)));
        some_pass(&t, "its services", is(&t, AXIS_TO, ZONE_GATEWAY));
        street_end(&t);
    }
}

/* Statements as a table of rules: small houses, packets made by hand, run rule by rule. */
#include "reach_kit.h"

/* ---- who may begin ---- */

TEST(a_statement_lets_begin_what_it_says_and_nothing_else_begins)
{
    struct reach r = reach_compile(REACH_PAIR "statements:\n"
                                              "  - {from: home, to: [internet, things]}\n"
                                              "  - {from: things, to: internet, services: [ntp, https]}\n");
    CHECK("home to the internet", reach_may(&r, "laptop", "internet", IP_TCP, 443));
    CHECK("home to things", reach_may(&r, "laptop", "lamp", IP_TCP, 80));
    CHECK("things to home", !reach_may(&r, "lamp", "laptop", IP_TCP, 80));
    CHECK("things to the web", reach_may(&r, "lamp", "internet", IP_TCP, 443));
    CHECK("things to elsewhere", !reach_may(&r, "lamp", "internet", IP_TCP, 25));
    CHECK("things to time", reach_may(&r, "lamp", "internet", IP_UDP, 123));
    CHECK("things to time by TCP", !reach_may(&r, "lamp", "internet", IP_TCP, 123));
    CHECK("the internet to home", !reach_may(&r, "internet", "laptop", IP_TCP, 443));
    CHECK("home to the gateway", !reach_may(&r, "laptop", "gateway", IP_TCP, 443));
    reach_end(&r);
}

TEST(who_is_not_let_in_hears_so_inside_and_nothing_outside)
{
    struct reach r = reach_compile(REACH_PAIR "statements: [{from: [things, internet], to: home, verdict: refuse}]\n");
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        const struct packet inside = reach_talk(&r, f, "lamp", "laptop", IP_TCP, 80);
        const struct packet outside = reach_talk(&r, f, "internet", "laptop", IP_TCP, 80);
        const struct packet unsaid = reach_talk(&r, f, "laptop", "lamp", IP_TCP, 80);
        const struct packet to_gateway = reach_talk(&r, f, "internet", "gateway", IP_TCP, 80);
        CHECK("inside", reach_run(&r, &inside, NULL) == ACTION_REJECT);
        CHECK("from the internet", reach_run(&r, &outside, NULL) == ACTION_DROP);
        CHECK("of which no statement speaks", reach_run(&r, &unsaid, NULL) == ACTION_REJECT);
        CHECK("to the gateway from the internet", reach_run(&r, &to_gateway, NULL) == ACTION_DROP);
    }
    reach_end(&r);
}

TEST(the_first_statement_that_fits_decides)
{
    struct reach r = reach_compile(REACH_PAIR "statements:\n"
                                              "  - {from: tablet, to: things, verdict: refuse}\n"
                                              "  - {from: home, to: things}\n");
    CHECK("the tablet", !reach_may(&r, "tablet", "lamp", IP_TCP, 80));
    CHECK("others", reach_may(&r, "laptop", "lamp", IP_TCP, 80));
    reach_end(&r);
}

TEST(people_and_groups_are_their_devices)
{
    struct reach r = reach_compile(REACH_PAIR "statements:\n"
                                              "  - {from: ann, to: lamp, services: [http]}\n"
                                              "  - {from: play, to: lamp, services: [https]}\n"
                                              "  - {from: things_of_ben, to: lamp, services: [ssh]}\n");
    CHECK("Ann's laptop", reach_may(&r, "laptop", "lamp", IP_TCP, 80));
    CHECK("Ben's tablet", !reach_may(&r, "tablet", "lamp", IP_TCP, 80));
    CHECK("play: tablet", reach_may(&r, "tablet", "lamp", IP_TCP, 443));
    CHECK("play: console", reach_may(&r, "console", "lamp", IP_TCP, 443));
    CHECK("play: laptop", !reach_may(&r, "laptop", "lamp", IP_TCP, 443));
    CHECK("a person within a group", reach_may(&r, "tablet", "lamp", IP_TCP, 22));
    CHECK("another person", !reach_may(&r, "laptop", "lamp", IP_TCP, 22));
    CHECK("another receiver", !reach_may(&r, "laptop", "printer", IP_TCP, 80));
    reach_end(&r);
}

TEST(a_device_is_its_segment_and_its_mac_address)
{
    struct reach r = reach_compile(REACH_PAIR "statements: [{from: laptop, to: lamp}]\n");
    struct packet p = reach_talk(&r, FAMILY_IPV6, "laptop", "lamp", IP_TCP, 80);
    CHECK("its own", reach_passes(&r, &p));
    p.at[AXIS_SOURCE] += 1000; /* another address of the segment, as IPv6 devices make themselves (RFC 8981) */
    CHECK("another address", reach_passes(&r, &p));
    p.at[AXIS_SOURCE_MAC] ^= 1;
    CHECK("another MAC address", !reach_passes(&r, &p));
    p = reach_talk(&r, FAMILY_IPV4, "printer", "laptop", IP_TCP, 80);
    p.at[AXIS_SOURCE_MAC] = reach_device(&r, "laptop")->mac;
    CHECK("its MAC address in another segment", !reach_passes(&r, &p));
    reach_end(&r);
}

TEST(services_of_several_protocols_and_ports_are_few_rules)
{
    struct reach r =
        reach_compile(REACH_PAIR "services: {panel: {protocol: tcp, ports: [\"8443\", \"9000-9010\"]}}\n"
                                 "statements: [{from: home, to: things, services: [dns, https, http, panel]}]\n");
    /* TCP 53, 80, 443, 8443, 9000-9010 in one, UDP 53 in another */
    uint32_t n = 0;
    const struct chain *through = &r.policy->table.chains.v[CHAIN_THROUGH];
    for (uint32_t i = 0; i < through->rules.n; i++)
        n += through->rules.v[i].origin == ORIGIN_STATEMENT;
    CHECK_NEAR("rules", n, 2, 0, "");
    CHECK("dns over TCP", reach_may(&r, "laptop", "lamp", IP_TCP, 53));
    CHECK("dns over UDP", reach_may(&r, "laptop", "lamp", IP_UDP, 53));
    CHECK("web", reach_may(&r, "laptop", "lamp", IP_TCP, 443));
    CHECK("web over UDP", !reach_may(&r, "laptop", "lamp", IP_UDP, 443));
    CHECK("the house's own", reach_may(&r, "laptop", "lamp", IP_TCP, 9010));
    CHECK("behind its range", !reach_may(&r, "laptop", "lamp", IP_TCP, 9011));
    reach_end(&r);
}

TEST(what_comes_without_a_conversation_is_dropped)
{
    struct reach r = reach_compile(REACH_PAIR "statements: [{from: home, to: things}]\n");
    struct packet p = reach_talk(&r, FAMILY_IPV4, "laptop", "lamp", IP_TCP, 80);
    p.at[AXIS_STATE] = STATE_INVALID;
    CHECK("invalid", reach_run(&r, &p, NULL) == ACTION_DROP);
    p.at[AXIS_STATE] = STATE_ESTABLISHED;
    CHECK("of one that runs", reach_passes(&r, &p));
    p = reach_talk(&r, FAMILY_IPV4, "lamp", "laptop", IP_TCP, 40000);
    p.at[AXIS_STATE] = STATE_ESTABLISHED;
    CHECK("of one that a stricter table forbids", !reach_passes(&r, &p));
    p.at[AXIS_STATE] = STATE_REPLY;
    CHECK("an answer", reach_passes(&r, &p));
    reach_end(&r);
}

/* ---- hours ---- */

TEST(an_hour_cuts_both_directions_of_what_runs)
{
    struct reach r = reach_compile(REACH_PAIR "statements:\n"
                                              "  - {from: play, to: internet, verdict: refuse, hours: night}\n"
                                              "  - {from: home, to: internet}\n");
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        struct packet p = reach_talk(&r, f, "tablet", "internet", IP_TCP, 443);
        CHECK("by day", reach_run(&r, &p, NULL) == ACTION_ACCEPT);
        CHECK("at night", reach_run(&r, &p, "night") == ACTION_REJECT);
        p.at[AXIS_STATE] = STATE_ESTABLISHED;
        CHECK("what runs, at night", reach_run(&r, &p, "night") == ACTION_REJECT);
        const struct packet q = reach_answer(&r, p, reach_mark(&r, "tablet"));
        CHECK("an answer by day", reach_run(&r, &q, NULL) == ACTION_ACCEPT);
        CHECK("an answer at night", reach_run(&r, &q, "night") == ACTION_DROP);
        const struct packet other = reach_answer(&r, reach_talk(&r, f, "laptop", "internet", IP_TCP, 443), 0);
        CHECK("an answer to another", reach_run(&r, &other, "night") == ACTION_ACCEPT);
    }
    CHECK("two devices that no rule tells apart share a mark", reach_mark(&r, "tablet") == reach_mark(&r, "console"));
    CHECK("a device without hours has none", reach_mark(&r, "laptop") == 0);
    reach_end(&r);
}

TEST(what_is_allowed_at_hours_only_ends_with_them)
{
    struct reach r = reach_compile(REACH_PAIR "statements:\n"
                                              "  - {from: home, to: printer, services: [ipps], hours: day}\n"
                                              "  - {from: laptop, to: printer, services: [ipps]}\n");
    const struct packet p = reach_talk(&r, FAMILY_IPV4, "tablet", "printer", IP_TCP, 631);
    const struct packet q = reach_answer(&r, p, reach_mark(&r, "tablet"));
    CHECK("asked in time", reach_run(&r, &p, "day") == ACTION_ACCEPT);
    CHECK("asked out of it", reach_run(&r, &p, NULL) == ACTION_REJECT);
    CHECK("answered in time", reach_run(&r, &q, "day") == ACTION_ACCEPT);
    CHECK("answered out of it", reach_run(&r, &q, NULL) == ACTION_DROP);
    const struct packet always =
        reach_answer(&r, reach_talk(&r, FAMILY_IPV4, "laptop", "printer", IP_TCP, 631), reach_mark(&r, "laptop"));
    CHECK("answered to whom a later statement lets", reach_run(&r, &always, NULL) == ACTION_ACCEPT);
    CHECK("a mark of its own", reach_mark(&r, "laptop") != 0 && reach_mark(&r, "laptop") != reach_mark(&r, "tablet"));
    reach_end(&r);
}

TEST(an_earlier_statement_without_hours_keeps_its_answers)
{
    struct reach r = reach_compile(REACH_PAIR "statements:\n"
                                              "  - {from: home, to: internet, services: [https]}\n"
                                              "  - {from: home, to: internet, verdict: refuse, hours: night}\n"
                                              "  - {from: home, to: internet}\n");
    const struct packet web = reach_answer(&r, reach_talk(&r, FAMILY_IPV4, "tablet", "internet", IP_TCP, 443), 0);
    const struct packet mail = reach_answer(&r, reach_talk(&r, FAMILY_IPV4, "tablet", "internet", IP_TCP, 993), 0);
    CHECK("the web at night", reach_run(&r, &web, "night") == ACTION_ACCEPT);
    CHECK("mail at night", reach_run(&r, &mail, "night") == ACTION_DROP);
    CHECK("mail by day", reach_run(&r, &mail, NULL) == ACTION_ACCEPT);
    reach_end(&r);
}

TEST(a_refusal_between_hours_and_a_later_statement_keeps_its_place)
{
    struct reach r = reach_compile(REACH_PAIR "statements:\n"
                                              "  - {from: home, to: things, hours: day}\n"
                                              "  - {from: tablet, to: things, verdict: refuse}\n"
                                              "  - {from: [home, guests], to: things, services: [http]}\n");
    static const char *const WHO[] = { "tablet", "laptop", "visitor" };
    for (size_t i = 0; i < RT_COUNT(WHO); i++) {
        const struct packet p = reach_talk(&r, FAMILY_IPV4, WHO[i], "lamp", IP_TCP, 80);
        const struct packet q = reach_answer(&r, p, reach_mark(&r, WHO[i]));
        CHECK("asked and answered by day",
              reach_run(&r, &p, "day") == ACTION_ACCEPT && reach_run(&r, &q, "day") == ACTION_ACCEPT);
        const bool may = i > 0;
        CHECK("asked at night", (reach_run(&r, &p, "night") == ACTION_ACCEPT) == may);
        CHECK("answered at night", (reach_run(&r, &q, "night") == ACTION_ACCEPT) == may);
    }
    reach_end(&r);
}

TEST(an_echo_is_answered_by_another_type)
{
    struct reach r = reach_compile(REACH_PAIR "statements: [{from: home, to: things, services: [ping], hours: day}]\n");
    /* RFC 792 and RFC 4443: echo is 8 and 128, its answer 0 and 129 */
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        const enum ip_protocol icmp = f == FAMILY_IPV4 ? IP_ICMP : IP_ICMPV6;
        struct packet q = reach_answer(&r, reach_talk(&r, f, "laptop", "lamp", icmp, f == FAMILY_IPV4 ? 8 : 128), 0);
        q.at[AXIS_ICMP_TYPE] = f == FAMILY_IPV4 ? 0 : 129;
        CHECK("in time", reach_run(&r, &q, "day") == ACTION_ACCEPT);
        CHECK("out of it", reach_run(&r, &q, NULL) == ACTION_DROP);
    }
    reach_end(&r);
}

/* ---- the household policy in five lines ---- */

/* Common practice, no source. */
TEST(five_lines_do_what_they_say)
{
    struct reach r = reach_file("tests/houses/five_lines.house.yaml");
    CHECK("main to things", reach_may(&r, "laptop", "printer", IP_TCP, 631));
    CHECK("main to guests", reach_may(&r, "laptop", "visitor", IP_TCP, 80));
    CHECK("things to main", !reach_may(&r, "lamp", "laptop", IP_TCP, 80));
    CHECK("guests to main", !reach_may(&r, "visitor", "laptop", IP_TCP, 80));
    CHECK("guests to things", !reach_may(&r, "visitor", "printer", IP_TCP, 631));
    CHECK("things to the gateway", !reach_may(&r, "lamp", "gateway", IP_TCP, 443));
    CHECK("guests to the gateway", !reach_may(&r, "visitor", "gateway", IP_TCP, 22));
    CHECK("guests to the internet", reach_may(&r, "visitor", "internet", IP_TCP, 443));
    struct packet stranger = reach_talk(&r, FAMILY_IPV4, "laptop", "internet", IP_TCP, 443);
    stranger.at[AXIS_SOURCE_MAC] ^= 4;
    CHECK("an unknown device in main", !reach_passes(&r, &stranger));
    const struct packet answer = reach_answer(&r, reach_talk(&r, FAMILY_IPV6, "laptop", "printer", IP_TCP, 631), 0);
    CHECK("an answer", reach_passes(&r, &answer));
    reach_end(&r);
}

/* The last line as one would type it: nothing from those networks to the gateway's address. */
static bool naive_passes(const struct reach *r, const struct packet *p)
{
    struct arena *a = r->c.run.arena;
    bool failed = false;
    struct rule rules[2] = { { .families = 3, .hours.i = NO_REF, .action = ACTION_DROP },
                             { .families = 3, .hours.i = NO_REF, .action = ACTION_ACCEPT } };
    match_narrow_to(a, &rules[0].match, AXIS_FROM, reach_zone(r, "things"), reach_zone(r, "guests"), &failed);
    match_narrow_to(a, &rules[0].match, AXIS_TO, ZONE_GATEWAY, ZONE_GATEWAY, &failed);
    struct chain chain = { .rules = { rules, 2 }, .policy = ACTION_DROP };
    const struct table table = { .chains = { &chain, 1 } };
    enum action action;
    table_run(&table, p, NULL, &action);
    return !failed && action == ACTION_ACCEPT;
}

TEST(the_naive_fifth_line_cuts_names_and_ours_does_not)
{
    struct reach r = reach_file("tests/houses/five_lines.house.yaml");
    static const struct {
        const char *what;
        enum ip_protocol protocol;
        unsigned port;
    } LIVES_ON[] = { { "names", IP_UDP, 53 }, { "names over TCP", IP_TCP, 53 }, { "time", IP_UDP, 123 } };
    for (size_t i = 0; i < RT_COUNT(LIVES_ON); i++)
        for (enum family f = 0; f < FAMILY_COUNT; f++) {
            const struct packet p = reach_talk(&r, f, "lamp", "gateway", LIVES_ON[i].protocol, LIVES_ON[i].port);
            CHECK(LIVES_ON[i].what, !naive_passes(&r, &p));
            CHECK(LIVES_ON[i].what, reach_passes(&r, &p));
        }
    struct packet dhcp = reach_talk(&r, FAMILY_IPV4, "visitor", "gateway", IP_UDP, 67);
    dhcp.at[AXIS_SOURCE] = 0;
    dhcp.at[AXIS_SOURCE_PORT] = 68;
    dhcp.at[AXIS_DESTINATION] = reach_address("255.255.255.255");
    CHECK("an address asked for", !naive_passes(&r, &dhcp));
    CHECK("an address asked for", reach_passes(&r, &dhcp));
    bool is_said = false;
    for (uint32_t i = 0; i < r.policy->notes.n; i++)
        is_said =
            is_said || str_eq(r.policy->notes.v[i].says,
                              STR("'no_gateway' does not cut what a segment lives on: addresses (DHCP), names "
                                  "(DNS), time (NTP) and echo of the gateway stay, at its address in that segment"));
    CHECK("it is said", is_said);
    reach_end(&r);
}

TEST(a_segment_is_served_at_the_gateways_address_there_only)
{
    struct reach r = reach_file("tests/houses/five_lines.house.yaml");
    const struct segment_plan *main = &r.plan->segments[REACH_FIND(&r, segments, "main")];
    struct packet p = reach_talk(&r, FAMILY_IPV4, "visitor", "gateway", IP_UDP, 53);
    p.at[AXIS_DESTINATION] = main->ipv4_gateway;
    CHECK("names at the address in main", !reach_passes(&r, &p));
    p = reach_talk(&r, FAMILY_IPV6, "visitor", "gateway", IP_UDP, 53);
    p.at[AXIS_DESTINATION] = main->ula_gateway;
    CHECK("the same by IPv6", !reach_passes(&r, &p));
    p.at[AXIS_SOURCE] = p.at[AXIS_DESTINATION] = reach_address("fe80::1");
    p.at[AXIS_SOURCE] += 0x1000;
    CHECK("at the link's own address", reach_passes(&r, &p));
    reach_end(&r);
}

/* ---- tunnels ---- */

TEST(people_of_a_tunnel_count_as_in_their_segment)
{
    struct reach r = reach_compile(REACH_AWAY "statements:\n"
                                              "  - {from: ben, to: printer, verdict: refuse}\n"
                                              "  - {from: home, to: things}\n");
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        struct packet p = reach_from_tunnel(&r, f, "ann", "printer");
        CHECK("Ann to things", reach_passes(&r, &p));
        p = reach_from_tunnel(&r, f, "ben", "printer");
        CHECK("Ben to the printer", !reach_passes(&r, &p));
        p = reach_from_tunnel(&r, f, "ben", "lamp");
        CHECK("Ben to the lamp", reach_passes(&r, &p));
        p = reach_from_tunnel(&r, f, "ann", "tablet");
        CHECK("Ann to the segment itself", reach_passes(&r, &p));
        p.at[AXIS_SOURCE] += 77;
        CHECK("an address of nobody", !reach_passes(&r, &p));
    }
    struct packet knock = reach_talk(&r, FAMILY_IPV4, "internet", "gateway", IP_UDP, 51820);
    CHECK("the tunnel's port", reach_passes(&r, &knock));
    knock.at[AXIS_DESTINATION_PORT] = 51821;
    CHECK("the port beside it", !reach_passes(&r, &knock));
    reach_end(&r);
}

/* ---- openings ---- */

#define OPENING(members) REACH_PAIR "port_openings: {in: {device: lamp, " members "}}\n"

TEST(an_opening_translates_by_ipv4_and_names_the_device_by_ipv6)
{
    struct reach r = reach_compile(OPENING("service: https"));
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        struct packet p = reach_talk(&r, f, "internet", "lamp", IP_TCP, 443);
        CHECK("its port", reach_passes(&r, &p));
        p.at[AXIS_DESTINATION_PORT] = 80;
        CHECK("another port", !reach_passes(&r, &p));
        p = reach_talk(&r, f, "internet", "printer", IP_TCP, 443);
        CHECK("another device", !reach_passes(&r, &p));
    }
    CHECK_NEAR("translations", r.policy->translations.n, 1, 0, "");
    const struct translation *t = &r.policy->translations.v[0];
    CHECK("of its port", t->protocol == IP_TCP && t->port_from == 443 && t->port_to == 443);
    CHECK("to the device", t->to_ipv4 == reach_device(&r, "lamp")->ipv4);
    CHECK("what leaves is translated", r.policy->translates_ipv4);
    reach_end(&r);
}

TEST(an_opening_may_be_for_some_callers)
{
    struct reach r = reach_compile(OPENING("service: https, from: [9.9.9.0/24]"));
    struct packet p = reach_talk(&r, FAMILY_IPV4, "internet", "lamp", IP_TCP, 443);
    CHECK("a caller of the range", reach_passes(&r, &p));
    p.at[AXIS_SOURCE] = reach_address("9.9.8.10");
    CHECK("another caller", !reach_passes(&r, &p));
    p = reach_talk(&r, FAMILY_IPV6, "internet", "lamp", IP_TCP, 443);
    CHECK("by IPv6, of which the range says nothing", !reach_passes(&r, &p));
    reach_end(&r);
}

TEST(by_ipv4_a_statement_alone_lets_nobody_in)
{
    struct reach r = reach_compile(REACH_PAIR "statements: [{from: anyone, to: lamp, services: [https]}]\n");
    struct packet p = reach_talk(&r, FAMILY_IPV4, "internet", "lamp", IP_TCP, 443);
    CHECK("by IPv4", !reach_passes(&r, &p));
    p = reach_talk(&r, FAMILY_IPV6, "internet", "lamp", IP_TCP, 443);
    CHECK("by IPv6", reach_passes(&r, &p));
    CHECK("from inside", reach_may(&r, "laptop", "lamp", IP_TCP, 443));
    reach_end(&r);
}

/* ---- discovery ---- */

static struct packet call(const struct reach *r, enum family f, const char *from, const char *group, unsigned from_port,
                          unsigned port)
{
    struct packet p = reach_talk(r, f, from, "gateway", IP_UDP, port);
    if (group)
        p.at[AXIS_DESTINATION] = reach_address(group);
    p.at[AXIS_SOURCE_PORT] = from_port;
    return p;
}

/* Groups and ports: RFC 6762 section 3 (224.0.0.251, ff02::fb, 5353); UPnP Device Architecture 2.0 section 1 (239.255.255.250,
 * ff02::c, ff05::c, 1900). */
TEST(relays_are_heard_and_answered)
{
    struct reach r =
        reach_compile(REACH_PAIR "relays:\n"
                                 "  find: {kind: mdns, from: [home], to: [things], services: [_ipps._tcp]}\n"
                                 "  play: {kind: ssdp, from: [home], to: [things]}\n");
    const struct {
        const char *what, *from, *group;
        enum family family;
        unsigned from_port, port;
        bool passes;
    } CASES[] = {
        { "a question", "laptop", "224.0.0.251", FAMILY_IPV4, 5353, 5353, true },
        { "a question by IPv6", "laptop", "ff02::fb", FAMILY_IPV6, 5353, 5353, true },
        { "an answer to all", "printer", "224.0.0.251", FAMILY_IPV4, 5353, 5353, true },
        { "an answer to the gateway", "printer", NULL, FAMILY_IPV6, 5353, 5353, true },
        { "a question of another segment", "visitor", "224.0.0.251", FAMILY_IPV4, 5353, 5353, false },
        { "a search", "laptop", "239.255.255.250", FAMILY_IPV4, 50000, 1900, true },
        { "a search in the site", "laptop", "ff05::c", FAMILY_IPV6, 50000, 1900, true },
        { "an answer to a search", "printer", NULL, FAMILY_IPV4, 1900, 50000, true },
        { "what only looks like one", "printer", NULL, FAMILY_IPV4, 1901, 50000, false },
        { "an answer from where nothing is sought", "laptop", NULL, FAMILY_IPV4, 1900, 50000, false },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const struct packet p =
            call(&r, CASES[i].family, CASES[i].from, CASES[i].group, CASES[i].from_port, CASES[i].port);
        CHECK(CASES[i].what, reach_passes(&r, &p) == CASES[i].passes);
    }
    CHECK("finding is not using", !reach_may(&r, "laptop", "printer", IP_TCP, 631));
    CHECK_TEXT(
        "what is seen", r.policy->notes.v[0].says,
        STR("'find': devices in home will see what calls itself _ipps._tcp in things, by the file: printer. To see is "
            "not to use: that needs a statement"));
    CHECK_TEXT(
        "what is seen", r.policy->notes.v[1].says,
        STR("'play': devices in home will see anything at all in things; no device there is said to offer ssdp. To "
            "see is not to use: that needs a statement"));
    reach_end(&r);
}

TEST(a_second_relay_adds_what_is_new)
{
    struct reach r =
        reach_compile(REACH_PAIR "relays:\n"
                                 "  one: {kind: mdns, from: [home], to: [things]}\n"
                                 "  two: {kind: mdns, from: [guests], to: [things]}\n"
                                 "  again: {kind: mdns, from: [home], to: [things], services: [_ipp._tcp]}\n");
    uint32_t n[3] = { 0 };
    for (uint32_t i = 0; i < r.policy->table.chains.v[CHAIN_TO_GATEWAY].rules.n; i++) {
        const struct rule *x = &r.policy->table.chains.v[CHAIN_TO_GATEWAY].rules.v[i];
        if (x->origin == ORIGIN_RELAY)
            n[x->which]++;
    }
    CHECK_NEAR("the first: calls in both families, answers", n[0], 3, 0, "rules");
    CHECK_NEAR("the second: calls", n[1], 2, 0, "rules");
    CHECK_NEAR("the third, of the same segments", n[2], 0, 0, "rules");
    reach_end(&r);
}

TEST(a_hub_reaches_things_of_another_segment_by_a_statement_of_its_own)
{
    struct reach r =
        reach_compile(REACH_PAIR "statements: [{id: hub, from: console, to: things, services: [http, mqtt]}]\n");
    CHECK("the hub to a lamp", reach_may(&r, "console", "lamp", IP_TCP, 1883));
    CHECK("for other services", !reach_may(&r, "console", "lamp", IP_TCP, 22));
    CHECK("another device", !reach_may(&r, "tablet", "lamp", IP_TCP, 1883));
    CHECK("the lamp to the hub", !reach_may(&r, "lamp", "console", IP_TCP, 1883));
    const struct packet told = reach_answer(&r, reach_talk(&r, FAMILY_IPV4, "console", "lamp", IP_TCP, 1883), 0);
    CHECK("the lamp's answer", reach_passes(&r, &told));
    reach_end(&r);
}

/* ---- names ---- */

TEST(an_internet_name_is_a_set_that_the_gateway_fills)
{
    struct reach r =
        reach_compile(REACH_PAIR "statements:\n"
                                 "  - {from: lamp, to: [backup.example, time.example], services: [https]}\n"
                                 "  - {from: printer, to: time.example}\n");
    CHECK_NEAR("names", r.policy->names.n, 2, 0, "");
    struct packet p = reach_talk(&r, FAMILY_IPV4, "lamp", "internet", IP_TCP, 443);
    CHECK("elsewhere", !reach_passes(&r, &p));
    p.named = 1;
    CHECK("the first name", reach_passes(&r, &p));
    p.named = 2;
    CHECK("the second name", reach_passes(&r, &p));
    p = reach_talk(&r, FAMILY_IPV6, "printer", "internet", IP_TCP, 25);
    p.named = 1;
    CHECK("another's name", !reach_passes(&r, &p));
    p.named = 2;
    CHECK("its own", reach_passes(&r, &p));
    CHECK_TEXT("in the table", r.policy->table.named.v[1], STR("time.example"));
    reach_end(&r);
}

static struct str note_at(const struct reach *r, const char *begins)
{
    for (uint32_t i = 0; i < r->policy->notes.n; i++)
        if (r->policy->notes.v[i].says.n >= strlen(begins) &&
            memcmp(r->policy->notes.v[i].says.p, begins, strlen(begins)) == 0)
            return r->policy->notes.v[i].says;
    return (struct str){ 0 };
}

TEST(blocked_names_are_as_strong_as_they_are)
{
#define BLOCKED                                                               \
    REACH_HOUSE REACH_LINE                                                    \
        "segments: {home: {blocked_names: [casino.example, shop.example]}}\n" \
        "devices: {tablet: {kind: tablet, room: hall, at_m: [1, 1, 1], segment: home, link: wifi}}\n"
    struct reach open = reach_compile(BLOCKED "statements: [{from: home, to: internet}]\n");
    CHECK_TEXT("all is open", note_at(&open, "'home' is not told"),
               STR("'home' is not told the addresses of casino.example and shop.example by the gateway's resolver, and "
                   "that is "
                   "all: who knows an address passes. Another resolver can be asked by plain name service (port 53) "
                   "and can be "
                   "asked over TLS or QUIC (port 853); name service within the web (RFC 8484) looks like any page"));
    struct reach shut = reach_compile(BLOCKED "statements: [{from: home, to: internet, services: [https, dot]}]\n");
    CHECK_TEXT("plain is shut", note_at(&shut, "'home' is not told"),
               STR("'home' is not told the addresses of casino.example and shop.example by the gateway's resolver, and "
                   "that is "
                   "all: who knows an address passes. Another resolver cannot be asked by plain name service (port 53) "
                   "and can "
                   "be asked over TLS or QUIC (port 853); name service within the web (RFC 8484) looks like any page"));
    reach_end(&open);
    reach_end(&shut);
}

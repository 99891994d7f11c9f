/* The stage, the probes and the child process they live in, with rules written by hand for this test: nft(8) and the kernel
 * decide, and what must be seen follows from the rules' plain meaning. */
#include <string.h>
#include <unistd.h>

#include "base/units.h"
#include "check.h"
#include "reach/rehearse_act.h"
#include "reach/rehearse_apart.h"

/* Two segments and the internet; two devices in the first, one in the second. */
enum { INTERNET = 1, FIRST, SECOND, OTHER, NODES };

static axis_value address(const char *text)
{
    enum family f;
    axis_value v = 0;
    if (!address_read(str_from(text), &f, &v))
        fail_msg("no address: %s", text);
    return v;
}

struct small {
    struct stage_plan plan;
    struct stage_wire wires[3];
    struct stage_node nodes[NODES];
    struct stage_address wire_addresses[3][2], node_addresses[NODES][2];
};

static const char *const WIRES[3][3] = { { "wan", "45.1.0.2", "2600:1::2" },
                                         { "lan.one", "10.1.0.1", "fd00:0:0:1::1" },
                                         { "lan.two", "10.2.0.1", "fd00:0:0:2::1" } };
static const char *const AT[NODES][2] = { { "", "" },
                                          { "45.1.0.1", "2600:1::1" },
                                          { "10.1.0.10", "fd00:0:0:1::10" },
                                          { "10.1.0.11", "fd00:0:0:1::11" },
                                          { "10.2.0.10", "fd00:0:0:2::10" } };

static void small_network(struct small *s)
{
    memset(s, 0, sizeof *s);
    for (unsigned i = 0; i < 3; i++) {
        s->wire_addresses[i][0] = (struct stage_address){ FAMILY_IPV4, address(WIRES[i][1]), 24 };
        s->wire_addresses[i][1] = (struct stage_address){ FAMILY_IPV6, address(WIRES[i][2]), 64 };
        s->wires[i] = (struct stage_wire){ .interface = str_from(WIRES[i][0]),
                                           .mac = 0x020000000100 + i,
                                           .addresses = { s->wire_addresses[i], 2 } };
    }
    for (unsigned i = 1; i < NODES; i++) {
        const unsigned wire = i == INTERNET ? 0 : i == OTHER ? 2 : 1;
        s->node_addresses[i][0] = (struct stage_address){ FAMILY_IPV4, address(AT[i][0]), 24 };
        s->node_addresses[i][1] = (struct stage_address){ FAMILY_IPV6, address(AT[i][1]), 64 };
        s->nodes[i] = (struct stage_node){ .wire = wire,
                                           .mac = 0x020000000200 + i,
                                           .addresses = { s->node_addresses[i], 2 },
                                           .next_hop = { s->wire_addresses[wire][0].address,
                                                         s->wire_addresses[wire][1].address } };
    }
    s->plan.wires.v = s->wires;
    s->plan.wires.n = 3;
    s->plan.nodes.v = s->nodes;
    s->plan.nodes.n = NODES;
    s->plan.next_hop[FAMILY_IPV4] = address(AT[INTERNET][0]);
    s->plan.next_hop[FAMILY_IPV6] = address(AT[INTERNET][1]);
}

/* The first segment may ask the second at TCP and UDP 80 and ping it; the device with one MAC address alone may also ask at
 * 8443.  The second may start nothing.  Both use the internet.  Forged senders are dropped. */
static const char RULES[] =
    "flush ruleset\n"
    "table inet t {\n"
    " chain forward {\n"
    "  type filter hook forward priority filter; policy drop;\n"
    "  iifname \"lan.one\" ip saddr != 10.1.0.0/24 drop\n"
    "  iifname \"lan.one\" ip6 saddr != fd00:0:0:1::/64 drop\n"
    "  ct state established,related accept\n"
    "  iifname \"lan.one\" oifname \"lan.two\" tcp dport 80 accept\n"
    "  iifname \"lan.one\" oifname \"lan.two\" udp dport 80 accept\n"
    "  iifname \"lan.one\" oifname \"lan.two\" meta l4proto { icmp, icmpv6 } accept\n"
    "  iifname \"lan.one\" oifname \"lan.two\" ether saddr 02:00:00:00:02:03 tcp dport 8443 accept\n"
    "  iifname { \"lan.one\", \"lan.two\" } oifname \"wan\" accept\n"
    "  iifname \"wan\" drop\n"
    "  meta l4proto tcp reject with tcp reset\n"
    "  reject with icmpx admin-prohibited\n"
    " }\n"
    " chain input {\n"
    "  type filter hook input priority filter; policy drop;\n"
    "  ct state established,related accept\n"
    "  meta l4proto icmpv6 icmpv6 type { nd-neighbor-solicit, nd-neighbor-advert } accept\n"
    "  udp dport 53 accept\n"
    " }\n"
    "}\n";

enum { REFUSED = SEEN_REFUSED, THROUGH = SEEN_ARRIVED | SEEN_ANSWERED, SILENT = 0, HAS_ARRIVED = SEEN_ARRIVED };

static const struct row {
    const char *what;
    uint32_t from, to;
    const char *protocol; /* tcp, udp, ping, or forged */
    uint16_t port;
    const char *forged_v4, *forged_v6;
    uint8_t seen;
} ROWS[] = {
    { "first to second, web", FIRST, OTHER, "tcp", 80, "", "", THROUGH },
    { "first to second, UDP", FIRST, OTHER, "udp", 80, "", "", THROUGH },
    { "first to second, echo", FIRST, OTHER, "ping", 0, "", "", THROUGH },
    { "first to second, not allowed", FIRST, OTHER, "tcp", 81, "", "", REFUSED },
    { "first to second, UDP not allowed", FIRST, OTHER, "udp", 81, "", "", REFUSED },
    { "by MAC, the one", SECOND, OTHER, "tcp", 8443, "", "", THROUGH },
    { "by MAC, another", FIRST, OTHER, "tcp", 8443, "", "", REFUSED },
    { "second to first, web", OTHER, FIRST, "tcp", 80, "", "", REFUSED },
    { "second to first, UDP", OTHER, FIRST, "udp", 80, "", "", REFUSED },
    { "second to first, echo", OTHER, FIRST, "ping", 0, "", "", REFUSED },
    { "same segment", FIRST, SECOND, "tcp", 4444, "", "", THROUGH },
    { "same segment, UDP", SECOND, FIRST, "udp", 4444, "", "", THROUGH },
    { "same segment, echo", SECOND, FIRST, "ping", 0, "", "", THROUGH },
    { "out", OTHER, INTERNET, "tcp", 443, "", "", THROUGH },
    { "out, UDP", FIRST, INTERNET, "udp", 443, "", "", THROUGH },
    { "in", INTERNET, FIRST, "tcp", 80, "", "", SILENT },
    { "in, UDP", INTERNET, OTHER, "udp", 80, "", "", SILENT },
    { "in, echo", INTERNET, OTHER, "ping", 0, "", "", SILENT },
    { "gateway, name service", FIRST, STAGE_GATEWAY, "udp", 53, "", "", THROUGH },
    { "gateway, another port", FIRST, STAGE_GATEWAY, "udp", 54, "", "", SILENT },
    { "gateway, TCP", FIRST, STAGE_GATEWAY, "tcp", 53, "", "", SILENT },
    { "gateway starts", STAGE_GATEWAY, FIRST, "tcp", 99, "", "", THROUGH },
    { "forged, honest", FIRST, OTHER, "forged", 80, "10.1.0.77", "fd00:0:0:1::77", HAS_ARRIVED },
    { "forged, of the other segment", FIRST, OTHER, "forged", 80, "10.2.0.77", "fd00:0:0:2::77", SILENT },
    { "forged, of the internet", SECOND, OTHER, "forged", 80, "45.7.7.7", "2600:7::7", SILENT },
};
enum { N_PROBES = 2 * RT_COUNT(ROWS) };

static struct probe probe_of(const struct row *row, enum family f, const struct small *s, uint16_t source_port)
{
    const uint32_t wire = s->nodes[row->from ? row->from : row->to].wire;
    const stage_address_list *from = row->from ? &s->nodes[row->from].addresses : &s->wires[wire].addresses;
    const stage_address_list *to = row->to ? &s->nodes[row->to].addresses : &s->wires[wire].addresses;
    struct probe p = { .from = row->from,
                       .to = row->to,
                       .family = f,
                       .protocol = IP_UDP,
                       .source = from->v[f].address,
                       .destination = to->v[f].address,
                       .source_port = source_port,
                       .port = row->port };
    if (strcmp(row->protocol, "tcp") == 0)
        p.protocol = IP_TCP;
    if (strcmp(row->protocol, "ping") == 0)
        p.protocol = f == FAMILY_IPV4 ? IP_ICMP : IP_ICMPV6;
    p.is_forged = strcmp(row->protocol, "forged") == 0;
    if (p.is_forged)
        p.source = address(f == FAMILY_IPV4 ? row->forged_v4 : row->forged_v6);
    return p;
}

/* Performs the rows on a small network with these rules; seen[] is what the kernel did. */
static enum rt_code perform(struct check_run *c, const char *rules, struct probe *probes, struct expectation *expected,
                            uint8_t *seen)
{
    static struct small s;
    small_network(&s);
    for (uint32_t i = 0; i < N_PROBES; i++) {
        const struct row *row = &ROWS[i / 2];
        probes[i] = probe_of(row, (enum family)(i % 2), &s, (uint16_t)(40000 + i));
        const bool is_tcp = probes[i].protocol == IP_TCP;
        expected[i] = (struct expectation){ row->seen, SEEN_ARRIVED };
        if (!probes[i].is_forged)
            expected[i].mask = (uint8_t)(SEEN_ANSWERED | SEEN_REFUSED | (is_tcp ? 0 : SEEN_ARRIVED));
    }
    bool *unlimited = apart_memory(1);
    const struct act act = { str_from(rules), probes, expected, N_PROBES, seen };
    struct play play = { .stage = &s.plan, .acts = &act, .n_acts = 1, .answers_unlimited = unlimited };
    const enum rt_code code = apart_run(&c->run, play_perform, &play, &c->problems);
    apart_memory_free(unlimited, 1);
    return code;
}

/* Skips where the kernel forbids namespaces, and says so; anything else that is missing is a failure. */
static bool must_skip(struct check_run *c, enum rt_code code)
{
    if (code != RT_MISSING || c->problems.list.n == 0 || !strstr(c->problems.list.v[0].msg, "namespace"))
        return false;
    print_message("skipped: %s\n", c->problems.list.v[0].msg);
    return true;
}

TEST(kernel_does_what_the_rules_say)
{
    struct check_run c = check_run_begin();
    struct probe probes[N_PROBES];
    struct expectation expected[N_PROBES];
    uint8_t *seen = apart_memory(N_PROBES);
    const enum rt_code code = perform(&c, RULES, probes, expected, seen);
    if (must_skip(&c, code))
        skip();
    CHECK_OK(&c, code);
    for (uint32_t i = 0; i < N_PROBES; i++) {
        const struct row *row = &ROWS[i / 2];
        char what[100];
        snprintf(what, sizeof what, "%s, IPv%d", row->what, i % 2 ? 6 : 4);
        CHECK_NEAR(what, seen[i] & expected[i].mask, expected[i].bits & expected[i].mask, 0, "bits seen");
    }
    apart_memory_free(seen, N_PROBES);
    check_run_end(&c);
}

/* The same rows with one rule gone: exactly the rows that rest on it come out otherwise. */
TEST(a_missing_rule_is_noticed)
{
    struct check_run c = check_run_begin();
    struct probe probes[N_PROBES];
    struct expectation expected[N_PROBES];
    uint8_t *seen = apart_memory(N_PROBES);
    char rules[sizeof RULES];
    memcpy(rules, RULES, sizeof RULES);
    static const char GONE[] = "iifname \"lan.one\" oifname \"lan.two\" udp dport 80 accept";
    char *at = strstr(rules, GONE);
    assert_non_null(at);
    memset(at, ' ', sizeof GONE - 1);
    const enum rt_code code = perform(&c, rules, probes, expected, seen);
    if (must_skip(&c, code))
        skip();
    CHECK_OK(&c, code);
    for (uint32_t i = 0; i < N_PROBES; i++) {
        const struct row *row = &ROWS[i / 2];
        const bool rests_on_it =
            strcmp(row->what, "first to second, UDP") == 0 || strcmp(row->what, "forged, honest") == 0;
        CHECK(row->what, act_agrees(&probes[i], expected[i], seen[i], true) == !rests_on_it);
    }
    apart_memory_free(seen, N_PROBES);
    check_run_end(&c);
}

TEST(rules_that_do_not_load_are_told)
{
    struct check_run c = check_run_begin();
    struct probe probes[N_PROBES];
    struct expectation expected[N_PROBES];
    uint8_t *seen = apart_memory(N_PROBES);
    const enum rt_code code = perform(&c, "table inet t { chain c { nonsense } }\n", probes, expected, seen);
    if (must_skip(&c, code))
        skip();
    CHECK("refused", code == RT_MISSING);
    CHECK("nft's own words", strstr(c.problems.list.v[0].msg, "nonsense") != NULL);
    apart_memory_free(seen, N_PROBES);
    check_run_end(&c);
}

static enum rt_code crash(void *user RT_UNUSED, const struct run *run RT_UNUSED, struct rt_problems *p RT_UNUSED)
{
    _exit(3);
}

TEST(a_child_that_dies_is_told)
{
    struct check_run c = check_run_begin();
    const enum rt_code code = apart_run(&c.run, crash, NULL, &c.problems);
    if (must_skip(&c, code))
        skip();
    CHECK("an error", code == RT_IO);
    check_run_end(&c);
}

#include "data/services.h"

#include <string.h>

#include "base/file.h"
#include "check.h"
#include "csv.h"

static const char *flow_label(struct check_run *c, const struct service_flow *f)
{
    return arena_printf(c->run.arena, "%s %s %u-%u", f->name, ip_protocol_name(f->protocol), f->from, f->to);
}

/* True if the system's list holds  NAME  PORT/PROTOCOL  on one line. */
static bool in_list(struct str list, const char *name, unsigned port, const char *protocol)
{
    const size_t n_name = strlen(name);
    for (const char *line = list.p; line && *line; line = strchr(line, '\n') ? strchr(line, '\n') + 1 : NULL) {
        char text[16];
        unsigned p;
        if (strncmp(line, name, n_name) == 0 && (line[n_name] == '\t' || line[n_name] == ' ') &&
            sscanf(line + n_name, " %u/%15[a-z]", &p, text) == 2 && p == port && strcmp(text, protocol) == 0)
            return true;
    }
    return false;
}

/* Every row said to be read stands in the system's own copy of the IANA list (Debian netbase). */
TEST(read_rows_are_in_the_systems_list)
{
    struct check_run c = check_run_begin();
    struct str list;
    struct rt_problems quiet;
    rt_problems_init(&quiet, c.run.arena);
    if (file_read(c.run.arena, "/etc/services", 1 << 20, &list, &quiet) != RT_OK) {
        print_message("    skipped: this system has no /etc/services\n");
        check_run_end(&c);
        skip();
    }
    uint32_t n;
    const struct service_flow *f = service_flows(&n);
    unsigned n_compared = 0;
    for (uint32_t i = 0; i < n; i++) {
        if (f[i].port_seen != SEEN_READ || (f[i].protocol != IP_TCP && f[i].protocol != IP_UDP))
            continue;
        /* a range is listed by its first port under the range's name */
        CHECK(flow_label(&c, &f[i]), in_list(list, f[i].iana_name, f[i].from, ip_protocol_name(f[i].protocol)));
        n_compared++;
    }
    CHECK("most rows are compared", n_compared > 40);
    check_run_end(&c);
}

/* The same ports as the reference table of home services, which was collected apart from this one. */
TEST(ports_agree_with_the_reference)
{
    static const struct {
        const char *flow;
        enum ip_protocol protocol;
        const char *row;
    } PAIRS[] = {
        { "dhcp", IP_UDP, "dhcpv4_request" },
        { "dhcpv6", IP_UDP, "dhcpv6_request" },
        { "dns", IP_UDP, "dns" },
        { "dns", IP_TCP, "dns_tcp" },
        { "dot", IP_TCP, "dns_over_tls" },
        { "doq", IP_UDP, "dns_over_quic" },
        { "ntp", IP_UDP, "ntp" },
        { "mdns", IP_UDP, "mdns_v4" },
        { "ssdp", IP_UDP, "ssdp_v4" },
        { "llmnr", IP_UDP, "llmnr" },
        { "ipp", IP_TCP, "ipp" },
        { "ipps", IP_TCP, "ipps" },
        { "raw_print", IP_TCP, "raw_printing" },
        { "lpd", IP_TCP, "lpd" },
        { "smb", IP_TCP, "smb" },
        { "netbios", IP_UDP, "netbios" },
        { "nfs", IP_TCP, "nfs" },
        { "ssh", IP_TCP, "ssh" },
        { "http", IP_TCP, "http" },
        { "https", IP_TCP, "https" },
        { "http3", IP_UDP, "http3" },
        { "rtsp", IP_TCP, "rtsp" },
        { "rtsps", IP_TCP, "rtsp_tls" },
        { "sip", IP_UDP, "sip" },
        { "sip", IP_TCP, "sip" },
        { "sips", IP_TCP, "sips" },
        { "stun", IP_UDP, "stun_turn" },
        { "stuns", IP_TCP, "stun_turn" },
        { "mqtt", IP_TCP, "mqtt" },
        { "mqtts", IP_TCP, "mqtts" },
        { "coap", IP_UDP, "coap" },
        { "coap", IP_TCP, "coap_tcp" },
        { "coaps", IP_UDP, "coaps" },
        { "coaps", IP_TCP, "coap_tcp" },
        { "matter", IP_UDP, "matter" },
        { "snmp", IP_UDP, "snmp" },
        { "syslog", IP_UDP, "syslog" },
        { "syslog_tls", IP_TCP, "syslog_tls" },
        { "wake", IP_UDP, "wake_on_lan" },
        { "casting", IP_TCP, "media_casting_control" },
        { "ws_discovery", IP_UDP, "ws_discovery" },
    };
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/services.csv"));
    for (size_t i = 0; i < RT_COUNT(PAIRS); i++) {
        uint32_t n, row = 0;
        const struct service_flow *f = service_find(str_from(PAIRS[i].flow), &n);
        CHECK(PAIRS[i].flow, f != NULL);
        while (n > 0 && f->protocol != PAIRS[i].protocol)
            f++, n--;
        CHECK(PAIRS[i].flow, n > 0);
        while (row < t.rows.n && !str_is(csv_cell(&t, row, "id"), PAIRS[i].row))
            row++;
        CHECK(PAIRS[i].row, row < t.rows.n);
        const char *want = str_dup(c.run.arena, csv_cell(&t, row, "destination_port")).p;
        const char *port = arena_printf(c.run.arena, "%u", f->from);
        CHECK(flow_label(&c, f), strstr(want, port) != NULL);
        const char *protocol = str_dup(c.run.arena, csv_cell(&t, row, "protocol")).p;
        CHECK(flow_label(&c, f), strstr(protocol, ip_protocol_name(f->protocol)) != NULL);
        /* what the reference says cannot cross a router must be marked so, and nothing else */
        const struct str crosses = csv_cell(&t, row, "crosses_segments");
        CHECK(flow_label(&c, f), f->is_local == (str_is(crosses, "no") || str_is(crosses, "yes (relay) else no")));
    }
    check_run_end(&c);
}

TEST(service_rows_are_sound)
{
    struct check_run c = check_run_begin();
    uint32_t n;
    const struct service_flow *f = service_flows(&n);
    for (uint32_t i = 0; i < n; i++) {
        const char *label = flow_label(&c, &f[i]);
        CHECK(label, f[i].from <= f[i].to && f[i].source_from <= f[i].source_to);
        CHECK(label, f[i].says[0] && f[i].standard[0]);
        const bool has_ports = f[i].protocol == IP_TCP || f[i].protocol == IP_UDP;
        CHECK(label, !has_ports || f[i].from > 0);
        uint32_t n_found;
        const struct service_flow *found = service_find(str_from(f[i].name), &n_found);
        /* rows of one name lie together, so each is reached from its name */
        CHECK(label, found && &f[i] >= found && &f[i] < found + n_found);
    }
    uint32_t none;
    CHECK("an unknown name", service_find(STR("dn"), &none) == NULL && none == 0);
    check_run_end(&c);
}

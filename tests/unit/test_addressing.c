/* The address plan of houses written as text. */
#include "reach/addressing.h"

#include <string.h>

#include "address_kit.h"
#include "check.h"

/* ---- small helpers ---- */

static void check_prefix(struct check_run *c, const char *what, struct prefix got, const char *want)
{
    struct buf b = { .arena = c->run.arena };
    if (got.is_given)
        prefix_write(&b, got);
    CHECK_TEXT(what, buf_done(&b), str_from(want));
}

static void check_address(struct check_run *c, const char *what, enum family family, axis_value got, const char *want)
{
    struct buf b = { .arena = c->run.arena };
    address_write(&b, family, got);
    CHECK_TEXT(what, buf_done(&b), str_from(want));
}

static bool is_ipv4_within(struct prefix p, const char *block)
{
    struct prefix outer;
    return prefix_read(str_from(block), &outer) && p.len >= outer.len && prefix_overlaps(p, outer);
}

/* ---- what the file gives is kept ---- */

TEST(given_values_are_kept)
{
    struct check_run c = check_run_begin();
    const struct address_plan *plan = address_plan_of(
        &c, "segments:\n"
            "  family: { vlan: 12, ipv4: 10.20.10.0/24, ipv6: \"fd3a:91c4:7e20:a::/64\", dhcp_from: 10.20.10.100, "
            "dhcp_to: 10.20.10.220 }\n"
            "devices:\n"
            "  printer: { kind: printer, room: hall, segment: family, link: wired, ipv4: 10.20.10.9, "
            "mac: \"00:00:5E:00:53:01\" }\n");
    const struct segment_plan *s = &plan->segments[0];
    CHECK("nothing chosen", !s->vlan_chosen && !s->ipv4_chosen && !s->ula_chosen && !s->dhcp_chosen);
    CHECK_NEAR("VLAN", s->vlan, 12, 0, "");
    check_prefix(&c, "IPv4", s->ipv4, "10.20.10.0/24");
    check_prefix(&c, "IPv6", s->ula, "fd3a:91c4:7e20:a::/64");
    check_address(&c, "gateway", FAMILY_IPV4, s->ipv4_gateway, "10.20.10.1");
    check_address(&c, "gateway", FAMILY_IPV6, s->ula_gateway, "fd3a:91c4:7e20:a::1");
    check_address(&c, "gateway on the link", FAMILY_IPV6, s->link_local_gateway, "fe80::1");
    check_address(&c, "from", FAMILY_IPV4, s->dhcp_from, "10.20.10.100");
    check_address(&c, "to", FAMILY_IPV4, s->dhcp_to, "10.20.10.220");
    check_address(&c, "printer", FAMILY_IPV4, plan->devices[0].ipv4, "10.20.10.9");
    check_address(&c, "printer", FAMILY_IPV6, plan->devices[0].ula, "fd3a:91c4:7e20:a::9");
    CHECK("MAC", plan->devices[0].mac == 0x00005e005301 && !plan->devices[0].mac_is_stand_in);
    check_prefix(&c, "no line, no global prefix", s->global, "");
    check_run_end(&c);
}

/* The choices that the header tells of, worked out by hand. */
TEST(the_rest_is_chosen_along_with_what_is_given)
{
    struct check_run c = check_run_begin();
    const struct address_plan *plan =
        address_plan_of(&c, "line: { kind: fibre, down_mbps: 100, up_mbps: 10, ipv6_prefix_len: 56 }\n"
                            "segments:\n"
                            "  family: { vlan: 20, ipv4: 10.77.20.0/24, ipv6: \"fd3a:91c4:7e20:20::/64\" }\n"
                            "  kids: {}\n"
                            "  things: {}\n"
                            "  cameras: { vlan: 200 }\n"
                            "  guests: { vlan: 1200, ipv4: 10.77.30.0/24 }\n");
    const struct segment_plan *s = plan->segments;
    CHECK("VLANs", s[0].vlan == 20 && s[1].vlan == 10 && s[2].vlan == 30 && s[3].vlan == 200 && s[4].vlan == 1200);
    check_prefix(&c, "third octet is the VLAN", s[1].ipv4, "10.77.10.0/24");
    check_prefix(&c, "third octet is the VLAN", s[3].ipv4, "10.77.200.0/24");
    CHECK("30 is taken: another one of the /16",
          is_ipv4_within(s[2].ipv4, "10.77.0.0/16") && !is_ipv4_within(s[2].ipv4, "10.77.30.0/24"));
    check_prefix(&c, "VLAN in decimal digits", s[1].ula, "fd3a:91c4:7e20:10::/64");
    check_prefix(&c, "VLAN in decimal digits", s[4].ula, "fd3a:91c4:7e20:1200::/64");
    check_prefix(&c, "delegated stand-in", plan->delegated, "2001:db8::/56");
    check_prefix(&c, "its part", s[1].global, "2001:db8:0:10::/64");
    check_prefix(&c, "0x200 is beyond 256 of them", s[3].global, "2001:db8::/64");
    check_prefix(&c, "0x1200 too", s[4].global, "2001:db8:0:1::/64");
    check_address(&c, "gateway", FAMILY_IPV6, s[1].global_gateway, "2001:db8:0:10::1");
    check_run_end(&c);
}

/* A device's address says where a segment without a subnet is. */
TEST(a_subnet_is_chosen_around_its_devices)
{
    struct check_run c = check_run_begin();
    const struct address_plan *plan = address_plan_of(
        &c, "segments:\n  family: { vlan: 10 }\n"
            "devices:\n"
            "  printer: { kind: printer, room: hall, segment: family, link: wired, ipv4: 172.18.3.9 }\n");
    check_prefix(&c, "around the printer", plan->segments[0].ipv4, "172.18.3.0/24");
    check_run_end(&c);
}

/* RFC 1918, clause 3: 10/8, 172.16/12, 192.168/16; the first 16 of 10/8's and common subnets are left to others. */
TEST(chosen_subnets_are_private_and_uncommon)
{
    struct check_run c = check_run_begin();
    const struct address_plan *plan = address_plan_of(&c, "segments: { a: {}, b: {}, c: {} }\n");
    for (int i = 0; i < 3; i++) {
        CHECK("private", is_ipv4_within(plan->segments[i].ipv4, "10.0.0.0/8"));
        CHECK("not a low one", !is_ipv4_within(plan->segments[i].ipv4, "10.0.0.0/12"));
        CHECK("size", plan->segments[i].ipv4.len == 24);
    }
    check_run_end(&c);
}

/* With 10/8 and 172.16/12 in use elsewhere, 192.168/16 is left, without its most common subnets. */
TEST(foreign_ranges_are_kept_away_from)
{
    struct check_run c = check_run_begin();
    const struct address_plan *plan =
        address_plan_of(&c, "line: { kind: cable, down_mbps: 100, up_mbps: 10, box: { mode: router, ipv4: "
                            "192.168.128.0/17 } }\n"
                            "segments: { a: {}, b: { vlan: 1000 }, c: {} }\n"
                            "foreign_ranges: [10.0.0.0/8, 172.16.0.0/12, 192.168.64.0/18, \"fd00::/9\"]\n");
    for (int i = 0; i < 3; i++) {
        const struct prefix p = plan->segments[i].ipv4;
        CHECK("in what is left", is_ipv4_within(p, "192.168.0.0/18"));
        CHECK("not a common one", !is_ipv4_within(p, "192.168.0.0/23") && !is_ipv4_within(p, "192.168.2.0/24"));
        /* fd80::/9 is what fd00::/9 leaves of fd00::/8 */
        CHECK("IPv6", plan->segments[i].ula.base >> 119 == 0xfd80 >> 7);
    }
    CHECK("twice", plan->translated_twice && plan->box_ipv4.is_given);
    check_run_end(&c);
}

/* RFC 4193, clause 3.1: prefix fc00::/7 with L set (fd00::/8), 40 bits, 16 bits of subnet, one /48 for the site; 3.2: the 40
 * bits are not chosen by hand, so that two houses differ. */
TEST(local_ipv6_has_forty_bits_of_the_house)
{
    struct check_run c = check_run_begin();
    uint64_t ids[40];
    for (uint32_t i = 0; i < RT_COUNT(ids); i++) {
        struct house *h = address_house(&c, "segments: { a: {}, b: {} }\n");
        h->name = str_from(arena_printf(c.run.arena, "House %u", (unsigned)i));
        struct address_plan *plan = NULL;
        CHECK_OK(&c, addresses_plan(&c.run, h, &plan, &c.problems));
        const struct prefix a = plan->segments[0].ula, b = plan->segments[1].ula;
        CHECK("fd00::/8", a.base >> 120 == 0xfd && a.len == 64);
        CHECK("one /48", a.base >> 80 == b.base >> 80 && a.base != b.base);
        ids[i] = (uint64_t)(a.base >> 80) & 0xffffffffff;
        for (uint32_t k = 0; k < i; k++)
            CHECK("another house, another number", ids[k] != ids[i]);
    }
    unsigned n_ones[40] = { 0 };
    for (uint32_t i = 0; i < RT_COUNT(ids); i++)
        for (int bit = 0; bit < 40; bit++)
            n_ones[bit] += (unsigned)(ids[i] >> bit & 1);
    for (int bit = 0; bit < 40; bit++) /* of 40 throws fewer than 5 or more than 35 come once in ten million */
        CHECK("each bit is now one, now the other", n_ones[bit] >= 5 && n_ones[bit] <= 35);
    check_run_end(&c);
}

/* ---- ranges handed out ---- */

TEST(ranges_keep_out_of_reservations)
{
    static const struct {
        const char *what, *segment, *address, *from, *to;
    } CASES[] = {
        { "upper half", "ipv4: 10.9.8.0/24", "10.9.8.9", "10.9.8.128", "10.9.8.254" },
        { "before a reservation", "ipv4: 10.9.8.0/24", "10.9.8.200", "10.9.8.128", "10.9.8.199" },
        { "behind a reservation", "ipv4: 10.9.8.0/24", "10.9.8.150", "10.9.8.151", "10.9.8.254" },
        { "its last address", "ipv4: 10.9.8.0/24", "10.9.8.254", "10.9.8.128", "10.9.8.253" },
        { "a small one", "ipv4: 10.9.8.0/28", "10.9.8.9", "10.9.8.10", "10.9.8.14" },
        { "a large one", "ipv4: 10.9.8.0/23", "10.9.8.9", "10.9.9.0", "10.9.9.254" },
        { "only its beginning given", "ipv4: 10.9.8.0/24, dhcp_from: 10.9.8.50", "10.9.8.9", "10.9.8.50",
          "10.9.8.254" },
        { "only its end given", "ipv4: 10.9.8.0/24, dhcp_to: 10.9.8.200", "10.9.8.9", "10.9.8.128", "10.9.8.200" },
        { "known devices only", "ipv4: 10.9.8.0/24, known_only: true", "10.9.8.9", "0.0.0.0", "0.0.0.0" },
        { "no room to hand out is no error then", "ipv4: 10.9.8.0/30, known_only: true", "10.9.8.2", "0.0.0.0",
          "0.0.0.0" },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        const struct address_plan *plan = address_plan_of(
            &c, arena_printf(c.run.arena,
                             "segments:\n  family: { vlan: 10, %s }\ndevices:\n"
                             "  printer: { kind: printer, room: hall, segment: family, link: wired, ipv4: %s }\n",
                             CASES[i].segment, CASES[i].address));
        check_address(&c, CASES[i].what, FAMILY_IPV4, plan->segments[0].dhcp_from, CASES[i].from);
        check_address(&c, CASES[i].what, FAMILY_IPV4, plan->segments[0].dhcp_to, CASES[i].to);
        check_run_end(&c);
    }
}

/* Twice the devices fit into the lower half: 63 * 2 = 126 of /24's, 127 * 2 = 254 of /23's. */
TEST(chosen_subnets_have_room_to_grow)
{
    static const struct {
        unsigned n_devices, len;
    } CASES[] = { { 0, 24 }, { 63, 24 }, { 64, 23 }, { 127, 23 }, { 128, 22 }, { 255, 22 }, { 256, 21 } };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        struct buf b = { .arena = c.run.arena };
        buf_text(&b, "segments: { things: { vlan: 30 } }\n");
        for (unsigned d = 0; d < CASES[i].n_devices; d++)
            buf_printf(&b, "%s  light_%u: { kind: light, room: hall, segment: things, link: wifi }\n",
                       d ? "" : "devices:\n", d);
        const struct address_plan *plan = address_plan_of(&c, buf_done(&b).p);
        CHECK_NEAR("prefix length", plan->segments[0].ipv4.len, CASES[i].len, 0, "");
        CHECK_NEAR("devices", plan->segments[0].n_devices, CASES[i].n_devices, 0, "");
        check_run_end(&c);
    }
}

/* ---- names ---- */

/* RFC 8375: home.arpa; RFC 1123, 2.1 and RFC 1035, 2.3.1: letters, digits, hyphens, none at an end, 63 at most; capitals make
 * no other name (RFC 1035, 2.3.3). */
TEST(names_are_labels_under_home_arpa)
{
    static const struct {
        const char *id, *name;
    } CASES[] = {
        { "printer", "printer.home.arpa" },
        { "front_door", "front-door.home.arpa" },
        { "front-door", "front-door-2.home.arpa" },
        { "Front_Door", "front-door-3.home.arpa" },
        { "x_", "x.home.arpa" },
        { "a23456789_123456789_123456789_123456789_123456789_123456789_123",
          "a23456789-123456789-123456789-123456789-123456789-123456789-123.home.arpa" },
        { "A23456789_123456789_123456789_123456789_123456789_123456789_123",
          "a23456789-123456789-123456789-123456789-123456789-1234567-2.home.arpa" },
    };
    struct check_run c = check_run_begin();
    struct buf b = { .arena = c.run.arena };
    buf_text(&b, "segments: { things: {} }\ndevices:\n");
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        buf_printf(&b, "  %s: { kind: light, room: hall, segment: things, link: wifi }\n", CASES[i].id);
    const struct address_plan *plan = address_plan_of(&c, buf_done(&b).p);
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        CHECK_TEXT(CASES[i].id, plan->devices[i].name, str_from(CASES[i].name));
    check_run_end(&c);
}

/* ---- devices that are not on IP ---- */

TEST(devices_without_ip_have_nothing)
{
    struct check_run c = check_run_begin();
    const struct address_plan *plan =
        address_plan_of(&c, "segments: { things: {} }\ndevices:\n"
                            "  sensor: { kind: sensor, room: hall, segment: things, link: mesh }\n"
                            "  clock: { kind: other, room: hall, link: none }\n"
                            "  lost: { kind: laptop, room: hall, link: wifi }\n");
    for (int i = 0; i < 3; i++) {
        const struct device_plan *d = &plan->devices[i];
        CHECK("nothing", d->zone == NO_REF && d->ipv4 == 0 && d->ula == 0 && d->name.n == 0 && d->mac == 0);
    }
    CHECK("none counted", plan->segments[0].n_devices == 0);
    check_run_end(&c);
}

/* ---- tunnels ---- */

TEST(tunnels_have_subnets_and_peers_of_their_own)
{
    struct check_run c = check_run_begin();
    const struct address_plan *plan =
        address_plan_of(&c, "segments: { family: { vlan: 10, ipv4: 10.20.10.0/24 }, work: { vlan: 250, ipv4: "
                            "10.20.250.0/24 } }\n"
                            "people: { anna: {}, joel: {}, mia: {} }\n"
                            "remote_access:\n"
                            "  home: { segment: family, port: 51820, people: [anna, joel] }\n"
                            "  desk: { segment: work, port: 51821, people: [joel] }\n");
    const struct tunnel_plan *t = plan->tunnels;
    CHECK("zones", t[0].zone == ZONE_SEGMENT + 2 && t[1].zone == ZONE_SEGMENT + 3 && plan->n_zones == ZONE_SEGMENT + 4);
    CHECK("ports", t[0].port == 51820 && t[1].port == 51821);
    CHECK("in the house's /16", is_ipv4_within(t[0].ipv4, "10.20.0.0/16") && is_ipv4_within(t[1].ipv4, "10.20.0.0/16"));
    CHECK("apart", !prefix_overlaps(t[0].ipv4, t[1].ipv4) && !prefix_overlaps(t[0].ipv4, plan->segments[1].ipv4));
    CHECK("both", t[0].peers.n == 2 && t[0].peers.v[0].person == 0 && t[0].peers.v[1].person == 1);
    for (int i = 0; i < 2; i++)
        for (uint32_t k = 0; k < t[i].peers.n; k++) {
            CHECK("peer in its tunnel", prefix_holds(t[i].ipv4, FAMILY_IPV4, t[i].peers.v[k].ipv4) &&
                                            prefix_holds(t[i].ula, FAMILY_IPV6, t[i].peers.v[k].ula));
            CHECK("not the gateway", t[i].peers.v[k].ipv4 != t[i].ipv4_gateway);
        }
    CHECK("two addresses", t[0].peers.v[0].ipv4 != t[0].peers.v[1].ipv4);
    check_run_end(&c);
}

/* ---- notes ---- */

/* Each house, the notes it must bring, in order, each with its line; the head takes nine lines. */
static const struct {
    const char *what, *house, *notes;
} NOTES[] = {
    { "all well",
      "line: { kind: fibre, down_mbps: 100, up_mbps: 10, ipv6_prefix_len: 56, box: { mode: modem } }\n"
      "segments: { family: {} }\n",
      "" },
    { "the box routes",
      "line:\n  { kind: cable, down_mbps: 100, up_mbps: 10,\n"
      "    box: { mode: router } }\n"
      "segments: { family: {} }\npeople: { anna: {} }\n"
      "remote_access:\n  away: { segment: family, port: 51820, people: [anna] }\n",
      "12: IPv4 addresses are translated twice, by the gateway and by the provider's box behind which it stands; set "
      "the "
      "box to pass the line through if it can\n"
      "12: the box's own subnet is not known: look it up and say 'ipv4', since no segment may overlap it\n"
      "16: remote access 'away' must be let through by the provider's box too, to the gateway\n" },
    { "a shared address, no IPv6",
      "line: { kind: mobile, down_mbps: 100, up_mbps: 10, public_ipv4: shared }\n"
      "segments: { family: {} }\n"
      "devices:\n  server: { kind: server, room: hall, segment: family, link: wired, mac: \"00:00:5e:00:53:01\" }\n"
      "port_openings:\n  web: { device: server, service: https }\n",
      "10: the provider shares the line's IPv4 address with others (RFC 6598): nobody outside can start a conversation "
      "over "
      "IPv4\n"
      "15: port opening 'web' cannot be reached from outside: the provider shares the line's IPv4 address with others "
      "(RFC "
      "6598), and there is no IPv6\n" },
    { "no IPv4",
      "line: { kind: fibre, down_mbps: 100, up_mbps: 10, public_ipv4: none, ipv6_prefix_len: 48 }\n"
      "segments: { family: {} }\npeople: { anna: {} }\n"
      "remote_access:\n  away: { segment: family, port: 51820, people: [anna] }\n",
      "10: the line has no IPv4: nobody outside can start a conversation over it\n"
      "14: remote access 'away' can be reached from outside by IPv6 only: the line has no IPv4 address of its own\n" },
    { "one /64 for three segments",
      "line: { kind: fibre, down_mbps: 100, up_mbps: 10, ipv6_prefix_len: 64 }\n"
      "segments: { family: {}, kids: {}, guests: {} }\n",
      "10: the line's IPv6 prefix, a /64, has room for 1 of 3 segments; without IPv6 to the internet: kids, guests; "
      "ask the "
      "provider for a /60\n" },
    { "a VLAN of forgotten sockets, and a subnet of many homes",
      "segments:\n  family: { vlan: 1, ipv4: 192.168.1.0/24 }\npeople: { anna: {} }\n"
      "remote_access:\n  away: { segment: family, port: 51820, people: [anna] }\n",
      "11: segment 'family' is VLAN 1, which ports carry where nothing else is set: a socket that was forgotten leads "
      "into "
      "it\n"
      "11: segment 'family' uses 192.168.1.0/24, as many homes do: from one of those, remote access cannot reach "
      "it\n" },
    { "little room, and a range for nobody",
      "segments:\n  family: { vlan: 10, ipv4: 10.9.8.0/24, dhcp_from: 10.9.8.246 }\n"
      "  work: { vlan: 20, ipv4: 10.9.9.0/24, dhcp_from: 10.9.9.100, known_only: true }\n",
      "11: segment 'family' hands out 9 addresses only, beside 0 devices of the file: little room to grow\n"
      "12: segment 'work' lets in known devices only, which have addresses of their own: nobody gets one of its "
      "range\n" },
    { "a small subnet: five of eight addresses are for devices, and three times two is six",
      "segments: { work: { vlan: 10, ipv4: 10.9.8.0/29, known_only: true } }\ndevices:\n"
      "  a: { kind: other, room: hall, segment: work, link: wifi, mac: \"00:00:5e:00:53:01\" }\n"
      "  b: { kind: other, room: hall, segment: work, link: wifi, mac: \"00:00:5e:00:53:02\" }\n"
      "  c: { kind: other, room: hall, segment: work, link: wifi, mac: \"00:00:5e:00:53:03\" }\n",
      "10: segment 'work' has room for 5 devices of the file, and there are 3: little room to grow\n" },
    { "devices",
      "segments: { work: { known_only: true } }\ndevices:\n"
      "  phone: { kind: phone, room: hall, segment: work, link: wifi, varies_mac: true }\n"
      "  lost: { kind: laptop, room: hall, link: wifi }\n"
      "  light: { kind: light, room: hall, segment: work, link: wifi }\n",
      "13: device 'lost' is in no segment: it has no address and no statement lets it do anything\n"
      "12: the MAC address of 2 devices is not known yet, so that a stand-in takes its place until 'mac' is filled in: "
      "phone, light\n" },
};

TEST(notes_say_what_breaks_and_where)
{
    for (size_t i = 0; i < RT_COUNT(NOTES); i++) {
        struct check_run c = check_run_begin();
        const struct address_plan *plan = address_plan_of(&c, NOTES[i].house);
        struct buf b = { .arena = c.run.arena };
        for (uint32_t k = 0; k < plan->notes.n; k++)
            buf_printf(&b, "%u: %.*s\n", (unsigned)plan->notes.v[k].at.line, STR_ARG(plan->notes.v[k].says));
        CHECK_TEXT(NOTES[i].what, buf_done(&b), str_from(NOTES[i].notes));
        check_run_end(&c);
    }
}

/* ---- zones and endpoints ---- */

static const char ZONE_HOUSE[] =
    "segments: { family: { says: the family, vlan: 10 }, guests: { vlan: 70 } }\n"
    "people: { anna: {}, tom: {} }\n"
    "devices:\n"
    "  phone: { kind: phone, owner: anna, room: hall, segment: family, link: wifi }\n"
    "  tablet: { kind: tablet, owner: tom, room: hall, segment: family, link: wifi }\n"
    "  printer: { kind: printer, room: hall, segment: guests, link: wired }\n"
    "  sensor: { kind: sensor, owner: tom, room: hall, link: mesh }\n"
    "groups:\n"
    "  screens: { members: [tablet, phone] }\n"
    "  all: { members: [printer, screens, tom] }\n"
    "remote_access:\n"
    "  away: { says: from away, segment: family, port: 51820, people: [anna] }\n"
    "  back: { segment: family, port: 51821, people: [tom] }\n"
    "interfaces:\n  eth0: {}\n  eth1.70: { segment: guests }\n  eth2: { segment: guests }\n";

TEST(zones_have_words_ids_and_interfaces)
{
    static const struct {
        const char *words, *id, *interface;
    } ZONES[] = {
        { "the internet", "internet", "eth0" },
        { "the gateway", "gateway", "" },
        { "the family", "family", "lan.10" },
        { "guests", "guests", "eth1.70" },
        { "from away", "away", "away" },
        { "back", "back", "away2" },
        { "", "", "" },
    };
    struct check_run c = check_run_begin();
    const struct address_plan *plan = address_plan_of(&c, ZONE_HOUSE);
    for (uint32_t i = 0; i < RT_COUNT(ZONES); i++) {
        CHECK_TEXT("words", zone_words(plan, i), str_from(ZONES[i].words));
        CHECK_TEXT("id", zone_id(plan, i), str_from(ZONES[i].id));
        CHECK_TEXT("interface", zone_interface(plan, i), str_from(ZONES[i].interface));
    }
    check_run_end(&c);
}

TEST(endpoints_are_resolved_to_devices)
{
    static const struct {
        enum endpoint_kind kind;
        uint32_t i;
        const char *devices; /* indices */
    } CASES[] = {
        { END_ANYONE, NO_REF, "0 1 2 3 " }, { END_INTERNET, NO_REF, "" }, { END_GATEWAY, NO_REF, "" },
        { END_NAME, NO_REF, "" },           { END_SEGMENT, 0, "0 1 " },   { END_SEGMENT, 1, "2 " },
        { END_GROUP, 0, "0 1 " },           { END_GROUP, 1, "0 1 2 3 " }, { END_DEVICE, 2, "2 " },
        { END_PERSON, 1, "1 3 " },
    };
    struct check_run c = check_run_begin();
    const struct house *h = address_house(&c, ZONE_HOUSE);
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const struct endpoint e = { .kind = CASES[i].kind, .i = CASES[i].i };
        bool failed = false;
        const index_list got = endpoint_devices(c.run.arena, h, &e, &failed);
        struct buf b = { .arena = c.run.arena };
        for (uint32_t k = 0; k < got.n; k++)
            buf_printf(&b, "%u ", (unsigned)got.v[k]);
        CHECK("memory", !failed);
        CHECK_TEXT(arena_printf(c.run.arena, "case %zu", i), buf_done(&b), str_from(CASES[i].devices));
    }
    check_run_end(&c);
}

/* ---- all houses, little memory ---- */

TEST(demo_houses_are_planned_without_an_error)
{
    static const char *const HOUSES[] = { "larch_end", "quay_flat", "whin_farm" };
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++) {
        struct check_run c = check_run_begin();
        struct house *h = NULL;
        struct address_plan *plan = NULL;
        CHECK_OK(&c, house_read(&c.run, check_path(&c, arena_printf(c.run.arena, "houses/%s.house.yaml", HOUSES[i])),
                                &h, &c.problems));
        CHECK_OK(&c, addresses_plan(&c.run, h, &plan, &c.problems));
        address_laws(plan);
        check_run_end(&c);
    }
}

TEST(an_empty_house_is_planned)
{
    struct check_run c = check_run_begin();
    const struct address_plan *plan = address_plan_of(&c, "");
    CHECK("the internet and the gateway", plan->n_zones == ZONE_SEGMENT && plan->notes.n == 0);
    CHECK_TEXT("interface", zone_interface(plan, ZONE_INTERNET), STR("wan"));
    check_run_end(&c);
}

/* The arena's ceiling is raised step by step until the plan is made; each stop before is a clean one. */
TEST(running_out_of_memory_is_an_error)
{
    struct check_run c = check_run_begin();
    const struct house *h = address_house(&c, ZONE_HOUSE);
    unsigned n_stopped = 0;
    for (size_t limit = 64;; limit += 64) {
        struct arena *small = arena_new(limit);
        struct check_run r = check_run_begin();
        r.run.arena = small;
        struct address_plan *plan = NULL;
        const enum rt_code code = addresses_plan(&r.run, h, &plan, &r.problems);
        r.run.arena = r.problems.arena;
        arena_free(small);
        CHECK("made or out of memory", (code == RT_OK) == (plan != NULL) && (code == RT_OK || code == RT_NOMEM));
        check_run_end(&r);
        if (code == RT_OK)
            break;
        n_stopped++;
    }
    CHECK("it was stopped now and then", n_stopped > 20);
    check_run_end(&c);
}

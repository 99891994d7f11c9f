/* The gateway's segments: VLANs, addresses of its own, what it hands out, and to whom by name. */
#include "base/units.h"
#include "book/settings_int.h"
#include "promise/wire_words.h"

/* ---- VLANs and interfaces ---- */

enum { FOR_SEGMENTS = 1u << PROMISE_APART | 1u << PROMISE_REACH };

static const char *const VLAN_COLUMNS[] = { "VLAN ID", "name" };

static void vlans(struct settings_maker *m)
{
    settings_block(m,
                   (struct settings_block){
                       .title = STR("VLANs"),
                       .where = STR("VLANs, each an interface of the router"),
                       .standard = STR("IEEE 802.1Q (VLAN IDs 1 to 4094)"),
                       .intro = STR("Each segment is a VLAN, a subnet and an interface with rules. VLAN 1, as it was "
                                    "made, carries nothing of the house unless it stands here."),
                       .instead = STR("A gateway without VLANs serves each segment by a socket of its own with an "
                                      "untagged cable to a switch of its own. Lost: one cable for all, and segments "
                                      "beyond the number of sockets."),
                       .check = STR("The gateway lists each of these interfaces as up."),
                       .of = "segment",
                       SETTINGS_COLUMNS(VLAN_COLUMNS) });
    for (uint32_t i = 0; i < m->h->segments.n; i++) {
        const struct segment *s = &m->h->segments.v[i];
        const struct segment_plan *plan = &m->x->plan->segments[i];
        const struct str why =
            settings_because(m, settings_promise_of_segment(m, FOR_SEGMENTS, i), STR(""),
                             settings_text(m, "a segment for %.*s", STR_ARG(s->says.n ? s->says : s->id)).p);
        settings_add(m, s->id, "VLAN ID", settings_text(m, "%u", plan->vlan), why);
        settings_add(m, s->id, "name", s->id, why);
        if (plan->vlan_chosen)
            settings_add(m, s->id, "note", STR("chosen by the plan: the house file leaves it open"), why);
    }
}

static const char *const INTERFACE_COLUMNS[] = { "IPv4 address", "IPv6 local address", "IPv6 from the line" };

static struct str from_line(struct settings_maker *m, const struct segment_plan *s)
{
    if (!s->global.is_given)
        return STR("none");
    const axis_value subnet = (s->global.base - m->x->plan->delegated.base) >> 64;
    const struct str host = settings_address(m, FAMILY_IPV6, s->global_gateway - s->global.base);
    return settings_text(m, "subnet ID 0x%llx of the delegated /%u, interface ID %.*s", (unsigned long long)subnet,
                         m->x->plan->delegated.len, STR_ARG(host));
}

static void interfaces(struct settings_maker *m)
{
    settings_block(m, (struct settings_block){
                          .title = STR("Interfaces of the segments"),
                          .where = STR("IP addresses of the router in each VLAN"),
                          .standard = STR("RFC 1918; RFC 4193 (local IPv6); RFC 8415 (prefix delegation); RFC 4291"),
                          .intro = STR("The first address of each subnet is the gateway's."),
                          .instead = STR("Without local IPv6 (RFC 4193) leave it out. Lost: fixed IPv6 addresses of "
                                         "printers and recorders when the provider changes the prefix."),
                          .check = STR("From a device in the segment the gateway's address answers an echo."),
                          .of = "segment",
                          SETTINGS_COLUMNS(INTERFACE_COLUMNS) });
    for (uint32_t i = 0; i < m->h->segments.n; i++) {
        const struct str id = m->h->segments.v[i].id;
        const struct segment_plan *s = &m->x->plan->segments[i];
        const struct str why =
            settings_text(m, "the way out of %.*s, and the only one", STR_ARG(settings_segment(m, i)));
        settings_add(m, id, INTERFACE_COLUMNS[0],
                     s->ipv4.is_given ? settings_address_in(m, s->ipv4, s->ipv4_gateway) : STR("none"), why);
        settings_add(m, id, INTERFACE_COLUMNS[1],
                     s->ula.is_given ? settings_address_in(m, s->ula, s->ula_gateway) : STR("none"), why);
        settings_add(m, id, INTERFACE_COLUMNS[2], from_line(m, s), why);
        if (s->ula.is_given)
            settings_add(m, id, "IPv6 link-local address", settings_address(m, FAMILY_IPV6, s->link_local_gateway),
                         why);
    }
}

/* ---- handing out ---- */

static const char *const DHCP_COLUMNS[] = { "range", "router (option 3) and DNS (6)", "time (42)" };

static struct str range_words(struct settings_maker *m, const struct segment_plan *s)
{
    if (!s->dhcp_from)
        return STR("none: reservations only");
    const struct str from = settings_address(m, FAMILY_IPV4, s->dhcp_from);
    const struct str to = settings_address(m, FAMILY_IPV4, s->dhcp_to);
    return settings_text(m, "%.*s to %.*s", STR_ARG(from), STR_ARG(to));
}

static void dhcp_of(struct settings_maker *m, uint32_t i)
{
    const struct segment *said = &m->h->segments.v[i];
    const struct segment_plan *s = &m->x->plan->segments[i];
    if (!s->ipv4.is_given)
        return;
    const struct str router = settings_address(m, FAMILY_IPV4, s->ipv4_gateway);
    const struct str why =
        said->known_only
            ? settings_because(m, settings_promise_of_segment(m, FOR_SEGMENTS, i), STR(""),
                               "only devices of the house file may join, so nobody else is given an address")
            : settings_text(m, "whoever joins %.*s gets what it needs to live, and nothing beside",
                            STR_ARG(settings_segment(m, i)));
    settings_add(m, said->id, DHCP_COLUMNS[0], range_words(m, s), why);
    settings_add(m, said->id, DHCP_COLUMNS[1], router, why);
    settings_add(m, said->id, DHCP_COLUMNS[2], router, why);
    settings_add(m, said->id, "subnet mask (1)",
                 settings_address(m, FAMILY_IPV4, s->ipv4.len ? (axis_value)(UINT32_MAX << (32 - s->ipv4.len)) : 0),
                 why);
    settings_add(m, said->id, "lease (51)", settings_text(m, "%d hours", (int)EXPORT_LEASE_HOURS), why);
    settings_add(m, said->id, "domain (15) and search (119)", STR("home.arpa"), why);
    settings_add(m, said->id, "unknown devices", said->known_only ? STR("refused") : STR("served"), why);
}

static void dhcp(struct settings_maker *m)
{
    settings_block(m, (struct settings_block){
                          .title = STR("Addresses handed out (DHCP)"),
                          .where = STR("DHCP server, one scope for each segment"),
                          .standard = STR("RFC 2131, RFC 2132; RFC 3397 (search); RFC 8375 (home.arpa)"),
                          .intro = STR("The gateway is the only DHCP server of the house."),
                          .instead = STR("Without options 42 and 119 leave them out: devices then take the time and "
                                         "full names from where they were made to. Without 'refuse unknown devices' "
                                         "make the range as small as it goes; the rules below still keep strangers "
                                         "from talking beyond their segment."),
                          .check = STR("A phone that joins shows an address of the range, the router and DNS server as "
                                       "here, and the domain home.arpa."),
                          .of = "segment",
                          SETTINGS_COLUMNS(DHCP_COLUMNS) });
    for (uint32_t i = 0; i < m->h->segments.n; i++)
        dhcp_of(m, i);
}

static const char *const RA_COLUMNS[] = { "prefixes (PIO)", "DNS server (RDNSS)", "default router lifetime" };

static void advertisements_of(struct settings_maker *m, uint32_t i)
{
    const struct str id = m->h->segments.v[i].id;
    const struct segment_plan *s = &m->x->plan->segments[i];
    const struct str why = settings_text(m, "devices of %.*s make themselves addresses, or ask for the one reserved",
                                         STR_ARG(settings_segment(m, i)));
    if (!s->ula.is_given) {
        settings_add(m, id, "router advertisements", STR("off: the segment has no IPv6"), why);
        return;
    }
    settings_add(m, id, RA_COLUMNS[0],
                 settings_text(m, "%.*s%s: on-link (L) and autonomous (A) set", STR_ARG(settings_prefix(m, s->ula)),
                               s->global.is_given ? " and the delegated /64" : ""),
                 why);
    settings_add(m, id, RA_COLUMNS[1], settings_address(m, FAMILY_IPV6, s->ula_gateway), why);
    settings_add(m, id, RA_COLUMNS[2], s->global.is_given ? STR("1800 s") : STR("0 s: no way to the internet by IPv6"),
                 why);
    settings_add(m, id, "managed (M) and other (O) flags", STR("both set"), why);
    settings_add(m, id, "search list (DNSSL)", STR("home.arpa"), why);
    settings_add(m, id, "DHCPv6 server",
                 settings_text(m, "on: the reservations below, DNS, time%s",
                               s->dhcp_from ? ", and a range ::1:0 to ::1:ffff" : ""),
                 why);
}

static void advertisements(struct settings_maker *m)
{
    settings_block(m,
                   (struct settings_block){
                       .title = STR("Router advertisements and DHCPv6"),
                       .where = STR("IPv6 of each segment"),
                       .standard = STR("RFC 4861, RFC 4862; RFC 8106 (RDNSS, DNSSL); RFC 8415; RFC 7084 (G-4, L-2)"),
                       .instead = STR("Without DHCPv6 set M to 0: fixed IPv6 addresses are lost, and a statement about "
                                      "a single receiver then rests on its IPv4 address alone."),
                       .check = STR("A device in the segment shows an address of each prefix and, where the line has "
                                    "IPv6, reaches an IPv6 address of the internet."),
                       .of = "segment",
                       SETTINGS_COLUMNS(RA_COLUMNS) });
    for (uint32_t i = 0; i < m->h->segments.n; i++)
        advertisements_of(m, i);
}

/* ---- reservations ---- */

static const char *const RESERVATION_COLUMNS[] = { "MAC address", "IPv4 address", "IPv6 local address", "name",
                                                   "segment" };

/* The first statement that names the device; its sentence. */
static struct str statement_about(struct settings_maker *m, uint32_t device)
{
    for (uint32_t i = 0; i < m->h->statements.n; i++) {
        const struct statement *s = &m->h->statements.v[i];
        for (uint32_t k = 0; k < s->from.n + s->to.n; k++) {
            const struct endpoint *e = k < s->from.n ? &s->from.v[k] : &s->to.v[k - s->from.n];
            if (e->kind == END_DEVICE && e->i == device)
                return settings_quote(m, s->says);
        }
    }
    return STR("");
}

static void reservation(struct settings_maker *m, uint32_t d)
{
    const struct device *said = &m->h->devices.v[d];
    const struct device_plan *plan = &m->x->plan->devices[d];
    const struct segment *segment = &m->h->segments.v[said->segment.i];
    const char *why = said->varies_mac && segment->known_only
                          ? "it changes its MAC address and would be kept out: switch that off for this network"
                      : said->varies_mac ? "it changes its MAC address: the reservation holds once that is switched off"
                                         : "the rules and names know it by these";
    const struct str reason = settings_because(
        m, statement_about(m, d),
        settings_promise_of_thing(m, 1u << PROMISE_POWER | 1u << PROMISE_OUTAGE | 1u << PROMISE_CABLE, said->id), why);
    struct buf mac = settings_buf(m);
    mac_write(&mac, plan->mac);
    if (plan->mac_is_stand_in)
        settings_add_open(m, said->id, RESERVATION_COLUMNS[0], STR("from the device"), reason);
    else
        settings_add(m, said->id, RESERVATION_COLUMNS[0], settings_done(m, &mac), reason);
    settings_add(m, said->id, RESERVATION_COLUMNS[1],
                 plan->ipv4 ? settings_address(m, FAMILY_IPV4, plan->ipv4) : STR("none"), reason);
    settings_add(m, said->id, RESERVATION_COLUMNS[2],
                 plan->ula ? settings_address(m, FAMILY_IPV6, plan->ula) : STR("none"), reason);
    settings_add(m, said->id, RESERVATION_COLUMNS[3], plan->name, reason);
    settings_add(m, said->id, RESERVATION_COLUMNS[4], segment->id, reason);
}

static void reservations(struct settings_maker *m)
{
    settings_block(m, (struct settings_block){
                          .title = STR("Reservations"),
                          .where = STR("DHCP server: static leases, by MAC address"),
                          .standard = STR("RFC 2131 (section 4.3.1, manual allocation); RFC 8415 (IA_NA); RFC 8375"),
                          .intro = STR("A MAC address that the house file does not have stands in the settings of the "
                                       "device or on its label: fill it in, write it under mac in the house file, and "
                                       "export again, since rules may rest on it. Who is not in the house file gets an "
                                       "address of the range, and no name."),
                          .instead = STR("Where static leases are few, keep those for printers, recorders, cameras and "
                                         "everything that a rule names, and leave phones and tablets to the range. "
                                         "Lost: their names, and rules about one of them."),
                          .check = STR("Each device, switched off and on again, shows the address that stands here."),
                          .of = "device",
                          SETTINGS_COLUMNS(RESERVATION_COLUMNS) });
    for (uint32_t s = 0; s < m->h->segments.n; s++)
        for (uint32_t d = 0; d < m->h->devices.n; d++)
            if (m->x->plan->devices[d].zone != NO_REF && m->h->devices.v[d].segment.i == s)
                reservation(m, d);
}

void settings_segments(struct settings_maker *m)
{
    vlans(m);
    interfaces(m);
    dhcp(m);
    advertisements(m);
    reservations(m);
}

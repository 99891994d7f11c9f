/* The address plan: networks with their subnets, every device with its place, what is kept clear of, the provider's box. */
#include <string.h>

#include "book/net_words.h"

static const struct address_plan *plan_of(const struct book *b) { return b->proof->policy->plan; }

/* ---- networks ---- */

/* "10.20.10.100 to .220": what the two ends have in common is said once. */
static struct str handed_out(struct book *b, const struct segment_plan *s)
{
    if (!s->dhcp_from)
        return STR("known devices only");
    const struct str from = net_address(b, FAMILY_IPV4, s->dhcp_from), to = net_address(b, FAMILY_IPV4, s->dhcp_to);
    if (s->dhcp_from >> 8 != s->dhcp_to >> 8)
        return book_text(b, "%.*s to %.*s", STR_ARG(from), STR_ARG(to));
    return book_text(b, "%.*s to .%u", STR_ARG(from), (unsigned)(s->dhcp_to & 255));
}

/* Which /64 of the prefix that the provider hands on; the prefix itself is not known before the line is. */
static struct str global_words(struct book *b, const struct segment_plan *s)
{
    if (!s->global.is_given)
        return STR("none");
    return book_text(b, "number %llx", (unsigned long long)((s->global.base - plan_of(b)->delegated.base) >> 64));
}

static void write_networks(struct book *b)
{
    static const struct flow_column COLUMNS[] = {
        { "network", 1.0, FLOW_LEFT },
        { "VLAN", 0, FLOW_RIGHT },
        { "IPv4", 0, FLOW_LEFT },
        { "handed out", 0, FLOW_LEFT },
        { "IPv6 in the house", 0, FLOW_LEFT },
        { "on the internet", 0, FLOW_LEFT },
    };
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < b->h->segments.n; i++) {
        const struct segment_plan *s = &plan_of(b)->segments[i];
        const struct flow_cell cells[] = {
            net_strong(net_plain_words(b, b->h->segments.v[i].id)),
            net_cell(book_text(b, "%u", s->vlan)),
            net_cell(net_prefix(b, s->ipv4)),
            s->dhcp_from ? net_cell(handed_out(b, s)) : net_soft(handed_out(b, s)),
            net_cell(net_prefix(b, s->ula)),
            net_cell(global_words(b, s)),
        };
        flow_row(b->flow, cells);
    }
    if (plan_of(b)->delegated.is_given)
        flow_soft(b->flow, "On the internet: which /64 of the /%u that the provider hands on; numbers are hexadecimal.",
                  plan_of(b)->delegated.len);
    else
        flow_soft(b->flow, "The line has no IPv6: its addresses are for the house alone.");
}

/* ---- devices ---- */

/* Devices of a segment, by address. */
static index_list devices_of(struct book *b, uint32_t segment)
{
    const struct device_plan *plans = plan_of(b)->devices;
    index_list out = { ARENA_ARRAY(b->arena, uint32_t, b->h->devices.n + 1), 0 };
    for (uint32_t i = 0; out.v && i < b->h->devices.n; i++) {
        if (plans[i].zone != ZONE_SEGMENT + segment)
            continue;
        uint32_t k = out.n++;
        for (; k && plans[out.v[k - 1]].ipv4 > plans[i].ipv4; k--)
            out.v[k] = out.v[k - 1];
        out.v[k] = i;
    }
    return out;
}

/* The name without what all have in common. */
static struct str host_of(struct str name)
{
    const char *dot = name.n ? memchr(name.p, '.', name.n) : NULL;
    return dot ? (struct str){ name.p, (size_t)(dot - name.p) } : name;
}

static void device_row(struct book *b, uint32_t i, struct str network)
{
    const struct device_plan *plan = &plan_of(b)->devices[i];
    const struct flow_cell mac =
        plan->mac_is_stand_in ? net_soft(STR("_________________")) : net_cell(net_mac(b, plan->mac));
    const struct flow_cell cells[] = { net_strong(network),
                                       net_cell(net_device_words(b, i)),
                                       net_cell(host_of(plan->name)),
                                       mac,
                                       net_cell(net_address(b, FAMILY_IPV4, plan->ipv4)),
                                       net_cell(net_address(b, FAMILY_IPV6, plan->ula)) };
    flow_row(b->flow, cells);
}

static void write_without(struct book *b)
{
    struct buf text = { .arena = b->arena };
    uint32_t n = 0, k = 0;
    for (uint32_t i = 0; i < b->h->devices.n; i++)
        n += plan_of(b)->devices[i].zone == NO_REF;
    for (uint32_t i = 0; i < b->h->devices.n; i++)
        if (plan_of(b)->devices[i].zone == NO_REF)
            net_list_word(&text, k++, n, net_device_words(b, i));
    if (n)
        flow_soft(b->flow,
                  "Without an address of their own, since they speak through the low-power mesh or not at all: %.*s.",
                  STR_ARG(buf_done(&text)));
}

static void write_devices(struct book *b)
{
    static const struct flow_column COLUMNS[] = {
        { "network", 0, FLOW_LEFT },     { "device", 1.0, FLOW_LEFT }, { "name", 0, FLOW_LEFT },
        { "MAC address", 0, FLOW_LEFT }, { "IPv4", 0, FLOW_LEFT },     { "IPv6 in the house", 0, FLOW_LEFT },
    };
    uint32_t n_unknown = 0, n = 0;
    for (uint32_t i = 0; i < b->h->devices.n; i++) {
        n += plan_of(b)->devices[i].zone != NO_REF;
        n_unknown += plan_of(b)->devices[i].zone != NO_REF && plan_of(b)->devices[i].mac_is_stand_in;
    }
    flow_section(b->flow, "addresses-devices", "Every device and its address");
    if (!n) {
        flow_text(b->flow, "The file names no device that has an address.");
        return;
    }
    flow_text(
        b->flow,
        "The gateway always gives a device the same address, by its MAC address (a DHCP reservation), and answers to "
        "its "
        "name with .home.arpa behind it. In IPv6 the address is the device's if it asks for it (DHCPv6); it may make "
        "itself others in the same subnet.%s",
        n_unknown
            ? " Where a line is drawn the MAC address is not known yet: read it off the device, write it here and "
              "into the house file as its mac; until then the reservation waits."
            : "");
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t s = 0; s < b->h->segments.n; s++) {
        const index_list list = devices_of(b, s);
        for (uint32_t i = 0; i < list.n; i++)
            device_row(b, list.v[i], i ? STR("") : net_plain_words(b, b->h->segments.v[s].id));
    }
    write_without(b);
}

/* ---- from away ---- */

/* "Anna has 10.20.250.16 and fd3a::16 and Joel ..." */
static struct str peers_words(struct book *b, uint32_t i)
{
    const struct tunnel_plan *t = &plan_of(b)->tunnels[i];
    struct buf text = { .arena = b->arena };
    for (uint32_t k = 0; k < t->peers.n; k++)
        buf_printf(&text, "%s%.*s has %.*s and %.*s", k ? ", " : "", STR_ARG(net_person_words(b, t->peers.v[k].person)),
                   STR_ARG(net_address(b, FAMILY_IPV4, t->peers.v[k].ipv4)),
                   STR_ARG(net_address(b, FAMILY_IPV6, t->peers.v[k].ula)));
    return buf_done(&text);
}

static void write_from_away(struct book *b)
{
    const struct house *h = b->h;
    flow_heading(b->flow, "From away");
    if (!h->remote_access.n && !h->port_openings.n)
        flow_text(b->flow, "Nothing is opened to the internet: no tunnel from away, no port to a device.");
    for (uint32_t i = 0; i < h->remote_access.n; i++) {
        const struct remote_access *r = &h->remote_access.v[i];
        flow_text(
            b->flow,
            "%.*s: a tunnel to the gateway's UDP port %u. In it %.*s; who is in it counts as one of the network %.*s.",
            STR_ARG(r->says.n ? r->says : r->id), plan_of(b)->tunnels[i].port, STR_ARG(peers_words(b, i)),
            STR_ARG(net_plain_words(b, h->segments.v[r->segment.i].id)));
    }
    for (uint32_t i = 0; i < h->port_openings.n; i++) {
        const struct port_opening *o = &h->port_openings.v[i];
        flow_item(b->flow, "%.*s: %.*s of %.*s can be called from the internet.", STR_ARG(o->says.n ? o->says : o->id),
                  STR_ARG(o->service), STR_ARG(net_device_words(b, o->device.i)));
    }
}

/* ---- what is kept clear of ---- */

static void write_clear(struct book *b)
{
    const struct house *h = b->h;
    struct buf text = { .arena = b->arena };
    for (uint32_t i = 0; i < h->foreign_ranges.n; i++) {
        const struct foreign_range *r = &h->foreign_ranges.v[i];
        buf_printf(&text, "%s%.*s%s%.*s%s", i ? ", " : "", STR_ARG(r->range), r->says.n ? " (" : "", STR_ARG(r->says),
                   r->says.n ? ")" : "");
    }
    flow_heading(b->flow, "What is kept clear of");
    if (h->foreign_ranges.n)
        flow_text(b->flow,
                  "No network of the house may use these, or somebody else's addresses would not be found: %.*s.",
                  STR_ARG(buf_done(&text)));
    else
        flow_text(b->flow, "The file names no foreign range of addresses to keep clear of.");
}

/* ---- the provider's box ---- */

static bool is_same(struct rt_place a, struct rt_place b) { return a.line == b.line && a.col == b.col; }

static bool is_of_line(const struct house *h, const struct note *n)
{
    if (!h->line.at.line)
        return false;
    if (is_same(n->at, h->line.at) || is_same(n->at, h->line.box.at))
        return true;
    for (uint32_t i = 0; i < h->remote_access.n; i++)
        if (is_same(n->at, h->remote_access.v[i].at))
            return true;
    for (uint32_t i = 0; i < h->port_openings.n; i++)
        if (is_same(n->at, h->port_openings.v[i].at))
            return true;
    return false;
}

/* The one that lists all stand-ins for MAC addresses: the table of devices says the same. */
static bool is_of_macs(const struct book *b, const struct note *n)
{
    for (uint32_t i = 0; i < b->h->devices.n; i++)
        if (plan_of(b)->devices[i].mac_is_stand_in && is_same(n->at, b->h->devices.v[i].at))
            return true;
    return false;
}

static void write_notes(struct book *b, bool of_line)
{
    for (uint32_t i = 0; i < plan_of(b)->notes.n; i++) {
        const struct note *n = &plan_of(b)->notes.v[i];
        if (is_of_line(b->h, n) == of_line && !is_of_macs(b, n))
            flow_soft(b->flow, "\u2013 %.*s.", STR_ARG(net_plain_words(b, n->says)));
    }
}

static void write_router(struct book *b)
{
    const struct address_plan *plan = plan_of(b);
    flow_text(b->flow,
              "The box routes, and the house's gateway stands behind it: the gateway's socket to the internet goes "
              "into a socket of the box, and nothing else does.");
    if (plan->box_ipv4.is_given)
        flow_item(b->flow, "Its own subnet stays %.*s; it gives the gateway an address of it, always the same one.",
                  STR_ARG(net_prefix(b, plan->box_ipv4)));
    for (uint32_t i = 0; i < b->h->remote_access.n; i++)
        flow_item(b->flow, "It hands UDP port %u on to the gateway.", plan->tunnels[i].port);
}

static void write_box(struct book *b)
{
    const struct line *line = &b->h->line;
    flow_heading(b->flow, "How the provider's box must be set");
    if (!line->at.line) {
        flow_text(b->flow, "The file tells of no internet line.");
        return;
    }
    if (line->box.mode == BOX_NONE)
        flow_text(b->flow, "There is no box of the provider's: the line ends in the house's gateway.");
    else if (line->box.mode == BOX_MODEM)
        flow_text(b->flow, "The box only passes the line through (it works as a modem, or bridge): the gateway has the "
                           "line's own address and is the only router.");
    else
        write_router(b);
    if (line->box.mode != BOX_NONE && line->box.wifi_on)
        flow_item(b->flow,
                  "Its own Wi-Fi is on, by the file. It is one more voice on the air, and who joins it is outside "
                  "every rule of this book: better switch it off.");
    else if (line->box.mode != BOX_NONE)
        flow_item(b->flow, "Its own Wi-Fi is off: who joined it would be outside every rule of this book.");
    if (plan_of(b)->delegated.is_given)
        flow_item(b->flow, "IPv6: the gateway asks for a prefix (DHCPv6 prefix delegation) and must get a /%u.",
                  plan_of(b)->delegated.len);
    write_notes(b, true);
}

/* ---- the whole ---- */

enum rt_code chapter_addresses(struct book *b, struct rt_problems *p)
{
    (void)p;
    flow_chapter(b->flow, "addresses", "Addresses");
    if (!b->h->segments.n) {
        flow_text(b->flow, "The file does not say how the network is divided, so there is no address plan.");
        return RT_OK;
    }
    flow_text(
        b->flow,
        "The house is divided into %u network%s that only the gateway joins. Each has a VLAN number, which keeps it "
        "apart on the cables, and subnets of its own; the gateway is the first address of each.",
        b->h->segments.n, b->h->segments.n == 1 ? "" : "s");
    write_networks(b);
    write_notes(b, false);
    write_devices(b);
    write_from_away(b);
    write_clear(b);
    write_box(b);
    return RT_OK;
}

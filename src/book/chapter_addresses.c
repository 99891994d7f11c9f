/* The address plan: networks with their subnets, every device with its place, what is kept clear of, the provider's box. */
#include "book/net_words.h"

static const struct address_plan *plan_of(const struct book *b) { return b->proof->policy->plan; }

/* ---- networks ---- */

static struct str handed_out(struct book *b, const struct segment_plan *s)
{
    if (!s->dhcp_from)
        return STR("known devices only");
    return book_text(b, "%.*s to %.*s", STR_ARG(net_address(b, FAMILY_IPV4, s->dhcp_from)),
                     STR_ARG(net_address(b, FAMILY_IPV4, s->dhcp_to)));
}

static void write_ipv4(struct book *b)
{
    static const struct flow_column COLUMNS[] = {
        { "network", 0, FLOW_LEFT },      { "what for", 1.0, FLOW_LEFT },  { "VLAN", 0, FLOW_RIGHT },
        { "subnet, IPv4", 0, FLOW_LEFT }, { "its gateway", 0, FLOW_LEFT }, { "handed out", 0, FLOW_LEFT },
    };

    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < b->h->segments.n; i++) {
        const struct segment_plan *s = &plan_of(b)->segments[i];
        const struct flow_cell cells[] = {
            net_strong(net_plain_words(b, b->h->segments.v[i].id)),
            net_cell(b->h->segments.v[i].says),
            net_cell(book_text(b, "%u", s->vlan)),
            net_cell(net_prefix(b, s->ipv4)),
            net_cell(net_address(b, FAMILY_IPV4, s->ipv4_gateway)),
            s->dhcp_from ? net_cell(handed_out(b, s)) : net_soft(handed_out(b, s)),
        };
        flow_row(b->flow, cells);
    }
}

/* Which /64 of the prefix that the provider hands on; the prefix itself is not known before the line is. */
static struct str global_words(struct book *b, const struct segment_plan *s)
{
    const struct prefix all = plan_of(b)->delegated;
    if (!s->global.is_given)
        return STR("none");
    return book_text(b, "number %llx of the /%u", (unsigned long long)((s->global.base - all.base) >> 64), all.len);
}

static void write_ipv6(struct book *b)
{
    static const struct flow_column COLUMNS[] = {
        { "network", 1.0, FLOW_LEFT },
        { "subnet in the house, IPv6", 0, FLOW_LEFT },
        { "its gateway", 0, FLOW_LEFT },
        { "subnet on the internet", 0, FLOW_LEFT },
    };
    if (plan_of(b)->delegated.is_given)
        flow_text(
            b->flow,
            "In IPv6 every network has two subnets: one for the house alone, which never changes, and a /64 of the "
            "/%u that the provider hands on, for the internet. Which digits the provider's begin with shows when "
            "the line is up; which /64 belongs to which network is fixed here (its number is hexadecimal).",
            plan_of(b)->delegated.len);
    else
        flow_text(b->flow, "The line has no IPv6. Inside the house every network has an IPv6 subnet of its own.");
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < b->h->segments.n; i++) {
        const struct segment_plan *s = &plan_of(b)->segments[i];
        const struct flow_cell cells[] = { net_strong(net_plain_words(b, b->h->segments.v[i].id)),
                                           net_cell(net_prefix(b, s->ula)),
                                           net_cell(net_address(b, FAMILY_IPV6, s->ula_gateway)),
                                           net_cell(global_words(b, s)) };
        flow_row(b->flow, cells);
    }
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

static void device_row(struct book *b, uint32_t i)
{
    const struct device_plan *plan = &plan_of(b)->devices[i];
    const struct flow_cell mac =
        plan->mac_is_stand_in ? (struct flow_cell){ .mark = FLOW_WRITE } : net_cell(net_mac(b, plan->mac));
    const struct flow_cell cells[] = { net_cell(net_device_words(b, i)), net_cell(plan->name), mac,
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
        { "device", 1.0, FLOW_LEFT }, { "name", 1.25, FLOW_LEFT },           { "MAC address", 0.95, FLOW_LEFT },
        { "IPv4", 0, FLOW_LEFT },     { "IPv6 in the house", 0, FLOW_LEFT },
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
        "The gateway always gives a device the same address, by its MAC address (a DHCP reservation), and answers "
        "to its name.%s",
        n_unknown ? " Where a line is drawn, the MAC address is not known yet: read it off the device, write it here "
                    "and into the house file as its mac; until then the reservation waits."
                  : "");
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t s = 0; s < b->h->segments.n; s++) {
        const index_list list = devices_of(b, s);
        if (list.n)
            flow_group(b->flow, "%.*s", STR_ARG(net_plain_words(b, b->h->segments.v[s].id)));
        for (uint32_t i = 0; i < list.n; i++)
            device_row(b, list.v[i]);
    }
    write_without(b);
    flow_soft(b->flow,
              "In IPv6 a device has the address of this table if it asks for one (DHCPv6); it may make itself others "
              "in the same subnet.");
}

/* ---- from away ---- */

static void write_peers(struct book *b, uint32_t i)
{
    static const struct flow_column COLUMNS[] = { { "person", 1.0, FLOW_LEFT },
                                                  { "IPv4 in the tunnel", 0, FLOW_LEFT },
                                                  { "IPv6 in the tunnel", 0, FLOW_LEFT } };
    const struct tunnel_plan *t = &plan_of(b)->tunnels[i];
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t k = 0; k < t->peers.n; k++) {
        const struct flow_cell cells[] = { net_cell(net_person_words(b, t->peers.v[k].person)),
                                           net_cell(net_address(b, FAMILY_IPV4, t->peers.v[k].ipv4)),
                                           net_cell(net_address(b, FAMILY_IPV6, t->peers.v[k].ula)) };
        flow_row(b->flow, cells);
    }
}

static void write_from_away(struct book *b)
{
    const struct house *h = b->h;
    if (!h->remote_access.n && !h->port_openings.n) {
        flow_soft(b->flow, "Nothing is opened to the internet: no tunnel from away, no port to a device.");
        return;
    }
    flow_section(b->flow, "addresses-away", "From away");
    for (uint32_t i = 0; i < h->remote_access.n; i++) {
        const struct tunnel_plan *t = &plan_of(b)->tunnels[i];
        flow_text(
            b->flow,
            "%.*s: a tunnel to the gateway's UDP port %u. Inside it the addresses are of %.*s and %.*s, and who is "
            "in it counts as one of the network %.*s.",
            STR_ARG(h->remote_access.v[i].says.n ? h->remote_access.v[i].says : h->remote_access.v[i].id), t->port,
            STR_ARG(net_prefix(b, t->ipv4)), STR_ARG(net_prefix(b, t->ula)),
            STR_ARG(net_plain_words(b, h->segments.v[h->remote_access.v[i].segment.i].id)));
        write_peers(b, i);
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
    static const struct flow_column COLUMNS[] = { { "range", 0, FLOW_LEFT }, { "whose", 1.0, FLOW_LEFT } };
    const struct house *h = b->h;
    if (!h->foreign_ranges.n) {
        flow_text(b->flow, "The file names no foreign range of addresses to keep clear of.");
        return;
    }
    flow_text(b->flow,
              "No network of the house may use these: somebody else's addresses would then be ours, and not be "
              "found.");
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < h->foreign_ranges.n; i++) {
        const struct flow_cell cells[] = { net_strong(h->foreign_ranges.v[i].range),
                                           net_cell(h->foreign_ranges.v[i].says) };
        flow_row(b->flow, cells);
    }
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
            flow_item(b->flow, "%.*s.", STR_ARG(net_plain_words(b, n->says)));
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
    flow_section(b->flow, "addresses-box", "How the provider's box must be set");
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
    write_ipv4(b);
    write_ipv6(b);
    write_notes(b, false);
    write_devices(b);
    write_from_away(b);
    flow_section(b->flow, "addresses-clear", "What is kept clear of");
    write_clear(b);
    write_box(b);
    return RT_OK;
}

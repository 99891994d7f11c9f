/* What the user should know about the plan that is no error. */
#include "base/units.h"
#include "reach/addressing_int.h"

/* ---- the line ---- */

static bool has_ipv6(const struct planner *pl) { return pl->plan->delegated.is_given; }

/* What stands between the internet and a port opening or a tunnel. */
static void note_way_in(struct planner *pl, struct rt_place at, const char *what, struct str id)
{
    const struct address_plan *plan = pl->plan;
    const bool is_hidden = plan->shared_ipv4 || plan->no_ipv4;
    const char *because = plan->no_ipv4 ? "the line has no IPv4 address of its own"
                                        : "the provider shares the line's IPv4 address with others (RFC 6598)";
    if (is_hidden && has_ipv6(pl))
        planner_note(pl, at, "%s '%.*s' can be reached from outside by IPv6 only: %s", what, STR_ARG(id), because);
    else if (is_hidden)
        planner_note(pl, at, "%s '%.*s' cannot be reached from outside: %s, and there is no IPv6", what, STR_ARG(id),
                     because);
    if (plan->translated_twice)
        planner_note(pl, at, "%s '%.*s' must be let through by the provider's box too, to the gateway", what,
                     STR_ARG(id));
}

static void note_line(struct planner *pl)
{
    const struct house *h = pl->h;
    const struct address_plan *plan = pl->plan;
    if (plan->translated_twice)
        planner_note(
            pl, h->line.box.at,
            "IPv4 addresses are translated twice, by the gateway and by the provider's box behind which it stands; "
            "set the box to pass the line through if it can");
    if (plan->translated_twice && !plan->box_ipv4.is_given)
        planner_note(pl, h->line.box.at,
                     "the box's own subnet is not known: look it up and say 'ipv4', since no segment may overlap it");
    if (plan->translated_twice && has_ipv6(pl))
        planner_note(pl, h->line.box.at,
                     "IPv6 reaches the segments only if the box hands on a part of its prefix, a /%u (RFC 8415, 6.3)",
                     plan->delegated.len);
    if (plan->shared_ipv4)
        planner_note(pl, h->line.at,
                     "the provider shares the line's IPv4 address with others (RFC 6598): nobody outside can start a "
                     "conversation over IPv4");
    if (plan->no_ipv4)
        planner_note(pl, h->line.at, "the line has no IPv4: nobody outside can start a conversation over it");
    for (uint32_t i = 0; i < h->port_openings.n; i++)
        note_way_in(pl, h->port_openings.v[i].at, "port opening", h->port_openings.v[i].id);
    for (uint32_t i = 0; i < h->remote_access.n; i++)
        note_way_in(pl, h->remote_access.v[i].at, "remote access", h->remote_access.v[i].id);
}

/* The prefix length to ask for: a /64 each, rounded up to four bits (RFC 7084, WPD-2). */
static unsigned wanted_prefix_len(uint32_t n_segments)
{
    unsigned len = 64;
    while (len > 48 && ((uint64_t)1 << (64 - len)) < n_segments)
        len -= 4;
    return len;
}

/* A /64 holds one segment (RFC 7084, L-2; RFC 7368, 2.4). */
static void note_delegated(struct planner *pl)
{
    struct buf ids = { .arena = pl->run->arena };
    uint32_t n = 0;
    for (uint32_t i = 0; i < pl->h->segments.n && has_ipv6(pl); i++)
        if (!pl->plan->segments[i].global.is_given)
            buf_printf(&ids, "%s%.*s", n++ ? ", " : "", STR_ARG(pl->h->segments.v[i].id));
    if (ids.failed)
        planner_no_memory(pl);
    else if (n > 0)
        planner_note(
            pl, pl->h->line.at,
            "the line's IPv6 prefix, a /%u, has room for %u of %u segments; without IPv6 to the internet: %s; ask the "
            "provider for a /%u",
            pl->plan->delegated.len, (unsigned)(pl->h->segments.n - n), (unsigned)pl->h->segments.n, ids.p,
            wanted_prefix_len(pl->h->segments.n));
}

/* ---- segments ---- */

static uint32_t pool_size(const struct segment_plan *s)
{
    return s->dhcp_from ? (uint32_t)(s->dhcp_to - s->dhcp_from) + 1 : 0;
}

/* Addresses that the segment has for devices of the file. */
static uint32_t reserved_room(const struct segment *s, const struct segment_plan *v)
{
    const uint32_t n = 1u << (32 - v->ipv4.len), usable = n - 3; /* the subnet's, the gateway's, the broadcast */
    if (!v->dhcp_chosen)
        return usable - pool_size(v);
    return s->known_only ? usable : n / 2 > 2 ? n / 2 - 2 : 0;
}

/* Room for as many devices again as there are, of the file and not, and for a party of ten (common practice, no source). */
static void note_room(struct planner *pl, uint32_t i)
{
    enum { GUESTS = 10 };
    const struct segment *s = &pl->h->segments.v[i];
    const struct segment_plan *v = &pl->plan->segments[i];
    const uint32_t pool = pool_size(v), wanted = v->n_devices > GUESTS ? v->n_devices : GUESTS;
    const struct rt_place at = house_text_place(pl->h, s->ipv4, s->at);
    if (reserved_room(s, v) < 2 * v->n_devices)
        planner_note(pl, at,
                     "segment '%.*s' has room for %u devices of the file, and there are %u: little room to grow",
                     STR_ARG(s->id), (unsigned)reserved_room(s, v), (unsigned)v->n_devices);
    if (pool > 0 && pool < wanted)
        planner_note(pl, house_text_place(pl->h, s->dhcp_from, at),
                     "segment '%.*s' hands out %u addresses only, beside %u devices of the file: little room to grow",
                     STR_ARG(s->id), (unsigned)pool, (unsigned)v->n_devices);
    if (s->known_only && pool > 0)
        planner_note(
            pl, house_text_place(pl->h, s->dhcp_from, at),
            "segment '%.*s' lets in known devices only, which have addresses of their own: nobody gets one of its "
            "range",
            STR_ARG(s->id));
}

static void note_segment(struct planner *pl, uint32_t i)
{
    const struct segment *s = &pl->h->segments.v[i];
    const struct segment_plan *v = &pl->plan->segments[i];
    if (v->vlan == 1)
        planner_note(pl, s->at,
                     "segment '%.*s' is VLAN 1, which ports carry where nothing else is set: a socket that was "
                     "forgotten leads into it",
                     STR_ARG(s->id));
    if (pl->h->remote_access.n && prefix_is_common_at_home(v->ipv4))
        planner_note(pl, house_text_place(pl->h, s->ipv4, s->at),
                     "segment '%.*s' uses %s, as many homes do: from one of those, remote access cannot reach it",
                     STR_ARG(s->id), planner_prefix_text(pl, v->ipv4));
    note_room(pl, i);
}

/* ---- devices ---- */

static void note_device(struct planner *pl, uint32_t i)
{
    const struct device *d = &pl->h->devices.v[i];
    if (d->segment.i == NO_REF && (d->link == LINK_WIRED || d->link == LINK_WIFI))
        planner_note(pl, d->at,
                     "device '%.*s' is in no segment: it has no address and no statement lets it do anything",
                     STR_ARG(d->id));
}

static void note_stand_ins(struct planner *pl)
{
    const struct house *h = pl->h;
    struct buf ids = { .arena = pl->run->arena };
    uint32_t n = 0;
    struct rt_place at = RT_NOWHERE;
    for (uint32_t i = 0; i < h->devices.n; i++) {
        if (!pl->plan->devices[i].mac_is_stand_in)
            continue;
        if (n == 0)
            at = h->devices.v[i].at;
        buf_printf(&ids, "%s%.*s", n++ ? ", " : "", STR_ARG(h->devices.v[i].id));
    }
    if (ids.failed)
        planner_no_memory(pl);
    else if (n > 0)
        planner_note(
            pl, at,
            "the MAC address of %u device%s is not known yet, so that a stand-in takes its place until 'mac' is "
            "filled in: %s",
            (unsigned)n, n == 1 ? "" : "s", ids.p);
}

void plan_notes(struct planner *pl)
{
    note_line(pl);
    note_delegated(pl);
    for (uint32_t i = 0; i < pl->h->segments.n; i++)
        note_segment(pl, i);
    for (uint32_t i = 0; i < pl->h->devices.n; i++)
        note_device(pl, i);
    note_stand_ins(pl);
}

/* Reservations, ranges handed out, names, MAC addresses, and the tunnels' peers.
 *
 * Addresses of a segment are counted as hosts: 0 is the subnet itself, 1 the gateway, the last the broadcast.  A device's
 * host is searched among the slots, which are the lower half, or all that a given range leaves; so the slots depend on
 * nothing that other devices do. */
#include <string.h>

#include "reach/addressing_int.h"

enum { GATEWAY_HOST = 1, FIRST_HOST = 2, LABEL_MAX = 63 };

/* One subnet's hosts while they are given out. */
struct hosts {
    struct prefix subnet;
    uint32_t n;                  /* addresses in it */
    uint32_t slots[2], from[2];  /* two stretches: how many, the first host */
    uint32_t pool_from, pool_to; /* given range; 0: none */
    VEC(uint32_t) taken;
};

static bool is_taken(const struct hosts *hosts, uint32_t host)
{
    for (uint32_t i = 0; i < hosts->taken.n; i++)
        if (hosts->taken.v[i] == host)
            return true;
    return false;
}

static void take(struct planner *pl, struct hosts *hosts, uint32_t host)
{
    if (!VEC_PUSH(pl->run->arena, &hosts->taken, host))
        planner_no_memory(pl);
}

static uint32_t hosts_last(const struct hosts *hosts) { return hosts->n - 2; }

/* A free slot from where the hash points on; behind the last the first follows.  0: none is free. */
static uint32_t free_slot(const struct hosts *hosts, uint64_t hash)
{
    const uint32_t n = hosts->slots[0] + hosts->slots[1];
    for (uint32_t k = 0; k < n; k++) {
        const uint32_t slot = (uint32_t)((hash + k) % n);
        const uint32_t host = slot < hosts->slots[0] ? hosts->from[0] + slot : hosts->from[1] + slot - hosts->slots[0];
        if (!is_taken(hosts, host))
            return host;
    }
    return 0;
}

/* The hosts in front of and behind a range. */
static void slots_around(struct hosts *hosts, uint32_t from, uint32_t to)
{
    hosts->from[0] = FIRST_HOST;
    hosts->slots[0] = from > FIRST_HOST ? from - FIRST_HOST : 0;
    hosts->from[1] = to + 1;
    hosts->slots[1] = hosts_last(hosts) > to ? hosts_last(hosts) - to : 0;
}

static struct hosts hosts_of(struct prefix subnet)
{
    struct hosts hosts = { .subnet = subnet, .n = (uint32_t)(subnet.len == 0 ? UINT32_MAX : 1u << (32 - subnet.len)) };
    const uint32_t half = hosts.n / 2;
    slots_around(&hosts, half > FIRST_HOST ? half : FIRST_HOST, hosts_last(&hosts));
    return hosts;
}

/* ---- the range handed out ---- */

/* One end of a given range as a host; 0 after an error. */
static uint32_t pool_end(struct planner *pl, const struct segment *s, const struct hosts *hosts, struct str text,
                         const char *key)
{
    enum family family;
    axis_value address;
    const struct rt_place at = house_text_place(pl->h, text, s->at);
    const char *subnet = planner_prefix_text(pl, hosts->subnet);
    if (!address_read(text, &family, &address) || !prefix_holds(hosts->subnet, family, address)) {
        planner_fail(pl, RT_CONFLICT, at, NULL, "segment '%.*s': '%s' is %.*s, outside its subnet %s", STR_ARG(s->id),
                     key, STR_ARG(text), subnet);
        return 0;
    }
    const uint32_t host = (uint32_t)(address - hosts->subnet.base);
    if (host >= FIRST_HOST && host <= hosts_last(hosts))
        return host;
    planner_fail(pl, RT_CONFLICT, at, NULL, "segment '%.*s': '%s' is %.*s, which is %s of %s", STR_ARG(s->id), key,
                 STR_ARG(text),
                 host == 0              ? "the subnet's own address"
                 : host == GATEWAY_HOST ? "the gateway's address"
                                        : "the broadcast address",
                 subnet);
    return 0;
}

/* Only one end given: the other is where the usual range has it. */
static void read_pool(struct planner *pl, uint32_t i, struct hosts *hosts)
{
    const struct segment *s = &pl->h->segments.v[i];
    if (!s->dhcp_from.n && !s->dhcp_to.n)
        return;
    const uint32_t half = hosts->n / 2;
    const uint32_t to = s->dhcp_to.n ? pool_end(pl, s, hosts, s->dhcp_to, "dhcp_to") : hosts_last(hosts);
    const uint32_t from = s->dhcp_from.n ? pool_end(pl, s, hosts, s->dhcp_from, "dhcp_from")
                          : to >= half   ? half
                                         : FIRST_HOST;
    if (!from || !to)
        return;
    if (from > to)
        planner_fail(pl, RT_CONFLICT, house_text_place(pl->h, s->dhcp_to, s->at), NULL,
                     "segment '%.*s': its range ends at %.*s, before it begins at %.*s", STR_ARG(s->id),
                     STR_ARG(s->dhcp_to), STR_ARG(s->dhcp_from));
    hosts->pool_from = from;
    hosts->pool_to = to;
    slots_around(hosts, from, to);
}

/* The least taken host from `host` on, or the broadcast. */
static uint32_t next_taken(const struct hosts *hosts, uint32_t host)
{
    uint32_t least = hosts_last(hosts) + 1;
    for (uint32_t i = 0; i < hosts->taken.n; i++)
        if (hosts->taken.v[i] >= host && hosts->taken.v[i] < least)
            least = hosts->taken.v[i];
    return least;
}

/* The longest stretch of the upper half without a reservation. */
static void choose_pool(struct hosts *hosts)
{
    uint32_t longest = 0, start = hosts->n / 2 > FIRST_HOST ? hosts->n / 2 : FIRST_HOST;
    while (start <= hosts_last(hosts)) {
        const uint32_t end = next_taken(hosts, start);
        if (end - start > longest) {
            longest = end - start;
            hosts->pool_from = start;
            hosts->pool_to = end - 1;
        }
        start = end + 1;
    }
}

/* ---- reservations ---- */

static uint32_t given_host(struct planner *pl, const struct device *d, const struct segment *s,
                           const struct hosts *hosts)
{
    enum family family;
    axis_value address;
    const struct rt_place at = house_text_place(pl->h, d->ipv4, d->at);
    const char *subnet = planner_prefix_text(pl, hosts->subnet);
    if (!address_read(d->ipv4, &family, &address) || !prefix_holds(hosts->subnet, family, address)) {
        planner_fail(pl, RT_CONFLICT, at, NULL, "device '%.*s': %.*s lies outside the subnet %s of its segment '%.*s'",
                     STR_ARG(d->id), STR_ARG(d->ipv4), subnet, STR_ARG(s->id));
        return 0;
    }
    const uint32_t host = (uint32_t)(address - hosts->subnet.base);
    const char *whose = host == 0                  ? "the subnet's own address"
                        : host == GATEWAY_HOST     ? "the gateway's address"
                        : host > hosts_last(hosts) ? "the broadcast address"
                                                   : NULL;
    if (whose)
        planner_fail(pl, RT_CONFLICT, at, NULL, "device '%.*s': %.*s is %s in segment '%.*s'", STR_ARG(d->id),
                     STR_ARG(d->ipv4), whose, STR_ARG(s->id));
    else if (hosts->pool_from && host >= hosts->pool_from && host <= hosts->pool_to)
        planner_fail(pl, RT_CONFLICT, at, "choose one outside of the range, or shorten the range",
                     "device '%.*s': %.*s lies in the range that segment '%.*s' hands out (%s to %s)", STR_ARG(d->id),
                     STR_ARG(d->ipv4), STR_ARG(s->id),
                     planner_address_text(pl, FAMILY_IPV4, hosts->subnet.base + hosts->pool_from),
                     planner_address_text(pl, FAMILY_IPV4, hosts->subnet.base + hosts->pool_to));
    else if (is_taken(hosts, host))
        planner_fail(pl, RT_CONFLICT, at, NULL, "device '%.*s': %.*s is asked for by another device too",
                     STR_ARG(d->id), STR_ARG(d->ipv4));
    else
        return host;
    return 0;
}

static void reserve(struct planner *pl, uint32_t device, uint32_t segment, struct hosts *hosts, uint32_t host)
{
    const struct segment_plan *s = &pl->plan->segments[segment];
    struct device_plan *out = &pl->plan->devices[device];
    take(pl, hosts, host);
    out->ipv4 = s->ipv4.base + host;
    out->ula = s->ula.base + digits_as_hex(host);
    out->global = s->global.is_given ? s->global.base + digits_as_hex(host) : 0;
}

/* With no range given, what outgrows the lower half takes from the subnet's end. */
static uint32_t chosen_host(struct planner *pl, const struct device *d, const struct hosts *hosts)
{
    uint32_t host = free_slot(hosts, planner_hash(pl, STREAM_HOST, d->id));
    if (host == 0 && hosts->pool_from == 0)
        for (host = hosts_last(hosts); host >= FIRST_HOST && is_taken(hosts, host); host--)
            continue;
    return host >= FIRST_HOST ? host : 0;
}

static void reserve_all(struct planner *pl, uint32_t segment, struct hosts *hosts)
{
    const struct house *h = pl->h;
    const struct segment *s = &h->segments.v[segment];
    for (uint32_t i = 0; i < h->devices.n; i++) {
        const struct device *d = &h->devices.v[i];
        if (pl->plan->devices[i].zone != ZONE_SEGMENT + segment || d->ipv4.n == 0)
            continue;
        const uint32_t host = given_host(pl, d, s, hosts);
        if (host)
            reserve(pl, i, segment, hosts, host);
    }
    for (uint32_t i = 0; i < h->devices.n && pl->code == RT_OK; i++) {
        const struct device *d = &h->devices.v[i];
        if (pl->plan->devices[i].zone != ZONE_SEGMENT + segment || d->ipv4.n)
            continue;
        const uint32_t host = chosen_host(pl, d, hosts);
        if (host)
            reserve(pl, i, segment, hosts, host);
        else
            planner_fail(pl, RT_RANGE, house_text_place(h, s->ipv4, s->at),
                         hosts->pool_from ? "give the segment a larger subnet, or a shorter range to hand out"
                                          : "give the segment a larger subnet",
                         "segment '%.*s': %s has no address left for device '%.*s'", STR_ARG(s->id),
                         planner_prefix_text(pl, hosts->subnet), STR_ARG(d->id));
    }
}

static void plan_segment(struct planner *pl, uint32_t i)
{
    const struct segment *s = &pl->h->segments.v[i];
    struct segment_plan *out = &pl->plan->segments[i];
    if (!out->ipv4.is_given)
        return; /* after an error */
    struct hosts hosts = hosts_of(out->ipv4);
    read_pool(pl, i, &hosts);
    out->dhcp_chosen = hosts.pool_from == 0;
    reserve_all(pl, i, &hosts);
    if (pl->code != RT_OK)
        return;
    if (out->dhcp_chosen && !s->known_only) {
        choose_pool(&hosts);
        if (hosts.pool_from == 0)
            planner_fail(pl, RT_RANGE, house_text_place(pl->h, s->ipv4, s->at),
                         "give it a larger subnet, or say 'known_only: true'",
                         "segment '%.*s': %s has no address left for a device that is not in the file", STR_ARG(s->id),
                         planner_prefix_text(pl, out->ipv4));
    }
    out->dhcp_from = hosts.pool_from ? out->ipv4.base + hosts.pool_from : 0;
    out->dhcp_to = hosts.pool_from ? out->ipv4.base + hosts.pool_to : 0;
}

/* Addresses that no segment can hold, openings that lead to none. */
static void check_stray_addresses(struct planner *pl)
{
    for (uint32_t i = 0; i < pl->h->devices.n; i++) {
        const struct device *d = &pl->h->devices.v[i];
        if (d->ipv4.n && pl->plan->devices[i].zone == NO_REF)
            planner_fail(pl, RT_CONFLICT, house_text_place(pl->h, d->ipv4, d->at),
                         "say its 'segment', and 'link: wired' or 'link: wifi', or leave the address out",
                         "device '%.*s': it asks for the address %.*s, but is not on an IP network", STR_ARG(d->id),
                         STR_ARG(d->ipv4));
    }
    for (uint32_t i = 0; i < pl->h->port_openings.n; i++) {
        const struct port_opening *o = &pl->h->port_openings.v[i];
        if (pl->plan->devices[o->device.i].zone == NO_REF)
            planner_fail(pl, RT_CONFLICT, o->device.at, NULL,
                         "port opening '%.*s': device '%.*s' is not on an IP network", STR_ARG(o->id),
                         STR_ARG(pl->h->devices.v[o->device.i].id));
    }
}

/* ---- names ---- */

/* A label of letters, digits and hyphens, none at its end (RFC 1035, 2.3.1; RFC 1123, 2.1); names do not tell capitals. */
static size_t label_from(struct str id, char label[LABEL_MAX])
{
    size_t n = 0;
    for (size_t i = 0; i < id.n && n < LABEL_MAX; i++) {
        const char c = id.p[i];
        label[n++] = c == '_' ? '-' : (char)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
    }
    while (n > 1 && label[n - 1] == '-')
        n--;
    return n;
}

static bool is_name_taken(const struct planner *pl, uint32_t before, struct str name)
{
    for (uint32_t i = 0; i < before; i++)
        if (str_eq(pl->plan->devices[i].name, name))
            return true;
    return false;
}

/* Ids that differ in capitals or underscores only get a number behind the second. */
static void plan_name(struct planner *pl, uint32_t i)
{
    char label[LABEL_MAX];
    const size_t n = label_from(pl->h->devices.v[i].id, label);
    struct str name = str_from(planner_text(pl, "%.*s.home.arpa", (int)n, label));
    for (unsigned number = 2; is_name_taken(pl, i, name) && pl->code == RT_OK; number++) {
        const int room = LABEL_MAX - 6; /* for a hyphen and a number */
        name = str_from(planner_text(pl, "%.*s-%u.home.arpa", (int)n < room ? (int)n : room, label, number));
    }
    pl->plan->devices[i].name = name;
}

/* ---- MAC addresses ---- */

static bool is_mac_taken(const struct planner *pl, axis_value mac)
{
    for (uint32_t i = 0; i < pl->h->devices.n; i++)
        if (pl->plan->devices[i].mac == mac)
            return true;
    return false;
}

/* Locally administered, of one device (IEEE 802-2014, 8.2: the second and the first bit of the first octet). */
static axis_value stand_in_mac(uint64_t hash)
{
    const uint64_t bits = hash & 0xffffffffffff;
    return (bits & ~(UINT64_C(3) << 40)) | UINT64_C(2) << 40;
}

static void plan_macs(struct planner *pl)
{
    const struct house *h = pl->h;
    for (uint32_t i = 0; i < h->devices.n; i++)
        if (h->devices.v[i].mac.n && !mac_read(h->devices.v[i].mac, &pl->plan->devices[i].mac))
            planner_fail(pl, RT_RANGE, house_text_place(h, h->devices.v[i].mac, h->devices.v[i].at), NULL,
                         "device '%.*s': '%.*s' is no MAC address", STR_ARG(h->devices.v[i].id),
                         STR_ARG(h->devices.v[i].mac));
    for (uint32_t i = 0; i < h->devices.n; i++) {
        struct device_plan *out = &pl->plan->devices[i];
        if (out->zone == NO_REF || h->devices.v[i].mac.n)
            continue;
        uint64_t hash = planner_hash(pl, STREAM_MAC, h->devices.v[i].id);
        while (is_mac_taken(pl, stand_in_mac(hash)))
            hash++;
        out->mac = stand_in_mac(hash);
        out->mac_is_stand_in = true;
    }
}

/* ---- peers ---- */

static void plan_peers(struct planner *pl, uint32_t i)
{
    const struct remote_access *r = &pl->h->remote_access.v[i];
    struct tunnel_plan *out = &pl->plan->tunnels[i];
    struct hosts hosts = hosts_of(out->ipv4);
    slots_around(&hosts, hosts_last(&hosts) + 1, hosts_last(&hosts));
    out->peers.v = ARENA_ARRAY(pl->run->arena, struct peer_plan, r->people.n);
    if (!out->peers.v) {
        planner_no_memory(pl);
        return;
    }
    for (uint32_t k = 0; k < r->people.n; k++) {
        const uint32_t person = r->people.v[k].i;
        const uint32_t host = free_slot(&hosts, planner_hash(pl, STREAM_PEER, pl->h->people.v[person].id));
        if (host == 0)
            return; /* not met: the subnet was chosen large enough */
        take(pl, &hosts, host);
        out->peers.v[out->peers.n++] =
            (struct peer_plan){ person, out->ipv4.base + host, out->ula.base + digits_as_hex(host) };
    }
}

void plan_devices(struct planner *pl)
{
    check_stray_addresses(pl);
    for (uint32_t i = 0; i < pl->h->segments.n; i++)
        plan_segment(pl, i);
    if (pl->code != RT_OK)
        return;
    plan_macs(pl);
    for (uint32_t i = 0; i < pl->h->devices.n && pl->code == RT_OK; i++)
        if (pl->plan->devices[i].zone != NO_REF)
            plan_name(pl, i);
    for (uint32_t i = 0; i < pl->h->remote_access.n && pl->code == RT_OK; i++)
        plan_peers(pl, i);
}

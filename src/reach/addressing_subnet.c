/* The subnets of the segments and tunnels.
 *
 * First what the file gives is read and compared, each pair once; then what it does not give is chosen, in the order of
 * the file, among what is not used.  `used` holds everything that must be kept away from: given subnets, foreign ranges,
 * the box's, and what was chosen so far. */
#include <string.h>

#include "base/random.h"
#include "data/address_blocks.h"
#include "reach/addressing_int.h"

enum {
    IPV4_LEN = 24,         /* of a chosen subnet */
    IPV4_LEN_LARGEST = 16, /* the largest that is ever chosen */
    IPV4_LEN_LEAST = 30,   /* smaller ones have no room for a gateway and a device (RFC 3021) */
    HALF_SHARE = 2,        /* the lower half takes the devices, and must take them twice */
    TUNNEL_SUBNET = 250,   /* third octet and subnet of the first tunnel; the next ones go down */
};

/* Subnets that many homes have: a tunnel between two of them cannot work (common practice, no source). */
static const struct prefix COMMON_AT_HOME[] = {
    { FAMILY_IPV4, 0xc0a80000, 24, true }, /* 192.168.0.0 */
    { FAMILY_IPV4, 0xc0a80100, 24, true }, /* 192.168.1.0 */
    { FAMILY_IPV4, 0xc0a80200, 24, true }, /* 192.168.2.0 */
    { FAMILY_IPV4, 0x0a000000, 24, true }, /* 10.0.0.0 */
    { FAMILY_IPV4, 0x0a000100, 24, true }, /* 10.0.1.0 */
    { FAMILY_IPV4, 0x0a010100, 24, true }, /* 10.1.1.0 */
    { FAMILY_IPV4, 0xac100000, 24, true }, /* 172.16.0.0 */
};

bool prefix_is_common_at_home(struct prefix p)
{
    for (size_t i = 0; i < RT_COUNT(COMMON_AT_HOME); i++)
        if (prefix_overlaps(p, COMMON_AT_HOME[i]))
            return true;
    return false;
}

/* ---- what is used ---- */

/* Index of the first span that ends at or behind the value. */
static uint32_t used_from(const struct used_spans *used, axis_value value)
{
    uint32_t lo = 0, hi = used->spans.n;
    while (lo < hi) {
        const uint32_t mid = lo + (hi - lo) / 2;
        if (used->spans.v[mid].hi < value)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo;
}

/* The first used span that this one meets, or NULL. */
static const struct span *span_met(const struct used_spans *used, struct span s)
{
    const uint32_t i = used_from(used, s.lo);
    return i < used->spans.n && used->spans.v[i].lo <= s.hi ? &used->spans.v[i] : NULL;
}

/* Joins it with what it overlaps; false: no memory. */
static bool span_use(struct arena *a, struct used_spans *used, struct span s)
{
    const uint32_t first = used_from(used, s.lo);
    uint32_t end = first;
    while (end < used->spans.n && used->spans.v[end].lo <= s.hi) {
        s.lo = used->spans.v[end].lo < s.lo ? used->spans.v[end].lo : s.lo;
        s.hi = used->spans.v[end].hi > s.hi ? used->spans.v[end].hi : s.hi;
        end++;
    }
    if (end == first) {
        if (!VEC_PUSH(a, &used->spans, s))
            return false;
        memmove(used->spans.v + first + 1, used->spans.v + first, (used->spans.n - 1 - first) * sizeof s);
    } else {
        memmove(used->spans.v + first + 1, used->spans.v + end, (used->spans.n - end) * sizeof s);
        used->spans.n -= end - first - 1;
    }
    used->spans.v[first] = s;
    return true;
}

static const struct span *met(const struct planner *pl, struct prefix p)
{
    return span_met(&pl->used[p.family], prefix_span(p));
}

static void use(struct planner *pl, struct prefix p)
{
    if (p.is_given && !span_use(pl->run->arena, &pl->used[p.family], prefix_span(p)))
        planner_no_memory(pl);
}

/* ---- what the file gives ---- */

static axis_value block_base(const struct address_block *b) { return (axis_value)b->hi << 64 | b->lo; }

static struct prefix block_prefix(const struct address_block *b)
{
    return (struct prefix){ b->is_ipv6 ? FAMILY_IPV6 : FAMILY_IPV4, block_base(b), b->len, true };
}

static bool is_within(struct prefix inner, struct prefix outer)
{
    return inner.len >= outer.len && prefix_overlaps(inner, outer);
}

static bool is_private(struct prefix p)
{
    uint32_t n;
    const struct address_block *b = address_blocks_private(&n);
    for (uint32_t i = 0; i < n; i++)
        if (is_within(p, block_prefix(&b[i])))
            return true;
    return false;
}

/* The narrowest special block that holds the whole prefix, else one that it covers; NULL: none of both. */
static const struct address_block *block_of(struct prefix p)
{
    uint32_t n;
    const struct address_block *b = address_blocks(&n), *found = NULL, *inner = NULL;
    for (uint32_t i = 0; i < n; i++) {
        if (is_within(p, block_prefix(&b[i])))
            found = &b[i]; /* narrower ones follow */
        else if (prefix_overlaps(p, block_prefix(&b[i])) && !inner)
            inner = &b[i];
    }
    return found ? found : inner;
}

/* RFC 1918 for IPv4: anything else has an owner elsewhere, or a meaning.  IPv6: RFC 4193, or an assigned global one. */
static bool check_block(struct planner *pl, const struct segment *s, struct rt_place at, struct prefix p)
{
    const struct address_block *b = block_of(p);
    if (is_private(p) || (!b && p.family == FAMILY_IPV6))
        return true;
    const char *hint =
        p.family == FAMILY_IPV4
            ? "use a part of 10.0.0.0/8, 172.16.0.0/12 or 192.168.0.0/16, or leave it out to have one chosen"
            : "use a /64 within fd00::/8, or leave it out to have one chosen";
    const char *text = planner_prefix_text(pl, p);
    if (b)
        planner_fail(pl, RT_RANGE, at, hint, "segment '%.*s': %s %s %s, %s (%s)", STR_ARG(s->id), text,
                     is_within(p, block_prefix(b)) ? "lies in" : "reaches beyond", b->text, b->says, b->standard);
    else
        planner_fail(pl, RT_RANGE, at, hint, "segment '%.*s': %s belongs to somebody on the internet (RFC 1918)",
                     STR_ARG(s->id), text);
    return false;
}

static void read_ipv4(struct planner *pl, uint32_t i)
{
    const struct segment *s = &pl->h->segments.v[i];
    struct segment_plan *out = &pl->plan->segments[i];
    const struct rt_place at = house_text_place(pl->h, s->ipv4, s->at);
    out->ipv4_chosen = s->ipv4.n == 0;
    if (out->ipv4_chosen) {
        if (s->dhcp_from.n || s->dhcp_to.n)
            planner_fail(pl, RT_CONFLICT, house_text_place(pl->h, s->dhcp_from.n ? s->dhcp_from : s->dhcp_to, s->at),
                         "give 'ipv4' too", "segment '%.*s': it has a range to hand out, but no subnet",
                         STR_ARG(s->id));
        return;
    }
    struct prefix given = { 0 };
    if (!prefix_read(s->ipv4, &given) || given.family != FAMILY_IPV4)
        planner_fail(pl, RT_RANGE, at, NULL, "segment '%.*s': '%.*s' is no IPv4 subnet", STR_ARG(s->id),
                     STR_ARG(s->ipv4));
    else if (given.len > IPV4_LEN_LEAST)
        planner_fail(pl, RT_RANGE, at, "a /24 has room for 253 devices",
                     "segment '%.*s': %s is too small for a gateway and a device", STR_ARG(s->id),
                     planner_prefix_text(pl, given));
    else if (check_block(pl, s, at, given))
        out->ipv4 = given;
}

/* Devices make their addresses out of 64 bits (RFC 4862; RFC 4291, 2.5.1; RFC 7421). */
static void read_ipv6(struct planner *pl, uint32_t i)
{
    const struct segment *s = &pl->h->segments.v[i];
    struct segment_plan *out = &pl->plan->segments[i];
    const struct rt_place at = house_text_place(pl->h, s->ipv6, s->at);
    out->ula_chosen = s->ipv6.n == 0;
    if (out->ula_chosen)
        return;
    struct prefix given = { 0 };
    if (!prefix_read(s->ipv6, &given) || given.family != FAMILY_IPV6)
        planner_fail(pl, RT_RANGE, at, NULL, "segment '%.*s': '%.*s' is no IPv6 subnet", STR_ARG(s->id),
                     STR_ARG(s->ipv6));
    else if (given.len != 64)
        planner_fail(pl, RT_RANGE, at, "give it a /64: devices make their addresses out of the other 64 bits",
                     "segment '%.*s': an IPv6 subnet of a segment is a /64, not a /%u", STR_ARG(s->id), given.len);
    else if (check_block(pl, s, at, given))
        out->ula = given;
}

/* ---- overlaps ---- */

static void fail_overlap(struct planner *pl, uint32_t i, struct str text, struct prefix p, const char *whose,
                         struct prefix other, uint32_t line)
{
    const struct segment *s = &pl->h->segments.v[i];
    planner_fail(pl, RT_CONFLICT, house_text_place(pl->h, text, s->at),
                 "give it another subnet, or leave it out to have one chosen",
                 "segment '%.*s': %s overlaps %s of %s, line %u", STR_ARG(s->id), planner_prefix_text(pl, p),
                 planner_prefix_text(pl, other), whose, (unsigned)line);
}

static bool both_overlap(struct prefix a, struct prefix b) { return a.is_given && b.is_given && prefix_overlaps(a, b); }

static void check_segment_overlaps(struct planner *pl, uint32_t i)
{
    const struct house *h = pl->h;
    const struct segment *s = &h->segments.v[i];
    const struct segment_plan *v = pl->plan->segments;
    for (uint32_t k = 0; k < i; k++) {
        const struct segment *other = &h->segments.v[k];
        if (both_overlap(v[i].ipv4, v[k].ipv4))
            fail_overlap(pl, i, s->ipv4, v[i].ipv4, planner_text(pl, "segment '%.*s'", STR_ARG(other->id)), v[k].ipv4,
                         house_text_place(h, other->ipv4, other->at).line);
        if (both_overlap(v[i].ula, v[k].ula))
            fail_overlap(pl, i, s->ipv6, v[i].ula, planner_text(pl, "segment '%.*s'", STR_ARG(other->id)), v[k].ula,
                         house_text_place(h, other->ipv6, other->at).line);
    }
}

static void check_range_overlaps(struct planner *pl, struct prefix range, const char *whose, uint32_t line)
{
    for (uint32_t i = 0; i < pl->h->segments.n; i++) {
        const struct segment *s = &pl->h->segments.v[i];
        const struct segment_plan *v = &pl->plan->segments[i];
        if (both_overlap(v->ipv4, range))
            fail_overlap(pl, i, s->ipv4, v->ipv4, whose, range, line);
        if (both_overlap(v->ula, range))
            fail_overlap(pl, i, s->ipv6, v->ula, whose, range, line);
    }
}

static void read_given(struct planner *pl)
{
    const struct house *h = pl->h;
    for (uint32_t i = 0; i < h->segments.n; i++) {
        read_ipv4(pl, i);
        read_ipv6(pl, i);
        check_segment_overlaps(pl, i);
        use(pl, pl->plan->segments[i].ipv4);
        use(pl, pl->plan->segments[i].ula);
    }
    for (uint32_t i = 0; i < h->foreign_ranges.n; i++) {
        const struct foreign_range *r = &h->foreign_ranges.v[i];
        struct prefix range = { 0 };
        if (!prefix_read(r->range, &range))
            continue; /* the reader refused it */
        const char *whose =
            r->says.n ? planner_text(pl, "a foreign range (%.*s)", STR_ARG(r->says)) : "a foreign range";
        check_range_overlaps(pl, range, whose, r->at.line);
        use(pl, range);
    }
    if (pl->plan->box_ipv4.is_given)
        check_range_overlaps(pl, pl->plan->box_ipv4, "the provider's box", h->line.box.at.line);
    use(pl, pl->plan->box_ipv4);
}

/* ---- choosing IPv4 ---- */

static axis_value prefix_size(unsigned len) { return (axis_value)1 << (32 - len); }

/* Twice the devices must fit into the lower half, beside the network's own address and the gateway's. */
static unsigned ipv4_len_for(uint32_t n_devices)
{
    unsigned len = IPV4_LEN;
    while (len > IPV4_LEN_LARGEST && prefix_size(len) / 2 - 2 < (axis_value)n_devices * HALF_SHARE)
        len--;
    return len;
}

static bool take_ipv4(struct planner *pl, axis_value base, unsigned len, struct prefix *out)
{
    const struct prefix p = { FAMILY_IPV4, base & ~(prefix_size(len) - 1), len, true };
    if (!is_private(p) || met(pl, p) || prefix_is_common_at_home(p))
        return false;
    *out = p;
    use(pl, p);
    return true;
}

/* Any free place in a /16, from `start` on and round. */
static bool take_ipv4_in(struct planner *pl, axis_value base16, axis_value start, unsigned len, struct prefix *out)
{
    const axis_value step = prefix_size(len), n = 0x10000 / step;
    for (axis_value k = 0; k < n; k++) {
        const struct prefix p = { FAMILY_IPV4, base16 + (start / step + k) % n * step, len, true };
        const struct span *s = met(pl, p);
        if (s && s->lo <= base16 && s->hi >= base16 + 0xffff)
            return false;
        if (!s && take_ipv4(pl, p.base, len, out))
            return true;
    }
    return false;
}

/* The /16 in which most would look: that of the first subnet given, else one of 10.0.0.0/8 that the house's name says. */
static axis_value home_base16(const struct planner *pl)
{
    for (uint32_t i = 0; i < pl->h->segments.n; i++)
        if (pl->plan->segments[i].ipv4.is_given && pl->plan->segments[i].ipv4.len >= 16)
            return pl->plan->segments[i].ipv4.base & 0xffff0000;
    enum { FIRST = 16, N = 240 - FIRST }; /* low and round numbers are what others choose */
    for (uint64_t k = 0; k < N; k++) {
        const axis_value second = FIRST + (planner_hash(pl, STREAM_BASE, STR("")) % N + k) % N;
        const struct prefix p = { FAMILY_IPV4, (axis_value)10 << 24 | second << 16, 16, true };
        if (!met(pl, p))
            return p.base;
    }
    return (axis_value)10 << 24;
}

/* `want`: the third octet that is tried first, else the id's hash decides. */
static bool choose_ipv4(struct planner *pl, axis_value home, uint32_t want, struct str id, unsigned len,
                        struct prefix *out)
{
    if (want < 256 && take_ipv4(pl, home + want * 256u, len, out))
        return true;
    const axis_value start = planner_hash(pl, STREAM_SUBNET, id) % 256 * 256;
    if (take_ipv4_in(pl, home, start, len, out))
        return true;
    for (axis_value second = 0; second < 256; second++)
        if (take_ipv4_in(pl, (axis_value)10 << 24 | second << 16, start, len, out))
            return true;
    for (axis_value second = 16; second < 32; second++)
        if (take_ipv4_in(pl, (axis_value)172 << 24 | second << 16, start, len, out))
            return true;
    return take_ipv4_in(pl, (axis_value)192 << 24 | 168 << 16, start, len, out);
}

/* A device that asks for an address says where its segment is to be. */
static bool ipv4_from_devices(struct planner *pl, uint32_t segment, unsigned len, struct prefix *out)
{
    for (uint32_t i = 0; i < pl->h->devices.n; i++) {
        const struct device *d = &pl->h->devices.v[i];
        enum family family;
        axis_value address;
        if (d->segment.i == segment && d->ipv4.n && address_read(d->ipv4, &family, &address) && family == FAMILY_IPV4)
            return take_ipv4(pl, address, len, out);
    }
    return false;
}

static void fail_choice(struct planner *pl, struct rt_place at, const char *what, struct str id)
{
    planner_fail(pl, RT_RANGE, at, "are the foreign ranges really that wide? else give it a subnet yourself",
                 "%s '%.*s': no private IPv4 subnet is left for it (RFC 1918)", what, STR_ARG(id));
}

/* ---- choosing IPv6 ---- */

static bool is_unique_local(struct prefix p) { return p.is_given && p.base >> 120 == 0xfd; }

/* RFC 4193, 3.1 and 3.2: fd00::/8 and 40 bits that are not chosen by hand. */
static axis_value home_base48(const struct planner *pl)
{
    for (uint32_t i = 0; i < pl->h->segments.n; i++)
        if (is_unique_local(pl->plan->segments[i].ula))
            return pl->plan->segments[i].ula.base >> 80 << 80;
    struct prefix p = { FAMILY_IPV6, 0, 48, true };
    for (uint64_t k = 0; k < 64; k++) {
        const uint64_t global_id = random_u64(pl->key, STREAM_GLOBAL_ID, k) >> 24;
        p.base = ((axis_value)0xfd << 40 | global_id) << 80;
        if (!met(pl, p))
            break;
    }
    return p.base;
}

static bool choose_ula(struct planner *pl, axis_value home, axis_value want, struct prefix *out)
{
    for (axis_value k = 0; k < 0x10000; k++) {
        const struct prefix p = { FAMILY_IPV6, home | ((want + k) & 0xffff) << 64, 64, true };
        if (met(pl, p))
            continue;
        *out = p;
        use(pl, p);
        return true;
    }
    return false;
}

/* The lowest number that is not used. */
static axis_value lowest_free(const struct used_spans *used)
{
    axis_value k = 0;
    for (const struct span *s; (s = span_met(used, (struct span){ k, k }));)
        k = s->hi + 1;
    return k;
}

/* Each segment a /64 of the delegated prefix, in the order of the file, while there are some (RFC 7084, L-2). */
static void plan_global(struct planner *pl)
{
    const struct prefix delegated = pl->plan->delegated;
    if (!delegated.is_given || delegated.len > 64)
        return;
    const axis_value n = (axis_value)1 << (64 - delegated.len);
    struct used_spans used = { 0 }; /* numbers of /64s within the prefix */
    for (uint32_t i = 0; i < pl->h->segments.n && i < n; i++) {
        axis_value id = digits_as_hex(pl->plan->segments[i].vlan);
        if (id >= n || span_met(&used, (struct span){ id, id }))
            id = lowest_free(&used);
        if (!span_use(pl->run->arena, &used, (struct span){ id, id }))
            planner_no_memory(pl);
        pl->plan->segments[i].global = (struct prefix){ FAMILY_IPV6, delegated.base | id << 64, 64, true };
    }
}

/* ---- all of it ---- */

static void choose_segments(struct planner *pl, axis_value home16, axis_value home48)
{
    for (uint32_t i = 0; i < pl->h->segments.n; i++) {
        const struct segment *s = &pl->h->segments.v[i];
        struct segment_plan *out = &pl->plan->segments[i];
        const unsigned len = ipv4_len_for(out->n_devices);
        if (out->ipv4_chosen && !ipv4_from_devices(pl, i, len, &out->ipv4) &&
            !choose_ipv4(pl, home16, out->vlan, s->id, len, &out->ipv4))
            fail_choice(pl, s->at, "segment", s->id);
        if (out->ula_chosen && !choose_ula(pl, home48, digits_as_hex(out->vlan), &out->ula))
            planner_fail(pl, RT_RANGE, s->at, NULL, "segment '%.*s': no IPv6 subnet is left for it", STR_ARG(s->id));
    }
}

static void choose_tunnels(struct planner *pl, axis_value home16, axis_value home48)
{
    const struct house *h = pl->h;
    for (uint32_t i = 0; i < h->remote_access.n; i++) {
        const struct remote_access *r = &h->remote_access.v[i];
        struct tunnel_plan *out = &pl->plan->tunnels[i];
        const uint32_t number = i < TUNNEL_SUBNET ? TUNNEL_SUBNET - i : 0;
        out->zone = ZONE_SEGMENT + h->segments.n + i;
        out->port = (unsigned)r->port;
        if (!choose_ipv4(pl, home16, number, r->id, ipv4_len_for(r->people.n), &out->ipv4))
            fail_choice(pl, r->at, "remote access", r->id);
        if (!choose_ula(pl, home48, digits_as_hex(number), &out->ula))
            planner_fail(pl, RT_RANGE, r->at, NULL, "remote access '%.*s': no IPv6 subnet is left for it",
                         STR_ARG(r->id));
        out->ipv4_gateway = out->ipv4.base + 1;
        out->ula_gateway = out->ula.base + 1;
        for (uint32_t k = 0; k < i; k++)
            if (pl->plan->tunnels[k].port == out->port)
                planner_fail(pl, RT_CONFLICT, r->at, "give each a port of its own",
                             "remote access '%.*s': '%.*s' listens at UDP port %u already", STR_ARG(r->id),
                             STR_ARG(h->remote_access.v[k].id), out->port);
    }
}

static void count_devices(struct planner *pl)
{
    for (uint32_t i = 0; i < pl->h->devices.n; i++) {
        const struct device *d = &pl->h->devices.v[i];
        const bool is_on_ip = d->segment.i != NO_REF && (d->link == LINK_WIRED || d->link == LINK_WIFI);
        pl->plan->devices[i].zone = is_on_ip ? ZONE_SEGMENT + d->segment.i : NO_REF;
        if (is_on_ip)
            pl->plan->segments[d->segment.i].n_devices++;
    }
}

void plan_subnets(struct planner *pl)
{
    count_devices(pl);
    read_given(pl);
    if (pl->code != RT_OK)
        return;
    const axis_value home16 = home_base16(pl), home48 = home_base48(pl);
    choose_segments(pl, home16, home48);
    choose_tunnels(pl, home16, home48);
    plan_global(pl);
    for (uint32_t i = 0; i < pl->h->segments.n; i++) {
        struct segment_plan *s = &pl->plan->segments[i];
        s->ipv4_gateway = s->ipv4.base + 1;
        s->ula_gateway = s->ula.base + 1;
        s->global_gateway = s->global.is_given ? s->global.base + 1 : 0;
        s->link_local_gateway = (axis_value)0xfe80 << 112 | 1;
    }
}

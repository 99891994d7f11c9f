/* Who may send what from where, before anybody asks what for: the line's own address service, honest sources, known devices,
 * and what never crosses a router or the border of the house. */
#include "data/address_blocks.h"
#include "reach/policy_int.h"

/* ---- blocks as spans ---- */

static struct prefix block_prefix(const struct address_block *b)
{
    return (struct prefix){ .family = b->is_ipv6 ? FAMILY_IPV6 : FAMILY_IPV4,
                            .base = (axis_value)b->hi << 64 | b->lo,
                            .len = b->len,
                            .is_given = true };
}

static span_list without(struct compiler *c, span_list from, span_list what, enum family family)
{
    const span_list others = spans_others(c->a, what, axis_max(AXIS_SOURCE, family), &c->failed);
    return spans_common(c->a, from, others, &c->failed);
}

static span_list prefix_list(struct compiler *c, struct prefix p)
{
    const struct span s = prefix_span(p);
    return p.is_given ? spans_tidy(c->a, &s, 1, &c->failed) : (span_list){ 0 };
}

/* Blocks that are not reachable on the internet.  A narrower row comes behind the one it lies in, and counts. */
static span_list not_public(struct compiler *c, enum family family)
{
    uint32_t n;
    const struct address_block *b = address_blocks(&n);
    span_list out = { 0 };
    for (uint32_t i = 0; i < n; i++) {
        if (b[i].is_ipv6 != (family == FAMILY_IPV6))
            continue;
        const span_list one = prefix_list(c, block_prefix(&b[i]));
        out = b[i].is_global ? without(c, out, one, family) : spans_join(c->a, out, one, &c->failed);
    }
    return out;
}

static span_list prefix_text_list(struct compiler *c, const char *const *texts, uint32_t n)
{
    span_list out = { 0 };
    for (uint32_t i = 0; i < n; i++) {
        struct prefix p;
        if (prefix_read(str_from(texts[i]), &p))
            out = spans_join(c->a, out, prefix_list(c, p), &c->failed);
    }
    return out;
}

/* What cannot come from or go to the internet: the blocks that are not public, and the house's own subnets.  The provider's
 * box is met there when it is a router, and so are its shared addresses (RFC 6598). */
static span_list outside_never(struct compiler *c, enum family family)
{
    span_list out = not_public(c, family);
    if (family == FAMILY_IPV4) {
        static const char *const SHARED[] = { "100.64.0.0/10" };
        out = without(c, out, prefix_list(c, c->plan->box_ipv4), family);
        if (c->plan->shared_ipv4)
            out = without(c, out, prefix_text_list(c, SHARED, 1), family);
    } else {
        out = spans_join(c->a, out, prefix_list(c, c->plan->delegated), &c->failed);
    }
    for (uint32_t i = 0; i < c->h->segments.n; i++) {
        const struct segment_plan *s = &c->plan->segments[i];
        const struct prefix own[] = { s->ipv4, s->ula, s->global };
        for (size_t k = 0; k < RT_COUNT(own); k++)
            if (own[k].is_given && own[k].family == family)
                out = spans_join(c->a, out, prefix_list(c, own[k]), &c->failed);
    }
    return out;
}

/* ---- the line's own address service ---- */

static void line_rules(struct compiler *c)
{
    if (!c->plan->no_ipv4) {
        struct rule *r =
            policy_rule(c, CHAIN_START, IPV4, ACTION_ACCEPT, "The provider gives the gateway its address (RFC 2131)");
        policy_is(c, &r->match, AXIS_FROM, ZONE_INTERNET);
        policy_is(c, &r->match, AXIS_TO, ZONE_GATEWAY);
        policy_is(c, &r->match, AXIS_PROTOCOL, IP_UDP);
        policy_is(c, &r->match, AXIS_SOURCE_PORT, 67);
        policy_is(c, &r->match, AXIS_DESTINATION_PORT, 68);
    }
    if (!c->plan->delegated.is_given)
        return;
    static const char *const LINK_LOCAL[] = { "fe80::/10" };
    struct rule *r =
        policy_rule(c, CHAIN_START, IPV6, ACTION_ACCEPT, "The provider gives the house its addresses (RFC 8415)");
    policy_is(c, &r->match, AXIS_FROM, ZONE_INTERNET);
    policy_is(c, &r->match, AXIS_TO, ZONE_GATEWAY);
    policy_in(c, &r->match, AXIS_SOURCE, prefix_text_list(c, LINK_LOCAL, 1));
    policy_is(c, &r->match, AXIS_PROTOCOL, IP_UDP);
    policy_is(c, &r->match, AXIS_DESTINATION_PORT, 546);
    /* the receiver itself refuses those with a hop limit other than 255: RFC 4861 sections 6.1 and 7.1 */
    r = policy_rule(c, CHAIN_START, IPV6, ACTION_ACCEPT,
                    "Neighbours on the line find each other (RFC 4890 section 4.4.1)");
    const struct span types[] = { { 130, 132 }, { 134, 136 }, { 143, 143 } };
    policy_is(c, &r->match, AXIS_FROM, ZONE_INTERNET);
    policy_is(c, &r->match, AXIS_TO, ZONE_GATEWAY);
    policy_is(c, &r->match, AXIS_PROTOCOL, IP_ICMPV6);
    policy_in(c, &r->match, AXIS_ICMP_TYPE, spans_tidy(c->a, types, RT_COUNT(types), &c->failed));
}

/* ---- honest sources ---- */

static void only_from(struct compiler *c, struct rule *r, uint32_t zone, span_list sources, enum family family)
{
    policy_is(c, &r->match, AXIS_FROM, zone);
    policy_in(c, &r->match, AXIS_SOURCE, spans_others(c->a, sources, axis_max(AXIS_SOURCE, family), &c->failed));
}

static void honest_segment(struct compiler *c, uint32_t i)
{
    const struct segment *s = &c->h->segments.v[i];
    const struct segment_plan *plan = &c->plan->segments[i];
    static const char *const NO_ADDRESS[] = { "0.0.0.0/32" }, *const OWN_LINK[] = { "::/128", "fe80::/10" };
    struct rule *r = policy_rule(c, CHAIN_START, IPV4, ACTION_DROP,
                                 "'%.*s' sends from its own addresses only (RFC 2827)", STR_ARG(s->id));
    policy_from(r, ORIGIN_SEGMENT, i, s->at);
    only_from(c, r, zone_of_segment(i),
              spans_join(c->a, prefix_list(c, plan->ipv4), prefix_text_list(c, NO_ADDRESS, 1), &c->failed),
              FAMILY_IPV4);
    r = policy_rule(c, CHAIN_START, IPV6, ACTION_DROP, "'%.*s' sends from its own addresses only (RFC 2827)",
                    STR_ARG(s->id));
    policy_from(r, ORIGIN_SEGMENT, i, s->at);
    span_list own = spans_join(c->a, prefix_list(c, plan->ula), prefix_list(c, plan->global), &c->failed);
    own = spans_join(c->a, own, prefix_text_list(c, OWN_LINK, 2), &c->failed);
    only_from(c, r, zone_of_segment(i), own, FAMILY_IPV6);
}

static void honest_tunnel(struct compiler *c, uint32_t i)
{
    const struct remote_access *t = &c->h->remote_access.v[i];
    const struct tunnel_plan *plan = &c->plan->tunnels[i];
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        span_list own = { 0 };
        for (uint32_t k = 0; k < plan->peers.n; k++) {
            const axis_value at = f == FAMILY_IPV4 ? plan->peers.v[k].ipv4 : plan->peers.v[k].ula;
            if (at)
                policy_add_span(c, &own, at, at);
        }
        struct rule *r =
            policy_rule(c, CHAIN_START, 1U << f, ACTION_DROP,
                        "The tunnel '%.*s' carries its people's addresses only (RFC 2827)", STR_ARG(t->id));
        policy_from(r, ORIGIN_REMOTE_ACCESS, i, t->at);
        only_from(c, r, plan->zone, own, f);
    }
}

static void honest_internet(struct compiler *c)
{
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        struct rule *r = policy_rule(c, CHAIN_START, 1U << f, ACTION_DROP,
                                     "The internet has no business with inner and reserved addresses (RFC 6890)");
        policy_is(c, &r->match, AXIS_FROM, ZONE_INTERNET);
        policy_in(c, &r->match, AXIS_SOURCE, outside_never(c, f));
    }
}

/* ---- known devices only ---- */

static void known_devices(struct compiler *c, uint32_t i)
{
    const struct segment *s = &c->h->segments.v[i];
    struct span *macs = ARENA_ARRAY(c->a, struct span, c->h->devices.n);
    uint32_t n = 0;
    if (!macs) {
        c->failed = true;
        return;
    }
    for (uint32_t k = 0; k < c->h->devices.n; k++) {
        const struct device_plan *d = &c->plan->devices[k];
        if (d->zone != zone_of_segment(i))
            continue;
        macs[n++] = (struct span){ d->mac, d->mac };
        if (c->h->devices.v[k].varies_mac)
            policy_note(c, c->h->devices.v[k].at,
                        "'%.*s' lets known devices in only, and '%.*s' changes its MAC address: switch that off on the "
                        "device for this network, or it will be kept out",
                        STR_ARG(s->id), STR_ARG(c->h->devices.v[k].id));
    }
    if (n == 0)
        policy_note(c, s->at, "'%.*s' lets known devices in only, and the file has none there: nobody may join",
                    STR_ARG(s->id));
    struct rule *r = policy_rule(c, CHAIN_START, BOTH_FAMILIES, ACTION_DROP,
                                 "Only devices of the house file may join '%.*s'", STR_ARG(s->id));
    policy_from(r, ORIGIN_SEGMENT, i, s->at);
    policy_is(c, &r->match, AXIS_FROM, zone_of_segment(i));
    if (n)
        policy_in(c, &r->match, AXIS_SOURCE_MAC,
                  spans_others(c->a, spans_tidy(c->a, macs, n, &c->failed), axis_max(AXIS_SOURCE_MAC, FAMILY_IPV4),
                               &c->failed));
}

void policy_gate(struct compiler *c)
{
    line_rules(c);
    for (uint32_t i = 0; i < c->h->segments.n; i++)
        honest_segment(c, i);
    for (uint32_t i = 0; i < c->h->remote_access.n; i++)
        honest_tunnel(c, i);
    honest_internet(c);
    bool any = false;
    for (uint32_t i = 0; i < c->h->segments.n; i++) {
        if (!c->h->segments.v[i].known_only)
            continue;
        known_devices(c, i);
        any = true;
    }
    if (any)
        policy_note(c, RT_NOWHERE,
                    "'Known devices only' rests on MAC addresses: it keeps out who does not try hard. A device that "
                    "copies the MAC address of a known one is taken for it");
}

/* ---- through ---- */

static void never_forwarded(struct compiler *c)
{
    static const char *const TO4[] = { "0.0.0.0/8", "127.0.0.0/8", "169.254.0.0/16", "224.0.0.0/4", "240.0.0.0/4" };
    static const char *const TO6[] = { "::/128", "::1/128", "::ffff:0:0/96", "fe80::/10", "ff00::/8" };
    static const char *const FROM4[] = { "0.0.0.0/32" }, *const FROM6[] = { "::/128", "fe80::/10" };
    const struct {
        unsigned families;
        enum axis axis;
        const char *const *blocks;
        uint32_t n;
    } ROWS[] = {
        { IPV4, AXIS_SOURCE, FROM4, RT_COUNT(FROM4) },
        { IPV6, AXIS_SOURCE, FROM6, RT_COUNT(FROM6) },
        { IPV4, AXIS_DESTINATION, TO4, RT_COUNT(TO4) },
        { IPV6, AXIS_DESTINATION, TO6, RT_COUNT(TO6) },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        struct rule *r =
            policy_rule(c, CHAIN_CROSSING, ROWS[i].families, ACTION_DROP,
                        "Addresses that stay on their link cross no router (RFC 6890, RFC 6092 REC-1 to 3)");
        policy_in(c, &r->match, ROWS[i].axis, prefix_text_list(c, ROWS[i].blocks, ROWS[i].n));
    }
}

/* Types that stay on their link (RFC 4890 section 4.3.3), and those of section 4.3.5: renumbering, questions about a node,
 * experiments.  Numbers from memory, but for 130 to 140. */
static void link_messages(struct compiler *c)
{
    const struct span types[] = { { 100, 101 }, { 127, 127 }, { 130, 143 }, { 148, 149 },
                                  { 151, 153 }, { 200, 201 }, { 255, 255 } };
    struct rule *r = policy_rule(c, CHAIN_CROSSING, IPV6, ACTION_DROP,
                                 "Messages between neighbours cross no router (RFC 4890 sections 4.3.3 and 4.3.5)");
    policy_is(c, &r->match, AXIS_PROTOCOL, IP_ICMPV6);
    policy_in(c, &r->match, AXIS_ICMP_TYPE, spans_tidy(c->a, types, RT_COUNT(types), &c->failed));
}

static bool lets_internet_in(const struct house *h)
{
    for (uint32_t i = 0; i < h->statements.n; i++)
        for (uint32_t k = 0; k < h->statements.v[i].from.n; k++) {
            const enum endpoint_kind kind = h->statements.v[i].from.v[k].kind;
            if (h->statements.v[i].verdict == VERDICT_ALLOW && (kind == END_INTERNET || kind == END_ANYONE))
                return true;
        }
    return false;
}

static void border(struct compiler *c)
{
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        struct rule *r = policy_rule(
            c, CHAIN_CROSSING, 1U << f, ACTION_REJECT,
            "Inner and reserved addresses are not to be found on the internet (RFC 6890, RFC 6092 REC-3, 7)");
        policy_is(c, &r->match, AXIS_TO, ZONE_INTERNET);
        policy_in(c, &r->match, AXIS_DESTINATION, outside_never(c, f));
    }
    struct rule *r = policy_rule(c, CHAIN_CROSSING, IPV6, ACTION_REJECT,
                                 "Only addresses of the house's public prefix leave it (RFC 6092 REC-5, 7)");
    policy_is(c, &r->match, AXIS_TO, ZONE_INTERNET);
    policy_in(c, &r->match, AXIS_SOURCE,
              spans_others(c->a, prefix_list(c, c->plan->delegated), axis_max(AXIS_SOURCE, FAMILY_IPV6), &c->failed));
    if (!lets_internet_in(c->h))
        return; /* nothing but port openings, which name the address */
    r = policy_rule(c, CHAIN_CROSSING, IPV6, ACTION_DROP,
                    "The internet reaches addresses of the house's public prefix only (RFC 6092 REC-3, 7)");
    policy_is(c, &r->match, AXIS_FROM, ZONE_INTERNET);
    policy_in(c, &r->match, AXIS_DESTINATION,
              spans_others(c->a, prefix_list(c, c->plan->delegated), axis_max(AXIS_SOURCE, FAMILY_IPV6), &c->failed));
}

void policy_crossings(struct compiler *c)
{
    never_forwarded(c);
    link_messages(c);
    border(c);
    if (c->plan->delegated.is_given)
        policy_note(c, c->h->line.at,
                    "By IPv6 nothing may begin talk with the house from the internet unless a port opening says so. "
                    "RFC 6092 would let tunnels in to any device (REC-21, 22, 24 and 26: AH, ESP, IKE, HIP) and have "
                    "refused callers told so (REC-34): here they hear nothing");
}

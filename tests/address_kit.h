/* address_kit.h - address plans in tests: houses from text, and the laws that every plan keeps. */
#ifndef RT_ADDRESS_KIT_H
#define RT_ADDRESS_KIT_H

#include "check.h"
#include "reach/addressing.h"

/* Nine lines, one floor with one room; `rest` follows. */
static inline struct house *address_house(struct check_run *c, const char *rest)
{
    struct house *h = NULL;
    const struct str all = str_from(
        arena_printf(c->run.arena,
                     "rooftree: 1\nname: Test house\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"
                     "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n"
                     "rooms:\n  hall: { floor: ground, outline: [[0, 0], [4, 0], [4, 6], [0, 6]] }\n%s",
                     rest));
    CHECK_OK(c, house_read_bytes(&c->run, "house.yaml", all, &h, &c->problems));
    return h;
}

static inline struct address_plan *address_plan_of(struct check_run *c, const char *rest)
{
    struct address_plan *plan = NULL;
    CHECK_OK(c, addresses_plan(&c->run, address_house(c, rest), &plan, &c->problems));
    return plan;
}

/* No two subnets overlap, nor one a foreign range or the box's. */
static inline void address_laws_of_subnets(const struct address_plan *plan)
{
    const struct house *h = plan->h;
    const uint32_t n = h->segments.n + h->remote_access.n;
    for (uint32_t i = 0; i < n; i++) {
        const struct prefix v4 = i < h->segments.n ? plan->segments[i].ipv4 : plan->tunnels[i - h->segments.n].ipv4;
        const struct prefix v6 = i < h->segments.n ? plan->segments[i].ula : plan->tunnels[i - h->segments.n].ula;
        CHECK("there", v4.is_given && v6.is_given && v6.len == 64);
        for (uint32_t k = 0; k < i; k++) {
            CHECK("IPv4 apart", !prefix_overlaps(v4, k < h->segments.n ? plan->segments[k].ipv4
                                                                       : plan->tunnels[k - h->segments.n].ipv4));
            CHECK("IPv6 apart", !prefix_overlaps(v6, k < h->segments.n ? plan->segments[k].ula
                                                                       : plan->tunnels[k - h->segments.n].ula));
            CHECK("global apart", i >= h->segments.n || !plan->segments[i].global.is_given ||
                                      !plan->segments[k].global.is_given ||
                                      !prefix_overlaps(plan->segments[i].global, plan->segments[k].global));
        }
        for (uint32_t k = 0; k < h->foreign_ranges.n; k++) {
            struct prefix foreign;
            CHECK("foreign range", prefix_read(h->foreign_ranges.v[k].range, &foreign));
            CHECK("away from it", !prefix_overlaps(v4, foreign) && !prefix_overlaps(v6, foreign));
        }
        CHECK("away from the box", !plan->box_ipv4.is_given || !prefix_overlaps(v4, plan->box_ipv4));
    }
}

/* The delegated prefix gives as many /64s as it has (RFC 7084, L-2). */
static inline void address_laws_of_global(const struct address_plan *plan)
{
    const struct prefix d = plan->delegated;
    const uint64_t room = d.is_given ? (d.len == 64 ? 1 : (uint64_t)1 << (64 - d.len)) : 0;
    uint64_t n = 0;
    for (uint32_t i = 0; i < plan->h->segments.n; i++) {
        const struct prefix g = plan->segments[i].global;
        n += g.is_given;
        CHECK("inside the delegated prefix", !g.is_given || (g.len == 64 && prefix_overlaps(g, d)));
    }
    CHECK("as many as there are", n == (room < plan->h->segments.n ? room : plan->h->segments.n));
}

static inline void address_laws_of_device(const struct address_plan *plan, uint32_t i)
{
    const struct device_plan *d = &plan->devices[i];
    if (d->zone == NO_REF)
        return;
    const struct segment_plan *s = &plan->segments[d->zone - ZONE_SEGMENT];
    const struct span all = prefix_span(s->ipv4);
    CHECK("in its subnet", prefix_holds(s->ipv4, FAMILY_IPV4, d->ipv4) && prefix_holds(s->ula, FAMILY_IPV6, d->ula));
    CHECK("no special one", d->ipv4 != all.lo && d->ipv4 != all.hi && d->ipv4 != s->ipv4_gateway);
    CHECK("not handed out", s->dhcp_from == 0 || d->ipv4 < s->dhcp_from || d->ipv4 > s->dhcp_to);
    CHECK("not the gateway's", d->ula != s->ula_gateway && (d->global == 0 || d->global != s->global_gateway));
    CHECK("global where the segment has it", (d->global != 0) == s->global.is_given);
    CHECK("a device's MAC", d->mac != 0 && !(d->mac >> 40 & 1));
    CHECK("a stand-in says so", !d->mac_is_stand_in || (d->mac >> 40 & 2));
    for (uint32_t k = 0; k < i; k++) {
        const struct device_plan *e = &plan->devices[k];
        if (e->zone != NO_REF)
            CHECK("of its own",
                  d->ipv4 != e->ipv4 && d->ula != e->ula && d->mac != e->mac && !str_eq(d->name, e->name));
    }
}

static inline void address_laws(const struct address_plan *plan)
{
    address_laws_of_subnets(plan);
    address_laws_of_global(plan);
    for (uint32_t i = 0; i < plan->h->segments.n; i++) {
        const struct segment_plan *s = &plan->segments[i];
        CHECK("VLAN (IEEE 802.1Q: 1 to 4094)", s->vlan >= 1 && s->vlan <= 4094);
        for (uint32_t k = 0; k < i; k++)
            CHECK("VLANs apart", s->vlan != plan->segments[k].vlan);
        if (s->dhcp_from)
            CHECK("range in its subnet",
                  s->dhcp_from <= s->dhcp_to && s->dhcp_from > s->ipv4_gateway && s->dhcp_to < prefix_span(s->ipv4).hi);
    }
    for (uint32_t i = 0; i < plan->h->devices.n; i++)
        address_laws_of_device(plan, i);
}

#endif

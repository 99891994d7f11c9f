/* What holds of the address plan of any house: houses are drawn at random and written as text. */
#include "address_kit.h"

#include <string.h>

/* A house as the numbers it is written from, so that one more device or segment can be added. */
struct drawn {
    uint64_t seed;
    uint32_t n_segments, n_devices;
};

static uint64_t coin(const struct drawn *d, uint64_t what, uint32_t i) { return random_u64(d->seed, what, i); }

enum { LINE, VLAN, IPV4, IPV6, KNOWN, FOREIGN, SEGMENT, ADDRESS, MAC, LINK };

static void write_line(struct buf *b, const struct drawn *d)
{
    static const char *const BOXES[] = { "", ", box: { mode: modem }",
                                         ", box: { mode: router, ipv4: 192.168.0.0/24 }" };
    if (coin(d, LINE, 0) % 4 == 0)
        return;
    buf_printf(b, "line: { kind: fibre, down_mbps: 100, up_mbps: 10%s", BOXES[coin(d, LINE, 1) % 3]);
    if (coin(d, LINE, 2) % 3)
        buf_printf(b, ", ipv6_prefix_len: %u", 48 + (unsigned)(coin(d, LINE, 3) % 17));
    buf_text(b, " }\n");
}

static void write_segments(struct buf *b, const struct drawn *d)
{
    buf_text(b, d->n_segments ? "segments:\n" : "");
    for (uint32_t i = 0; i < d->n_segments; i++) {
        const bool has_vlan = coin(d, VLAN, i) % 2, has_ipv4 = coin(d, IPV4, i) % 2,
                   has_ipv6 = coin(d, IPV6, i) % 3 == 0;
        buf_printf(b, "  s%u: { known_only: %s", (unsigned)i, coin(d, KNOWN, i) % 3 ? "false" : "true");
        if (has_vlan)
            buf_printf(b, ", vlan: %u", 100 * ((unsigned)i + 1) + (unsigned)(coin(d, VLAN, 1000 + i) % 100));
        if (has_ipv4)
            buf_printf(b, ", ipv4: 10.40.%u.0/24", (unsigned)i);
        if (has_ipv4 && coin(d, IPV4, 1000 + i) % 2)
            buf_printf(b, ", dhcp_from: 10.40.%u.%u, dhcp_to: 10.40.%u.%u", (unsigned)i,
                       100 + (unsigned)(coin(d, IPV4, 2000 + i) % 50), (unsigned)i,
                       200 + (unsigned)(coin(d, IPV4, 3000 + i) % 50));
        if (has_ipv6)
            buf_printf(b, ", ipv6: \"fd11:2233:4455:%x::/64\"", 0xa00 + (unsigned)i);
        buf_text(b, " }\n");
    }
}

static void write_devices(struct buf *b, const struct drawn *d)
{
    static const char *const LINKS[] = { "wired", "wifi", "wifi", "mesh" };
    buf_text(b, d->n_devices && d->n_segments ? "devices:\n" : "");
    for (uint32_t i = 0; i < d->n_devices && d->n_segments; i++) {
        /* the segments are those of the smallest house, so that one more changes nobody's */
        const uint32_t segment = (uint32_t)(coin(d, SEGMENT, i) % (d->n_segments > 1 ? d->n_segments - 1 : 1));
        const char *link = LINKS[coin(d, LINK, i) % RT_COUNT(LINKS)];
        buf_printf(b, "  d%u: { kind: other, room: hall, segment: s%u, link: %s", (unsigned)i, (unsigned)segment, link);
        if (strcmp(link, "mesh") != 0 && coin(d, IPV4, segment) % 2 && coin(d, ADDRESS, i) % 4 == 0 && i < 60)
            buf_printf(b, ", ipv4: 10.40.%u.%u", (unsigned)segment, 20 + (unsigned)i);
        if (coin(d, MAC, i) % 2)
            buf_printf(b, ", mac: \"00:00:5e:00:53:%02x\"", (unsigned)i);
        buf_text(b, " }\n");
    }
}

static struct address_plan *plan_drawn(struct check_run *c, const struct drawn *d)
{
    struct buf b = { .arena = c->run.arena };
    write_line(&b, d);
    write_segments(&b, d);
    if (coin(d, FOREIGN, 0) % 2)
        buf_text(&b, "foreign_ranges: [172.20.0.0/16, 10.96.0.0/12, \"fd00:1::/32\"]\n");
    write_devices(&b, d);
    if (d->n_segments && coin(d, LINE, 9) % 2)
        buf_text(&b, "people: { anna: {} }\nremote_access: { away: { segment: s0, port: 51820, people: [anna] } }\n");
    return address_plan_of(c, b.p ? b.p : "");
}

static struct drawn draw(struct random *r)
{
    return (struct drawn){ random_next(r), random_below(r, 9), random_below(r, 90) };
}

static bool same_prefix(struct prefix a, struct prefix b)
{
    return a.is_given == b.is_given && a.base == b.base && a.len == b.len;
}

/* What both plans have is the same in both. */
static void check_same(const struct address_plan *a, const struct address_plan *b)
{
    const uint32_t n_segments = a->h->segments.n < b->h->segments.n ? a->h->segments.n : b->h->segments.n;
    const uint32_t n_devices = a->h->devices.n < b->h->devices.n ? a->h->devices.n : b->h->devices.n;
    for (uint32_t i = 0; i < n_segments; i++) {
        const struct segment_plan *x = &a->segments[i], *y = &b->segments[i];
        CHECK("segment", x->vlan == y->vlan && same_prefix(x->ipv4, y->ipv4) && same_prefix(x->ula, y->ula) &&
                             same_prefix(x->global, y->global) && x->dhcp_from == y->dhcp_from &&
                             x->dhcp_to == y->dhcp_to);
    }
    for (uint32_t i = 0; i < n_devices; i++) {
        const struct device_plan *x = &a->devices[i], *y = &b->devices[i];
        CHECK("device", x->zone == y->zone && x->ipv4 == y->ipv4 && x->ula == y->ula && x->global == y->global &&
                            x->mac == y->mac && str_eq(x->name, y->name));
    }
    for (uint32_t i = 0; i < a->h->remote_access.n && i < b->h->remote_access.n; i++)
        CHECK("tunnel",
              same_prefix(a->tunnels[i].ipv4, b->tunnels[i].ipv4) && same_prefix(a->tunnels[i].ula, b->tunnels[i].ula));
}

PROP(every_plan_keeps_the_laws, 150)
{
    struct check_run c = check_run_begin();
    const struct drawn d = draw(r);
    address_laws(plan_drawn(&c, &d));
    check_run_end(&c);
}

PROP(the_same_house_has_the_same_plan, 40)
{
    struct check_run c = check_run_begin(), other = check_run_begin();
    const struct drawn d = draw(r);
    (void)arena_alloc(other.run.arena, 12345, 1);
    other.run.n_threads = 7;
    const struct address_plan *a = plan_drawn(&c, &d), *b = plan_drawn(&other, &d);
    check_same(a, b);
    CHECK("as many notes", a->notes.n == b->notes.n);
    for (uint32_t i = 0; i < a->notes.n; i++)
        CHECK_TEXT("note", a->notes.v[i].says, b->notes.v[i].says);
    check_run_end(&c);
    check_run_end(&other);
}

/* A device behind the others, without fixed values of its own. */
PROP(one_device_more_changes_nobody_else, 100)
{
    struct check_run c = check_run_begin();
    struct drawn d = draw(r);
    d.n_devices = 61 + random_below(r, 30); /* from the 61st on none asks for an address */
    const struct address_plan *before = plan_drawn(&c, &d);
    d.n_devices++;
    const struct address_plan *after = plan_drawn(&c, &d);
    bool is_outgrown = false;
    for (uint32_t i = 0; i < before->h->segments.n; i++)
        is_outgrown = is_outgrown || before->segments[i].ipv4.len != after->segments[i].ipv4.len;
    if (!is_outgrown)
        check_same(before, after);
    check_run_end(&c);
}

/* A device in the middle: who moves, moves because the newcomer's place was theirs, and those are few. */
TEST(a_device_between_others_moves_few)
{
    unsigned n_moved = 0, n_all = 0;
    for (unsigned k = 0; k < 30; k++) {
        struct check_run c = check_run_begin();
        struct buf with = { .arena = c.run.arena }, without = { .arena = c.run.arena };
        for (int w = 0; w < 2; w++) {
            struct buf *b = w ? &with : &without;
            buf_text(b, "segments: { s: { ipv4: 10.40.0.0/24 } }\ndevices:\n");
            for (unsigned i = 0; i < 31; i++)
                if (i != 10 || w)
                    buf_printf(b, "  d%u_%u: { kind: other, room: hall, segment: s, link: wifi }\n", k, i);
        }
        const struct address_plan *a = address_plan_of(&c, without.p), *b = address_plan_of(&c, with.p);
        for (uint32_t i = 0; i < a->h->devices.n; i++, n_all++)
            n_moved += a->devices[i].ipv4 != b->devices[i < 10 ? i : i + 1].ipv4;
        check_run_end(&c);
    }
    /* 30 of 126 places are taken: the newcomer meets a later one in about 20/126 of the houses, and pushes few on */
    CHECK("few", n_moved > 0 && n_moved < n_all / 30);
}

/* A segment behind the others. */
PROP(one_segment_more_changes_nobody_else, 100)
{
    struct check_run c = check_run_begin();
    struct drawn d = draw(r);
    d.n_segments += 2;
    const struct address_plan *before = plan_drawn(&c, &d);
    /* written with one segment more, but with the devices where they were */
    struct buf b = { .arena = c.run.arena };
    const struct house *h = before->h;
    const char *text = strstr(h->bytes.p, "segments:\n"), *end = text;
    for (uint32_t i = 0; i <= d.n_segments; i++)
        end = strchr(end, '\n') + 1;
    const char *from = strstr(h->bytes.p, "hall:");
    from = strchr(from, '\n') + 1;
    buf_add(&b, from, (size_t)(end - from));
    buf_text(&b, "  later: {}\n");
    buf_text(&b, end);
    const struct address_plan *after = address_plan_of(&c, b.p);
    CHECK("one more", after->h->segments.n == before->h->segments.n + 1);
    check_same(before, after);
    address_laws(after);
    check_run_end(&c);
}

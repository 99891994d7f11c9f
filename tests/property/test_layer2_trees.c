/* Random trees of switches, access points and devices: every port on the way of a device carries its segment, and none carries a
 * segment that nobody behind it needs (IEEE Std 802.1Q membership by hand: walked from each leaf up, one by one). */
#include <string.h>

#include "base/units.h"
#include "check.h"
#include "reach/layer2.h"

/* At most 19 things on a switch of 26 ports. */
enum { SEGMENTS = 5, SWITCHES_MAX = 6, DEVICES_MAX = 12 };

struct tree {
    struct buf text, cables;
    uint32_t n_switches, n_points, n_devices;
};

static struct str some_house(struct arena *a, struct random *r, struct tree *t)
{
    *t = (struct tree){ .text = { .arena = a }, .cables = { .arena = a } };
    t->n_switches = 1 + random_below(r, SWITCHES_MAX);
    t->n_points = 1 + random_below(r, 3);
    t->n_devices = 1 + random_below(r, DEVICES_MAX);
    buf_text(&t->text, "rooftree: 1\nname: T\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"
                       "parts_file: ../parts/demo.parts.yaml\n"
                       "floors: {g: {level_m: 0, height_m: 2.5, outline: [[0, 0], [9, 0], [9, 9]]}}\n"
                       "rooms: {den: {floor: g, outline: [[0, 0], [9, 0], [9, 9]], use: living}}\nsegments:\n");
    for (unsigned s = 0; s < SEGMENTS; s++)
        buf_printf(&t->text, "  s%u: {vlan: %u}\n", s, 10 * (s + 1));
    buf_text(&t->text, "devices:\n");
    for (unsigned d = 0; d < t->n_devices; d++)
        buf_printf(&t->text, "  d%u: {kind: desktop, room: den, at_m: [8, 4, 1], link: wired, segment: s%u}\n", d,
                   (unsigned)random_below(r, SEGMENTS));
    buf_printf(&t->text, "ssids:\n  w: {segment: s%u, bands: [5], security: wpa3}\n",
               (unsigned)random_below(r, SEGMENTS));
    buf_text(&t->text, "equipment:\n  gw: {part: gateway_1g, room: den, at_m: [8, 4, 1]}\n");
    buf_text(&t->cables, "  c_sw0: {from: gw, to: sw0}\n");
    for (unsigned s = 0; s < t->n_switches; s++) {
        buf_printf(&t->text, "  sw%u: {part: switch_24, room: den, at_m: [8, 4, 1]%s}\n", s,
                   random_below(r, 2) ? ", segment: s1" : "");
        if (s)
            buf_printf(&t->cables, "  c_sw%u: {from: sw%u, to: sw%u}\n", s, (unsigned)random_below(r, s), s);
    }
    for (unsigned p = 0; p < t->n_points; p++) {
        char name[16];
        snprintf(name, sizeof name, "ap%u", p);
        buf_printf(&t->text, "  %s: {part: ceiling_two_band, room: den, at_m: [8, 4, 2]}\n", name);
        buf_printf(&t->cables, "  c_%s: {from: sw%u, to: %s}\n", name, (unsigned)random_below(r, t->n_switches), name);
    }
    for (unsigned d = 0; d < t->n_devices; d++) {
        char name[16];
        snprintf(name, sizeof name, "d%u", d);
        buf_printf(&t->cables, "  c_%s: {from: sw%u, to: %s}\n", name, (unsigned)random_below(r, t->n_switches), name);
    }
    buf_printf(&t->text, "cables:\n%s", t->cables.p);
    return buf_done(&t->text);
}

static bool carries(const struct l2_port *p, uint32_t segment)
{
    bool yes = p->untagged == segment;
    for (uint32_t i = 0; i < p->tagged.n; i++)
        yes |= p->tagged.v[i] == segment;
    return yes;
}

/* Marks the segment at every port from this one up to the gateway, and demands that each lets it through. */
static void walk_up(const struct layer2 *l2, uint32_t at, uint32_t segment, bool *needed)
{
    for (uint32_t steps = 0; at != NO_REF; steps++) {
        const struct l2_port *p = &l2->ports.v[at];
        CHECK("no circle", steps < 100);
        CHECK("lets it through", carries(p, segment));
        needed[at * SEGMENTS + segment] = true;
        uint32_t up = NO_REF; /* out of that equipment towards the gateway */
        for (uint32_t i = l2->first_port[p->equipment]; i < l2->first_port[p->equipment + 1]; i++)
            if (l2->ports.v[i].towards_gateway)
                up = i;
        if (up == NO_REF)
            return;
        CHECK("lets it out", carries(&l2->ports.v[up], segment));
        needed[up * SEGMENTS + segment] = true;
        at = l2->ports.v[up].far_port;
    }
}

static uint32_t out_of(const struct layer2 *l2, uint32_t equipment)
{
    for (uint32_t i = l2->first_port[equipment]; i < l2->first_port[equipment + 1]; i++)
        if (l2->ports.v[i].towards_gateway)
            return i;
    return NO_REF;
}

static void check_house(struct check_run *c, const struct house *h, const struct layer2 *l2)
{
    bool *needed = ARENA_ARRAY(c->run.arena, bool, (size_t)l2->ports.n *SEGMENTS);
    for (uint32_t d = 0; d < h->devices.n; d++) {
        CHECK("it hangs on a port", l2->port_of_device[d] != NO_REF);
        const struct l2_port *p = &l2->ports.v[l2->port_of_device[d]];
        CHECK("untagged, and nothing else",
              p->mode == PORT_ACCESS && p->untagged == h->devices.v[d].segment.i && !p->tagged.n);
        walk_up(l2, l2->port_of_device[d], h->devices.v[d].segment.i, needed);
    }
    for (uint32_t i = 0; i < l2->ssids[0].cells.n; i++) {
        const uint32_t up = out_of(l2, l2->ssids[0].cells.v[i].equipment);
        CHECK("the access point has a way", up != NO_REF);
        walk_up(l2, up, l2->ssids[0].segment, needed);
    }
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (h->equipment.v[e].segment.i != NO_REF) {
            const uint32_t up = out_of(l2, e);
            CHECK("its own settings come without a tag", l2->ports.v[up].untagged == h->equipment.v[e].segment.i);
            walk_up(l2, up, h->equipment.v[e].segment.i, needed);
        }
    for (uint32_t i = 0; i < l2->ports.n; i++)
        for (uint32_t s = 0; s < SEGMENTS; s++)
            CHECK("carried only where it is needed", carries(&l2->ports.v[i], s) == needed[i * SEGMENTS + s]);
}

PROP(every_segment_arrives_and_none_goes_astray, 150)
{
    struct check_run c = check_run_begin();
    struct tree t;
    struct house *h;
    struct layer2 *l2;
    const struct str text = some_house(c.run.arena, r, &t);
    CHECK_OK(&c, house_read_bytes(&c.run, check_path(&c, "houses/test.house.yaml"), text, &h, &c.problems));
    struct address_plan plan = { .h = h, .segments = ARENA_ARRAY(c.run.arena, struct segment_plan, h->segments.n) };
    CHECK_OK(&c, layer2_plan(&c.run, &plan, NULL, &l2, &c.problems));
    for (uint32_t i = 0; i < l2->findings.n; i++)
        if (l2->findings.v[i].is_error)
            fail_msg("%s\n%s", l2->findings.v[i].says.p, text.p);
    check_house(&c, h, l2);
    check_run_end(&c);
}

/* House files.  The parts file that a mutated house names is looked for in a folder that is not there: the target reads
 * nothing but its input. */
#include "fuzz.h"
#include "house/house.h"
#include "reach/addressing.h"
#include "reach/calendar.h"

static void put_at(struct buf *out, const char *what, struct vec3 at_m)
{
    buf_printf(out, " %s", what);
    fuzz_number(out, "x", at_m.x, true);
    fuzz_number(out, "y", at_m.y, true);
    fuzz_number(out, "z", at_m.z, true);
}

static void put_building(struct buf *out, const struct house *h)
{
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const struct floor *f = &h->floors.v[i];
        buf_printf(out, "\nfloor %.*s", STR_ARG(f->id));
        fuzz_number(out, "level", f->level_m, false);
        fuzz_number(out, "height", f->height_m, false);
        fuzz_number(out, "area", polygon_area_m2(f->outline), false);
    }
    for (uint32_t i = 0; i < h->rooms.n; i++) {
        const struct room *r = &h->rooms.v[i];
        fuzz_check(r->floor.i < h->floors.n && r->outline.n >= 3, "a room has a floor and an outline");
        const struct vec2 c = polygon_centre(r->outline);
        buf_printf(out, "\nroom %.*s", STR_ARG(house_room_name(h, i)));
        fuzz_number(out, "area", polygon_area_m2(r->outline), false);
        fuzz_number(out, "cx", c.x, false);
        fuzz_number(out, "cy", c.y, false);
        fuzz_check(polygon_area_m2(r->outline) > 0, "a room has an area");
    }
    for (uint32_t i = 0; i < h->walls.n; i++) {
        const struct wall *w = &h->walls.v[i];
        fuzz_check(w->floor.i < h->floors.n && w->construct.i < h->constructs.n && w->line.n >= 2, "a wall is whole");
        buf_printf(out, "\nwall %.*s", STR_ARG(w->id));
        fuzz_number(out, "base", w->base_m, false);
        fuzz_number(out, "height", w->height_m, true);
        for (uint32_t k = 0; k < w->openings.n; k++)
            fuzz_number(out, "at", w->openings.v[k].at_m, false);
    }
}

static void put_things(struct buf *out, const struct house *h)
{
    for (uint32_t i = 0; i < h->devices.n; i++) {
        const struct device *d = &h->devices.v[i];
        fuzz_check(d->room.i == NO_REF || d->room.i < h->rooms.n, "a device's room is there");
        fuzz_check(d->segment.i == NO_REF || d->segment.i < h->segments.n, "a device's segment is there");
        buf_printf(out, "\ndevice %.*s", STR_ARG(d->id));
        put_at(out, "at", d->at_m);
    }
    for (uint32_t i = 0; i < h->equipment.n; i++) {
        const struct equipment *e = &h->equipment.v[i];
        fuzz_check(e->part.i < h->parts.list.n, "equipment is a part");
        buf_printf(out, "\nequipment %.*s", STR_ARG(e->id));
        put_at(out, "at", e->at_m);
    }
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise *q = &h->promises.v[i];
        fuzz_check(q->kind < PROMISE_KIND_COUNT && q->says.n > 0, "a promise says what it is");
        buf_printf(out, "\npromise %.*s %s %.*s", STR_ARG(q->id), promise_kind_name(q->kind), STR_ARG(q->says));
        fuzz_number(out, "level", q->level_dbm, true);
        for (uint32_t k = 0; k < q->rooms.n; k++)
            fuzz_check(q->rooms.v[k].i < h->rooms.n, "a promise's room is there");
    }
}

/* What follows from a right file: its addresses, or why there are none. */
static void put_addresses(const struct run *run, struct buf *out, const struct house *h)
{
    struct rt_problems p;
    rt_problems_init(&p, run->arena);
    struct address_plan *plan = NULL;
    const enum rt_code code = addresses_plan(run, h, &plan, &p);
    buf_printf(out, "\naddresses %s\n", rt_code_name(code));
    rt_problems_format(&p, out);
    fuzz_check((code == RT_OK) == (p.n_errors == 0) && (code == RT_OK) == (plan != NULL), "a plan or an error");
    for (uint32_t i = 0; plan && i < h->segments.n; i++) {
        prefix_write(out, plan->segments[i].ipv4);
        prefix_write(out, plan->segments[i].ula);
        address_write(out, FAMILY_IPV4, plan->segments[i].dhcp_from);
    }
    for (uint32_t i = 0; plan && i < h->devices.n; i++) {
        const struct device_plan *d = &plan->devices[i];
        fuzz_check(d->zone == NO_REF || prefix_holds(plan->segments[d->zone - ZONE_SEGMENT].ipv4, FAMILY_IPV4, d->ipv4),
                   "a device is in its subnet");
        address_write(out, FAMILY_IPV6, d->ula);
        buf_str(out, d->name);
    }
    for (uint32_t i = 0; plan && i < plan->notes.n; i++)
        buf_str(out, plan->notes.v[i].says);
}

static void put_calendar(const struct run *run, struct buf *out, const struct house *h)
{
    struct rt_problems p;
    rt_problems_init(&p, run->arena);
    struct calendar *c = NULL;
    if (calendar_make(run, h, 1795600000, 1, &c, &p) != RT_OK)
        return;
    for (uint32_t k = 0; k < c->kinds.n; k++) {
        const struct week_kind *kind = &c->kinds.v[k];
        buf_printf(out, "\n%.*s %u:", STR_ARG(kind->says), (unsigned)kind->n_weeks);
        for (uint32_t i = 0; i < h->hours.n; i++) {
            fuzz_check(kind->hours[i].n == 0 || kind->hours[i].v[kind->hours[i].n - 1].hi < kind->n_minutes,
                       "hours end with their week");
            buf_printf(out, " %u %.*s", (unsigned)kind->hours[i].n,
                       STR_ARG(calendar_span_words(run->arena, c->ordinary[i])));
        }
    }
}

static void outcome(const struct run *run, struct str bytes, struct buf *out)
{
    struct rt_problems p;
    rt_problems_init(&p, run->arena);
    struct house *h = NULL;
    const enum rt_code code = house_read_bytes(run, "/nowhere/at/all/h.house.yaml", bytes, &h, &p);
    buf_printf(out, "%s\n", rt_code_name(code));
    rt_problems_format(&p, out);
    fuzz_check((code == RT_OK) == (p.n_errors == 0), "an error has a message, and only an error");
    fuzz_check((code == RT_OK) == (h != NULL), "a house is given when there is no error, and only then");
    if (!h)
        return;
    put_building(out, h);
    put_things(out, h);
    put_addresses(run, out, h);
    put_calendar(run, out, h);
}

int fuzz_house(const uint8_t *p, size_t n) { return fuzz_twice(p, n, outcome); }

FUZZ_TARGET(fuzz_house);

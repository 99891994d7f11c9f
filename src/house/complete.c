/* What follows from what the file says: defaults by kind, places taken from mounts and rooms; and facts of different
 * keys and sections that contradict each other. */

#include "base/units.h"
#include "data/device_kinds.h"
#include "house/field_int.h"
#include "house/model_int.h"

const struct yaml_node *section_item(const struct reader *rd, const char *section, uint32_t i)
{
    const struct yaml_node *map = yaml_get(rd->root, section);
    return map && i < map->pairs.n ? map->pairs.v[i].value : NULL;
}

const struct yaml_node *section_value(const struct reader *rd, const char *section, uint32_t i, const char *key)
{
    const struct yaml_node *item = section_item(rd, section, i);
    return item && item->kind == YAML_MAP ? yaml_get(item, key) : NULL;
}

static struct rt_place place_of(const struct yaml_node *node, struct rt_place otherwise)
{
    return node ? node->at : otherwise;
}

#define SPOT(shape, object) ((struct spot){ NULL, &(shape), (object)->id, 0 })

/* The floor that a room gives; a floor that is said too must be the same. */
static void floor_from_room(struct reader *rd, const struct house *h, const struct spot *spot, struct ref room,
                            struct ref *floor)
{
    if (room.i == NO_REF)
        return;
    const struct ref of_room = h->rooms.v[room.i].floor;
    if (floor->i != NO_REF && of_room.i != NO_REF && floor->i != of_room.i)
        reader_fail(rd, spot, RT_CONFLICT, floor->at, "leave 'floor' out: the room gives it",
                    "it is on floor '%.*s', but room '%.*s' is on floor '%.*s'", STR_ARG(h->floors.v[floor->i].id),
                    STR_ARG(h->rooms.v[room.i].id), STR_ARG(h->floors.v[of_room.i].id));
    if (floor->i == NO_REF)
        *floor = of_room;
}

/* ---- devices ---- */

static void radio_by_kind(struct radio_ability *r, const struct device_kind *kind, const struct yaml_node *given)
{
    if (!yaml_get(given, "phy"))
        r->phy = kind->phy;
    if (!yaml_get(given, "bands"))
        r->bands = kind->bands;
    r->streams = given_or(r->streams, kind->streams);
    r->width_mhz = given_or(r->width_mhz, kind->width_mhz);
    r->power_dbm = given_or(r->power_dbm, kind->power_dbm);
    r->gain_dbi = given_or(r->gain_dbi, kind->gain_dbi);
    r->body_loss_db = given_or(r->body_loss_db, kind->body_loss_db);
    r->noise_figure_db = given_or(r->noise_figure_db, kind->noise_figure_db);
}

static void complete_device(struct reader *rd, struct house *h, uint32_t i)
{
    struct device *d = &h->devices.v[i];
    const struct spot spot = SPOT(SHAPE_DEVICE, d);
    const struct yaml_node *at = section_value(rd, "devices", i, "at_m");
    const struct device_kind *kind = device_kind_find(d->kind);
    floor_from_room(rd, h, &spot, d->room, &d->floor);
    if (kind) {
        radio_by_kind(&d->radio, kind, section_value(rd, "devices", i, "radio"));
        if (!section_value(rd, "devices", i, "carried"))
            d->carried = kind->carried;
    }
    const bool has_place = section_value(rd, "devices", i, "room") || section_value(rd, "devices", i, "floor");
    if (at && !has_place)
        reader_fail(rd, &spot, RT_GEOMETRY, at->at, "say 'room', or 'floor' where there is no room",
                    "'at_m' needs a room or a floor from which z is measured");
    else if (!has_place && !d->carried && kind)
        reader_fail(rd, &spot, RT_GEOMETRY, d->at, "say 'room', or 'floor' where there is no room, or 'carried: true'",
                    "nothing says where it is");
    if (d->link != LINK_WIFI && d->radio.at.line)
        reader_fail(rd, &spot, RT_CONFLICT, d->radio.at, "say 'link: wifi', or leave 'radio' out",
                    "it has a 'radio' but is not linked by Wi-Fi");
}

/* The first bit of the first octet marks a group of devices (IEEE 802-2014, 8.2, from memory). */
static void check_mac(struct reader *rd, const struct house *h, uint32_t i)
{
    const struct device *d = &h->devices.v[i];
    const struct spot spot = SPOT(SHAPE_DEVICE, d);
    const struct rt_place at = place_of(section_value(rd, "devices", i, "mac"), d->at);
    if (d->mac.n == 0)
        return;
    if (strspn(d->mac.p, "0:") >= d->mac.n)
        reader_fail(rd, &spot, RT_RANGE, at, "look on its label or in its settings, or leave 'mac' out",
                    "no device has the MAC address %.*s", STR_ARG(d->mac));
    else if (strchr("13579bBdDfF", d->mac.p[1]))
        reader_fail(rd, &spot, RT_RANGE, at, "look on its label or in its settings, or leave 'mac' out",
                    "%.*s is the MAC address of a group of devices, not of one", STR_ARG(d->mac));
}

/* Two devices of the same MAC or fixed address. */
static void check_device_twins(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 1; i < h->devices.n; i++) {
        const struct device *d = &h->devices.v[i];
        for (uint32_t k = 0; k < i && (d->mac.n || d->ipv4.n); k++) {
            const struct device *e = &h->devices.v[k];
            const struct spot spot = SPOT(SHAPE_DEVICE, d);
            if (d->mac.n && e->mac.n && strncasecmp(d->mac.p, e->mac.p, d->mac.n) == 0)
                reader_fail(rd, &spot, RT_CONFLICT, place_of(section_value(rd, "devices", i, "mac"), d->at), NULL,
                            "it has the same MAC address as device '%.*s'", STR_ARG(e->id));
            if (d->ipv4.n && str_eq(d->ipv4, e->ipv4))
                reader_fail(rd, &spot, RT_CONFLICT, place_of(section_value(rd, "devices", i, "ipv4"), d->at), NULL,
                            "it asks for the same address as device '%.*s'", STR_ARG(e->id));
        }
    }
}

/* ---- mounts and equipment ---- */

static void complete_mounts(struct reader *rd, struct house *h)
{
    for (uint32_t i = 0; i < h->mounts.n; i++) {
        struct mount *m = &h->mounts.v[i];
        const struct spot spot = SPOT(SHAPE_MOUNT, m);
        floor_from_room(rd, h, &spot, m->room, &m->floor);
        if (!section_value(rd, "mounts", i, "room") && !section_value(rd, "mounts", i, "floor"))
            reader_fail(rd, &spot, RT_SHAPE, m->at, "say 'room', or 'floor' where there is no room",
                        "nothing says on which floor it is");
    }
}

static void equipment_place(struct reader *rd, struct house *h, uint32_t i)
{
    struct equipment *e = &h->equipment.v[i];
    const struct spot spot = SPOT(SHAPE_EQUIPMENT, e);
    const struct yaml_node *mount = section_value(rd, "equipment", i, "mount");
    const struct yaml_node *at = section_value(rd, "equipment", i, "at_m");
    const struct yaml_node *inside = section_value(rd, "equipment", i, "inside");
    const struct yaml_node *room = section_value(rd, "equipment", i, "room");
    const struct yaml_node *floor = section_value(rd, "equipment", i, "floor");
    const struct yaml_node *part = section_value(rd, "equipment", i, "part");
    const struct yaml_node *kind = section_value(rd, "equipment", i, "kind");
    if (!part == !kind)
        reader_fail(
            rd, &spot, part ? RT_CONFLICT : RT_SHAPE, part ? kind->at : e->at,
            part ? "keep one of them"
                 : "say which part of the parts file it is ('part'), or what kind the cheapest is to be of ('kind')",
            part ? "both 'part' and 'kind' are given" : "nothing says what it is");
    if (mount && (at || room || floor))
        reader_fail(rd, &spot, RT_CONFLICT, place_of(at, place_of(room, place_of(floor, e->at))),
                    "keep 'mount' alone, or give room and at_m without it",
                    "its place is given twice: by 'mount' and here");
    else if (!mount && !inside && !(at && (room || floor)))
        reader_fail(rd, &spot, RT_GEOMETRY, place_of(at, e->at),
                    "say 'mount', or 'room' (or 'floor') with 'at_m', or 'inside' for what is built into a cabinet",
                    "nothing says where it is");
    if (e->mount.i != NO_REF) {
        const struct mount *m = &h->mounts.v[e->mount.i];
        e->floor = m->floor;
        e->room = m->room;
        e->at_m = m->at_m;
        e->faces_deg = given_or(e->faces_deg, m->faces_deg);
        e->tilt_deg = given_or(e->tilt_deg, m->tilt_deg);
    }
    floor_from_room(rd, h, &spot, e->room, &e->floor);
    e->tilt_deg = given_or(e->tilt_deg, 0);
}

/* What is built into a cabinet is where the cabinet is, unless it says its own place. */
static void place_inside(struct reader *rd, struct house *h, uint32_t i)
{
    struct equipment *e = &h->equipment.v[i];
    uint32_t outer = e->inside.i, steps = 0;
    while (outer != NO_REF && outer != i && !is_given(h->equipment.v[outer].at_m.x) && steps++ < h->equipment.n)
        outer = h->equipment.v[outer].inside.i;
    if (outer == i || steps > h->equipment.n) {
        const struct spot spot = SPOT(SHAPE_EQUIPMENT, e);
        reader_fail(rd, &spot, RT_CONFLICT, e->inside.at, NULL, "it is built into itself");
        return;
    }
    if (outer == NO_REF || is_given(e->at_m.x))
        return;
    e->at_m = h->equipment.v[outer].at_m;
    e->floor = h->equipment.v[outer].floor;
    e->room = h->equipment.v[outer].room;
}

/* How many rack units it takes; what is no rack part stands on a shelf that begins there. */
static double units_of(const struct house *h, const struct equipment *e)
{
    return e->part.i == NO_REF ? 1.0 : given_or(h->parts.list.v[e->part.i].rack_units, 1.0);
}

static bool is_rack_part(const struct house *h, const struct equipment *e)
{
    return e->part.i != NO_REF && is_given(h->parts.list.v[e->part.i].rack_units);
}

static void check_unit(struct reader *rd, struct house *h, uint32_t i)
{
    const struct equipment *e = &h->equipment.v[i];
    const struct spot spot = SPOT(SHAPE_EQUIPMENT, e);
    if (!is_given(e->unit))
        return;
    const struct rt_place at = place_of(section_value(rd, "equipment", i, "unit"), e->at);
    const struct ref rack = e->inside.i == NO_REF ? (struct ref){ .i = NO_REF } : h->equipment.v[e->inside.i].part;
    const double has = rack.i == NO_REF ? RT_NOT_GIVEN : h->parts.list.v[rack.i].rack_units;
    if (e->inside.i == NO_REF) {
        reader_fail(rd, &spot, RT_SHAPE, at, "say 'inside' too, or leave 'unit' out", "it stands in no cabinet");
        return;
    }
    if (!is_given(has) || e->unit + units_of(h, e) - 1.0 > has)
        reader_fail(rd, &spot, RT_RANGE, at, "count from 1 at the bottom",
                    "it would reach to unit %.4g, but '%.*s' has %.4g", e->unit + units_of(h, e) - 1.0,
                    STR_ARG(h->equipment.v[e->inside.i].id), given_or(has, 0.0));
    for (uint32_t k = 0; k < i; k++) {
        const struct equipment *other = &h->equipment.v[k];
        if (other->inside.i == e->inside.i && is_given(other->unit) && (is_rack_part(h, e) || is_rack_part(h, other)) &&
            e->unit < other->unit + units_of(h, other) && other->unit < e->unit + units_of(h, e))
            reader_fail(rd, &spot, RT_CONFLICT, at, NULL, "'%.*s' stands in that unit", STR_ARG(other->id));
    }
}

static bool part_has_band(const struct part *part, enum band band)
{
    for (uint32_t i = 0; i < part->radios.n; i++)
        if (part->radios.v[i].band == band)
            return true;
    return false;
}

static void check_radios(struct reader *rd, const struct house *h, const struct equipment *e)
{
    if (e->part.i == NO_REF)
        return;
    const struct part *part = &h->parts.list.v[e->part.i];
    const struct spot spot = SPOT(SHAPE_EQUIPMENT, e);
    for (uint32_t i = 0; i < e->radios.n; i++) {
        const struct radio_setting *r = &e->radios.v[i];
        if (!part_has_band(part, r->band))
            reader_fail(rd, &spot, RT_CONFLICT, r->at, NULL, "part '%.*s' has no radio for %s GHz", STR_ARG(part->id),
                        band_name(r->band));
        for (uint32_t k = 0; k < i; k++)
            if (e->radios.v[k].band == r->band)
                reader_fail(rd, &spot, RT_CONFLICT, r->at, "keep one of them", "the radio for %s GHz is set twice",
                            band_name(r->band));
    }
}

/* ---- cables ---- */

static bool same_port(const struct cable_end *a, const struct cable_end *b)
{
    return is_given(a->port) && a->port == b->port && a->equipment == b->equipment && a->device == b->device;
}

/* What no data cable goes into, unless its part says which port. */
static bool takes_no_cable(const struct part *part)
{
    static const bool NONE[PART_KIND_COUNT] = {
        [PART_CABINET] = true, [PART_CABLE] = true, [PART_CORD] = true, [PART_BATTERY] = true, [PART_DISK] = true
    };
    return part->ports.n == 0 && NONE[part->kind];
}

static unsigned n_ports_of(const struct part *part)
{
    double n = 0.0;
    for (uint32_t i = 0; i < part->ports.n; i++)
        n += given_or(part->ports.v[i].count, 0.0);
    return (unsigned)n;
}

/* Cables before this one in a device. */
static uint32_t cables_before(const struct house *h, uint32_t cable, uint32_t device, uint32_t *last)
{
    uint32_t n = 0;
    for (uint32_t k = 0; k < cable; k++)
        if (h->cables.v[k].from.device == device || h->cables.v[k].to.device == device) {
            *last = k;
            n++;
        }
    return n;
}

static void check_device_end(struct reader *rd, const struct house *h, uint32_t cable, const struct cable_end *end)
{
    const struct device *d = &h->devices.v[end->device];
    const struct spot spot = SPOT(SHAPE_CABLE, &h->cables.v[cable]);
    const uint32_t part = d->part.n ? parts_find(&h->parts, d->part) : NO_REF;
    const unsigned n_ports = part == NO_REF ? 0 : n_ports_of(&h->parts.list.v[part]);
    uint32_t last = 0;
    const uint32_t n_before = cables_before(h, cable, end->device, &last);
    if (n_ports && end->port > n_ports)
        reader_fail(rd, &spot, RT_CONFLICT, end->at, "look at the numbers on it, or leave the port out",
                    "it goes to port %.0f of '%.*s', which has %u", end->port, STR_ARG(d->id), n_ports);
    else if (n_ports && n_before >= n_ports)
        reader_fail(rd, &spot, RT_CONFLICT, end->at, "unplug one, or put a switch between",
                    "'%.*s' has %u port%s, and cable '%.*s' is in it already", STR_ARG(d->id), n_ports,
                    n_ports == 1 ? "" : "s", STR_ARG(h->cables.v[last].id));
    else if (!n_ports && n_before && !is_given(end->port))
        rt_warn(rd->p, RT_CONFLICT, end->at,
                "unplug one, or say of each which port it is in (its id, a colon and the number)",
                "cable '%.*s' is in '%.*s' already, and nothing says that it has two ports",
                STR_ARG(h->cables.v[last].id), STR_ARG(d->id));
}

static void check_cable_end(struct reader *rd, const struct house *h, uint32_t cable, const struct cable_end *end)
{
    const struct spot spot = SPOT(SHAPE_CABLE, &h->cables.v[cable]);
    const uint32_t i = end->equipment == NO_REF ? NO_REF : h->equipment.v[end->equipment].part.i;
    if (end->device != NO_REF)
        check_device_end(rd, h, cable, end);
    else if (i != NO_REF && takes_no_cable(&h->parts.list.v[i]))
        reader_fail(
            rd, &spot, RT_CONFLICT, end->at, "name what the cable is plugged into: a switch, a gateway, a device",
            "'%.*s' is a %s: it has no port for a cable", STR_ARG(end->what), part_kind_name(h->parts.list.v[i].kind));
}

static void check_cable_part(struct reader *rd, const struct house *h, uint32_t i)
{
    const struct cable *c = &h->cables.v[i];
    const struct spot spot = SPOT(SHAPE_CABLE, c);
    const struct part *part = c->part.i == NO_REF ? NULL : &h->parts.list.v[c->part.i];
    if (part && part->kind != PART_CABLE && part->kind != PART_CORD)
        reader_fail(rd, &spot, RT_CONFLICT, c->part.at,
                    "take a cable or a cord, or leave 'part' out to have one chosen", "part '%.*s' is of the kind %s",
                    STR_ARG(part->id), part_kind_name(part->kind));
    if (part && part->kind == PART_CORD && c->length_m > part->per_m + 1e-9)
        reader_fail(rd, &spot, RT_CONFLICT, place_of(section_value(rd, "cables", i, "length_m"), c->at),
                    "take a longer cord, or bring the two ends nearer together",
                    "it is to be %.4g m long, but its part '%.*s' is a cord of %.4g m", c->length_m, STR_ARG(part->id),
                    part->per_m);
}

static void check_cables(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 0; i < h->cables.n; i++) {
        const struct cable *c = &h->cables.v[i];
        const struct spot spot = SPOT(SHAPE_CABLE, c);
        const bool is_known = c->from.what.n && c->to.what.n;
        if (is_known && c->from.equipment == c->to.equipment && c->from.device == c->to.device)
            reader_fail(rd, &spot, RT_CONFLICT, c->to.at,
                        "name another thing at one end: plugged into itself it carries nothing and feeds nothing",
                        "both its ends are at '%.*s'", STR_ARG(c->to.what));
        check_cable_end(rd, h, i, &c->from);
        check_cable_end(rd, h, i, &c->to);
        check_cable_part(rd, h, i);
        for (uint32_t k = 0; k < i; k++) {
            const struct cable *other = &h->cables.v[k];
            const struct cable_end *ends[] = { &c->from, &c->to };
            for (int e = 0; e < 2; e++)
                if (same_port(ends[e], &other->from) || same_port(ends[e], &other->to))
                    reader_fail(rd, &spot, RT_CONFLICT, ends[e]->at,
                                "take another port, or leave the number out to have one chosen",
                                "cable '%.*s' is in this port already", STR_ARG(other->id));
        }
    }
}

/* ---- the rest ---- */

static void check_recordings(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 0; i < h->recordings.n; i++) {
        const struct recording *r = &h->recordings.v[i];
        const struct spot spot = SPOT(SHAPE_RECORDING, r);
        for (uint32_t k = 0; k < r->disks.n; k++) {
            const struct equipment *e = r->disks.v[k].i == NO_REF ? NULL : &h->equipment.v[r->disks.v[k].i];
            if (e && e->part.i != NO_REF && h->parts.list.v[e->part.i].kind != PART_DISK)
                reader_fail(rd, &spot, RT_CONFLICT, r->disks.v[k].at, "name equipment whose part is a disk",
                            "'disks' names '%.*s', which is no disk", STR_ARG(e->id));
        }
    }
}

static void check_constructs(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 0; i < h->constructs.n && !h->constructs.v[i].is_built_in; i++) {
        const struct construct *c = &h->constructs.v[i];
        const struct spot spot = SPOT(SHAPE_CONSTRUCT, c);
        for (uint32_t k = 0; k < c->measured.n; k++) {
            const struct measured_loss *m = &c->measured.v[k];
            if (m->low_db > m->loss_db || m->high_db < m->loss_db)
                reader_fail(rd, &spot, RT_RANGE, m->at, NULL,
                            "measured loss %u: low_db, loss_db and high_db must not fall", (unsigned)k + 1);
            for (uint32_t other = 0; other < k; other++)
                if (c->measured.v[other].band_ghz == m->band_ghz)
                    reader_fail(rd, &spot, RT_CONFLICT, m->at, "keep one of them",
                                "the loss at %.3g GHz is given twice", m->band_ghz);
        }
    }
}

static void check_places(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 0; i < h->neighbours.n; i++) {
        const struct neighbour *n = &h->neighbours.v[i];
        const struct spot spot = SPOT(SHAPE_NEIGHBOUR, n);
        if (is_given(n->at_m.x) && !section_value(rd, "neighbours", i, "floor"))
            reader_fail(rd, &spot, RT_GEOMETRY, n->at, "add 'floor'", "'at_m' needs a floor from which z is measured");
    }
    const struct spot line = { NULL, &SHAPE_LINE, { 0 }, 0 };
    if (is_given(h->line.at_m.x) && !yaml_get(yaml_get(rd->root, "line"), "floor"))
        reader_fail(rd, &line, RT_GEOMETRY, h->line.at, "add 'floor'", "'at_m' needs a floor from which z is measured");
}

static void check_growth(struct reader *rd, const struct house *h)
{
    const struct spot spot = { NULL, &SHAPE_GROWTH, { 0 }, 0 };
    for (uint32_t i = 0; i < h->growth.n; i++)
        for (uint32_t k = 0; k < i; k++)
            if (h->growth.v[i].kind.n && str_eq(h->growth.v[i].kind, h->growth.v[k].kind))
                reader_fail(rd, &spot, RT_CONFLICT, h->growth.v[i].at, "keep one of them",
                            "the growth of '%.*s' is given twice", STR_ARG(h->growth.v[i].kind));
}

/* Figures that stand in where a promise about money gives none (promise_cost.c): a phase's own, else all of the house. */
static bool has_budget(const struct house *h, struct ref phase)
{
    bool has = phase.i == NO_REF && (is_given(h->budget.purchase) || is_given(h->budget.yearly));
    for (uint32_t i = 0; i < h->phases.n; i++)
        has |= (phase.i == NO_REF || phase.i == i) && is_given(h->phases.v[i].budget);
    return has;
}

static void check_promises(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise *p = &h->promises.v[i];
        const struct spot spot = SPOT(SHAPE_PROMISE, p);
        for (uint32_t k = 0; k < p->promises.n; k++) {
            const uint32_t other = names_find(&rd->sets[SET_PROMISE], p->promises.v[k]);
            if (other != NO_REF && h->promises.v[other].kind == PROMISE_SURVIVE)
                reader_fail(rd, &spot, RT_CONFLICT, place_of(section_value(rd, "promises", i, "promises"), p->at), NULL,
                            "'%.*s' is itself a promise to survive; name the promises that must hold",
                            STR_ARG(p->promises.v[k]));
        }
        if (p->kind == PROMISE_COST && !is_given(p->purchase) && !is_given(p->yearly) && !has_budget(h, p->phase) &&
            section_value(rd, "promises", i, "kind"))
            reader_fail(rd, &spot, RT_SHAPE, p->at, NULL, "a cost promise needs 'purchase', 'yearly' or both");
    }
}

void house_complete(struct reader *rd, struct house *h)
{
    complete_mounts(rd, h);
    for (uint32_t i = 0; i < h->devices.n; i++)
        complete_device(rd, h, i);
    for (uint32_t i = 0; i < h->devices.n; i++)
        check_mac(rd, h, i);
    check_device_twins(rd, h);
    for (uint32_t i = 0; i < h->equipment.n; i++)
        equipment_place(rd, h, i);
    for (uint32_t i = 0; i < h->equipment.n; i++) {
        place_inside(rd, h, i);
        check_unit(rd, h, i);
        check_radios(rd, h, &h->equipment.v[i]);
    }
    house_complete_cords(h);
    check_cables(rd, h);
    policy_complete(rd, h);
    check_recordings(rd, h);
    check_constructs(rd, h);
    check_places(rd, h);
    check_growth(rd, h);
    check_promises(rd, h);
    house_check_heard(rd, h);
}

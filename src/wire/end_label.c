#include "wire/end_label.h"

#include "base/units.h"
#include "wire/power_int.h"

static const struct cable_end *end_of(const struct house *h, uint32_t cable, bool from)
{
    return from ? &h->cables.v[cable].from : &h->cables.v[cable].to;
}

static struct str made(const char *text) { return str_from(text ? text : ""); }

unsigned end_label_number(const struct cable_end *end, unsigned picked)
{
    return is_given(end->port) ? (unsigned)end->port : picked;
}

struct str end_label_port(struct arena *a, struct str thing, unsigned port)
{
    return port ? made(arena_printf(a, "%.*s:%u", STR_ARG(thing), port)) : thing;
}

struct str end_label_room(const struct house *h, const struct cable_end *end)
{
    struct ref room = { .i = NO_REF }, floor = { .i = NO_REF };
    if (end->equipment != NO_REF) {
        room = h->equipment.v[end->equipment].room;
        floor = h->equipment.v[end->equipment].floor;
    } else if (end->device != NO_REF) {
        room = h->devices.v[end->device].room;
        floor = h->devices.v[end->device].floor;
    }
    if (room.i != NO_REF)
        return house_room_name(h, room.i);
    if (floor.i == NO_REF)
        return STR("");
    const struct floor *f = &h->floors.v[floor.i];
    return f->says.n ? f->says : f->id;
}

/* "to hub, airing cupboard" */
static struct str far_words(struct arena *a, const struct house *h, const struct cable_end *far, unsigned picked)
{
    const struct str where = end_label_room(h, far);
    const struct str what = end_label_port(a, far->what, end_label_number(far, picked));
    return where.n ? made(arena_printf(a, "to %.*s, %.*s", STR_ARG(what), STR_ARG(where)))
                   : made(arena_printf(a, "to %.*s", STR_ARG(what)));
}

struct end_label end_label_of_cable(struct arena *a, const struct house *h, uint32_t cable, bool at_from,
                                    struct port_numbers ports)
{
    return (struct end_label){ h->cables.v[cable].id,
                               far_words(a, h, end_of(h, cable, !at_from), at_from ? ports.to : ports.from) };
}

struct end_label end_label_of_port(struct arena *a, const struct house *h, uint32_t equipment, unsigned number,
                                   uint32_t cable, bool at_from, struct port_numbers ports)
{
    struct end_label label = { end_label_port(a, h->equipment.v[equipment].id, number), STR("free") };
    if (cable != NO_REF)
        label.far = end_label_line(a, end_label_of_cable(a, h, cable, at_from, ports));
    return label;
}

struct str end_label_line(struct arena *a, struct end_label label)
{
    return made(arena_printf(a, "%.*s %.*s", STR_ARG(label.name), STR_ARG(label.far)));
}

/* ---- outlets ---- */

static bool is_open_air(const struct house *h, struct ref room, struct ref floor)
{
    if (room.i != NO_REF)
        return h->rooms.v[room.i].use == USE_OUTDOOR || h->floors.v[h->rooms.v[room.i].floor.i].open_air;
    return floor.i != NO_REF && h->floors.v[floor.i].open_air;
}

bool cable_has_outlet(const struct house *h, const struct cable *cable, bool at_from, bool *outdoors)
{
    const struct cable_end *end = at_from ? &cable->from : &cable->to;
    const double cord_m = at_from ? cable->cord_from_m : cable->cord_to_m;
    *outdoors = false;
    if (!(cord_m > 0.0) || (cable->part.i != NO_REF && h->parts.list.v[cable->part.i].kind == PART_CORD))
        return false;
    if (end->device != NO_REF) {
        const struct device *d = &h->devices.v[end->device];
        *outdoors = is_open_air(h, d->room, d->floor);
        return true;
    }
    /* Switches, gateways and what stands with them are reached by the cable itself. */
    const struct part *part = end->equipment == NO_REF ? NULL : part_of_equipment(h, end->equipment);
    if (!part || h->equipment.v[end->equipment].mount.i == NO_REF)
        return false;
    *outdoors = h->mounts.v[h->equipment.v[end->equipment].mount.i].outdoors;
    return part->kind == PART_ACCESS_POINT || part->kind == PART_CAMERA || part->kind == PART_BRIDGE;
}

/* Names that speak, and that stand for one thing each. */
#include <string.h>

#include "design/fit_int.h"
#include "house/written.h"

enum { ID_BYTES_MAX = 63 };

static bool is_in_section(const struct house *h, struct str id)
{
    for (uint32_t i = 0; i < SHAPE_HOUSE.n_fields; i++) {
        const struct field *f = &SHAPE_HOUSE.fields[i];
        const struct written_items items = f->type == FIELD_MAP ? written_items(h, f) : (struct written_items){ 0 };
        for (uint32_t k = 0; k < items.n; k++)
            if (str_eq(written_id(written_item(items, f, k)), id))
                return true;
    }
    return false;
}

static bool is_taken(const struct fitter *f, struct str id)
{
    bool taken = str_is(id, LINE_BOX_NAME) || str_is(id, "anyone") || str_is(id, "internet") ||
                 is_in_section(f->space->house, id) || (f->old && is_in_section(f->old, id));
    for (uint32_t i = 0; i < f->h->segments.n && !taken; i++)
        taken = str_eq(f->h->segments.v[i].id, id);
    for (uint32_t i = 0; i < f->things.n && !taken; i++)
        taken = str_eq(f->things.v[i].id, id);
    for (uint32_t i = 0; i < f->cables.n && !taken; i++)
        taken = str_eq(f->cables.v[i].id, id);
    for (uint32_t i = 0; i < f->batteries.n && !taken; i++)
        taken = str_eq(f->batteries.v[i].id, id);
    return taken;
}

struct str fit_name(struct fitter *f, const char *stem, struct str where)
{
    for (unsigned n = 1; n < 10000; n++) {
        const char *number = n > 1 ? arena_printf(f->a, "_%u", n) : "";
        const char *joint = where.n ? "_" : "";
        const size_t fixed = strlen(stem) + strlen(joint) + (number ? strlen(number) : 0);
        const struct str cut = { where.p, fixed + where.n > ID_BYTES_MAX ? ID_BYTES_MAX - fixed : where.n };
        const char *id = arena_printf(f->a, "%s%s%.*s%s", stem, joint, STR_ARG(cut), number ? number : "");
        if (!number || !id)
            break;
        if (!is_taken(f, str_from(id)))
            return str_from(id);
    }
    f->failed = true;
    return STR("");
}

struct str fit_numbered_name(struct fitter *f, const char *stem)
{
    for (unsigned n = 1; n < 10000; n++) {
        const char *id = arena_printf(f->a, "%s_%u", stem, n);
        if (!id)
            break;
        if (!is_taken(f, str_from(id)))
            return str_from(id);
    }
    f->failed = true;
    return STR("");
}

struct str fit_place_name(const struct fitter *f, uint32_t room, uint32_t floor)
{
    const struct house *h = f->space->house;
    return room != NO_REF ? h->rooms.v[room].id : floor != NO_REF ? h->floors.v[floor].id : STR("");
}

/* ---- what the old house called it ---- */

static bool is_spoken_of(const struct house *h, struct str id)
{
    for (uint32_t i = 0; i < h->promises.n; i++)
        for (uint32_t k = 0; k < h->promises.v[i].devices.n; k++)
            if (str_eq(h->promises.v[i].devices.v[k], id))
                return true;
    for (uint32_t i = 0; i < h->recordings.n; i++)
        if (str_eq(h->recordings.v[i].recorder, id))
            return true;
    return false;
}

static bool is_of_kind(const struct house *h, const struct equipment *e, enum part_kind kind)
{
    return e->part.i != NO_REF ? h->parts.list.v[e->part.i].kind == kind : str_is(e->kind, part_kind_name(kind));
}

/* How well an old piece stands for a new one: 0: not at all. */
static int likeness(const struct fitter *f, const struct equipment *e, enum part_kind kind, uint32_t mount,
                    uint32_t room)
{
    const bool is_same_mount = mount != NO_REF && e->mount.i == mount;
    const bool is_same_room = room != NO_REF && e->room.i == room && (kind != PART_ACCESS_POINT || mount == NO_REF);
    if (!is_of_kind(f->old, e, kind))
        return 0;
    return (is_same_mount ? 4 : 0) + (is_spoken_of(f->old, e->id) ? 2 : 0) + (is_same_room ? 1 : 0) +
           (kind == PART_GATEWAY ? 1 : 0);
}

struct str fit_equipment_name(struct fitter *f, enum part_kind kind, uint32_t mount, uint32_t room, const char *stem)
{
    uint32_t best = NO_REF;
    int best_likeness = 0;
    for (uint32_t e = 0; f->old && e < f->old->equipment.n; e++) {
        const int like = f->is_claimed[e] ? 0 : likeness(f, &f->old->equipment.v[e], kind, mount, room);
        if (like > best_likeness) {
            best = e;
            best_likeness = like;
        }
    }
    if (best != NO_REF) {
        f->is_claimed[best] = true;
        return f->old->equipment.v[best].id;
    }
    const uint32_t floor = mount == NO_REF ? NO_REF : f->space->house->mounts.v[mount].floor.i;
    return fit_name(f, stem, kind == PART_GATEWAY ? (struct str){ 0 } : fit_place_name(f, room, floor));
}

/* The piece of the old house whose id this is; NULL: none. */
const struct equipment *fit_old_piece(const struct fitter *f, struct str id)
{
    const uint32_t e = f->old ? house_find_equipment(f->old, id) : NO_REF;
    return e == NO_REF ? NULL : &f->old->equipment.v[e];
}

static bool is_used(const struct fitter *f, struct str id)
{
    for (uint32_t i = 0; i < f->cables.n; i++)
        if (str_eq(f->cables.v[i].id, id))
            return true;
    for (uint32_t i = 0; i < f->batteries.n; i++)
        if (str_eq(f->batteries.v[i].id, id))
            return true;
    return false;
}

struct str fit_cable_name(struct fitter *f, struct str to)
{
    for (uint32_t i = 0; f->old && i < f->old->cables.n; i++)
        if (str_eq(f->old->cables.v[i].to.what, to) && !is_used(f, f->old->cables.v[i].id))
            return f->old->cables.v[i].id;
    return fit_name(f, "c", to);
}

struct str fit_battery_name(struct fitter *f, uint32_t room)
{
    for (uint32_t i = 0; f->old && i < f->old->batteries.n; i++)
        if (f->old->batteries.v[i].room.i == room && !is_used(f, f->old->batteries.v[i].id))
            return f->old->batteries.v[i].id;
    return fit_name(f, "battery", fit_place_name(f, room, NO_REF));
}

/* ---- names in promises ---- */

static bool is_known(const struct house *h, struct str id)
{
    return house_find_device(h, id) != NO_REF || house_find_equipment(h, id) != NO_REF;
}

/* SSIDs that were on some access points only are on those of them that are here again. */
static enum rt_code restore_ssids(struct fitter *f)
{
    struct house *h = f->h;
    if (!f->old || h->ssids.n != f->old->ssids.n)
        return RT_OK;
    struct ssid *ssids = ARENA_ARRAY(f->a, struct ssid, h->ssids.n);
    if (!ssids)
        return rt_fail_memory(f->p);
    for (uint32_t i = 0; i < h->ssids.n; i++) {
        const struct ssid *was = &f->old->ssids.v[i];
        struct ref *v = ARENA_ARRAY(f->a, struct ref, was->equipment.n);
        if (!v)
            return rt_fail_memory(f->p);
        ssids[i] = h->ssids.v[i];
        ssids[i].equipment.v = v;
        ssids[i].equipment.n = 0;
        for (uint32_t k = 0; k < was->equipment.n; k++) {
            const uint32_t e = house_find_equipment(h, f->old->equipment.v[was->equipment.v[k].i].id);
            if (e != NO_REF)
                v[ssids[i].equipment.n++] = (struct ref){ .i = e };
        }
    }
    h->ssids.v = ssids;
    return RT_OK;
}

enum rt_code fit_promise_names(struct fitter *f)
{
    struct house *h = f->h;
    struct promise *promises = ARENA_ARRAY(f->a, struct promise, h->promises.n);
    if (!promises)
        return rt_fail_memory(f->p);
    for (uint32_t i = 0; i < h->promises.n; i++) {
        struct promise *p = &promises[i];
        *p = h->promises.v[i];
        if (f->old && i < f->old->promises.n) /* equipment that took on its old name is spoken of again */
            p->devices = f->old->promises.v[i].devices;
        struct str *left = ARENA_ARRAY(f->a, struct str, p->devices.n);
        uint32_t n = 0;
        if (!left)
            return rt_fail_memory(f->p);
        for (uint32_t k = 0; k < p->devices.n; k++)
            if (is_known(h, p->devices.v[k]))
                left[n++] = p->devices.v[k];
            else
                fit_tell(f, p->id, "promise `%.*s` spoke of `%.*s`, which is not in this house", STR_ARG(p->id),
                         STR_ARG(p->devices.v[k]));
        p->devices.v = left;
        p->devices.n = n;
    }
    h->promises.v = promises;
    return restore_ssids(f);
}

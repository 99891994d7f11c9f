#include <math.h>

#include "base/units.h"
#include "house/field_int.h"
#include "house/polygon.h"
#include "web/drawing.h"

static struct vec3 above_datum(const struct drawing *d, struct ref floor, struct vec3 at)
{
    if (floor.i != NO_REF && is_given(at.x))
        at.z = house_z_m(d->h, floor.i, given_or(at.z, 0.0));
    return at;
}

/* ---- mounts ---- */

static void write_uses(struct drawing *d, uint32_t uses)
{
    static const struct {
        enum mount_use use;
        const char *name;
    } USES[] = { { MOUNT_ACCESS_POINT, "access_point" },
                 { MOUNT_CAMERA, "camera" },
                 { MOUNT_OUTLET, "outlet" },
                 { MOUNT_CABINET, "cabinet" } };
    json_begin_array(d->j, "use");
    for (size_t i = 0; i < RT_COUNT(USES); i++)
        if (uses & USES[i].use)
            json_text(d->j, NULL, USES[i].name);
    json_end_array(d->j);
}

static void write_mount(struct drawing *d, uint32_t i)
{
    const struct mount *m = &d->h->mounts.v[i];
    const struct equipment *holds = NULL;
    for (uint32_t k = 0; k < d->h->equipment.n && !holds; k++)
        if (d->h->equipment.v[k].mount.i == i)
            holds = &d->h->equipment.v[k];
    json_begin_object(d->j, NULL);
    json_str(d->j, "id", m->id);
    drawing_path(d, "mounts", m->id);
    drawing_floor(d, m->floor);
    drawing_room(d, m->room);
    drawing_point3(d, "at", above_datum(d, m->floor, m->at_m));
    json_text(d->j, "surface", WORDS_SURFACE.v[m->surface]);
    json_num(d->j, "faces_deg", m->faces_deg);
    json_num(d->j, "tilt_deg", m->tilt_deg);
    write_uses(d, m->use);
    json_bool(d->j, "outdoors", m->outdoors);
    if (holds)
        json_str(d->j, "holds", holds->id);
    else
        json_null(d->j, "holds");
    json_end_object(d->j);
}

/* ---- equipment ---- */

static void write_radios(struct drawing *d, uint32_t equipment)
{
    json_begin_array(d->j, "radios");
    for (uint32_t i = 0; d->radios && i < d->radios->n; i++) {
        const struct ap_radio *r = &d->radios->v[i];
        if (r->equipment != equipment)
            continue;
        json_begin_object(d->j, NULL);
        json_text(d->j, "band", band_name(r->band));
        json_num(d->j, "channel", r->channel);
        json_num(d->j, "width_mhz", r->width_hz / 1e6);
        json_fixed(d->j, "power_dbm", r->power_dbm, 2);
        json_fixed(d->j, "eirp_dbm", r->eirp_dbm, 2);
        json_bool(d->j, "channel_was_chosen", r->channel_was_chosen);
        json_end_object(d->j);
    }
    json_end_array(d->j);
}

static void write_part(struct drawing *d, const struct equipment *e)
{
    const struct part *part = e->part.i == NO_REF ? NULL : &d->h->parts.list.v[e->part.i];
    if (!part) {
        json_null(d->j, "part");
        json_str(d->j, "kind", e->kind);
        return;
    }
    json_str(d->j, "part", part->id);
    json_text(d->j, "kind", part_kind_name(part->kind));
    json_begin_array(d->j, "size_m");
    json_num(d->j, NULL, part->width_m);
    json_num(d->j, NULL, part->height_m);
    json_num(d->j, NULL, part->depth_m);
    json_end_array(d->j);
}

static void write_equipment(struct drawing *d, uint32_t i)
{
    const struct house *h = d->h;
    const struct equipment *e = &h->equipment.v[i];
    const struct mount *m = e->mount.i == NO_REF ? NULL : &h->mounts.v[e->mount.i];
    json_begin_object(d->j, NULL);
    json_str(d->j, "id", e->id);
    drawing_path(d, "equipment", e->id);
    json_str(d->j, "says", e->says);
    write_part(d, e);
    drawing_floor(d, e->floor);
    drawing_room(d, e->room);
    drawing_point3(d, "at", above_datum(d, e->floor, e->at_m));
    json_num(d->j, "faces_deg", given_or(e->faces_deg, m ? m->faces_deg : RT_NOT_GIVEN));
    json_num(d->j, "tilt_deg", given_or(e->tilt_deg, m ? m->tilt_deg : RT_NOT_GIVEN));
    json_str(d->j, "mount", m ? m->id : STR(""));
    json_str(d->j, "inside", e->inside.i == NO_REF ? STR("") : h->equipment.v[e->inside.i].id);
    json_num(d->j, "unit", e->unit);
    json_bool(d->j, "movable", e->movable);
    json_bool(d->j, "owned", e->owned);
    write_radios(d, i);
    json_end_object(d->j);
}

/* ---- devices ---- */

/* A device that has no place of its own is shown in the middle of its room. */
static struct vec3 shown_at(const struct drawing *d, const struct device *v)
{
    if (is_given(v->at_m.x))
        return above_datum(d, v->floor, v->at_m);
    if (v->room.i == NO_REF || !d->h->rooms.v[v->room.i].outline.n)
        return (struct vec3){ RT_NOT_GIVEN, RT_NOT_GIVEN, RT_NOT_GIVEN };
    const vec2_list outline = d->h->rooms.v[v->room.i].outline;
    struct vec2 at = polygon_centre(outline), inner;
    if (!polygon_contains(outline, at) && polygon_inner_point(outline, d->arena, &inner))
        at = inner;
    return above_datum(d, v->floor, (struct vec3){ at.x, at.y, 0.0 });
}

static void write_device(struct drawing *d, const struct device *v)
{
    static const char *const LINKS[] = {
        [LINK_NONE] = "none", [LINK_WIRED] = "wired", [LINK_WIFI] = "wifi", [LINK_MESH] = "mesh"
    };
    json_begin_object(d->j, NULL);
    json_str(d->j, "id", v->id);
    drawing_path(d, "devices", v->id);
    json_str(d->j, "says", v->says);
    json_str(d->j, "kind", v->kind);
    json_text(d->j, "link", LINKS[v->link]);
    drawing_floor(d, v->floor);
    drawing_room(d, v->room);
    drawing_point3(d, "at", shown_at(d, v));
    json_bool(d->j, "has_place", is_given(v->at_m.x));
    json_bool(d->j, "carried", v->carried);
    json_str(d->j, "segment", v->segment.i == NO_REF ? STR("") : d->h->segments.v[v->segment.i].id);
    json_end_object(d->j);
}

/* ---- neighbours ---- */

static void write_neighbour(struct drawing *d, const struct neighbour *n)
{
    json_begin_object(d->j, NULL);
    json_str(d->j, "id", n->id);
    drawing_path(d, "neighbours", n->id);
    drawing_floor(d, n->floor);
    drawing_point3(d, "at", above_datum(d, n->floor, n->at_m));
    json_text(d->j, "band", band_name(n->band));
    json_num(d->j, "channel", n->channel);
    json_num(d->j, "width_mhz", n->width_mhz);
    json_num(d->j, "level_dbm", n->level_dbm);
    json_end_object(d->j);
}

/* ---- cables ---- */

static bool goes_on(const struct cable_leg *a, const struct cable_leg *b)
{
    return a->kind == b->kind && a->run == b->run && a->floor == b->floor &&
           vec3_len(vec3_sub(a->to_m, b->from_m)) < 1e-6;
}

/* Legs of the same kind, one after the other, as one line. */
static void write_stretches(struct drawing *d, const struct routed_cable *r)
{
    const struct house *h = d->h;
    for (uint32_t i = 0; i < r->legs.n;) {
        const struct cable_leg *l = &r->legs.v[i];
        json_begin_object(d->j, NULL);
        json_text(d->j, "lies", WORDS_RUN.v[l->kind]);
        json_str(d->j, "run", l->run == NO_REF ? STR("") : h->runs.v[l->run].id);
        drawing_floor(d, (struct ref){ .i = l->floor });
        json_str(d->j, "says", l->says);
        json_begin_array(d->j, "line");
        drawing_point3(d, NULL, l->from_m);
        do
            drawing_point3(d, NULL, r->legs.v[i++].to_m);
        while (i < r->legs.n && goes_on(&r->legs.v[i - 1], &r->legs.v[i]));
        json_end_array(d->j);
        json_end_object(d->j);
    }
}

static void write_end(struct drawing *d, const char *key, const struct cable_end *e)
{
    json_begin_object(d->j, key);
    json_str(d->j, "what", e->what);
    json_num(d->j, "port", e->port);
    json_end_object(d->j);
}

static void write_cable(struct drawing *d, uint32_t i)
{
    const struct cable *c = &d->h->cables.v[i];
    const struct routed_cable *r = d->cables ? &d->cables->cables[i] : NULL;
    json_begin_object(d->j, NULL);
    json_str(d->j, "id", c->id);
    drawing_path(d, "cables", c->id);
    write_end(d, "from", &c->from);
    write_end(d, "to", &c->to);
    json_str(d->j, "part", c->part.i == NO_REF ? STR("") : d->h->parts.list.v[c->part.i].id);
    json_bool(d->j, "rests", c->rests);
    json_bool(d->j, "is_routed", r && r->is_routed);
    json_str(d->j, "why_not", r ? r->why_not : STR(""));
    json_fixed(d->j, "length_m", r ? r->fixed_m + r->cords_m : RT_NOT_GIVEN, 2);
    json_begin_array(d->j, "stretches");
    if (r)
        write_stretches(d, r);
    json_end_array(d->j);
    json_end_object(d->j);
}

static void write_work(struct drawing *d, const struct cable_work *w)
{
    json_begin_object(d->j, NULL);
    json_text(d->j, "kind", w->kind == WORK_HOLE ? "hole" : "board");
    drawing_floor(d, (struct ref){ .i = w->floor });
    drawing_point3(d, "at", w->at_m);
    json_str(d->j, "says", w->says);
    json_begin_array(d->j, "cables");
    for (uint32_t i = 0; i < w->cables.n; i++)
        json_str(d->j, NULL, d->h->cables.v[w->cables.v[i].i].id);
    json_end_array(d->j);
    json_end_object(d->j);
}

/* ---- all of it ---- */

static void write_line(struct drawing *d)
{
    const struct line *l = &d->h->line;
    if (!l->at.line) {
        json_null(d->j, "line");
        return;
    }
    json_begin_object(d->j, "line");
    json_text(d->j, "path", "/line");
    drawing_floor(d, l->floor);
    drawing_point3(d, "at", above_datum(d, l->floor, l->at_m));
    json_end_object(d->j);
}

void drawing_write_things(struct drawing *d)
{
    const struct house *h = d->h;
    write_line(d);
    json_begin_array(d->j, "mounts");
    for (uint32_t i = 0; i < h->mounts.n; i++)
        write_mount(d, i);
    json_end_array(d->j);
    json_begin_array(d->j, "equipment");
    for (uint32_t i = 0; i < h->equipment.n; i++)
        write_equipment(d, i);
    json_end_array(d->j);
    json_begin_array(d->j, "devices");
    for (uint32_t i = 0; i < h->devices.n; i++)
        write_device(d, &h->devices.v[i]);
    json_end_array(d->j);
    json_begin_array(d->j, "neighbours");
    for (uint32_t i = 0; i < h->neighbours.n; i++)
        write_neighbour(d, &h->neighbours.v[i]);
    json_end_array(d->j);
    json_begin_array(d->j, "cables");
    for (uint32_t i = 0; i < h->cables.n; i++)
        write_cable(d, i);
    json_end_array(d->j);
    json_begin_array(d->j, "work");
    for (uint32_t i = 0; d->cables && i < d->cables->work.n; i++)
        write_work(d, &d->cables->work.v[i]);
    json_end_array(d->j);
}

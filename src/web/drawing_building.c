#include <math.h>

#include "base/units.h"
#include "draw/plan.h"
#include "house/edit.h"
#include "house/field_int.h"
#include "house/polygon.h"
#include "web/drawing.h"

/* ---- what all things have ---- */

void drawing_path(struct drawing *d, const char *section, struct str id)
{
    struct buf path = { .arena = d->arena };
    edit_path_add(&path, str_from(section));
    edit_path_add(&path, id);
    json_str(d->j, "path", buf_done(&path));
}

static void number(struct drawing *d, double value) { json_fixed(d->j, NULL, value, 4); }

void drawing_point2(struct drawing *d, const char *key, struct vec2 at)
{
    json_begin_array(d->j, key);
    number(d, at.x);
    number(d, at.y);
    json_end_array(d->j);
}

void drawing_point3(struct drawing *d, const char *key, struct vec3 at)
{
    if (!is_given(at.x)) {
        json_null(d->j, key);
        return;
    }
    json_begin_array(d->j, key);
    number(d, at.x);
    number(d, at.y);
    number(d, at.z);
    json_end_array(d->j);
}

void drawing_points2(struct drawing *d, const char *key, vec2_list points)
{
    json_begin_array(d->j, key);
    for (uint32_t i = 0; i < points.n; i++)
        drawing_point2(d, NULL, points.v[i]);
    json_end_array(d->j);
}

void drawing_floor(struct drawing *d, struct ref floor)
{
    if (floor.i == NO_REF)
        json_null(d->j, "floor");
    else
        json_str(d->j, "floor", d->h->floors.v[floor.i].id);
}

void drawing_room(struct drawing *d, struct ref room)
{
    if (room.i == NO_REF)
        json_null(d->j, "room");
    else
        json_str(d->j, "room", d->h->rooms.v[room.i].id);
}

static void construct(struct drawing *d, struct ref r)
{
    if (r.i == NO_REF)
        json_null(d->j, "construct");
    else
        json_str(d->j, "construct", d->h->constructs.v[r.i].id);
}

static struct str name_or_id(struct str says, struct str id) { return says.n ? says : id; }

/* ---- floors, rooms ---- */

static void write_floor(struct drawing *d, const struct floor *f)
{
    struct json *j = d->j;
    json_begin_object(j, NULL);
    json_str(j, "id", f->id);
    drawing_path(d, "floors", f->id);
    json_str(j, "name", name_or_id(f->says, f->id));
    json_fixed(j, "z_m", f->level_m, 4);
    json_fixed(j, "height_m", f->height_m, 4);
    json_fixed(j, "slab_m", plan_thickness_m(d->h, f->slab), 4);
    json_bool(j, "open_air", f->open_air);
    drawing_points2(d, "outline", f->outline);
    json_begin_array(j, "holes");
    for (uint32_t i = 0; i < f->holes.n; i++) {
        json_begin_object(j, NULL);
        json_str(j, "what", f->holes.v[i].what);
        drawing_points2(d, "outline", f->holes.v[i].outline);
        json_end_object(j);
    }
    json_end_array(j);
    json_end_object(j);
}

/* Where its name is written: the middle, if that lies within. */
static struct vec2 label_at(struct drawing *d, vec2_list outline)
{
    const struct vec2 middle = polygon_centre(outline);
    struct vec2 inner;
    if (polygon_contains(outline, middle) || !polygon_inner_point(outline, d->arena, &inner))
        return middle;
    return inner;
}

static void write_room(struct drawing *d, uint32_t i)
{
    const struct room *r = &d->h->rooms.v[i];
    struct json *j = d->j;
    json_begin_object(j, NULL);
    json_str(j, "id", r->id);
    drawing_path(d, "rooms", r->id);
    json_str(j, "name", plan_room_name(d->arena, d->h, i));
    json_text(j, "use", WORDS_ROOM_USE.v[r->use]);
    drawing_floor(d, r->floor);
    json_fixed(j, "area_m2", fabs(polygon_area_m2(r->outline)), 2);
    drawing_points2(d, "outline", r->outline);
    drawing_point2(d, "centre", label_at(d, r->outline));
    json_end_object(j);
}

/* ---- walls ---- */

static struct vec2 along(vec2_list line, double at_m)
{
    struct vec2 at = line.v[0];
    for (uint32_t i = 0; i + 1 < line.n; i++) {
        const struct vec2 leg = vec2_sub(line.v[i + 1], line.v[i]);
        const double length_m = vec2_len(leg);
        if (length_m <= 0.0)
            continue;
        at = vec2_add(line.v[i], vec2_scale(leg, at_m / length_m));
        if (at_m <= length_m)
            break;
        at_m -= length_m;
    }
    return at;
}

static void write_opening(struct drawing *d, const struct wall *w, uint32_t i)
{
    const struct opening *o = &w->openings.v[i];
    struct json *j = d->j;
    struct buf path = { .arena = d->arena };
    edit_path_add(&path, STR("walls"));
    edit_path_add(&path, w->id);
    buf_printf(&path, "/openings/%u", i);
    json_begin_object(j, NULL);
    json_str(j, "id", o->id);
    json_str(j, "path", buf_done(&path));
    json_text(j, "kind", WORDS_OPENING.v[o->kind]);
    construct(d, o->construct);
    json_bool(j, "stands_open", o->stands_open);
    json_fixed(j, "from_m", o->at_m, 4);
    json_fixed(j, "to_m", o->at_m + o->width_m, 4);
    json_fixed(j, "width_m", o->width_m, 4);
    json_fixed(j, "sill_m", o->sill_m, 4);
    json_fixed(j, "head_m", o->head_m, 4);
    json_begin_array(j, "line");
    drawing_point2(d, NULL, along(w->line, o->at_m));
    drawing_point2(d, NULL, along(w->line, o->at_m + o->width_m));
    json_end_array(j);
    json_end_object(j);
}

static void write_wall(struct drawing *d, const struct wall *w)
{
    struct json *j = d->j;
    json_begin_object(j, NULL);
    json_str(j, "id", w->id);
    drawing_path(d, "walls", w->id);
    drawing_floor(d, w->floor);
    construct(d, w->construct);
    json_fixed(j, "thickness_m", plan_thickness_m(d->h, w->construct), 4);
    json_fixed(j, "base_m", w->base_m, 4);
    json_fixed(j, "top_m", given_or(w->height_m, d->h->floors.v[w->floor.i].height_m), 4);
    drawing_points2(d, "line", w->line);
    json_begin_array(j, "openings");
    for (uint32_t i = 0; i < w->openings.n; i++)
        write_opening(d, w, i);
    json_end_array(j);
    json_end_object(j);
}

/* ---- planes, obstacles, runs ---- */

static void write_plane(struct drawing *d, const struct plane *s)
{
    json_begin_object(d->j, NULL);
    json_str(d->j, "id", s->id);
    drawing_path(d, "planes", s->id);
    json_text(d->j, "kind", WORDS_PLANE.v[s->kind]);
    drawing_floor(d, s->floor);
    construct(d, s->construct);
    json_begin_array(d->j, "outline");
    for (uint32_t i = 0; i < s->outline.n; i++) {
        const struct vec3 at = s->outline.v[i];
        drawing_point3(d, NULL, (struct vec3){ at.x, at.y, house_z_m(d->h, s->floor.i, at.z) });
    }
    json_end_array(d->j);
    json_end_object(d->j);
}

static void write_obstacle(struct drawing *d, const struct obstacle *o)
{
    json_begin_object(d->j, NULL);
    json_str(d->j, "id", o->id);
    drawing_path(d, "obstacles", o->id);
    drawing_floor(d, o->floor);
    construct(d, o->construct);
    json_fixed(d->j, "from_m", o->from_m, 4);
    json_fixed(d->j, "to_m", o->to_m, 4);
    json_fixed(d->j, "thickness_m", plan_thickness_m(d->h, o->construct), 4);
    if (o->outline.n)
        drawing_points2(d, "outline", o->outline);
    else
        drawing_points2(d, "line", o->line);
    json_end_object(d->j);
}

static void write_run(struct drawing *d, const struct cable_run *r)
{
    json_begin_object(d->j, NULL);
    json_str(d->j, "id", r->id);
    drawing_path(d, "runs", r->id);
    json_str(d->j, "name", name_or_id(r->says, r->id));
    json_text(d->j, "kind", WORDS_RUN.v[r->kind]);
    json_begin_array(d->j, "floors");
    for (uint32_t i = 0; i < r->floors.n; i++)
        json_str(d->j, NULL, d->h->floors.v[r->floors.v[i].i].id);
    json_end_array(d->j);
    json_bool(d->j, "outdoors", r->outdoors);
    if (r->outline.n) {
        drawing_points2(d, "outline", r->outline);
    } else {
        json_begin_array(d->j, "line");
        for (uint32_t i = 0; i < r->line.n; i++)
            drawing_point3(d, NULL, r->line.v[i]);
        json_end_array(d->j);
    }
    json_end_object(d->j);
}

/* ---- all of it ---- */

static void write_bounds(struct drawing *d)
{
    const struct house *h = d->h;
    struct vec3 lo = { HUGE_VAL, HUGE_VAL, HUGE_VAL }, hi = { -HUGE_VAL, -HUGE_VAL, -HUGE_VAL };
    if (!h->floors.n)
        lo = hi = (struct vec3){ 0 };
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const struct floor *f = &h->floors.v[i];
        struct vec2 a, b;
        plan_bounds(h, i, &a, &b);
        lo = (struct vec3){ fmin(lo.x, a.x), fmin(lo.y, a.y), fmin(lo.z, f->level_m) };
        hi = (struct vec3){ fmax(hi.x, b.x), fmax(hi.y, b.y),
                            fmax(hi.z, f->level_m + (f->open_air ? 0.0 : given_or(f->height_m, 0.0))) };
    }
    for (uint32_t i = 0; i < h->planes.n; i++)
        for (uint32_t k = 0; k < h->planes.v[i].outline.n; k++) {
            const struct vec3 at = h->planes.v[i].outline.v[k];
            hi.z = fmax(hi.z, house_z_m(h, h->planes.v[i].floor.i, at.z));
        }
    json_begin_array(d->j, "bounds");
    drawing_point3(d, NULL, lo);
    drawing_point3(d, NULL, hi);
    json_end_array(d->j);
}

#define WRITE_ALL(d, list, write)                \
    do {                                         \
        json_begin_array((d)->j, #list);         \
        for (uint32_t i = 0; i < h->list.n; i++) \
            write((d), &h->list.v[i]);           \
        json_end_array((d)->j);                  \
    } while (0)

void drawing_write_building(struct drawing *d)
{
    const struct house *h = d->h;
    json_str(d->j, "name", h->name);
    json_num(d->j, "north_deg", h->north_deg);
    write_bounds(d);
    WRITE_ALL(d, floors, write_floor);
    json_begin_array(d->j, "rooms");
    for (uint32_t i = 0; i < h->rooms.n; i++)
        write_room(d, i);
    json_end_array(d->j);
    WRITE_ALL(d, walls, write_wall);
    WRITE_ALL(d, planes, write_plane);
    WRITE_ALL(d, obstacles, write_obstacle);
    WRITE_ALL(d, runs, write_run);
}

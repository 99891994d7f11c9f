/* Can the house stand like this?  Outlines, walls and their openings, planes, and whether things are where they say.
 *
 * Runs even when other mistakes were found: what could not be read is NO_REF, NaN or an empty list, and is passed over. */
#include <string.h>

#include "base/units.h"
#include "house/field_int.h"
#include "house/model_int.h"
#include "house/polygon.h"

static const double TOL_M = 0.01;       /* what a careful survey leaves open */
static const double THING_TOL_M = 0.05; /* of a point that stands against a wall */
static const double OUTSIDE_M = 5;      /* how far beyond its floor something out of doors may hang */

#define SPOT(shape, object) ((struct spot){ NULL, &(shape), (object)->id, 0 })

/* The i-th point of the outline as written, else the outline, else the object. */
static struct rt_place point_place(const struct yaml_node *node, uint32_t i, struct rt_place otherwise)
{
    if (!node)
        return otherwise;
    return node->kind == YAML_LIST && i < node->items.n ? node->items.v[i]->at : node->at;
}

/* Comparing outlines takes time with the product of their corners; a house never comes near this, only malice does. */
static const double WORK_MAX = 5e7;

/* False once there is no point in comparing any more: nothing more would be kept, or it would take too long. */
bool geometry_may_compare(struct reader *rd, uint32_t n, uint32_t m, struct rt_place at)
{
    if (rd->geometry_work > WORK_MAX || reader_is_full(rd))
        return false;
    rd->geometry_work += (double)n * m;
    if (rd->geometry_work > WORK_MAX)
        reader_fail(rd, NULL, RT_LIMIT, at, "draw the outlines with fewer points",
                    "there are too many outlines with too many points to compare them all");
    return rd->geometry_work <= WORK_MAX;
}

static bool overlap(struct reader *rd, vec2_list a, vec2_list b, struct rt_place at, struct vec2 *where)
{
    if (polygons_are_apart(a, b, TOL_M) || !geometry_may_compare(rd, a.n, b.n, at))
        return false;
    const enum polygon_answer answer = polygons_overlap(a, b, TOL_M, rd->arena, where);
    if (answer == POLYGON_NO_MEMORY)
        reader_no_memory(rd);
    return answer == POLYGON_YES;
}

static bool reaches_out(struct reader *rd, vec2_list a, vec2_list b, struct rt_place at, struct vec2 *where)
{
    if (!geometry_may_compare(rd, a.n, b.n, at))
        return false;
    const enum polygon_answer answer = polygon_within(a, b, TOL_M, rd->arena, where);
    if (answer == POLYGON_NO_MEMORY)
        reader_no_memory(rd);
    return answer == POLYGON_NO;
}

/* ---- one outline ---- */

/* False when the outline is no sound polygon, so that nothing else about it is worth checking. */
static bool check_outline(struct reader *rd, const struct spot *spot, vec2_list *outline, const struct yaml_node *node,
                          struct rt_place at)
{
    const uint32_t n = outline->n;
    if (n < 3)
        return false;
    for (uint32_t i = 0; i < n; i++) {
        if (vec2_len(vec2_sub(outline->v[i], outline->v[(i + 1) % n])) >= TOL_M)
            continue;
        const uint32_t later = i + 1 < n ? i + 1 : i;
        reader_fail(rd, spot, RT_GEOMETRY, point_place(node, later, at),
                    i + 1 < n ? "remove one of them" : "leave the last point out: the outline closes by itself",
                    "points %u and %u of the outline are the same", i + 1 < n ? (unsigned)i + 1 : 1u,
                    (unsigned)later + 1);
        outline->n = 0;
        return false;
    }
    uint32_t side, other;
    if (geometry_may_compare(rd, n, n, at) && polygon_crosses_itself(*outline, &side, &other)) {
        reader_fail(rd, spot, RT_GEOMETRY, point_place(node, other, at),
                    "give the corners in order, walking once round the outline",
                    "the outline crosses itself: the side from point %u to %u meets the side from point %u to %u",
                    (unsigned)side + 1, (unsigned)((side + 1) % n) + 1, (unsigned)other + 1,
                    (unsigned)((other + 1) % n) + 1);
        outline->n = 0;
        return false;
    }
    if (fabs(polygon_area_m2(*outline)) < TOL_M * TOL_M) {
        reader_fail(rd, spot, RT_GEOMETRY, node ? node->at : at, NULL, "the outline encloses no area");
        outline->n = 0;
        return false;
    }
    return true;
}

/* ---- floors ---- */

static void check_holes(struct reader *rd, const struct house *h, uint32_t f)
{
    struct floor *floor = &h->floors.v[f];
    const struct spot up = SPOT(SHAPE_FLOOR, floor);
    const struct field *holes = shape_field(&SHAPE_FLOOR, STR("holes"));
    const struct yaml_node *list = section_value(rd, "floors", f, "holes");
    for (uint32_t i = 0; i < floor->holes.n; i++) {
        struct floor_hole *hole = &floor->holes.v[i];
        const struct spot spot = { &up, holes->of, { 0 }, i + 1 };
        const struct yaml_node *item = list && i < list->items.n ? list->items.v[i] : NULL;
        const struct yaml_node *node = item ? yaml_get(item, "outline") : NULL;
        struct vec2 where;
        if (!check_outline(rd, &spot, &hole->outline, node, hole->at) || floor->outline.n == 0)
            continue;
        if (reaches_out(rd, hole->outline, floor->outline, hole->at, &where))
            reader_fail(rd, &spot, RT_GEOMETRY, node ? node->at : hole->at, NULL,
                        "it reaches outside the floor, at [%.2f, %.2f]", where.x, where.y);
    }
}

/* Two storeys one above the other must not share height; open ground may lie round and below anything. */
static void check_floor_pair(struct reader *rd, const struct house *h, uint32_t a, uint32_t b)
{
    const struct floor *p = &h->floors.v[a], *q = &h->floors.v[b];
    const double shared = fmin(p->level_m + p->height_m, q->level_m + q->height_m) - fmax(p->level_m, q->level_m);
    struct vec2 where;
    if (!is_given(p->level_m) || !is_given(p->height_m) || !is_given(q->level_m) || !is_given(q->height_m))
        return;
    if (p->open_air || q->open_air || p->outline.n == 0 || q->outline.n == 0 || !(shared > TOL_M) ||
        !overlap(rd, p->outline, q->outline, q->at, &where))
        return;
    const struct spot spot = SPOT(SHAPE_FLOOR, q);
    const struct yaml_node *level = section_value(rd, "floors", b, "level_m");
    reader_fail(rd, &spot, RT_GEOMETRY, level ? level->at : q->at,
                "the upper floor's level_m must be at least the lower one's level_m + height_m",
                "it and floor '%.*s' fill the same space: %.2f m of height above [%.2f, %.2f]", STR_ARG(p->id), shared,
                where.x, where.y);
}

/* ---- rooms ---- */

static void check_room(struct reader *rd, const struct house *h, uint32_t i)
{
    struct room *r = &h->rooms.v[i];
    const struct spot spot = SPOT(SHAPE_ROOM, r);
    const struct yaml_node *node = section_value(rd, "rooms", i, "outline");
    if (!check_outline(rd, &spot, &r->outline, node, r->at) || r->floor.i == NO_REF)
        return;
    const struct floor *floor = &h->floors.v[r->floor.i];
    struct vec2 where;
    if (floor->outline.n && reaches_out(rd, r->outline, floor->outline, r->at, &where))
        reader_fail(rd, &spot, RT_GEOMETRY, node ? node->at : r->at, NULL,
                    "it reaches outside the outline of floor '%.*s', at [%.2f, %.2f]", STR_ARG(floor->id), where.x,
                    where.y);
    for (uint32_t k = 0; k < i; k++) {
        const struct room *other = &h->rooms.v[k];
        if (other->floor.i == r->floor.i && other->outline.n && overlap(rd, r->outline, other->outline, r->at, &where))
            reader_fail(rd, &spot, RT_GEOMETRY, node ? node->at : r->at, "rooms may share edges, not ground",
                        "it overlaps room '%.*s', at [%.2f, %.2f]", STR_ARG(other->id), where.x, where.y);
    }
}

/* ---- walls ---- */

static double line_length_m(vec2_list line)
{
    double length = 0;
    for (uint32_t i = 0; i + 1 < line.n; i++)
        length += vec2_len(vec2_sub(line.v[i + 1], line.v[i]));
    return length;
}

static bool check_line(struct reader *rd, const struct spot *spot, vec2_list line, const struct yaml_node *node,
                       struct rt_place at)
{
    for (uint32_t i = 0; i + 1 < line.n; i++)
        if (vec2_len(vec2_sub(line.v[i + 1], line.v[i])) < TOL_M) {
            reader_fail(rd, spot, RT_GEOMETRY, point_place(node, i + 1, at), "remove one of them",
                        "points %u and %u of the line are the same: a piece without length", (unsigned)i + 1,
                        (unsigned)i + 2);
            return false;
        }
    return line.n >= 2;
}

/* Without one of its measures an opening is nowhere in particular. */
static bool is_read(const struct opening *o)
{
    return is_given(o->at_m) && is_given(o->width_m) && is_given(o->sill_m) && is_given(o->head_m);
}

static void check_opening(struct reader *rd, const struct house *h, const struct wall *w, const struct spot *up,
                          uint32_t i, bool line_is_right)
{
    const struct opening *o = &w->openings.v[i];
    const struct field *openings = shape_field(&SHAPE_WALL, STR("openings"));
    const struct spot spot = { up, openings->of, o->id, i + 1 };
    const double length = line_length_m(w->line);
    if (line_is_right && o->at_m + o->width_m > length + TOL_M)
        reader_fail(rd, &spot, RT_GEOMETRY, o->at, "at_m is measured along the wall from its first point",
                    "it ends at %.2f m, but the wall is only %.2f m long", o->at_m + o->width_m, length);
    if (o->sill_m >= o->head_m)
        reader_fail(rd, &spot, RT_GEOMETRY, o->at,
                    "sill_m is the lower edge, head_m the upper one, both above the floor",
                    "its head (%.2f m) must be above its sill (%.2f m)", o->head_m, o->sill_m);
    const double floor_m = w->floor.i == NO_REF ? RT_NOT_GIVEN : h->floors.v[w->floor.i].height_m;
    const double top = given_or(w->height_m, floor_m);
    if (o->head_m > top + TOL_M)
        reader_fail(rd, &spot, RT_GEOMETRY, o->at, NULL, "its head (%.2f m) is above the top of the wall (%.2f m)",
                    o->head_m, top);
    if (o->sill_m < w->base_m - TOL_M)
        reader_fail(rd, &spot, RT_GEOMETRY, o->at, NULL, "its sill (%.2f m) is below the foot of the wall (%.2f m)",
                    o->sill_m, w->base_m);
    for (uint32_t k = 0; k < i; k++) {
        const struct opening *q = &w->openings.v[k];
        if (!is_read(o) || !is_read(q))
            continue;
        const double along = fmin(o->at_m + o->width_m, q->at_m + q->width_m) - fmax(o->at_m, q->at_m);
        const double up_m = fmin(o->head_m, q->head_m) - fmax(o->sill_m, q->sill_m);
        if (along > TOL_M && up_m > TOL_M)
            reader_fail(rd, &spot, RT_GEOMETRY, o->at, NULL, "it overlaps opening %u by %.2f m", (unsigned)k + 1,
                        along);
    }
}

static void check_wall(struct reader *rd, const struct house *h, uint32_t i)
{
    const struct wall *w = &h->walls.v[i];
    const struct spot spot = SPOT(SHAPE_WALL, w);
    const bool line_is_right = check_line(rd, &spot, w->line, section_value(rd, "walls", i, "line"), w->at);
    const double floor_m = w->floor.i == NO_REF ? RT_NOT_GIVEN : h->floors.v[w->floor.i].height_m;
    const double top = given_or(w->height_m, floor_m);
    if (w->base_m >= top)
        reader_fail(rd, &spot, RT_GEOMETRY, w->at, NULL, "its top (%.2f m) must be above its foot (%.2f m)", top,
                    w->base_m);
    for (uint32_t k = 0; k < w->openings.n; k++)
        check_opening(rd, h, w, &spot, k, line_is_right);
}

/* ---- planes and obstacles ---- */

/* Newell's normal: the sum of the cross products of neighbouring corners; its length is twice the area. */
static struct vec3 normal_of(vec3_list outline)
{
    struct vec3 n = { 0, 0, 0 };
    for (uint32_t i = 0; i < outline.n; i++)
        n = vec3_add(n, vec3_cross(vec3_sub(outline.v[i], outline.v[0]),
                                   vec3_sub(outline.v[(i + 1) % outline.n], outline.v[0])));
    return n;
}

static void check_plane(struct reader *rd, const struct house *h, uint32_t i)
{
    struct plane *p = &h->planes.v[i];
    const struct spot spot = SPOT(SHAPE_PLANE, p);
    const struct yaml_node *node = section_value(rd, "planes", i, "outline");
    if (p->outline.n < 3)
        return;
    const struct vec3 normal = normal_of(p->outline);
    const double area2 = vec3_len(normal);
    if (area2 / 2 < TOL_M * TOL_M) {
        reader_fail(rd, &spot, RT_GEOMETRY, node ? node->at : p->at, NULL, "the outline encloses no area");
        return;
    }
    double mean = 0;
    for (uint32_t k = 0; k < p->outline.n; k++)
        mean += vec3_dot(normal, vec3_sub(p->outline.v[k], p->outline.v[0])) / area2 / p->outline.n;
    for (uint32_t k = 0; k < p->outline.n; k++) {
        const double off = fabs(vec3_dot(normal, vec3_sub(p->outline.v[k], p->outline.v[0])) / area2 - mean);
        if (off > TOL_M) {
            reader_fail(rd, &spot, RT_GEOMETRY, point_place(node, k, p->at),
                        "give each flat piece as a plane of its own",
                        "the plane is not flat: point %u is %.3f m out of it", (unsigned)k + 1, off);
            return;
        }
    }
    /* Looked at along the axis that is nearest to its normal it must be a sound polygon. */
    vec2_list flat = { ARENA_ARRAY(rd->arena, struct vec2, p->outline.n), p->outline.n };
    if (!flat.v) {
        reader_no_memory(rd);
        return;
    }
    const double ax = fabs(normal.x), ay = fabs(normal.y), az = fabs(normal.z);
    for (uint32_t k = 0; k < flat.n; k++) {
        const struct vec3 c = p->outline.v[k];
        flat.v[k] = az >= ax && az >= ay ? (struct vec2){ c.x, c.y }
                    : ax >= ay           ? (struct vec2){ c.y, c.z }
                                         : (struct vec2){ c.x, c.z };
    }
    (void)check_outline(rd, &spot, &flat, node, p->at);
}

static void check_obstacle(struct reader *rd, const struct house *h, uint32_t i)
{
    struct obstacle *o = &h->obstacles.v[i];
    const struct spot spot = SPOT(SHAPE_OBSTACLE, o);
    const struct yaml_node *outline = section_value(rd, "obstacles", i, "outline");
    const struct yaml_node *line = section_value(rd, "obstacles", i, "line");
    if (!outline == !line)
        reader_fail(rd, &spot, RT_SHAPE, outline ? line->at : o->at,
                    "'outline' for something solid, 'line' for something flat such as a mirror",
                    outline ? "it has both an 'outline' and a 'line'" : "it needs an 'outline' or a 'line'");
    (void)check_outline(rd, &spot, &o->outline, outline, o->at);
    (void)check_line(rd, &spot, o->line, line, o->at);
    if (o->from_m >= o->to_m)
        reader_fail(rd, &spot, RT_GEOMETRY, o->at, NULL, "its upper edge (%.2f m) must be above its lower one (%.2f m)",
                    o->to_m, o->from_m);
}

static void check_run(struct reader *rd, const struct house *h, uint32_t i)
{
    struct cable_run *r = &h->runs.v[i];
    const struct spot spot = SPOT(SHAPE_RUN, r);
    const struct yaml_node *outline = section_value(rd, "runs", i, "outline");
    const struct yaml_node *line = section_value(rd, "runs", i, "line");
    if (!outline == !line)
        reader_fail(rd, &spot, RT_SHAPE, outline ? line->at : r->at,
                    "'line' for a way through the house, 'outline' for a void under or above a floor",
                    outline ? "it has both an 'outline' and a 'line'" : "it needs an 'outline' or a 'line'");
    (void)check_outline(rd, &spot, &r->outline, outline, r->at);
    if (line && r->line.n == 1 && r->kind != RUN_RISER)
        reader_fail(rd, &spot, RT_GEOMETRY, line->at, NULL, "only a riser may be a single point");
    if (r->kind == RUN_RISER && r->floors.n == 1 && section_value(rd, "runs", i, "kind"))
        reader_fail(rd, &spot, RT_GEOMETRY, r->at, "name all floors between which cable can pass in it",
                    "a riser needs at least two 'floors'");
    for (uint32_t k = 0; k + 1 < r->line.n; k++)
        if (vec3_len(vec3_sub(r->line.v[k + 1], r->line.v[k])) < TOL_M)
            reader_fail(rd, &spot, RT_GEOMETRY, point_place(line, k + 1, r->at), "remove one of them",
                        "points %u and %u of the line are the same", (unsigned)k + 1, (unsigned)k + 2);
}

/* ---- things in their places ---- */

struct thing {
    struct rt_place at;
    struct ref floor, room;
    struct vec3 at_m;
    bool is_outdoors;
};

static void check_thing(struct reader *rd, const struct house *h, const struct spot *spot, struct thing t)
{
    if (!is_given(t.at_m.x) || t.floor.i == NO_REF)
        return;
    const struct vec2 p = { t.at_m.x, t.at_m.y };
    const struct floor *floor = &h->floors.v[t.floor.i];
    if (t.room.i != NO_REF) {
        const struct room *room = &h->rooms.v[t.room.i];
        if (room->outline.n && !polygon_contains_within(room->outline, p, t.is_outdoors ? OUTSIDE_M : THING_TOL_M))
            reader_fail(rd, spot, RT_GEOMETRY, t.at, NULL, "[%.2f, %.2f] is not in room '%.*s', but %.2f m outside it",
                        p.x, p.y, STR_ARG(room->id), polygon_edge_distance_m(room->outline, p));
    } else if (floor->outline.n && !polygon_contains_within(
                                       floor->outline, p, t.is_outdoors || floor->open_air ? OUTSIDE_M : THING_TOL_M)) {
        reader_fail(rd, spot, RT_GEOMETRY, t.at, NULL, "[%.2f, %.2f] is not on floor '%.*s', but %.2f m outside it",
                    p.x, p.y, STR_ARG(floor->id), polygon_edge_distance_m(floor->outline, p));
    }
    if (!t.is_outdoors && !floor->open_air && (t.at_m.z < -TOL_M || t.at_m.z > floor->height_m + TOL_M))
        reader_fail(rd, spot, RT_GEOMETRY, t.at, "z is measured above the floor it is on, not above the datum",
                    "z is %.2f m, but floor '%.*s' is %.2f m high", t.at_m.z, STR_ARG(floor->id), floor->height_m);
}

static struct rt_place at_m_place(const struct reader *rd, const char *section, uint32_t i, struct rt_place otherwise)
{
    const struct yaml_node *node = section_value(rd, section, i, "at_m");
    return node ? node->at : otherwise;
}

/* Well within something solid, not on its face or on top of it. */
static bool obstacle_holds(const struct obstacle *o, struct vec3 p)
{
    const struct vec2 q = { p.x, p.y };
    return o->outline.n >= 3 && p.z > o->from_m + TOL_M && p.z < o->to_m - TOL_M && polygon_contains(o->outline, q) &&
           polygon_edge_distance_m(o->outline, q) > TOL_M;
}

/* An antenna inside a wall or a thing has no path to anywhere: it would have to be crossed from its middle. */
static void check_not_in_solid(struct reader *rd, const struct house *h, const struct spot *spot, struct ref floor,
                               struct vec3 p, struct rt_place at)
{
    if (floor.i == NO_REF || !is_given(p.x))
        return;
    for (uint32_t k = 0; k < h->walls.n; k++) {
        const struct wall *w = &h->walls.v[k];
        if (w->floor.i != floor.i || !wall_holds(h, w, p))
            continue;
        const double thick = construct_thickness_m(&h->constructs.v[w->construct.i]);
        reader_fail(rd, spot, RT_GEOMETRY, at,
                    reader_text(rd, "move it at least %.2f m away from the middle of the wall", thick / 2 + 0.02),
                    "an access point at [%.2f, %.2f, %.2f] would be inside wall '%.*s', which is %.2f m thick", p.x,
                    p.y, p.z, STR_ARG(w->id), thick);
    }
    for (uint32_t k = 0; k < h->obstacles.n; k++) {
        const struct obstacle *o = &h->obstacles.v[k];
        if (o->floor.i == floor.i && geometry_may_compare(rd, o->outline.n, 1, at) && obstacle_holds(o, p))
            reader_fail(rd, spot, RT_GEOMETRY, at, "put it before, beside or on top of it",
                        "an access point at [%.2f, %.2f, %.2f] would be inside '%.*s', which is solid from %.2f to "
                        "%.2f m",
                        p.x, p.y, p.z, STR_ARG(o->id), o->from_m, o->to_m);
    }
}

static void check_things(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 0; i < h->mounts.n; i++) {
        const struct mount *m = &h->mounts.v[i];
        const struct spot spot = SPOT(SHAPE_MOUNT, m);
        check_thing(rd, h, &spot,
                    (struct thing){ at_m_place(rd, "mounts", i, m->at), m->floor, m->room, m->at_m, m->outdoors });
        if (m->use & MOUNT_ACCESS_POINT)
            check_not_in_solid(rd, h, &spot, m->floor, m->at_m, at_m_place(rd, "mounts", i, m->at));
    }
    for (uint32_t i = 0; i < h->devices.n; i++) {
        const struct device *d = &h->devices.v[i];
        const struct spot spot = SPOT(SHAPE_DEVICE, d);
        check_thing(
            rd, h, &spot,
            (struct thing){ at_m_place(rd, "devices", i, d->at), d->floor, d->room, d->at_m, d->room.i == NO_REF });
    }
    for (uint32_t i = 0; i < h->equipment.n; i++) {
        const struct equipment *e = &h->equipment.v[i];
        const struct spot spot = SPOT(SHAPE_EQUIPMENT, e);
        if (e->mount.i == NO_REF && section_value(rd, "equipment", i, "at_m")) {
            const bool may_be = e->part.i != NO_REF ? h->parts.list.v[e->part.i].outdoors : e->kind.n > 0;
            const bool is_outdoors = may_be && e->room.i == NO_REF;
            check_thing(
                rd, h, &spot,
                (struct thing){ at_m_place(rd, "equipment", i, e->at), e->floor, e->room, e->at_m, is_outdoors });
        }
        if (e->mount.i == NO_REF && e->part.i != NO_REF && h->parts.list.v[e->part.i].radios.n > 0)
            check_not_in_solid(rd, h, &spot, e->floor, e->at_m, at_m_place(rd, "equipment", i, e->at));
    }
    const struct spot line = { NULL, &SHAPE_LINE, { 0 }, 0 };
    check_thing(rd, h, &line, (struct thing){ h->line.at, h->line.floor, { .i = NO_REF }, h->line.at_m, true });
}

void house_check_geometry(struct reader *rd, struct house *h)
{
    for (uint32_t i = 0; i < h->floors.n; i++) {
        struct floor *f = &h->floors.v[i];
        const struct spot spot = SPOT(SHAPE_FLOOR, f);
        if (check_outline(rd, &spot, &f->outline, section_value(rd, "floors", i, "outline"), f->at))
            check_holes(rd, h, i);
        for (uint32_t k = 0; k < i; k++)
            check_floor_pair(rd, h, k, i);
    }
    for (uint32_t i = 0; i < h->rooms.n; i++)
        check_room(rd, h, i);
    for (uint32_t i = 0; i < h->walls.n; i++)
        check_wall(rd, h, i);
    for (uint32_t i = 0; i < h->planes.n; i++)
        check_plane(rd, h, i);
    for (uint32_t i = 0; i < h->obstacles.n; i++)
        check_obstacle(rd, h, i);
    for (uint32_t i = 0; i < h->runs.n; i++)
        check_run(rd, h, i);
    check_things(rd, h);
}

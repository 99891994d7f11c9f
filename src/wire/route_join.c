/* Drops down walls, and where one can pass from one line or area to another. */
#include <math.h>

#include "base/units.h"
#include "wire/route_space.h"

uint32_t space_ceiling(const struct house *h, uint32_t floor)
{
    const uint32_t above = space_floor_above(h, floor);
    return above == NO_REF ? h->floors.v[floor].ceiling.i : h->floors.v[above].slab.i;
}

struct vec2 space_foot(struct vec2 a, struct vec2 b, struct vec2 at_m)
{
    const struct vec2 d = vec2_sub(b, a);
    const double len2 = vec2_dot(d, d);
    const double t = len2 > 0.0 ? fmin(1.0, fmax(0.0, vec2_dot(vec2_sub(at_m, a), d) / len2)) : 0.0;
    return vec2_add(a, vec2_scale(d, t));
}

/* ---- drops ---- */

static uint32_t find_drop(const struct space *s, uint32_t floor, struct vec2 at_m, double base_m)
{
    const double foot_m = s->h->floors.v[floor].level_m + base_m;
    for (uint32_t i = 0; i < s->lines.n; i++) {
        const struct space_line *l = &s->lines.v[i];
        if (l->use == LINE_DROP && l->floor == floor && fabs(l->p[0].z - foot_m) < 0.05 &&
            hypot(l->p[0].x - at_m.x, l->p[0].y - at_m.y) < 0.05)
            return i;
    }
    return NO_REF;
}

static void join_drop_to_areas(struct space *s, uint32_t drop, uint32_t floor, struct vec2 at_m, bool is_over_opening)
{
    const struct floor *f = &s->h->floors.v[floor];
    for (uint32_t i = 0; !s->failed && i < s->areas.n; i++) {
        const struct space_area *area = &s->areas.v[i];
        const bool above = area->under == floor, below = area->over == floor && !is_over_opening;
        if (!above && !below)
            continue;
        const bool is_open = area->is_open;
        const uint32_t door = space_area_door(s, i, at_m), first_work = s->net.works.n;
        const uint32_t construct = above ? space_ceiling(s->h, floor) : f->slab.i;
        const uint32_t end = space_line_node(s, drop, s->lines.v[drop].p[above ? 1 : 0]);
        if (door == ROUTE_NONE)
            continue;
        if (!is_open)
            space_hole(s, construct, floor, s->at_m.v[end]);
        space_edge(s, end, door, s->lines.v[drop].way, s->lines.v[drop].price_per_m, first_work);
    }
}

static void join_drop_to_skirting(struct space *s, uint32_t drop, uint32_t room)
{
    for (uint32_t i = 0; i < s->lines.n; i++) {
        struct vec3 at_m;
        const struct space_line *d = &s->lines.v[drop];
        if (s->lines.v[i].use != LINE_SKIRTING || s->lines.v[i].room != room)
            continue;
        const struct vec3 foot = { d->p[0].x, d->p[0].y, d->p[0].z + SKIRTING_HEIGHT_M };
        if (space_line_nearest(&s->lines.v[i], foot, &at_m) > LINE_REACH_M)
            continue;
        const uint32_t way = d->way, here = space_line_node(s, drop, foot), there = space_line_node(s, i, at_m);
        space_edge(s, here, there, way, PRICE_SKIRTING_PER_M, s->net.works.n);
    }
}

uint32_t space_drop(struct space *s, const struct wall *wall, struct vec2 at_m, double base_m)
{
    const uint32_t floor = wall->floor.i, room = house_room_at(s->h, floor, at_m);
    const struct floor *f = &s->h->floors.v[floor];
    uint32_t drop = find_drop(s, floor, at_m, base_m);
    if (drop != NO_REF || s->failed)
        return drop;
    const bool hollow = wall->construct.i != NO_REF && space_is_hollow(&s->h->constructs.v[wall->construct.i]);
    struct vec3 *p = ARENA_ARRAY(s->a, struct vec3, 2);
    const struct str where = room == NO_REF ? f->id : house_room_name(s->h, room);
    const char *says = arena_printf(s->a, "%s a wall of %.*s (generated)", hollow ? "inside" : "on", STR_ARG(where));
    if (!p || !says) {
        s->failed = true;
        return NO_REF;
    }
    p[0] = (struct vec3){ at_m.x, at_m.y, f->level_m + base_m };
    p[1] = (struct vec3){ at_m.x, at_m.y, f->level_m + given_or(wall->height_m, f->height_m) };
    drop = space_add_line(
        s, (struct space_line){ .use = LINE_DROP,
                                .p = p,
                                .n = 2,
                                .floor = floor,
                                .room = room,
                                .price_per_m = PRICE_DROP_PER_M,
                                .way = space_way(s, (struct space_way){ .kind = hollow ? RUN_RISER : RUN_SURFACE,
                                                                        .run = NO_REF,
                                                                        .floor = floor,
                                                                        .mains_m = RT_NOT_GIVEN,
                                                                        .says = str_from(says) }) });
    join_drop_to_areas(s, drop, floor, at_m, base_m > 0.0);
    if (room != NO_REF && !(base_m > 0.0))
        join_drop_to_skirting(s, drop, room);
    return drop;
}

/* Does a wall of a lower floor stand under this place? */
static bool stands_on_wall(const struct house *h, uint32_t floor, struct vec2 at_m)
{
    for (uint32_t i = 0; i < h->walls.n; i++) {
        const struct wall *w = &h->walls.v[i];
        if (w->floor.i == NO_REF || h->floors.v[w->floor.i].level_m >= h->floors.v[floor].level_m - 1.0)
            continue;
        for (uint32_t k = 0; k + 1 < w->line.n; k++)
            if (vec2_len(vec2_sub(at_m, space_foot(w->line.v[k], w->line.v[k + 1], at_m))) < 0.2)
                return true;
    }
    return false;
}

static double half_thickness_m(const struct house *h, const struct wall *w)
{
    return w->construct.i == NO_REF ? 0.05 : construct_thickness_m(&h->constructs.v[w->construct.i]) / 2.0;
}

void space_stacked_drops(struct space *s)
{
    for (uint32_t i = 0; !s->failed && i < s->h->walls.n; i++) {
        const struct wall *w = &s->h->walls.v[i];
        if (w->floor.i == NO_REF || is_given(w->height_m))
            continue;
        for (uint32_t k = 0; k + 1 < w->line.n; k++) {
            const struct vec2 d = vec2_sub(w->line.v[k + 1], w->line.v[k]);
            const struct vec2 middle = vec2_add(w->line.v[k], vec2_scale(d, 0.5));
            const double len = vec2_len(d), off_m = half_thickness_m(s->h, w) + 0.01;
            if (len < 0.5 || !stands_on_wall(s->h, w->floor.i, middle))
                continue;
            const struct vec2 out = vec2_scale((struct vec2){ -d.y, d.x }, off_m / len);
            const struct vec2 left = vec2_add(middle, out), right = vec2_sub(middle, out);
            (void)space_drop(s, w, house_room_at(s->h, w->floor.i, left) != NO_REF ? left : right, 0.0);
        }
    }
}

/* ---- lines to lines ---- */

struct closest {
    double distance_m;
    struct vec3 p, q;
};

/* Closest points of two stretches (Ericson, Real-Time Collision Detection, 5.1.9, from memory). */
static struct closest stretches_closest(struct vec3 p1, struct vec3 q1, struct vec3 p2, struct vec3 q2)
{
    const struct vec3 d1 = vec3_sub(q1, p1), d2 = vec3_sub(q2, p2), r = vec3_sub(p1, p2);
    const double a = fmax(vec3_dot(d1, d1), 1e-18), e = fmax(vec3_dot(d2, d2), 1e-18), f = vec3_dot(d2, r);
    const double b = vec3_dot(d1, d2), c = vec3_dot(d1, r), over = a * e - b * b;
    double t1 = over > 1e-12 ? fmin(1.0, fmax(0.0, (b * f - c * e) / over)) : 0.0;
    double t2 = (b * t1 + f) / e;
    if (t2 < 0.0 || t2 > 1.0) {
        t2 = fmin(1.0, fmax(0.0, t2));
        t1 = fmin(1.0, fmax(0.0, (b * t2 - c) / a));
    }
    const struct vec3 p = vec3_add(p1, vec3_scale(d1, t1)), q = vec3_add(p2, vec3_scale(d2, t2));
    return (struct closest){ vec3_len(vec3_sub(p, q)), p, q };
}

static struct closest lines_closest(const struct space_line *l, const struct space_line *m)
{
    struct closest best = { .distance_m = INFINITY };
    for (uint32_t i = 0; i + 1 < l->n; i++)
        for (uint32_t k = 0; k + 1 < m->n; k++) {
            const struct closest c = stretches_closest(l->p[i], l->p[i + 1], m->p[k], m->p[k + 1]);
            if (c.distance_m < best.distance_m - 1e-9)
                best = c;
        }
    return best;
}

static void pass_between(struct space *s, uint32_t i, uint32_t k, struct vec3 p, struct vec3 q, uint32_t floor)
{
    const uint32_t first_work = s->net.works.n, a = space_line_node(s, i, p), b = space_line_node(s, k, q);
    const uint32_t way = space_way(s, (struct space_way){ .kind = RUN_DUCT,
                                                          .run = NO_REF,
                                                          .floor = floor,
                                                          .mains_m = RT_NOT_GIVEN,
                                                          .says = STR("from one run to the next (generated)") });
    if (!s->failed)
        space_holes(s, s->at_m.v[a], s->at_m.v[b]);
    space_edge(s, a, b, way, PRICE_DROP_PER_M, first_work);
}

/* From a line to another that comes near: where they are nearest, and at each corner of a run of the file. */
static void join_lines(struct space *s, uint32_t i, uint32_t k)
{
    const struct space_line l = s->lines.v[i], m = s->lines.v[k];
    if (l.use != LINE_OF_FILE && m.use != LINE_OF_FILE && (l.use == LINE_DROP || m.use == LINE_DROP))
        return; /* those are joined already */
    const struct closest c = lines_closest(&l, &m);
    if (c.distance_m > LINE_REACH_M)
        return;
    const uint32_t floor = l.floor != NO_REF ? l.floor : m.floor;
    pass_between(s, i, k, c.p, c.q, floor);
    struct vec3 at_m;
    for (uint32_t v = 0; l.use == LINE_OF_FILE && v < l.n; v++)
        if (space_line_nearest(&m, l.p[v], &at_m) <= LINE_REACH_M)
            pass_between(s, i, k, l.p[v], at_m, floor);
    for (uint32_t v = 0; m.use == LINE_OF_FILE && v < m.n; v++)
        if (space_line_nearest(&l, m.p[v], &at_m) <= LINE_REACH_M)
            pass_between(s, i, k, at_m, m.p[v], floor);
}

/* ---- lines to areas ---- */

static void join_point_to_area(struct space *s, uint32_t line, uint32_t which, struct vec3 at_m)
{
    const struct space_area *area = &s->areas.v[which];
    const struct house *h = s->h;
    if (fabs(at_m.z - area->z_m) > (area->is_open ? CLIMB_M : LINE_REACH_M))
        return;
    const uint32_t under = area->under, over = area->over;
    const bool is_open = area->is_open;
    const double z_m = area->z_m;
    const uint32_t door = space_area_door(s, which, (struct vec2){ at_m.x, at_m.y }), first_work = s->net.works.n;
    if (door == ROUTE_NONE)
        return;
    const uint32_t node = space_line_node(s, line, at_m);
    if (!is_open && over != NO_REF && at_m.z >= h->floors.v[over].level_m - 0.05)
        space_hole(s, h->floors.v[over].slab.i, over, at_m);
    else if (!is_open && under != NO_REF && at_m.z <= h->floors.v[under].level_m + h->floors.v[under].height_m &&
             z_m > at_m.z)
        space_hole(s, space_ceiling(h, under), under, at_m);
    space_edge(s, node, door, s->lines.v[line].way, PRICE_DROP_PER_M, first_work);
}

static void join_line_to_area(struct space *s, uint32_t line, uint32_t area)
{
    const struct space_line l = s->lines.v[line];
    const double z_m = s->areas.v[area].z_m;
    for (uint32_t i = 0; i < l.n; i++)
        join_point_to_area(s, line, area, l.p[i]);
    for (uint32_t i = 0; i + 1 < l.n; i++) { /* where it passes the height of the area */
        const double rise = l.p[i + 1].z - l.p[i].z, t = fabs(rise) > 1e-9 ? (z_m - l.p[i].z) / rise : -1.0;
        if (t > 0.0 && t < 1.0)
            join_point_to_area(s, line, area, vec3_add(l.p[i], vec3_scale(vec3_sub(l.p[i + 1], l.p[i]), t)));
    }
}

void space_join_runs(struct space *s)
{
    for (uint32_t i = 0; !s->failed && i < s->lines.n; i++) {
        for (uint32_t k = i + 1; !s->failed && k < s->lines.n; k++)
            join_lines(s, i, k);
        for (uint32_t k = 0; s->lines.v[i].use == LINE_OF_FILE && !s->failed && k < s->areas.n; k++)
            join_line_to_area(s, i, k);
    }
}

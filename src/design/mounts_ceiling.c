/* On the ceilings: the middle of each room, and a grid in large ones. */
#include <math.h>

#include "data/device_kinds.h"
#include "design/mounts_int.h"
#include "house/polygon.h"

#define RASTER_M 0.25 /* where the middle will not do */

struct ceiling {
    const struct house *h;
    uint32_t room, floor;
    struct vec2 low, high; /* of the room's box */
};

/* Height of a plane over a point, above its floor; NaN: it is not over it, or upright. */
static double plane_z_m(const struct plane *plane, struct vec2 p)
{
    const struct vec3 *v = plane->outline.v;
    struct vec3 normal = { 0 };
    bool inside = false;
    for (uint32_t k = 0; k < plane->outline.n; k++) {
        const struct vec3 a = v[k], b = v[(k + 1) % plane->outline.n];
        normal = vec3_add(normal, vec3_cross(vec3_sub(a, v[0]), vec3_sub(b, v[0])));
        if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x))
            inside = !inside;
    }
    if (!inside || fabs(normal.z) < 1e-9 * vec3_len(normal))
        return RT_NOT_GIVEN;
    return v[0].z - (normal.x * (p.x - v[0].x) + normal.y * (p.y - v[0].y)) / normal.z;
}

/* The ceiling over a point: the storey's, or a slope of roof or stairs below it. */
static double ceiling_m(const struct ceiling *c, struct vec2 p)
{
    double z_m = c->h->floors.v[c->floor].height_m;
    for (uint32_t i = 0; i < c->h->planes.n; i++) {
        const struct plane *plane = &c->h->planes.v[i];
        const double plane_m = plane->floor.i == c->floor && plane->outline.n >= 3 ? plane_z_m(plane, p) : RT_NOT_GIVEN;
        if (is_given(plane_m))
            z_m = fmin(z_m, plane_m);
    }
    return z_m;
}

static bool is_near_hole(const struct floor *f, struct vec2 p)
{
    for (uint32_t i = 0; i < f->holes.n; i++)
        if (polygon_contains_within(f->holes.v[i].outline, p, MOUNT_FROM_OBSTACLE_M))
            return true;
    return false;
}

/* Over a stairwell no ladder stands, and under one there is no ceiling. */
static bool is_at_stairs(const struct ceiling *c, struct vec2 p)
{
    const struct floor *own = &c->h->floors.v[c->floor];
    const double top_m = own->level_m + own->height_m;
    if (is_near_hole(own, p))
        return true;
    for (uint32_t i = 0; i < c->h->floors.n; i++) {
        const struct floor *f = &c->h->floors.v[i];
        if (!f->open_air && i != c->floor && f->level_m > top_m - 0.1 && f->level_m < top_m + 1.0 && is_near_hole(f, p))
            return true;
    }
    return false;
}

/* From the faces of the walls of the floor, and from the room's edge where no wall stands. */
static double wall_clearance_m(const struct ceiling *c, struct vec2 p)
{
    const struct house *h = c->h;
    double clear_m = polygon_edge_distance_m(h->rooms.v[c->room].outline, p);
    for (uint32_t i = 0; i < h->walls.n; i++) {
        const struct wall *w = &h->walls.v[i];
        if (w->floor.i != c->floor || w->construct.i == NO_REF)
            continue;
        const double half_m = construct_thickness_m(&h->constructs.v[w->construct.i]) / 2.0;
        for (uint32_t k = 0; k + 1 < w->line.n; k++)
            clear_m = fmin(clear_m, segment_distance_m(w->line.v[k], w->line.v[k + 1], p) - half_m);
    }
    return clear_m;
}

static bool is_by_obstacle(const struct ceiling *c, struct vec2 p, double z_m)
{
    for (uint32_t i = 0; i < c->h->obstacles.n; i++) {
        const struct obstacle *o = &c->h->obstacles.v[i];
        if (o->floor.i != c->floor || o->to_m < z_m - 0.3)
            continue;
        if (o->outline.n && polygon_contains_within(o->outline, p, MOUNT_FROM_OBSTACLE_M))
            return true;
        for (uint32_t k = 0; k + 1 < o->line.n; k++)
            if (segment_distance_m(o->line.v[k], o->line.v[k + 1], p) < MOUNT_FROM_OBSTACLE_M)
                return true;
    }
    return false;
}

/* A lamp in the middle of the ceiling is there first. */
static bool is_by_lamp(const struct ceiling *c, struct vec2 p, double z_m)
{
    for (uint32_t i = 0; i < c->h->devices.n; i++) {
        const struct device *d = &c->h->devices.v[i];
        if (str_is(d->kind, "light") && d->floor.i == c->floor && is_given(d->at_m.x) && d->at_m.z > z_m - 1.0 &&
            hypot(d->at_m.x - p.x, d->at_m.y - p.y) < MOUNT_FROM_LAMP_M)
            return true;
    }
    return false;
}

/* To the centimetre, so that it is the same when it has been written. */
static struct vec2 rounded(struct vec2 p)
{
    return (struct vec2){ round(p.x * 100.0) / 100.0, round(p.y * 100.0) / 100.0 };
}

/* How far from walls it can hang there; below 0: not at all. */
static double fitness_m(const struct ceiling *c, struct vec2 p)
{
    const double z_m = ceiling_m(c, p);
    if (!polygon_contains(c->h->rooms.v[c->room].outline, p) || z_m < MOUNT_CEILING_MIN_M || z_m > MOUNT_LADDER_M ||
        is_at_stairs(c, p) || is_by_obstacle(c, p, z_m) || is_by_lamp(c, p, z_m))
        return -1.0;
    return wall_clearance_m(c, p);
}

static void add(struct mount_maker *m, const struct ceiling *c, int rank, struct vec2 p)
{
    const double z_m = floor(100.0 * (ceiling_m(c, p) - MOUNT_BELOW_CEILING_M) + 1e-6) / 100.0;
    mounts_add(m, rank,
               (struct mount){ .floor.i = c->floor,
                               .room.i = c->room,
                               .at_m = { p.x, p.y, z_m },
                               .surface = SURFACE_CEILING,
                               .faces_deg = RT_NOT_GIVEN,
                               .use = MOUNT_ACCESS_POINT });
}

/* The place nearest to `wanted` that is clear; in a narrow room the one that is most clear. */
static bool best_place(const struct ceiling *c, struct vec2 wanted, struct vec2 *out)
{
    double best_m = MOUNT_FROM_WALL_MIN_M, best_away_m = INFINITY;
    bool found = false;
    *out = rounded(wanted);
    if (fitness_m(c, *out) >= MOUNT_FROM_WALL_M)
        return true;
    for (double y = c->low.y + RASTER_M / 2.0; y < c->high.y; y += RASTER_M)
        for (double x = c->low.x + RASTER_M / 2.0; x < c->high.x; x += RASTER_M) {
            const struct vec2 p = rounded((struct vec2){ x, y });
            const double fit_m = fmin(fitness_m(c, p), MOUNT_FROM_WALL_M), away_m = vec2_len(vec2_sub(p, wanted));
            if (fit_m < best_m - 1e-9 || (fit_m < best_m + 1e-9 && away_m >= best_away_m - 1e-9))
                continue;
            best_m = fit_m;
            best_away_m = away_m;
            *out = p;
            found = true;
        }
    return found;
}

static uint32_t steps_of(double size_m, double grid_m)
{
    const double n = round(size_m / grid_m);
    return n < 1.0 ? 1 : n > 50.0 ? 50 : (uint32_t)n;
}

void mounts_on_ceiling(struct mount_maker *m, uint32_t room)
{
    const struct room *r = &m->h->rooms.v[room];
    struct ceiling c = {
        .h = m->h, .room = room, .floor = r->floor.i, .low = r->outline.v[0], .high = r->outline.v[0]
    };
    struct vec2 at;
    for (uint32_t i = 1; i < r->outline.n; i++) {
        const struct vec2 p = r->outline.v[i];
        c.low = (struct vec2){ fmin(c.low.x, p.x), fmin(c.low.y, p.y) };
        c.high = (struct vec2){ fmax(c.high.x, p.x), fmax(c.high.y, p.y) };
    }
    if (best_place(&c, polygon_centre(r->outline), &at))
        add(m, &c, RANK_CENTRE, at);
    const struct vec2 size = vec2_sub(c.high, c.low);
    const uint32_t nx = steps_of(size.x, m->grid_m), ny = steps_of(size.y, m->grid_m);
    for (uint32_t iy = 0; iy < ny && nx * ny > 1; iy++)
        for (uint32_t ix = 0; ix < nx; ix++) {
            at = rounded((struct vec2){ c.low.x + size.x * (ix + 0.5) / nx, c.low.y + size.y * (iy + 0.5) / ny });
            if (fitness_m(&c, at) >= MOUNT_FROM_WALL_M)
                add(m, &c, RANK_GRID, at);
        }
}

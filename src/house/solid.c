/* solid.c - where nobody can be: within walls and things, and above a sloping roof. */
#include <math.h>

#include "base/units.h"
#include "house/house.h"

/* A wall of which no layer is told still has a middle. */
static const double THIN_M = 0.01;

double construct_thickness_m(const struct construct *c)
{
    double sum = 0;
    for (uint32_t i = 0; i < c->layers.n; i++)
        sum += given_or(c->layers.v[i].thickness_m, 0);
    return sum;
}

bool wall_holds(const struct house *h, const struct wall *w, struct vec3 p)
{
    if (w->floor.i == NO_REF || w->construct.i == NO_REF)
        return false;
    const double top = given_or(w->height_m, h->floors.v[w->floor.i].height_m);
    if (p.z < w->base_m || p.z > top)
        return false;
    const double half = fmax(construct_thickness_m(&h->constructs.v[w->construct.i]) / 2, THIN_M / 2);
    double along = 0;
    for (uint32_t i = 0; i + 1 < w->line.n; i++) {
        const struct vec2 a = w->line.v[i], b = w->line.v[i + 1], ap = vec2_sub((struct vec2){ p.x, p.y }, a);
        const double length = vec2_len(vec2_sub(b, a));
        const struct vec2 u = vec2_scale(vec2_sub(b, a), length > 0 ? 1 / length : 0);
        const double s = vec2_dot(ap, u);
        if (s >= 0 && s <= length && fabs(vec2_cross(u, ap)) < half - 1e-6) {
            for (uint32_t k = 0; k < w->openings.n; k++) {
                const struct opening *o = &w->openings.v[k];
                if (along + s >= o->at_m && along + s <= o->at_m + o->width_m && p.z >= o->sill_m && p.z <= o->head_m)
                    return false;
            }
            return true;
        }
        along += length;
    }
    return false;
}

bool house_is_solid_at(const struct house *h, uint32_t floor, struct vec3 p)
{
    for (uint32_t i = 0; i < h->walls.n; i++)
        if (h->walls.v[i].floor.i == floor && wall_holds(h, &h->walls.v[i], p))
            return true;
    for (uint32_t i = 0; i < h->obstacles.n; i++) {
        const struct obstacle *o = &h->obstacles.v[i];
        if (o->floor.i == floor && o->outline.n && p.z >= o->from_m && p.z <= o->to_m &&
            polygon_contains(o->outline, (struct vec2){ p.x, p.y }))
            return true;
    }
    return false;
}

bool house_is_above_roof(const struct house *h, uint32_t floor, struct vec3 p)
{
    for (uint32_t i = 0; i < h->planes.n; i++) {
        const struct plane *plane = &h->planes.v[i];
        if (plane->kind != PLANE_ROOF || plane->floor.i != floor || plane->outline.n < 3)
            continue;
        const struct vec3 *v = plane->outline.v;
        struct vec3 normal = { 0, 0, 0 };
        bool inside = false;
        for (uint32_t k = 0; k < plane->outline.n; k++) {
            const struct vec3 a = v[k], b = v[(k + 1) % plane->outline.n];
            normal = vec3_add(normal, vec3_cross(vec3_sub(a, v[0]), vec3_sub(b, v[0])));
            if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x))
                inside = !inside;
        }
        /* the height of the slope there, not divided by a normal that may be level */
        const double above = (p.z - v[0].z) * normal.z + normal.x * (p.x - v[0].x) + normal.y * (p.y - v[0].y);
        if (inside && above * normal.z > 0.0)
            return true;
    }
    return false;
}

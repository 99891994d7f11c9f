/* Where a hole or a board is, measured as one would with a tape: from the faces of walls, and above the floor. */
#include <math.h>

#include "base/units.h"
#include "wire/install_int.h"

/* A hole this near to the middle of a wall of its construct goes through that wall. */
static const double IN_WALL_M = 0.03;
/* A wall's stretch counts a little beyond its ends, where it runs into the thickness of another. */
static const double BEYOND_M = 0.15;
/* Two dimensions of one place stand at more than this sine to one another. */
static const double ACROSS_SINE = 0.5;

/* Diameters of common bits in mm (common practice, no source). */
static const double BITS_MM[] = { 8, 10, 12, 14, 16, 18, 20, 22, 25, 28, 32, 35, 40, 45, 50, 60, 70, 80, 100 };

double install_bit_mm(double area_mm2)
{
    const double needed_mm = sqrt(4.0 * area_mm2 / INSTALL_FILL_SHARE / RT_PI);
    for (size_t i = 0; i < RT_COUNT(BITS_MM); i++)
        if (BITS_MM[i] >= needed_mm)
            return BITS_MM[i];
    return ceil(needed_mm / 10.0) * 10.0;
}

/* A stretch of a wall. */
struct stretch {
    struct vec2 a, d; /* d: its direction, of length 1 */
    double len_m, half_m;
    uint32_t wall;
};

static bool stretch_of(const struct house *h, uint32_t wall, uint32_t i, struct stretch *out)
{
    const struct wall *w = &h->walls.v[wall];
    const struct vec2 d = vec2_sub(w->line.v[i + 1], w->line.v[i]);
    const double len_m = vec2_len(d);
    const double thick_m = w->construct.i == NO_REF ? 0.0 : construct_thickness_m(&h->constructs.v[w->construct.i]);
    *out = (struct stretch){ w->line.v[i], vec2_scale(d, 1.0 / fmax(len_m, 1e-9)), len_m, thick_m / 2.0, wall };
    return len_m > 0.01;
}

static bool crosses(struct vec2 p, struct vec2 q, const struct stretch *s)
{
    const struct vec2 d = vec2_sub(q, p), r = vec2_sub(s->a, p);
    const double over = vec2_cross(d, s->d);
    if (fabs(over) < 1e-12)
        return false;
    const double t = vec2_cross(r, s->d) / over, u = vec2_cross(r, d) / over;
    return t > 1e-3 && t < 1.0 - 1e-3 && u >= 0.0 && u <= s->len_m;
}

static bool is_seen(const struct house *h, uint32_t floor, struct vec2 from, struct vec2 to, uint32_t but)
{
    for (uint32_t w = 0; w < h->walls.n; w++)
        for (uint32_t i = 0; w != but && h->walls.v[w].floor.i == floor && i + 1 < h->walls.v[w].line.n; i++) {
            struct stretch s;
            if (stretch_of(h, w, i, &s) && crosses(from, to, &s))
                return false;
        }
    return true;
}

static uint32_t wall_drilled(const struct house *h, const struct cable_work *work, struct stretch *out)
{
    const struct vec2 at = { work->at_m.x, work->at_m.y };
    for (uint32_t w = 0; w < h->walls.n; w++)
        for (uint32_t i = 0; h->walls.v[w].floor.i == work->floor && h->walls.v[w].construct.i == work->construct &&
                             i + 1 < h->walls.v[w].line.n;
             i++) {
            struct stretch s;
            if (!stretch_of(h, w, i, &s))
                continue;
            const struct vec2 r = vec2_sub(at, s.a);
            const double along_m = vec2_dot(r, s.d);
            if (fabs(vec2_cross(r, s.d)) < IN_WALL_M && along_m > -IN_WALL_M && along_m < s.len_m + IN_WALL_M) {
                *out = s;
                return w;
            }
        }
    return NO_REF;
}

/* From a point to the face of a stretch, straight at it; false: it is not beside the point. */
static bool dim_to(const struct stretch *s, struct vec2 at, struct install_dim *out)
{
    const struct vec2 r = vec2_sub(at, s->a);
    const double along_m = vec2_dot(r, s->d), side = vec2_cross(s->d, r), off_m = fabs(side);
    if (along_m < -BEYOND_M || along_m > s->len_m + BEYOND_M)
        return false;
    const struct vec2 n = vec2_scale((struct vec2){ -s->d.y, s->d.x }, side >= 0.0 ? 1.0 : -1.0);
    const struct vec2 foot = vec2_add(s->a, vec2_scale(s->d, along_m));
    *out = (struct install_dim){ fmax(0.0, off_m - s->half_m), s->wall,
                                 vec2_add(foot, vec2_scale(n, fmin(off_m, s->half_m))) };
    return true;
}

/* The nearest wall in sight that does not run along `along` (NULL: any); its stretch. */
static bool nearest_dim(const struct house *h, uint32_t floor, struct vec2 at, const struct vec2 *along,
                        struct install_dim *out, struct stretch *found)
{
    bool any = false;
    for (uint32_t w = 0; w < h->walls.n; w++)
        for (uint32_t i = 0; h->walls.v[w].floor.i == floor && i + 1 < h->walls.v[w].line.n; i++) {
            struct stretch s;
            struct install_dim dim;
            if (!stretch_of(h, w, i, &s) || (along && fabs(vec2_cross(*along, s.d)) < ACROSS_SINE) ||
                !dim_to(&s, at, &dim) || (any && dim.m >= out->m - 1e-9) || !is_seen(h, floor, at, dim.foot_m, w))
                continue;
            *out = dim;
            *found = s;
            any = true;
        }
    return any;
}

/* Along a wall: from the nearest wall that meets it, else from its own end. */
static void dim_along_wall(const struct house *h, const struct cable_work *work, const struct stretch *s,
                           struct install_work *out)
{
    const struct vec2 at = { work->at_m.x, work->at_m.y };
    struct stretch other;
    const double along_m = vec2_dot(vec2_sub(at, s->a), s->d);
    out->n_dims = 1;
    if (nearest_dim(h, work->floor, at, &s->d, &out->dims[0], &other))
        return;
    const bool first = along_m < s->len_m / 2.0;
    out->dims[0] = (struct install_dim){ fabs(first ? along_m : s->len_m - along_m), s->wall,
                                         vec2_add(s->a, vec2_scale(s->d, first ? 0.0 : s->len_m)) };
}

uint32_t install_dims_at(const struct house *h, uint32_t floor, struct vec2 at_m, struct install_dim *dims)
{
    struct stretch first, second;
    if (!nearest_dim(h, floor, at_m, NULL, &dims[0], &first))
        return 0;
    return nearest_dim(h, floor, at_m, &first.d, &dims[1], &second) ? 2 : 1;
}

/* Is there a room on both sides? */
static bool is_outer(const struct house *h, const struct cable_work *work, const struct stretch *s)
{
    const struct vec2 at = { work->at_m.x, work->at_m.y };
    const struct vec2 n = vec2_scale((struct vec2){ -s->d.y, s->d.x }, s->half_m + 0.1);
    return house_room_at(h, work->floor, vec2_add(at, n)) == NO_REF ||
           house_room_at(h, work->floor, vec2_sub(at, n)) == NO_REF;
}

static void size_hole(const struct cable_plan *plan, const struct cable_work *work, struct install_work *out)
{
    double area_mm2 = 0.0;
    out->is_diameter_sure = true;
    for (uint32_t i = 0; i < work->cables.n; i++) {
        const uint32_t part = plan->h->cables.v[work->cables.v[i].i].part.i;
        const double outer_mm = part == NO_REF ? RT_NOT_GIVEN : plan->h->parts.list.v[part].outer_mm;
        const double d_mm = given_or(outer_mm, INSTALL_CABLE_MM);
        out->is_diameter_sure &= is_given(outer_mm);
        area_mm2 += RT_PI / 4.0 * d_mm * d_mm;
    }
    out->diameter_mm = install_bit_mm(area_mm2);
}

void install_place_work(struct install *in)
{
    const struct house *h = in->plan->h;
    uint32_t n[2] = { 0 };
    for (uint32_t i = 0; i < in->plan->work.n; i++) {
        const struct cable_work *work = &in->plan->work.v[i];
        struct install_work *out = &in->work[i];
        struct stretch s;
        *out = (struct install_work){ .number = ++n[work->kind == WORK_BOARD], .wall = NO_REF };
        out->above_m = work->at_m.z - (work->floor == NO_REF ? 0.0 : h->floors.v[work->floor].level_m);
        if (work->kind == WORK_HOLE) {
            out->thickness_m =
                work->construct == NO_REF ? 0.0 : construct_thickness_m(&h->constructs.v[work->construct]);
            size_hole(in->plan, work, out);
            out->wall = wall_drilled(h, work, &s);
        }
        if (out->wall == NO_REF) {
            out->n_dims = install_dims_at(h, work->floor, (struct vec2){ work->at_m.x, work->at_m.y }, out->dims);
        } else {
            dim_along_wall(h, work, &s, out);
            out->is_outer = is_outer(h, work, &s);
        }
    }
}

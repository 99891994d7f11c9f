/* Walls that stand where nobody meant them, or twice: the house can stand so, but what is computed of it is not that house. */
#include "base/units.h"
#include "house/field_int.h"
#include "house/model_int.h"
#include "house/polygon.h"

static const double ASTRAY_M = 0.5;    /* beyond the floor's outline; nearer it is the outer leaf, a pillar, a porch */
static const double STEP_M = 0.25;     /* between the points of a wall that are looked at */
static const double ONE_LINE_M = 0.05; /* thinner than any leaf of a wall */
static const double SHARED_M = 0.2;    /* along and in height: corners and joints share less */

/* Comparing takes time with the product of the points; a house never comes near this, only malice does. */
static const double WORK_MAX = 2e7;

static bool may_go_on(struct reader *rd, double work)
{
    rd->geometry_work += work;
    return rd->geometry_work < WORK_MAX && !reader_is_full(rd);
}

static struct rt_place line_place(const struct reader *rd, uint32_t wall, struct rt_place otherwise)
{
    const struct yaml_node *node = section_value(rd, "walls", wall, "line");
    return node ? node->at : otherwise;
}

/* ---- astray ---- */

static struct vec2 point_between(struct vec2 a, struct vec2 b, double t)
{
    return vec2_add(a, vec2_scale(vec2_sub(b, a), t));
}

/* How far its furthest point is outside the outline, and which that is. */
static double furthest_outside_m(struct reader *rd, vec2_list line, vec2_list outline, struct vec2 *where)
{
    double most_m = 0;
    for (uint32_t i = 0; i + 1 < line.n; i++) {
        const double length_m = vec2_len(vec2_sub(line.v[i + 1], line.v[i]));
        const uint32_t n = (uint32_t)fmin(ceil(length_m / STEP_M), 400);
        if (!may_go_on(rd, (double)outline.n * n))
            return most_m;
        for (uint32_t k = 0; k <= n; k++) {
            const struct vec2 p = point_between(line.v[i], line.v[i + 1], n ? (double)k / n : 0);
            const double out_m = polygon_contains(outline, p) ? 0 : polygon_edge_distance_m(outline, p);
            if (out_m > most_m) {
                most_m = out_m;
                *where = p;
            }
        }
    }
    return most_m;
}

/* Garden walls stand on floors in the open air, and wherever they like. */
static void warn_if_astray(struct reader *rd, const struct house *h, uint32_t i)
{
    const struct wall *w = &h->walls.v[i];
    const struct floor *floor = &h->floors.v[w->floor.i];
    struct vec2 where = { 0, 0 };
    if (floor->open_air || floor->outline.n < 3)
        return;
    const double out_m = furthest_outside_m(rd, w->line, floor->outline, &where);
    if (out_m > ASTRAY_M)
        rt_warn(rd->p, RT_GEOMETRY, line_place(rd, i, w->at),
                "look at the points of its line; a wall out of doors belongs on a floor with 'open_air: true'",
                "wall '%.*s': it reaches outside the outline of floor '%.*s': [%.2f, %.2f] is %.2f m off",
                STR_ARG(w->id), STR_ARG(floor->id), where.x, where.y, out_m);
}

/* ---- twice ---- */

struct stretch {
    struct vec2 a, b;
};

/* How much of q lies on p, and where that begins; 0: it lies beside it, across it or elsewhere. */
static double shared_m(struct stretch p, struct stretch q, struct vec2 *where)
{
    const struct vec2 along = vec2_sub(p.b, p.a);
    const double length_m = vec2_len(along), q_m = vec2_len(vec2_sub(q.b, q.a));
    if (!(length_m > SHARED_M) || !(q_m > SHARED_M))
        return 0;
    const struct vec2 u = vec2_scale(along, 1 / length_m);
    const double s0 = vec2_dot(vec2_sub(q.a, p.a), u), s1 = vec2_dot(vec2_sub(q.b, p.a), u);
    const double off0 = vec2_cross(u, vec2_sub(q.a, p.a)), off1 = vec2_cross(u, vec2_sub(q.b, p.a));
    const double lo = fmax(fmin(s0, s1), 0), hi = fmin(fmax(s0, s1), length_m);
    if (!(hi - lo > SHARED_M))
        return 0;
    /* off the middle of p at either end of what they share */
    const double slope = (off1 - off0) / (s1 - s0);
    if (fabs(off0 + (lo - s0) * slope) > ONE_LINE_M || fabs(off0 + (hi - s0) * slope) > ONE_LINE_M)
        return 0;
    *where = point_between(p.a, p.b, lo / length_m);
    return hi - lo;
}

static double top_m(const struct house *h, const struct wall *w)
{
    return given_or(w->height_m, h->floors.v[w->floor.i].height_m);
}

/* The longest piece of two walls that is drawn twice. */
static double most_shared_m(struct reader *rd, const struct wall *w, const struct wall *v, struct vec2 *where)
{
    double most = 0;
    if (!may_go_on(rd, (double)w->line.n * v->line.n))
        return 0;
    for (uint32_t i = 0; i + 1 < w->line.n; i++)
        for (uint32_t k = 0; k + 1 < v->line.n; k++) {
            struct vec2 at = { 0, 0 };
            const struct stretch p = { w->line.v[i], w->line.v[i + 1] }, q = { v->line.v[k], v->line.v[k + 1] };
            const double m = shared_m(p, q, &at);
            if (m > most) {
                most = m;
                *where = at;
            }
        }
    return most;
}

static void warn_if_twice(struct reader *rd, const struct house *h, uint32_t i, uint32_t other)
{
    const struct wall *w = &h->walls.v[i], *v = &h->walls.v[other];
    struct vec2 where = { 0, 0 };
    if (v->floor.i != w->floor.i || !(fmin(top_m(h, w), top_m(h, v)) - fmax(w->base_m, v->base_m) > SHARED_M))
        return;
    const double m = most_shared_m(rd, v, w, &where);
    if (m > 0)
        rt_warn(rd->p, RT_GEOMETRY, line_place(rd, i, w->at), "keep one of them, or let one end where the other begins",
                "wall '%.*s': %.2f m of it lie on wall '%.*s', from [%.2f, %.2f] on: what crosses them loses twice",
                STR_ARG(w->id), m, STR_ARG(v->id), where.x, where.y);
}

void house_warn_of_walls(struct reader *rd, const struct house *h)
{
    rd->geometry_work = 0;
    for (uint32_t i = 0; i < h->walls.n; i++) {
        if (h->walls.v[i].floor.i == NO_REF)
            continue;
        warn_if_astray(rd, h, i);
        for (uint32_t k = 0; k < i; k++)
            warn_if_twice(rd, h, i, k);
    }
}

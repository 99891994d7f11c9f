/* Polygons given by their corners, not closed.  Any simple polygon, either way round. */
#include "house/polygon.h"

#include <stdlib.h>

#include "base/sum.h"

double polygon_area_m2(vec2_list outline)
{
    struct sum twice = { 0 };
    for (uint32_t i = 0; i < outline.n; i++)
        sum_add(&twice, vec2_cross(outline.v[i], outline.v[(i + 1) % outline.n]));
    return sum_value(&twice) / 2;
}

double segment_distance_m(struct vec2 a, struct vec2 b, struct vec2 at_m)
{
    const struct vec2 d = vec2_sub(b, a);
    const double len2 = vec2_dot(d, d);
    double t = len2 > 0 ? vec2_dot(vec2_sub(at_m, a), d) / len2 : 0;
    t = t < 0 ? 0 : t > 1 ? 1 : t;
    return vec2_len(vec2_sub(at_m, vec2_add(a, vec2_scale(d, t))));
}

double polygon_edge_distance_m(vec2_list outline, struct vec2 at_m)
{
    double least = INFINITY;
    for (uint32_t i = 0; i < outline.n; i++)
        least = fmin(least, segment_distance_m(outline.v[i], outline.v[(i + 1) % outline.n], at_m));
    return least;
}

/* Crossing number: a ray to +x meets the boundary an odd number of times. */
static bool is_inside(vec2_list outline, struct vec2 p)
{
    bool inside = false;
    for (uint32_t i = 0; i < outline.n; i++) {
        const struct vec2 a = outline.v[i], b = outline.v[(i + 1) % outline.n];
        if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x))
            inside = !inside;
    }
    return inside;
}

bool polygon_contains(vec2_list outline, struct vec2 at_m)
{
    return is_inside(outline, at_m) || polygon_edge_distance_m(outline, at_m) < 1e-9;
}

bool polygon_contains_within(vec2_list outline, struct vec2 at_m, double tol_m)
{
    return is_inside(outline, at_m) || polygon_edge_distance_m(outline, at_m) <= tol_m;
}

struct vec2 polygon_centre(vec2_list outline)
{
    struct vec2 mean = { 0, 0 }, centre = { 0, 0 };
    if (outline.n == 0)
        return mean;
    for (uint32_t i = 0; i < outline.n; i++)
        mean = vec2_add(mean, vec2_scale(outline.v[i], 1.0 / outline.n));
    double twice = 0;
    for (uint32_t i = 0; i < outline.n; i++) { /* about the mean, lest large coordinates eat the digits */
        const struct vec2 a = vec2_sub(outline.v[i], mean), b = vec2_sub(outline.v[(i + 1) % outline.n], mean);
        const double cross = vec2_cross(a, b);
        twice += cross;
        centre = vec2_add(centre, vec2_scale(vec2_add(a, b), cross));
    }
    return fabs(twice) < 1e-12 ? mean : vec2_add(mean, vec2_scale(centre, 1 / (3 * twice)));
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

/* The middle of the widest inside stretch of the horizontal line half-way between two neighbouring corner heights. */
bool polygon_inner_point(vec2_list outline, struct arena *scratch, struct vec2 *out)
{
    const struct arena_mark m = arena_mark(scratch);
    double *v = ARENA_ARRAY(scratch, double, outline.n);
    if (!v)
        return false;
    for (uint32_t i = 0; i < outline.n; i++)
        v[i] = outline.v[i].y;
    qsort(v, outline.n, sizeof(double), rising);
    double gap = 0, y = 0;
    for (uint32_t i = 0; i + 1 < outline.n; i++)
        if (v[i + 1] - v[i] > gap) {
            gap = v[i + 1] - v[i];
            y = v[i] + gap / 2;
        }
    uint32_t n = 0;
    for (uint32_t i = 0; i < outline.n; i++) {
        const struct vec2 a = outline.v[i], b = outline.v[(i + 1) % outline.n];
        if ((a.y > y) != (b.y > y))
            v[n++] = a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x);
    }
    qsort(v, n, sizeof(double), rising);
    double width = 0;
    for (uint32_t i = 0; i + 1 < n; i += 2)
        if (v[i + 1] - v[i] > width) {
            width = v[i + 1] - v[i];
            *out = (struct vec2){ v[i] + width / 2, y };
        }
    arena_reset(scratch, m);
    return width > 0;
}

struct vec2 polygon_middle(vec2_list outline, struct arena *scratch)
{
    const struct vec2 centre = polygon_centre(outline);
    struct vec2 inner = centre;
    if (!polygon_contains(outline, centre))
        (void)polygon_inner_point(outline, scratch, &inner);
    return inner;
}

/* ---- crossings ---- */

static double side_of(struct vec2 a, struct vec2 b, struct vec2 p)
{
    return vec2_cross(vec2_sub(b, a), vec2_sub(p, a));
}

static bool segments_meet(struct vec2 a, struct vec2 b, struct vec2 c, struct vec2 d)
{
    const double abc = side_of(a, b, c), abd = side_of(a, b, d), cda = side_of(c, d, a), cdb = side_of(c, d, b);
    if (((abc > 0 && abd < 0) || (abc < 0 && abd > 0)) && ((cda > 0 && cdb < 0) || (cda < 0 && cdb > 0)))
        return true;
    const double touch_m = 1e-6;
    return segment_distance_m(a, b, c) < touch_m || segment_distance_m(a, b, d) < touch_m ||
           segment_distance_m(c, d, a) < touch_m || segment_distance_m(c, d, b) < touch_m;
}

/* Sides that share a corner may meet there and nowhere else: they must not fold back on each other. */
static bool folds_back(struct vec2 a, struct vec2 corner, struct vec2 b)
{
    const struct vec2 u = vec2_sub(a, corner), v = vec2_sub(b, corner);
    return vec2_dot(u, v) > 0 && fabs(vec2_cross(u, v)) <= 1e-9 * vec2_len(u) * vec2_len(v);
}

bool polygon_crosses_itself(vec2_list outline, uint32_t *side, uint32_t *other)
{
    const uint32_t n = outline.n;
    for (uint32_t i = 0; i < n; i++)
        for (uint32_t k = i + 1; k < n; k++) {
            const struct vec2 a = outline.v[i], b = outline.v[(i + 1) % n];
            const struct vec2 c = outline.v[k], d = outline.v[(k + 1) % n];
            bool meet;
            if (k == i + 1)
                meet = folds_back(a, b, d);
            else if ((k + 1) % n == i)
                meet = folds_back(b, a, c);
            else
                meet = segments_meet(a, b, c, d);
            if (meet) {
                *side = i;
                *other = k;
                return true;
            }
        }
    return false;
}

/* ---- two polygons ---- */

/* Where the side a-b meets the boundary of `outline`, as shares of its length; t has room for 2 * outline.n + 2. */
static uint32_t cuts_of(struct vec2 a, struct vec2 b, vec2_list outline, double tol_m, double *t)
{
    const struct vec2 ab = vec2_sub(b, a);
    const double len2 = vec2_dot(ab, ab);
    uint32_t n = 0;
    t[n++] = 0;
    for (uint32_t i = 0; i < outline.n && len2 > 0; i++) {
        const struct vec2 c = outline.v[i], d = outline.v[(i + 1) % outline.n];
        const struct vec2 ac = vec2_sub(c, a), cd = vec2_sub(d, c);
        const double cross = vec2_cross(ab, cd);
        if (cross != 0) {
            const double on_ab = vec2_cross(ac, cd) / cross, on_cd = vec2_cross(ac, ab) / cross;
            if (on_ab > 0 && on_ab < 1 && on_cd > -1e-9 && on_cd < 1 + 1e-9)
                t[n++] = on_ab;
        }
        const double corner = vec2_dot(ac, ab) / len2; /* a corner that all but touches the side */
        if (corner > 0 && corner < 1 && fabs(vec2_cross(ab, ac)) <= tol_m * sqrt(len2))
            t[n++] = corner;
    }
    t[n++] = 1;
    qsort(t, n, sizeof(double), rising);
    return n;
}

/* Takes the middle of each piece into which the boundary of a is cut by that of b: is any of them deep inside b
 * (want_inside), or outside it by more than the tolerance? */
static bool any_piece(vec2_list a, vec2_list b, double tol_m, bool want_inside, double *t, struct vec2 *where)
{
    for (uint32_t i = 0; i < a.n; i++) {
        const struct vec2 p = a.v[i], q = a.v[(i + 1) % a.n];
        const uint32_t n = cuts_of(p, q, b, 2 * tol_m, t);
        for (uint32_t k = 0; k + 1 < n; k++) {
            const struct vec2 mid = vec2_add(p, vec2_scale(vec2_sub(q, p), (t[k] + t[k + 1]) / 2));
            if (is_inside(b, mid) == want_inside && polygon_edge_distance_m(b, mid) > tol_m) {
                *where = mid;
                return true;
            }
        }
    }
    return false;
}

struct box {
    struct vec2 lo, hi;
};

static struct box box_of(vec2_list outline)
{
    struct box box = { { INFINITY, INFINITY }, { -INFINITY, -INFINITY } };
    for (uint32_t i = 0; i < outline.n; i++) {
        box.lo.x = fmin(box.lo.x, outline.v[i].x);
        box.lo.y = fmin(box.lo.y, outline.v[i].y);
        box.hi.x = fmax(box.hi.x, outline.v[i].x);
        box.hi.y = fmax(box.hi.y, outline.v[i].y);
    }
    return box;
}

bool polygons_are_apart(vec2_list a, vec2_list b, double tol_m)
{
    const struct box p = box_of(a), q = box_of(b);
    return p.hi.x <= q.lo.x + tol_m || q.hi.x <= p.lo.x + tol_m || p.hi.y <= q.lo.y + tol_m || q.hi.y <= p.lo.y + tol_m;
}

enum polygon_answer polygons_overlap(vec2_list a, vec2_list b, double tol_m, struct arena *scratch, struct vec2 *where)
{
    const struct arena_mark m = arena_mark(scratch);
    double *t = ARENA_ARRAY(scratch, double, 2 * (a.n > b.n ? a.n : b.n) + 2);
    if (!t)
        return POLYGON_NO_MEMORY;
    bool overlap = any_piece(a, b, tol_m, true, t, where) || any_piece(b, a, tol_m, true, t, where);
    /* Two outlines that are the same all round have no piece inside each other. */
    struct vec2 inner;
    if (!overlap && polygon_inner_point(a, scratch, &inner) && is_inside(b, inner) &&
        polygon_edge_distance_m(b, inner) > tol_m) {
        overlap = true;
        *where = inner;
    }
    arena_reset(scratch, m);
    return overlap ? POLYGON_YES : POLYGON_NO;
}

enum polygon_answer polygon_within(vec2_list a, vec2_list b, double tol_m, struct arena *scratch, struct vec2 *where)
{
    const struct arena_mark m = arena_mark(scratch);
    double *t = ARENA_ARRAY(scratch, double, 2 * (a.n > b.n ? a.n : b.n) + 2);
    if (!t)
        return POLYGON_NO_MEMORY;
    for (uint32_t i = 0; i < a.n; i++)
        if (!polygon_contains_within(b, a.v[i], tol_m)) {
            *where = a.v[i];
            arena_reset(scratch, m);
            return POLYGON_NO;
        }
    const bool leaves = any_piece(a, b, tol_m, false, t, where);
    arena_reset(scratch, m);
    return leaves ? POLYGON_NO : POLYGON_YES;
}

/* ---- the area shared ---- */

enum { TRIANGLE_CLIPPED_MAX = 6 }; /* each of three cuts adds one corner at most */

struct convex {
    struct vec2 v[TRIANGLE_CLIPPED_MAX + 1];
    uint32_t n;
};

/* What of a convex outline lies on the left of a-b (Sutherland and Hodgman 1974, from memory). */
static struct convex left_of(const struct convex *c, struct vec2 a, struct vec2 b)
{
    struct convex out = { .n = 0 };
    for (uint32_t i = 0; i < c->n; i++) {
        const struct vec2 p = c->v[i], q = c->v[(i + 1) % c->n];
        const double from = side_of(a, b, p), to = side_of(a, b, q);
        if (from >= 0)
            out.v[out.n++] = p;
        if ((from > 0 && to < 0) || (from < 0 && to > 0))
            out.v[out.n++] = vec2_add(p, vec2_scale(vec2_sub(q, p), from / (from - to)));
    }
    return out;
}

/* The triangle from the origin over p-q, turned left; false: it has no area. */
static bool triangle(struct vec2 p, struct vec2 q, struct convex *out, double *sign)
{
    const double turn = vec2_cross(p, q);
    *sign = turn < 0 ? -1 : 1;
    *out = (struct convex){ { { 0, 0 }, turn < 0 ? q : p, turn < 0 ? p : q }, 3 };
    return turn != 0;
}

/* An outline is the sum of the triangles from one point over its sides, those that turn right taken off; so is what two share, of
 * the parts that each pair of triangles shares. */
double polygons_shared_m2(vec2_list a, vec2_list b)
{
    struct sum shared = { 0 };
    for (uint32_t i = 0; i < a.n; i++) {
        const struct vec2 o = a.v[0]; /* near both, lest large coordinates eat the digits */
        struct convex s, t;
        double s_sign, t_sign;
        if (!triangle(vec2_sub(a.v[i], o), vec2_sub(a.v[(i + 1) % a.n], o), &s, &s_sign))
            continue;
        for (uint32_t k = 0; k < b.n; k++) {
            if (!triangle(vec2_sub(b.v[k], o), vec2_sub(b.v[(k + 1) % b.n], o), &t, &t_sign))
                continue;
            struct convex both = s;
            for (uint32_t e = 0; e < 3; e++)
                both = left_of(&both, t.v[e], t.v[(e + 1) % 3]);
            sum_add(&shared, s_sign * t_sign * fabs(polygon_area_m2((vec2_list){ both.v, both.n })));
        }
    }
    return fabs(sum_value(&shared));
}

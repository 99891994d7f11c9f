#include "house/enclosure.h"

#include <math.h>

#include "base/units.h"
#include "house/polygon.h"

static const double TOL_M = 0.01;     /* nearer points are one */
static const double BRIDGED_M = 0.03; /* left open by a careless hand, besides half the other wall's thickness */
static const double HANGS_M = 0.5;    /* a foot as high as this closes nothing */
static const double FLAT_M = 0.002;   /* a corner nearer to the line between its neighbours is none */
enum { STRETCHES_MAX = 3000, CORNERS_MAX = 12000, NOWHERE_ELSE = -1 };

/* A straight piece of a wall's middle, or of the floor's outline. */
struct stretch {
    struct vec2 end[2];
    double half_m;
    uint32_t wall; /* NO_REF: of the outline */
};

/* One way along a side of the graph; 2i and 2i+1 are the two ways along side i. */
struct way {
    uint32_t from, to;
    uint32_t next; /* round the face at its left */
    int64_t face;
    bool gone;
};

struct net {
    struct arena *a;
    VEC(struct stretch) stretches;
    VEC(struct vec2) corners;
    VEC(struct way) ways;
    struct vec2 open_end; /* nearest to the spot */
    uint32_t open_wall;   /* NO_REF: none ends in the open */
    double open_m;
    bool no_memory, too_many;
};

/* ---- stretches ---- */

static void add_stretch(struct net *n, struct vec2 a, struct vec2 b, double half_m, uint32_t wall)
{
    const struct stretch s = { { a, b }, half_m, wall };
    if (vec2_len(vec2_sub(b, a)) >= TOL_M && !VEC_PUSH(n->a, &n->stretches, s))
        n->no_memory = true;
}

static void add_walls(struct net *n, const struct house *h, uint32_t floor)
{
    for (uint32_t i = 0; i < h->walls.n; i++) {
        const struct wall *w = &h->walls.v[i];
        if (w->floor.i != floor || w->base_m >= HANGS_M)
            continue;
        const double half_m =
            w->construct.i == NO_REF ? 0.0 : construct_thickness_m(&h->constructs.v[w->construct.i]) / 2.0;
        for (uint32_t k = 0; k + 1 < w->line.n; k++)
            add_stretch(n, w->line.v[k], w->line.v[k + 1], half_m, i);
    }
}

static void add_edge(struct net *n, const struct floor *f)
{
    for (uint32_t k = 0; k < f->outline.n; k++)
        add_stretch(n, f->outline.v[k], f->outline.v[(k + 1) % f->outline.n], 0.0, NO_REF);
}

static double distance_m(const struct stretch *s, struct vec2 at)
{
    return segment_distance_m(s->end[0], s->end[1], at);
}

/* Where the lines through two stretches cross; false: they run side by side. */
static bool lines_cross(const struct stretch *s, const struct stretch *t, struct vec2 *out)
{
    const struct vec2 d = vec2_sub(s->end[1], s->end[0]), e = vec2_sub(t->end[1], t->end[0]);
    const double sine = vec2_cross(d, e);
    if (fabs(sine) < 0.02 * vec2_len(d) * vec2_len(e))
        return false;
    *out = vec2_add(s->end[0], vec2_scale(d, vec2_cross(vec2_sub(t->end[0], s->end[0]), e) / sine));
    return true;
}

/* Where an end would have to be so that it meets the next stretch; the end itself if it meets one already, or none is near. */
static struct vec2 drawn_on(const struct net *n, uint32_t i, int which)
{
    const struct stretch *s = &n->stretches.v[i];
    struct vec2 best = s->end[which];
    double best_m = INFINITY;
    for (uint32_t k = 0; k < n->stretches.n; k++) {
        const struct stretch *t = &n->stretches.v[k];
        const double reach_m = fmax(s->half_m, t->half_m) + BRIDGED_M;
        struct vec2 x;
        if (k == i)
            continue;
        if (distance_m(t, s->end[which]) <= TOL_M)
            return s->end[which];
        for (int e = 0; e < 2; e++) {
            const double apart_m = vec2_len(vec2_sub(t->end[e], s->end[which]));
            if (apart_m <= BRIDGED_M && apart_m < best_m)
                best_m = apart_m, best = k < i ? t->end[e] : s->end[which];
        }
        if (!lines_cross(s, t, &x) || distance_m(t, x) > reach_m)
            continue;
        const double away_m = vec2_len(vec2_sub(x, s->end[which]));
        if (away_m <= reach_m && away_m < best_m)
            best_m = away_m, best = x;
    }
    return best;
}

static void join_ends(struct net *n)
{
    struct vec2 *moved = ARENA_ARRAY(n->a, struct vec2, 2 * (size_t)n->stretches.n + 1);
    if (!moved) {
        n->no_memory = true;
        return;
    }
    for (uint32_t i = 0; i < n->stretches.n; i++)
        for (int which = 0; which < 2; which++)
            moved[2 * i + (uint32_t)which] = drawn_on(n, i, which);
    for (uint32_t i = 0; i < n->stretches.n; i++)
        for (int which = 0; which < 2; which++)
            n->stretches.v[i].end[which] = moved[2 * i + (uint32_t)which];
}

/* ---- corners and sides ---- */

static uint32_t corner_at(struct net *n, struct vec2 at)
{
    for (uint32_t i = 0; i < n->corners.n; i++)
        if (vec2_len(vec2_sub(n->corners.v[i], at)) <= TOL_M)
            return i;
    n->too_many = n->corners.n >= CORNERS_MAX;
    if (!n->too_many && !VEC_PUSH(n->a, &n->corners, at))
        n->no_memory = true;
    return n->corners.n - 1;
}

static void add_side(struct net *n, uint32_t a, uint32_t b)
{
    const struct way there = { .from = a, .to = b }, back = { .from = b, .to = a };
    if (a == b)
        return;
    for (uint32_t i = 0; i < n->ways.n; i++)
        if (n->ways.v[i].from == a && n->ways.v[i].to == b)
            return;
    if (!VEC_PUSH(n->a, &n->ways, there) || !VEC_PUSH(n->a, &n->ways, back))
        n->no_memory = true;
}

struct cut {
    double along; /* of the stretch, 0 to 1 */
    uint32_t corner;
};

/* Where stretch k touches or crosses stretch s, as corners. */
static uint32_t cuts_of(const struct stretch *s, const struct stretch *t, struct vec2 out[3])
{
    uint32_t count = 0;
    struct vec2 x;
    for (int e = 0; e < 2; e++)
        if (distance_m(s, t->end[e]) <= TOL_M)
            out[count++] = t->end[e];
    if (!count && lines_cross(s, t, &x) && distance_m(s, x) <= TOL_M && distance_m(t, x) <= TOL_M)
        out[count++] = x;
    return count;
}

static void cut_stretch(struct net *n, uint32_t i)
{
    const struct stretch s = n->stretches.v[i];
    const struct vec2 d = vec2_sub(s.end[1], s.end[0]);
    VEC(struct cut) cuts = { 0 };
    for (uint32_t k = 0; k < n->stretches.n && !n->no_memory && !n->too_many; k++) {
        struct vec2 at[3] = { s.end[0], s.end[1] };
        const uint32_t count = k == i ? 2 : cuts_of(&s, &n->stretches.v[k], at);
        for (uint32_t c = 0; c < count; c++) {
            const struct cut cut = { vec2_dot(vec2_sub(at[c], s.end[0]), d) / vec2_dot(d, d), corner_at(n, at[c]) };
            uint32_t place = cuts.n;
            if (!VEC_PUSH(n->a, &cuts, cut)) {
                n->no_memory = true;
                return;
            }
            for (; place > 0 && cuts.v[place - 1].along > cut.along; place--)
                cuts.v[place] = cuts.v[place - 1];
            cuts.v[place] = cut;
        }
    }
    for (uint32_t c = 0; c + 1 < cuts.n; c++)
        add_side(n, cuts.v[c].corner, cuts.v[c + 1].corner);
}

/* ---- faces ---- */

static double direction(const struct net *n, const struct way *w)
{
    const struct vec2 d = vec2_sub(n->corners.v[w->to], n->corners.v[w->from]);
    return atan2(d.y, d.x);
}

/* At the end of a way the next one round the face at its left is the first clockwise from the way back. */
static void turn(struct net *n, const uint32_t *first, const uint32_t *chain, uint32_t i)
{
    const uint32_t back = i ^ 1;
    const double from = direction(n, &n->ways.v[back]);
    double best = INFINITY;
    n->ways.v[i].next = back;
    for (uint32_t k = first[n->ways.v[i].to]; k != NO_REF; k = chain[k]) {
        double clockwise = from - direction(n, &n->ways.v[k]);
        if (k == back || n->ways.v[k].gone)
            continue;
        while (clockwise <= 0.0)
            clockwise += 2.0 * RT_PI;
        if (clockwise < best)
            best = clockwise, n->ways.v[i].next = k;
    }
}

static bool find_faces(struct net *n)
{
    uint32_t *first = ARENA_ARRAY(n->a, uint32_t, n->corners.n + 1),
             *chain = ARENA_ARRAY(n->a, uint32_t, n->ways.n + 1);
    if (!first || !chain)
        return false;
    for (uint32_t i = 0; i < n->corners.n; i++)
        first[i] = NO_REF;
    for (uint32_t i = n->ways.n; i-- > 0;) {
        chain[i] = first[n->ways.v[i].from];
        first[n->ways.v[i].from] = i;
        n->ways.v[i].face = NOWHERE_ELSE;
    }
    for (uint32_t i = 0; i < n->ways.n; i++)
        if (!n->ways.v[i].gone)
            turn(n, first, chain, i);
    for (uint32_t i = 0; i < n->ways.n; i++)
        for (uint32_t k = i; !n->ways.v[k].gone && n->ways.v[k].face == NOWHERE_ELSE; k = n->ways.v[k].next)
            n->ways.v[k].face = i;
    return true;
}

/* Sides with the same face on both hands are stumps and bridges: they close nothing. */
static bool drop_stumps(struct net *n)
{
    bool more = true;
    while (more) {
        const struct arena_mark mark = arena_mark(n->a);
        if (!find_faces(n))
            return false;
        more = false;
        for (uint32_t i = 0; i < n->ways.n; i += 2)
            if (!n->ways.v[i].gone && n->ways.v[i].face == n->ways.v[i + 1].face)
                more = n->ways.v[i].gone = n->ways.v[i + 1].gone = true;
        arena_reset(n->a, mark);
    }
    return true;
}

/* ---- the ring around the spot ---- */

static void take_if_around(struct net *n, const uint32_t *ring, uint32_t count, struct vec2 at, struct enclosure *out,
                           double *best_m2)
{
    vec2_list line = { ARENA_ARRAY(n->a, struct vec2, count), count };
    if (!line.v) {
        n->no_memory = true;
        return;
    }
    for (uint32_t i = 0; i < count; i++)
        line.v[i] = n->corners.v[ring[i]];
    const double area_m2 = polygon_area_m2(line);
    if (count >= 3 && area_m2 > TOL_M && area_m2 < *best_m2 && polygon_contains(line, at)) {
        *best_m2 = area_m2;
        out->outline = line;
    }
}

/* A face's round may touch itself in a corner: each ring of it is looked at by itself. */
static void look_at_face(struct net *n, uint32_t start, struct vec2 at, struct enclosure *out, double *best_m2)
{
    uint32_t *ring = ARENA_ARRAY(n->a, uint32_t, n->ways.n + 1);
    uint32_t count = 0, i = start;
    if (!ring) {
        n->no_memory = true;
        return;
    }
    do {
        const uint32_t corner = n->ways.v[i].from;
        for (uint32_t k = 0; k < count; k++)
            if (ring[k] == corner) {
                take_if_around(n, ring + k, count - k, at, out, best_m2);
                count = k;
                break;
            }
        ring[count++] = corner;
        i = n->ways.v[i].next;
    } while (i != start);
    take_if_around(n, ring, count, at, out, best_m2);
}

/* Without corners that are none, and to the millimetre. */
static void tidy(vec2_list *line)
{
    for (uint32_t i = 0; i < line->n && line->n > 3;) {
        const struct vec2 before = line->v[(i + line->n - 1) % line->n], after = line->v[(i + 1) % line->n];
        if (segment_distance_m(before, after, line->v[i]) > FLAT_M) {
            i++;
            continue;
        }
        for (uint32_t k = i; k + 1 < line->n; k++)
            line->v[k] = line->v[k + 1];
        line->n--;
    }
    for (uint32_t i = 0; i < line->n; i++)
        line->v[i] = (struct vec2){ round(line->v[i].x * 1000.0) / 1000.0, round(line->v[i].y * 1000.0) / 1000.0 };
}

static void note_open_ends(struct net *n, struct vec2 at)
{
    n->open_wall = NO_REF;
    n->open_m = INFINITY;
    for (uint32_t i = 0; i < n->stretches.n; i++)
        for (int e = 0; e < 2; e++) {
            const struct vec2 end = n->stretches.v[i].end[e];
            const double far_m = vec2_len(vec2_sub(end, at));
            bool meets = far_m >= n->open_m || n->stretches.v[i].wall == NO_REF;
            for (uint32_t k = 0; k < n->stretches.n && !meets; k++)
                meets = k != i && distance_m(&n->stretches.v[k], end) <= TOL_M;
            if (!meets)
                n->open_m = far_m, n->open_end = end, n->open_wall = n->stretches.v[i].wall;
        }
}

static bool find_ring(struct net *n, struct vec2 at, struct enclosure *out)
{
    double best_m2 = INFINITY;
    join_ends(n);
    for (uint32_t i = 0; i < n->stretches.n && !n->no_memory && !n->too_many; i++)
        cut_stretch(n, i);
    if (n->no_memory || n->too_many || !drop_stumps(n))
        return false;
    note_open_ends(n, at);
    for (uint32_t i = 0; i < n->ways.n && !n->no_memory; i++)
        if (!n->ways.v[i].gone && n->ways.v[i].face == i)
            look_at_face(n, i, at, out, &best_m2);
    if (out->outline.n)
        tidy(&out->outline);
    return out->outline.n > 0;
}

static enum rt_code nothing_closes(const struct net *n, const struct house *h, struct rt_problems *p)
{
    if (n->open_wall == NO_REF)
        return rt_fail(p, RT_GEOMETRY, RT_NOWHERE, "draw walls around it, or draw the room point by point",
                       "no walls close around this spot");
    return rt_fail(p, RT_GEOMETRY, RT_NOWHERE, "draw it on to the next wall, or draw the room point by point",
                   "no walls close around this spot: wall '%.*s' ends in the open at [%.2f, %.2f]",
                   STR_ARG(h->walls.v[n->open_wall].id), n->open_end.x, n->open_end.y);
}

static enum rt_code too_many(struct rt_problems *p)
{
    return rt_fail(p, RT_LIMIT, RT_NOWHERE, "draw the room point by point", "the floor has too many walls");
}

enum rt_code enclosure_find(const struct house *h, uint32_t floor, struct vec2 at_m, struct arena *a,
                            struct enclosure *out, struct rt_problems *p)
{
    struct net walls = { .a = a }, edged = { .a = a };
    *out = (struct enclosure){ 0 };
    add_walls(&walls, h, floor);
    add_walls(&edged, h, floor);
    add_edge(&edged, &h->floors.v[floor]);
    if (edged.stretches.n > STRETCHES_MAX)
        return too_many(p);
    if (find_ring(&walls, at_m, out))
        return RT_OK;
    if (polygon_contains(h->floors.v[floor].outline, at_m) && !walls.no_memory && !walls.too_many &&
        find_ring(&edged, at_m, out)) {
        out->by_edge = true;
        return RT_OK;
    }
    if (walls.no_memory || edged.no_memory)
        return rt_fail_memory(p);
    if (walls.too_many || edged.too_many)
        return too_many(p);
    return nothing_closes(&walls, h, p);
}

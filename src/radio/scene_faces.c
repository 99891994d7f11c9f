/* scene_faces.c - from the house to faces.
 *
 * Everything lies at its middle plane.  Between two storeys there is one such plane, half-way between the lower ceiling
 * and the upper walking surface (the upper floor's slab, or the lower floor's ceiling where the upper has no slab), and
 * the walls of both storeys are drawn out to it: the joint is closed though slabs have no thickness here.  A floor on the
 * ground lies half its own thickness, at most 15 cm, below its walking surface. */
#include "base/units.h"
#include "house/polygon.h"
#include "radio/scene_int.h"

/* A wall that ends this near to floor or ceiling reaches it; an outline this near to a wall carries it. */
#define REACH_M 0.011
#define NEAR_OUTLINE_M 0.05
/* Two storeys whose surfaces are farther apart than this have something else between them. */
#define MOST_BETWEEN_STOREYS_M 1.5
#define GROUND_DEPTH_MOST_M 0.15

struct builder {
    struct arena *arena;
    const struct house *house;
    face_vec *faces;
    bool *on; /* [floors.n * floors.n]: does the first stand on the second? */
    bool failed;
};

static double thickness_m(const struct house *h, struct ref construct)
{
    double sum_m = 0.0;
    if (construct.i != NO_REF)
        for (uint32_t i = 0; i < h->constructs.v[construct.i].layers.n; i++)
            sum_m += h->constructs.v[construct.i].layers.v[i].thickness_m;
    return sum_m;
}

/* Is it the next storey above, over some of it? */
static enum polygon_answer stands_on(const struct floor *upper, const struct floor *lower, struct arena *scratch)
{
    const double between_m = upper->level_m - (lower->level_m + lower->height_m);
    struct vec2 where;
    if (upper == lower || lower->open_air || upper->open_air || upper->level_m <= lower->level_m)
        return POLYGON_NO;
    if (between_m < -REACH_M || between_m > MOST_BETWEEN_STOREYS_M || lower->outline.n < 3 || upper->outline.n < 3)
        return POLYGON_NO;
    return polygons_overlap(upper->outline, lower->outline, NEAR_OUTLINE_M, scratch, &where);
}

static void find_storeys(struct builder *b)
{
    const struct floor *floors = b->house->floors.v;
    const uint32_t n = b->house->floors.n;
    b->on = ARENA_ARRAY(b->arena, bool, (size_t)n *n);
    b->failed = !b->on;
    for (uint32_t u = 0; u < n && !b->failed; u++)
        for (uint32_t l = 0; l < n && !b->failed; l++) {
            const enum polygon_answer is_on = stands_on(&floors[u], &floors[l], b->arena);
            b->on[u * n + l] = is_on == POLYGON_YES;
            b->failed = is_on == POLYGON_NO_MEMORY;
        }
}

static bool is_on(const struct builder *b, const struct floor *upper, const struct floor *lower)
{
    const struct floor *first = b->house->floors.v;
    return b->on[(size_t)(upper - first) * b->house->floors.n + (size_t)(lower - first)];
}

/* The middle plane under a floor. */
static double slab_z_m(const struct builder *b, const struct floor *f)
{
    double below_m = -HUGE_VAL;
    for (uint32_t i = 0; i < b->house->floors.n; i++)
        if (is_on(b, f, &b->house->floors.v[i]))
            below_m = fmax(below_m, b->house->floors.v[i].level_m + b->house->floors.v[i].height_m);
    if (isinf(below_m))
        return f->level_m - fmin(thickness_m(b->house, f->slab) / 2.0, GROUND_DEPTH_MOST_M);
    return (below_m + f->level_m) / 2.0;
}

/* The plane of a floor's own ceiling. */
static double ceiling_z_m(const struct builder *b, const struct floor *f)
{
    for (uint32_t i = 0; i < b->house->floors.n; i++)
        if (b->house->floors.v[i].slab.i == NO_REF && is_on(b, &b->house->floors.v[i], f))
            return slab_z_m(b, &b->house->floors.v[i]);
    return f->level_m + f->height_m + fmin(thickness_m(b->house, f->ceiling) / 2.0, GROUND_DEPTH_MOST_M);
}

static double wall_top_m(const struct builder *b, const struct floor *f, struct vec2 at)
{
    for (uint32_t i = 0; i < b->house->floors.n; i++)
        if (is_on(b, &b->house->floors.v[i], f) && outline_holds(b->house->floors.v[i].outline, at, NEAR_OUTLINE_M))
            return slab_z_m(b, &b->house->floors.v[i]);
    return f->ceiling.i == NO_REF ? f->level_m + f->height_m : ceiling_z_m(b, f);
}

static double wall_foot_m(const struct builder *b, const struct floor *f, struct vec2 at)
{
    if (f->slab.i != NO_REF)
        return slab_z_m(b, f);
    for (uint32_t i = 0; i < b->house->floors.n; i++)
        if (is_on(b, f, &b->house->floors.v[i]) && outline_holds(b->house->floors.v[i].outline, at, NEAR_OUTLINE_M))
            return slab_z_m(b, f);
    return f->level_m;
}

static void add(struct builder *b, struct face f) { b->failed = b->failed || !VEC_PUSH(b->arena, b->faces, f); }

/* A standing rectangle from a to b in plan. */
static struct face upright(struct str id, uint32_t construct, struct vec2 a, struct vec2 b, double low_m, double high_m)
{
    const struct vec2 ab = vec2_sub(b, a);
    const double length_m = vec2_len(ab);
    return (struct face){ .id = id,
                          .construct = construct,
                          .origin = { a.x, a.y, low_m },
                          .u = { ab.x / length_m, ab.y / length_m, 0.0 },
                          .v = { 0.0, 0.0, 1.0 },
                          .u0 = -SCENE_JOIN_M,
                          .u1 = length_m + SCENE_JOIN_M,
                          .v0 = -SCENE_JOIN_M,
                          .v1 = high_m - low_m + SCENE_JOIN_M };
}

static void set_bounds(struct face *f)
{
    for (uint32_t i = 0; i < f->outline.n; i++) {
        const struct vec2 q = f->outline.v[i];
        f->u0 = i ? fmin(f->u0, q.x) : q.x;
        f->u1 = i ? fmax(f->u1, q.x) : q.x;
        f->v0 = i ? fmin(f->v0, q.y) : q.y;
        f->v1 = i ? fmax(f->v1, q.y) : q.y;
    }
    f->u0 -= SCENE_JOIN_M;
    f->u1 += SCENE_JOIN_M;
    f->v0 -= SCENE_JOIN_M;
    f->v1 += SCENE_JOIN_M;
}

static struct face level_face(struct str id, uint32_t construct, vec2_list outline, double z_m)
{
    struct face f = { .id = id,
                      .construct = construct,
                      .origin = { 0.0, 0.0, z_m },
                      .u = { 1.0, 0.0, 0.0 },
                      .v = { 0.0, 1.0, 0.0 },
                      .outline = outline };
    set_bounds(&f);
    return f;
}

/* The openings that touch the stretch from..to of the wall's line, as patches of the stretch's face.  One that begins at the
 * floor or ends at the ceiling goes on, like the wall, to the middle of the slab. */
static bool add_patches(struct builder *b, const struct wall *w, const struct floor *floor, double from_m, double to_m,
                        struct face *f)
{
    VEC(struct patch) patches = { 0 };
    for (uint32_t i = 0; i < w->openings.n; i++) {
        const struct opening *o = &w->openings.v[i];
        const double near_m = fmax(o->at_m, from_m), far_m = fmin(o->at_m + o->width_m, to_m);
        if (!(far_m > near_m) || !(o->head_m > o->sill_m))
            continue;
        const bool is_gap = o->kind == OPENING_GAP || o->stands_open || o->construct.i == NO_REF;
        struct patch q = { near_m - from_m,
                           far_m - from_m,
                           floor->level_m + o->sill_m - f->origin.z,
                           floor->level_m + o->head_m - f->origin.z,
                           is_gap ? NO_REF : o->construct.i,
                           o->id };
        if (o->sill_m <= REACH_M)
            q.v0 = fmin(q.v0, f->v0);
        if (o->head_m >= floor->height_m - REACH_M)
            q.v1 = fmax(q.v1, f->v1);
        if (!VEC_PUSH(b->arena, &patches, q))
            return false;
    }
    f->patches.v = patches.v;
    f->patches.n = patches.n;
    return true;
}

static void add_wall(struct builder *b, const struct wall *w)
{
    const struct floor *f = &b->house->floors.v[w->floor.i];
    const double top_m = given_or(w->height_m, f->height_m);
    double from_m = 0.0;
    for (uint32_t i = 0; i + 1 < w->line.n; i++) {
        const struct vec2 from = w->line.v[i], to = w->line.v[i + 1];
        const double length_m = vec2_len(vec2_sub(to, from));
        const struct vec2 at = vec2_scale(vec2_add(from, to), 0.5);
        const double low_m = w->base_m <= REACH_M ? wall_foot_m(b, f, at) : f->level_m + w->base_m;
        const double high_m = fabs(top_m - f->height_m) <= REACH_M ? wall_top_m(b, f, at) : f->level_m + top_m;
        if (length_m > 0.0 && high_m > low_m) {
            struct face face = upright(w->id, w->construct.i, from, to, low_m, high_m);
            if (!add_patches(b, w, f, from_m, from_m + length_m, &face))
                b->failed = true;
            add(b, face);
        }
        from_m += length_m;
    }
}

/* The slab under a floor, with its holes; the ceiling above it, but where another floor's slab lies. */
static void add_floor(struct builder *b, const struct floor *f)
{
    if (f->outline.n < 3)
        return;
    if (f->slab.i != NO_REF) {
        struct face slab = level_face(f->id, f->slab.i, f->outline, slab_z_m(b, f));
        slab.cuts.v = ARENA_ARRAY(b->arena, vec2_list, f->holes.n);
        b->failed = b->failed || !slab.cuts.v;
        for (uint32_t i = 0; i < f->holes.n && !b->failed; i++)
            slab.cuts.v[slab.cuts.n++] = f->holes.v[i].outline;
        add(b, slab);
    }
    if (f->ceiling.i != NO_REF && !f->open_air) {
        struct face ceiling = level_face(f->id, f->ceiling.i, f->outline, ceiling_z_m(b, f));
        ceiling.cuts.v = ARENA_ARRAY(b->arena, vec2_list, b->house->floors.n);
        b->failed = b->failed || !ceiling.cuts.v;
        for (uint32_t i = 0; i < b->house->floors.n && !b->failed; i++)
            if (b->house->floors.v[i].slab.i != NO_REF && is_on(b, &b->house->floors.v[i], f))
                ceiling.cuts.v[ceiling.cuts.n++] = b->house->floors.v[i].outline;
        add(b, ceiling);
    }
}

/* Normal of a polygon in space by Newell's method (length twice the area). */
static struct vec3 newell(vec3_list outline)
{
    struct vec3 n = { 0 };
    for (uint32_t i = 0; i < outline.n; i++)
        n = vec3_add(n, vec3_cross(outline.v[i], outline.v[(i + 1) % outline.n]));
    return n;
}

static void add_plane(struct builder *b, const struct plane *q)
{
    const struct vec3 n = newell(q->outline);
    const double area2 = vec3_len(n);
    if (q->outline.n < 3 || !(area2 > 1e-9))
        return;
    const struct vec3 unit = vec3_scale(n, 1.0 / area2);
    struct vec3 u = { 0 };
    double longest = 0.0; /* the longest side gives the direction least blurred by rounding */
    for (uint32_t i = 0; i < q->outline.n; i++) {
        const struct vec3 side = vec3_sub(q->outline.v[(i + 1) % q->outline.n], q->outline.v[i]);
        if (vec3_len(side) > longest) {
            longest = vec3_len(side);
            u = side;
        }
    }
    u = vec3_sub(u, vec3_scale(unit, vec3_dot(u, unit)));
    u = vec3_scale(u, 1.0 / vec3_len(u));
    struct face f = { .id = q->id, .construct = q->construct.i, .u = u, .v = vec3_cross(unit, u) };
    const double level_m = b->house->floors.v[q->floor.i].level_m;
    f.outline.v = ARENA_ARRAY(b->arena, struct vec2, q->outline.n);
    if (!f.outline.v) {
        b->failed = true;
        return;
    }
    f.origin = q->outline.v[0];
    f.origin.z += level_m;
    for (uint32_t i = 0; i < q->outline.n; i++) {
        struct vec3 corner = q->outline.v[i];
        corner.z += level_m;
        f.outline.v[f.outline.n++] = face_uv(&f, corner);
    }
    set_bounds(&f);
    add(b, f);
}

/* A solid obstacle: sides, top and underside, mirrors on the outside only. */
static void add_solid(struct builder *b, const struct obstacle *o, double level_m)
{
    const double low_m = level_m + o->from_m, high_m = level_m + o->to_m;
    double area = 0.0;
    for (uint32_t i = 0; i < o->outline.n; i++)
        area += vec2_cross(o->outline.v[i], o->outline.v[(i + 1) % o->outline.n]);
    for (uint32_t i = 0; i < o->outline.n; i++) {
        const struct vec2 from = o->outline.v[i], to = o->outline.v[(i + 1) % o->outline.n];
        if (!(vec2_len(vec2_sub(to, from)) > 0.0))
            continue;
        struct face side = upright(o->id, o->construct.i, from, to, low_m, high_m);
        side.is_half = true;
        side.solid = o;
        side.mirrors_on = area > 0.0 ? 1 : -1; /* u x z points out of a counter-clockwise outline */
        add(b, side);
    }
    for (int top = 0; top < 2; top++) {
        struct face lid = level_face(o->id, o->construct.i, o->outline, top ? high_m : low_m);
        lid.is_half = true;
        lid.solid = o;
        lid.mirrors_on = top ? 1 : -1;
        add(b, lid);
    }
}

static void add_obstacle(struct builder *b, const struct obstacle *o)
{
    const double level_m = b->house->floors.v[o->floor.i].level_m;
    if (!(o->to_m > o->from_m))
        return;
    if (o->outline.n >= 3)
        add_solid(b, o, level_m);
    for (uint32_t i = 0; i + 1 < o->line.n; i++)
        if (vec2_len(vec2_sub(o->line.v[i + 1], o->line.v[i])) > 0.0)
            add(b,
                upright(o->id, o->construct.i, o->line.v[i], o->line.v[i + 1], level_m + o->from_m, level_m + o->to_m));
}

enum rt_code scene_add_faces(struct arena *a, const struct house *h, face_vec *faces, struct rt_problems *p)
{
    struct builder b = { .arena = a, .house = h, .faces = faces };
    find_storeys(&b);
    for (uint32_t i = 0; i < h->floors.n && !b.failed; i++)
        add_floor(&b, &h->floors.v[i]);
    for (uint32_t i = 0; i < h->walls.n && !b.failed; i++)
        add_wall(&b, &h->walls.v[i]);
    for (uint32_t i = 0; i < h->planes.n; i++)
        add_plane(&b, &h->planes.v[i]);
    for (uint32_t i = 0; i < h->obstacles.n; i++)
        add_obstacle(&b, &h->obstacles.v[i]);
    return b.failed ? rt_fail_memory(p) : RT_OK;
}

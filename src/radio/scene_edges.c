/* scene_edges.c - where a wave's passage changes from one face to another: the edges that bend it.
 *
 * Candidates are the upright ends of walls and obstacles, the jambs, heads and sills of openings, the free tops of walls,
 * and the sides of slab holes; but not those corners of an obstacle with which it stands flush against a wall.  Around the middle of a candidate all faces that touch it are
 * probed PROBE_M away; what is found there are its screens.  An edge stays only if something changes across it: where
 * every screen goes on straight behind the edge with the same construct (a wall drawn in two pieces, a wall that another
 * one meets) there is nothing to bend a wave. */
#include "radio/scene_int.h"

/* Lines nearer than this are one; a screen is looked for this far from the edge. */
#define SAME_LINE_M 0.01
#define PROBE_M 0.02
#define SHORTEST_M 0.02
/* Shorter edges bend nothing worth the name: many wavelengths of them are needed. */
#define LEAST_EDGE_M 0.2
/* An obstacle is flush with a wall if it is this much farther from its middle than half its thickness. */
#define FLUSH_M 0.05
/* Houses are drawn in round figures: what stands at the limit stands within it, wherever the house lies. */
#define ROUNDING_M 1e-6

struct line_piece {
    struct vec3 from, to;
    bool is_upright, is_top, used;
};

typedef VEC(struct line_piece) piece_vec;

struct finder {
    struct arena *arena;
    struct scene *scene;
    piece_vec pieces;
    VEC(struct edge) edges;
    bool failed;
};

static void add_piece_of(struct finder *f, struct vec3 from, struct vec3 to, bool is_top)
{
    const struct vec3 way = vec3_sub(to, from);
    struct line_piece q = { .from = from, .to = to, .is_top = is_top };
    q.is_upright = hypot(way.x, way.y) < SAME_LINE_M;
    if (q.is_upright && way.z < 0.0) {
        q.from = to;
        q.to = from;
    }
    if (vec3_len(way) >= SHORTEST_M && !VEC_PUSH(f->arena, &f->pieces, q))
        f->failed = true;
}

static void add_piece(struct finder *f, struct vec3 from, struct vec3 to) { add_piece_of(f, from, to, false); }

/* True if the middle of an obstacle's corner touches a wall (not another obstacle). */
static bool stands_flush(const struct scene *s, struct vec3 from, struct vec3 to)
{
    const struct vec3 middle = vec3_scale(vec3_add(from, to), 0.5);
    for (uint32_t i = 0; i < s->faces.n; i++) {
        const struct face *f = &s->faces.v[i];
        const struct plane_of_faces *p = &s->planes.v[f->plane];
        if (f->is_half || fabs(p->n.z) > 0.5 ||
            fabs(plane_side_m(p, middle)) >
                construct_thickness_m(&s->house->constructs.v[f->construct]) / 2.0 + FLUSH_M + ROUNDING_M)
            continue;
        const struct vec2 uv = face_uv(f, middle);
        if (uv.x >= f->u0 && uv.x <= f->u1 && uv.y >= f->v0 && uv.y <= f->v1)
            return true;
    }
    return false;
}

static void add_rectangle_pieces(struct finder *f, const struct face *face)
{
    const double u0 = face->u0 + SCENE_JOIN_M, u1 = face->u1 - SCENE_JOIN_M;
    const double v0 = face->v0 + SCENE_JOIN_M, v1 = face->v1 - SCENE_JOIN_M;
    for (int end = 0; end < 2; end++) {
        const double u = end ? u1 : u0;
        if (!face->is_half || !stands_flush(f->scene, face_point(face, u, v0), face_point(face, u, v1)))
            add_piece(f, face_point(face, u, v0), face_point(face, u, v1));
    }
    if (!face->is_half)
        add_piece_of(f, face_point(face, u0, v1), face_point(face, u1, v1), true);
    for (uint32_t i = 0; i < face->patches.n; i++) {
        const struct patch *q = &face->patches.v[i];
        const double low = fmax(q->v0, v0), high = fmin(q->v1, v1);
        if (!(high > low))
            continue;
        add_piece(f, face_point(face, q->u0, low), face_point(face, q->u0, high));
        add_piece(f, face_point(face, q->u1, low), face_point(face, q->u1, high));
        if (high < v1 - SHORTEST_M)
            add_piece(f, face_point(face, q->u0, high), face_point(face, q->u1, high));
        if (low > v0 + SHORTEST_M)
            add_piece(f, face_point(face, q->u0, low), face_point(face, q->u1, low));
    }
}

/* Sides of the holes in a floor's slab; the cuts of a ceiling are where another floor's slab goes on. */
static void add_hole_pieces(struct finder *f, const struct face *face)
{
    for (uint32_t i = 0; i < f->scene->house->floors.n; i++) {
        const struct floor *fl = &f->scene->house->floors.v[i];
        if (!fl->holes.n || face->cuts.n != fl->holes.n || face->cuts.v[0].v != fl->holes.v[0].outline.v)
            continue;
        for (uint32_t k = 0; k < face->cuts.n; k++) {
            const vec2_list o = face->cuts.v[k];
            for (uint32_t c = 0; c < o.n; c++) {
                const struct vec2 a = o.v[c], b = o.v[(c + 1) % o.n];
                add_piece(f, face_point(face, a.x, a.y), face_point(face, b.x, b.y));
            }
        }
    }
}

/* The screen in whose plane `along` runs the other way. */
static uint32_t screen_before(const struct edge *e, uint32_t plane, struct vec3 along)
{
    for (uint32_t i = 0; i < e->n_screens; i++)
        if (e->screens[i].plane == plane && vec3_dot(e->screens[i].along, along) < -0.9999)
            return i;
    return NO_REF;
}

static void probe(const struct scene *s, struct edge *e)
{
    const struct vec3 middle = vec3_add(e->from, vec3_scale(e->axis, e->length_m / 2.0));
    for (uint32_t i = 0; i < s->faces.n; i++) {
        const struct face *f = &s->faces.v[i];
        const struct plane_of_faces *p = &s->planes.v[f->plane];
        if (fabs(plane_side_m(p, middle)) > SAME_LINE_M || fabs(vec3_dot(p->n, e->axis)) * e->length_m > SAME_LINE_M)
            continue;
        const struct face_hit on_line = face_at(f, face_uv(f, middle));
        if (on_line.is_hit && e->n_touching < EDGE_SCREENS_MAX)
            e->touching[e->n_touching++] = (struct touch){ i, f->plane, on_line.construct };
        const struct vec3 across = vec3_cross(e->axis, p->n);
        const double length = vec3_len(across);
        for (int side = 0; side < 2; side++) {
            const struct vec3 along = vec3_scale(across, (side ? -1.0 : 1.0) / length);
            const struct vec2 uv = face_uv(f, vec3_add(middle, vec3_scale(along, PROBE_M)));
            const struct face_hit hit = face_at(f, uv);
            if (!hit.is_hit || e->n_screens == EDGE_SCREENS_MAX)
                continue;
            const uint32_t behind = screen_before(e, f->plane, along);
            e->screens[e->n_screens++] = (struct screen){
                .along = along,
                .face = i,
                .plane = f->plane,
                .construct = hit.construct,
                .behind = behind,
                .id = hit.patch && hit.patch->id.n ? hit.patch->id : f->id,
            };
        }
    }
}

static bool go_on_straight(const struct scene *s, const struct screen *a, const struct screen *b)
{
    return a->construct == b->construct && s->faces.v[a->face].is_half == s->faces.v[b->face].is_half &&
           vec3_dot(a->along, b->along) < -0.9999;
}

static bool changes_something(const struct scene *s, const struct edge *e)
{
    bool paired[EDGE_SCREENS_MAX] = { false };
    for (uint32_t i = 0; i < e->n_screens; i++)
        for (uint32_t k = i + 1; k < e->n_screens && !paired[i]; k++)
            if (!paired[k] && go_on_straight(s, &e->screens[i], &e->screens[k]))
                paired[i] = paired[k] = true;
    for (uint32_t i = 0; i < e->n_screens; i++)
        if (!paired[i])
            return true;
    return false;
}

static bool same_screens(const struct edge *a, const struct edge *b)
{
    if (a->n_screens != b->n_screens)
        return false;
    for (uint32_t i = 0; i < a->n_screens; i++) {
        bool found = false;
        for (uint32_t k = 0; k < b->n_screens && !found; k++)
            found = a->screens[i].construct == b->screens[k].construct && a->screens[i].plane == b->screens[k].plane &&
                    vec3_dot(a->screens[i].along, b->screens[k].along) > 0.9999;
        if (!found)
            return false;
    }
    return true;
}

static bool touches(struct vec3 a, struct vec3 b) { return vec3_len(vec3_sub(a, b)) < SAME_LINE_M; }

/* Adds the edge, or draws the last one out if this is its continuation. */
static void add_edge(struct finder *f, struct vec3 from, struct vec3 to, bool is_top)
{
    struct edge e = { .from = from, .length_m = vec3_len(vec3_sub(to, from)) };
    e.axis = vec3_scale(vec3_sub(to, from), 1.0 / e.length_m);
    probe(f->scene, &e);
    if (!changes_something(f->scene, &e) || (is_top && e.n_screens > 1))
        return;
    e.id = e.screens[0].id;
    struct edge *last = f->edges.n ? &f->edges.v[f->edges.n - 1] : NULL;
    if (last && vec3_dot(last->axis, e.axis) > 0.9999 && same_screens(last, &e) &&
        touches(vec3_add(last->from, vec3_scale(last->axis, last->length_m)), e.from))
        last->length_m += e.length_m;
    else if (!VEC_PUSH(f->arena, &f->edges, e))
        f->failed = true;
}

/* All upright pieces of one vertical line, cut where any of them begins or ends. */
static void add_upright_edges(struct finder *f, uint32_t first)
{
    const struct vec3 at = f->pieces.v[first].from;
    VEC(double) cuts = { 0 };
    VEC(uint32_t) members = { 0 };
    for (uint32_t i = first; i < f->pieces.n && !f->failed; i++) {
        struct line_piece *q = &f->pieces.v[i];
        if (!q->is_upright || q->used || hypot(q->from.x - at.x, q->from.y - at.y) >= SAME_LINE_M)
            continue;
        q->used = true;
        f->failed = !VEC_PUSH(f->arena, &members, i) || !VEC_PUSH(f->arena, &cuts, q->from.z) ||
                    !VEC_PUSH(f->arena, &cuts, q->to.z);
    }
    for (uint32_t i = 1; i < cuts.n; i++)
        for (uint32_t k = i; k > 0 && cuts.v[k] < cuts.v[k - 1]; k--) {
            const double t = cuts.v[k];
            cuts.v[k] = cuts.v[k - 1];
            cuts.v[k - 1] = t;
        }
    double low = cuts.n ? cuts.v[0] : 0.0;
    for (uint32_t i = 1; i < cuts.n && !f->failed; i++) {
        if (cuts.v[i] - low < SHORTEST_M)
            continue;
        const double middle = (low + cuts.v[i]) / 2.0;
        bool is_covered = false;
        for (uint32_t m = 0; m < members.n; m++)
            is_covered =
                is_covered || (f->pieces.v[members.v[m]].from.z < middle && f->pieces.v[members.v[m]].to.z > middle);
        if (is_covered)
            add_edge(f, (struct vec3){ at.x, at.y, low }, (struct vec3){ at.x, at.y, cuts.v[i] }, false);
        low = cuts.v[i];
    }
}

static void add_other_edge(struct finder *f, uint32_t i)
{
    const struct line_piece *q = &f->pieces.v[i];
    for (uint32_t k = 0; k < i; k++) {
        const struct line_piece *o = &f->pieces.v[k];
        if ((touches(o->from, q->from) && touches(o->to, q->to)) ||
            (touches(o->from, q->to) && touches(o->to, q->from)))
            return;
    }
    add_edge(f, q->from, q->to, q->is_top);
}

enum rt_code scene_find_edges(struct arena *a, struct scene *s, struct rt_problems *p)
{
    struct finder f = { .arena = a, .scene = s };
    for (uint32_t i = 0; i < s->faces.n; i++) {
        if (!s->faces.v[i].outline.n)
            add_rectangle_pieces(&f, &s->faces.v[i]);
        else
            add_hole_pieces(&f, &s->faces.v[i]);
    }
    for (uint32_t i = 0; i < f.pieces.n && !f.failed; i++)
        if (f.pieces.v[i].is_upright && !f.pieces.v[i].used)
            add_upright_edges(&f, i);
        else if (!f.pieces.v[i].is_upright)
            add_other_edge(&f, i);
    s->edges.v = f.edges.v;
    for (uint32_t i = 0; i < f.edges.n; i++)
        if (f.edges.v[i].length_m >= LEAST_EDGE_M)
            s->edges.v[s->edges.n++] = f.edges.v[i];
    return f.failed ? rt_fail_memory(p) : RT_OK;
}

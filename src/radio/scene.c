/* scene.c - puts the faces into planes and holds the small questions asked of a face. */
#include "radio/scene_int.h"

/* A face joins a plane from which none of its corners is farther away: finer than anyone measures a wall, coarse enough
 * for a decimal's rounding. */
#define PLANE_TOLERANCE_M 1e-4

bool outline_holds(vec2_list outline, struct vec2 at, double tolerance_m)
{
    bool inside = false;
    for (uint32_t i = 0, j = outline.n - 1; i < outline.n; j = i++) {
        const struct vec2 a = outline.v[i], b = outline.v[j];
        const struct vec2 ab = vec2_sub(b, a), ap = vec2_sub(at, a);
        const double length2 = vec2_dot(ab, ab);
        double t = length2 > 0.0 ? vec2_dot(ap, ab) / length2 : 0.0;
        t = t < 0.0 ? 0.0 : t > 1.0 ? 1.0 : t;
        if (vec2_len(vec2_sub(ap, vec2_scale(ab, t))) <= fabs(tolerance_m))
            return tolerance_m >= 0.0;
        if ((a.y > at.y) != (b.y > at.y) && at.x < a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x))
            inside = !inside;
    }
    return inside;
}

struct face_hit face_at(const struct face *f, struct vec2 uv)
{
    const struct face_hit miss = { .construct = NO_REF };
    if (uv.x < f->u0 || uv.x > f->u1 || uv.y < f->v0 || uv.y > f->v1)
        return miss;
    if (f->outline.n && !outline_holds(f->outline, uv, SCENE_JOIN_M))
        return miss;
    for (uint32_t i = 0; i < f->cuts.n; i++)
        if (outline_holds(f->cuts.v[i], uv, -SCENE_JOIN_M))
            return miss;
    for (uint32_t i = 0; i < f->patches.n; i++) {
        const struct patch *q = &f->patches.v[i];
        if (uv.x > q->u0 + SCENE_JOIN_M && uv.x < q->u1 - SCENE_JOIN_M && uv.y > q->v0 + SCENE_JOIN_M &&
            uv.y < q->v1 - SCENE_JOIN_M)
            return (struct face_hit){ q->construct != NO_REF, q->construct, q };
    }
    return (struct face_hit){ true, f->construct, NULL };
}

static bool lies_in(const struct plane_of_faces *p, const struct face *f)
{
    const double us[2] = { f->u0, f->u1 }, vs[2] = { f->v0, f->v1 };
    for (int i = 0; i < 4; i++)
        if (fabs(plane_side_m(p, face_point(f, us[i & 1], vs[i >> 1]))) > PLANE_TOLERANCE_M)
            return false;
    return true;
}

/* Finds or makes the plane of every face, then orders the faces by plane. */
static enum rt_code make_planes(struct arena *a, struct scene *s, const face_vec *found, struct rt_problems *p)
{
    VEC(struct plane_of_faces) planes = { 0 };
    for (uint32_t i = 0; i < found->n; i++) {
        struct face *f = &found->v[i];
        const struct vec3 n = vec3_cross(f->u, f->v);
        uint32_t k = 0;
        while (k < planes.n && !lies_in(&planes.v[k], f))
            k++;
        if (k == planes.n) {
            const struct plane_of_faces fresh = { .n = n, .d = vec3_dot(n, f->origin) };
            if (!VEC_PUSH(a, &planes, fresh))
                return rt_fail_memory(p);
        }
        f->plane = k;
        planes.v[k].n_faces++;
        if (vec3_dot(n, planes.v[k].n) < 0.0)
            f->mirrors_on = -f->mirrors_on;
    }
    s->faces.v = ARENA_ARRAY(a, struct face, found->n);
    if (!s->faces.v)
        return rt_fail_memory(p);
    for (uint32_t k = 0; k < planes.n; k++) {
        planes.v[k].first_face = s->faces.n;
        for (uint32_t i = 0; i < found->n; i++)
            if (found->v[i].plane == k)
                s->faces.v[s->faces.n++] = found->v[i];
    }
    s->planes.v = planes.v;
    s->planes.n = planes.n;
    return RT_OK;
}

static void find_bounds(struct scene *s)
{
    for (uint32_t i = 0; i < s->faces.n; i++) {
        const struct face *f = &s->faces.v[i];
        const double us[2] = { f->u0, f->u1 }, vs[2] = { f->v0, f->v1 };
        for (int c = 0; c < 4; c++) {
            const struct vec3 q = face_point(f, us[c & 1], vs[c >> 1]);
            if (i == 0 && c == 0)
                s->low = s->high = q;
            s->low = (struct vec3){ fmin(s->low.x, q.x), fmin(s->low.y, q.y), fmin(s->low.z, q.z) };
            s->high = (struct vec3){ fmax(s->high.x, q.x), fmax(s->high.y, q.y), fmax(s->high.z, q.z) };
        }
    }
}

enum rt_code scene_build(const struct run *run, const struct house *h, struct scene **out, struct rt_problems *p)
{
    struct scene *s = ARENA_NEW(run->arena, struct scene);
    if (!s)
        return rt_fail_memory(p);
    s->house = h;
    face_vec found = { 0 };
    RT_TRY(scene_add_faces(run->arena, h, &found, p));
    RT_TRY(make_planes(run->arena, s, &found, p));
    scene_join_faces(s);
    find_bounds(s);
    RT_TRY(scene_find_edges(run->arena, s, p));
    *out = s;
    return RT_OK;
}

uint32_t scene_n_faces(const struct scene *s) { return s->faces.n; }

uint32_t scene_n_edges(const struct scene *s) { return s->edges.n; }

/* trace.c - the direct path and mirrored paths from one antenna to one spot.
 *
 * Every ordered choice of up to `order` planes gives one image of the antenna; the way back from the spot to the images
 * shows where each plane must mirror, and whether it has a face there.  Legs are then tested against all planes.  No choice
 * is left out, so the result owes nothing to a search. */
#include "base/units.h"
#include "radio/trace_int.h"

enum rt_code tracer_init_with(const struct run *run, const struct scene *s, const struct wall_table *walls,
                              struct vec3 from, const struct antenna *antenna, struct antenna_pose pose,
                              struct trace_options options, struct tracer *out, struct rt_problems *p)
{
    *out = (struct tracer){ .scene = s,
                            .walls = *walls,
                            .options = options,
                            .wavelength_m = RT_C0_M_S / walls->f_hz,
                            .from = from,
                            .antenna = antenna,
                            .pose = pose };
    if (out->options.order > TRACE_ORDER_MAX)
        out->options.order = TRACE_ORDER_MAX;
    out->groups = ARENA_ARRAY(run->arena, struct trace_group, (size_t)s->planes.n + 1);
    return out->groups ? RT_OK : rt_fail_memory(p);
}

enum rt_code tracer_init(const struct run *run, const struct scene *s, double f_hz, struct vec3 from,
                         const struct antenna *antenna, struct antenna_pose pose, struct trace_options options,
                         struct tracer *out, struct rt_problems *p)
{
    struct wall_table walls;
    RT_TRY(wall_table_build(run, s->house, f_hz, options.estimate, &walls, p));
    return tracer_init_with(run, s, &walls, from, antenna, pose, options, out, p);
}

double trace_te_share(const struct tracer *t, struct vec3 way, struct vec3 n)
{
    if (!t->options.vertical)
        return 0.5;
    /* E along z, less its part along the ray; TE is the share at right angles to the plane of incidence. */
    const struct vec3 e = { -way.z * way.x, -way.z * way.y, 1.0 - way.z * way.z };
    const struct vec3 m = vec3_cross(way, n);
    const double e2 = vec3_dot(e, e), m2 = vec3_dot(m, m), em = vec3_dot(e, m);
    return e2 > 1e-12 && m2 > 1e-12 ? em * em / (e2 * m2) : 0.5;
}

struct trace_shares trace_effect(const struct tracer *t, uint32_t construct, struct vec3 way, struct vec3 n)
{
    const float cos_incidence = (float)fabs(vec3_dot(way, n));
    const struct wall_effect e = wall_table_at(&t->walls, construct, cos_incidence, (float)trace_te_share(t, way, n));
    return (struct trace_shares){ (double)e.pass, (double)e.mirror };
}

static double complex with_size(double complex phase, double power)
{
    const double size = cabs(phase);
    return size > 1e-12 ? phase * (sqrt(power) / size) : sqrt(power);
}

struct trace_amplitudes trace_amplitude(const struct tracer *t, uint32_t construct, struct vec3 way, struct vec3 n)
{
    const double te = trace_te_share(t, way, n);
    const struct trace_shares power = trace_effect(t, construct, way, n);
    const struct wall_amplitudes a = wall_amplitudes_at(&t->walls, construct, (float)fabs(vec3_dot(way, n)));
    const double complex pass = te * (double complex)a.t[0] + (1.0 - te) * (double complex)a.t[1];
    const double complex mirror = te * (double complex)a.r[0] - (1.0 - te) * (double complex)a.r[1];
    return (struct trace_amplitudes){ with_size(pass, power.pass), with_size(mirror, power.mirror) };
}

static void turn_phase(double complex *phase, double complex by)
{
    const double size = cabs(by);
    if (size > 1e-12)
        *phase *= by / size;
}

double trace_antenna(const struct tracer *t, struct vec3 way)
{
    return t->antenna ? units_ratio_from_db(antenna_gain_dbi(t->antenna, t->pose, way)) : 1.0;
}

double trace_free_space(const struct tracer *t, double length_m)
{
    const double amplitude = t->wavelength_m / (4.0 * RT_PI * fmax(length_m, TRACE_NEAREST_M));
    return amplitude * amplitude;
}

static void record(struct recorder *r, struct trace_event e)
{
    if (r && !VEC_PUSH(r->arena, r->events, e))
        r->failed = true;
}

double complex trace_half(const struct tracer *t, uint32_t construct, double complex whole, struct vec3 way,
                          struct vec3 n)
{
    const double complex root = csqrt(whole);
    const double complex near = (double complex)wall_half_at(&t->walls, construct, (float)fabs(vec3_dot(way, n)));
    return creal(root) * creal(near) + cimag(root) * cimag(near) < 0.0 ? -root : root;
}

/* Where the last leg of some points crosses a plane, if it does.  An end that lies in the plane does not cross it, with one
 * exception: a bounce may lie in a second plane, in the corner of two walls or at the end of one.  It then is on the side
 * from which the path came, so a path that changes sides there crosses the wall once, on its way out and at the bounce
 * itself, and one that stays on its side does not: no rounding decides, nor which side of the wall is its front. */
static bool crosses(const struct plane_of_faces *p, const struct vec3 *points, int n, struct vec3 *x)
{
    const struct vec3 a = points[n - 2], b = points[n - 1];
    const double side_a = plane_side_m(p, a), side_b = plane_side_m(p, b);
    const bool starts_in = fabs(side_a) < SCENE_NEAR_M;
    double from = side_a;
    for (int i = n - 3; i >= 0 && fabs(from) < SCENE_NEAR_M; i--)
        from = plane_side_m(p, points[i]);
    if ((from > 0.0) == (side_b > 0.0) || fabs(from) < SCENE_NEAR_M || fabs(side_b) < SCENE_NEAR_M)
        return false;
    *x = starts_in ? a : vec3_add(a, vec3_scale(vec3_sub(b, a), side_a / (side_a - side_b)));
    return true;
}

double trace_leg(const struct tracer *t, const struct vec3 *points, int n, const uint32_t *without, uint32_t n_without,
                 double complex *phase, struct recorder *r)
{
    const struct vec3 way = unit_or(vec3_sub(points[n - 1], points[n - 2]), (struct vec3){ 0.0, 0.0, 1.0 });
    const uint32_t first_event = r ? r->events->n : 0;
    double power = 1.0;
    for (uint32_t k = 0; k < t->scene->planes.n; k++) {
        const struct plane_of_faces *p = &t->scene->planes.v[k];
        bool skip = false;
        for (uint32_t i = 0; i < n_without; i++)
            skip = skip || without[i] == k;
        struct vec3 x;
        if (skip || !crosses(p, points, n, &x))
            continue;
        const double cos_incidence = fabs(vec3_dot(way, p->n));
        for (uint32_t i = p->first_face; i < p->first_face + p->n_faces; i++) {
            const struct face *f = &t->scene->faces.v[i];
            const struct face_hit hit = face_at(f, face_uv(f, x));
            if (!hit.is_hit)
                continue;
            double pass = trace_effect(t, hit.construct, way, p->n).pass;
            if (f->is_half)
                pass = sqrt(pass);
            if (phase) {
                const double complex amplitude = trace_amplitude(t, hit.construct, way, p->n).pass;
                turn_phase(phase, f->is_half ? trace_half(t, hit.construct, amplitude, way, p->n) : amplitude);
            }
            power *= pass;
            record(r, (struct trace_event){ MET_THROUGH, i, hit, cos_incidence, pass, x });
        }
    }
    /* In the order in which the wave meets them; the index breaks a tie since the sort is stable. */
    if (r && !r->failed)
        for (uint32_t i = first_event + 1; i < r->events->n; i++)
            for (uint32_t k = i; k > first_event; k--) {
                struct trace_event *e = &r->events->v[k - 1];
                if (vec3_dot(way, vec3_sub(e[1].at, e[0].at)) >= 0.0)
                    break;
                const struct trace_event swap = e[0];
                e[0] = e[1];
                e[1] = swap;
            }
    return power;
}

/* ---- mirrored paths ---- */

struct chain {
    int n;
    uint32_t planes[TRACE_ORDER_MAX];
    struct vec3 images[TRACE_ORDER_MAX + 1]; /* [0] the antenna */
};

struct bounce {
    struct vec3 at;
    uint32_t face;
    struct face_hit hit;
};

/* The face of a plane that mirrors at a point for a wave that comes from and goes to the given side; the first in the list
 * where several coincide. */
static bool find_mirror(const struct scene *s, uint32_t plane, struct vec3 at, double side_m, struct bounce *out)
{
    const struct plane_of_faces *p = &s->planes.v[plane];
    for (uint32_t i = p->first_face; i < p->first_face + p->n_faces; i++) {
        const struct face *f = &s->faces.v[i];
        if (f->mirrors_on && (f->mirrors_on > 0) != (side_m > 0.0))
            continue;
        const struct face_hit hit = face_at(f, face_uv(f, at));
        if (hit.is_hit) {
            *out = (struct bounce){ at, i, hit };
            return true;
        }
    }
    return false;
}

static bool find_bounces(const struct tracer *t, const struct chain *c, struct vec3 at, struct bounce *bounces)
{
    struct vec3 to = at;
    for (int i = c->n - 1; i >= 0; i--) {
        const struct plane_of_faces *p = &t->scene->planes.v[c->planes[i]];
        const double side = plane_side_m(p, to), image_side = plane_side_m(p, c->images[i + 1]);
        if ((side > 0.0) == (image_side > 0.0) || fabs(side) < SCENE_NEAR_M || fabs(image_side) < SCENE_NEAR_M)
            return false;
        const struct vec3 q = vec3_add(to, vec3_scale(vec3_sub(c->images[i + 1], to), side / (side - image_side)));
        if (!find_mirror(t->scene, c->planes[i], q, side, &bounces[i]))
            return false;
        to = q;
    }
    return true;
}

/* Power over a chain whose bounces are known, the antenna's gain included; *phase as for trace_leg(). */
static double chain_power(const struct tracer *t, const struct chain *c, const struct bounce *bounces, struct vec3 at,
                          double complex *phase, struct recorder *r)
{
    double power = trace_free_space(t, vec3_len(vec3_sub(at, c->images[c->n])));
    struct vec3 points[TRACE_ORDER_MAX + 2] = { t->from };
    for (int i = 0; i <= c->n; i++) {
        const struct vec3 from = points[i], to = i < c->n ? bounces[i].at : at;
        points[i + 1] = to;
        uint32_t without[2], n = 0;
        if (i > 0)
            without[n++] = c->planes[i - 1];
        if (i < c->n)
            without[n++] = c->planes[i];
        power *= trace_leg(t, points, i + 2, without, n, phase, r);
        const struct vec3 way = unit_or(vec3_sub(to, from), t->pose.front);
        if (i == 0)
            power *= trace_antenna(t, way);
        if (i < c->n) {
            const struct vec3 normal = t->scene->planes.v[c->planes[i]].n;
            const double cos_incidence = fabs(vec3_dot(way, normal));
            const double mirror = trace_effect(t, bounces[i].hit.construct, way, normal).mirror;
            power *= mirror;
            if (phase)
                turn_phase(phase, trace_amplitude(t, bounces[i].hit.construct, way, normal).mirror);
            record(r, (struct trace_event){ MET_MIRROR, bounces[i].face, bounces[i].hit, cos_incidence, mirror, to });
        }
    }
    return power;
}

struct search {
    const struct tracer *t;
    struct vec3 at;
    struct arena *arena;
    trace_path_vec *found;
    double power;
    bool failed;
};

static void add_path(struct search *s, struct trace_path path)
{
    if (s->found && !VEC_PUSH(s->arena, s->found, path))
        s->failed = true;
}

/* Tries the chain, then every longer one that begins with it. */
static void search_chains(struct search *s, struct chain *c)
{
    struct bounce bounces[TRACE_ORDER_MAX];
    if (find_bounces(s->t, c, s->at, bounces)) {
        double complex phase = 1.0;
        const double power = chain_power(s->t, c, bounces, s->at, c->n <= 1 ? &phase : NULL, NULL);
        if (c->n <= 1)
            s->t->groups[c->n ? 1 + c->planes[0] : 0].sum = sqrt(power) * phase;
        else
            s->power += power;
        struct trace_path path = { .kind = c->n ? PATH_REFLECTED : PATH_DIRECT, .order = c->n, .power = power };
        for (int i = 0; i < c->n; i++)
            path.planes[i] = c->planes[i];
        add_path(s, path);
    }
    if (c->n >= s->t->options.order)
        return;
    for (uint32_t k = 0; k < s->t->scene->planes.n; k++) {
        const struct plane_of_faces *p = &s->t->scene->planes.v[k];
        if ((c->n && c->planes[c->n - 1] == k) || fabs(plane_side_m(p, c->images[c->n])) < SCENE_NEAR_M)
            continue;
        c->planes[c->n] = k;
        c->images[c->n + 1] = plane_mirror(p, c->images[c->n]);
        c->n++;
        search_chains(s, c);
        c->n--;
    }
}

enum rt_code trace_spot(const struct tracer *t, struct vec3 at, struct arena *a, trace_path_vec *found, double *power,
                        struct rt_problems *p)
{
    const uint32_t n_groups = t->scene->planes.n + 1;
    for (uint32_t i = 0; i < n_groups; i++)
        t->groups[i] = (struct trace_group){ 0 };
    struct search s = { .t = t, .at = at, .arena = a, .found = found };
    struct chain c = { .images = { t->from } };
    search_chains(&s, &c);
    for (uint32_t i = 0; t->options.diffraction && i < t->scene->edges.n; i++) {
        const double bent = trace_edge(t, &t->scene->edges.v[i], at);
        if (bent > 0.0)
            add_path(&s, (struct trace_path){ .kind = PATH_DIFFRACTED, .edge = i, .power = bent });
    }
    double sum = s.power;
    for (uint32_t i = 0; i < n_groups; i++) {
        const double complex g = t->groups[i].sum;
        sum += creal(g) * creal(g) + cimag(g) * cimag(g) + t->groups[i].rest;
    }
    *power = sum;
    return s.failed ? rt_fail_memory(p) : RT_OK;
}

double trace_spot_power(const struct tracer *t, struct vec3 at)
{
    double power = 0.0;
    const enum rt_code code = trace_spot(t, at, NULL, NULL, &power, NULL);
    return code == RT_OK ? power : 0.0;
}

/* ---- a path in detail ---- */

static void describe_bent(const struct tracer *t, const struct trace_path *path, struct vec3 at, struct recorder *r,
                          struct trace_detail *out)
{
    const struct edge *e = &t->scene->edges.v[path->edge];
    const struct vec3 bend = trace_edge_point(t, e, at);
    uint32_t planes[EDGE_SCREENS_MAX];
    const uint32_t n = trace_edge_planes(e, planes);
    const double before = trace_leg(t, (const struct vec3[2]){ t->from, bend }, 2, planes, n, NULL, r);
    const uint32_t edge_event = r->events->n;
    record(r, (struct trace_event){ .kind = MET_EDGE, .face = path->edge, .cos_incidence = 1.0, .at = bend });
    const double after = trace_leg(t, (const struct vec3[2]){ bend, at }, 2, planes, n, NULL, r);
    out->points[1] = bend;
    out->points[2] = at;
    out->n_points = 3;
    out->length_m = vec3_len(vec3_sub(bend, t->from)) + vec3_len(vec3_sub(at, bend));
    const struct vec3 way = unit_or(vec3_sub(bend, t->from), t->pose.front);
    out->antenna_dbi = units_db_from_ratio(trace_antenna(t, way));
    const double unbent = trace_free_space(t, out->length_m) * trace_antenna(t, way) * before * after;
    if (!r->failed)
        r->events->v[edge_event].power = unbent > 0.0 ? path->power / unbent : 0.0;
}

enum rt_code trace_describe(const struct tracer *t, const struct trace_path *path, struct vec3 at, struct arena *a,
                            struct trace_detail *out, struct rt_problems *p)
{
    *out = (struct trace_detail){ .points = { t->from }, .n_points = 1 };
    struct recorder r = { .arena = a, .events = &out->events };
    if (path->kind == PATH_DIFFRACTED) {
        describe_bent(t, path, at, &r, out);
        return r.failed ? rt_fail_memory(p) : RT_OK;
    }
    struct chain c = { .images = { t->from } };
    struct bounce bounces[TRACE_ORDER_MAX];
    for (int i = 0; i < path->order; i++) {
        c.planes[i] = path->planes[i];
        c.images[i + 1] = plane_mirror(&t->scene->planes.v[path->planes[i]], c.images[i]);
        c.n++;
    }
    if (find_bounces(t, &c, at, bounces))
        chain_power(t, &c, bounces, at, NULL, &r);
    for (int i = 0; i < c.n; i++)
        out->points[out->n_points++] = bounces[i].at;
    out->points[out->n_points++] = at;
    out->length_m = vec3_len(vec3_sub(at, c.images[c.n]));
    const struct vec3 way = unit_or(vec3_sub(out->points[1], t->from), t->pose.front);
    out->antenna_dbi = units_db_from_ratio(trace_antenna(t, way));
    return r.failed ? rt_fail_memory(p) : RT_OK;
}

/* trace_edge.c - the wave that an edge bends towards a spot (method: top of trace.h). */
#include "base/units.h"
#include "radio/trace_int.h"
#include "radio/wedge.h"

/* Sine of the angle below which a way runs along a plane rather than through it. */
#define GLANCE 0.02

uint32_t trace_edge_planes(const struct edge *e, uint32_t planes[EDGE_SCREENS_MAX])
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < e->n_screens; i++) {
        bool known = false;
        for (uint32_t k = 0; k < n; k++)
            known = known || planes[k] == e->screens[i].plane;
        if (!known)
            planes[n++] = e->screens[i].plane;
    }
    return n;
}

/* Distance from the edge's line, and how far along it a point lies. */
static double along_edge_m(const struct edge *e, struct vec3 x, double *from_line_m)
{
    const struct vec3 r = vec3_sub(x, e->from);
    const double t = vec3_dot(r, e->axis);
    *from_line_m = vec3_len(vec3_sub(r, vec3_scale(e->axis, t)));
    return t;
}

/* The point at which both legs make the same angle with the edge. */
struct vec3 trace_edge_point(const struct tracer *t, const struct edge *e, struct vec3 at)
{
    double r_in, r_out;
    const double t_in = along_edge_m(e, t->from, &r_in), t_out = along_edge_m(e, at, &r_out);
    const double sum = r_in + r_out;
    const double where = sum > 1e-9 ? (t_in * r_out + t_out * r_in) / sum : t_in;
    return vec3_add(e->from, vec3_scale(e->axis, where));
}

static double complex face_pass(const struct tracer *t, uint32_t face, uint32_t construct, struct vec3 way)
{
    const struct face *f = &t->scene->faces.v[face];
    const struct vec3 n = t->scene->planes.v[f->plane].n;
    const double complex pass = trace_amplitude(t, construct, way, n).pass;
    return f->is_half ? trace_half(t, construct, pass, way, n) : pass;
}

/* One edge between the antenna and a spot. */
struct bend {
    const struct edge *e;
    struct vec3 way_in, way_out; /* unit */
    double k_length;             /* k L of the uniform theory */
    double flat_length_m;        /* s' s / (s' + s) of the ways seen along the edge */
    double complex amplitude;    /* of the way over the edge, but for the bending */
    double where_m;              /* along the edge */
    double end_per_m2; /* phase by which a way over a point of the edge is longer, over the distance squared */
    struct vec3 at;
};

static double turn(const struct edge *e, struct vec3 a, struct vec3 b) { return vec3_dot(e->axis, vec3_cross(a, b)); }

/* What is left of the amplitude by the screens, other than those of one plane, that a leg meets that starts beside the
 * edge, a small step along `beside`, and runs off along `way`. */
static double complex pass_beside(const struct tracer *t, const struct edge *e, uint32_t plane, struct vec3 beside,
                                  struct vec3 way)
{
    double complex amplitude = 1.0;
    for (uint32_t i = 0; i < e->n_screens; i++) {
        const struct screen *s = &e->screens[i];
        const double across = turn(e, s->along, way);
        if (s->plane == plane || fabs(across) < 1e-12)
            continue;
        const double on_screen = turn(e, beside, way) / across, on_leg = turn(e, beside, s->along) / across;
        if (on_screen > 0.0 && on_leg > 0.0)
            amplitude *= face_pass(t, s->face, s->construct, way);
    }
    return amplitude;
}

/* A screen is on the left of the way half-way between arriving and leaving, or on its right.  One that lies on that way is where
 * the straight path does not pass: that path does not cross it, and its amplitude must be true.  Of two screens that lie straight
 * behind each other, each is on a side. */
static bool is_on_left(const struct edge *e, uint32_t screen, struct vec3 way, bool passes_left)
{
    const struct screen *s = &e->screens[screen];
    if (s->behind != NO_REF)
        return !is_on_left(e, s->behind, way, passes_left);
    return turn(e, way, s->along) > (passes_left ? TRACE_ALONG : -TRACE_ALONG);
}

/* Amplitudes of a path left and right of the edge, and exactly over its line. */
struct sides {
    double complex left, right, on_line;
};

static struct sides direct_sides(const struct tracer *t, const struct bend *b, struct vec3 way)
{
    const bool passes_left = turn(b->e, b->way_in, b->way_out) > 0.0;
    struct sides out = { 1.0, 1.0, 1.0 };
    for (uint32_t i = 0; i < b->e->n_touching; i++)
        out.on_line *= face_pass(t, b->e->touching[i].face, b->e->touching[i].construct, way);
    for (uint32_t i = 0; i < b->e->n_screens; i++) {
        const struct screen *s = &b->e->screens[i];
        double complex *const side = is_on_left(b->e, i, way, passes_left) ? &out.left : &out.right;
        *side *= face_pass(t, s->face, s->construct, way);
    }
    return out;
}

/* What is mirrored on the edge's line: by the first face, as for any path, and then through those faces of other planes on whose
 * other side the path leaves (crosses() of trace.c). */
static double complex mirrored_on_line(const struct tracer *t, const struct bend *b, uint32_t plane, struct vec3 way)
{
    const struct plane_of_faces *planes = t->scene->planes.v;
    double complex mirror = 0.0, pass = 1.0;
    bool has_mirror = false;
    for (uint32_t i = 0; i < b->e->n_touching; i++) {
        const struct touch *q = &b->e->touching[i];
        const int on = t->scene->faces.v[q->face].mirrors_on;
        const double from = plane_side_m(&planes[q->plane], t->from), to = plane_side_m(&planes[q->plane], b->at);
        if (q->plane != plane) {
            if (fabs(from) >= SCENE_NEAR_M && fabs(to) >= SCENE_NEAR_M && (from > 0.0) != (to > 0.0))
                pass *= face_pass(t, q->face, q->construct, b->way_out);
        } else if (!has_mirror && (!on || (on > 0) == (to > 0.0))) {
            has_mirror = true;
            mirror = trace_amplitude(t, q->construct, way, planes[plane].n).mirror;
        }
    }
    return mirror * pass;
}

/* For the path mirrored by a plane that holds the edge (`mirrored`: its way in): what is mirrored left and right of the edge. */
static struct sides mirror_sides(const struct tracer *t, const struct bend *b, uint32_t plane, struct vec3 mirrored)
{
    const struct vec3 way = unit_or(vec3_add(mirrored, b->way_out), b->way_out);
    const bool passes_left = turn(b->e, mirrored, b->way_out) > 0.0;
    struct sides out = { .on_line = mirrored_on_line(t, b, plane, way) };
    bool has_left = false, has_right = false;
    for (uint32_t i = 0; i < b->e->n_screens; i++) {
        const struct screen *s = &b->e->screens[i];
        const bool is_left = is_on_left(b->e, i, way, passes_left);
        bool *const has = is_left ? &has_left : &has_right;
        if (s->plane != plane || *has)
            continue;
        *has = true;
        const double complex before = pass_beside(t, b->e, plane, s->along, vec3_scale(b->way_in, -1.0));
        const double complex after = pass_beside(t, b->e, plane, s->along, b->way_out);
        *(is_left ? &out.left : &out.right) =
            trace_amplitude(t, s->construct, way, t->scene->planes.v[plane].n).mirror * before * after;
    }
    return out;
}

static struct vec3 flat_unit(const struct edge *e, struct vec3 v)
{
    const struct vec3 flat = vec3_sub(v, vec3_scale(e->axis, vec3_dot(v, e->axis)));
    return unit_or(flat, (struct vec3){ 0.0, 0.0, 0.0 });
}

/* Where along the edge a straight way from `image` to the spot meets the plane of one of its screens; the point of bending if
 * it does not, or at a glance. */
static double meets_m(const struct tracer *t, const struct bend *b, struct vec3 image, uint32_t plane)
{
    const struct plane_of_faces *p = &t->scene->planes.v[plane];
    const double from = plane_side_m(p, image), to = plane_side_m(p, b->at);
    const struct vec3 way = vec3_sub(b->at, image);
    if ((from > 0.0) == (to > 0.0) || fabs(from - to) < GLANCE * vec3_len(way))
        return b->where_m;
    const struct vec3 x = vec3_add(image, vec3_scale(way, from / (from - to)));
    return vec3_dot(vec3_sub(x, b->e->from), b->e->axis);
}

/* The share of the bent wave that an edge of finite length makes (top of trace.h). */
static double complex share_of(const struct bend *b, double met_m, double window)
{
    const double where_m = b->where_m + window * (met_m - b->where_m);
    const double to_end_m[2] = { where_m, b->e->length_m - where_m };
    const double part = 1.0 - window / 2.0;
    double complex share = to_end_m[0] > 0.0 && to_end_m[1] > 0.0 ? 1.0 : 0.0;
    for (int i = 0; i < 2; i++)
        share -= (to_end_m[i] > 0.0 ? part : -part) * wedge_bent(b->end_per_m2 * to_end_m[i] * to_end_m[i]);
    return share;
}

/* Adds to a group the wave bent from a way in (seen from the antenna or its image) to the way out. */
static double add_term(const struct tracer *t, const struct bend *b, struct vec3 way_in, struct vec3 image,
                       uint32_t plane, struct sides sides, struct trace_group *g)
{
    /* Turned to the left: the straight path to the spot passes left of the edge. */
    const bool is_left = turn(b->e, way_in, b->way_out) > 0.0;
    double complex jump = is_left ? sides.right - sides.left : sides.left - sides.right;
    const struct vec3 flat_in = flat_unit(b->e, way_in), flat_out = flat_unit(b->e, b->way_out);
    const double straight = vec3_dot(flat_in, flat_out);
    /* The straight path runs over the line itself: half of this jump makes the mean of both sides. */
    const double beside_m = b->flat_length_m * fabs(turn(b->e, flat_in, flat_out));
    if (straight > 0.0 && beside_m < SCENE_JOIN_M)
        jump = sides.left + sides.right - 2.0 * sides.on_line;
    const struct vec3 straight_way = unit_or(vec3_sub(b->at, image), b->way_out);
    const struct vec3 at_spot = vec3_sub(straight_way, b->way_out), at_antenna = vec3_sub(straight_way, way_in);
    const double apart2 = vec3_dot(at_spot, at_spot) + vec3_dot(at_antenna, at_antenna);
    const double rest = apart2 < TRACE_APART2 ? 1.0 - apart2 / TRACE_APART2 : 0.0;
    const double window = rest * rest * rest * rest;
    const double complex d = b->amplitude * jump * wedge_bent(b->k_length * fmax(1.0 - straight, 0.0)) *
                             share_of(b, meets_m(t, b, image, plane), window);
    const double power = creal(d) * creal(d) + cimag(d) * cimag(d);
    g->sum += window * d;
    g->rest += (1.0 - window * window) * power;
    return power;
}

static bool mirror_is_seen(const struct tracer *t, const struct edge *e, uint32_t plane, struct vec3 at)
{
    const struct plane_of_faces *p = &t->scene->planes.v[plane];
    const double side = plane_side_m(p, t->from), out = plane_side_m(p, at);
    if (fabs(side) < SCENE_NEAR_M)
        return false;
    for (uint32_t i = 0; i < e->n_screens; i++) {
        const int on = t->scene->faces.v[e->screens[i].face].mirrors_on;
        if (e->screens[i].plane == plane && (!on || ((on > 0) == (side > 0.0) && (on > 0) == (out > 0.0))))
            return true;
    }
    return false;
}

double trace_edge(const struct tracer *t, const struct edge *e, struct vec3 at)
{
    const struct vec3 point = trace_edge_point(t, e, at);
    const struct vec3 in = vec3_sub(point, t->from), out = vec3_sub(at, point);
    const double s_in = vec3_len(in), s_out = vec3_len(out), k = 2.0 * RT_PI / t->wavelength_m;
    if (s_in < SCENE_NEAR_M || s_out < SCENE_NEAR_M)
        return 0.0;
    struct bend b = { .e = e, .at = at };
    b.way_in = vec3_scale(in, 1.0 / s_in);
    b.way_out = vec3_scale(out, 1.0 / s_out);
    const double cos_beta = vec3_dot(b.way_in, e->axis), sin2_beta = fmax(1.0 - cos_beta * cos_beta, 0.0);
    const double reduced = s_in * s_out / (s_in + s_out);
    b.k_length = k * reduced * sin2_beta;
    b.flat_length_m = reduced * sqrt(sin2_beta);
    b.where_m = vec3_dot(vec3_sub(point, e->from), e->axis);
    b.end_per_m2 = k * sin2_beta / (2.0 * reduced);
    uint32_t planes[EDGE_SCREENS_MAX];
    const uint32_t n_planes = trace_edge_planes(e, planes);
    double complex phase = 1.0;
    const struct vec3 way[3] = { t->from, point, at };
    const double legs =
        trace_leg(t, way, 2, planes, n_planes, &phase, NULL) * trace_leg(t, way + 1, 2, planes, n_planes, &phase, NULL);
    b.amplitude = sqrt(trace_free_space(t, s_in + s_out) * legs * trace_antenna(t, b.way_in)) * phase;

    const struct vec3 middle = unit_or(vec3_add(b.way_in, b.way_out), b.way_in);
    double power = add_term(t, &b, b.way_in, t->from, planes[0], direct_sides(t, &b, middle), &t->groups[0]);
    for (uint32_t i = 0; i < n_planes && t->options.order > 0; i++) {
        const struct plane_of_faces *p = &t->scene->planes.v[planes[i]];
        if (!mirror_is_seen(t, e, planes[i], at))
            continue;
        const struct vec3 mirrored = vec3_sub(b.way_in, vec3_scale(p->n, 2.0 * vec3_dot(p->n, b.way_in)));
        power += add_term(t, &b, mirrored, plane_mirror(p, t->from), planes[i],
                          mirror_sides(t, &b, planes[i], mirrored), &t->groups[1 + planes[i]]);
    }
    return power;
}

/* beam_arrival.c - what reaches an edge from the antenna, once and for all tiles.
 *
 * The ways from the antenna to the points of an edge's line fill a triangle.  Along the line, what is left of a wave jumps
 * where a way meets the outline of a face or of an opening, and where the line itself passes a plane; between these it is
 * smooth.  So the line is cut there, exactly, and each stretch between two cuts gets 16 arrivals by the same steps as any other
 * leg, between which a straight line is drawn; a stretch on which that would be too coarse is halved.  Of the 16 those are kept
 * that the lines need: on most stretches the two at the ends. */
#include <string.h>

#include "radio/beam_int.h"

/* Arrivals are taken this far within a stretch: on a cut itself rounding would choose the side. */
#define WITHIN_M 1e-4
/* A point of an outline is looked for this far beyond its ends. */
#define BEYOND_M 1e-3
/* Where power over free space is below this at most, nobody asks how smooth it is. */
#define FAINT 1e-7f
/* What the straight line through two nodes may be off the one between them, of the power and of the phase; the lines that are
 * drawn, over half that distance, are off by a quarter of it: 0.01 dB at most of the wave alone, in a preview 0.04 dB. */
#define COARSE_POWER 0.01f
#define COARSE_PHASE 0.05f
#define PREVIEW_TIMES 4.0f
#define SHORTEST_M 1e-3
/* Nodes that are not needed are left out: those that lie this near the lines without them, as a part of the above. */
#define DRAWN_PART 0.1f
enum { HALVINGS_MAX = 12, LAST = BEAM_LANES - 1 };

typedef VEC(double) cut_vec;

/* The ways from the antenna to an edge's line. */
struct fan {
    const struct beam_scene *bs;
    const struct beam_antenna *antenna;
    const struct edge *e;
    float coarse;         /* times the above */
    double low_m, high_m; /* of the line */
    struct arena *arena;
    cut_vec cuts;
    bool failed;
};

static void add_cut(struct fan *f, double where_m)
{
    if (where_m > f->low_m && where_m < f->high_m && !VEC_PUSH(f->arena, &f->cuts, where_m))
        f->failed = true;
}

/* The plane of a face as the fan meets it: the antenna's side, and those of the line's points, from + slope * where. */
struct meeting {
    const struct face *face;
    double antenna, from, slope;
};

static struct vec3 meeting_point(const struct fan *f, const struct meeting *m, double where_m)
{
    const struct vec3 at = vec3_add(f->e->from, vec3_scale(f->e->axis, where_m));
    const double gap = m->antenna - m->from - m->slope * where_m;
    return vec3_add(f->antenna->from, vec3_scale(vec3_sub(at, f->antenna->from), m->antenna / gap));
}

/* Cuts where a way meets a side of a polygon, a to b in the face's own coordinates. */
static void cut_at_side(struct fan *f, const struct meeting *m, struct vec2 a, struct vec2 b)
{
    const struct vec2 ab = vec2_sub(b, a);
    const double length = sqrt(vec2_dot(ab, ab));
    if (length < 1e-9)
        return;
    /* g . x is the same on all of the side; the way's point where it meets the plane has it where this is linear in where_m */
    const struct vec3 g = vec3_sub(vec3_scale(m->face->u, ab.y / length), vec3_scale(m->face->v, ab.x / length));
    const struct vec3 to = f->e->from, from = f->antenna->from;
    const double goal = vec3_dot(g, vec3_sub(face_point(m->face, a.x, a.y), from));
    const double at_0 = m->antenna * vec3_dot(g, vec3_sub(to, from)) - goal * (m->antenna - m->from);
    const double per_m = m->antenna * vec3_dot(g, f->e->axis) + goal * m->slope;
    if (fabs(per_m) < 1e-12)
        return;
    const double where_m = -at_0 / per_m, side = m->from + m->slope * where_m;
    if (!(where_m > f->low_m && where_m < f->high_m) || (side > 0.0) == (m->antenna > 0.0) || side == 0.0)
        return;
    const struct vec2 uv = face_uv(m->face, meeting_point(f, m, where_m));
    const double along = vec2_dot(vec2_sub(uv, a), ab) / length;
    if (along > -BEYOND_M && along < length + BEYOND_M)
        add_cut(f, where_m);
}

static void cut_at_rectangle(struct fan *f, const struct meeting *m, double u0, double u1, double v0, double v1)
{
    const struct vec2 corners[4] = { { u0, v0 }, { u1, v0 }, { u1, v1 }, { u0, v1 } };
    for (int i = 0; i < 4; i++)
        cut_at_side(f, m, corners[i], corners[(i + 1) % 4]);
}

static void cut_at_polygon(struct fan *f, const struct meeting *m, vec2_list outline)
{
    for (uint32_t i = 0; i < outline.n; i++)
        cut_at_side(f, m, outline.v[i], outline.v[(i + 1) % outline.n]);
}

static void cut_at_face(struct fan *f, const struct meeting *m)
{
    const struct face *face = m->face;
    if (face->outline.n)
        cut_at_polygon(f, m, face->outline);
    else
        cut_at_rectangle(f, m, face->u0, face->u1, face->v0, face->v1);
    for (uint32_t i = 0; i < face->cuts.n; i++)
        cut_at_polygon(f, m, face->cuts.v[i]);
    for (uint32_t i = 0; i < face->patches.n; i++) {
        const struct patch *q = &face->patches.v[i];
        /* the face reaches a little into it: face_at() of scene.c */
        cut_at_rectangle(f, m, q->u0 + SCENE_JOIN_M, q->u1 - SCENE_JOIN_M, q->v0 + SCENE_JOIN_M, q->v1 - SCENE_JOIN_M);
    }
}

static void cut_at_plane(struct fan *f, uint32_t plane)
{
    const struct scene *s = f->bs->scene;
    const struct plane_of_faces *p = &s->planes.v[plane];
    const struct meeting m = { .antenna = plane_side_m(p, f->antenna->from),
                               .from = plane_side_m(p, f->e->from),
                               .slope = vec3_dot(p->n, f->e->axis) };
    const double low = m.from + m.slope * f->low_m, high = m.from + m.slope * f->high_m;
    if (fabs(m.antenna) < SCENE_NEAR_M || ((low > 0.0) == (m.antenna > 0.0) && (high > 0.0) == (m.antenna > 0.0)))
        return;
    if ((low > 0.0) != (high > 0.0) && fabs(m.slope) > 1e-9)
        add_cut(f, -m.from / m.slope);
    for (uint32_t i = p->first_face; i < p->first_face + p->n_faces; i++) {
        struct meeting here = m;
        here.face = &s->faces.v[i];
        cut_at_face(f, &here);
    }
}

static void sort_cuts(cut_vec *cuts)
{
    for (uint32_t i = 1; i < cuts->n; i++)
        for (uint32_t k = i; k > 0 && cuts->v[k] < cuts->v[k - 1]; k--) {
            const double swap = cuts->v[k];
            cuts->v[k] = cuts->v[k - 1];
            cuts->v[k - 1] = swap;
        }
}

/* ---- arrivals ---- */

/* What reaches 16 points of the line, at even steps. */
struct arrivals {
    beam_f4 power[BEAM_LANES];
    struct beam_complex phase;
};

/* What is used to trace to the line, and what was found of one edge. */
struct prober {
    struct beam_work work;
    struct beam_end start, end;
    struct beam_points from, at;
    VEC(struct beam_stretch) stretches;
    VEC(beam_f4) power;
    VEC(struct beam_c4) phase;
};

static void probe(const struct fan *f, struct prober *q, const struct beam_edge *e, double from_m, double to_m,
                  struct arrivals *out)
{
    const struct beam_antenna *an = f->antenna;
    const double within_m = fmin(WITHIN_M, (to_m - from_m) / 8.0);
    for (int l = 0; l < BEAM_LANES; l++) {
        const double even_m = from_m + (to_m - from_m) * l / LAST;
        const float where_m = (float)fmin(fmax(even_m, from_m + within_m), to_m - within_m);
        q->at.x[l] = e->from.x + e->axis.x * where_m;
        q->at.y[l] = e->from.y + e->axis.y * where_m;
        q->at.z[l] = e->from.z + e->axis.z * where_m;
    }
    beam_antenna_gains(an, &q->at, out->power);
    for (int l = 0; l < BEAM_LANES; l++) {
        out->phase.re[l] = beam_f4_all(1.0f);
        out->phase.im[l] = beam_f4_all(0.0f);
    }
    beam_end_init(f->bs, &q->at, 0, &q->end);
    beam_leg(&q->work, &q->start, &q->end, e->planes, e->n_planes, out->power, &out->phase);
}

/* True if at a point between two others nothing is further off the straight line through these than a part of what is
 * called coarse, for the radios that are asked about. */
static bool is_near_line(const struct fan *f, const struct arrivals *q, int i, int before, int after, float part,
                         const bool asked[BEAM_RADIOS])
{
    const float share = (float)(i - before) / (float)(after - before);
    const float power_off = part * f->coarse * COARSE_POWER, phase_off = part * f->coarse * COARSE_PHASE;
    const beam_f4 *p = q->power, *re = q->phase.re, *im = q->phase.im;
    const beam_f4 power = p[i] - (p[before] + share * (p[after] - p[before]));
    const beam_f4 off_re = re[i] - (re[before] + share * (re[after] - re[before]));
    const beam_f4 off_im = im[i] - (im[before] + share * (im[after] - im[before]));
    const beam_f4 off2 = off_re * off_re + off_im * off_im;
    bool near = true;
    for (uint32_t r = 0; r < f->antenna->n_radios; r++)
        near = near && (!asked[r] || (fabsf(power[r]) <= power_off * p[i][r] && off2[r] <= phase_off * phase_off));
    return near;
}

/* How many steps apart nodes may be, 1 if all are needed; 0 if the steps are too coarse already. */
static int nodes_apart(const struct fan *f, const struct arrivals *q)
{
    static const int STEPS[] = { LAST, 5, 3 };
    bool asked[BEAM_RADIOS] = { false }, smooth = true;
    for (uint32_t r = 0; r < f->antenna->n_radios; r++)
        for (int i = 0; i <= LAST; i++)
            asked[r] = asked[r] || q->power[i][r] >= FAINT;
    for (int i = 1; i < LAST && smooth; i++)
        smooth = is_near_line(f, q, i, i - 1, i + 1, 1.0f, asked);
    for (size_t k = 0; k < RT_COUNT(STEPS) && smooth; k++) {
        bool fits = true;
        for (int i = 1; i < LAST && fits; i++)
            fits =
                is_near_line(f, q, i, i / STEPS[k] * STEPS[k], i / STEPS[k] * STEPS[k] + STEPS[k], DRAWN_PART, asked);
        if (fits)
            return STEPS[k];
    }
    return smooth ? 1 : 0;
}

static bool add_stretch(const struct fan *f, struct prober *q, const struct beam_edge *e, double from_m, double to_m,
                        int halvings)
{
    struct arrivals here;
    probe(f, q, e, from_m, to_m, &here);
    int apart = nodes_apart(f, &here);
    if (!apart && halvings < HALVINGS_MAX && to_m - from_m > SHORTEST_M) {
        const double middle_m = 0.5 * (from_m + to_m);
        return add_stretch(f, q, e, from_m, middle_m, halvings + 1) &&
               add_stretch(f, q, e, middle_m, to_m, halvings + 1);
    }
    apart = apart ? apart : 1;
    const int32_t first = (int32_t)q->power.n;
    for (int i = 0; i <= LAST; i += apart)
        if (!VEC_PUSH(f->arena, &q->power, here.power[i]) ||
            !VEC_PUSH(f->arena, &q->phase, ((struct beam_c4){ here.phase.re[i], here.phase.im[i] })))
            return false;
    const struct beam_stretch out = { .from_m = (float)from_m,
                                      .to_m = (float)to_m,
                                      .nodes_per_m = (float)(LAST / apart / (to_m - from_m)),
                                      .first = first,
                                      .last = first + LAST / apart };
    return VEC_PUSH(f->arena, &q->stretches, out);
}

static bool is_of_edge(const struct beam_edge *e, uint32_t plane)
{
    bool found = false;
    for (uint32_t i = 0; i < e->n_planes; i++)
        found = found || e->planes[i] == plane;
    return found;
}

/* What was found of the edge, for good. */
static bool keep(const struct fan *f, const struct prober *q, struct beam_edge_in *out)
{
    struct beam_stretch *stretches = ARENA_ARRAY(f->arena, struct beam_stretch, q->stretches.n);
    beam_f4 *power = ARENA_ARRAY(f->arena, beam_f4, q->power.n);
    struct beam_c4 *phase = ARENA_ARRAY(f->arena, struct beam_c4, q->phase.n);
    if (!stretches || !power || !phase)
        return false;
    memcpy(stretches, q->stretches.v, q->stretches.n * sizeof *stretches);
    memcpy(power, q->power.v, q->power.n * sizeof *power);
    memcpy(phase, q->phase.v, q->phase.n * sizeof *phase);
    out->n_stretches = q->stretches.n;
    out->stretches = stretches;
    out->power = power;
    out->phase = phase;
    return true;
}

static bool find_stretches(struct fan *f, struct prober *q, const struct beam_edge *e, struct beam_edge_in *out)
{
    f->cuts.n = 0;
    for (uint32_t k = 0; k < f->bs->n_planes; k++)
        if (!is_of_edge(e, k))
            cut_at_plane(f, k);
    add_cut(f, f->high_m - 1e-6);
    sort_cuts(&f->cuts);
    q->stretches.n = q->power.n = q->phase.n = 0;
    double from_m = f->low_m;
    for (uint32_t i = 0; i < f->cuts.n && !f->failed; i++) {
        /* cuts that nothing lies between are one */
        if (f->cuts.v[i] - from_m < 0.5 * WITHIN_M && i + 1 < f->cuts.n)
            continue;
        f->failed = !add_stretch(f, q, e, from_m, f->cuts.v[i], 0);
        from_m = f->cuts.v[i];
    }
    return !f->failed && keep(f, q, out);
}

/* The part of the line over which waves bend from the antenna to spots in the box: between what lies abreast of these. */
static void set_range(struct fan *f, struct beam_box spots)
{
    const double in_m = vec3_dot(vec3_sub(f->antenna->from, f->e->from), f->e->axis);
    f->low_m = f->high_m = in_m;
    for (int c = 0; c < 8; c++) {
        const struct vec3 corner = { c & 1 ? spots.low.x : spots.high.x, c & 2 ? spots.low.y : spots.high.y,
                                     c & 4 ? spots.low.z : spots.high.z };
        const double out_m = vec3_dot(vec3_sub(corner, f->e->from), f->e->axis);
        f->low_m = fmin(f->low_m, out_m);
        f->high_m = fmax(f->high_m, out_m);
    }
    f->low_m -= BEYOND_M;
    f->high_m += BEYOND_M;
}

bool beam_find_arrivals(struct arena *a, const struct beam_scene *bs, double missing_db, struct beam_box spots,
                        const struct beam_antenna *an, struct beam_edge_in *edges)
{
    const float coarse = missing_db >= FIELD_MISSING_IN_PREVIEW_DB ? PREVIEW_TIMES : 1.0f;
    struct fan f = { .bs = bs, .antenna = an, .coarse = coarse, .arena = a };
    struct prober *q = ARENA_ARRAY(a, struct prober, 1);
    if (!q)
        return false;
    q->work.bs = bs;
    q->work.antenna = an;
    q->work.between = ARENA_ARRAY(a, int32_t, bs->n_padded);
    struct beam_end *const ends[] = { &q->start, &q->end };
    for (int i = 0; i < 2; i++) {
        ends[i]->low_m = ARENA_ARRAY(a, float, bs->n_padded);
        ends[i]->high_m = ARENA_ARRAY(a, float, bs->n_padded);
        if (!ends[i]->low_m || !ends[i]->high_m || !q->work.between)
            return false;
    }
    for (int l = 0; l < BEAM_LANES; l++) {
        q->from.x[l] = an->at.x;
        q->from.y[l] = an->at.y;
        q->from.z[l] = an->at.z;
    }
    beam_end_init(bs, &q->from, 0, &q->start);
    for (uint32_t i = 0; i < bs->scene->edges.n; i++) {
        f.e = &bs->scene->edges.v[i];
        set_range(&f, spots);
        if (!find_stretches(&f, q, &bs->edges[i], &edges[i]))
            return false;
    }
    return true;
}

/* ---- looking up ---- */

/* The stretch in which a point of the line lies, or that at the nearer end. */
static RT_INLINE const struct beam_stretch *stretch_at(const struct beam_edge_in *in, float where_m, uint32_t *near)
{
    uint32_t i = *near;
    while (i + 1 < in->n_stretches && where_m > in->stretches[i].to_m)
        i++;
    while (i > 0 && where_m <= in->stretches[i - 1].to_m) /* of two that meet there the first, whence ever one comes */
        i--;
    *near = i;
    return &in->stretches[i];
}

/* True if all places are in that stretch. */
static RT_INLINE bool find_within(const struct beam_stretch *s, const float *where_m, struct beam_places *out)
{
    const float from_m = s->from_m, to_m = s->to_m, per_m = s->nodes_per_m;
    const int32_t first = s->first, most = s->last - s->first - 1;
    int32_t outside = 0;
#pragma omp simd reduction(| : outside)
    for (int l = 0; l < BEAM_LANES; l++) {
        const float at = (where_m[l] - from_m) * per_m;
        const int32_t i = (int32_t)at, node = i < most ? i : most;
        out->node[l] = first + node;
        out->share[l] = at - (float)node;
        outside |= (where_m[l] < from_m) | (where_m[l] > to_m);
    }
    return !outside;
}

RT_WIDE void beam_find_places(const struct beam_edge_in *in, const float where_m[BEAM_LANES], uint32_t *near,
                              struct beam_places *out)
{
    if (find_within(stretch_at(in, where_m[0], near), where_m, out))
        return;
    for (int l = 0; l < BEAM_LANES; l++) {
        const struct beam_stretch *s = stretch_at(in, where_m[l], near);
        const int32_t steps = s->last - s->first;
        const float at = beam_less(beam_more((where_m[l] - s->from_m) * s->nodes_per_m, 0.0f), (float)steps);
        const int32_t node = at < (float)(steps - 1) ? (int32_t)at : steps - 1;
        out->node[l] = s->first + node;
        out->share[l] = at - (float)node;
    }
}

void beam_powers_at(const struct beam_edge_in *in, const struct beam_places *at, beam_f4 power[BEAM_LANES])
{
    for (int l = 0; l < BEAM_LANES; l++) {
        const beam_f4 *n = in->power + at->node[l];
        power[l] = n[0] + at->share[l] * (n[1] - n[0]);
    }
}

void beam_phases_at(const struct beam_edge_in *in, const struct beam_places *at, struct beam_complex *phase)
{
    for (int l = 0; l < BEAM_LANES; l++) {
        const struct beam_c4 here = beam_between(in->phase + at->node[l], at->share[l]);
        phase->re[l] = here.re;
        phase->im[l] = here.im;
    }
}

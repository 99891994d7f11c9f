/* beam_arrival.c - what reaches an edge from the antenna, once and for all tiles.
 *
 * The ways from the antenna to the points of an edge's line fill a triangle.  Along the line, what is left of a wave jumps
 * where a way meets the outline of a face or of an opening, and where the line itself passes a plane; between these it is
 * smooth.  So the line is cut there, exactly, and each stretch between two cuts gets 16 arrivals by the same steps as any other
 * leg, between which a straight line is drawn; a stretch on which that would be too coarse is halved. */
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
enum { HALVINGS_MAX = 12 };

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

/* What is used to trace to the line, and the stretches found. */
struct prober {
    struct beam_work work;
    struct beam_end start, end;
    struct beam_points from, at;
    VEC(struct beam_stretch) stretches;
};

/* A stretch's arrivals, and the most of them. */
static void probe(const struct fan *f, struct prober *q, const struct beam_edge *e, double from_m, double to_m,
                  struct beam_arrival *nodes, beam_f4 *most)
{
    const struct beam_antenna *an = f->antenna;
    const double within_m = fmin(WITHIN_M, (to_m - from_m) / 8.0);
    for (int l = 0; l < BEAM_LANES; l++) {
        const double even_m = from_m + (to_m - from_m) * l / (BEAM_STRETCH_NODES - 1);
        const float where_m = (float)fmin(fmax(even_m, from_m + within_m), to_m - within_m);
        q->at.x[l] = e->from.x + e->axis.x * where_m;
        q->at.y[l] = e->from.y + e->axis.y * where_m;
        q->at.z[l] = e->from.z + e->axis.z * where_m;
    }
    beam_f4 power[BEAM_LANES];
    struct beam_complex phase;
    beam_antenna_gains(an, &q->at, power);
    for (int l = 0; l < BEAM_LANES; l++) {
        phase.re[l] = beam_f4_all(1.0f);
        phase.im[l] = beam_f4_all(0.0f);
    }
    beam_end_init(f->bs, &q->at, 0, &q->end);
    beam_leg(&q->work, &q->start, &q->end, e->planes, e->n_planes, power, &phase);
    *most = power[0];
    for (int l = 0; l < BEAM_LANES; l++) {
        nodes[l] = (struct beam_arrival){ power[l], phase.re[l], phase.im[l] };
        *most = beam_f4_most(*most, power[l]);
    }
}

static bool is_smooth(const struct beam_arrival *nodes, beam_f4 most, float coarse, uint32_t n_radios)
{
    const float power_off = coarse * COARSE_POWER, phase_off = coarse * COARSE_PHASE;
    bool smooth = true;
    for (int i = 1; i + 1 < BEAM_STRETCH_NODES; i++) {
        const struct beam_arrival a = nodes[i - 1], b = nodes[i], c = nodes[i + 1];
        const beam_f4 power = b.power - 0.5f * (a.power + c.power);
        const beam_f4 re = b.re - 0.5f * (a.re + c.re), im = b.im - 0.5f * (a.im + c.im);
        for (uint32_t r = 0; r < n_radios; r++)
            smooth = smooth && (most[r] < FAINT || (fabsf(power[r]) <= power_off * b.power[r] &&
                                                    re[r] * re[r] + im[r] * im[r] <= phase_off * phase_off));
    }
    return smooth;
}

static bool add_stretch(const struct fan *f, struct prober *q, const struct beam_edge *e, double from_m, double to_m,
                        int halvings)
{
    struct beam_arrival nodes[BEAM_STRETCH_NODES], *kept;
    struct beam_stretch out = { .from_m = (float)from_m,
                                .to_m = (float)to_m,
                                .over_step = (float)((BEAM_STRETCH_NODES - 1) / (to_m - from_m)) };
    probe(f, q, e, from_m, to_m, nodes, &out.most);
    if (halvings < HALVINGS_MAX && to_m - from_m > SHORTEST_M &&
        !is_smooth(nodes, out.most, f->coarse, f->antenna->n_radios)) {
        const double middle_m = 0.5 * (from_m + to_m);
        return add_stretch(f, q, e, from_m, middle_m, halvings + 1) &&
               add_stretch(f, q, e, middle_m, to_m, halvings + 1);
    }
    kept = ARENA_ARRAY(f->arena, struct beam_arrival, BEAM_STRETCH_NODES);
    if (!kept)
        return false;
    for (int i = 0; i < BEAM_STRETCH_NODES; i++)
        kept[i] = nodes[i];
    out.nodes = kept;
    return VEC_PUSH(f->arena, &q->stretches, out);
}

static bool is_of_edge(const struct beam_edge *e, uint32_t plane)
{
    bool found = false;
    for (uint32_t i = 0; i < e->n_planes; i++)
        found = found || e->planes[i] == plane;
    return found;
}

static bool find_stretches(struct fan *f, struct prober *q, const struct beam_edge *e, struct beam_edge_in *out)
{
    f->cuts.n = 0;
    for (uint32_t k = 0; k < f->bs->n_planes; k++)
        if (!is_of_edge(e, k))
            cut_at_plane(f, k);
    add_cut(f, f->high_m - 1e-6);
    sort_cuts(&f->cuts);
    q->stretches.v = NULL;
    q->stretches.n = q->stretches.cap = 0;
    double from_m = f->low_m;
    for (uint32_t i = 0; i < f->cuts.n && !f->failed; i++) {
        /* cuts that nothing lies between are one */
        if (f->cuts.v[i] - from_m < 0.5 * WITHIN_M && i + 1 < f->cuts.n)
            continue;
        f->failed = !add_stretch(f, q, e, from_m, f->cuts.v[i], 0);
        from_m = f->cuts.v[i];
    }
    out->n_stretches = q->stretches.n;
    out->stretches = q->stretches.v;
    return !f->failed;
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

const struct beam_stretch *beam_stretch_at(const struct beam_edge_in *in, float where_m, uint32_t *near)
{
    uint32_t i = *near;
    while (i + 1 < in->n_stretches && where_m > in->stretches[i].to_m)
        i++;
    while (i > 0 && where_m <= in->stretches[i - 1].to_m) /* of two that meet there the first, whence ever one comes */
        i--;
    *near = i;
    return &in->stretches[i];
}

/* Nodes before the places, and shares of the next, if all places are in the stretch. */
RT_WIDE static bool find_nodes(const struct beam_stretch *s, const float *where_m, int32_t *node, float *share)
{
    int32_t outside = 0;
#pragma omp simd reduction(| : outside)
    for (int l = 0; l < BEAM_LANES; l++) {
        const float at = (where_m[l] - s->from_m) * s->over_step;
        const int32_t i = (int32_t)at;
        node[l] = i < BEAM_STRETCH_NODES - 2 ? i : BEAM_STRETCH_NODES - 2;
        share[l] = at - (float)node[l];
        outside |= (where_m[l] < s->from_m) | (where_m[l] > s->to_m);
    }
    return !outside;
}

static void take(const struct beam_arrival *n, float share, int l, beam_f4 *power, struct beam_complex *phase)
{
    power[l] = n[0].power + share * (n[1].power - n[0].power);
    if (phase) {
        phase->re[l] = n[0].re + share * (n[1].re - n[0].re);
        phase->im[l] = n[0].im + share * (n[1].im - n[0].im);
    }
}

void beam_arrivals_at(const struct beam_edge_in *in, const float where_m[BEAM_LANES], uint32_t *near,
                      beam_f4 power[BEAM_LANES], struct beam_complex *phase)
{
    int32_t node[BEAM_LANES];
    float share[BEAM_LANES];
    const struct beam_stretch *s = beam_stretch_at(in, where_m[0], near);
    if (find_nodes(s, where_m, node, share)) {
        for (int l = 0; l < BEAM_LANES; l++)
            take(s->nodes + node[l], share[l], l, power, phase);
        return;
    }
    for (int l = 0; l < BEAM_LANES; l++) {
        s = beam_stretch_at(in, where_m[l], near);
        const float at = beam_less(beam_more((where_m[l] - s->from_m) * s->over_step, 0.0f), BEAM_STRETCH_NODES - 1);
        const int i = at < (float)(BEAM_STRETCH_NODES - 2) ? (int)at : BEAM_STRETCH_NODES - 2;
        take(s->nodes + i, at - (float)i, l, power, phase);
    }
}

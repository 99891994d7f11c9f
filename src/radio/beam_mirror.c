/* beam_mirror.c - direct and mirrored paths to the lanes of a tile, and the sum of all. */
#include <string.h>

#include "radio/beam_int.h"

#define NEAR_F ((float)SCENE_NEAR_M)
#define NEAREST_F ((float)TRACE_NEAREST_M)
/* Lanes that do not matter never ask for a path. */
#define PLENTY 1e30f
/* Of what may be left out, the part that mirrored paths may take, and of what is left of that the part that one may: it is not
 * known yet what comes, and many light ones are worth more than a heavy one. */
#define CHAINS_PART 0.3f
#define CHAIN_PART 0.1f

/* ---- antennas ---- */

/* Source: Abramowitz and Stegun 4.4.46 (from memory): within 2e-8 of arccos on 0..1. */
static RT_INLINE float arc_cos(float x)
{
    const float size = fabsf(x), a = size < 1.0f ? size : 1.0f;
    const float p =
        ((((((-0.0012624911f * a + 0.0066700901f) * a - 0.0170881256f) * a + 0.0308918810f) * a - 0.0501743046f) * a +
          0.0889789874f) *
             a -
         0.2145988016f) *
            a +
        1.5707963050f;
    const float r = sqrtf(1.0f - a) * p;
    return x < 0.0f ? 3.14159265f - r : r;
}

RT_WIDE void beam_antenna_gains(const struct beam_antenna *a, const struct beam_points *to, beam_f4 gain[BEAM_LANES])
{
    const struct beam_vec at = a->at, front = a->front, right = a->right;
    float ahead[BEAM_LANES], aside[BEAM_LANES], share[BEAM_LANES];
    int32_t node[BEAM_LANES];
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float x = to->x[l] - at.x, y = to->y[l] - at.y, z = to->z[l] - at.z;
        const float length2 = x * x + y * y + z * z, over = 1.0f / sqrtf(length2 > 1e-18f ? length2 : 1e-18f);
        const float c = (x * front.x + y * front.y + z * front.z) * over;
        ahead[l] = length2 > 1e-18f ? c : 1.0f; /* no way at all counts as the front */
        aside[l] = (x * right.x + y * right.y + z * right.z) * over;
    }
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float deg = arc_cos(ahead[l]) * (2.0f * 57.2957795f);
        const int32_t i = (int32_t)deg;
        node[l] = i < BEAM_ELEVATIONS - 1 ? i : BEAM_ELEVATIONS - 1;
        share[l] = deg - (float)node[l];
    }
    for (int l = 0; l < BEAM_LANES; l++) {
        const beam_f4 *n = a->elevation + node[l];
        gain[l] = n[0] + share[l] * (n[1] - n[0]);
    }
    if (!a->azimuth)
        return;
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float r = sqrtf(ahead[l] * ahead[l] + aside[l] * aside[l]);
        const float angle = arc_cos(r > 1e-20f ? ahead[l] / (r > 1e-20f ? r : 1.0f) : 1.0f);
        const float az = ((aside[l] < 0.0f ? -angle : angle) * 57.2957795f + 180.0f) * 2.0f;
        const float least = az > 0.0f ? az : 0.0f;
        const int32_t i = (int32_t)least;
        node[l] = i < BEAM_AZIMUTHS - 1 ? i : BEAM_AZIMUTHS - 1;
        share[l] = least - (float)node[l];
    }
    for (int l = 0; l < BEAM_LANES; l++) {
        const beam_f4 *n = a->azimuth + node[l];
        gain[l] *= n[0] + share[l] * (n[1] - n[0]);
    }
}

/* ---- accounts ---- */

/* The most that any lane's power is over what the lane has already. */
static float weight_of(const struct beam_work *w, const beam_f4 power[BEAM_LANES])
{
    beam_f4 most = beam_f4_all(0.0f);
    for (int l = 0; l < BEAM_LANES; l++)
        most = beam_f4_most(most, power[l] / (w->total[l] + BEAM_FAINT));
    return beam_f4_largest(most);
}

/* True, and booked, if something of this weight may be left out as long as all that was stays below a limit. */
static bool leave_out(struct beam_work *w, float weight, float limit)
{
    if (!(w->left_out + weight <= limit))
        return false;
    w->left_out += weight;
    return true;
}

/* Candidates are told apart by powers of two, which takes no sorting; of equal ones the first go. */
enum { POWERS_OF_2 = 256 };

static uint32_t power_of_2(float weight)
{
    uint32_t bits;
    memcpy(&bits, &weight, sizeof bits);
    return bits >> 23 & (POWERS_OF_2 - 1);
}

uint32_t beam_choose(struct beam_work *w, uint32_t n, float limit)
{
    struct beam_candidate *c = w->candidates;
    const float room = limit - w->left_out;
    float sums[POWERS_OF_2] = { 0 }, lighter = 0.0f;
    for (uint32_t i = 0; i < n; i++)
        sums[power_of_2(c[i].weight)] += c[i].weight;
    uint32_t last = 0; /* all that are lighter go, of these as many as there is room for */
    while (last < POWERS_OF_2 - 1 && lighter + sums[last] <= room)
        lighter += sums[last++];
    w->left_out += lighter;
    uint32_t kept = 0;
    for (uint32_t i = 0; i < n; i++) {
        const uint32_t power = power_of_2(c[i].weight);
        if (power > last || (power == last && !leave_out(w, c[i].weight, limit)))
            c[kept++] = c[i];
    }
    return kept;
}

struct beam_group *beam_group_of(struct beam_work *w, uint32_t group)
{
    if (!w->is_touched[group]) {
        w->is_touched[group] = true;
        w->touched[w->n_touched++] = group;
        memset(&w->groups[group], 0, sizeof w->groups[group]);
    }
    return &w->groups[group];
}

/* ---- chains ---- */

/* A chain on the tile: [0] the antenna, then the bounces, then the spots. */
struct bounces {
    struct beam_points at[TRACE_ORDER_MAX + 2];
    beam_f4 power[BEAM_LANES]; /* free space, antenna and mirrors; 0 in lanes that the chain does not reach */
    struct beam_complex phase; /* of the mirrors */
};

static void fill(struct beam_points *p, struct beam_vec at)
{
    for (int l = 0; l < BEAM_LANES; l++) {
        p->x[l] = at.x;
        p->y[l] = at.y;
        p->z[l] = at.z;
    }
}

/* Where the lanes' ways back to an image meet its plane, in which rows of the tables, and at what angle; lanes that do not
 * are taken out of `alive`. */
static RT_INLINE uint32_t bounce_off(const struct beam_work *w, const struct beam_chain *c, int i,
                                     const struct beam_points *to, uint32_t alive, struct beam_points *at,
                                     int32_t rows[BEAM_LANES], float cos_incidence[BEAM_LANES])
{
    const struct beam_scene *bs = w->bs;
    const uint32_t k = c->planes[i];
    const float nx = bs->nx[k], ny = bs->ny[k], nz = bs->nz[k], d = bs->d[k], image_side = c->image_side_m[i];
    const struct beam_vec image = c->image[i];
    int32_t ok[BEAM_LANES];
    float side[BEAM_LANES];
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        side[l] = to->x[l] * nx + to->y[l] * ny + to->z[l] * nz - d;
        ok[l] = ((side[l] > 0.0f) != (image_side > 0.0f)) & (fabsf(side[l]) >= NEAR_F);
        const float t = ok[l] ? side[l] / (side[l] - image_side) : 0.0f;
        const float x = image.x - to->x[l], y = image.y - to->y[l], z = image.z - to->z[l];
        const float length = sqrtf(x * x + y * y + z * z);
        cos_incidence[l] = fabsf(side[l] - image_side) / (length > 1e-9f ? length : 1e-9f);
        at->x[l] = to->x[l] + t * x;
        at->y[l] = to->y[l] + t * y;
        at->z[l] = to->z[l] + t * z;
        rows[l] = -1;
    }
    for (uint32_t f = bs->first_face[k]; f < bs->first_face[k + 1]; f++) {
        const struct beam_face *face = &bs->faces[f];
        int32_t here[BEAM_LANES];
        beam_face_rows(face, at, here);
        for (int l = 0; l < BEAM_LANES; l++) {
            const int32_t seen = !face->mirrors_on || (face->mirrors_on > 0) == (side[l] > 0.0f);
            rows[l] = rows[l] < 0 && seen && ok[l] ? here[l] : rows[l];
        }
    }
    uint32_t left = 0;
    for (int l = 0; l < BEAM_LANES; l++)
        left |= (uint32_t)(rows[l] >= 0) << l;
    return alive & left;
}

/* Lanes without a path take the points of one that has it: no odd numbers, and no plane is tested for their sake. */
static void copy_first(struct beam_points *p, uint32_t alive)
{
    const int from = __builtin_ctz(alive);
    for (int l = 0; l < BEAM_LANES; l++)
        if (!(alive >> l & 1u)) {
            p->x[l] = p->x[from];
            p->y[l] = p->y[from];
            p->z[l] = p->z[from];
        }
}

RT_WIDE static uint32_t find_bounces(const struct beam_work *w, const struct beam_chain *c, struct bounces *b)
{
    const struct beam_antenna *an = w->antenna;
    uint32_t alive = w->active;
    b->at[c->n + 1] = w->at;
    for (int l = 0; l < BEAM_LANES; l++)
        b->power[l] = an->free_space;
    for (int l = 0; l < BEAM_LANES; l++) {
        b->phase.re[l] = beam_f4_all(1.0f);
        b->phase.im[l] = beam_f4_all(0.0f);
    }
    for (int i = c->n - 1; i >= 0 && alive; i--) {
        int32_t rows[BEAM_LANES];
        float cos_incidence[BEAM_LANES];
        alive = bounce_off(w, c, i, &b->at[i + 2], alive, &b->at[i + 1], rows, cos_incidence);
        for (int l = 0; l < BEAM_LANES; l++) {
            if (!(alive >> l & 1u))
                continue;
            const struct beam_node node = beam_node_of(cos_incidence[l]);
            b->power[l] *= beam_look_up(an->mirror, rows[l], node);
            if (c->n == 1) {
                const struct beam_c4 phase =
                    beam_between(an->mirror_phase + (size_t)rows[l] * WALL_TABLE_NODES + node.i, node.share);
                b->phase.re[l] = phase.re;
                b->phase.im[l] = phase.im;
            }
        }
    }
    if (!alive)
        return 0;
    b->at[0] = w->from;
    for (int i = 1; i <= c->n + 1; i++)
        copy_first(&b->at[i], alive);
    const struct beam_vec last = c->n ? c->image[c->n - 1] : an->at;
    float over_length2[BEAM_LANES];
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float x = w->at.x[l] - last.x, y = w->at.y[l] - last.y, z = w->at.z[l] - last.z;
        const float length2 = x * x + y * y + z * z;
        over_length2[l] = 1.0f / (length2 > NEAREST_F * NEAREST_F ? length2 : NEAREST_F * NEAREST_F);
    }
    beam_f4 gain[BEAM_LANES];
    beam_antenna_gains(an, &b->at[1], gain);
    for (int l = 0; l < BEAM_LANES; l++)
        b->power[l] = alive >> l & 1u ? b->power[l] * gain[l] * over_length2[l] : beam_f4_all(0.0f);
    return alive;
}

static bool leave_out_chain(struct beam_work *w, const struct bounces *b)
{
    const float left = CHAINS_PART * w->may_leave_out - w->left_out;
    return leave_out(w, weight_of(w, b->power), w->left_out + CHAIN_PART * left);
}

/* The path that the edges of its group cut off. */
static void begin_group(struct beam_group *g, const struct bounces *b)
{
    struct beam_complex amplitude;
    beam_f4 parent[BEAM_LANES];
    for (int l = 0; l < BEAM_LANES; l++) {
        parent[l] = beam_f4_sqrt(b->power[l]);
        amplitude.re[l] = parent[l] * b->phase.re[l];
        amplitude.im[l] = parent[l] * b->phase.im[l];
    }
    beam_by_radio(parent, &g->parent);
    beam_by_radio(amplitude.re, &g->re);
    beam_by_radio(amplitude.im, &g->im);
}

/* Traces the legs of a chain whose bounces are known, unless it turns out too weak on the way. */
static void trace_chain(struct beam_work *w, const struct beam_chain *c, struct bounces *b)
{
    const struct beam_scene *bs = w->bs;
    struct beam_complex *const phase = c->n <= 1 && w->options.diffraction ? &b->phase : NULL;
    const struct beam_end *to = &w->spot;
    for (int i = c->n; i >= 0; i--) {
        struct beam_end *from = i > 0 ? &w->bounces[i - 1] : &w->start;
        if (i > 0)
            beam_end_init(bs, &b->at[i], i, from);
        uint32_t without[2], n = 0;
        if (i > 0)
            without[n++] = c->planes[i - 1];
        if (i < c->n)
            without[n++] = c->planes[i];
        beam_leg(w, from, to, without, n, b->power, phase);
        if (i > 0 && leave_out_chain(w, b))
            return;
        to = from;
    }
    for (int l = 0; l < BEAM_LANES; l++)
        w->total[l] += b->power[l];
    if (c->n > 1)
        for (int l = 0; l < BEAM_LANES; l++)
            w->sum[l] += b->power[l];
    else
        begin_group(beam_group_of(w, c->n ? 1 + c->planes[0] : 0), b);
}

/* The direct path and the chains that may reach the tile.  Those of several mirrors are weighed against what the others have
 * brought before their legs are traced. */
static void add_chains(struct beam_work *w)
{
    const struct beam_chain direct = { .n = 0 };
    const uint32_t *alive = w->alive[BEAM_LEVELS - 1];
    struct bounces b;
    if (find_bounces(w, &direct, &b))
        trace_chain(w, &direct, &b);
    for (uint32_t i = 0; i < w->n_alive[BEAM_LEVELS - 1]; i++) {
        const struct beam_chain *c = &w->antenna->chains[alive[i]];
        if (find_bounces(w, c, &b) && (c->n == 1 || !leave_out_chain(w, &b)))
            trace_chain(w, c, &b);
    }
}

/* ---- sifting ---- */

/* Four points of a quadrangle. */
struct quad {
    beam_f4 x, y, z;
};

static RT_INLINE beam_f4 quad_dot(const struct quad *q, struct beam_vec n)
{
    return q->x * n.x + q->y * n.y + q->z * n.z;
}
static RT_INLINE float least_of(beam_f4 a)
{
    const float p = a[0] < a[1] ? a[0] : a[1], q = a[2] < a[3] ? a[2] : a[3];
    return p < q ? p : q;
}

/* The part of a plane where the ways back of a quadrangle of points meet the faces of it: the rectangle about that, in the
 * axes of the first face, as four corners in place of the points; faces that mirror on the side of `sign`.  False if it is
 * empty. */
static RT_INLINE bool clip_to_faces(const struct beam_scene *bs, uint32_t plane, float sign, struct quad *points)
{
    const struct beam_face *axes = &bs->faces[bs->first_face[plane]];
    const float slack = 1e-3f; /* rounding of points far away */
    float u0 = 1e30f, u1 = -1e30f, v0 = 1e30f, v1 = -1e30f;
    for (uint32_t f = bs->first_face[plane]; f < bs->first_face[plane + 1]; f++) {
        const struct beam_face *face = &bs->faces[f];
        if (face->mirrors_on && (face->mirrors_on > 0) != (sign > 0.0f))
            continue;
        const beam_f4 pu = quad_dot(points, face->u) - face->ou, pv = quad_dot(points, face->v) - face->ov;
        const float fu0 = beam_more(least_of(pu), face->u0 - slack),
                    fu1 = beam_less(beam_f4_largest(pu), face->u1 + slack);
        const float fv0 = beam_more(least_of(pv), face->v0 - slack),
                    fv1 = beam_less(beam_f4_largest(pv), face->v1 + slack);
        if (fu0 > fu1 || fv0 > fv1)
            continue;
        /* from this face's axes to those of the first */
        const beam_f4 us = { fu0 + face->ou, fu1 + face->ou, fu0 + face->ou, fu1 + face->ou };
        const beam_f4 vs = { fv0 + face->ov, fv0 + face->ov, fv1 + face->ov, fv1 + face->ov };
        const beam_f4 u = us * beam_vec_dot(face->u, axes->u) + vs * beam_vec_dot(face->v, axes->u);
        const beam_f4 v = us * beam_vec_dot(face->u, axes->v) + vs * beam_vec_dot(face->v, axes->v);
        u0 = beam_less(u0, least_of(u));
        u1 = beam_more(u1, beam_f4_largest(u));
        v0 = beam_less(v0, least_of(v));
        v1 = beam_more(v1, beam_f4_largest(v));
    }
    if (u0 > u1)
        return false;
    const float d = bs->d[plane];
    const beam_f4 us = { u0, u1, u1, u0 }, vs = { v0, v0, v1, v1 };
    points->x = bs->nx[plane] * d + us * axes->u.x + vs * axes->v.x;
    points->y = bs->ny[plane] * d + us * axes->u.y + vs * axes->v.y;
    points->z = bs->nz[plane] * d + us * axes->u.z + vs * axes->v.z;
    return true;
}

/* Cuts off what of a quadrangle does not lie on a mirror's seeing side.  False where that would leave five corners. */
static bool clip_to_seen(struct quad *q, beam_f4 *seen)
{
    const beam_f4 was = *seen;
    const struct quad full = *q;
    for (int i = 0; i < 4; i++) {
        if (was[i] > 0.0f)
            continue;
        const int next = (i + 1) % 4, before = (i + 3) % 4;
        if (was[next] > 0.0f && was[before] > 0.0f)
            return false;
        /* along the side towards what is seen; where both neighbours are cut off too, to where one of them comes to lie */
        const int to = was[next] > 0.0f ? next : was[before] > 0.0f ? before : (i + 2) % 4;
        const int from = to == (i + 2) % 4 ? next : i;
        const float share = was[to] / (was[to] - was[from]);
        q->x[i] = full.x[to] + share * (full.x[from] - full.x[to]);
        q->y[i] = full.y[to] + share * (full.y[from] - full.y[to]);
        q->z[i] = full.z[to] + share * (full.z[from] - full.z[to]);
        (*seen)[i] = 0.0f;
    }
    return true;
}

/* False only if no point of the rectangle can see the chain's last mirrors in their faces.  Corners' ways back bound those
 * of all points between. */
static RT_INLINE bool may_reach(const struct beam_scene *bs, const struct beam_chain *c, struct quad to)
{
    for (int i = c->n - 1; i >= 0; i--) {
        const uint32_t k = c->planes[i];
        const float image_side = c->image_side_m[i], sign = image_side > 0.0f ? -1.0f : 1.0f;
        const struct beam_vec n = { bs->nx[k], bs->ny[k], bs->nz[k] };
        beam_f4 seen = (quad_dot(&to, n) - bs->d[k]) * sign;
        if (!(beam_f4_largest(seen) > 0.0f))
            return false;
        if (!(least_of(seen) > 0.0f) && !clip_to_seen(&to, &seen))
            return true;
        const beam_f4 t = seen / (seen - image_side * sign);
        to.x += (c->image[i].x - to.x) * t;
        to.y += (c->image[i].y - to.y) * t;
        to.z += (c->image[i].z - to.z) * t;
        if (!clip_to_faces(bs, k, sign, &to))
            return false;
    }
    return true;
}

RT_WIDE void beam_sift(struct beam_work *w, int level, const struct beam_vec corners[4])
{
    const uint32_t n = level ? w->n_alive[level - 1] : w->antenna->n_chains;
    uint32_t *out = w->alive[level], kept = 0;
    struct quad square;
    for (int q = 0; q < 4; q++) {
        square.x[q] = corners[q].x;
        square.y[q] = corners[q].y;
        square.z[q] = corners[q].z;
    }
    for (uint32_t i = 0; i < n; i++) {
        const uint32_t chain = level ? w->alive[level - 1][i] : i;
        if (may_reach(w->bs, &w->antenna->chains[chain], square))
            out[kept++] = chain;
    }
    w->n_alive[level] = kept;
}

/* ---- a tile ---- */

enum rt_code beam_work_init(struct arena *a, const struct beam_scene *bs, const struct beam_antenna *antenna,
                            struct trace_options options, double missing_db, struct beam_work *out,
                            struct rt_problems *p)
{
    const uint32_t n_groups = bs->n_planes + 1;
    *out = (struct beam_work){
        .bs = bs, .antenna = antenna, .options = options, .may_leave_out = (float)(pow(10.0, missing_db / 10.0) - 1.0)
    };
    out->groups = ARENA_ARRAY(a, struct beam_group, n_groups);
    out->touched = ARENA_ARRAY(a, uint32_t, n_groups);
    out->is_touched = ARENA_ARRAY(a, bool, n_groups);
    struct beam_end *const ends[] = { &out->start,      &out->spot,       &out->edge,
                                      &out->bounces[0], &out->bounces[1], &out->bounces[2] };
    bool ok = true;
    for (size_t i = 0; i < RT_COUNT(ends); i++) {
        ends[i]->low_m = ARENA_ARRAY(a, float, bs->n_padded);
        ends[i]->high_m = ARENA_ARRAY(a, float, bs->n_padded);
        ok = ok && ends[i]->low_m && ends[i]->high_m;
    }
    out->between = ARENA_ARRAY(a, int32_t, bs->n_padded);
    const uint32_t n_edges = bs->scene->edges.n;
    out->candidates = ARENA_ARRAY(a, struct beam_candidate, antenna->n_chains > n_edges ? antenna->n_chains : n_edges);
    out->weighed = ARENA_ARRAY(a, struct beam_weighed, n_edges);
    out->near = ARENA_ARRAY(a, uint32_t, n_edges);
    ok = ok && out->groups && out->touched && out->is_touched && out->between && out->candidates && out->weighed &&
         out->near;
    for (int i = 0; i < BEAM_LEVELS; i++) {
        out->alive[i] = ARENA_ARRAY(a, uint32_t, antenna->n_chains);
        ok = ok && out->alive[i];
    }
    if (!ok)
        return rt_fail_memory(p);
    fill(&out->from, antenna->at);
    beam_end_init(bs, &out->from, 0, &out->start);
    return RT_OK;
}

static void begin_tile(struct beam_work *w, const struct beam_points *at, uint32_t active)
{
    w->at = *at;
    w->active = active;
    copy_first(&w->at, active);
    for (int l = 0; l < BEAM_LANES; l++) {
        w->sum[l] = beam_f4_all(0.0f);
        w->total[l] = beam_f4_all(active >> l & 1u ? 0.0f : PLENTY);
    }
    for (uint32_t i = 0; i < w->n_touched; i++)
        w->is_touched[w->touched[i]] = false;
    w->n_touched = 0;
    w->left_out = 0.0f;
    beam_end_init(w->bs, &w->at, 0, &w->spot);
}

void beam_tile(struct beam_work *w, const struct beam_points *at, uint32_t active, beam_f4 out[BEAM_LANES])
{
    begin_tile(w, at, active);
    add_chains(w);
    if (w->options.diffraction)
        beam_add_edges(w);
    for (int l = 0; l < BEAM_LANES; l++)
        out[l] = w->sum[l];
    for (uint32_t k = 0; k < w->n_touched; k++) {
        const struct beam_group *g = &w->groups[w->touched[k]];
        for (uint32_t r = 0; r < w->antenna->n_radios; r++)
            for (int l = 0; l < BEAM_LANES; l++) {
                const float re = g->re.v[r][l], im = g->im.v[r][l];
                out[l][r] += re * re + im * im + g->rest.v[r][l];
            }
    }
}

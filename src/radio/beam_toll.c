/* beam_toll.c - what every way between two small bodies has to pay for certain: walls that all of them cross.
 *
 * The ways from all points of one body (an antenna, an edge) to all points of another (an edge, a block of cells) meet a plane
 * between the two in the hull of where the ways between their corners meet it.  If all of that lies in one face, without a
 * gap or another construct in it, each way pays that face, at no steeper an angle than the nearest corner allows. */
#include "radio/beam_int.h"

/* Rounding: what lies within or beyond does so by more than that. */
#define SLACK_M 1e-3f

enum { POINTS_MAX = 8 };

static bool is_convex(const struct beam_polygon *q)
{
    float sign = 0.0f;
    for (uint32_t i = 0; i < q->n; i++) {
        const struct beam_side a = q->sides[i], b = q->sides[(i + 1) % q->n];
        const float cross = a.dx * b.dy - a.dy * b.dx;
        if (sign * cross < 0.0f)
            return false;
        sign = cross != 0.0f ? cross : sign;
    }
    return true;
}

static bool polygon_has(const struct beam_polygon *q, float u, float v)
{
    bool odd = false;
    for (uint32_t i = 0; i < q->n; i++) {
        const struct beam_side s = q->sides[i];
        odd ^= (s.ay > v) != (s.by > v) && u - s.ax < (v - s.ay) * s.slope;
    }
    return odd;
}

/* Where ways meet a face's plane, and the rectangle about it. */
struct hull {
    uint32_t n;
    float u[POINTS_MAX], v[POINTS_MAX], u0, u1, v0, v1;
};

static bool overlaps(const struct hull *s, float u0, float u1, float v0, float v1)
{
    return s->u1 >= u0 - SLACK_M && s->u0 <= u1 + SLACK_M && s->v1 >= v0 - SLACK_M && s->v0 <= v1 + SLACK_M;
}

static bool overlaps_polygon(const struct hull *s, const struct beam_polygon *q)
{
    float u0 = 1e30f, u1 = -1e30f, v0 = 1e30f, v1 = -1e30f;
    for (uint32_t k = 0; k < q->n; k++) {
        u0 = fminf(u0, q->sides[k].ax);
        u1 = fmaxf(u1, q->sides[k].ax);
        v0 = fminf(v0, q->sides[k].ay);
        v1 = fmaxf(v1, q->sides[k].ay);
    }
    return overlaps(s, u0, u1, v0, v1);
}

/* The face's toll for the hull; false if some way may go free. */
static bool toll_of(const struct beam_face *f, const struct hull *s, struct beam_toll *out)
{
    if (s->u0 < f->u0 + SLACK_M || s->u1 > f->u1 - SLACK_M || s->v0 < f->v0 + SLACK_M || s->v1 > f->v1 - SLACK_M)
        return false;
    if (f->outline.n && !is_convex(&f->outline))
        return false;
    for (uint32_t i = 0; f->outline.n && i < s->n; i++)
        if (!polygon_has(&f->outline, s->u[i], s->v[i]))
            return false;
    for (uint32_t i = 0; i < f->n_cuts; i++)
        if (overlaps_polygon(s, &f->cuts[i]))
            return false;
    *out = (struct beam_toll){ .row = (int16_t)f->row, .other = (int16_t)f->row, .is_half = f->is_half };
    for (uint32_t i = 0; i < f->n_patches; i++) {
        const struct beam_patch q = f->patches[i];
        if (!overlaps(s, q.u0, q.u1, q.v0, q.v1))
            continue;
        if (q.row < 0 || (out->other != out->row && out->other != q.row))
            return false;
        out->other = (int16_t)q.row;
    }
    return true;
}

static void find_hull(const struct beam_face *f, const struct beam_vec *x, uint32_t n, struct hull *out)
{
    out->n = n;
    for (uint32_t i = 0; i < n; i++) {
        const float u = beam_vec_dot(x[i], f->u) - f->ou, v = beam_vec_dot(x[i], f->v) - f->ov;
        out->u[i] = u;
        out->v[i] = v;
        out->u0 = i && out->u0 < u ? out->u0 : u;
        out->u1 = i && out->u1 > u ? out->u1 : u;
        out->v0 = i && out->v0 < v ? out->v0 : v;
        out->v1 = i && out->v1 > v ? out->v1 : v;
    }
}

/* Planes with one body wholly on either side. */
static uint32_t planes_between(const struct beam_scene *bs, const struct beam_body *a, const struct beam_body *b,
                               uint32_t *out)
{
    uint32_t n = 0;
    for (uint32_t k = 0; k < bs->n_planes; k++) {
        const bool up = a->low_m[k] > SLACK_M && b->high_m[k] < -SLACK_M;
        const bool down = a->high_m[k] < -SLACK_M && b->low_m[k] > SLACK_M;
        if ((up || down) && n < BEAM_TOLL_PLANES_MAX)
            out[n++] = k;
    }
    return n;
}

void beam_find_tolls(const struct beam_scene *bs, const struct beam_body *a, const struct beam_body *b,
                     const uint32_t *without, uint32_t n_without, struct beam_tolls *out)
{
    uint32_t planes[BEAM_TOLL_PLANES_MAX];
    const uint32_t n_planes = planes_between(bs, a, b, planes);
    float longest2 = 0.0f;
    for (uint32_t i = 0; i < a->n; i++)
        for (uint32_t j = 0; j < b->n; j++) {
            const struct beam_vec way = beam_vec_sub(b->corners[j], a->corners[i]);
            longest2 = fmaxf(longest2, beam_vec_dot(way, way));
        }
    const float over_longest = 1.0f / sqrtf(longest2);
    out->n = 0;
    for (uint32_t m = 0; m < n_planes && out->n < BEAM_TOLLS_MAX; m++) {
        const uint32_t k = planes[m];
        bool skip = false;
        for (uint32_t i = 0; i < n_without; i++)
            skip = skip || without[i] == k;
        if (skip)
            continue;
        const struct beam_vec normal = { bs->nx[k], bs->ny[k], bs->nz[k] };
        struct beam_vec x[POINTS_MAX];
        uint32_t n = 0;
        for (uint32_t i = 0; i < a->n; i++)
            for (uint32_t j = 0; j < b->n; j++) {
                const struct beam_vec way = beam_vec_sub(b->corners[j], a->corners[i]);
                const float from = beam_vec_dot(a->corners[i], normal) - bs->d[k];
                x[n++] = beam_vec_add(a->corners[i], beam_vec_scale(way, -from / beam_vec_dot(way, normal)));
            }
        const float gap = a->low_m[k] > 0.0f ? a->low_m[k] - b->high_m[k] : b->low_m[k] - a->high_m[k];
        const uint16_t node = (uint16_t)beam_node_of(gap * over_longest - 1e-5f).i;
        for (uint32_t i = bs->first_face[k]; i < bs->first_face[k + 1] && out->n < BEAM_TOLLS_MAX; i++) {
            struct hull hull = { 0 };
            find_hull(&bs->faces[i], x, n, &hull);
            if (toll_of(&bs->faces[i], &hull, &out->v[out->n]))
                out->v[out->n++].node = node;
        }
    }
}

beam_f4 beam_most_after(const struct beam_antenna *an, const struct beam_tolls *tolls)
{
    beam_f4 most = beam_f4_all(1.0f);
    for (uint32_t i = 0; i < tolls->n; i++) {
        const struct beam_toll t = tolls->v[i];
        beam_f4 pass = an->pass_most[(size_t)t.row * WALL_TABLE_NODES + t.node];
        if (t.other != t.row) {
            const beam_f4 other = an->pass_most[(size_t)t.other * WALL_TABLE_NODES + t.node];
            for (int r = 0; r < BEAM_RADIOS; r++)
                pass[r] = pass[r] > other[r] ? pass[r] : other[r];
        }
        most *= t.is_half ? beam_f4_sqrt(pass) : pass;
    }
    return most;
}

void beam_body_set(const struct beam_scene *bs, const struct beam_vec *corners, uint32_t n, struct beam_body *body)
{
    body->n = n;
    for (uint32_t i = 0; i < n; i++)
        body->corners[i] = corners[i];
    for (uint32_t k = 0; k < bs->n_planes; k++)
        for (uint32_t i = 0; i < n; i++) {
            const struct beam_vec q = corners[i];
            const float side = q.x * bs->nx[k] + q.y * bs->ny[k] + q.z * bs->nz[k] - bs->d[k];
            body->low_m[k] = i && body->low_m[k] < side ? body->low_m[k] : side;
            body->high_m[k] = i && body->high_m[k] > side ? body->high_m[k] : side;
        }
}

bool beam_body_init(struct arena *a, const struct beam_scene *bs, const struct beam_vec *corners, uint32_t n,
                    struct beam_body *out)
{
    out->low_m = ARENA_ARRAY(a, float, bs->n_padded);
    out->high_m = ARENA_ARRAY(a, float, bs->n_padded);
    if (!out->low_m || !out->high_m)
        return false;
    beam_body_set(bs, corners, n, out);
    return true;
}

/* beam_scene.c - the scene and the antennas in the form in which the fast tracer reads them. */
#include "base/units.h"
#include "radio/beam_int.h"

static struct beam_vec shifted(const struct beam_scene *bs, struct vec3 at)
{
    return beam_vec_from(vec3_sub(at, bs->middle));
}

/* ---- planes and faces ---- */

static bool add_polygon(struct arena *a, vec2_list outline, double tolerance_m, struct beam_polygon *out)
{
    struct beam_side *sides = ARENA_ARRAY(a, struct beam_side, outline.n);
    if (!sides)
        return false;
    for (uint32_t i = 0, j = outline.n - 1; i < outline.n; j = i++) {
        const struct vec2 p = outline.v[i], q = outline.v[j], pq = vec2_sub(q, p);
        const double length2 = vec2_dot(pq, pq);
        sides[i] = (struct beam_side){ .ax = (float)p.x,
                                       .ay = (float)p.y,
                                       .bx = (float)q.x,
                                       .by = (float)q.y,
                                       .dx = (float)pq.x,
                                       .dy = (float)pq.y,
                                       .over_length2 = length2 > 0.0 ? (float)(1.0 / length2) : 0.0f,
                                       .slope = pq.y != 0.0 ? (float)(pq.x / pq.y) : 0.0f };
    }
    *out = (struct beam_polygon){ outline.n, sides, (float)(tolerance_m * tolerance_m) };
    return true;
}

/* True if the outline is a rectangle along the axes, whose bounds then say it all. */
static bool is_rectangle(vec2_list outline)
{
    bool ok = outline.n == 4;
    for (uint32_t i = 0; ok && i < 4; i++) {
        const struct vec2 side = vec2_sub(outline.v[(i + 1) % 4], outline.v[i]);
        const struct vec2 next = vec2_sub(outline.v[(i + 2) % 4], outline.v[(i + 1) % 4]);
        ok = fabs(side.x * side.y) < 1e-12 && fabs(vec2_dot(side, next)) < 1e-12;
    }
    return ok;
}

/* The row of a construct, or of half of it, in the tables; a new one if it has none yet. */
static int32_t row_of(struct beam_scene *bs, uint32_t construct, bool is_half)
{
    if (construct == NO_REF)
        return -1;
    for (uint32_t i = 0; i < bs->n_rows; i++)
        if (bs->rows[i].construct == construct && bs->rows[i].is_half == is_half)
            return (int32_t)i;
    bs->rows[bs->n_rows] = (struct beam_row){ construct, is_half };
    return (int32_t)bs->n_rows++;
}

/* The face reaches a little into its openings: face_at() of scene.c. */
static struct beam_patch patch_of(double u0, double u1, double v0, double v1, int32_t row)
{
    return (struct beam_patch){ (float)(u0 + SCENE_JOIN_M), (float)(u1 - SCENE_JOIN_M), (float)(v0 + SCENE_JOIN_M),
                                (float)(v1 - SCENE_JOIN_M), row };
}

static bool add_face(struct arena *a, struct beam_scene *bs, const struct face *f, struct beam_face *out)
{
    const struct vec3 origin = vec3_sub(f->origin, bs->middle);
    *out = (struct beam_face){ .u = beam_vec_from(f->u),
                               .v = beam_vec_from(f->v),
                               .ou = (float)vec3_dot(origin, f->u),
                               .ov = (float)vec3_dot(origin, f->v),
                               .u0 = (float)f->u0,
                               .u1 = (float)f->u1,
                               .v0 = (float)f->v0,
                               .v1 = (float)f->v1,
                               .plane = f->plane,
                               .row = row_of(bs, f->construct, f->is_half),
                               .mirrors_on = f->mirrors_on };
    if (f->outline.n && !is_rectangle(f->outline) && !add_polygon(a, f->outline, SCENE_JOIN_M, &out->outline))
        return false;
    struct beam_polygon *cuts = ARENA_ARRAY(a, struct beam_polygon, f->cuts.n);
    struct beam_patch *patches = ARENA_ARRAY(a, struct beam_patch, f->patches.n + f->cuts.n);
    if (!cuts || !patches)
        return false;
    for (uint32_t i = 0; i < f->cuts.n; i++) {
        const vec2_list cut = f->cuts.v[i];
        if (is_rectangle(cut)) {
            const struct vec2 p = cut.v[0], q = cut.v[2];
            patches[out->n_patches++] = patch_of(fmin(p.x, q.x), fmax(p.x, q.x), fmin(p.y, q.y), fmax(p.y, q.y), -1);
        } else if (!add_polygon(a, cut, SCENE_JOIN_M, &cuts[out->n_cuts++])) {
            return false;
        }
    }
    for (uint32_t i = 0; i < f->patches.n; i++) {
        const struct patch *q = &f->patches.v[i];
        patches[out->n_patches++] = patch_of(q->u0, q->u1, q->v0, q->v1, row_of(bs, q->construct, f->is_half));
    }
    out->cuts = cuts;
    out->patches = patches;
    return true;
}

/* Without a bound. */
#define PLENTY 1e30f

/* Box about a face, a little larger than rounding, and its ends seen from above. */
static void set_box(struct beam_scene *bs, uint32_t i, const struct face *f)
{
    const double us[2] = { f->u0, f->u1 }, vs[2] = { f->v0, f->v1 };
    for (int c = 0; c < 4; c++) {
        const struct beam_vec q = shifted(bs, face_point(f, us[c & 1], vs[c >> 1]));
        const float at[3] = { q.x, q.y, q.z };
        for (int k = 0; k < 3; k++) {
            bs->box[k][i] = fminf(c ? bs->box[k][i] : at[k] - 1e-4f, at[k] - 1e-4f);
            bs->box[3 + k][i] = fmaxf(c ? bs->box[3 + k][i] : at[k] + 1e-4f, at[k] + 1e-4f);
        }
    }
    bs->low[i] = (beam_f4){ bs->box[0][i], bs->box[1][i], bs->box[2][i] };
    bs->high[i] = (beam_f4){ bs->box[3][i], bs->box[4][i], bs->box[5][i] };
    const bool is_upright = fabs(f->u.z) < 1e-6 && hypot(f->v.x, f->v.y) < 1e-6;
    for (int end = 0; end < 2; end++) {
        const struct beam_vec q = shifted(bs, face_point(f, us[end], vs[0]));
        bs->plan[2 * end][i] = is_upright ? q.x : 0.0f;
        bs->plan[2 * end + 1][i] = is_upright ? q.y : 0.0f;
    }
    bs->plan[4][i] = is_upright ? 0.0f : PLENTY;
}

static struct beam_screen screen_of(struct beam_scene *bs, uint32_t face, uint32_t construct)
{
    const struct face *f = &bs->scene->faces.v[face];
    return (struct beam_screen){ .n = beam_vec_from(bs->scene->planes.v[f->plane].n),
                                 .plane = f->plane,
                                 .row = row_of(bs, construct, f->is_half),
                                 .mirrors_on = f->mirrors_on };
}

static void add_edge(struct beam_scene *bs, const struct edge *e, struct beam_edge *out)
{
    *out = (struct beam_edge){ .from = shifted(bs, e->from),
                               .axis = beam_vec_from(e->axis),
                               .length_m = (float)e->length_m,
                               .n_screens = e->n_screens };
    for (uint32_t i = 0; i < e->n_screens; i++) {
        const struct screen *s = &e->screens[i];
        out->screens[i] = screen_of(bs, s->face, s->construct);
        out->screens[i].along = beam_vec_from(s->along);
        out->screens[i].behind = s->behind;
        bool known = false;
        for (uint32_t k = 0; k < out->n_planes; k++)
            known = known || out->planes[k] == s->plane;
        if (!known)
            out->planes[out->n_planes++] = s->plane;
    }
    for (uint32_t i = 0; i < e->n_touching; i++)
        out->touching[out->n_touching++] = screen_of(bs, e->touching[i].face, e->touching[i].construct);
}

enum rt_code beam_scene_build(struct arena *a, const struct scene *s, struct beam_scene *out, struct rt_problems *p)
{
    *out = (struct beam_scene){ .scene = s,
                                .middle = vec3_scale(vec3_add(s->low, s->high), 0.5),
                                .n_planes = s->planes.n,
                                .n_padded = (s->planes.n + 15) / 16 * 16,
                                .n_faces = s->faces.n,
                                .n_faces_padded = (s->faces.n + 15) / 16 * 16 };
    uint32_t *first_face = ARENA_ARRAY(a, uint32_t, (size_t)s->planes.n + 1);
    out->faces = ARENA_ARRAY(a, struct beam_face, s->faces.n);
    out->edges = ARENA_ARRAY(a, struct beam_edge, s->edges.n);
    out->rows = ARENA_ARRAY(a, struct beam_row, 2 * (size_t)s->house->constructs.n);
    out->nx = ARENA_ARRAY(a, float, out->n_padded);
    out->ny = ARENA_ARRAY(a, float, out->n_padded);
    out->nz = ARENA_ARRAY(a, float, out->n_padded);
    out->d = ARENA_ARRAY(a, float, out->n_padded);
    if (!first_face || !out->faces || !out->edges || !out->rows || !out->nx || !out->ny || !out->nz || !out->d)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < out->n_padded; i++)
        out->d[i] = 1.0f;
    for (uint32_t i = 0; i < s->planes.n; i++) {
        const struct plane_of_faces *q = &s->planes.v[i];
        out->nx[i] = (float)q->n.x;
        out->ny[i] = (float)q->n.y;
        out->nz[i] = (float)q->n.z;
        out->d[i] = (float)(q->d - vec3_dot(q->n, out->middle));
        first_face[i] = q->first_face;
    }
    first_face[s->planes.n] = s->faces.n;
    out->first_face = first_face;
    out->low = ARENA_ARRAY(a, beam_f4, s->faces.n);
    out->high = ARENA_ARRAY(a, beam_f4, s->faces.n);
    if (!out->low || !out->high)
        return rt_fail_memory(p);
    for (int k = 0; k < 5; k++) {
        out->plan[k] = ARENA_ARRAY(a, float, out->n_faces_padded);
        if (!out->plan[k])
            return rt_fail_memory(p);
    }
    for (int k = 0; k < 6; k++) {
        out->box[k] = ARENA_ARRAY(a, float, out->n_faces_padded);
        if (!out->box[k])
            return rt_fail_memory(p);
        for (uint32_t i = 0; i < out->n_faces_padded; i++)
            out->box[k][i] = k < 3 ? PLENTY : -PLENTY;
    }
    for (uint32_t i = 0; i < s->faces.n; i++) {
        if (!add_face(a, out, &s->faces.v[i], &out->faces[i]))
            return rt_fail_memory(p);
        set_box(out, i, &s->faces.v[i]);
    }
    for (uint32_t i = 0; i < s->edges.n; i++)
        add_edge(out, &s->edges.v[i], &out->edges[i]);
    return RT_OK;
}

/* ---- antennas ---- */

static double cut_dbi(const double_list *x, const double_list *y, double at)
{
    struct antenna one = { .elevation_deg = *x, .elevation_dbi = *y };
    const struct antenna_pose pose = { .front = { 0.0, 0.0, 1.0 }, .up = { 1.0, 0.0, 0.0 } };
    const double rad = units_rad_from_deg(at);
    return antenna_gain_dbi(&one, pose, (struct vec3){ 0.0, sin(rad), cos(rad) });
}

/* Elevation and azimuth multiply, so each has a table over its angle; beyond the last node it is doubled. */
static bool fill_pattern(struct arena *a, const struct antenna *antenna, struct antenna_pose pose, uint32_t radio,
                         struct beam_antenna *out)
{
    const bool has_azimuth = antenna->azimuth_deg.n && antenna->azimuth_deg.n == antenna->azimuth_dbi.n;
    for (int i = 0; i <= BEAM_ELEVATIONS; i++) {
        const double deg = 0.5 * (i < BEAM_ELEVATIONS ? i : BEAM_ELEVATIONS - 1);
        out->elevation[i][radio] =
            (float)units_ratio_from_db(cut_dbi(&antenna->elevation_deg, &antenna->elevation_dbi, deg));
    }
    if (!has_azimuth)
        return true;
    if (!out->azimuth) {
        out->azimuth = ARENA_ARRAY(a, beam_f4, BEAM_AZIMUTHS + 1);
        if (!out->azimuth)
            return false;
        for (int i = 0; i <= BEAM_AZIMUTHS; i++)
            out->azimuth[i] = beam_f4_all(1.0f);
    }
    const struct vec3 right = vec3_cross(pose.front, pose.up);
    for (int i = 0; i <= BEAM_AZIMUTHS; i++) {
        const double rad = units_rad_from_deg(-180.0 + 0.5 * (i < BEAM_AZIMUTHS ? i : BEAM_AZIMUTHS - 1));
        const struct vec3 way = vec3_add(vec3_scale(pose.front, cos(rad)), vec3_scale(right, sin(rad)));
        const double elevation_deg = fabs(units_deg_from_rad(rad));
        const double rest_db = antenna_gain_dbi(antenna, pose, way) -
                               cut_dbi(&antenna->elevation_deg, &antenna->elevation_dbi, elevation_deg);
        out->azimuth[i][radio] = (float)units_ratio_from_db(rest_db);
    }
    return true;
}

/* ---- chains of mirrors ---- */

/* Some face of the plane mirrors on the given side. */
static bool mirrors_on_side(const struct scene *s, uint32_t plane, double side_m)
{
    const struct plane_of_faces *p = &s->planes.v[plane];
    for (uint32_t i = p->first_face; i < p->first_face + p->n_faces; i++)
        if (!s->faces.v[i].mirrors_on || (s->faces.v[i].mirrors_on > 0) == (side_m > 0.0))
            return true;
    return false;
}

/* Some face of the plane has a corner on the given side of another plane (or the plane can't tell). */
static bool reaches_side(const struct scene *s, uint32_t plane, uint32_t of, double side_m)
{
    const struct plane_of_faces *p = &s->planes.v[plane];
    for (uint32_t i = p->first_face; i < p->first_face + p->n_faces; i++) {
        const struct face *f = &s->faces.v[i];
        const double us[2] = { f->u0, f->u1 }, vs[2] = { f->v0, f->v1 };
        for (int c = 0; c < 4; c++) {
            const double at_m = plane_side_m(&s->planes.v[of], face_point(f, us[c & 1], vs[c >> 1]));
            if (side_m > 0.0 ? at_m > -SCENE_NEAR_M : at_m < SCENE_NEAR_M)
                return true;
        }
    }
    return false;
}

typedef VEC(struct beam_chain) chain_vec;

/* All chains in order of their length, then of their planes; a bounce must lie on the side of the mirror before it on
 * which the antenna's image of then lay. */
static enum rt_code find_chains(struct arena *a, const struct beam_scene *bs, struct vec3 from, int order,
                                struct beam_antenna *out, struct rt_problems *p)
{
    const struct scene *s = bs->scene;
    chain_vec chains = { 0 };
    VEC(struct vec3) images = { 0 };
    uint32_t begin = 0;
    for (int n = 1; n <= order; n++) {
        const uint32_t end = chains.n;
        for (uint32_t parent = begin; parent < (n == 1 ? 1 : end); parent++)
            for (uint32_t k = 0; k < s->planes.n; k++) {
                struct beam_chain c = { 0 };
                struct vec3 image = from, before = from;
                if (n > 1) {
                    c = chains.v[parent];
                    image = images.v[parent];
                    before = plane_mirror(&s->planes.v[c.planes[c.n - 1]], image);
                    const double side_m = plane_side_m(&s->planes.v[c.planes[c.n - 1]], before);
                    if (c.planes[c.n - 1] == k || !reaches_side(s, k, c.planes[c.n - 1], side_m))
                        continue;
                }
                const struct plane_of_faces *q = &s->planes.v[k];
                const double side_m = plane_side_m(q, image);
                if (fabs(side_m) < SCENE_NEAR_M || !mirrors_on_side(s, k, side_m))
                    continue;
                image = plane_mirror(q, image);
                c.planes[c.n] = k;
                c.image[c.n] = shifted(bs, image);
                c.image_side_m[c.n] = (float)plane_side_m(q, image);
                c.n++;
                if (!VEC_PUSH(a, &chains, c) || !VEC_PUSH(a, &images, image))
                    return rt_fail_memory(p);
            }
        begin = end;
    }
    out->chains = chains.v;
    out->n_chains = chains.n;
    return RT_OK;
}

enum rt_code beam_antenna_build(const struct run *run, const struct beam_scene *bs, const struct beam_tables *t,
                                const struct ap_radio *radios, struct trace_options options, double missing_db,
                                struct beam_box spots, struct beam_antenna *out, struct rt_problems *p)
{
    struct arena *a = run->arena;
    const struct antenna_pose pose = radios[0].pose;
    *out = (struct beam_antenna){ .from = radios[0].at_m,
                                  .at = shifted(bs, radios[0].at_m),
                                  .n_radios = t->n_radios,
                                  .tables = t,
                                  .pass = t->pass,
                                  .mirror = t->mirror,
                                  .pass_phase = t->pass_phase,
                                  .mirror_phase = t->mirror_phase,
                                  .front = beam_vec_from(pose.front),
                                  .up = beam_vec_from(pose.up),
                                  .right = beam_vec_from(vec3_cross(pose.front, pose.up)) };
    float *side_m = ARENA_ARRAY(a, float, bs->n_padded);
    if (!side_m)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < bs->n_padded; i++)
        side_m[i] = -1.0f;
    for (uint32_t i = 0; i < bs->n_planes; i++)
        side_m[i] = (float)plane_side_m(&bs->scene->planes.v[i], out->from);
    out->side_m = side_m;
    for (uint32_t r = 0; r < t->n_radios; r++) {
        const double wavelength_m = RT_C0_M_S / radios[r].centre_hz, free = wavelength_m / (4.0 * RT_PI);
        out->free_space[r] = (float)(free * free);
        out->wave_number[r] = (float)(2.0 * RT_PI / wavelength_m);
        if (!fill_pattern(a, radios[r].antenna, pose, r, out))
            return rt_fail_memory(p);
    }
    if (options.diffraction && !beam_look_at_edges(a, bs, options, missing_db, spots, out))
        return rt_fail_memory(p);
    return find_chains(a, bs, out->from, options.order, out, p);
}

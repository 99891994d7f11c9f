/* spot.c - every path to one spot, told for people. */
#include "base/units.h"
#include "radio/trace.h"

/* A path this weak is as good as none; figures stay finite. */
#define LEAST_POWER 1e-40

static double db_from_power(double power) { return units_db_from_ratio(fmax(power, LEAST_POWER)); }

static struct crossing crossing_of(const struct scene *s, const struct trace_event *e)
{
    struct crossing c = { .construct = e->hit.construct,
                          .angle_deg = units_deg_from_rad(acos(fmin(e->cos_incidence, 1.0))),
                          .loss_db = -db_from_power(e->power),
                          .at_m = e->at,
                          .is_reflection = e->kind == MET_MIRROR,
                          .is_bend = e->kind == MET_EDGE };
    if (e->kind == MET_EDGE) {
        c.id = s->edges.v[e->face].id;
        c.construct = s->edges.v[e->face].screens[0].construct;
        c.angle_deg = 0.0;
    } else {
        c.id = e->hit.patch && e->hit.patch->id.n ? e->hit.patch->id : s->faces.v[e->face].id;
    }
    return c;
}

/* Lists what the path meets.  A solid obstacle's way in and way out, half the loss each, are told as one crossing, where
 * the wave enters it. */
static enum rt_code list_crossings(struct arena *a, const struct scene *s, const trace_event_vec *events,
                                   struct path *path, struct rt_problems *p)
{
    path->crossings.v = ARENA_ARRAY(a, struct crossing, events->n);
    if (!path->crossings.v)
        return rt_fail_memory(p);
    const struct obstacle *inside = NULL;
    for (uint32_t i = 0; i < events->n; i++) {
        const struct trace_event *e = &events->v[i];
        const struct obstacle *solid = e->kind == MET_THROUGH ? s->faces.v[e->face].solid : NULL;
        const struct crossing c = crossing_of(s, e);
        if (solid && solid == inside && path->crossings.n) {
            path->crossings.v[path->crossings.n - 1].loss_db += c.loss_db;
            inside = NULL;
            continue;
        }
        inside = solid;
        path->crossings.v[path->crossings.n++] = c;
    }
    return RT_OK;
}

static enum rt_code list_path(struct arena *a, const struct tracer *t, const struct trace_path *found, struct vec3 at_m,
                              struct path *out, struct rt_problems *p)
{
    struct trace_detail detail;
    RT_TRY(trace_describe(t, found, at_m, a, &detail, p));
    *out = (struct path){ .kind = found->kind,
                          .order = found->order,
                          .length_m = detail.length_m,
                          .antenna_dbi = detail.antenna_dbi,
                          .gain_db = db_from_power(found->power) };
    out->free_space_db =
        2.0 * units_db_from_ratio(4.0 * RT_PI * fmax(detail.length_m, TRACE_NEAREST_M) / t->wavelength_m);
    out->points.v = ARENA_ARRAY(a, struct vec3, (size_t)detail.n_points);
    if (!out->points.v)
        return rt_fail_memory(p);
    for (int i = 0; i < detail.n_points; i++)
        out->points.v[out->points.n++] = detail.points[i];
    return list_crossings(a, t->scene, &detail.events, out, p);
}

struct ranked {
    double power;
    uint32_t i;
};

static int stronger_first(const void *a, const void *b)
{
    const struct ranked *x = a, *y = b;
    if (x->power != y->power)
        return x->power > y->power ? -1 : 1;
    return x->i < y->i ? -1 : x->i > y->i;
}

/* Tables and the search itself live in `scratch`, what is told in run->arena. */
static enum rt_code find_paths(const struct run *run, struct arena *scratch, struct wall_tables *tables,
                               const struct scene *s, const struct ap_radio *radio, struct vec3 at_m,
                               struct trace_options options, uint32_t max_paths, path_list *out, double *gain_db,
                               struct rt_problems *p)
{
    const struct run scratch_run = { .arena = scratch, .n_threads = 1 };
    struct wall_tables own = { .run = &scratch_run };
    const struct wall_table *walls = NULL;
    struct tracer t;
    trace_path_vec found = { 0 };
    double power;
    RT_TRY(wall_tables_get(tables ? tables : &own, s->house, radio->centre_hz, options.estimate, &walls, p));
    RT_TRY(tracer_init_with(&scratch_run, s, walls, radio->at_m, radio->antenna, radio->pose, options, &t, p));
    RT_TRY(trace_spot(&t, at_m, scratch, &found, &power, p));
    struct ranked *order = ARENA_ARRAY(scratch, struct ranked, found.n);
    if (!order)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < found.n; i++)
        order[i] = (struct ranked){ found.v[i].power, i };
    if (found.n)
        qsort(order, found.n, sizeof *order, stronger_first);
    const uint32_t n = max_paths && max_paths < found.n ? max_paths : found.n;
    *out = (path_list){ .v = ARENA_ARRAY(run->arena, struct path, n) };
    if (!out->v)
        return rt_fail_memory(p);
    for (; out->n < n; out->n++)
        RT_TRY(list_path(run->arena, &t, &found.v[order[out->n].i], at_m, &out->v[out->n], p));
    *gain_db = db_from_power(power);
    return RT_OK;
}

enum rt_code spot_paths(const struct run *run, struct wall_tables *tables, const struct scene *s,
                        const struct ap_radio *radio, struct vec3 at_m, struct trace_options options,
                        uint32_t max_paths, path_list *out, double *gain_db, struct rt_problems *p)
{
    struct arena *scratch = arena_new((size_t)ARENA_DEFAULT_LIMIT_MB << 20);
    if (!scratch)
        return rt_fail_memory(p);
    const enum rt_code code = find_paths(run, scratch, tables, s, radio, at_m, options, max_paths, out, gain_db, p);
    arena_free(scratch);
    return code;
}

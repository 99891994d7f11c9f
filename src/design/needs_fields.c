/* The fields of all places, in the cells of promised rooms only.
 *
 * The radios of one offer are traced together, as those of one access point of a house are: so their field is the same to the last
 * bit as the one that promises are judged on.  Offers of one place whose radios have the same channels and antennas share it, for
 * powers are not in it.  Places are computed side by side, each by one thread in memory of its own. */
#include <omp.h>

#include "base/units.h"
#include "design/needs_int.h"
#include "promise/coverage.h"

bool needs_is_about_rooms(enum promise_kind kind)
{
    return kind == PROMISE_SIGNAL || kind == PROMISE_RATE || kind == PROMISE_ROAMING;
}

/* ---- the cells ---- */

static bool has_room(const struct needs *n, uint32_t grid, uint32_t room)
{
    for (uint32_t i = 0; i < n->rooms.n; i++)
        if (n->rooms.v[i].room == room && n->rooms.v[i].grid == grid)
            return true;
    return false;
}

typedef VEC(size_t) cell_vec;

static bool add_room(struct arena *a, struct needs *n, uint32_t grid, uint32_t room, cell_vec *cells)
{
    const struct grid *g = &n->grids.grids.v[grid];
    struct need_room *r = &n->rooms.v[n->rooms.n];
    *r = (struct need_room){ .room = room, .grid = grid, .first = cells->n };
    for (uint32_t iy = 0; iy < g->ny; iy++)
        for (uint32_t ix = 0; ix < g->nx; ix++)
            if (cell_is_in_room(n->space->house, g, room, ix, iy) && !VEC_PUSH(a, cells, (size_t)iy * g->nx + ix))
                return false;
    r->n = cells->n - r->first;
    n->rooms.n += r->n > 0;
    return true;
}

static enum rt_code find_cells(const struct run *run, struct needs *n, struct rt_problems *p)
{
    const struct house *h = n->space->house;
    cell_vec cells = { 0 };
    RT_TRY(grids_of_house(run, h, n->bare.options.cell_m, &n->grids, p));
    RT_TRY(fields_want_nothing(run, &n->grids, p));
    coverage_want(h, &n->grids);
    n->rooms.v = ARENA_ARRAY(run->arena, struct need_room, (size_t)n->grids.grids.n * h->rooms.n);
    if (!n->rooms.v)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < h->promises.n; i++)
        for (uint32_t room = 0; room < h->rooms.n; room++) {
            const struct promise *q = &h->promises.v[i];
            if (!needs_is_about_rooms(q->kind) || !room_is_meant(q, room))
                continue;
            const uint32_t grid = coverage_grid_of(h, &n->grids, q, room);
            if (grid != NO_REF && !has_room(n, grid, room) && !add_room(run->arena, n, grid, room, &cells))
                return rt_fail_memory(p);
        }
    n->cells = cells.v;
    n->n_cells = cells.n;
    return RT_OK;
}

/* ---- whose field is whose ---- */

/* Radios of one holder, to be traced. */
struct batch {
    uint32_t first, n;
    enum rt_code code;
};

typedef LIST(struct batch) batch_list;

static bool is_same_list(const double_list *a, const double_list *b)
{
    bool same = a->n == b->n;
    for (uint32_t i = 0; i < a->n && same; i++)
        same = !(fabs(a->v[i] - b->v[i]) > 0.0);
    return same;
}

static bool is_same_antenna(const struct antenna *a, const struct antenna *b)
{
    return a == b ||
           (is_same_list(&a->elevation_deg, &b->elevation_deg) && is_same_list(&a->elevation_dbi, &b->elevation_dbi) &&
            is_same_list(&a->azimuth_deg, &b->azimuth_deg) && is_same_list(&a->azimuth_dbi, &b->azimuth_dbi));
}

static bool is_same_place(const struct ap_radio *a, const struct ap_radio *b)
{
    return vec3_len(vec3_sub(a->at_m, b->at_m)) <= 0.0 && vec3_len(vec3_sub(a->pose.front, b->pose.front)) <= 0.0 &&
           vec3_len(vec3_sub(a->pose.up, b->pose.up)) <= 0.0;
}

static bool has_same_channels(const struct needs *n, const struct batch *a, const struct batch *b)
{
    bool same = a->n == b->n;
    for (uint32_t i = 0; i < a->n && same; i++)
        same = !(fabs(n->radios.v[a->first + i].centre_hz - n->radios.v[b->first + i].centre_hz) > 0.0);
    return same;
}

static bool has_same_field(const struct needs *n, const struct batch *a, const struct batch *b)
{
    const struct ap_radio *x = &n->radios.v[a->first], *y = &n->radios.v[b->first];
    bool same = has_same_channels(n, a, b) && is_same_place(x, y);
    for (uint32_t i = 0; i < a->n && same; i++)
        same = is_same_antenna(x[i].antenna, y[i].antenna);
    return same;
}

/* Lists what is to be traced, and gives every radio its row of gains. */
static enum rt_code find_batches(struct arena *a, struct needs *n, batch_list *out, struct rt_problems *p)
{
    out->v = ARENA_ARRAY(a, struct batch, n->n_holders);
    n->gain_db = ARENA_ARRAY(a, float *, n->radios.n);
    if (!out->v || !n->gain_db)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < n->n_holders; i++) {
        const struct batch b = { .first = n->first_radio[i], .n = n->first_radio[i + 1] - n->first_radio[i] };
        uint32_t k = 0;
        if (b.n == 0)
            continue;
        while (k < out->n && !has_same_field(n, &out->v[k], &b))
            k++;
        if (k == out->n)
            out->v[out->n++] = b;
        for (uint32_t r = 0; r < b.n; r++) {
            float **row = &n->gain_db[b.first + r];
            *row = k + 1 == out->n && out->v[k].first == b.first ? ARENA_ARRAY(a, float, n->n_cells)
                                                                 : n->gain_db[out->v[k].first + r];
            if (!*row)
                return rt_fail_memory(p);
        }
    }
    return RT_OK;
}

/* ---- tracing ---- */

/* Tables for every set of channels that occurs.  Each set stands at a place of its own, or those of one place would be taken
 * together; tables do not depend on places. */
static enum rt_code build_tables(const struct run *run, const struct needs *n, const batch_list *batches,
                                 struct field_tables **out, struct rt_problems *p)
{
    VEC(struct ap_radio) radios = { 0 };
    for (uint32_t i = 0; i < batches->n; i++) {
        uint32_t k = 0;
        while (k < i && !has_same_channels(n, &batches->v[k], &batches->v[i]))
            k++;
        for (uint32_t r = 0; k == i && r < batches->v[i].n; r++) {
            struct ap_radio radio = n->radios.v[batches->v[i].first + r];
            radio.at_m = (struct vec3){ .x = i };
            if (!VEC_PUSH(run->arena, &radios, radio))
                return rt_fail_memory(p);
        }
    }
    return field_tables_build(run, n->bare.scene, (ap_radio_list){ radios.v, radios.n }, n->bare.options.trace, out, p);
}

/* One batch, into the rows of its radios.  What lies in the thread's arena is given back. */
static enum rt_code trace_batch(const struct run *of_thread, const struct needs *n, const struct field_tables *tables,
                                const struct batch *b)
{
    const struct arena_mark mark = arena_mark(of_thread->arena);
    struct fields f = n->grids;
    struct rt_problems quiet;
    rt_problems_init(&quiet, of_thread->arena);
    const enum rt_code code = fields_compute_with(of_thread, tables, (ap_radio_list){ &n->radios.v[b->first], b->n },
                                                  n->bare.options, &f, &quiet);
    for (uint32_t r = 0; code == RT_OK && r < b->n; r++)
        for (uint32_t i = 0; i < n->rooms.n; i++) {
            const struct need_room *room = &n->rooms.v[i];
            const float *raster = f.gain_db[(size_t)room->grid * b->n + r];
            for (uint32_t c = room->first; c < room->first + room->n; c++)
                n->gain_db[b->first + r][c] = raster[n->cells[c]];
        }
    arena_reset(of_thread->arena, mark);
    return code;
}

static enum rt_code code_of(const batch_list *batches, struct rt_problems *p)
{
    for (uint32_t i = 0; i < batches->n; i++)
        if (batches->v[i].code == RT_CANCELLED)
            return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped before all places were looked at");
        else if (batches->v[i].code) /* the tables are made: nothing but memory is wanting */
            return rt_fail_memory(p);
    return RT_OK;
}

static enum rt_code trace_all(const struct run *run, const struct needs *n, const struct field_tables *tables,
                              batch_list *batches, struct rt_problems *p)
{
    const int n_threads = run->n_threads > 1 ? run->n_threads : 1, n_batches = (int)batches->n;
    bool has_memory = true;
    struct run *of_threads = ARENA_ARRAY(run->arena, struct run, (size_t)n_threads);
    if (!of_threads)
        return rt_fail_memory(p);
    for (int i = 0; i < n_threads; i++) {
        of_threads[i] = (struct run){ .arena = arena_new((size_t)ARENA_DEFAULT_LIMIT_MB << 20),
                                      .n_threads = 1,
                                      .cancel = run->cancel };
        has_memory = has_memory && of_threads[i].arena;
    }
#pragma omp parallel for schedule(static, 1) num_threads(n_threads)
    for (int i = 0; i < n_batches; i++) {
        struct batch *b = &batches->v[i];
        b->code = RT_NOMEM;
        if (has_memory)
            b->code =
                run_is_cancelled(run) ? RT_CANCELLED : trace_batch(&of_threads[omp_get_thread_num()], n, tables, b);
        if (omp_get_thread_num() == 0)
            run_report(run, "signal from every place", (double)(i + 1) / n_batches);
    }
    for (int i = 0; i < n_threads; i++)
        arena_free(of_threads[i].arena);
    return code_of(batches, p);
}

/* The house as it is before anything hangs in it. */
static enum rt_code begin_bare(const struct run *run, struct needs *n, struct rt_problems *p)
{
    struct house *bare = ARENA_NEW(run->arena, struct house);
    if (!bare)
        return rt_fail_memory(p);
    *bare = *n->space->house;
    bare->equipment.n = 0;
    return evaluation_begin(&n->bare, run, bare, evaluation_default_options(bare), p);
}

enum rt_code needs_begin(const struct run *run, const struct design_space *space, struct needs **out,
                         struct rt_problems *p)
{
    struct needs *n = ARENA_NEW(run->arena, struct needs);
    struct field_tables *tables = NULL;
    batch_list batches = { 0 };
    if (!n)
        return rt_fail_memory(p);
    n->space = space;
    RT_TRY(begin_bare(run, n, p));
    RT_TRY(needs_find_radios(run, n, p));
    RT_TRY(find_cells(run, n, p));
    RT_TRY(find_batches(run->arena, n, &batches, p));
    const struct arena_mark mark = arena_mark(run->arena);
    RT_TRY(build_tables(run, n, &batches, &tables, p));
    RT_TRY(trace_all(run, n, tables, &batches, p));
    arena_reset(run->arena, mark);
    *out = n;
    return RT_OK;
}

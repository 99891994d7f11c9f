/* field.c - whole floors.
 *
 * Radios at one place are traced together; the floor is cut into blocks, and each block is one thread's, so that every cell
 * is written once, by the same steps in the same order whatever the number of threads.  With `vertical` set, a matter of
 * studies, cells go through the double tracer one by one. */
#include <omp.h>

#include "base/units.h"
#include "radio/beam.h"

/* 400 dB: below it a gain is as good as none, and the logarithm stays finite. */
#define LEAST_POWER 1e-40

struct block {
    uint32_t grid, ix, iy; /* its first cell */
};

struct field_tables {
    struct beam_scene bs;
    LIST(struct beam_tables) beams; /* one for every set of frequencies of a place */
};

struct job {
    const struct run *run;
    const struct scene *scene;
    const struct field_tables *tables;
    struct field_options options;
    struct fields *out;
    struct beam_box spots; /* about all cells */
    LIST(struct block) blocks;
    uint32_t first_radio, n_radios;
};

static struct vec3 cell_at(const struct grid *g, double ix, double iy)
{
    return (struct vec3){ g->x0_m + (ix + 0.5) * g->cell_m, g->y0_m + (iy + 0.5) * g->cell_m, g->z_m };
}

static float *raster_of(const struct job *j, uint32_t grid, uint32_t radio)
{
    return j->out->gain_db[(size_t)grid * j->out->radios.n + radio];
}

static float gain_db_of(double power) { return (float)units_db_from_ratio(fmax(power, LEAST_POWER)); }

static enum rt_code cut_into_blocks(struct job *j, struct rt_problems *p)
{
    VEC(struct block) blocks = { 0 };
    for (uint32_t k = 0; k < j->out->grids.n; k++)
        for (uint32_t iy = 0; iy < j->out->grids.v[k].ny; iy += BEAM_BLOCK)
            for (uint32_t ix = 0; ix < j->out->grids.v[k].nx; ix += BEAM_BLOCK)
                if (!VEC_PUSH(j->run->arena, &blocks, ((struct block){ k, ix, iy })))
                    return rt_fail_memory(p);
    j->blocks.v = blocks.v;
    j->blocks.n = blocks.n;
    return RT_OK;
}

/* The box about all grids; one point if there is none. */
static struct beam_box box_of(const struct fields *f)
{
    struct beam_box box = { 0 };
    for (uint32_t k = 0; k < f->grids.n; k++) {
        const struct grid *g = &f->grids.v[k];
        const struct vec3 low = { g->x0_m, g->y0_m, g->z_m };
        const struct vec3 high = { g->x0_m + g->nx * g->cell_m, g->y0_m + g->ny * g->cell_m, g->z_m };
        if (k == 0)
            box = (struct beam_box){ low, high };
        box.low = (struct vec3){ fmin(box.low.x, low.x), fmin(box.low.y, low.y), fmin(box.low.z, low.z) };
        box.high = (struct vec3){ fmax(box.high.x, high.x), fmax(box.high.y, high.y), fmax(box.high.z, high.z) };
    }
    return box;
}

static struct beam_vec corner_at(const struct job *j, const struct grid *g, uint32_t ix, uint32_t iy)
{
    const struct vec3 at = vec3_sub(cell_at(g, ix, iy), j->tables->bs.middle);
    return (struct beam_vec){ (float)at.x, (float)at.y, (float)at.z };
}

/* A cell of the floor that is wanted and not there yet. */
static bool is_asked(const struct job *j, uint32_t grid, size_t cell)
{
    const struct grid *g = &j->out->grids.v[grid];
    return g->inside[cell] && (!g->wanted || g->wanted[cell]) && isnan(raster_of(j, grid, j->first_radio)[cell]);
}

/* True if something is asked for in the square. */
static bool is_asked_square(const struct job *j, uint32_t grid, uint32_t ix, uint32_t iy, uint32_t side)
{
    const struct grid *g = &j->out->grids.v[grid];
    for (uint32_t y = iy; y < iy + side && y < g->ny; y++)
        for (uint32_t x = ix; x < ix + side && x < g->nx; x++)
            if (is_asked(j, grid, (size_t)y * g->nx + x))
                return true;
    return false;
}

/* Sifts the chains that may reach the rectangle between two cells. */
static void sift(const struct job *j, struct beam_work *w, const struct grid *g, uint32_t ix, uint32_t iy, uint32_t ex,
                 uint32_t ey, int level)
{
    beam_sift(w, level,
              (const struct beam_vec[4]){ corner_at(j, g, ix, iy), corner_at(j, g, ex, iy), corner_at(j, g, ex, ey),
                                          corner_at(j, g, ix, ey) });
}

/* Cells that are traced together, and the rectangle about them. */
struct tile {
    uint32_t n, ix[BEAM_LANES], iy[BEAM_LANES], low_x, low_y, high_x, high_y;
};

static void add_cell(struct tile *t, uint32_t ix, uint32_t iy)
{
    t->low_x = t->n && t->low_x < ix ? t->low_x : ix;
    t->low_y = t->n && t->low_y < iy ? t->low_y : iy;
    t->high_x = t->n && t->high_x > ix ? t->high_x : ix;
    t->high_y = t->n && t->high_y > iy ? t->high_y : iy;
    t->ix[t->n] = ix;
    t->iy[t->n++] = iy;
}

/* The floor's cells in a square of BEAM_SIDE x BEAM_SIDE, wanted or not: what may be left out depends on its neighbours. */
static struct tile tile_at(const struct grid *g, uint32_t ix, uint32_t iy)
{
    struct tile t = { 0 };
    for (uint32_t y = iy; y < iy + BEAM_SIDE && y < g->ny; y++)
        for (uint32_t x = ix; x < ix + BEAM_SIDE && x < g->nx; x++)
            if (g->inside[(size_t)y * g->nx + x])
                add_cell(&t, x, y);
    return t;
}

static void do_tile(const struct job *j, struct beam_work *w, uint32_t grid, const struct tile *t, int level)
{
    const struct grid *g = &j->out->grids.v[grid];
    struct beam_points at = { 0 };
    beam_f4 power[BEAM_LANES];
    bool asked = false;
    for (uint32_t l = 0; l < t->n; l++) {
        const struct beam_vec q = corner_at(j, g, t->ix[l], t->iy[l]);
        at.x[l] = q.x;
        at.y[l] = q.y;
        at.z[l] = q.z;
        asked = asked || is_asked(j, grid, (size_t)t->iy[l] * g->nx + t->ix[l]);
    }
    if (!asked)
        return;
    sift(j, w, g, t->low_x, t->low_y, t->high_x, t->high_y, level);
    beam_tile(w, &at, (1u << t->n) - 1, power);
    for (uint32_t l = 0; l < t->n; l++)
        for (uint32_t r = 0; r < j->n_radios; r++)
            raster_of(j, grid, j->first_radio + r)[(size_t)t->iy[l] * g->nx + t->ix[l]] =
                gain_db_of((double)power[l][r]);
}

/* A square of four tiles; those at the floor's rim that have few cells become one. */
static void do_tiles(const struct job *j, struct beam_work *w, uint32_t grid, uint32_t ix, uint32_t iy, int level)
{
    const struct grid *g = &j->out->grids.v[grid];
    struct tile tiles[4];
    for (uint32_t q = 0; q < 4; q++)
        tiles[q] = tile_at(g, ix + BEAM_SIDE * (q & 1), iy + BEAM_SIDE * (q >> 1));
    for (uint32_t q = 0; q < 4; q++) {
        for (uint32_t other = q + 1; other < 4; other++) {
            if (tiles[q].n + tiles[other].n > BEAM_LANES)
                continue;
            for (uint32_t l = 0; l < tiles[other].n; l++)
                add_cell(&tiles[q], tiles[other].ix[l], tiles[other].iy[l]);
            tiles[other].n = 0;
        }
        do_tile(j, w, grid, &tiles[q], level);
    }
}

/* A square of cells: sifts the chains that may reach it, then its four quarters. */
static void do_square(const struct job *j, struct beam_work *w, uint32_t grid, uint32_t ix, uint32_t iy, uint32_t side,
                      int level)
{
    const struct grid *g = &j->out->grids.v[grid];
    if (!is_asked_square(j, grid, ix, iy, side))
        return;
    const uint32_t ex = ix + side < g->nx ? ix + side - 1 : g->nx - 1;
    const uint32_t ey = iy + side < g->ny ? iy + side - 1 : g->ny - 1;
    sift(j, w, g, ix, iy, ex, ey, level);
    if (side == 2 * BEAM_SIDE) {
        do_tiles(j, w, grid, ix, iy, level + 1);
        return;
    }
    for (uint32_t q = 0; q < 4; q++)
        do_square(j, w, grid, ix + side / 2 * (q & 1), iy + side / 2 * (q >> 1), side / 2, level + 1);
}

/* Blocks of a grid follow each other, so that a thread sifts what may reach the grid but once. */
static void do_block(const struct job *j, struct beam_work *w, const struct block *b)
{
    const struct grid *g = &j->out->grids.v[b->grid];
    if (w->sifted != g)
        sift(j, w, g, 0, 0, g->nx - 1, g->ny - 1, 0);
    w->sifted = g;
    do_square(j, w, b->grid, b->ix, b->iy, BEAM_BLOCK, 1);
}

/* The tables for the frequencies of radios of one place, or NULL. */
static const struct beam_tables *find_tables(const struct field_tables *t, const struct ap_radio *radios, uint32_t n,
                                             struct trace_options options)
{
    for (uint32_t i = 0; i < t->beams.n; i++) {
        const struct beam_tables *b = &t->beams.v[i];
        bool fits = b->n_radios == n && b->options.estimate == options.estimate &&
                    b->options.diffraction == options.diffraction;
        for (uint32_t r = 0; r < n && fits; r++)
            fits = fabs(b->f_hz[r] - radios[r].centre_hz) <= 0.0;
        if (fits)
            return b;
    }
    return NULL;
}

/* All floors for the radios of one place. */
static enum rt_code do_antenna(const struct job *j, struct rt_problems *p)
{
    const int n_threads = j->run->n_threads > 1 ? j->run->n_threads : 1;
    const struct ap_radio *radios = &j->out->radios.v[j->first_radio];
    const struct beam_tables *tables = find_tables(j->tables, radios, j->n_radios, j->options.trace);
    struct beam_tables fresh;
    struct beam_antenna antenna;
    if (!tables) {
        RT_TRY(beam_tables_build(j->run, &j->tables->bs, radios, j->n_radios, j->options.trace, &fresh, p));
        tables = &fresh;
    }
    RT_TRY(beam_antenna_build(j->run, &j->tables->bs, tables, radios, j->options.trace, j->options.missing_db, j->spots,
                              &antenna, p));
    struct beam_work *works = ARENA_ARRAY(j->run->arena, struct beam_work, (size_t)n_threads);
    if (!works)
        return rt_fail_memory(p);
    for (int i = 0; i < n_threads; i++)
        RT_TRY(beam_work_init(j->run->arena, &j->tables->bs, &antenna, j->options.trace, j->options.missing_db,
                              &works[i], p));
    const int n_blocks = (int)j->blocks.n;
#pragma omp parallel for schedule(static, 1) num_threads(n_threads)
    for (int i = 0; i < n_blocks; i++) {
        if (!run_is_cancelled(j->run))
            do_block(j, &works[omp_get_thread_num()], &j->blocks.v[i]);
    }
    return run_is_cancelled(j->run)
               ? rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped before the field was complete")
               : RT_OK;
}

/* One radio, cell by cell in double precision. */
static enum rt_code do_radio_slowly(const struct job *j, struct rt_problems *p)
{
    const struct ap_radio *radio = &j->out->radios.v[j->first_radio];
    struct tracer t;
    RT_TRY(tracer_init(j->run, j->scene, radio->centre_hz, radio->at_m, radio->antenna, radio->pose, j->options.trace,
                       &t, p));
    for (uint32_t k = 0; k < j->out->grids.n; k++) {
        const struct grid *g = &j->out->grids.v[k];
        for (uint32_t iy = 0; iy < g->ny; iy++) {
            if (run_is_cancelled(j->run))
                return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped before the field was complete");
            for (uint32_t ix = 0; ix < g->nx; ix++)
                if (is_asked(j, k, (size_t)iy * g->nx + ix))
                    raster_of(j, k, j->first_radio)[(size_t)iy * g->nx + ix] =
                        gain_db_of(trace_spot_power(&t, cell_at(g, ix, iy)));
        }
    }
    return RT_OK;
}

static bool is_one_place(const struct ap_radio *a, const struct ap_radio *b)
{
    return vec3_len(vec3_sub(a->at_m, b->at_m)) <= 0.0 && vec3_len(vec3_sub(a->pose.front, b->pose.front)) <= 0.0 &&
           vec3_len(vec3_sub(a->pose.up, b->pose.up)) <= 0.0;
}

/* How many of the radios from the first one on are at its place, at most BEAM_RADIOS. */
static uint32_t radios_of_place(ap_radio_list radios, uint32_t first)
{
    uint32_t n = 1;
    while (n < BEAM_RADIOS && first + n < radios.n && is_one_place(&radios.v[first], &radios.v[first + n]))
        n++;
    return n;
}

static enum rt_code do_all(struct job *j, struct rt_problems *p)
{
    const ap_radio_list *radios = &j->out->radios;
    const bool slowly = j->options.trace.vertical;
    RT_TRY(cut_into_blocks(j, p));
    j->spots = box_of(j->out);
    for (j->first_radio = 0; j->first_radio < radios->n; j->first_radio += j->n_radios) {
        j->n_radios = slowly ? 1 : radios_of_place(*radios, j->first_radio);
        const struct arena_mark mark = arena_mark(j->run->arena);
        RT_TRY(slowly ? do_radio_slowly(j, p) : do_antenna(j, p));
        arena_reset(j->run->arena, mark);
        run_report(j->run, "signal", (double)(j->first_radio + j->n_radios) / (double)radios->n);
    }
    return RT_OK;
}

static enum rt_code make_rasters(const struct run *run, struct fields *out, struct rt_problems *p)
{
    const uint32_t n_radios = out->radios.n;
    out->gain_db = ARENA_ARRAY(run->arena, float *, (size_t)out->grids.n *n_radios);
    if (!out->gain_db)
        return rt_fail_memory(p);
    for (uint32_t k = 0; k < out->grids.n; k++)
        for (uint32_t r = 0; r < n_radios; r++) {
            const size_t n = (size_t)out->grids.v[k].nx * out->grids.v[k].ny;
            float *raster = ARENA_ARRAY(run->arena, float, n);
            if (!raster)
                return rt_fail_memory(p);
            for (size_t i = 0; i < n; i++)
                raster[i] = NAN;
            out->gain_db[(size_t)k * n_radios + r] = raster;
        }
    return RT_OK;
}

enum rt_code field_tables_build(const struct run *run, const struct scene *s, ap_radio_list radios,
                                struct trace_options options, struct field_tables **out, struct rt_problems *p)
{
    struct field_tables *t = ARENA_NEW(run->arena, struct field_tables);
    VEC(struct beam_tables) beams = { 0 };
    if (!t)
        return rt_fail_memory(p);
    RT_TRY(beam_scene_build(run->arena, s, &t->bs, p));
    for (uint32_t first = 0, n; first < radios.n; first += n) {
        struct beam_tables fresh;
        n = radios_of_place(radios, first);
        if (find_tables(t, &radios.v[first], n, options))
            continue;
        RT_TRY(beam_tables_build(run, &t->bs, &radios.v[first], n, options, &fresh, p));
        if (!VEC_PUSH(run->arena, &beams, fresh))
            return rt_fail_memory(p);
        t->beams.v = beams.v;
        t->beams.n = beams.n;
    }
    *out = t;
    return RT_OK;
}

/* Sets out up for a computation. */
static enum rt_code prepare(const struct run *run, ap_radio_list radios, struct field_options options,
                            struct fields *out, struct rt_problems *p)
{
    if (options.trace.order > TRACE_ORDER_MAX)
        options.trace.order = TRACE_ORDER_MAX;
    if (!(options.missing_db > 0.0))
        options.missing_db = FIELD_MISSING_DB;
    out->radios = radios;
    out->options = options;
    return make_rasters(run, out, p);
}

static enum rt_code compute(const struct run *run, const struct field_tables *tables, struct fields *out,
                            struct rt_problems *p)
{
    struct job j = { .run = run, .scene = tables->bs.scene, .tables = tables, .options = out->options, .out = out };
    return do_all(&j, p);
}

enum rt_code fields_compute_with(const struct run *run, const struct field_tables *tables, ap_radio_list radios,
                                 struct field_options options, struct fields *out, struct rt_problems *p)
{
    RT_TRY(prepare(run, radios, options, out, p));
    const struct arena_mark mark = arena_mark(run->arena);
    RT_TRY(compute(run, tables, out, p));
    arena_reset(run->arena, mark); /* not after an error: a message may live behind the mark */
    return RT_OK;
}

/* Without tables: those of one access point are made when its turn comes, and given back. */
enum rt_code fields_compute_more(const struct run *run, const struct scene *s, struct fields *f, struct rt_problems *p)
{
    const struct arena_mark mark = arena_mark(run->arena);
    struct field_tables none = { 0 };
    RT_TRY(beam_scene_build(run->arena, s, &none.bs, p));
    RT_TRY(compute(run, &none, f, p));
    arena_reset(run->arena, mark);
    return RT_OK;
}

enum rt_code fields_compute(const struct run *run, const struct house *h, const struct scene *s, ap_radio_list radios,
                            struct field_options options, struct fields *out, struct rt_problems *p)
{
    (void)h;
    RT_TRY(prepare(run, radios, options, out, p));
    return fields_compute_more(run, s, out, p);
}

/* field.c - whole floors, one thread to a block of rows, each cell written once. */
#include <omp.h>

#include "base/units.h"
#include "radio/trace.h"
#include "radio/trace_int.h"

#define LEAST_POWER 1e-40

enum { ROWS_PER_BLOCK = 4 };

/* A tracer per thread: they share all but the scratch. */
static enum rt_code tracers_init(const struct run *run, const struct scene *s, const struct ap_radio *radio,
                                 struct trace_options options, struct tracer *tracers, struct rt_problems *p)
{
    RT_TRY(tracer_init(run, s, radio->centre_hz, radio->at_m, radio->antenna, radio->pose, options, &tracers[0], p));
    for (int i = 1; i < run->n_threads; i++) {
        tracers[i] = tracers[0];
        tracers[i].groups = ARENA_ARRAY(run->arena, struct trace_group, (size_t)s->planes.n + 1);
        if (!tracers[i].groups)
            return rt_fail_memory(p);
    }
    return RT_OK;
}

static void trace_rows(const struct tracer *t, const struct grid *g, uint32_t from, uint32_t to, float *gain_db)
{
    for (uint32_t iy = from; iy < to; iy++)
        for (uint32_t ix = 0; ix < g->nx; ix++) {
            const size_t i = (size_t)iy * g->nx + ix;
            const struct vec3 at = { g->x0_m + (ix + 0.5) * g->cell_m, g->y0_m + (iy + 0.5) * g->cell_m, g->z_m };
            gain_db[i] = NAN;
            if (g->inside[i])
                gain_db[i] = (float)units_db_from_ratio(fmax(trace_spot_power(t, at), LEAST_POWER));
        }
}

enum rt_code fields_compute(const struct run *run, const struct house *h, const struct scene *s, ap_radio_list radios,
                            struct field_options options, struct fields *out, struct rt_problems *p)
{
    (void)h;
    out->radios = radios;
    out->options = options;
    out->gain_db = ARENA_ARRAY(run->arena, float *, (size_t)out->grids.n *radios.n);
    if (!out->gain_db)
        return rt_fail_memory(p);
    const int n_threads = run->n_threads > 1 ? run->n_threads : 1;
    for (uint32_t r = 0; r < radios.n; r++) {
        struct tracer *tracers = ARENA_ARRAY(run->arena, struct tracer, (size_t)n_threads);
        if (!tracers)
            return rt_fail_memory(p);
        RT_TRY(tracers_init(run, s, &radios.v[r], options.trace, tracers, p));
        for (uint32_t k = 0; k < out->grids.n; k++) {
            const struct grid *g = &out->grids.v[k];
            float *gain_db = ARENA_ARRAY(run->arena, float, (size_t)g->nx * g->ny);
            if (!gain_db)
                return rt_fail_memory(p);
            out->gain_db[(size_t)k * radios.n + r] = gain_db;
            const int n_blocks = (int)((g->ny + ROWS_PER_BLOCK - 1) / ROWS_PER_BLOCK);
#pragma omp parallel for schedule(static) num_threads(n_threads)
            for (int b = 0; b < n_blocks; b++) {
                const uint32_t from = (uint32_t)b * ROWS_PER_BLOCK, to = from + ROWS_PER_BLOCK;
                if (!run_is_cancelled(run))
                    trace_rows(&tracers[omp_get_thread_num()], g, from, to < g->ny ? to : g->ny, gain_db);
            }
            if (run_is_cancelled(run))
                return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped before the field was complete");
            run_report(run, "signal", ((double)r * out->grids.n + k + 1) / ((double)radios.n * out->grids.n));
        }
    }
    return RT_OK;
}

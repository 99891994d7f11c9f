/* bench.c - how long the main job takes, and against what: prints tables, and writes them to docs/speed.md when asked.
 *
 *   rooftree-bench [--only fields|cables|failures|proofs|designs|serving] [--house FILE] [--write docs/speed.md]
 *
 * Processor times of one thread, the best of several runs; nothing here is a test. */
#include <sys/resource.h>

#include "base/file.h"
#include "designs.h"
#include "embree_legs.h"
#include "failures.h"
#include "lay.h"
#include "proofs.h"
#include "radio/field.h"
#include "radio/scene_int.h"
#include "rows.h"
#include "serving.h"

enum { BANDS = 3, ARENA_MB = 2048, PROCESSORS = 2 /* that a design may use */ };

struct bench {
    struct run run;
    struct rt_problems problems;
    struct rows rows;
    const char *house_path;
    struct house *house;
    struct scene *scene;
    ap_radio_list radios;
};

static void must(struct bench *b, enum rt_code code) { rows_must(&b->run, code, &b->problems); }

/* Gives back all that was made since the mark; the list of problems may have grown into it. */
static void forget(struct bench *b, struct arena_mark mark)
{
    arena_reset(b->run.arena, mark);
    rt_problems_init(&b->problems, b->run.arena);
}

static struct field_options options_of(int order, double cell_m)
{
    return (struct field_options){ .trace = { .order = order, .diffraction = true, .estimate = ESTIMATE_CAREFUL },
                                   .cell_m = cell_m };
}

/* Best time of a few field computations; cells and the arena's peak of the last. */
static double field_s(struct bench *b, const struct house *h, const struct scene *s, ap_radio_list radios,
                      struct field_options options, int times, size_t *cells, size_t *peak_bytes)
{
    double best = INFINITY;
    for (int i = 0; i < times; i++) {
        const struct arena_mark mark = arena_mark(b->run.arena);
        struct fields f = { 0 };
        const double start = cpu_s();
        must(b, grids_of_house(&b->run, h, options.cell_m, &f, &b->problems));
        must(b, fields_compute(&b->run, h, s, radios, options, &f, &b->problems));
        best = fmin(best, cpu_s() - start);
        if (cells) {
            *cells = 0;
            for (uint32_t g = 0; g < f.grids.n; g++)
                for (uint32_t c = 0; c < f.grids.v[g].nx * f.grids.v[g].ny; c++)
                    *cells += f.grids.v[g].inside[c];
        }
        if (peak_bytes)
            *peak_bytes = arena_peak(b->run.arena);
        forget(b, mark);
    }
    return best;
}

/* The processor's own name, from the kernel. */
static const char *machine_name(struct bench *b)
{
    struct str text;
    if (file_read(b->run.arena, "/proc/cpuinfo", (size_t)1 << 20, &text, &b->problems) != RT_OK)
        return "not known";
    const char *at = strstr(text.p, "model name"), *colon = at ? strchr(at, ':') : NULL;
    if (!colon)
        return "not known";
    return arena_printf(b->run.arena, "%.*s", (int)strcspn(colon + 2, "\n"), colon + 2);
}

static void bench_load(struct bench *b)
{
    double best = INFINITY, best_scene = INFINITY;
    for (int i = 0; i < 20; i++) {
        const struct arena_mark mark = arena_mark(b->run.arena);
        const double start = cpu_s();
        must(b, house_read(&b->run, b->house_path, &b->house, &b->problems));
        const double read = cpu_s();
        must(b, scene_build(&b->run, b->house, &b->scene, &b->problems));
        best = fmin(best, read - start), best_scene = fmin(best_scene, cpu_s() - read);
        forget(b, mark);
    }
    must(b, house_read(&b->run, b->house_path, &b->house, &b->problems));
    must(b, scene_build(&b->run, b->house, &b->scene, &b->problems));
    rows_heading(&b->rows, arena_printf(b->run.arena, "The house (processor: %s)", machine_name(b)));
    double load = 0.0;
    if (getloadavg(&load, 1) == 1)
        rows_add(&b->rows, "load of the machine when it began", load, 1, "",
                 "runnable processes; above 0.5 the figures are only a hint");
    rows_add(&b->rows, "read and check the house file", 1e3 * best, 2, "ms", "");
    rows_add(&b->rows, "build the scene", 1e3 * best_scene, 2, "ms",
             arena_printf(b->run.arena, "%u faces, %u edges", scene_n_faces(b->scene), scene_n_edges(b->scene)));
}

/* The legs of every path to every fourth spot each way of the demo's fields, from one radio of each access point. */
struct legs {
    struct leg *v;
    size_t n, paths, spots, crossings;
};

static bool is_first_of_its_access_point(const struct bench *b, uint32_t radio)
{
    return radio == 0 || b->radios.v[radio].equipment != b->radios.v[radio - 1].equipment;
}

static void add_legs(struct legs *out, size_t cap, const path_list *paths)
{
    for (uint32_t i = 0; i < paths->n; i++) {
        const struct path *path = &paths->v[i];
        for (uint32_t k = 0; k + 1 < path->points.n && out->n < cap; k++) {
            const struct vec3 p = path->points.v[k], q = path->points.v[k + 1];
            out->v[out->n++] =
                (struct leg){ { (float)p.x, (float)p.y, (float)p.z }, { (float)q.x, (float)q.y, (float)q.z } };
        }
        for (uint32_t k = 0; k < path->crossings.n; k++)
            out->crossings += !path->crossings.v[k].is_reflection;
    }
    out->paths += paths->n;
}

static struct legs gather_legs(struct bench *b, struct field_options options)
{
    enum { STRIDE = 4, LEGS_MAX = 8 << 20 };
    struct legs out = { .v = ARENA_ARRAY(b->run.arena, struct leg, LEGS_MAX) };
    struct fields f = { 0 };
    must(b, grids_of_house(&b->run, b->house, options.cell_m, &f, &b->problems));
    for (uint32_t g = 0; g < f.grids.n; g++) {
        const struct grid *grid = &f.grids.v[g];
        for (uint32_t iy = 0; iy < grid->ny; iy += STRIDE)
            for (uint32_t ix = 0; ix < grid->nx; ix += STRIDE) {
                if (!grid->inside[(size_t)iy * grid->nx + ix])
                    continue;
                out.spots++;
                const struct vec3 at = { grid->x0_m + (ix + 0.5) * grid->cell_m, grid->y0_m + (iy + 0.5) * grid->cell_m,
                                         grid->z_m };
                for (uint32_t r = 0; r < b->radios.n; r++) {
                    if (!is_first_of_its_access_point(b, r))
                        continue;
                    const struct arena_mark mark = arena_mark(b->run.arena);
                    path_list paths;
                    double gain_db;
                    must(b, spot_paths(&b->run, NULL, b->scene, &b->radios.v[r], at, options.trace, 0, &paths, &gain_db,
                                       &b->problems));
                    add_legs(&out, LEGS_MAX, &paths);
                    forget(b, mark);
                }
            }
    }
    return out;
}

static void bench_demo(struct bench *b)
{
    const struct field_options options = options_of(2, 0.25);
    size_t cells, peak_bytes;
    const double ours_s = field_s(b, b->house, b->scene, b->radios, options, 3, &cells, &peak_bytes);
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    uint32_t n_aps = 0;
    for (uint32_t r = 0; r < b->radios.n; r++)
        n_aps += is_first_of_its_access_point(b, r);
    rows_heading(&b->rows, "Field of the main demo: order 2, diffraction, 0.25 m, all bands, one core");
    rows_add(&b->rows, "field", ours_s, 3, "s",
             arena_printf(b->run.arena, "%u access points, %u radios, %zu spots", n_aps, b->radios.n, cells));
    rows_add(&b->rows, "memory: most in the arena", (double)peak_bytes / 1e6, 1, "MB", "");
    rows_add(&b->rows, "memory: most resident", (double)usage.ru_maxrss / 1e3, 1, "MB", "whole process");

    /* Every sequence of up to two planes, and every edge: what has to be accepted or rejected, one by one or in bulk. */
    const double planes = b->scene->planes.n;
    const double ways = (double)cells * n_aps * (1 + planes + planes * (planes - 1) + scene_n_edges(b->scene));
    rows_add(&b->rows, "paths to be tested", ways / 1e6, 1, "million",
             arena_printf(b->run.arena, "each spot and access point: direct, %g planes, pairs of them, edges", planes));
    rows_add(&b->rows, "time for each path tested, all its bands included", 1e9 * ours_s / ways, 1, "ns", "");

    const struct legs legs = gather_legs(b, options);
    struct wall_table tables[BANDS];
    const double bands_hz[BANDS] = { 2.437e9, 5.25e9, 6.2e9 };
    for (int i = 0; i < BANDS; i++)
        must(b, wall_table_build(&b->run, b->house, bands_hz[i], options.trace.estimate, &tables[i], &b->problems));
    struct embree_legs *e = embree_legs_new(&b->run, b->scene);
    double best = INFINITY;
    struct leg_result result = { 0 };
    for (int i = 0; i < 3; i++) {
        const double start = cpu_s();
        result = embree_legs_trace(e, legs.v, legs.n, tables, BANDS);
        best = fmin(best, cpu_s() - start);
    }
    embree_legs_free(e);
    const double share = (double)legs.spots / (double)cells, all_paths = (double)legs.paths / share;
    rows_add(&b->rows, "paths that carry power", all_paths / 1e6, 2, "million",
             "all access points, one band; from every 16th spot");
    rows_add(&b->rows, "time for each such path, all its bands included", 1e9 * ours_s / all_paths, 0, "ns",
             "paths looked for in vain included");
    rows_add(&b->rows, "Embree 3, legs of the same paths", best / share, 3, "s",
             arena_printf(b->run.arena, "%.0f ns a leg; %.2f crossings a leg, %.2f by our count",
                          1e9 * best / (double)legs.n, (double)result.crossings / (double)legs.n,
                          (double)legs.crossings / (double)legs.n));
    rows_add(&b->rows, "Embree's time over ours", best / share / ours_s, 2, "times",
             "it is given the paths; ours finds them");
}

/* Best time of a preview in a drag: the tables of the walls are kept, the access point is elsewhere each time. */
static double preview_s(struct bench *b, ap_radio_list radios, struct field_options options, int times)
{
    const struct arena_mark begin = arena_mark(b->run.arena);
    struct field_tables *tables;
    must(b, field_tables_build(&b->run, b->scene, radios, options.trace, &tables, &b->problems));
    ap_radio_list dragged = { .v = ARENA_ARRAY(b->run.arena, struct ap_radio, radios.n), .n = radios.n };
    double best = INFINITY;
    for (int i = 0; i < times; i++) {
        const struct arena_mark mark = arena_mark(b->run.arena);
        for (uint32_t r = 0; r < radios.n; r++) {
            dragged.v[r] = radios.v[r];
            dragged.v[r].at_m.y -= 0.01 * i;
        }
        struct fields f = { 0 };
        const double start = cpu_s();
        must(b, grids_of_house(&b->run, b->house, options.cell_m, &f, &b->problems));
        must(b, fields_compute_with(&b->run, tables, dragged, options, &f, &b->problems));
        best = fmin(best, cpu_s() - start);
        forget(b, mark);
    }
    forget(b, begin);
    return best;
}

static void bench_preview(struct bench *b)
{
    ap_radio_list one = { .v = b->radios.v, .n = 0 };
    while (one.n < b->radios.n && one.v[one.n].equipment == one.v[0].equipment)
        one.n++;
    struct field_options options = options_of(1, 0.5);
    options.missing_db = FIELD_MISSING_IN_PREVIEW_DB;
    rows_heading(&b->rows, "Preview while one access point is moved: order 1, 0.5 m");
    rows_add(&b->rows, "field of one access point", 1e3 * preview_s(b, one, options, 20), 1, "ms",
             arena_printf(b->run.arena, "%u bands, all floors; tables of the walls kept from the drag's first", one.n));
    rows_add(&b->rows, "the same without tables kept",
             1e3 * field_s(b, b->house, b->scene, one, options, 10, NULL, NULL), 1, "ms", "the drag's first");
}

static void bench_growth(struct bench *b)
{
    struct arena *a = b->run.arena;
    rows_heading(&b->rows, "How it grows (field of the main demo; the other settings as above)");
    for (int order = 0; order <= 3; order++)
        rows_add(&b->rows, arena_printf(a, "order %d", order),
                 field_s(b, b->house, b->scene, b->radios, options_of(order, order == 3 ? 0.5 : 0.25), 1, NULL, NULL),
                 3, "s", order == 3 ? "on a grid of 0.5 m" : "");
    for (double cell_m = 1.0; cell_m > 0.1; cell_m /= 2)
        rows_add(&b->rows, arena_printf(a, "grid of %g m", cell_m),
                 field_s(b, b->house, b->scene, b->radios, options_of(2, cell_m), 1, NULL, NULL), 3, "s", "");
    for (uint32_t quarter = 1; quarter <= 4; quarter++) {
        struct house part = *b->house;
        struct scene *scene;
        part.walls.n = b->house->walls.n * quarter / 4;
        must(b, scene_build(&b->run, &part, &scene, &b->problems));
        rows_add(&b->rows, arena_printf(a, "the first %u walls of %u", part.walls.n, b->house->walls.n),
                 field_s(b, &part, scene, b->radios, options_of(2, 0.25), 1, NULL, NULL), 3, "s",
                 arena_printf(a, "%u faces", scene_n_faces(scene)));
    }
}

static const char *option_of(int argc, char **argv, const char *name, const char *fallback)
{
    for (int i = 1; i + 1 < argc; i++)
        if (strcmp(argv[i], name) == 0)
            return argv[i + 1];
    return fallback;
}

/* Whatever else is asked for would be a whole bench nobody wanted. */
static bool is_understood(int argc, char **argv)
{
    static const char *const PARTS[] = { "fields", "cables", "failures", "proofs", "designs", "serving" };
    static const char *const NAMES[] = { "--only", "--house", "--houses", "--write" };
    bool is_part = !*option_of(argc, argv, "--only", ""), is_option = argc % 2 == 1;
    for (size_t i = 0; i < RT_COUNT(PARTS); i++)
        is_part = is_part || strcmp(option_of(argc, argv, "--only", ""), PARTS[i]) == 0;
    for (int i = 1; i < argc; i += 2) {
        bool is_known = false;
        for (size_t k = 0; k < RT_COUNT(NAMES); k++)
            is_known = is_known || strcmp(argv[i], NAMES[k]) == 0;
        is_option = is_option && is_known;
    }
    return is_part && is_option;
}

static void bench_fields(struct bench *b)
{
    bench_load(b);
    struct regdb rules = { 0 };
    const bool has_rules = regdb_read_installed(&b->run, &rules, &b->problems) == RT_OK;
    must(b, ap_radios_resolve(&b->run, b->house, has_rules ? regdb_find(&rules, b->house->country) : NULL, &b->radios,
                              &b->problems));
    bench_demo(b);
    bench_preview(b);
    bench_growth(b);
}

int main(int argc, char **argv)
{
    if (!is_understood(argc, argv)) {
        fputs("usage: rooftree-bench [--only fields|cables|failures|proofs|designs|serving] [--house FILE] [--houses "
              "FOLDER] "
              "[--write docs/speed.md]\n",
              stderr);
        return 2;
    }
    struct bench b = { .run = { .arena = arena_new((size_t)ARENA_MB << 20), .seed = 1, .n_threads = 1 } };
    if (!b.run.arena)
        return 2;
    rt_problems_init(&b.problems, b.run.arena);
    b.rows.arena = b.run.arena;
    b.house_path = option_of(argc, argv, "--house", "houses/larch_end.house.yaml");
    const char *only = option_of(argc, argv, "--only", "");
    if (!*only || strcmp(only, "fields") == 0)
        bench_fields(&b);
    if (!*only || strcmp(only, "cables") == 0)
        bench_cables(&b.run, b.house_path, &b.rows, &b.problems);
    if (!*only || strcmp(only, "failures") == 0)
        bench_failures(&b.run, b.house_path, &b.rows, &b.problems);
    if (!*only || strcmp(only, "proofs") == 0)
        bench_proofs(&b.run, &b.rows, &b.problems);
    if (!*only || strcmp(only, "designs") == 0) {
        struct run both = b.run;
        both.n_threads = PROCESSORS;
        bench_designs(&both, option_of(argc, argv, "--houses", "houses"), &b.rows, &b.problems);
    }
    if (!*only || strcmp(only, "serving") == 0) {
        struct run both = b.run;
        both.n_threads = PROCESSORS;
        bench_serving(&both, b.house_path, &b.rows, &b.problems);
    }
    rows_print(&b.rows, stdout);
    const char *write = option_of(argc, argv, "--write", NULL);
    if (write)
        must(&b, rows_write(&b.rows, write, &b.problems));
    arena_free(b.run.arena);
    return 0;
}

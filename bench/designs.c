/* Designs from bare walls, whole: places, channels, cables, battery, every promise judged. */
#include "designs.h"

#include <sys/resource.h>

#include "design/design.h"
#include "wire/open_parts.h"

enum { MB = 1 << 20 };

static double resident_mb(void)
{
    struct rusage use;
    return getrusage(RUSAGE_SELF, &use) == 0 ? (double)use.ru_maxrss / 1024.0 : 0.0;
}

struct figures {
    double seconds, first_s, gap, arena_mb;
    unsigned rounds, places;
    uint32_t kept, promises;
};

static struct design_options usual(void)
{
    return (struct design_options){
        .anew = true, .generates = true, .seconds = DESIGN_SECONDS, .gap = DESIGN_GAP, .grid_m = DESIGN_GRID_M
    };
}

/* Designs the first n_promises of the house with the first n_access_points of the parts; 0: all. */
static struct figures measure(const struct run *run, const char *path, struct design_options options,
                              uint32_t n_promises, uint32_t n_access_points, struct rt_problems *p)
{
    const struct arena_mark mark = arena_mark(run->arena);
    const size_t before = arena_used(run->arena);
    struct house *h = NULL;
    struct design *d = NULL;
    rows_must(run, house_open(run, path, &h, p), p);
    if (n_promises && n_promises < h->promises.n)
        h->promises.n = n_promises;
    for (uint32_t i = 0, n = 0; n_access_points && i < h->parts.list.n; i++)
        if (h->parts.list.v[i].kind == PART_ACCESS_POINT && n++ >= n_access_points)
            h->parts.list.v[i].kind = PART_SUNDRY;
    rows_must(run, design_make(run, h, options, &d, p), p);
    const struct figures f = { .seconds = d->seconds,
                               .first_s = d->first_s,
                               .gap = d->gap,
                               .arena_mb = (double)(arena_used(run->arena) - before) / MB,
                               .rounds = d->rounds,
                               .places = d->space->sites.n,
                               .kept = d->results.n_kept,
                               .promises = d->results.n };
    arena_reset(run->arena, mark);
    rt_problems_init(p, run->arena);
    return f;
}

static const char *note_of(const struct run *run, const struct figures *f)
{
    return arena_printf(
        run->arena, "a whole house after %.1f s; %u places, gap %.2f %%, %u rounds, %u of %u promises kept, %.0f MB",
        f->first_s, f->places, 100.0 * f->gap, f->rounds, (unsigned)f->kept, (unsigned)f->promises, f->arena_mb);
}

static void add(const struct run *run, struct rows *rows, const char *what, const struct figures *f)
{
    rows_add(rows, what, f->seconds, 1, "s", note_of(run, f));
}

static void demos(const struct run *run, const char *folder, struct rows *rows, struct rt_problems *p)
{
    static const char *const HOUSES[] = { "larch_end", "quay_flat", "whin_farm" };
    rows_heading(rows,
                 arena_printf(run->arena, "Designs from bare walls (by the clock, %d processors)", run->n_threads));
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++) {
        const char *path = arena_printf(run->arena, "%s/%s.house.yaml", folder, HOUSES[i]);
        const struct figures f = measure(run, path, usual(), 0, 0, p);
        add(run, rows, HOUSES[i], &f);
    }
    rows_add(rows, "memory: most resident so far", resident_mb(), 0, "MB", "whole process");
}

static void growth(const struct run *run, const char *folder, struct rows *rows, struct rt_problems *p)
{
    static const double GRIDS_M[] = { 6.0, 3.0, 2.0 };
    static const uint32_t PROMISES[] = { 2, 4, 7 }, PARTS[] = { 1, 3, 7 };
    const char *path = arena_printf(run->arena, "%s/larch_end.house.yaml", folder);
    rows_heading(rows, "How a design grows (the main demo, as above)");
    struct design_options options = usual();
    options.generates = false;
    struct figures f = measure(run, path, options, 0, 0, p);
    add(run, rows, "mounts of the file alone", &f);
    for (size_t i = 0; i < RT_COUNT(GRIDS_M); i++) {
        options = usual();
        options.grid_m = GRIDS_M[i];
        f = measure(run, path, options, 0, 0, p);
        add(run, rows, arena_printf(run->arena, "ceilings each %.0f m", GRIDS_M[i]), &f);
    }
    for (size_t i = 0; i < RT_COUNT(PROMISES); i++) {
        f = measure(run, path, usual(), PROMISES[i], 0, p);
        add(run, rows, arena_printf(run->arena, "the first %u promises", (unsigned)PROMISES[i]), &f);
    }
    for (size_t i = 0; i < RT_COUNT(PARTS); i++) {
        f = measure(run, path, usual(), 0, PARTS[i], p);
        add(run, rows, arena_printf(run->arena, "the first %u kinds of access point", (unsigned)PARTS[i]), &f);
    }
}

void bench_designs(const struct run *run, const char *folder, struct rows *rows, struct rt_problems *p)
{
    demos(run, folder, rows, p);
    growth(run, folder, rows, p);
}

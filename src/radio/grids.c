/* grids.c - where fields are computed: a raster over each floor, at the heights that matter. */
#include "base/units.h"
#include "radio/field.h"
#include "radio/scene_int.h"

#define USUAL_HEIGHT_M 1.2 /* a device in the hand; common practice, no source */
#define SAME_HEIGHT_M 0.01

enum { CELLS_MAX = 4 * 1024 * 1024 }; /* of one grid */

static bool has_height(const double_list *heights, double height_m)
{
    for (uint32_t i = 0; i < heights->n; i++)
        if (fabs(heights->v[i] - height_m) < SAME_HEIGHT_M)
            return true;
    return false;
}

/* The usual height first, then those of the promises about the floor's rooms, as they stand in the file. */
static enum rt_code heights_of(const struct run *run, const struct house *h, uint32_t floor, double_list *out,
                               struct rt_problems *p)
{
    out->v = ARENA_ARRAY(run->arena, double, (size_t)h->promises.n + 1);
    if (!out->v)
        return rt_fail_memory(p);
    out->v[out->n++] = USUAL_HEIGHT_M;
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise *q = &h->promises.v[i];
        if (q->kind != PROMISE_SIGNAL && q->kind != PROMISE_RATE && q->kind != PROMISE_ROAMING)
            continue;
        bool is_here = false;
        for (uint32_t r = 0; r < q->rooms.n; r++)
            is_here = is_here || h->rooms.v[q->rooms.v[r].i].floor.i == floor;
        if (is_here && is_given(q->height_m) && !has_height(out, q->height_m))
            out->v[out->n++] = q->height_m;
    }
    return RT_OK;
}

static uint32_t room_at(const struct house *h, uint32_t floor, struct vec2 at)
{
    for (uint32_t i = 0; i < h->rooms.n; i++)
        if (h->rooms.v[i].floor.i == floor && h->rooms.v[i].outline.n >= 3 &&
            outline_holds(h->rooms.v[i].outline, at, 0.0))
            return i;
    return NO_REF;
}

/* A garden drawn round the house: where a storey stands at the height of a device in the hand, one is in the house. */
static bool is_built_over(const struct house *h, const struct floor *open, struct vec2 at)
{
    const double z_m = open->level_m + USUAL_HEIGHT_M;
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const struct floor *f = &h->floors.v[i];
        if (!f->open_air && f->outline.n >= 3 && z_m >= f->level_m && z_m < f->level_m + f->height_m &&
            outline_holds(f->outline, at, 0.0))
            return true;
    }
    return false;
}

static enum rt_code lay_grid(const struct run *run, const struct house *h, uint32_t of, double cell_m, struct grid *g,
                             struct rt_problems *p)
{
    const struct floor *f = &h->floors.v[of];
    struct vec2 low = { 0 }, high = { 0 };
    for (uint32_t i = 0; i < f->outline.n; i++) {
        const struct vec2 q = f->outline.v[i];
        low = i ? (struct vec2){ fmin(low.x, q.x), fmin(low.y, q.y) } : q;
        high = i ? (struct vec2){ fmax(high.x, q.x), fmax(high.y, q.y) } : q;
    }
    /* Cells of all floors lie above each other. */
    *g = (struct grid){
        .floor = of, .x0_m = floor(low.x / cell_m) * cell_m, .y0_m = floor(low.y / cell_m) * cell_m, .cell_m = cell_m
    };
    const double nx = ceil((high.x - g->x0_m) / cell_m - 1e-9), ny = ceil((high.y - g->y0_m) / cell_m - 1e-9);
    if (!(cell_m > 0.0) || !(nx >= 0.0) || !(ny >= 0.0) || nx * ny > CELLS_MAX)
        return rt_fail(p, RT_LIMIT, f->at, "take a larger cell",
                       "floor %.*s has too many cells of %g m: at most %d are computed", STR_ARG(f->id), cell_m,
                       CELLS_MAX);
    g->nx = (uint32_t)nx;
    g->ny = (uint32_t)ny;
    g->inside = ARENA_ARRAY(run->arena, bool, (size_t)g->nx * g->ny);
    g->room = ARENA_ARRAY(run->arena, uint32_t, (size_t)g->nx * g->ny);
    if (!g->inside || !g->room)
        return rt_fail_memory(p);
    for (uint32_t iy = 0; iy < g->ny; iy++)
        for (uint32_t ix = 0; ix < g->nx; ix++) {
            const struct vec2 at = { g->x0_m + (ix + 0.5) * cell_m, g->y0_m + (iy + 0.5) * cell_m };
            const size_t i = (size_t)iy * g->nx + ix;
            g->room[i] = room_at(h, of, at);
            /* A room's cell on the very edge of the floor belongs to both. */
            g->inside[i] = g->room[i] != NO_REF ||
                           (outline_holds(f->outline, at, 0.0) && !(f->open_air && is_built_over(h, f, at)));
        }
    return RT_OK;
}

enum rt_code grids_of_house(const struct run *run, const struct house *h, double cell_m, struct fields *out,
                            struct rt_problems *p)
{
    VEC(struct grid) grids = { 0 };
    for (uint32_t i = 0; i < h->floors.n; i++) {
        if (h->floors.v[i].outline.n < 3)
            continue;
        struct grid g;
        double_list heights = { 0 };
        RT_TRY(heights_of(run, h, i, &heights, p));
        RT_TRY(lay_grid(run, h, i, cell_m, &g, p));
        for (uint32_t k = 0; k < heights.n; k++) {
            g.height_m = heights.v[k];
            g.z_m = h->floors.v[i].level_m + g.height_m;
            if (!VEC_PUSH(run->arena, &grids, g))
                return rt_fail_memory(p);
        }
    }
    out->grids.v = grids.v;
    out->grids.n = grids.n;
    return RT_OK;
}

uint32_t field_grid_at(const struct fields *f, uint32_t floor, double height_m)
{
    uint32_t best = NO_REF;
    for (uint32_t g = 0; g < f->grids.n; g++) {
        const struct grid *grid = &f->grids.v[g];
        if (grid->floor == floor &&
            (best == NO_REF || fabs(grid->height_m - height_m) < fabs(f->grids.v[best].height_m - height_m)))
            best = g;
    }
    return best;
}

bool field_nearest_cell(const struct fields *f, uint32_t grid, struct vec2 at_m, uint32_t *ix, uint32_t *iy)
{
    const struct grid *g = &f->grids.v[grid];
    double least = INFINITY;
    for (uint32_t y = 0; y < g->ny; y++)
        for (uint32_t x = 0; x < g->nx; x++) {
            const double dx = g->x0_m + (x + 0.5) * g->cell_m - at_m.x, dy = g->y0_m + (y + 0.5) * g->cell_m - at_m.y;
            if (dx * dx + dy * dy >= least || !g->inside[(size_t)y * g->nx + x])
                continue;
            least = dx * dx + dy * dy;
            *ix = x;
            *iy = y;
        }
    return isfinite(least);
}

/* ---- what is asked for ---- */

enum rt_code fields_want_nothing(const struct run *run, struct fields *f, struct rt_problems *p)
{
    for (uint32_t g = 0; g < f->grids.n; g++) {
        struct grid *grid = &f->grids.v[g];
        grid->wanted = ARENA_ARRAY(run->arena, bool, (size_t)grid->nx * grid->ny);
        if (!grid->wanted)
            return rt_fail_memory(p);
    }
    return RT_OK;
}

void fields_want_room(struct fields *f, uint32_t grid, uint32_t room)
{
    struct grid *g = &f->grids.v[grid];
    for (size_t i = 0; g->wanted && i < (size_t)g->nx * g->ny; i++)
        g->wanted[i] = g->wanted[i] || g->room[i] == room;
}

void fields_want_cell(struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy)
{
    struct grid *g = &f->grids.v[grid];
    if (g->wanted)
        g->wanted[(size_t)iy * g->nx + ix] = true;
}

void fields_want_all(struct fields *f)
{
    for (uint32_t g = 0; g < f->grids.n; g++)
        f->grids.v[g].wanted = NULL;
}

bool fields_want_whole(const struct fields *f)
{
    bool whole = true;
    for (uint32_t g = 0; g < f->grids.n; g++)
        whole = whole && !f->grids.v[g].wanted;
    return whole;
}

#include "draw/field_raster.h"

#include <math.h>

#include "base/units.h"
#include "radio/link.h"

enum { FINEST_STEPS = 5, MOST_NODES = 300000 };
enum { RATE_STEPS = 10, RATE_FROM_DB = -180, RATE_TO_DB = 0 }; /* steps to the dB, and the gains tabulated */
#define NEVER_DB (-1000.0) /* spare gain of a radio that can't give the level at all */

uint32_t raster_count_access_points(const struct fields *f, const struct draw_options *o, enum band band)
{
    uint32_t n = 0, last = NO_REF;
    for (uint32_t i = 0; i < f->radios.n; i++) { /* ordered by equipment */
        const struct ap_radio *ap = &f->radios.v[i];
        if (ap->band != band || ap->equipment == last || !link_is_possible(ap, o->device))
            continue;
        last = ap->equipment;
        n++;
    }
    return n;
}

/* ---- what a gain is worth ---- */

static struct link link_at(const struct raster *r, const struct ap_radio *ap, double gain_db)
{
    return link_compute(ap, r->options->device, gain_db, r->options->availability, -INFINITY);
}

static bool add_radio(struct arena *a, struct raster *r, const struct fields *f, uint32_t radio)
{
    struct raster_radio *k = &r->radios.v[r->radios.n++];
    *k = (struct raster_radio){ .ap = &f->radios.v[radio], .radio = radio };
    k->offset_db = link_at(r, k->ap, 0.0).promised_level_dbm;
    if (r->quantity == RASTER_LEVEL_DBM)
        return true;
    const uint32_t n = (RATE_TO_DB - RATE_FROM_DB) * RATE_STEPS + 1;
    float *rate = ARENA_ARRAY(a, float, n);
    for (uint32_t i = 0; rate && i < n; i++)
        rate[i] = (float)link_at(r, k->ap, RATE_FROM_DB + (double)i / RATE_STEPS).payload_mbps;
    k->rate_mbps = rate;
    return rate;
}

static double worth(const struct raster_radio *k, double gain_db)
{
    if (!k->rate_mbps)
        return gain_db + k->offset_db;
    const double at = (gain_db - RATE_FROM_DB) * RATE_STEPS;
    if (!(at > 0.0))
        return 0.0;
    const uint32_t last = (RATE_TO_DB - RATE_FROM_DB) * RATE_STEPS;
    return (double)k->rate_mbps[at < (double)last ? (uint32_t)at : last];
}

/* The least gain that gives the level; infinite if none does. */
static double gain_for(const struct raster_radio *k, double level)
{
    if (!k->rate_mbps)
        return level - k->offset_db;
    for (uint32_t i = 0; i <= (RATE_TO_DB - RATE_FROM_DB) * RATE_STEPS; i++)
        if ((double)k->rate_mbps[i] >= level)
            return RATE_FROM_DB + (double)i / RATE_STEPS;
    return INFINITY;
}

/* The value of rank `rank` over access points (0: the largest); radios of one access point count once, by their best. */
struct ranking {
    double best[2];
    double now;
    uint32_t equipment;
};

static void rank_close(struct ranking *g)
{
    if (g->now > g->best[0]) {
        g->best[1] = g->best[0];
        g->best[0] = g->now;
    } else if (g->now > g->best[1])
        g->best[1] = g->now;
    g->now = -INFINITY;
}

static void rank_add(struct ranking *g, uint32_t equipment, double value)
{
    if (equipment != g->equipment)
        rank_close(g);
    g->equipment = equipment;
    g->now = fmax(g->now, value);
}

static struct ranking rank_begin(void)
{
    return (struct ranking){ .best = { -INFINITY, -INFINITY }, .now = -INFINITY, .equipment = NO_REF };
}

static double gain_between(const struct lattice *l, const float *gain_db, double x, double y)
{
    const uint32_t ix = x < (double)(l->nx - 1) ? (uint32_t)x : l->nx - 2;
    const uint32_t iy = y < (double)(l->ny - 1) ? (uint32_t)y : l->ny - 2;
    const double kx = x - ix, ky = y - iy;
    const float *at = &gain_db[(size_t)iy * l->nx + ix];
    const double low = (double)at[0] + (kx > 0.0 ? kx * ((double)at[1] - (double)at[0]) : 0.0);
    if (!(ky > 0.0))
        return low;
    at += l->nx;
    const double high = (double)at[0] + (kx > 0.0 ? kx * ((double)at[1] - (double)at[0]) : 0.0);
    return low + ky * (high - low);
}

double raster_value(const struct raster *r, const struct raster_patch *patch, double ix, double iy)
{
    struct ranking g = rank_begin();
    for (uint32_t k = 0; k < r->radios.n; k++) {
        const double gain_db = gain_between(&patch->shape, patch->gain_db[k], ix, iy);
        if (isnan(gain_db))
            return RT_NOT_GIVEN;
        rank_add(&g, r->radios.v[k].ap->equipment, worth(&r->radios.v[k], gain_db));
    }
    rank_close(&g);
    return isfinite(g.best[r->rank]) ? g.best[r->rank] : RT_NOT_GIVEN;
}

double raster_most(const struct raster *r)
{
    double most = -INFINITY;
    for (uint32_t k = 0; k < r->radios.n; k++)
        most = fmax(most, worth(&r->radios.v[k], RATE_TO_DB));
    return most;
}

float *raster_spare_db(struct arena *a, const struct raster *r, const struct raster_patch *patch, double level)
{
    const size_t n = (size_t)patch->shape.nx * patch->shape.ny;
    float *spare_db = ARENA_ARRAY(a, float, n);
    double *needed_db = ARENA_ARRAY(a, double, r->radios.n);
    if (!spare_db || !needed_db)
        return NULL;
    for (uint32_t k = 0; k < r->radios.n; k++)
        needed_db[k] = gain_for(&r->radios.v[k], level);
    for (size_t i = 0; i < n; i++) {
        struct ranking g = rank_begin();
        for (uint32_t k = 0; k < r->radios.n; k++) {
            const double spare = (double)patch->gain_db[k][i] - needed_db[k];
            rank_add(&g, r->radios.v[k].ap->equipment, spare > NEVER_DB ? spare : NEVER_DB);
        }
        rank_close(&g);
        const bool known = r->radios.n > 0 && !isnan(patch->gain_db[0][i]) && isfinite(g.best[r->rank]);
        spare_db[i] = known ? (float)g.best[r->rank] : NAN;
    }
    return spare_db;
}

/* ---- between the cells ---- */

/* A straight piece of a wall that stands at the height of the grid, and the box about it. */
struct piece {
    const struct wall *wall;
    double along_m; /* from the wall's beginning to a */
    struct vec2 a, e;
    struct vec2 lo, hi;
};

/* What lies between the cells of one grid. */
struct between {
    const struct house *h;
    const struct grid *g;
    LIST(struct piece) pieces;
    const bool *above_roof; /* of each cell: nobody can be at its centre */
};

static bool is_above_roof(const struct house *h, const struct grid *g, struct vec2 at)
{
    return house_is_above_roof(h, g->floor, (struct vec3){ at.x, at.y, g->height_m });
}

static struct vec2 centre_of(const struct grid *g, uint32_t cell)
{
    return (struct vec2){ g->x0_m + (cell % g->nx + 0.5) * g->cell_m, g->y0_m + (cell / g->nx + 0.5) * g->cell_m };
}

static void add_pieces(struct between *b, const struct wall *w)
{
    double along_m = 0.0;
    for (uint32_t s = 0; s + 1 < w->line.n; s++) {
        const struct vec2 a = w->line.v[s], z = w->line.v[s + 1], e = vec2_sub(z, a);
        b->pieces.v[b->pieces.n++] =
            (struct piece){ w, along_m, a, e, { fmin(a.x, z.x), fmin(a.y, z.y) }, { fmax(a.x, z.x), fmax(a.y, z.y) } };
        along_m += vec2_len(e);
    }
}

static bool find_between(struct arena *a, const struct house *h, const struct grid *g, struct between *out)
{
    const uint32_t n_cells = g->nx * g->ny;
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->walls.n; i++)
        n += h->walls.v[i].line.n;
    bool *above = ARENA_ARRAY(a, bool, n_cells);
    *out = (struct between){ .h = h, .g = g, .above_roof = above };
    out->pieces.v = ARENA_ARRAY(a, struct piece, n);
    if (!above || !out->pieces.v)
        return false;
    for (uint32_t i = 0; i < h->walls.n; i++) {
        const struct wall *w = &h->walls.v[i];
        if (w->floor.i == g->floor && g->height_m >= w->base_m && g->height_m <= given_or(w->height_m, HUGE_VAL))
            add_pieces(out, w);
    }
    for (uint32_t i = 0; i < n_cells; i++)
        above[i] = g->inside[i] && is_above_roof(h, g, centre_of(g, i));
    return true;
}

static bool is_open_at(const struct wall *w, double at_m)
{
    for (uint32_t o = 0; o < w->openings.n; o++) {
        const struct opening *hole = &w->openings.v[o];
        if ((hole->kind == OPENING_GAP || hole->stands_open) && at_m > hole->at_m && at_m < hole->at_m + hole->width_m)
            return true;
    }
    return false;
}

/* True if a wall of the floor stands between two points at the height of the grid; open gaps let through. */
static bool wall_between(const struct between *b, struct vec2 p, struct vec2 q)
{
    static const double NEAR_M = 1e-6; /* more than rounding moves a crossing */
    const struct vec2 d = vec2_sub(q, p);
    const struct vec2 lo = { fmin(p.x, q.x) - NEAR_M, fmin(p.y, q.y) - NEAR_M },
                      hi = { fmax(p.x, q.x) + NEAR_M, fmax(p.y, q.y) + NEAR_M };
    for (uint32_t i = 0; i < b->pieces.n; i++) {
        const struct piece *w = &b->pieces.v[i];
        if (w->lo.x > hi.x || w->hi.x < lo.x || w->lo.y > hi.y || w->hi.y < lo.y)
            continue;
        const struct vec2 pa = vec2_sub(w->a, p);
        const double cross = vec2_cross(d, w->e);
        const double t = vec2_cross(pa, w->e) / cross, u = vec2_cross(pa, d) / cross;
        if (cross != 0.0 && t >= 0.0 && t <= 1.0 && u >= 0.0 && u <= 1.0 &&
            !is_open_at(w->wall, w->along_m + u * vec2_len(w->e)))
            return true;
    }
    return false;
}

/* The nine cells round a point and their weights (uniform quadratic B-spline in x times the same in y). */
struct blend {
    uint32_t n;
    uint32_t cell[9];
    double weight[9];
};

static void spline_weights(double at, int *first, double w[3])
{
    const double nearest = floor(at + 0.5), t = at - nearest; /* -0.5 .. 0.5 from the nearest centre */
    *first = (int)nearest - 1;
    w[0] = 0.5 * (0.5 - t) * (0.5 - t);
    w[1] = 0.75 - t * t;
    w[2] = 0.5 * (0.5 + t) * (0.5 + t);
}

static struct blend blend_at(const struct between *between, uint32_t room, struct vec2 at)
{
    const struct grid *g = between->g;
    struct blend b = { 0 };
    int x0, y0;
    double wx[3], wy[3], total = 0.0;
    spline_weights((at.x - g->x0_m) / g->cell_m - 0.5, &x0, wx);
    spline_weights((at.y - g->y0_m) / g->cell_m - 0.5, &y0, wy);
    for (int j = 0; j < 9; j++) {
        const int ix = x0 + j % 3, iy = y0 + j / 3;
        if (ix < 0 || iy < 0 || ix >= (int)g->nx || iy >= (int)g->ny)
            continue;
        const uint32_t cell = (uint32_t)iy * g->nx + (uint32_t)ix;
        if (!g->inside[cell] || between->above_roof[cell])
            continue;
        const bool own = room != NO_REF && g->room[cell] == room;
        if (!own && wall_between(between, at, centre_of(g, cell)))
            continue;
        b.cell[b.n] = cell;
        b.weight[b.n] = wx[j % 3] * wy[j / 3];
        total += b.weight[b.n++];
    }
    if (total < 1e-6)
        b.n = 0;
    for (uint32_t i = 0; i < b.n; i++)
        b.weight[i] /= total;
    return b;
}

static bool fill_patch(struct arena *a, const struct between *between, const struct fields *f, const struct raster *r,
                       struct raster_patch *patch)
{
    const struct grid *g = between->g;
    const size_t grid = (size_t)(g - f->grids.v);
    const size_t n = (size_t)patch->shape.nx * patch->shape.ny;
    patch->gain_db = ARENA_ARRAY(a, float *, r->radios.n);
    for (uint32_t k = 0; patch->gain_db && k < r->radios.n; k++)
        if (!(patch->gain_db[k] = ARENA_ARRAY(a, float, n)))
            return false;
    if (!patch->gain_db)
        return false;
    for (size_t i = 0; i < n; i++) {
        const struct vec2 at = { patch->shape.x0 + patch->shape.step * (double)(i % patch->shape.nx),
                                 patch->shape.y0 + patch->shape.step * (double)(i / patch->shape.nx) };
        const struct blend b =
            is_above_roof(between->h, g, at) ? (struct blend){ 0 } : blend_at(between, patch->room, at);
        for (uint32_t k = 0; k < r->radios.n; k++) {
            const float *gain_db = f->gain_db[grid * f->radios.n + r->radios.v[k].radio];
            double sum = 0.0;
            for (uint32_t j = 0; j < b.n; j++)
                sum += b.weight[j] * fmax((double)gain_db[b.cell[j]], RATE_FROM_DB);
            patch->gain_db[k][i] = b.n ? (float)sum : NAN;
        }
    }
    return true;
}

/* Lattice steps to a cell: fewer on wide ground, where a cell is small on the paper. */
static uint32_t steps_to_cell(const struct grid *g)
{
    uint32_t steps = FINEST_STEPS;
    while (steps > 1 && (double)g->nx * g->ny * steps * steps > MOST_NODES)
        steps--;
    return steps;
}

/* A lattice over a box of metres, on the multiples of the step that all patches share, one step wider on each side. */
static struct lattice lattice_over(const struct grid *g, struct vec2 lo, struct vec2 hi)
{
    const double step = g->cell_m / steps_to_cell(g);
    const double x_first = floor((lo.x - g->x0_m) / step) - 1.0, y_first = floor((lo.y - g->y0_m) / step) - 1.0;
    const double x_last = ceil((hi.x - g->x0_m) / step) + 1.0, y_last = ceil((hi.y - g->y0_m) / step) + 1.0;
    return (struct lattice){ .nx = (uint32_t)(x_last - x_first) + 1,
                             .ny = (uint32_t)(y_last - y_first) + 1,
                             .x0 = g->x0_m + x_first * step,
                             .y0 = g->y0_m + y_first * step,
                             .step = step };
}

static struct lattice lattice_of_outline(const struct grid *g, vec2_list outline)
{
    struct vec2 lo = outline.v[0], hi = outline.v[0];
    for (uint32_t i = 1; i < outline.n; i++) {
        lo = (struct vec2){ fmin(lo.x, outline.v[i].x), fmin(lo.y, outline.v[i].y) };
        hi = (struct vec2){ fmax(hi.x, outline.v[i].x), fmax(hi.y, outline.v[i].y) };
    }
    return lattice_over(g, lo, hi);
}

bool raster_build(struct arena *a, const struct house *h, const struct fields *f, const struct draw_options *o,
                  struct draw_subject subject, enum raster_quantity quantity, uint32_t rank, struct raster *out)
{
    const struct grid *g = &f->grids.v[subject.grid];
    *out = (struct raster){ .options = o, .quantity = quantity, .rank = rank };
    out->radios.v = ARENA_ARRAY(a, struct raster_radio, f->radios.n);
    out->patches.v = ARENA_ARRAY(a, struct raster_patch, h->rooms.n + 1);
    if (!out->radios.v || !out->patches.v)
        return false;
    for (uint32_t i = 0; i < f->radios.n; i++)
        if (f->radios.v[i].band == subject.band && link_is_possible(&f->radios.v[i], o->device) &&
            !add_radio(a, out, f, i))
            return false;
    const struct vec2 hi = { g->x0_m + g->nx * g->cell_m, g->y0_m + g->ny * g->cell_m };
    out->patches.v[out->patches.n++] =
        (struct raster_patch){ .room = NO_REF, .shape = lattice_over(g, (struct vec2){ g->x0_m, g->y0_m }, hi) };
    for (uint32_t i = 0; i < h->rooms.n; i++)
        if (h->rooms.v[i].floor.i == g->floor && h->rooms.v[i].outline.n >= 3)
            out->patches.v[out->patches.n++] =
                (struct raster_patch){ .room = i, .shape = lattice_of_outline(g, h->rooms.v[i].outline) };
    struct between between;
    if (!find_between(a, h, g, &between))
        return false;
    for (uint32_t i = 0; i < out->patches.n; i++)
        if (!fill_patch(a, &between, f, out, &out->patches.v[i]))
            return false;
    return true;
}

#include "draw/side_compare.h"

#include <math.h>

#include "draw/plan.h"
#include "promise/coverage.h"
#include "radio/link.h"

/* ---- area ---- */

/* Level = gain + offset, of the radios of the band that the device can use; NaN for the others. */
static double *offsets_db(const struct run *run, const struct fields *f, const struct draw_options *o, enum band band)
{
    double *offset_db = ARENA_ARRAY(run->arena, double, f->radios.n);
    for (uint32_t i = 0; offset_db && i < f->radios.n; i++) {
        const struct ap_radio *ap = &f->radios.v[i];
        offset_db[i] = ap->band == band && link_is_possible(ap, o->device)
                           ? link_compute(ap, o->device, 0.0, o->availability, -INFINITY).promised_level_dbm
                           : (double)NAN;
    }
    return offset_db;
}

/* NaN without an access point. */
static double level_dbm(const struct fields *f, const double *offset_db, uint32_t grid, uint32_t ix, uint32_t iy)
{
    double best_dbm = NAN;
    for (uint32_t r = 0; r < f->radios.n; r++)
        best_dbm = fmax(best_dbm, (double)field_gain_db(f, grid, r, ix, iy) + offset_db[r]);
    return best_dbm;
}

static bool is_for_people(const struct house *h, const struct grid *g, uint32_t ix, uint32_t iy)
{
    const uint32_t room = g->room[(size_t)iy * g->nx + ix];
    return room != NO_REF && cell_is_in_room(h, g, room, ix, iy);
}

/* The cell of a grid in which a place lies. */
static bool cell_at(const struct grid *g, struct vec2 at_m, uint32_t *ix, uint32_t *iy)
{
    const double x = floor((at_m.x - g->x0_m) / g->cell_m), y = floor((at_m.y - g->y0_m) / g->cell_m);
    if (!(x >= 0.0 && y >= 0.0 && x < g->nx && y < g->ny))
        return false;
    *ix = (uint32_t)x;
    *iy = (uint32_t)y;
    return true;
}

static enum rt_code compare_area(const struct run *run, const struct side_pair *pair, const struct draw_options *o,
                                 const struct side_spot *at, struct side_difference *out, struct rt_problems *p)
{
    const struct grid *g[2];
    double *offset_db[2];
    for (int k = 0; k < 2; k++) {
        g[k] = &pair->fields[k]->grids.v[at->grid[k]];
        offset_db[k] = offsets_db(run, pair->fields[k], o, at->band);
        if (!offset_db[k])
            return rt_fail_memory(p);
    }
    uint32_t n = 0, n_better[2] = { 0, 0 };
    for (uint32_t iy = 0; iy < g[0]->ny; iy++)
        for (uint32_t ix = 0; ix < g[0]->nx; ix++) {
            const struct vec2 at_m = { g[0]->x0_m + (ix + 0.5) * g[0]->cell_m, g[0]->y0_m + (iy + 0.5) * g[0]->cell_m };
            uint32_t jx, jy;
            if (!cell_at(g[1], at_m, &jx, &jy) || !is_for_people(pair->house[0], g[0], ix, iy) ||
                !is_for_people(pair->house[1], g[1], jx, jy))
                continue;
            const double more_db = level_dbm(pair->fields[0], offset_db[0], at->grid[0], ix, iy) -
                                   level_dbm(pair->fields[1], offset_db[1], at->grid[1], jx, jy);
            if (isnan(more_db)) /* one has no access point in this band */
                continue;
            n++;
            n_better[0] += more_db > SIDE_MORE_DB;
            n_better[1] += more_db < -SIDE_MORE_DB;
        }
    out->has_area = n > 0;
    for (int k = 0; k < 2 && n; k++)
        out->better_share[k] = (double)n_better[k] / n;
    return RT_OK;
}

/* ---- promises ---- */

/* How a promise stands in a room. */
enum standing { STANDS_NOT_MEANT, STANDS_KEPT, STANDS_BROKEN };

static const struct promise *signal_promise_of(const struct house *h, struct str id, enum band band)
{
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise *q = &h->promises.v[i];
        if (q->kind == PROMISE_SIGNAL && str_eq(q->id, id) && (!q->bands || q->bands & 1u << band))
            return q;
    }
    return NULL;
}

static enum rt_code judge(const struct run *run, const struct house *h, const struct fields *f, struct promise promise,
                          enum band band, enum standing *of_room, struct rt_problems *p)
{
    promise.bands &= 1u << band;
    struct coverage c;
    for (uint32_t r = 0; r < h->rooms.n; r++)
        of_room[r] = STANDS_NOT_MEANT;
    const struct arena_mark before = arena_mark(run->arena);
    RT_TRY(signal_coverage(run, h, f, &promise, &c, p));
    for (uint32_t i = 0; i < c.n_rooms; i++)
        of_room[c.rooms[i].room] = c.rooms[i].reached >= promise.level_dbm ? STANDS_KEPT : STANDS_BROKEN;
    arena_reset(run->arena, before);
    return RT_OK;
}

/* The room of the other house, on the same floor. */
static uint32_t room_like(const struct side_pair *pair, const struct side_spot *at, uint32_t room)
{
    const uint32_t other = house_find_room(pair->house[1], pair->house[0]->rooms.v[room].id);
    return other != NO_REF && pair->house[1]->rooms.v[other].floor.i == at->floor[1] ? other : NO_REF;
}

static enum rt_code compare_promises(const struct run *run, const struct side_pair *pair, const struct side_spot *at,
                                     struct side_difference *out, struct rt_problems *p)
{
    const struct house *h = pair->house[0];
    enum standing *v[2];
    bool *only_kept[2]; /* by room of the first house */
    for (int k = 0; k < 2; k++) {
        v[k] = ARENA_ARRAY(run->arena, enum standing, pair->house[k]->rooms.n);
        only_kept[k] = ARENA_ARRAY(run->arena, bool, h->rooms.n);
        out->only_kept[k].v = ARENA_ARRAY(run->arena, struct str, h->rooms.n);
        if (!v[k] || !only_kept[k] || !out->only_kept[k].v)
            return rt_fail_memory(p);
    }
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct str id = h->promises.v[i].id;
        const struct promise *q[2];
        for (int k = 0; k < 2; k++)
            q[k] = signal_promise_of(pair->house[k], id, at->band);
        if (!q[0] || !q[1])
            continue;
        for (int k = 0; k < 2; k++)
            RT_TRY(judge(run, pair->house[k], pair->fields[k], *q[k], at->band, v[k], p));
        bool is_made_here = false;
        for (uint32_t r = 0; r < h->rooms.n; r++) {
            const uint32_t other = h->rooms.v[r].floor.i == at->floor[0] ? room_like(pair, at, r) : NO_REF;
            if (other == NO_REF || v[0][r] == STANDS_NOT_MEANT || v[1][other] == STANDS_NOT_MEANT)
                continue;
            is_made_here = true;
            only_kept[0][r] |= v[0][r] == STANDS_KEPT && v[1][other] == STANDS_BROKEN;
            only_kept[1][r] |= v[1][other] == STANDS_KEPT && v[0][r] == STANDS_BROKEN;
        }
        out->n_promises += is_made_here;
    }
    for (int k = 0; k < 2; k++)
        for (uint32_t r = 0; r < h->rooms.n; r++)
            if (only_kept[k][r]) /* each house by its own name of the room */
                out->only_kept[k].v[out->only_kept[k].n++] =
                    plan_room_name(run->arena, pair->house[k], k ? room_like(pair, at, r) : r);
    return RT_OK;
}

enum rt_code side_compare(const struct run *run, const struct side_pair *pair, const struct draw_options *options,
                          const struct side_spot *at, struct side_difference *out, struct rt_problems *p)
{
    *out = (struct side_difference){ 0 };
    RT_TRY(compare_area(run, pair, options, at, out, p));
    return compare_promises(run, pair, at, out, p);
}

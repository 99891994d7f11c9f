/* The inside of a cabinet: blocks of whole rack units (a rack part, a shelf with what stands on it, a row of sockets, the strip), first
 * those whose unit the file gives, then the others from the top down or from the bottom up. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "wire/front_int.h"
#include "wire/inside.h"

#define TRAY_M 0.01   /* what a shelf takes of its units */
#define APART_M 0.015 /* between things on a shelf */
#define WALL_M 0.02   /* of a box without a rack, and the air before it */
#define BEHIND_M 0.05 /* for plugs behind a thing */
enum { MAX_UNITS = 60 };

struct block {
    enum stand_rank rank;
    bool is_shelf;
    unsigned unit, units; /* unit 0: no place yet */
    bool is_given;
    double used_m; /* of a shelf's width */
    uint32_t order;
};

struct rack {
    struct front_maker *m;
    struct front *f;
    draft_list *list;
    uint32_t *block_of; /* of each of the list */
    VEC(struct block) blocks;
    unsigned n_units;
    double x_m, w_m; /* between the rails */
    bool taken[MAX_UNITS + 1];
};

static unsigned shelf_units(double high_m) { return (unsigned)ceil((high_m + TRAY_M) / RACK_UNIT_M - 1e-9); }

static uint32_t new_block(struct rack *r, struct block b)
{
    b.order = r->blocks.n;
    r->m->failed |= !VEC_PUSH(r->m->arena, &r->blocks, b);
    return r->blocks.n - 1;
}

/* ---- what goes into which block ---- */

/* Ranks that share a shelf: what is plugged together at the top, machines, batteries. */
static int shelf_kind(enum stand_rank rank) { return rank <= RANK_SWITCH ? 0 : rank == RANK_BATTERY ? 2 : 1; }

/* A shelf of this kind, or at this unit, on which there is room; NO_REF: none. */
static uint32_t shelf_for(const struct rack *r, const struct draft_stand *d)
{
    for (uint32_t i = 0; i < r->blocks.n; i++) {
        const struct block *b = &r->blocks.v[i];
        const bool suits = is_given(d->unit) ? b->is_given && b->unit == (unsigned)d->unit
                                             : !b->is_given && shelf_kind(b->rank) == shelf_kind(d->rank);
        if (b->is_shelf && suits && b->used_m + APART_M + d->stand.w_m <= r->w_m)
            return i;
    }
    return NO_REF;
}

static void put_on_shelf(struct rack *r, uint32_t i)
{
    struct draft_stand *d = &r->list->v[i];
    uint32_t k = shelf_for(r, d);
    if (k == NO_REF) {
        k = new_block(r, (struct block){ .rank = d->rank,
                                         .is_shelf = true,
                                         .unit = is_given(d->unit) ? (unsigned)d->unit : 0,
                                         .is_given = is_given(d->unit) });
        if (r->m->failed)
            return;
    }
    struct block *b = &r->blocks.v[k];
    d->stand.x_m = r->x_m + b->used_m + (b->used_m > 0.0 ? APART_M : 0.0);
    b->used_m = d->stand.x_m - r->x_m + d->stand.w_m;
    if (b->units < shelf_units(d->stand.h_m))
        b->units = shelf_units(d->stand.h_m);
    r->block_of[i] = k;
}

static void put_in_rack(struct rack *r, uint32_t i)
{
    struct draft_stand *d = &r->list->v[i];
    d->stand.x_m = (r->f->w_m - RACK_WIDTH_M) / 2.0;
    d->stand.w_m = RACK_WIDTH_M;
    d->stand.h_m = d->stand.units * RACK_UNIT_M;
    r->block_of[i] = new_block(r, (struct block){ .rank = d->rank,
                                                  .units = d->stand.units,
                                                  .unit = is_given(d->unit) ? (unsigned)d->unit : 0,
                                                  .is_given = is_given(d->unit) });
}

static void make_blocks(struct rack *r)
{
    for (uint32_t i = 0; i < r->list->n && !r->m->failed; i++) {
        struct draft_stand *d = &r->list->v[i];
        d->stand.is_given = is_given(d->unit);
        d->stand.is_too_deep =
            d->part && is_given(d->part->depth_m) && r->f->is_size_known && d->part->depth_m + BEHIND_M > r->f->d_m;
        if (d->stand.units && r->f->rack_units)
            put_in_rack(r, i);
        else if (d->stand.w_m <= r->w_m)
            put_on_shelf(r, i);
        else
            r->block_of[i] = NO_REF; /* too wide for the box */
    }
}

/* ---- where each block goes ---- */

static bool is_free(const struct rack *r, unsigned unit, unsigned units)
{
    if (unit < 1 || unit + units - 1 > r->n_units)
        return false;
    for (unsigned u = unit; u < unit + units; u++)
        if (r->taken[u])
            return false;
    return true;
}

static void take(struct rack *r, struct block *b, unsigned unit)
{
    b->unit = unit;
    for (unsigned u = unit; u < unit + b->units && u <= r->n_units; u++)
        r->taken[u] = true;
}

static void take_given(struct rack *r)
{
    for (uint32_t i = 0; i < r->blocks.n; i++)
        if (r->blocks.v[i].is_given)
            take(r, &r->blocks.v[i], r->blocks.v[i].unit);
}

static void from_the_top(struct rack *r, struct block *b)
{
    for (unsigned u = r->n_units; u >= 1; u--)
        if (is_free(r, u, b->units)) {
            take(r, b, u);
            return;
        }
}

static void from_the_bottom(struct rack *r, struct block *b)
{
    for (unsigned u = 1; u <= r->n_units; u++)
        if (is_free(r, u, b->units)) {
            take(r, b, u);
            return;
        }
}

/* As near as there is room to a switch that has its place, rather above it. */
static void by_the_switch(struct rack *r, struct block *b)
{
    const struct block *at = NULL;
    for (uint32_t i = 0; i < r->blocks.n; i++)
        if (r->blocks.v[i].rank == RANK_SWITCH && r->blocks.v[i].is_given)
            at = &r->blocks.v[i];
    if (!at) {
        from_the_top(r, b);
        return;
    }
    for (unsigned far = 0; far <= r->n_units; far++) {
        const unsigned above = at->unit + at->units + far;
        if (is_free(r, above, b->units)) {
            take(r, b, above);
            return;
        }
        if (at->unit > b->units + far && is_free(r, at->unit - b->units - far, b->units)) {
            take(r, b, at->unit - b->units - far);
            return;
        }
    }
}

static void place_rank(struct rack *r, enum stand_rank rank)
{
    for (uint32_t i = 0; i < r->blocks.n; i++) {
        struct block *b = &r->blocks.v[i];
        if (b->rank != rank || b->is_given)
            continue;
        if (rank == RANK_PATCH)
            by_the_switch(r, b);
        else if (rank <= RANK_SWITCH)
            from_the_top(r, b);
        else
            from_the_bottom(r, b);
    }
}

/* ---- our own things ---- */

static void add_own(struct rack *r, enum stand_kind kind, enum stand_rank rank, uint32_t which)
{
    struct draft_stand d = { .stand = { .kind = kind, .which = which, .is_size_known = true }, .rank = rank };
    d.at_m = (struct vec3){ RT_NOT_GIVEN, RT_NOT_GIVEN, RT_NOT_GIVEN };
    d.unit = RT_NOT_GIVEN;
    d.stand.units = 1;
    d.stand.w_m = r->f->rack_units ? RACK_WIDTH_M : r->w_m;
    d.stand.x_m = (r->f->w_m - d.stand.w_m) / 2.0;
    d.stand.h_m = RACK_UNIT_M;
    d.order = r->list->n;
    r->m->failed |= !VEC_PUSH(r->m->arena, r->list, d);
}

/* Rows of sockets that the file does not have yet, and a strip for what wants mains. */
static void add_patch_and_strip(struct rack *r)
{
    uint32_t rows = front_rows(r->f), n_mains = 0;
    for (uint32_t i = 0; i < r->list->n; i++) {
        const struct draft_stand *d = &r->list->v[i];
        rows -= rows && d->rank == RANK_PATCH && d->stand.kind == STAND_EQUIPMENT;
        n_mains += d->stand.power == POWER_MAINS;
    }
    for (uint32_t i = 0; i < rows; i++)
        add_own(r, STAND_PATCH, RANK_PATCH, i);
    if (n_mains)
        add_own(r, STAND_STRIP, RANK_STRIP, NO_REF);
}

/* ---- back to the things ---- */

static void place_things(struct rack *r)
{
    for (uint32_t i = 0; i < r->list->n; i++) {
        struct stand *s = &r->list->v[i].stand;
        const struct block *b = r->block_of[i] == NO_REF ? NULL : &r->blocks.v[r->block_of[i]];
        s->fits = b && b->unit > 0;
        if (!s->fits)
            continue;
        s->unit = r->f->rack_units ? b->unit : 0;
        s->units = r->f->rack_units ? b->units : 0;
        s->z_m = r->f->rack_z_m + (b->unit - 1) * RACK_UNIT_M + (b->is_shelf ? TRAY_M : 0.0);
    }
}

static void add_shelves(struct rack *r)
{
    for (uint32_t i = 0; i < r->blocks.n; i++) {
        const struct block *b = &r->blocks.v[i];
        if (!b->is_shelf || !b->unit)
            continue;
        struct draft_stand d = { .stand = { .kind = STAND_SHELF, .which = i, .fits = true, .is_size_known = true } };
        d.stand.is_given = b->is_given;
        d.stand.unit = r->f->rack_units ? b->unit : 0;
        d.stand.units = r->f->rack_units ? b->units : 0;
        d.stand.w_m = r->f->rack_units ? RACK_WIDTH_M : r->w_m;
        d.stand.x_m = (r->f->w_m - d.stand.w_m) / 2.0;
        d.stand.z_m = r->f->rack_z_m + (b->unit - 1) * RACK_UNIT_M;
        d.stand.h_m = TRAY_M;
        r->m->failed |= !VEC_PUSH(r->m->arena, r->list, d);
    }
}

static void measure(struct rack *r)
{
    struct front *f = r->f;
    const struct cabinet_size size = cabinet_size_of(r->m->h, f->cabinet);
    const double units = f->heat ? f->heat->rack_units : RT_NOT_GIVEN;
    f->w_m = size.w_m;
    f->h_m = size.h_m;
    f->d_m = size.d_m;
    f->is_size_known = size.is_known;
    f->rack_units = is_given(units) ? (unsigned)fmin(units, MAX_UNITS) : 0;
    r->n_units = f->rack_units ? f->rack_units
                               : (unsigned)fmax(0.0, fmin(MAX_UNITS, floor((f->h_m - 2.0 * WALL_M) / RACK_UNIT_M)));
    f->h_m = fmax(f->h_m, r->n_units * RACK_UNIT_M);
    if (f->rack_units)
        f->w_m = fmax(f->w_m, RACK_WIDTH_M);
    f->rack_z_m = (f->h_m - r->n_units * RACK_UNIT_M) / 2.0;
    r->w_m = f->rack_units ? RACK_WIDTH_M - 2.0 * WALL_M : f->w_m - 2.0 * WALL_M;
    r->x_m = (f->w_m - r->w_m) / 2.0;
}

void front_fill_cabinet(struct front_maker *m, struct front *f, draft_list *list)
{
    struct rack r = { .m = m, .f = f, .list = list };
    measure(&r);
    add_patch_and_strip(&r);
    r.block_of = ARENA_ARRAY(m->arena, uint32_t, list->n);
    m->failed |= !r.block_of;
    if (m->failed)
        return;
    make_blocks(&r);
    if (m->failed)
        return;
    take_given(&r);
    static const enum stand_rank ORDER[] = {
        RANK_GATEWAY, RANK_PATCH, RANK_SWITCH, RANK_BATTERY, RANK_STRIP, RANK_OTHER
    };
    for (size_t i = 0; i < RT_COUNT(ORDER); i++)
        place_rank(&r, ORDER[i]);
    place_things(&r);
    add_shelves(&r);
    for (unsigned u = 1; u <= r.n_units; u++)
        f->units_free += !r.taken[u];
    if (!f->rack_units)
        f->units_free = 0;
}

#include "web/preview.h"

#include <math.h>

#include "base/units.h"
#include "radio/link.h"

struct preview {
    enum estimate estimate;
    enum band band;
    ap_radio_list radios;        /* of the house, of this band */
    struct fields all;           /* every floor, with the radios where they are */
    bool is_there;               /* ... and computed */
    struct field_tables *tables; /* of their frequencies; NULL: nothing was moved yet */
};

static struct field_options options_of(const struct evaluation *ev, enum estimate estimate)
{
    struct field_options o = ev->options;
    o.trace.estimate = estimate;
    o.cell_m = PREVIEW_CELL_M;
    o.trace.order = PREVIEW_ORDER;
    o.missing_db = FIELD_MISSING_IN_PREVIEW_DB;
    return o;
}

/* Only the band that is asked for is traced. */
static enum rt_code pick_band(struct arena *a, ap_radio_list all, enum band band, ap_radio_list *out,
                              struct rt_problems *p)
{
    *out = (ap_radio_list){ .v = ARENA_ARRAY(a, struct ap_radio, all.n) };
    if (!out->v)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < all.n; i++)
        if (all.v[i].band == band)
            out->v[out->n++] = all.v[i];
    return RT_OK;
}

/* What is kept for this estimate and band. */
static enum rt_code begin(struct lane *lane, enum estimate estimate, enum band band, struct preview **out,
                          struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct preview **kept = &lane->preview[estimate][band];
    *out = *kept;
    if (*kept)
        return RT_OK;
    struct preview *k = ARENA_NEW(ev->run->arena, struct preview);
    if (!k)
        return rt_fail_memory(p);
    k->estimate = estimate;
    k->band = band;
    RT_TRY(pick_band(ev->run->arena, ev->radios, band, &k->radios, p));
    RT_TRY(grids_of_house(ev->run, ev->h, PREVIEW_CELL_M, &k->all, p));
    *out = *kept = k;
    return RT_OK;
}

/* One floor of it. */
static struct fields floor_of(const struct preview *k, uint32_t grid)
{
    struct fields one = k->all;
    one.grids.v = &k->all.grids.v[grid];
    one.grids.n = 1;
    one.gain_db = k->all.gain_db + (size_t)grid * k->all.radios.n;
    return one;
}

/* The radios where they are, and which floor is asked for.  All floors are made at once: what reaches walls and edges from an access
 * point is found once for all of them, and whoever sees one floor soon looks at the next. */
static enum rt_code standing(struct lane *lane, const struct field_asked *asked, struct preview **kept, uint32_t *grid,
                             struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    RT_TRY(begin(lane, asked->estimate, asked->subject.band, kept, p));
    struct preview *k = *kept;
    *grid = field_grid_at(&k->all, asked->floor, asked->height_m);
    if (*grid == NO_REF)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "draw its outline", "this floor has no outline, so no field");
    if (k->is_there)
        return RT_OK;
    RT_TRY(fields_compute(ev->run, ev->h, ev->scene, k->radios, options_of(ev, k->estimate), &k->all, p));
    k->is_there = true;
    return RT_OK;
}

/* ---- the one that is held ---- */

static enum rt_code find_equipment(const struct evaluation *ev, const struct held *held, struct equipment *e,
                                   uint32_t *index, struct rt_problems *p)
{
    const struct house *h = ev->h;
    *index = h->equipment.n;
    *e = (struct equipment){ .id = STR("new"),
                             .part = { .i = NO_REF },
                             .faces_deg = RT_NOT_GIVEN,
                             .tilt_deg = RT_NOT_GIVEN,
                             .inside = { .i = NO_REF } };
    if (held->equipment.n) {
        *index = house_find_equipment(h, held->equipment);
        if (*index == NO_REF)
            return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, NULL, "the house has no equipment '%.*s'",
                           STR_ARG(held->equipment));
        *e = h->equipment.v[*index];
        if (e->mount.i != NO_REF) {
            e->faces_deg = given_or(e->faces_deg, h->mounts.v[e->mount.i].faces_deg);
            e->tilt_deg = given_or(e->tilt_deg, h->mounts.v[e->mount.i].tilt_deg);
        }
    }
    if (held->part.n) {
        e->part.i = parts_find(&h->parts, held->part);
        e->radios.n = 0; /* the settings were the other part's */
    }
    if (e->part.i == NO_REF)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "name a `part` of the parts file", "there is no such part");
    return RT_OK;
}

/* Its radios where it is held; it leaves its mount, and keeps the way it hung there. */
static enum rt_code resolve(const struct run *run, const struct evaluation *ev, const struct held *held,
                            ap_radio_list *out, uint32_t *index, struct rt_problems *p)
{
    struct equipment e;
    RT_TRY(find_equipment(ev, held, &e, index, p));
    const enum part_kind kind = ev->h->parts.list.v[e.part.i].kind;
    if (kind != PART_ACCESS_POINT && kind != PART_GATEWAY)
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "move it by an edit", "only what has radios changes the field");
    e.mount = (struct ref){ .i = NO_REF };
    e.floor = (struct ref){ .i = held->floor };
    e.room = (struct ref){ .i = house_room_at(ev->h, held->floor, (struct vec2){ held->at_m.x, held->at_m.y }) };
    e.at_m = held->at_m;
    e.faces_deg = given_or(held->faces_deg, e.faces_deg);
    e.tilt_deg = given_or(held->tilt_deg, e.tilt_deg);
    struct house alone = *ev->h;
    alone.equipment.v = &e;
    alone.equipment.n = 1;
    RT_TRY(ap_radios_resolve(run, &alone, ev->rules, out, p));
    for (uint32_t i = 0; i < out->n; i++)
        out->v[i].equipment = *index;
    return RT_OK;
}

/* They take 40 MB: of a house that is only looked at none are kept. */
static enum rt_code keep_tables(const struct evaluation *ev, struct preview *k, struct rt_problems *p)
{
    return k->tables
               ? RT_OK
               : field_tables_build(ev->run, ev->scene, k->radios, options_of(ev, k->estimate).trace, &k->tables, p);
}

/* ---- all together ---- */

struct ranked {
    double best[2]; /* of two access points */
    double now;
    uint32_t equipment;
};

static void rank_close(struct ranked *g)
{
    if (g->now > g->best[0]) {
        g->best[1] = g->best[0];
        g->best[0] = g->now;
    } else {
        g->best[1] = fmax(g->best[1], g->now);
    }
    g->now = -INFINITY;
}

static struct link link_of(const struct ap_radio *ap, const struct field_asked *a, double gain_db)
{
    return link_compute(ap, a->options.device, gain_db, a->options.availability, -INFINITY);
}

static double rate_mbps(const struct ap_radio *ap, const struct field_asked *a, double gain_db)
{
    return link_of(ap, a, gain_db).payload_mbps;
}

/* Of each radio: level = gain + offset.  NULL: the arena's ceiling. */
static double *offsets_db(struct arena *arena, const struct fields *f, const struct field_asked *a)
{
    double *offset_db = ARENA_ARRAY(arena, double, f->radios.n);
    for (uint32_t i = 0; offset_db && i < f->radios.n; i++)
        offset_db[i] = link_of(&f->radios.v[i], a, 0.0).promised_level_dbm;
    return offset_db;
}

static void rank(struct ranked *g, const struct fields *f, const double *offset_db, const struct field_asked *a,
                 size_t cell, uint32_t without)
{
    for (uint32_t i = 0; i < f->radios.n; i++) { /* in order of equipment */
        const struct ap_radio *ap = &f->radios.v[i];
        if (ap->band != a->subject.band || ap->equipment == without || !link_is_possible(ap, a->options.device))
            continue;
        if (ap->equipment != g->equipment)
            rank_close(g);
        g->equipment = ap->equipment;
        const double gain_db = (double)f->gain_db[i][cell];
        g->now =
            fmax(g->now, a->kind->quantity == RASTER_LEVEL_DBM ? gain_db + offset_db[i] : rate_mbps(ap, a, gain_db));
    }
    rank_close(g);
    g->equipment = NO_REF;
}

static enum rt_code combine(struct arena *arena, const struct fields *others, const struct fields *held, uint32_t index,
                            const struct field_asked *a, struct field_nodes *out, struct rt_problems *p)
{
    const struct grid *g = others->grids.v;
    float *v = ARENA_ARRAY(arena, float, (size_t)g->nx * g->ny);
    const double *others_db = offsets_db(arena, others, a), *held_db = offsets_db(arena, held, a);
    if (!v || !others_db || !held_db)
        return rt_fail_memory(p);
    for (size_t i = 0; i < (size_t)g->nx * g->ny; i++) {
        struct ranked r = { { -INFINITY, -INFINITY }, -INFINITY, NO_REF };
        v[i] = NAN;
        if (!g->inside[i])
            continue;
        rank(&r, others, others_db, a, i, index);
        rank(&r, held, held_db, a, i, NO_REF);
        if (isfinite(r.best[a->kind->rank]))
            v[i] = (float)r.best[a->kind->rank];
    }
    *out = (struct field_nodes){ .columns = g->nx,
                                 .rows = g->ny,
                                 .step_m = g->cell_m,
                                 .x0_m = g->x0_m + g->cell_m / 2.0,
                                 .y0_m = g->y0_m + g->cell_m / 2.0,
                                 .z_m = g->z_m,
                                 .v = v };
    return RT_OK;
}

enum rt_code preview_make(struct lane *lane, const struct run *run, const struct held *held,
                          const struct field_asked *asked, struct field_nodes *out, struct rt_problems *p)
{
    struct preview *kept = NULL;
    ap_radio_list all, radios;
    uint32_t grid = NO_REF, index = NO_REF;
    RT_TRY(standing(lane, asked, &kept, &grid, p));
    RT_TRY(resolve(run, &lane->ev, held, &all, &index, p));
    RT_TRY(pick_band(run->arena, all, asked->subject.band, &radios, p));
    RT_TRY(keep_tables(&lane->ev, kept, p));
    const struct fields others = floor_of(kept, grid);
    struct fields now = { .grids = others.grids };
    RT_TRY(fields_compute_with(run, kept->tables, radios, options_of(&lane->ev, kept->estimate), &now, p));
    return combine(run->arena, &others, &now, index, asked, out, p);
}

enum rt_code preview_still(struct lane *lane, const struct run *run, const struct field_asked *asked,
                           struct field_nodes *out, struct rt_problems *p)
{
    static const struct fields NONE = { 0 };
    struct preview *kept = NULL;
    uint32_t grid = NO_REF;
    RT_TRY(standing(lane, asked, &kept, &grid, p));
    const struct fields others = floor_of(kept, grid);
    return combine(run->arena, &others, &NONE, NO_REF, asked, out, p);
}

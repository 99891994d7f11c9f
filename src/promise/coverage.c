#include "promise/coverage.h"

#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "house/polygon.h"
#include "promise/result.h"
#include "promise/spot_words.h"

static const double DEFAULT_HEIGHT_M = 1.2;

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static struct vec3 cell_centre(const struct grid *g, uint32_t ix, uint32_t iy)
{
    return (struct vec3){ g->x0_m + (ix + 0.5) * g->cell_m, g->y0_m + (iy + 0.5) * g->cell_m, g->height_m };
}

bool cell_is_in_room(const struct house *h, const struct grid *g, uint32_t room, uint32_t ix, uint32_t iy)
{
    const struct vec3 at = cell_centre(g, ix, iy);
    return g->room[(size_t)iy * g->nx + ix] == room && !house_is_solid_at(h, g->floor, at) &&
           !house_is_above_roof(h, g->floor, at);
}

uint32_t cells_wanted(double share, uint32_t n_cells)
{
    const uint32_t allowed = (uint32_t)floor((1.0 - share) * n_cells + 1e-9);
    return n_cells - (allowed < n_cells ? allowed : n_cells - 1);
}

/* Judges one room; n_cells 0 if no cell centre lies in it, under its roof. */
static enum rt_code judge_room(const struct run *run, const struct house *h, const struct fields *f, uint32_t room,
                               uint32_t grid, const struct room_demand *demand, double wanted_share,
                               struct room_coverage *out, struct rt_problems *p)
{
    const struct grid *g = &f->grids.v[grid];
    double *values = ARENA_ARRAY(run->arena, double, (size_t)g->nx * g->ny);
    if (!values)
        return rt_fail_memory(p);
    *out = (struct room_coverage){ .room = room, .worst = INFINITY };
    uint32_t n_reached = 0;
    for (uint32_t iy = 0; iy < g->ny; iy++)
        for (uint32_t ix = 0; ix < g->nx; ix++) {
            if (!cell_is_in_room(h, g, room, ix, iy))
                continue;
            if (!field_is_known(f, grid, ix, iy))
                return rt_fail(p, RT_MISSING, RT_NOWHERE, NULL, "the field was not computed in room '%.*s'",
                               STR_ARG(h->rooms.v[room].id));
            double v;
            demand->judge(demand->user, f, grid, ix, iy, &v);
            values[out->n_cells++] = v;
            n_reached += v >= demand->threshold;
            if (v < out->worst || out->n_cells == 1) {
                out->worst = v;
                out->spot = (struct spot){ grid, ix, iy, cell_centre(g, ix, iy) };
            }
        }
    if (out->n_cells == 0)
        return RT_OK;
    qsort(values, out->n_cells, sizeof *values, by_value);
    out->reached = values[out->n_cells - cells_wanted(wanted_share, out->n_cells)];
    out->share = (double)n_reached / out->n_cells;
    return RT_OK;
}

bool room_is_meant(const struct promise *promise, uint32_t room)
{
    for (uint32_t i = 0; i < promise->rooms.n; i++)
        if (promise->rooms.v[i].i == room)
            return true;
    return false;
}

uint32_t coverage_grid_of(const struct house *h, const struct fields *f, const struct promise *promise, uint32_t room)
{
    return field_grid_at(f, h->rooms.v[room].floor.i, given_or(promise->height_m, DEFAULT_HEIGHT_M));
}

void coverage_want(const struct house *h, struct fields *fields)
{
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise *q = &h->promises.v[i];
        if (q->kind != PROMISE_SIGNAL && q->kind != PROMISE_RATE && q->kind != PROMISE_ROAMING)
            continue;
        for (uint32_t room = 0; room < h->rooms.n; room++) {
            const uint32_t grid = room_is_meant(q, room) ? coverage_grid_of(h, fields, q, room) : NO_REF;
            if (grid != NO_REF)
                fields_want_room(fields, grid, room);
        }
    }
}

enum rt_code coverage_of_promise(const struct run *run, const struct house *h, const struct fields *f,
                                 const struct promise *promise, const struct room_demand *demand, struct coverage *out,
                                 struct rt_problems *p)
{
    *out = (struct coverage){ .kept = true, .margin = INFINITY, .unjudged = NO_REF };
    out->rooms = ARENA_ARRAY(run->arena, struct room_coverage, h->rooms.n);
    if (!out->rooms)
        return rt_fail_memory(p);
    for (uint32_t room = 0; room < h->rooms.n; room++) {
        if (!room_is_meant(promise, room))
            continue;
        const uint32_t grid = coverage_grid_of(h, f, promise, room);
        struct room_coverage *c = &out->rooms[out->n_rooms];
        if (grid != NO_REF)
            RT_TRY(judge_room(run, h, f, room, grid, demand, promise->area_share, c, p));
        if (grid == NO_REF || c->n_cells == 0) {
            out->unjudged = out->unjudged == NO_REF ? room : out->unjudged;
            continue;
        }
        out->kept = out->kept && c->reached >= demand->threshold;
        if (out->n_rooms == 0 || c->reached < out->rooms[out->worst].reached)
            out->worst = out->n_rooms;
        out->n_rooms++;
    }
    if (out->n_rooms)
        out->margin = out->rooms[out->worst].reached - demand->threshold;
    return RT_OK;
}

/* ---- where a promise about rooms is tried on the day ---- */

/* Somebody stands there; beside the spot that decides so many more, in a room this large one again. */
static const double STANDS_M = 0.5, LARGE_ROOM_M2 = 12.0;
enum { FURTHER_SPOTS = 2, SPOTS_MAX = FURTHER_SPOTS + 2 };

/* The cell of the room farthest from all of these, ties to the first; false: none is left in which one can stand. */
static bool farthest_spot(const struct house *h, const struct fields *f, const struct room_coverage *r,
                          const struct spot *from, uint32_t n, struct spot *out)
{
    const struct grid *g = &f->grids.v[r->spot.grid];
    double best_m = 1.0; /* nearer is the same place */
    for (uint32_t iy = 0; iy < g->ny; iy++)
        for (uint32_t ix = 0; ix < g->nx; ix++) {
            const struct vec3 at = cell_centre(g, ix, iy);
            const struct vec2 q = { at.x, at.y };
            double near_m = INFINITY;
            for (uint32_t i = 0; i < n; i++)
                near_m = fmin(near_m, vec2_len(vec2_sub(q, (struct vec2){ from[i].at_m.x, from[i].at_m.y })));
            if (near_m <= best_m || !cell_is_in_room(h, g, r->room, ix, iy) ||
                polygon_edge_distance_m(h->rooms.v[r->room].outline, q) < STANDS_M)
                continue;
            best_m = near_m;
            *out = (struct spot){ r->spot.grid, ix, iy, at };
        }
    return best_m > 1.0;
}

/* ---- what is met, for people ---- */

static struct cell_figures figures_at(const struct room_demand *demand, const struct fields *f, const struct spot *s)
{
    if (demand->tell)
        return demand->tell(demand->user, f, s->grid, s->ix, s->iy);
    struct cell_figures met = { .way_back = RT_NOT_GIVEN };
    demand->judge(demand->user, f, s->grid, s->ix, s->iy, &met.there);
    return met;
}

static void figure_facts(struct arena *a, struct fact *o, const struct room_demand *demand, struct cell_figures met)
{
    fact_num(a, o, demand->key, met.there, demand->decimals);
    if (demand->back_key)
        fact_num(a, o, demand->back_key, met.way_back, demand->decimals);
}

/* What the promised share of a room's cells reaches, and the least; each direction by itself. */
static bool room_figures(const struct evaluation *ev, const struct fields *f, const struct room_coverage *r,
                         const struct room_demand *demand, double share, struct cell_figures *reached,
                         struct cell_figures *worst)
{
    if (!demand->tell) {
        *reached = (struct cell_figures){ r->reached, RT_NOT_GIVEN };
        *worst = (struct cell_figures){ r->worst, RT_NOT_GIVEN };
        return true;
    }
    const struct arena_mark before = arena_mark(ev->run->arena);
    const struct grid *g = &f->grids.v[r->spot.grid];
    double *there = ARENA_ARRAY(ev->run->arena, double, r->n_cells);
    double *back = ARENA_ARRAY(ev->run->arena, double, r->n_cells);
    uint32_t n = 0;
    if (!there || !back)
        return false;
    for (uint32_t iy = 0; iy < g->ny; iy++)
        for (uint32_t ix = 0; ix < g->nx; ix++) {
            const struct spot s = { .grid = r->spot.grid, .ix = ix, .iy = iy };
            if (!cell_is_in_room(ev->h, g, r->room, ix, iy))
                continue;
            const struct cell_figures met = figures_at(demand, f, &s);
            there[n] = met.there;
            back[n++] = met.way_back;
        }
    qsort(there, n, sizeof *there, by_value);
    qsort(back, n, sizeof *back, by_value);
    const uint32_t at = n - cells_wanted(share, n);
    *reached = (struct cell_figures){ there[at], back[at] };
    *worst = (struct cell_figures){ there[0], back[0] };
    arena_reset(ev->run->arena, before);
    return true;
}

static void point_facts(struct arena *a, struct fact *o, struct vec3 at_m)
{
    struct fact *at = fact_array(a, o, "at_m");
    fact_num(a, at, NULL, at_m.x, 3);
    fact_num(a, at, NULL, at_m.y, 3);
    fact_num(a, at, NULL, at_m.z, 3);
}

/* The first cell with the value that the promised share of the area reaches: all that is worse may be. */
static struct spot deciding_spot(const struct house *h, const struct fields *f, const struct room_coverage *r,
                                 const struct room_demand *demand)
{
    const struct grid *g = &f->grids.v[r->spot.grid];
    for (uint32_t iy = 0; iy < g->ny; iy++)
        for (uint32_t ix = 0; ix < g->nx; ix++) {
            double value;
            if (!cell_is_in_room(h, g, r->room, ix, iy))
                continue;
            demand->judge(demand->user, f, r->spot.grid, ix, iy, &value);
            if (value <= r->reached && value >= r->reached)
                return (struct spot){ r->spot.grid, ix, iy, cell_centre(g, ix, iy) };
        }
    return r->spot;
}

/* The spot that decides, and others spread over the room, with what is judged there. */
static void room_spots(const struct evaluation *ev, const struct fields *f, const struct room_coverage *r,
                       const struct room_demand *demand, struct fact *room)
{
    struct arena *a = ev->run->arena;
    struct spot spots[SPOTS_MAX] = { deciding_spot(ev->h, f, r, demand) };
    const uint32_t n_most =
        FURTHER_SPOTS + 1 + (fabs(polygon_area_m2(ev->h->rooms.v[r->room].outline)) > LARGE_ROOM_M2);
    struct fact *list = fact_array(a, room, "spots");
    for (uint32_t n = 0; n < n_most; n++) {
        if (n && !farthest_spot(ev->h, f, r, spots, n, &spots[n]))
            break;
        double judged;
        const uint32_t radio = demand->judge(demand->user, f, spots[n].grid, spots[n].ix, spots[n].iy, &judged);
        struct fact *o = fact_object(a, list, NULL);
        point_facts(a, o, spots[n].at_m);
        figure_facts(a, o, demand, figures_at(demand, f, &spots[n]));
        fact_str(a, o, "access_point", radio == NO_REF ? STR("") : ev->h->equipment.v[f->radios.v[radio].equipment].id);
        fact_text(a, o, "band", radio == NO_REF ? "" : band_name(f->radios.v[radio].band));
    }
}

static bool room_facts(const struct evaluation *ev, const struct fields *f, const struct coverage *c,
                       const struct room_demand *demand, double share, struct fact *evidence)
{
    struct arena *a = ev->run->arena;
    struct fact *rooms = fact_array(a, evidence, "rooms");
    for (uint32_t i = 0; i < c->n_rooms; i++) {
        const struct room_coverage *r = &c->rooms[i];
        struct fact *o = fact_object(a, rooms, NULL);
        fact_str(a, o, "room", ev->h->rooms.v[r->room].id);
        fact_num(a, o, "area_share", r->share, 3);
        struct cell_figures reached, worst;
        if (!room_figures(ev, f, r, demand, share, &reached, &worst))
            return false;
        figure_facts(a, o, demand, reached);
        fact_num(a, o, "worst", worst.there, demand->decimals);
        if (demand->back_key)
            fact_num(a, o, "worst_uplink", worst.way_back, demand->decimals);
        if (!ev->damage) /* after a failure nobody goes round */
            room_spots(ev, f, r, demand, o);
    }
    return true;
}

static void spot_facts(const struct evaluation *ev, const struct spot *s, const struct fields *f, struct fact *evidence)
{
    struct arena *a = ev->run->arena;
    const uint32_t floor = f->grids.v[s->grid].floor;
    struct fact *o = fact_object(a, evidence, "worst_spot");
    fact_str(a, o, "floor", ev->h->floors.v[floor].id);
    point_facts(a, o, s->at_m);
    fact_str(a, o, "where", spot_words(a, ev->h, floor, (struct vec2){ s->at_m.x, s->at_m.y }));
}

/* The end of the wall losses that could turn the verdict: worse walls never keep what better walls break. */
static bool opposite_estimate(enum estimate judged, bool kept, enum estimate *out)
{
    *out = kept ? ESTIMATE_CAREFUL : ESTIMATE_HOPEFUL;
    return *out != judged;
}

static struct decision decision_at(const struct fields *f, const struct spot *spot, const struct room_demand *demand)
{
    struct decision d = { .is_made = true, .floor = f->grids.v[spot->grid].floor, .at_m = spot->at_m };
    double judged;
    const uint32_t r = demand->judge(demand->user, f, spot->grid, spot->ix, spot->iy, &judged);
    d.met = figures_at(demand, f, spot);
    d.radio = r == NO_REF ? NULL : &f->radios.v[r];
    return d;
}

/* What holds in the other rooms says nothing of one in which nothing can be judged. */
static enum rt_code unknown_room(struct evaluation *ev, const struct room *room, struct promise_result *out,
                                 struct decision *decision)
{
    decision->is_made = false;
    out->margin = RT_NOT_GIVEN;
    out->unit = "";
    return result_unknown(
        ev, out, "no point of the grid lies in `%.*s`: the room is too small, or filled or roofed over at that height",
        STR_ARG(room->id));
}

enum rt_code judge_rooms(struct evaluation *ev, const struct promise *promise, const struct room_demand *demand,
                         struct promise_result *out, struct decision *decision, struct rt_problems *p)
{
    struct arena *a = ev->run->arena;
    const enum estimate judged = ev->options.trace.estimate;
    const struct fields *f;
    struct coverage c;
    *decision = (struct decision){ 0 };
    RT_TRY(evaluation_fields_promised(ev, judged, &f, p));
    RT_TRY(coverage_of_promise(ev->run, ev->h, f, promise, demand, &c, p));
    if (c.n_rooms == 0)
        return result_unknown(
            ev, out,
            "no point of the grid lies in any of its rooms: too small, or filled or roofed over at that height");
    const struct spot *worst = &c.rooms[c.worst].spot;
    *decision = decision_at(f, worst, demand);
    out->state = c.kept ? PROMISE_KEPT : PROMISE_BROKEN;
    out->margin = isfinite(c.margin) ? c.margin : (double)NAN;
    out->unit = isfinite(c.margin) ? demand->unit : "";
    out->margin_decimals = demand->decimals;
    fact_num(a, out->evidence, "availability", promise->availability, 3);
    fact_text(a, out->evidence, "estimate", estimate_name(judged));
    fact_num(a, out->evidence, "wanted_area_share", promise->area_share, 3);
    if (!room_facts(ev, f, &c, demand, promise->area_share, out->evidence))
        return rt_fail_memory(p);
    spot_facts(ev, worst, f, out->evidence);
    if (c.kept && c.unjudged != NO_REF)
        return unknown_room(ev, &ev->h->rooms.v[c.unjudged], out, decision);

    enum estimate other;
    if (opposite_estimate(judged, c.kept, &other)) {
        struct coverage c2;
        RT_TRY(evaluation_fields_promised(ev, other, &f, p));
        RT_TRY(coverage_of_promise(ev->run, ev->h, f, promise, demand, &c2, p));
        struct fact *o = fact_object(a, out->evidence, "other_estimate");
        fact_text(a, o, "estimate", estimate_name(other));
        fact_text(a, o, "state", promise_state_name(c2.kept ? PROMISE_KEPT : PROMISE_BROKEN));
        fact_num(a, o, "margin", c2.margin, demand->decimals);
        out->other_estimate_disagrees = c2.kept != c.kept;
        out->other_estimate = other;
    }
    return RT_OK;
}

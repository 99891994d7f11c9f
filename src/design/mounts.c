/* Mounts beside those of the file: which rooms and walls, how many, what they are called and cost. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "design/mounts_int.h"
#include "design/wall_places.h"
#include "house/written.h"
#include "wire/cables.h"

enum { OUTLETS_PER_ROOM = 2, EAVES_PER_ROOM = 3, ID_ROOM_MAX = 40 };

/* ---- what is asked for ---- */

bool mounts_is_promised(const struct house *h, uint32_t room)
{
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise *q = &h->promises.v[i];
        for (uint32_t k = 0; k < q->rooms.n; k++)
            if (q->rooms.v[k].i == room && q->kind != PROMISE_EXPOSURE)
                return true;
    }
    return false;
}

/* Is something promised anywhere in the building (NO_REF: in the open)? */
static bool is_building_promised(const struct house *h, uint32_t building)
{
    for (uint32_t r = 0; r < h->rooms.n; r++)
        if (h->rooms.v[r].floor.i != NO_REF && cable_building_of(h, h->rooms.v[r].floor.i) == building &&
            mounts_is_promised(h, r))
            return true;
    return false;
}

static bool has_part(const struct house *h, enum mount_surface surface, bool outdoors)
{
    for (uint32_t i = 0; i < h->parts.list.n; i++) {
        const struct part *p = &h->parts.list.v[i];
        if (p->kind == PART_ACCESS_POINT && p->surface == surface && (p->outdoors || !outdoors))
            return true;
    }
    return false;
}

static bool is_indoors(const struct house *h, uint32_t room)
{
    const uint32_t floor = h->rooms.v[room].floor.i;
    return floor != NO_REF && !h->floors.v[floor].open_air && h->rooms.v[room].use != USE_OUTDOOR;
}

/* ---- keeping one ---- */

static bool is_near(const struct mount *a, const struct mount *b)
{
    return a->floor.i == b->floor.i && hypot(a->at_m.x - b->at_m.x, a->at_m.y - b->at_m.y) < MOUNT_APART_M;
}

void mounts_add(struct mount_maker *m, int rank, struct mount mount)
{
    const struct house *h = m->h;
    for (uint32_t i = 0; i < h->mounts.n; i++)
        if (is_near(&h->mounts.v[i], &mount) &&
            (mount.surface == SURFACE_CEILING) == (h->mounts.v[i].surface == SURFACE_CEILING))
            return;
    for (uint32_t i = 0; i < m->found.n; i++)
        if (is_near(&m->found.v[i].mount, &mount) && mount.surface == m->found.v[i].mount.surface)
            return;
    mount.price = m->price[mount.surface];
    m->failed |= !VEC_PUSH(m->a, &m->found, ((struct mount_draft){ mount, rank }));
}

/* ---- on walls ---- */

static int by_width(const void *a, const void *b)
{
    const struct wall_place *x = a, *y = b;
    if (fabs(x->free_m - y->free_m) > 1e-6)
        return x->free_m > y->free_m ? -1 : 1;
    if (x->wall != y->wall)
        return x->wall < y->wall ? -1 : 1;
    if (x->at_m.x != y->at_m.x)
        return x->at_m.x < y->at_m.x ? -1 : 1;
    return (x->at_m.y > y->at_m.y) - (x->at_m.y < y->at_m.y);
}

static double to_cm(double x) { return round(x * 100.0) / 100.0; }

static struct mount on_wall(const struct house *h, uint32_t room, const struct wall_place *place, double z_m)
{
    return (struct mount){ .floor = h->rooms.v[room].floor,
                           .room.i = room,
                           .at_m = { to_cm(place->at_m.x), to_cm(place->at_m.y), to_cm(z_m) },
                           .surface = SURFACE_WALL,
                           .faces_deg = fmod(round(place->faces_deg * 10.0) / 10.0, 360.0),
                           .use = MOUNT_ACCESS_POINT };
}

/* In the middle of its stretch, else a quarter of it to either side. */
static bool add_on_wall(struct mount_maker *m, int rank, const struct wall_place *place, struct mount k)
{
    static const double ASIDE[] = { 0.0, 0.25, -0.25 };
    const double faces_rad = units_rad_from_deg(place->faces_deg);
    const struct vec2 along = { cos(faces_rad), -sin(faces_rad) };
    const uint32_t before = m->found.n;
    for (size_t i = 0; i < RT_COUNT(ASIDE) && m->found.n == before && !m->failed; i++) {
        const struct vec2 at = vec2_add(place->at_m, vec2_scale(along, ASIDE[i] * place->free_m));
        k.at_m.x = to_cm(at.x);
        k.at_m.y = to_cm(at.y);
        mounts_add(m, rank, k);
    }
    return m->found.n > before;
}

/* How many outlets are worth looking at: where something is promised, and where people pass and sit. */
static uint32_t outlets_in(const struct house *h, uint32_t room)
{
    switch (h->rooms.v[room].use) {
    case USE_STORE:
    case USE_STAIRS:
    case USE_BATH:
    case USE_PLANT:
        return mounts_is_promised(h, room) ? 1 : 0;
    default:
        return mounts_is_promised(h, room) ? OUTLETS_PER_ROOM : 1;
    }
}

/* The widest stretches of a room's walls. */
static void add_outlets(struct mount_maker *m, uint32_t room)
{
    wall_place_list places = { 0 };
    const uint32_t most = outlets_in(m->h, room);
    m->failed |= !wall_places_of(m->a, m->h, room, MOUNT_OUTLET_M, &places);
    if (m->failed || !places.n)
        return;
    qsort(places.v, places.n, sizeof *places.v, by_width);
    for (uint32_t i = 0, n = 0; i < places.n && n < most; i++) {
        struct mount k = on_wall(m->h, room, &places.v[i], MOUNT_OUTLET_M);
        k.use |= MOUNT_OUTLET;
        n += add_on_wall(m, RANK_OUTLET, &places.v[i], k);
    }
}

/* Does the outer wall go on above this one, in another storey? */
static bool goes_on_above(const struct house *h, uint32_t wall, struct vec2 at)
{
    const struct wall *w = &h->walls.v[wall];
    const double level_m = h->floors.v[w->floor.i].level_m;
    for (uint32_t i = 0; i < h->walls.n; i++) {
        const struct wall *q = &h->walls.v[i];
        if (q->floor.i == NO_REF || h->floors.v[q->floor.i].level_m < level_m + 0.5)
            continue;
        for (uint32_t k = 0; k + 1 < q->line.n; k++) {
            const struct vec2 d = vec2_sub(q->line.v[k + 1], q->line.v[k]), to = vec2_sub(at, q->line.v[k]);
            const double len = vec2_len(d);
            const double t = len > 0.0 ? fmin(1.0, fmax(0.0, vec2_dot(to, d) / (len * len))) : 0.0;
            const struct vec2 foot = vec2_add(q->line.v[k], vec2_scale(d, t));
            if (vec2_len(vec2_sub(at, foot)) < 0.5 && len > 0.0 && fabs(vec2_cross(to, d)) / len < 0.5)
                return true;
        }
    }
    return false;
}

/* Height above the outdoor floor of the top of a wall. */
static double top_over_m(const struct house *h, uint32_t wall, uint32_t ground)
{
    const struct wall *w = &h->walls.v[wall];
    const struct floor *f = &h->floors.v[w->floor.i];
    return f->level_m + given_or(w->height_m, f->height_m) - h->floors.v[ground].level_m;
}

/* Just below the top of an outer wall, or as high as a ladder reaches. */
static void add_eaves_at(struct mount_maker *m, uint32_t room, double z_m, enum mount_surface surface, uint32_t *n)
{
    const uint32_t ground = m->h->rooms.v[room].floor.i;
    wall_place_list places = { 0 };
    m->failed |= !wall_places_outside(m->a, m->h, room, z_m, &places);
    if (m->failed || !places.n)
        return;
    qsort(places.v, places.n, sizeof *places.v, by_width);
    for (uint32_t i = 0; i < places.n && *n < EAVES_PER_ROOM; i++) {
        const struct wall_place *place = &places.v[i];
        const double below_m = top_over_m(m->h, place->wall, ground) - z_m;
        const bool is_at_top =
            fabs(below_m - MOUNT_BELOW_EAVES_M) < 0.011 && !goes_on_above(m->h, place->wall, place->at_m);
        if (!is_at_top && z_m < MOUNT_LADDER_M - 0.01)
            continue;
        struct mount k = on_wall(m->h, room, place, z_m);
        k.surface = surface;
        k.outdoors = true;
        k.tilt_deg = MOUNT_EAVES_TILT_DEG;
        *n += add_on_wall(m, RANK_EAVES, place, k);
    }
}

static void add_eaves(struct mount_maker *m, uint32_t room)
{
    const struct house *h = m->h;
    const uint32_t ground = h->rooms.v[room].floor.i;
    const enum mount_surface surface = has_part(h, SURFACE_EAVES, true) ? SURFACE_EAVES : SURFACE_WALL;
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->walls.n && !m->failed; i++) {
        if (h->walls.v[i].floor.i == NO_REF || h->floors.v[h->walls.v[i].floor.i].open_air)
            continue;
        const double z_m =
            fmin(MOUNT_LADDER_M, floor(100.0 * (top_over_m(h, i, ground) - MOUNT_BELOW_EAVES_M)) / 100.0);
        bool is_new = z_m >= MOUNT_CEILING_MIN_M;
        for (uint32_t k = 0; k < i && is_new; k++)
            if (h->walls.v[k].floor.i != NO_REF && !h->floors.v[h->walls.v[k].floor.i].open_air)
                is_new =
                    fabs(fmin(MOUNT_LADDER_M, floor(100.0 * (top_over_m(h, k, ground) - MOUNT_BELOW_EAVES_M)) / 100.0) -
                         z_m) > 1e-6;
        if (is_new)
            add_eaves_at(m, room, z_m, surface, &n);
    }
}

/* ---- prices ---- */

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Of the house's own prices on that surface (NO_REF: on any); NaN: it has none. */
static double median_price(const struct house *h, uint32_t surface, double *scratch)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->mounts.n; i++)
        if ((surface == NO_REF || h->mounts.v[i].surface == surface) && is_given(h->mounts.v[i].price))
            scratch[n++] = h->mounts.v[i].price;
    if (n == 0)
        return RT_NOT_GIVEN;
    qsort(scratch, n, sizeof *scratch, rising);
    return n % 2 ? scratch[n / 2] : (scratch[n / 2 - 1] + scratch[n / 2]) / 2.0;
}

/* Where the house fixes nothing on a surface: paid work by the hour (NaN), else as on its other surfaces, else own work for nothing. */
static bool find_prices(struct mount_maker *m)
{
    enum { SURFACES = SURFACE_CABINET + 1 };
    double *scratch = ARENA_ARRAY(m->a, double, m->h->mounts.n);
    m->price = ARENA_ARRAY(m->a, double, SURFACES);
    for (uint32_t s = 0; scratch && m->price && s < SURFACES; s++) {
        m->price[s] = median_price(m->h, s, scratch);
        if (!is_given(m->price[s]) && !is_given(m->h->budget.labour_per_h))
            m->price[s] = given_or(median_price(m->h, NO_REF, scratch), 0.0);
    }
    return scratch && m->price;
}

/* ---- names ---- */

static bool is_taken(const struct house *h, struct str id, const struct mount *others, uint32_t n)
{
    for (uint32_t i = 0; i < SHAPE_HOUSE.n_fields; i++) {
        const struct field *f = &SHAPE_HOUSE.fields[i];
        const struct written_items items = f->type == FIELD_MAP ? written_items(h, f) : (struct written_items){ 0 };
        for (uint32_t k = 0; k < items.n; k++)
            if (str_eq(written_id(written_item(items, f, k)), id))
                return true;
    }
    for (uint32_t i = 0; i < n; i++)
        if (str_eq(others[i].id, id))
            return true;
    return false;
}

static bool name_it(const struct mount_maker *m, const struct mount *others, uint32_t n, struct mount *k)
{
    static const char *const STEMS[] = {
        [SURFACE_CEILING] = "ceiling", [SURFACE_WALL] = "wall", [SURFACE_SHELF] = "shelf",
        [SURFACE_EAVES] = "eaves",     [SURFACE_POLE] = "pole", [SURFACE_CABINET] = "cabinet"
    };
    const struct str room = m->h->rooms.v[k->room.i].id;
    const struct str cut = { room.p, room.n < ID_ROOM_MAX ? room.n : ID_ROOM_MAX };
    for (unsigned i = 1; i < 10000; i++) {
        const char *id = i == 1 ? arena_printf(m->a, "%s_%.*s", STEMS[k->surface], STR_ARG(cut))
                                : arena_printf(m->a, "%s_%.*s_%u", STEMS[k->surface], STR_ARG(cut), i);
        if (!id)
            return false;
        k->id = str_from(id);
        if (!is_taken(m->h, k->id, others, n))
            return true;
    }
    return false;
}

/* ---- the whole ---- */

static void find_all(struct mount_maker *m)
{
    const struct house *h = m->h;
    const bool ceiling = has_part(h, SURFACE_CEILING, false), wall = has_part(h, SURFACE_WALL, false);
    const bool outdoors = has_part(h, SURFACE_EAVES, true) || has_part(h, SURFACE_WALL, true);
    bool any = false;
    for (uint32_t r = 0; r < h->rooms.n; r++)
        any |= mounts_is_promised(h, r);
    for (uint32_t r = 0; r < h->rooms.n && !m->failed; r++) {
        const uint32_t floor = h->rooms.v[r].floor.i;
        if (floor == NO_REF || !h->rooms.v[r].outline.n || !mounts_allowed(h, r, FREE_EQUIPMENT | FREE_CABLE))
            continue;
        if (!is_indoors(h, r)) {
            if (outdoors && h->floors.v[floor].open_air && mounts_is_promised(h, r))
                add_eaves(m, r);
            continue;
        }
        if (any && !is_building_promised(h, cable_building_of(h, floor)))
            continue;
        if (ceiling)
            mounts_on_ceiling(m, r);
        if (wall && mounts_allowed(h, r, FREE_OUTLETS))
            add_outlets(m, r);
    }
}

/* Of each floor those of the lowest ranks, until there are enough. */
static bool keep(struct mount_maker *m, struct mount *out, uint32_t *n)
{
    uint32_t *on_floor = ARENA_ARRAY(m->a, uint32_t, m->h->floors.n);
    *n = 0;
    for (int rank = RANK_CENTRE; on_floor && rank <= RANK_OUTLET; rank++)
        for (uint32_t i = 0; i < m->found.n && *n < MOUNTS_IN_ALL; i++) {
            struct mount k = m->found.v[i].mount;
            if (m->found.v[i].rank != rank || on_floor[k.floor.i] >= MOUNTS_PER_FLOOR)
                continue;
            if (!name_it(m, out, *n, &k))
                return false;
            on_floor[k.floor.i]++;
            out[(*n)++] = k;
        }
    return on_floor != NULL;
}

enum rt_code mounts_generate(const struct run *run, const struct house *h, const struct design_options *options,
                             struct house **out, struct rt_problems *p)
{
    struct mount_maker m = { .a = run->arena, .h = h, .grid_m = options->grid_m > 0.0 ? options->grid_m : 3.0 };
    struct house *s = ARENA_NEW(run->arena, struct house);
    struct mount *v = ARENA_ARRAY(run->arena, struct mount, (size_t)h->mounts.n + MOUNTS_IN_ALL);
    uint32_t n = 0;
    *out = NULL;
    if (!s || !v || !find_prices(&m))
        return rt_fail_memory(p);
    if (h->mounts.n)
        memcpy(v, h->mounts.v, h->mounts.n * sizeof *v);
    find_all(&m);
    if (m.failed || !keep(&m, v + h->mounts.n, &n))
        return rt_fail_memory(p);
    *s = *h;
    s->mounts.v = v;
    s->mounts.n = h->mounts.n + n;
    *out = s;
    return RT_OK;
}

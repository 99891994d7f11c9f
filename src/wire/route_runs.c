/* The runs of the file, those that are generated where it gives none, and where one can pass from one to another. */
#include <math.h>

#include "base/units.h"
#include "house/polygon.h"
#include "wire/route_space.h"

static struct str words(struct space *s, const char *text)
{
    s->failed |= !text;
    return str_from(text ? text : "");
}

static struct str name_of_floor(const struct house *h, uint32_t floor)
{
    const struct floor *f = &h->floors.v[floor];
    return f->says.n ? f->says : f->id;
}

/* ---- runs of the file ---- */

static uint32_t way_of_run(struct space *s, uint32_t run, uint32_t floor)
{
    const struct cable_run *r = &s->h->runs.v[run];
    return space_way(s, (struct space_way){ .kind = r->kind,
                                            .run = run,
                                            .floor = floor,
                                            .outdoors = r->outdoors,
                                            .mains_m = r->mains_m,
                                            .says = r->says.n ? r->says : r->id });
}

/* The lowest, or the highest, of the floors of a run. */
static uint32_t end_floor(const struct house *h, const struct cable_run *r, bool highest)
{
    uint32_t best = r->floors.v[0].i;
    for (uint32_t i = 1; i < r->floors.n; i++) {
        const double level = h->floors.v[r->floors.v[i].i].level_m;
        if (highest ? level > h->floors.v[best].level_m : level < h->floors.v[best].level_m)
            best = r->floors.v[i].i;
    }
    return best;
}

static double top_m(const struct floor *f) { return f->level_m + f->height_m; }

/* Between which floors a void lies, and how high. */
static void place_area(const struct house *h, const struct cable_run *r, struct space_area *area)
{
    const uint32_t low = end_floor(h, r, false), high = end_floor(h, r, true);
    area->under = area->over = NO_REF;
    if (r->kind == RUN_UNDER_FLOOR) {
        area->over = high;
        area->under = low == high ? NO_REF : low;
        area->z_m = h->floors.v[high].level_m - UNDER_BOARDS_M;
        return;
    }
    area->under = low;
    area->over = r->kind == RUN_ATTIC || low == high ? NO_REF : high;
    area->z_m = top_m(&h->floors.v[low]) + OVER_CEILING_M;
}

static void add_area_of_run(struct space *s, uint32_t run)
{
    const struct cable_run *r = &s->h->runs.v[run];
    struct space_area area = { .outline = r->outline, .price_per_m = r->price_per_m };
    place_area(s->h, r, &area);
    area.way = way_of_run(s, run, area.under == NO_REF ? area.over : area.under);
    s->failed |= !VEC_PUSH(s->a, &s->areas, area);
}

static void add_line_of_run(struct space *s, uint32_t run)
{
    const struct cable_run *r = &s->h->runs.v[run];
    const uint32_t low = end_floor(s->h, r, false), high = end_floor(s->h, r, true);
    const bool is_upright = r->line.n == 1;
    struct space_line line = { .use = LINE_OF_FILE,
                               .p = r->line.v,
                               .n = r->line.n,
                               .floor = low == high ? low : NO_REF,
                               .room = NO_REF,
                               .price_per_m = r->price_per_m };
    if (is_upright) { /* from under the lowest boards into the space over the highest ceiling */
        line.n = 2;
        line.p = ARENA_ARRAY(s->a, struct vec3, 2);
        if (!line.p) {
            s->failed = true;
            return;
        }
        line.p[0] = line.p[1] = r->line.v[0];
        line.p[0].z = s->h->floors.v[low].level_m - UNDER_BOARDS_M;
        line.p[1].z = top_m(&s->h->floors.v[high]) + OVER_CEILING_M;
    }
    line.way = way_of_run(s, run, is_upright ? NO_REF : r->floors.v[0].i);
    (void)space_add_line(s, line);
}

/* ---- generated ones ---- */

/* Ceilings of board or plaster on joists. */
static bool is_ceiling(const struct construct *c)
{
    for (uint32_t i = 0; i < c->layers.n; i++)
        if (str_is(c->layers.v[i].material, "plasterboard") || str_is(c->layers.v[i].material, "plaster") ||
            str_is(c->layers.v[i].material, "ceiling_board"))
            return space_is_hollow(c);
    return false;
}

uint32_t space_floor_above(const struct house *h, uint32_t floor) { return h->floors.v[floor].above; }

/* Over that floor's ceiling, or under those boards; a void of another ceiling under the same boards is another. */
static bool has_area(const struct space *s, uint32_t under, uint32_t over)
{
    for (uint32_t i = 0; i < s->areas.n; i++) {
        const struct space_area *area = &s->areas.v[i];
        if ((under != NO_REF && area->under == under) ||
            (over != NO_REF && area->over == over && (under == NO_REF || area->under == NO_REF)))
            return true;
    }
    return false;
}

static void generate_area(struct space *s, enum run_kind kind, uint32_t under, uint32_t over, double price_per_m)
{
    const uint32_t floor = under == NO_REF ? over : under;
    const struct floor *f = &s->h->floors.v[floor];
    const struct str name = name_of_floor(s->h, floor);
    const char *says =
        kind == RUN_UNDER_FLOOR ? arena_printf(s->a, "under the boards of the %.*s (generated)", STR_ARG(name))
        : kind == RUN_ATTIC
            ? arena_printf(s->a, "over the ceiling of the %.*s (generated)", STR_ARG(name))
            : arena_printf(s->a, "between the ceiling of the %.*s and the boards above (generated)", STR_ARG(name));
    const struct space_area area = {
        .outline = f->outline,
        .z_m = kind == RUN_UNDER_FLOOR ? f->level_m - UNDER_BOARDS_M : top_m(f) + OVER_CEILING_M,
        .price_per_m = price_per_m,
        .under = under,
        .over = over,
        .way = space_way(
            s,
            (struct space_way){
                .kind = kind, .run = NO_REF, .floor = floor, .mains_m = RT_NOT_GIVEN, .says = words(s, says) }),
    };
    s->failed |= !VEC_PUSH(s->a, &s->areas, area);
}

static void generate_voids(struct space *s, uint32_t floor)
{
    const struct house *h = s->h;
    const struct floor *f = &h->floors.v[floor];
    const uint32_t above = space_floor_above(h, floor);
    const uint32_t ceiling = space_ceiling(h, floor);
    if (!has_area(s, floor, above) && ceiling != NO_REF && is_ceiling(&h->constructs.v[ceiling])) {
        if (above != NO_REF)
            generate_area(s, RUN_CEILING_VOID, floor, above, PRICE_VOID_PER_M);
        else if (!space_is_roof(&h->constructs.v[ceiling]))
            generate_area(s, RUN_ATTIC, floor, NO_REF, PRICE_ATTIC_PER_M);
    }
    bool is_lowest = true;
    for (uint32_t i = 0; i < h->floors.n; i++)
        is_lowest &= space_floor_above(h, i) != floor;
    if (is_lowest && !has_area(s, NO_REF, floor) && f->slab.i != NO_REF &&
        space_is_boarded(&h->constructs.v[f->slab.i]))
        generate_area(s, RUN_UNDER_FLOOR, NO_REF, floor, PRICE_VOID_PER_M);
}

/* Rooms where cable may be seen along beams and rafters. */
static bool is_rough(enum room_use use)
{
    return use == USE_GARAGE || use == USE_WORKSHOP || use == USE_BARN || use == USE_PLANT || use == USE_STORE ||
           use == USE_UTILITY;
}

static void generate_beams(struct space *s, uint32_t floor, vec2_list outline, struct str name)
{
    const char *says = arena_printf(s->a, "along the ceiling or beams of %.*s (generated)", STR_ARG(name));
    const struct space_area area = {
        .outline = outline,
        .z_m = top_m(&s->h->floors.v[floor]) - 0.05,
        .price_per_m = PRICE_SURFACE_PER_M,
        .under = floor,
        .over = NO_REF,
        .is_open = true,
        .way = space_way(
            s,
            (struct space_way){
                .kind = RUN_SURFACE, .run = NO_REF, .floor = floor, .mains_m = RT_NOT_GIVEN, .says = words(s, says) }),
    };
    s->failed |= !VEC_PUSH(s->a, &s->areas, area);
}

/* One for the whole floor if all its rooms are rough, or one for each that is. */
static void generate_floors_beams(struct space *s, uint32_t floor)
{
    uint32_t n_rooms = 0, n_rough = 0;
    if (has_area(s, floor, NO_REF))
        return;
    for (uint32_t i = 0; i < s->h->rooms.n; i++) {
        const struct room *r = &s->h->rooms.v[i];
        n_rooms += r->floor.i == floor;
        n_rough += r->floor.i == floor && is_rough(r->use) && !(r->keep_free & FREE_CABLE);
    }
    if (n_rooms && n_rough == n_rooms) {
        generate_beams(s, floor, s->h->floors.v[floor].outline, name_of_floor(s->h, floor));
        return;
    }
    for (uint32_t i = 0; i < s->h->rooms.n; i++) {
        const struct room *r = &s->h->rooms.v[i];
        if (r->floor.i == floor && is_rough(r->use) && !(r->keep_free & FREE_CABLE))
            generate_beams(s, floor, r->outline, house_room_name(s->h, i));
    }
}

/* The outline moved inwards, to where a skirting board runs; the first corner again at the end. */
static void inset(vec2_list outline, double by_m, double z_m, struct vec3 *out)
{
    const double turn = polygon_area_m2(outline) < 0.0 ? -1.0 : 1.0;
    for (uint32_t i = 0; i <= outline.n; i++) {
        const struct vec2 a = outline.v[(i + outline.n - 1) % outline.n], b = outline.v[i % outline.n],
                          c = outline.v[(i + 1) % outline.n];
        const struct vec2 d = vec2_sub(b, a), e = vec2_sub(c, b);
        const struct vec2 m = vec2_scale((struct vec2){ -d.y, d.x }, turn / fmax(vec2_len(d), 1e-9));
        const struct vec2 n = vec2_scale((struct vec2){ -e.y, e.x }, turn / fmax(vec2_len(e), 1e-9));
        const double along = fmax(0.2, 1.0 + vec2_dot(m, n)); /* the mitre */
        const struct vec2 q = vec2_add(b, vec2_scale(vec2_add(m, n), by_m / along));
        out[i] = (struct vec3){ q.x, q.y, z_m };
    }
}

static void generate_skirting(struct space *s, uint32_t room)
{
    const struct room *r = &s->h->rooms.v[room];
    struct vec3 *p = ARENA_ARRAY(s->a, struct vec3, (size_t)r->outline.n + 1);
    const char *says =
        arena_printf(s->a, "along the skirting of %.*s (generated)", STR_ARG(house_room_name(s->h, room)));
    if (!p || !says) {
        s->failed = true;
        return;
    }
    inset(r->outline, 0.06, s->h->floors.v[r->floor.i].level_m + SKIRTING_HEIGHT_M, p);
    (void)space_add_line(s, (struct space_line){ .use = LINE_SKIRTING,
                                                 .p = p,
                                                 .n = r->outline.n + 1,
                                                 .floor = r->floor.i,
                                                 .room = room,
                                                 .price_per_m = PRICE_SKIRTING_PER_M,
                                                 .way = space_way(s, (struct space_way){ .kind = RUN_SKIRTING,
                                                                                         .run = NO_REF,
                                                                                         .floor = r->floor.i,
                                                                                         .mains_m = RT_NOT_GIVEN,
                                                                                         .says = str_from(says) }) });
}

void space_runs(struct space *s)
{
    const struct house *h = s->h;
    for (uint32_t i = 0; i < h->runs.n; i++) {
        if (h->runs.v[i].outline.n)
            add_area_of_run(s, i);
        else if (h->runs.v[i].line.n)
            add_line_of_run(s, i);
    }
    for (uint32_t i = 0; i < h->floors.n; i++)
        if (!h->floors.v[i].open_air)
            generate_voids(s, i);
    for (uint32_t i = 0; i < h->floors.n; i++)
        if (!h->floors.v[i].open_air)
            generate_floors_beams(s, i);
    for (uint32_t i = 0; i < h->rooms.n; i++) {
        const struct room *r = &h->rooms.v[i];
        if (r->floor.i == NO_REF || h->floors.v[r->floor.i].open_air || r->outline.n < 3)
            continue;
        if (!(r->keep_free & FREE_CABLE))
            generate_skirting(s, i);
    }
}

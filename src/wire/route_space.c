/* Nodes, lines and areas of the network of spaces. */
#include "wire/route_space.h"

#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "house/polygon.h"

/* Points nearer than this are one. */
static const double SAME_M = 0.02;
static const double JOISTS_M = 0.35;
/* A roof's or a wall's sheet of metal has this at least; foil is thinner (common practice, no source). */
static const double SHEET_MIN_M = 0.0003;

static bool is_one_of(struct str material, const char *const *list, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (str_is(material, list[i]))
            return true;
    return false;
}

/* Ground is drilled like the softest of them. */
static bool is_masonry(struct str material)
{
    static const char *const HEAVY[] = {
        "concrete",
        "brick",
        "stone",
        "cob",
        "marble",
        "aerated_block",
        "slate",
        "very_dry_ground",
        "medium_dry_ground",
        "wet_ground",
        "asphalt_concrete",
    };
    return is_one_of(material, HEAVY, RT_COUNT(HEAVY));
}

static double masonry_m(const struct construct *c)
{
    double thick_m = 0.0;
    for (uint32_t i = 0; i < c->layers.n; i++)
        if (is_masonry(c->layers.v[i].material))
            thick_m += given_or(c->layers.v[i].thickness_m, 0.0);
    return thick_m;
}

bool space_is_hollow(const struct construct *c) { return masonry_m(c) < 0.03; }

bool space_is_boarded(const struct construct *c)
{
    static const char *const TIMBER[] = { "wood", "chipboard", "plywood", "floorboard" };
    for (uint32_t i = 0; i < c->layers.n; i++)
        if (is_one_of(c->layers.v[i].material, TIMBER, RT_COUNT(TIMBER)))
            return space_is_hollow(c);
    return false;
}

/* What keeps out the rain, however thin: tiles, slates, stone, felt, glass, a sheet of metal but not a film of it. */
static bool is_weathered(const struct layer *l)
{
    static const char *const COVERS[] = { "ceramic_tile", "glass", "clear_acrylic" };
    return is_masonry(l->material) || is_one_of(l->material, COVERS, RT_COUNT(COVERS)) ||
           (str_is(l->material, "metal") && given_or(l->thickness_m, 0.0) >= SHEET_MIN_M);
}

bool space_is_roof(const struct construct *c)
{
    for (uint32_t i = 0; i < c->layers.n; i++)
        if (is_weathered(&c->layers.v[i]))
            return true;
    return false;
}

double space_hole_price(const struct construct *c)
{
    if (is_given(c->hole_price))
        return c->hole_price;
    return space_is_hollow(c) ? 3.0 : 6.0 + 40.0 * masonry_m(c);
}

uint32_t space_node(struct space *s, struct vec3 at_m)
{
    s->failed |= !VEC_PUSH(s->a, &s->at_m, at_m) || !VEC_PUSH(s->a, &s->net.traits, (uint8_t)0);
    s->net.n_nodes = s->at_m.n;
    return s->failed ? 0 : s->at_m.n - 1;
}

uint32_t space_way(struct space *s, struct space_way way)
{
    s->failed |= !VEC_PUSH(s->a, &s->ways, way);
    return s->failed ? 0 : s->ways.n - 1;
}

static void add_work(struct space *s, double price, struct space_work work)
{
    s->failed |= !VEC_PUSH(s->a, &s->net.works, (struct route_work){ price }) || !VEC_PUSH(s->a, &s->works, work);
}

void space_hole(struct space *s, uint32_t construct, uint32_t floor, struct vec3 at_m)
{
    if (construct == NO_REF)
        return;
    const struct construct *c = &s->h->constructs.v[construct];
    const char *says = arena_printf(s->a, "hole through %.*s", STR_ARG(c->id));
    s->failed |= !says;
    add_work(s, space_hole_price(c),
             (struct space_work){ WORK_HOLE, construct, floor, at_m, str_from(says ? says : "") });
}

void space_board(struct space *s, uint32_t floor, struct vec3 at_m)
{
    add_work(s, PRICE_BOARD, (struct space_work){ WORK_BOARD, NO_REF, floor, at_m, STR("board lifted") });
}

/* ---- walls in the way ---- */

/* Where p-q crosses a-b, as a share of p-q; NaN: nowhere.  Ends that only touch do not cross. */
static double crossing(struct vec2 p, struct vec2 q, struct vec2 a, struct vec2 b)
{
    const struct vec2 d = vec2_sub(q, p), e = vec2_sub(b, a), r = vec2_sub(a, p);
    const double over = vec2_cross(d, e);
    if (fabs(over) < 1e-12)
        return (double)NAN;
    const double t = vec2_cross(r, e) / over, u = vec2_cross(r, d) / over;
    return t > 1e-6 && t < 1.0 - 1e-6 && u >= 0.0 && u <= 1.0 ? t : (double)NAN;
}

static void holes_of_wall(struct space *s, const struct wall *w, struct vec3 from_m, struct vec3 to_m)
{
    const struct vec2 p = { from_m.x, from_m.y }, q = { to_m.x, to_m.y };
    const struct floor *f = &s->h->floors.v[w->floor.i];
    const double low_m = f->level_m + w->base_m; /* a wall up to the ceiling goes on between the joists */
    const double high_m = f->level_m + given_or(w->height_m, f->height_m + JOISTS_M);
    for (uint32_t i = 0; i + 1 < w->line.n; i++) {
        const double t = crossing(p, q, w->line.v[i], w->line.v[i + 1]);
        if (isnan(t))
            continue;
        const struct vec3 at_m = vec3_add(from_m, vec3_scale(vec3_sub(to_m, from_m), t));
        if (at_m.z >= low_m && at_m.z <= high_m)
            space_hole(s, w->construct.i, w->floor.i, at_m);
    }
}

void space_wall_holes(struct space *s, struct vec3 from_m, struct vec3 to_m)
{
    for (uint32_t i = 0; i < s->h->walls.n; i++)
        if (s->h->walls.v[i].floor.i != NO_REF)
            holes_of_wall(s, &s->h->walls.v[i], from_m, to_m);
}

void space_void_holes(struct space *s, struct vec3 from_m, struct vec3 to_m)
{
    for (uint32_t i = 0; i < s->h->walls.n; i++) {
        const struct wall *w = &s->h->walls.v[i];
        const bool is_masonry = w->construct.i != NO_REF && !space_is_hollow(&s->h->constructs.v[w->construct.i]);
        if (w->floor.i != NO_REF && is_masonry && !is_given(w->height_m))
            holes_of_wall(s, w, from_m, to_m);
    }
}

/* Does the stretch pass this height within the outline, and not where there is a hole already? */
static bool passes(const struct floor *f, double z_m, struct vec3 from_m, struct vec3 to_m, struct vec3 *at_m)
{
    if (fmin(from_m.z, to_m.z) > z_m - 1e-6 || fmax(from_m.z, to_m.z) < z_m + 1e-6)
        return false;
    *at_m = vec3_add(from_m, vec3_scale(vec3_sub(to_m, from_m), (z_m - from_m.z) / (to_m.z - from_m.z)));
    const struct vec2 at = { at_m->x, at_m->y };
    for (uint32_t i = 0; i < f->holes.n; i++)
        if (polygon_contains(f->holes.v[i].outline, at))
            return false;
    return polygon_contains(f->outline, at);
}

/* The slab of a floor has two faces, its own level and the ceiling below; through both is one hole. */
static void holes_of_floor(struct space *s, uint32_t floor, struct vec3 from_m, struct vec3 to_m)
{
    const struct house *h = s->h;
    const struct floor *f = &h->floors.v[floor];
    struct vec3 at_m;
    bool is_through = passes(f, f->level_m, from_m, to_m, &at_m);
    for (uint32_t i = 0; !is_through && i < h->floors.n; i++)
        is_through = !h->floors.v[i].open_air && space_floor_above(h, i) == floor &&
                     passes(f, h->floors.v[i].level_m + h->floors.v[i].height_m, from_m, to_m, &at_m);
    if (is_through)
        space_hole(s, f->slab.i, floor, at_m);
    if (space_floor_above(h, floor) == NO_REF && passes(f, f->level_m + f->height_m, from_m, to_m, &at_m))
        space_hole(s, f->ceiling.i, floor, at_m);
}

void space_holes(struct space *s, struct vec3 from_m, struct vec3 to_m)
{
    space_wall_holes(s, from_m, to_m);
    for (uint32_t i = 0; i < s->h->floors.n && fabs(from_m.z - to_m.z) > 1e-6; i++)
        if (!s->h->floors.v[i].open_air)
            holes_of_floor(s, i, from_m, to_m);
}

/* ---- edges ---- */

/* Does a visible cable here lie in a room that is to be kept free of it? */
static bool is_kept_free(const struct space *s, const struct space_way *way, struct vec3 at_m)
{
    if (way->kind != RUN_SKIRTING && way->kind != RUN_SURFACE)
        return false;
    for (uint32_t i = 0; i < s->h->rooms.n; i++) {
        const struct room *room = &s->h->rooms.v[i];
        if (!(room->keep_free & FREE_CABLE) || room->floor.i == NO_REF)
            continue;
        const struct floor *f = &s->h->floors.v[room->floor.i];
        if (at_m.z >= f->level_m && at_m.z <= f->level_m + f->height_m &&
            polygon_contains(room->outline, (struct vec2){ at_m.x, at_m.y }))
            return true;
    }
    return false;
}

void space_edge_of(struct space *s, uint32_t a, uint32_t b, uint32_t way, double price_per_m, double length_m,
                   uint32_t first_work)
{
    if (s->failed || a == ROUTE_NONE || b == ROUTE_NONE || a == b)
        return;
    const struct space_way *w = &s->ways.v[way];
    const struct vec3 middle_m = vec3_scale(vec3_add(s->at_m.v[a], s->at_m.v[b]), 0.5);
    const bool kept_free = is_kept_free(s, w, middle_m);
    if (kept_free && w->run == NO_REF)
        return;
    const struct route_edge edge = { .a = a,
                                     .b = b,
                                     .length_m = length_m,
                                     .price = length_m * price_per_m,
                                     .label = w->run == NO_REF ? ROUTE_NONE : w->run,
                                     .only_named = kept_free,
                                     .work = first_work,
                                     .n_work = s->net.works.n - first_work,
                                     .way = way };
    s->failed |= !VEC_PUSH(s->a, &s->net.edges, edge);
}

void space_edge(struct space *s, uint32_t a, uint32_t b, uint32_t way, double price_per_m, uint32_t first_work)
{
    if (!s->failed && a != ROUTE_NONE && b != ROUTE_NONE)
        space_edge_of(s, a, b, way, price_per_m, vec3_len(vec3_sub(s->at_m.v[a], s->at_m.v[b])), first_work);
}

void space_cord(struct space *s, uint32_t a, uint32_t b, uint32_t way, double cord_m)
{
    const uint32_t n_edges = s->net.edges.n;
    space_edge_of(s, a, b, way, 0.0, 0.0, s->net.works.n);
    if (!s->failed && s->net.edges.n > n_edges)
        s->net.edges.v[n_edges].cord_m = cord_m;
}

/* ---- lines ---- */

uint32_t space_add_line(struct space *s, struct space_line line)
{
    s->failed |= !VEC_PUSH(s->a, &s->lines, line);
    if (s->failed)
        return 0;
    for (uint32_t i = 0; i < line.n; i++)
        (void)space_line_node(s, s->lines.n - 1, line.p[i]);
    return s->lines.n - 1;
}

struct nearest {
    double distance_m, t_m;
    struct vec3 at_m;
};

static struct nearest nearest_of(const struct space_line *line, struct vec3 at_m)
{
    struct nearest best = { INFINITY, 0.0, line->p[0] };
    double along = 0.0;
    for (uint32_t i = 0; i + 1 < line->n; i++) {
        const struct vec3 a = line->p[i], d = vec3_sub(line->p[i + 1], a);
        const double len = vec3_len(d);
        const double t = len > 0.0 ? fmin(1.0, fmax(0.0, vec3_dot(vec3_sub(at_m, a), d) / (len * len))) : 0.0;
        const struct vec3 q = vec3_add(a, vec3_scale(d, t));
        const double distance = vec3_len(vec3_sub(at_m, q));
        if (distance < best.distance_m - 1e-9)
            best = (struct nearest){ distance, along + t * len, q };
        along += len;
    }
    return best;
}

double space_line_nearest(const struct space_line *line, struct vec3 at_m, struct vec3 *nearest_m)
{
    const struct nearest found = nearest_of(line, at_m);
    *nearest_m = found.at_m;
    return found.distance_m;
}

/* Marks a new node wherever the line passes it: a ring ends where it begins, and a run may come by the same place again. */
static void mark_node(struct space *s, struct space_line *l, uint32_t node)
{
    const struct vec3 at_m = s->at_m.v[node];
    double along_m = 0.0, marked_m = -INFINITY;
    for (uint32_t i = 0; i + 1 < l->n; i++) {
        const struct space_line side = { .p = l->p + i, .n = 2 };
        const struct nearest found = nearest_of(&side, at_m);
        const double t_m = along_m + found.t_m;
        if (found.distance_m < SAME_M && t_m > marked_m + SAME_M) { /* a corner is of two sides */
            s->failed |= !VEC_PUSH(s->a, &l->marks, ((struct line_mark){ t_m, node }));
            marked_m = t_m;
        }
        along_m += vec3_len(vec3_sub(l->p[i + 1], l->p[i]));
    }
}

uint32_t space_line_node(struct space *s, uint32_t line, struct vec3 at_m)
{
    if (s->failed)
        return 0;
    struct space_line *l = &s->lines.v[line];
    const struct nearest found = nearest_of(l, at_m);
    for (uint32_t i = 0; i < l->marks.n; i++)
        if (vec3_len(vec3_sub(s->at_m.v[l->marks.v[i].node], found.at_m)) < SAME_M)
            return l->marks.v[i].node;
    const uint32_t node = space_node(s, found.at_m);
    if (!s->failed)
        mark_node(s, l, node);
    return node;
}

static int by_place(const void *x, const void *y)
{
    const struct line_mark *a = x, *b = y;
    if (a->t_m != b->t_m)
        return a->t_m < b->t_m ? -1 : 1;
    return a->node < b->node ? -1 : a->node > b->node;
}

/* The middle of an opening on the plan. */
static struct vec2 opening_middle(const struct wall *w, const struct opening *o)
{
    double left = o->at_m + o->width_m / 2.0;
    for (uint32_t i = 0; i + 1 < w->line.n; i++) {
        const struct vec2 d = vec2_sub(w->line.v[i + 1], w->line.v[i]);
        const double len = vec2_len(d);
        if (left <= len)
            return vec2_add(w->line.v[i], vec2_scale(d, len > 0.0 ? left / len : 0.0));
        left -= len;
    }
    return w->line.v[w->line.n - 1];
}

/* A skirting's cable goes up and over each doorway that it passes. */
static double round_doors_m(const struct space *s, const struct space_line *l, struct vec3 a, struct vec3 b)
{
    const struct vec2 p = { a.x, a.y }, q = { b.x, b.y };
    double extra_m = 0.0;
    for (uint32_t i = 0; i < s->h->walls.n; i++) {
        const struct wall *w = &s->h->walls.v[i];
        for (uint32_t k = 0; w->floor.i == l->floor && k < w->openings.n; k++) {
            const struct opening *o = &w->openings.v[k];
            const bool in_the_way = o->kind != OPENING_WINDOW && o->sill_m <= SKIRTING_HEIGHT_M;
            if (in_the_way && segment_distance_m(p, q, opening_middle(w, o)) < ON_WALL_M)
                extra_m += 2.0 * o->head_m;
        }
    }
    return extra_m;
}

static void close_line(struct space *s, struct space_line *l)
{
    qsort(l->marks.v, l->marks.n, sizeof *l->marks.v, by_place);
    for (uint32_t i = 0; i + 1 < l->marks.n; i++) {
        const uint32_t a = l->marks.v[i].node, b = l->marks.v[i + 1].node;
        const struct vec3 p = s->at_m.v[a], q = s->at_m.v[b];
        const uint32_t first_work = s->net.works.n;
        double length_m = vec3_len(vec3_sub(q, p));
        if (l->use == LINE_OF_FILE && s->ways.v[l->way].kind != RUN_RISER)
            space_wall_holes(s, p, q);
        if (l->use == LINE_SKIRTING)
            length_m += round_doors_m(s, l, p, q);
        space_edge_of(s, a, b, l->way, l->price_per_m, length_m, first_work);
    }
}

void space_close_lines(struct space *s)
{
    for (uint32_t i = 0; !s->failed && i < s->lines.n; i++)
        close_line(s, &s->lines.v[i]);
}

/* ---- areas ---- */

double space_outline_nearest(vec2_list outline, struct vec2 at_m, struct vec2 *nearest_m)
{
    *nearest_m = at_m;
    if (polygon_contains(outline, at_m))
        return 0.0;
    double best = INFINITY;
    for (uint32_t i = 0; i < outline.n; i++) {
        const struct vec2 a = outline.v[i], d = vec2_sub(outline.v[(i + 1) % outline.n], a);
        const double len2 = vec2_dot(d, d);
        const double t = len2 > 0.0 ? fmin(1.0, fmax(0.0, vec2_dot(vec2_sub(at_m, a), d) / len2)) : 0.0;
        const struct vec2 q = vec2_add(a, vec2_scale(d, t));
        const double distance = vec2_len(vec2_sub(at_m, q));
        if (distance < best - 1e-9) {
            best = distance;
            *nearest_m = q;
        }
    }
    return best;
}

static uint32_t node_among(const struct space *s, const uint32_t *nodes, uint32_t n, struct vec3 at_m)
{
    for (uint32_t i = 0; i < n; i++)
        if (vec3_len(vec3_sub(s->at_m.v[nodes[i]], at_m)) < SAME_M)
            return nodes[i];
    return ROUTE_NONE;
}

static uint32_t node_inside(struct space *s, struct space_area *area, struct vec2 at_m)
{
    const struct vec3 at = { at_m.x, at_m.y, area->z_m };
    uint32_t node = node_among(s, area->nodes.v, area->nodes.n, at);
    if (node != ROUTE_NONE)
        return node;
    node = space_node(s, at);
    s->failed |= !VEC_PUSH(s->a, &area->nodes, node);
    return node;
}

uint32_t space_area_door(struct space *s, uint32_t which, struct vec2 at_m)
{
    if (s->failed)
        return ROUTE_NONE;
    struct space_area *area = &s->areas.v[which];
    struct vec2 inside;
    if (space_outline_nearest(area->outline, at_m, &inside) > AREA_REACH_M)
        return ROUTE_NONE;
    const struct vec3 at = { at_m.x, at_m.y, area->z_m };
    uint32_t door = node_among(s, area->doors.v, area->doors.n, at);
    if (door != ROUTE_NONE)
        return door;
    const uint32_t node = node_inside(s, area, inside), first_work = s->net.works.n;
    door = space_node(s, at);
    s->failed |= !VEC_PUSH(s->a, &area->doors, door);
    if (area->over != NO_REF && !area->is_open)
        space_board(s, area->over, (struct vec3){ inside.x, inside.y, area->z_m });
    /* a little further than the edge of the area, which may lie in the middle of the wall */
    const struct vec3 beyond = vec3_scale(vec3_sub((struct vec3){ inside.x, inside.y, area->z_m }, at), 1.0 + 1e-3);
    space_wall_holes(s, at, vec3_add(at, beyond));
    space_edge(s, door, node, area->way, area->price_per_m, first_work);
    return door;
}

/* Does the straight line stay within the outline? */
static bool sees(vec2_list outline, struct vec2 p, struct vec2 q)
{
    for (uint32_t i = 0; i < outline.n; i++) {
        const double t = crossing(p, q, outline.v[i], outline.v[(i + 1) % outline.n]);
        if (isnan(t))
            continue;
        const struct vec2 at = vec2_add(p, vec2_scale(vec2_sub(q, p), t));
        const bool at_corner = vec2_len(vec2_sub(at, outline.v[i])) < SAME_M ||
                               vec2_len(vec2_sub(at, outline.v[(i + 1) % outline.n])) < SAME_M;
        if (!at_corner)
            return false;
    }
    for (int i = 1; i < 8; i++) /* along a side, or through a corner to the outside and back */
        if (!polygon_contains_within(outline, vec2_add(p, vec2_scale(vec2_sub(q, p), i / 8.0)), SAME_M))
            return false;
    return true;
}

/* Boards that have to be lifted on the way, a rod's reach apart. */
static void boards_between(struct space *s, const struct space_area *area, struct vec3 p, struct vec3 q)
{
    const double length_m = vec3_len(vec3_sub(q, p));
    if (area->over == NO_REF || area->is_open)
        return;
    const uint32_t n = (uint32_t)fmax(0.0, ceil(length_m / ROD_REACH_M - 1e-9) - 1.0);
    for (uint32_t i = 1; i <= n; i++)
        space_board(s, area->over, vec3_add(p, vec3_scale(vec3_sub(q, p), (double)i / (n + 1))));
}

static void bend(struct space *s, uint32_t node)
{
    if (!s->failed)
        s->net.traits.v[node] |= ROUTE_BEND;
}

static void close_area(struct space *s, struct space_area *area)
{
    const double turn = polygon_area_m2(area->outline) < 0.0 ? -1.0 : 1.0;
    for (uint32_t i = 0; i < area->outline.n; i++) { /* ways bend at corners that point inwards */
        const struct vec2 a = area->outline.v[i], b = area->outline.v[(i + 1) % area->outline.n],
                          c = area->outline.v[(i + 2) % area->outline.n];
        if (turn * vec2_cross(vec2_sub(b, a), vec2_sub(c, b)) < -1e-9)
            bend(s, node_inside(s, area, b));
    }
    const bool is_generated = s->ways.v[area->way].run == NO_REF;
    for (uint32_t i = 0; i < area->nodes.n; i++)
        for (uint32_t k = i + 1; !s->failed && k < area->nodes.n; k++) {
            const uint32_t a = area->nodes.v[i], b = area->nodes.v[k];
            const uint32_t first_work = s->net.works.n, n_edges = s->net.edges.n;
            const struct vec3 p = s->at_m.v[a], q = s->at_m.v[b];
            if (!sees(area->outline, (struct vec2){ p.x, p.y }, (struct vec2){ q.x, q.y }))
                continue;
            boards_between(s, area, p, q);
            if (is_generated && area->is_open)
                space_wall_holes(s, p, q);
            else if (is_generated && area->under != NO_REF && area->over != NO_REF)
                space_void_holes(s, p, q);
            space_edge(s, a, b, area->way, area->price_per_m, first_work);
            if (!s->failed && s->net.edges.n > n_edges)
                s->net.edges.v[n_edges].is_hop = true;
        }
}

void space_close_areas(struct space *s)
{
    for (uint32_t i = 0; !s->failed && i < s->areas.n; i++)
        close_area(s, &s->areas.v[i]);
}

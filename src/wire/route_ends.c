/* From the things that hang on cables to the runs: down the wall they hang on, to an outlet that their cord reaches, through
 * the ceiling or the floor, along a run of the file that passes by. */
#include <math.h>

#include "base/units.h"
#include "wire/route_space.h"

/* Cable passes so far from a doorway. */
static const double JAMB_M = 0.1;

uint32_t space_thing_of(const struct house *h, const struct cable_end *end)
{
    if (end->equipment != NO_REF)
        return end->equipment;
    return end->device != NO_REF ? h->equipment.n + end->device : NO_REF;
}

static void place(const struct house *h, struct space_thing *t, struct ref floor, struct ref room, struct vec3 at_m)
{
    t->floor = floor.i != NO_REF ? floor.i : room.i != NO_REF ? h->rooms.v[room.i].floor.i : NO_REF;
    t->is_placed = t->floor != NO_REF && is_given(at_m.x) && is_given(at_m.y) && is_given(at_m.z);
    if (!t->is_placed)
        return;
    t->at_m = (struct vec3){ at_m.x, at_m.y, house_z_m(h, t->floor, at_m.z) };
    t->room = room.i != NO_REF ? room.i : house_room_at(h, t->floor, (struct vec2){ at_m.x, at_m.y });
}

static void place_things(struct space *s)
{
    const struct house *h = s->h;
    const uint32_t n = h->equipment.n + h->devices.n;
    s->things = ARENA_ARRAY(s->a, struct space_thing, n);
    if (!s->things) {
        s->failed = true;
        return;
    }
    for (uint32_t i = 0; i < n; i++) {
        struct space_thing *t = &s->things[i];
        *t = (struct space_thing){ .floor = NO_REF, .room = NO_REF, .node = ROUTE_NONE };
        if (i < h->equipment.n) {
            const struct equipment *e = &h->equipment.v[i];
            const struct mount *m = e->mount.i == NO_REF ? NULL : &h->mounts.v[e->mount.i];
            place(h, t, m ? m->floor : e->floor, m ? m->room : e->room, m ? m->at_m : e->at_m);
        } else {
            const struct device *d = &h->devices.v[i - h->equipment.n];
            place(h, t, d->floor, d->room, d->at_m);
        }
    }
    for (uint32_t c = 0; c < h->cables.n; c++) {
        const struct cable_end *ends[2] = { &h->cables.v[c].from, &h->cables.v[c].to };
        for (int e = 0; e < 2; e++) {
            const uint32_t i = space_thing_of(h, ends[e]);
            if (i == NO_REF)
                continue;
            s->things[i].is_cabled = true;
            s->things[i].cord_m = fmax(s->things[i].cord_m, e ? h->cables.v[c].cord_to_m : h->cables.v[c].cord_from_m);
        }
    }
}

static uint32_t way_here(struct space *s, const struct space_thing *t, bool is_cord, const char *says)
{
    return space_way(s, (struct space_way){ .kind = RUN_DUCT,
                                            .run = NO_REF,
                                            .floor = t->floor,
                                            .outdoors = s->h->floors.v[t->floor].open_air,
                                            .is_cord = is_cord,
                                            .mains_m = RT_NOT_GIVEN,
                                            .says = str_from(says) });
}

/* The thing itself, or, where its cable goes straight up or down beside it first, the place at that height. */
static uint32_t corner_of(struct space *s, const struct space_thing *t, double z_m)
{
    if (fabs(t->at_m.z - z_m) < 1e-6)
        return t->node;
    const uint32_t first_work = s->net.works.n;
    const uint32_t corner = space_node(s, (struct vec3){ t->at_m.x, t->at_m.y, z_m });
    const uint32_t way = way_here(s, t, false, "to it (generated)");
    if (!s->failed)
        space_holes(s, t->at_m, s->at_m.v[corner]);
    space_edge(s, t->node, corner, way, PRICE_DROP_PER_M, first_work);
    return corner;
}

/* From a thing to an outlet on a wall along the floor and up, else straight. */
static double cord_needed_m(const struct space_thing *t, enum line_use use, struct vec3 at_m)
{
    const struct vec3 d = vec3_sub(at_m, t->at_m);
    return use == LINE_DROP ? hypot(d.x, d.y) + fabs(d.z) : vec3_len(d);
}

/* Joins a thing to a point of a line, by a cord or by the cable itself, which passes walls at the height of the line. */
static void join_to_line(struct space *s, const struct space_thing *t, uint32_t line, struct vec3 at_m, bool is_cord)
{
    const uint32_t way = way_here(s, t, is_cord, is_cord ? "cord from the outlet (generated)" : "to it (generated)");
    const uint32_t node = space_line_node(s, line, at_m);
    if (s->failed)
        return;
    const enum line_use use = s->lines.v[line].use;
    if (is_cord) {
        space_cord(s, t->node, node, way, cord_needed_m(t, use, s->at_m.v[node]));
        return;
    }
    const uint32_t from = use == LINE_DROP ? corner_of(s, t, s->at_m.v[node].z) : t->node, first_work = s->net.works.n;
    if (!s->failed)
        space_holes(s, s->at_m.v[from], s->at_m.v[node]);
    space_edge(s, from, node, way, PRICE_DROP_PER_M, first_work);
}

/* A place at the foot of a wall. */
struct foot {
    struct vec2 face; /* on its surface */
    double base_m;    /* above the floor: where the wall begins; 0 but over an opening */
    bool is_near_side;
};

/* One face of a stretch of wall near the thing: a drop there, if cable or cord can get to it.  Its node of the drop, or ROUTE_NONE. */
static uint32_t try_face(struct space *s, const struct space_thing *t, const struct wall *w, struct foot foot)
{
    const struct vec2 face = foot.face;
    const bool is_near_side = foot.is_near_side;
    const struct floor *f = &s->h->floors.v[w->floor.i];
    const double away_m = hypot(face.x - t->at_m.x, face.y - t->at_m.y);
    const uint32_t room = house_room_at(s->h, w->floor.i, face);
    const double outlet_m = f->level_m + OUTLET_HEIGHT_M, top_m = f->level_m + given_or(w->height_m, f->height_m);
    const bool hangs =
        away_m <= ON_WALL_M + (is_near_side ? 0.0 : construct_thickness_m(&s->h->constructs.v[w->construct.i]));
    const struct vec3 low = { face.x, face.y, fmax(OUTLET_HEIGHT_M, foot.base_m) };
    if (f->open_air || room == NO_REF || house_is_solid_at(s->h, w->floor.i, low))
        return ROUTE_NONE;
    if (!hangs &&
        (foot.base_m > 0.0 || !is_near_side || room != t->room || away_m + fabs(t->at_m.z - outlet_m) > t->cord_m))
        return ROUTE_NONE;
    if (is_near_side && w->floor.i != t->floor)
        return ROUTE_NONE;
    const uint32_t drop = space_drop(s, w, face, foot.base_m);
    const double z_m = hangs ? fmin(top_m, fmax(f->level_m + foot.base_m, t->at_m.z)) : outlet_m;
    const struct vec3 at_m = { face.x, face.y, z_m };
    if (s->failed || drop == NO_REF)
        return ROUTE_NONE;
    join_to_line(s, t, drop, at_m, !hangs);
    return space_line_node(s, drop, at_m);
}

/* The door, or another opening that begins below an outlet, in which the foot would stand: how high it is, and the places beside
 * it, how far along the wall's stretch. */
struct doorway {
    double head_m; /* 0: there is none */
    double left_m, right_m;
};

static struct doorway doorway_at(const struct wall *w, uint32_t stretch, double along_m)
{
    double before_m = 0.0;
    for (uint32_t i = 0; i < stretch; i++)
        before_m += vec2_len(vec2_sub(w->line.v[i + 1], w->line.v[i]));
    for (uint32_t i = 0; i < w->openings.n; i++) {
        const struct opening *o = &w->openings.v[i];
        const double left_m = o->at_m - before_m - JAMB_M, right_m = o->at_m + o->width_m - before_m + JAMB_M;
        if (o->sill_m < OUTLET_HEIGHT_M && along_m > left_m && along_m < right_m)
            return (struct doorway){ o->head_m, left_m, right_m };
    }
    return (struct doorway){ 0.0, along_m, along_m };
}

/* A stretch of a wall, and the side of it on which a thing is. */
struct stretch {
    const struct wall *w;
    struct vec2 a, along, out; /* one end; by the metre along it; from its middle to the face on the thing's side */
    double len_m;
};

/* Both faces of the wall at this place; the node that is reached, or ROUTE_NONE. */
static uint32_t try_place(struct space *s, const struct space_thing *t, const struct stretch *on, double along_m,
                          double base_m)
{
    const struct vec2 foot = vec2_add(on->a, vec2_scale(on->along, along_m));
    const double away_m = hypot(foot.x - t->at_m.x, foot.y - t->at_m.y);
    if (along_m < 0.0 || along_m > on->len_m || away_m > fmax(ON_WALL_M, t->cord_m) + vec2_len(on->out))
        return ROUTE_NONE;
    uint32_t node = try_face(s, t, on->w, (struct foot){ vec2_add(foot, on->out), base_m, true });
    if (s->h->floors.v[t->floor].open_air) {
        const uint32_t far = try_face(s, t, on->w, (struct foot){ vec2_sub(foot, on->out), base_m, false });
        node = far != ROUTE_NONE ? far : node;
    }
    return node;
}

/* From over a doorway along the wall, and down beside it. */
static void pass_beside(struct space *s, const struct stretch *on, double along_m, uint32_t over)
{
    if (s->failed || over == ROUTE_NONE || along_m < 0.0 || along_m > on->len_m)
        return;
    const struct vec3 from_m = s->at_m.v[over];
    const struct vec2 foot = vec2_add(on->a, vec2_scale(on->along, along_m));
    const bool is_far_side = vec2_dot(on->out, vec2_sub((struct vec2){ from_m.x, from_m.y }, foot)) < 0.0;
    const struct vec2 face = is_far_side ? vec2_sub(foot, on->out) : vec2_add(foot, on->out);
    if (house_is_solid_at(s->h, on->w->floor.i, (struct vec3){ face.x, face.y, OUTLET_HEIGHT_M }))
        return;
    const uint32_t drop = space_drop(s, on->w, face, 0.0);
    const uint32_t node =
        drop == NO_REF ? ROUTE_NONE : space_line_node(s, drop, (struct vec3){ face.x, face.y, from_m.z });
    const uint32_t way = space_way(s, (struct space_way){ .kind = RUN_SURFACE,
                                                          .run = NO_REF,
                                                          .floor = on->w->floor.i,
                                                          .mains_m = RT_NOT_GIVEN,
                                                          .says = STR("along the wall over a doorway (generated)") });
    const uint32_t first_work = s->net.works.n;
    if (s->failed || node == ROUTE_NONE)
        return;
    space_holes(s, from_m, s->at_m.v[node]);
    space_edge(s, over, node, way, PRICE_DROP_PER_M, first_work);
}

static void join_to_wall(struct space *s, const struct space_thing *t, const struct wall *w)
{
    const struct floor *f = &s->h->floors.v[w->floor.i];
    const struct vec2 at = { t->at_m.x, t->at_m.y };
    const double low_m = f->level_m + w->base_m - 0.3, high_m = f->level_m + given_or(w->height_m, f->height_m) + 0.5;
    if (w->construct.i == NO_REF || t->at_m.z < low_m || t->at_m.z > high_m)
        return;
    const double half_m = construct_thickness_m(&s->h->constructs.v[w->construct.i]) / 2.0 + 0.01;
    for (uint32_t i = 0; !s->failed && i + 1 < w->line.n; i++) {
        const struct vec2 a = w->line.v[i], d = vec2_sub(w->line.v[i + 1], a);
        const double len = vec2_len(d);
        if (len < 1e-6)
            continue;
        const double side = vec2_cross(d, vec2_sub(at, a)) >= 0.0 ? 1.0 : -1.0;
        const struct stretch on = { w, a, vec2_scale(d, 1.0 / len),
                                    vec2_scale((struct vec2){ -d.y, d.x }, side * half_m / len), len };
        const double along_m = fmin(len, fmax(0.0, vec2_dot(vec2_sub(at, a), d) / len));
        const struct doorway door = doorway_at(w, i, along_m);
        const bool left_is_nearer = along_m - door.left_m < door.right_m - along_m;
        (void)try_place(s, t, &on, left_is_nearer ? door.left_m : door.right_m, 0.0);
        if (!(door.head_m > 0.0) || t->at_m.z < f->level_m + door.head_m)
            continue;
        const uint32_t over = try_place(s, t, &on, along_m, door.head_m);
        pass_beside(s, &on, door.left_m, over);
        pass_beside(s, &on, door.right_m, over);
    }
}

enum by_area { BY_NONE, BY_CEILING, BY_FLOOR, BY_EAVES };

/* Through the ceiling that it hangs from (or up to the beams), the floor that it stands on, or straight into a void that lies
 * behind the outer wall at its height. */
static enum by_area way_to_area(const struct space *s, const struct space_thing *t, const struct space_area *area)
{
    const struct floor *f = &s->h->floors.v[t->floor];
    const double above_m = t->at_m.z - f->level_m;
    if (f->open_air)
        return fabs(t->at_m.z - area->z_m) <= LINE_REACH_M ? BY_EAVES : BY_NONE;
    if (area->under == t->floor && above_m >= (area->is_open ? 2.0 : f->height_m - 0.35))
        return BY_CEILING;
    return area->over == t->floor && above_m <= OUTLET_HEIGHT_M ? BY_FLOOR : BY_NONE;
}

static void join_to_areas(struct space *s, const struct space_thing *t)
{
    static const char *const SAYS[] = { "", "through the ceiling (generated)", "through the floor (generated)",
                                        "from behind the outer wall (generated)" };
    for (uint32_t i = 0; !s->failed && i < s->areas.n; i++) {
        const bool is_open = s->areas.v[i].is_open;
        const enum by_area by = way_to_area(s, t, &s->areas.v[i]);
        const uint32_t door = by ? space_area_door(s, i, (struct vec2){ t->at_m.x, t->at_m.y }) : ROUTE_NONE;
        if (door == ROUTE_NONE)
            continue;
        const uint32_t way = way_here(s, t, false, SAYS[by]), first_work = s->net.works.n;
        if (!is_open && by != BY_EAVES)
            space_hole(s, by == BY_CEILING ? space_ceiling(s->h, t->floor) : s->h->floors.v[t->floor].slab.i, t->floor,
                       t->at_m);
        space_edge(s, t->node, door, way, PRICE_DROP_PER_M, first_work);
    }
}

static void join_to_runs(struct space *s, const struct space_thing *t)
{
    for (uint32_t i = 0; !s->failed && i < s->lines.n; i++) {
        struct vec3 at_m;
        if (s->lines.v[i].use != LINE_OF_FILE)
            continue;
        const double away_m = space_line_nearest(&s->lines.v[i], t->at_m, &at_m);
        if (away_m > fmax(LINE_REACH_M, t->cord_m))
            continue;
        const uint32_t n_works = s->net.works.n;
        space_holes(s, t->at_m, at_m);
        const bool is_free = s->net.works.n == n_works;
        s->net.works.n = s->works.n = n_works; /* only counted; join_to_line() adds them */
        if (away_m <= LINE_REACH_M)
            join_to_line(s, t, i, at_m, false);
        if (is_free && away_m > 0.0 && away_m <= t->cord_m)
            join_to_line(s, t, i, at_m, true);
    }
}

void space_ends(struct space *s)
{
    place_things(s);
    const uint32_t n = s->h->equipment.n + s->h->devices.n;
    for (uint32_t i = 0; !s->failed && i < n; i++) {
        struct space_thing *t = &s->things[i];
        if (!t->is_placed || !t->is_cabled)
            continue;
        t->node = space_node(s, t->at_m);
        if (!s->failed)
            s->net.traits.v[t->node] |= ROUTE_END;
        join_to_areas(s, t);
        for (uint32_t w = 0; !s->failed && w < s->h->walls.n; w++)
            if (s->h->walls.v[w].floor.i != NO_REF)
                join_to_wall(s, t, &s->h->walls.v[w]);
        join_to_runs(s, t);
    }
}

bool space_build(struct space *s)
{
    space_runs(s);
    space_stacked_drops(s);
    space_ends(s);
    space_join_runs(s);
    space_close_lines(s);
    space_close_areas(s);
    return !s->failed && route_net_close(s->a, &s->net);
}

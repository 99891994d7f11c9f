/* Walks along each wall in small steps and keeps the stretches where the step before the face is free. */
#include "design/wall_places.h"

#include <math.h>

#include "base/units.h"

#define STEP_M 0.05
#define BEFORE_FACE_M 0.03 /* where it hangs */
#define STANDS_M 0.30      /* so much room is needed before it */
#define CLEAR_M 0.15       /* of openings and corners */
#define OVER_HEAD_M 0.05   /* of an opening below it */
#define STRETCH_MIN_M 0.6

struct walk {
    const struct house *h;
    struct arena *a;
    uint32_t room;
    double z_m; /* above the floor of the wall */
    VEC(struct wall_place) found;
    bool failed;
};

/* One straight piece of a wall, seen from one side. */
struct face {
    uint32_t wall;
    struct vec2 a, along, out; /* unit vectors */
    double length_m, from_m;   /* from_m: along the wall to its beginning */
    double half_m;
};

static bool is_by_opening(const struct wall *w, double along_m, double z_m)
{
    for (uint32_t i = 0; i < w->openings.n; i++) {
        const struct opening *o = &w->openings.v[i];
        if (along_m > o->at_m - CLEAR_M && along_m < o->at_m + o->width_m + CLEAR_M && z_m > o->sill_m - CLEAR_M &&
            z_m < o->head_m + OVER_HEAD_M)
            return true;
    }
    return false;
}

static struct vec2 point_of(const struct face *f, double s_m, double before_m)
{
    return vec2_add(vec2_add(f->a, vec2_scale(f->along, s_m)), vec2_scale(f->out, f->half_m + before_m));
}

/* Is the air before the wall free here, and of this room? */
static bool is_free(const struct walk *w, const struct face *f, double s_m)
{
    const struct house *h = w->h;
    const struct wall *wall = &h->walls.v[f->wall];
    const uint32_t floor = h->rooms.v[w->room].floor.i;
    const double level_m = h->floors.v[floor].level_m, z_m = w->z_m + h->floors.v[wall->floor.i].level_m - level_m;
    if (is_by_opening(wall, f->from_m + s_m, w->z_m))
        return false;
    const double steps_m[] = { BEFORE_FACE_M, STANDS_M / 2.0, STANDS_M };
    for (int i = 0; i < 3; i++) {
        const struct vec2 at = point_of(f, s_m, steps_m[i]);
        const struct vec3 p = { at.x, at.y, z_m };
        if (house_room_at(h, floor, at) != w->room || house_is_solid_at(h, floor, p) ||
            house_is_above_roof(h, floor, p))
            return false;
    }
    return true;
}

static void add_stretch(struct walk *w, const struct face *f, double from_m, double to_m)
{
    if (to_m - from_m < STRETCH_MIN_M)
        return;
    const double faces_deg = units_deg_from_rad(atan2(f->out.x, f->out.y));
    const struct wall_place place = { .wall = f->wall,
                                      .at_m = point_of(f, (from_m + to_m) / 2.0, BEFORE_FACE_M),
                                      .faces_deg = faces_deg < 0.0 ? faces_deg + 360.0 : faces_deg,
                                      .free_m = to_m - from_m };
    w->failed |= !VEC_PUSH(w->a, &w->found, place);
}

static void walk_face(struct walk *w, const struct face *f)
{
    const int n = (int)floor((f->length_m - 2.0 * CLEAR_M) / STEP_M);
    double from_m = RT_NOT_GIVEN;
    for (int i = 0; i <= n; i++) {
        const double s_m = CLEAR_M + i * STEP_M;
        const bool free = is_free(w, f, s_m);
        if (free && !is_given(from_m))
            from_m = s_m;
        if (is_given(from_m) && (!free || i == n)) {
            add_stretch(w, f, from_m, free ? s_m : s_m - STEP_M);
            from_m = RT_NOT_GIVEN;
        }
    }
}

static void walk_wall(struct walk *w, uint32_t i)
{
    const struct house *h = w->h;
    const struct wall *wall = &h->walls.v[i];
    const double top_m = given_or(wall->height_m, h->floors.v[wall->floor.i].height_m);
    double from_m = 0.0;
    if (wall->construct.i == NO_REF || w->z_m < wall->base_m + CLEAR_M || w->z_m > top_m - CLEAR_M)
        return;
    for (uint32_t k = 0; k + 1 < wall->line.n; k++) {
        const struct vec2 d = vec2_sub(wall->line.v[k + 1], wall->line.v[k]);
        const double length_m = vec2_len(d);
        for (int side = -1; length_m > 0.0 && side <= 1; side += 2) {
            const struct vec2 along = vec2_scale(d, 1.0 / length_m);
            const struct face f = { .wall = i,
                                    .a = wall->line.v[k],
                                    .along = along,
                                    .out = vec2_scale((struct vec2){ -along.y, along.x }, side),
                                    .length_m = length_m,
                                    .from_m = from_m,
                                    .half_m = construct_thickness_m(&h->constructs.v[wall->construct.i]) / 2.0 };
            walk_face(w, &f);
        }
        from_m += length_m;
    }
}

static bool finish(const struct walk *w, wall_place_list *out)
{
    out->v = w->found.v;
    out->n = w->found.n;
    return !w->failed;
}

bool wall_places_of(struct arena *a, const struct house *h, uint32_t room, double z_m, wall_place_list *out)
{
    struct walk w = { .h = h, .a = a, .room = room, .z_m = z_m };
    for (uint32_t i = 0; i < h->walls.n && !w.failed; i++)
        if (h->walls.v[i].floor.i == h->rooms.v[room].floor.i)
            walk_wall(&w, i);
    return finish(&w, out);
}

bool wall_places_outside(struct arena *a, const struct house *h, uint32_t room, double z_m, wall_place_list *out)
{
    struct walk w = { .h = h, .a = a, .room = room };
    const double level_m = h->floors.v[h->rooms.v[room].floor.i].level_m;
    for (uint32_t i = 0; i < h->walls.n && !w.failed; i++) {
        const uint32_t floor = h->walls.v[i].floor.i;
        if (floor == NO_REF || h->floors.v[floor].open_air)
            continue;
        w.z_m = z_m + level_m - h->floors.v[floor].level_m;
        walk_wall(&w, i);
    }
    return finish(&w, out);
}

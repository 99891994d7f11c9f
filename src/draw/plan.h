/* plan.h - one floor of the house as an architect draws it, cut at the height of the sheet. */
#ifndef RT_DRAW_PLAN_H
#define RT_DRAW_PLAN_H

#include "draw/label.h"
#include "draw/pen.h"

/* How metres of the floor lie on the paper. */
struct plan {
    const struct house *house;
    uint32_t floor;
    double height_m;    /* of the cut, above the floor */
    double scale;       /* 50: 1:50 */
    struct vec2 lo, hi; /* metres: what the plan spans */
    bool is_turned;     /* a quarter clockwise: what lay up now lies right */
    double x_mm, y_mm;  /* upper left corner of the plan on the sheet */
};

static inline double plan_mm(const struct plan *p, double length_m) { return length_m * 1000.0 / p->scale; }
static inline struct vec2 plan_at(const struct plan *p, struct vec2 at_m)
{
    const struct vec2 d = { plan_mm(p, at_m.x - p->lo.x), plan_mm(p, at_m.y - p->lo.y) };
    const double high_mm = plan_mm(p, p->hi.y - p->lo.y);
    return p->is_turned ? (struct vec2){ p->x_mm + d.y, p->y_mm + d.x }
                        : (struct vec2){ p->x_mm + d.x, p->y_mm + high_mm - d.y };
}
/* A direction of the floor, as it points on the paper. */
static inline struct vec2 plan_direction(const struct plan *p, struct vec2 d)
{
    return p->is_turned ? (struct vec2){ d.y, d.x } : (struct vec2){ d.x, -d.y };
}

/* What the floor spans: outline, walls with their thickness, access points.  A floor of nothing spans one metre. */
void plan_bounds(const struct house *h, uint32_t floor, struct vec2 *lo, struct vec2 *hi);
/* The outline on the paper; points in the arena, NULL when its ceiling is reached. */
vec2_list plan_outline(struct arena *a, const struct plan *p, vec2_list outline_m);
double plan_thickness_m(const struct house *h, struct ref construct);

/* Beneath the walls: openings in the floor and stairs, solid things, the line of the roof. */
void plan_draw_things(struct pen *pen, const struct plan *p, struct label_space *space);
/* Walls, doors and windows.  Blocks them for texts. */
void plan_draw_walls(struct pen *pen, const struct plan *p, struct label_space *space);
/* Access points, places for them, devices; with their ids.  Returns the marks that were needed, bits of enum plan_mark. */
enum plan_mark { PLAN_ACCESS_POINT = 1, PLAN_FREE_MOUNT = 2, PLAN_DEVICE = 4 };
uint32_t plan_draw_mounts(struct pen *pen, const struct plan *p, struct label_space *space, bool free_mounts,
                          bool devices);
/* Their marks alone, for the key. */
void plan_mark_mount(struct pen *pen, struct vec2 at, bool is_taken);
void plan_mark_device(struct pen *pen, struct vec2 at);
/* What a room is called on drawings: what the file says, else its id in words. */
struct str plan_room_name(struct arena *a, const struct house *h, uint32_t room);
/* Names of rooms; where one does not fit it gets a number in the room, and `key` a line "1 cupboard". */
void plan_draw_rooms(struct pen *pen, const struct plan *p, struct label_space *space, str_list *key);
/* Names of solid things, where there is room. */
void plan_name_things(struct pen *pen, const struct plan *p, struct label_space *space);
/* Width and depth of the outline, outside of it. */
void plan_draw_dimensions(struct pen *pen, const struct plan *p, struct label_space *space);

#endif

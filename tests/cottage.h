/* cottage.h - one small house for tests of the field: two storeys with a stair hole, doors open and shut, windows, a roof
 * slope, solid things, a garden beside it. */
#ifndef RT_COTTAGE_H
#define RT_COTTAGE_H

#include "house_kit.h"

/* Turned by `turn_rad` about the origin, then shifted. */
struct cottage_at {
    double turn_rad, x_m, y_m, z_m;
};

static inline vec2_list cottage_line(struct kit *k, const struct cottage_at *at, uint32_t n, const double *xy)
{
    vec2_list line = kit_line(k, n, xy);
    const double c = cos(at->turn_rad), s = sin(at->turn_rad);
    for (uint32_t i = 0; i < n; i++) {
        const struct vec2 q = line.v[i];
        line.v[i] = (struct vec2){ c * q.x - s * q.y + at->x_m, s * q.x + c * q.y + at->y_m };
    }
    return line;
}

static inline struct vec3 cottage_point(const struct cottage_at *at, struct vec3 q)
{
    const double c = cos(at->turn_rad), s = sin(at->turn_rad);
    return (struct vec3){ c * q.x - s * q.y + at->x_m, s * q.x + c * q.y + at->y_m, q.z + at->z_m };
}

static inline void cottage_build(struct kit *k, struct cottage_at at)
{
#define LINE(n, ...) cottage_line(k, &at, n, (const double[]){ __VA_ARGS__ })
    kit_floor(k, at.z_m, 2.4, LINE(4, 0, 0, 8, 0, 8, 6, 0, 6), "concrete_150", NULL);
    struct floor *first =
        kit_floor(k, at.z_m + 2.65, 2.3, LINE(4, 0, 0, 8, 0, 8, 6, 0, 6), "timber_floor", "plasterboard_ceiling");
    first->holes.v = ARENA_ARRAY(k->c->run.arena, struct floor_hole, 1);
    first->holes.v[first->holes.n++].outline = LINE(4, 0.3, 2.2, 1.2, 2.2, 1.2, 4.6, 0.3, 4.6);
    kit_floor(k, at.z_m - 0.2, 3.0, LINE(6, 8, 0, 13, 0, 13, 6, 10, 6, 10, 4, 8, 4), NULL, NULL)->open_air = true;
    struct wall *ground = kit_wall(k, "outer_ground", 0, "brick_solid", LINE(5, 0, 0, 8, 0, 8, 6, 0, 6, 0, 0));
    kit_opening(k, ground, "front_door", "timber_door", 1.0, 0.9, 0.0, 2.0);
    kit_opening(k, ground, "window", "glass_double", 9.5, 1.6, 0.9, 2.1);
    kit_opening(k, ground, "garden_door", NULL, 15.0, 1.4, 0.0, 2.05);
    struct wall *upper = kit_wall(k, "outer_first", 1, "brick_solid", LINE(5, 0, 0, 8, 0, 8, 6, 0, 6, 0, 0));
    kit_opening(k, upper, "bedroom_window", "glass_low_e", 4.2, 1.2, 0.9, 2.0);
    struct wall *hall = kit_wall(k, "hall_wall", 0, "brick_single", LINE(3, 2.1, 0, 2.1, 3.9, 0, 3.9));
    kit_opening(k, hall, "hall_door", "hollow_door", 1.3, 0.8, 0.0, 2.0);
    kit_opening(k, hall, "arch", NULL, 2.6, 0.9, 0.0, 2.1);
    kit_wall(k, "kitchen_wall", 0, "stud_wall", LINE(2, 4.6, 2.5, 4.6, 6));
    struct wall *landing = kit_wall(k, "landing_wall", 1, "stud_wall", LINE(2, 2.6, 0, 2.6, 6));
    kit_opening(k, landing, "bedroom_door", "timber_door", 2.7, 0.8, 0.0, 2.0);
    kit_wall(k, "low_wall", 1, "lath_plaster", LINE(2, 2.6, 3.0, 5.0, 3.0))->height_m = 1.3;
    kit_obstacle(k, "chimney", 0, "chimney_breast", LINE(4, 6.9, 1.8, 7.8, 1.8, 7.8, 3.1, 6.9, 3.1), 0.0, 2.4);
    kit_obstacle(k, "fridge", 0, "metal_appliance", LINE(4, 5.0, 5.2, 5.6, 5.2, 5.6, 5.8, 5.0, 5.8), 0.0, 1.8);
    struct obstacle *mirror = kit_obstacle(k, "mirror", 1, "mirror", (vec2_list){ 0 }, 0.8, 1.8);
    mirror->line = LINE(2, 7.8, 3.5, 7.8, 4.7);
    struct plane *roof = &k->h->planes.v[k->h->planes.n++];
    *roof =
        (struct plane){ .id = STR("roof"), .floor = kit_ref(1), .construct = kit_ref(kit_construct(k, "roof_tiles")) };
    const vec2_list plan = LINE(4, 0, 0, 8, 0, 8, 3, 0, 3);
    roof->outline.v = ARENA_ARRAY(k->c->run.arena, struct vec3, 4);
    for (uint32_t i = 0; i < 4; i++)
        roof->outline.v[roof->outline.n++] = (struct vec3){ plan.v[i].x, plan.v[i].y, i < 2 ? 2.4 : 4.1 };
#undef LINE
}

static const struct cottage_at COTTAGE_HERE = { 0 };

/* An access point's three radios on the ground floor's ceiling, with a pattern. */
static inline void cottage_radios(const struct cottage_at *at, struct ap_radio radios[3])
{
    static double angles[] = { 0, 30, 60, 90, 120, 180 }, gains[] = { 4.5, 4.0, 2.5, -1.0, -6.0, -12.0 };
    static const struct antenna dome = { .elevation_deg = { angles, 6 }, .elevation_dbi = { gains, 6 } };
    static const double F_HZ[3] = { 2.437e9, 5.5e9, 6.465e9 };
    for (int i = 0; i < 3; i++) {
        radios[i] = kit_radio(F_HZ[i], cottage_point(at, (struct vec3){ 3.37, 4.11, 2.33 }));
        radios[i].antenna = &dome;
    }
}

#endif

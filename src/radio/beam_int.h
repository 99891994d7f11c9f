/* beam_int.h - shared by the sources of the fast tracer. */
#ifndef RT_RADIO_BEAM_INT_H
#define RT_RADIO_BEAM_INT_H

#include "radio/beam.h"
#include "radio/wall_table.h"

static inline struct beam_vec beam_vec_sub(struct beam_vec a, struct beam_vec b)
{
    return (struct beam_vec){ a.x - b.x, a.y - b.y, a.z - b.z };
}
static inline struct beam_vec beam_vec_add(struct beam_vec a, struct beam_vec b)
{
    return (struct beam_vec){ a.x + b.x, a.y + b.y, a.z + b.z };
}
static inline struct beam_vec beam_vec_scale(struct beam_vec a, float k)
{
    return (struct beam_vec){ a.x * k, a.y * k, a.z * k };
}
static inline float beam_vec_dot(struct beam_vec a, struct beam_vec b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
static inline struct beam_vec beam_vec_cross(struct beam_vec a, struct beam_vec b)
{
    return (struct beam_vec){ a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x };
}
static inline struct beam_vec beam_vec_from(struct vec3 v)
{
    return (struct beam_vec){ (float)v.x, (float)v.y, (float)v.z };
}
static inline struct beam_vec beam_lane(const struct beam_points *p, int lane)
{
    return (struct beam_vec){ p->x[lane], p->y[lane], p->z[lane] };
}

static inline beam_f4 beam_f4_all(float x) { return (beam_f4){ x, x, x, x }; }
static inline beam_f4 beam_f4_sqrt(beam_f4 x)
{
    return (beam_f4){ sqrtf(x[0]), sqrtf(x[1]), sqrtf(x[2]), sqrtf(x[3]) };
}
static inline bool beam_f4_any_above(beam_f4 a, beam_f4 b)
{
    return a[0] > b[0] || a[1] > b[1] || a[2] > b[2] || a[3] > b[3];
}

/* The place of an angle in a row of the tables. */
struct beam_node {
    uint32_t i;
    float share;
};

static inline struct beam_node beam_node_of(float cos_incidence)
{
    const struct wall_angle a = wall_angle_of(cos_incidence);
    return (struct beam_node){ a.node, a.share };
}

static inline beam_f4 beam_look_up(const beam_f4 *table, int32_t row, struct beam_node at)
{
    const beam_f4 *n = table + (size_t)row * WALL_TABLE_NODES + at.i;
    return n[0] + at.share * (n[1] - n[0]);
}

/* Row of what the face has where each lane meets its plane: -1 nothing.  `at` are points of the plane. */
void beam_face_rows(const struct beam_face *f, const struct beam_points *at, int32_t rows[BEAM_LANES]);

/* Sides of the lanes' points to all planes, least and most. */
void beam_sides(const struct beam_scene *bs, const struct beam_points *at, float *low_m, float *high_m);

/* One end of a leg: a point for every lane, and what beam_sides() found for it. */
struct beam_end {
    const struct beam_points *at;
    const float *low_m, *high_m;
};

/* Multiplies power[lane] by what the faces between the two ends leave of it, but for those of the given planes. */
void beam_leg(const struct beam_work *w, struct beam_end a, struct beam_end b, const uint32_t *without,
              uint32_t n_without, beam_f4 power[BEAM_LANES]);

/* Power gain of the antenna along a way (any length > 0 but 0 counts as the front). */
beam_f4 beam_antenna_gain(const struct beam_antenna *a, struct beam_vec way);

/* True, and booked, if paths of at most these powers may be left out. */
bool beam_leave_out(struct beam_work *w, const beam_f4 most[BEAM_LANES]);

struct beam_group *beam_group_of(struct beam_work *w, uint32_t group);

void beam_add_chain(struct beam_work *w, const struct beam_chain *c);
void beam_add_edge(struct beam_work *w, const struct beam_edge *e);

#endif

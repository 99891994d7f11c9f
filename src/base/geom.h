/* geom.h - points and vectors in metres.  x east, y north as drawn, z up. */
#ifndef RT_GEOM_H
#define RT_GEOM_H

#include <math.h>

struct vec2 {
    double x, y;
};

struct vec3 {
    double x, y, z;
};

static inline struct vec2 vec2_add(struct vec2 a, struct vec2 b) { return (struct vec2){ a.x + b.x, a.y + b.y }; }
static inline struct vec2 vec2_sub(struct vec2 a, struct vec2 b) { return (struct vec2){ a.x - b.x, a.y - b.y }; }
static inline struct vec2 vec2_scale(struct vec2 a, double k) { return (struct vec2){ a.x * k, a.y * k }; }
static inline double vec2_dot(struct vec2 a, struct vec2 b) { return a.x * b.x + a.y * b.y; }
/* z of the cross product: positive when b is to the left of a. */
static inline double vec2_cross(struct vec2 a, struct vec2 b) { return a.x * b.y - a.y * b.x; }
static inline double vec2_len(struct vec2 a) { return hypot(a.x, a.y); }

static inline struct vec3 vec3_add(struct vec3 a, struct vec3 b)
{
    return (struct vec3){ a.x + b.x, a.y + b.y, a.z + b.z };
}
static inline struct vec3 vec3_sub(struct vec3 a, struct vec3 b)
{
    return (struct vec3){ a.x - b.x, a.y - b.y, a.z - b.z };
}
static inline struct vec3 vec3_scale(struct vec3 a, double k) { return (struct vec3){ a.x * k, a.y * k, a.z * k }; }
static inline double vec3_dot(struct vec3 a, struct vec3 b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
static inline struct vec3 vec3_cross(struct vec3 a, struct vec3 b)
{
    return (struct vec3){ a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x };
}
static inline double vec3_len(struct vec3 a) { return sqrt(vec3_dot(a, a)); }

#endif

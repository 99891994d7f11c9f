/* scene_int.h - inside of the scene: planes, the faces that lie in them, and the edges where faces end.
 *
 * Faces of one plane (stacked storeys, collinear walls) share the plane's mirror image, so a plane is the unit of
 * reflection and a face the unit of what is met at a point.  The faces of a plane follow each other in scene->faces. */
#ifndef RT_RADIO_SCENE_INT_H
#define RT_RADIO_SCENE_INT_H

#include "radio/scene.h"

/* Two ends nearer to a plane than this lie in it: they neither cross it nor are mirrored by it. */
#define SCENE_NEAR_M 1e-5
/* Faces reach this much beyond their outline, and as much into their openings and holes: no ray slips through a joint of two
 * faces for a rounding, and one that runs exactly along an outline meets the face, however its coordinates are rounded (houses
 * are drawn in round figures, and so are grids).  Little enough that an edge and the end of its face are one. */
#define SCENE_JOIN_M 1e-5

/* A part of a face that has another construct: an opening.  In the face's own coordinates. */
struct patch {
    double u0, u1, v0, v1;
    uint32_t construct; /* NO_REF: a gap */
    struct str id;      /* of the opening, empty if it has none */
};

struct face {
    struct str id; /* of the wall, floor, plane or obstacle */
    uint32_t construct;
    uint32_t plane;
    struct vec3 origin, u, v;   /* a point of the face is origin + a u + b v; u, v of length 1 at right angles */
    double u0, u1, v0, v1;      /* its bounds */
    vec2_list outline;          /* in (a, b); none: the rectangle of the bounds */
    LIST(vec2_list) cuts;       /* polygons where the face is not */
    LIST(struct patch) patches; /* openings */
    bool is_half;   /* side of a solid obstacle: a wave pays half (in dB) on the way in, half on the way out */
    int mirrors_on; /* 0: on both sides; +1, -1: only on that side of the plane */
    const struct obstacle *solid; /* the obstacle it is a side of, or NULL */
};

struct plane_of_faces {
    struct vec3 n; /* unit normal */
    double d;      /* n . x = d */
    uint32_t first_face, n_faces;
};

/* One face seen from an edge: the half-plane that starts at the edge and runs along `along`. */
struct screen {
    struct vec3 along; /* unit, at right angles to the edge */
    uint32_t face, plane, construct;
    uint32_t behind; /* the screen before it in the list that it goes on straight behind the edge; NO_REF: none */
    struct str id;   /* of the opening or the face */
};

/* What a face has on the edge's very line. */
struct touch {
    uint32_t face, plane, construct;
};

enum { EDGE_SCREENS_MAX = 6 };

struct edge {
    struct vec3 from, axis; /* points are from + t * axis, 0 <= t <= length_m */
    double length_m;
    uint32_t n_screens;
    struct screen screens[EDGE_SCREENS_MAX];
    uint32_t n_touching;
    struct touch touching[EDGE_SCREENS_MAX]; /* in order of faces */
    struct str id;                           /* of the first screen's owner */
};

struct scene {
    const struct house *house;
    LIST(struct face) faces;
    LIST(struct plane_of_faces) planes;
    LIST(struct edge) edges;
    struct vec3 low, high; /* bounds of all faces */
};

/* What a face has at a point. */
struct face_hit {
    bool is_hit;
    uint32_t construct;
    const struct patch *patch; /* NULL: the face's own construct */
};

/* (a, b) of a point in the face's plane. */
static inline struct vec2 face_uv(const struct face *f, struct vec3 at)
{
    const struct vec3 r = vec3_sub(at, f->origin);
    return (struct vec2){ vec3_dot(r, f->u), vec3_dot(r, f->v) };
}
static inline struct vec3 face_point(const struct face *f, double a, double b)
{
    return vec3_add(f->origin, vec3_add(vec3_scale(f->u, a), vec3_scale(f->v, b)));
}
struct face_hit face_at(const struct face *f, struct vec2 uv);

/* True if the point is in the polygon or within tolerance_m of its outline; with a negative tolerance, if it is in the polygon and
 * farther than that from its outline. */
bool outline_holds(vec2_list outline, struct vec2 at, double tolerance_m);

static inline double plane_side_m(const struct plane_of_faces *p, struct vec3 at) { return vec3_dot(p->n, at) - p->d; }
static inline struct vec3 plane_mirror(const struct plane_of_faces *p, struct vec3 at)
{
    return vec3_sub(at, vec3_scale(p->n, 2.0 * plane_side_m(p, at)));
}

/* ---- parts of scene_build() ---- */

typedef VEC(struct face) face_vec;

/* Adds the faces of the house, without planes.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code scene_add_faces(struct arena *a, const struct house *h, face_vec *faces,
                                           struct rt_problems *p);
/* Lets walls of a plane that are drawn to one end begin where the other ends. */
void scene_join_faces(struct scene *s);
/* Finds the edges of a scene whose faces and planes are complete.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code scene_find_edges(struct arena *a, struct scene *s, struct rt_problems *p);

#endif

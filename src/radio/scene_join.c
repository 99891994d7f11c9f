/* scene_join.c - walls drawn in pieces are one wall: where two faces of a plane end at each other, one begins where the other ends.
 *
 * A ray through the joint then meets one of them, neither both nor none.  A slit or an overlap of a slip of the pen is closed
 * at its middle: it is narrower than the steps in which edges are looked for (scene_edges.c), so that nothing would bend what
 * a slit lets through. */
#include "radio/scene_int.h"

#define SLIT_M 0.02

/* A place of another face of the plane, in the face's own u. */
static double in_own_u(const struct face *own, const struct face *other, double u)
{
    return vec3_dot(vec3_sub(face_point(other, u, other->v0), own->origin), own->u);
}

static bool is_wall(const struct face *f) { return !f->is_half && !f->outline.n && fabs(f->v.z) > 0.5; }

static bool are_as_high(const struct face *a, const struct face *b)
{
    const double low = fmax(a->origin.z + a->v0, b->origin.z + b->v0);
    const double high = fmin(a->origin.z + a->v1, b->origin.z + b->v1);
    return high - low > SLIT_M;
}

/* Joins the end of `a` on the side of rising u (side 1) or falling u (-1) with the end of b that lies there, if one does. */
static void join(struct face *a, struct face *b, double side)
{
    double *end = side > 0.0 ? &a->u1 : &a->u0;
    const double begin = side > 0.0 ? a->u0 : a->u1;
    const bool is_low = side * in_own_u(a, b, b->u0) < side * in_own_u(a, b, b->u1);
    double *near = is_low ? &b->u0 : &b->u1;
    const double far = is_low ? b->u1 : b->u0;
    /* where they are drawn to end: faces reach SCENE_JOIN_M farther */
    const double a_m = *end - side * SCENE_JOIN_M, b_m = in_own_u(a, b, *near) + side * SCENE_JOIN_M;
    if (fabs(b_m - a_m) > SLIT_M || side * (in_own_u(a, b, far) - a_m) <= SLIT_M || side * (a_m - begin) <= SLIT_M)
        return;
    *end = (a_m + b_m) / 2.0 + side * SCENE_JOIN_M;
    *near = in_own_u(b, a, *end);
}

void scene_join_faces(struct scene *s)
{
    for (uint32_t k = 0; k < s->planes.n; k++) {
        struct face *first = &s->faces.v[s->planes.v[k].first_face];
        for (uint32_t i = 0; i < s->planes.v[k].n_faces; i++)
            for (uint32_t j = i + 1; j < s->planes.v[k].n_faces; j++)
                if (is_wall(&first[i]) && is_wall(&first[j]) && are_as_high(&first[i], &first[j])) {
                    join(&first[i], &first[j], 1.0);
                    join(&first[i], &first[j], -1.0);
                }
    }
}

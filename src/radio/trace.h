/* trace.h - all paths from one antenna to one spot, in double precision: the plain statement of the physics.
 *
 * spot_paths() lists what this finds; the fast tracer of whole fields (field_*.c) is tested against it.
 *
 * Powers add in the local mean, with one exception.  A path that is cut off at an edge and the wave that the edge bends
 * are one wave: at the boundary of the shadow they must add as amplitudes, or the sum would jump.  So the direct path
 * together with the waves bent out of it, and likewise each single reflection, form a group, and within a group
 *
 *     power = |a + sum W d|^2 + sum (1 - W^2) |d|^2          a: the path, d: its bent waves, as complex amplitudes
 *
 * W is how much of the interference between a and d is left in the local mean: over a Gaussian window of standard deviation
 * sigma the phase between two plane waves that arrive along unit vectors u and v turns by k (u - v) . x, and the mean of
 * exp(j k (u - v) . x) is exp(-(k sigma |u - v|)^2 / 2) = exp(-2 pi^2 |u - v|^2) for sigma of one wavelength.  Both ends may
 * stand a little elsewhere, so |u - v|^2 is the sum of what it is at the spot and (of the ways on which they leave) at the
 * antenna.  W is the power (1 - |u - v|^2 / 0.2)^4, which is the same near the boundary (where u = v and W = 1) and ends at
 * 26 degrees.  The sum is never negative, and W = 0 leaves a sum of powers.
 *
 * An edge.  Let the path pass the edge with amplitude A on the side on which it does pass and with B if it passed on the
 * other (a wall on one side, air on the other: t and 1; a mirror that ends: r and 0).  Then
 *
 *     d = (B - A) * erfc(sqrt(j X)) / 2 * (free space over s' + s),   X = k L (1 - cos(bend)),  L = s' s sin^2(beta) / (s' + s)
 *
 * which is the half-plane term of the uniform theory (Kouyoumjian and Pathak 1974; wedge.h) with the jump as its weight,
 * as Burnside and Burgener (1983) weight a thin screen by 1 - T and R; `bend` is the angle by which the way turns at the edge,
 * seen along it, from the antenna for the direct path and from its mirror image for a reflection.  T and R are taken for
 * the direction half-way between arriving and leaving, so the way back gives the same.  On the boundary X = 0 and
 * a + d = (A + B) / 2 from either side.  The terms of direct path and reflection add as powers: their cross product changes
 * sign between soft and hard polarisation and cancels in an unpolarised mean.
 *
 * Phases within a group are those of the constructs passed and mirrored by; of a polarisation mean, the mean amplitude's.
 *
 * A path that runs exactly over the edge's line (houses and grids are drawn in round figures) is there with what the faces that touch
 * the line leave, C, which may be neither A nor B: then B - A is A + B - 2 C, and again a + d = (A + B) / 2.
 *
 * An edge of finite length makes the share S = 1 - (1 - W/2) (h(x1) + h(x2)) of d, h the same function erfc(sqrt(j x)) / 2 of the
 * phase x by which the way over an end is longer, -h and no 1 beyond the end.  For W = 0 that is the Fresnel integral over the
 * edge.  For W = 1 the halves of the product h h that belongs to the corner of two edges (a rectangular opening lets
 * (1 - hx) (1 - hy) through: the path, two edges, the corner) go to either edge, so nothing jumps at the corner of a door. The
 * place along the edge is that of the bending, near the boundary (by W) that where the straight path passes the edge's plane.
 *
 * Waves bend once.  Deep behind a solid box that lets nothing through, where they would have to bend twice, the sum is too
 * low. */
#ifndef RT_RADIO_TRACE_H
#define RT_RADIO_TRACE_H

#include <complex.h>

#include "radio/field.h"
#include "radio/scene_int.h"
#include "radio/wall_table.h"

enum { TRACE_ORDER_MAX = 3 };
/* An end nearer than this counts as this far: inside is the near field, and no spot gets more than the antenna sends. */
#define TRACE_NEAREST_M 0.1
/* Squared difference of directions from which W is 0. */
#define TRACE_APART2 0.2
/* A way that runs along a screen, but for an angle of this sine, is taken to pass it on the straight path's side.  (Houses and grids
 * are drawn in round figures, so ways are turned by exactly 90 degrees at the corners of walls: half-way is along a wall.) */
#define TRACE_ALONG 1e-5

struct tracer {
    const struct scene *scene;
    struct wall_table walls;
    struct trace_options options;
    double wavelength_m;
    struct vec3 from;
    const struct antenna *antenna; /* NULL: isotropic */
    struct antenna_pose pose;
    struct trace_group *groups; /* scratch: [1 + planes] */
};

/* One path, in brief. */
struct trace_path {
    enum path_kind kind;
    int order;
    uint32_t planes[TRACE_ORDER_MAX]; /* in the order in which they are met */
    uint32_t edge;                    /* PATH_DIFFRACTED */
    double power;                     /* received over sent, of this path alone; a bent wave: all its terms */
};

/* Something that a path meets, in order along the path. */
struct trace_event {
    enum { MET_THROUGH, MET_MIRROR, MET_EDGE } kind;
    uint32_t face; /* or the edge */
    struct face_hit hit;
    double cos_incidence;
    double power; /* ratio left */
    struct vec3 at;
};

typedef VEC(struct trace_path) trace_path_vec;
typedef VEC(struct trace_event) trace_event_vec;

/* Prepares tracing at one frequency from one point.  antenna may be NULL.  Lives in run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code tracer_init(const struct run *run, const struct scene *s, double f_hz, struct vec3 from,
                                       const struct antenna *antenna, struct antenna_pose pose,
                                       struct trace_options options, struct tracer *out, struct rt_problems *p);

/* The same with a table of walls that is there already, for the frequency and the estimate. */
RT_MUST_CHECK enum rt_code tracer_init_with(const struct run *run, const struct scene *s,
                                            const struct wall_table *walls, struct vec3 from,
                                            const struct antenna *antenna, struct antenna_pose pose,
                                            struct trace_options options, struct tracer *out, struct rt_problems *p);

/* Power received at a spot by an isotropic antenna over the power sent, all paths.  With `found` every path is added to it
 * (in `a`).  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code trace_spot(const struct tracer *t, struct vec3 at, struct arena *a, trace_path_vec *found,
                                      double *power, struct rt_problems *p);

/* The same without a list; it cannot fail. */
double trace_spot_power(const struct tracer *t, struct vec3 at);

/* What the path meets on its way to the spot, its bends, its length and the antenna's gain towards it. */
struct trace_detail {
    trace_event_vec events;
    struct vec3 points[TRACE_ORDER_MAX + 2];
    int n_points;
    double length_m, antenna_dbi;
};
RT_MUST_CHECK enum rt_code trace_describe(const struct tracer *t, const struct trace_path *path, struct vec3 at,
                                          struct arena *a, struct trace_detail *out, struct rt_problems *p);

#endif

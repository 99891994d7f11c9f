/* trace_int.h - shared by trace.c and trace_edge.c. */
#ifndef RT_RADIO_TRACE_INT_H
#define RT_RADIO_TRACE_INT_H

#include "radio/trace.h"

/* A path that is cut off at edges, with the waves bent out of it (top of trace.h). */
struct trace_group {
    double complex sum;
    double rest;
};

/* Where events go while a path is described; NULL: nowhere. */
struct recorder {
    struct arena *arena;
    trace_event_vec *events;
    bool failed;
};

static inline struct vec3 unit_or(struct vec3 v, struct vec3 otherwise)
{
    const double length = vec3_len(v);
    return length > 1e-9 ? vec3_scale(v, 1.0 / length) : otherwise;
}

/* Share of the power that is TE at a face of normal n, for a wave along the unit vector way. */
double trace_te_share(const struct tracer *t, struct vec3 way, struct vec3 n);
/* Shares of the power that a construct lets pass and mirrors. */
struct trace_shares {
    double pass, mirror;
};
struct trace_shares trace_effect(const struct tracer *t, uint32_t construct, struct vec3 way, struct vec3 n);
/* Amplitudes with which a construct passes and mirrors a wave: the size from the mean of the powers of both polarisations,
 * the phase from the mean of the amplitudes (of E along the same direction, hence the sign of the TM reflection). */
struct trace_amplitudes {
    double complex pass, mirror;
};
struct trace_amplitudes trace_amplitude(const struct tracer *t, uint32_t construct, struct vec3 way, struct vec3 n);
/* Share of the power that gets over the last leg of a path's n >= 2 points so far, from points[n - 2] to points[n - 1], through
 * all faces but those of the given planes; points between the first and the last are bounces.  Unless it is NULL, *phase (of
 * length 1) is turned by the phases of what is passed. */
double trace_leg(const struct tracer *t, const struct vec3 *points, int n, const uint32_t *without, uint32_t n_without,
                 double complex *phase, struct recorder *r);
/* Amplitude that half of a construct passes, of what the whole passes of a wave along the unit vector way. */
double complex trace_half(const struct tracer *t, uint32_t construct, double complex whole, struct vec3 way,
                          struct vec3 n);
/* Power gain of the antenna along a way, and of free space over a length. */
double trace_antenna(const struct tracer *t, struct vec3 way);
double trace_free_space(const struct tracer *t, double length_m);

/* Adds the wave bent at one edge to the groups of its parents; returns the power of all its terms. */
double trace_edge(const struct tracer *t, const struct edge *e, struct vec3 at);
/* Where the way from the antenna to the spot bends at the edge. */
struct vec3 trace_edge_point(const struct tracer *t, const struct edge *e, struct vec3 at);
/* The planes of the edge's screens, which legs that end on it do not cross. */
uint32_t trace_edge_planes(const struct edge *e, uint32_t planes[EDGE_SCREENS_MAX]);

#endif

/* contour.h - lines of equal value through a lattice (marching squares). */
#ifndef RT_DRAW_CONTOUR_H
#define RT_DRAW_CONTOUR_H

#include "house/building.h"

/* Values at the nodes x0 + ix * step, y0 + iy * step; row-major [ny][nx].  NaN: no value; no line comes near it. */
struct lattice {
    uint32_t nx, ny;
    double x0, y0, step;
    const float *v;
};

struct contour_line {
    vec2_list points;
    bool is_closed; /* the last point joins the first */
};

typedef LIST(struct contour_line) contour_list;

/* All lines on which the value, taken as linear along the lattice's edges, is `level`; higher values lie to the left of
 * a line's direction.  A line ends only at the lattice's border or at a node without value.  In order of the lattice.
 * Lives in the arena; false when its ceiling is reached. */
bool contour_trace(struct arena *a, const struct lattice *l, double level, contour_list *out);

#endif

/* polygon.h - questions about outlines beyond those of house.h.  Corners in order, either way round, not closed; metres.
 * Shared edges are no overlap: whatever is thinner than the tolerance does not count. */
#ifndef RT_HOUSE_POLYGON_H
#define RT_HOUSE_POLYGON_H

#include "house/house.h"

enum polygon_answer { POLYGON_NO, POLYGON_YES, POLYGON_NO_MEMORY };

/* Distance from a point to the stretch from a to b. */
double segment_distance_m(struct vec2 a, struct vec2 b, struct vec2 at_m);
/* Distance from a point to the outline's edge; infinite for no corners. */
double polygon_edge_distance_m(vec2_list outline, struct vec2 at_m);
bool polygon_contains_within(vec2_list outline, struct vec2 at_m, double tol_m);
/* A point well inside; false when the outline has no area (or no memory is left in scratch, which is given back). */
bool polygon_inner_point(vec2_list outline, struct arena *scratch, struct vec2 *out);
/* The centre if it lies in the outline, else a point well inside (the centre all the same where scratch has no memory left). */
struct vec2 polygon_middle(vec2_list outline, struct arena *scratch);
/* Do two sides meet where they should not?  Gives the first such pair (side i runs from corner i to the next). */
bool polygon_crosses_itself(vec2_list outline, uint32_t *side, uint32_t *other);
/* Quick: are the boxes round them apart, but for a strip of tol_m? */
bool polygons_are_apart(vec2_list a, vec2_list b, double tol_m);
/* Do they share ground beyond a strip of tol_m?  `where` is then a point of it.  Scratch is given back. */
enum polygon_answer polygons_overlap(vec2_list a, vec2_list b, double tol_m, struct arena *scratch, struct vec2 *where);
/* The area that both cover, m2; exact for any two simple outlines. */
double polygons_shared_m2(vec2_list a, vec2_list b);
/* Is a within b but for a strip of tol_m?  If not, `where` is a point of a that is outside. */
enum polygon_answer polygon_within(vec2_list a, vec2_list b, double tol_m, struct arena *scratch, struct vec2 *where);

#endif

/* embree_legs.h - the yardstick: straight legs of paths traced through the house's faces by a general-purpose ray library
 * (Embree 3), every face on the way found and its loss looked up in the same tables.
 *
 * It is told which legs there are: finding the paths, rejecting those that do not exist and summing them costs it
 * nothing.  Faces are its quads; what opening a face has at a point is asked of the scene, as the tracer does. */
#ifndef RT_BENCH_EMBREE_LEGS_H
#define RT_BENCH_EMBREE_LEGS_H

#include "radio/scene.h"
#include "radio/wall_table.h"

struct embree_legs;

struct leg {
    float from_m[3], to_m[3];
};

struct leg_result {
    uint64_t crossings;
    double power; /* left, summed over legs and tables: keeps the work from being left out */
};

/* Lives in run->arena, the library's own memory apart; free it with embree_legs_free(). */
struct embree_legs *embree_legs_new(const struct run *run, const struct scene *s);
void embree_legs_free(struct embree_legs *e);

/* Traces n legs; each crossing is looked up in each of the tables (one a band, at most 4). */
struct leg_result embree_legs_trace(struct embree_legs *e, const struct leg *legs, size_t n,
                                    const struct wall_table *tables, size_t n_tables);

#endif

/* scene.h - the house as the waves meet it: flat faces that pass and mirror, vertical edges that bend.
 *
 * Walls, openings, slabs, ceilings, roof and stair planes and obstacles become faces of no thickness at their middle;
 * what a face does to a wave is in its construct's table (wall_table.h).  Built once per house, shared by all antennas and
 * bands, read-only afterwards. */
#ifndef RT_RADIO_SCENE_H
#define RT_RADIO_SCENE_H

#include "house/house.h"

struct scene;

/* Builds the scene in run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code scene_build(const struct run *run, const struct house *h, struct scene **out,
                                       struct rt_problems *p);

uint32_t scene_n_faces(const struct scene *s);
uint32_t scene_n_edges(const struct scene *s);

#endif

/* cable_stretch.h - the cables of a floor as stretches on its plan: each once, with all cables that lie in it. */
#ifndef RT_DRAW_CABLE_STRETCH_H
#define RT_DRAW_CABLE_STRETCH_H

#include "wire/install.h"

/* Where a stretch lies, as its line tells. */
enum lie { LIE_OVER, LIE_UNDER, LIE_SEEN, LIE_GROUND, LIE_CORD, LIE_COUNT };

struct stretch {
    struct vec2 a, b; /* metres on the plan */
    double z_m;       /* above the datum, in the middle of its leg */
    enum lie lie;
    uint32_t run; /* NO_REF: generated */
    bool *has;    /* of each of house->cables */
    uint32_t n_cables;
};

typedef LIST(struct stretch) stretch_list;

/* Does the leg go up or down rather than along? */
bool cable_leg_is_upright(const struct cable_leg *l);
/* Does some of the leg lie on the plan of the floor?  A run of the file may pass over several floors, and shows on each. */
bool cable_leg_shows(const struct house *h, const struct cable_leg *l, uint32_t floor);
/* All stretches of the floor, split where cables part; false: the arena's ceiling. */
bool cable_stretches(struct arena *a, const struct cable_plan *plan, uint32_t floor, stretch_list *out);

#endif

/* cable_signs.h - the signs on the plan of cables, each centred where it is said, and the key that tells what they mean. */
#ifndef RT_DRAW_CABLE_SIGNS_H
#define RT_DRAW_CABLE_SIGNS_H

#include "draw/cable_floor.h"

#define CABLE_LINE_MM 0.45 /* wide, of one cable */
/* How far marks reach from their middle. */
#define CABLE_HOLE_MM 1.0
#define CABLE_BOARD_MM 1.3
#define CABLE_RISER_MM 1.5
#define CABLE_END_MM 1.0

/* Its line tells where it lies, and whether it holds several cables. */
void cable_sign_stretch(struct pen *pen, const struct plan *p, const struct stretch *t);
void cable_sign_hole(struct pen *pen, struct vec2 at);
void cable_sign_board(struct pen *pen, struct vec2 at);
void cable_sign_arrow(struct pen *pen, struct vec2 at, bool is_up);
void cable_sign_end(struct pen *pen, struct vec2 at);
/* Beneath the plan: those signs that stand on it. */
void cable_key_write(struct cable_floor *c);

#endif

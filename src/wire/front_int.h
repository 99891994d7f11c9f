/* front_int.h - shared by the sources of front.h. */
#ifndef RT_WIRE_FRONT_INT_H
#define RT_WIRE_FRONT_INT_H

#include "wire/front.h"

struct front_maker {
    struct arena *arena;
    const struct house *h;
    const struct energy_plan *energy;
    bool failed; /* the arena's ceiling was reached */
};

/* What a thing weighs in the order from top to bottom. */
enum stand_rank { RANK_GATEWAY, RANK_PATCH, RANK_SWITCH, RANK_OTHER, RANK_STRIP, RANK_BATTERY };

/* A thing before it has a place. */
struct draft_stand {
    struct stand stand;
    enum stand_rank rank;
    const struct part *part; /* NULL: a device of no part, our own things */
    struct vec3 at_m;        /* of the file, above the floor; NaN: none */
    double unit;             /* of the file; NaN */
    uint32_t order;          /* of gathering: the tie-break */
};

typedef VEC(struct draft_stand) draft_list;

/* front_cabinet.c, front_wall.c: give each a place, ours among them; sets the front's size. */
void front_fill_cabinet(struct front_maker *m, struct front *f, draft_list *list);
void front_fill_wall(struct front_maker *m, struct front *f, draft_list *list);

#define STAND_W_M 0.20 /* of what does not say its size */
#define STAND_H_M 0.06
#define STAND_SMALL_H_M 0.03 /* injectors and converters; common practice, no source */
#define SOCKETS_PER_ROW 24   /* that fit side by side in a panel's width (common practice, no source) */

static inline uint32_t front_rows(const struct front *f)
{
    return (f->patched.n + SOCKETS_PER_ROW - 1) / SOCKETS_PER_ROW;
}

#endif

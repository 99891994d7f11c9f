/* mounts_int.h - shared by the sources of mounts_generate(). */
#ifndef RT_DESIGN_MOUNTS_INT_H
#define RT_DESIGN_MOUNTS_INT_H

#include "base/units.h"
#include "design/space.h"

/* Common practice, no source. */
#define MOUNT_FROM_WALL_M 0.5     /* a ceiling mount, from the face of a wall ... */
#define MOUNT_FROM_WALL_MIN_M 0.3 /* ... in a room too narrow for that */
#define MOUNT_FROM_LAMP_M 0.5
#define MOUNT_FROM_OBSTACLE_M 0.3 /* from what reaches the ceiling */
#define MOUNT_APART_M 1.0         /* from another mount */
#define MOUNT_BELOW_CEILING_M 0.02
#define MOUNT_CEILING_MIN_M 1.8 /* lower ones are in the way */
#define MOUNT_OUTLET_M 0.4      /* a socket above the floor */
#define MOUNT_BELOW_EAVES_M 0.2
#define MOUNT_LADDER_M 5.5 /* above the ground, or the floor: what is reached from a ladder */
#define MOUNT_EAVES_TILT_DEG 20.0

enum { MOUNTS_PER_FLOOR = 12, MOUNTS_IN_ALL = 60 };

/* A place found; of too many on one floor those of low rank are kept. */
struct mount_draft {
    struct mount mount;
    int rank;
};

struct mount_maker {
    struct arena *a;
    const struct house *h;
    double grid_m;
    double *price; /* of fixing, by surface; NaN: by the hour */
    VEC(struct mount_draft) found;
    bool failed;
};

enum { RANK_CENTRE, RANK_GRID, RANK_EAVES, RANK_OUTLET };

/* Is there no mount near by yet, neither of the file nor found, and nothing in the way?  Then it is kept. */
void mounts_add(struct mount_maker *m, int rank, struct mount mount);
/* May something be fixed in the room? */
static inline bool mounts_allowed(const struct house *h, uint32_t room, uint32_t kept_free)
{
    return !(h->rooms.v[room].keep_free & kept_free);
}
/* Is something promised in the room that is heard or not? */
bool mounts_is_promised(const struct house *h, uint32_t room);

void mounts_on_ceiling(struct mount_maker *m, uint32_t room);

#endif

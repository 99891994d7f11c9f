/* cable_tree.h - how the house hangs together by its cables, seen from the gateway. */
#ifndef RT_WIRE_CABLE_TREE_H
#define RT_WIRE_CABLE_TREE_H

#include "base/run.h"
#include "house/house.h"

/* Things are numbered: equipment first, then devices. */
struct cable_tree {
    const struct house *h;
    uint32_t n_things;
    uint32_t gateway;       /* what all else hangs from; NO_REF: none, or it is dead */
    uint32_t *parent;       /* of each thing, towards the gateway; NO_REF: the gateway itself, or not joined */
    uint32_t *parent_cable; /* of house->cables; NO_REF likewise */
    uint32_t *order;        /* joined things, nearest the gateway first; nothing hangs on a device */
    uint32_t n_order;
};

static inline uint32_t tree_device(const struct house *h, uint32_t device) { return h->equipment.n + device; }
/* Of a cable's end; NO_REF: it names nothing. */
uint32_t tree_thing_of(const struct house *h, const struct cable_end *end);

/* The first gateway among the equipment; NO_REF: none. */
uint32_t tree_gateway(const struct house *h);
/* The gateway; without one the switch with the most cables, the first of equals; NO_REF: neither. */
uint32_t tree_root(const struct house *h);

/* Fewest cables from the gateway, the file's order among equals; cables that rest join nothing while another way lives.  dead_thing and dead_cable: one for each, or NULL; what is dead
 * joins nothing.  Lives in the arena.  False: its ceiling. */
RT_MUST_CHECK bool cable_tree_make(struct arena *a, const struct house *h, const bool *dead_thing,
                                   const bool *dead_cable, struct cable_tree *out);
/* The same from other equipment than the gateway (NO_REF: nothing is joined). */
RT_MUST_CHECK bool cable_tree_hang(struct arena *a, const struct house *h, uint32_t root, const bool *dead_thing,
                                   const bool *dead_cable, struct cable_tree *out);
/* Has the thing a way to the gateway? */
static inline bool tree_is_joined(const struct cable_tree *t, uint32_t thing)
{
    return thing == t->gateway || t->parent[thing] != NO_REF;
}

/* The cables between two joined things, from the one on; none if one of them is not joined, or both are one.
 * False: the arena's ceiling. */
typedef LIST(uint32_t) cable_way;
RT_MUST_CHECK bool tree_way(struct arena *a, const struct cable_tree *t, uint32_t from, uint32_t to, cable_way *out);

#endif

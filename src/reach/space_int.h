/* space_int.h - the inside of a space, for the sources of space.h. */
#ifndef RT_REACH_SPACE_INT_H
#define RT_REACH_SPACE_INT_H

#include "reach/space.h"

/* A node says, for each span of its axis, where to go on; the spans cover the axis, and no two that touch lead to the same
 * place.  Axes ascend on every way down; an axis that is left out makes no difference. */
struct node {
    const uint32_t *hi;   /* [n] last value of each span, ascending, or its number in the space's values: node_hi() */
    const packet_set *to; /* [n] */
    double share;         /* of all values of the axes from this one on, how many are in the set */
    uint32_t n, axis, hash;
    bool is_wide; /* the axis has more than 32 bits */
};

/* Besides in the two sets, a way down may end in what is done with the packet. */
#define DECISION 0x80000000U
static inline packet_set decision(enum action action) { return DECISION | (uint32_t)action; }
static inline bool is_end(packet_set a) { return a <= SET_ALL || (a & DECISION); }

/* A branch of a node that is being made. */
struct branch {
    axis_value hi;
    packet_set to;
};

struct cached {
    uint32_t op, a, b;
    packet_set result;
};

enum { NODE_PAGE = 1024 };

struct space {
    const struct run *run;
    enum family family;
    uint32_t n_axes;
    enum rt_code code;        /* the first failure; sets are SET_NONE from then on */
    size_t scratch_limit;     /* of the arenas that judging takes for as long as it runs */
    VEC(struct node *) pages; /* of NODE_PAGE nodes each; set numbers 0 and 1 are not used in them */
    uint32_t n_nodes;
    uint32_t *unique, n_unique;     /* hash table of node numbers, 0: free; a power of two */
    VEC(axis_value) values;         /* ends of spans on wide axes, each once: nodes hold their numbers */
    uint32_t *value_at, n_value_at; /* hash table of numbers in values, plus 1 */
    struct cached *cache;           /* results of operations; a newer one takes the place of an older */
    uint32_t n_cache;
    VEC(struct branch) branches; /* of the nodes that are being made, one above the other */
    VEC(uint64_t) forgotten;     /* sets of axes that set_forget() was asked for */
    unsigned char *room;         /* for spans */
    size_t room_left;
};

static inline const struct node *node_at(const struct space *s, packet_set a)
{
    return &s->pages.v[a / NODE_PAGE][a % NODE_PAGE];
}

/* The last value of a span; that of the last is the axis's largest. */
static inline axis_value node_hi(const struct space *s, const struct node *node, uint32_t i)
{
    return node->is_wide ? s->values.v[node->hi[i]] : node->hi[i];
}

/* The axis a diagram branches on first; behind all axes at an end. */
static inline uint32_t axis_of(const struct space *s, packet_set a)
{
    return is_end(a) ? UINT32_MAX : node_at(s, a)->axis;
}
/* Where the packet's way down ends. */
packet_set set_end_of(const struct space *s, packet_set a, const struct packet *p);

/* Making a node: node_begin(), node_branch() for ascending spans up to the axis's end, node_end().  Others may be made in
 * between. */
static inline uint32_t node_begin(const struct space *s) { return s->branches.n; }
void node_branch(struct space *s, uint32_t begin, axis_value hi, packet_set to);
packet_set node_end(struct space *s, uint32_t begin, uint32_t axis);

/* Remembers a failure; SET_NONE. */
packet_set space_fail(struct space *s, enum rt_code code);
/* False once anything failed, or the run was cancelled. */
bool space_goes_on(struct space *s);

enum {
    OP_AND = 1,
    OP_OR,
    OP_MINUS,
    OP_FORGET, /* b: index into forgotten */
    OP_SELECT  /* decisions -> packets; b: the decision */
};
bool cache_find(const struct space *s, uint32_t op, uint32_t a, uint32_t b, packet_set *result);
void cache_put(struct space *s, uint32_t op, uint32_t a, uint32_t b, packet_set result);
packet_set set_apply(struct space *s, uint32_t op, packet_set a, packet_set b);
/* Packets whose way down ends there. */
packet_set set_select(struct space *s, packet_set a, packet_set end);

static inline uint32_t hash_mix(uint32_t h, uint32_t x)
{
    h = (h ^ x) * 0x9e3779b1U;
    return h ^ h >> 15;
}

#endif

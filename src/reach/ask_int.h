/* ask_int.h - what the sources of a question share. */
#ifndef RT_REACH_ASK_INT_H
#define RT_REACH_ASK_INT_H

#include "reach/ask.h"

/* How the two sides of a question lie to each other. */
struct ask_sides {
    bool by_rules; /* some of them are in different zones: the rules decide between those */
    bool inside;   /* some share a segment ... */
    bool apart;    /* ... where client isolation keeps some pair from talking ... */
    bool together; /* ... and some pair talks, which the gateway never sees */
    bool
        by_tunnel; /* a segment means those too who come into it by a tunnel: the rules decide between them and the rest */
    struct str because; /* of what is inside, in words */
};

/* Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code ask_sides_find(struct arena *a, const struct layer2 *l2, const struct asked *q,
                                          struct ask_sides *out, struct rt_problems *p);

#endif

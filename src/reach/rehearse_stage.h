/* rehearse_stage.h - a network put up in namespaces of this kernel: a gateway, its interfaces, and whoever hangs on them.
 *
 * The namespaces have no names: the process that puts them up holds them by their descriptors, so that they, their
 * interfaces and their rules are gone when it ends, however it ends.  Nothing of the machine's own network is touched.
 * Everyone knows the MAC addresses of their wire from the start: nobody asks for them, since the kernel's table of neighbours
 * has room for 1024 in all namespaces together (net.ipv4.neigh.default.gc_thresh3 and its IPv6 twin), and only those that
 * were learnt count.  So the rules' part in finding neighbours is not seen by the way: ask for it with packets.
 * A stage belongs to the process that built it, which stays in a namespace of its own from then on: build it in a
 * child (rehearse.c does). */
#ifndef RT_REACH_REHEARSE_STAGE_H
#define RT_REACH_REHEARSE_STAGE_H

#include "base/run.h"
#include "reach/packet.h"

struct stage_address {
    enum family family;
    axis_value address;
    unsigned prefix_len;
};
typedef LIST(struct stage_address) stage_address_list;

/* An interface of the gateway, and the wire (a bridge) behind it. */
struct stage_wire {
    struct str interface; /* at most 15 characters */
    axis_value mac;       /* the gateway's there */
    stage_address_list addresses;
};

/* Somebody on a wire.  Node 0 is the gateway, which is on all of them: its own members are empty. */
struct stage_node {
    uint32_t wire;
    axis_value mac;
    stage_address_list addresses;
    axis_value next_hop[FAMILY_COUNT]; /* 0: knows no way beyond its wire */
};

struct stage_plan {
    LIST(struct stage_wire) wires;
    LIST(struct stage_node) nodes;
    uint32_t internet_wire;            /* the gateway's way to everywhere else ... */
    axis_value next_hop[FAMILY_COUNT]; /* ... through these; 0: none */
};

enum { STAGE_GATEWAY = 0 };

struct stage {
    struct arena *arena;
    const struct stage_plan *plan;
    int *ns;                /* descriptor of each node's namespace */
    const char *nft;        /* the program that loads rules */
    bool answers_unlimited; /* the kernel lets a gateway refuse as often as it likes, so that silence means something */
};

/* Takes the process out of the machine's own network for good, into a user namespace of its own where that is allowed.
 * Errors: RT_MISSING, saying what the kernel forbids. */
RT_MUST_CHECK enum rt_code stage_leave_host(struct rt_problems *p);
/* After stage_leave_host().  Errors: RT_MISSING (what is not there: bridge, veth, IPv6, the program `nft` ...), RT_NOMEM. */
RT_MUST_CHECK enum rt_code stage_build(struct arena *a, const struct stage_plan *plan, struct stage *out,
                                       struct rt_problems *p);
/* Sockets made from now on belong to this node. */
RT_MUST_CHECK enum rt_code stage_enter(const struct stage *s, uint32_t node, struct rt_problems *p);
/* Gives the gateway these rules (nftables text) in place of those it had, and lets it forget all conversations if asked.
 * Errors: RT_MISSING with the program's own words. */
RT_MUST_CHECK enum rt_code stage_load(const struct stage *s, struct str rules, bool forget, struct rt_problems *p);

#endif

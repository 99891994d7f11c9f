/* route_net.h - cables through a network of stretches, of which some cost once for all that pass.
 *
 * Knows nothing of houses: nodes, edges, works, and cables between two nodes.  A cable pays for each edge by the metre; a
 * work (a hole, a lifted board) is paid once, however many cables pass.  Each work belongs to one edge.  Which ways are
 * cheapest together is a network design problem with fixed charges (NP-hard): solved by re-routing one cable after another
 * with what the others have paid for free, from two different beginnings.  The bound is the linear relaxation's: every way to
 * share out the price of the works among the cables gives one (the sum of shortest ways at these shares); a projected
 * subgradient looks for good shares (Held, Wolfe and Crowder 1974, from memory). */
#ifndef RT_WIRE_ROUTE_NET_H
#define RT_WIRE_ROUTE_NET_H

#include "base/array.h"
#include "base/problem.h"
#include "base/run.h"

#define ROUTE_NONE UINT32_MAX

struct route_work {
    double price;
};

struct route_edge {
    uint32_t a, b;
    double length_m;       /* of fixed cable */
    double price;          /* of laying one cable here, without the cable itself */
    uint32_t label;        /* run of the file that it lies in; ROUTE_NONE: generated, open to all */
    bool only_named;       /* open only to cables that name the label */
    bool is_hop;           /* no two in a row, but at a bend */
    double cord_m;         /* it stands for a cord that long, at one end of the cable; 0: it is no cord */
    uint32_t work, n_work; /* of net->works; no other edge's */
    uint32_t way;          /* for the caller */
};

enum route_trait {
    ROUTE_END = 1, /* cables begin and end there, none passes, not even its own on the way to a label */
    ROUTE_BEND = 2 /* one hop may follow another */
};

/* A cable, and the labels it must pass in this order (n 0: any). */
struct route_ask {
    uint32_t from, to;
    double price_per_m; /* of the cable itself */
    const uint32_t *labels;
    uint32_t n_labels;
    double cord_from_m, cord_to_m; /* how long its cords are */
};

struct route_net {
    uint32_t n_nodes;
    VEC(uint8_t) traits; /* of each node: bits of enum route_trait; missing ones are 0 */
    VEC(struct route_edge) edges;
    VEC(struct route_work) works;
    uint32_t *first, *out; /* edges of each node, by route_net_close() */
};

/* Edges in order from `from`; n 0 with is_found: both ends are one node. */
struct route_way {
    bool is_found;
    uint32_t *edges;
    uint32_t n;
    double price; /* by itself, works at the prices asked for */
};

struct route_answer {
    struct route_way *ways; /* as the asks */
    double price, bound;    /* of all that were found; bound <= price */
};

/* Lists the edges of each node; call once after the last edge.  Errors: RT_NOMEM as false. */
bool route_net_close(struct arena *a, struct route_net *net);

/* The most edges a way can have. */
size_t route_way_max(const struct route_net *net, const struct route_ask *ask);

/* The cheapest way of one cable that never goes back over the edge by which it came, works at these prices (NULL: their own), each paid again where the way passes it again.  Ties: the way found first by node number.
 * False: the arena's ceiling. */
bool route_shortest(struct arena *a, const struct route_net *net, const struct route_ask *ask, const double *work_price,
                    struct route_way *out);

/* All cables together.  Errors: RT_NOMEM, RT_CANCELLED as codes without a problem. */
enum rt_code route_solve(const struct run *run, const struct route_net *net, const struct route_ask *asks, uint32_t n,
                         struct route_answer *out);

/* What these ways cost together. */
double route_price(const struct route_net *net, const struct route_ask *asks, const struct route_way *ways, uint32_t n,
                   bool *used);

#endif

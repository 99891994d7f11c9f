/* layer2_int.h - the net of cables as a graph, and the state shared by the sources of layer2.h.
 *
 * Nodes are the house's equipment, then its devices.  Memory failures are remembered in `failed`. */
#ifndef RT_REACH_LAYER2_INT_H
#define RT_REACH_LAYER2_INT_H

#include "reach/layer2.h"

struct net {
    const struct house *h;
    struct arena *arena;
    bool failed;
    uint32_t n_nodes;
    uint32_t *first_cable, *cables;  /* of node i: cables[first_cable[i]] ..., in the file's order */
    uint32_t gateway;                /* node; NO_REF */
    uint32_t *parent_cable, *parent; /* towards the gateway; NO_REF: none, or the gateway itself */
    uint32_t *order, n_order;        /* nodes as they hang from the gateway, nearest first */
    bool *is_ring;                   /* of each cable: it closes a ring */
};

/* False: the arena's ceiling.  Without a gateway the tree hangs from the switch with the most cables. */
bool net_make(struct arena *a, const struct house *h, struct net *out);
uint32_t net_node(const struct house *h, const struct cable_end *end);
/* Has the node a way to the gateway (or is it what the tree hangs from)? */
bool net_hangs(const struct net *net, uint32_t node);
/* Of a cable's two ends the one further from the gateway; NO_REF: neither hangs. */
uint32_t net_lower(const struct net *net, uint32_t cable);
uint32_t net_other(const struct net *net, uint32_t cable, uint32_t node);
/* NULL: a device, or equipment of an unknown part. */
const struct part *net_part(const struct net *net, uint32_t node);
bool net_is_device(const struct net *net, uint32_t node);
/* Gateways, switches and access points: frames go on from one of its ports to another. */
bool net_bridges(const struct net *net, uint32_t node);
/* Injectors, converters, bridges: what comes in at one end goes out at the other. */
bool net_passes_on(const struct net *net, uint32_t node);
/* It keeps VLANs apart. */
bool net_tells_vlans(const struct net *net, uint32_t node);
/* Follows a cable from a node over whatever only passes on.  *last: the cable that arrives. */
uint32_t net_far(const struct net *net, uint32_t cable, uint32_t node, uint32_t *last);

/* How many ports a part has; where it lists none, as many as the cables name. */
unsigned net_n_ports(const struct net *net, uint32_t node);
/* The group of port `number`, or NULL. */
const struct port_group *part_port(const struct part *part, unsigned number);
void net_pick_ports(const struct net *net, struct port_pick *picks);
/* Port of the pick at this node's end. */
unsigned pick_at(const struct net *net, const struct port_pick *picks, uint32_t cable, uint32_t node);

/* ---- sets of segments ---- */

struct segment_set {
    uint64_t *bits; /* n_words of them */
};

static inline bool segments_hold(const uint64_t *bits, uint32_t s) { return (bits[s / 64] >> (s % 64)) & 1; }
static inline void segments_add(uint64_t *bits, uint32_t s) { bits[s / 64] |= (uint64_t)1 << (s % 64); }

/* ---- what is being made ---- */

struct layer2_maker {
    struct arena *arena;
    const struct house *h;
    struct net net;
    struct layer2 *l2;
    const struct port_pick *picks;
    uint32_t n_words;
    uint64_t *needs; /* of each node: what it and all behind it need; n_words each */
    VEC(struct l2_finding) findings;
    VEC(struct l2_socket) sockets;
    bool failed;
};

uint64_t *needs_of(const struct layer2_maker *m, uint32_t node);
/* What a port lets through, tagged or not. */
bool port_carries(const struct l2_port *port, uint32_t segment);
void finding_add(struct layer2_maker *m, enum l2_finding_kind kind, bool is_error, struct rt_place at, const char *hint,
                 const char *fmt, ...) RT_PRINTF(6, 7);
/* What people call a thing: says, else the id in quotes. */
const char *thing_words(struct layer2_maker *m, uint32_t node);
const char *segment_words(struct layer2_maker *m, uint32_t segment);

void layer2_ssids(struct layer2_maker *m);     /* layer2_ssid.c: the table */
void layer2_ports(struct layer2_maker *m);     /* layer2_ports.c: needs and the port table */
void layer2_sockets(struct layer2_maker *m);   /* layer2_socket.c */
void layer2_find_wire(struct layer2_maker *m); /* layer2_ports.c: what is wrong with it */
void layer2_find_air(struct layer2_maker *m);  /* layer2_ssid.c */

/* Do people's own machines live there, which a stranger must not get to? */
bool segment_is_trusted(const struct house *h, uint32_t segment);
/* Bands on which the segment's SSIDs that this device can join are on the air at an access point; 0: none. */
bool device_hears(const struct layer2 *l2, uint32_t device, uint32_t ssid, const struct l2_cell *cell);

#endif

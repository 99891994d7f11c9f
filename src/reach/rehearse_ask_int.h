/* rehearse_ask_int.h - who asks whom, shared by the rehearse_ask*.c sources. */
#ifndef RT_REACH_REHEARSE_ASK_INT_H
#define RT_REACH_REHEARSE_ASK_INT_H

#include "reach/rehearse_ask.h"

/* A port at which a node is asked. */
struct door {
    enum ip_protocol protocol;
    uint16_t port;
};

/* Ports that nobody names: a TCP and a UDP one at which everyone listens, and a UDP one at which nobody does. */
enum { NOBODYS_TCP, NOBODYS_UDP, CLOSED, NOBODYS };

/* Source ports, and identifiers of echoes: each sender counts up; no question bears the last number. */
enum { SOURCE_FIRST = 20000, SOURCE_LAST = 65000, UNASKED = 65535 };

struct asker {
    struct arena *a;
    const struct cast *c;
    const struct house *h;
    const struct address_plan *plan;
    struct questions *out;
    VEC(struct door) * doors; /* of each node */
    struct door nobodys[NOBODYS];
    uint16_t *next_port; /* of each node */
    bool failed, no_ports_left;
};

static inline enum ip_protocol echo_of(enum family family) { return family == FAMILY_IPV4 ? IP_ICMP : IP_ICMPV6; }

/* ---- rehearse_ask_door.c ---- */

void ask_list_doors(struct asker *k);
void ask_choose_nobodys(struct asker *k);
/* Does anybody listen there? */
bool ask_is_door(const struct asker *k, enum ip_protocol protocol, uint16_t port);
/* The node of a device of the house; NO_REF: it is not on IP. */
uint32_t ask_node_of(const struct asker *k, uint32_t device);

/* ---- rehearse_ask.c ---- */

/* The next source port of a node: never one at which anybody listens, so that no socket stands in another's way. */
uint16_t ask_source_port(struct asker *k, uint32_t node);
/* What is sent to the gateway from the internet may be for a device behind it: changes who gets it, and returns the address under
 * which the rules meet it. */
axis_value ask_translate(const struct asker *k, struct probe *probe);
/* The packet as the rules meet it; `destination` after translation. */
struct packet ask_as_met(const struct asker *k, const struct probe *probe, axis_value destination);
void ask_push(struct asker *k, const struct probe *probe, const struct packet *packet);
/* A node's address of a family; global: one that the internet could answer (IPv6: not the local one); 0: none. */
axis_value ask_address(const struct asker *k, uint32_t node, enum family family, bool global);

/* ---- rehearse_ask_forged.c ---- */

/* From addresses of others, and from a free one of its own subnet, which is nobody's lie. */
void ask_forged_inside(struct asker *k, uint32_t from);
/* From the internet: addresses that cannot be there, the house's own among them. */
void ask_forged_outside(struct asker *k);
/* Before a device has an address, and to groups of its link. */
void ask_groups(struct asker *k, uint32_t from);
/* IPv6 neighbours who look for the gateway, and answer it. */
void ask_for_neighbours(struct asker *k, uint32_t from);

#endif

/* rehearse_netlink.h - the few words of rtnetlink(7) and ctnetlink that build a rehearsal's network.
 *
 * Every call speaks to the network namespace in which its socket was made, waits for the kernel's answer, and returns 0
 * or an error number. */
#ifndef RT_REACH_REHEARSE_NETLINK_H
#define RT_REACH_REHEARSE_NETLINK_H

#include "reach/packet.h"

/* A socket in the namespace the process is in now; -1 with errno set. */
int netlink_open(int protocol); /* NETLINK_ROUTE or NETLINK_NETFILTER */

/* A bridge without spanning tree delay, up, with this MAC address. */
int netlink_add_bridge(int fd, const char *name, axis_value mac);
/* A pair of joined interfaces: `name` here, up, a port of the bridge `master`; `peer` in the namespace peer_ns, not up. */
int netlink_add_pair(int fd, const char *name, uint32_t master, const char *peer, int peer_ns, axis_value peer_mac);
int netlink_set_up(int fd, uint32_t link);
/* Without duplicate address detection. */
int netlink_add_address(int fd, uint32_t link, enum family family, axis_value address, unsigned prefix_len);
/* To everywhere, through a neighbour on the link. */
int netlink_add_default_route(int fd, uint32_t link, enum family family, axis_value via);
/* This address on the link has this MAC address: nobody is asked. */
int netlink_add_neighbour(int fd, uint32_t link, enum family family, axis_value address, axis_value mac);
/* Forgets all conversations (NETLINK_NETFILTER). */
int netlink_forget_conversations(int fd);

/* An address as the kernel takes it: 4 or 16 bytes, most significant first; returns how many. */
unsigned address_bytes(enum family family, axis_value address, uint8_t out[16]);
axis_value address_from_bytes(const uint8_t *bytes, unsigned n);

#endif

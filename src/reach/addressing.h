/* addressing.h - the address plan: VLAN, subnets, ranges, reservations and names of every segment and device.
 *
 * What the house file gives is kept; the rest is chosen, the same way each time:
 * - VLAN: the lowest multiple of ten not taken, in the order of the file.
 * - IPv4: a /24 (larger from 64 devices on) out of RFC 1918, in the same /16 as what the file gives, its third octet the
 *   VLAN where that goes; else 10.X.0.0/16, X computed from the house's name; away from foreign ranges, the box's subnet
 *   and what is common in other homes.
 * - IPv6: a /48 of RFC 4193 whose 40 bits are computed from the house's name, country and run->seed, unless the file gives
 *   one for some segment; the subnet is the VLAN, its decimal digits read as hexadecimal.  Global: a /64 of the delegated
 *   prefix each, with the same digits where it is large enough.
 * - The gateway is the first address of each subnet.  A subnet's lower half is for reservations, its upper half is handed
 *   out: so /24 has room for twice 63 devices and 127 others.  A range that the file gives is kept instead.
 * - Every device of the file has a reservation, chosen by its id: the place that the id hashes to, or the next free one.
 *   IPv6 addresses end in the same digits as the IPv4 one.  They hold for devices that ask for them (DHCPv6); in IPv6 a
 *   device may make itself others.
 *
 * What stays: a device or segment added behind the others changes no address, name or stand-in of theirs, as long as its
 * own fixed values were not chosen for one of them and its segment does not outgrow its subnet.  One added or removed
 * between others changes theirs only where both hash to the same place. */
#ifndef RT_REACH_ADDRESSING_H
#define RT_REACH_ADDRESSING_H

#include "base/run.h"
#include "reach/packet.h"

struct segment_plan {
    unsigned vlan;
    bool vlan_chosen, ipv4_chosen, ula_chosen, dhcp_chosen; /* by us, not by the file */
    struct prefix ipv4;
    struct prefix ula;    /* RFC 4193, or what the file gives; always a /64 */
    struct prefix global; /* /64 of the delegated prefix; not given: the line has no IPv6, or not enough of it */
    axis_value ipv4_gateway, ula_gateway, global_gateway; /* 0: none */
    axis_value link_local_gateway;                        /* the gateway's own in this segment: fe80::1 */
    /* Handed out to whom is not in the file; 0, 0: to nobody (a segment for known devices only, unless the file gives one). */
    axis_value dhcp_from, dhcp_to;
    uint32_t n_devices; /* of the file */
};

struct device_plan {
    uint32_t zone;  /* of its segment; NO_REF: not on IP (mesh, not linked, no segment) */
    axis_value mac; /* the file's, else a stand-in (locally administered, from its id) until the real one is known */
    bool mac_is_stand_in;
    axis_value ipv4, ula, global; /* reserved for it; 0: none of that kind */
    struct str name;              /* printer.home.arpa, RFC 8375 */
};

/* A person's end of a remote-access tunnel. */
struct peer_plan {
    uint32_t person;
    axis_value ipv4, ula;
};

struct tunnel_plan {
    uint32_t zone;
    struct prefix ipv4, ula;
    axis_value ipv4_gateway, ula_gateway;
    unsigned port; /* UDP, on which the gateway listens */
    LIST(struct peer_plan) peers;
};

/* Something the user should know that is no error: what, why, what it breaks. */
struct note {
    struct rt_place at;
    struct str says;
};
typedef LIST(struct note) note_list;

struct address_plan {
    const struct house *h;
    struct segment_plan *segments; /* as house->segments */
    struct device_plan *devices;   /* as house->devices */
    struct tunnel_plan *tunnels;   /* as house->remote_access */
    struct str *interfaces;        /* of zones: see zone_interface() */
    struct prefix delegated;       /* by the line; a stand-in out of 2001:db8::/32 (RFC 3849) of the right length */
    struct prefix box_ipv4;        /* the provider's box as a router: its subnet; not given: modem or no box */
    bool translated_twice;         /* the box routes and the gateway translates again */
    bool shared_ipv4, no_ipv4;     /* the provider shares the public address (RFC 6598), or gives none */
    note_list notes;
    uint32_t n_zones;
};

/* Makes the plan.  All errors are reported, each with its place: RT_CONFLICT (subnets that overlap each other, a foreign range
 * or the box's; an address outside its subnet, that is the gateway's, the network's or the broadcast's, or that lies in the
 * range handed out; two tunnels on one port; a name of an interface twice), RT_RANGE (reserved blocks, a subnet too small,
 * nothing left to choose), RT_NOMEM; the code of the first is returned. */
RT_MUST_CHECK enum rt_code addresses_plan(const struct run *run, const struct house *h, struct address_plan **out,
                                          struct rt_problems *p);

/* "the internet", "the gateway", what the segment or tunnel is called; short: its id. */
struct str zone_words(const struct address_plan *plan, uint32_t zone);
struct str zone_id(const struct address_plan *plan, uint32_t zone);
/* Name of the gateway's interface to a zone: as the house file's `interfaces` say, else "wan", "lan.VLAN", "away", "away2" ...;
 * at most 15 characters.  Empty for the gateway itself. */
struct str zone_interface(const struct address_plan *plan, uint32_t zone);

/* The gateway's own addresses in a segment or tunnel, its link-local one too; none elsewhere.  *failed as in packet.h. */
span_list zone_gateway_addresses(struct arena *a, const struct address_plan *plan, uint32_t zone, enum family family,
                                 bool *failed);

/* Every device an endpoint speaks of, once each, ascending (groups and people resolved; a segment's devices; all for
 * anyone; none for the internet, the gateway and names).  *failed as in packet.h. */
index_list endpoint_devices(struct arena *a, const struct house *h, const struct endpoint *e, bool *failed);

#endif

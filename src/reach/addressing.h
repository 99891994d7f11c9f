/* addressing.h - the address plan: VLAN, subnets, ranges, reservations and names of every segment and device.
 *
 * What the house file gives is kept; the rest is chosen, the same way each time.  */
#ifndef RT_REACH_ADDRESSING_H
#define RT_REACH_ADDRESSING_H

#include "base/run.h"
#include "reach/packet.h"

struct segment_plan {
    unsigned vlan;
    bool vlan_chosen, ipv4_chosen, ula_chosen, dhcp_chosen; /* by us, not by the file */
    struct prefix ipv4;
    struct prefix ula;    /* RFC 4193, or what the file gives */
    struct prefix global; /* /64 of the delegated prefix; not given: the line has no IPv6 */
    axis_value ipv4_gateway, ula_gateway, global_gateway;
    axis_value link_local_gateway; /* the gateway's own in this segment */
    axis_value dhcp_from, dhcp_to; /* handed out to whom is not in the file */
    uint32_t n_devices;            /* of the file */
};

struct device_plan {
    uint32_t zone;  /* of its segment; NO_REF: not on IP (mesh, no segment) */
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
    struct prefix delegated;       /* by the line; a stand-in out of 2001:db8::/32 (RFC 3849) of the right length */
    struct prefix box_ipv4;        /* the provider's box as a router: its subnet; not given: modem or no box */
    bool translated_twice;         /* the box routes and the gateway translates again */
    bool shared_ipv4, no_ipv4;     /* the provider shares the public address (RFC 6598), or gives none */
    note_list notes;
    uint32_t n_zones;
};

/* Makes the plan.  Errors, with places: RT_CONFLICT (subnets that overlap each other, a foreign range or the box's; one VLAN,
 * address or MAC twice; an address outside its subnet, that is the gateway's, the network's or the broadcast's, or that
 * lies in the range handed out), RT_RANGE (reserved blocks and VLANs, a subnet too small), RT_NOMEM. */
RT_MUST_CHECK enum rt_code addresses_plan(const struct run *run, const struct house *h, struct address_plan **out,
                                          struct rt_problems *p);

/* "the internet", "the gateway", what the segment or tunnel is called; short: its id. */
struct str zone_words(const struct address_plan *plan, uint32_t zone);
struct str zone_id(const struct address_plan *plan, uint32_t zone);
/* Name of the gateway's interface to a zone: as the house file's `interfaces` say, else "wan", "lan.VLAN", "away", "away2" ...;
 * at most 15 characters.  Empty for the gateway itself. */
struct str zone_interface(const struct address_plan *plan, uint32_t zone);

/* Every device an endpoint speaks of, once each, ascending (groups and people resolved; a segment's devices; all for
 * anyone; none for the internet, the gateway and names).  *failed as in packet.h. */
typedef LIST(uint32_t) index_list;
index_list endpoint_devices(struct arena *a, const struct house *h, const struct endpoint *e, bool *failed);

#endif

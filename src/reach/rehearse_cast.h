/* rehearse_cast.h - who plays in the rehearsal of a house: the gateway, the internet, every device of the file with its
 * addresses and MAC address, a stranger in each segment, and the people of each tunnel. */
#ifndef RT_REACH_REHEARSE_CAST_H
#define RT_REACH_REHEARSE_CAST_H

#include "reach/policy.h"
#include "reach/rehearse_stage.h"

enum role { ROLE_GATEWAY, ROLE_INTERNET, ROLE_DEVICE, ROLE_STRANGER, ROLE_PEER };

/* What the stage knows nothing of; by node, as stage.nodes. */
struct player {
    enum role role;
    uint32_t zone;
    uint32_t device; /* of the house; NO_REF */
    struct str name; /* "Mia's tablet (mia_tablet)" is mia_tablet; "a stranger in guests", "the internet" */
};

enum { CAST_GATEWAY = STAGE_GATEWAY, CAST_INTERNET = 1 };

struct cast {
    const struct policy *policy;
    struct stage_plan stage;
    struct player *players;
    axis_value wan[FAMILY_COUNT];     /* the gateway's address towards the internet; 0: none of that family */
    axis_value outside[FAMILY_COUNT]; /* an address on the internet like any other */
    axis_value *named[FAMILY_COUNT];  /* by policy->names: an address on the internet that bears the name */
    stage_address_list openers;       /* addresses on the internet from which port openings may be used */
};

/* Errors: RT_RANGE (the rehearsal has no room for so many devices), RT_NOMEM. */
RT_MUST_CHECK enum rt_code cast_make(const struct run *run, const struct policy *policy, struct cast **out,
                                     struct rt_problems *p);

/* The wire on which a zone's players are; the gateway has none. */
static inline uint32_t cast_wire(uint32_t zone) { return zone == ZONE_INTERNET ? 0 : zone - 1; }
/* As the rules see it: tunnels carry no MAC addresses, and the gateway's own packets have none (0). */
axis_value cast_mac_seen(const struct cast *c, uint32_t node);
/* A range of addresses as a port opening writes it: CIDR, or one address. */
bool cast_range(struct str text, struct prefix *out);
/* An address in the subnet that nobody of the cast has, neither the gateway. */
axis_value cast_free_address(const struct cast *c, struct prefix subnet, uint32_t nth);
/* The first prefix of the family in which a zone's players are: IPv4, ULA (`global` false), global. */
struct prefix cast_subnet(const struct cast *c, uint32_t zone, enum family family, bool global);

#endif

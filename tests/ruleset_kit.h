/* ruleset_kit.h - tables of rules put together in a test, by hand or by chance. */
#ifndef RT_RULESET_KIT_H
#define RT_RULESET_KIT_H

#include "check.h"
#include "reach/policy.h"

/* Zones of the kit: internet, gateway, two segments and a tunnel, with interfaces. */
enum { KIT_FAMILY = ZONE_SEGMENT, KIT_KIDS, KIT_TUNNEL, KIT_ZONES };

struct ruleset_kit {
    struct arena *a;
    struct policy policy; /* house of two segments, nothing else; no plan */
    bool failed;
    uint32_t n_rules;
    struct str interfaces[KIT_ZONES];
};

/* Chain 0 is the start and drops. */
void ruleset_kit_begin(struct ruleset_kit *k, struct arena *a, uint32_t n_chains);
/* A rule at the end of a chain: both families, no term, no hours. */
struct rule *ruleset_kit_rule(struct ruleset_kit *k, uint32_t chain, enum action action);
/* Narrows the axis to the spans: pairs lo, hi. */
void ruleset_kit_term(struct ruleset_kit *k, struct rule *r, uint32_t axis, uint32_t n, const axis_value *lo_hi);
#define TERM(k, r, axis, ...)                                                                                \
    ruleset_kit_term((k), (r), (axis), sizeof((const axis_value[]){ __VA_ARGS__ }) / 2 / sizeof(axis_value), \
                     (const axis_value[]){ __VA_ARGS__ })

/* Fills the chains with rules such as a house may have, one set of names and one kind of hours among them. */
void ruleset_kit_random(struct ruleset_kit *k, struct random *r);
/* A packet that the kernel could see: ports with TCP and UDP alone, a mark with a conversation alone, no MAC address from
 * tunnels and the gateway ...; values that the table's rules speak of come often. */
struct packet ruleset_kit_packet(const struct ruleset_kit *k, struct random *r, enum family family);

#endif

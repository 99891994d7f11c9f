/* ruleset.h - a foreign ruleset of the kernel's packet filter, as `TZ=UTC nft -j list ruleset` prints it (libnftables-json(5)),
 * read into a table of rules that can be proved like the house's own.
 *
 * The table's start chain leads each packet the way it takes through the kernel: from the gateway itself through the chains that
 * hook output and postrouting; to it through prerouting and input; else through prerouting, forward and postrouting.  Chains that
 * share a hook follow each other by priority; all must let a packet pass.  Chains of family ip see IPv4 alone, of ip6 IPv6.
 *
 * Translation of addresses is not judged but believed: AXIS_SOURCE and AXIS_DESTINATION are what forward and input see, after
 * port openings and, in answers, after masquerading is undone.  A packet at the place a translation leads to counts as
 * translated (`ct status dnat`).  A chain that looks at destinations before such translations is an error.  AXIS_MARK is the
 * conversation's mark as prerouting has set it.
 *
 * What only the running gateway knows becomes an axis of its own (table.named): sets that fill while it runs, marks of packets.
 * An expression that cannot be judged is an error with its table, chain, handle and JSON; one in a rule that decides nothing
 * (counts, logs) is passed over. */
#ifndef RT_REACH_RULESET_H
#define RT_REACH_RULESET_H

#include "reach/calendar.h"
#include "reach/policy.h"

enum { RULESET_BYTES_MAX = 64 << 20, RULESET_CHAINS_MAX = 20000, RULESET_RULES_MAX = 300000 };

struct ruleset_interface {
    struct str name;
    uint32_t zone;
};

/* What lies behind which interface. */
struct ruleset_zones {
    LIST(struct ruleset_interface) interfaces; /* `lo` is the gateway's, without being listed */
    uint32_t n_zones;
    uint32_t n_with_mac;  /* zones up to here have MAC addresses, the gateway apart */
    span_list broadcasts; /* of IPv4, beside 255.255.255.255 */
};

/* From the house file's `interfaces` and zone_interface().  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code ruleset_zones(const struct run *run, const struct address_plan *plan,
                                         struct ruleset_zones *out, struct rt_problems *p);

struct ruleset_translation {
    struct match before; /* packets it takes, as they come */
    enum family family;
    bool to_gateway;    /* redirect */
    span_list to;       /* addresses; all: which one is looked up in a map */
    span_list to_ports; /* none: as before */
    struct str says;
};

struct ruleset {
    struct table table; /* rules are ORIGIN_FOREIGN and say where they stand */
    LIST(struct ruleset_translation) translations;
    note_list notes; /* what was left out or taken for granted, and why */
};

/* Reads.  `file` names the listing in messages.  `week`: the kind of week whose minutes AXIS_MINUTE counts, for rules about the
 * clock, which is the listing's in UTC (its first week alone is looked at); NULL: such rules are errors.
 *
 * Errors, all in one go: RT_SYNTAX (not JSON), RT_SHAPE (not such a listing, or an expression that cannot be judged),
 * RT_UNKNOWN_REF (interface, set or chain that nobody knows), RT_LIMIT (the limits above, 64 named axes, chains in a circle),
 * RT_NOMEM. */
RT_MUST_CHECK enum rt_code ruleset_read(const struct run *run, const struct ruleset_zones *zones,
                                        const struct week_kind *week, const char *file, struct str json,
                                        struct ruleset **out, struct rt_problems *p);

#endif

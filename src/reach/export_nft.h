/* export_nft.h - the policy as a ruleset text for the kernel's packet filter (nft -f, nftables 1.0.6).
 *
 * One table of family inet: sets of names, marks (prerouting), port openings (prerouting, destination translation),
 * translation of IPv4 (postrouting), and the chains of the policy's table behind the hooks input, forward and output.
 *
 * What becomes of the axes of packet.h:
 *   AXIS_TO     gateway: hook input; AXIS_FROM gateway: hook output; both: `lo`, seen by both hooks; else forward
 *   AXIS_STATE  ct state, with ct direction where answers are told apart from what they answer
 *   AXIS_SOURCE_MAC  ether saddr; tunnels and the gateway itself have no MAC address: there it is 0
 *   AXIS_ICMP_TYPE   ICMP in IPv4 and ICMPv6 in IPv6
 *   AXIS_NAMED + k   set k holds the source of packets from the internet, the destination of packets to it
 * Hours are written in UTC and as plain numbers, which nft does not shift by its own time zone as it does "20:30".  The kernel's
 * own idea of a time zone (settimeofday(2), not TZ) must be UTC: `meta day` follows it. */
#ifndef RT_REACH_EXPORT_NFT_H
#define RT_REACH_EXPORT_NFT_H

#include "reach/calendar.h"
#include "reach/policy.h"

struct nft_options {
    struct str table_name;         /* a letter, then letters, digits, _; empty: "house" */
    const struct str *interfaces;  /* by zone, the gateway's own empty; NULL: zone_interface() of policy->plan */
    uint32_t n_interfaces;         /* number of zones */
    const kernel_span_list *hours; /* when each of house->hours holds; NULL: no rule may have hours */
    uint32_t n_hours;
    bool translation; /* port openings, and masquerading where the policy translates IPv4 */
    bool log;         /* what rules with `log` say to the kernel's log; without it they are silent */
};

/* Writes the text.  Besides the table only what it needs of the policy is used, so that a table alone can be written: h, plan
 * and the lists may be empty when the options name the interfaces.
 *
 * Each line of the text that stems from a rule carries a comment "rule 12, kids_dark, line 212" (number in the table, id of
 * the statement or what else it came from, line of the house file); nft_rule_number() reads it back.
 *
 * Errors: RT_RANGE (a rule about ports that names no protocol with ports, one about ICMP types that names no ICMP, one about
 * a name of other packets than to or from the internet, one with an
 * AXIS_MINUTE term: hours are written from kernel spans; an interface's name of more than 15 bytes), RT_MISSING (a zone without an interface, hours without spans),
 * RT_LIMIT (chains that call each other in a circle), RT_NOMEM. */
RT_MUST_CHECK enum rt_code nft_export(const struct run *run, const struct policy *policy,
                                      const struct nft_options *options, struct buf *out, struct rt_problems *p);

/* Name of the set that holds the addresses of policy->table.named[k], for who fills it: name_backup_example_ipv4. */
struct str nft_set_name(struct arena *a, const struct table *t, uint32_t k, enum family family);
/* The number in a comment of the text; 0: none. */
uint32_t nft_rule_number(struct str comment);

#endif

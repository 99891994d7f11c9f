/* house_rules.h - large rule tables of the kind a house's policy becomes, for benchmarks.
 *
 * The same number of rules gives the same table.  A house of `segments` networks with `devices` in all; after the rules that
 * every table has (state, honest sources of each segment) come, shuffled:
 *   53 %  one device may use a service of another (MAC, address, protocol, port), a tenth of them reject
 *   15 %  a device and the internet, on one port or on all, a third of them at certain hours only
 *   15 %  a segment and a segment, a service or a range of ports, accept or reject
 *   10 %  a set of 2 to 12 MACs and a set of 1 to 8 addresses
 *    3 %  from any zone to any: a random prefix of the whole internet as source or destination, half of them a port range
 *    2 %  without rhyme: from one zone, random prefixes on both sides and a random range of ports
 *    2 %  broad refusals: all of a segment pair, or a port range from everywhere; only in the second half of the table
 * A tenth of the services are given as three port ranges.  Nothing is made so that rules fit each other well. */
#ifndef RT_BENCH_HOUSE_RULES_H
#define RT_BENCH_HOUSE_RULES_H

#include "reach/space.h"

struct rules_size {
    uint32_t rules, segments, devices, hours;
};

enum { HOUSE_HOURS_MAX = 64 };

struct table house_rules(struct arena *a, enum family family, struct rules_size size);
/* A week that holds the table's hours. */
struct week_kind house_week(struct arena *a, uint32_t hours);

#endif

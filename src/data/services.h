/* services.h - the services a house file may name without declaring them: protocol and ports.
 *
 * A service is one or more flows: `dns` is 53 over UDP and over TCP.  The flows of a service follow each other in the
 * table.  Names are those of the IANA Service Name and Transport Protocol Port Number Registry (RFC 6335) where they are
 * short and well known, else the common short form; iana_name is the registry's own. */
#ifndef RT_DATA_SERVICES_H
#define RT_DATA_SERVICES_H

#include <stdbool.h>
#include <stdint.h>

#include "base/str.h"

/* How a figure of a table was seen. */
enum seen { SEEN_READ, SEEN_MEMORY };

/* Protocol numbers of the IP header (IANA Protocol Numbers). */
enum ip_protocol { IP_ICMP = 1, IP_IGMP = 2, IP_TCP = 6, IP_UDP = 17, IP_GRE = 47, IP_ESP = 50, IP_ICMPV6 = 58 };

/* One flow: who is asked, where. */
struct service_flow {
    const char *name;
    const char *says;      /* for people */
    const char *iana_name; /* NULL: the registry has none */
    const char *standard;  /* RFC or other document that defines it */
    enum ip_protocol protocol;
    uint16_t from, to;               /* destination ports, both included; types for ICMP; 0, 0: the protocol has none */
    uint16_t source_from, source_to; /* source ports, where the protocol fixes them; 0, 0: any */
    bool is_local;                   /* link-local group or broadcast: cannot pass a router without a helper */
    enum seen port_seen;             /* SEEN_READ: in the list of the system's own netbase 6.4 */
};

/* All flows, grouped by name. */
const struct service_flow *service_flows(uint32_t *n);
/* First flow of a service and how many follow it, or NULL. */
const struct service_flow *service_find(struct str name, uint32_t *n);
/* "tcp", "udp" ...; NULL for a number that is not in the enum. */
const char *ip_protocol_name(enum ip_protocol protocol);

#endif

/* address_blocks.h - blocks of addresses with a meaning of their own: private, shared, loopback, documentation ...
 *
 * The IANA IPv4 and IPv6 Special-Purpose Address Registries (RFC 6890, RFC 8190), and the multicast and old blocks that are
 * not in them.  A block may lie within another: the narrower one's row counts. */
#ifndef RT_DATA_ADDRESS_BLOCKS_H
#define RT_DATA_ADDRESS_BLOCKS_H

#include <stdbool.h>
#include <stdint.h>

struct address_block {
    const char *text; /* CIDR, RFC 5952 */
    bool is_ipv6;
    uint64_t hi, lo; /* first address; IPv4: lo alone */
    unsigned len;    /* bits of the prefix */
    const char *says;
    const char *standard; /* document that defines it */
    /* Columns of the registries (RFC 6890, 2.2.1; RFC 8190, 2.1): may it be a source or a destination, may a router pass it
     * on, may it be met on the internet. */
    bool source, destination, forwardable, is_global;
};

/* All rows: IPv4 by address, then IPv6 by address; a block before those within it. */
const struct address_block *address_blocks(uint32_t *n);

/* The blocks that a house's segments may use: RFC 1918 (three rows), and fd00::/8 of RFC 4193, 3.1. */
const struct address_block *address_blocks_private(uint32_t *n);

#endif

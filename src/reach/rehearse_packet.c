#include "reach/rehearse_packet.h"

#include <netinet/icmp6.h>
#include <netinet/ip_icmp.h>
#include <string.h>

#include "reach/rehearse_netlink.h"

enum { IPV4_HEADER = 20, IPV6_HEADER = 40, UDP_HEADER = 8, ICMP_HEADER = 8, TTL = 64, GROUP_TTL = 1 };

bool token_read(const uint8_t *bytes, size_t n, uint32_t round, uint32_t n_probes, uint32_t *probe)
{
    struct token t;
    if (n < sizeof t)
        return false;
    memcpy(&t, bytes, sizeof t);
    *probe = t.probe;
    return t.magic == TOKEN_MAGIC && t.round == round && t.probe < n_probes;
}

socklen_t socket_address(enum family family, axis_value address, uint16_t port, struct sockaddr_storage *out)
{
    uint8_t bytes[16];
    const unsigned n = address_bytes(family, address, bytes);
    memset(out, 0, sizeof *out);
    if (family == FAMILY_IPV4) {
        struct sockaddr_in v4 = { .sin_family = AF_INET, .sin_port = htons(port) };
        memcpy(&v4.sin_addr, bytes, n);
        memcpy(out, &v4, sizeof v4);
        return sizeof v4;
    }
    struct sockaddr_in6 v6 = { .sin6_family = AF_INET6, .sin6_port = htons(port) };
    memcpy(&v6.sin6_addr, bytes, n);
    memcpy(out, &v6, sizeof v6);
    return sizeof v6;
}

static void put16(uint8_t *at, uint32_t v)
{
    at[0] = (uint8_t)(v >> 8);
    at[1] = (uint8_t)v;
}

/* The Internet checksum (RFC 1071) over n bytes, going on from `sum`. */
static uint32_t sum16(const uint8_t *bytes, size_t n, uint32_t sum)
{
    for (size_t i = 0; i + 1 < n; i += 2)
        sum += (uint32_t)(bytes[i] << 8 | bytes[i + 1]);
    return n % 2 ? sum + (uint32_t)(bytes[n - 1] << 8) : sum;
}

static uint16_t folded(uint32_t sum)
{
    while (sum >> 16)
        sum = (sum & 0xffff) + (sum >> 16);
    return (uint16_t)~sum;
}

size_t echo_request(const struct probe *probe, struct token token, uint8_t out[ECHO_MAX])
{
    const bool v4 = probe->family == FAMILY_IPV4;
    const size_t n = ICMP_HEADER + sizeof token;
    memset(out, 0, ICMP_HEADER);
    out[0] = probe->is_forged ? probe->icmp_type : v4 ? ICMP_ECHO : ICMP6_ECHO_REQUEST;
    put16(out + 4, probe->source_port); /* the identifier: tells conversations apart as a port does */
    put16(out + 6, token.probe & 0xffff);
    memcpy(out + ICMP_HEADER, &token, sizeof token);
    if (v4)
        put16(out + 2, folded(sum16(out, n, 0)));
    return n;
}

/* The transport header and what it carries, without checksum; returns how long. */
static size_t upper_layer(const struct probe *probe, struct token token, uint8_t *out)
{
    if (probe->protocol != IP_UDP)
        return echo_request(probe, token, out);
    const size_t n = UDP_HEADER + sizeof token;
    put16(out, probe->source_port);
    put16(out + 2, probe->port);
    put16(out + 4, (uint32_t)n);
    put16(out + 6, 0);
    memcpy(out + UDP_HEADER, &token, sizeof token);
    return n;
}

size_t forge(const struct probe *probe, struct token token, uint8_t out[FORGED_MAX])
{
    const bool v4 = probe->family == FAMILY_IPV4;
    const size_t head = v4 ? IPV4_HEADER : IPV6_HEADER, where = v4 ? 12 : 8, ends = v4 ? 8 : 32;
    memset(out, 0, head);
    const size_t n = upper_layer(probe, token, out + head);
    address_bytes(probe->family, probe->source, out + where);
    address_bytes(probe->family, probe->destination, out + where + ends / 2);
    const bool to_group = v4 ? probe->destination >> 28 >= 0xe : probe->destination >> 120 == 0xff;
    const uint8_t ttl = probe->protocol == IP_ICMPV6 && probe->icmp_type >= ND_ROUTER_SOLICIT ? 255 /* RFC 4861 */
                        : to_group                                                            ? GROUP_TTL
                                                                                              : TTL;
    if (v4) {
        out[0] = 0x45;
        put16(out + 2, (uint32_t)(head + n));
        out[8] = ttl;
        out[9] = (uint8_t)probe->protocol;
        put16(out + 10, folded(sum16(out, head, 0)));
    } else {
        out[0] = 0x60;
        put16(out + 4, (uint32_t)n);
        out[6] = (uint8_t)probe->protocol;
        out[7] = ttl;
    }
    /* Pseudo-header: both addresses, protocol, length. */
    const uint32_t pseudo = sum16(out + where, ends, (uint32_t)probe->protocol + (uint32_t)n);
    if (probe->protocol == IP_UDP)
        put16(out + head + 6, folded(sum16(out + head, n, pseudo)));
    else if (!v4)
        put16(out + head + 2, folded(sum16(out + head, n, pseudo)));
    return head + n;
}

axis_value link_destination(enum family family, axis_value destination, axis_value router)
{
    if (family == FAMILY_IPV6)
        return destination >> 120 == 0xff ? ((axis_value)0x3333 << 32 | (destination & 0xffffffff)) : router;
    if (destination == 0xffffffff)
        return 0xffffffffffff;
    return destination >> 28 == 0xe ? ((axis_value)0x01005e << 24 | (destination & 0x7fffff)) : router;
}

enum icmp_says icmp_read(enum family family, const uint8_t *bytes, size_t n, uint32_t round, uint32_t n_probes,
                         uint32_t *probe)
{
    const bool v4 = family == FAMILY_IPV4;
    if (v4 && n >= IPV4_HEADER) { /* raw sockets hand over IPv4's header, not IPv6's */
        const size_t head = (size_t)(bytes[0] & 15) * 4;
        bytes += head < n ? head : n;
        n -= head < n ? head : n;
    }
    if (n < ICMP_HEADER)
        return ICMP_SAYS_NOTHING;
    const uint8_t type = bytes[0], code = bytes[1];
    bytes += ICMP_HEADER;
    n -= ICMP_HEADER;
    if (type == (v4 ? ICMP_DEST_UNREACH : ICMP6_DST_UNREACH)) {
        /* It quotes the packet it speaks of. */
        const size_t head = v4 ? (n ? (size_t)(bytes[0] & 15) * 4 : 0) : IPV6_HEADER;
        const bool ours = n > head + ICMP_HEADER && bytes[v4 ? 9 : 6] == (v4 ? IP_ICMP : IP_ICMPV6);
        /* "No neighbour has this address" is said by the sender's own system: nobody refused anything. */
        if (code == (v4 ? ICMP_HOST_UNREACH : ICMP6_DST_UNREACH_ADDR))
            return ICMP_SAYS_NOTHING;
        return ours && token_read(bytes + head + ICMP_HEADER, n - head - ICMP_HEADER, round, n_probes, probe)
                   ? ICMP_SAYS_REFUSED
                   : ICMP_SAYS_NOTHING;
    }
    if (!token_read(bytes, n, round, n_probes, probe))
        return ICMP_SAYS_NOTHING;
    return type == (v4 ? ICMP_ECHOREPLY : ICMP6_ECHO_REPLY) ? ICMP_SAYS_ANSWERED : ICMP_SAYS_ASKED;
}

/* rehearse_packet.h - the bytes of a rehearsal's packets: what they carry, and packets made by hand. */
#ifndef RT_REACH_REHEARSE_PACKET_H
#define RT_REACH_REHEARSE_PACKET_H

#include <netinet/in.h>

#include "reach/rehearse_probe.h"

/* Every packet carries which probe it belongs to.  Sender and receiver are this process: the machine's byte order. */
struct token {
    uint32_t magic, round, probe;
};
enum { TOKEN_MAGIC = 0x526f6f66 };

/* Of n bytes, the token at their beginning; false: not one of this round. */
bool token_read(const uint8_t *bytes, size_t n, uint32_t round, uint32_t n_probes, uint32_t *probe);

/* A socket address; returns its size. */
socklen_t socket_address(enum family family, axis_value address, uint16_t port, struct sockaddr_storage *out);

enum { FORGED_MAX = 128, ECHO_MAX = 8 + sizeof(struct token) };
/* The probe as an IP packet with correct checksums (RFC 791, 768, 792, 8200, 4443); returns its length. */
size_t forge(const struct probe *probe, struct token token, uint8_t out[FORGED_MAX]);
/* An ICMP or ICMPv6 echo request without IP header; the kernel adds ICMPv6's checksum. */
size_t echo_request(const struct probe *probe, struct token token, uint8_t out[ECHO_MAX]);
/* The Ethernet address that takes a packet to this destination: of a group, of all (RFC 1112, 2464), or `router`. */
axis_value link_destination(enum family family, axis_value destination, axis_value router);

/* What an ICMP message received on a raw socket says. */
enum icmp_says { ICMP_SAYS_NOTHING, ICMP_SAYS_ASKED, ICMP_SAYS_ANSWERED, ICMP_SAYS_REFUSED };
enum icmp_says icmp_read(enum family family, const uint8_t *bytes, size_t n, uint32_t round, uint32_t n_probes,
                         uint32_t *probe);

#endif

/* rehearse_probe.h - questions put to a staged network with real packets, thousands at a time from one process.
 *
 * A socket belongs to the namespace it was made in, so the process enters each node's, makes the sockets there, and
 * drives all of them from one epoll(7) loop.  At the other end somebody listens on every port that is asked for, so that
 * what is refused was refused on the way. */
#ifndef RT_REACH_REHEARSE_PROBE_H
#define RT_REACH_REHEARSE_PROBE_H

#include "data/services.h"
#include "reach/rehearse_stage.h"

/* What is sent.  Talk goes through the sender's own sockets: TCP connects, sends and waits for the echo; UDP (connected)
 * and ICMP echo ask and wait.  Forged packets go on the wire as they stand, and only whether they arrive is seen. */
struct probe {
    uint32_t from, to; /* nodes; `to`: where it arrives if it is let through */
    enum family family;
    enum ip_protocol protocol; /* TCP, UDP, ICMP or ICMPv6; forged: not TCP */
    bool is_forged;
    bool is_closed; /* talk over UDP to a port where nobody listens: the answer is ICMP's `port unreachable` */
    axis_value source, destination; /* as sent */
    uint16_t source_port, port; /* as sent; no two probes of a run have source, source port and protocol in common */
    uint8_t icmp_type;          /* of forged ICMP; talk is an echo */
};

/* What was seen of a probe, as bits. */
enum {
    SEEN_ARRIVED = 1,  /* at its destination */
    SEEN_ANSWERED = 2, /* the answer came back (TCP: over the open connection; a closed port: the error) */
    SEEN_REFUSED = 4,  /* the sender was told that it may not */
    SEEN_FAULT = 8     /* the sender's own system did not send it */
};

/* Runs the probes numbered by `which` (all: n_which == n, which NULL) and adds what was seen to seen[0 .. n - 1].  `round` tells
 * the packets of one call from those of another that are late; quiet_ms is how long nothing must happen before a
 * silence counts.  Errors: RT_MISSING, RT_NOMEM, RT_CANCELLED (run->cancel). */
RT_MUST_CHECK enum rt_code probes_run(const struct run *run, const struct stage *s, const struct probe *probes,
                                      uint32_t n, const uint32_t *which, uint32_t n_which, uint32_t round, int quiet_ms,
                                      uint8_t *seen, struct rt_problems *p);

#endif

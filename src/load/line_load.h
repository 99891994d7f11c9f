/* line_load.h - the internet line under the household's demand. */
#ifndef RT_LOAD_LINE_LOAD_H
#define RT_LOAD_LINE_LOAD_H

#include "load/demand.h"

/* One hour of the week, one way. */
struct line_hour {
    unsigned hour;
    double mean_mbps;
    struct bracket needed_mbps; /* not passed with the promised chance */
    struct bracket short_share; /* of the time that more is asked for than fits */
};

/* Bytes on the line for an IP packet of so many, by the line's framing (house->line.kind, overhead_bytes). */
double line_wire_bytes(const struct line *line, double ip_bytes);
/* Payload share of the line's rate at usual packets. */
double line_payload_ratio(const struct line *line);

/* What waiting the line adds for a packet of a call while one transfer fills it: the buffer of the box without shaping, and with a
 * queue that keeps to RFC 8289/8290's target at a rate a little under the line's. */
struct line_delay {
    double plain_s, shaped_s;
    double shaped_rate_mbps;
};

#endif

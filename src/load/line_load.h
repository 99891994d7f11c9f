/* line_load.h - the internet line under the household's demand. */
#ifndef RT_LOAD_LINE_LOAD_H
#define RT_LOAD_LINE_LOAD_H

#include "load/demand.h"

/* ---- what the line takes from each packet ---- */

/* Bytes on the line for an IP packet of so many, by the line's framing and overhead_bytes: cells of 53 bytes that carry 48, the last
 * one padded (atm); one byte more for each begun 64 (ptm, 64b/65b); no frame counts less than 64 (docsis) or 84 bytes (ethernet, with
 * preamble and gap); none: a whole Ethernet frame and what the line puts around it.  Source: tests/reference/overhead.csv. */
enum line_framing line_framing_of(const struct line *line); /* the file's, or the usual one of the line's kind */
double line_wire_bytes(const struct line *line, double ip_bytes);
/* Payload share of the line's rate at full packets of 1500 bytes: TCP with time stamps over IPv6, the longest usual headers
 * (RFC 8200, RFC 9293, RFC 7323; from memory). */
double line_payload_ratio(const struct line *line);
double line_capacity_mbps(const struct line *line, enum load_way way); /* payload */

/* ---- the week ---- */

/* One hour of the week, one way. */
struct line_hour {
    double mean_mbps;
    struct bracket needed_mbps; /* not passed with the promised chance; infinite: more than 16 times the line */
    struct bracket short_share; /* of the time that more is asked for than fits */
};

struct line_week {
    enum load_way way;
    double capacity_mbps; /* payload */
    struct line_hour hours[HOURS_OF_WEEK];
    unsigned worst; /* hour with the largest need (careful side), the larger mean among equals, then the first */
    struct rate_sum worst_sum;
};

/* Of all that is asked for, or only of what never waits. */
enum line_part { LINE_ALL, LINE_URGENT };

/* probability: 0.5 to 1; scale: all rates so many times.  Lives in run->arena.  Errors: those of demand_sum(). */
RT_MUST_CHECK enum rt_code line_week_make(const struct run *run, const struct demand *d, enum line_part part,
                                          enum load_way way, double probability, double scale, struct line_week *out,
                                          struct rt_problems *p);
/* Both ways, an average month (30.4375 days); GB of 1e9 bytes on the line, its overhead included. */
double line_month_gb(const struct demand *d);

/* ---- calls ---- */

/* Of delay, one way (ITU-T G.114): good up to the first, bad above the second. */
#define CALL_DELAY_GOOD_S 0.150
#define CALL_DELAY_MOST_S 0.400

/* What waiting the line adds for a packet of a call while one transfer fills it: the buffer of the box without shaping, and with a
 * queue that keeps to RFC 8290's target at a rate a little under the line's. */
struct line_delay {
    double plain_s, shaped_s;
    double shaped_rate_mbps;
};
/* Bytes that a plain box holds back in a full buffer (one of the two sizes of tests/reference/queue.csv; common practice, no source) and
 * the share of the line's rate that one shapes to (community practice, from memory). */
enum { LINE_BUFFER_BYTES = 262144 };
#define LINE_SHAPED_SHARE 0.95
/* CoDel's target, RFC 8289, and never less than one full frame takes (RFC 8290). */
#define CODEL_TARGET_S 0.005
enum { FULL_FRAME_BYTES = 1514 };
struct line_delay line_delay_of(const struct line *line, enum load_way way);

#endif

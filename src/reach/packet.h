/* packet.h - packets as points, sets of them as spans on axes, and the tables of rules that judge them.
 *
 * A packet is one value on each axis.  A match names, for some axes, the spans its packets lie in; a rule is a match with an
 * action; a table is chains of rules as a packet filter runs them.  The policy of a house (policy.h) and a foreign ruleset
 * (ruleset.h) are both such tables, so that one proof (space.h) serves both. */
#ifndef RT_REACH_PACKET_H
#define RT_REACH_PACKET_H

#include "house/house.h"

enum family { FAMILY_IPV4, FAMILY_IPV6, FAMILY_COUNT };

/* The axes, in the order in which diagrams branch on them.  From AXIS_NAMED on: one axis of 0 or 1 for each named set of
 * addresses whose members only the running gateway knows (an internet name, a set filled while it runs). */
enum axis {
    AXIS_FROM,             /* zone it comes in from */
    AXIS_TO,               /* zone it goes out to */
    AXIS_SOURCE_MAC,       /* 48 bits */
    AXIS_SOURCE,           /* address, after any translation of it by port openings: as a forwarding rule sees it */
    AXIS_DESTINATION,      /* likewise */
    AXIS_PROTOCOL,         /* IANA protocol number */
    AXIS_SOURCE_PORT,      /* TCP and UDP */
    AXIS_DESTINATION_PORT, /* TCP and UDP */
    AXIS_ICMP_TYPE,        /* ICMP and ICMPv6 */
    AXIS_STATE,            /* enum conversation_state */
    AXIS_MARK,             /* mark of the conversation, 32 bits; 0: none */
    AXIS_MINUTE,           /* of the week, from Monday 00:00 by the house's clock, as minutes that pass */
    AXIS_NAMED
};

/* What the gateway's memory of conversations says of a packet. */
enum conversation_state {
    STATE_NEW,
    STATE_ESTABLISHED, /* of a conversation that runs, in the direction of its first packet */
    STATE_REPLY,       /* of a conversation that runs, the other way */
    STATE_RELATED,     /* an ICMP error about one, or one that a running one announced */
    STATE_INVALID,
    STATE_UNTRACKED,
    STATE_COUNT
};

/* Zones are what lies behind the gateway's interfaces, and the gateway itself. */
enum { ZONE_INTERNET, ZONE_GATEWAY, ZONE_SEGMENT };
/* Segment i of the house is zone ZONE_SEGMENT + i; remote access i is zone ZONE_SEGMENT + segments + i. */

__extension__ typedef unsigned __int128 axis_value;

/* All values from lo to hi, both included. */
struct span {
    axis_value lo, hi;
};
/* Ascending, disjoint, not touching. */
typedef LIST(struct span) span_list;

struct term {
    uint32_t axis; /* enum axis, or AXIS_NAMED + k */
    span_list in;
};

/* Ascending by axis, an axis at most once.  No terms: every packet.  A term without spans: no packet. */
struct match {
    LIST(struct term) terms;
};

enum action {
    ACTION_ACCEPT,
    ACTION_DROP,     /* in silence */
    ACTION_REJECT,   /* with an answer */
    ACTION_JUMP,     /* into another chain, and back when it ends */
    ACTION_GOTO,     /* into another chain; when it ends, where the caller's would have */
    ACTION_RETURN,   /* to behind the jump; in a base chain: its policy */
    ACTION_CONTINUE, /* counts, logs: decides nothing */
};

/* What a rule is there for. */
enum origin {
    ORIGIN_STATEMENT,     /* `which` indexes house->statements */
    ORIGIN_PORT_OPENING,  /* ... house->port_openings */
    ORIGIN_RELAY,         /* ... house->relays */
    ORIGIN_REMOTE_ACCESS, /* ... house->remote_access */
    ORIGIN_SEGMENT,       /* ... house->segments: known devices only, honest sources, the segment's own services */
    ORIGIN_STANDARD,      /* a rule every table has: conversations that run, ICMPv6 of RFC 4890 ... */
    ORIGIN_FOREIGN        /* a rule of a foreign ruleset */
};

struct rule {
    uint32_t number;   /* from 1, over the whole table, in the order in which rules are written down */
    unsigned families; /* bits 1 << enum family */
    struct match match;
    struct ref hours; /* only at these hours of the house (NO_REF: always); comes on top of an AXIS_MINUTE term */
    enum action action;
    uint32_t chain; /* target of JUMP and GOTO */
    bool log;
    enum origin origin;
    uint32_t which;     /* see enum origin; NO_REF */
    struct rt_place at; /* the line it came from; line 0: none */
    struct str says;    /* in words, for people */
};

struct chain {
    struct str name;
    LIST(struct rule) rules;
    enum action policy; /* of a base chain, when nothing decided: ACCEPT or DROP; else ACTION_RETURN */
};

struct table {
    LIST(struct chain) chains;
    uint32_t start;   /* the chain every packet enters; it may jump by zone */
    str_list named;   /* names of the axes from AXIS_NAMED on */
    uint32_t n_rules; /* rule numbers run to this */
};

/* One packet. */
struct packet {
    enum family family;
    axis_value at[AXIS_NAMED];
    uint64_t named; /* bit k: it is in named set k; at most 64 of them */
};

/* Largest value of an axis (0 is the least). */
axis_value axis_max(uint32_t axis, enum family family);
const char *axis_name(uint32_t axis); /* in words: "source address" */

/* Spans in order, overlapping and touching ones joined; the list is new, in the arena.  NULL items only when n == 0.
 * Errors of all functions with an arena: *failed set (left alone otherwise) when its ceiling is reached. */
span_list spans_tidy(struct arena *a, const struct span *v, uint32_t n, bool *failed);
span_list spans_join(struct arena *a, span_list x, span_list y, bool *failed);
span_list spans_common(struct arena *a, span_list x, span_list y, bool *failed);
span_list spans_others(struct arena *a, span_list x, axis_value max, bool *failed);
bool spans_hold(span_list x, axis_value value);
bool spans_equal(span_list x, span_list y);

/* Adds a term, or narrows the one that is there. */
void match_narrow(struct arena *a, struct match *m, uint32_t axis, span_list in, bool *failed);
void match_narrow_to(struct arena *a, struct match *m, uint32_t axis, axis_value lo, axis_value hi, bool *failed);
/* The spans of an axis; NULL: the match does not speak of it. */
const span_list *match_on(const struct match *m, uint32_t axis);
bool match_holds(const struct match *m, const struct packet *p);

/* Runs the table on one packet, rule by rule, as a packet filter does: the plain meaning that the diagrams are tested
 * against.  `hours_hold` says for each of house->hours whether it holds (NULL: rules with hours never match).
 * Returns the rule that decided, NULL for a chain's policy; *action: ACCEPT, DROP or REJECT. */
const struct rule *table_run(const struct table *t, const struct packet *p, const bool *hours_hold,
                             enum action *action);

/* ---- addresses in text ---- */

struct prefix {
    enum family family;
    axis_value base;
    unsigned len;
    bool is_given; /* false: there is none */
};

/* An address of one family, as inet_pton(3) takes it. */
bool address_read(struct str text, enum family *family, axis_value *out);
/* CIDR; bits behind the length must be zero. */
bool prefix_read(struct str text, struct prefix *out);
/* RFC 5952 for IPv6. */
void address_write(struct buf *out, enum family family, axis_value address);
void prefix_write(struct buf *out, struct prefix p);
struct span prefix_span(struct prefix p);
bool prefix_overlaps(struct prefix a, struct prefix b);
bool prefix_holds(struct prefix p, enum family family, axis_value address);
/* Six octets in hexadecimal with colons. */
bool mac_read(struct str text, axis_value *out);
void mac_write(struct buf *out, axis_value mac);

#endif

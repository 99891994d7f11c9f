/* space.h - sets of packets as interval decision diagrams with shared nodes: the algebra behind every proof.
 *
 * A diagram branches on one axis after another, in their order; a node's branches are spans of the axis, and equal parts of
 * all diagrams of a space are one node (Gouda and Liu 2007, Structured firewall design, sections 3 and 4; Bryant 1986 for
 * the sharing).  So two sets are equal when their numbers are.  A space is for one family. */
#ifndef RT_REACH_SPACE_H
#define RT_REACH_SPACE_H

#include "base/run.h"
#include "reach/calendar.h"
#include "reach/packet.h"

struct space;

typedef uint32_t packet_set;
enum { SET_NONE = 0, SET_ALL = 1 };

/* Lives and grows in run->arena (do not reset that to before a later set while the space is in use), and keeps the pointer to
 * run.  Errors: RT_NOMEM, RT_LIMIT (more than 52 named sets).  Later failures (ceiling, RT_CANCELLED, a match on an axis that
 * the space does not have) are remembered: sets come out as SET_NONE and space_state() tells, so check it before believing an
 * answer. */
RT_MUST_CHECK enum rt_code space_new(const struct run *run, enum family family, uint32_t n_named, struct space **out,
                                     struct rt_problems *p);
RT_MUST_CHECK enum rt_code space_state(const struct space *s, struct rt_problems *p);
enum family space_family(const struct space *s);

packet_set set_of(struct space *s, const struct match *m);
packet_set set_of_any(struct space *s, const struct match *m, uint32_t n); /* the union */
packet_set set_and(struct space *s, packet_set a, packet_set b);
packet_set set_or(struct space *s, packet_set a, packet_set b);
packet_set set_minus(struct space *s, packet_set a, packet_set b);
packet_set set_not(struct space *s, packet_set a);
bool set_holds(const struct space *s, packet_set a, const struct packet *p);
/* Packets that differ from one of the set on these axes at most (bits 1 << axis, named ones included). */
packet_set set_forget(struct space *s, packet_set a, uint64_t axes);
/* Values that packets of the set have on the axis. */
span_list set_values(struct space *s, packet_set a, uint32_t axis, bool *failed);
/* How many packets; exact up to rounding of a double. */
double set_count(struct space *s, packet_set a);
/* One packet of the set, the same each time; false: the set is empty.  Prefers plain values where it can choose. */
bool set_witness(const struct space *s, packet_set a, struct packet *out);
/* Number of nodes of the set's diagram, and of all the space has made. */
uint32_t set_size(const struct space *s, packet_set a);
uint32_t space_size(const struct space *s);

/* ---- tables ---- */

/* What a table does with every packet of the space's family in a kind of week. */
struct judgement;

/* Keeps the pointers: table and week must outlive the judgement.  `week` NULL: rules with hours never match.  Errors: RT_NOMEM, RT_LIMIT (chains that call each other in a circle),
 * RT_CANCELLED. */
RT_MUST_CHECK enum rt_code judge_table(struct space *s, const struct table *t, const struct week_kind *week,
                                       struct judgement **out, struct rt_problems *p);
packet_set judged_accept(const struct judgement *j);                 /* packets let through */
packet_set judged_as(const struct judgement *j, enum action action); /* packets that fare so: ACCEPT, DROP or REJECT */
packet_set judged_by(const struct judgement *j, uint32_t number); /* packets that rule decides; 0: a chain's policy */
/* The rule that decides a packet (NULL: a chain's policy), and what it does: the table is run on it.  Not for two threads. */
const struct rule *judged_rule(const struct judgement *j, const struct packet *p, enum action *action);

/* ---- what is odd about a table (Al-Shaer and Hamed 2004, section 3, and unions of rules) ---- */

enum finding_kind {
    FINDING_UNREACHABLE, /* no packet gets to it: earlier rules together, perhaps no single one, decide all of its packets */
    FINDING_REDUNDANT, /* without it every packet fares the same; unreachable rules are that too */
    FINDING_SHADOWED,  /* one earlier rule takes all its packets and decides otherwise */
    FINDING_CORRELATED, /* it and an earlier one share packets, each has others, and they decide otherwise: their order matters */
    FINDING_GENERALISED, /* it holds all packets of an earlier rule that decides otherwise: an exception precedes it */
    FINDING_KINDS
};

struct finding {
    enum finding_kind kind;
    uint32_t rule, other; /* numbers; other 0: none in particular */
    struct str because;   /* in words */
};

/* Of each kind of pair (shadowed, correlated, generalised) at most this many are listed, those of the rules that come first;
 * all are counted. */
enum { FINDINGS_LISTED_MAX = 1000 };

typedef struct {
    struct finding *v;
    uint32_t n;
    uint64_t all[FINDING_KINDS]; /* how many there are, listed or not */
} finding_list;

/* All findings, by rule number, then kind, then other.  A rule's packets are those that fit it and get to its chain if no rule
 * before decides; "earlier" is the order in which the rules are first come by.  Rules that are not of the space's family, or
 * whose hours the week does not give, are left out: a rule of both families is odd when both families find so.
 * Errors: as judge_table(). */
RT_MUST_CHECK enum rt_code table_findings(struct space *s, const struct table *t, const struct week_kind *week,
                                          finding_list *out, struct rt_problems *p);
/* "unreachable", "redundant" ... */
const char *finding_name(enum finding_kind kind);

#endif

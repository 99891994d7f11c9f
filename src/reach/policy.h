/* policy.h - the statements of a house as one table of rules that a gateway can run.
 *
 * Default deny.  One table judges everything: between segments, to and from the internet (AXIS_TO, AXIS_FROM), and to the
 * gateway itself (AXIS_TO = ZONE_GATEWAY).
 *
 * Every packet in the direction of its conversation's first one is judged by the statements anew, whatever its state; answers
 * (STATE_REPLY) pass, unless hours say otherwise: then they are judged as the mirror image of what they answer.  So a
 * conversation ends with its hour, and with a stricter table.  The order of the rules is told in policy.c. */
#ifndef RT_REACH_POLICY_H
#define RT_REACH_POLICY_H

#include "data/services.h"
#include "reach/addressing.h"

/* The chains of the table.  No rule of TO_GATEWAY and SERVICES is ever tried for a packet that goes through the gateway, none of
 * CROSSING and THROUGH for one that goes to it. */
enum policy_chain {
    CHAIN_START,      /* every packet; ends in the default */
    CHAIN_CROSSING,   /* what never crosses a router or the border */
    CHAIN_ANSWERS,    /* packets that answer (STATE_REPLY) */
    CHAIN_TO_GATEWAY, /* to the gateway itself */
    CHAIN_SERVICES,   /* what the gateway does for a segment at its own address there: addresses, names, time */
    CHAIN_THROUGH,    /* between segments and the internet */
    CHAIN_COUNT
};

/* Conversations begun by a device whose statements cannot rest on its addresses alone carry a mark, set by its MAC address when
 * the first packet comes, so that both directions can be cut when its hours end. */
struct mark {
    uint32_t value; /* from 1 */
    index_list devices;
};

/* From the internet to a device, by translation of the gateway's address (IPv4). */
struct translation {
    uint32_t opening; /* of house->port_openings */
    enum ip_protocol protocol;
    uint16_t port_from, port_to; /* at the gateway and at the device alike */
    axis_value to_ipv4;
};

/* Internet names that the gateway's resolver watches: the addresses it answers with go into a named set.  The axis is 1 when
 * the packet's end in the internet is in the set: its destination on the way out, its source on the way in. */
struct watched_name {
    struct str name;
    uint32_t axis; /* AXIS_NAMED + k */
};

/* What one statement put into a rule.  Rules of several statements that do the same may be one; `which` and `at` of such a rule
 * are the first one's. */
struct stated {
    uint32_t rule; /* its number */
    uint32_t statement;
    unsigned families;
    struct match match;
    struct str says;
};

struct policy {
    const struct house *h;
    const struct address_plan *plan;
    struct table table;         /* chains as enum policy_chain */
    bool translates_ipv4;       /* what leaves to the internet by IPv4 takes the gateway's address */
    LIST(struct stated) stated; /* by rule, then statement */
    LIST(struct mark) marks;
    LIST(struct translation) translations;
    LIST(struct watched_name) names;
    note_list notes; /* what the compiler kept, and how strong a statement is */
};

/* Compiles.  Errors, with places: RT_CONFLICT (a statement that can never decide anything because others before it decide
 * otherwise; openings that want the same port), RT_RANGE (an internet name that should start talk, an opening for a service
 * without a port ...), RT_LIMIT (more names than a table can hold), RT_NOMEM. */
RT_MUST_CHECK enum rt_code policy_compile(const struct run *run, const struct address_plan *plan, struct policy **out,
                                          struct rt_problems *p);

/* What the household called a statement, else in words: "the children's screens may not talk with the internet (https)".  Empty where
 * there is no memory for it. */
struct str statement_words(struct arena *a, const struct house *h, const struct statement *s);
/* The statement by which a rule of the table fits a packet; NO_REF: the rule is no statement's. */
uint32_t policy_statement_of(const struct policy *policy, const struct rule *r, const struct packet *p);
/* The rule as it concerns the packet: itself, or, when several statements share it, a copy with `which`, `at` and `says` of the
 * one that the packet fits.  NULL stays NULL. */
const struct rule *policy_rule_for(struct arena *a, const struct policy *policy, const struct rule *r,
                                   const struct packet *p, bool *failed);

/* The packets an endpoint sends, or receives, as matches whose union they are (one family): for questions, not for rules.
 * A device's: its segment with its MAC as sender; its reserved addresses as receiver, and (state other than new) its mark
 * or, in IPv6, its whole segment, since it may choose its address. */
typedef LIST(struct match) match_list;
match_list endpoint_sends(struct arena *a, const struct policy *policy, const struct endpoint *e, enum family family,
                          bool *failed);
match_list endpoint_receives(struct arena *a, const struct policy *policy, const struct endpoint *e, enum family family,
                             bool *failed);
/* The packets that ask for a service (by name, of the built-in table or the house's own): protocol, ports.  Flows that cannot
 * leave their segment are among them. */
match_list service_asks(struct arena *a, const struct house *h, struct str service, enum family family, bool *failed);

#endif

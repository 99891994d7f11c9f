/* ruleset_int.h - what the sources of ruleset share. */
#ifndef RT_REACH_RULESET_INT_H
#define RT_REACH_RULESET_INT_H

#include <jansson.h>

#include "reach/ruleset.h"

enum {
    BOTH_FAMILIES = 1 << FAMILY_IPV4 | 1 << FAMILY_IPV6,
    /* "no interface" among zones: what a rule sees that asks for the interface in, of a packet the gateway sends */
    ZONE_NOWHERE = UINT16_MAX,
};

enum ruleset_hook { HOOK_PREROUTING, HOOK_INPUT, HOOK_FORWARD, HOOK_OUTPUT, HOOK_POSTROUTING, HOOK_COUNT };

/* What a rule of the listing rests on, beside its match. */
struct rests_on {
    bool in_interface, out_interface, mac, conversation, mark, packet_mark, destination, source;
    bool translated; /* ct status dnat */
    bool sets_mark, sets_packet_mark;
};

/* A part of a rule of the listing: one match, one action.  FROM and TO are interfaces here. */
struct listed_rule {
    unsigned families;
    struct match match;
    enum action action;
    uint32_t chain; /* of jump and goto: index among the listed chains */
    struct rests_on on;
    bool log;
    const json_t *translates; /* dnat or redirect; else NULL */
    struct str says;
};

struct listed_chain {
    unsigned families;
    struct str family, table, name;
    bool is_base, is_nat, is_off; /* off: its table sleeps, or has no say over packets of IP */
    enum ruleset_hook hook;
    int64_t priority;
    enum action policy;
    VEC(struct listed_rule) rules;
};

struct listed_set {
    struct str family, table, name;
    const json_t *elements; /* NULL: none */
    bool fills;             /* while the gateway runs */
    uint32_t axis;          /* of such a set of addresses */
};

struct ruleset_reader {
    const struct run *run;
    const struct ruleset_zones *zones;
    const struct week_kind *week;
    const char *file;
    struct rt_problems *p;
    VEC(struct listed_set) sets;
    VEC(struct listed_chain) chains;
    VEC(struct str) sleeping; /* tables, as "family name" */
    VEC(struct str) named;
    VEC(struct note) notes;
    VEC(struct ruleset_translation) translations;
    uint32_t n_rules;
    struct str where;                 /* the rule being read, in words */
    const struct listed_chain *chain; /* its chain */
    enum rt_code worst;               /* first error */
    bool failed;                      /* no memory */
};

/* An error about an expression of the rule being read; the reader goes on.  Returns false. */
bool listing_fail(struct ruleset_reader *r, enum rt_code code, const json_t *expression, const char *hint,
                  const char *fmt, ...) RT_PRINTF(5, 6);
void listing_note(struct ruleset_reader *r, const char *fmt, ...) RT_PRINTF(2, 3);
/* Axis for something that only the running gateway knows; the same for the same name.  false: too many. */
bool listing_named(struct ruleset_reader *r, struct str name, uint32_t *axis);
/* The member's text; empty when it is none. */
struct str listing_text_at(const json_t *object, const char *key);
struct str listing_text(const json_t *text);

/* ---- values (ruleset_value.c) ---- */

enum value_kind {
    VALUE_PORT,
    VALUE_MARK,
    VALUE_INTERFACE,
    VALUE_ADDRESS,
    VALUE_MAC,
    VALUE_PROTOCOL,
    VALUE_ICMP_TYPE,
    VALUE_ICMPV6_TYPE,
    VALUE_STATE,
    VALUE_DIRECTION, /* 0 original, 1 reply */
    VALUE_FAMILY,    /* enum family */
    VALUE_PACKET_TYPE,
    VALUE_HOUR, /* second of the day */
    VALUE_DAY,  /* 0 Sunday */
    VALUE_TIME, /* UNIX time */
    VALUE_STATUS,
};

enum { PACKET_TYPE_HOST, PACKET_TYPE_BROADCAST, PACKET_TYPE_MULTICAST, PACKET_TYPE_OTHER };

/* Values of one operand: text, number, prefix, range, list, set of them. */
bool listing_values(struct ruleset_reader *r, const json_t *value, enum value_kind kind, enum family family,
                    span_list *out);
axis_value listing_value_max(enum value_kind kind, uint32_t axis, enum family family);
/* Zones behind interfaces. */
bool listing_interfaces(struct ruleset_reader *r, const json_t *value, span_list *out);
bool listing_word(enum value_kind kind, struct str word, axis_value *out);

/* ---- the clock (ruleset_clock.c) ---- */

/* Minutes of the week at which hour, day or time is one of the values. */
bool listing_minutes(struct ruleset_reader *r, const json_t *expression, enum value_kind kind, span_list values,
                     span_list *out);
bool listing_clock(enum value_kind kind, struct str text, axis_value *out);

/* ---- matches (ruleset_match.c) ---- */

/* A set that fills: whether its axis is meant depends on the zones of the rule. */
struct awaited {
    const struct listed_set *set;
    bool is_source, negate;
};

/* A rule being read: its matches so far, of which one must hold. */
struct reading {
    VEC(struct listed_rule) parts;
    VEC(struct awaited) awaited;
    bool directed, any_ports; /* ct direction; th, whatever the protocol */
};

bool listing_match(struct ruleset_reader *r, const json_t *match, struct reading *rule);
/* Narrows to "key is value", of a verdict map. */
bool listing_key(struct ruleset_reader *r, const json_t *key, const json_t *value, bool others, struct reading *rule);
/* What is known at the end alone: ports with their protocol, directions, sets that fill. */
bool listing_ends(struct ruleset_reader *r, const json_t *expressions, struct reading *rule);
const struct listed_set *listing_set(const struct ruleset_reader *r, struct str name);

/* ---- rules (ruleset_rule.c) ---- */

void listing_rule(struct ruleset_reader *r, const json_t *rule);

/* ---- joining (ruleset_join.c) ---- */

enum rt_code ruleset_join(struct ruleset_reader *r, struct table *out);

#endif

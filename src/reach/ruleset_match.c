#include "reach/ruleset_int.h"

/* An operand of a match: what it looks at, and what its presence alone says of a packet. */
struct operand {
    const char *group, *key, *field; /* payload: protocol, field; meta, ct: key */
    enum value_kind kind;
    uint32_t axis;
    unsigned families;
    unsigned protocol; /* 0: says nothing of it */
    struct rests_on on;
};

enum { NO_AXIS = UINT32_MAX };

#define V4 (1 << FAMILY_IPV4)
#define V6 (1 << FAMILY_IPV6)

/* Names: libnftables-json(5).  What a header field says of the packet (`tcp dport`: the protocol is TCP) is how nft completes a
 * rule: seen in its bytecode (nft --debug=netlink, 1.0.6). */
static const struct operand OPERANDS[] = {
    { "payload", "ip", "saddr", VALUE_ADDRESS, AXIS_SOURCE, V4, 0, { .source = true } },
    { "payload", "ip", "daddr", VALUE_ADDRESS, AXIS_DESTINATION, V4, 0, { .destination = true } },
    { "payload", "ip", "protocol", VALUE_PROTOCOL, AXIS_PROTOCOL, V4, 0, { 0 } },
    { "payload", "ip6", "saddr", VALUE_ADDRESS, AXIS_SOURCE, V6, 0, { .source = true } },
    { "payload", "ip6", "daddr", VALUE_ADDRESS, AXIS_DESTINATION, V6, 0, { .destination = true } },
    { "payload", "tcp", "sport", VALUE_PORT, AXIS_SOURCE_PORT, BOTH_FAMILIES, IP_TCP, { .source = true } },
    { "payload", "tcp", "dport", VALUE_PORT, AXIS_DESTINATION_PORT, BOTH_FAMILIES, IP_TCP, { .destination = true } },
    { "payload", "udp", "sport", VALUE_PORT, AXIS_SOURCE_PORT, BOTH_FAMILIES, IP_UDP, { .source = true } },
    { "payload", "udp", "dport", VALUE_PORT, AXIS_DESTINATION_PORT, BOTH_FAMILIES, IP_UDP, { .destination = true } },
    { "payload", "th", "sport", VALUE_PORT, AXIS_SOURCE_PORT, BOTH_FAMILIES, 0, { .source = true } },
    { "payload", "th", "dport", VALUE_PORT, AXIS_DESTINATION_PORT, BOTH_FAMILIES, 0, { .destination = true } },
    { "payload", "icmp", "type", VALUE_ICMP_TYPE, AXIS_ICMP_TYPE, V4, IP_ICMP, { 0 } },
    { "payload", "icmpv6", "type", VALUE_ICMPV6_TYPE, AXIS_ICMP_TYPE, V6, IP_ICMPV6, { 0 } },
    { "payload", "ether", "saddr", VALUE_MAC, AXIS_SOURCE_MAC, BOTH_FAMILIES, 0, { .mac = true } },
    { "payload", "ether", "type", VALUE_FAMILY, NO_AXIS, BOTH_FAMILIES, 0, { .mac = true } },
    { "meta", "iif", NULL, VALUE_INTERFACE, AXIS_FROM, BOTH_FAMILIES, 0, { .in_interface = true } },
    { "meta", "iifname", NULL, VALUE_INTERFACE, AXIS_FROM, BOTH_FAMILIES, 0, { .in_interface = true } },
    { "meta", "oif", NULL, VALUE_INTERFACE, AXIS_TO, BOTH_FAMILIES, 0, { .out_interface = true } },
    { "meta", "oifname", NULL, VALUE_INTERFACE, AXIS_TO, BOTH_FAMILIES, 0, { .out_interface = true } },
    { "meta", "l4proto", NULL, VALUE_PROTOCOL, AXIS_PROTOCOL, BOTH_FAMILIES, 0, { 0 } },
    { "meta", "nfproto", NULL, VALUE_FAMILY, NO_AXIS, BOTH_FAMILIES, 0, { 0 } },
    { "meta", "protocol", NULL, VALUE_FAMILY, NO_AXIS, BOTH_FAMILIES, 0, { 0 } },
    { "meta", "mark", NULL, VALUE_MARK, NO_AXIS, BOTH_FAMILIES, 0, { .packet_mark = true } },
    { "meta", "pkttype", NULL, VALUE_PACKET_TYPE, NO_AXIS, BOTH_FAMILIES, 0, { .destination = true } },
    { "meta", "hour", NULL, VALUE_HOUR, AXIS_MINUTE, BOTH_FAMILIES, 0, { 0 } },
    { "meta", "day", NULL, VALUE_DAY, AXIS_MINUTE, BOTH_FAMILIES, 0, { 0 } },
    { "meta", "time", NULL, VALUE_TIME, AXIS_MINUTE, BOTH_FAMILIES, 0, { 0 } },
    { "ct", "state", NULL, VALUE_STATE, AXIS_STATE, BOTH_FAMILIES, 0, { .conversation = true } },
    { "ct", "direction", NULL, VALUE_DIRECTION, NO_AXIS, BOTH_FAMILIES, 0, { .conversation = true } },
    { "ct", "status", NULL, VALUE_STATUS, NO_AXIS, BOTH_FAMILIES, 0, { .conversation = true, .translated = true } },
    { "ct", "mark", NULL, VALUE_MARK, AXIS_MARK, BOTH_FAMILIES, 0, { .conversation = true, .mark = true } },
};

static bool is_operand(const struct operand *o, const json_t *left)
{
    const json_t *group = json_object_get(left, o->group);
    if (!group || json_object_size(left) != 1)
        return false;
    const bool payload = o->field != NULL;
    return str_is(listing_text_at(group, payload ? "protocol" : "key"), o->key) &&
           (!payload || str_is(listing_text_at(group, "field"), o->field)) && json_object_size(group) == 1u + payload;
}

static const struct operand *operand_find(struct ruleset_reader *r, const json_t *left)
{
    for (size_t i = 0; i < RT_COUNT(OPERANDS); i++)
        if (is_operand(&OPERANDS[i], left))
            return &OPERANDS[i];
    listing_fail(r, RT_SHAPE, left, NULL, "what it looks at cannot be judged");
    return NULL;
}

const struct listed_set *listing_set(const struct ruleset_reader *r, struct str name)
{
    for (uint32_t i = 0; i < r->sets.n; i++) {
        const struct listed_set *s = &r->sets.v[i];
        if (str_eq(s->name, name) && str_eq(s->table, r->chain->table) && str_eq(s->family, r->chain->family))
            return s;
    }
    return NULL;
}

/* ---- narrowing ---- */

static void join_rests(struct rests_on *into, const struct rests_on *more)
{
    into->in_interface |= more->in_interface;
    into->out_interface |= more->out_interface;
    into->mac |= more->mac;
    into->conversation |= more->conversation;
    into->mark |= more->mark;
    into->packet_mark |= more->packet_mark;
    into->destination |= more->destination;
    into->source |= more->source;
    into->translated |= more->translated;
}

static void narrow(struct ruleset_reader *r, struct listed_rule *part, uint32_t axis, span_list in)
{
    match_narrow(r->run->arena, &part->match, axis, in, &r->failed);
}

static void narrow_states(struct ruleset_reader *r, struct listed_rule *part, unsigned states)
{
    struct span v[STATE_COUNT];
    uint32_t n = 0;
    for (unsigned s = 0; s < STATE_COUNT; s++)
        if (states & 1u << s)
            v[n++] = (struct span){ s, s };
    narrow(r, part, AXIS_STATE, spans_tidy(r->run->arena, v, n, &r->failed));
}

enum { TRACKED = 1 << STATE_NEW | 1 << STATE_ESTABLISHED | 1 << STATE_REPLY | 1 << STATE_RELATED };

/* What the operand's presence says. */
static void narrow_by_presence(struct ruleset_reader *r, const struct operand *o, struct listed_rule *part)
{
    part->families &= o->families;
    join_rests(&part->on, &o->on);
    if (o->protocol)
        match_narrow_to(r->run->arena, &part->match, AXIS_PROTOCOL, o->protocol, o->protocol, &r->failed);
    if (o->on.mark || o->on.translated || o->kind == VALUE_DIRECTION)
        narrow_states(r, part, TRACKED); /* without a conversation there is nothing to compare */
}

/* Addresses to which packets of the types go: multicast and broadcast addresses are sent to by frames of that kind (RFC 1112
 * section 6.4, RFC 2464 section 7, RFC 1122 section 3.3.6). */
static span_list type_destinations(struct ruleset_reader *r, span_list types, enum family family)
{
    struct arena *a = r->run->arena;
    const axis_value max = axis_max(AXIS_DESTINATION, family);
    const struct span multicast_4 = { 0xe0000000, 0xefffffff }, everyone = { 0xffffffff, 0xffffffff };
    const struct span multicast_6 = { (axis_value)0xff << 120, max };
    const span_list multicast = spans_tidy(a, family == FAMILY_IPV4 ? &multicast_4 : &multicast_6, 1, &r->failed);
    span_list broadcast = { 0 };
    if (family == FAMILY_IPV4)
        broadcast = spans_join(a, r->zones->broadcasts, spans_tidy(a, &everyone, 1, &r->failed), &r->failed);
    const span_list both = spans_join(a, multicast, broadcast, &r->failed);
    span_list out = { 0 };
    if (spans_hold(types, PACKET_TYPE_HOST))
        out = spans_join(a, out, spans_others(a, both, max, &r->failed), &r->failed);
    if (spans_hold(types, PACKET_TYPE_BROADCAST))
        out = spans_join(a, out, broadcast, &r->failed);
    if (spans_hold(types, PACKET_TYPE_MULTICAST))
        out = spans_join(a, out, multicast, &r->failed);
    return out;
}

/* Each part becomes one for each family. */
static void narrow_by_type(struct ruleset_reader *r, struct reading *rule, uint32_t first, span_list types)
{
    const uint32_t n = rule->parts.n;
    for (uint32_t i = first; i < n && !r->failed; i++)
        for (unsigned f = 0; f < FAMILY_COUNT; f++) {
            struct listed_rule part = rule->parts.v[i];
            part.families &= 1u << f;
            narrow(r, &part, AXIS_DESTINATION, type_destinations(r, types, (enum family)f));
            if (part.families)
                r->failed |= !VEC_PUSH(r->run->arena, &rule->parts, part);
        }
    for (uint32_t i = n; i < rule->parts.n; i++)
        rule->parts.v[first + i - n] = rule->parts.v[i];
    rule->parts.n = first + rule->parts.n - n;
}

/* Narrows the parts from `first` on to the operand being one of the values. */
static bool narrow_to_values(struct ruleset_reader *r, const struct operand *o, span_list values, struct reading *rule,
                             uint32_t first)
{
    if (o->kind == VALUE_STATUS && values.n != 1)
        return listing_fail(r, RT_SHAPE, NULL, NULL, "only `ct status dnat` can be judged");
    if (o->kind == VALUE_PACKET_TYPE) {
        narrow_by_type(r, rule, first, values);
        return true;
    }
    for (uint32_t i = first; i < rule->parts.n; i++) {
        struct listed_rule *part = &rule->parts.v[i];
        if (o->kind == VALUE_FAMILY) {
            part->families &= (spans_hold(values, FAMILY_IPV4) ? V4 : 0) | (spans_hold(values, FAMILY_IPV6) ? V6 : 0);
        } else if (o->kind == VALUE_DIRECTION) {
            const unsigned original = 1 << STATE_NEW | 1 << STATE_ESTABLISHED | 1 << STATE_RELATED;
            const unsigned reply = 1 << STATE_REPLY | 1 << STATE_RELATED;
            narrow_states(r, part, (spans_hold(values, 0) ? original : 0) | (spans_hold(values, 1) ? reply : 0));
        } else if (o->kind != VALUE_STATUS) {
            narrow(r, part, o->axis, values);
        }
    }
    rule->directed |= o->kind == VALUE_DIRECTION;
    return true;
}

/* Something that the running gateway alone knows: narrows to it being so, or not. */
static bool narrow_to_named(struct ruleset_reader *r, struct str name, bool is_so, struct reading *rule, uint32_t first)
{
    uint32_t axis;
    if (!listing_named(r, name, &axis))
        return false;
    for (uint32_t i = first; i < rule->parts.n; i++)
        match_narrow_to(r->run->arena, &rule->parts.v[i].match, axis, is_so, is_so, &r->failed);
    return true;
}

/* ---- one match ---- */

static struct str dumped(struct ruleset_reader *r, const json_t *value)
{
    struct buf out = { .arena = r->run->arena };
    char *text = json_dumps(value, JSON_COMPACT | JSON_ENCODE_ANY | JSON_SORT_KEYS);
    if (text)
        buf_text(&out, text);
    free(text);
    r->failed |= !text || out.failed;
    return buf_done(&out);
}

static bool compares(struct str op, axis_value value, axis_value max, struct span *out)
{
    *out = (struct span){ 0, max };
    if (str_is(op, "<="))
        out->hi = value;
    else if (str_is(op, ">="))
        out->lo = value;
    else if (str_is(op, "<") && value > 0)
        out->hi = value - 1;
    else if (str_is(op, ">") && value < max)
        out->lo = value + 1;
    else
        return false;
    return true;
}

/* Values that hold of `operand op right`. */
static bool values_that_hold(struct ruleset_reader *r, const struct operand *o, struct str op, const json_t *right,
                             span_list *out)
{
    const bool same = str_is(op, "==") || str_is(op, "in"), other = str_is(op, "!=") || str_is(op, "!");
    const enum family family = o->families == V6 ? FAMILY_IPV6 : FAMILY_IPV4;
    axis_value max = listing_value_max(o->kind, o->axis, family);
    if (!listing_values(r, right, o->kind, family, out))
        return false;
    if (o->kind == VALUE_STATUS && !same)
        return listing_fail(r, RT_SHAPE, right, NULL, "only `ct status dnat` can be judged");
    if (!same && !other) {
        struct span s;
        const bool one = out->n == 1 && out->v[0].lo == out->v[0].hi;
        if (!one || o->axis == AXIS_FROM || o->axis == AXIS_TO || !compares(op, out->v[0].lo, max, &s))
            return listing_fail(r, RT_SHAPE, right, NULL, "what is compared here cannot be judged");
        *out = spans_tidy(r->run->arena, &s, 1, &r->failed);
    }
    if (o->axis == AXIS_MINUTE) {
        if (!listing_minutes(r, right, o->kind, *out, out))
            return false;
        max = axis_max(AXIS_MINUTE, family);
    }
    if (other)
        *out = spans_others(r->run->arena, *out, max, &r->failed);
    return true;
}

static bool is_true_op(struct str op) { return str_is(op, "==") || str_is(op, "in"); }
static bool is_false_op(struct str op) { return str_is(op, "!=") || str_is(op, "!"); }

static bool fits_packet_mark(struct ruleset_reader *r, struct str op, const json_t *right, struct reading *rule)
{
    struct buf name = { .arena = r->run->arena };
    const bool plain = is_true_op(op) || is_false_op(op);
    buf_printf(&name, "the packet's mark is %.*s%.*s", STR_ARG(plain ? STR("") : op), STR_ARG(dumped(r, right)));
    for (uint32_t i = 0; i < rule->parts.n; i++)
        rule->parts.v[i].on.packet_mark = true;
    return narrow_to_named(r, buf_done(&name), !is_false_op(op), rule, 0);
}

static bool in_filling_set(struct ruleset_reader *r, const json_t *left, const struct operand *o,
                           const struct listed_set *set, struct str op, struct reading *rule)
{
    if (!is_true_op(op) && !is_false_op(op))
        return listing_fail(r, RT_SHAPE, left, NULL, "a set is not compared like this");
    if (o && o->kind == VALUE_ADDRESS && set->axis != NO_AXIS) {
        const struct awaited a = { set, o->axis == AXIS_SOURCE, is_false_op(op) };
        r->failed |= !VEC_PUSH(r->run->arena, &rule->awaited, a);
        return true;
    }
    struct buf name = { .arena = r->run->arena };
    buf_printf(&name, "%.*s in %.*s", STR_ARG(dumped(r, left)), STR_ARG(set->name));
    return narrow_to_named(r, buf_done(&name), is_true_op(op), rule, 0);
}

/* ---- concatenations ---- */

enum { CONCAT_MAX = 8 };

/* Parts from `first` on, narrowed to each component having its value. */
static bool narrow_to_tuple(struct ruleset_reader *r, const json_t *keys, const json_t *tuple, struct reading *rule,
                            uint32_t first)
{
    const json_t *values = json_object_get(tuple, "concat");
    const size_t n = json_array_size(keys);
    if (!json_is_array(values) || json_array_size(values) != n || n > CONCAT_MAX)
        return listing_fail(r, RT_SHAPE, tuple, NULL, "an element does not fit what is looked up");
    for (size_t i = 0; i < n; i++) {
        span_list holds;
        const struct operand *o = operand_find(r, json_array_get(keys, i));
        if (!o)
            return false;
        if (o->kind == VALUE_PACKET_TYPE || o->on.packet_mark)
            return listing_fail(r, RT_SHAPE, json_array_get(keys, i), NULL,
                                "this cannot be judged together with others");
        if (!values_that_hold(r, o, STR("=="), json_array_get(values, i), &holds))
            return false;
        for (uint32_t k = first; k < rule->parts.n; k++)
            narrow_by_presence(r, o, &rule->parts.v[k]);
        if (!narrow_to_values(r, o, holds, rule, first))
            return false;
    }
    return !r->failed;
}

/* For each element, the parts as they were, narrowed to it. */
static bool match_tuples(struct ruleset_reader *r, const json_t *keys, const json_t *elements, struct reading *rule)
{
    const uint32_t n = rule->parts.n;
    const size_t n_elements = json_array_size(elements);
    for (size_t e = 0; e < n_elements; e++) {
        const json_t *tuple = json_array_get(elements, e);
        const json_t *inner = json_object_get(tuple, "elem");
        const uint32_t first = rule->parts.n;
        if (first + n + r->n_rules > RULESET_RULES_MAX)
            return listing_fail(r, RT_LIMIT, NULL, NULL, "more than %d rules", RULESET_RULES_MAX);
        for (uint32_t i = 0; i < n; i++) {
            const struct listed_rule part = rule->parts.v[i];
            if (!VEC_PUSH(r->run->arena, &rule->parts, part)) {
                r->failed = true;
                return false;
            }
        }
        if (!narrow_to_tuple(r, keys, inner ? json_object_get(inner, "val") : tuple, rule, first))
            return false;
    }
    for (uint32_t i = n; i < rule->parts.n; i++)
        rule->parts.v[i - n] = rule->parts.v[i];
    rule->parts.n -= n;
    return true;
}

/* ---- whole matches ---- */

/* The set behind "@name"; NULL: the value names none, or *ok is false. */
static const struct listed_set *set_named(struct ruleset_reader *r, const json_t *right, bool *ok)
{
    const struct str name = listing_text(right);
    *ok = true;
    if (name.n < 2 || name.p[0] != '@')
        return NULL;
    const struct listed_set *set = listing_set(r, (struct str){ name.p + 1, name.n - 1 });
    if (!set)
        *ok = listing_fail(r, RT_UNKNOWN_REF, right, NULL, "the listing has no such set");
    return set;
}

static bool match_concat(struct ruleset_reader *r, const json_t *left, struct str op, const json_t *right,
                         const struct listed_set *set, struct reading *rule)
{
    const json_t *keys = json_object_get(left, "concat");
    if (set && set->fills)
        return in_filling_set(r, left, NULL, set, op, rule);
    const json_t *elements = set ? set->elements : json_object_get(right, "set");
    if (!is_true_op(op) || !json_is_array(keys) || (!set && !json_is_array(elements)))
        return listing_fail(r, RT_SHAPE, left, NULL, "this of several things together cannot be judged");
    return match_tuples(r, keys, elements, rule);
}

bool listing_match(struct ruleset_reader *r, const json_t *match, struct reading *rule)
{
    const json_t *left = json_object_get(match, "left"), *right = json_object_get(match, "right");
    const struct str op = listing_text_at(match, "op");
    bool ok = true;
    const struct listed_set *set = set_named(r, right, &ok);
    if (!ok)
        return false;
    if (json_object_get(left, "concat"))
        return match_concat(r, left, op, right, set, rule);
    if (json_object_get(left, "fib") && r->chain->is_nat)
        return true; /* which destinations: of no matter to where they are led */
    if (str_is(listing_text_at(json_object_get(left, "meta"), "key"), "iiftype") && is_true_op(op) &&
        str_is(listing_text(right), "ether")) {
        for (uint32_t i = 0; i < rule->parts.n; i++)
            rule->parts.v[i].on.mac = true;
        return true;
    }
    const struct operand *o = operand_find(r, left);
    if (!o)
        return false;
    if (o->on.packet_mark)
        return fits_packet_mark(r, op, right, rule);
    for (uint32_t i = 0; i < rule->parts.n; i++)
        narrow_by_presence(r, o, &rule->parts.v[i]);
    rule->any_ports |= str_is(str_from(o->key), "th");
    if (set && set->fills)
        return in_filling_set(r, left, o, set, op, rule);
    span_list holds;
    return values_that_hold(r, o, op, set ? set->elements : right, &holds) && narrow_to_values(r, o, holds, rule, 0);
}

bool listing_key(struct ruleset_reader *r, const json_t *key, const json_t *value, bool others, struct reading *rule)
{
    const json_t *keys = json_object_get(key, "concat");
    if (keys && others)
        return listing_fail(r, RT_SHAPE, key, NULL, "`*` of several things together cannot be judged");
    if (keys)
        return narrow_to_tuple(r, keys, value, rule, 0);
    const struct operand *o = operand_find(r, key);
    span_list holds;
    if (!o)
        return false;
    if (o->on.packet_mark)
        return fits_packet_mark(r, others ? STR("!=") : STR("=="), value, rule);
    for (uint32_t i = 0; i < rule->parts.n; i++)
        narrow_by_presence(r, o, &rule->parts.v[i]);
    rule->any_ports |= str_is(str_from(o->key), "th");
    return values_that_hold(r, o, others ? STR("!=") : STR("=="), value, &holds) &&
           narrow_to_values(r, o, holds, rule, 0);
}

/* ---- the end ---- */

static bool only(const struct match *m, uint32_t axis, axis_value a, axis_value b)
{
    const span_list *in = match_on(m, axis);
    for (uint32_t i = 0; in && i < in->n; i++) {
        const struct span s = in->v[i];
        const bool single = s.lo == s.hi && (s.lo == a || s.lo == b);
        if (!single && !(s.lo + 1 == s.hi && s.lo == a && s.hi == b))
            return false;
    }
    return in != NULL;
}

/* The axis of a set of names is about the packet's end in the internet: see policy.h. */
static bool await_set(struct ruleset_reader *r, const struct awaited *w, struct listed_rule *part)
{
    const bool outside = only(&part->match, w->is_source ? AXIS_FROM : AXIS_TO, ZONE_INTERNET, ZONE_INTERNET);
    uint32_t axis = w->set->axis;
    if (!outside) {
        struct buf name = { .arena = r->run->arena };
        buf_printf(&name, "%s in %.*s", w->is_source ? "source" : "destination", STR_ARG(w->set->name));
        if (!listing_named(r, buf_done(&name), &axis))
            return false;
    }
    match_narrow_to(r->run->arena, &part->match, axis, !w->negate, !w->negate, &r->failed);
    return true;
}

bool listing_ends(struct ruleset_reader *r, const json_t *expressions, struct reading *rule)
{
    for (uint32_t i = 0; i < rule->parts.n; i++) {
        struct listed_rule *part = &rule->parts.v[i];
        const span_list *states = match_on(&part->match, AXIS_STATE);
        if (rule->any_ports && !only(&part->match, AXIS_PROTOCOL, IP_TCP, IP_UDP))
            return listing_fail(r, RT_SHAPE, expressions, NULL, "it looks at ports, but not of TCP and UDP alone");
        if (rule->directed && states && spans_hold(*states, STATE_RELATED))
            return listing_fail(r, RT_SHAPE, expressions, NULL,
                                "which way a related packet goes is not known; say `ct state established` beside it");
        for (uint32_t k = 0; k < rule->awaited.n; k++)
            if (!await_set(r, &rule->awaited.v[k], part))
                return false;
    }
    return !r->failed;
}

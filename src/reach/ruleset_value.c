#include "reach/ruleset_int.h"

axis_value listing_value_max(enum value_kind kind, uint32_t axis, enum family family)
{
    switch (kind) {
    case VALUE_DIRECTION:
    case VALUE_FAMILY:
        return 1;
    case VALUE_PACKET_TYPE:
        return PACKET_TYPE_OTHER;
    case VALUE_HOUR:
        return 24 * 60 * 60 - 1;
    case VALUE_DAY:
        return 6;
    case VALUE_TIME:
        return INT64_MAX;
    case VALUE_STATUS:
        return 0;
    default:
        return axis_max(axis, family);
    }
}

typedef VEC(struct span) span_vec;

/* ---- interfaces ---- */

/* A name that ends in * stands for all that begin like it. */
static bool interface_fits(struct str pattern, struct str name)
{
    if (pattern.n > 0 && pattern.p[pattern.n - 1] == '*') {
        const struct str begin = { pattern.p, pattern.n - 1 };
        return name.n >= begin.n && str_eq((struct str){ name.p, begin.n }, begin);
    }
    return str_eq(pattern, name);
}

static const json_t *item_of(const json_t *value, size_t i)
{
    return json_is_array(value) ? json_array_get(value, i) : value;
}

static const json_t *plain_element(const json_t *value)
{
    const json_t *element = json_object_get(value, "elem");
    return element && json_is_object(element) ? json_object_get(element, "val") : value;
}

/* Which of the known interfaces the value names; the last is `lo`. */
static bool mark_interfaces(struct ruleset_reader *r, const json_t *value, bool *hit)
{
    const uint32_t n = r->zones->interfaces.n;
    const json_t *set = json_object_get(value, "set");
    const json_t *list = set ? set : value;
    const size_t count = json_is_array(list) ? json_array_size(list) : 1;
    for (size_t i = 0; i < count; i++) {
        const json_t *item = plain_element(item_of(list, i));
        const struct str name = listing_text(item);
        bool known = false;
        if (!json_is_string(item))
            return listing_fail(r, RT_SHAPE, item, NULL, "an interface goes by its name");
        for (uint32_t k = 0; k <= n; k++)
            if (interface_fits(name, k < n ? r->zones->interfaces.v[k].name : STR("lo")))
                hit[k] = known = true;
        if (!known)
            return listing_fail(r, RT_UNKNOWN_REF, NULL,
                                "name it under `interfaces` of the house file, with the segment that lies behind it",
                                "no part of the house lies behind interface \"%.*s\"", STR_ARG(name));
    }
    return true;
}

bool listing_interfaces(struct ruleset_reader *r, const json_t *value, span_list *out)
{
    const uint32_t n = r->zones->interfaces.n;
    struct arena *a = r->run->arena;
    bool *hit = ARENA_ARRAY(a, bool, n + 1);
    struct span *zones = ARENA_ARRAY(a, struct span, n + 1);
    if (!hit || !zones) {
        r->failed = true;
        return false;
    }
    if (!mark_interfaces(r, value, hit))
        return false;
    uint32_t n_zones = 0;
    for (uint32_t k = 0; k < n; k++) {
        const uint32_t zone = r->zones->interfaces.v[k].zone;
        for (uint32_t m = 0; m < n && hit[k]; m++)
            if (r->zones->interfaces.v[m].zone == zone && !hit[m])
                return listing_fail(r, RT_SHAPE, value, NULL,
                                    "it tells \"%.*s\" from \"%.*s\", behind which lies the same part of the house",
                                    STR_ARG(r->zones->interfaces.v[k].name), STR_ARG(r->zones->interfaces.v[m].name));
        if (hit[k])
            zones[n_zones++] = (struct span){ zone, zone };
    }
    if (hit[n])
        zones[n_zones++] = (struct span){ ZONE_GATEWAY, ZONE_GATEWAY };
    *out = spans_tidy(a, zones, n_zones, &r->failed);
    return true;
}

/* ---- one value ---- */

static bool number_value(struct ruleset_reader *r, const json_t *value, axis_value max, axis_value *out)
{
    const json_int_t x = json_integer_value(value);
    if (x < 0 || (axis_value)x > max)
        return listing_fail(r, RT_SHAPE, value, NULL, "a number out of its range");
    *out = (axis_value)x;
    return true;
}

static bool text_value(enum value_kind kind, enum family family, struct str text, axis_value *out)
{
    enum family found;
    switch (kind) {
    case VALUE_ADDRESS:
        return address_read(text, &found, out) && found == family;
    case VALUE_MAC:
        return mac_read(text, out);
    case VALUE_HOUR:
    case VALUE_TIME:
        return listing_clock(kind, text, out);
    default:
        return listing_word(kind, text, out);
    }
}

static unsigned bits_of(enum value_kind kind, enum family family)
{
    switch (kind) {
    case VALUE_ADDRESS:
        return family == FAMILY_IPV4 ? 32 : 128;
    case VALUE_MAC:
        return 48;
    case VALUE_MARK:
        return 32;
    case VALUE_PORT:
        return 16;
    case VALUE_PROTOCOL:
    case VALUE_ICMP_TYPE:
    case VALUE_ICMPV6_TYPE:
        return 8;
    default:
        return 0; /* nft writes no prefix of these */
    }
}

static bool one_value(struct ruleset_reader *r, const json_t *value, enum value_kind kind, enum family family,
                      axis_value *out)
{
    const unsigned bits = bits_of(kind, family);
    const axis_value max = bits && bits < 128 ? ((axis_value)1 << bits) - 1 : listing_value_max(kind, 0, family);
    const bool numeric = kind != VALUE_ADDRESS && kind != VALUE_MAC && kind != VALUE_STATE && kind != VALUE_FAMILY;
    if (json_is_integer(value) && numeric)
        return number_value(r, value, max, out);
    if (json_is_string(value) && text_value(kind, family, listing_text(value), out))
        return true;
    return listing_fail(r, RT_SHAPE, value, NULL, "what this value means is not known");
}

/* Of numbers too: nft lists the marks 0-1 as 0/31. */
static bool prefix_value(struct ruleset_reader *r, const json_t *value, enum value_kind kind, enum family family,
                         struct span *out)
{
    const json_t *length = json_object_get(value, "len");
    const json_int_t bits = bits_of(kind, family), n = json_integer_value(length);
    axis_value base = 0;
    if (bits == 0 || !json_is_integer(length) || n < 0 || n > bits)
        return listing_fail(r, RT_SHAPE, value, NULL, "what this prefix means is not known");
    if (!one_value(r, json_object_get(value, "addr"), kind, family, &base))
        return false;
    const axis_value all = bits - n == 128 ? ~(axis_value)0 : ((axis_value)1 << (bits - n)) - 1;
    if (base & all)
        return listing_fail(r, RT_SHAPE, value, NULL, "an address with bits behind its prefix");
    *out = (struct span){ base, base | all };
    return true;
}

/* Adds the spans of one element. */
static bool element_value(struct ruleset_reader *r, const json_t *value, enum value_kind kind, enum family family,
                          span_vec *out)
{
    struct arena *a = r->run->arena;
    const json_t *range = json_object_get(value, "range"), *prefix = json_object_get(value, "prefix");
    struct span s = { 0, 0 };
    if (prefix) {
        if (!prefix_value(r, prefix, kind, family, &s))
            return false;
    } else if (range) {
        if (!json_is_array(range) || json_array_size(range) != 2 ||
            !one_value(r, json_array_get(range, 0), kind, family, &s.lo) ||
            !one_value(r, json_array_get(range, 1), kind, family, &s.hi))
            return listing_fail(r, RT_SHAPE, value, NULL, "what this range means is not known");
    } else {
        if (!one_value(r, value, kind, family, &s.lo))
            return false;
        s.hi = s.lo;
    }
    if (kind == VALUE_STATE && s.lo == STATE_ESTABLISHED)
        s.hi = STATE_REPLY;                  /* to the kernel both directions are established */
    if (s.hi < s.lo && kind == VALUE_HOUR) { /* over midnight */
        const struct span evening = { s.lo, listing_value_max(kind, 0, family) };
        s.lo = 0;
        r->failed |= !VEC_PUSH(a, out, evening);
    } else if (s.hi < s.lo) {
        return listing_fail(r, RT_SHAPE, value, NULL, "a range that ends before it begins");
    }
    r->failed |= !VEC_PUSH(a, out, s);
    return !r->failed;
}

bool listing_values(struct ruleset_reader *r, const json_t *value, enum value_kind kind, enum family family,
                    span_list *out)
{
    if (kind == VALUE_INTERFACE)
        return listing_interfaces(r, value, out);
    span_vec spans = { 0 };
    const json_t *set = json_object_get(value, "set");
    const json_t *list = set ? set : value;
    const size_t n = json_is_array(list) ? json_array_size(list) : 1;
    for (size_t i = 0; i < n; i++)
        if (!element_value(r, plain_element(item_of(list, i)), kind, family, &spans))
            return false;
    *out = spans_tidy(r->run->arena, spans.v, spans.n, &r->failed);
    return !r->failed;
}

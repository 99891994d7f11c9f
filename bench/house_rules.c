#include "house_rules.h"

#include "base/random.h"

enum { TCP = 6, UDP = 17, HOST_BITS = 12 };

struct maker {
    struct arena *a;
    struct random r;
    enum family family;
    struct rules_size size;
    struct table t;
    bool failed;
};

static axis_value segment_base(const struct maker *m, uint32_t segment)
{
    return m->family == FAMILY_IPV4 ? 0x0a000000U + ((axis_value)segment << HOST_BITS)
                                    : ((axis_value)0x20010db8 << 96) + ((axis_value)segment << 64);
}

static uint32_t segment_of(const struct maker *m, uint32_t device) { return device % m->size.segments; }

static axis_value address_of(const struct maker *m, uint32_t device)
{
    return segment_base(m, segment_of(m, device)) + 16 + device / m->size.segments;
}

static axis_value mac_of(uint32_t device)
{
    return random_u64(7, 7, device) & 0xfcffffffffff; /* neither a group's nor locally given */
}

static uint32_t below(struct maker *m, uint32_t n) { return random_below(&m->r, n); }

static void narrow(struct maker *m, struct rule *r, uint32_t axis, axis_value lo, axis_value hi)
{
    match_narrow_to(m->a, &r->match, axis, lo, hi, &m->failed);
}

static void from_to(struct maker *m, struct rule *r, uint32_t from, uint32_t to)
{
    narrow(m, r, AXIS_FROM, from, from);
    narrow(m, r, AXIS_TO, to, to);
}

static uint32_t any_zone(struct maker *m) { return ZONE_SEGMENT + below(m, m->size.segments); }

static void put_service(struct maker *m, struct rule *r)
{
    static const uint16_t PORTS[] = { 22,   53,   80,   123,  139,  143,  443,  445,  515,   554,  631,
                                      853,  993,  1400, 1883, 2049, 3689, 5000, 5060, 5353,  5683, 7000,
                                      8009, 8080, 8123, 8443, 8883, 9100, 9123, 1900, 32400, 51820 };
    const uint32_t protocol = below(m, 3) ? TCP : UDP;
    narrow(m, r, AXIS_PROTOCOL, protocol, protocol);
    if (below(m, 10)) {
        const uint32_t port = PORTS[below(m, RT_COUNT(PORTS))];
        narrow(m, r, AXIS_DESTINATION_PORT, port, port);
        return;
    }
    struct span v[3];
    for (int i = 0; i < 3; i++) {
        const uint32_t lo = below(m, 60000);
        v[i] = (struct span){ lo, lo + below(m, 2000) };
    }
    match_narrow(m->a, &r->match, AXIS_DESTINATION_PORT, spans_tidy(m->a, v, 3, &m->failed), &m->failed);
}

static void put_set(struct maker *m, struct rule *r, uint32_t axis, uint32_t n, uint32_t segment)
{
    struct span v[16];
    for (uint32_t i = 0; i < n; i++) {
        const uint32_t device = segment + m->size.segments * below(m, m->size.devices / m->size.segments);
        v[i].lo = v[i].hi = axis == AXIS_SOURCE_MAC ? mac_of(device) : address_of(m, device);
    }
    match_narrow(m->a, &r->match, axis, spans_tidy(m->a, v, n, &m->failed), &m->failed);
}

/* A random prefix of the segment's addresses, or of the whole internet's. */
static void put_prefix(struct maker *m, struct rule *r, uint32_t axis, bool is_inside)
{
    const unsigned bits = m->family == FAMILY_IPV4 ? 32 : 128, least = is_inside ? bits - HOST_BITS : 10;
    const unsigned len = least + below(m, is_inside ? HOST_BITS + 1 : m->family == FAMILY_IPV4 ? 19 : 39);
    axis_value at = segment_base(m, below(m, m->size.segments)) + below(m, 1U << HOST_BITS);
    if (!is_inside)
        at = (axis_value)random_next(&m->r) << (bits - 32) >> (bits == 32 ? 32 : 0);
    const axis_value rest = bits == len ? 0 : ((axis_value)1 << (bits - len)) - 1;
    at &= axis_max(axis, m->family);
    narrow(m, r, axis, at & ~rest, at | rest);
}

static void put_port_range(struct maker *m, struct rule *r, uint32_t axis)
{
    const uint32_t port = below(m, 65536), span = below(m, 4096);
    narrow(m, r, axis, port, port + span < 65535 ? port + span : 65535);
}

static void make_rule(struct maker *m, struct rule *r, bool may_be_broad)
{
    const uint32_t kind = below(m, 100), device = below(m, m->size.devices), other = below(m, m->size.devices);
    const uint32_t zone = ZONE_SEGMENT + segment_of(m, device), to = ZONE_SEGMENT + segment_of(m, other);
    r->action = ACTION_ACCEPT;
    if (kind < 53 || (kind >= 98 && !may_be_broad)) {
        from_to(m, r, zone, to);
        narrow(m, r, AXIS_SOURCE_MAC, mac_of(device), mac_of(device));
        narrow(m, r, AXIS_DESTINATION, address_of(m, other), address_of(m, other));
        put_service(m, r);
        r->action = below(m, 10) ? ACTION_ACCEPT : ACTION_REJECT;
    } else if (kind < 68) {
        from_to(m, r, zone, ZONE_INTERNET);
        narrow(m, r, AXIS_SOURCE_MAC, mac_of(device), mac_of(device));
        if (below(m, 2))
            put_service(m, r);
        if (m->size.hours && below(m, 3) == 0)
            r->hours.i = below(m, m->size.hours);
        r->action = below(m, 2) ? ACTION_ACCEPT : ACTION_REJECT;
    } else if (kind < 83) {
        from_to(m, r, any_zone(m), any_zone(m));
        put_service(m, r);
        r->action = below(m, 2) ? ACTION_ACCEPT : ACTION_REJECT;
    } else if (kind < 93) {
        from_to(m, r, zone, to);
        put_set(m, r, AXIS_SOURCE_MAC, 2 + below(m, 11), segment_of(m, device));
        put_set(m, r, AXIS_DESTINATION, 1 + below(m, 8), segment_of(m, other));
        put_service(m, r);
    } else if (kind < 96) {
        put_prefix(m, r, below(m, 2) ? AXIS_SOURCE : AXIS_DESTINATION, false);
        if (below(m, 2))
            put_port_range(m, r, AXIS_DESTINATION_PORT);
        r->action = below(m, 4) ? ACTION_DROP : ACTION_ACCEPT;
    } else if (kind < 98) {
        narrow(m, r, AXIS_FROM, zone, zone);
        put_prefix(m, r, AXIS_SOURCE, true);
        put_prefix(m, r, AXIS_DESTINATION, below(m, 2));
        put_port_range(m, r, below(m, 2) ? AXIS_SOURCE_PORT : AXIS_DESTINATION_PORT);
        r->action = below(m, 2) ? ACTION_ACCEPT : ACTION_DROP;
    } else if (below(m, 2)) {
        from_to(m, r, any_zone(m), any_zone(m));
        r->action = ACTION_REJECT;
    } else {
        const uint32_t port = below(m, 60000);
        narrow(m, r, AXIS_DESTINATION_PORT, port, port + below(m, 500));
        r->action = ACTION_DROP;
    }
}

/* State, and of each segment only its own addresses. */
static void standard_rule(struct maker *m, struct rule *r, uint32_t i)
{
    static const struct {
        enum conversation_state state;
        enum action action;
    } STATES[] = { { STATE_INVALID, ACTION_DROP }, { STATE_REPLY, ACTION_ACCEPT }, { STATE_RELATED, ACTION_ACCEPT } };
    if (i < RT_COUNT(STATES)) {
        narrow(m, r, AXIS_STATE, STATES[i].state, STATES[i].state);
        r->action = STATES[i].action;
        return;
    }
    const uint32_t segment = i - (uint32_t)RT_COUNT(STATES);
    const axis_value base = segment_base(m, segment),
                     last = base + (m->family == FAMILY_IPV4 ? (1U << HOST_BITS) - 1 : ~(uint64_t)0);
    const struct span own = { base, last };
    struct span copy = own;
    const span_list others = spans_others(m->a, (span_list){ &copy, 1 }, axis_max(AXIS_SOURCE, m->family), &m->failed);
    narrow(m, r, AXIS_FROM, ZONE_SEGMENT + segment, ZONE_SEGMENT + segment);
    match_narrow(m->a, &r->match, AXIS_SOURCE, others, &m->failed);
    r->action = ACTION_DROP;
}

struct table house_rules(struct arena *a, enum family family, struct rules_size size)
{
    struct maker m = { .a = a, .r = { .seed = 20, .stream = size.rules }, .family = family, .size = size };
    struct chain *chain = ARENA_NEW(a, struct chain);
    struct rule *v = ARENA_ARRAY(a, struct rule, size.rules);
    if (!chain || !v)
        abort();
    *chain = (struct chain){ .name = STR("forward"), .rules = { v, size.rules }, .policy = ACTION_DROP };
    for (uint32_t i = 0; i < size.rules; i++) {
        v[i] = (struct rule){ .number = i + 1, .families = 1U << family, .hours = { .i = NO_REF } };
        if (i < 3 + size.segments)
            standard_rule(&m, &v[i], i);
        else
            make_rule(&m, &v[i], i > size.rules / 2);
    }
    if (m.failed)
        abort();
    return (struct table){ .chains = { chain, 1 }, .n_rules = size.rules };
}

struct week_kind house_week(struct arena *a, uint32_t hours)
{
    struct random r = { .seed = 21 };
    struct week_kind w = { .n_minutes = 7 * 24 * 60, .hours = ARENA_ARRAY(a, span_list, HOUSE_HOURS_MAX) };
    bool failed = !w.hours;
    for (uint32_t i = 0; i < hours && !failed; i++) {
        struct span days[7];
        const uint32_t from = random_below(&r, 20) * 60, n = 1 + random_below(&r, 7), len = 60 + random_below(&r, 180);
        for (uint32_t d = 0; d < n; d++)
            days[d] = (struct span){ d * 24 * 60 + from, d * 24 * 60 + from + len };
        w.hours[i] = spans_tidy(a, days, n, &failed);
    }
    if (failed)
        abort();
    return w;
}

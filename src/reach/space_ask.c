/* space_ask.c - what one wants to know of a set: how many, an example, the values on an axis, the set without an axis. */
#include "reach/space_int.h"

/* ---- without some axes ---- */

/* The union of the branches of a node that is being made, halved so that large unions meet late. */
static packet_set union_of(struct space *s, uint32_t first, uint32_t n)
{
    if (n == 0)
        return SET_NONE;
    if (n == 1)
        return s->branches.v[first].to;
    return set_or(s, union_of(s, first, n / 2), union_of(s, first + n / 2, n - n / 2));
}

static packet_set forget(struct space *s, packet_set a, uint32_t which)
{
    if (is_end(a) || s->code)
        return a;
    packet_set out;
    if (cache_find(s, OP_FORGET, a, which, &out))
        return out;
    const struct node *node = node_at(s, a);
    const bool is_forgotten = s->forgotten.v[which] >> node->axis & 1;
    const uint32_t begin = node_begin(s);
    for (uint32_t i = 0; i < node->n; i++)
        node_branch(s, begin, node_hi(s, node, i), forget(s, node->to[i], which));
    if (is_forgotten) {
        out = union_of(s, begin, s->branches.n - begin);
        s->branches.n = begin;
    } else {
        out = node_end(s, begin, node->axis);
    }
    if (s->code)
        return SET_NONE;
    cache_put(s, OP_FORGET, a, which, out);
    return out;
}

packet_set set_forget(struct space *s, packet_set a, uint64_t axes)
{
    uint32_t which = 0;
    while (which < s->forgotten.n && s->forgotten.v[which] != axes)
        which++;
    if (which == s->forgotten.n && !VEC_PUSH(s->run->arena, &s->forgotten, axes))
        return space_fail(s, RT_NOMEM);
    return forget(s, a, which);
}

span_list set_values(struct space *s, packet_set a, uint32_t axis, bool *failed)
{
    span_list out = { 0 };
    a = set_forget(s, a, ~((uint64_t)1 << axis));
    if (s->code) {
        *failed = true;
        return out;
    }
    if (a == SET_NONE)
        return out;
    const struct node *node = a == SET_ALL ? NULL : node_at(s, a);
    out.v = ARENA_ARRAY(s->run->arena, struct span, node ? node->n : 1);
    if (!out.v) {
        *failed = true;
        return out;
    }
    if (!node)
        out.v[out.n++] = (struct span){ 0, axis_max(axis, s->family) };
    for (uint32_t i = 0; node && i < node->n; i++)
        if (node->to[i] != SET_NONE)
            out.v[out.n++] = (struct span){ i ? node_hi(s, node, i - 1) + 1 : 0, node_hi(s, node, i) };
    return out;
}

/* ---- how many ---- */

double set_count(struct space *s, packet_set a)
{
    if (is_end(a) && a != SET_ALL)
        return 0.0;
    double count = is_end(a) ? 1.0 : node_at(s, a)->share;
    for (uint32_t axis = 0; axis < s->n_axes; axis++)
        count *= (double)axis_max(axis, s->family) + 1.0;
    return count;
}

uint32_t set_size(const struct space *s, packet_set a)
{
    struct arena *scratch = is_end(a) ? NULL : arena_new(s->scratch_limit);
    unsigned char *seen = scratch ? ARENA_ARRAY(scratch, unsigned char, s->n_nodes) : NULL;
    uint32_t n = 0;
    if (seen)
        /* what a node leads to was made before it */
        for (uint32_t i = (seen[a] = 1, a); i > SET_ALL; i--) {
            if (!seen[i])
                continue;
            n++;
            const struct node *node = node_at(s, i);
            for (uint32_t k = 0; k < node->n; k++)
                if (!is_end(node->to[k]))
                    seen[node->to[k]] = 1;
        }
    arena_free(scratch);
    return n;
}

/* ---- an example ---- */

/* Values that people know, tried in this order; then the least one, but for addresses (see below). */
struct liking {
    uint32_t n;
    axis_value v[12];
};

enum { MONDAY = 24 * 60, NOON = 12 * 60, TUESDAY_NOON = MONDAY + NOON, TCP = 6, UDP = 17, ICMP = 1, ICMPV6 = 58 };
enum { FIRST_PRIVATE_PORT = 49152 }; /* RFC 6335, section 6 */

static struct liking liked_values(const struct space *s, uint32_t axis, const struct packet *so_far)
{
    const axis_value protocol = so_far->at[AXIS_PROTOCOL];
    const bool has_ports = protocol == TCP || protocol == UDP, is_icmp = protocol == ICMP || protocol == ICMPV6;
    switch (axis) {
    case AXIS_FROM:
        return (struct liking){ 4, { ZONE_SEGMENT, ZONE_SEGMENT + 1, ZONE_INTERNET, ZONE_GATEWAY } };
    case AXIS_TO:
        return (struct liking){ 4, { ZONE_INTERNET, ZONE_SEGMENT, ZONE_SEGMENT + 1, ZONE_GATEWAY } };
    case AXIS_SOURCE_MAC: /* RFC 7042, section 2.1.2: for documentation */
        return (struct liking){ 1, { 0x00005e005317 } };
    case AXIS_SOURCE:
    case AXIS_DESTINATION: /* RFC 5737, RFC 3849: for documentation */
        if (s->family == FAMILY_IPV4)
            return (struct liking){ 1, { axis == AXIS_SOURCE ? 0xc0000217 : 0xcb007117 } };
        return (struct liking){ 1, { ((axis_value)0x20010db8 << 96) + (axis == AXIS_SOURCE ? 0x17 : 0x1017) } };
    case AXIS_PROTOCOL:
        return (struct liking){ 3, { TCP, UDP, s->family == FAMILY_IPV4 ? ICMP : ICMPV6 } };
    case AXIS_SOURCE_PORT:
        return has_ports ? (struct liking){ 4, { FIRST_PRIVATE_PORT + 1848, FIRST_PRIVATE_PORT, 32768, 1024 } }
                         : (struct liking){ 1, { 0 } };
    case AXIS_DESTINATION_PORT:
        return has_ports ? (struct liking){ 8, { protocol == TCP ? 443 : 53, 80, 443, 53, 22, 8080, 631, 1024 } }
                         : (struct liking){ 1, { 0 } };
    case AXIS_ICMP_TYPE: /* echo request: RFC 792, RFC 4443 */
        return (struct liking){ 1, { is_icmp ? (s->family == FAMILY_IPV4 ? 8 : 128) : 0 } };
    case AXIS_STATE:
        return (struct liking){ 3, { STATE_NEW, STATE_ESTABLISHED, STATE_REPLY } };
    case AXIS_MINUTE:
        return (struct liking){ 7,
                                { TUESDAY_NOON, TUESDAY_NOON + MONDAY, TUESDAY_NOON + 2 * MONDAY, NOON,
                                  TUESDAY_NOON + 3 * MONDAY, TUESDAY_NOON + 4 * MONDAY, TUESDAY_NOON + 5 * MONDAY } };
    default: /* no mark, in no named set */
        return (struct liking){ 1, { 0 } };
    }
}

/* A value of the span that a device might bear: no network's or gateway's own address, no group MAC address, the middle of
 * a stretch of hours. */
static axis_value plain_value(uint32_t axis, struct span in)
{
    const axis_value width = in.hi - in.lo;
    switch (axis) {
    case AXIS_SOURCE:
    case AXIS_DESTINATION:
        return in.lo + (width > 0x40 ? 0x17 : width > 2 ? 2 : width / 2);
    case AXIS_SOURCE_MAC:
        return in.lo == 0 && width ? (width > 0x17 ? 0x17 : width) : in.lo;
    case AXIS_MINUTE:
        return in.lo + width / 2;
    default:
        return in.lo;
    }
}

/* The branch to take from a node, and the value. */
static uint32_t choose(const struct space *s, const struct node *node, const struct packet *so_far, axis_value *value)
{
    const struct liking liking = liked_values(s, node->axis, so_far);
    for (uint32_t k = 0; k < liking.n; k++)
        for (uint32_t i = 0; i < node->n; i++)
            if (node->to[i] != SET_NONE && liking.v[k] <= node_hi(s, node, i) &&
                (i == 0 || liking.v[k] > node_hi(s, node, i - 1))) {
                *value = liking.v[k];
                return i;
            }
    uint32_t i = 0;
    while (node->to[i] == SET_NONE)
        i++;
    *value = plain_value(node->axis, (struct span){ i ? node_hi(s, node, i - 1) + 1 : 0, node_hi(s, node, i) });
    return i;
}

bool set_witness(const struct space *s, packet_set a, struct packet *out)
{
    if (is_end(a) && a != SET_ALL)
        return false;
    *out = (struct packet){ .family = s->family };
    for (uint32_t axis = 0; axis < s->n_axes; axis++) {
        axis_value value = 0;
        if (axis_of(s, a) == axis) {
            /* whatever leads on does not end in vain: a set without packets is SET_NONE itself */
            const struct node *node = node_at(s, a);
            a = node->to[choose(s, node, out, &value)];
        } else {
            value = liked_values(s, axis, out).v[0];
        }
        if (axis < AXIS_NAMED)
            out->at[axis] = value;
        else
            out->named |= (uint64_t)value << (axis - AXIS_NAMED);
    }
    return true;
}

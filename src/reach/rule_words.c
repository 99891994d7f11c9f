#include "reach/rule_words.h"

#include "base/units.h"

const char *rule_action_name(enum action action)
{
    static const char *const NAMES[] = {
        [ACTION_ACCEPT] = "accept", [ACTION_DROP] = "drop",     [ACTION_REJECT] = "reject",     [ACTION_JUMP] = "jump",
        [ACTION_GOTO] = "goto",     [ACTION_RETURN] = "return", [ACTION_CONTINUE] = "continue",
    };
    return NAMES[action];
}

void rule_put_states(struct buf *out, const struct rule *r)
{
    static const char *const STATES[STATE_COUNT] = { "new", "established", "reply", "related", "invalid", "untracked" };
    const span_list *in = match_on(&r->match, AXIS_STATE);
    uint32_t n = 0;
    for (unsigned s = 0; in && s < STATE_COUNT; s++)
        if (spans_hold(*in, s))
            buf_printf(out, "%s%s", n++ ? " " : "", STATES[s]);
}

static bool is_zone(uint32_t axis) { return axis == AXIS_FROM || axis == AXIS_TO; }
static bool is_address(uint32_t axis) { return axis == AXIS_SOURCE || axis == AXIS_DESTINATION; }
static enum family family_of(const struct rule *r)
{
    return r->families == 1U << FAMILY_IPV4 ? FAMILY_IPV4 : FAMILY_IPV6;
}

static void put_value(struct buf *b, const struct address_plan *plan, const struct rule *r, uint32_t axis, axis_value v)
{
    if (is_zone(axis))
        buf_str(b, zone_id(plan, (uint32_t)v));
    else if (is_address(axis))
        address_write(b, family_of(r), v);
    else if (axis == AXIS_SOURCE_MAC)
        mac_write(b, v);
    else if (axis == AXIS_PROTOCOL && ip_protocol_name((enum ip_protocol)v))
        buf_text(b, ip_protocol_name((enum ip_protocol)v));
    else
        buf_printf(b, "%llu", (unsigned long long)v);
}

static void put_range(struct buf *b, const struct address_plan *plan, const struct rule *r, uint32_t axis,
                      struct span s)
{
    put_value(b, plan, r, axis, s.lo);
    if (s.hi == s.lo)
        return;
    buf_char(b, '-');
    put_value(b, plan, r, axis, s.hi);
}

void rule_put_axis(struct buf *out, const struct address_plan *plan, const struct rule *r, uint32_t axis)
{
    const span_list *in = match_on(&r->match, axis);
    uint32_t n = 0;
    for (uint32_t i = 0; in && i < in->n; i++) {
        const struct span s = in->v[i];
        if (!is_zone(axis)) {
            buf_text(out, n++ ? " " : "");
            put_range(out, plan, r, axis, s);
        }
        for (axis_value v = s.lo; is_zone(axis) && v <= s.hi && v < plan->n_zones; v++) { /* names have no ranges */
            buf_text(out, n++ ? " " : "");
            put_value(out, plan, r, axis, v);
        }
    }
}

/* ---- for people ---- */

/* How many words it takes: a zone each, a block or a single value one, another range two. */
static bool is_block(struct span s) { return ((s.hi - s.lo) & (s.hi - s.lo + 1)) == 0 && (s.lo & (s.hi - s.lo)) == 0; }

static uint32_t effort(const struct address_plan *plan, uint32_t axis, span_list in)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < in.n; i++) {
        const axis_value end = in.v[i].hi < plan->n_zones ? in.v[i].hi : plan->n_zones - 1;
        if (is_zone(axis))
            n += in.v[i].lo <= end ? (uint32_t)(end - in.v[i].lo) + 1 : 0;
        else
            n += is_block(in.v[i]) ? 1 : 2;
    }
    return n;
}

static unsigned prefix_len(enum family family, struct span s)
{
    unsigned len = family == FAMILY_IPV4 ? 32 : 128;
    for (axis_value rest = s.hi - s.lo; rest; rest >>= 1)
        len--;
    return len;
}

/* The largest block that begins at lo and ends within hi. */
static struct span first_block(struct span s)
{
    axis_value less_1 = 0; /* its size less 1 */
    for (;;) {
        const axis_value next = less_1 << 1 | 1;
        if (next == less_1 || (s.lo & next) != 0 || s.hi - s.lo < next)
            return (struct span){ s.lo, s.lo + less_1 };
        less_1 = next;
    }
}

enum { FEW_BLOCKS = 3 };

static bool is_few_blocks(struct span s)
{
    for (unsigned n = 1; n <= FEW_BLOCKS; n++) {
        const axis_value end = first_block(s).hi;
        if (end == s.hi)
            return true;
        s.lo = end + 1;
    }
    return false;
}

static void put_addresses(struct buf *b, enum family family, struct span s)
{
    const bool has_blocks = is_few_blocks(s);
    for (;;) {
        const struct span block = has_blocks ? first_block(s) : s;
        if (has_blocks && block.lo != block.hi) {
            prefix_write(b, (struct prefix){ family, block.lo, prefix_len(family, block), true });
        } else {
            address_write(b, family, block.lo);
            if (block.lo != block.hi) {
                buf_char(b, '-');
                address_write(b, family, block.hi);
            }
        }
        if (block.hi == s.hi)
            return;
        s.lo = block.hi + 1;
        buf_text(b, ", ");
    }
}

static uint32_t device_of(const struct address_plan *plan, axis_value mac)
{
    for (uint32_t d = 0; d < plan->h->devices.n; d++)
        if (plan->devices[d].zone != NO_REF && plan->devices[d].mac == mac)
            return d;
    return NO_REF;
}

/* With the device it is of; of one that is not known yet the device alone, since its stand-in is nobody's. */
static void put_macs(struct buf *b, const struct address_plan *plan, const struct rule *r, struct span s)
{
    for (uint32_t d; s.lo <= s.hi && (d = device_of(plan, s.lo)) != NO_REF; s.lo++) {
        const struct str id = plan->h->devices.v[d].id;
        if (plan->devices[d].mac_is_stand_in)
            buf_printf(b, "that of %.*s", STR_ARG(id));
        else
            mac_write(b, s.lo);
        buf_text(b, s.lo < s.hi ? ", " : "");
    }
    if (s.lo <= s.hi)
        put_range(b, plan, r, AXIS_SOURCE_MAC, s);
}

static void put_words(struct buf *b, const struct address_plan *plan, const struct rule *r, uint32_t axis, span_list in)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < in.n; i++)
        for (axis_value v = in.v[i].lo; is_zone(axis) && v <= in.v[i].hi && v < plan->n_zones; v++) {
            const bool has_id = v >= ZONE_SEGMENT;
            buf_text(b, n++ ? ", " : "");
            buf_str(b, has_id ? zone_id(plan, (uint32_t)v) : zone_words(plan, (uint32_t)v));
        }
    const bool has_both = r->families == (1U << FAMILY_IPV4 | 1U << FAMILY_IPV6);
    for (uint32_t i = 0; i < in.n && is_address(axis) && has_both && in.v[i].hi <= UINT32_MAX; i++) {
        buf_text(b, n++ ? ", " : "");
        put_addresses(b, FAMILY_IPV4, in.v[i]); /* the same number means one in each version */
    }
    for (uint32_t i = 0; i < in.n && !is_zone(axis); i++) {
        buf_text(b, n++ ? ", " : "");
        if (is_address(axis))
            put_addresses(b, family_of(r), in.v[i]);
        else if (axis == AXIS_SOURCE_MAC)
            put_macs(b, plan, r, in.v[i]);
        else
            put_range(b, plan, r, axis, in.v[i]);
    }
}

/* Who began the conversations that bear a mark. */
static void put_marks(struct buf *b, const struct policy *policy, span_list in)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < policy->marks.n; i++)
        for (uint32_t k = 0; spans_hold(in, policy->marks.v[i].value) && k < policy->marks.v[i].devices.n; k++)
            buf_printf(b, "%s%.*s", n++ ? ", " : "", STR_ARG(policy->h->devices.v[policy->marks.v[i].devices.v[k]].id));
}

/* What it matches or what it does not, whichever is shorter. */
static span_list shorter(struct arena *a, const struct address_plan *plan, const struct rule *r, uint32_t axis,
                         bool *negates, bool *failed)
{
    const span_list in = *match_on(&r->match, axis);
    const span_list others = spans_others(a, in, axis_max(axis, family_of(r)), failed);
    *negates = others.n && effort(plan, axis, others) < effort(plan, axis, in);
    return *negates ? others : in;
}

bool rule_put_axis_words(struct buf *out, const struct policy *policy, const struct rule *r, uint32_t axis,
                         bool *failed)
{
    bool negates;
    if (!match_on(&r->match, axis))
        return false;
    if (axis == AXIS_MARK) {
        put_marks(out, policy, *match_on(&r->match, axis));
        return true;
    }
    const span_list in = shorter(out->arena, policy->plan, r, axis, &negates, failed);
    buf_text(out, negates ? "any but " : "");
    put_words(out, policy->plan, r, axis, in);
    return true;
}

bool rule_has_stand_in(struct arena *a, const struct address_plan *plan, const struct rule *r, bool *failed)
{
    bool negates;
    if (!match_on(&r->match, AXIS_SOURCE_MAC))
        return false;
    const span_list in = shorter(a, plan, r, AXIS_SOURCE_MAC, &negates, failed);
    for (uint32_t d = 0; d < plan->h->devices.n; d++)
        if (plan->devices[d].zone != NO_REF && plan->devices[d].mac_is_stand_in && spans_hold(in, plan->devices[d].mac))
            return true;
    return false;
}

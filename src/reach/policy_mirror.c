/* Answers, where hours close.
 *
 * Answers pass by one rule, since what they answer is judged anew with each packet.  But one side's packets alone may still do
 * what an hour forbids (pictures that run on, a file that comes down), so the rules that bear hours are mirrored: zones,
 * addresses and ports change places, and a sending device, which an answer does not name by MAC address, is known by the mark
 * that its conversation got when it began.
 *
 * The mirror keeps the order.  Of the other rules it needs those that let through what a rule with hours would cut; and where a
 * rule allows at hours only, a last rule cuts what no other has let through.  Rules that refuse at all hours cut what would be
 * answered, and need a mirror only where a rule before them allows at hours and one behind them would let the answers through. */
#include "reach/policy_int.h"

static bool has_hours(const struct rule *r) { return r->hours.i != NO_REF; }

/* ---- which rules ---- */

/* Must rule k, which allows at all times, be mirrored for the sake of rule h, which has hours? */
static bool is_needed_for(struct compiler *c, uint32_t k, uint32_t h)
{
    const struct rule *rules = c->chains[CHAIN_THROUGH].v;
    return has_hours(&rules[h]) && (k < h || rules[h].action == ACTION_ACCEPT) &&
           policy_overlap(c, &rules[k], &rules[h]);
}

static bool is_mirrored_accept(struct compiler *c, uint32_t k)
{
    const struct rule *r = &c->chains[CHAIN_THROUGH].v[k];
    if (r->action != ACTION_ACCEPT)
        return false;
    for (uint32_t h = 0; h < c->chains[CHAIN_THROUGH].n && !has_hours(r); h++)
        if (is_needed_for(c, k, h))
            return true;
    return has_hours(r);
}

static bool is_behind_hours(struct compiler *c, uint32_t k, uint32_t h)
{
    const struct rule *rules = c->chains[CHAIN_THROUGH].v;
    return has_hours(&rules[h]) && rules[h].action == ACTION_ACCEPT && policy_overlap(c, &rules[h], &rules[k]);
}

/* Does rule k, which refuses at all times, stand between a rule that allows at hours and a mirrored one that allows? */
static bool stands_between(struct compiler *c, uint32_t k)
{
    const struct rule *rules = c->chains[CHAIN_THROUGH].v;
    bool is_behind = false, is_before = false;
    for (uint32_t h = 0; h < k && !is_behind; h++)
        is_behind = is_behind_hours(c, k, h);
    for (uint32_t j = k + 1; j < c->chains[CHAIN_THROUGH].n && is_behind && !is_before; j++)
        is_before = policy_overlap(c, &rules[j], &rules[k]) && is_mirrored_accept(c, j);
    return is_before;
}

static bool is_mirrored(struct compiler *c, uint32_t k)
{
    const struct rule *r = &c->chains[CHAIN_THROUGH].v[k];
    return has_hours(r) || (r->action == ACTION_ACCEPT ? is_mirrored_accept(c, k) : stands_between(c, k));
}

/* ---- marks ---- */

/* Devices of which no mirrored rule speaks without the others share a mark: classes are split rule by rule. */
static void split_classes(struct compiler *c, const struct rule *r, uint32_t *class_of, uint32_t *n_classes)
{
    const span_list *macs = match_on(&r->match, AXIS_SOURCE_MAC), *from = match_on(&r->match, AXIS_FROM);
    uint32_t *becomes = macs ? ARENA_ARRAY(c->a, uint32_t, (size_t)*n_classes + 1) : NULL;
    if (!macs)
        return;
    if (!becomes) {
        c->failed = true;
        return;
    }
    const uint32_t n = *n_classes;
    for (uint32_t d = 0; d < c->h->devices.n; d++) {
        const struct device_plan *plan = &c->plan->devices[d];
        if (plan->zone == NO_REF || (from && !spans_hold(*from, plan->zone)) || !spans_hold(*macs, plan->mac))
            continue;
        const uint32_t was = class_of[d];
        if (was <= n && !becomes[was])
            becomes[was] = ++*n_classes;
        class_of[d] = becomes[was];
    }
}

/* Classes in the order of their first device, with numbers from 1. */
static void make_marks(struct compiler *c, const uint32_t *class_of, uint32_t n_classes)
{
    uint32_t *mark_of_class = ARENA_ARRAY(c->a, uint32_t, (size_t)n_classes + 1);
    if (!mark_of_class) {
        c->failed = true;
        return;
    }
    for (uint32_t d = 0; d < c->h->devices.n; d++) {
        if (!class_of[d])
            continue;
        uint32_t *mark = &mark_of_class[class_of[d]];
        if (!*mark) {
            const struct mark m = { .value = c->marks.n + 1,
                                    .devices.v = ARENA_ARRAY(c->a, uint32_t, c->h->devices.n) };
            if (!m.devices.v || !VEC_PUSH(c->a, &c->marks, m)) {
                c->failed = true;
                return;
            }
            *mark = m.value;
        }
        index_list *devices = &c->marks.v[*mark - 1].devices;
        devices->v[devices->n++] = d;
        c->mark_of[d] = *mark;
    }
}

static void assign_marks(struct compiler *c)
{
    uint32_t *class_of = ARENA_ARRAY(c->a, uint32_t, c->h->devices.n), n_classes = 0;
    if (!class_of) {
        c->failed = true;
        return;
    }
    for (uint32_t k = 0; k < c->chains[CHAIN_THROUGH].n && !c->failed; k++)
        if (is_mirrored(c, k))
            split_classes(c, &c->chains[CHAIN_THROUGH].v[k], class_of, &n_classes);
    if (!c->failed)
        make_marks(c, class_of, n_classes);
}

/* ---- the mirror ---- */

static span_list marks_of(struct compiler *c, const struct rule *r)
{
    const span_list *macs = match_on(&r->match, AXIS_SOURCE_MAC), *from = match_on(&r->match, AXIS_FROM);
    span_list out = { 0 };
    for (uint32_t d = 0; d < c->h->devices.n; d++) {
        const struct device_plan *plan = &c->plan->devices[d];
        if (plan->zone == NO_REF || (from && !spans_hold(*from, plan->zone)) || !spans_hold(*macs, plan->mac))
            continue;
        policy_add_span(c, &out, c->mark_of[d], c->mark_of[d]);
    }
    return out;
}

/* Types of answers to the types asked for: echo, timestamp, address mask (RFC 792, RFC 950); echo (RFC 4443); node information
 * (RFC 4620). */
static span_list answered_types(struct compiler *c, span_list asked, unsigned families)
{
    static const struct {
        unsigned family;
        uint8_t asked, answer;
    } TYPES[] = { { IPV4, 8, 0 }, { IPV4, 13, 14 }, { IPV4, 17, 18 }, { IPV6, 128, 129 }, { IPV6, 139, 140 } };
    struct span v[RT_COUNT(TYPES)];
    uint32_t n = 0;
    for (size_t i = 0; i < RT_COUNT(TYPES); i++)
        if (families & TYPES[i].family && spans_hold(asked, TYPES[i].asked))
            v[n++] = (struct span){ TYPES[i].answer, TYPES[i].answer };
    return spans_tidy(c->a, v, n, &c->failed);
}

static uint32_t mirrored_axis(uint32_t axis)
{
    switch (axis) {
    case AXIS_FROM:
        return AXIS_TO;
    case AXIS_TO:
        return AXIS_FROM;
    case AXIS_SOURCE:
        return AXIS_DESTINATION;
    case AXIS_DESTINATION:
        return AXIS_SOURCE;
    case AXIS_SOURCE_PORT:
        return AXIS_DESTINATION_PORT;
    case AXIS_DESTINATION_PORT:
        return AXIS_SOURCE_PORT;
    case AXIS_SOURCE_MAC:
        return AXIS_MARK;
    default:
        return axis;
    }
}

/* Adds the mirror of a rule; nothing when it has no answers. */
static void mirror(struct compiler *c, const struct rule *r, enum action action, struct ref hours)
{
    struct match m = { 0 };
    for (uint32_t i = 0; i < r->match.terms.n; i++) {
        const struct term *t = &r->match.terms.v[i];
        span_list in = t->in;
        if (t->axis == AXIS_SOURCE_MAC)
            in = marks_of(c, r);
        else if (t->axis == AXIS_ICMP_TYPE)
            in = answered_types(c, t->in, r->families);
        if (in.n == 0)
            return;
        policy_in(c, &m, mirrored_axis(t->axis), in);
    }
    struct rule *out = policy_rule(c, CHAIN_ANSWERS, r->families, action, "Answers: %.*s", STR_ARG(r->says));
    policy_from(out, r->origin, r->which, r->at);
    out->match = m;
    out->hours = hours;
}

static const struct ref ALWAYS = { .i = NO_REF };

/* Of a rule that refuses at all times: what it shares with those before it that allow at hours.  There all that allows is mirrored
 * too; elsewhere it would cut answers that an unmirrored rule lets through. */
static void mirror_between(struct compiler *c, uint32_t k)
{
    const bool is_between = stands_between(c, k);
    for (uint32_t h = 0; h < k && is_between && !c->failed; h++) {
        if (!is_behind_hours(c, k, h))
            continue;
        const struct rule *other = &c->chains[CHAIN_THROUGH].v[h];
        struct rule r = c->chains[CHAIN_THROUGH].v[k];
        r.families &= other->families;
        for (uint32_t i = 0; i < other->match.terms.n; i++)
            policy_in(c, &r.match, other->match.terms.v[i].axis, other->match.terms.v[i].in);
        mirror(c, &r, ACTION_DROP, ALWAYS);
    }
}

void policy_answers(struct compiler *c)
{
    assign_marks(c);
    const uint32_t n = c->chains[CHAIN_THROUGH].n;
    for (uint32_t k = 0; k < n && !c->failed; k++) {
        const struct rule r = c->chains[CHAIN_THROUGH].v[k];
        if (r.action != ACTION_ACCEPT && !has_hours(&r))
            mirror_between(c, k);
        else if (is_mirrored(c, k))
            mirror(c, &r, r.action == ACTION_ACCEPT ? ACTION_ACCEPT : ACTION_DROP, r.hours);
    }
    for (uint32_t k = 0; k < n && !c->failed; k++) {
        const struct rule r = c->chains[CHAIN_THROUGH].v[k];
        if (has_hours(&r) && r.action == ACTION_ACCEPT)
            mirror(c, &r, ACTION_DROP, ALWAYS);
    }
    static const char SAYS[] = "Answers come back";
    if (c->chains[CHAIN_ANSWERS].n) {
        policy_rule(c, CHAIN_ANSWERS, BOTH_FAMILIES, ACTION_ACCEPT, SAYS);
        struct rule *r = policy_rule(c, CHAIN_START, BOTH_FAMILIES, ACTION_JUMP, "Answers, as the hours allow");
        policy_is(c, &r->match, AXIS_STATE, STATE_REPLY);
        r->chain = CHAIN_ANSWERS;
    } else {
        struct rule *r = policy_rule(c, CHAIN_START, BOTH_FAMILIES, ACTION_ACCEPT, SAYS);
        policy_is(c, &r->match, AXIS_STATE, STATE_REPLY);
    }
}

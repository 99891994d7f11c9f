#include "reach/packet.h"

#include <stdlib.h>

axis_value axis_max(uint32_t axis, enum family family)
{
    switch (axis) {
    case AXIS_FROM:
    case AXIS_TO:
        return UINT16_MAX;
    case AXIS_SOURCE_MAC:
        return ((axis_value)1 << 48) - 1;
    case AXIS_SOURCE:
    case AXIS_DESTINATION:
        return family == FAMILY_IPV4 ? UINT32_MAX : ~(axis_value)0;
    case AXIS_PROTOCOL:
    case AXIS_ICMP_TYPE:
        return UINT8_MAX;
    case AXIS_SOURCE_PORT:
    case AXIS_DESTINATION_PORT:
        return UINT16_MAX;
    case AXIS_STATE:
        return STATE_COUNT - 1;
    case AXIS_MARK:
        return UINT32_MAX;
    case AXIS_MINUTE:
        return 8 * 24 * 60 - 1; /* the longest week: seven days and a clock put back */
    default:
        return 1;
    }
}

const char *axis_name(uint32_t axis)
{
    static const char *const NAMES[AXIS_NAMED] = {
        [AXIS_FROM] = "from",
        [AXIS_TO] = "to",
        [AXIS_SOURCE_MAC] = "sender's MAC address",
        [AXIS_SOURCE] = "source address",
        [AXIS_DESTINATION] = "destination address",
        [AXIS_PROTOCOL] = "protocol",
        [AXIS_SOURCE_PORT] = "source port",
        [AXIS_DESTINATION_PORT] = "destination port",
        [AXIS_ICMP_TYPE] = "ICMP type",
        [AXIS_STATE] = "state",
        [AXIS_MARK] = "mark",
        [AXIS_MINUTE] = "minute of the week",
    };
    return axis < AXIS_NAMED ? NAMES[axis] : "named set";
}

/* ---- spans ---- */

static int by_lo(const void *a, const void *b)
{
    const struct span *x = a, *y = b;
    if (x->lo != y->lo)
        return x->lo < y->lo ? -1 : 1;
    return x->hi < y->hi ? -1 : x->hi > y->hi;
}

static struct span *room_for(struct arena *a, uint32_t n, bool *failed)
{
    struct span *v = ARENA_ARRAY(a, struct span, n);
    if (!v)
        *failed = true;
    return v;
}

span_list spans_tidy(struct arena *a, const struct span *v, uint32_t n, bool *failed)
{
    span_list out = { 0 };
    if (n == 0 || !(out.v = room_for(a, n, failed)))
        return out;
    for (uint32_t i = 0; i < n; i++)
        out.v[i] = v[i];
    qsort(out.v, n, sizeof *out.v, by_lo);
    for (uint32_t i = 0; i < n; i++) {
        struct span *last = out.n ? &out.v[out.n - 1] : NULL;
        /* written so that hi + 1 cannot overflow */
        if (last && (out.v[i].lo <= last->hi || out.v[i].lo - last->hi == 1)) {
            if (out.v[i].hi > last->hi)
                last->hi = out.v[i].hi;
        } else {
            out.v[out.n++] = out.v[i];
        }
    }
    return out;
}

span_list spans_join(struct arena *a, span_list x, span_list y, bool *failed)
{
    struct span *both = room_for(a, x.n + y.n, failed);
    if (!both)
        return (span_list){ 0 };
    for (uint32_t i = 0; i < x.n; i++)
        both[i] = x.v[i];
    for (uint32_t i = 0; i < y.n; i++)
        both[x.n + i] = y.v[i];
    return spans_tidy(a, both, x.n + y.n, failed);
}

span_list spans_common(struct arena *a, span_list x, span_list y, bool *failed)
{
    /* each step leaves one span of x or y behind, so there are at most this many pieces */
    span_list out = { room_for(a, x.n + y.n, failed), 0 };
    if (!out.v)
        return out;
    for (uint32_t i = 0, k = 0; i < x.n && k < y.n;) {
        const axis_value lo = x.v[i].lo > y.v[k].lo ? x.v[i].lo : y.v[k].lo;
        const axis_value hi = x.v[i].hi < y.v[k].hi ? x.v[i].hi : y.v[k].hi;
        if (lo <= hi)
            out.v[out.n++] = (struct span){ lo, hi };
        if (x.v[i].hi < y.v[k].hi)
            i++;
        else
            k++;
    }
    return out;
}

span_list spans_others(struct arena *a, span_list x, axis_value max, bool *failed)
{
    span_list out = { room_for(a, x.n + 1, failed), 0 };
    if (!out.v)
        return out;
    axis_value next = 0;
    for (uint32_t i = 0; i < x.n; i++) {
        if (x.v[i].lo > next)
            out.v[out.n++] = (struct span){ next, x.v[i].lo - 1 };
        if (x.v[i].hi >= max)
            return out;
        next = x.v[i].hi + 1;
    }
    out.v[out.n++] = (struct span){ next, max };
    return out;
}

bool spans_hold(span_list x, axis_value value)
{
    uint32_t lo = 0, hi = x.n; /* the first span that ends at or behind the value */
    while (lo < hi) {
        const uint32_t mid = lo + (hi - lo) / 2;
        if (x.v[mid].hi < value)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo < x.n && x.v[lo].lo <= value;
}

bool spans_equal(span_list x, span_list y)
{
    if (x.n != y.n)
        return false;
    for (uint32_t i = 0; i < x.n; i++)
        if (x.v[i].lo != y.v[i].lo || x.v[i].hi != y.v[i].hi)
            return false;
    return true;
}

/* ---- matches ---- */

void match_narrow(struct arena *a, struct match *m, uint32_t axis, span_list in, bool *failed)
{
    uint32_t i = 0;
    while (i < m->terms.n && m->terms.v[i].axis < axis)
        i++;
    if (i < m->terms.n && m->terms.v[i].axis == axis) {
        /* the terms may be shared with another match: never written in place */
        in = spans_common(a, m->terms.v[i].in, in, failed);
    }
    const bool is_there = i < m->terms.n && m->terms.v[i].axis == axis;
    struct term *v = ARENA_ARRAY(a, struct term, m->terms.n + 1);
    if (!v) {
        *failed = true;
        return;
    }
    for (uint32_t k = 0; k < i; k++)
        v[k] = m->terms.v[k];
    v[i] = (struct term){ axis, in };
    for (uint32_t k = i + is_there; k < m->terms.n; k++)
        v[k + 1 - is_there] = m->terms.v[k];
    m->terms.v = v;
    m->terms.n += !is_there;
}

void match_narrow_to(struct arena *a, struct match *m, uint32_t axis, axis_value lo, axis_value hi, bool *failed)
{
    struct span *one = room_for(a, 1, failed);
    if (!one)
        return;
    *one = (struct span){ lo, hi };
    match_narrow(a, m, axis, (span_list){ one, 1 }, failed);
}

const span_list *match_on(const struct match *m, uint32_t axis)
{
    for (uint32_t i = 0; i < m->terms.n; i++)
        if (m->terms.v[i].axis == axis)
            return &m->terms.v[i].in;
    return NULL;
}

bool match_holds(const struct match *m, const struct packet *p)
{
    for (uint32_t i = 0; i < m->terms.n; i++) {
        const struct term *t = &m->terms.v[i];
        const axis_value value = t->axis < AXIS_NAMED ? p->at[t->axis] : (p->named >> (t->axis - AXIS_NAMED)) & 1;
        if (!spans_hold(t->in, value))
            return false;
    }
    return true;
}

/* ---- tables, run on one packet ---- */

enum { DEEPEST_JUMP = 64 }; /* the kernel stops at 16; a circle ends here */

struct walk {
    const struct table *table;
    const struct packet *packet;
    const bool *hours_hold;
    const struct rule *decided_by;
};

static bool rule_fits(const struct walk *w, const struct rule *r)
{
    if (!(r->families & (1U << w->packet->family)))
        return false;
    if (r->hours.i != NO_REF && !(w->hours_hold && w->hours_hold[r->hours.i]))
        return false;
    return match_holds(&r->match, w->packet);
}

/* ACCEPT, DROP or REJECT; RETURN when the chain decides nothing. */
static enum action walk_chain(struct walk *w, uint32_t chain, unsigned depth)
{
    const struct chain *c = &w->table->chains.v[chain];
    if (depth >= DEEPEST_JUMP)
        return ACTION_RETURN;
    bool is_over = false;
    for (uint32_t i = 0; i < c->rules.n && !is_over; i++) {
        const struct rule *r = &c->rules.v[i];
        if (!rule_fits(w, r))
            continue;
        switch (r->action) {
        case ACTION_ACCEPT:
        case ACTION_DROP:
        case ACTION_REJECT:
            w->decided_by = r;
            return r->action;
        case ACTION_JUMP:
        case ACTION_GOTO: {
            const enum action inner = walk_chain(w, r->chain, depth + 1);
            if (inner != ACTION_RETURN)
                return inner;
            is_over = r->action == ACTION_GOTO;
            break;
        }
        case ACTION_RETURN:
            is_over = true;
            break;
        case ACTION_CONTINUE:
            break;
        }
    }
    return c->policy;
}

const struct rule *table_run(const struct table *t, const struct packet *p, const bool *hours_hold, enum action *action)
{
    struct walk w = { t, p, hours_hold, NULL };
    const enum action a = walk_chain(&w, t->start, 0);
    *action = a == ACTION_RETURN ? ACTION_DROP : a;
    return w.decided_by;
}

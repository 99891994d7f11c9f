/* street_kit.h - sets of packets between a house and the internet: what a compiled table does with all of them, not with samples. */
#ifndef RT_STREET_KIT_H
#define RT_STREET_KIT_H

#include "reach/space.h"
#include "reach_kit.h"

struct street {
    struct reach r;
    struct space *s;
    struct judgement *j;
    packet_set passes;
    enum family family;
};

/* Judges a table in place of the street's own. */
static inline void street_judge(struct street *t, const struct table *table)
{
    CHECK_OK(&t->r.c, judge_table(t->s, table, NULL, &t->j, &t->r.c.problems));
    t->passes = judged_accept(t->j);
}

static inline struct street street_begin(const char *text, enum family f)
{
    struct street t = { .r = reach_compile(text), .family = f };
    struct run *run = ARENA_NEW(t.r.c.run.arena, struct run); /* the space keeps it, and the street moves */
    *run = t.r.c.run;
    CHECK_OK(&t.r.c, space_new(run, f, 0, &t.s, &t.r.c.problems));
    street_judge(&t, &t.r.policy->table);
    return t;
}

/* Fails the test when a set could not be made: then none of the answers counts. */
static inline void street_end(struct street *t)
{
    CHECK_OK(&t->r.c, space_state(t->s, &t->r.c.problems));
    reach_end(&t->r);
}

static inline packet_set on(struct street *t, uint32_t axis, axis_value lo, axis_value hi)
{
    struct match m = { 0 };
    bool failed = false;
    match_narrow_to(t->r.c.run.arena, &m, axis, lo, hi, &failed);
    CHECK("memory", !failed);
    return set_of(t->s, &m);
}

static inline packet_set is(struct street *t, uint32_t axis, axis_value value) { return on(t, axis, value, value); }

static inline packet_set in_prefix(struct street *t, uint32_t axis, struct prefix p)
{
    if (!p.is_given || p.family != t->family)
        return SET_NONE;
    return on(t, axis, prefix_span(p).lo, prefix_span(p).hi);
}

static inline packet_set within(struct street *t, uint32_t axis, const char *prefix)
{
    struct prefix p;
    CHECK(prefix, prefix_read(str_from(prefix), &p));
    return in_prefix(t, axis, p);
}

static inline packet_set both(struct street *t, packet_set a, packet_set b) { return set_and(t->s, a, b); }
static inline packet_set either(struct street *t, packet_set a, packet_set b) { return set_or(t->s, a, b); }

/* Segments and tunnels. */
static inline packet_set inner(struct street *t, uint32_t axis)
{
    return on(t, axis, ZONE_SEGMENT, t->r.plan->n_zones - 1);
}
static inline packet_set outward(struct street *t)
{
    return both(t, inner(t, AXIS_FROM), is(t, AXIS_TO, ZONE_INTERNET));
}
static inline packet_set inward(struct street *t)
{
    return both(t, is(t, AXIS_FROM, ZONE_INTERNET), inner(t, AXIS_TO));
}
static inline packet_set crossing_border(struct street *t) { return either(t, outward(t), inward(t)); }
/* Between zones of the house, and the internet; the gateway's own packets are not forwarded ones. */
static inline packet_set forwarded(struct street *t)
{
    return either(t, crossing_border(t), both(t, inner(t, AXIS_FROM), inner(t, AXIS_TO)));
}

/* Claims about sets; none holds of an empty set. */
static inline bool none_passes_of(struct street *t, packet_set of)
{
    return of != SET_NONE && both(t, t->passes, of) == SET_NONE;
}
static inline bool all_pass_of(struct street *t, packet_set of)
{
    return of != SET_NONE && set_minus(t->s, of, t->passes) == SET_NONE;
}
static inline bool some_pass_of(struct street *t, packet_set of) { return both(t, t->passes, of) != SET_NONE; }

/* What a zone may send from: its subnets; of a tunnel, its people's addresses. */
static inline packet_set own_sources(struct street *t, uint32_t zone)
{
    const uint32_t n = t->r.h->segments.n, i = zone - ZONE_SEGMENT;
    packet_set out = SET_NONE;
    if (i < n) {
        const struct segment_plan *s = &t->r.plan->segments[i];
        const struct prefix own[] = { s->ipv4, s->ula, s->global };
        for (size_t k = 0; k < RT_COUNT(own); k++)
            out = either(t, out, in_prefix(t, AXIS_SOURCE, own[k]));
        return out;
    }
    const struct tunnel_plan *tunnel = &t->r.plan->tunnels[i - n];
    for (uint32_t k = 0; k < tunnel->peers.n; k++)
        out = either(t, out,
                     is(t, AXIS_SOURCE, t->family == FAMILY_IPV4 ? tunnel->peers.v[k].ipv4 : tunnel->peers.v[k].ula));
    return out;
}

#endif

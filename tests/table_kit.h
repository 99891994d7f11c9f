/* table_kit.h - random rule tables and packets for tests and benchmarks: spans share their ends, so that rules overlap, touch,
 * hold and miss each other, and packets are drawn from the ends and the values beside them. */
#ifndef RT_TABLE_KIT_H
#define RT_TABLE_KIT_H

#include "base/random.h"
#include "reach/packet.h"
#include "reach/space.h"

enum { KIT_ENDS = 6, KIT_NAMED = 2, KIT_AXES = AXIS_NAMED + KIT_NAMED, KIT_HOURS = 2 };

struct kit {
    struct arena *arena;
    struct random *random;
    enum family family;
    axis_value ends[KIT_AXES][KIT_ENDS]; /* values of each axis that spans begin and end at */
    uint64_t axes;                       /* those that matches speak of */
    bool failed;
};

static inline axis_value kit_value(struct kit *k, uint32_t axis)
{
    const axis_value max = axis_max(axis, k->family);
    const axis_value wide = (axis_value)random_next(k->random) << 64 | random_next(k->random);
    switch (random_below(k->random, 4)) {
    case 0:
        return 0;
    case 1:
        return max;
    case 2: /* small, so that ends lie beside each other */
        return random_below(k->random, 5) % (max + 1 ? max + 1 : ~(axis_value)0);
    default:
        return max + 1 ? wide % (max + 1) : wide;
    }
}

static inline struct kit kit_new(struct arena *arena, struct random *r, enum family family, uint32_t n_axes)
{
    struct kit k = { .arena = arena, .random = r, .family = family };
    for (uint32_t axis = 0; axis < KIT_AXES; axis++)
        for (int i = 0; i < KIT_ENDS; i++)
            k.ends[axis][i] = kit_value(&k, axis);
    while (n_axes-- > 0)
        k.axes |= (uint64_t)1 << random_below(r, KIT_AXES);
    return k;
}

static inline span_list kit_spans(struct kit *k, uint32_t axis)
{
    struct span v[3];
    const uint32_t n = random_below(k->random, 12) ? 1 + random_below(k->random, 3) : 0;
    for (uint32_t i = 0; i < n; i++) {
        const axis_value a = k->ends[axis][random_below(k->random, KIT_ENDS)],
                         b = k->ends[axis][random_below(k->random, KIT_ENDS)];
        v[i] = (struct span){ a < b ? a : b, a < b ? b : a };
    }
    return spans_tidy(k->arena, v, n, &k->failed);
}

static inline struct match kit_match(struct kit *k)
{
    struct match m = { 0 };
    for (uint32_t axis = 0; axis < KIT_AXES; axis++)
        if (k->axes >> axis & 1 && random_below(k->random, 3))
            match_narrow(k->arena, &m, axis, kit_spans(k, axis), &k->failed);
    return m;
}

/* One of the ends, or a value beside it. */
static inline axis_value kit_near(struct kit *k, uint32_t axis)
{
    const axis_value max = axis_max(axis, k->family), at = k->ends[axis][random_below(k->random, KIT_ENDS)];
    const uint32_t side = random_below(k->random, 3);
    return side == 1 && at > 0 ? at - 1 : side == 2 && at < max ? at + 1 : at;
}

static inline struct packet kit_packet(struct kit *k)
{
    struct packet p = { .family = k->family };
    for (uint32_t axis = 0; axis < AXIS_NAMED; axis++)
        p.at[axis] = kit_near(k, axis);
    p.named = random_below(k->random, 1U << KIT_NAMED);
    return p;
}

/* Chains call only those behind them; the first is the base chain. */
static inline struct table kit_table(struct kit *k, uint32_t n_chains, uint32_t n_rules)
{
    struct table t = { .n_rules = n_rules };
    t.chains.v = ARENA_ARRAY(k->arena, struct chain, n_chains);
    t.chains.n = n_chains;
    for (uint32_t c = 0, number = 1; c < n_chains; c++) {
        struct chain *chain = &t.chains.v[c];
        const uint32_t n =
            c + 1 < n_chains ? random_below(k->random, (n_rules - number + 1) + 1) : n_rules - number + 1;
        chain->policy = c ? ACTION_RETURN : random_below(k->random, 2) ? ACTION_ACCEPT : ACTION_DROP;
        chain->rules.v = ARENA_ARRAY(k->arena, struct rule, n);
        for (; chain->rules.n < n; number++) {
            struct rule *r = &chain->rules.v[chain->rules.n++];
            *r = (struct rule){ .number = number, .match = kit_match(k), .hours = { .i = NO_REF } };
            r->families = random_below(k->random, 10) ? 1U << k->family | 1U : 1U << !k->family;
            if (random_below(k->random, 5) == 0)
                r->hours.i = random_below(k->random, KIT_HOURS);
            const uint32_t kind = random_below(k->random, 10);
            if (kind < 3 && c + 1 < n_chains) {
                r->action = kind < 2 ? ACTION_JUMP : ACTION_GOTO;
                r->chain = c + 1 + random_below(k->random, n_chains - c - 1);
            } else if (kind == 3 && n_chains > 1) {
                r->action = ACTION_RETURN;
            } else {
                r->action = kind == 4 ? ACTION_CONTINUE : (enum action)random_below(k->random, 3);
            }
        }
    }
    return t;
}

/* Hours that begin and end at the ends of the minutes. */
static inline struct week_kind kit_week(struct kit *k)
{
    struct week_kind w = { .n_minutes = 7 * 24 * 60, .hours = ARENA_ARRAY(k->arena, span_list, KIT_HOURS) };
    for (int i = 0; i < KIT_HOURS; i++)
        w.hours[i] = kit_spans(k, AXIS_MINUTE);
    return w;
}

static inline void kit_hours_at(const struct week_kind *w, const struct packet *p, bool hold[KIT_HOURS])
{
    for (int i = 0; i < KIT_HOURS; i++)
        hold[i] = spans_hold(w->hours[i], p->at[AXIS_MINUTE]);
}

#endif

#include "reach/difference.h"

/* ---- the other table, spoken in the first house's zones, addresses and names ---- */

struct mapping {
    struct arena *a;
    const struct address_plan *now, *other;
    uint32_t *zone;   /* of the other -> of the first, or behind its zones */
    uint32_t *named;  /* axes likewise */
    uint32_t n_zones; /* with those that only the other has */
    bool failed;
};

static uint32_t zone_by_id(const struct address_plan *plan, struct str id)
{
    for (uint32_t z = 0; z < plan->n_zones; z++)
        if (str_eq(zone_id(plan, z), id))
            return z;
    return NO_REF;
}

static void add_span(struct mapping *m, span_list *out, axis_value lo, axis_value hi)
{
    struct span one = { lo, hi };
    *out = spans_join(m->a, *out, (span_list){ &one, 1 }, &m->failed);
}

static span_list map_zones(struct mapping *m, span_list in, enum family family)
{
    span_list out = { 0 };
    for (uint32_t z = 0; z < m->other->n_zones; z++)
        if (spans_hold(in, z))
            add_span(m, &out, m->zone[z], m->zone[z]);
    const axis_value max = axis_max(AXIS_FROM, family);
    if (spans_hold(in, max)) { /* 'any zone' stays so for zones that only the first has */
        add_span(m, &out, m->n_zones, max);
        for (uint32_t z = 0; z < m->now->n_zones; z++)
            if (zone_by_id(m->other, zone_id(m->now, z)) == NO_REF)
                add_span(m, &out, z, z);
    }
    return out;
}

static const struct prefix *prefix_of(const struct address_plan *plan, uint32_t zone, uint32_t which)
{
    const uint32_t segment = zone - ZONE_SEGMENT;
    if (segment < plan->h->segments.n) {
        const struct segment_plan *s = &plan->segments[segment];
        const struct prefix *const all[] = { &s->ipv4, &s->ula, &s->global };
        return all[which];
    }
    const struct tunnel_plan *t = &plan->tunnels[segment - plan->h->segments.n];
    return which == 0 ? &t->ipv4 : which == 1 ? &t->ula : NULL;
}

/* Addresses of a segment keep their place within its subnet; all others stay. */
static span_list map_addresses(struct mapping *m, span_list in, enum family family)
{
    const axis_value max = axis_max(AXIS_SOURCE, family);
    span_list out = { 0 }, rest = in, taken = { 0 };
    for (uint32_t z = ZONE_SEGMENT; z < m->other->n_zones; z++)
        for (uint32_t which = 0; which < 3; which++) {
            const struct prefix *from = prefix_of(m->other, z, which);
            const struct prefix *to = m->zone[z] < m->now->n_zones ? prefix_of(m->now, m->zone[z], which) : NULL;
            if (!from || !to || !from->is_given || !to->is_given || from->family != family || from->base == to->base)
                continue;
            struct span old = prefix_span(*from), new = prefix_span(*to);
            const span_list part = spans_common(m->a, rest, (span_list){ &old, 1 }, &m->failed);
            for (uint32_t i = 0; i < part.n; i++) {
                const axis_value lo = part.v[i].lo - from->base + to->base, hi = part.v[i].hi - from->base + to->base;
                if (lo <= new.hi)
                    add_span(m, &out, lo, hi < new.hi ? hi : new.hi);
            }
            rest = spans_common(m->a, rest, spans_others(m->a, (span_list){ &old, 1 }, max, &m->failed), &m->failed);
            taken = spans_join(m->a, taken, (span_list){ &new, 1 }, &m->failed);
        }
    rest = spans_common(m->a, rest, spans_others(m->a, taken, max, &m->failed), &m->failed);
    return spans_join(m->a, out, rest, &m->failed);
}

static struct match map_match(struct mapping *m, const struct match *in, unsigned families)
{
    const enum family family = families == 1u << FAMILY_IPV6 ? FAMILY_IPV6 : FAMILY_IPV4;
    struct match out = { 0 };
    for (uint32_t i = 0; i < in->terms.n; i++) {
        const struct term *t = &in->terms.v[i];
        if (t->axis == AXIS_FROM || t->axis == AXIS_TO)
            match_narrow(m->a, &out, t->axis, map_zones(m, t->in, family), &m->failed);
        else if (t->axis == AXIS_SOURCE || t->axis == AXIS_DESTINATION)
            match_narrow(m->a, &out, t->axis, map_addresses(m, t->in, family), &m->failed);
        else
            match_narrow(m->a, &out, t->axis < AXIS_NAMED ? t->axis : m->named[t->axis - AXIS_NAMED], t->in,
                         &m->failed);
    }
    return out;
}

static bool map_begin(struct mapping *m, const struct table *now, const struct table *other, struct table *out)
{
    m->zone = ARENA_ARRAY(m->a, uint32_t, m->other->n_zones);
    m->named = ARENA_ARRAY(m->a, uint32_t, other->named.n);
    out->named.v = ARENA_ARRAY(m->a, struct str, now->named.n + other->named.n);
    if (!m->zone || !m->named || !out->named.v)
        return false;
    m->n_zones = m->now->n_zones;
    for (uint32_t z = 0; z < m->other->n_zones; z++) {
        const uint32_t same = zone_by_id(m->now, zone_id(m->other, z));
        m->zone[z] = same != NO_REF ? same : m->n_zones++;
    }
    for (uint32_t i = 0; i < now->named.n; i++)
        out->named.v[out->named.n++] = now->named.v[i];
    for (uint32_t i = 0; i < other->named.n; i++) {
        uint32_t k = 0;
        while (k < out->named.n && !str_eq(out->named.v[k], other->named.v[i]))
            k++;
        if (k == out->named.n)
            out->named.v[out->named.n++] = other->named.v[i];
        m->named[i] = AXIS_NAMED + k;
    }
    return true;
}

static struct table *map_table(struct mapping *m, const struct table *now, const struct table *other)
{
    struct table *out = ARENA_NEW(m->a, struct table);
    if (!out || !map_begin(m, now, other, out))
        return NULL;
    out->start = other->start;
    out->n_rules = other->n_rules;
    out->chains.n = other->chains.n;
    out->chains.v = ARENA_ARRAY(m->a, struct chain, other->chains.n);
    for (uint32_t c = 0; out->chains.v && c < other->chains.n; c++) {
        struct chain *to = &out->chains.v[c];
        *to = other->chains.v[c];
        to->rules.v = ARENA_ARRAY(m->a, struct rule, to->rules.n);
        if (!to->rules.v)
            return NULL;
        for (uint32_t r = 0; r < to->rules.n; r++) {
            to->rules.v[r] = other->chains.v[c].rules.v[r];
            to->rules.v[r].match = map_match(m, &to->rules.v[r].match, to->rules.v[r].families);
        }
    }
    return out->chains.v && !m->failed ? out : NULL;
}

/* ---- comparing ---- */

struct comparing {
    const struct run *run;
    struct proof *other; /* the other's table in the first house's words */
    struct difference *out;
    VEC(struct changed_pair) changes;
    const struct judgement *judged[2]; /* first, other */
    enum family family;
    bool failed;
};

static packet_set pair_of(struct comparing *c, uint32_t from, uint32_t to)
{
    struct match m = { 0 };
    struct arena *a = c->run->arena;
    match_narrow_to(a, &m, AXIS_FROM, from, from, &c->failed);
    match_narrow_to(a, &m, AXIS_TO, to, to, &c->failed);
    match_narrow_to(a, &m, AXIS_STATE, STATE_NEW, STATE_NEW, &c->failed);
    match_narrow_to(a, &m, AXIS_MINUTE, 0, 7 * 24 * 60 - 1, &c->failed);
    return set_and(c->other->spaces[c->family], set_of(c->other->spaces[c->family], &m), c->other->honest[c->family]);
}

static void compare_pair(struct comparing *c, uint32_t from, uint32_t to)
{
    struct space *s = c->other->spaces[c->family];
    const packet_set asks = pair_of(c, from, to);
    const packet_set now = set_and(s, asks, judged_accept(c->judged[0]));
    const packet_set other = set_and(s, asks, judged_accept(c->judged[1]));
    for (int opened = 1; opened >= 0; opened--) {
        const packet_set set = opened ? set_minus(s, now, other) : set_minus(s, other, now);
        struct changed_pair change = { .from = from, .to = to, .family = c->family, .is_opened = opened };
        if (!set_witness(s, set, &change.witness.packet))
            continue;
        change.services = set_service_words(c->run->arena, s, c->out->now->policy->h, set, asks, &c->failed);
        change.witness.is_found = true;
        change.witness.family = c->family;
        const struct policy *policy = (opened ? c->out->now : c->out->other)->policy;
        const struct rule *rule =
            judged_rule(c->judged[opened ? 0 : 1], &change.witness.packet, &change.witness.action);
        change.witness.rule = policy_rule_for(c->run->arena, policy, rule, &change.witness.packet, &c->failed);
        if (!VEC_PUSH(c->run->arena, &c->changes, change))
            c->failed = true;
    }
}

static str_list zones_only_in(struct arena *a, const struct address_plan *here, const struct address_plan *there,
                              bool *failed)
{
    str_list out = { ARENA_ARRAY(a, struct str, here->n_zones), 0 };
    if (!out.v) {
        *failed = true;
        return out;
    }
    for (uint32_t z = 0; z < here->n_zones; z++)
        if (zone_by_id(there, zone_id(here, z)) == NO_REF)
            out.v[out.n++] = zone_id(here, z);
    return out;
}

enum rt_code difference_make(struct proof *now, struct proof *other, struct difference **out, struct rt_problems *p)
{
    const struct run *run = now->run;
    struct mapping m = { .a = run->arena, .now = now->policy->plan, .other = other->policy->plan };
    struct table *table = map_table(&m, now->table, other->table);
    struct difference *d = ARENA_NEW(run->arena, struct difference);
    if (!table || !d)
        return rt_fail_memory(p);
    *d = (struct difference){ .now = now, .other = other };
    struct comparing c = { .run = run, .out = d };
    d->only_now = zones_only_in(run->arena, m.now, m.other, &c.failed);
    d->only_other = zones_only_in(run->arena, m.other, m.now, &c.failed);
    RT_TRY(proof_begin(run, now->policy, other->calendar, table, &c.other, p));
    for (int f = 0; f < FAMILY_COUNT; f++) {
        struct judgement *first;
        c.family = (enum family)f;
        RT_TRY(judge_table(c.other->spaces[f], now->table, &now->calendar->kinds.v[0], &first, p));
        c.judged[0] = first;
        RT_TRY(proof_judge(c.other, c.family, 0, &c.judged[1], p));
        for (uint32_t from = 0; from < m.now->n_zones; from++)
            for (uint32_t to = 0; to < m.now->n_zones; to++)
                if (from != to)
                    compare_pair(&c, from, to);
        RT_TRY(space_state(c.other->spaces[f], p));
    }
    d->changes.v = c.changes.v;
    d->changes.n = c.changes.n;
    *out = d;
    return c.failed ? rt_fail_memory(p) : RT_OK;
}

/* ---- written down ---- */

static const struct proof *decider(const struct difference *d, const struct changed_pair *c)
{
    return c->is_opened ? d->now : d->other;
}

void difference_write_json(struct json *j, const char *key, const struct difference *d)
{
    const struct address_plan *plan = d->now->policy->plan;
    json_begin_object(j, key);
    json_begin_array(j, "changes");
    for (uint32_t i = 0; i < d->changes.n; i++) {
        const struct changed_pair *c = &d->changes.v[i];
        json_begin_object(j, NULL);
        json_str(j, "from", zone_id(plan, c->from));
        json_str(j, "to", zone_id(plan, c->to));
        json_text(j, "family", c->family == FAMILY_IPV4 ? "ipv4" : "ipv6");
        json_text(j, "now", c->is_opened ? "allowed" : "refused");
        json_begin_array(j, "services");
        for (uint32_t k = 0; k < c->services.n; k++)
            json_str(j, NULL, c->services.v[k]);
        json_end_array(j);
        json_str(j, "witness", proof_packet_words(d->now, &c->witness));
        json_str(j, "rule", proof_rule_words(decider(d, c), c->witness.rule));
        json_end_object(j);
    }
    json_end_array(j);
    json_begin_array(j, "only_here");
    for (uint32_t i = 0; i < d->only_now.n; i++)
        json_str(j, NULL, d->only_now.v[i]);
    json_end_array(j);
    json_begin_array(j, "only_there");
    for (uint32_t i = 0; i < d->only_other.n; i++)
        json_str(j, NULL, d->only_other.v[i]);
    json_end_array(j);
    json_end_object(j);
}

void difference_write_text(struct buf *out, const struct difference *d)
{
    const struct address_plan *plan = d->now->policy->plan;
    if (d->changes.n == 0 && d->only_now.n == 0 && d->only_other.n == 0)
        buf_text(out, "  nothing: every packet fares the same\n");
    for (uint32_t i = 0; i < d->changes.n; i++) {
        const struct changed_pair *c = &d->changes.v[i];
        buf_printf(out, "  %-8s %.*s to %.*s (%s): ", c->is_opened ? "opened" : "closed",
                   STR_ARG(zone_id(plan, c->from)), STR_ARG(zone_id(plan, c->to)),
                   c->family == FAMILY_IPV4 ? "IPv4" : "IPv6");
        for (uint32_t k = 0; k < c->services.n; k++)
            buf_printf(out, "%s%.*s", k ? ", " : "", STR_ARG(c->services.v[k]));
        buf_printf(out, "\n           such as %.*s; %.*s\n", STR_ARG(proof_packet_words(d->now, &c->witness)),
                   STR_ARG(proof_rule_words(decider(d, c), c->witness.rule)));
    }
    for (uint32_t i = 0; i < d->only_now.n; i++)
        buf_printf(out, "  %.*s is in this house only\n", STR_ARG(d->only_now.v[i]));
    for (uint32_t i = 0; i < d->only_other.n; i++)
        buf_printf(out, "  %.*s is in the other house only\n", STR_ARG(d->only_other.v[i]));
}

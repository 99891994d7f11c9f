#include "reach/proof.h"

#include "data/address_blocks.h"

/* One family, one kind of week. */
struct view {
    struct proof *proof;
    struct space *s;
    struct arena *a;
    enum family family;
    uint32_t week;
    bool failed;
};

/* ---- honest packets ---- */

static span_list peer_addresses(struct arena *a, const struct tunnel_plan *t, enum family family, bool *failed)
{
    span_list all = { 0 };
    for (uint32_t i = 0; i < t->peers.n; i++) {
        const axis_value address = family == FAMILY_IPV4 ? t->peers.v[i].ipv4 : t->peers.v[i].ula;
        struct span one = { address, address };
        if (address)
            all = spans_join(a, all, (span_list){ &one, 1 }, failed);
    }
    return all;
}

/* Addresses that stations of the zone may have: its subnets less the network's, the broadcast's and the gateway's own; at the
 * end of a tunnel those of its people. */
static span_list zone_addresses(struct arena *a, const struct address_plan *plan, uint32_t zone, enum family family,
                                bool *failed)
{
    span_list all = { 0 };
    const uint32_t segment = zone - ZONE_SEGMENT;
    if (segment >= plan->h->segments.n)
        return peer_addresses(a, &plan->tunnels[segment - plan->h->segments.n], family, failed);
    const struct segment_plan *of = &plan->segments[segment];
    const struct prefix v4[] = { of->ipv4 }, v6[] = { of->ula, of->global };
    const struct prefix *prefixes = family == FAMILY_IPV4 ? v4 : v6;
    const uint32_t n = family == FAMILY_IPV4 ? RT_COUNT(v4) : RT_COUNT(v6);
    for (uint32_t i = 0; i < n; i++) {
        if (!prefixes[i].is_given)
            continue;
        struct span s = prefix_span(prefixes[i]);
        if (s.hi - s.lo >= 3) {
            s.lo += 2; /* the network and, first in every subnet, the gateway */
            s.hi -= family == FAMILY_IPV4;
        }
        all = spans_join(a, all, (span_list){ &s, 1 }, failed);
    }
    return all;
}

/* Unicast addresses of the world outside: in IPv6 those of 2000::/3 (RFC 4291, 2.4), less the blocks that are not global. */
static span_list public_addresses(struct arena *a, enum family family, bool *failed)
{
    uint32_t n;
    const struct address_block *blocks = address_blocks(&n);
    struct span all = { 0, axis_max(AXIS_SOURCE, family) };
    if (family == FAMILY_IPV6)
        all = (struct span){ (axis_value)0x2 << 124, ((axis_value)0x4 << 124) - 1 };
    span_list out = spans_tidy(a, &all, 1, failed);
    for (uint32_t i = 0; i < n; i++) { /* a block comes before those within it, whose word counts more */
        if (blocks[i].is_ipv6 != (family == FAMILY_IPV6))
            continue;
        const struct prefix block = { family, (axis_value)blocks[i].hi << 64 | blocks[i].lo, blocks[i].len, true };
        const struct span s = prefix_span(block);
        const span_list one = { (struct span[]){ s }, 1 };
        out = blocks[i].is_global
                  ? spans_join(a, out, one, failed)
                  : spans_common(a, out, spans_others(a, one, axis_max(AXIS_SOURCE, family), failed), failed);
    }
    return out;
}

/* A packet between the house and the world outside, whose inner address is `axis` and lies in `prefix`. */
static packet_set across_the_line(struct view *v, uint32_t axis, struct prefix prefix)
{
    struct match m = { 0 };
    const struct span s = prefix_span(prefix);
    match_narrow_to(v->a, &m, axis == AXIS_SOURCE ? AXIS_TO : AXIS_FROM, ZONE_INTERNET, ZONE_INTERNET, &v->failed);
    match_narrow_to(v->a, &m, axis, s.lo, s.hi, &v->failed);
    return set_of(v->s, &m);
}

/* What cannot come of honest addresses: unique local ones across the line (RFC 4193, 4.1), or a family the line has not. */
static packet_set never_across(struct view *v)
{
    const struct address_plan *plan = v->proof->policy->plan;
    const bool has_line = v->family == FAMILY_IPV4 ? !plan->no_ipv4 : plan->delegated.is_given;
    const struct prefix any = { v->family, 0, 0, true };
    const struct prefix inner = { v->family, (axis_value)0xfc << 120, 7, true };
    if (v->family == FAMILY_IPV4 && has_line)
        return SET_NONE;
    const struct prefix barred = has_line ? inner : any;
    return set_or(v->s, across_the_line(v, AXIS_SOURCE, barred), across_the_line(v, AXIS_DESTINATION, barred));
}

static bool zone_is_for_known_devices(const struct address_plan *plan, uint32_t zone)
{
    const uint32_t segment = zone - ZONE_SEGMENT;
    return zone >= ZONE_SEGMENT && segment < plan->h->segments.n && plan->h->segments.v[segment].known_only;
}

static span_list known_devices(struct arena *a, const struct address_plan *plan, uint32_t zone, bool *failed)
{
    span_list all = { 0 };
    for (uint32_t i = 0; i < plan->h->devices.n; i++) {
        struct span one = { plan->devices[i].mac, plan->devices[i].mac };
        if (plan->devices[i].zone == zone)
            all = spans_join(a, all, (span_list){ &one, 1 }, failed);
    }
    return all;
}

static packet_set crossing_packets(struct view *v)
{
    packet_set within = SET_NONE;
    for (uint32_t zone = 0; zone < v->proof->policy->plan->n_zones; zone++) {
        struct match m = { 0 };
        match_narrow_to(v->a, &m, AXIS_FROM, zone, zone, &v->failed);
        match_narrow_to(v->a, &m, AXIS_TO, zone, zone, &v->failed);
        within = set_or(v->s, within, set_of(v->s, &m));
    }
    return set_not(v->s, within);
}

static packet_set honest_packets(struct view *v)
{
    const struct address_plan *plan = v->proof->policy->plan;
    packet_set sources = SET_NONE, destinations = SET_NONE;
    for (uint32_t zone = 0; zone < plan->n_zones; zone++) {
        struct match from = { 0 }, to = { 0 };
        match_narrow_to(v->a, &from, AXIS_FROM, zone, zone, &v->failed);
        match_narrow_to(v->a, &to, AXIS_TO, zone, zone, &v->failed);
        if (zone != ZONE_GATEWAY) {
            const span_list addresses = zone == ZONE_INTERNET ? public_addresses(v->a, v->family, &v->failed)
                                                              : zone_addresses(v->a, plan, zone, v->family, &v->failed);
            match_narrow(v->a, &from, AXIS_SOURCE, addresses, &v->failed);
            if (zone_is_for_known_devices(plan, zone))
                match_narrow(v->a, &from, AXIS_SOURCE_MAC, known_devices(v->a, plan, zone, &v->failed), &v->failed);
            match_narrow(v->a, &to, AXIS_DESTINATION, addresses, &v->failed);
        }
        sources = set_or(v->s, sources, set_of(v->s, &from));
        destinations = set_or(v->s, destinations, set_of(v->s, &to));
    }
    const packet_set honest = set_and(v->s, set_and(v->s, sources, destinations), v->proof->crossing[v->family]);
    return set_minus(v->s, honest, never_across(v));
}

/* ---- beginning ---- */

static bool table_has_hours(const struct table *t)
{
    for (uint32_t c = 0; c < t->chains.n; c++)
        for (uint32_t r = 0; r < t->chains.v[c].rules.n; r++)
            if (t->chains.v[c].rules.v[r].hours.i != NO_REF || match_on(&t->chains.v[c].rules.v[r].match, AXIS_MINUTE))
                return true;
    return false;
}

enum rt_code proof_begin(const struct run *run, const struct policy *policy, const struct calendar *calendar,
                         const struct table *table, struct proof **out, struct rt_problems *p)
{
    struct proof *proof = ARENA_NEW(run->arena, struct proof);
    if (!proof)
        return rt_fail_memory(p);
    *proof = (struct proof){ .run = run,
                             .policy = policy,
                             .calendar = calendar,
                             .table = table ? table : &policy->table,
                             .is_foreign = table != NULL };
    proof->has_hours = table_has_hours(proof->table);
    const uint32_t n_named =
        policy->table.named.n > proof->table->named.n ? policy->table.named.n : proof->table->named.n;
    for (int f = 0; f < FAMILY_COUNT; f++) {
        proof->judged[f] = ARENA_ARRAY(run->arena, struct judgement *, calendar->kinds.n);
        if (!proof->judged[f])
            return rt_fail_memory(p);
        RT_TRY(space_new(run, (enum family)f, n_named, &proof->spaces[f], p));
        struct view v = { proof, proof->spaces[f], run->arena, (enum family)f, 0, false };
        proof->crossing[f] = crossing_packets(&v);
        proof->honest[f] = honest_packets(&v);
        if (v.failed)
            return rt_fail_memory(p);
        RT_TRY(space_state(proof->spaces[f], p));
    }
    *out = proof;
    return RT_OK;
}

enum rt_code proof_judge(struct proof *proof, enum family family, uint32_t week, const struct judgement **out,
                         struct rt_problems *p)
{
    const uint32_t kind = proof->has_hours ? week : 0;
    if (!proof->judged[family][kind])
        RT_TRY(judge_table(proof->spaces[family], proof->by_week ? proof->by_week[kind] : proof->table,
                           &proof->calendar->kinds.v[kind], &proof->judged[family][kind], p));
    *out = proof->judged[family][kind];
    return RT_OK;
}

/* ---- the packets of a question ---- */

static packet_set ends(struct view *v, const endpoint_list *list, bool sends)
{
    packet_set all = SET_NONE;
    for (uint32_t i = 0; i < list->n; i++) {
        const match_list m = sends ? endpoint_sends(v->a, v->proof->policy, &list->v[i], v->family, &v->failed)
                                   : endpoint_receives(v->a, v->proof->policy, &list->v[i], v->family, &v->failed);
        all = set_or(v->s, all, set_of_any(v->s, m.v, m.n));
    }
    return all;
}

static packet_set in_state(struct view *v, uint32_t lo, uint32_t hi)
{
    struct match m = { 0 };
    match_narrow_to(v->a, &m, AXIS_STATE, lo, hi, &v->failed);
    return set_of(v->s, &m);
}

/* The packets that ask for any of the services; all of them when none is named. */
static packet_set asking(struct view *v, const str_list *services)
{
    packet_set all = services->n ? SET_NONE : SET_ALL;
    for (uint32_t i = 0; i < services->n; i++) {
        const match_list m = service_asks(v->a, v->proof->policy->h, services->v[i], v->family, &v->failed);
        all = set_or(v->s, all, set_of_any(v->s, m.v, m.n));
    }
    return all;
}

/* Minutes that the week has, at the hours asked about. */
static packet_set at_hours(struct view *v, struct ref hours)
{
    const struct week_kind *week = &v->proof->calendar->kinds.v[v->week];
    struct match m = { 0 };
    match_narrow_to(v->a, &m, AXIS_MINUTE, 0, week->n_minutes - 1, &v->failed);
    if (hours.i != NO_REF)
        match_narrow(v->a, &m, AXIS_MINUTE, week->hours[hours.i], &v->failed);
    return set_of(v->s, &m);
}

bool proof_has(struct proof *proof, const endpoint_list *list, enum family family)
{
    struct view v = { proof, proof->spaces[family], proof->run->arena, family, 0, false };
    return set_and(v.s, set_or(v.s, ends(&v, list, false), ends(&v, list, true)), proof->honest[family]) != SET_NONE;
}

/* The same packet's way back: what answers it. */
static packet_set answers(struct view *v, const struct question *q)
{
    packet_set all = SET_NONE;
    const packet_set back = set_and(v->s, ends(v, &q->to, true), ends(v, &q->from, false));
    if (q->services.n == 0)
        return set_and(v->s, back, in_state(v, STATE_REPLY, STATE_REPLY));
    for (uint32_t i = 0; i < q->services.n; i++) {
        const match_list asks = service_asks(v->a, v->proof->policy->h, q->services.v[i], v->family, &v->failed);
        for (uint32_t k = 0; k < asks.n; k++) {
            struct match m = { 0 };
            for (uint32_t t = 0; t < asks.v[k].terms.n; t++) {
                const struct term *term = &asks.v[k].terms.v[t];
                const uint32_t axis = term->axis == AXIS_DESTINATION_PORT ? AXIS_SOURCE_PORT
                                      : term->axis == AXIS_SOURCE_PORT    ? AXIS_DESTINATION_PORT
                                                                          : term->axis;
                if (axis != AXIS_ICMP_TYPE) /* an answer to an echo is of another type */
                    match_narrow(v->a, &m, axis, term->in, &v->failed);
            }
            all = set_or(v->s, all, set_of(v->s, &m));
        }
    }
    return set_and(v->s, set_and(v->s, back, all), in_state(v, STATE_REPLY, STATE_REPLY));
}

/* ---- the questions ---- */

/* The packets that would be a witness if the table lets them through (or, `of_refused`, does not). */
typedef packet_set suspects(struct view *v, const struct question *q);

static packet_set suspects_start(struct view *v, const struct question *q)
{
    packet_set set = set_and(v->s, ends(v, &q->from, true), ends(v, &q->to, false));
    set = set_and(v->s, set, set_and(v->s, in_state(v, STATE_NEW, STATE_NEW), v->proof->crossing[v->family]));
    return q->services.n ? set_minus(v->s, set, asking(v, &q->services)) : set;
}

/* Of those, packets of stations that tell the truth: what people meet. */
static packet_set suspects_honest_start(struct view *v, const struct question *q)
{
    return set_and(v->s, suspects_start(v, q), v->proof->honest[v->family]);
}

static packet_set suspects_refusal(struct view *v, const struct question *q)
{
    packet_set there = set_and(v->s, ends(v, &q->from, true), ends(v, &q->to, false));
    there = set_and(v->s, there, in_state(v, STATE_NEW, STATE_ESTABLISHED));
    there = set_and(v->s, there, asking(v, &q->services));
    return set_and(v->s, set_or(v->s, there, answers(v, q)), v->proof->honest[v->family]);
}

/* Of those, the packets that begin a conversation. */
static packet_set suspects_first(struct view *v, const struct question *q)
{
    return set_and(v->s, suspects_refusal(v, q), in_state(v, STATE_NEW, STATE_NEW));
}

static packet_set suspects_passing(struct view *v, const struct question *q)
{
    const packet_set there = set_and(v->s, ends(v, &q->from, true), ends(v, &q->to, false));
    const packet_set back = set_and(v->s, ends(v, &q->to, true), ends(v, &q->from, false));
    const packet_set onwards =
        set_and(v->s, set_and(v->s, there, in_state(v, STATE_NEW, STATE_ESTABLISHED)), v->proof->crossing[v->family]);
    const packet_set answering =
        set_and(v->s, set_and(v->s, back, in_state(v, STATE_REPLY, STATE_REPLY)), v->proof->honest[v->family]);
    return set_or(v->s, onwards, answering);
}

static enum rt_code look(struct view *v, const struct question *q, suspects *which, bool of_refused,
                         struct proof_witness *out, struct rt_problems *p)
{
    const struct judgement *j;
    RT_TRY(proof_judge(v->proof, v->family, v->week, &j, p));
    packet_set set = set_and(v->s, which(v, q), at_hours(v, q->hours));
    set = of_refused ? set_minus(v->s, set, judged_accept(j)) : set_and(v->s, set, judged_accept(j));
    if (v->failed)
        return rt_fail_memory(p);
    RT_TRY(space_state(v->s, p));
    out->is_found = set_witness(v->s, set, &out->packet);
    if (out->is_found) {
        out->family = v->family;
        out->week = v->week;
        const struct rule *rule = judged_rule(j, &out->packet, &out->action);
        out->rule = policy_rule_for(v->proof->run->arena, v->proof->policy, rule, &out->packet, &v->failed);
    }
    return v->failed ? rt_fail_memory(p) : RT_OK;
}

/* Every family in every kind of week, until one shows a witness; the ordinary week comes first. */
static enum rt_code look_everywhere(struct proof *proof, const struct question *q, suspects *which, bool of_refused,
                                    struct proof_witness *out, struct rt_problems *p)
{
    *out = (struct proof_witness){ 0 };
    const uint32_t n_weeks = proof->has_hours || q->hours.i != NO_REF ? proof->calendar->kinds.n : 1;
    for (uint32_t week = 0; week < n_weeks; week++)
        for (int f = 0; f < FAMILY_COUNT && !out->is_found; f++) {
            struct view v = { proof, proof->spaces[f], proof->run->arena, (enum family)f, week, false };
            if (run_is_cancelled(proof->run))
                return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped before the proof was complete");
            RT_TRY(look(&v, q, which, of_refused, out, p));
        }
    return RT_OK;
}

enum rt_code proof_find_start(struct proof *proof, const struct question *q, struct proof_witness *out,
                              struct rt_problems *p)
{
    RT_TRY(look_everywhere(proof, q, suspects_honest_start, false, out, p));
    return out->is_found ? RT_OK : look_everywhere(proof, q, suspects_start, false, out, p);
}

enum rt_code proof_find_refusal(struct proof *proof, const struct question *q, struct proof_witness *out,
                                struct rt_problems *p)
{
    /* a first packet tells people more than an answer does */
    RT_TRY(look_everywhere(proof, q, suspects_first, true, out, p));
    if (out->is_found)
        return RT_OK;
    return look_everywhere(proof, q, suspects_refusal, true, out, p);
}

enum rt_code proof_find_allowed(struct proof *proof, const struct question *q, struct proof_witness *out,
                                struct rt_problems *p)
{
    return look_everywhere(proof, q, suspects_first, false, out, p);
}

enum rt_code proof_find_passing(struct proof *proof, const struct question *q, struct proof_witness *out,
                                struct rt_problems *p)
{
    RT_TRY(look_everywhere(proof, q, suspects_first, false, out, p));
    return out->is_found ? RT_OK : look_everywhere(proof, q, suspects_passing, false, out, p);
}

#include "reach/proof_int.h"

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
        proof->called[f] = called_packets(&v);
        proof->basic[f] = basic_packets(&v);
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
    set = set_minus(v->s, set, v->proof->basic[v->family]);
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

/* One packet of the set, unless there is one already, and the rule that decides it. */
static void show(struct view *v, packet_set set, const struct judgement *j, struct proof_witness *out)
{
    if (out->is_found || !set_witness(v->s, set, &out->packet))
        return;
    out->is_found = true;
    out->family = v->family;
    out->week = v->week;
    const struct rule *rule = judged_rule(j, &out->packet, &out->action);
    out->rule = policy_rule_for(v->a, v->proof->policy, rule, &out->packet, &v->failed);
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
    show(v, set, j, out);
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

/* ---- how much of it ---- */

static void join_words(struct view *v, str_list *to, packet_set set, packet_set all)
{
    const str_list more = set_service_words(v->a, v->s, v->proof->policy->h, set, all, &v->failed);
    struct str *both = ARENA_ARRAY(v->a, struct str, (size_t)to->n + more.n);
    uint32_t n = 0;
    if (!both) {
        v->failed = true;
        return;
    }
    for (uint32_t i = 0; i < to->n + more.n; i++) {
        const struct str word = i < to->n ? to->v[i] : more.v[i - to->n];
        uint32_t k = 0;
        while (k < n && !str_eq(both[k], word))
            k++;
        if (k == n)
            both[n++] = word;
    }
    *to = (str_list){ both, n };
}

enum rt_code proof_find_share(struct proof *proof, const struct question *q, struct proof_share *out,
                              struct rt_problems *p)
{
    const uint32_t n_weeks = proof->has_hours || q->hours.i != NO_REF ? proof->calendar->kinds.n : 1;
    *out = (struct proof_share){ 0 };
    for (uint32_t week = 0; week < n_weeks; week++)
        for (int f = 0; f < FAMILY_COUNT; f++) {
            struct view v = { proof, proof->spaces[f], proof->run->arena, (enum family)f, week, false };
            const struct judgement *j;
            RT_TRY(proof_judge(proof, v.family, week, &j, p));
            const packet_set all = set_and(v.s, suspects_first(&v, q), at_hours(&v, q->hours));
            const packet_set let = set_and(v.s, all, judged_accept(j)), refused = set_minus(v.s, all, let);
            if (let != SET_NONE)
                join_words(&v, &out->services_let, let, all);
            if (refused != SET_NONE)
                join_words(&v, &out->services_refused, refused, all);
            show(&v, let, j, &out->let);
            show(&v, refused, j, &out->refused);
            if (v.failed)
                return rt_fail_memory(p);
            RT_TRY(space_state(v.s, p));
        }
    return RT_OK;
}

enum rt_code proof_find_passing(struct proof *proof, const struct question *q, struct proof_witness *out,
                                struct rt_problems *p)
{
    RT_TRY(look_everywhere(proof, q, suspects_first, false, out, p));
    return out->is_found ? RT_OK : look_everywhere(proof, q, suspects_passing, false, out, p);
}

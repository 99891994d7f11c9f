/* The table of a house.
 *
 * start       1 the gateway itself may talk with anyone
 *             2 packets of no conversation that should be of one: dropped
 *             3 the line's own address service
 *             4 honest sources: a segment sends from its own addresses (BCP 38), the internet from public ones (RFC 6890)
 *             5 known devices only, where a segment says so
 *             6 what never crosses a router or the border, ICMPv6 that stays on its link -> chain `crossing`
 *             7 answers -> chain `answers`: cut when an hour closes (policy_mirror.c), else accepted
 *             8 ICMP errors about conversations that run: accepted (RFC 4890 section 4.3.1, RFC 792)
 *             9 to the gateway -> chain `to_gateway`; else -> chain `through`
 *            10 default: refused with an answer inside the house, in silence from the internet
 * to_gateway    the segment's own services -> chain `services`; the tunnel's port; relays; statements about the gateway
 * through       port openings; statements; the tunnels' people in their segment
 *
 * The packets of 2 to 6 are cut before the answers are looked at, so that a forged answer gains nothing.  Statements are judged
 * in the file's order; for one statement the order of its rules does not matter. */
#include "reach/policy_int.h"

#include <stdlib.h>

/* ---- rules, notes, errors ---- */

static struct str text_of(struct compiler *c, const char *fmt, va_list args)
{
    const char *text = arena_vprintf(c->a, fmt, args);
    if (!text)
        c->failed = true;
    return text ? str_from(text) : (struct str){ 0 };
}

struct rule *policy_rule(struct compiler *c, enum policy_chain chain, unsigned families, enum action action,
                         const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const struct rule r = { .families = families,
                            .hours.i = NO_REF,
                            .action = action,
                            .origin = ORIGIN_STANDARD,
                            .which = NO_REF,
                            .says = text_of(c, fmt, args) };
    va_end(args);
    if (!VEC_PUSH(c->a, &c->chains[chain], r)) {
        c->failed = true;
        c->nowhere = (struct rule){ 0 };
        return &c->nowhere;
    }
    return &c->chains[chain].v[c->chains[chain].n - 1];
}

void policy_from(struct rule *r, enum origin origin, uint32_t which, struct rt_place at)
{
    r->origin = origin;
    r->which = which;
    r->at = at;
}

void policy_note(struct compiler *c, struct rt_place at, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const struct note note = { at, text_of(c, fmt, args) };
    va_end(args);
    if (!VEC_PUSH(c->a, &c->notes, note))
        c->failed = true;
}

void policy_fail(struct compiler *c, enum rt_code code, struct rt_place at, const char *hint, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const struct str text = text_of(c, fmt, args);
    va_end(args);
    rt_fail(c->p, code, at, hint, "%.*s", STR_ARG(text));
    if (!c->code)
        c->code = code;
}

void policy_is(struct compiler *c, struct match *m, uint32_t axis, axis_value value)
{
    match_narrow_to(c->a, m, axis, value, value, &c->failed);
}

void policy_within(struct compiler *c, struct match *m, uint32_t axis, axis_value lo, axis_value hi)
{
    match_narrow_to(c->a, m, axis, lo, hi, &c->failed);
}

void policy_in(struct compiler *c, struct match *m, uint32_t axis, span_list in)
{
    match_narrow(c->a, m, axis, in, &c->failed);
}

void policy_add_span(struct compiler *c, span_list *to, axis_value lo, axis_value hi)
{
    struct span one = { lo, hi };
    *to = spans_join(c->a, *to, (span_list){ &one, 1 }, &c->failed);
}

void policy_list_word(struct buf *b, uint32_t i, uint32_t n, struct str word)
{
    buf_text(b, i == 0 ? "" : i + 1 == n ? " and " : ", ");
    buf_str(b, word);
}

/* ---- the start ---- */

/* Packets that do not go to the gateway itself. */
static void to_others(struct compiler *c, enum policy_chain chain, const char *says)
{
    struct span gateway = { ZONE_GATEWAY, ZONE_GATEWAY };
    struct rule *r = policy_rule(c, CHAIN_START, BOTH_FAMILIES, ACTION_JUMP, "%s", says);
    policy_in(c, &r->match, AXIS_TO,
              spans_others(c->a, (span_list){ &gateway, 1 }, axis_max(AXIS_TO, FAMILY_IPV4), &c->failed));
    r->chain = chain;
}

/* ICMP errors about a conversation that runs: unreachable, time exceeded, parameter problem (RFC 792; types 3, 11, 12), and
 * unreachable, too big, time exceeded, parameter problem (RFC 4443; types 1 to 4).  RFC 4890 section 4.3.1 wants them let
 * through, RFC 6092 REC-18, 23, 36 and 41 too; the script in its appendix B takes the type of `too big` for `time exceeded`
 * (erratum 2706), which types by number do not. */
static void errors(struct compiler *c)
{
    struct rule *r =
        policy_rule(c, CHAIN_START, IPV4, ACTION_ACCEPT, "Errors about a conversation that runs come back");
    const struct span types[] = { { 3, 3 }, { 11, 12 } };
    policy_is(c, &r->match, AXIS_STATE, STATE_RELATED);
    policy_is(c, &r->match, AXIS_PROTOCOL, IP_ICMP);
    policy_in(c, &r->match, AXIS_ICMP_TYPE, spans_tidy(c->a, types, 2, &c->failed));
    r = policy_rule(c, CHAIN_START, IPV6, ACTION_ACCEPT,
                    "Errors about a conversation that runs come back (RFC 4890 section 4.3.1)");
    policy_is(c, &r->match, AXIS_STATE, STATE_RELATED);
    policy_is(c, &r->match, AXIS_PROTOCOL, IP_ICMPV6);
    policy_within(c, &r->match, AXIS_ICMP_TYPE, 1, 4);
    r = policy_rule(c, CHAIN_START, BOTH_FAMILIES, ACTION_DROP,
                    "Whatever else claims to go with a conversation does not come through");
    policy_is(c, &r->match, AXIS_STATE, STATE_RELATED);
}

static void start(struct compiler *c)
{
    struct rule *r =
        policy_rule(c, CHAIN_START, BOTH_FAMILIES, ACTION_ACCEPT, "The gateway itself may talk with anyone");
    policy_is(c, &r->match, AXIS_FROM, ZONE_GATEWAY);
    r = policy_rule(c, CHAIN_START, BOTH_FAMILIES, ACTION_DROP, "Packets that fit into no conversation are dropped");
    policy_is(c, &r->match, AXIS_STATE, STATE_INVALID);
    policy_gate(c);
    to_others(c, CHAIN_CROSSING, "What may cross the gateway at all");
    policy_answers(c);
    errors(c);
    r = policy_rule(c, CHAIN_START, BOTH_FAMILIES, ACTION_JUMP, "To the gateway itself");
    policy_is(c, &r->match, AXIS_TO, ZONE_GATEWAY);
    r->chain = CHAIN_TO_GATEWAY;
    to_others(c, CHAIN_THROUGH, "Through the gateway");
    r = policy_rule(c, CHAIN_START, BOTH_FAMILIES, ACTION_REJECT, "What no statement allows is refused");
    policy_within(c, &r->match, AXIS_FROM, ZONE_SEGMENT, axis_max(AXIS_FROM, FAMILY_IPV4));
}

/* ---- putting it together ---- */

static void finish_table(struct compiler *c, struct table *t)
{
    static const char *const NAMES[CHAIN_COUNT] = {
        [CHAIN_START] = "start",           [CHAIN_CROSSING] = "crossing", [CHAIN_ANSWERS] = "answers",
        [CHAIN_TO_GATEWAY] = "to_gateway", [CHAIN_SERVICES] = "services", [CHAIN_THROUGH] = "through"
    };
    t->chains.v = ARENA_ARRAY(c->a, struct chain, CHAIN_COUNT);
    t->named.v = ARENA_ARRAY(c->a, struct str, c->names.n);
    if (!t->chains.v || !t->named.v) {
        c->failed = true;
        return;
    }
    t->chains.n = CHAIN_COUNT;
    t->start = CHAIN_START;
    for (uint32_t i = 0; i < CHAIN_COUNT; i++) {
        struct chain *chain = &t->chains.v[i];
        *chain = (struct chain){ .name = str_from(NAMES[i]),
                                 .rules = { c->chains[i].v, c->chains[i].n },
                                 .policy = i == CHAIN_START ? ACTION_DROP : ACTION_RETURN };
        for (uint32_t k = 0; k < chain->rules.n; k++)
            chain->rules.v[k].number = ++t->n_rules;
        for (uint32_t k = 0; k < c->stated[i].n; k++)
            c->stated[i].v[k].rule = chain->rules.v[c->stated[i].v[k].rule].number;
    }
    for (uint32_t i = 0; i < c->names.n; i++)
        t->named.v[t->named.n++] = c->names.v[i].name;
}

static int by_rule(const void *a, const void *b)
{
    const struct stated *x = a, *y = b;
    if (x->rule != y->rule)
        return x->rule < y->rule ? -1 : 1;
    return x->statement < y->statement ? -1 : x->statement > y->statement;
}

static void hand_on_stated(struct compiler *c)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < CHAIN_COUNT; i++)
        n += c->stated[i].n;
    struct stated *v = ARENA_ARRAY(c->a, struct stated, n);
    if (!v) {
        c->failed = true;
        return;
    }
    c->policy->stated.v = v;
    for (uint32_t i = 0; i < CHAIN_COUNT; i++)
        for (uint32_t k = 0; k < c->stated[i].n; k++)
            v[c->policy->stated.n++] = c->stated[i].v[k];
    qsort(v, n, sizeof *v, by_rule);
}

#define HAND_ON(to, from) ((to)->v = (from)->v, (to)->n = (from)->n)

enum rt_code policy_compile(const struct run *run, const struct address_plan *plan, struct policy **out,
                            struct rt_problems *p)
{
    struct compiler c = { .a = run->arena, .h = plan->h, .plan = plan, .p = p };
    c.policy = ARENA_NEW(run->arena, struct policy);
    c.mark_of = ARENA_ARRAY(run->arena, uint32_t, plan->h->devices.n);
    if (!c.policy || !c.mark_of)
        return rt_fail_memory(p);
    c.policy->h = plan->h;
    c.policy->plan = plan;
    c.policy->translates_ipv4 = !plan->no_ipv4;
    /* statements before the start: the answers mirror them */
    policy_own_services(&c);
    policy_relays(&c);
    policy_crossings(&c);
    policy_openings(&c);
    policy_statements(&c);
    if (!c.failed)
        policy_conflicts(&c, run);
    policy_join(&c);
    start(&c);
    finish_table(&c, &c.policy->table);
    policy_blocked_names(&c);
    if (c.failed)
        return rt_fail_memory(p);
    if (c.code)
        return c.code;
    hand_on_stated(&c);
    if (c.failed)
        return rt_fail_memory(p);
    HAND_ON(&c.policy->marks, &c.marks);
    HAND_ON(&c.policy->translations, &c.translations);
    HAND_ON(&c.policy->names, &c.names);
    HAND_ON(&c.policy->notes, &c.notes);
    *out = c.policy;
    return RT_OK;
}

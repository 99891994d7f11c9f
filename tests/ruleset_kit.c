#include "ruleset_kit.h"

enum { RULES_PER_CHAIN_MAX = 24 };

void ruleset_kit_begin(struct ruleset_kit *k, struct arena *a, uint32_t n_chains)
{
    *k = (struct ruleset_kit){ .a = a, .interfaces = { STR("wan"), { 0 }, STR("lan.10"), STR("lan.20"), STR("away") } };
    static const char *const NAMES[] = { "start", "from_inside", "services", "log", "rest" };
    struct house *h = ARENA_NEW(a, struct house);
    h->segments.v = ARENA_ARRAY(a, struct segment, 2);
    h->segments.n = 2;
    h->segments.v[0].id = STR("family");
    h->segments.v[1].id = STR("kids");
    h->hours.v = ARENA_ARRAY(a, struct hours, 1);
    h->hours.n = 1;
    h->hours.v[0].id = STR("bedtime");
    k->policy.h = h;
    k->policy.translates_ipv4 = true;
    struct table *t = &k->policy.table;
    t->chains.v = ARENA_ARRAY(a, struct chain, n_chains);
    t->chains.n = n_chains;
    for (uint32_t c = 0; c < n_chains; c++) {
        t->chains.v[c].name = str_from(NAMES[c]);
        t->chains.v[c].policy = c ? ACTION_RETURN : ACTION_DROP;
        t->chains.v[c].rules.v = ARENA_ARRAY(a, struct rule, RULES_PER_CHAIN_MAX);
    }
    t->named.v = ARENA_ARRAY(a, struct str, 1);
    t->named.v[0] = STR("backup.example");
    t->named.n = 1;
}

struct rule *ruleset_kit_rule(struct ruleset_kit *k, uint32_t chain, enum action action)
{
    struct chain *c = &k->policy.table.chains.v[chain];
    if (c->rules.n == RULES_PER_CHAIN_MAX)
        fail_msg("too many rules in chain %u", (unsigned)chain);
    struct rule *r = &c->rules.v[c->rules.n++];
    *r = (struct rule){ .number = ++k->n_rules,
                        .families = 1 << FAMILY_IPV4 | 1 << FAMILY_IPV6,
                        .hours = { .i = NO_REF },
                        .action = action,
                        .origin = ORIGIN_STANDARD,
                        .which = NO_REF };
    k->policy.table.n_rules = k->n_rules;
    return r;
}

void ruleset_kit_term(struct ruleset_kit *k, struct rule *r, uint32_t axis, uint32_t n, const axis_value *lo_hi)
{
    struct span *v = ARENA_ARRAY(k->a, struct span, n);
    for (uint32_t i = 0; i < n; i++)
        v[i] = (struct span){ lo_hi[2 * i], lo_hi[2 * i + 1] };
    match_narrow(k->a, &r->match, axis, spans_tidy(k->a, v, n, &k->failed), &k->failed);
}

/* ---- by chance ---- */

static bool one_in(struct random *r, uint32_t n) { return random_below(r, n) == 0; }

/* A few values among which the tables' spans and the packets' values are chosen, so that they meet. */
static axis_value some_address(struct random *r, enum family family)
{
    if (family == FAMILY_IPV4)
        return one_in(r, 6) ? (axis_value)(uint32_t)random_next(r)
                            : (axis_value)0xc0a80a00 + 256 * random_below(r, 3) + random_below(r, 12);
    const axis_value local = (axis_value)0xfd12345678000000 << 64;
    if (one_in(r, 6))
        return (axis_value)random_next(r) << 64 | random_next(r);
    return local + ((axis_value)random_below(r, 3) << 64) + random_below(r, 12);
}

static axis_value some_mac(struct random *r) { return 0x020000000000 + random_below(r, 6); }
static axis_value some_port(struct random *r)
{
    return one_in(r, 4) ? random_below(r, 65536) : 50 + random_below(r, 12);
}
static axis_value some_mark(struct random *r) { return one_in(r, 3) ? 0 : random_below(r, 4); }

static axis_value some_value(struct random *r, uint32_t axis, enum family family)
{
    static const axis_value PROTOCOLS[] = { IP_TCP, IP_TCP, IP_UDP, IP_UDP, IP_GRE, IP_ESP };
    switch (axis) {
    case AXIS_FROM:
    case AXIS_TO:
        return random_below(r, KIT_ZONES);
    case AXIS_SOURCE_MAC:
        return some_mac(r);
    case AXIS_SOURCE:
    case AXIS_DESTINATION:
        return some_address(r, family);
    case AXIS_PROTOCOL:
        return PROTOCOLS[random_below(r, RT_COUNT(PROTOCOLS))];
    case AXIS_SOURCE_PORT:
    case AXIS_DESTINATION_PORT:
        return some_port(r);
    case AXIS_ICMP_TYPE:
        return one_in(r, 2) ? random_below(r, 20) : 128 + random_below(r, 16);
    case AXIS_STATE:
        return random_below(r, STATE_COUNT);
    case AXIS_MARK:
        return some_mark(r);
    default:
        return random_below(r, 2);
    }
}

static void random_term(struct ruleset_kit *k, struct random *r, struct rule *rule, uint32_t axis, enum family family)
{
    struct span v[5];
    const uint32_t n = 1 + random_below(r, axis >= AXIS_NAMED ? 1 : 4);
    const axis_value max = axis_max(axis, family);
    for (uint32_t i = 0; i < n; i++) {
        const axis_value lo = some_value(r, axis, family);
        const axis_value room = max - lo < 6 ? max - lo : 6;
        const bool wide = axis >= AXIS_SOURCE_MAC && axis < AXIS_NAMED && axis != AXIS_PROTOCOL && one_in(r, 2);
        v[i] = (struct span){ lo, lo + (wide ? random_below(r, (uint32_t)room + 1) : 0) };
    }
    span_list in = spans_tidy(k->a, v, n, &k->failed);
    if (one_in(r, 4) && axis != AXIS_PROTOCOL && axis != AXIS_ICMP_TYPE)
        in = spans_others(k->a, in, max, &k->failed);
    if (in.n > 0)
        match_narrow(k->a, &rule->match, axis, in, &k->failed);
}

static void random_transport(struct ruleset_kit *k, struct random *r, struct rule *rule)
{
    switch (random_below(r, 6)) {
    case 0:
        random_term(k, r, rule, AXIS_PROTOCOL, FAMILY_IPV4);
        break;
    case 1:
    case 2:
        TERM(k, rule, AXIS_PROTOCOL, IP_TCP, IP_TCP, IP_UDP, IP_UDP);
        if (one_in(r, 2))
            TERM(k, rule, AXIS_PROTOCOL, IP_TCP, IP_TCP);
        random_term(k, r, rule, one_in(r, 4) ? AXIS_SOURCE_PORT : AXIS_DESTINATION_PORT, FAMILY_IPV4);
        break;
    case 3:
        TERM(k, rule, AXIS_PROTOCOL, IP_ICMP, IP_ICMP, IP_ICMPV6, IP_ICMPV6);
        random_term(k, r, rule, AXIS_ICMP_TYPE, FAMILY_IPV4);
        break;
    default:
        break;
    }
}

static enum action random_action(struct random *r)
{
    static const enum action MOST[] = { ACTION_ACCEPT, ACTION_ACCEPT, ACTION_DROP, ACTION_REJECT, ACTION_CONTINUE,
                                        ACTION_RETURN, ACTION_JUMP,   ACTION_JUMP, ACTION_GOTO };
    return MOST[random_below(r, RT_COUNT(MOST))];
}

static void random_rule(struct ruleset_kit *k, struct random *r, uint32_t chain)
{
    enum action action = random_action(r);
    const uint32_t n = k->policy.table.chains.n;
    if (chain + 1 == n && (action == ACTION_JUMP || action == ACTION_GOTO))
        action = ACTION_ACCEPT; /* chains lead to later ones alone, so never in a circle */
    struct rule *rule = ruleset_kit_rule(k, chain, action);
    if (action == ACTION_JUMP || action == ACTION_GOTO)
        rule->chain = chain + 1 + random_below(r, n - chain - 1);
    const enum family family = (enum family)random_below(r, FAMILY_COUNT);
    static const uint32_t AXES[] = { AXIS_FROM, AXIS_TO, AXIS_SOURCE_MAC, AXIS_STATE, AXIS_MARK, AXIS_NAMED };
    for (uint32_t i = 0; i < RT_COUNT(AXES); i++)
        if (one_in(r, AXES[i] <= AXIS_TO ? 3 : 5))
            random_term(k, r, rule, AXES[i], family);
    if (match_on(&rule->match, AXIS_NAMED) && !match_on(&rule->match, AXIS_FROM) && one_in(r, 2))
        TERM(k, rule, AXIS_FROM, ZONE_INTERNET, ZONE_INTERNET); /* a name lies in the internet: see policy.h */
    else if (match_on(&rule->match, AXIS_NAMED)) {
        const struct match all = rule->match;
        rule->match = (struct match){ 0 };
        for (uint32_t i = 0; i < all.terms.n; i++)
            if (all.terms.v[i].axis != AXIS_TO)
                match_narrow(k->a, &rule->match, all.terms.v[i].axis, all.terms.v[i].in, &k->failed);
        TERM(k, rule, AXIS_TO, ZONE_INTERNET, ZONE_INTERNET);
    }
    if (one_in(r, 2)) {
        rule->families = 1u << family;
        random_term(k, r, rule, one_in(r, 2) ? AXIS_SOURCE : AXIS_DESTINATION, family);
    }
    random_transport(k, r, rule);
    if (one_in(r, 5))
        rule->hours = (struct ref){ .i = 0 };
    rule->log = one_in(r, 4);
}

void ruleset_kit_random(struct ruleset_kit *k, struct random *r)
{
    const uint32_t n = k->policy.table.chains.n;
    for (uint32_t c = 0; c < n; c++)
        for (uint32_t i = 0, rules = 2 + random_below(r, 8); i < rules; i++)
            random_rule(k, r, c);
    if (one_in(r, 3))
        k->policy.table.chains.v[0].policy = ACTION_ACCEPT;
}

struct packet ruleset_kit_packet(const struct ruleset_kit *k, struct random *r, enum family family)
{
    struct packet p = { .family = family };
    for (uint32_t axis = 0; axis < AXIS_NAMED; axis++)
        p.at[axis] = axis == AXIS_MINUTE ? 0 : some_value(r, axis, family);
    const axis_value icmp = family == FAMILY_IPV4 ? IP_ICMP : IP_ICMPV6;
    if (one_in(r, 4))
        p.at[AXIS_PROTOCOL] = icmp;
    const bool ports = p.at[AXIS_PROTOCOL] == IP_TCP || p.at[AXIS_PROTOCOL] == IP_UDP;
    if (!ports)
        p.at[AXIS_SOURCE_PORT] = p.at[AXIS_DESTINATION_PORT] = 0;
    if (p.at[AXIS_PROTOCOL] != icmp)
        p.at[AXIS_ICMP_TYPE] = 0;
    if (p.at[AXIS_FROM] == ZONE_GATEWAY || p.at[AXIS_FROM] == KIT_TUNNEL)
        p.at[AXIS_SOURCE_MAC] = 0;
    if (p.at[AXIS_STATE] == STATE_INVALID || p.at[AXIS_STATE] == STATE_UNTRACKED)
        p.at[AXIS_MARK] = 0;
    p.named = random_below(r, 2);
    (void)k;
    return p;
}

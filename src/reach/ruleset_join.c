#include "reach/ruleset_int.h"

#include <stdlib.h>

/* The listed chains as one table that a packet enters once.
 *
 * Each chain that hooks something becomes a frame: its rules behind a jump, then its policy, so that nothing falls out of it.
 * To accept means to go on with the next frame of the packet's way; so chains are copied for each frame that leads to them.
 *
 *   from the gateway    output, postrouting; to itself then prerouting, input
 *   to the gateway      prerouting, input
 *   else                prerouting, forward, postrouting */

enum { FRAMES_MAX = 256, JUMPS_MAX = 16, PRIORITY_CONNTRACK = -200 };

/* Where a packet goes that a frame lets through. */
struct way {
    enum action action; /* ACCEPT, or GOTO */
    uint32_t chain;
};

struct made_chain {
    struct str name;
    enum action policy;
    VEC(struct rule) rules;
};

struct joiner {
    struct ruleset_reader *r;
    VEC(struct made_chain) chains;
    uint32_t n_rules, n_frames;
    bool has_mark_test, has_packet_mark_test;
    int64_t translates_at[HOOK_COUNT]; /* last priority of such translations; INT64_MIN: none */
    const char *told;                  /* of the last rule that is not sound: its parts are told of once */
    int64_t masks_at;                  /* first priority of those of sources behind; INT64_MAX: none */
};

static uint32_t chain_new(struct joiner *j, struct str name, enum action policy)
{
    const struct made_chain c = { .name = name, .policy = policy };
    j->r->failed |= !VEC_PUSH(j->r->run->arena, &j->chains, c);
    return j->r->failed ? 0 : j->chains.n - 1;
}

static struct rule *rule_new(struct joiner *j, uint32_t chain, enum action action, uint32_t to, struct str says)
{
    const struct rule rule = { .number = ++j->n_rules,
                               .families = BOTH_FAMILIES,
                               .hours = { .i = NO_REF },
                               .action = action,
                               .chain = to,
                               .origin = ORIGIN_FOREIGN,
                               .which = NO_REF,
                               .at = { .file = j->r->file },
                               .says = says };
    if (j->n_rules > RULESET_RULES_MAX) {
        listing_fail(j->r, RT_LIMIT, NULL, NULL, "more than %d rules", RULESET_RULES_MAX);
        j->r->failed = true;
    }
    if (j->r->failed || !VEC_PUSH(j->r->run->arena, &j->chains.v[chain].rules, rule)) {
        j->r->failed = true;
        return NULL;
    }
    return &j->chains.v[chain].rules.v[j->chains.v[chain].rules.n - 1];
}

static void goes(struct joiner *j, uint32_t chain, struct way way, struct str says)
{
    rule_new(j, chain, way.action, way.chain, says);
}

/* ---- chains that lead to each other ---- */

/* How many jumps lead behind each other at most, as the kernel counts them; more than it takes, or a circle, is an error. */
static bool depth_is_bounded(struct ruleset_reader *r)
{
    const uint32_t n = r->chains.n;
    uint32_t *n_into = ARENA_ARRAY(r->run->arena, uint32_t, n), *ready = ARENA_ARRAY(r->run->arena, uint32_t, n);
    uint32_t *depth = ARENA_ARRAY(r->run->arena, uint32_t, n);
    if (!n_into || !ready || !depth) {
        r->failed = true;
        return false;
    }
    for (uint32_t c = 0; c < n; c++)
        for (uint32_t i = 0; i < r->chains.v[c].rules.n; i++) {
            const struct listed_rule *rule = &r->chains.v[c].rules.v[i];
            n_into[rule->chain] += rule->action == ACTION_JUMP || rule->action == ACTION_GOTO;
        }
    uint32_t n_ready = 0;
    for (uint32_t c = 0; c < n; c++)
        if (n_into[c] == 0)
            ready[n_ready++] = c;
    for (uint32_t k = 0; k < n_ready; k++) {
        const struct listed_chain *c = &r->chains.v[ready[k]];
        for (uint32_t i = 0; i < c->rules.n; i++) {
            const struct listed_rule *rule = &c->rules.v[i];
            if (rule->action != ACTION_JUMP && rule->action != ACTION_GOTO)
                continue;
            if (depth[rule->chain] < depth[ready[k]] + 1)
                depth[rule->chain] = depth[ready[k]] + 1;
            if (--n_into[rule->chain] == 0)
                ready[n_ready++] = rule->chain;
        }
        if (depth[ready[k]] > JUMPS_MAX)
            return listing_fail(r, RT_LIMIT, NULL, NULL, "chain %.*s lies more than %d jumps deep", STR_ARG(c->name),
                                JUMPS_MAX);
    }
    return n_ready == n ||
           listing_fail(r, RT_LIMIT, NULL, NULL, "chains of the listing lead to each other in a circle");
}

/* ---- translations ---- */

/* Adds what the rule translates, under the conditions of the jumps that lead there. */
static void translation_add(struct ruleset_reader *r, const struct listed_rule *rule, struct match before,
                            unsigned families)
{
    const json_t *dnat = json_object_get(rule->translates, "dnat");
    const json_t *address = json_object_get(dnat, "addr");
    const json_t *ports = json_object_get(dnat ? dnat : json_object_get(rule->translates, "redirect"), "port");
    const struct str family = listing_text_at(dnat, "family");
    if (family.n)
        families &= str_is(family, "ip6") ? 1u << FAMILY_IPV6 : 1u << FAMILY_IPV4;
    for (unsigned f = 0; f < FAMILY_COUNT; f++) {
        struct ruleset_translation t = { .before = before, .family = (enum family)f, .says = rule->says };
        if (!(families & 1u << f))
            continue;
        const bool plain =
            json_is_string(address) || json_object_get(address, "range") || json_object_get(address, "prefix");
        const struct span any = { 0, axis_max(AXIS_DESTINATION, t.family) };
        t.to_gateway = dnat == NULL;
        t.to = plain ? (span_list){ 0 } : spans_tidy(r->run->arena, &any, 1, &r->failed);
        if (plain && !listing_values(r, address, VALUE_ADDRESS, t.family, &t.to))
            continue;
        if (ports && !listing_values(r, ports, VALUE_PORT, t.family, &t.to_ports))
            continue;
        r->failed |= !VEC_PUSH(r->run->arena, &r->translations, t);
    }
}

static struct match match_both(struct ruleset_reader *r, struct match m, const struct match *more)
{
    for (uint32_t i = 0; i < more->terms.n; i++)
        match_narrow(r->run->arena, &m, more->terms.v[i].axis, more->terms.v[i].in, &r->failed);
    return m;
}

/* Depth is bounded: see depth_is_bounded(). */
static void translations_of(struct ruleset_reader *r, uint32_t chain, struct match under, unsigned families)
{
    const struct listed_chain *c = &r->chains.v[chain];
    for (uint32_t i = 0; i < c->rules.n && !r->failed; i++) {
        const struct listed_rule *rule = &c->rules.v[i];
        const struct match m = match_both(r, under, &rule->match);
        if (r->translations.n > RULESET_RULES_MAX) {
            listing_fail(r, RT_LIMIT, NULL, NULL, "more than %d translations", RULESET_RULES_MAX);
            r->failed = true;
        }
        r->where = rule->says;
        if (rule->action == ACTION_DROP || rule->action == ACTION_REJECT)
            listing_fail(r, RT_SHAPE, NULL, NULL, "a chain of translations that drops cannot be judged");
        else if (rule->translates)
            translation_add(r, rule, m, families & rule->families);
        else if (rule->action == ACTION_JUMP || rule->action == ACTION_GOTO)
            translations_of(r, rule->chain, m, families & rule->families);
    }
}

static void find_translations(struct joiner *j)
{
    struct ruleset_reader *r = j->r;
    for (unsigned h = 0; h < HOOK_COUNT; h++)
        j->translates_at[h] = INT64_MIN;
    j->masks_at = INT64_MAX;
    for (uint32_t c = 0; c < r->chains.n; c++) {
        const struct listed_chain *chain = &r->chains.v[c];
        const uint32_t before = r->translations.n;
        if (!chain->is_base || !chain->is_nat || chain->is_off)
            continue;
        translations_of(r, c, (struct match){ 0 }, chain->families);
        if (r->translations.n > before && chain->priority > j->translates_at[chain->hook])
            j->translates_at[chain->hook] = chain->priority;
        if (chain->hook == HOOK_POSTROUTING && chain->priority < j->masks_at)
            j->masks_at = chain->priority;
    }
}

/* The places that translations lead to, as conditions of a rule about translated packets. */
static struct match translated_match(struct ruleset_reader *r, const struct ruleset_translation *t, bool answers,
                                     const struct match *of)
{
    struct match m = *of;
    for (uint32_t i = 0; i < t->before.terms.n; i++) {
        const struct term *term = &t->before.terms.v[i];
        uint32_t axis = term->axis;
        if (axis == AXIS_DESTINATION || axis == AXIS_STATE || (axis == AXIS_DESTINATION_PORT && t->to_ports.n))
            continue;
        if (answers)
            axis = axis == AXIS_FROM               ? AXIS_TO
                   : axis == AXIS_SOURCE           ? AXIS_DESTINATION
                   : axis == AXIS_SOURCE_PORT      ? AXIS_DESTINATION_PORT
                   : axis == AXIS_DESTINATION_PORT ? AXIS_SOURCE_PORT
                                                   : axis;
        if (answers && axis == AXIS_SOURCE_MAC)
            continue;
        match_narrow(r->run->arena, &m, axis, term->in, &r->failed);
    }
    if (!t->to_gateway)
        match_narrow(r->run->arena, &m, answers ? AXIS_SOURCE : AXIS_DESTINATION, t->to, &r->failed);
    else
        match_narrow_to(r->run->arena, &m, answers ? AXIS_FROM : AXIS_TO, ZONE_GATEWAY, ZONE_GATEWAY, &r->failed);
    if (t->to_ports.n)
        match_narrow(r->run->arena, &m, answers ? AXIS_SOURCE_PORT : AXIS_DESTINATION_PORT, t->to_ports, &r->failed);
    if (answers)
        match_narrow_to(r->run->arena, &m, AXIS_STATE, STATE_REPLY, STATE_REPLY, &r->failed);
    else
        match_narrow_to(r->run->arena, &m, AXIS_STATE, STATE_NEW, STATE_ESTABLISHED, &r->failed);
    return m;
}

/* ---- rules in a frame ---- */

static struct match without(struct ruleset_reader *r, const struct match *m, uint32_t axis)
{
    struct match out = { 0 };
    for (uint32_t i = 0; i < m->terms.n; i++)
        if (m->terms.v[i].axis != axis)
            match_narrow(r->run->arena, &out, m->terms.v[i].axis, m->terms.v[i].in, &r->failed);
    return out;
}

/* Without an interface on that side, does the rule still fit?  The term goes. */
static bool fits_nowhere(struct ruleset_reader *r, struct match *m, uint32_t axis)
{
    const span_list *in = match_on(m, axis);
    if (in && !spans_hold(*in, ZONE_NOWHERE))
        return false;
    if (in)
        *m = without(r, m, axis);
    return true;
}

static bool looks_sound(struct joiner *j, const struct listed_rule *rule, const struct listed_chain *frame)
{
    struct ruleset_reader *r = j->r;
    const enum ruleset_hook hook = frame->hook;
    r->where = rule->says;
    if (rule->on.conversation && frame->priority <= PRIORITY_CONNTRACK &&
        (hook == HOOK_PREROUTING || hook == HOOK_OUTPUT))
        return listing_fail(r, RT_SHAPE, NULL, NULL, "it looks at conversations before the kernel knows them");
    const int64_t translates_at = j->translates_at[hook];
    if (rule->on.destination && translates_at > INT64_MIN && frame->priority <= translates_at)
        return listing_fail(r, RT_SHAPE, NULL, NULL, "it looks at destinations before port openings translate them");
    if (rule->on.source && hook == HOOK_POSTROUTING && frame->priority >= j->masks_at)
        return listing_fail(r, RT_SHAPE, NULL, NULL, "it looks at sources behind their translation");
    if (hook == HOOK_POSTROUTING && (rule->on.in_interface || rule->on.mac))
        return listing_fail(r, RT_SHAPE, NULL, NULL, "where a packet came from cannot be told in postrouting");
    const bool in_time = hook == HOOK_PREROUTING;
    if (rule->on.sets_mark && j->has_mark_test && !in_time)
        return listing_fail(
            r, RT_SHAPE, NULL, NULL,
            "it sets marks of conversations that rules look at; that can be judged in prerouting alone");
    if (rule->on.sets_packet_mark && j->has_packet_mark_test && !in_time)
        return listing_fail(r, RT_SHAPE, NULL, NULL,
                            "it sets marks of packets that rules look at; that can be judged in prerouting alone");
    if (in_time && (rule->on.mark || rule->on.packet_mark))
        return listing_fail(r, RT_SHAPE, NULL, NULL, "it looks at marks while prerouting still sets them");
    return true;
}

/* Parts of one rule have their text in common. */
static bool is_sound(struct joiner *j, const struct listed_rule *rule, const struct listed_chain *frame)
{
    if (j->told && j->told == rule->says.p)
        return false;
    if (looks_sound(j, rule, frame))
        return true;
    j->told = rule->says.p;
    return false;
}

/* The rule as packets of the hook meet it; false: none does. */
static bool seen_from(struct joiner *j, const struct listed_rule *rule, enum ruleset_hook hook, struct match *m)
{
    struct ruleset_reader *r = j->r;
    *m = rule->match;
    if ((hook == HOOK_PREROUTING || hook == HOOK_INPUT) && !fits_nowhere(r, m, AXIS_TO))
        return false;
    if (hook == HOOK_OUTPUT && (rule->on.mac || !fits_nowhere(r, m, AXIS_FROM)))
        return false;
    if (rule->on.mac) {
        const struct span with[] = { { ZONE_INTERNET, ZONE_INTERNET }, { ZONE_SEGMENT, r->zones->n_with_mac - 1 } };
        const uint32_t n = r->zones->n_with_mac > ZONE_SEGMENT ? 2 : 1;
        match_narrow(r->run->arena, m, AXIS_FROM, spans_tidy(r->run->arena, with, n, &r->failed), &r->failed);
    }
    return true;
}

static void put_rule(struct joiner *j, uint32_t chain, const struct listed_rule *rule, unsigned families,
                     const struct match *m, struct way way, const uint32_t *copies)
{
    const bool leads = rule->action == ACTION_JUMP || rule->action == ACTION_GOTO;
    const bool passes = rule->action == ACTION_ACCEPT;
    struct rule *made = rule_new(j, chain, passes ? way.action : rule->action,
                                 passes  ? way.chain
                                 : leads ? copies[rule->chain]
                                         : 0,
                                 rule->says);
    if (!made)
        return;
    made->families = families;
    made->match = *m;
    made->log = rule->log;
}

/* A rule about translated packets is one for each translation, and one for errors about such conversations. */
static void put_translated(struct joiner *j, uint32_t chain, const struct listed_rule *rule, const struct match *m,
                           struct way way, const uint32_t *copies)
{
    struct ruleset_reader *r = j->r;
    for (uint32_t i = 0; i < r->translations.n && !r->failed; i++) {
        const struct ruleset_translation *t = &r->translations.v[i];
        if (!(rule->families & 1u << t->family))
            continue;
        for (int answers = 0; answers <= 1; answers++) {
            const struct match at = translated_match(r, t, answers == 1, m);
            put_rule(j, chain, rule, 1u << t->family, &at, way, copies);
        }
    }
    struct match related = *m;
    match_narrow_to(r->run->arena, &related, AXIS_STATE, STATE_RELATED, STATE_RELATED, &r->failed);
    if (r->translations.n)
        put_rule(j, chain, rule, rule->families, &related, way, copies);
}

/* Copies for a frame: each chain once, in the order in which they are come to. */
struct copying {
    uint32_t *copies; /* of each listed chain; UINT32_MAX: none yet */
    uint32_t *order, n_order;
};

static struct str chain_words(struct ruleset_reader *r, const struct listed_chain *c)
{
    struct buf out = { .arena = r->run->arena };
    buf_printf(&out, "%.*s %.*s %.*s", STR_ARG(c->family), STR_ARG(c->table), STR_ARG(c->name));
    return buf_done(&out);
}

static void copy_wanted(struct joiner *j, struct copying *copying, uint32_t listed)
{
    if (copying->copies[listed] != UINT32_MAX)
        return;
    copying->copies[listed] = chain_new(j, chain_words(j->r, &j->r->chains.v[listed]), ACTION_RETURN);
    copying->order[copying->n_order++] = listed;
}

static void copy_chains(struct joiner *j, uint32_t base, struct way way, struct copying *copying)
{
    struct ruleset_reader *r = j->r;
    const struct listed_chain *frame = &r->chains.v[base];
    copy_wanted(j, copying, base);
    for (uint32_t k = 0; k < copying->n_order && !r->failed; k++) {
        const struct listed_chain *c = &r->chains.v[copying->order[k]];
        for (uint32_t i = 0; i < c->rules.n && !r->failed; i++) {
            const struct listed_rule *rule = &c->rules.v[i];
            struct match m;
            if (!is_sound(j, rule, frame) || !seen_from(j, rule, frame->hook, &m))
                continue;
            if (rule->action == ACTION_JUMP || rule->action == ACTION_GOTO)
                copy_wanted(j, copying, rule->chain);
            if (rule->on.translated)
                put_translated(j, copying->copies[copying->order[k]], rule, &m, way, copying->copies);
            else
                put_rule(j, copying->copies[copying->order[k]], rule, rule->families, &m, way, copying->copies);
        }
    }
}

static struct way frame_make(struct joiner *j, uint32_t base, struct way way)
{
    struct ruleset_reader *r = j->r;
    const struct listed_chain *c = &r->chains.v[base];
    struct copying copying = { .copies = ARENA_ARRAY(r->run->arena, uint32_t, r->chains.n),
                               .order = ARENA_ARRAY(r->run->arena, uint32_t, r->chains.n) };
    if (++j->n_frames > FRAMES_MAX) {
        listing_fail(r, RT_LIMIT, NULL, NULL, "more than %d chains that hook packets", FRAMES_MAX);
        r->failed = true;
    }
    if (!copying.copies || !copying.order || r->failed) {
        r->failed = true;
        return way;
    }
    for (uint32_t i = 0; i < r->chains.n; i++)
        copying.copies[i] = UINT32_MAX;
    struct buf name = { .arena = r->run->arena };
    buf_printf(&name, "%.*s and its policy", STR_ARG(chain_words(r, c)));
    const uint32_t frame = chain_new(j, buf_done(&name), ACTION_RETURN);
    copy_chains(j, base, way, &copying);
    if (c->families != BOTH_FAMILIES) {
        struct rule *other = rule_new(j, frame, way.action, way.chain, STR("the other family does not come here"));
        if (other)
            other->families = BOTH_FAMILIES & ~c->families;
    }
    struct buf says = { .arena = r->run->arena };
    buf_printf(&says, "policy of table %.*s %.*s, chain %.*s", STR_ARG(c->family), STR_ARG(c->table), STR_ARG(c->name));
    rule_new(j, frame, ACTION_JUMP, copying.copies[base], chain_words(r, c));
    if (c->policy == ACTION_DROP)
        rule_new(j, frame, ACTION_DROP, 0, buf_done(&says));
    else
        goes(j, frame, way, buf_done(&says));
    return (struct way){ ACTION_GOTO, frame };
}

/* ---- the packet's way ---- */

struct place {
    int64_t priority;
    uint32_t chain;
};

static int by_priority(const void *a, const void *b)
{
    const struct place *x = a, *y = b;
    if (x->priority != y->priority)
        return x->priority < y->priority ? -1 : 1;
    return x->chain < y->chain ? -1 : x->chain > y->chain;
}

/* The frames of a hook in order, the last one leading on; the way into the first. */
static struct way hook_make(struct joiner *j, enum ruleset_hook hook, struct way way)
{
    struct ruleset_reader *r = j->r;
    struct place *places = ARENA_ARRAY(r->run->arena, struct place, r->chains.n);
    uint32_t n = 0;
    if (!places) {
        r->failed = true;
        return way;
    }
    for (uint32_t c = 0; c < r->chains.n; c++) {
        const struct listed_chain *chain = &r->chains.v[c];
        if (chain->is_base && !chain->is_nat && !chain->is_off && chain->hook == hook)
            places[n++] = (struct place){ chain->priority, c };
    }
    if (n > 1)
        qsort(places, n, sizeof *places, by_priority);
    for (uint32_t i = n; i > 0 && !r->failed; i--)
        way = frame_make(j, places[i - 1].chain, way);
    return way;
}

/* A chain that sends packets to the gateway one way, others another. */
static struct way fork_make(struct joiner *j, const char *name, uint32_t axis, struct way gateway, struct way others)
{
    if (gateway.action == others.action && gateway.chain == others.chain)
        return others;
    const uint32_t chain = chain_new(j, str_from(name), ACTION_RETURN);
    struct rule *rule = rule_new(j, chain, gateway.action, gateway.chain,
                                 axis == AXIS_TO ? STR("to the gateway itself") : STR("from the gateway itself"));
    if (rule)
        match_narrow_to(j->r->run->arena, &rule->match, axis, ZONE_GATEWAY, ZONE_GATEWAY, &j->r->failed);
    goes(j, chain, others, STR("all others"));
    return (struct way){ ACTION_GOTO, chain };
}

static void ways_make(struct joiner *j)
{
    const struct way passed = { ACTION_ACCEPT, 0 };
    const uint32_t start = chain_new(j, STR("a packet's way"), ACTION_ACCEPT);
    const struct way input = hook_make(j, HOOK_INPUT, passed);
    const struct way postrouting = hook_make(j, HOOK_POSTROUTING, passed);
    const struct way forward = hook_make(j, HOOK_FORWARD, postrouting);
    const struct way routed = fork_make(j, "behind prerouting", AXIS_TO, input, forward);
    const struct way prerouting = hook_make(j, HOOK_PREROUTING, routed);
    if (j->r->worst)
        return; /* the copies below would tell it again */
    /* to itself a packet takes both ways */
    const struct way itself = hook_make(j, HOOK_POSTROUTING, hook_make(j, HOOK_PREROUTING, input));
    const struct way sent = fork_make(j, "behind output", AXIS_TO, itself, postrouting);
    const struct way output = hook_make(j, HOOK_OUTPUT, sent);
    struct rule *from = rule_new(j, start, output.action, output.chain, STR("from the gateway itself"));
    if (from)
        match_narrow_to(j->r->run->arena, &from->match, AXIS_FROM, ZONE_GATEWAY, ZONE_GATEWAY, &j->r->failed);
    goes(j, start, prerouting, STR("from elsewhere"));
}

static void find_mark_tests(struct joiner *j)
{
    for (uint32_t c = 0; c < j->r->chains.n; c++)
        for (uint32_t i = 0; i < j->r->chains.v[c].rules.n; i++) {
            const struct rests_on *on = &j->r->chains.v[c].rules.v[i].on;
            j->has_mark_test |= on->mark;
            j->has_packet_mark_test |= on->packet_mark;
        }
}

enum rt_code ruleset_join(struct ruleset_reader *r, struct table *out)
{
    struct joiner j = { .r = r };
    if (!depth_is_bounded(r))
        return r->failed ? rt_fail_memory(r->p) : r->worst;
    find_translations(&j);
    find_mark_tests(&j);
    if (!r->failed && !r->worst)
        ways_make(&j);
    if (r->worst)
        return r->worst;
    struct chain *v = ARENA_ARRAY(r->run->arena, struct chain, j.chains.n);
    if (r->failed || !v)
        return rt_fail_memory(r->p);
    uint32_t number = 0;
    for (uint32_t c = 0; c < j.chains.n; c++) {
        for (uint32_t i = 0; i < j.chains.v[c].rules.n; i++)
            j.chains.v[c].rules.v[i].number = ++number; /* as they are written down now */
        v[c].name = j.chains.v[c].name;
        v[c].policy = j.chains.v[c].policy;
        v[c].rules.v = j.chains.v[c].rules.v;
        v[c].rules.n = j.chains.v[c].rules.n;
    }
    out->chains.v = v;
    out->chains.n = j.chains.n;
    out->start = 0;
    out->n_rules = j.n_rules;
    return RT_OK;
}

#include "reach/ruleset_int.h"

/* Statements of a rule, by the member's name in the listing. */
enum statement_kind {
    DOES_NOTHING, /* to the packet's fate */
    DECIDES,
    DECIDES_BY_MAP,
    TRANSLATES,
    CHANGES,
    UNJUDGED, /* depends on more than the packet */
};

static const struct {
    const char *key;
    enum statement_kind kind;
    enum action action;
    const char *why;
} STATEMENTS[] = {
    { "counter", DOES_NOTHING, ACTION_CONTINUE, NULL },
    { "log", DOES_NOTHING, ACTION_CONTINUE, NULL },
    { "set", DOES_NOTHING, ACTION_CONTINUE, NULL }, /* with a limit inside: see statement_kind() */
    { "map", DOES_NOTHING, ACTION_CONTINUE, NULL },
    { "continue", DOES_NOTHING, ACTION_CONTINUE, NULL },
    { "ct helper", DOES_NOTHING, ACTION_CONTINUE, NULL },
    { "ct timeout", DOES_NOTHING, ACTION_CONTINUE, NULL },
    { "ct expectation", DOES_NOTHING, ACTION_CONTINUE, NULL },
    { "accept", DECIDES, ACTION_ACCEPT, NULL },
    { "drop", DECIDES, ACTION_DROP, NULL },
    { "reject", DECIDES, ACTION_REJECT, NULL },
    { "return", DECIDES, ACTION_RETURN, NULL },
    { "jump", DECIDES, ACTION_JUMP, NULL },
    { "goto", DECIDES, ACTION_GOTO, NULL },
    { "vmap", DECIDES_BY_MAP, ACTION_CONTINUE, NULL },
    { "dnat", TRANSLATES, ACTION_CONTINUE, NULL },
    { "redirect", TRANSLATES, ACTION_CONTINUE, NULL },
    { "snat", DOES_NOTHING, ACTION_CONTINUE, NULL }, /* behind all that judges */
    { "masquerade", DOES_NOTHING, ACTION_CONTINUE, NULL },
    { "mangle", CHANGES, ACTION_CONTINUE, NULL },
    { "limit", UNJUDGED, ACTION_CONTINUE, "how fast packets come decides, not the packet" },
    { "quota", UNJUDGED, ACTION_CONTINUE, "how much has passed decides, not the packet" },
    { "ct count", UNJUDGED, ACTION_CONTINUE, "how many conversations there are decides, not the packet" },
    { "meter", UNJUDGED, ACTION_CONTINUE, "how fast packets come decides, not the packet" },
    { "notrack", UNJUDGED, ACTION_CONTINUE, "the kernel keeps no memory of such conversations" },
    { "queue", UNJUDGED, ACTION_CONTINUE, "a program decides" },
    { "flow", UNJUDGED, ACTION_CONTINUE, "packets of such conversations pass by the rules" },
    { "tproxy", UNJUDGED, ACTION_CONTINUE, "a program takes the packets" },
    { "synproxy", UNJUDGED, ACTION_CONTINUE, "the kernel answers in the receiver's place" },
    { "fwd", UNJUDGED, ACTION_CONTINUE, "packets pass by the rules" },
    { "dup", UNJUDGED, ACTION_CONTINUE, "a second packet goes elsewhere" },
    { "xt", UNJUDGED, ACTION_CONTINUE, "it is written by another tool and not listed" },
};

static int statement_find(const char *key)
{
    for (size_t i = 0; i < RT_COUNT(STATEMENTS); i++)
        if (str_is(str_from(key), STATEMENTS[i].key))
            return (int)i;
    return -1;
}

/* The one member of an expression. */
static const char *key_of(const json_t *expression, const json_t **value)
{
    if (!json_is_object(expression) || json_object_size(expression) != 1) {
        *value = NULL;
        return NULL;
    }
    /* jansson's iterators take objects that may be changed; this one only looks */
    json_t *object = (json_t *)(uintptr_t)expression;
    void *member = json_object_iter(object);
    *value = member ? json_object_iter_value(member) : NULL;
    return member ? json_object_iter_key(member) : NULL;
}

/* Rules that only count or log are passed over, whatever they look at. */
static bool decides_something(const json_t *expressions)
{
    for (size_t i = 0; i < json_array_size(expressions); i++) {
        const json_t *value;
        const char *key = key_of(json_array_get(expressions, i), &value);
        const int s = key ? statement_find(key) : -1;
        const bool is_match = key && str_is(str_from(key), "match");
        const bool rate_alone = s >= 0 && (str_is(str_from(key), "limit") || str_is(str_from(key), "quota") ||
                                           str_is(str_from(key), "ct count") || str_is(str_from(key), "meter"));
        if (!is_match && !rate_alone && (s < 0 || STATEMENTS[s].kind != DOES_NOTHING))
            return true;
    }
    return false;
}

static bool chain_find(struct ruleset_reader *r, const json_t *value, uint32_t *out)
{
    const struct str name = listing_text_at(value, "target");
    for (uint32_t i = 0; i < r->chains.n; i++) {
        const struct listed_chain *c = &r->chains.v[i];
        if (str_eq(c->name, name) && str_eq(c->table, r->chain->table) && str_eq(c->family, r->chain->family)) {
            *out = i;
            return true;
        }
    }
    return listing_fail(r, RT_UNKNOWN_REF, value, NULL, "the listing has no such chain");
}

/* The chain being read, to be written to. */
static struct listed_chain *chain_now(struct ruleset_reader *r) { return &r->chains.v[r->chain - r->chains.v]; }

static bool put_parts(struct ruleset_reader *r, const struct reading *rule, enum action action, uint32_t chain,
                      const json_t *translates)
{
    for (uint32_t i = 0; i < rule->parts.n; i++) {
        struct listed_rule part = rule->parts.v[i];
        bool never = part.families == 0;
        for (uint32_t k = 0; k < part.match.terms.n; k++)
            never |= part.match.terms.v[k].in.n == 0;
        if (never)
            continue;
        if (r->n_rules++ >= RULESET_RULES_MAX)
            return listing_fail(r, RT_LIMIT, NULL, NULL, "more than %d rules", RULESET_RULES_MAX);
        part.action = action;
        part.chain = chain;
        part.translates = translates;
        r->failed |= !VEC_PUSH(r->run->arena, &chain_now(r)->rules, part);
    }
    return !r->failed;
}

static bool decide(struct ruleset_reader *r, const struct reading *rule, const char *key, const json_t *value)
{
    const int s = statement_find(key);
    uint32_t chain = 0;
    if (s < 0 || (STATEMENTS[s].kind != DECIDES && !str_is(str_from(key), "continue")))
        return listing_fail(r, RT_SHAPE, value, NULL, "this decision cannot be judged");
    const enum action action = STATEMENTS[s].action;
    if ((action == ACTION_JUMP || action == ACTION_GOTO) && !chain_find(r, value, &chain))
        return false;
    return action == ACTION_CONTINUE || put_parts(r, rule, action, chain, NULL);
}

/* One rule for each key; `*`, the others, last. */
static bool decide_by_map(struct ruleset_reader *r, const struct reading *rule, const json_t *expressions,
                          const json_t *vmap)
{
    const json_t *key = json_object_get(vmap, "key"), *data = json_object_get(vmap, "data");
    const struct str name = listing_text(data);
    const json_t *elements = json_object_get(data, "set");
    if (name.n > 1 && name.p[0] == '@') {
        const struct listed_set *set = listing_set(r, (struct str){ name.p + 1, name.n - 1 });
        if (!set)
            return listing_fail(r, RT_UNKNOWN_REF, data, NULL, "the listing has no such map");
        if (set->fills)
            return listing_fail(r, RT_SHAPE, data, NULL, "a map that changes while the gateway runs cannot be judged");
        elements = set->elements;
    }
    json_t *keys = json_array(); /* of plain keys, for `*` */
    bool ok = keys != NULL;
    for (int others = 0; others <= 1 && ok; others++)
        for (size_t i = 0; i < json_array_size(elements) && ok; i++) {
            const json_t *pair = json_array_get(elements, i), *verdict;
            json_t *value = json_array_get(pair, 0);
            json_t *inner = json_object_get(json_object_get(value, "elem"), "val");
            value = inner ? inner : value;
            if (str_is(listing_text(value), "*") != (others == 1))
                continue;
            struct reading part = { .awaited = rule->awaited,
                                    .directed = rule->directed,
                                    .any_ports = rule->any_ports };
            for (uint32_t k = 0; k < rule->parts.n; k++)
                r->failed |= !VEC_PUSH(r->run->arena, &part.parts, rule->parts.v[k]);
            const char *word = key_of(json_array_get(pair, 1), &verdict);
            ok = word ? listing_key(r, key, others ? keys : value, others, &part) &&
                            listing_ends(r, expressions, &part) && decide(r, &part, word, verdict)
                      : listing_fail(r, RT_SHAPE, pair, NULL, "this decision cannot be judged");
            if (!others && json_array_append(keys, value) != 0)
                r->failed = true;
        }
    json_decref(keys);
    return ok && !r->failed;
}

/* What is set may not be looked at behind it, except in another hook: see ruleset_join(). */
static bool change(struct ruleset_reader *r, const struct reading *rule, const json_t *mangle)
{
    const json_t *key = json_object_get(mangle, "key");
    const struct str ct = listing_text_at(json_object_get(key, "ct"), "key");
    const struct str meta = listing_text_at(json_object_get(key, "meta"), "key");
    const bool harmless = json_object_get(key, "tcp option") || str_is(meta, "priority") || str_is(meta, "nftrace");
    if (harmless)
        return true;
    if (!str_is(ct, "mark") && !str_is(meta, "mark"))
        return listing_fail(r, RT_SHAPE, mangle, NULL, "packets that are changed on their way cannot be judged");
    struct reading setting = { 0 };
    for (uint32_t i = 0; i < rule->parts.n; i++) {
        struct listed_rule part = rule->parts.v[i];
        part.on = (struct rests_on){ .sets_mark = ct.n > 0, .sets_packet_mark = meta.n > 0 };
        r->failed |= !VEC_PUSH(r->run->arena, &setting.parts, part);
    }
    return put_parts(r, &setting, ACTION_CONTINUE, 0, NULL);
}

static bool has_rate(const json_t *set)
{
    const json_t *inside = json_object_get(set, "stmt");
    for (size_t i = 0; i < json_array_size(inside); i++) {
        const json_t *value;
        const char *key = key_of(json_array_get(inside, i), &value);
        const int s = key ? statement_find(key) : -1;
        if (s < 0 || STATEMENTS[s].kind != DOES_NOTHING)
            return true;
    }
    return false;
}

static bool expression_read(struct ruleset_reader *r, const json_t *expressions, const json_t *expression,
                            struct reading *rule)
{
    const json_t *value;
    const char *key = key_of(expression, &value);
    const int s = key ? statement_find(key) : -1;
    if (key && str_is(str_from(key), "match"))
        return listing_match(r, value, rule);
    if (s < 0)
        return listing_fail(r, RT_SHAPE, expression, NULL, "what it does is not known");
    switch (STATEMENTS[s].kind) {
    case DOES_NOTHING:
        for (uint32_t i = 0; i < rule->parts.n; i++)
            rule->parts.v[i].log |= str_is(str_from(key), "log");
        if (json_object_get(value, "set"))
            listing_note(r, "%.*s: taken that the set has room", STR_ARG(r->where));
        if (has_rate(value))
            return listing_fail(r, RT_SHAPE, expression, NULL, "how fast packets come decides, not the packet");
        return true;
    case DECIDES:
        return listing_ends(r, expressions, rule) && decide(r, rule, key, value);
    case DECIDES_BY_MAP:
        return decide_by_map(r, rule, expressions, value);
    case TRANSLATES:
        return listing_ends(r, expressions, rule) && put_parts(r, rule, ACTION_CONTINUE, 0, expression);
    case CHANGES:
        return change(r, rule, value);
    case UNJUDGED:
        break;
    }
    return listing_fail(r, RT_SHAPE, expression, NULL, "%s", STATEMENTS[s].why);
}

void listing_rule(struct ruleset_reader *r, const json_t *rule)
{
    const json_t *expressions = json_object_get(rule, "expr");
    if (!json_is_array(expressions)) {
        listing_fail(r, RT_SHAPE, rule, NULL, "a rule without expressions");
        return;
    }
    if (!decides_something(expressions))
        return;
    struct reading reading = { 0 };
    struct listed_rule all = { .families = r->chain->families, .says = r->where };
    const struct str comment = listing_text_at(rule, "comment");
    if (comment.n) {
        struct buf says = { .arena = r->run->arena };
        buf_printf(&says, "%.*s (%.*s)", STR_ARG(r->where), STR_ARG(comment));
        all.says = buf_done(&says);
    }
    r->failed |= !VEC_PUSH(r->run->arena, &reading.parts, all);
    for (size_t i = 0; i < json_array_size(expressions) && !r->failed; i++)
        if (!expression_read(r, expressions, json_array_get(expressions, i), &reading))
            return;
}

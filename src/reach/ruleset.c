#include "reach/ruleset.h"

#include <stdarg.h>

#include "reach/ruleset_int.h"

enum { SHOWN_JSON_BYTES = 120, NAMED_MAX = 64 };

/* ---- what the reader says ---- */

struct str listing_text(const json_t *text)
{
    return json_is_string(text) ? (struct str){ json_string_value(text), json_string_length(text) } : STR("");
}

struct str listing_text_at(const json_t *object, const char *key) { return listing_text(json_object_get(object, key)); }

static void put_shortened(struct ruleset_reader *r, struct buf *out, const json_t *expression)
{
    char *text = json_dumps(expression, JSON_COMPACT | JSON_ENCODE_ANY);
    if (!text) {
        r->failed = true;
        return;
    }
    const struct str all = str_from(text);
    size_t n = 0;
    while (n < all.n && n < SHOWN_JSON_BYTES) {
        const size_t letter = str_letter(all, n);
        n += letter ? letter : 1;
    }
    buf_printf(out, ": %.*s%s", (int)n, text, n < all.n ? "..." : "");
    free(text);
}

bool listing_fail(struct ruleset_reader *r, enum rt_code code, const json_t *expression, const char *hint,
                  const char *fmt, ...)
{
    struct buf says = { .arena = r->run->arena };
    va_list args;
    va_start(args, fmt);
    char *why = arena_vprintf(r->run->arena, fmt, args);
    va_end(args);
    if (r->where.n)
        buf_printf(&says, "%.*s: ", STR_ARG(r->where));
    buf_text(&says, why ? why : "");
    if (expression)
        put_shortened(r, &says, expression);
    r->failed |= !why || says.failed;
    rt_fail(r->p, code, (struct rt_place){ .file = r->file }, hint, "%.*s", STR_ARG(buf_done(&says)));
    if (r->worst == RT_OK)
        r->worst = code;
    return false;
}

void listing_note(struct ruleset_reader *r, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    char *text = arena_vprintf(r->run->arena, fmt, args);
    va_end(args);
    if (!text ||
        !VEC_PUSH(r->run->arena, &r->notes, ((struct note){ .at = { .file = r->file }, .says = str_from(text) })))
        r->failed = true;
}

bool listing_named(struct ruleset_reader *r, struct str name, uint32_t *axis)
{
    for (uint32_t i = 0; i < r->named.n; i++)
        if (str_eq(r->named.v[i], name)) {
            *axis = AXIS_NAMED + i;
            return true;
        }
    if (r->named.n == NAMED_MAX)
        return listing_fail(r, RT_LIMIT, NULL, NULL, "it depends on more than %d things that only the gateway knows",
                            NAMED_MAX);
    *axis = AXIS_NAMED + r->named.n;
    r->failed |= !VEC_PUSH(r->run->arena, &r->named, name);
    return !r->failed;
}

/* ---- zones ---- */

static bool lists_zone(const struct ruleset_zones *z, uint32_t zone)
{
    for (uint32_t i = 0; i < z->interfaces.n; i++)
        if (z->interfaces.v[i].zone == zone)
            return true;
    return false;
}

enum rt_code ruleset_zones(const struct run *run, const struct address_plan *plan, struct ruleset_zones *out,
                           struct rt_problems *p)
{
    const struct house *h = plan->h;
    struct ruleset_interface *v = ARENA_ARRAY(run->arena, struct ruleset_interface, h->interfaces.n + plan->n_zones);
    struct span *broadcasts = ARENA_ARRAY(run->arena, struct span, h->segments.n);
    if (!v || !broadcasts)
        return rt_fail_memory(p);
    *out = (struct ruleset_zones){ .interfaces = { v, 0 },
                                   .n_zones = plan->n_zones,
                                   .n_with_mac = ZONE_SEGMENT + h->segments.n };
    for (uint32_t i = 0; i < h->interfaces.n; i++) {
        const uint32_t segment = h->interfaces.v[i].segment.i;
        v[out->interfaces.n++] =
            (struct ruleset_interface){ h->interfaces.v[i].id,
                                        segment == NO_REF ? ZONE_INTERNET : ZONE_SEGMENT + segment };
    }
    for (uint32_t zone = 0; zone < plan->n_zones; zone++)
        if (zone != ZONE_GATEWAY && !lists_zone(out, zone))
            v[out->interfaces.n++] = (struct ruleset_interface){ zone_interface(plan, zone), zone };
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->segments.n; i++)
        if (plan->segments[i].ipv4.is_given) {
            const axis_value last = prefix_span(plan->segments[i].ipv4).hi;
            broadcasts[n++] = (struct span){ last, last };
        }
    bool failed = false;
    out->broadcasts = spans_tidy(run->arena, broadcasts, n, &failed);
    return failed ? rt_fail_memory(p) : RT_OK;
}

/* ---- the listing's objects ---- */

static unsigned families_of(struct str family)
{
    return str_is(family, "inet")  ? BOTH_FAMILIES
           : str_is(family, "ip")  ? 1u << FAMILY_IPV4
           : str_is(family, "ip6") ? 1u << FAMILY_IPV6
                                   : 0;
}

static struct str table_words(struct ruleset_reader *r, struct str family, struct str table)
{
    struct buf out = { .arena = r->run->arena };
    buf_printf(&out, "table %.*s %.*s", STR_ARG(family), STR_ARG(table));
    return buf_done(&out);
}

static bool is_asleep(struct ruleset_reader *r, struct str family, struct str table)
{
    const struct str words = table_words(r, family, table);
    for (uint32_t i = 0; i < r->sleeping.n; i++)
        if (str_eq(r->sleeping.v[i], words))
            return true;
    return false;
}

static void table_read(struct ruleset_reader *r, const json_t *table)
{
    const struct str words = table_words(r, listing_text_at(table, "family"), listing_text_at(table, "name"));
    const json_t *flags = json_object_get(table, "flags");
    bool dormant = str_is(listing_text(flags), "dormant");
    for (size_t i = 0; i < json_array_size(flags); i++)
        dormant |= str_is(listing_text(json_array_get(flags, i)), "dormant");
    if (dormant) {
        listing_note(r, "%.*s is dormant: it judges nothing", STR_ARG(words));
        r->failed |= !VEC_PUSH(r->run->arena, &r->sleeping, words);
    }
}

static bool hook_read(struct str text, enum ruleset_hook *out)
{
    static const char *const NAMES[HOOK_COUNT] = { "prerouting", "input", "forward", "output", "postrouting" };
    for (unsigned h = 0; h < HOOK_COUNT; h++)
        if (str_is(text, NAMES[h])) {
            *out = (enum ruleset_hook)h;
            return true;
        }
    return false;
}

static void base_read(struct ruleset_reader *r, const json_t *json, struct listed_chain *c)
{
    const json_t *priority = json_object_get(json, "prio");
    const struct str hook = listing_text_at(json, "hook"), type = listing_text_at(json, "type");
    const struct str policy = listing_text_at(json, "policy");
    c->is_base = true;
    if (c->families == 0) {
        listing_fail(r, RT_SHAPE, NULL, NULL, "what a chain of family %.*s does to packets cannot be judged",
                     STR_ARG(c->family));
        return;
    }
    c->is_nat = str_is(type, "nat");
    c->priority = json_integer_value(priority);
    c->policy = str_is(policy, "drop") ? ACTION_DROP : ACTION_ACCEPT;
    const bool known = c->is_nat || str_is(type, "filter") || str_is(type, "route");
    if (!known || !json_is_integer(priority) || !hook_read(hook, &c->hook) ||
        !(str_is(policy, "drop") || str_is(policy, "accept")))
        listing_fail(r, RT_SHAPE, json, NULL, "where this chain stands is not known");
    else if (c->is_nat && c->policy == ACTION_DROP)
        listing_fail(r, RT_SHAPE, NULL, NULL, "a chain of translations that drops cannot be judged");
}

static void chain_read(struct ruleset_reader *r, const json_t *json)
{
    struct listed_chain c = { .family = listing_text_at(json, "family"),
                              .table = listing_text_at(json, "table"),
                              .name = listing_text_at(json, "name"),
                              .policy = ACTION_RETURN };
    struct buf where = { .arena = r->run->arena };
    buf_printf(&where, "table %.*s %.*s, chain %.*s", STR_ARG(c.family), STR_ARG(c.table), STR_ARG(c.name));
    r->where = buf_done(&where);
    c.families = families_of(c.family);
    c.is_off = c.families == 0 || is_asleep(r, c.family, c.table);
    if (json_object_get(json, "hook") && !is_asleep(r, c.family, c.table))
        base_read(r, json, &c);
    else if (c.families == 0)
        listing_note(r, "%.*s: no packet comes there, it hooks nothing", STR_ARG(r->where));
    if (r->chains.n >= RULESET_CHAINS_MAX)
        listing_fail(r, RT_LIMIT, NULL, NULL, "more than %d chains", RULESET_CHAINS_MAX);
    else
        r->failed |= !VEC_PUSH(r->run->arena, &r->chains, c);
    r->where = STR("");
}

static struct str without_family(struct str name)
{
    const size_t n = 5; /* _ipv4 */
    if (name.n > n && (str_is((struct str){ name.p + name.n - n, n }, "_ipv4") ||
                       str_is((struct str){ name.p + name.n - n, n }, "_ipv6")))
        name.n -= n;
    return name;
}

/* A set with a time-out, or with nothing in it, is filled by somebody while the gateway runs.  Sets that are named alike but
 * for _ipv4 and _ipv6 are one thing in two families. */
static void set_read(struct ruleset_reader *r, const json_t *json)
{
    struct listed_set s = { .family = listing_text_at(json, "family"),
                            .table = listing_text_at(json, "table"),
                            .name = listing_text_at(json, "name"),
                            .elements = json_object_get(json, "elem"),
                            .axis = UINT32_MAX };
    const struct str type = listing_text_at(json, "type");
    s.fills = json_array_size(s.elements) == 0 || json_object_get(json, "timeout");
    const json_t *flags = json_object_get(json, "flags");
    for (size_t i = 0; i < json_array_size(flags); i++) {
        const struct str flag = listing_text(json_array_get(flags, i));
        s.fills |= str_is(flag, "timeout") || str_is(flag, "dynamic");
    }
    if (families_of(s.family) == 0 || is_asleep(r, s.family, s.table))
        return;
    if (s.fills)
        listing_note(r, "%.*s, set %.*s: what is in it only the running gateway knows",
                     STR_ARG(table_words(r, s.family, s.table)), STR_ARG(s.name));
    if (s.fills && (str_is(type, "ipv4_addr") || str_is(type, "ipv6_addr"))) {
        struct buf name = { .arena = r->run->arena };
        buf_printf(&name, "%.*s %.*s", STR_ARG(s.table), STR_ARG(without_family(s.name)));
        listing_named(r, buf_done(&name), &s.axis);
    }
    r->failed |= !VEC_PUSH(r->run->arena, &r->sets, s);
}

/* A set that rules add to fills too. */
static void note_additions(struct ruleset_reader *r, const json_t *rule)
{
    const json_t *expressions = json_object_get(rule, "expr");
    for (size_t i = 0; i < json_array_size(expressions); i++) {
        const json_t *expression = json_array_get(expressions, i);
        const json_t *set = json_object_get(expression, "set"), *map = json_object_get(expression, "map");
        const struct str name = listing_text_at(set ? set : map, set ? "set" : "map");
        for (uint32_t k = 0; k < r->sets.n && name.n > 1; k++) {
            struct listed_set *s = &r->sets.v[k];
            if (str_eq(s->name, (struct str){ name.p + 1, name.n - 1 }) &&
                str_eq(s->table, listing_text_at(rule, "table")) && str_eq(s->family, listing_text_at(rule, "family")))
                s->fills = true;
        }
    }
}

static void rule_begin(struct ruleset_reader *r, const json_t *rule)
{
    const struct str family = listing_text_at(rule, "family"), table = listing_text_at(rule, "table");
    const struct str name = listing_text_at(rule, "chain");
    const json_t *handle = json_object_get(rule, "handle");
    struct buf where = { .arena = r->run->arena };
    buf_printf(&where, "table %.*s %.*s, chain %.*s", STR_ARG(family), STR_ARG(table), STR_ARG(name));
    if (json_is_integer(handle))
        buf_printf(&where, ", handle %lld", (long long)json_integer_value(handle));
    r->where = buf_done(&where);
    /* rules are listed chain by chain: most often it is the same as before */
    const uint32_t before = r->chain ? (uint32_t)(r->chain - r->chains.v) : 0;
    for (uint32_t i = 0; i < r->chains.n; i++) {
        r->chain = &r->chains.v[(before + i) % r->chains.n];
        if (str_eq(r->chain->name, name) && str_eq(r->chain->table, table) && str_eq(r->chain->family, family)) {
            if (!r->chain->is_off)
                listing_rule(r, rule);
            return;
        }
    }
    listing_fail(r, RT_UNKNOWN_REF, NULL, NULL, "the listing has no such chain");
}

/* ---- the listing ---- */

static const struct {
    const char *key;
    void (*read)(struct ruleset_reader *r, const json_t *object);
    unsigned pass;
} OBJECTS[] = {
    { "metainfo", NULL, 0 },       { "table", table_read, 0 }, { "set", set_read, 1 },
    { "map", set_read, 1 },        { "chain", chain_read, 1 }, { "rule", note_additions, 2 },
    { "rule", rule_begin, 3 },     { "counter", NULL, 0 },     { "quota", NULL, 0 },
    { "limit", NULL, 0 },          { "ct helper", NULL, 0 },   { "ct timeout", NULL, 0 },
    { "ct expectation", NULL, 0 }, { "secmark", NULL, 0 },     { "synproxy", NULL, 0 },
    { "flowtable", NULL, 0 }, /* what uses one of these is judged where it is used */
};

static void object_read(struct ruleset_reader *r, const json_t *object, unsigned pass)
{
    bool known = false;
    for (size_t k = 0; k < RT_COUNT(OBJECTS); k++) {
        const json_t *inside = json_object_get(object, OBJECTS[k].key);
        known |= inside != NULL;
        if (json_is_object(inside) && OBJECTS[k].pass == pass && OBJECTS[k].read)
            OBJECTS[k].read(r, inside);
    }
    if (!known && pass == 0)
        listing_fail(r, RT_SHAPE, object, NULL, "what this part of the listing is, is not known");
}

static enum rt_code listing_read(struct ruleset_reader *r, const json_t *root, struct ruleset *out)
{
    const json_t *objects = json_object_get(root, "nftables");
    if (!json_is_array(objects)) {
        listing_fail(r, RT_SHAPE, NULL, "make it with: TZ=UTC nft -j list ruleset",
                     "this is not the listing of a ruleset");
        return r->worst;
    }
    for (unsigned pass = 0; pass <= 3; pass++)
        for (size_t i = 0; i < json_array_size(objects) && !r->failed; i++)
            object_read(r, json_array_get(objects, i), pass);
    r->where = STR("");
    if (r->worst)
        return r->worst;
    if (r->failed)
        return rt_fail_memory(r->p);
    RT_TRY(ruleset_join(r, &out->table));
    return r->failed ? rt_fail_memory(r->p) : RT_OK;
}

/* Texts that outlive the listing's tree. */
static bool keep_texts(struct arena *a, struct ruleset *out)
{
    struct table *t = &out->table;
    bool ok = true;
    for (uint32_t c = 0; c < t->chains.n; c++) {
        t->chains.v[c].name = str_dup(a, t->chains.v[c].name);
        ok &= t->chains.v[c].name.p != NULL;
    }
    return ok;
}

enum rt_code ruleset_read(const struct run *run, const struct ruleset_zones *zones, const struct week_kind *week,
                          const char *file, struct str json, struct ruleset **out, struct rt_problems *p)
{
    if (json.n > RULESET_BYTES_MAX)
        return rt_fail(p, RT_LIMIT, (struct rt_place){ .file = file }, NULL, "the listing is larger than %d MB",
                       RULESET_BYTES_MAX >> 20);
    struct ruleset *made = ARENA_NEW(run->arena, struct ruleset);
    if (!made)
        return rt_fail_memory(p);
    json_error_t error;
    json_t *root = json_loadb(json.p ? json.p : "", json.n, JSON_REJECT_DUPLICATES, &error);
    if (!root)
        return rt_fail(p, RT_SYNTAX,
                       (struct rt_place){ .file = file,
                                          .line = error.line > 0 ? (uint32_t)error.line : 0,
                                          .col = error.column > 0 ? (uint32_t)error.column : 1 },
                       "make it with: TZ=UTC nft -j list ruleset", "this is no JSON: %s", error.text);
    struct ruleset_reader r = { .run = run, .zones = zones, .week = week, .file = file, .p = p };
    enum rt_code code = listing_read(&r, root, made);
    if (code == RT_OK && !keep_texts(run->arena, made))
        code = rt_fail_memory(p);
    json_decref(root);
    if (code)
        return code;
    made->translations.v = r.translations.v;
    made->translations.n = r.translations.n;
    made->notes.v = r.notes.v;
    made->notes.n = r.notes.n;
    made->table.named = (str_list){ r.named.v, r.named.n };
    *out = made;
    return RT_OK;
}

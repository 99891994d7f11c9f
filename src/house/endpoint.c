/* Endpoints and services named outside the house file: on the command line, by the browser. */
#include <string.h>

#include "data/services.h"
#include "house/house.h"

static const struct {
    const char *prefix;
    enum endpoint_kind kind;
} KINDS[] = { { "segment", END_SEGMENT }, { "group", END_GROUP }, { "device", END_DEVICE }, { "person", END_PERSON } };

static const struct {
    const char *word;
    enum endpoint_kind kind;
} SPECIAL[] = { { "anyone", END_ANYONE }, { "internet", END_INTERNET }, { "gateway", END_GATEWAY } };

static uint32_t count_of(const struct house *h, enum endpoint_kind kind)
{
    return kind == END_SEGMENT  ? h->segments.n
           : kind == END_GROUP  ? h->groups.n
           : kind == END_DEVICE ? h->devices.n
                                : h->people.n;
}

static struct str id_of(const struct house *h, enum endpoint_kind kind, uint32_t i)
{
    return kind == END_SEGMENT  ? h->segments.v[i].id
           : kind == END_GROUP  ? h->groups.v[i].id
           : kind == END_DEVICE ? h->devices.v[i].id
                                : h->people.v[i].id;
}

static uint32_t find(const struct house *h, enum endpoint_kind kind, struct str id)
{
    for (uint32_t i = 0; i < count_of(h, kind); i++)
        if (str_eq(id_of(h, kind, i), id))
            return i;
    return NO_REF;
}

static enum rt_code fail_unknown(const struct house *h, struct str text, struct rt_problems *p)
{
    uint32_t n = RT_COUNT(SPECIAL);
    for (size_t k = 0; k < RT_COUNT(KINDS); k++)
        n += count_of(h, KINDS[k].kind);
    struct str *known = ARENA_ARRAY(p->arena, struct str, n);
    if (!known)
        return rt_fail_memory(p);
    n = 0;
    for (size_t i = 0; i < RT_COUNT(SPECIAL); i++)
        known[n++] = str_from(SPECIAL[i].word);
    for (size_t k = 0; k < RT_COUNT(KINDS); k++)
        for (uint32_t i = 0; i < count_of(h, KINDS[k].kind); i++)
            known[n++] = id_of(h, KINDS[k].kind, i);
    const size_t near = str_nearest(text, known, n);
    const char *hint = near < n ? arena_printf(p->arena, "did you mean `%.*s`?", STR_ARG(known[near]))
                                : "take anyone, internet, gateway, or the id of a segment, group, device or person";
    return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, hint, "the house has no segment, group, device or person `%.*s`",
                   STR_ARG(text));
}

enum rt_code house_read_endpoint(const struct house *h, struct str text, struct endpoint *out, struct rt_problems *p)
{
    *out = (struct endpoint){ .i = NO_REF, .name = text };
    for (size_t i = 0; i < RT_COUNT(SPECIAL); i++)
        if (str_is(text, SPECIAL[i].word)) {
            out->kind = SPECIAL[i].kind;
            return RT_OK;
        }
    const char *colon = text.n ? memchr(text.p, ':', text.n) : NULL;
    const struct str prefix = { text.p, colon ? (size_t)(colon - text.p) : 0 };
    const struct str id = colon ? (struct str){ colon + 1, text.n - prefix.n - 1 } : text;
    const char *kinds[RT_COUNT(KINDS)];
    unsigned n_found = 0;
    for (size_t k = 0; k < RT_COUNT(KINDS); k++) {
        const uint32_t i = colon && !str_is(prefix, KINDS[k].prefix) ? NO_REF : find(h, KINDS[k].kind, id);
        if (i == NO_REF)
            continue;
        kinds[n_found++] = KINDS[k].prefix;
        out->kind = KINDS[k].kind;
        out->i = i;
    }
    if (n_found == 1)
        return RT_OK;
    if (n_found > 1)
        return rt_fail(p, RT_CONFLICT, RT_NOWHERE,
                       arena_printf(p->arena, "write %s:%.*s or %s:%.*s", kinds[0], STR_ARG(id), kinds[1], STR_ARG(id)),
                       "`%.*s` is both a %s and a %s", STR_ARG(text), kinds[0], kinds[1]);
    if (!colon && text.n > 2 && memchr(text.p + 1, '.', text.n - 2)) {
        out->kind = END_NAME;
        return RT_OK;
    }
    return fail_unknown(h, text, p);
}

enum rt_code house_knows_service(const struct house *h, struct str name, struct rt_problems *p)
{
    uint32_t n;
    const struct service_flow *flows = service_flows(&n);
    struct str *known = ARENA_ARRAY(p->arena, struct str, h->services.n + n);
    if (!known)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < h->services.n + n; i++) {
        known[i] = i < h->services.n ? h->services.v[i].id : str_from(flows[i - h->services.n].name);
        if (str_eq(known[i], name))
            return RT_OK;
    }
    const size_t near = str_nearest(name, known, h->services.n + n);
    const char *hint = near < h->services.n + n
                           ? arena_printf(p->arena, "did you mean `%.*s`?", STR_ARG(known[near]))
                           : "docs/house_file.md lists the built-in ones; declare others under `services`";
    return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, hint, "there is no service `%.*s`", STR_ARG(name));
}

/* Finding what a name stands for. */
#include "house/reader_int.h"

#include <string.h>

#include "base/units.h"

static const struct {
    const char *one, *many;
} SETS[SET_COUNT] = {
#define X(upper, one, many) [SET_##upper] = { one, many },
    NAME_SETS(X)
#undef X
};

const char *name_set_one(enum name_set set) { return SETS[set].one; }

/* FNV-1a, 32 bits (Fowler, Noll, Vo). */
static uint32_t hash(struct str s)
{
    uint32_t h = 2166136261u;
    for (size_t i = 0; i < s.n; i++)
        h = (h ^ (unsigned char)s.p[i]) * 16777619u;
    return h;
}

bool names_start(struct reader *rd, struct names *out, uint32_t n)
{
    uint32_t n_slots = 8;
    while (n_slots < 2 * n)
        n_slots *= 2;
    *out = (struct names){ .v = ARENA_ARRAY(rd->arena, struct str, n),
                           .slots = ARENA_ARRAY(rd->arena, uint32_t, n_slots),
                           .n_slots = n_slots };
    return (out->v && out->slots) || reader_no_memory(rd);
}

bool names_add(struct names *names, struct str name)
{
    uint32_t slot = hash(name) & (names->n_slots - 1);
    for (; names->slots[slot]; slot = (slot + 1) & (names->n_slots - 1))
        if (str_eq(names->v[names->slots[slot] - 1], name))
            return false;
    names->v[names->n++] = name;
    names->slots[slot] = names->n;
    return true;
}

bool names_build(struct reader *rd, enum name_set set, const struct str *names, uint32_t n, size_t stride)
{
    struct names *out = &rd->sets[set];
    if (!names_start(rd, out, n))
        return false;
    for (uint32_t i = 0; i < n; i++) {
        struct str name;
        memcpy(&name, (const char *)names + i * stride, sizeof name);
        (void)names_add(out, name);
    }
    return true;
}

uint32_t names_find(const struct names *names, struct str name)
{
    if (names->n == 0)
        return NO_REF;
    for (uint32_t slot = hash(name) & (names->n_slots - 1); names->slots[slot];
         slot = (slot + 1) & (names->n_slots - 1))
        if (str_eq(names->v[names->slots[slot] - 1], name))
            return names->slots[slot] - 1;
    return NO_REF;
}

/* All names of the sets in one array, for a suggestion; an empty one when there is no memory. */
static struct any_list all_names(struct reader *rd, uint32_t sets, const char *const *also, uint32_t n_also)
{
    uint32_t n = n_also;
    for (unsigned s = 0; s < SET_COUNT; s++)
        n += sets >> s & 1 ? rd->sets[s].n : 0;
    struct str *v = ARENA_ARRAY(rd->arena, struct str, n);
    if (!v) {
        reader_no_memory(rd);
        return (struct any_list){ 0 };
    }
    uint32_t k = 0;
    for (uint32_t i = 0; i < n_also; i++)
        v[k++] = str_from(also[i]);
    for (unsigned s = 0; s < SET_COUNT; s++)
        for (uint32_t i = 0; sets >> s & 1 && i < rd->sets[s].n; i++)
            v[k++] = rd->sets[s].v[i];
    return (struct any_list){ v, n };
}

/* "device or piece of equipment". */
static const char *one_of_sets(struct reader *rd, uint32_t sets)
{
    struct buf b = { .arena = rd->arena };
    const char *last = "";
    for (unsigned s = 0; s < SET_COUNT; s++) {
        if (!(sets >> s & 1) || strcmp(SETS[s].one, last) == 0)
            continue;
        buf_printf(&b, "%s%s", b.n ? " or " : "", SETS[s].one);
        last = SETS[s].one;
    }
    return b.failed || !b.p ? "" : b.p;
}

static const char *unknown_hint(struct reader *rd, uint32_t sets, struct str name)
{
    const struct any_list all = all_names(rd, sets, NULL, 0);
    for (unsigned s = 0; all.n == 0 && s < SET_COUNT; s++)
        if (sets >> s & 1)
            return reader_text(rd, "there are no %s yet: add it under '%s:'", SETS[s].many, SETS[s].many);
    return reader_suggest(rd, name, all.v, all.n, "known are:");
}

/* A part that cannot be looked up as there is no parts file, or none that can be read. */
static bool unknown_part(struct reader *rd, const struct spot *spot, const char *key, struct str name,
                         struct rt_place at)
{
    if (rd->has_no_parts_file && !rd->is_parts_told)
        reader_fail(rd, spot, RT_UNKNOWN_REF, at,
                    "say which parts can be bought: 'parts_file: NAME.parts.yaml' at the top of the file",
                    "'%s' names '%.*s', but the house has no parts file", key, STR_ARG(name));
    rd->is_parts_told |= rd->has_no_parts_file;
    return rd->is_parts_told;
}

static void unknown(struct reader *rd, const struct spot *spot, const char *key, uint32_t sets, struct str name,
                    struct rt_place at)
{
    if (sets == IN(PART) && unknown_part(rd, spot, key, name, at))
        return;
    if (reader_is_full(rd)) {
        reader_fail(rd, spot, RT_UNKNOWN_REF, at, NULL, "%s", "");
        return;
    }
    reader_fail(rd, spot, RT_UNKNOWN_REF, at, unknown_hint(rd, sets, name),
                "'%s' names '%.*s', but there is no such %s", key, STR_ARG(name), one_of_sets(rd, sets));
}

uint32_t reader_resolve(struct reader *rd, const struct spot *spot, const char *key, enum name_set set, struct str name,
                        struct rt_place at)
{
    const uint32_t i = names_find(&rd->sets[set], name);
    if (i == NO_REF)
        unknown(rd, spot, key, 1u << set, name, at);
    return i;
}

bool reader_knows(struct reader *rd, const struct spot *spot, const char *key, uint32_t sets, struct str name,
                  struct rt_place at)
{
    for (unsigned s = 0; s < SET_COUNT; s++)
        if (sets >> s & 1 && names_find(&rd->sets[s], name) != NO_REF)
            return true;
    unknown(rd, spot, key, sets, name, at);
    return false;
}

/* ---- endpoints ---- */

static const struct {
    const char *prefix;
    enum name_set set;
    enum endpoint_kind kind;
} KINDS[] = {
    { "segment", SET_SEGMENT, END_SEGMENT },
    { "group", SET_GROUP, END_GROUP },
    { "device", SET_DEVICE, END_DEVICE },
    { "person", SET_PERSON, END_PERSON },
};
enum { ENDPOINT_SETS = IN(SEGMENT) | IN(GROUP) | IN(DEVICE) | IN(PERSON) };

static const struct {
    const char *word;
    enum endpoint_kind kind;
} SPECIAL[] = { { "anyone", END_ANYONE }, { "internet", END_INTERNET }, { "gateway", END_GATEWAY } };

static bool prefixed_endpoint(struct reader *rd, const struct spot *spot, const char *key, struct str text,
                              size_t colon, struct endpoint *out)
{
    const struct str prefix = { text.p, colon }, rest = { text.p + colon + 1, text.n - colon - 1 };
    for (size_t k = 0; k < RT_COUNT(KINDS); k++) {
        if (!str_is(prefix, KINDS[k].prefix))
            continue;
        out->kind = KINDS[k].kind;
        out->i = reader_resolve(rd, spot, key, KINDS[k].set, rest, out->at);
        return out->i != NO_REF;
    }
    reader_fail(rd, spot, RT_UNKNOWN_REF, out->at, "only segment:, group:, device: and person: can stand before a name",
                "'%s' names '%.*s', and '%.*s:' is nothing known", key, STR_ARG(text), STR_ARG(prefix));
    return false;
}

static void endpoint_unknown(struct reader *rd, const struct spot *spot, const char *key, struct str text,
                             struct rt_place at)
{
    static const char *const also[] = { "anyone", "internet", "gateway" };
    const char *hint = "";
    if (!reader_is_full(rd)) {
        const struct any_list all = all_names(rd, ENDPOINT_SETS, also, RT_COUNT(also));
        hint = reader_suggest(rd, text, all.v, all.n, "known are, beside internet names with a dot:");
    }
    reader_fail(rd, spot, RT_UNKNOWN_REF, at, hint,
                "'%s' names '%.*s', but there is no such segment, group, device or person", key, STR_ARG(text));
}

bool reader_endpoint(struct reader *rd, const struct spot *spot, const char *key, const struct yaml_node *node,
                     struct endpoint *out)
{
    const struct str text = node->text;
    *out = (struct endpoint){ .i = NO_REF, .name = text, .at = node->at };
    for (size_t i = 0; i < RT_COUNT(SPECIAL); i++)
        if (str_is(text, SPECIAL[i].word)) {
            out->kind = SPECIAL[i].kind;
            return true;
        }
    const char *colon = text.n ? memchr(text.p, ':', text.n) : NULL;
    if (colon)
        return prefixed_endpoint(rd, spot, key, text, (size_t)(colon - text.p), out);
    unsigned n_found = 0;
    const char *kinds[RT_COUNT(KINDS)];
    for (size_t k = 0; k < RT_COUNT(KINDS); k++) {
        const uint32_t i = names_find(&rd->sets[KINDS[k].set], text);
        if (i == NO_REF)
            continue;
        kinds[n_found++] = KINDS[k].prefix;
        out->kind = KINDS[k].kind;
        out->i = i;
    }
    if (n_found == 1)
        return true;
    if (n_found > 1) {
        reader_fail(rd, spot, RT_CONFLICT, node->at,
                    reader_text(rd, "write %s:%.*s or %s:%.*s", kinds[0], STR_ARG(text), kinds[1], STR_ARG(text)),
                    "'%s' names '%.*s', which is both a %s and a %s", key, STR_ARG(text), kinds[0], kinds[1]);
        return false;
    }
    if (is_domain_name(text)) {
        out->kind = END_NAME;
        return true;
    }
    endpoint_unknown(rd, spot, key, text, node->at);
    return false;
}

bool reader_cable_end(struct reader *rd, const struct spot *spot, const char *key, const struct yaml_node *node,
                      struct cable_end *out)
{
    struct str what = node->text;
    *out = (struct cable_end){ .at = node->at, .equipment = NO_REF, .device = NO_REF, .port = RT_NOT_GIVEN };
    const char *colon = what.n ? memchr(what.p, ':', what.n) : NULL;
    if (colon) {
        const struct str port = { colon + 1, (size_t)(what.p + what.n - colon) - 1 };
        what.n = (size_t)(colon - what.p);
        if (!number_parse(port, &out->port) || out->port < 1 || out->port > 512 || out->port != floor(out->port)) {
            reader_fail(rd, spot, RT_RANGE, node->at, "write the number that stands at the port, such as switch_1:3",
                        "'%s' gives '%.*s' as its port, which is not a number from 1 to 512", key, STR_ARG(port));
            return false;
        }
    }
    out->what = what;
    out->equipment = names_find(&rd->sets[SET_EQUIPMENT], what);
    out->device = names_find(&rd->sets[SET_DEVICE], what);
    if (out->equipment == NO_REF && out->device == NO_REF)
        return reader_knows(rd, spot, key, IN(EQUIPMENT) | IN(DEVICE), what, node->at);
    if (out->equipment != NO_REF && out->device != NO_REF) {
        reader_fail(rd, spot, RT_CONFLICT, node->at, "give one of them another id",
                    "'%s' names '%.*s', which is both a device and a piece of equipment", key, STR_ARG(what));
        return false;
    }
    return true;
}

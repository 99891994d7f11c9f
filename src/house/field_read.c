/* Objects: keys of a mapping to members of a struct, by the rows of its shape. */
#include "house/reader_int.h"

#include <string.h>

#include "base/units.h"

/* The value of a key; an item that is one word is the value of its shape's short key. */
static const struct yaml_node *value_of(const struct shape *shape, const struct yaml_node *node, const struct field *f)
{
    if (node->kind == YAML_WORD)
        return shape->short_key && strcmp(shape->short_key, f->key) == 0 ? node : NULL;
    return yaml_get(node, f->key);
}

static struct rt_place key_place(const struct yaml_node *node, const struct field *f)
{
    for (uint32_t i = 0; i < node->pairs.n; i++)
        if (str_is(node->pairs.v[i].key->text, f->key))
            return node->pairs.v[i].key->at;
    return node->at;
}

/* ---- defaults ---- */

static void set_default(const struct field *f, bool is_taken, void *dst)
{
    const bool has_default = is_taken && f->need == NEED_DEFAULT;
    switch (f->type) {
    case FIELD_VERSION:
    case FIELD_NUMBER:
    case FIELD_CLOCK:
        *(double *)dst = has_default ? f->def : RT_NOT_GIVEN;
        break;
    case FIELD_TEXT:
        *(struct str *)dst = has_default ? str_from(f->def_text) : (struct str){ 0 };
        break;
    case FIELD_BOOL:
        *(bool *)dst = has_default && f->def != 0;
        break;
    case FIELD_ENUM:
    case FIELD_BITS: {
        const uint32_t value = has_default ? (uint32_t)f->def : 0;
        memcpy(dst, &value, sizeof value);
        break;
    }
    case FIELD_REF:
        *(struct ref *)dst = (struct ref){ .i = NO_REF };
        break;
    case FIELD_POINT3:
        *(struct vec3 *)dst = (struct vec3){ RT_NOT_GIVEN, RT_NOT_GIVEN, RT_NOT_GIVEN };
        break;
    case FIELD_CABLE_END:
        *(struct cable_end *)dst = (struct cable_end){ .equipment = NO_REF, .device = NO_REF, .port = RT_NOT_GIVEN };
        break;
    case FIELD_OBJECT:
        shape_init(f->of, dst);
        break;
    case FIELD_REFS:
    case FIELD_TEXTS:
    case FIELD_NUMBERS:
    case FIELD_POINTS2:
    case FIELD_POINTS3:
    case FIELD_ENDPOINTS:
    case FIELD_LIST:
        memset(dst, 0, sizeof(struct any_list));
        break;
    case FIELD_MAP:
        break; /* made by reader_collect() */
    }
}

void shape_init(const struct shape *shape, void *dst)
{
    for (uint32_t i = 0; i < shape->n_fields; i++)
        set_default(&shape->fields[i], true, (char *)dst + shape->fields[i].offset);
}

/* ---- ids ---- */

static void set_head(const struct shape *shape, void *dst, struct str id, struct rt_place at)
{
    if (shape->has_id) {
        memcpy(dst, &id, sizeof id);
        dst = (char *)dst + sizeof id;
    }
    if (!shape->has_no_place)
        memcpy(dst, &at, sizeof at);
}

/* Where an object begins: its key, or its first line in a list. */
static struct rt_place head_place(const struct shape *shape, const void *object)
{
    struct rt_place at;
    memcpy(&at, (const char *)object + (shape->has_id ? sizeof(struct str) : 0), sizeof at);
    return at;
}

static void check_id(struct reader *rd, const struct field *f, struct str id, struct rt_place at)
{
    static const char *const reserved[] = { "anyone", "internet", "gateway" };
    const enum name_set set = f->set;
    if (set == SET_INTERFACE) {
        bool ok = id.n >= 1 && id.n <= 15;
        for (size_t i = 0; i < id.n; i++)
            ok = ok && (unsigned char)id.p[i] > ' ' && (unsigned char)id.p[i] < 0x7f && !strchr("/:\\\"'`", id.p[i]);
        if (!ok)
            reader_fail(rd, NULL, RT_SHAPE, at, NULL,
                        "'%.*s' cannot name an interface: 1 to 15 letters, digits, . _ - or @", STR_ARG(id));
        return;
    }
    if (!id_is_right(id))
        reader_fail(rd, NULL, RT_SHAPE, at, "put what people call it under 'says:'",
                    "'%.*s' cannot be the id of %s: a letter, then letters, digits, _ or -, 63 at most",
                    (int)(id.n > 70 ? 70 : id.n), id.p ? id.p : "", f->of->a_name);
    for (size_t i = 0; i < RT_COUNT(reserved); i++)
        if (str_is(id, reserved[i]) &&
            (set == SET_SEGMENT || set == SET_GROUP || set == SET_DEVICE || set == SET_PERSON))
            reader_fail(rd, NULL, RT_SHAPE, at, "take another id",
                        "'%.*s' cannot be the id of %s: it has a meaning of its own in statements", STR_ARG(id),
                        f->of->a_name);
}

void reader_collect(struct reader *rd, const struct shape *shape, const struct yaml_node *root, void *dst)
{
    for (uint32_t i = 0; i < shape->n_fields; i++) {
        const struct field *f = &shape->fields[i];
        const struct yaml_node *node = f->type == FIELD_MAP ? yaml_get(root, f->key) : NULL;
        if (f->type != FIELD_MAP)
            continue;
        const uint32_t n = node ? node->pairs.n : 0;
        struct any_list list = { arena_alloc(rd->arena, n, f->item_size), n };
        if (!list.v) {
            reader_no_memory(rd);
            return;
        }
        for (uint32_t k = 0; k < n; k++) {
            const struct yaml_node *key = node->pairs.v[k].key;
            check_id(rd, f, key->text, key->at);
            set_head(f->of, (char *)list.v + k * f->item_size, key->text, key->at);
        }
        memcpy((char *)dst + f->offset, &list, sizeof list);
        if (!names_build(rd, f->set, list.v, n, f->item_size))
            return;
    }
}

/* ---- keys ---- */

enum { KEYS_MAX = 64 }; /* keys of a shape: one bit each in check_keys() */

static uint32_t taken_keys(const struct shape *shape, const struct variant *variant, struct str *out, uint32_t cap)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < shape->n_fields && n < cap; i++)
        if (variant_takes(shape, variant, &shape->fields[i]))
            out[n++] = str_from(shape->fields[i].key);
    return n;
}

static void unknown_key(struct reader *rd, const struct spot *spot, const struct shape *shape,
                        const struct variant *variant, const struct yaml_node *map, const struct yaml_pair *pair)
{
    const struct yaml_node *key = pair->key;
    double number;
    struct str keys[KEYS_MAX];
    const uint32_t n = taken_keys(shape, variant, keys, KEYS_MAX);
    const bool is_of_other_kind = shape_field(shape, key->text) != NULL;
    const char *who = is_of_other_kind
                          ? reader_text(rd, "%s %s %s takes:", strchr("aeio", variant->word[0]) ? "an" : "a",
                                        variant->word, shape_name(shape))
                          : reader_text(rd, "%s takes:", shape->a_name);
    const char *hint = reader_suggest(rd, key->text, keys, n, who);
    if (is_of_other_kind)
        reader_fail(rd, spot, RT_SHAPE, key->at, hint, "'%.*s' does not go with the kind '%s'", STR_ARG(key->text),
                    variant->word);
    else if (map->is_flow && pair->value->is_null)
        reader_fail(rd, spot, RT_SHAPE, key->at,
                    number_parse(key->text, &number)
                        ? "between braces a comma ends a value; the decimal sign is a point"
                        : "between braces a comma ends a value: put text that contains one in quotes",
                    "'%.*s' is no 'key: value'", STR_ARG(key->text));
    else
        reader_fail(rd, spot, RT_SHAPE, key->at, hint, "unknown key '%.*s'", STR_ARG(key->text));
}

/* Reports keys that the shape does not take.  Returns bits of the fields that were probably meant by them, so that these
 * are not called missing as well. */
static uint64_t check_keys(struct reader *rd, const struct spot *spot, const struct shape *shape,
                           const struct variant *variant, const struct yaml_node *node)
{
    uint64_t meant = 0;
    for (uint32_t i = 0; i < node->pairs.n; i++) {
        const struct yaml_node *key = node->pairs.v[i].key;
        const struct field *f = shape_field(shape, key->text);
        if (shape->id_is_key && str_is(key->text, "id"))
            continue;
        if (f && variant_takes(shape, variant, f))
            continue;
        unknown_key(rd, spot, shape, variant, node, &node->pairs.v[i]);
        struct str keys[KEYS_MAX];
        const uint32_t n = taken_keys(shape, NULL, keys, KEYS_MAX);
        const size_t nearest = reader_is_full(rd) ? n : reader_nearest(key->text, keys, n);
        if (nearest < n)
            meant |= (uint64_t)1 << nearest;
    }
    return meant;
}

static const struct variant *variant_of(const struct shape *shape, const struct yaml_node *node)
{
    const struct yaml_node *kind = shape->variants ? yaml_get(node, "kind") : NULL;
    return kind && kind->kind == YAML_WORD ? shape_variant(shape, kind->text) : NULL;
}

/* ---- objects ---- */

static void read_map(struct reader *rd, const struct spot *spot, const struct field *f, const struct yaml_node *node,
                     void *dst)
{
    struct any_list list;
    memcpy(&list, dst, sizeof list);
    if (node->kind == YAML_WORD && node->is_null)
        return; /* a section whose items are all commented out */
    if (node->kind != YAML_MAP) {
        reader_fail(rd, spot, RT_SHAPE, node->at, reader_text(rd, "give each %s an id: 'id: {...}'", shape_name(f->of)),
                    "'%s' must be a mapping of ids, not %s", f->key, reader_describe(rd, node));
        return;
    }
    for (uint32_t i = 0; i < node->pairs.n; i++) {
        const struct spot here = { spot, f->of, node->pairs.v[i].key->text, 0 };
        reader_object(rd, &here, f->of, node->pairs.v[i].value, (char *)list.v + i * f->item_size);
    }
}

static struct str read_item_id(struct reader *rd, const struct spot *spot, const struct yaml_node *node)
{
    const struct yaml_node *id = yaml_get(node, "id");
    if (!id)
        return (struct str){ 0 };
    if (id->kind == YAML_WORD && id_is_right(id->text))
        return id->text;
    reader_fail(rd, spot, RT_SHAPE, id->at, NULL, "'id' must be a letter, then letters, digits, _ or -, not %s",
                reader_describe(rd, id));
    return (struct str){ 0 };
}

static void check_item_ids(struct reader *rd, const struct spot *spot, const struct field *f, struct any_list list)
{
    for (uint32_t i = 1; i < list.n; i++)
        for (uint32_t k = 0; k < i; k++) {
            struct str a, b;
            struct rt_place at;
            memcpy(&a, (char *)list.v + i * f->item_size, sizeof a);
            memcpy(&b, (char *)list.v + k * f->item_size, sizeof b);
            memcpy(&at, (char *)list.v + i * f->item_size + sizeof a, sizeof at);
            if (a.n && str_eq(a, b)) {
                reader_fail(rd, spot, RT_SHAPE, at, "give one of them another id", "two of '%s' have the id '%.*s'",
                            f->key, STR_ARG(a));
                break;
            }
        }
}

static void read_list(struct reader *rd, const struct spot *spot, const struct field *f, const struct yaml_node *node,
                      void *dst)
{
    const struct yaml_node *const *items = node->items.v;
    uint32_t n = node->items.n;
    if (node->kind == YAML_WORD && node->is_null && f->min_n == 0)
        return;
    if (node->kind == YAML_WORD && !node->is_null && f->of->short_key) { /* a list of one without brackets */
        items = &node;
        n = 1;
    } else if (node->kind != YAML_LIST) {
        reader_fail(rd, spot, RT_SHAPE, node->at,
                    reader_text(rd, "begin each %s with '- ' on a line of its own", shape_name(f->of)),
                    "'%s' must be a list, not %s", f->key, reader_describe(rd, node));
        return;
    }
    if (n < f->min_n) {
        reader_fail(rd, spot, RT_SHAPE, node->at, NULL, "'%s' needs at least %u %s", f->key, (unsigned)f->min_n,
                    shape_name(f->of));
        return;
    }
    struct any_list list = { arena_alloc(rd->arena, n, f->item_size), n };
    if (!list.v) {
        reader_no_memory(rd);
        return;
    }
    for (uint32_t i = 0; i < n; i++) {
        struct spot here = { spot, f->of, { 0 }, i + 1 };
        if (f->of->id_is_key)
            here.id = read_item_id(rd, &here, items[i]);
        void *item = (char *)list.v + i * f->item_size;
        set_head(f->of, item, here.id, items[i]->at);
        reader_object(rd, &here, f->of, items[i], item);
    }
    if (f->of->id_is_key)
        check_item_ids(rd, spot, f, list);
    memcpy(dst, &list, sizeof list);
}

static void read_field(struct reader *rd, const struct spot *spot, const struct field *f, const struct yaml_node *node,
                       struct rt_place key_at, void *dst)
{
    switch (f->type) {
    case FIELD_MAP:
        read_map(rd, spot, f, node, dst);
        break;
    case FIELD_LIST:
        read_list(rd, spot, f, node, dst);
        break;
    case FIELD_OBJECT: {
        const struct spot here = { spot, f->of, { 0 }, 0 };
        set_head(f->of, dst, (struct str){ 0 }, key_at);
        reader_object(rd, &here, f->of, node, dst);
        break;
    }
    default:
        field_read_value(rd, spot, f, node, dst);
    }
}

void reader_object(struct reader *rd, const struct spot *spot, const struct shape *shape, const struct yaml_node *node,
                   void *dst)
{
    const bool is_short = node->kind == YAML_WORD && !node->is_null && shape->short_key;
    if (node->kind != YAML_MAP && !is_short) {
        shape_init(shape, dst);
        struct str keys[KEYS_MAX];
        const uint32_t n = taken_keys(shape, NULL, keys, KEYS_MAX);
        reader_fail(rd, spot, RT_SHAPE, node->at,
                    reader_suggest(rd, STR(""), keys, n, reader_text(rd, "%s takes:", shape->a_name)),
                    "this must be a mapping (key: value), not %s", reader_describe(rd, node));
        return;
    }
    const struct variant *variant = variant_of(shape, node);
    const uint64_t meant = check_keys(rd, spot, shape, variant, node);
    for (uint32_t i = 0; i < shape->n_fields; i++) {
        const struct field *f = &shape->fields[i];
        const struct yaml_node *value = value_of(shape, node, f);
        const bool is_taken = variant_takes(shape, variant, f);
        set_default(f, is_taken, (char *)dst + f->offset);
        if (value && is_taken)
            read_field(rd, spot, f, value, key_place(node, f), (char *)dst + f->offset);
        else if (!value && !(meant >> i & 1) && (f->need == NEED_REQUIRED || variant_requires(variant, f)))
            reader_fail(rd, spot, RT_SHAPE, shape->has_no_place ? node->at : head_place(shape, dst),
                        f->type == FIELD_VERSION ? reader_text(rd, "begin the file with '%s: 1'", f->key)
                                                 : reader_text(rd, "%s: %s", f->key, f->doc),
                        "the key '%s' is missing", f->key);
    }
}

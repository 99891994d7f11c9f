/* The user's file with the design in it.
 *
 * Both houses are compared member by member as the file would say them (house/written.h); each difference is one edit.  The new bytes
 * are read and compared again: what still differs (a value that other places repeat by an alias) is edited once more, and what will
 * not come right is an error.  So whatever is handed out reads as `after`. */
#include <string.h>

#include "design/fit.h"
#include "house/edit.h"
#include "house/written.h"
#include "house/yaml.h"

enum { PASSES_MOST = 4 };

struct writer {
    const struct run *run;
    struct arena *a;
    const struct house *was, *now;
    VEC(struct edit) edits;
    bool failed; /* the arena's ceiling */
};

static struct str step(struct writer *w, struct str path, struct str key)
{
    struct buf b = { .arena = w->a };
    buf_str(&b, path);
    edit_path_add(&b, key);
    w->failed |= b.failed;
    return buf_done(&b);
}

static struct str step_to_item(struct writer *w, struct str path, uint32_t i)
{
    const char *number = arena_printf(w->a, "%u", (unsigned)i);
    w->failed |= !number;
    return step(w, path, number ? str_from(number) : STR("-"));
}

static void add_edit(struct writer *w, enum edit_op op, struct str path, struct str value)
{
    const struct edit edit = { op, path, value };
    w->failed |= !VEC_PUSH(w->a, &w->edits, edit);
}

/* A value that stands elsewhere in the file: it cannot be changed here without being changed there. */
static bool is_alias(const struct yaml_node *holder, const struct yaml_node *value)
{
    return value->at.byte < holder->at.byte;
}

static struct str member_text(struct writer *w, const struct house *h, const struct shape *shape, const void *object,
                              const struct field *f)
{
    struct str text = { 0 };
    w->failed |= !written_member(w->a, h, shape, object, f, &text);
    return text;
}

static struct str object_text(struct writer *w, const struct shape *shape, const void *object)
{
    struct str text = { 0 };
    w->failed |= !written_object(w->a, w->now, shape, object, written_has_list(shape, object), &text);
    return text;
}

/* ---- members ---- */

static void write_members(struct writer *w, struct str path, const struct shape *shape, const void *was,
                          const void *now, const struct yaml_node *node);

/* Can the items be changed one by one? */
static bool are_apart(const struct yaml_node *list, uint32_t n)
{
    if (list->kind != YAML_LIST || list->items.n != n)
        return false;
    for (uint32_t i = 0; i < n; i++)
        if (list->items.v[i]->kind != YAML_MAP || is_alias(list, list->items.v[i]))
            return false;
    return true;
}

/* Items that are there in both are changed, further ones added behind. */
static void write_list(struct writer *w, struct str path, const struct field *f, const void *was, const void *now,
                       const struct yaml_node *list)
{
    const struct written_items old = written_items(was, f), new = written_items(now, f);
    for (uint32_t i = 0; i < old.n; i++)
        write_members(w, step_to_item(w, path, i), f->of, written_item(old, f, i), written_item(new, f, i),
                      list->items.v[i]);
    for (uint32_t i = old.n; i < new.n; i++) {
        struct str text = { 0 };
        w->failed |= !written_object(w->a, w->now, f->of, written_item(new, f, i), false, &text);
        add_edit(w, EDIT_ADD, step(w, path, STR("-")), text);
    }
}

static const struct yaml_pair *pair_of(const struct yaml_node *map, const char *key)
{
    for (uint32_t i = 0; map && map->kind == YAML_MAP && i < map->pairs.n; i++)
        if (str_is(map->pairs.v[i].key->text, key))
            return &map->pairs.v[i];
    return NULL;
}

static void write_member(struct writer *w, struct str path, const struct shape *shape, const void *was, const void *now,
                         const struct field *f, const struct yaml_node *node)
{
    const struct str old = member_text(w, w->was, shape, was, f), new = member_text(w, w->now, shape, now, f);
    const struct yaml_pair *pair = pair_of(node, f->key);
    if (str_eq(old, new) && !old.p == !new.p)
        return;
    path = step(w, path, str_from(f->key));
    const bool is_own = pair && !is_alias(pair->key, pair->value);
    const uint32_t n_old = f->type == FIELD_LIST ? written_items(was, f).n : 0;
    if (!new.p) {
        if (pair)
            add_edit(w, EDIT_REMOVE, path, (struct str){ 0 });
    } else if (!pair) {
        add_edit(w, EDIT_ADD, path, new);
    } else if (is_own && f->type == FIELD_OBJECT && pair->value->kind == YAML_MAP) {
        write_members(w, path, f->of, (const char *)was + f->offset, (const char *)now + f->offset, pair->value);
    } else if (is_own && f->type == FIELD_LIST && n_old && written_items(now, f).n >= n_old &&
               are_apart(pair->value, n_old)) {
        write_list(w, path, f, was, now, pair->value);
    } else {
        add_edit(w, EDIT_SET, path, new);
    }
}

static void write_members(struct writer *w, struct str path, const struct shape *shape, const void *was,
                          const void *now, const struct yaml_node *node)
{
    for (uint32_t i = 0; i < shape->n_fields; i++)
        if (shape->fields[i].type != FIELD_MAP)
            write_member(w, path, shape, was, now, &shape->fields[i], node);
}

/* ---- sections ---- */

static bool is_same_object(struct writer *w, const struct shape *shape, const void *was, const void *now)
{
    for (uint32_t i = 0; i < shape->n_fields; i++) {
        const struct str old = member_text(w, w->was, shape, was, &shape->fields[i]);
        if (!str_eq(old, member_text(w, w->now, shape, now, &shape->fields[i])))
            return false;
    }
    return true;
}

static const void *find_item(const struct house *h, const struct field *f, struct str id)
{
    const struct written_items items = written_items(h, f);
    for (uint32_t i = 0; i < items.n; i++)
        if (str_eq(written_id(written_item(items, f, i)), id))
            return written_item(items, f, i);
    return NULL;
}

/* Constructs that every house knows do not stand in the file. */
static bool is_in_file(const struct field *f, const void *item)
{
    return f->set != SET_CONSTRUCT || !((const struct construct *)item)->is_built_in;
}

static const struct yaml_pair *item_pair(const struct yaml_node *section, struct str id)
{
    for (uint32_t i = 0; section && section->kind == YAML_MAP && i < section->pairs.n; i++)
        if (str_eq(section->pairs.v[i].key->text, id))
            return &section->pairs.v[i];
    return NULL;
}

static void write_item(struct writer *w, struct str path, const struct field *f, const void *was, const void *now,
                       const struct yaml_pair *pair)
{
    path = step(w, path, written_id(now));
    if (!was)
        add_edit(w, EDIT_ADD, path, object_text(w, f->of, now));
    else if (pair && is_alias(pair->key, pair->value) && !is_same_object(w, f->of, was, now))
        add_edit(w, EDIT_SET, path, object_text(w, f->of, now));
    else if (pair)
        write_members(w, path, f->of, was, now, pair->value);
}

/* A section that the file does not have yet. */
static void write_new_section(struct writer *w, struct str path, const struct field *f)
{
    const struct written_items items = written_items(w->now, f);
    struct buf b = { .arena = w->a };
    for (uint32_t i = 0; i < items.n; i++) {
        const void *item = written_item(items, f, i);
        struct str text = object_text(w, f->of, item);
        if (!is_in_file(f, item))
            continue;
        buf_printf(&b, "%s%.*s:", b.n ? "\n" : "", STR_ARG(written_id(item)));
        if (!written_has_list(f->of, item)) {
            buf_printf(&b, " %.*s", STR_ARG(text));
            continue;
        }
        while (text.n) { /* its lines, deeper */
            const char *end = memchr(text.p, '\n', text.n);
            const size_t n = end ? (size_t)(end - text.p) : text.n;
            buf_printf(&b, "\n  %.*s", (int)n, text.p);
            text = (struct str){ text.p + n + (end != NULL), text.n - n - (end != NULL) };
        }
    }
    w->failed |= b.failed;
    if (b.n)
        add_edit(w, EDIT_ADD, path, buf_done(&b));
}

static void write_section(struct writer *w, const struct field *f, const struct yaml_node *root)
{
    const struct str path = step(w, (struct str){ 0 }, str_from(f->key));
    const struct written_items old = written_items(w->was, f), new = written_items(w->now, f);
    const struct yaml_node *section = yaml_get(root, f->key);
    if (!section) {
        write_new_section(w, path, f);
        return;
    }
    for (uint32_t i = 0; i < new.n; i++) {
        const void *item = written_item(new, f, i);
        if (is_in_file(f, item))
            write_item(w, path, f, find_item(w->was, f, written_id(item)), item, item_pair(section, written_id(item)));
    }
    for (uint32_t i = 0; i < old.n; i++) {
        const void *item = written_item(old, f, i);
        if (is_in_file(f, item) && !find_item(w->now, f, written_id(item)))
            add_edit(w, EDIT_REMOVE, step(w, path, written_id(item)), (struct str){ 0 });
    }
}

/* ---- the whole ---- */

static enum rt_code find_edits(struct writer *w, struct str bytes, struct rt_problems *p)
{
    static const struct yaml_limits LIMITS = { HOUSE_MAX_DEPTH, HOUSE_MAX_ALIASES, HOUSE_MAX_ITEMS, HOUSE_MAX_VALUES };
    const struct yaml_node *root = NULL;
    RT_TRY(yaml_read(w->a, w->now->path, bytes, &LIMITS, &root, p));
    w->edits.n = 0;
    write_members(w, (struct str){ 0 }, &SHAPE_HOUSE, w->was, w->now, root);
    for (uint32_t i = 0; i < SHAPE_HOUSE.n_fields; i++)
        if (SHAPE_HOUSE.fields[i].type == FIELD_MAP)
            write_section(w, &SHAPE_HOUSE.fields[i], root);
    return w->failed ? rt_fail_memory(p) : RT_OK;
}

static enum rt_code apply(struct writer *w, struct str *bytes, struct rt_problems *p)
{
    for (uint32_t from = 0; from < w->edits.n; from += EDIT_MAX_EDITS) {
        struct edit_change change;
        const uint32_t left = w->edits.n - from;
        RT_TRY(edit_apply(w->a, w->now->path, *bytes, w->edits.v + from, left < EDIT_MAX_EDITS ? left : EDIT_MAX_EDITS,
                          &change, p));
        *bytes = change.bytes;
    }
    return RT_OK;
}

static enum rt_code read_back(struct writer *w, struct str bytes, struct rt_problems *p)
{
    struct rt_problems quiet;
    struct house *h = NULL;
    rt_problems_init(&quiet, w->a);
    const enum rt_code code = house_read_bytes(w->run, w->now->path, bytes, &h, &quiet);
    w->was = h;
    if (!code)
        return RT_OK;
    for (uint32_t i = 0; i < quiet.list.n; i++)
        if (!quiet.list.v[i].is_warning)
            return rt_fail(p, code == RT_NOMEM ? RT_NOMEM : RT_CONFLICT, RT_NOWHERE, quiet.list.v[i].hint,
                           "with the design in it the file could not be read again: %s", quiet.list.v[i].msg);
    return rt_fail_memory(p);
}

enum rt_code fit_write(const struct run *run, const struct house *before, const struct house *after, struct str *bytes,
                       struct rt_problems *p)
{
    struct writer w = { .run = run, .a = run->arena, .was = before, .now = after };
    struct str text = before->bytes;
    for (int pass = 0; pass < PASSES_MOST; pass++) {
        RT_TRY(find_edits(&w, text, p));
        if (!w.edits.n) {
            *bytes = text;
            return RT_OK;
        }
        RT_TRY(apply(&w, &text, p));
        RT_TRY(read_back(&w, text, p));
    }
    return rt_fail(p, RT_CONFLICT, RT_NOWHERE, "write values out where the file repeats them (`*name`), then try again",
                   "the design cannot be written into the file: %.*s would not read back as it is",
                   STR_ARG(w.edits.v[0].path));
}

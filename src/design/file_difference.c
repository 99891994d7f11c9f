/* The files are compared as written.h would write them: two objects are the same if and only if their texts are. */
#include "design/file_difference.h"

#include <stdlib.h>
#include <string.h>

#include "house/written.h"

typedef VEC(struct differing_member) member_vec;

struct differ {
    struct arena *a;
    const struct house *h[2];
    VEC(struct file_difference) found;
    bool failed; /* the arena's ceiling */
};

/* A member's name so far: of what is inside a list or an object, that comes first. */
struct named {
    struct str member, says;
};

/* ---- words ---- */

static struct str printed(struct differ *d, const char *text)
{
    d->failed |= !text;
    return str_from(text ? text : "");
}

/* p NULL: the arena's ceiling. */
static struct str with_blanks(struct arena *a, const char *key, size_t n)
{
    struct buf b = { .arena = a };
    for (size_t i = 0; i < n; i++)
        buf_char(&b, key[i] == '_' ? ' ' : key[i]);
    return b.failed ? (struct str){ 0 } : buf_done(&b);
}

/* A key in plain words, without its unit. */
static struct str key_words(struct differ *d, const char *key)
{
    static const struct {
        const char *key, *words;
    } OWN[] = { { "at_m", "place" },
                { "says", "words" },
                { "faces_deg", "turned to" },
                { "tilt_deg", "tilt" },
                { "width_mhz", "channel width" },
                { "is", "kind" },
                { "from_m", "lower edge" },
                { "to_m", "upper edge" } };
    static const char *const UNITS[] = { "_m",   "_mm", "_deg", "_db",  "_dbm", "_dbi",
                                         "_mhz", "_wh", "_w",   "_mm2", "_degc" };
    for (size_t i = 0; i < RT_COUNT(OWN); i++)
        if (strcmp(OWN[i].key, key) == 0)
            return str_from(OWN[i].words);
    size_t n = strlen(key);
    for (size_t i = 0; i < RT_COUNT(UNITS); i++) {
        const size_t m = strlen(UNITS[i]);
        if (n > m && strcmp(key + n - m, UNITS[i]) == 0 && strstr(key, "_per_") == NULL) {
            n -= m;
            break;
        }
    }
    const struct str words = with_blanks(d->a, key, n);
    d->failed |= !words.p;
    return words;
}

struct str file_difference_section(struct arena *a, const struct file_difference *d)
{
    if (d->section == SHAPE_HOUSE.n_fields)
        return STR("house");
    const char *key = SHAPE_HOUSE.fields[d->section].key;
    return with_blanks(a, key, strlen(key));
}

static struct named step(struct differ *d, struct named in, const struct field *f)
{
    const struct str words = key_words(d, f->key);
    if (!in.member.n)
        return (struct named){ str_from(f->key), words };
    return (struct named){ printed(d, arena_printf(d->a, "%.*s.%s", STR_ARG(in.member), f->key)),
                           printed(d, arena_printf(d->a, "%.*s, %.*s", STR_ARG(in.says), STR_ARG(words))) };
}

static struct named step_to_item(struct differ *d, struct named list, struct str key)
{
    return (struct named){ printed(d, arena_printf(d->a, "%.*s[%.*s]", STR_ARG(list.member), STR_ARG(key))),
                           printed(d, arena_printf(d->a, "%.*s %.*s", STR_ARG(list.says), STR_ARG(key))) };
}

/* ---- members as text ---- */

static int by_text(const void *a, const void *b) { return str_cmp(*(const struct str *)a, *(const struct str *)b); }

/* Of several names the order means nothing, but for the way that a cable takes. */
static bool is_unordered(const struct field *f)
{
    const bool is_several = f->type == FIELD_REFS || f->type == FIELD_TEXTS || f->type == FIELD_ENDPOINTS;
    return is_several && strcmp(f->key, "route") != 0;
}

static struct str sorted_names(struct differ *d, const struct house *h, const struct field *f, const void *object)
{
    const struct written_items list = written_items(object, f);
    struct str *names = ARENA_ARRAY(d->a, struct str, list.n);
    struct buf b = { .arena = d->a };
    for (uint32_t i = 0; names && i < list.n; i++)
        d->failed |= !written_name(d->a, h, f, list, i, &names[i]);
    if (!names || d->failed) {
        d->failed = true;
        return (struct str){ 0 };
    }
    qsort(names, list.n, sizeof *names, by_text);
    for (uint32_t i = 0; i < list.n; i++)
        buf_printf(&b, "%s%.*s", i ? ", " : "[", STR_ARG(names[i]));
    buf_char(&b, ']');
    d->failed |= b.failed;
    return buf_done(&b);
}

/* p NULL: left out, or there is no such object. */
static struct str member_text(struct differ *d, int k, const struct shape *shape, const void *object,
                              const struct field *f)
{
    struct str text = { 0 };
    if (!object)
        return text;
    d->failed |= !written_member(d->a, d->h[k], shape, object, f, &text);
    return text.p && is_unordered(f) ? sorted_names(d, d->h[k], f, object) : text;
}

static struct str object_text(struct differ *d, int k, const struct shape *shape, const void *object)
{
    struct buf b = { .arena = d->a };
    for (uint32_t i = 0; i < shape->n_fields; i++) {
        const struct str text = member_text(d, k, shape, object, &shape->fields[i]);
        if (text.p)
            buf_printf(&b, "%s%s: %.*s", b.n ? ", " : "", shape->fields[i].key, STR_ARG(text));
    }
    d->failed |= b.failed;
    return buf_done(&b);
}

/* ---- items of lists ---- */

struct list_item {
    const void *object;
    struct str key, text;
    uint32_t place;
    bool is_paired;
};

struct list_side {
    struct list_item *v;
    uint32_t n;
};

/* What an item is known by: its id, its words, or the first that it must have. */
static struct str item_key(struct differ *d, int k, const struct shape *shape, const void *item)
{
    if (shape->id_is_key && written_id(item).n)
        return written_id(item);
    const struct field *says = shape_field(shape, STR("says"));
    struct str key = says ? member_text(d, k, shape, item, says) : (struct str){ 0 };
    for (uint32_t i = 0; !key.n && i < shape->n_fields; i++)
        if (shape->fields[i].need == NEED_REQUIRED)
            key = member_text(d, k, shape, item, &shape->fields[i]);
    return key;
}

static int by_key(const void *a, const void *b)
{
    const struct list_item *x = a, *y = b;
    const int keys = str_cmp(x->key, y->key), texts = str_cmp(x->text, y->text);
    return keys ? keys : texts ? texts : (x->place > y->place) - (x->place < y->place);
}

/* In an order of its own, whatever the file's is. */
static struct list_side list_side(struct differ *d, int k, const struct field *f, const void *object)
{
    const struct written_items items = object ? written_items(object, f) : (struct written_items){ 0 };
    struct list_side side = { ARENA_ARRAY(d->a, struct list_item, items.n + 1u), items.n };
    if (!side.v) {
        d->failed = true;
        return (struct list_side){ 0 };
    }
    for (uint32_t i = 0; i < items.n; i++) {
        const void *item = written_item(items, f, i);
        side.v[i] = (struct list_item){ item, item_key(d, k, f->of, item), object_text(d, k, f->of, item), i, false };
    }
    qsort(side.v, side.n, sizeof *side.v, by_key);
    return side;
}

/* The first that is not paired yet and is the same by its text, or by its key alone; NULL: none. */
static struct list_item *partner(const struct list_item *item, struct list_side *in, bool by_its_key)
{
    for (uint32_t i = 0; i < in->n; i++)
        if (!in->v[i].is_paired && str_eq(in->v[i].key, item->key) && (by_its_key || str_eq(in->v[i].text, item->text)))
            return &in->v[i];
    return NULL;
}

struct item_pair {
    const struct list_item *of[2]; /* NULL: only the other has it */
};
typedef LIST(struct item_pair) item_pair_list;

static item_pair_list pair_items(struct differ *d, struct list_side *x, struct list_side *y)
{
    item_pair_list out = { ARENA_ARRAY(d->a, struct item_pair, (size_t)x->n + y->n + 1u), 0 };
    if (!out.v) {
        d->failed = true;
        return out;
    }
    for (int pass = 0; pass < 2; pass++)
        for (uint32_t i = 0; i < x->n; i++) {
            struct list_item *other = x->v[i].is_paired ? NULL : partner(&x->v[i], y, pass == 1);
            if (!other)
                continue;
            x->v[i].is_paired = other->is_paired = true;
            out.v[out.n++] = (struct item_pair){ { &x->v[i], other } };
        }
    for (uint32_t i = 0; i < x->n; i++)
        if (!x->v[i].is_paired)
            out.v[out.n++] = (struct item_pair){ { &x->v[i], NULL } };
    for (uint32_t i = 0; i < y->n; i++)
        if (!y->v[i].is_paired)
            out.v[out.n++] = (struct item_pair){ { NULL, &y->v[i] } };
    return out;
}

/* ---- members ---- */

static void add_member(struct differ *d, member_vec *members, struct named name, const char *unit, struct str first,
                       struct str second)
{
    const struct differing_member m = { name.member, name.says, unit, { first, second } };
    if (!VEC_PUSH(d->a, members, m))
        d->failed = true;
}

static void differ_members(struct differ *d, member_vec *members, struct named in, const struct shape *shape,
                           const void *const of[2]);

static void differ_items(struct differ *d, member_vec *members, struct named in, const struct field *f,
                         const void *const of[2])
{
    struct list_side x = list_side(d, 0, f, of[0]), y = list_side(d, 1, f, of[1]);
    const item_pair_list pairs = pair_items(d, &x, &y);
    for (uint32_t i = 0; i < pairs.n; i++) {
        const struct item_pair *q = &pairs.v[i];
        const struct named name = step_to_item(d, in, (q->of[0] ? q->of[0] : q->of[1])->key);
        if (q->of[0] && q->of[1]) {
            differ_members(d, members, name, f->of, (const void *[]){ q->of[0]->object, q->of[1]->object });
            continue;
        }
        struct str sides[2] = { { 0 }, { 0 } };
        for (int k = 0; k < 2; k++)
            if (q->of[k])
                sides[k] = printed(d, arena_printf(d->a, "{%.*s}", STR_ARG(q->of[k]->text)));
        add_member(d, members, name, "", sides[0], sides[1]);
    }
}

/* A default that is not written, or not apart from one that is; p NULL: the member has none that can be named. */
static struct str default_text(struct differ *d, const struct field *f)
{
    if (f->need != NEED_DEFAULT)
        return (struct str){ 0 };
    if (f->def_text)
        return str_from(f->def_text);
    if (f->type == FIELD_BOOL)
        return f->def != 0 ? STR("true") : STR("false");
    if (f->type == FIELD_ENUM)
        return str_from(f->words->v[(uint32_t)f->def]);
    return f->type == FIELD_NUMBER ? printed(d, arena_printf(d->a, "%g", f->def)) : (struct str){ 0 };
}

/* Layers of a wall and exceptions of hours are what they are in their order. */
static bool has_own_order(const struct field *f)
{
    return strcmp(f->key, "layers") == 0 || strcmp(f->key, "except") == 0;
}

static void differ_member(struct differ *d, member_vec *members, struct named in, const struct shape *shape,
                          const void *const of[2], const struct field *f)
{
    const struct str x = member_text(d, 0, shape, of[0], f), y = member_text(d, 1, shape, of[1], f);
    if (str_eq(x, y) && !x.p == !y.p)
        return;
    const struct named name = step(d, in, f);
    if (x.p && y.p && f->type == FIELD_LIST && !has_own_order(f))
        differ_items(d, members, name, f, of);
    else if (x.p && y.p && f->type == FIELD_OBJECT)
        differ_members(d, members, name, f->of,
                       (const void *[]){ (const char *)of[0] + f->offset, (const char *)of[1] + f->offset });
    else
        add_member(d, members, name, f->type == FIELD_NUMBER || f->type == FIELD_POINT3 ? key_unit(f->key) : "",
                   x.p || !of[0] ? x : default_text(d, f), y.p || !of[1] ? y : default_text(d, f));
}

/* Of either the object may be missing. */
static void differ_members(struct differ *d, member_vec *members, struct named in, const struct shape *shape,
                           const void *const of[2])
{
    for (uint32_t i = 0; i < shape->n_fields; i++)
        if (shape->fields[i].type != FIELD_MAP)
            differ_member(d, members, in, shape, of, &shape->fields[i]);
}

/* ---- things ---- */

/* What the household calls it; else what it is. */
static struct str thing_words(struct differ *d, const struct shape *shape, const void *const of[2])
{
    static const char *const KEYS[] = { "says", "name", "part", "kind", "use", "construct" };
    const int k = of[0] ? 0 : 1;
    for (size_t i = 0; i < RT_COUNT(KEYS); i++) {
        const struct field *f = shape_field(shape, str_from(KEYS[i]));
        struct str words = { 0 };
        if (f && f->type == FIELD_TEXT)
            memcpy(&words, (const char *)of[k] + f->offset, sizeof words);
        else if (f)
            words = member_text(d, k, shape, of[k], f);
        if (words.n)
            return words;
    }
    return (struct str){ 0 };
}

static void differ_thing(struct differ *d, uint32_t section, const struct shape *shape, struct str id,
                         const void *const of[2])
{
    member_vec members = { 0 };
    differ_members(d, &members, (struct named){ 0 }, shape, of);
    if (of[0] && of[1] && !members.n)
        return;
    const struct file_difference found = { .section = section,
                                           .id = id,
                                           .says = thing_words(d, shape, of),
                                           .kind = !of[1]   ? FILE_ONLY_FIRST
                                                   : !of[0] ? FILE_ONLY_SECOND
                                                            : FILE_CHANGED,
                                           .members = { members.v, members.n } };
    if (!VEC_PUSH(d->a, &d->found, found))
        d->failed = true;
}

/* Constructs that every house knows do not stand in the file. */
static bool is_in_file(const struct field *f, const void *item)
{
    return f->set != SET_CONSTRUCT || !((const struct construct *)item)->is_built_in;
}

static const void *thing_of(const struct house *h, const struct field *f, struct str id)
{
    const struct written_items items = written_items(h, f);
    for (uint32_t i = 0; i < items.n; i++)
        if (str_eq(written_id(written_item(items, f, i)), id) && is_in_file(f, written_item(items, f, i)))
            return written_item(items, f, i);
    return NULL;
}

static void differ_map(struct differ *d, uint32_t section)
{
    const struct field *f = &SHAPE_HOUSE.fields[section];
    for (int k = 0; k < 2; k++) {
        const struct written_items items = written_items(d->h[k], f);
        for (uint32_t i = 0; i < items.n; i++) {
            const void *item = written_item(items, f, i);
            const void *other = thing_of(d->h[1 - k], f, written_id(item));
            if (is_in_file(f, item) && !(k == 1 && other)) /* those of both were met in the first */
                differ_thing(d, section, f->of, written_id(item),
                             (const void *[]){ k ? other : item, k ? item : other });
        }
    }
}

/* Statements decide in their order: those that both have, by their place among these. */
static void differ_order(struct differ *d, uint32_t section, const item_pair_list *pairs)
{
    member_vec members = { 0 };
    for (uint32_t i = 0; i < pairs->n; i++) {
        const struct item_pair *q = &pairs->v[i];
        uint32_t rank[2] = { 1, 1 };
        for (uint32_t o = 0; q->of[0] && q->of[1] && o < pairs->n; o++)
            for (int k = 0; k < 2; k++)
                rank[k] += pairs->v[o].of[0] && pairs->v[o].of[1] && pairs->v[o].of[k]->place < q->of[k]->place;
        if (rank[0] != rank[1])
            add_member(d, &members, (struct named){ q->of[0]->key, q->of[0]->key }, "",
                       printed(d, arena_printf(d->a, "%u", (unsigned)rank[0])),
                       printed(d, arena_printf(d->a, "%u", (unsigned)rank[1])));
    }
    const struct file_difference found = { section, { 0 }, STR("their order"), FILE_CHANGED, { members.v, members.n } };
    if (members.n && !VEC_PUSH(d->a, &d->found, found))
        d->failed = true;
}

static void differ_list(struct differ *d, uint32_t section)
{
    const struct field *f = &SHAPE_HOUSE.fields[section];
    struct list_side x = list_side(d, 0, f, d->h[0]), y = list_side(d, 1, f, d->h[1]);
    const item_pair_list pairs = pair_items(d, &x, &y);
    for (uint32_t i = 0; i < pairs.n; i++) {
        const struct item_pair *q = &pairs.v[i];
        differ_thing(d, section, f->of, (q->of[0] ? q->of[0] : q->of[1])->key,
                     (const void *[]){ q->of[0] ? q->of[0]->object : NULL, q->of[1] ? q->of[1]->object : NULL });
    }
    if (strcmp(f->key, "statements") == 0)
        differ_order(d, section, &pairs);
}

/* An object that the file does not have has no line in it. */
static const void *section_of(const struct house *h, const struct field *f)
{
    struct rt_place at;
    memcpy(&at, (const char *)h + f->offset, sizeof at);
    return at.line ? (const char *)h + f->offset : NULL;
}

static void differ_top(struct differ *d)
{
    member_vec members = { 0 };
    const void *const of[2] = { d->h[0], d->h[1] };
    for (uint32_t i = 0; i < SHAPE_HOUSE.n_fields; i++) {
        const struct field *f = &SHAPE_HOUSE.fields[i];
        if (f->type != FIELD_MAP && f->type != FIELD_LIST && f->type != FIELD_OBJECT)
            differ_member(d, &members, (struct named){ 0 }, &SHAPE_HOUSE, of, f);
    }
    const struct file_difference found = { SHAPE_HOUSE.n_fields, { 0 }, { 0 }, FILE_CHANGED, { members.v, members.n } };
    if (members.n && !VEC_PUSH(d->a, &d->found, found))
        d->failed = true;
}

static int by_id(const void *a, const void *b)
{
    const struct file_difference *x = a, *y = b;
    const int sections = (x->section > y->section) - (x->section < y->section), ids = str_cmp(x->id, y->id);
    return sections ? sections : ids ? ids : (int)x->kind - (int)y->kind;
}

enum rt_code houses_differ(struct arena *a, const struct house *first, const struct house *second,
                           file_difference_list *out, struct rt_problems *p)
{
    struct differ d = { .a = a, .h = { first, second } };
    differ_top(&d);
    const uint32_t n_top = d.found.n;
    for (uint32_t i = 0; i < SHAPE_HOUSE.n_fields; i++) {
        const struct field *f = &SHAPE_HOUSE.fields[i];
        const void *const of[2] = { f->type == FIELD_OBJECT ? section_of(first, f) : NULL,
                                    f->type == FIELD_OBJECT ? section_of(second, f) : NULL };
        if (f->type == FIELD_MAP)
            differ_map(&d, i);
        else if (f->type == FIELD_LIST)
            differ_list(&d, i);
        else if (of[0] || of[1])
            differ_thing(&d, i, f->of, (struct str){ 0 }, of);
    }
    if (d.failed)
        return rt_fail_memory(p);
    if (d.found.n > n_top)
        qsort(d.found.v + n_top, d.found.n - n_top, sizeof *d.found.v, by_id);
    *out = (file_difference_list){ d.found.v, d.found.n };
    return RT_OK;
}

#include "house/written.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "house/edit_int.h"
#include "house/field_int.h"

struct written_items written_items(const void *object, const struct field *field)
{
    struct {
        void *v;
        uint32_t n;
    } list;
    memcpy(&list, (const char *)object + field->offset, sizeof list);
    return (struct written_items){ list.v, list.n };
}

struct str written_id(const void *item)
{
    struct str id;
    memcpy(&id, item, sizeof id);
    return id;
}

/* ---- numbers ---- */

/* Digits behind the point that are worth writing. */
static int decimals_of(const char *key)
{
    static const struct {
        const char *ending;
        int decimals;
    } ENDINGS[] = { { "_dbm", 1 }, { "_db", 1 },   { "_dbi", 1 },   { "_deg", 1 },  { "_m", 3 },
                    { "_w", 2 },   { "_mbps", 3 }, { "_share", 4 }, { "price", 2 }, { "_wh", 1 } };
    const size_t n = strlen(key);
    for (size_t i = 0; i < RT_COUNT(ENDINGS); i++) {
        const size_t m = strlen(ENDINGS[i].ending);
        if (n >= m && strcmp(key + n - m, ENDINGS[i].ending) == 0)
            return ENDINGS[i].decimals;
    }
    return 6;
}

static void put_number(struct buf *b, double x, int decimals)
{
    char text[64];
    int n = snprintf(text, sizeof text, "%.*f", decimals, x);
    if (x != 0 && strspn(text, "-0.") == (size_t)n) /* a foil is thinner than a millimetre */
        n = snprintf(text, sizeof text, "%.12f", x);
    if (n < 0 || (size_t)n >= sizeof text) {
        b->failed = true;
        return;
    }
    while (strchr(text, '.') && (text[n - 1] == '0' || text[n - 1] == '.')) {
        const bool is_point = text[n - 1] == '.';
        text[--n] = '\0';
        if (is_point)
            break;
    }
    buf_text(b, strcmp(text, "-0") == 0 ? "0" : text);
}

/* ---- names ---- */

/* The id that a reference stands for. */
static struct str id_of(const struct house *h, uint32_t sets, uint32_t i)
{
    if (sets & IN(PART))
        return h->parts.list.v[i].id;
    for (uint32_t k = 0; k < SHAPE_HOUSE.n_fields; k++) {
        const struct field *f = &SHAPE_HOUSE.fields[k];
        if (f->type == FIELD_MAP && sets & 1u << f->set)
            return written_id(written_item(written_items(h, f), f, i));
    }
    return (struct str){ 0 };
}

static void put_text(struct buf *b, struct str s) { edit_put_text(b, s, EDIT_PLAIN, true); }

/* ---- single values ---- */

static void put_point(struct buf *b, const double *xyz, int n)
{
    for (int i = 0; i < n; i++) {
        buf_text(b, i ? ", " : "[");
        put_number(b, xyz[i], 3);
    }
    buf_char(b, ']');
}

static void put_item(struct buf *b, const struct house *h, const struct field *f, const void *items, uint32_t i)
{
    switch (f->type) {
    case FIELD_REFS:
        put_text(b, id_of(h, f->names, ((const struct ref *)items)[i].i));
        break;
    case FIELD_TEXTS:
        put_text(b, ((const struct str *)items)[i]);
        break;
    case FIELD_NUMBERS:
        put_number(b, ((const double *)items)[i], decimals_of(f->key));
        break;
    case FIELD_POINTS2:
        put_point(b, (const double *)items + (size_t)2 * i, 2);
        break;
    case FIELD_POINTS3:
        put_point(b, (const double *)items + (size_t)3 * i, 3);
        break;
    default: /* FIELD_ENDPOINTS */
        put_text(b, ((const struct endpoint *)items)[i].name);
    }
}

bool written_name(struct arena *a, const struct house *h, const struct field *field, struct written_items items,
                  uint32_t i, struct str *out)
{
    struct buf b = { .arena = a };
    put_item(&b, h, field, items.v, i);
    *out = buf_done(&b);
    return !b.failed;
}

static void put_several(struct buf *b, const struct house *h, const struct field *f, const void *object)
{
    const struct written_items list = written_items(object, f);
    for (uint32_t i = 0; i < list.n; i++) {
        buf_text(b, i ? ", " : "[");
        put_item(b, h, f, list.v, i);
    }
    if (list.n)
        buf_char(b, ']');
}

static void put_word(struct buf *b, const struct words *words, uint32_t i)
{
    if (words->are_numbers)
        buf_text(b, words->v[i]);
    else
        put_text(b, str_from(words->v[i]));
}

static void put_bits(struct buf *b, const struct words *words, uint32_t bits)
{
    for (uint32_t i = 0, n = 0; i < words->n; i++)
        if (bits >> i & 1) {
            buf_text(b, n++ ? ", " : "[");
            put_word(b, words, i);
        }
    if (bits)
        buf_char(b, ']');
}

static void put_cable_end(struct buf *b, const struct cable_end *end)
{
    struct buf text = { .arena = b->arena };
    buf_str(&text, end->what);
    if (is_given(end->port))
        buf_printf(&text, ":%.0f", end->port);
    b->failed |= text.failed;
    if (text.n)
        put_text(b, buf_done(&text));
}

static void put_default_number(struct buf *b, const struct field *f, double x)
{
    const bool is_default = f->need == NEED_DEFAULT && x == f->def;
    if (is_given(x) && !is_default)
        put_number(b, x, decimals_of(f->key));
}

/* ---- what the reader finds by itself ---- */

static bool is_same(double a, double b) { return a == b || (isnan(a) && isnan(b)); }

static bool is_same_place(const struct equipment *e, const struct equipment *other)
{
    return e->floor.i == other->floor.i && e->room.i == other->room.i && is_same(e->at_m.x, other->at_m.x) &&
           is_same(e->at_m.y, other->at_m.y) && is_same(e->at_m.z, other->at_m.z);
}

static bool equipment_finds(const struct house *h, const struct equipment *e, struct str key)
{
    const struct mount *m = e->mount.i == NO_REF ? NULL : &h->mounts.v[e->mount.i];
    const bool is_place = str_is(key, "floor") || str_is(key, "room") || str_is(key, "at_m");
    if (is_place && (m || (e->inside.i != NO_REF && is_same_place(e, &h->equipment.v[e->inside.i]))))
        return true;
    if (str_is(key, "faces_deg"))
        return m && is_same(e->faces_deg, m->faces_deg);
    if (str_is(key, "tilt_deg"))
        return e->tilt_deg == (m ? m->tilt_deg : 0.0);
    return (str_is(key, "part") && e->kind.n) || (str_is(key, "floor") && e->room.i != NO_REF);
}

static bool reader_finds(const struct house *h, const struct shape *shape, const void *object, const struct field *f)
{
    const struct str key = str_from(f->key);
    if (shape == &SHAPE_EQUIPMENT)
        return equipment_finds(h, object, key);
    if (shape == &SHAPE_DEVICE && str_is(key, "floor"))
        return ((const struct device *)object)->room.i != NO_REF;
    if (shape == &SHAPE_MOUNT && str_is(key, "floor"))
        return ((const struct mount *)object)->room.i != NO_REF;
    if (f->type == FIELD_OBJECT && shape != &SHAPE_HOUSE) { /* one by kind has no place in the file */
        struct rt_place at;
        memcpy(&at, (const char *)object + f->offset, sizeof at);
        return at.line == 0;
    }
    return false;
}

/* Is it a member of this kind of promise or opening? */
static bool is_taken(const struct shape *shape, const void *object, const struct field *f)
{
    uint32_t kind = 0;
    if (!shape->variants)
        return true;
    const struct field *kinds = shape_field(shape, STR("kind"));
    memcpy(&kind, (const char *)object + kinds->offset, sizeof kind);
    return variant_takes(shape, shape_variant(shape, str_from(kinds->words->v[kind])), f);
}

/* ---- members ---- */

static void put_object(struct buf *b, const struct house *h, const struct shape *shape, const void *object,
                       bool as_lines);

/* An object that is one word where the shape lets it. */
static bool put_short(struct buf *b, const struct house *h, const struct shape *shape, const void *object)
{
    struct str only = { 0 };
    for (uint32_t i = 0; shape->short_key && i < shape->n_fields; i++) {
        const struct field *f = &shape->fields[i];
        struct str text = { 0 };
        if (!written_member(b->arena, h, shape, object, f, &text)) {
            b->failed = true;
            return true;
        }
        if (text.p && strcmp(f->key, shape->short_key) != 0)
            return false;
        only = text.p ? text : only;
    }
    buf_str(b, only);
    return only.p != NULL;
}

static void put_list(struct buf *b, const struct house *h, const struct field *f, const void *object, bool as_lines)
{
    const struct written_items list = written_items(object, f);
    for (uint32_t i = 0; i < list.n; i++) {
        buf_text(b, as_lines ? "\n  - " : i ? ", " : "[");
        if (!put_short(b, h, f->of, written_item(list, f, i)))
            put_object(b, h, f->of, written_item(list, f, i), false);
    }
    if (list.n && !as_lines)
        buf_char(b, ']');
}

static void put_value(struct buf *b, const struct house *h, const struct field *f, const void *object)
{
    const void *src = (const char *)object + f->offset;
    uint32_t bits = 0;
    switch (f->type) {
    case FIELD_NUMBER:
        put_default_number(b, f, *(const double *)src);
        break;
    case FIELD_CLOCK: {
        if (!is_given(*(const double *)src))
            break;
        const int minute = (int)*(const double *)src;
        buf_printf(b, "\"%02d:%02d\"", minute / 60, minute % 60);
        break;
    }
    case FIELD_TEXT:
        if (((const struct str *)src)->n && !(f->def_text && str_is(*(const struct str *)src, f->def_text)))
            put_text(b, *(const struct str *)src);
        break;
    case FIELD_BOOL:
        if (*(const bool *)src != (f->def != 0))
            buf_text(b, *(const bool *)src ? "true" : "false");
        break;
    case FIELD_ENUM:
    case FIELD_BITS:
        memcpy(&bits, src, sizeof bits);
        if (f->need == NEED_DEFAULT && bits == (uint32_t)f->def)
            break;
        if (f->type == FIELD_ENUM)
            put_word(b, f->words, bits);
        else
            put_bits(b, f->words, bits);
        break;
    case FIELD_REF:
        if (((const struct ref *)src)->i != NO_REF)
            put_text(b, id_of(h, f->names, ((const struct ref *)src)->i));
        break;
    case FIELD_POINT3:
        if (is_given(*(const double *)src))
            put_point(b, src, 3);
        break;
    case FIELD_CABLE_END:
        put_cable_end(b, src);
        break;
    case FIELD_OBJECT:
        put_object(b, h, f->of, src, false);
        break;
    case FIELD_LIST:
        put_list(b, h, f, object, false);
        break;
    case FIELD_REFS:
    case FIELD_TEXTS:
    case FIELD_NUMBERS:
    case FIELD_POINTS2:
    case FIELD_POINTS3:
    case FIELD_ENDPOINTS:
        put_several(b, h, f, object);
        break;
    case FIELD_VERSION:
    case FIELD_MAP:
        break;
    }
}

bool written_member(struct arena *a, const struct house *h, const struct shape *shape, const void *object,
                    const struct field *field, struct str *out)
{
    struct buf b = { .arena = a };
    if (is_taken(shape, object, field) && !reader_finds(h, shape, object, field))
        put_value(&b, h, field, object);
    *out = b.n ? buf_done(&b) : (struct str){ 0 };
    return !b.failed;
}

/* ---- objects ---- */

static bool has_id_key(const struct shape *shape, const void *object)
{
    return shape->id_is_key && written_id(object).n;
}

static void put_object(struct buf *b, const struct house *h, const struct shape *shape, const void *object,
                       bool as_lines)
{
    uint32_t n = 0;
    if (!as_lines)
        buf_char(b, '{');
    if (has_id_key(shape, object)) {
        n++;
        buf_text(b, "id: ");
        put_text(b, written_id(object));
    }
    for (uint32_t i = 0; i < shape->n_fields; i++) {
        const struct field *f = &shape->fields[i];
        struct str text = { 0 };
        b->failed |= !written_member(b->arena, h, shape, object, f, &text);
        if (!text.p)
            continue;
        buf_text(b, n++ ? as_lines ? "\n" : ", " : "");
        buf_printf(b, "%s:", f->key);
        if (as_lines && f->type == FIELD_LIST)
            put_list(b, h, f, object, true);
        else
            buf_printf(b, " %.*s", STR_ARG(text));
    }
    if (!as_lines)
        buf_char(b, '}');
}

bool written_object(struct arena *a, const struct house *h, const struct shape *shape, const void *object,
                    bool as_lines, struct str *out)
{
    struct buf b = { .arena = a };
    put_object(&b, h, shape, object, as_lines);
    *out = buf_done(&b);
    return !b.failed;
}

bool written_has_list(const struct shape *shape, const void *object)
{
    for (uint32_t i = 0; i < shape->n_fields; i++)
        if (shape->fields[i].type == FIELD_LIST && written_items(object, &shape->fields[i]).n)
            return true;
    return false;
}

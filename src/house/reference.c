/* The reference of keys in docs/house_file.md, from the same tables. */
#include <string.h>

#include "data/constructs.h"
#include "data/device_kinds.h"
#include "data/materials.h"
#include "data/services.h"
#include "house/field_int.h"
#include "house/reader_int.h"

static void write_word_list(struct buf *out, const struct words *words)
{
    for (uint32_t i = 0; i < words->n; i++)
        buf_printf(out, "%s`%s`", i ? ", " : "", words->v[i]);
}

static void write_sets(struct buf *out, uint32_t sets)
{
    const char *last = "";
    for (unsigned s = 0; s < SET_COUNT; s++) {
        if (!(sets >> s & 1) || strcmp(last, name_set_one((enum name_set)s)) == 0)
            continue;
        buf_printf(out, "%s%s", last[0] ? " or " : "", name_set_one((enum name_set)s));
        last = name_set_one((enum name_set)s);
    }
}

static void write_range(struct buf *out, const struct field *f)
{
    const char *unit = key_unit(f->key);
    buf_printf(out, "%.10g to %.10g%s%s", f->lo, f->hi, unit[0] ? " " : "", unit);
}

static void write_kind_of_value(struct buf *out, const struct field *f)
{
    switch (f->type) {
    case FIELD_VERSION:
        buf_text(out, "`1`");
        break;
    case FIELD_NUMBER:
        if (f->words) {
            write_word_list(out, f->words);
            const char *unit = key_unit(f->key);
            buf_printf(out, "%s%s", unit[0] ? " " : "", unit);
        } else {
            write_range(out, f);
            buf_text(out, f->is_whole ? ", whole" : "");
        }
        break;
    case FIELD_NUMBERS:
        buf_text(out, "list of numbers, each ");
        write_range(out, f);
        break;
    case FIELD_TEXT:
        if (f->words)
            write_word_list(out, f->words);
        else if (f->names)
            write_sets(out, f->names);
        else
            buf_text(out, f->is_endpoint ? "endpoint" : text_format_row(f->format)->what);
        break;
    case FIELD_TEXTS:
        buf_text(out, "list: ");
        if (f->words)
            write_word_list(out, f->words);
        else if (f->names)
            write_sets(out, f->names);
        else
            buf_text(out, text_format_row(f->format)->what);
        break;
    case FIELD_BOOL:
        buf_text(out, "`true` or `false`");
        break;
    case FIELD_ENUM:
        write_word_list(out, f->words);
        break;
    case FIELD_BITS:
        buf_text(out, "list: ");
        write_word_list(out, f->words);
        break;
    case FIELD_REF:
        write_sets(out, f->names);
        break;
    case FIELD_REFS:
        buf_text(out, "list: ");
        write_sets(out, f->names);
        break;
    case FIELD_POINT3:
        buf_text(out, "`[x, y, z]` metres");
        break;
    case FIELD_POINTS2:
        buf_printf(out, "%u or more points `[x, y]`, metres", (unsigned)f->min_n);
        break;
    case FIELD_POINTS3:
        buf_printf(out, "%u or more points `[x, y, z]`, metres", (unsigned)f->min_n);
        break;
    case FIELD_CLOCK:
        buf_text(out, "`\"HH:MM\"`");
        break;
    case FIELD_ENDPOINTS:
        buf_text(out, "endpoint, or list of them");
        break;
    case FIELD_CABLE_END:
        buf_text(out, "equipment or device, and port");
        break;
    case FIELD_OBJECT:
        buf_text(out, "mapping, see below");
        break;
    case FIELD_LIST:
        buf_text(out, "list, see below");
        break;
    case FIELD_MAP:
        buf_text(out, "ids, see below");
        break;
    }
}

static void write_if_left_out(struct buf *out, const struct field *f)
{
    if (f->need == NEED_REQUIRED)
        buf_text(out, "**needed**");
    if (f->need != NEED_DEFAULT)
        return;
    if (f->type == FIELD_BOOL)
        buf_text(out, f->def != 0 ? "`true`" : "`false`");
    else if (f->type == FIELD_ENUM)
        buf_printf(out, "`%s`", f->words->v[(uint32_t)f->def]);
    else if (f->type == FIELD_TEXT)
        buf_printf(out, "`%s`", f->def_text);
    else if (f->type == FIELD_BITS)
        buf_text(out, f->def != 0 ? "all" : "none");
    else
        buf_printf(out, "%.10g", f->def);
}

static void write_rows(struct buf *out, const struct shape *shape)
{
    buf_text(out, "| key | value | if left out | meaning |\n| --- | --- | --- | --- |\n");
    if (shape->id_is_key)
        buf_text(out, "| `id` | id |  | a name for it |\n");
    for (uint32_t i = 0; i < shape->n_fields; i++) {
        const struct field *f = &shape->fields[i];
        buf_printf(out, "| `%s` | ", f->key);
        write_kind_of_value(out, f);
        buf_text(out, " | ");
        write_if_left_out(out, f);
        buf_printf(out, " | %s |\n", f->doc);
    }
    buf_char(out, '\n');
}

/* "a b" as `a`, `b`. */
static void write_backquoted(struct buf *out, const char *list)
{
    for (const char *p = list; *p;) {
        const size_t n = strcspn(p, " ");
        buf_printf(out, "`%.*s`", (int)n, p);
        p += n;
        if (*p)
            buf_text(out, ", ");
        p += *p != '\0';
    }
}

static void write_variants(struct buf *out, const struct shape *shape)
{
    const bool is_closed = shape->variants[0].may != NULL;
    buf_printf(out, "| kind | needs |%s\n| --- | --- |%s\n", is_closed ? " may have |" : "", is_closed ? " --- |" : "");
    for (uint32_t i = 0; i < shape->n_variants; i++) {
        const struct variant *v = &shape->variants[i];
        buf_printf(out, "| `%s` | ", v->word);
        write_backquoted(out, v->must);
        if (is_closed) {
            buf_text(out, " | ");
            write_backquoted(out, v->may);
        }
        buf_text(out, " |\n");
    }
    buf_char(out, '\n');
}

/* The shape, then those inside it; `path` as it is written in the file: "walls.ID.openings[]". */
static void write_section(struct buf *out, const char *path, const struct shape *shape, bool has_heading)
{
    if (has_heading) {
        buf_printf(out, "### `%s`\n\n%s", path, shape->doc);
        if (shape->short_key)
            buf_printf(out, " A single word stands for its `%s`.", shape->short_key);
        buf_text(out, "\n\n");
    }
    write_rows(out, shape);
    if (shape->variants)
        write_variants(out, shape);
    for (uint32_t i = 0; i < shape->n_fields; i++) {
        const struct field *f = &shape->fields[i];
        if (!f->of)
            continue;
        const char *end = f->type == FIELD_MAP ? ".ID" : f->type == FIELD_LIST ? "[]" : "";
        const char *inner = arena_printf(out->arena, "%s%s%s%s", path, path[0] ? "." : "", f->key, end);
        if (inner)
            write_section(out, inner, f->of, true);
        else
            out->failed = true;
    }
}

static void write_names(struct buf *out, const char *heading)
{
    buf_printf(out, "### %s\n\n| name | what it is |\n| --- | --- |\n", heading);
}

/* The names that need no declaring. */
static void write_built_in(struct buf *out)
{
    uint32_t n;
    write_names(out, "Built-in constructs");
    for (uint32_t i = 0; i < built_in_construct_count(); i++)
        buf_printf(out, "| `%s` | %s |\n", built_in_construct_get(i)->id, built_in_construct_get(i)->says);
    buf_char(out, '\n');
    write_names(out, "Materials");
    for (uint32_t i = 0; i < material_count(); i++)
        buf_printf(out, "| `%s` | %s |\n", material_get(i)->name, material_get(i)->says);
    buf_char(out, '\n');
    write_names(out, "Kinds of device");
    const struct device_kind *kinds = device_kinds(&n);
    for (uint32_t i = 0; i < n; i++)
        buf_printf(out, "| `%s` | %s |\n", kinds[i].name, kinds[i].says);
    buf_char(out, '\n');
    write_names(out, "Services");
    const struct service_flow *flows = service_flows(&n);
    for (uint32_t i = 0; i < n; i++)
        if (i == 0 || strcmp(flows[i].name, flows[i - 1].name) != 0)
            buf_printf(out, "| `%s` | %s |\n", flows[i].name, flows[i].says);
    buf_char(out, '\n');
}

void house_write_reference(struct buf *out)
{
    write_section(out, "", &SHAPE_HOUSE, false);
    write_built_in(out);
}

void parts_write_reference(struct buf *out) { write_section(out, "", &SHAPE_PARTS, false); }

/* JSON Schema 2020-12 and the reference of keys, written from the tables that the reader reads by. */
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "house/field_int.h"

/* ---- JSON Schema ---- */

static void write_shape(struct json *j, const char *key, const struct shape *shape, const char *doc);

static void write_words(struct json *j, const struct words *words)
{
    json_begin_array(j, "enum");
    for (uint32_t i = 0; i < words->n; i++)
        if (words->are_numbers)
            json_num(j, NULL, strtod(words->v[i], NULL));
        else
            json_text(j, NULL, words->v[i]);
    json_end_array(j);
}

static void write_number(struct json *j, const struct field *f)
{
    json_text(j, "type", f->is_whole ? "integer" : "number");
    json_num(j, "minimum", f->lo);
    json_num(j, "maximum", f->hi);
}

/* Text that is nothing special may also be a bare number or truth: a room called 12 needs no quotes. */
static void write_text(struct json *j, const struct field *f)
{
    const struct text_format_row *row = text_format_row(f->format);
    if (f->names || f->is_endpoint || !row->may_be_number) {
        json_text(j, "type", "string");
    } else {
        json_begin_array(j, "type");
        json_text(j, NULL, "string");
        json_text(j, NULL, "number");
        json_text(j, NULL, "boolean");
        json_end_array(j);
    }
    if (!f->names && !f->is_endpoint && row->pattern)
        json_text(j, "pattern", row->pattern);
    else
        json_int(j, "minLength", 1);
}

static void write_point(struct json *j, const struct field *f, int dims)
{
    json_text(j, "type", "array");
    json_begin_object(j, "items");
    write_number(j, f);
    json_end_object(j);
    json_int(j, "minItems", dims);
    json_int(j, "maxItems", dims);
}

static void write_name(struct json *j)
{
    json_text(j, "type", "string");
    json_int(j, "minLength", 1);
}

/* One item of a list of single values. */
static void write_item(struct json *j, const struct field *f)
{
    if (f->words)
        write_words(j, f->words);
    else if (f->type == FIELD_NUMBERS)
        write_number(j, f);
    else if (f->type == FIELD_TEXTS)
        write_text(j, f);
    else
        write_name(j);
}

static void write_counts(struct json *j, uint32_t min_n, uint32_t max_n)
{
    if (min_n)
        json_int(j, "minItems", min_n);
    json_int(j, "maxItems", max_n ? max_n : HOUSE_MAX_ITEMS);
}

/* A list of single values, or one of them without brackets. */
static void write_several(struct json *j, const struct field *f)
{
    json_begin_array(j, "anyOf");
    if (f->min_n <= 1) {
        json_begin_object(j, NULL);
        write_item(j, f);
        json_end_object(j);
    }
    json_begin_object(j, NULL);
    json_text(j, "type", "array");
    json_begin_object(j, "items");
    write_item(j, f);
    json_end_object(j);
    write_counts(j, f->min_n, f->max_n);
    if (f->type != FIELD_NUMBERS)
        json_bool(j, "uniqueItems", true);
    json_end_object(j);
    json_end_array(j);
}

static void write_default(struct json *j, const struct field *f)
{
    if (f->need != NEED_DEFAULT)
        return;
    switch (f->type) {
    case FIELD_NUMBER:
        json_num(j, "default", f->def);
        break;
    case FIELD_TEXT:
        json_text(j, "default", f->def_text);
        break;
    case FIELD_BOOL:
        json_bool(j, "default", f->def != 0);
        break;
    case FIELD_ENUM:
        json_text(j, "default", f->words->v[(uint32_t)f->def]);
        break;
    default:
        break; /* lists: the sentence says it */
    }
}

static void write_list(struct json *j, const struct field *f)
{
    const struct shape *of = f->of;
    json_begin_array(j, "anyOf");
    json_begin_object(j, NULL);
    json_text(j, "type", "array");
    write_shape(j, "items", of, NULL);
    write_counts(j, f->min_n, f->max_n);
    json_end_object(j);
    if (f->min_n == 0) {
        json_begin_object(j, NULL);
        json_text(j, "type", "null");
        json_end_object(j);
    }
    if (of->short_key) {
        json_begin_object(j, NULL);
        json_text(j, "type", "string");
        json_end_object(j);
    }
    json_end_array(j);
}

static void write_map(struct json *j, const struct field *f)
{
    json_begin_array(j, "type");
    json_text(j, NULL, "object");
    json_text(j, NULL, "null");
    json_end_array(j);
    json_begin_object(j, "patternProperties");
    write_shape(j, f->of->id_pattern ? f->of->id_pattern : ID_PATTERN, f->of, NULL);
    json_end_object(j);
    json_bool(j, "additionalProperties", false);
    json_int(j, "maxProperties", HOUSE_MAX_ITEMS);
}

static void write_value(struct json *j, const struct field *f)
{
    switch (f->type) {
    case FIELD_VERSION:
        json_int(j, "const", 1);
        break;
    case FIELD_NUMBER:
        if (f->words)
            write_words(j, f->words);
        else
            write_number(j, f);
        break;
    case FIELD_TEXT:
        if (f->words)
            write_words(j, f->words);
        else
            write_text(j, f);
        break;
    case FIELD_ENUM:
        write_words(j, f->words);
        break;
    case FIELD_BOOL:
        json_text(j, "type", "boolean");
        break;
    case FIELD_REF:
    case FIELD_CABLE_END:
        write_name(j);
        break;
    case FIELD_CLOCK:
        json_text(j, "type", "string");
        json_text(j, "pattern",
                  f->hi >= 1440 ? "^([01][0-9]|2[0-3]):[0-5][0-9]$|^24:00$" : "^([01][0-9]|2[0-3]):[0-5][0-9]$");
        break;
    case FIELD_POINT3:
        write_point(j, f, 3);
        break;
    case FIELD_POINTS2:
    case FIELD_POINTS3:
        json_text(j, "type", "array");
        json_begin_object(j, "items");
        write_point(j, f, f->type == FIELD_POINTS2 ? 2 : 3);
        json_end_object(j);
        write_counts(j, f->min_n, f->max_n);
        break;
    case FIELD_BITS:
    case FIELD_REFS:
    case FIELD_TEXTS:
    case FIELD_NUMBERS:
    case FIELD_ENDPOINTS:
        write_several(j, f);
        break;
    case FIELD_LIST:
        write_list(j, f);
        break;
    case FIELD_MAP:
        write_map(j, f);
        break;
    case FIELD_OBJECT:
        break; /* write_field() */
    }
}

static void write_field(struct json *j, const struct field *f)
{
    if (f->type == FIELD_OBJECT) {
        write_shape(j, f->key, f->of, f->doc);
        return;
    }
    json_begin_object(j, f->key);
    json_text(j, "description", f->doc);
    write_default(j, f);
    write_value(j, f);
    json_end_object(j);
}

/* {"required": [key]} for each of the words in `list`. */
static void write_required_each(struct json *j, const char *key, const char *list)
{
    const size_t n = strlen(list);
    json_begin_array(j, key);
    for (size_t i = 0, from = 0; i <= n; i++) {
        if (i < n && list[i] != ' ')
            continue;
        json_begin_object(j, NULL);
        json_begin_array(j, "required");
        json_str(j, NULL, (struct str){ list + from, i - from });
        json_end_array(j);
        json_end_object(j);
        from = i + 1;
    }
    json_end_array(j);
}

/* if kind is this word, then these keys are required and no others than those it takes are there. */
static void write_variant(struct json *j, const struct shape *shape, const struct variant *v)
{
    json_begin_object(j, NULL);
    json_begin_object(j, "if");
    json_begin_object(j, "properties");
    json_begin_object(j, "kind");
    json_text(j, "const", v->word);
    json_end_object(j);
    json_end_object(j);
    json_begin_array(j, "required");
    json_text(j, NULL, "kind");
    json_end_array(j);
    json_end_object(j);
    json_begin_object(j, "then");
    json_begin_array(j, "required");
    for (uint32_t i = 0; i < shape->n_fields; i++)
        if (variant_requires(v, &shape->fields[i]))
            json_text(j, NULL, shape->fields[i].key);
    json_end_array(j);
    json_begin_object(j, "properties");
    for (uint32_t i = 0; i < shape->n_fields; i++)
        if (!variant_takes(shape, v, &shape->fields[i]))
            json_bool(j, shape->fields[i].key, false);
    json_end_object(j);
    json_end_object(j);
    json_end_object(j);
}

static void write_object(struct json *j, const struct shape *shape)
{
    json_text(j, "type", "object");
    json_begin_object(j, "properties");
    if (shape->id_is_key) {
        json_begin_object(j, "id");
        json_text(j, "description", "a name for it; may be left out");
        json_text(j, "type", "string");
        json_text(j, "pattern", ID_PATTERN);
        json_end_object(j);
    }
    for (uint32_t i = 0; i < shape->n_fields; i++)
        write_field(j, &shape->fields[i]);
    json_end_object(j);
    json_begin_array(j, "required");
    for (uint32_t i = 0; i < shape->n_fields; i++)
        if (shape->fields[i].need == NEED_REQUIRED)
            json_text(j, NULL, shape->fields[i].key);
    json_end_array(j);
    json_bool(j, "additionalProperties", false);
    if (shape->one_of)
        write_required_each(j, "oneOf", shape->one_of);
    if (shape->any_of)
        write_required_each(j, "anyOf", shape->any_of);
    if (shape->variants) {
        json_begin_array(j, "allOf");
        for (uint32_t i = 0; i < shape->n_variants; i++)
            write_variant(j, shape, &shape->variants[i]);
        json_end_array(j);
    }
}

static void write_shape(struct json *j, const char *key, const struct shape *shape, const char *doc)
{
    json_begin_object(j, key);
    json_text(j, "description", doc ? doc : shape->doc);
    if (shape->short_key) {
        json_begin_array(j, "anyOf");
        json_begin_object(j, NULL);
        json_text(j, "type", "string");
        json_end_object(j);
        json_begin_object(j, NULL);
        write_object(j, shape);
        json_end_object(j);
        json_end_array(j);
    } else {
        write_object(j, shape);
    }
    json_end_object(j);
}

static void write_schema(struct buf *out, const struct shape *shape, const char *title)
{
    struct json j = { .out = out };
    json_begin_object(&j, NULL);
    json_text(&j, "$schema", "https://json-schema.org/draft/2020-12/schema");
    json_text(&j, "title", title);
    json_text(&j, "description", shape->doc);
    write_object(&j, shape);
    json_end_object(&j);
    json_end(&j);
}

void house_write_schema(struct buf *out) { write_schema(out, &SHAPE_HOUSE, "Rooftree house file"); }
void parts_write_schema(struct buf *out) { write_schema(out, &SHAPE_PARTS, "Rooftree parts file"); }

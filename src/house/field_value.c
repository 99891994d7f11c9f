/* Values: numbers, words, texts, references, points and lists of them. */
#include "house/reader_int.h"

#include <string.h>

#include "base/units.h"
#include "data/countries.h"

/* ---- numbers ---- */

/* Which number of a value is meant; spelled out only when something is wrong with it. */
struct which {
    uint32_t point; /* from 1; 0: the value is not a list of points */
    char axis;      /* 'x', 'y', 'z'; 0: the point as a whole */
};

static const char *name_of(struct reader *rd, const struct field *f, struct which which)
{
    if (which.axis && which.point)
        return reader_text(rd, "%c of point %u of '%s'", which.axis, (unsigned)which.point, f->key);
    if (which.axis)
        return reader_text(rd, "%c of '%s'", which.axis, f->key);
    if (which.point)
        return reader_text(rd, "point %u of '%s'", (unsigned)which.point, f->key);
    return reader_text(rd, "'%s'", f->key);
}

static bool read_number(struct reader *rd, const struct spot *spot, const struct field *f, struct which which,
                        const struct yaml_node *node, double *out)
{
    *out = RT_NOT_GIVEN;
    const char *unit = which.axis ? "metres" : key_unit(f->key);
    double value;
    if (node->kind != YAML_WORD || node->is_quoted || !number_parse(node->text, &value)) {
        reader_fail(rd, spot, RT_SHAPE, node->at, number_hint(rd, f, unit, node), "%s must be a %snumber%s%s, not %s",
                    name_of(rd, f, which), f->is_whole ? "whole " : "", unit[0] ? ", in " : "", unit,
                    reader_describe(rd, node));
        return false;
    }
    if (f->is_whole && value != floor(value)) {
        reader_fail(rd, spot, RT_SHAPE, node->at, NULL, "%s must be a whole number, not %.*s", name_of(rd, f, which),
                    STR_ARG(node->text));
        return false;
    }
    if (value < f->lo || value > f->hi) {
        const bool is_metres = strcmp(unit, "metres") == 0;
        const char *hint = NULL;
        const bool may_be_cm = is_metres && value > f->hi && value / 100 >= f->lo && value / 100 <= f->hi;
        const bool may_be_mm = is_metres && value > f->hi && value / 1000 >= f->lo && value / 1000 <= f->hi;
        if (may_be_cm && may_be_mm)
            hint = reader_text(rd, "if these are centimetres, write %.10g; if millimetres, %.10g", value / 100,
                               value / 1000);
        else if (may_be_cm)
            hint = reader_text(rd, "if these are centimetres, write %.10g", value / 100);
        else if (may_be_mm)
            hint = reader_text(rd, "if these are millimetres, write %.10g", value / 1000);
        else if (f->hi == 1 && value > 1 && value <= 100)
            hint = reader_text(rd, "if this is a percentage, write %.10g", value / 100);
        else if (value > 0 && f->hi <= 0 && -value >= f->lo)
            hint = reader_text(rd, "is the minus sign missing? write %.10g", -value);
        reader_fail(rd, spot, RT_RANGE, node->at, hint, "%s is %.*s; it must be from %.10g to %.10g%s%s",
                    name_of(rd, f, which), STR_ARG(node->text), f->lo, f->hi, unit[0] ? " " : "", unit);
        return false;
    }
    *out = value;
    return true;
}

/* Number of the word that the node is, or words->n after reporting it. */
static uint32_t read_word(struct reader *rd, const struct spot *spot, const struct field *f,
                          const struct yaml_node *node)
{
    const struct words *words = f->words;
    double value = 0.0, candidate;
    const bool is_number = node->kind == YAML_WORD && number_parse(node->text, &value);
    for (uint32_t i = 0; node->kind == YAML_WORD && i < words->n; i++) {
        const struct str word = str_from(words->v[i]);
        if (words->are_numbers ? !node->is_quoted && is_number && number_parse(word, &candidate) && candidate == value
                               : str_eq(node->text, word))
            return i;
    }
    const char *hint = NULL;
    struct str list[64];
    uint32_t n = 0;
    for (; n < words->n && n < RT_COUNT(list); n++)
        list[n] = str_from(words->v[n]);
    if (words->are_numbers && node->kind == YAML_WORD && node->is_quoted && is_number)
        hint = reader_text(rd, "write it without quotes: %.*s", STR_ARG(node->text));
    else
        hint = reader_suggest(rd, node->kind == YAML_WORD && !words->are_numbers ? node->text : STR(""), list, n,
                              "it is one of:"); /* a wrong number is no slip of the hand for another one */
    reader_fail(rd, spot, RT_SHAPE, node->at, hint, "'%s' cannot be %s", f->key, reader_describe(rd, node));
    return words->n;
}

/* ---- texts ---- */

/* What to do about a text that is nearly right. */
static const char *text_hint(struct reader *rd, const struct field *f, struct str s)
{
    const char *slash = memchr(s.p, '/', s.n);
    char fixed[18];
    switch (f->format) {
    case TEXT_COUNTRY:
    case TEXT_CURRENCY:
        for (size_t i = 0; i < s.n && i < sizeof fixed; i++)
            fixed[i] = s.p[i] >= 'a' && s.p[i] <= 'z' ? (char)(s.p[i] - 'a' + 'A') : s.p[i];
        break;
    case TEXT_MAC:
        for (size_t i = 0; i < s.n && i < sizeof fixed; i++)
            fixed[i] = s.p[i] == '-' ? ':' : s.p[i];
        break;
    case TEXT_IPV4_SUBNET: {
        const struct str address = { s.p, slash ? (size_t)(slash - s.p) : s.n };
        double length = 0;
        if (!text_format_row(TEXT_IPV4)->is_right(address))
            return NULL;
        if (!slash)
            return reader_text(rd, "say how many bits name the subnet: %.*s/24", STR_ARG(s));
        if (number_parse((struct str){ slash + 1, s.n - address.n - 1 }, &length) && length <= 32)
            return "the bits behind the length must be 0: name the subnet, not an address in it";
        return "the length behind the slash is from 0 to 32";
    }
    case TEXT_DATE:
        return "year, month, day, such as 2026-12-24";
    default:
        return NULL;
    }
    const struct str candidate = { fixed, s.n };
    if (f->format == TEXT_COUNTRY && s.n == 2 && country_meant(candidate))
        return reader_text(rd, "did you mean %s?", country_meant(candidate));
    if (s.n <= sizeof fixed && text_format_row(f->format)->is_right(candidate))
        return reader_text(rd, "write %.*s", STR_ARG(candidate));
    return NULL;
}

enum { NAME_BYTES_MAX = 200 };

/* A word that can be a name: not empty, and fit to stand in a message. */
static bool is_name(struct reader *rd, const struct spot *spot, const struct field *f, const struct yaml_node *node)
{
    bool ok = node->kind == YAML_WORD && !node->is_null && node->text.n > 0 && node->text.n <= NAME_BYTES_MAX;
    for (size_t i = 0; ok && i < node->text.n; i++)
        ok = (unsigned char)node->text.p[i] >= 0x20 && node->text.p[i] != 0x7f;
    if (!ok)
        reader_fail(rd, spot, RT_SHAPE, node->at, NULL, "'%s' must be a name, not %s", f->key,
                    node->kind == YAML_WORD && node->text.n == 0 ? "nothing" : reader_describe(rd, node));
    return ok;
}

static bool read_text(struct reader *rd, const struct spot *spot, const struct field *f, const struct yaml_node *node,
                      struct str *out)
{
    *out = (struct str){ 0 };
    const struct text_format_row *format = text_format_row(f->format);
    const char *what = f->names ? "a name" : format->what;
    if (node->kind != YAML_WORD || node->is_null || node->text.n == 0) {
        reader_fail(rd, spot, RT_SHAPE, node->at,
                    node->kind != YAML_WORD    ? NULL
                    : f->need == NEED_REQUIRED ? "write it behind the colon"
                                               : "write it behind the colon, or leave the key out",
                    "'%s' must be %s, not %s", f->key, what,
                    node->text.n == 0 && node->kind == YAML_WORD ? "nothing" : reader_describe(rd, node));
        return false;
    }
    struct str s = node->text;
    while (s.n && s.p[s.n - 1] == '\n') /* a block of text ends in one */
        s.n--;
    for (size_t i = 0; i < s.n; i++)
        if ((unsigned char)s.p[i] < 0x20 || s.p[i] == 0x7f) {
            reader_fail(rd, spot, RT_SHAPE, node->at, "put it on one line, without tabs",
                        "'%s' must be one line of text", f->key);
            return false;
        }
    if (f->words) {
        const uint32_t word = read_word(rd, spot, f, node);
        *out = word < f->words->n ? str_from(f->words->v[word]) : (struct str){ 0 };
        return word < f->words->n;
    }
    if (f->names && !(is_name(rd, spot, f, node) && reader_knows(rd, spot, f->key, f->names, s, node->at)))
        return false;
    if (!format->is_right(s)) {
        reader_fail(rd, spot, RT_SHAPE, node->at, text_hint(rd, f, s), "'%s' must be %s, not %s", f->key, format->what,
                    reader_describe(rd, node));
        return false;
    }
    struct endpoint unused;
    if (f->is_endpoint && !(is_name(rd, spot, f, node) && reader_endpoint(rd, spot, f->key, node, &unused)))
        return false;
    *out = s;
    return true;
}

/* ---- other single values ---- */

static void read_bool(struct reader *rd, const struct spot *spot, const struct field *f, const struct yaml_node *node,
                      bool *out)
{
    static const char *const yes_and_no[] = { "yes", "Yes", "on", "True", "TRUE", "no", "No", "off", "False", "FALSE" };
    const bool is_word = node->kind == YAML_WORD && !node->is_quoted;
    *out = is_word && str_is(node->text, "true");
    if (*out || (is_word && str_is(node->text, "false")))
        return;
    const char *hint = NULL;
    for (size_t i = 0; i < RT_COUNT(yes_and_no); i++)
        if (node->kind == YAML_WORD && str_is(node->text, yes_and_no[i]))
            hint = i < 5 ? "write true" : "write false";
    reader_fail(rd, spot, RT_SHAPE, node->at, hint, "'%s' must be true or false, not %s", f->key,
                reader_describe(rd, node));
}

static void read_clock(struct reader *rd, const struct spot *spot, const struct field *f, const struct yaml_node *node,
                       double *out)
{
    *out = RT_NOT_GIVEN;
    const struct str s = node->text;
    if (node->kind == YAML_WORD && s.n == 5 && number_digits(s, 0) == 2 && s.p[2] == ':' && number_digits(s, 3) == 2) {
        const int hour = (s.p[0] - '0') * 10 + s.p[1] - '0', minute = (s.p[3] - '0') * 10 + s.p[4] - '0';
        if (minute < 60 && hour * 60 + minute <= (int)f->hi) {
            *out = hour * 60 + minute;
            return;
        }
    }
    reader_fail(rd, spot, RT_SHAPE, node->at, NULL, "'%s' must be a time of day from \"00:00\" to \"%s\", not %s",
                f->key, f->hi >= 1440 ? "24:00" : "23:59", reader_describe(rd, node));
}

static void read_version(struct reader *rd, const struct spot *spot, const struct field *f,
                         const struct yaml_node *node, double *out)
{
    *out = 1;
    double value;
    if (node->kind != YAML_WORD || node->is_quoted || !number_parse(node->text, &value) || value != 1)
        reader_fail(rd, spot, RT_SHAPE, node->at, reader_text(rd, "write '%s: 1'", f->key),
                    "this program reads version 1 of the format, not %s", reader_describe(rd, node));
}

/* ---- points ---- */

/* Fills xyz[0..n-1]; point: which one of a list, from 1, or 0. */
static bool read_coordinates(struct reader *rd, const struct spot *spot, const struct field *f, uint32_t point,
                             const struct yaml_node *node, uint32_t n, double *xyz)
{
    if (node->kind != YAML_LIST || node->items.n != n) {
        reader_fail(rd, spot, RT_SHAPE, node->at, NULL, "%s must be %s in metres, not %s",
                    name_of(rd, f, (struct which){ point, 0 }), n == 2 ? "[x, y]" : "[x, y, z]",
                    node->kind == YAML_LIST ? reader_text(rd, "a list of %u", (unsigned)node->items.n)
                                            : reader_describe(rd, node));
        return false;
    }
    bool ok = true;
    for (uint32_t i = 0; i < n; i++)
        ok = read_number(rd, spot, f, (struct which){ point, "xyz"[i] }, node->items.v[i], &xyz[i]) && ok;
    return ok;
}

static void read_point3(struct reader *rd, const struct spot *spot, const struct field *f, const struct yaml_node *node,
                        struct vec3 *out)
{
    double xyz[3];
    *out = (struct vec3){ RT_NOT_GIVEN, RT_NOT_GIVEN, RT_NOT_GIVEN };
    if (read_coordinates(rd, spot, f, 0, node, 3, xyz))
        *out = (struct vec3){ xyz[0], xyz[1], xyz[2] };
}

static void read_points(struct reader *rd, const struct spot *spot, const struct field *f, const struct yaml_node *node,
                        void *dst)
{
    const uint32_t dims = f->type == FIELD_POINTS2 ? 2 : 3;
    const size_t size = dims == 2 ? sizeof(struct vec2) : sizeof(struct vec3);
    if (node->items.n > 0 && node->items.v[0]->kind == YAML_WORD) { /* told once, not for each number */
        reader_fail(rd, spot, RT_SHAPE, node->at,
                    dims == 2 ? "put each point in brackets of its own: [[0, 0], [4, 0]]"
                              : "put each point in brackets of its own: [[0, 0, 2], [4, 0, 2]]",
                    "'%s' must be a list of points %s, not of single values", f->key,
                    dims == 2 ? "[x, y]" : "[x, y, z]");
        return;
    }
    struct any_list list = { arena_alloc(rd->arena, node->items.n, size), 0 };
    bool ok = true;
    if (!list.v) {
        reader_no_memory(rd);
        return;
    }
    for (uint32_t i = 0; i < node->items.n; i++) {
        double xyz[3] = { 0 };
        ok = read_coordinates(rd, spot, f, i + 1, node->items.v[i], dims, xyz) && ok;
        memcpy((char *)list.v + i * size, xyz, size);
    }
    list.n = ok ? node->items.n : 0; /* half an outline would only make more noise */
    memcpy(dst, &list, sizeof list);
}

/* ---- lists of single values ---- */

static size_t item_size_of(enum field_type type)
{
    switch (type) {
    case FIELD_REFS:
        return sizeof(struct ref);
    case FIELD_TEXTS:
        return sizeof(struct str);
    case FIELD_NUMBERS:
        return sizeof(double);
    case FIELD_ENDPOINTS:
        return sizeof(struct endpoint);
    default:
        return sizeof(uint32_t);
    }
}

static enum name_set only_set(uint32_t sets)
{
    unsigned s = 0;
    while (s + 1 < SET_COUNT && !(sets >> s & 1))
        s++;
    return (enum name_set)s;
}

/* Reads one item into dst; false when it was wrong. */
static bool read_item(struct reader *rd, const struct spot *spot, const struct field *f, const struct yaml_node *node,
                      void *dst)
{
    switch (f->type) {
    case FIELD_REF:
    case FIELD_REFS: {
        struct ref *ref = dst;
        *ref = (struct ref){ .i = NO_REF, .at = node->at };
        if (is_name(rd, spot, f, node))
            ref->i = reader_resolve(rd, spot, f->key, only_set(f->names), node->text, node->at);
        return ref->i != NO_REF;
    }
    case FIELD_TEXTS:
        return read_text(rd, spot, f, node, dst);
    case FIELD_NUMBERS:
        return read_number(rd, spot, f, (struct which){ 0 }, node, dst);
    case FIELD_ENDPOINTS:
        return is_name(rd, spot, f, node) && reader_endpoint(rd, spot, f->key, node, dst);
    default: { /* FIELD_BITS */
        uint32_t *word = dst;
        *word = read_word(rd, spot, f, node);
        return *word < f->words->n;
    }
    }
}

/* Reports words that stand twice in a list. */
static void report_twins(struct reader *rd, const struct spot *spot, const struct field *f,
                         const struct yaml_node *const *items, uint32_t n)
{
    if (f->type == FIELD_NUMBERS || n < 2)
        return;
    struct names seen;
    if (!names_start(rd, &seen, n))
        return;
    for (uint32_t i = 0; i < n; i++) {
        if (items[i]->kind != YAML_WORD || names_add(&seen, items[i]->text))
            continue;
        reader_fail(rd, spot, RT_SHAPE, items[i]->at, "remove one of them", "'%s' says %s twice", f->key,
                    reader_describe(rd, items[i]));
    }
}

static bool count_is_right(struct reader *rd, const struct spot *spot, const struct field *f,
                           const struct yaml_node *node, uint32_t n)
{
    if (n < f->min_n) {
        reader_fail(rd, spot, RT_SHAPE, node->at, NULL, "'%s' needs at least %u %s, not %u", f->key, (unsigned)f->min_n,
                    f->type == FIELD_POINTS2 || f->type == FIELD_POINTS3 ? "points"
                    : f->min_n == 1                                      ? "item"
                                                                         : "items",
                    (unsigned)n);
        return false;
    }
    if (f->max_n && n > f->max_n) {
        reader_fail(rd, spot, RT_LIMIT, node->at, NULL, "'%s' takes at most %u items, not %u", f->key,
                    (unsigned)f->max_n, (unsigned)n);
        return false;
    }
    return true;
}

/* A list of single values; one of them may stand without brackets. */
static void read_several(struct reader *rd, const struct spot *spot, const struct field *f,
                         const struct yaml_node *node, void *dst)
{
    const struct yaml_node *const *items = node->kind == YAML_LIST ? node->items.v : &node;
    const uint32_t n = node->kind == YAML_LIST ? node->items.n : 1;
    if (!count_is_right(rd, spot, f, node, n))
        return;
    const size_t size = item_size_of(f->type);
    struct any_list list = { arena_alloc(rd->arena, n, size), 0 };
    if (!list.v) {
        reader_no_memory(rd);
        return;
    }
    uint32_t bits = 0;
    report_twins(rd, spot, f, items, n);
    for (uint32_t i = 0; i < n; i++) {
        void *item = (char *)list.v + list.n * size;
        if (!read_item(rd, spot, f, items[i], item))
            continue;
        if (f->type == FIELD_BITS)
            bits |= 1u << *(uint32_t *)item;
        list.n++;
    }
    if (f->type == FIELD_BITS)
        memcpy(dst, &bits, sizeof bits);
    else
        memcpy(dst, &list, sizeof list);
}

void field_read_value(struct reader *rd, const struct spot *spot, const struct field *f, const struct yaml_node *node,
                      void *dst)
{
    switch (f->type) {
    case FIELD_VERSION:
        read_version(rd, spot, f, node, dst);
        break;
    case FIELD_TEXT:
        (void)read_text(rd, spot, f, node, dst);
        break;
    case FIELD_NUMBER:
        if (f->words) {
            const uint32_t word = read_word(rd, spot, f, node);
            if (word < f->words->n)
                (void)number_parse(str_from(f->words->v[word]), dst);
        } else {
            (void)read_number(rd, spot, f, (struct which){ 0 }, node, dst);
        }
        break;
    case FIELD_BOOL:
        read_bool(rd, spot, f, node, dst);
        break;
    case FIELD_ENUM: {
        const uint32_t word = read_word(rd, spot, f, node);
        if (word < f->words->n)
            memcpy(dst, &word, sizeof word);
        break;
    }
    case FIELD_REF:
        (void)read_item(rd, spot, f, node, dst);
        break;
    case FIELD_CLOCK:
        read_clock(rd, spot, f, node, dst);
        break;
    case FIELD_POINT3:
        read_point3(rd, spot, f, node, dst);
        break;
    case FIELD_POINTS2:
    case FIELD_POINTS3:
        if (node->kind != YAML_LIST)
            reader_fail(rd, spot, RT_SHAPE, node->at, NULL, "'%s' must be a list of points %s, not %s", f->key,
                        f->type == FIELD_POINTS2 ? "[x, y]" : "[x, y, z]", reader_describe(rd, node));
        else if (count_is_right(rd, spot, f, node, node->items.n))
            read_points(rd, spot, f, node, dst);
        break;
    case FIELD_BITS:
    case FIELD_REFS:
    case FIELD_TEXTS:
    case FIELD_NUMBERS:
    case FIELD_ENDPOINTS:
        read_several(rd, spot, f, node, dst);
        break;
    case FIELD_CABLE_END:
        if (is_name(rd, spot, f, node))
            (void)reader_cable_end(rd, spot, f->key, node, dst);
        break;
    case FIELD_OBJECT:
    case FIELD_LIST:
    case FIELD_MAP:
        break; /* field_read.c */
    }
}

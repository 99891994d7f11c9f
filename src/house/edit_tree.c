/* Invariant: nodes never share children (an alias is a leaf), and the bytes of siblings follow one another without
 * overlap.  yaml_read() has accepted the bytes before, so that its complaints are the only ones a user meets; the pass
 * here adds what an edit needs to know: where each key, colon, dash, anchor and value begins and ends. */
#include "house/edit_int.h"

#include <ctype.h>
#include <libfyaml.h>
#include <string.h>

#include "house/yaml.h"

struct reader {
    struct arena *arena;
    const char *file;
    struct str bytes;
    struct fy_parser *parser;
    struct rt_problems *p;
    uint32_t depth;
};

/* ---- places ---- */

size_t edit_line_start(struct str bytes, size_t byte)
{
    while (byte > 0 && bytes.p[byte - 1] != '\n')
        byte--;
    return byte;
}

size_t edit_line_end(struct str bytes, size_t byte)
{
    while (byte < bytes.n && bytes.p[byte] != '\n')
        byte++;
    if (byte < bytes.n && byte > 0 && bytes.p[byte - 1] == '\r')
        byte--;
    return byte;
}

size_t edit_next_line(struct str bytes, size_t byte)
{
    while (byte < bytes.n && bytes.p[byte] != '\n')
        byte++;
    return byte < bytes.n ? byte + 1 : byte;
}

size_t edit_column(struct str bytes, size_t byte) { return byte - edit_line_start(bytes, byte); }

struct rt_place edit_place(const char *file, struct str bytes, size_t byte, size_t n)
{
    if (!file)
        return RT_NOWHERE;
    struct rt_place at = { .file = file, .line = 1, .byte = byte, .n = n };
    for (size_t i = 0; i < byte && i < bytes.n; i++)
        at.line += bytes.p[i] == '\n';
    const size_t start = edit_line_start(bytes, byte);
    at.col = (uint32_t)str_columns((struct str){ bytes.p + start, byte - start }) + 1;
    return at;
}

static size_t skip_blanks(struct str bytes, size_t i)
{
    while (i < bytes.n && (bytes.p[i] == ' ' || bytes.p[i] == '\t'))
        i++;
    return i;
}

/* Behind blanks, line ends and comments. */
static size_t skip_to_content(struct str bytes, size_t i)
{
    for (;;) {
        while (i < bytes.n && strchr(" \t\r\n", bytes.p[i]))
            i++;
        if (i == bytes.n || bytes.p[i] != '#')
            return i;
        i = edit_next_line(bytes, i);
    }
}

/* ---- nodes out of events ---- */

static enum rt_code not_understood(struct reader *r, size_t byte)
{
    return rt_fail(r->p, RT_SHAPE, edit_place(r->file, r->bytes, byte, 1), "edit the file by hand",
                   "this way of writing YAML is not one that can be edited piece by piece");
}

/* The bytes of a token without its marks (quotes, & and *); false when it has none. */
static bool token_range(const struct reader *r, struct fy_token *token, size_t *from, size_t *to)
{
    const struct fy_mark *start = token ? fy_token_start_mark(token) : NULL;
    const struct fy_mark *end = token ? fy_token_end_mark(token) : NULL;
    if (!start || !end || start->input_pos > end->input_pos || end->input_pos > r->bytes.n)
        return false;
    *from = start->input_pos;
    *to = end->input_pos;
    return true;
}

static bool token_text(const struct reader *r, struct fy_token *token, struct str *out)
{
    size_t n = 0;
    const char *text = token ? fy_token_get_text(token, &n) : NULL;
    *out = str_dup(r->arena, (struct str){ text, text ? n : 0 });
    return out->p != NULL;
}

/* Anchor and tag, and the bytes in front of the body that they take. */
static enum rt_code read_props(struct reader *r, struct edit_node *node, struct fy_token *anchor, struct fy_token *tag)
{
    size_t from, to;
    node->from = node->body;
    if (anchor) {
        if (!token_text(r, anchor, &node->anchor))
            return rt_fail_memory(r->p);
        if (!token_range(r, anchor, &from, &to) || from == 0 || r->bytes.p[from - 1] != '&')
            return not_understood(r, node->body);
        node->from = from - 1;
        node->props_end = to;
        node->is_written = true;
    }
    if (tag) {
        if (!token_text(r, tag, &node->tag))
            return rt_fail_memory(r->p);
        if (!token_range(r, tag, &from, &to))
            return not_understood(r, node->body);
        node->from = !anchor || from < node->from ? from : node->from;
        node->props_end = to > node->props_end ? to : node->props_end;
        node->is_written = true;
    }
    if (node->to < node->props_end) /* an anchor on nothing */
        node->body = node->to = node->props_end;
    return RT_OK;
}

/* The end of a | or > block: blank lines behind it belong to it only when the header keeps them (+). */
static void end_text_block(const struct reader *r, struct edit_node *node)
{
    const size_t header_end = edit_line_end(r->bytes, node->body);
    const bool is_kept = memchr(r->bytes.p + node->body, '+', header_end - node->body) != NULL;
    size_t end = node->to > header_end ? node->to : header_end;
    while (!is_kept && end > header_end && strchr(" \t\r\n", r->bytes.p[end - 1]))
        end--;
    if (is_kept && end > header_end && r->bytes.p[end - 1] == '\n') {
        end--;
        if (end > header_end && r->bytes.p[end - 1] == '\r')
            end--;
    }
    node->to = end;
}

static enum rt_code read_scalar(struct reader *r, const struct fy_event *e, size_t head, struct edit_node *node)
{
    struct fy_token *value = e->scalar.value;
    node->body = node->to = head;
    if (value && !token_text(r, value, &node->text))
        return rt_fail_memory(r->p);
    size_t from, to;
    const enum fy_scalar_style style = value ? fy_token_scalar_style(value) : FYSS_PLAIN;
    const char quote = style == FYSS_SINGLE_QUOTED ? '\'' : '"';
    if (value && token_range(r, value, &from, &to) && (to > from || style != FYSS_PLAIN)) {
        node->is_written = true;
        node->body = from;
        node->to = to;
        switch (style) {
        case FYSS_SINGLE_QUOTED:
        case FYSS_DOUBLE_QUOTED:
            node->form = style == FYSS_SINGLE_QUOTED ? EDIT_SINGLE : EDIT_DOUBLE;
            if (from == 0 || to >= r->bytes.n || r->bytes.p[from - 1] != quote || r->bytes.p[to] != quote)
                return not_understood(r, from);
            node->body--;
            node->to++;
            break;
        case FYSS_LITERAL:
        case FYSS_FOLDED:
            node->form = EDIT_TEXT_BLOCK;
            break;
        default:
            node->form = EDIT_PLAIN;
        }
    }
    RT_TRY(read_props(r, node, e->scalar.anchor, e->scalar.tag));
    if (node->form == EDIT_TEXT_BLOCK) {
        node->body = skip_blanks(r->bytes, node->props_end ? node->props_end : head);
        if (node->body >= r->bytes.n || !strchr("|>", r->bytes.p[node->body]))
            return not_understood(r, node->body);
        node->from = node->props_end ? node->from : node->body;
        end_text_block(r, node);
    }
    return RT_OK;
}

static enum rt_code read_alias(struct reader *r, const struct fy_event *e, struct edit_node *node)
{
    size_t from, to;
    if (!token_text(r, e->alias.anchor, &node->text))
        return rt_fail_memory(r->p);
    if (!token_range(r, e->alias.anchor, &from, &to) || from == 0 || r->bytes.p[from - 1] != '*')
        return not_understood(r, 0);
    node->kind = EDIT_ALIAS;
    node->is_written = true;
    node->from = node->body = from - 1;
    node->to = to;
    return RT_OK;
}

static enum rt_code read_node(struct reader *r, struct fy_event *e, size_t head, struct edit_node **out);

static enum rt_code next_event(struct reader *r, struct fy_event **e)
{
    *e = fy_parser_parse(r->parser);
    return *e ? RT_OK : not_understood(r, r->bytes.n);
}

static enum rt_code read_next(struct reader *r, struct fy_event *e, size_t head, struct edit_node **out)
{
    const enum rt_code code = read_node(r, e, head, out);
    fy_parser_event_free(r->parser, e);
    return code;
}

/* `at` is behind what came before in this collection. */
static enum rt_code read_pair(struct reader *r, struct fy_event *e, size_t at, struct edit_entry *entry)
{
    RT_TRY(read_next(r, e, at, &entry->key));
    const struct edit_node *key = entry->key;
    if (key->kind != EDIT_SCALAR)
        return not_understood(r, key->from);
    entry->from = key->from;
    const size_t mark = skip_to_content(r->bytes, at);
    const size_t colon = skip_blanks(r->bytes, key->to);
    entry->is_unlike = (mark < r->bytes.n && mark < key->from && r->bytes.p[mark] == '?') || colon >= r->bytes.n ||
                       r->bytes.p[colon] != ':';
    entry->head = entry->is_unlike ? key->to : colon + 1;
    struct fy_event *value_event;
    RT_TRY(next_event(r, &value_event));
    return read_next(r, value_event, entry->head, &entry->value);
}

static enum rt_code read_item(struct reader *r, struct fy_event *e, size_t at, bool is_flow, struct edit_entry *entry)
{
    const size_t dash = skip_to_content(r->bytes, at);
    if (!is_flow && (dash >= r->bytes.n || r->bytes.p[dash] != '-')) {
        fy_parser_event_free(r->parser, e);
        return not_understood(r, dash);
    }
    entry->head = is_flow ? at : dash + 1;
    RT_TRY(read_next(r, e, entry->head, &entry->value));
    entry->from = is_flow ? entry->value->from : dash;
    return RT_OK;
}

/* Where the next item of a flow collection may begin: behind the comma. */
static size_t behind_comma(const struct reader *r, size_t at)
{
    const size_t comma = skip_to_content(r->bytes, at);
    return comma < r->bytes.n && r->bytes.p[comma] == ',' ? comma + 1 : at;
}

static enum rt_code read_entries(struct reader *r, struct edit_node *node, size_t at)
{
    const bool is_map = node->kind == EDIT_MAPPING, is_flow = node->form == EDIT_FLOW;
    const enum fy_event_type end = is_map ? FYET_MAPPING_END : FYET_SEQUENCE_END;
    VEC(struct edit_entry) list = { 0 };
    for (;;) {
        struct fy_event *e;
        RT_TRY(next_event(r, &e));
        if (e->type == end) {
            const struct fy_mark *mark = fy_event_end_mark(e);
            if (is_flow && !node->is_bare && mark)
                node->to = mark->input_pos;
            fy_parser_event_free(r->parser, e);
            break;
        }
        struct edit_entry entry = { 0 };
        RT_TRY(is_map ? read_pair(r, e, at, &entry) : read_item(r, e, at, is_flow, &entry));
        if (!VEC_PUSH(r->arena, &list, entry))
            return rt_fail_memory(r->p);
        at = entry.value->to > entry.head ? entry.value->to : entry.head;
        if (!is_flow || node->is_bare)
            node->to = at;
        if (is_flow && !node->is_bare)
            at = behind_comma(r, at);
    }
    node->entries.v = list.v;
    node->entries.n = list.n;
    return node->to >= node->body ? RT_OK : not_understood(r, node->body);
}

static enum rt_code read_collection(struct reader *r, const struct fy_event *e, size_t head, struct edit_node *node)
{
    const bool is_map = e->type == FYET_MAPPING_START;
    struct fy_token *anchor = is_map ? e->mapping_start.anchor : e->sequence_start.anchor;
    struct fy_token *tag = is_map ? e->mapping_start.tag : e->sequence_start.tag;
    struct fy_token *start = is_map ? e->mapping_start.mapping_start : e->sequence_start.sequence_start;
    const enum fy_token_type type = start ? fy_token_get_type(start) : FYTT_NONE;
    size_t from, to;
    if (!token_range(r, start, &from, &to))
        return not_understood(r, head);
    node->kind = is_map ? EDIT_MAPPING : EDIT_SEQUENCE;
    node->form = type == FYTT_FLOW_MAPPING_START || type == FYTT_FLOW_SEQUENCE_START ? EDIT_FLOW : EDIT_BLOCK;
    node->is_written = true;
    node->is_bare = node->form == EDIT_FLOW && from == to;
    node->body = node->to = from;
    RT_TRY(read_props(r, node, anchor, tag));
    const size_t content = node->props_end ? node->props_end : head;
    RT_TRY(read_entries(r, node, node->form == EDIT_FLOW && !node->is_bare ? from + 1 : content));
    if ((node->form == EDIT_BLOCK || node->is_bare) && node->entries.n) {
        node->body = node->entries.v[0].from;
        node->from = node->props_end ? node->from : node->body;
    }
    return RT_OK;
}

/* head: behind the key's colon, the dash or the last item; the value is at or after it. */
static enum rt_code read_node(struct reader *r, struct fy_event *e, size_t head, struct edit_node **out)
{
    struct edit_node *node = ARENA_NEW(r->arena, struct edit_node);
    if (!node)
        return rt_fail_memory(r->p);
    if (r->depth >= EDIT_MAX_DEPTH)
        return rt_fail(r->p, RT_LIMIT, edit_place(r->file, r->bytes, head, 1), NULL,
                       "lists or mappings are nested deeper than %d levels", EDIT_MAX_DEPTH);
    r->depth++;
    *out = node;
    enum rt_code code = RT_OK;
    if (e->type == FYET_SCALAR)
        code = read_scalar(r, e, head, node);
    else if (e->type == FYET_ALIAS)
        code = read_alias(r, e, node);
    else if (e->type == FYET_MAPPING_START || e->type == FYET_SEQUENCE_START)
        code = read_collection(r, e, head, node);
    else
        code = not_understood(r, head);
    r->depth--;
    return code;
}

static enum rt_code read_document(struct reader *r, struct edit_node **out)
{
    *out = NULL;
    for (;;) {
        struct fy_event *e;
        RT_TRY(next_event(r, &e));
        const enum fy_event_type type = e->type;
        if (type == FYET_STREAM_START || type == FYET_DOCUMENT_START || type == FYET_DOCUMENT_END) {
            fy_parser_event_free(r->parser, e);
            continue;
        }
        if (type == FYET_STREAM_END) {
            fy_parser_event_free(r->parser, e);
            break;
        }
        if (*out) { /* yaml_read() refuses a second document; this is for the day it does not */
            fy_parser_event_free(r->parser, e);
            return not_understood(r, r->bytes.n);
        }
        RT_TRY(read_next(r, e, 0, out));
    }
    if (*out)
        return RT_OK;
    *out = ARENA_NEW(r->arena, struct edit_node);
    return *out ? RT_OK : rt_fail_memory(r->p);
}

enum rt_code edit_parse(struct arena *a, const char *file, struct str bytes, struct edit_node **out,
                        struct rt_problems *p)
{
    if (bytes.n > EDIT_MAX_BYTES)
        return rt_fail(p, RT_LIMIT, edit_place(file, bytes, 0, 0), NULL, "the text is larger than %d MiB",
                       EDIT_MAX_BYTES >> 20);
    static const struct yaml_limits LIMITS = {
        .depth = EDIT_MAX_DEPTH, .aliases = 1000, .items = 100000, .weight = 10 * 1000 * 1000
    };
    const struct yaml_node *accepted = NULL;
    const enum rt_code code = yaml_read(a, file, bytes, &LIMITS, &accepted, p);
    if (!accepted)
        return code ? code : RT_SYNTAX;
    if (code) /* a key stands twice: such a file has to be mended before it is edited by machine */
        return code;
    struct reader r = { .arena = a, .file = file, .bytes = bytes, .p = p };
    /* As yaml_read() has it. */
    const struct fy_parse_cfg cfg = { .flags = FYPCF_QUIET | FYPCF_DEFAULT_VERSION_1_2 | FYPCF_JSON_NONE };
    r.parser = fy_parser_create(&cfg);
    if (!r.parser)
        return rt_fail_memory(p);
    enum rt_code result = RT_OK;
    if (fy_parser_set_string(r.parser, bytes.n ? bytes.p : "", bytes.n) != 0)
        result = rt_fail_memory(p);
    if (!result)
        result = read_document(&r, out);
    fy_parser_destroy(r.parser);
    return result;
}

/* ---- what a tree means ---- */

static bool all_of(struct str s, size_t from, const char *set)
{
    for (size_t i = from; i < s.n; i++)
        if (!s.p[i] || !strchr(set, s.p[i]))
            return false;
    return s.n > from;
}

static size_t digits(struct str s, size_t i)
{
    while (i < s.n && isdigit((unsigned char)s.p[i]))
        i++;
    return i;
}

/* [-+]? ( \. [0-9]+ | [0-9]+ ( \. [0-9]* )? ) ( [eE] [-+]? [0-9]+ )?   (YAML 1.2.2, 10.3.2; covers decimal integers) */
static bool is_decimal(struct str s, size_t i)
{
    const size_t whole = digits(s, i);
    size_t at = whole, fraction = 0;
    if (at < s.n && s.p[at] == '.') {
        fraction = digits(s, at + 1) - (at + 1);
        at += 1 + fraction;
    }
    if (whole == i && fraction == 0)
        return false;
    if (at < s.n && (s.p[at] == 'e' || s.p[at] == 'E')) {
        at += at + 1 < s.n && strchr("+-", s.p[at + 1]) ? 2 : 1;
        const size_t end = digits(s, at);
        if (end == at)
            return false;
        at = end;
    }
    return at == s.n;
}

bool edit_plain_is_text(struct str s)
{
    static const char *const WORDS[] = { "~",     "null",  "Null",  "NULL", "true", "True", "TRUE",
                                         "false", "False", "FALSE", ".nan", ".NaN", ".NAN" };
    if (s.n == 0)
        return false;
    for (size_t i = 0; i < RT_COUNT(WORDS); i++)
        if (str_is(s, WORDS[i]))
            return false;
    if (s.n > 2 && s.p[0] == '0' && s.p[1] == 'o' && all_of(s, 2, "01234567"))
        return false;
    if (s.n > 2 && s.p[0] == '0' && s.p[1] == 'x' && all_of(s, 2, "0123456789abcdefABCDEF"))
        return false;
    const size_t sign = s.p[0] == '+' || s.p[0] == '-';
    const struct str rest = { s.p + sign, s.n - sign };
    if (str_is(rest, ".inf") || str_is(rest, ".Inf") || str_is(rest, ".INF"))
        return false;
    return !is_decimal(s, sign);
}

bool edit_is_text(const struct edit_node *node)
{
    return node->kind == EDIT_SCALAR && (node->form != EDIT_PLAIN || edit_plain_is_text(node->text));
}

bool edit_is_null(const struct edit_node *node)
{
    return node->kind == EDIT_SCALAR && node->form == EDIT_PLAIN &&
           (node->text.n == 0 || str_is(node->text, "~") || str_is(node->text, "null") || str_is(node->text, "Null") ||
            str_is(node->text, "NULL"));
}

bool edit_same(const struct edit_node *a, const struct edit_node *b)
{
    if (a->kind != b->kind || !str_eq(a->anchor, b->anchor) || !str_eq(a->tag, b->tag) || a->entries.n != b->entries.n)
        return false;
    if (a->kind == EDIT_SCALAR && edit_is_null(a) && edit_is_null(b))
        return true;
    if (!str_eq(a->text, b->text) || edit_is_text(a) != edit_is_text(b))
        return false;
    for (uint32_t i = 0; i < a->entries.n; i++) {
        const struct edit_entry *x = &a->entries.v[i], *y = &b->entries.v[i];
        if (!x->key != !y->key || (x->key && !edit_same(x->key, y->key)) || !edit_same(x->value, y->value))
            return false;
    }
    return true;
}

/* Invariant: a node is complete (children, end, weight, height) before its anchor can be used, so that an alias can
 * never close a circle. */
#include "house/yaml.h"

#include <libfyaml.h>
#include <stdlib.h>
#include <string.h>

enum { FRAMES_MAX = 64, KEY_BYTES_MAX = 200, OPEN_BRACKETS_MAX = 256 };

/* A list or mapping that is still open. */
struct frame {
    struct yaml_node *node;
    struct yaml_node *key; /* mapping: the key whose value comes next, else NULL */
    struct str anchor;
    VEC(const struct yaml_node *) items;
    VEC(struct yaml_pair) pairs;
};

struct anchor {
    struct str name;
    const struct yaml_node *node;
};

struct builder {
    struct arena *arena;
    const char *file;
    struct str bytes;
    const struct yaml_limits *limits;
    struct rt_problems *p;
    struct fy_parser *parser;
    struct frame frames[FRAMES_MAX];
    uint32_t depth, n_aliases, n_documents;
    VEC(struct anchor) anchors;
    VEC(size_t) line_starts;
    uint32_t last_line; /* where the last place was */
    const struct yaml_node *root;
    enum rt_code twice; /* RT_SHAPE once a key stood twice */
};

static bool find_lines(struct builder *b)
{
    /* A byte-order mark takes no column. */
    size_t start = b->bytes.n >= 3 && memcmp(b->bytes.p, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
    if (!VEC_PUSH(b->arena, &b->line_starts, start))
        return false;
    for (size_t i = 0; i < b->bytes.n; i++) {
        start = i + 1;
        if (b->bytes.p[i] == '\n' && !VEC_PUSH(b->arena, &b->line_starts, start))
            return false;
    }
    return true;
}

static struct rt_place place_at(struct builder *b, size_t from, size_t to)
{
    if (from > b->bytes.n)
        from = b->bytes.n;
    if (to < from || to > b->bytes.n)
        to = from;
    /* Events come down the file, so the line is nearly always that of the last place or soon after it. */
    uint32_t lo = b->last_line;
    if (lo >= b->line_starts.n || b->line_starts.v[lo] > from)
        lo = 0;
    for (unsigned step = 0; step < 8 && lo + 1 < b->line_starts.n && b->line_starts.v[lo + 1] <= from; step++)
        lo++;
    uint32_t hi = b->line_starts.n;
    while (hi - lo > 1 && b->line_starts.v[lo + 1] <= from) {
        const uint32_t mid = lo + (hi - lo) / 2;
        if (b->line_starts.v[mid] <= from)
            lo = mid;
        else
            hi = mid;
    }
    b->last_line = lo;
    const size_t line_start = b->line_starts.n && b->line_starts.v[lo] <= from ? b->line_starts.v[lo] : from;
    const size_t col = str_columns((struct str){ b->bytes.p + line_start, from - line_start });
    return (struct rt_place){ .file = b->file, .line = lo + 1, .col = (uint32_t)col + 1, .byte = from, .n = to - from };
}

/* ---- before the parser ---- */

static enum rt_code check_bytes(struct builder *b)
{
    const unsigned char *bytes = (const unsigned char *)b->bytes.p;
    for (size_t i = 0; i < b->bytes.n;) {
        const unsigned char c = bytes[i];
        const size_t len = str_letter(b->bytes, i);
        if (len == 0)
            return rt_fail(b->p, RT_SYNTAX, place_at(b, i, i + 1), "save the file as UTF-8 text",
                           "the byte 0x%02x is not UTF-8: this is not a text file, or one in another encoding", c);
        if ((c < 0x20 && c != '\t' && c != '\n' && c != '\r') || c == 0x7f)
            return rt_fail(b->p, RT_SYNTAX, place_at(b, i, i + 1), "is it a text file? if so, delete the character",
                           "the control character 0x%02x has no place in a text file", c);
        i += len;
    }
    return RT_OK;
}

/* The parser reads ahead as far as brackets are open, and takes memory for each.  So far more opening than closing ones
 * are refused before it sees them; the few that stand in quotes or comments do not matter. */
static enum rt_code check_brackets(struct builder *b)
{
    uint32_t n_open = 0;
    size_t too_deep = 0;
    for (size_t i = 0; i < b->bytes.n; i++) {
        const char c = b->bytes.p[i];
        if ((c == ']' || c == '}') && n_open > 0)
            n_open--;
        if (c != '[' && c != '{')
            continue;
        if (++n_open == b->limits->depth)
            too_deep = i;
        if (n_open > OPEN_BRACKETS_MAX)
            return rt_fail(b->p, RT_LIMIT, place_at(b, too_deep, too_deep + 1), "no key of the format needs it",
                           "lists or mappings are nested deeper than %u levels", (unsigned)b->limits->depth);
    }
    return RT_OK;
}

/* ---- the parser's complaints in plain words ---- */

static const struct {
    const char *theirs; /* how the parser's message begins */
    const char *ours, *hint;
} COMPLAINTS[] = {
    { "flow sequence without a closing bracket", "this list is not closed", "add the missing ]" },
    { "flow mapping without a closing brace", "this mapping is not closed", "add the missing }" },
    { "did not find expected node content", "something is missing here",
      "is a bracket or brace left open above, or a value left out after a comma?" },
    { "double-quoted scalar without closing quote", "the quoted text has no end", "add the missing \"" },
    { "single-quoted scalar without closing quote", "the quoted text has no end", "add the missing '" },
    { "tab character", "a tab cannot indent", "indent with spaces" },
    { "invalid nested block mapping on the same line", "a second ': ' on one line",
      "put text that contains ': ' in quotes" },
    { "invalid multiline plain key", "the indentation does not fit",
      "line the keys of one mapping up under each other; is a ':' missing in the line above?" },
    { "invalid value after mapping", "this line has no ':' and belongs to nothing", "write 'key: value'" },
    { "invalid scalar at the end of block sequence", "this does not belong to the list above",
      "begin each item with '- ', or put the key at its proper indentation" },
    { "invalid mapping at the end of block sequence", "this does not belong to the list above",
      "begin each item with '- ', or put the key at its proper indentation" },
    { "plain scalar cannot start with", "a word cannot begin with this character", "put it in quotes" },
    { "invalid escape", "this backslash stands for nothing known",
      "write text with backslashes in single quotes: 'a\\b'" },
    { "flow sequence with invalid extra closing bracket", "this ] closes nothing", "remove it, or add the missing [" },
    { "flow mapping with invalid extra closing brace", "this } closes nothing", "remove it, or add the missing {" },
    { "wrongly indented double-quoted", "the quoted text has no end in its line",
      "add the missing \", or indent the lines in which it goes on" },
    { "wrongly indented single-quoted", "the quoted text has no end in its line",
      "add the missing ', or indent the lines in which it goes on" },
    { "wrongly indented sequence end", "this ] stands too far to the left",
      "indent it further than the key that the list belongs to" },
    { "wrongly indented mapping end", "this } stands too far to the left",
      "indent it further than the key that the mapping belongs to" },
    { "wrongly indented flow sequence", "a list above is not closed",
      "add the missing ]; if the list goes on here, indent this line further than its key" },
    { "wrongly indented flow mapping", "a mapping above is not closed",
      "add the missing }; if the mapping goes on here, indent this line further than its key" },
    { "wrongly indented", "the indentation does not fit", "line the keys of one mapping up under each other" },
    { "could not find expected ':'", "there is no ':' in this line", "write 'key: value'" },
    { "invalid indentation", "the indentation does not fit", "line the keys of one mapping up under each other" },
    { "missing comma", "a comma is missing", "separate the items of a list with commas" },
    { "Unsupported directive", "lines that begin with % are not used in this format", "remove the line" },
    { "depth limit exceeded", "lists or mappings are nested too deeply", "no key of the format needs it" },
};

static enum rt_code parser_failed(struct builder *b, struct fy_diag *diag)
{
    void *iter = NULL;
    const struct fy_diag_error *e;
    while ((e = fy_diag_errors_iterate(diag, &iter)) && e->type < FYET_WARNING) {
    }
    const struct fy_mark *mark = e && e->fyt ? fy_token_start_mark(e->fyt) : NULL;
    const struct fy_mark *mark_end = e && e->fyt ? fy_token_end_mark(e->fyt) : NULL;
    struct rt_place at = place_at(b, b->bytes.n, b->bytes.n);
    if (mark)
        at = place_at(b, mark->input_pos, mark_end ? mark_end->input_pos : mark->input_pos);
    const char *theirs = e && e->msg ? e->msg : "";
    if (strncmp(theirs, "missing comma", 13) == 0 && at.byte >= b->bytes.n)
        return rt_fail(b->p, RT_SYNTAX, at, "add the missing ] or }", "the file ends inside a list or mapping");
    if (strncmp(theirs, "missing comma", 13) == 0 && b->bytes.p[at.byte] == ':')
        return rt_fail(b->p, RT_SYNTAX, at, "put text that contains ': ' in quotes; between two items put a comma",
                       "a second ': ' in one item");
    for (size_t i = 0; i < RT_COUNT(COMPLAINTS); i++)
        if (strncmp(theirs, COMPLAINTS[i].theirs, strlen(COMPLAINTS[i].theirs)) == 0)
            return rt_fail(b->p, RT_SYNTAX, at, COMPLAINTS[i].hint, "%s", COMPLAINTS[i].ours);
    return rt_fail(b->p, RT_SYNTAX, at, "look at the colons, quotes, brackets and indentation in and above this line",
                   "this is not YAML: %s", theirs[0] ? theirs : "the text breaks off");
}

/* ---- building the tree ---- */

static struct yaml_node *new_node(struct builder *b, enum yaml_kind kind, const struct fy_mark *from,
                                  const struct fy_mark *to)
{
    struct yaml_node *node = ARENA_NEW(b->arena, struct yaml_node);
    if (!node)
        return NULL;
    node->kind = kind;
    node->weight = node->height = 1;
    if (from) {
        node->at = place_at(b, from->input_pos, to ? to->input_pos : from->input_pos);
        node->end = node->at.byte + node->at.n;
    }
    return node;
}

/* The parser's marks leave the quotes out; the caret and an edit want them in. */
static void take_quotes_in(struct builder *b, struct yaml_node *node, char quote)
{
    const size_t from = node->at.byte, to = from + node->at.n;
    if (from > 0 && b->bytes.p[from - 1] == quote && to < b->bytes.n && b->bytes.p[to] == quote) {
        node->at = place_at(b, from - 1, to + 1);
        node->end = to + 1;
    }
}

/* The text of a scalar that may be made of many pieces (lines, doubled quotes, escapes).  Not fy_token_get_text(), which
 * loses memory of its own beyond ten pieces or so (libfyaml 0.7.12). */
static bool text_of_pieces(struct builder *b, struct fy_token *token, struct str *out)
{
    struct fy_token_iter *iter = fy_token_iter_create(token);
    if (!iter)
        return false;
    struct buf text = { .arena = b->arena };
    const struct fy_iter_chunk *piece = NULL;
    int failed = 0;
    while ((piece = fy_token_iter_chunk_next(iter, piece, &failed)))
        buf_add(&text, piece->str, piece->len);
    fy_token_iter_destroy(iter);
    *out = buf_done(&text);
    return !failed && !text.failed;
}

/* Does it mean its own bytes?  The parser's marks leave the quotes out. */
static bool is_as_written(struct str in_file, enum fy_scalar_style style)
{
    const char special = style == FYSS_DOUBLE_QUOTED ? '\\' : '\'';
    const bool is_quoted = style == FYSS_DOUBLE_QUOTED || style == FYSS_SINGLE_QUOTED;
    if (!is_quoted && style != FYSS_PLAIN && style != FYSS_ANY)
        return false;
    return !memchr(in_file.p, '\n', in_file.n) && !memchr(in_file.p, '\r', in_file.n) &&
           !(is_quoted && memchr(in_file.p, special, in_file.n));
}

static struct yaml_node *word_node(struct builder *b, struct fy_event *event)
{
    struct yaml_node *node = new_node(b, YAML_WORD, fy_event_start_mark(event), fy_event_end_mark(event));
    if (!node)
        return NULL;
    struct fy_token *token = fy_event_get_token(event);
    const enum fy_scalar_style style = token ? fy_token_scalar_style(token) : FYSS_PLAIN;
    const struct str in_file = { b->bytes.p + node->at.byte, node->at.n };
    node->is_quoted = style != FYSS_PLAIN && style != FYSS_ANY;
    /* Most words stand in the file as they are: no copy. */
    if (token && is_as_written(in_file, style))
        node->text = in_file;
    else if (token && !text_of_pieces(b, token, &node->text))
        return NULL;
    if (style == FYSS_SINGLE_QUOTED)
        take_quotes_in(b, node, '\'');
    if (style == FYSS_DOUBLE_QUOTED)
        take_quotes_in(b, node, '"');
    node->is_null = !node->is_quoted && (node->text.n == 0 || str_is(node->text, "~") || str_is(node->text, "null"));
    return node;
}

static int by_text(const void *a, const void *b)
{
    const struct yaml_pair *x = *(const struct yaml_pair *const *)a, *y = *(const struct yaml_pair *const *)b;
    const int c = str_cmp(x->key->text, y->key->text);
    if (c)
        return c;
    return x->key->at.byte < y->key->at.byte ? -1 : x->key->at.byte > y->key->at.byte;
}

/* Reports keys that stand twice, and keeps the first. */
static enum rt_code drop_twins(struct builder *b, struct frame *f)
{
    const uint32_t n = f->pairs.n;
    if (n < 2)
        return RT_OK;
    const struct arena_mark m = arena_mark(b->arena);
    const struct yaml_pair **sorted = ARENA_ARRAY(b->arena, const struct yaml_pair *, n);
    if (!sorted)
        return RT_NOMEM;
    for (uint32_t i = 0; i < n; i++)
        sorted[i] = &f->pairs.v[i];
    qsort(sorted, n, sizeof(struct yaml_pair *), by_text);
    uint32_t n_twins = 0;
    const struct yaml_pair *first = sorted[0];
    for (uint32_t i = 1; i < n; i++) {
        if (!str_eq(first->key->text, sorted[i]->key->text)) {
            first = sorted[i];
            continue;
        }
        b->twice = RT_SHAPE;
        n_twins++;
        (void)rt_fail(b->p, RT_SHAPE, sorted[i]->key->at, "remove one of them, or give it another name",
                      "'%.*s' is given twice; it stands in line %u already", STR_ARG(sorted[i]->key->text),
                      (unsigned)first->key->at.line);
        /* A pair without a key is taken out below. */
        f->pairs.v[sorted[i] - f->pairs.v].key = NULL;
        sorted[i] = first;
    }
    if (n_twins == 0) {
        arena_reset(b->arena, m); /* after a report the arena also holds its text */
        return RT_OK;
    }
    uint32_t kept = 0;
    for (uint32_t i = 0; i < n; i++)
        if (f->pairs.v[i].key)
            f->pairs.v[kept++] = f->pairs.v[i];
    f->pairs.n = kept;
    return RT_OK;
}

static enum rt_code check_key(struct builder *b, const struct yaml_node *key)
{
    if (key->kind != YAML_WORD)
        return rt_fail(b->p, RT_SYNTAX, key->at, "write 'key: value'", "a key must be a word, not a list or mapping");
    bool is_one_line = key->text.n <= KEY_BYTES_MAX;
    for (size_t i = 0; i < key->text.n && is_one_line; i++)
        is_one_line = (unsigned char)key->text.p[i] >= 0x20 && key->text.p[i] != 0x7f;
    if (!is_one_line)
        return rt_fail(b->p, RT_SYNTAX, key->at, "is a ':' or a quote missing above?",
                       "a key must be one line of at most %d bytes", KEY_BYTES_MAX);
    if (key->text.n == 0)
        return rt_fail(b->p, RT_SYNTAX, key->at, "write 'key: value'", "there is no key before this ':'");
    if (!key->is_quoted && str_is(key->text, "<<"))
        return rt_fail(b->p, RT_SYNTAX, key->at,
                       "write the keys out, or give a single value an anchor (&name) and "
                       "repeat it (*name)",
                       "'<<' (taking keys over from elsewhere) is not part of this format");
    return RT_OK;
}

static enum rt_code add_child(struct builder *b, struct yaml_node *node)
{
    if (b->depth == 0) {
        b->root = node;
        return RT_OK;
    }
    struct frame *f = &b->frames[b->depth - 1];
    if (f->node->kind == YAML_MAP && !f->key) {
        RT_TRY(check_key(b, node));
        f->key = node;
        return RT_OK;
    }
    const uint32_t n = f->node->kind == YAML_MAP ? f->pairs.n : f->items.n;
    if (n >= b->limits->items)
        return rt_fail(b->p, RT_LIMIT, node->at, "split it up", "more than %u items in one list",
                       (unsigned)b->limits->items);
    if (f->node->weight > b->limits->weight - node->weight)
        return rt_fail(b->p, RT_LIMIT, node->at, "write less with aliases", "more than %u values in the file",
                       (unsigned)b->limits->weight);
    f->node->weight += node->weight;
    if (node->height + 1 > f->node->height)
        f->node->height = node->height + 1;
    if (f->node->kind == YAML_LIST) {
        const struct yaml_node *item = node;
        return VEC_PUSH(b->arena, &f->items, item) ? RT_OK : RT_NOMEM;
    }
    if (node->is_null && node->at.line == 0) { /* 'key:' with nothing behind it: the key is all there is to point at */
        node->at = f->key->at;
        node->end = node->at.byte + node->at.n;
    }
    const struct yaml_pair pair = { f->key, node };
    f->key = NULL;
    return VEC_PUSH(b->arena, &f->pairs, pair) ? RT_OK : RT_NOMEM;
}

static enum rt_code open_frame(struct builder *b, struct fy_event *event, enum yaml_kind kind, struct str anchor)
{
    struct yaml_node *node = new_node(b, kind, fy_event_start_mark(event), fy_event_end_mark(event));
    if (!node)
        return RT_NOMEM;
    node->is_flow = node->at.n > 0;
    if (b->depth >= b->limits->depth || b->depth >= FRAMES_MAX)
        return rt_fail(b->p, RT_LIMIT, node->at, "no key of the format needs it",
                       "lists or mappings are nested deeper than %u levels", (unsigned)b->limits->depth);
    b->frames[b->depth++] = (struct frame){ .node = node, .anchor = anchor };
    return RT_OK;
}

static enum rt_code remember_anchor(struct builder *b, struct str name, const struct yaml_node *node)
{
    if (name.n == 0)
        return RT_OK;
    if (b->anchors.n >= b->limits->aliases)
        return rt_fail(b->p, RT_LIMIT, node->at, "write the values out", "more than %u anchors (&) in the file",
                       (unsigned)b->limits->aliases);
    const struct anchor anchor = { name, node };
    return VEC_PUSH(b->arena, &b->anchors, anchor) ? RT_OK : RT_NOMEM;
}

/* The first line of a node that spans several, for the caret. */
static void close_place(struct builder *b, struct yaml_node *node, const struct fy_mark *end)
{
    if (end)
        node->end = end->input_pos > b->bytes.n ? b->bytes.n : end->input_pos;
    if (node->end < node->at.byte)
        node->end = node->at.byte;
    const char *newline = memchr(b->bytes.p + node->at.byte, '\n', node->end - node->at.byte);
    node->at.n = newline ? (size_t)(newline - b->bytes.p) - node->at.byte : node->end - node->at.byte;
}

static enum rt_code close_frame(struct builder *b, struct fy_event *event)
{
    struct frame *f = &b->frames[b->depth - 1];
    struct yaml_node *node = f->node;
    RT_TRY(drop_twins(b, f));
    close_place(b, node, fy_event_end_mark(event));
    node->items.v = f->items.v;
    node->items.n = f->items.n;
    node->pairs.v = f->pairs.v;
    node->pairs.n = f->pairs.n;
    const struct str anchor = f->anchor;
    b->depth--;
    RT_TRY(remember_anchor(b, anchor, node));
    return add_child(b, node);
}

static enum rt_code alias(struct builder *b, struct fy_event *event)
{
    struct yaml_node *node = word_node(b, event);
    if (!node)
        return RT_NOMEM;
    if (node->at.byte > 0 && b->bytes.p[node->at.byte - 1] == '*')
        node->at = place_at(b, node->at.byte - 1, node->end);
    if (++b->n_aliases > b->limits->aliases)
        return rt_fail(b->p, RT_LIMIT, node->at, "write the values out", "more than %u aliases (*) in the file",
                       (unsigned)b->limits->aliases);
    if (node->text.n > KEY_BYTES_MAX)
        node->text.n = KEY_BYTES_MAX;
    for (uint32_t i = b->anchors.n; i-- > 0;) {
        if (!str_eq(b->anchors.v[i].name, node->text))
            continue;
        if (b->depth + b->anchors.v[i].node->height > b->limits->depth)
            return rt_fail(b->p, RT_LIMIT, node->at, "no key of the format needs it",
                           "lists or mappings are nested deeper than %u levels", (unsigned)b->limits->depth);
        struct yaml_node *copy = ARENA_NEW(b->arena, struct yaml_node);
        if (!copy)
            return RT_NOMEM;
        *copy = *b->anchors.v[i].node; /* its children are shared */
        copy->at = node->at;           /* a mistake is shown where the alias stands */
        copy->end = node->end;
        return add_child(b, copy);
    }
    return rt_fail(b->p, RT_SYNTAX, node->at, "put &name before the value that *name is to repeat, above this line",
                   "'*%.*s' repeats a value that has no anchor '&%.*s'", STR_ARG(node->text), STR_ARG(node->text));
}

static enum rt_code anchor_of(struct builder *b, struct fy_event *event, struct str *name)
{
    *name = (struct str){ 0 };
    struct fy_token *tag = fy_event_get_tag_token(event);
    if (tag) {
        const struct fy_mark *m = fy_token_start_mark(tag), *e = fy_token_end_mark(tag);
        return rt_fail(b->p, RT_SYNTAX, m ? place_at(b, m->input_pos, e ? e->input_pos : 0) : RT_NOWHERE,
                       "remove it; put a word that begins with ! in quotes", "tags (!) are not used in this format");
    }
    struct fy_token *anchor = fy_event_get_anchor_token(event);
    size_t n = 0;
    const char *text = anchor ? fy_token_get_text(anchor, &n) : NULL;
    if (n > KEY_BYTES_MAX)
        n = KEY_BYTES_MAX; /* told apart by that much */
    if (text && n) {
        *name = str_dup(b->arena, (struct str){ text, n });
        return name->p ? RT_OK : RT_NOMEM;
    }
    return RT_OK;
}

static enum rt_code take_event(struct builder *b, struct fy_event *event)
{
    struct str anchor;
    switch (event->type) {
    case FYET_DOCUMENT_START:
        if (b->n_documents++ == 0)
            return RT_OK;
        const struct fy_mark *m =
            event->document_start.document_start ? fy_token_start_mark(event->document_start.document_start) : NULL;
        return rt_fail(b->p, RT_SYNTAX, m ? place_at(b, m->input_pos, m->input_pos + 3) : RT_NOWHERE,
                       "keep one in each file", "a second document begins here");
    case FYET_MAPPING_START:
    case FYET_SEQUENCE_START:
        RT_TRY(anchor_of(b, event, &anchor));
        return open_frame(b, event, event->type == FYET_MAPPING_START ? YAML_MAP : YAML_LIST, anchor);
    case FYET_MAPPING_END:
    case FYET_SEQUENCE_END:
        return close_frame(b, event);
    case FYET_SCALAR:
        RT_TRY(anchor_of(b, event, &anchor));
        struct yaml_node *word = word_node(b, event);
        if (!word)
            return RT_NOMEM;
        RT_TRY(remember_anchor(b, anchor, word));
        return add_child(b, word);
    case FYET_ALIAS:
        return alias(b, event);
    case FYET_NONE:
    case FYET_STREAM_START:
    case FYET_STREAM_END:
    case FYET_DOCUMENT_END:
        break;
    }
    return RT_OK;
}

static void say_nothing(struct fy_diag *diag RT_UNUSED, void *user RT_UNUSED, const char *text RT_UNUSED,
                        size_t n RT_UNUSED)
{
}

static enum rt_code run_parser(struct builder *b, struct fy_diag *diag)
{
    enum rt_code code = RT_OK;
    struct fy_event *event;
    while (code == RT_OK && (event = fy_parser_parse(b->parser))) {
        code = take_event(b, event);
        fy_parser_event_free(b->parser, event);
    }
    if (code == RT_OK && fy_parser_get_stream_error(b->parser))
        code = parser_failed(b, diag);
    return code;
}

static enum rt_code parse(struct builder *b)
{
    struct fy_diag_cfg diag_cfg;
    fy_diag_cfg_default(&diag_cfg);
    diag_cfg.fp = NULL;
    diag_cfg.output_fn = say_nothing;
    diag_cfg.level = FYET_ERROR;
    diag_cfg.colorize = false;
    struct fy_diag *diag = fy_diag_create(&diag_cfg);
    if (!diag)
        return RT_NOMEM;
    fy_diag_set_collect_errors(diag, true);
    const struct fy_parse_cfg cfg = { .flags = FYPCF_QUIET | FYPCF_DEFAULT_VERSION_1_2 | FYPCF_JSON_NONE,
                                      .diag = diag };
    enum rt_code code = RT_NOMEM;
    b->parser = fy_parser_create(&cfg);
    if (b->parser && fy_parser_set_string(b->parser, b->bytes.p, b->bytes.n) == 0)
        code = run_parser(b, diag);
    if (b->parser)
        fy_parser_destroy(b->parser);
    fy_diag_destroy(diag);
    return code;
}

enum rt_code yaml_read(struct arena *a, const char *file, struct str bytes, const struct yaml_limits *limits,
                       const struct yaml_node **out, struct rt_problems *p)
{
    *out = NULL;
    struct builder *b = ARENA_NEW(a, struct builder);
    if (!b)
        return rt_fail_memory(p);
    *b = (struct builder){ .arena = a, .file = file, .bytes = bytes, .limits = limits, .p = p };
    enum rt_code code = find_lines(b) ? check_bytes(b) : RT_NOMEM;
    if (code == RT_OK)
        code = check_brackets(b);
    if (code == RT_OK && bytes.n > 0)
        code = parse(b);
    if (code == RT_OK && !b->root) {
        struct yaml_node *empty = new_node(b, YAML_MAP, NULL, NULL);
        if (empty)
            empty->at = place_at(b, 0, 0);
        b->root = empty;
        code = empty ? RT_OK : RT_NOMEM;
    }
    if (code == RT_NOMEM)
        return rt_fail_memory(p);
    RT_TRY(code);
    *out = b->root;
    return b->twice;
}

const struct yaml_node *yaml_get(const struct yaml_node *map, const char *key)
{
    if (map)
        for (uint32_t i = 0; i < map->pairs.n; i++)
            if (str_is(map->pairs.v[i].key->text, key))
                return map->pairs.v[i].value;
    return NULL;
}

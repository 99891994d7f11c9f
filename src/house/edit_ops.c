/* The four edits.  Each notes its cuts in rising order, all in terms of the bytes before the edit, and then changes the
 * tree in memory the way the new bytes must read. */
#include <string.h>

#include "house/edit_int.h"

/* ---- anchors ---- */

static bool has_alias_to(const struct edit_node *node, struct str name, const struct edit_node *except)
{
    if (node == except)
        return false;
    if (node->kind == EDIT_ALIAS && str_eq(node->text, name))
        return true;
    for (uint32_t i = 0; i < node->entries.n; i++)
        if (has_alias_to(node->entries.v[i].value, name, except))
            return true;
    return false;
}

/* An alias outside of `gone` to an anchor within it would lose its value. */
static enum rt_code check_anchors(struct edit_work *w, const struct edit_node *gone, const struct edit_node *node)
{
    if (node->anchor.n && has_alias_to(w->root, node->anchor, gone))
        return rt_fail(w->p, RT_CONFLICT, edit_place_of(w, node->from, node->props_end),
                       "write the value out where it is repeated, then edit it",
                       "this value is repeated elsewhere as *%.*s", STR_ARG(node->anchor));
    for (uint32_t i = 0; i < node->entries.n; i++)
        RT_TRY(check_anchors(w, gone, node->entries.v[i].value));
    return RT_OK;
}

/* ---- splices ---- */

static enum rt_code splice(struct edit_work *w, size_t from, size_t to, struct str is)
{
    const struct edit_cut s = { from, to, is };
    return VEC_PUSH(w->scratch, &w->splices, s) ? RT_OK : rt_fail_memory(w->p);
}

static enum rt_code splice_buf(struct edit_work *w, size_t from, size_t to, const struct buf *b)
{
    return b->failed ? rt_fail_memory(w->p) : splice(w, from, to, buf_done(b));
}

static bool is_first_on_line(const struct edit_work *w, size_t byte)
{
    for (size_t i = edit_line_start(w->bytes, byte); i < byte; i++)
        if (w->bytes.p[i] != ' ')
            return false;
    return true;
}

static bool is_blank_line(const struct edit_work *w, size_t start)
{
    while (start < w->bytes.n && strchr(" \t\r", w->bytes.p[start]))
        start++;
    return start < w->bytes.n && w->bytes.p[start] == '\n';
}

/* From the start of a line: behind the comment lines that follow at once and are indented deeper than the column. */
static size_t skip_inner_comments(const struct edit_work *w, size_t line, size_t column)
{
    for (;;) {
        size_t i = line;
        while (i < w->bytes.n && w->bytes.p[i] == ' ')
            i++;
        if (i >= w->bytes.n || w->bytes.p[i] != '#' || i - line <= column)
            return line;
        line = edit_next_line(w->bytes, i);
    }
}

/* Behind the last line of an entry in block style, its line break and the comments inside it included. */
static size_t entry_end(const struct edit_work *w, const struct edit_entry *e)
{
    const size_t last = e->value->to > e->head ? e->value->to : e->head;
    return skip_inner_comments(w, edit_next_line(w->bytes, last), edit_column(w->bytes, e->from));
}

/* The end of a line without its break, given the start of the line after it. */
static size_t before_break(const struct edit_work *w, size_t line)
{
    if (line > 0 && w->bytes.p[line - 1] == '\n')
        line--;
    if (line > 0 && w->bytes.p[line - 1] == '\r')
        line--;
    return line;
}

/* Puts lines (b: without indentation in front nor a line break behind) after the line that ends before `line`. */
static enum rt_code splice_lines(struct edit_work *w, size_t line, size_t column, bool with_gap,
                                 const struct buf *lines)
{
    struct buf b = { .arena = w->scratch };
    const bool is_broken_off = line == w->bytes.n && line > 0 && w->bytes.p[line - 1] != '\n';
    if (is_broken_off)
        buf_text(&b, w->style.eol);
    if (with_gap)
        buf_text(&b, w->style.eol);
    buf_fill(&b, ' ', column);
    buf_str(&b, buf_done(lines));
    if (!is_broken_off)
        buf_text(&b, w->style.eol);
    b.failed = b.failed || lines->failed;
    return splice_buf(w, line, line, &b);
}

/* ---- add ---- */

/* The nearest item or entry of a kind, whose manner a new one follows.  A word in a mapping tells nothing about another
 * key's word. */
static const struct edit_node *neighbour(const struct edit_node *in, uint32_t i, enum edit_kind kind)
{
    if (in->kind == EDIT_MAPPING && kind == EDIT_SCALAR)
        return NULL;
    for (uint32_t k = i; k-- > 0;)
        if (in->entries.v[k].value->kind == kind)
            return in->entries.v[k].value;
    for (uint32_t k = i; k < in->entries.n; k++)
        if (in->entries.v[k].value->kind == kind)
            return in->entries.v[k].value;
    return NULL;
}

static struct str key_of(const struct edit_node *in, const struct edit_spot *s)
{
    return in->kind == EDIT_MAPPING ? s->last : (struct str){ 0 };
}

static void put_flow_entry(struct buf *b, const struct edit_work *w, const struct edit_spot *s)
{
    const struct edit_node *like = neighbour(s->in, s->i, EDIT_SCALAR);
    const enum edit_form form = like && like->form != EDIT_TEXT_BLOCK ? like->form : EDIT_PLAIN;
    if (s->in->kind == EDIT_MAPPING) {
        edit_put_text(b, s->last, EDIT_PLAIN, true);
        buf_text(b, ": ");
    }
    edit_put_flow(b, w->value, form, &w->style);
}

/* What stands between two items: a comma with blanks and line ends, copied from the file where it is just that. */
static struct str flow_gap(const struct edit_work *w, const struct edit_node *in)
{
    const uint32_t n = in->entries.n;
    size_t from = in->body + 1, to = in->entries.v[0].from, n_commas = 0;
    if (n > 1) {
        const struct edit_entry *e = &in->entries.v[n - 2];
        from = e->value->to > e->head ? e->value->to : e->head;
        to = in->entries.v[n - 1].from;
    }
    bool is_plain = to > from && (n > 1 || memchr(w->bytes.p + from, '\n', to - from));
    for (size_t i = from; i < to; i++) {
        n_commas += w->bytes.p[i] == ',';
        is_plain = is_plain && strchr(", \t\r\n", w->bytes.p[i]);
    }
    if (!is_plain || n_commas != (n > 1))
        return STR(", ");
    if (n > 1)
        return (struct str){ w->bytes.p + from, to - from };
    const char *gap = arena_printf(w->scratch, ",%.*s", (int)(to - from), w->bytes.p + from);
    return gap ? str_from(gap) : STR(", ");
}

static enum rt_code add_in_flow(struct edit_work *w, const struct edit_spot *s)
{
    struct edit_node *in = s->in;
    struct buf b = { .arena = w->scratch };
    if (in->is_bare)
        return rt_fail(w->p, RT_SHAPE, edit_place_of(w, in->from, in->to), "put braces round it: { .. }",
                       "this pair stands in a list without braces, another cannot be added to it");
    if (in->entries.n == 0) {
        const bool has_space = in->kind == EDIT_MAPPING && w->style.has_brace_spaces;
        buf_text(&b, has_space ? " " : "");
        put_flow_entry(&b, w, s);
        buf_text(&b, has_space ? " " : "");
        return splice_buf(w, in->body + 1, in->to - 1, &b);
    }
    const struct str gap = flow_gap(w, in);
    if (in->kind == EDIT_SEQUENCE && s->i < in->entries.n) {
        put_flow_entry(&b, w, s);
        buf_str(&b, gap);
        return splice_buf(w, in->entries.v[s->i].from, in->entries.v[s->i].from, &b);
    }
    const struct edit_entry *last = &in->entries.v[in->entries.n - 1];
    const size_t at = last->value->to > last->head ? last->value->to : last->head;
    buf_str(&b, gap);
    put_flow_entry(&b, w, s);
    return splice_buf(w, at, at, &b);
}

static enum rt_code add_in_block(struct edit_work *w, const struct edit_spot *s)
{
    struct edit_node *in = s->in;
    const size_t column = edit_column(w->bytes, in->body);
    const struct edit_node *like = neighbour(in, s->i, w->value->kind);
    struct buf b = { .arena = w->scratch };
    edit_put_entry(&b, key_of(in, s), w->value, w->source, column, like, &w->style);
    if (s->i == 0 && in->kind == EDIT_SEQUENCE) { /* before the first dash, which may stand behind another one */
        buf_text(&b, w->style.eol);
        buf_fill(&b, ' ', column);
        return splice_buf(w, in->body, in->body, &b);
    }
    const struct edit_entry *before = &in->entries.v[s->i - 1];
    bool has_gap = s->i >= 2 && s->i == in->entries.n; /* entries are set apart by blank lines: so is the new one */
    if (has_gap) {
        const size_t start = edit_line_start(w->bytes, before->from);
        has_gap = start > 1 && is_blank_line(w, edit_line_start(w->bytes, start - 1)) &&
                  entry_end(w, &in->entries.v[s->i - 2]) == edit_line_start(w->bytes, start - 1);
    }
    return splice_lines(w, entry_end(w, before), column, has_gap, &b);
}

/* An empty collection, or nothing at all, gets its first entry on lines of its own. */
static enum rt_code add_to_empty(struct edit_work *w, const struct edit_spot *s)
{
    struct edit_node *in = s->in;
    const struct edit_style *style = &w->style;
    struct buf b = { .arena = w->scratch };
    if (!s->owner) {
        edit_put_entry(&b, key_of(in, s), w->value, w->source, 0, NULL, style);
        if (in->is_written)
            return splice_buf(w, in->body, in->to, &b);
        return splice_lines(w, w->bytes.n, 0, false, &b);
    }
    const size_t owner_column = edit_column(w->bytes, s->owner->from);
    const size_t gone_to = in->is_written ? in->to : s->owner->head;
    const size_t keep = in->props_end ? in->props_end : s->owner->head;
    const size_t line = edit_next_line(w->bytes, gone_to);
    const bool is_dash = !s->owner->key;
    if (is_dash && gone_to == edit_line_end(w->bytes, gone_to)) { /* on the dash's line, as other items are */
        edit_put_entry(&b, key_of(in, s), w->value, w->source, owner_column + 2, NULL, style);
        struct buf spaced = { .arena = w->scratch };
        buf_char(&spaced, ' ');
        buf_str(&spaced, buf_done(&b));
        spaced.failed = spaced.failed || b.failed;
        return splice_buf(w, keep, gone_to, &spaced);
    }
    const size_t step = is_dash ? 2 : in->kind == EDIT_SEQUENCE ? style->dash_step : style->step;
    const size_t column = owner_column + step;
    edit_put_entry(&b, key_of(in, s), w->value, w->source, column, NULL, style);
    if (gone_to > keep)
        RT_TRY(splice(w, keep, gone_to, (struct str){ 0 }));
    return splice_lines(w, skip_inner_comments(w, line, owner_column), column, false, &b);
}

static enum rt_code insert_entry(struct edit_work *w, struct edit_node *in, uint32_t at, struct edit_entry entry)
{
    struct edit_entry *v = ARENA_ARRAY(w->scratch, struct edit_entry, in->entries.n + 1);
    if (!v)
        return rt_fail_memory(w->p);
    if (at)
        memcpy(v, in->entries.v, at * sizeof *v);
    if (in->entries.n > at)
        memcpy(v + at + 1, in->entries.v + at, (in->entries.n - at) * sizeof *v);
    v[at] = entry;
    in->entries.v = v;
    in->entries.n++;
    return RT_OK;
}

static enum rt_code find_place_to_add(struct edit_work *w, struct edit_spot *s)
{
    struct edit_node *in = s->in;
    uint32_t index;
    const bool is_end = str_is(s->last, "-");
    if (in->kind == EDIT_SCALAR) { /* nothing yet: a sequence if the path counts, else a mapping */
        in->kind = is_end || str_is(s->last, "0") ? EDIT_SEQUENCE : EDIT_MAPPING;
        in->text = (struct str){ 0 };
    }
    if (in->kind == EDIT_MAPPING) {
        if (s->i < in->entries.n)
            return rt_fail(w->p, RT_CONFLICT, edit_place_of(w, in->entries.v[s->i].from, in->entries.v[s->i].key->to),
                           "take another name, or change what is there", "'%.*s' is there already", STR_ARG(s->last));
        if (s->last.n == 0)
            return rt_fail(w->p, RT_SHAPE, RT_NOWHERE, "give it a name", "a new entry needs a name");
    } else if (is_end) {
        s->i = in->entries.n;
    } else if (edit_read_index(s->last, &index) && index <= in->entries.n) {
        s->i = index;
    } else {
        return edit_fail_not_there(w, s);
    }
    return RT_OK;
}

/* A key without a value, inside brackets. */
static enum rt_code add_to_null_in_flow(struct edit_work *w, const struct edit_spot *s)
{
    const struct edit_node *in = s->in;
    if (!s->owner || s->owner->is_unlike)
        return rt_fail(w->p, RT_SHAPE, edit_place_of(w, in->from, in->to), "write it as `key: {}` first",
                       "nothing can be added to a key without a colon");
    const bool is_map = in->kind == EDIT_MAPPING, has_space = is_map && w->style.has_brace_spaces;
    const size_t keep = in->props_end ? in->props_end : s->owner->head;
    struct buf b = { .arena = w->scratch };
    buf_text(&b, is_map ? has_space ? " { " : " {" : " [");
    put_flow_entry(&b, w, s);
    buf_text(&b, is_map ? has_space ? " }" : "}" : "]");
    return splice_buf(w, keep, in->to > keep ? in->to : keep, &b);
}

enum rt_code edit_add(struct edit_work *w, struct edit_spot *s)
{
    RT_TRY(find_place_to_add(w, s));
    struct edit_node *in = s->in;
    const bool is_list_of_words = in->kind == EDIT_SEQUENCE && w->value->form != EDIT_BLOCK &&
                                  edit_fits_inline(w->scratch, w->value, NULL, 0, &w->style);
    if (in->entries.n)
        RT_TRY(in->form == EDIT_FLOW ? add_in_flow(w, s) : add_in_block(w, s));
    else if (in->form == EDIT_FLOW && (s->within_flow || is_list_of_words))
        RT_TRY(add_in_flow(w, s));
    else if (s->within_flow)
        RT_TRY(add_to_null_in_flow(w, s));
    else
        RT_TRY(add_to_empty(w, s));
    struct edit_entry entry = { .value = w->value };
    if (in->kind == EDIT_MAPPING) {
        entry.key = ARENA_NEW(w->scratch, struct edit_node);
        if (!entry.key)
            return rt_fail_memory(w->p);
        entry.key->form = EDIT_DOUBLE;
        entry.key->text = s->last;
    }
    return insert_entry(w, in, s->i, entry);
}

/* ---- remove ---- */

/* The collection has one entry: it becomes {} or []. */
static enum rt_code remove_only(struct edit_work *w, const struct edit_spot *s)
{
    const struct edit_node *in = s->in;
    const struct str empty = in->kind == EDIT_MAPPING ? STR("{}") : STR("[]");
    const struct edit_entry *e = &in->entries.v[0];
    if (in->form == EDIT_FLOW || !s->owner || !is_first_on_line(w, in->body))
        return splice(w, in->body, in->to, empty);
    const size_t keep = in->props_end ? in->props_end : s->owner->head;
    const size_t start = edit_line_start(w->bytes, in->body);
    size_t from = start, to = entry_end(w, e);
    if (to == w->bytes.n && w->bytes.p[to - 1] != '\n') /* the line before becomes the unbroken last one */
        from = before_break(w, start);
    struct buf b = { .arena = w->scratch };
    buf_printf(&b, " %.*s", STR_ARG(empty));
    if (from == keep)
        return splice_buf(w, from, to, &b);
    RT_TRY(splice_buf(w, keep, keep, &b));
    return splice(w, from, to, (struct str){ 0 });
}

static enum rt_code remove_in_flow(struct edit_work *w, const struct edit_spot *s)
{
    const struct edit_node *in = s->in;
    const struct edit_entry *e = &in->entries.v[s->i];
    const size_t end = e->value->to > e->head ? e->value->to : e->head;
    if (s->i + 1 < in->entries.n)
        return splice(w, e->from, in->entries.v[s->i + 1].from, (struct str){ 0 });
    const struct edit_entry *before = e - 1;
    const size_t from = before->value->to > before->head ? before->value->to : before->head;
    if (!memchr(w->bytes.p + from, '#', e->from - from))
        return splice(w, from, end, (struct str){ 0 });
    /* A comment stands behind the comma before: leave both, and take the comma behind if there is one. */
    size_t to = end;
    while (to < in->to && strchr(" \t\r\n", w->bytes.p[to]))
        to++;
    const bool has_comma = w->bytes.p[to] == ',';
    return splice(w, e->from, has_comma ? to + 1 : end, (struct str){ 0 });
}

static enum rt_code remove_in_block(struct edit_work *w, const struct edit_spot *s)
{
    const struct edit_node *in = s->in;
    const struct edit_entry *e = &in->entries.v[s->i];
    const bool is_last = s->i + 1 == in->entries.n;
    size_t to = entry_end(w, e);
    if (!is_first_on_line(w, e->from)) { /* the first one, behind a dash: what follows moves up to the dash */
        while (to < w->bytes.n && strchr(" \t\r\n", w->bytes.p[to]))
            to++;
        return splice(w, e->from, to, (struct str){ 0 });
    }
    size_t from = edit_line_start(w->bytes, e->from);
    /* Of the blank lines that set entries apart one goes with the entry. */
    const size_t above = from > 0 ? edit_line_start(w->bytes, from - 1) : from;
    if (s->i > 0 && above < from && is_blank_line(w, above) && entry_end(w, e - 1) == above &&
        (is_last || is_blank_line(w, to)))
        from = above;
    if (to == w->bytes.n && w->bytes.p[to - 1] != '\n')
        from = before_break(w, from);
    return splice(w, from, to, (struct str){ 0 });
}

enum rt_code edit_remove(struct edit_work *w, struct edit_spot *s)
{
    struct edit_node *in = s->in;
    if (s->i == in->entries.n)
        return edit_fail_not_there(w, s);
    RT_TRY(check_anchors(w, in->entries.v[s->i].value, in->entries.v[s->i].value));
    if (in->entries.n == 1)
        RT_TRY(remove_only(w, s));
    else
        RT_TRY(in->form == EDIT_FLOW ? remove_in_flow(w, s) : remove_in_block(w, s));
    memmove(in->entries.v + s->i, in->entries.v + s->i + 1, (in->entries.n - s->i - 1) * sizeof *in->entries.v);
    in->entries.n--;
    return RT_OK;
}

/* ---- set ---- */

static void put_inline(struct buf *b, const struct edit_work *w, const struct edit_node *old, bool in_flow)
{
    const bool has_quotes = old->form == EDIT_SINGLE || old->form == EDIT_DOUBLE;
    if (w->value->kind == EDIT_SCALAR && edit_is_text(w->value))
        edit_put_text(b, w->value->text, has_quotes ? old->form : EDIT_PLAIN, in_flow);
    else if (w->value->kind == EDIT_SCALAR)
        buf_str(b, w->value->text.n ? w->value->text : STR("null"));
    else
        edit_put_flow(b, w->value, EDIT_PLAIN, &w->style);
}

/* From a value of any kind to one that stands behind its key or dash. */
static enum rt_code set_inline(struct edit_work *w, const struct edit_entry *e, bool in_flow)
{
    const struct edit_node *old = e->value;
    struct buf b = { .arena = w->scratch };
    const bool is_spaced = old->is_written && old->from > e->head;
    if (old->form != EDIT_BLOCK || !is_first_on_line(w, old->body)) {
        buf_text(&b, is_spaced || e->head == e->from ? "" : " ");
        put_inline(&b, w, old, in_flow);
        return splice_buf(w, old->is_written ? old->from : e->head, old->is_written ? old->to : e->head, &b);
    }
    buf_char(&b, ' ');
    put_inline(&b, w, old, in_flow);
    RT_TRY(splice_buf(w, e->head, old->props_end ? old->props_end : e->head, &b));
    /* The block's lines go, with the break in front of them. */
    const size_t to = before_break(w, entry_end(w, e));
    return splice(w, before_break(w, edit_line_start(w->bytes, old->body)), to, (struct str){ 0 });
}

/* From a value of any kind to one in lines of its own. */
static enum rt_code set_block(struct edit_work *w, const struct edit_entry *e, const struct edit_node *like)
{
    const struct edit_node *old = e->value;
    const bool is_same_form = old->form == EDIT_BLOCK && old->is_written;
    struct buf b = { .arena = w->scratch };
    if (is_same_form) {
        const size_t was = edit_column(w->bytes, old->body), owner = edit_column(w->bytes, e->from);
        size_t column = was;
        if (e->key && w->value->kind == EDIT_MAPPING && was <= owner) /* dashes may stand right below the key */
            column = owner + w->style.step;
        buf_fill(&b, ' ', column - was);
        edit_put_block(&b, w->value, w->source, column, like, &w->style);
        if (old->props_end)
            RT_TRY(splice(w, e->head, old->props_end, (struct str){ 0 }));
        return splice_buf(w, old->body, edit_line_end(w->bytes, old->to), &b);
    }
    const size_t owner = edit_column(w->bytes, e->from);
    const size_t end = old->is_written ? old->to : e->head;
    const size_t line_end = edit_line_end(w->bytes, end);
    if (!e->key && end == line_end) {
        buf_char(&b, ' ');
        edit_put_block(&b, w->value, w->source, owner + 2, like, &w->style);
        return splice_buf(w, e->head, end, &b);
    }
    const size_t step = !e->key ? 2 : w->value->kind == EDIT_SEQUENCE ? w->style.dash_step : w->style.step;
    const size_t column = owner + step;
    edit_put_block(&b, w->value, w->source, column, like, &w->style);
    if (end > e->head)
        RT_TRY(splice(w, e->head, end, (struct str){ 0 }));
    return splice_lines(w, edit_next_line(w->bytes, end), column, false, &b);
}

enum rt_code edit_set(struct edit_work *w, struct edit_spot *s)
{
    struct edit_node *in = s->in;
    if (s->i == in->entries.n)
        return edit_fail_not_there(w, s);
    struct edit_entry *e = &in->entries.v[s->i];
    RT_TRY(check_anchors(w, e->value, e->value));
    if (edit_same(e->value, w->value))
        return RT_OK;
    if (e->is_unlike)
        return rt_fail(w->p, RT_SHAPE, edit_place_of(w, e->from, e->key->to), "write it as `key: value`",
                       "this key is not written in the usual way, its value cannot be set");
    const bool in_flow = s->within_flow || in->form == EDIT_FLOW;
    const struct edit_node *like = e->value->kind == w->value->kind ? e->value : neighbour(in, s->i, w->value->kind);
    const size_t column = edit_column(w->bytes, e->head) + 1;
    if (in_flow || (w->value->form != EDIT_BLOCK && edit_fits_inline(w->scratch, w->value, like, column, &w->style)))
        RT_TRY(set_inline(w, e, in_flow));
    else
        RT_TRY(set_block(w, e, like));
    e->value = w->value;
    return RT_OK;
}

/* ---- rename ---- */

enum rt_code edit_rename(struct edit_work *w, struct edit_spot *s, struct str name)
{
    struct edit_node *in = s->in;
    if (in->kind != EDIT_MAPPING)
        return rt_fail(w->p, RT_SHAPE, edit_place_of(w, in->from, in->from), "rename entries that have a name",
                       "the items of a list have no names");
    if (s->i == in->entries.n)
        return edit_fail_not_there(w, s);
    struct edit_node *key = in->entries.v[s->i].key;
    if (name.n == 0)
        return rt_fail(w->p, RT_SHAPE, RT_NOWHERE, "give it a name", "the new name is empty");
    if (str_eq(key->text, name))
        return RT_OK;
    const uint32_t other = edit_find_entry(in, name);
    if (other < in->entries.n)
        return rt_fail(w->p, RT_CONFLICT, edit_place_of(w, in->entries.v[other].from, in->entries.v[other].key->to),
                       "take another name", "'%.*s' is there already", STR_ARG(name));
    struct buf b = { .arena = w->scratch };
    edit_put_text(&b, name, key->form, s->within_flow || in->form == EDIT_FLOW);
    RT_TRY(splice_buf(w, key->body, key->to, &b));
    key->text = name;
    key->form = EDIT_DOUBLE;
    return RT_OK;
}

/* Writing values into a file in the manner of their neighbours. */
#include "house/edit_int.h"

#include <string.h>
#include <strings.h>

enum { WIDTH = 100, WIDTH_LIKE = 140 }; /* the second where a neighbour stands on one line too */

/* ---- manner ---- */

static void look_at(struct str bytes, const struct edit_node *node, struct edit_style *style, bool *has_step,
                    bool *has_dash, bool *has_brace)
{
    const bool is_map = node->kind == EDIT_MAPPING;
    if (is_map && node->form == EDIT_FLOW && !node->is_bare && node->entries.n && !*has_brace) {
        style->has_brace_spaces = bytes.p[node->body + 1] == ' ';
        *has_brace = true;
    }
    for (uint32_t i = 0; i < node->entries.n; i++) {
        const struct edit_entry *e = &node->entries.v[i];
        const struct edit_node *v = e->value;
        if (is_map && node->form == EDIT_BLOCK && v->form == EDIT_BLOCK) {
            const size_t key = edit_column(bytes, e->from), body = edit_column(bytes, v->body);
            if (v->kind == EDIT_MAPPING && !*has_step && body > key) {
                style->step = body - key;
                *has_step = true;
            }
            if (v->kind == EDIT_SEQUENCE && !*has_dash && body >= key) {
                style->dash_step = body - key;
                *has_dash = true;
            }
        }
        look_at(bytes, v, style, has_step, has_dash, has_brace);
    }
}

struct edit_style edit_style_of(struct str bytes, const struct edit_node *root)
{
    struct edit_style style = { .eol = "\n", .step = 2, .has_brace_spaces = true };
    const char *newline = bytes.n ? memchr(bytes.p, '\n', bytes.n) : NULL;
    if (newline && newline > bytes.p && newline[-1] == '\r')
        style.eol = "\r\n";
    bool has_step = false, has_dash = false, has_brace = false;
    look_at(bytes, root, &style, &has_step, &has_dash, &has_brace);
    if (!has_dash)
        style.dash_step = style.step;
    return style;
}

/* ---- scalars ---- */

/* Words and figures that YAML 1.1 readers (there are many) take for something else than a text. */
static bool is_odd_in_yaml_1_1(struct str s)
{
    static const char *const WORDS[] = { "yes", "no", "on", "off", "=", "<<" };
    for (size_t i = 0; i < RT_COUNT(WORDS); i++)
        if (s.n == strlen(WORDS[i]) && strncasecmp(s.p, WORDS[i], s.n) == 0)
            return true;
    const size_t sign = s.n && (s.p[0] == '+' || s.p[0] == '-');
    if (s.n <= sign || s.p[sign] < '0' || s.p[sign] > '9')
        return false;
    size_t n_dots = 0, n_figures = 0; /* 1_000, 20:30, 52:54:00, 2026-11-25 10:00:00, 0b1010 */
    for (size_t i = sign; i < s.n; i++) {
        if (!strchr("0123456789_:.-+TtZz b", s.p[i]))
            return false;
        n_dots += s.p[i] == '.';
        n_figures += s.p[i] >= '0' && s.p[i] <= '9';
    }
    return n_dots < 2 && n_figures > 0;
}

/* Length of the character at p; 0 when it must be escaped. */
static size_t printable(struct str s, size_t i)
{
    const unsigned char c = (unsigned char)s.p[i];
    if (c < 0x80)
        return c >= 0x20 && c != 0x7f;
    size_t n = c >= 0xf0 ? 4 : c >= 0xe0 ? 3 : 2;
    if (i + n > s.n)
        n = s.n - i;
    const unsigned char d = n > 1 ? (unsigned char)s.p[i + 1] : 0, e = n > 2 ? (unsigned char)s.p[i + 2] : 0;
    const bool is_c1 = c == 0xc2 && d < 0xa0;
    const bool is_line_break = c == 0xe2 && d == 0x80 && (e == 0xa8 || e == 0xa9);
    const bool is_mark = c == 0xef && ((d == 0xbb && e == 0xbf) || (d == 0xbf && e >= 0xbe));
    return is_c1 || is_line_break || is_mark ? 0 : n;
}

static bool is_printable(struct str s)
{
    for (size_t i = 0, n; i < s.n; i += n)
        if ((n = printable(s, i)) == 0)
            return false;
    return true;
}

/* May these letters stand without quotes (YAML 1.2.2, 7.3.3, a little stricter)? */
static bool is_plain(struct str s, bool in_flow)
{
    if (s.n == 0 || !is_printable(s) || s.p[0] == ' ' || s.p[s.n - 1] == ' ' || s.p[s.n - 1] == ':')
        return false;
    if (strchr(",[]{}#&*!|>'\"%@`", s.p[0]) || strncmp(s.p, "---", s.n < 3 ? s.n : 3) == 0 ||
        strncmp(s.p, "...", s.n < 3 ? s.n : 3) == 0)
        return false;
    if (strchr("-?:", s.p[0]) && (s.n == 1 || strchr(" ,[]{}", s.p[1])))
        return false;
    for (size_t i = 0; i < s.n; i++) {
        const char c = s.p[i], next = i + 1 < s.n ? s.p[i + 1] : '\0';
        if ((c == ':' && (next == ' ' || (in_flow && next && strchr(",[]{}", next)))) || (c == ' ' && next == '#') ||
            (in_flow && strchr(",[]{}", c)))
            return false;
    }
    return true;
}

static void put_single(struct buf *b, struct str s)
{
    buf_char(b, '\'');
    for (size_t i = 0; i < s.n; i++) {
        if (s.p[i] == '\'')
            buf_char(b, '\'');
        buf_char(b, s.p[i]);
    }
    buf_char(b, '\'');
}

static void put_double(struct buf *b, struct str s)
{
    buf_char(b, '"');
    for (size_t i = 0, n; i < s.n; i += n) {
        const unsigned char c = (unsigned char)s.p[i];
        n = printable(s, i);
        if (n && c != '"' && c != '\\') {
            buf_add(b, s.p + i, n);
        } else if (n || c < 0x80) {
            n = 1;
            if (c == '"' || c == '\\')
                buf_printf(b, "\\%c", c);
            else if (c == '\n')
                buf_text(b, "\\n");
            else if (c == '\t')
                buf_text(b, "\\t");
            else
                buf_printf(b, "\\x%02x", c);
        } else { /* two or three bytes, see printable() */
            const unsigned char d = (unsigned char)s.p[i + 1];
            n = c >= 0xe0 ? 3 : 2;
            const unsigned code = n == 2 ? (c & 0x1fu) << 6 | (d & 0x3fu)
                                         : (c & 0xfu) << 12 | (d & 0x3fu) << 6 | ((unsigned char)s.p[i + 2] & 0x3fu);
            buf_printf(b, "\\u%04x", code);
        }
    }
    buf_char(b, '"');
}

void edit_put_text(struct buf *b, struct str text, enum edit_form form, bool in_flow)
{
    if (form == EDIT_SINGLE && is_printable(text))
        put_single(b, text);
    else if (form != EDIT_DOUBLE && is_plain(text, in_flow) && edit_plain_is_text(text) && !is_odd_in_yaml_1_1(text))
        buf_str(b, text);
    else
        put_double(b, text);
}

static void put_scalar(struct buf *b, const struct edit_node *v, enum edit_form form, bool in_flow)
{
    if (edit_is_text(v))
        edit_put_text(b, v->text, form, in_flow);
    else if (v->text.n)
        buf_str(b, v->text);
    else
        buf_text(b, "null");
}

/* ---- values ---- */

void edit_put_flow(struct buf *b, const struct edit_node *v, enum edit_form form, const struct edit_style *style)
{
    if (v->kind == EDIT_SCALAR) {
        put_scalar(b, v, form, true);
        return;
    }
    const bool is_map = v->kind == EDIT_MAPPING, has_space = is_map && style->has_brace_spaces && v->entries.n;
    buf_text(b, is_map ? has_space ? "{ " : "{" : "[");
    for (uint32_t i = 0; i < v->entries.n; i++) {
        const struct edit_entry *e = &v->entries.v[i];
        if (i)
            buf_text(b, ", ");
        if (e->key) {
            edit_put_text(b, e->key->text, EDIT_PLAIN, true);
            buf_text(b, ": ");
        }
        edit_put_flow(b, e->value, EDIT_PLAIN, style);
    }
    buf_text(b, is_map ? has_space ? " }" : "}" : "]");
}

static bool has_mapping(const struct edit_node *v)
{
    bool found = v->kind == EDIT_MAPPING && v->entries.n;
    for (uint32_t i = 0; i < v->entries.n && !found; i++)
        found = has_mapping(v->entries.v[i].value);
    return found;
}

bool edit_fits_inline(struct arena *a, const struct edit_node *v, const struct edit_node *like, size_t column,
                      const struct edit_style *style)
{
    if (v->kind == EDIT_SCALAR || v->entries.n == 0)
        return true;
    const bool is_like = like && like->kind == v->kind && like->entries.n;
    if (is_like ? like->form != EDIT_FLOW : has_mapping(v))
        return false;
    struct buf b = { .arena = a };
    edit_put_flow(&b, v, EDIT_PLAIN, style);
    return column + b.n <= (is_like ? WIDTH_LIKE : WIDTH);
}

static const struct edit_node *like_of(const struct edit_node *like, const struct edit_entry *e)
{
    for (uint32_t i = 0; like && i < like->entries.n; i++) {
        const struct edit_entry *l = &like->entries.v[i];
        if (!e->key && !l->key)
            return l->value;
        if (e->key && l->key && str_eq(e->key->text, l->key->text))
            return l->value;
    }
    return NULL;
}

/* The lines of a value in block style as they stand in its text, shifted so that they begin at the column; the cursor
 * is there already. */
static void put_lines(struct buf *b, const struct edit_node *v, struct str source, size_t column, const char *eol)
{
    const size_t was = edit_column(source, v->body);
    size_t end = source.n;
    while (end > 0 && strchr(" \t\r\n", source.p[end - 1]))
        end--;
    if (v->to > end)
        end = v->to; /* blank lines that a text block keeps */
    size_t at = 0;
    while (at < end && edit_line_end(source, at) == at) /* empty lines first */
        at = edit_next_line(source, at);
    for (bool is_first = true; at < end; is_first = false) {
        const size_t next = edit_next_line(source, at);
        size_t line_end = edit_line_end(source, at);
        line_end = line_end > end ? end : line_end;
        for (size_t i = 0; i < was && at < line_end && source.p[at] == ' '; i++)
            at++;
        if (!is_first)
            buf_text(b, eol);
        if (!is_first && at < line_end)
            buf_fill(b, ' ', column);
        buf_add(b, source.p + at, line_end - at);
        at = next;
    }
}

void edit_put_block(struct buf *b, const struct edit_node *v, struct str source, size_t column,
                    const struct edit_node *like, const struct edit_style *style)
{
    if (source.p && v->form == EDIT_BLOCK) {
        put_lines(b, v, source, column, style->eol);
        return;
    }
    for (uint32_t i = 0; i < v->entries.n; i++) {
        const struct edit_entry *e = &v->entries.v[i];
        if (i) {
            buf_text(b, style->eol);
            buf_fill(b, ' ', column);
        }
        const struct str key = e->key ? e->key->text : (struct str){ 0 };
        edit_put_entry(b, key, e->value, (struct str){ 0 }, column, like_of(like, e), style);
    }
}

void edit_put_entry(struct buf *b, struct str key, const struct edit_node *v, struct str source, size_t column,
                    const struct edit_node *like, const struct edit_style *style)
{
    if (key.p) {
        edit_put_text(b, key, EDIT_PLAIN, false);
        buf_char(b, ':');
    } else {
        buf_char(b, '-');
    }
    const bool as_lines = source.p && v->form == EDIT_BLOCK;
    if (!as_lines && edit_fits_inline(b->arena, v, like, column + key.n + 2, style)) {
        const bool keeps_quotes = like && like->kind == EDIT_SCALAR && like->form != EDIT_TEXT_BLOCK;
        buf_char(b, ' ');
        if (v->kind == EDIT_SCALAR)
            put_scalar(b, v, keeps_quotes ? like->form : EDIT_PLAIN, false);
        else
            edit_put_flow(b, v, EDIT_PLAIN, style);
        return;
    }
    if (!key.p) {
        buf_char(b, ' ');
        edit_put_block(b, v, source, column + 2, like, style);
        return;
    }
    const size_t deeper = column + (v->kind == EDIT_SEQUENCE ? style->dash_step : style->step);
    buf_text(b, style->eol);
    buf_fill(b, ' ', deeper);
    edit_put_block(b, v, source, deeper, like, style);
}

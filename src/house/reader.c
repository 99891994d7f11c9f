/* Messages of the reader: where, what, and what to do. */
#include "house/reader_int.h"

#include <stdarg.h>
#include <string.h>

enum { SHOWN_WORDS = 40, SHOWN_TEXT = 40 };

bool reader_is_full(const struct reader *rd) { return rd->p->list.n >= RT_PROBLEMS_MAX; }

bool reader_no_memory(struct reader *rd)
{
    rd->out_of_memory = true;
    return false;
}

static void write_spot(struct buf *b, const struct spot *spot)
{
    if (!spot || spot->shape->has_no_place)
        return;
    write_spot(b, spot->up);
    if (b->n)
        buf_text(b, ", ");
    buf_text(b, shape_name(spot->shape));
    if (spot->number)
        buf_printf(b, " %u", (unsigned)spot->number);
    if (spot->id.n)
        buf_printf(b, " '%.*s'", STR_ARG(spot->id));
}

void reader_fail(struct reader *rd, const struct spot *spot, enum rt_code code, struct rt_place at, const char *hint,
                 const char *fmt, ...)
{
    if (!rd->code)
        rd->code = code;
    if (reader_is_full(rd)) {
        (void)rt_fail(rd->p, code, at, NULL, "%s", "");
        return;
    }
    struct buf text = { .arena = rd->arena };
    write_spot(&text, spot);
    if (text.n)
        buf_text(&text, ": ");
    va_list args;
    va_start(args, fmt);
    const char *msg = arena_vprintf(rd->arena, fmt, args);
    va_end(args);
    if (msg)
        buf_text(&text, msg);
    if (!msg || text.failed)
        reader_no_memory(rd);
    else
        (void)rt_fail(rd->p, code, at, hint && hint[0] ? hint : NULL, "%s", text.p);
}

const char *reader_text(struct reader *rd, const char *fmt, ...)
{
    if (reader_is_full(rd))
        return "";
    va_list args;
    va_start(args, fmt);
    const char *text = arena_vprintf(rd->arena, fmt, args);
    va_end(args);
    if (!text)
        reader_no_memory(rd);
    return text ? text : "";
}

size_t reader_nearest(struct str word, const struct str *candidates, size_t n)
{
    const size_t nearest = word.n ? str_nearest(word, candidates, n) : n;
    if (nearest < n)
        return nearest;
    /* A key without its unit is the same key to whoever wrote it; so is a name without its ending. */
    for (size_t i = 0; i < n && word.n >= 2; i++)
        if (candidates[i].n > word.n && memcmp(candidates[i].p, word.p, word.n) == 0 && candidates[i].p[word.n] == '_')
            return i;
    return n;
}

const char *reader_suggest(struct reader *rd, struct str word, const struct str *candidates, size_t n,
                           const char *before_list)
{
    if (reader_is_full(rd))
        return "";
    struct buf b = { .arena = rd->arena };
    const size_t nearest = reader_nearest(word, candidates, n);
    if (nearest < n)
        buf_printf(&b, "did you mean '%.*s'?", STR_ARG(candidates[nearest]));
    const bool shows_list = n > 0 && (nearest == n || n <= SHOWN_WORDS);
    if (shows_list)
        buf_printf(&b, "%s%s", b.n ? " " : "", before_list);
    for (size_t i = 0; shows_list && i < n && i < SHOWN_WORDS; i++)
        buf_printf(&b, "%s%.*s", i ? ", " : " ", STR_ARG(candidates[i]));
    if (shows_list && n > SHOWN_WORDS)
        buf_printf(&b, " and %zu more", n - SHOWN_WORDS);
    if (b.failed)
        reader_no_memory(rd);
    return b.failed || !b.p ? "" : b.p;
}

const char *reader_describe(struct reader *rd, const struct yaml_node *node)
{
    if (node->kind == YAML_LIST)
        return "a list";
    if (node->kind == YAML_MAP)
        return "a mapping (key: value)";
    if (node->is_null)
        return "nothing";
    const bool is_long = node->text.n > SHOWN_TEXT;
    size_t n = is_long ? SHOWN_TEXT : node->text.n;
    while (n > 0 && n < node->text.n && ((unsigned char)node->text.p[n] & 0xc0u) == 0x80u)
        n--; /* not inside a character */
    struct buf b = { .arena = rd->arena };
    buf_char(&b, '\'');
    for (size_t i = 0; i < n; i++) {
        const unsigned char c = (unsigned char)node->text.p[i];
        buf_char(&b, c < 0x20 || c == 0x7f ? ' ' : (char)c);
    }
    buf_text(&b, is_long ? "...'" : "'");
    if (b.failed)
        reader_no_memory(rd);
    return b.failed ? "" : b.p;
}

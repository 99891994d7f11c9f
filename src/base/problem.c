#include "base/problem.h"

#include <stdarg.h>
#include <string.h>

enum { SHOWN_COLUMNS = 110, SHOWN_BEFORE = 75 }; /* of a long line, and of that before the token */

void rt_problems_init(struct rt_problems *p, struct arena *a) { *p = (struct rt_problems){ .arena = a }; }

void rt_problems_source(struct rt_problems *p, const char *file, struct str bytes)
{
    for (uint32_t i = 0; i < p->sources.n; i++)
        if (strcmp(p->sources.v[i].file, file) == 0) {
            p->sources.v[i].bytes = bytes;
            return;
        }
    const struct rt_source s = { file, bytes };
    if (!VEC_PUSH(p->arena, &p->sources, s))
        return; /* the line will not be shown; the message still is */
}

/* Was the reader warned of that already?  What is worked out more than once warns each time. */
static bool is_told(const struct rt_problems *p, const struct rt_problem *w)
{
    for (uint32_t i = 0; w->is_warning && w->msg && i < p->list.n; i++) {
        const struct rt_problem *told = &p->list.v[i];
        const bool same_file =
            told->at.file == w->at.file || (told->at.file && w->at.file && strcmp(told->at.file, w->at.file) == 0);
        if (told->is_warning && same_file && told->at.byte == w->at.byte && strcmp(told->msg, w->msg) == 0)
            return true;
    }
    return false;
}

static void add(struct rt_problems *p, struct rt_problem problem, const char *fmt, va_list args)
{
    const bool is_kept = p->list.n < RT_PROBLEMS_MAX;
    problem.msg = is_kept ? arena_vprintf(p->arena, fmt, args) : NULL;
    if (is_told(p, &problem))
        return;
    if (problem.is_warning)
        p->n_warnings++;
    else
        p->n_errors++;
    if (!is_kept)
        return;
    if (problem.hint)
        problem.hint = arena_printf(p->arena, "%s", problem.hint);
    if (!problem.msg)
        problem.msg = "out of memory";
    if (!VEC_PUSH(p->arena, &p->list, problem))
        return; /* still counted */
}

enum rt_code rt_fail(struct rt_problems *p, enum rt_code code, struct rt_place at, const char *hint, const char *fmt,
                     ...)
{
    va_list args;
    va_start(args, fmt);
    add(p, (struct rt_problem){ .code = code, .at = at, .hint = hint }, fmt, args);
    va_end(args);
    return code;
}

void rt_warn(struct rt_problems *p, enum rt_code code, struct rt_place at, const char *hint, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    add(p, (struct rt_problem){ .code = code, .is_warning = true, .at = at, .hint = hint }, fmt, args);
    va_end(args);
}

enum rt_code rt_fail_memory(struct rt_problems *p)
{
    return rt_fail(p, RT_NOMEM, RT_NOWHERE, "take a smaller house, a larger cell, or a machine with more memory",
                   "the memory set aside for this run is used up");
}

static const struct rt_source *source_of(const struct rt_problems *p, const char *file)
{
    for (uint32_t i = 0; file && i < p->sources.n; i++)
        if (strcmp(p->sources.v[i].file, file) == 0)
            return &p->sources.v[i];
    return NULL;
}

/* Puts the bytes so that any terminal shows them: what is no letter as '?'.  Returns the columns; out NULL: only those. */
static size_t put_shown(struct buf *out, struct str bytes, size_t from, size_t to)
{
    size_t columns = 0;
    for (size_t i = from, n; i < to; i += n ? n : 1) {
        n = str_letter(bytes, i);
        if (n > to - i)
            break; /* cut at the margin */
        columns++;
        if (out && n == 0)
            buf_char(out, '?');
        else if (out && n == 1 && ((unsigned char)bytes.p[i] < 0x20 || bytes.p[i] == 0x7f))
            buf_char(out, ' ');
        else if (out)
            buf_add(out, bytes.p + i, n);
    }
    return columns;
}

/* The line that holds the place, with a caret under the token; a long line is shown around the caret. */
static void format_line(const struct rt_source *s, struct rt_place at, struct buf *out)
{
    if (at.byte > s->bytes.n)
        return;
    size_t from = at.byte, to = at.byte;
    while (from > 0 && s->bytes.p[from - 1] != '\n' && at.byte - from < SHOWN_BEFORE)
        from--;
    while (to < s->bytes.n && s->bytes.p[to] != '\n' && to - from < SHOWN_COLUMNS)
        to++;
    while (from < at.byte && ((unsigned char)s->bytes.p[from] & 0xc0u) == 0x80u)
        from++; /* do not start inside a character */
    buf_text(out, "    ");
    put_shown(out, s->bytes, from, to);
    buf_text(out, "\n    ");
    buf_fill(out, ' ', put_shown(NULL, s->bytes, from, at.byte));
    const size_t end = at.byte + (at.n ? at.n : 1) < to ? at.byte + (at.n ? at.n : 1) : to;
    const size_t marks = put_shown(NULL, s->bytes, at.byte, end);
    buf_fill(out, '^', marks ? marks : 1);
    buf_char(out, '\n');
}

void rt_problems_format(const struct rt_problems *p, struct buf *out)
{
    for (uint32_t i = 0; i < p->list.n; i++) {
        const struct rt_problem *q = &p->list.v[i];
        if (q->at.file && q->at.line)
            buf_printf(out, "%s:%u:%u: ", q->at.file, (unsigned)q->at.line, (unsigned)q->at.col);
        else if (q->at.file)
            buf_printf(out, "%s: ", q->at.file);
        buf_printf(out, "%s%s\n", q->is_warning ? "take care: " : "", q->msg);
        const struct rt_source *s = source_of(p, q->at.file);
        if (s && q->at.line)
            format_line(s, q->at, out);
        if (q->hint)
            buf_printf(out, "    %s\n", q->hint);
    }
    const uint32_t n = p->n_errors + p->n_warnings;
    if (n > p->list.n)
        buf_printf(out, "and %u more of the kind\n", (unsigned)(n - p->list.n));
    if (p->n_errors > 1)
        buf_printf(out, "%u mistakes\n", (unsigned)p->n_errors);
}

const char *rt_code_name(enum rt_code code)
{
    switch (code) {
#define X(name, http_status) \
    case RT_##name:          \
        return #name;
        RT_CODES(X)
#undef X
    }
    return "?";
}

int rt_code_http_status(enum rt_code code)
{
    switch (code) {
#define X(name, http_status) \
    case RT_##name:          \
        return http_status;
        RT_CODES(X)
#undef X
    }
    return 500;
}

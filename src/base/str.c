#include "base/str.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { DISTANCE_MAX = 63 };

struct str str_from(const char *c_text) { return (struct str){ c_text, c_text ? strlen(c_text) : 0 }; }

bool str_eq(struct str a, struct str b) { return a.n == b.n && (a.n == 0 || memcmp(a.p, b.p, a.n) == 0); }

bool str_is(struct str a, const char *c_text) { return str_eq(a, str_from(c_text)); }

int str_cmp(struct str a, struct str b)
{
    const size_t n = a.n < b.n ? a.n : b.n;
    const int c = n ? memcmp(a.p, b.p, n) : 0;
    if (c)
        return c;
    return a.n < b.n ? -1 : a.n > b.n;
}

struct str str_dup(struct arena *a, struct str s)
{
    char *p = arena_alloc(a, s.n + 1, 1);
    if (!p)
        return (struct str){ 0 };
    if (s.n)
        memcpy(p, s.p, s.n);
    return (struct str){ p, s.n };
}

static unsigned min3(unsigned a, unsigned b, unsigned c)
{
    const unsigned m = a < b ? a : b;
    return m < c ? m : c;
}

unsigned str_distance(struct str a, struct str b)
{
    if (a.n > DISTANCE_MAX || b.n > DISTANCE_MAX)
        return DISTANCE_MAX + 1;
    unsigned row[3][DISTANCE_MAX + 1] = { 0 };
    for (unsigned j = 0; j <= b.n; j++)
        row[0][j] = j;
    for (unsigned i = 1; i <= a.n; i++) {
        unsigned *now = row[i % 3], *above = row[(i + 2) % 3], *above2 = row[(i + 1) % 3];
        now[0] = i;
        for (unsigned j = 1; j <= b.n; j++) {
            const unsigned change = a.p[i - 1] != b.p[j - 1];
            now[j] = min3(above[j] + 1, now[j - 1] + 1, above[j - 1] + change);
            if (i > 1 && j > 1 && a.p[i - 1] == b.p[j - 2] && a.p[i - 2] == b.p[j - 1] && above2[j - 2] + 1 < now[j])
                now[j] = above2[j - 2] + 1;
        }
    }
    return row[a.n % 3][b.n];
}

size_t str_nearest(struct str s, const struct str *candidates, size_t n)
{
    size_t best = n;
    unsigned best_distance = DISTANCE_MAX + 1;
    for (size_t i = 0; i < n; i++) {
        const unsigned d = str_distance(s, candidates[i]);
        if (d < best_distance) {
            best_distance = d;
            best = i;
        }
    }
    /* One slip in three letters still looks like the word that was meant; more does not. */
    const size_t allowed = s.n < 4 ? 1 : s.n / 3;
    return best_distance <= allowed ? best : n;
}

void buf_add(struct buf *b, const char *p, size_t n)
{
    if (b->failed)
        return;
    if (n > SIZE_MAX / 4 - b->n) {
        b->failed = true;
        return;
    }
    if (b->n + n + 1 > b->cap) {
        size_t cap = b->cap ? b->cap : 256;
        while (cap < b->n + n + 1)
            cap *= 2;
        char *bigger = arena_alloc(b->arena, cap, 1);
        if (!bigger) {
            b->failed = true;
            return;
        }
        if (b->n)
            memcpy(bigger, b->p, b->n);
        b->p = bigger;
        b->cap = cap;
    }
    if (n)
        memcpy(b->p + b->n, p, n);
    b->n += n;
    b->p[b->n] = '\0';
}

void buf_str(struct buf *b, struct str s) { buf_add(b, s.p, s.n); }

void buf_text(struct buf *b, const char *c_text) { buf_add(b, c_text, strlen(c_text)); }

void buf_char(struct buf *b, char c) { buf_add(b, &c, 1); }

void buf_fill(struct buf *b, char c, size_t n)
{
    for (size_t i = 0; i < n; i++)
        buf_char(b, c);
}

void buf_printf(struct buf *b, const char *fmt, ...)
{
    char small[512];
    va_list args;
    va_start(args, fmt);
    const int n = vsnprintf(small, sizeof small, fmt, args);
    va_end(args);
    if (n < 0)
        return;
    if ((size_t)n < sizeof small) {
        buf_add(b, small, (size_t)n);
        return;
    }
    va_start(args, fmt);
    const char *text = arena_vprintf(b->arena, fmt, args);
    va_end(args);
    if (text)
        buf_add(b, text, (size_t)n);
    else
        b->failed = true;
}

struct str buf_done(const struct buf *b) { return (struct str){ b->p, b->n }; }

size_t str_columns(struct str s)
{
    size_t columns = 0;
    for (size_t i = 0; i < s.n; i++)
        columns += ((unsigned char)s.p[i] & 0xc0u) != 0x80u;
    return columns;
}

size_t str_letter(struct str s, size_t i)
{
    const unsigned char *p = (const unsigned char *)s.p + i;
    if (i >= s.n)
        return 0;
    if (p[0] < 0x80)
        return 1;
    const size_t n = p[0] >= 0xc2 && p[0] <= 0xdf   ? 2
                     : (p[0] & 0xf0) == 0xe0        ? 3
                     : p[0] >= 0xf0 && p[0] <= 0xf4 ? 4
                                                    : 0;
    if (n == 0 || n > s.n - i)
        return 0;
    for (size_t k = 1; k < n; k++)
        if ((p[k] & 0xc0) != 0x80)
            return 0;
    const bool is_overlong = (p[0] == 0xe0 && p[1] < 0xa0) || (p[0] == 0xf0 && p[1] < 0x90);
    const bool is_surrogate_or_beyond = (p[0] == 0xed && p[1] > 0x9f) || (p[0] == 0xf4 && p[1] > 0x8f);
    return is_overlong || is_surrogate_or_beyond ? 0 : n;
}

/* Bytes of s that fit into `columns`, cut at a blank where there is one. */
static size_t line_length(struct str s, size_t columns)
{
    size_t fit = 0, blank = 0, used = 0;
    while (fit < s.n) {
        const bool starts = ((unsigned char)s.p[fit] & 0xc0u) != 0x80u;
        if (starts && used == columns)
            return blank ? blank : fit;
        if (s.p[fit] == ' ')
            blank = fit;
        used += starts;
        fit++;
    }
    return s.n;
}

struct str str_take_line(struct str *rest, size_t columns)
{
    const size_t n = line_length(*rest, columns);
    const struct str line = { rest->p, n };
    size_t skip = n;
    while (skip < rest->n && rest->p[skip] == ' ')
        skip++;
    *rest = (struct str){ rest->p + skip, rest->n - skip };
    return line;
}

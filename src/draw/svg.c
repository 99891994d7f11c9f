#include "draw/svg.h"

#include <string.h>

#include "base/array.h"

/* Ids that carry a number of the process. */
static const char *const COUNTED[] = { "surface", "image", "source-", "mask-" };

struct ids {
    struct arena *arena;
    VEC(struct str) seen;
};

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

/* Length of a counted id at p, or 0. */
static size_t counted_id(const char *p, const char *end)
{
    for (size_t i = 0; i < RT_COUNT(COUNTED); i++) {
        const size_t n = strlen(COUNTED[i]);
        if ((size_t)(end - p) <= n || memcmp(p, COUNTED[i], n) != 0 || !is_digit(p[n]))
            continue;
        size_t k = n;
        while (p + k < end && is_digit(p[k]))
            k++;
        return k;
    }
    return 0;
}

static bool number_of(struct ids *ids, struct str id, uint32_t *number)
{
    for (uint32_t i = 0; i < ids->seen.n; i++)
        if (str_eq(ids->seen.v[i], id)) {
            *number = i + 1;
            return true;
        }
    *number = ids->seen.n + 1;
    return VEC_PUSH(ids->arena, &ids->seen, id);
}

static void add_escaped(struct buf *b, struct str s)
{
    for (size_t i = 0; i < s.n; i++)
        switch (s.p[i]) {
        case '&':
            buf_text(b, "&amp;");
            break;
        case '<':
            buf_text(b, "&lt;");
            break;
        case '>':
            buf_text(b, "&gt;");
            break;
        default:
            buf_char(b, (unsigned char)s.p[i] < 0x20 ? ' ' : s.p[i]);
        }
}

struct str svg_settle(struct arena *a, struct str svg, struct str title)
{
    struct buf b = { .arena = a };
    struct ids ids = { .arena = a };
    const char *p = svg.p, *end = svg.p + svg.n, *from = p;
    bool titled = false;
    while (p < end) {
        if (!titled && *p == '>' && p - svg.p > 5 && memmem(svg.p, (size_t)(p - svg.p), "<svg", 4)) {
            buf_add(&b, from, (size_t)(p - from));
            buf_text(&b, " role=\"img\">\n<title>");
            add_escaped(&b, title);
            buf_text(&b, "</title>");
            from = ++p;
            titled = true;
            continue;
        }
        const bool opens = *p == '#' || (*p == '"' && p - svg.p > 3 && memcmp(p - 3, "id=", 3) == 0);
        const size_t n = opens ? counted_id(p + 1, end) : 0;
        uint32_t number;
        if (n == 0) {
            p++;
            continue;
        }
        if (!number_of(&ids, (struct str){ p + 1, n }, &number))
            return (struct str){ 0 };
        buf_add(&b, from, (size_t)(p + 1 - from));
        buf_printf(&b, "part%u", (unsigned)number);
        p += 1 + n;
        from = p;
    }
    buf_add(&b, from, (size_t)(p - from));
    return b.failed ? (struct str){ 0 } : buf_done(&b);
}

/* Edits of any file by any path to any value.  The input is text: one edit a line (set|add|remove|rename, a path, a value
 * in which \n stands for a new line), then a line "===", then the file. */
#include <string.h>

#include "fuzz.h"
#include "house/edit.h"
#include "house/edit_int.h"

enum { EDITS_MAX = 6 };

static struct str cut_to(struct str *rest, char end)
{
    const char *at = rest->n ? memchr(rest->p, end, rest->n) : NULL;
    const size_t n = at ? (size_t)(at - rest->p) : rest->n;
    const struct str s = { rest->p, n };
    rest->p += at ? n + 1 : n;
    rest->n -= at ? n + 1 : n;
    return s;
}

static struct str unescape(struct arena *a, struct str s)
{
    struct buf b = { .arena = a };
    buf_text(&b, "");
    for (size_t i = 0; i < s.n; i++) {
        const bool is_break = s.p[i] == '\\' && i + 1 < s.n && s.p[i + 1] == 'n';
        buf_char(&b, is_break ? '\n' : s.p[i]);
        i += is_break;
    }
    return buf_done(&b);
}

static size_t read_edits(struct arena *a, struct str *rest, struct edit *edits)
{
    static const char *const OPS[] = { "set", "add", "remove", "rename" };
    size_t n = 0;
    while (n < EDITS_MAX && rest->n) {
        struct str line = cut_to(rest, '\n');
        if (str_is(line, "==="))
            break;
        const struct str op = cut_to(&line, ' '), path = cut_to(&line, ' ');
        for (size_t i = 0; i < RT_COUNT(OPS); i++)
            if (str_is(op, OPS[i])) {
                edits[n++] = (struct edit){ (enum edit_op)i, path, unescape(a, line) };
                break;
            }
    }
    return n;
}

static void outcome(const struct run *run, struct str bytes, struct buf *out)
{
    struct arena *a = run->arena;
    struct rt_problems p;
    rt_problems_init(&p, a);
    struct edit edits[EDITS_MAX];
    const size_t n = read_edits(a, &bytes, edits);
    struct edit_change change = { 0 };
    rt_problems_source(&p, "h.yaml", bytes);
    const enum rt_code code = edit_apply(a, "h.yaml", bytes, edits, n, &change, &p);
    buf_printf(out, "%s\n", rt_code_name(code));
    rt_problems_format(&p, out);
    fuzz_check((code == RT_OK) == (p.n_errors == 0), "an error has a message, and only an error");
    if (code) {
        fuzz_check(change.bytes.p == NULL, "nothing is given on error");
        return;
    }
    buf_str(out, change.bytes);
    struct str back, forth;
    struct edit_node *tree;
    fuzz_check(!edit_undo(a, "h.yaml", change.bytes, &change, &back, &p) && str_eq(back, bytes), "undo is exact");
    fuzz_check(!edit_redo(a, "h.yaml", back, &change, &forth, &p) && str_eq(forth, change.bytes), "redo is exact");
    if (n)
        fuzz_check(edit_parse(a, "h.yaml", change.bytes, &tree, &p) == RT_OK, "the result can be read");
}

int fuzz_edit(const uint8_t *p, size_t n) { return fuzz_twice(p, n, outcome); }

FUZZ_TARGET(fuzz_edit);

#include "rows.h"

#include <stdlib.h>

#include "base/file.h"

void rows_heading(struct rows *r, const char *heading)
{
    if (!VEC_PUSH(r->arena, &r->list, ((struct row){ .heading = heading })))
        abort();
}

void rows_add(struct rows *r, const char *what, double value, int digits, const char *unit, const char *note)
{
    if (!VEC_PUSH(r->arena, &r->list,
                  ((struct row){ .what = what, .value = value, .digits = digits, .unit = unit, .note = note })))
        abort();
}

void rows_print(const struct rows *r, FILE *out)
{
    for (uint32_t i = 0; i < r->list.n; i++) {
        const struct row *row = &r->list.v[i];
        if (row->heading)
            fprintf(out, "\n%s\n", row->heading);
        else
            fprintf(out, "  %-52s %12.*f %-8s %s\n", row->what, row->digits, row->value, row->unit, row->note);
    }
}

/* One table: the heading at i and the rows to the next one; where that is. */
static uint32_t put_table(const struct rows *r, uint32_t i, struct buf *out)
{
    buf_printf(out, "\n## %s\n\n| what | measured | |\n| --- | ---: | --- |\n", r->list.v[i++].heading);
    for (; i < r->list.n && !r->list.v[i].heading; i++) {
        const struct row *row = &r->list.v[i];
        buf_printf(out, "| %s | %.*f %s | %s |\n", row->what, row->digits, row->value, row->unit, row->note);
    }
    return i;
}

/* Headings are the same up to a bracket: behind it stands what changes. */
static bool is_same_heading(const char *a, const char *b)
{
    const size_t n = strcspn(a, "(\n");
    return n == strcspn(b, "(\n") && memcmp(a, b, n) == 0;
}

/* The tables of the file that were measured again in place of the old ones, the others as they are, then the new ones. */
static void put_tables(const struct rows *r, const char *old, struct buf *out)
{
    static const char head[] = "\n## ";
    bool *done = ARENA_ARRAY(r->arena, bool, r->list.n + 1);
    if (!done)
        abort();
    const char *at = strstr(old, head);
    while (at) {
        const char *next = strstr(at + sizeof head - 1, head);
        uint32_t i = 0;
        while (i < r->list.n && !(r->list.v[i].heading && is_same_heading(r->list.v[i].heading, at + sizeof head - 1)))
            i++;
        if (i < r->list.n) {
            put_table(r, i, out);
            done[i] = true;
        } else {
            buf_add(out, at, next ? (size_t)(next - at) : strlen(at));
        }
        at = next;
    }
    for (uint32_t i = 0; i < r->list.n; i++)
        if (r->list.v[i].heading && !done[i])
            put_table(r, i, out);
}

enum rt_code rows_write(const struct rows *r, const char *path, struct rt_problems *p)
{
    static const char mark[] = "<!-- measured -->\n";
    struct str old;
    RT_TRY(file_read(r->arena, path, (size_t)1 << 20, &old, p));
    const char *text = arena_printf(r->arena, "%.*s", STR_ARG(old)), *at = text ? strstr(text, mark) : NULL;
    if (!at)
        return rt_fail(p, RT_SHAPE, (struct rt_place){ .file = path }, "add the line where the tables shall begin",
                       "the file has no line %.17s", mark);
    struct buf out = { .arena = r->arena };
    buf_printf(&out, "%.*s", (int)(at - text + (long)sizeof mark - 1), text);
    put_tables(r, at + sizeof mark - 2, &out);
    return file_write(path, buf_done(&out), 0644, p);
}

double cpu_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

void rows_must(const struct run *run, enum rt_code code, struct rt_problems *p)
{
    if (code == RT_OK)
        return;
    struct buf text = { .arena = run->arena };
    rt_problems_format(p, &text);
    fprintf(stderr, "%.*s", STR_ARG(buf_done(&text)));
    exit(2);
}

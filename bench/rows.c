#include "rows.h"

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

static void put_tables(const struct rows *r, struct buf *out)
{
    for (uint32_t i = 0; i < r->list.n; i++) {
        const struct row *row = &r->list.v[i];
        if (row->heading)
            buf_printf(out, "\n## %s\n\n| what | measured | |\n| --- | ---: | --- |\n", row->heading);
        else
            buf_printf(out, "| %s | %.*f %s | %s |\n", row->what, row->digits, row->value, row->unit, row->note);
    }
}

enum rt_code rows_write(const struct rows *r, const char *path, struct rt_problems *p)
{
    static const char mark[] = "<!-- measured -->\n";
    struct str old;
    RT_TRY(file_read(r->arena, path, (size_t)1 << 20, &old, p));
    const char *at = strstr(old.p, mark);
    if (!at)
        return rt_fail(p, RT_SHAPE, (struct rt_place){ .file = path }, "add the line where the tables shall begin",
                       "the file has no line %.17s", mark);
    struct buf out = { .arena = r->arena };
    buf_printf(&out, "%.*s", (int)(at - old.p + (long)sizeof mark - 1), old.p);
    put_tables(r, &out);
    return file_write(path, buf_done(&out), 0644, p);
}

double cpu_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

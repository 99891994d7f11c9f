#include "csv.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "check.h"

/* Cuts the next cell off the line; quotes may hold commas. */
static struct str next_cell(const char **at, const char *end)
{
    const char *p = *at;
    struct str cell;
    if (p < end && *p == '"') {
        const char *q = ++p;
        while (q < end && *q != '"')
            q++;
        cell = (struct str){ p, (size_t)(q - p) };
        p = q < end ? q + 1 : q;
        while (p < end && *p != ',')
            p++;
    } else {
        const char *q = p;
        while (q < end && *q != ',')
            q++;
        cell = (struct str){ p, (size_t)(q - p) };
        p = q;
    }
    *at = p < end ? p + 1 : p;
    return cell;
}

struct csv csv_read(struct arena *a, const char *path)
{
    struct rt_problems p;
    rt_problems_init(&p, a);
    struct str bytes;
    if (file_read(a, path, (size_t)64 << 20, &bytes, &p) != RT_OK)
        fail_msg("cannot read %s", path);
    struct csv t = { 0 };
    for (const char *line = bytes.p, *all_end = bytes.p + bytes.n; line < all_end;) {
        const char *end = memchr(line, '\n', (size_t)(all_end - line));
        end = end ? end : all_end;
        const char *next = end < all_end ? end + 1 : end;
        if (end > line && end[-1] == '\r')
            end--;
        if (end > line && *line != '#') {
            struct str *cells = ARENA_ARRAY(a, struct str, CSV_COLUMNS_MAX);
            uint32_t n = 0;
            for (const char *at = line; n < CSV_COLUMNS_MAX && at <= end;) {
                const bool last = at == end;
                cells[n++] = next_cell(&at, end);
                if (last || (at == end && end[-1] != ','))
                    break;
            }
            if (t.n_columns == 0) {
                memcpy(t.columns, cells, sizeof t.columns);
                t.n_columns = n;
            } else if (!VEC_PUSH(a, &t.rows, cells)) {
                fail_msg("no memory for %s", path);
            }
        }
        line = next;
    }
    return t;
}

struct str csv_cell(const struct csv *t, uint32_t row, const char *column)
{
    for (uint32_t i = 0; i < t->n_columns; i++)
        if (str_is(t->columns[i], column))
            return t->rows.v[row][i];
    fail_msg("no column %s", column);
    return (struct str){ 0 };
}

double csv_num(const struct csv *t, uint32_t row, const char *column)
{
    const struct str s = csv_cell(t, row, column);
    char text[64];
    if (s.n == 0 || s.n >= sizeof text)
        return (double)NAN;
    memcpy(text, s.p, s.n);
    text[s.n] = '\0';
    char *end;
    const double v = strtod(text, &end);
    return end == text || *end ? (double)NAN : v;
}

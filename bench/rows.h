/* rows.h - the benchmarks' figures: a table on standard output, and in docs/speed.md below a mark. */
#ifndef RT_BENCH_ROWS_H
#define RT_BENCH_ROWS_H

#include "base/array.h"
#include "base/problem.h"
#include "base/run.h"

struct row {
    const char *what, *unit, *note;
    double value;
    int digits;
    const char *heading; /* starts a new table, or NULL */
};

struct rows {
    struct arena *arena;
    VEC(struct row) list;
};

void rows_heading(struct rows *r, const char *heading);
void rows_add(struct rows *r, const char *what, double value, int digits, const char *unit, const char *note);

/* For people: aligned columns. */
void rows_print(const struct rows *r, FILE *out);
/* Below the line "<!-- measured -->" of a Markdown file, puts the tables in place of those with the same heading (up to a
 * bracket), and new ones at the end; others stay.  Errors: as file_read, file_write;
 * RT_SHAPE when the file has no such line. */
RT_MUST_CHECK enum rt_code rows_write(const struct rows *r, const char *path, struct rt_problems *p);

/* Prints the problems and ends the program unless the code is RT_OK: a benchmark has nobody to tell. */
void rows_must(const struct run *run, enum rt_code code, struct rt_problems *p);

/* Processor time of this process so far, in seconds. */
double cpu_s(void);

#endif

/* csv.h - reads the reference tables: '#' lines are notes, the first other line names the columns. */
#ifndef RT_TEST_CSV_H
#define RT_TEST_CSV_H

#include "base/problem.h"

enum { CSV_COLUMNS_MAX = 40 };

struct csv {
    struct str columns[CSV_COLUMNS_MAX];
    uint32_t n_columns;
    VEC(struct str *) rows; /* each with n_columns cells; missing cells are empty */
};

/* Fails the test if the file cannot be read. */
struct csv csv_read(struct arena *a, const char *path);
/* The cell under a column name; fails the test on an unknown name. */
struct str csv_cell(const struct csv *t, uint32_t row, const char *column);
/* As a number; NaN for an empty or wordy cell. */
double csv_num(const struct csv *t, uint32_t row, const char *column);

#endif

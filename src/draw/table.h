/* table.h - tables on a sheet: cells broken to their columns, a line under each row, as many rows as a page holds. */
#ifndef RT_DRAW_TABLE_H
#define RT_DRAW_TABLE_H

#include "draw/sheet.h"

struct table_column {
    const char *head;
    double w_mm; /* the space to the next column included */
    bool is_bold;
};

struct sheet_table {
    const struct table_column *columns;
    uint32_t n_columns;
    double x_mm;
    double pad_mm; /* above and below each row */
};

/* Cells of one row, as the columns; a line feed begins a new line. */
typedef LIST(struct str) table_row;

double table_width_mm(const struct sheet_table *t);
double table_head_mm(struct sheet *s);
double table_row_mm(struct sheet *s, const struct sheet_table *t, const table_row *row);
/* Draw from *y_mm downwards, and move it on. */
void table_draw_head(struct sheet *s, const struct sheet_table *t, double *y_mm);
void table_draw_row(struct sheet *s, const struct sheet_table *t, const table_row *row, double *y_mm);

#endif

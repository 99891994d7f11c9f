#include "draw/table.h"

#include "draw/sheet_text.h"

#define APART_MM 2.0 /* left free at the end of a column */
#define HEAD_PAD_MM 0.9

static enum text_style style_of(const struct sheet_table *t, uint32_t column)
{
    return t->columns[column].is_bold ? TEXT_CELL_B : TEXT_CELL;
}

static struct text_block lines_of(struct sheet *s, const struct sheet_table *t, uint32_t column, struct str cell)
{
    struct text_block lines = { .s = s, .w_mm = t->columns[column].w_mm - APART_MM };
    for (size_t from = 0; from < cell.n;) {
        size_t end = from;
        while (end < cell.n && cell.p[end] != '\n')
            end++;
        text_block_add(&lines, style_of(t, column), INK_LINE, (struct str){ cell.p + from, end - from });
        from = end + 1;
    }
    return lines;
}

static double line_mm(struct sheet *s) { return pen_measure(&s->pen, TEXT_CELL, STR("x")).h_mm; }

double table_width_mm(const struct sheet_table *t)
{
    double w_mm = 0.0;
    for (uint32_t i = 0; i < t->n_columns; i++)
        w_mm += t->columns[i].w_mm;
    return w_mm;
}

double table_head_mm(struct sheet *s) { return pen_measure(&s->pen, TEXT_KEY, STR("x")).h_mm + 2.0 * HEAD_PAD_MM; }

double table_row_mm(struct sheet *s, const struct sheet_table *t, const table_row *row)
{
    uint32_t most = 1;
    for (uint32_t i = 0; i < t->n_columns; i++) {
        const struct text_block cell = lines_of(s, t, i, row->v[i]);
        most = cell.lines.n > most ? cell.lines.n : most;
    }
    return most * line_mm(s) + 2.0 * t->pad_mm;
}

static void rule(struct sheet *s, const struct sheet_table *t, double y_mm, enum ink ink, double width_mm)
{
    pen_ink(&s->pen, ink);
    pen_line(&s->pen, (struct vec2){ t->x_mm, y_mm }, (struct vec2){ t->x_mm + table_width_mm(t), y_mm }, width_mm);
}

void table_draw_head(struct sheet *s, const struct sheet_table *t, double *y_mm)
{
    double x_mm = t->x_mm;
    for (uint32_t i = 0; i < t->n_columns; i++) {
        pen_text(&s->pen, TEXT_KEY, str_from(t->columns[i].head), x_mm, *y_mm + HEAD_PAD_MM);
        x_mm += t->columns[i].w_mm;
    }
    *y_mm += table_head_mm(s);
    rule(s, t, *y_mm, INK_LINE, 0.3);
}

void table_draw_row(struct sheet *s, const struct sheet_table *t, const table_row *row, double *y_mm)
{
    const double high_mm = table_row_mm(s, t, row);
    double x_mm = t->x_mm;
    for (uint32_t i = 0; i < t->n_columns; i++) {
        const struct text_block cell = lines_of(s, t, i, row->v[i]);
        text_block_put(&cell, x_mm, *y_mm + t->pad_mm);
        x_mm += t->columns[i].w_mm;
    }
    *y_mm += high_mm;
    rule(s, t, *y_mm, INK_HAIR, 0.15);
}

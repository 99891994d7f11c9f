/* Tables of the flow: how wide their columns are, how tall a row is, and how it is painted. */
#include <math.h>

#include "book/flow_int.h"

static const double ROW_PAD_MM = 0.75, CELL_MARK_MM = 4.5, BOX_MM = 3.2, APART_MM = 3.0, WRITE_MM = 4.3, CONT_MM = 4.6;
static const double WORD_MOST_MM = 45.0; /* longer words do not widen their column */
static const double MARK_LEAST_MM = 8.0; /* of a column that holds nothing but marks or lines to write on */

static enum text_style cell_style(const struct block *b, const struct flow_cell *c)
{
    return c->is_strong || b->kind == BLOCK_SUM ? TEXT_PAGE_CELL_B : TEXT_PAGE_CELL;
}

/* What a mark takes beside the words. */
static double aside_mm(const struct flow_cell *c) { return c->mark && c->text.n ? CELL_MARK_MM : 0.0; }

/* ---- columns ---- */

struct need {
    double line_mm, word_mm; /* widest of its cells */
};

static struct need column_need(const struct flow *f, const struct pen *pen, const struct flow_grid *g, uint32_t c)
{
    struct need need = { 0.0, 0.0 };
    if (g->columns[c].head)
        pen_paragraph_widths(pen, TEXT_PAGE_COLUMN, str_from(g->columns[c].head), &need.line_mm, &need.word_mm);
    for (uint32_t i = g->first; i < g->end; i++) {
        const struct block *b = &f->blocks.v[i];
        if (!b->cells)
            continue;
        const struct flow_cell *cell = &b->cells[c];
        double line = 0.0, word = 0.0;
        pen_paragraph_widths(pen, cell_style(b, cell), cell->text, &line, &word);
        const double aside = aside_mm(cell);
        if (cell->mark && !cell->text.n)
            line = word = cell->mark == FLOW_WRITE ? MARK_LEAST_MM : BOX_MM;
        need.line_mm = fmax(need.line_mm, line + aside);
        need.word_mm = fmax(need.word_mm, word + aside);
    }
    need.line_mm += 0.1; /* a line just as wide as its column may break by rounding */
    need.word_mm = fmin(need.word_mm + 0.1, WORD_MOST_MM);
    return need;
}

/* First each column gets its longest word; those without a share then what is wanting to their longest line, as far as it goes;
 * what is left goes to those with a share until each has its share, or to nobody. */
static void part_width(struct flow_grid *g, const struct need *need, double width_mm)
{
    double least = 0.0, wanted = 0.0, shares = 0.0;
    for (uint32_t c = 0; c < g->n; c++) {
        least += need[c].word_mm;
        shares += g->columns[c].share > 0.0 ? g->columns[c].share : 0.0;
        wanted += g->columns[c].share > 0.0 ? 0.0 : need[c].line_mm - fmin(need[c].word_mm, need[c].line_mm);
    }
    if (least >= width_mm) { /* words will have to break: nobody has more than his part */
        for (uint32_t c = 0; c < g->n; c++)
            g->w_mm[c] = width_mm * need[c].word_mm / least;
        return;
    }
    /* columns with shares keep at least half of what their shares are of the whole */
    const double spare = width_mm - least, kept = shares > 0.0 ? 0.35 * spare : 0.0;
    const double given = wanted > 0.0 ? fmin(1.0, (spare - kept) / wanted) : 0.0;
    double left = width_mm;
    for (uint32_t c = 0; c < g->n; c++)
        if (g->columns[c].share <= 0.0) {
            const double word = fmin(need[c].word_mm, need[c].line_mm);
            g->w_mm[c] = word + given * (need[c].line_mm - word);
            left -= g->w_mm[c];
        }
    /* shares of what is left, but for columns whose longest word is wider than that */
    bool is_settled = false;
    for (uint32_t c = 0; c < g->n; c++)
        if (g->columns[c].share > 0.0)
            g->w_mm[c] = -1.0;
    while (!is_settled) {
        is_settled = true;
        for (uint32_t c = 0; c < g->n; c++)
            if (g->w_mm[c] < 0.0 && left * g->columns[c].share / shares < need[c].word_mm) {
                g->w_mm[c] = need[c].word_mm;
                left -= need[c].word_mm;
                shares -= g->columns[c].share;
                is_settled = false;
            }
    }
    for (uint32_t c = 0; c < g->n; c++)
        if (g->w_mm[c] < 0.0)
            g->w_mm[c] = left * g->columns[c].share / shares;
}

void flow_grid_lay_out(struct flow *f, const struct pen *pen, struct flow_grid *g)
{
    struct need *need = ARENA_ARRAY(f->arena, struct need, g->n);
    if (!need) {
        f->failed = true;
        return;
    }
    for (uint32_t c = 0; c < g->n; c++)
        need[c] = column_need(f, pen, g, c);
    part_width(g, need, flow_width_mm(f) - APART_MM * (g->n - 1));
    double x = 0.0, tall = 0.0;
    for (uint32_t c = 0; c < g->n; c++) {
        g->x_mm[c] = x;
        x += g->w_mm[c] + APART_MM;
        if (g->columns[c].head)
            tall = fmax(tall, pen_paragraph_mm(pen, TEXT_PAGE_COLUMN, str_from(g->columns[c].head), g->w_mm[c]));
    }
    g->head_mm = g->has_head ? tall + 2.0 : 0.0;
    g->is_laid_out = true;
}

/* ---- heads ---- */

double flow_head_mm(const struct pen *pen, const struct block *b)
{
    (void)pen;
    return (b->is_continued ? CONT_MM : 0.0) + (b->draws_head ? b->grid->head_mm : 0.0);
}

static enum pen_align pen_align_of(enum flow_align a)
{
    return a == FLOW_RIGHT ? PEN_RIGHT : a == FLOW_MIDDLE ? PEN_MIDDLE : PEN_LEFT;
}

void flow_head_paint(struct flow *f, struct pen *pen, const struct block *b)
{
    const struct flow_grid *g = b->grid;
    double top = 0.0;
    if (b->is_continued) {
        pen_text_ended(pen, TEXT_PAGE_COLUMN, INK_SOFT, PEN_LEFT,
                       flow_words(f, "%.*s%s\u2026 continued", STR_ARG(b->group), b->group.n ? " " : ""), 0.0, 0.0,
                       flow_width_mm(f));
        top = CONT_MM;
    }
    if (!b->draws_head)
        return;
    cairo_tag_begin(pen->cr, "TR", NULL);
    for (uint32_t c = 0; c < g->n; c++) {
        if (!g->columns[c].head)
            continue;
        const struct str head = str_from(g->columns[c].head);
        const double own = pen_paragraph_mm(pen, TEXT_PAGE_COLUMN, head, g->w_mm[c]);
        cairo_tag_begin(pen->cr, "TH", NULL);
        pen_paragraph(pen, TEXT_PAGE_COLUMN, INK_SOFT, pen_align_of(g->columns[c].align), head, g->x_mm[c],
                      top + g->head_mm - 1.2 - own, g->w_mm[c]);
        cairo_tag_end(pen->cr, "TH");
    }
    cairo_tag_end(pen->cr, "TR");
    flow_rule(f, pen, top + g->head_mm, INK_LINE, 0.25);
}

/* ---- rows ---- */

static double cell_w_mm(const struct flow_grid *g, uint32_t c, const struct flow_cell *cell)
{
    return fmax(g->w_mm[c] - aside_mm(cell), 1.0);
}

double flow_row_mm(const struct pen *pen, const struct block *b)
{
    const struct flow_grid *g = b->grid;
    double tall = pen_measure(pen, TEXT_PAGE_CELL, STR("x")).h_mm;
    for (uint32_t c = 0; c < g->n; c++) {
        const struct flow_cell *cell = &b->cells[c];
        if (cell->mark == FLOW_WRITE)
            tall = fmax(tall, WRITE_MM);
        tall = fmax(tall, pen_paragraph_mm(pen, cell_style(b, cell), cell->text, cell_w_mm(g, c, cell)));
    }
    return tall + 2.0 * ROW_PAD_MM;
}

void flow_row_paint(struct flow *f, struct pen *pen, const struct block *b)
{
    const struct flow_grid *g = b->grid;
    const double line_mm = pen_measure(pen, TEXT_PAGE_CELL, STR("x")).h_mm;
    if (b->kind == BLOCK_SUM && !b->is_rest)
        flow_rule(f, pen, 0.0, INK_LINE, 0.25);
    cairo_tag_begin(pen->cr, "TR", NULL);
    for (uint32_t c = 0; c < g->n; c++) {
        const struct flow_cell *cell = &b->cells[c];
        const double aside = aside_mm(cell);
        const enum ink ink = cell->is_accent ? INK_ACCENT : cell->is_soft ? INK_SOFT : INK_LINE;
        cairo_tag_begin(pen->cr, "TD", NULL);
        if (cell->mark)
            flow_mark_paint(pen, cell->mark, (struct vec2){ g->x_mm[c] + BOX_MM / 2.0, ROW_PAD_MM + line_mm / 2.0 },
                            g->w_mm[c]);
        flow_link_begin(pen, cell->to);
        pen_paragraph(pen, cell_style(b, cell), ink, pen_align_of(g->columns[c].align), cell->text, g->x_mm[c] + aside,
                      ROW_PAD_MM, cell_w_mm(g, c, cell));
        flow_link_end(pen, cell->to);
        cairo_tag_end(pen->cr, "TD");
    }
    cairo_tag_end(pen->cr, "TR");
    if (b->kind == BLOCK_ROW && !b->goes_on)
        flow_rule(f, pen, b->content_mm, INK_HAIR, 0.15);
}

bool flow_row_split(struct flow *f, const struct pen *pen, struct block *b, double room_mm, struct block *rest)
{
    const struct flow_grid *g = b->grid;
    struct flow_cell *first = ARENA_ARRAY(f->arena, struct flow_cell, g->n),
                     *other = ARENA_ARRAY(f->arena, struct flow_cell, g->n);
    if (!first || !other) {
        f->failed = true;
        return false;
    }
    bool takes = false;
    for (uint32_t c = 0; c < g->n; c++) {
        const struct flow_cell *cell = &b->cells[c];
        const size_t n = pen_paragraph_fit(pen, cell_style(b, cell), cell->text, cell_w_mm(g, c, cell),
                                           room_mm - 2.0 * ROW_PAD_MM - 0.01);
        takes |= n > 0;
        first[c] = other[c] = *cell;
        other[c].mark = FLOW_NO_MARK;
        first[c].text = flow_take(&other[c].text, n);
        if (!other[c].text.n && cell->mark)
            first[c].text = cell->text;
    }
    *rest = *b;
    b->cells = first;
    rest->cells = other;
    return takes;
}

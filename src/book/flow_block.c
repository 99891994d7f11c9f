/* How tall a block is, and how it is painted. */
#include <math.h>

#include "book/flow_int.h"
#include "draw/sheet.h"

static const double ITEM_MM = 5.0, MARK_MM = 7.0, FIGURE_MM = 32.0, BOX_MM = 3.2, FRAME_MM = 3.5, ROW_PAD_MM = 1.15,
                    SIGN_MM = 13.0, CELL_MARK_MM = 4.5;

bool flow_block_leads(const struct block *b)
{
    return b->kind == BLOCK_CHAPTER || b->kind == BLOCK_SECTION || b->kind == BLOCK_HEADING || b->kind == BLOCK_GROUP;
}

/* ---- tables ---- */

static enum text_style cell_style(const struct block *b, const struct flow_cell *c)
{
    return c->is_strong || b->kind == BLOCK_SUM ? TEXT_PAGE_CELL_B : TEXT_PAGE_CELL;
}

static double head_mm(const struct pen *pen, const struct flow_grid *g)
{
    double tall = 0.0;
    for (uint32_t c = 0; c < g->n; c++)
        if (g->columns[c].head)
            tall = fmax(tall, pen_paragraph_mm(pen, TEXT_PAGE_COLUMN, str_from(g->columns[c].head), g->w_mm[c]));
    return tall + 2.0;
}

static double row_mm(const struct pen *pen, const struct block *b)
{
    const struct flow_grid *g = b->grid;
    double tall = pen_measure(pen, TEXT_PAGE_CELL, STR("x")).h_mm;
    for (uint32_t c = 0; c < g->n; c++) {
        const double w = g->w_mm[c] - (b->cells[c].mark ? CELL_MARK_MM : 0.0);
        if (b->cells[c].mark == FLOW_WRITE)
            tall = fmax(tall, 6.0);
        tall = fmax(tall, pen_paragraph_mm(pen, cell_style(b, &b->cells[c]), b->cells[c].text, fmax(w, 1.0)));
    }
    return tall + 2.0 * ROW_PAD_MM;
}

static enum pen_align pen_align_of(enum flow_align a)
{
    return a == FLOW_RIGHT ? PEN_RIGHT : a == FLOW_MIDDLE ? PEN_MIDDLE : PEN_LEFT;
}

static void rule(struct flow *f, struct pen *pen, double y_mm, enum ink ink, double width_mm)
{
    pen_ink(pen, ink);
    pen_line(pen, (struct vec2){ 0.0, y_mm }, (struct vec2){ flow_width_mm(f), y_mm }, width_mm);
}

static void paint_mark(struct pen *pen, enum flow_mark mark, struct vec2 at, double w_mm)
{
    switch (mark) {
    case FLOW_KEPT:
        sheet_draw_state(pen, DRAW_KEPT, INK_LINE, at, 1.1);
        break;
    case FLOW_BROKEN:
        sheet_draw_state(pen, DRAW_BROKEN, INK_ACCENT, at, 1.4);
        break;
    case FLOW_UNKNOWN:
        sheet_draw_state(pen, DRAW_UNKNOWN, INK_LINE, at, 1.4);
        break;
    case FLOW_TICK:
        pen_ink(pen, INK_LINE);
        cairo_set_line_width(pen->cr, 0.25);
        pen_path_box(pen, (struct draw_box){ at.x - BOX_MM / 2.0, at.y - BOX_MM / 2.0, BOX_MM, BOX_MM });
        cairo_stroke(pen->cr);
        break;
    case FLOW_WRITE:
        pen_ink(pen, INK_SOFT);
        pen_line(pen, (struct vec2){ at.x - BOX_MM / 2.0, at.y + 2.4 },
                 (struct vec2){ at.x - BOX_MM / 2.0 + w_mm, at.y + 2.4 }, 0.2);
        break;
    default:
        break;
    }
}

static void link_begin(struct pen *pen, const char *to)
{
    char attributes[120];
    if (!to)
        return;
    snprintf(attributes, sizeof attributes, "dest='%s'", to);
    cairo_tag_begin(pen->cr, CAIRO_TAG_LINK, attributes);
}

static void link_end(struct pen *pen, const char *to)
{
    if (to)
        cairo_tag_end(pen->cr, CAIRO_TAG_LINK);
}

static void paint_head(struct flow *f, struct pen *pen, const struct flow_grid *g)
{
    const double tall = head_mm(pen, g);
    for (uint32_t c = 0; c < g->n; c++)
        if (g->columns[c].head) {
            const struct str head = str_from(g->columns[c].head);
            const double own = pen_paragraph_mm(pen, TEXT_PAGE_COLUMN, head, g->w_mm[c]);
            pen_paragraph(pen, TEXT_PAGE_COLUMN, INK_SOFT, pen_align_of(g->columns[c].align), head, g->x_mm[c],
                          tall - 1.2 - own, g->w_mm[c]);
        }
    rule(f, pen, tall, INK_LINE, 0.25);
}

static void paint_row(struct flow *f, struct pen *pen, const struct block *b)
{
    const struct flow_grid *g = b->grid;
    const double line_mm = pen_measure(pen, TEXT_PAGE_CELL, STR("x")).h_mm;
    if (b->kind == BLOCK_SUM)
        rule(f, pen, 0.0, INK_LINE, 0.25);
    for (uint32_t c = 0; c < g->n; c++) {
        const struct flow_cell *cell = &b->cells[c];
        const double aside = cell->mark && cell->text.n ? CELL_MARK_MM : 0.0;
        const enum ink ink = cell->is_accent ? INK_ACCENT : cell->is_soft ? INK_SOFT : INK_LINE;
        paint_mark(pen, cell->mark, (struct vec2){ g->x_mm[c] + BOX_MM / 2.0, ROW_PAD_MM + line_mm / 2.0 }, g->w_mm[c]);
        link_begin(pen, cell->to);
        pen_paragraph(pen, cell_style(b, cell), ink, pen_align_of(g->columns[c].align), cell->text, g->x_mm[c] + aside,
                      ROW_PAD_MM, g->w_mm[c] - aside);
        link_end(pen, cell->to);
    }
    if (b->kind == BLOCK_ROW)
        rule(f, pen, row_mm(pen, b), INK_HAIR, 0.15);
}

/* ---- all kinds ---- */

static enum text_style style_of(enum block_kind kind)
{
    switch (kind) {
    case BLOCK_CHAPTER:
        return TEXT_PAGE_TITLE;
    case BLOCK_SECTION:
        return TEXT_PAGE_SECTION;
    case BLOCK_HEADING:
    case BLOCK_CAUTION:
        return TEXT_PAGE_HEADING;
    case BLOCK_GROUP:
    case BLOCK_TICK:
    case BLOCK_PROMISE:
        return TEXT_PAGE_B;
    case BLOCK_SOFT:
        return TEXT_PAGE_SOFT;
    default:
        return TEXT_PAGE;
    }
}

struct block_room {
    double above, below, left, right;
};

/* Of the text, millimetres. */
static struct block_room room_of(const struct block *b)
{
    switch (b->kind) {
    case BLOCK_CHAPTER:
        return (struct block_room){ 0.0, 6.0, 0.0, 0.0 };
    case BLOCK_SECTION:
        return (struct block_room){ 7.0, 2.0, 0.0, 0.0 };
    case BLOCK_HEADING:
        return (struct block_room){ 4.0, 1.2, 0.0, 0.0 };
    case BLOCK_GROUP:
        return (struct block_room){ 3.0, 1.0, 0.0, 0.0 };
    case BLOCK_ITEM:
        return (struct block_room){ 0.0, 1.2, ITEM_MM, 0.0 };
    case BLOCK_CAUTION:
        return (struct block_room){ FRAME_MM + 1.0, FRAME_MM + 2.0, FRAME_MM, FRAME_MM };
    case BLOCK_PROMISE:
        return (struct block_room){ 1.5, 1.6, MARK_MM, b->figure.n ? FIGURE_MM : 0.0 };
    case BLOCK_TICK:
        return (struct block_room){ 1.5, 1.6, MARK_MM, 0.0 };
    default:
        return (struct block_room){ 0.0, 2.0, 0.0, 0.0 };
    }
}

static bool is_table(const struct block *b) { return b->cells != NULL; }

static double text_mm(struct flow *f, const struct pen *pen, const struct block *b)
{
    const struct block_room r = room_of(b);
    return pen_paragraph_mm(pen, style_of(b->kind), b->text, flow_width_mm(f) - r.left - r.right);
}

static double more_mm(struct flow *f, const struct pen *pen, const struct block *b)
{
    const struct block_room r = room_of(b);
    const enum text_style style = b->kind == BLOCK_CAUTION ? TEXT_PAGE : TEXT_PAGE_SOFT;
    return b->more.n ? 0.8 + pen_paragraph_mm(pen, style, b->more, flow_width_mm(f) - r.left - r.right) : 0.0;
}

double flow_block_mm(struct flow *f, const struct pen *pen, struct block *b)
{
    const struct block_room r = room_of(b);
    const double above = b->draws_head ? head_mm(pen, b->grid) : 0.0;
    if (is_table(b))
        return above + row_mm(pen, b) + (b->grid->end && b == &f->blocks.v[b->grid->end - 1] ? 4.0 : 0.0);
    switch (b->kind) {
    case BLOCK_SPACE:
        return b->h_mm;
    case BLOCK_FIGURE:
        return b->h_mm + more_mm(f, pen, b) + 4.0;
    case BLOCK_WRITE:
        return SIGN_MM + 5.0;
    default:
        return above + r.above + text_mm(f, pen, b) + more_mm(f, pen, b) + r.below;
    }
}

static void paint_words(struct flow *f, struct pen *pen, const struct block *b)
{
    const struct block_room r = room_of(b);
    const double w = flow_width_mm(f) - r.left - r.right, text = text_mm(f, pen, b);
    const enum ink ink = b->mark == FLOW_BROKEN ? INK_ACCENT : text_look(style_of(b->kind))->ink;
    const double line_mm = pen_measure(pen, style_of(b->kind), STR("x")).h_mm;
    link_begin(pen, b->to);
    pen_paragraph(pen, style_of(b->kind), ink, PEN_LEFT, b->text, r.left, r.above, w);
    link_end(pen, b->to);
    if (b->more.n)
        pen_paragraph(pen, b->kind == BLOCK_CAUTION ? TEXT_PAGE : TEXT_PAGE_SOFT,
                      b->kind == BLOCK_CAUTION ? INK_LINE : INK_SOFT, PEN_LEFT, b->more, r.left, r.above + text + 0.8,
                      w);
    if (b->figure.n)
        pen_paragraph(pen, TEXT_PAGE_B, ink, PEN_RIGHT, b->figure, flow_width_mm(f) - FIGURE_MM, r.above, FIGURE_MM);
    if (b->mark)
        paint_mark(pen, b->mark, (struct vec2){ 2.0, r.above + line_mm / 2.0 }, 0.0);
    if (b->kind == BLOCK_ITEM)
        pen_text(pen, TEXT_PAGE, STR("–"), 0.6, r.above);
    if (b->kind == BLOCK_PROMISE || b->kind == BLOCK_TICK)
        rule(f, pen, b->tall_mm, INK_HAIR, 0.15);
    if (b->kind == BLOCK_CAUTION) {
        pen_ink(pen, INK_LINE);
        cairo_set_line_width(pen->cr, 0.4);
        pen_path_box(pen, (struct draw_box){ 0.2, 1.0, flow_width_mm(f) - 0.4, b->tall_mm - 3.0 });
        cairo_stroke(pen->cr);
    }
}

static void paint_write(struct flow *f, struct pen *pen, const struct block *b)
{
    const double apart = 6.0, w = (flow_width_mm(f) - apart * (b->n_names - 1)) / b->n_names;
    for (uint32_t i = 0; i < b->n_names; i++) {
        const double x = i * (w + apart);
        pen_ink(pen, INK_LINE);
        pen_line(pen, (struct vec2){ x, SIGN_MM - 1.0 }, (struct vec2){ x + w, SIGN_MM - 1.0 }, 0.2);
        pen_text(pen, TEXT_PAGE_COLUMN, str_from(b->names[i]), x, SIGN_MM);
    }
}

void flow_block_paint(struct flow *f, struct pen *pen, const struct block *b)
{
    if (b->draws_head) {
        paint_head(f, pen, b->grid);
        cairo_translate(pen->cr, 0.0, head_mm(pen, b->grid));
    }
    if (is_table(b)) {
        paint_row(f, pen, b);
        return;
    }
    switch (b->kind) {
    case BLOCK_SPACE:
        break;
    case BLOCK_FIGURE:
        cairo_save(pen->cr);
        b->paint(pen, flow_width_mm(f), b->h_mm, b->user);
        cairo_restore(pen->cr);
        pen_paragraph(pen, TEXT_PAGE_SOFT, INK_SOFT, PEN_LEFT, b->more, 0.0, b->h_mm + 0.8, flow_width_mm(f));
        break;
    case BLOCK_WRITE:
        paint_write(f, pen, b);
        break;
    default:
        paint_words(f, pen, b);
    }
}

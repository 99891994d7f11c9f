/* How tall a block is, and how it is painted. */
#include <math.h>

#include "book/flow_int.h"
#include "draw/sheet.h"

static const double ITEM_MM = 5.0, MARK_MM = 7.0, FIGURE_MM = 32.0, BOX_MM = 3.2, FRAME_MM = 3.5, SIGN_MM = 12.0,
                    MORE_MM = 0.8, PICTURE_END_MM = 4.0, PICTURE_LEAST_MM = 60.0, GRID_END_MM = 2.9,
                    UNDER_RULE_MM = 0.7;

bool flow_block_leads(const struct block *b)
{
    return b->kind == BLOCK_CHAPTER || b->kind == BLOCK_SECTION || b->kind == BLOCK_HEADING || b->kind == BLOCK_GROUP;
}

void flow_rule(struct flow *f, struct pen *pen, double y_mm, enum ink ink, double width_mm)
{
    pen_ink(pen, ink);
    pen_line(pen, (struct vec2){ 0.0, y_mm }, (struct vec2){ flow_width_mm(f), y_mm }, width_mm);
}

void flow_mark_paint(struct pen *pen, enum flow_mark mark, struct vec2 at, double w_mm)
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

void flow_link_begin(struct pen *pen, const char *to)
{
    if (to)
        cairo_tag_begin(pen->cr, CAIRO_TAG_LINK, to);
}

void flow_link_end(struct pen *pen, const char *to)
{
    if (to)
        cairo_tag_end(pen->cr, CAIRO_TAG_LINK);
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
        return (struct block_room){ 0.0, 3.2, 0.0, 0.0 };
    case BLOCK_SECTION:
        return (struct block_room){ 4.4, 1.6, 0.0, 0.0 };
    case BLOCK_HEADING:
        return (struct block_room){ 3.0, 1.2, 0.0, 0.0 };
    case BLOCK_GROUP:
        return (struct block_room){ 2.4, 1.0, 0.0, 0.0 };
    case BLOCK_ITEM:
        return (struct block_room){ 0.0, 1.2, ITEM_MM, 0.0 };
    case BLOCK_CAUTION:
        return (struct block_room){ FRAME_MM + 1.0, FRAME_MM + 2.0, FRAME_MM, FRAME_MM };
    case BLOCK_PROMISE:
        return (struct block_room){ 1.5, 1.6, MARK_MM, b->figure.n ? FIGURE_MM : 0.0 };
    case BLOCK_TICK:
        return (struct block_room){ 1.5, 1.6, MARK_MM, 0.0 };
    default: /* off the line above it, without taking more of the page */
        return b->is_under_rule ? (struct block_room){ UNDER_RULE_MM, 2.0 - UNDER_RULE_MM, 0.0, 0.0 }
                                : (struct block_room){ 0.0, 2.0, 0.0, 0.0 };
    }
}

static bool is_row(const struct block *b) { return b->cells != NULL; }

/* A heading at the top of a page needs no room above it. */
static double above_mm(const struct block *b)
{
    const bool is_head = b->kind == BLOCK_SECTION || b->kind == BLOCK_HEADING;
    return b->is_top && is_head ? 0.0 : room_of(b).above;
}

static double text_w_mm(const struct flow *f, const struct block *b)
{
    const struct block_room r = room_of(b);
    return flow_width_mm(f) - r.left - r.right;
}

static double text_mm(const struct flow *f, const struct pen *pen, const struct block *b)
{
    return pen_paragraph_mm(pen, style_of(b->kind), b->text, text_w_mm(f, b));
}

static enum text_style more_style(const struct block *b)
{
    return b->kind == BLOCK_CAUTION ? TEXT_PAGE : TEXT_PAGE_SOFT;
}

static double more_mm(const struct flow *f, const struct pen *pen, const struct block *b)
{
    return b->more.n ? MORE_MM + pen_paragraph_mm(pen, more_style(b), b->more, text_w_mm(f, b)) : 0.0;
}

/* Without what stands above it. */
static double content_mm(struct flow *f, const struct pen *pen, const struct block *b)
{
    if (is_row(b))
        return flow_row_mm(pen, b);
    switch (b->kind) {
    case BLOCK_SPACE:
        return b->h_mm;
    case BLOCK_FIGURE:
        return b->h_mm + more_mm(f, pen, b) + PICTURE_END_MM;
    case BLOCK_WRITE:
        return SIGN_MM + 5.0;
    default:
        return fmax(text_mm(f, pen, b) + more_mm(f, pen, b), pen_paragraph_mm(pen, TEXT_PAGE_B, b->figure, FIGURE_MM)) +
               room_of(b).below;
    }
}

double flow_block_mm(struct flow *f, const struct pen *pen, struct block *b)
{
    if (b->content_mm <= 0.0)
        b->content_mm = content_mm(f, pen, b);
    return (b->grid ? flow_head_mm(pen, b) : 0.0) + (is_row(b) ? 0.0 : above_mm(b)) + b->content_mm +
           (b->ends_grid ? GRID_END_MM : 0.0);
}

/* ---- what no page holds ---- */

struct str flow_take(struct str *text, size_t n)
{
    struct str first = { text->p, n };
    *text = (struct str){ text->p ? text->p + n : NULL, text->n - n };
    while (text->n && *text->p == ' ')
        *text = (struct str){ text->p + 1, text->n - 1 };
    while (first.n && text->n && (first.p[first.n - 1] == ' ' || first.p[first.n - 1] == '\n'))
        first.n--;
    return first;
}

bool flow_block_shrink(struct flow *f, const struct pen *pen, struct block *b, double room_mm)
{
    const double h_mm = room_mm - more_mm(f, pen, b) - PICTURE_END_MM;
    if (b->kind != BLOCK_FIGURE || h_mm < fmin(b->h_mm, PICTURE_LEAST_MM))
        return false;
    b->h_mm = fmin(b->h_mm, h_mm);
    b->content_mm = 0.0;
    return true;
}

/* A figure whose words alone fill a page keeps as many of them as there is room for; the others go on as a paragraph. */
static bool split_words(struct flow *f, const struct pen *pen, struct block *b, double room_mm, struct block *rest)
{
    const double w = text_w_mm(f, b), room = room_mm - above_mm(b) - room_of(b).below - 0.01;
    if (b->kind == BLOCK_FIGURE)
        b->h_mm = fmin(b->h_mm, PICTURE_LEAST_MM);
    const double picture = b->kind == BLOCK_FIGURE ? b->h_mm + PICTURE_END_MM : 0.0;
    *rest = *b;
    const size_t n_text = pen_paragraph_fit(pen, style_of(b->kind), b->text, w, room);
    b->text = flow_take(&rest->text, n_text);
    b->figure = flow_take(&rest->figure, pen_paragraph_fit(pen, TEXT_PAGE_B, b->figure, FIGURE_MM, room));
    size_t n_more = 0;
    if (!rest->text.n)
        n_more = pen_paragraph_fit(pen, more_style(b), b->more, w, room - picture - text_mm(f, pen, b) - MORE_MM);
    b->more = flow_take(&rest->more, n_more);
    if (b->kind == BLOCK_FIGURE)
        *rest = (struct block){ .kind = BLOCK_SOFT, .text = rest->more, .keep = b->keep };
    return n_text || n_more || b->figure.n;
}

bool flow_block_split(struct flow *f, const struct pen *pen, struct block *b, double room_mm, struct block *rest)
{
    const double room = room_mm - (b->grid ? flow_head_mm(pen, b) : 0.0);
    const struct block whole = *b;
    if (b->kind == BLOCK_WRITE || b->kind == BLOCK_SPACE || b->kind == BLOCK_SHEET)
        return false;
    const bool is_split = is_row(b) ? flow_row_split(f, pen, b, room, rest) : split_words(f, pen, b, room, rest);
    if (!is_split) {
        *b = whole;
        return false;
    }
    b->goes_on = true;
    b->ends_grid = false;
    b->content_mm = rest->content_mm = 0.0;
    rest->is_rest = true;
    rest->id = NULL;
    return true;
}

/* ---- painting ---- */

static void paint_words(struct flow *f, struct pen *pen, const struct block *b)
{
    const struct block_room r = room_of(b);
    const double w = text_w_mm(f, b), text = text_mm(f, pen, b), above = above_mm(b);
    const enum ink ink = b->mark == FLOW_BROKEN ? INK_ACCENT : text_look(style_of(b->kind))->ink;
    const double line_mm = pen_measure(pen, style_of(b->kind), STR("x")).h_mm;
    if (b->kind == BLOCK_ITEM && !b->is_rest)
        pen_text(pen, TEXT_PAGE, STR("–"), 0.6, above);
    if (b->mark && !b->is_rest)
        flow_mark_paint(pen, b->mark, (struct vec2){ 2.0, above + line_mm / 2.0 }, 0.0);
    flow_link_begin(pen, b->to);
    pen_paragraph(pen, style_of(b->kind), ink, PEN_LEFT, b->text, r.left, above, w);
    flow_link_end(pen, b->to);
    if (b->figure.n)
        pen_paragraph(pen, TEXT_PAGE_B, ink, PEN_RIGHT, b->figure, flow_width_mm(f) - FIGURE_MM, above, FIGURE_MM);
    if (b->more.n)
        pen_paragraph(pen, more_style(b), b->kind == BLOCK_CAUTION ? INK_LINE : INK_SOFT, PEN_LEFT, b->more, r.left,
                      above + text + MORE_MM, w);
    if ((b->kind == BLOCK_PROMISE || b->kind == BLOCK_TICK) && !b->goes_on)
        flow_rule(f, pen, b->tall_mm, INK_HAIR, 0.15);
    if (b->kind == BLOCK_CAUTION) {
        pen_ink(pen, INK_LINE);
        cairo_set_line_width(pen->cr, 0.4);
        pen_path_box(pen, (struct draw_box){ 0.2, 1.0, flow_width_mm(f) - 0.4, b->tall_mm - 3.0 });
        cairo_stroke(pen->cr);
    }
}

static void paint_write(struct flow *f, struct pen *pen, const struct block *b)
{
    if (!b->n_names)
        return;
    const double apart = 6.0, w = (flow_width_mm(f) - apart * (b->n_names - 1)) / b->n_names;
    for (uint32_t i = 0; i < b->n_names; i++) {
        const double x = i * (w + apart);
        pen_ink(pen, INK_LINE);
        pen_line(pen, (struct vec2){ x, SIGN_MM - 1.0 }, (struct vec2){ x + w, SIGN_MM - 1.0 }, 0.2);
        pen_text_ended(pen, TEXT_PAGE_COLUMN, INK_SOFT, PEN_LEFT, str_from(b->names[i]), x, SIGN_MM, w);
    }
}

static void paint_picture(struct flow *f, struct pen *pen, const struct block *b)
{
    cairo_save(pen->cr);
    b->paint(pen, flow_width_mm(f), b->h_mm, b->user);
    cairo_restore(pen->cr);
    pen_paragraph(pen, TEXT_PAGE_SOFT, INK_SOFT, PEN_LEFT, b->more, 0.0, b->h_mm + MORE_MM, flow_width_mm(f));
}

/* What it is to somebody who has it read out: a standard structure type of PDF.
 * Source: ISO 32000-1:2008, 14.8.4, from memory. */
static const char *role_of(enum block_kind kind)
{
    switch (kind) {
    case BLOCK_CHAPTER:
        return "H1";
    case BLOCK_SECTION:
        return "H2";
    case BLOCK_HEADING:
        return "H3";
    case BLOCK_FIGURE:
        return "Figure";
    default:
        return "P";
    }
}

void flow_block_paint(struct flow *f, struct pen *pen, const struct block *b)
{
    if (b->grid) {
        flow_head_paint(f, pen, b);
        cairo_translate(pen->cr, 0.0, flow_head_mm(pen, b));
    }
    if (is_row(b)) {
        flow_row_paint(f, pen, b);
        return;
    }
    const char *role = b->grid ? "TR" : role_of(b->kind);
    cairo_tag_begin(pen->cr, role, NULL);
    if (b->grid)
        cairo_tag_begin(pen->cr, "TD", NULL);
    if (b->kind == BLOCK_FIGURE)
        paint_picture(f, pen, b);
    else if (b->kind == BLOCK_WRITE)
        paint_write(f, pen, b);
    else
        paint_words(f, pen, b);
    if (b->grid)
        cairo_tag_end(pen->cr, "TD");
    cairo_tag_end(pen->cr, role);
}

/* The title page: whose network it is, how its promises stand, what the house looks like, who hands it over and when. */
#include <cairo.h>
#include <math.h>

#include "book/book_int.h"
#include "draw/sheet.h"

static const double OUTER_MM = 10.0, INNER_MM = 12.2, LEFT_MM = 22.0, RIGHT_MM = 22.0, BLOCK_MM = 15.0;

static void paint_borders(struct pen *pen, double w_mm, double h_mm)
{
    pen_ink(pen, INK_LINE);
    cairo_set_line_width(pen->cr, 0.4);
    pen_path_box(pen, (struct draw_box){ OUTER_MM, OUTER_MM, w_mm - 2.0 * OUTER_MM, h_mm - 2.0 * OUTER_MM });
    cairo_stroke(pen->cr);
    pen_ink(pen, INK_HAIR);
    cairo_set_line_width(pen->cr, 0.25);
    pen_path_box(pen, (struct draw_box){ INNER_MM, INNER_MM, w_mm - 2.0 * INNER_MM, h_mm - 2.0 * INNER_MM });
    cairo_stroke(pen->cr);
}

/* What it is, whose, and what the house is; the name gets smaller until it fits into two lines.  Returns where it ends. */
static double paint_title(struct pen *pen, const struct house *h, double w_mm)
{
    const double wide = w_mm - LEFT_MM - RIGHT_MM;
    const enum text_style style = pen_measure(pen, TEXT_COVER, h->name).w_mm <= wide ? TEXT_COVER : TEXT_PAGE_TITLE;
    double y = 24.0;
    cairo_tag_begin(pen->cr, "P", NULL);
    pen_text(pen, TEXT_PAGE_SOFT, STR("The network of the house: hand-over book"), LEFT_MM, y);
    cairo_tag_end(pen->cr, "P");
    y += 9.0;
    cairo_tag_begin(pen->cr, "H1", NULL);
    pen_paragraph(pen, style, INK_LINE, PEN_LEFT, h->name, LEFT_MM - 0.8, y, wide);
    cairo_tag_end(pen->cr, "H1");
    y += pen_paragraph_mm(pen, style, h->name, wide) + 3.0;
    cairo_tag_begin(pen->cr, "P", NULL);
    pen_paragraph(pen, TEXT_COVER_SAYS, INK_SOFT, PEN_LEFT, h->says, LEFT_MM, y, wide);
    cairo_tag_end(pen->cr, "P");
    return y + pen_paragraph_mm(pen, TEXT_COVER_SAYS, h->says, wide);
}

/* How the promises stand: three marks with their figures. */
static void paint_tally(struct pen *pen, struct book *b, double y_mm)
{
    const struct {
        uint32_t n;
        enum draw_state state;
        const char *word;
    } rows[] = {
        { b->results.n_kept, DRAW_KEPT, "kept" },
        { b->results.n_broken, DRAW_BROKEN, "broken" },
        { b->results.n_unknown, DRAW_UNKNOWN, "unknown" },
    };
    const double line = pen_measure(pen, TEXT_COVER_SAYS, STR("x")).h_mm;
    const struct str head = book_text(b, "%u promise%s, judged at the %s estimate of the walls", b->results.n,
                                      b->results.n == 1 ? "" : "s", estimate_name(b->h->estimate));
    double x = LEFT_MM;
    cairo_tag_begin(pen->cr, "P", NULL);
    pen_text(pen, TEXT_PAGE_SOFT, head, x, y_mm);
    y_mm += 6.5;
    for (size_t i = 0; i < RT_COUNT(rows); i++) {
        const bool is_bad = rows[i].state == DRAW_BROKEN && rows[i].n;
        const enum ink ink = is_bad ? INK_ACCENT : rows[i].n ? INK_LINE : INK_SOFT;
        const struct str text = book_text(b, "%u %s", rows[i].n, rows[i].word);
        sheet_draw_state(pen, rows[i].state, ink, (struct vec2){ x + 1.8, y_mm + line / 2.0 },
                         rows[i].state == DRAW_KEPT ? 1.4 : 1.8);
        pen_text_in(pen, TEXT_COVER_SAYS, ink, text, x + 5.6, y_mm);
        x += 5.6 + pen_measure(pen, TEXT_COVER_SAYS, text).w_mm + 11.0;
    }
    cairo_tag_end(pen->cr, "P");
}

/* What is known of who and when stands on the line, else the line is there to write on. */
static void paint_hand_over(struct pen *pen, struct book *b, double w_mm, double y_mm)
{
    const struct {
        const char *name;
        struct str value;
        double share;
    } lines[] = {
        { "handed over by", b->options->by, 0.4 },
        { "to", { NULL, 0 }, 0.36 },
        { "on", b->options->date, 0.24 },
    };
    const double apart = 6.0, wide = w_mm - LEFT_MM - RIGHT_MM - apart * (RT_COUNT(lines) - 1);
    double x = LEFT_MM;
    for (size_t i = 0; i < RT_COUNT(lines); i++) {
        const double w = wide * lines[i].share;
        pen_text_ended(pen, TEXT_PAGE, INK_LINE, PEN_LEFT, lines[i].value, x, y_mm - 5.4, w);
        pen_ink(pen, INK_LINE);
        pen_line(pen, (struct vec2){ x, y_mm }, (struct vec2){ x + w, y_mm }, 0.2);
        pen_text(pen, TEXT_PAGE_COLUMN, str_from(lines[i].name), x, y_mm + 0.8);
        x += w + apart;
    }
}

/* The title block of every drawing, over the whole foot. */
static void paint_block(struct pen *pen, struct book *b, double w_mm, double h_mm)
{
    const struct {
        const char *name;
        struct str value;
        double share;
    } cells[] = {
        { "house", b->h->name, 0.34 },
        { "sheet", STR("hand-over book"), 0.24 },
        { "estimate", str_from(estimate_name(b->h->estimate)), 0.14 },
        { "paper", b->options->paper == FLOW_LETTER ? STR("Letter") : STR("A4"), 0.12 },
        { "pages", book_text(b, "%u", flow_pages(b->flow)), 0.16 },
    };
    const double top = h_mm - INNER_MM - BLOCK_MM, wide = w_mm - 2.0 * INNER_MM;
    double x = INNER_MM;
    pen_ink(pen, INK_LINE);
    pen_line(pen, (struct vec2){ INNER_MM, top }, (struct vec2){ w_mm - INNER_MM, top }, 0.3);
    for (size_t i = 0; i < RT_COUNT(cells); i++) {
        if (i) {
            pen_ink(pen, INK_HAIR);
            pen_line(pen, (struct vec2){ x, top }, (struct vec2){ x, top + BLOCK_MM }, 0.25);
        }
        pen_text(pen, TEXT_PAGE_COLUMN, str_from(cells[i].name), x + 3.0, top + 2.6);
        pen_text_ended(pen, TEXT_PAGE, INK_LINE, PEN_LEFT, cells[i].value, x + 3.0, top + 7.0,
                       wide * cells[i].share - 5.0);
        x += wide * cells[i].share;
    }
}

void book_cover(struct pen *pen, double w_mm, double h_mm, void *book)
{
    struct book *b = book;
    const double block = h_mm - INNER_MM - BLOCK_MM, sign = block - 14.0, tally = sign - 31.0;
    paint_borders(pen, w_mm, h_mm);
    const double title = paint_title(pen, b->h, w_mm);
    book_cover_house(
        pen, b, (struct draw_box){ LEFT_MM, title + 9.0, w_mm - LEFT_MM - RIGHT_MM, fmax(tally - title - 18.0, 20.0) });
    paint_tally(pen, b, tally);
    paint_hand_over(pen, b, w_mm, sign);
    paint_block(pen, b, w_mm, h_mm);
}

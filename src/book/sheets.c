/* The drawings of src/draw as pages of the book, each on the book's own paper, lying. */
#include "book/book_int.h"

struct book_sheet {
    struct book *b;
    struct draw_options options;
    struct draw_subject subject;
};

static enum rt_code paint(void *user, cairo_t *cr, struct str page_words, struct rt_problems *p)
{
    struct book_sheet *sheet = user;
    struct book *b = sheet->b;
    struct draw_sheet drawn;
    sheet->options.page_words = page_words;
    return draw_onto(b->run, b->h, b->fields, &sheet->options, sheet->subject, cr, &drawn, p);
}

static struct book_sheet *begin(struct book *b, struct draw_subject subject)
{
    struct book_sheet *sheet = ARENA_NEW(b->arena, struct book_sheet);
    if (!sheet)
        return NULL;
    *sheet = (struct book_sheet){ .b = b, .options = b->draw, .subject = subject };
    sheet->options.paper = b->options->paper == FLOW_LETTER ? DRAW_ON_LETTER : DRAW_ON_A4;
    return sheet;
}

enum rt_code book_sheet(struct book *b, struct draw_subject subject, const char *id, struct str title,
                        struct rt_problems *p)
{
    struct draw_sheet size;
    struct book_sheet *sheet = begin(b, subject);
    if (!sheet)
        return rt_fail_memory(p);
    RT_TRY(draw_size(b->run, b->h, b->fields, &sheet->options, subject, &size, p));
    flow_sheet(b->flow, id, title, size.w_mm, size.h_mm, paint, sheet);
    return RT_OK;
}

/* A figure's painter has nobody to tell: book_make() asks. */
static void paint_figure(struct pen *pen, double w_mm, double h_mm, void *user)
{
    struct book_sheet *sheet = user;
    struct book *b = sheet->b;
    struct draw_sheet drawn;
    struct rt_problems lost;
    rt_problems_init(&lost, b->arena);
    (void)w_mm;
    (void)h_mm;
    b->figure_failed |=
        draw_onto(b->run, b->h, b->fields, &sheet->options, sheet->subject, pen->cr, &drawn, &lost) != RT_OK;
}

enum rt_code book_figure(struct book *b, struct draw_subject subject, double most_mm, struct str caption,
                         struct rt_problems *p)
{
    struct draw_sheet size;
    struct book_sheet *sheet = begin(b, subject);
    if (!sheet)
        return rt_fail_memory(p);
    sheet->options.figure_w_mm = flow_width_mm(b->flow);
    sheet->options.figure_h_mm = most_mm;
    RT_TRY(draw_size(b->run, b->h, b->fields, &sheet->options, subject, &size, p));
    flow_figure(b->flow, size.h_mm, paint_figure, sheet,
                book_text(b, "%.*s Scale 1:%g.", STR_ARG(caption), size.scale));
    return RT_OK;
}

enum rt_code book_sheets_find(struct book *b, uint32_t what, uint32_t floor, struct draw_subject **out, uint32_t *n,
                              struct rt_problems *p)
{
    struct draw_options options = b->draw;
    options.what = what;
    options.floor = floor;
    options.paper = b->options->paper == FLOW_LETTER ? DRAW_ON_LETTER : DRAW_ON_A4;
    return draw_subjects(b->run, b->h, b->fields, &options, out, n, p);
}

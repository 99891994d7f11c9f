/* The page of contents: chapters, what is in each, and the pages where they begin. */
#include <math.h>

#include "book/flow_int.h"

static const double HEAD_MM = 19.0, NUMBER_MM = 14.0, INDENT_MM = 0.0, CHAPTER_ABOVE_MM = 3.4, PAD_MM = 0.8;

static bool is_chapter(const struct block *b) { return b->kind == BLOCK_CHAPTER; }
static enum text_style style_of(const struct block *b) { return is_chapter(b) ? TEXT_PAGE_B : TEXT_PAGE; }
static double title_w_mm(const struct flow *f) { return flow_width_mm(f) - NUMBER_MM - INDENT_MM; }

static double entry_mm(const struct flow *f, const struct pen *pen, const struct block *b)
{
    return pen_paragraph_mm(pen, style_of(b), b->text, title_w_mm(f)) + 2.0 * PAD_MM +
           (is_chapter(b) ? CHAPTER_ABOVE_MM : 0.0);
}

/* The listed block after i, or n. */
static uint32_t next_listed(const block_vec *v, uint32_t i)
{
    do
        i++;
    while (i < v->n && !flow_is_listed(&v->v[i]));
    return i;
}

static uint32_t first_listed(const block_vec *v)
{
    return v->n && flow_is_listed(&v->v[0]) ? 0 : v->n ? next_listed(v, 0) : 0;
}

/* Goes through the entries from i that one page holds; a chapter's line stays with the line after it. */
static uint32_t fill_page(struct flow *f, const struct pen *pen, const block_vec *v, uint32_t i,
                          void (*each)(struct flow *f, struct pen *pen, const struct block *b, double y_mm),
                          struct pen *painted)
{
    double y = HEAD_MM;
    for (uint32_t n_here = 0; i < v->n; n_here++) {
        const struct block *b = &v->v[i];
        const uint32_t next = next_listed(v, i);
        double wants = entry_mm(f, pen, b);
        if (is_chapter(b) && next < v->n && !is_chapter(&v->v[next]))
            wants += entry_mm(f, pen, &v->v[next]);
        if (n_here && y + wants > flow_height_mm(f))
            break;
        if (each)
            each(f, painted, b, PAGE_TOP_MM + y);
        y += entry_mm(f, pen, b);
        i = next;
    }
    return i;
}

uint32_t flow_contents_pages(struct flow *f, const struct pen *pen)
{
    uint32_t n = 0, i = first_listed(&f->blocks);
    do {
        i = fill_page(f, pen, &f->blocks, i, NULL, NULL);
        n++;
    } while (i < f->blocks.n);
    return n;
}

static void paint_entry(struct flow *f, struct pen *pen, const struct block *b, double y_mm)
{
    const double x = PAGE_LEFT_MM, right = PAGE_LEFT_MM + flow_width_mm(f);
    const double top = y_mm + PAD_MM + (is_chapter(b) ? CHAPTER_ABOVE_MM : 0.0);
    const enum ink ink = is_chapter(b) ? INK_LINE : INK_SOFT;
    cairo_tag_begin(pen->cr, "TOCI", NULL);
    cairo_tag_begin(pen->cr, CAIRO_TAG_LINK, flow_words(f, "dest='%s'", b->name).p);
    pen_paragraph(pen, style_of(b), ink, PEN_LEFT, b->text, x, top, title_w_mm(f));
    pen_paragraph(pen, style_of(b), ink, PEN_RIGHT, flow_words(f, "%u", b->page), right - NUMBER_MM, top, NUMBER_MM);
    cairo_tag_end(pen->cr, CAIRO_TAG_LINK);
    cairo_tag_end(pen->cr, "TOCI");
    if (!is_chapter(b))
        return;
    const double rule = y_mm + entry_mm(f, pen, b);
    pen_ink(pen, INK_HAIR);
    pen_line(pen, (struct vec2){ x, rule }, (struct vec2){ right, rule }, 0.15);
}

void flow_contents_paint(struct flow *f, struct pen *pen, uint32_t *next)
{
    const uint32_t from = *next ? *next : first_listed(&f->laid);
    pen_text(pen, TEXT_PAGE_TITLE, *next ? STR("Contents, continued") : STR("Contents"), PAGE_LEFT_MM, PAGE_TOP_MM);
    cairo_tag_begin(pen->cr, "TOC", NULL);
    *next = fill_page(f, pen, &f->laid, from, paint_entry, pen);
    cairo_tag_end(pen->cr, "TOC");
}

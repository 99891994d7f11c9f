/* The page of contents, in two columns: chapters, what is in each, and the pages where they begin. */
#include <math.h>

#include "book/flow_int.h"

static const double HEAD_MM = 19.0, NUMBER_MM = 9.0, APART_MM = 10.0, CHAPTER_ABOVE_MM = 3.0, PAD_MM = 0.55;
enum { COLUMNS = 2 };

static bool is_chapter(const struct block *b) { return b->kind == BLOCK_CHAPTER; }
static enum text_style style_of(const struct block *b) { return is_chapter(b) ? TEXT_PAGE_B : TEXT_PAGE_SOFT; }
static double column_mm(const struct flow *f) { return (flow_width_mm(f) - APART_MM) / COLUMNS; }
static double title_w_mm(const struct flow *f) { return column_mm(f) - NUMBER_MM; }

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

/* Of the entry and what stays in its column: a chapter's line stays with the line after it. */
static double bound_mm(const struct flow *f, const struct pen *pen, const block_vec *v, uint32_t i)
{
    const uint32_t next = next_listed(v, i);
    const bool leads = is_chapter(&v->v[i]) && next < v->n && !is_chapter(&v->v[next]);
    return entry_mm(f, pen, &v->v[i]) + (leads ? entry_mm(f, pen, &v->v[next]) : 0.0);
}

/* Goes through the entries from i that one page holds; returns the first of the next page. */
static uint32_t fill_page(struct flow *f, const struct pen *pen, const block_vec *v, uint32_t i,
                          void (*each)(struct flow *f, struct pen *pen, const struct block *b, struct vec2 at_mm),
                          struct pen *painted)
{
    for (uint32_t column = 0; column < COLUMNS; column++) {
        double y = HEAD_MM;
        for (uint32_t n_here = 0; i < v->n; n_here++) {
            if (n_here && y + bound_mm(f, pen, v, i) > flow_height_mm(f))
                break;
            const double x = PAGE_LEFT_MM + column * (column_mm(f) + APART_MM);
            if (each)
                each(f, painted, &v->v[i], (struct vec2){ x, PAGE_TOP_MM + y });
            y += entry_mm(f, pen, &v->v[i]);
            i = next_listed(v, i);
        }
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

static void paint_entry(struct flow *f, struct pen *pen, const struct block *b, struct vec2 at_mm)
{
    const double x = at_mm.x, right = x + column_mm(f);
    const double top = at_mm.y + PAD_MM + (is_chapter(b) ? CHAPTER_ABOVE_MM : 0.0);
    const enum ink ink = is_chapter(b) ? INK_LINE : INK_SOFT;
    cairo_tag_begin(pen->cr, "TOCI", NULL);
    cairo_tag_begin(pen->cr, CAIRO_TAG_LINK, flow_words(f, "dest='%s'", b->name).p);
    pen_paragraph(pen, style_of(b), ink, PEN_LEFT, b->text, x, top, title_w_mm(f));
    pen_paragraph(pen, style_of(b), ink, PEN_RIGHT, flow_words(f, "%u", b->page), right - NUMBER_MM, top, NUMBER_MM);
    cairo_tag_end(pen->cr, CAIRO_TAG_LINK);
    cairo_tag_end(pen->cr, "TOCI");
    if (!is_chapter(b))
        return;
    const double rule = at_mm.y + entry_mm(f, pen, b);
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

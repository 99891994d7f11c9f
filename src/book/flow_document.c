/* The document: pages painted one after another, contents, bookmarks, links, metadata. */
#include <cairo-pdf.h>
#include <math.h>

#include "book/flow_int.h"

#define PT_PER_MM (72.0 / 25.4)

static const double ABOVE_MM = 4.0; /* kept visible above what a link leads to */

struct document {
    const struct run *run;
    struct flow *f;
    const struct flow_about *about;
    struct flow_canvas canvas;
    struct pen pen;
    struct str chapter; /* of the page that is painted */
    int bookmark;       /* of the chapter that is painted */
};

static void begin_page(struct document *d, double w_mm, double h_mm)
{
    flow_canvas_page(&d->canvas, w_mm, h_mm);
    d->pen.cr = d->canvas.cr;
}

static void show_page(struct document *d, uint32_t page)
{
    struct str title = { 0 };
    if (d->canvas.form.format == FLOW_SVG) {
        const struct str house = d->about->title, chapter = d->chapter;
        title = flow_words(d->f, "%.*s%s%.*s, page %u of %u", STR_ARG(house), chapter.n ? ": " : "", STR_ARG(chapter),
                           page, d->f->n_pages);
    }
    flow_canvas_show(&d->canvas, title);
    d->pen.cr = d->canvas.cr;
}

/* House and chapter above, page below. */
static void paint_edges(struct document *d, uint32_t page)
{
    struct pen *pen = &d->pen;
    const double w = flow_paper_w_mm(d->f->paper), h = flow_paper_h_mm(d->f->paper),
                 in = w - PAGE_LEFT_MM - PAGE_RIGHT_MM;
    pen_text_ended(pen, TEXT_PAGE_FOOT, INK_SOFT, PEN_LEFT, d->about->foot, PAGE_LEFT_MM, 11.0, in / 2.0 - 2.0);
    pen_text_ended(pen, TEXT_PAGE_FOOT, INK_SOFT, PEN_RIGHT, d->chapter, PAGE_LEFT_MM + in / 2.0 + 2.0, 11.0,
                   in / 2.0 - 2.0);
    pen_ink(pen, INK_HAIR);
    pen_line(pen, (struct vec2){ PAGE_LEFT_MM, 15.5 }, (struct vec2){ w - PAGE_RIGHT_MM, 15.5 }, 0.15);
    pen_paragraph(pen, TEXT_PAGE_FOOT, INK_SOFT, PEN_RIGHT, flow_words(d->f, "page %u of %u", page, d->f->n_pages),
                  PAGE_LEFT_MM, h - 12.5, in);
    if (d->about->date.n)
        pen_paragraph(pen, TEXT_PAGE_FOOT, INK_SOFT, PEN_LEFT, d->about->date, PAGE_LEFT_MM, h - 12.5, in);
}

static void mark_destination(struct document *d, const struct block *b)
{
    if (!b->name || d->canvas.form.format != FLOW_PDF)
        return;
    /* where to, in the surface's own points; a whole number needs no decimal sign of any language */
    const int y_pt = b->kind == BLOCK_SHEET ? 0 : (int)((PAGE_TOP_MM + b->y_mm - ABOVE_MM) * PT_PER_MM);
    cairo_tag_begin(d->pen.cr, CAIRO_TAG_DEST, flow_words(d->f, "name='%s' x=0 y=%d", b->name, y_pt).p);
    cairo_tag_end(d->pen.cr, CAIRO_TAG_DEST);
    if (!flow_is_listed(b))
        return;
    const struct str title = flow_words(d->f, "%.*s", STR_ARG(b->text)), to = flow_words(d->f, "dest='%s'", b->name);
    const bool is_chapter = b->kind == BLOCK_CHAPTER;
    const int made = cairo_pdf_surface_add_outline(d->canvas.surface, is_chapter ? CAIRO_PDF_OUTLINE_ROOT : d->bookmark,
                                                   title.p, to.p, is_chapter ? CAIRO_PDF_OUTLINE_FLAG_OPEN : 0);
    if (is_chapter)
        d->bookmark = made;
}

/* ---- front ---- */

static void paint_contents(struct document *d, uint32_t page)
{
    uint32_t next = 0;
    d->chapter = STR("contents");
    do {
        begin_page(d, flow_paper_w_mm(d->f->paper), flow_paper_h_mm(d->f->paper));
        paint_edges(d, page);
        flow_contents_paint(d->f, &d->pen, &next);
        show_page(d, page++);
    } while (next < d->f->laid.n);
}

static void paint_front(struct document *d)
{
    begin_page(d, flow_paper_w_mm(d->f->paper), flow_paper_h_mm(d->f->paper));
    d->about->cover(&d->pen, flow_paper_w_mm(d->f->paper), flow_paper_h_mm(d->f->paper), d->about->cover_user);
    show_page(d, 1);
    paint_contents(d, 2);
}

/* ---- pages ---- */

static enum rt_code paint_sheet(struct document *d, const struct block *b, struct rt_problems *p)
{
    begin_page(d, b->w_mm, b->h_mm);
    mark_destination(d, b);
    cairo_save(d->pen.cr);
    const enum rt_code code =
        b->paint_sheet(b->user, d->pen.cr, flow_words(d->f, "page %u of %u", b->page, d->f->n_pages), p);
    cairo_restore(d->pen.cr);
    show_page(d, b->page);
    return code;
}

static void paint_block(struct document *d, const struct block *b)
{
    cairo_save(d->pen.cr);
    cairo_translate(d->pen.cr, PAGE_LEFT_MM, PAGE_TOP_MM + b->y_mm);
    mark_destination(d, b);
    flow_block_paint(d->f, &d->pen, b);
    cairo_restore(d->pen.cr);
}

static enum rt_code paint_pages(struct document *d, struct rt_problems *p)
{
    const struct flow *f = d->f;
    const struct flow_grid *grid = NULL; /* whose rows are being painted */
    uint32_t open = 0;                   /* page that is begun and not shown */
    for (uint32_t i = 0; i < f->laid.n; i++) {
        const struct block *b = &f->laid.v[i];
        const bool turns = open && b->page != open;
        if (grid && (turns || b->grid != grid)) {
            cairo_tag_end(d->pen.cr, "Table");
            grid = NULL;
        }
        if (turns) {
            show_page(d, open);
            open = 0;
        }
        if (run_is_cancelled(d->run))
            return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "the book was stopped; nothing is written");
        if (b->kind == BLOCK_CHAPTER)
            d->chapter = b->text;
        if (b->kind == BLOCK_SHEET) {
            RT_TRY(paint_sheet(d, b, p));
            continue;
        }
        if (!open) {
            begin_page(d, flow_paper_w_mm(f->paper), flow_paper_h_mm(f->paper));
            open = b->page;
            paint_edges(d, open);
            run_report(d->run, "pages", (double)open / f->n_pages);
        }
        if (b->grid && b->grid != grid) {
            cairo_tag_begin(d->pen.cr, "Table", NULL);
            grid = b->grid;
        }
        paint_block(d, b);
    }
    if (grid)
        cairo_tag_end(d->pen.cr, "Table");
    if (open)
        show_page(d, open);
    else if (!f->laid.n && !f->n_front) {
        begin_page(d, flow_paper_w_mm(f->paper), flow_paper_h_mm(f->paper));
        paint_edges(d, 1);
        show_page(d, 1);
    }
    return RT_OK;
}

/* ---- the whole ---- */

static void set_about(struct document *d)
{
    const struct flow_about *a = d->about;
    const struct {
        cairo_pdf_metadata_t key;
        struct str value;
    } metadata[] = {
        { CAIRO_PDF_METADATA_TITLE, a->title },          { CAIRO_PDF_METADATA_AUTHOR, a->author },
        { CAIRO_PDF_METADATA_SUBJECT, a->subject },      { CAIRO_PDF_METADATA_KEYWORDS, a->keywords },
        { CAIRO_PDF_METADATA_CREATOR, STR("Rooftree") }, { CAIRO_PDF_METADATA_CREATE_DATE, a->date },
        { CAIRO_PDF_METADATA_MOD_DATE, a->date },
    };
    for (size_t i = 0; i < RT_COUNT(metadata); i++) {
        const struct str value = flow_words(d->f, "%.*s", STR_ARG(metadata[i].value));
        cairo_pdf_surface_set_metadata(d->canvas.surface, metadata[i].key, value.p);
    }
}

static enum rt_code paint_all(struct document *d, struct rt_problems *p)
{
    struct flow *f = d->f;
    const bool has_front = d->about->cover != NULL;
    if (!pen_init(&d->pen, NULL))
        return rt_fail(p, RT_MISSING, RT_NOWHERE, "install a font, such as Debian's package fonts-inter",
                       "there is no font on this machine to write the book with");
    enum rt_code code = RT_OK;
    if (!flow_lay_out(f, &d->pen, has_front ? 1 + flow_contents_pages(f, &d->pen) : 0))
        code = rt_fail_memory(p);
    flow_canvas_open(&d->canvas, f->arena, d->about->form);
    d->pen.cr = d->canvas.cr;
    if (d->canvas.form.format == FLOW_PDF)
        set_about(d);
    if (!code && has_front)
        paint_front(d);
    if (!code)
        code = paint_pages(d, p);
    flow_canvas_close(&d->canvas);
    pen_release(&d->pen);
    const cairo_status_t status = d->canvas.status;
    if (!code && status != CAIRO_STATUS_SUCCESS)
        code = rt_fail(p, RT_NOMEM, RT_NOWHERE, NULL, "the book cannot be painted: %s", cairo_status_to_string(status));
    return code;
}

enum rt_code flow_write(const struct run *run, struct flow *f, const struct flow_about *about, struct flow_made *out,
                        struct rt_problems *p)
{
    struct document d = { .run = run, .f = f, .about = about };
    RT_TRY(paint_all(&d, p));
    struct buf *bytes = &d.canvas.bytes;
    if (f->failed || bytes->failed)
        return rt_fail_memory(p);
    *out = (struct flow_made){ .n_pages = f->n_pages };
    if (about->form.format != FLOW_PDF) {
        out->pages.v = d.canvas.pages.v;
        out->pages.n = d.canvas.pages.n;
        return RT_OK;
    }
    if (!flow_add_language(bytes, "en"))
        return bytes->failed ? rt_fail_memory(p)
                             : rt_fail(p, RT_MISSING, RT_NOWHERE, "another version of the library cairo may do",
                                       "this machine's library cairo writes PDF in a form in which the book's "
                                       "language cannot be told");
    out->bytes = buf_done(bytes);
    return RT_OK;
}

/* What the pages are painted on: one PDF, or a picture of each page. */
#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <math.h>
#include <string.h>

#include "book/flow_int.h"
#include "draw/png.h"
#include "draw/svg.h"

#define PT_PER_MM (72.0 / 25.4)
#define MM_PER_INCH 25.4
#define M_PER_INCH 0.0254

static cairo_status_t to_buf(void *closure, const unsigned char *bytes, unsigned n)
{
    struct buf *b = closure;
    buf_add(b, (const char *)bytes, n);
    return b->failed ? CAIRO_STATUS_WRITE_ERROR : CAIRO_STATUS_SUCCESS;
}

/* Keeps the first thing that went wrong. */
static void note(struct flow_canvas *c, cairo_status_t status)
{
    if (c->status == CAIRO_STATUS_SUCCESS)
        c->status = status;
}

void flow_canvas_open(struct flow_canvas *c, struct arena *a, struct flow_form form)
{
    *c = (struct flow_canvas){ .arena = a, .form = form, .bytes = { .arena = a } };
    if (form.format != FLOW_PDF)
        return;
    c->surface = cairo_pdf_surface_create_for_stream(to_buf, &c->bytes, 1.0, 1.0);
    cairo_pdf_surface_restrict_to_version(c->surface, CAIRO_PDF_VERSION_1_4);
    c->cr = cairo_create(c->surface);
}

/* ---- pictures ---- */

static double px_per_mm(const struct flow_canvas *c) { return c->form.dpi / MM_PER_INCH; }

/* White ground: whoever shows it on a dark one still has paper. */
static void begin_picture(struct flow_canvas *c, double w_mm, double h_mm)
{
    double scale_x = 1.0, scale_y = 1.0;
    c->bytes = (struct buf){ .arena = c->arena };
    if (c->form.format == FLOW_SVG) {
        c->surface = cairo_svg_surface_create_for_stream(to_buf, &c->bytes, w_mm, h_mm);
        cairo_svg_surface_set_document_unit(c->surface, CAIRO_SVG_UNIT_MM);
    } else {
        const long w_px = lround(w_mm * px_per_mm(c)), h_px = lround(h_mm * px_per_mm(c));
        c->surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)w_px, (int)h_px);
        scale_x = (double)w_px / w_mm;
        scale_y = (double)h_px / h_mm;
    }
    c->cr = cairo_create(c->surface);
    cairo_scale(c->cr, scale_x, scale_y);
    cairo_set_source_rgb(c->cr, 1.0, 1.0, 1.0);
    cairo_paint(c->cr);
}

static void close_picture(struct flow_canvas *c)
{
    cairo_destroy(c->cr);
    if (c->form.format == FLOW_PNG && c->status == CAIRO_STATUS_SUCCESS &&
        !png_add(&c->bytes, c->surface, c->form.dpi / M_PER_INCH))
        note(c, CAIRO_STATUS_NO_MEMORY);
    cairo_surface_finish(c->surface);
    note(c, cairo_surface_status(c->surface));
    cairo_surface_destroy(c->surface);
    c->cr = NULL;
    c->surface = NULL;
}

static void keep_picture(struct flow_canvas *c, struct str title)
{
    const struct str made = buf_done(&c->bytes);
    struct str done = { 0 };
    if (c->status == CAIRO_STATUS_SUCCESS && !c->bytes.failed)
        done = c->form.format == FLOW_SVG ? svg_settle(c->arena, made, title) : made;
    if (!done.p || !VEC_PUSH(c->arena, &c->pages, done))
        note(c, CAIRO_STATUS_NO_MEMORY);
}

/* ---- pages ---- */

void flow_canvas_page(struct flow_canvas *c, double w_mm, double h_mm)
{
    if (c->form.format != FLOW_PDF) {
        begin_picture(c, w_mm, h_mm);
        return;
    }
    cairo_pdf_surface_set_size(c->surface, w_mm * PT_PER_MM, h_mm * PT_PER_MM);
    cairo_identity_matrix(c->cr);
    cairo_scale(c->cr, PT_PER_MM, PT_PER_MM);
}

void flow_canvas_show(struct flow_canvas *c, struct str title)
{
    note(c, cairo_status(c->cr));
    if (c->form.format == FLOW_PDF) {
        cairo_show_page(c->cr);
        return;
    }
    close_picture(c);
    keep_picture(c, title);
}

void flow_canvas_close(struct flow_canvas *c)
{
    if (!c->cr)
        return;
    note(c, cairo_status(c->cr));
    if (c->form.format != FLOW_PDF) { /* an error came between */
        close_picture(c);
        return;
    }
    cairo_destroy(c->cr);
    cairo_surface_finish(c->surface);
    cairo_surface_destroy(c->surface);
    c->cr = NULL;
}

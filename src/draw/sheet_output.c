#include "draw/sheet_output.h"

#include <cairo-svg.h>
#include <math.h>

#include "base/file.h"
#include "draw/png.h"
#include "draw/svg.h"

#define PX_PER_MM (1600.0 / 297.0) /* an A4 sheet is 1600 pixels wide */
#define MM_PER_M 1000.0

/* A painting under way. */
struct job {
    struct sheet *s;
    sheet_painter *paint;
    void *user;
    struct draw_sheet *out;
};

enum rt_code sheet_no_font(struct rt_problems *p)
{
    return rt_fail(p, RT_MISSING, RT_NOWHERE, "install a font, such as Debian's package fonts-inter",
                   "there is no font on this machine to write on the drawings with");
}

static cairo_status_t to_buf(void *closure, const unsigned char *bytes, unsigned n)
{
    struct buf *b = closure;
    buf_add(b, (const char *)bytes, n);
    return b->failed ? CAIRO_STATUS_WRITE_ERROR : CAIRO_STATUS_SUCCESS;
}

enum rt_code sheet_paint(struct sheet *s, sheet_painter *painter, void *user, cairo_t *cr, struct draw_sheet *out,
                         struct rt_problems *p)
{
    s->pen.cr = cr;
    s->space = (struct label_space){ .arena = s->arena };
    out->w_mm = s->w_mm;
    out->h_mm = s->h_mm;
    painter(s, user);
    out->scale = s->plan.scale;
    if (s->failed)
        return rt_fail_memory(p);
    if (cairo_status(cr) != CAIRO_STATUS_SUCCESS)
        return rt_fail(p, RT_NOMEM, RT_NOWHERE, NULL, "the sheet %.*s cannot be drawn: %s", STR_ARG(out->name),
                       cairo_status_to_string(cairo_status(cr)));
    out->scale_bar = s->scale_bar;
    out->scale_bar_m = s->scale_bar_m;
    out->labels.v = s->space.labels.v;
    out->labels.n = s->space.labels.n;
    return RT_OK;
}

static enum rt_code paint(const struct job *job, cairo_t *cr, struct rt_problems *p)
{
    return sheet_paint(job->s, job->paint, job->user, cr, job->out, p);
}

static enum rt_code paint_svg(const struct job *job, struct str title, struct rt_problems *p)
{
    struct sheet *s = job->s;
    struct buf bytes = { .arena = s->arena };
    cairo_surface_t *surface = cairo_svg_surface_create_for_stream(to_buf, &bytes, s->w_mm, s->h_mm);
    cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_MM);
    cairo_t *cr = cairo_create(surface);
    const enum rt_code code = paint(job, cr, p);
    cairo_destroy(cr);
    cairo_surface_finish(surface);
    cairo_surface_destroy(surface);
    if (code)
        return code;
    if (bytes.failed)
        return rt_fail_memory(p);
    job->out->svg = svg_settle(s->arena, buf_done(&bytes), title);
    return job->out->svg.p ? RT_OK : rt_fail_memory(p);
}

static enum rt_code paint_png(const struct job *job, struct rt_problems *p)
{
    struct draw_sheet *out = job->out;
    struct buf bytes = { .arena = job->s->arena };
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)out->w_px, (int)out->h_px);
    cairo_t *cr = cairo_create(surface);
    cairo_scale(cr, out->w_px / out->w_mm, out->h_px / out->h_mm);
    enum rt_code code = paint(job, cr, p);
    cairo_destroy(cr);
    if (!code && !png_add(&bytes, surface, PX_PER_MM * MM_PER_M))
        code = rt_fail_memory(p);
    cairo_surface_destroy(surface);
    out->png = buf_done(&bytes);
    return code;
}

enum rt_code sheet_output(struct sheet *s, sheet_painter *painter, void *user, struct str title, struct draw_sheet *out,
                          struct rt_problems *p)
{
    const struct job job = { s, painter, user, out };
    const uint32_t formats = s->options->formats ? s->options->formats : DRAW_ALL_FORMATS;
    out->w_mm = s->w_mm;
    out->h_mm = s->h_mm;
    out->w_px = (uint32_t)lround(s->w_mm * PX_PER_MM);
    out->h_px = (uint32_t)lround(s->h_mm * PX_PER_MM);
    if (formats & DRAW_SVG)
        RT_TRY(paint_svg(&job, title, p));
    if (formats & DRAW_PNG)
        RT_TRY(paint_png(&job, p));
    return RT_OK;
}

/* ---- files ---- */

void sheet_write_band(struct buf *b, enum band band)
{
    for (const char *c = band_name(band); *c; c++) /* 2g4 would need explaining */
        buf_char(b, *c == '.' ? '-' : *c);
}

static enum rt_code path_of(struct arena *a, const char *folder, struct str name, const char *ending, struct str *out,
                            struct rt_problems *p)
{
    const char *slash = *folder && folder[strlen(folder) - 1] == '/' ? "" : "/";
    const char *path = arena_printf(a, "%s%s%.*s.%s", folder, slash, STR_ARG(name), ending);
    *out = str_from(path);
    return path ? RT_OK : rt_fail_memory(p);
}

enum rt_code sheet_paths_make(struct arena *a, const char *folder, struct str name, struct sheet_paths *out,
                              struct rt_problems *p)
{
    RT_TRY(path_of(a, folder, name, "svg", &out->svg, p));
    return path_of(a, folder, name, "png", &out->png, p);
}

enum rt_code sheet_write(const struct draw_sheet *sheet, const struct sheet_paths *paths, struct draw_files *out,
                         struct rt_problems *p)
{
    if (sheet->svg.n) {
        RT_TRY(file_write(paths->svg.p, sheet->svg, 0644, p));
        out->paths.v[out->paths.n++] = paths->svg;
    }
    if (sheet->png.n) {
        RT_TRY(file_write(paths->png.p, sheet->png, 0644, p));
        out->paths.v[out->paths.n++] = paths->png;
    }
    return RT_OK;
}

#include "draw/draw.h"

#include "base/file.h"
#include "draw/cabinet_sheet.h"
#include "draw/cable_sheet.h"
#include "draw/failure_sheet.h"
#include "draw/field_sheet.h"
#include "draw/load_sheet.h"
#include "draw/port_sheet.h"
#include "draw/sheet_output.h"
#include "draw/spectrum_sheet.h"
#include "draw/week_sheet.h"
#include "radio/link.h"

/* The drawings: one row and one file of painting each. */
static const struct drawing {
    enum draw_what what;
    const char *word;         /* in the file's name */
    uint32_t n_access_points; /* needed in the band for the drawing to say anything */
    struct field_kind field;
    void (*paint)(struct sheet *s); /* a floor's sheet; NULL: it is a field */
    /* Sheets of the whole house: the names of their files, in the sheet's arena, and the painting of one; NULL: none. */
    bool (*pages)(struct sheet *s, str_list *names);
    void (*paint_page)(struct sheet *s);
    void (*lay_out_page)(struct sheet *s); /* paper and scale; NULL: A3 without a scale */
} DRAWINGS[] = {
    { DRAW_SIGNAL, "signal", 1, FIELD_KIND_SIGNAL, NULL, NULL, NULL, NULL },
    { DRAW_RATE, "rate", 1, FIELD_KIND_RATE, NULL, NULL, NULL, NULL },
    { DRAW_SECOND, "second", 2, FIELD_KIND_SECOND, NULL, NULL, NULL, NULL },
    { .what = DRAW_CABLE,
      .word = "cables",
      .paint = cable_sheet_paint,
      .pages = cable_pages,
      .paint_page = cable_page_paint },
    { .what = DRAW_CABINET,
      .word = "cabinet",
      .pages = cabinet_pages,
      .paint_page = cabinet_page_paint,
      .lay_out_page = cabinet_page_lay_out },
    { .what = DRAW_PORTS,
      .word = "ports",
      .pages = port_pages,
      .paint_page = port_page_paint,
      .lay_out_page = port_page_lay_out },
    { .what = DRAW_WEEK, .word = "week", .pages = week_pages, .paint_page = week_page_paint },
    { .what = DRAW_LOAD, .word = "load", .pages = load_pages, .paint_page = load_page_paint },
    { .what = DRAW_SPECTRUM, .word = "spectrum", .pages = spectrum_pages, .paint_page = spectrum_page_paint },
    { .what = DRAW_FAILURES, .word = "failures", .pages = failure_pages, .paint_page = failure_page_paint },
};

struct draw_options draw_options_usual(const struct radio_ability *device, struct str device_name)
{
    return (struct draw_options){
        .floor = NO_REF, .device = device, .device_name = device_name, .availability = 0.90, .free_mounts = true
    };
}

static const struct drawing *drawing_of(enum draw_what what)
{
    for (size_t i = 0; i < RT_COUNT(DRAWINGS); i++)
        if (DRAWINGS[i].what == what)
            return &DRAWINGS[i];
    return NULL;
}

/* ---- which sheets ---- */

static bool is_first_of_floor(const struct fields *f, uint32_t grid)
{
    return grid == 0 || f->grids.v[grid - 1].floor != f->grids.v[grid].floor;
}

static bool says_something(const struct fields *f, const struct draw_options *o, const struct drawing *d,
                           struct draw_subject s)
{
    if (d->pages && !d->paint)
        return false;          /* on no floor */
    if (d->what == DRAW_CABLE) /* no matter of bands: with the first */
        return s.band == 0 && is_first_of_floor(f, s.grid) && o->cables &&
               cable_sheet_has(o->cables, f->grids.v[s.grid].floor);
    return (!o->bands || o->bands & 1u << s.band) && raster_count_access_points(f, o, s.band) >= d->n_access_points;
}

static void warn_missing_bands(const struct fields *f, const struct draw_options *o, struct rt_problems *p)
{
    for (uint32_t band = 0; band < BAND_COUNT; band++) {
        const uint32_t n = raster_count_access_points(f, o, (enum band)band);
        if (o->bands & 1u << band && n == 0)
            rt_warn(p, RT_MISSING, RT_NOWHERE, "ask for another band, or switch on a radio in `equipment`",
                    "nothing is drawn at %s GHz: no access point sends there that a %.*s hears",
                    band_name((enum band)band), STR_ARG(o->device_name));
        if (o->what & DRAW_SECOND && o->bands & 1u << band && n == 1)
            rt_warn(p, RT_MISSING, RT_NOWHERE, NULL,
                    "no second access point is drawn at %s GHz: the house has only one there",
                    band_name((enum band)band));
    }
}

typedef VEC(struct draw_subject) subject_vec;

/* How many sheets a table fills is known once its texts are measured. */
static enum rt_code add_pages(const struct run *run, const struct house *h, const struct fields *fields,
                              const struct draw_options *options, const struct drawing *d, subject_vec *list,
                              struct rt_problems *p)
{
    struct sheet s = { .arena = run->arena, .house = h, .fields = fields, .options = options };
    str_list names = { 0 };
    if (!d->pages)
        return RT_OK;
    if (!pen_init(&s.pen, NULL))
        return sheet_no_font(p);
    sheet_lay_out_blank(&s);
    bool is_done = d->pages(&s, &names);
    pen_release(&s.pen);
    for (uint32_t i = 0; is_done && i < names.n; i++)
        is_done = VEC_PUSH(run->arena, list,
                           ((struct draw_subject){ .what = d->what, .grid = NO_REF, .page = i, .name = names.v[i] }));
    return is_done ? RT_OK : rt_fail_memory(p);
}

enum rt_code draw_subjects(const struct run *run, const struct house *h, const struct fields *fields,
                           const struct draw_options *options, struct draw_subject **out, uint32_t *n,
                           struct rt_problems *p)
{
    subject_vec list = { 0 };
    for (uint32_t g = 0; g < fields->grids.n; g++) {
        const struct grid *grid = &fields->grids.v[g];
        if ((options->floor != NO_REF && grid->floor != options->floor) ||
            (!options->all_heights && !is_first_of_floor(fields, g)))
            continue;
        for (size_t d = 0; d < RT_COUNT(DRAWINGS); d++)
            for (uint32_t band = 0; band < BAND_COUNT; band++) {
                const struct draw_subject subject = { .what = DRAWINGS[d].what, .grid = g, .band = (enum band)band };
                if ((options->what && !(options->what & (uint32_t)DRAWINGS[d].what)) ||
                    !says_something(fields, options, &DRAWINGS[d], subject))
                    continue;
                if (!VEC_PUSH(run->arena, &list, subject))
                    return rt_fail_memory(p);
            }
    }
    for (size_t d = 0; d < RT_COUNT(DRAWINGS); d++)
        if ((!options->what || options->what & (uint32_t)DRAWINGS[d].what) && options->floor == NO_REF)
            RT_TRY(add_pages(run, h, fields, options, &DRAWINGS[d], &list, p));
    warn_missing_bands(fields, options, p);
    *out = list.v;
    *n = list.n;
    return RT_OK;
}

struct str draw_name(struct arena *a, const struct house *h, const struct fields *f, struct draw_subject s)
{
    if (s.grid == NO_REF)
        return s.name;
    const struct grid *g = &f->grids.v[s.grid];
    const char *height = "";
    if (!is_first_of_floor(f, s.grid)) /* 0.6 m -> -60cm */
        height = arena_printf(a, "-%.0fcm", g->height_m * 100.0);
    struct buf b = { .arena = a };
    buf_printf(&b, "%.*s-%s", STR_ARG(h->floors.v[g->floor].id), drawing_of(s.what)->word);
    if (s.what == DRAW_CABLE)
        return b.failed ? (struct str){ 0 } : buf_done(&b);
    buf_char(&b, '-');
    sheet_write_band(&b, s.band);
    buf_printf(&b, "ghz%s", height ? height : "");
    return b.failed ? (struct str){ 0 } : buf_done(&b);
}

/* ---- one sheet ---- */

/* What is read out of the SVG. */
static struct str title_of(const struct sheet *s, const struct drawing *d, bool is_field)
{
    const struct str house = s->house->name;
    const struct str floor =
        s->plan.floor == NO_REF ? s->subject.name : s->house->floors.v[s->plan.floor].id; /* a page's name tells it */
    const char *title = is_field ? arena_printf(s->arena, "%.*s, %.*s: %s at %s GHz", STR_ARG(house), STR_ARG(floor),
                                                d->word, band_name(s->subject.band))
                        : s->plan.floor == NO_REF
                            ? arena_printf(s->arena, "%.*s: %.*s", STR_ARG(house), STR_ARG(floor))
                            : arena_printf(s->arena, "%.*s, %.*s: %s", STR_ARG(house), STR_ARG(floor), d->word);
    return str_from(title ? title : "");
}

static void paint(struct sheet *s, void *field)
{
    const struct drawing *d = drawing_of(s->subject.what);
    if (field)
        field_sheet_paint(field);
    else if (s->subject.grid == NO_REF)
        d->paint_page(s);
    else
        d->paint(s);
}

/* A sheet laid out: paper, scale, places.  Its pen is to be released unless this fails. */
static enum rt_code lay_out(struct sheet *s, struct rt_problems *p)
{
    const struct drawing *d = drawing_of(s->subject.what);
    if (!pen_init(&s->pen, NULL))
        return sheet_no_font(p);
    s->pen.on_white = s->options->paper != DRAW_ON_ISO;
    if (s->subject.grid == NO_REF)
        sheet_lay_out_blank(s);
    else
        sheet_lay_out(s);
    if (s->subject.grid == NO_REF && d->lay_out_page)
        d->lay_out_page(s);
    if (!s->failed)
        return RT_OK;
    pen_release(&s->pen);
    return rt_fail_memory(p);
}

/* And what its field needs. */
static enum rt_code prepare(struct sheet *s, struct field_sheet **field, struct draw_sheet *out, struct rt_problems *p)
{
    const struct drawing *d = drawing_of(s->subject.what);
    const bool is_field = s->subject.grid != NO_REF && !d->paint;
    *out = (struct draw_sheet){ .name = draw_name(s->arena, s->house, s->fields, s->subject) };
    *field = NULL;
    if (!out->name.p)
        return rt_fail_memory(p);
    RT_TRY(lay_out(s, p));
    if (is_field)
        *field = field_sheet_prepare(s, &d->field);
    if (!s->failed && (*field || !is_field))
        return RT_OK;
    pen_release(&s->pen);
    return rt_fail_memory(p);
}

static struct sheet begin(const struct run *run, const struct house *h, const struct fields *fields,
                          const struct draw_options *options, struct draw_subject subject)
{
    return (struct sheet){ .arena = run->arena, .house = h, .fields = fields, .options = options, .subject = subject };
}

enum rt_code draw_one(const struct run *run, const struct house *h, const struct fields *fields,
                      const struct draw_options *options, struct draw_subject subject, struct draw_sheet *out,
                      struct rt_problems *p)
{
    struct sheet s = begin(run, h, fields, options, subject);
    struct field_sheet *field;
    RT_TRY(prepare(&s, &field, out, p));
    const enum rt_code code = sheet_output(&s, paint, field, title_of(&s, drawing_of(subject.what), field), out, p);
    pen_release(&s.pen);
    return code;
}

enum rt_code draw_size(const struct run *run, const struct house *h, const struct fields *fields,
                       const struct draw_options *options, struct draw_subject subject, struct draw_sheet *out,
                       struct rt_problems *p)
{
    const struct arena_mark before = arena_mark(run->arena);
    struct sheet s = begin(run, h, fields, options, subject);
    RT_TRY(lay_out(&s, p)); /* a field takes long, and its size does not hang on it */
    *out = (struct draw_sheet){ .w_mm = s.w_mm, .h_mm = s.h_mm, .scale = s.plan.scale };
    pen_release(&s.pen);
    arena_reset(run->arena, before);
    return RT_OK;
}

enum rt_code draw_onto(const struct run *run, const struct house *h, const struct fields *fields,
                       const struct draw_options *options, struct draw_subject subject, cairo_t *cr,
                       struct draw_sheet *out, struct rt_problems *p)
{
    struct sheet s = begin(run, h, fields, options, subject);
    struct field_sheet *field;
    RT_TRY(prepare(&s, &field, out, p));
    const enum rt_code code = sheet_paint(&s, paint, field, cr, out, p);
    pen_release(&s.pen);
    return code;
}

/* ---- all sheets ---- */

/* Draws one sheet and writes its files; what it took is given back but for the names. */
static enum rt_code draw_and_write(const struct run *run, const struct house *h, const struct fields *fields,
                                   const struct draw_options *options, const char *folder, struct draw_subject subject,
                                   struct draw_files *out, struct rt_problems *p)
{
    const struct str name = draw_name(run->arena, h, fields, subject);
    struct sheet_paths paths;
    RT_TRY(sheet_paths_make(run->arena, folder, name, &paths, p));
    const struct arena_mark before = arena_mark(run->arena);
    struct draw_sheet sheet;
    RT_TRY(draw_one(run, h, fields, options, subject, &sheet, p));
    RT_TRY(sheet_write(&sheet, &paths, out, p));
    arena_reset(run->arena, before);
    return RT_OK;
}

enum rt_code draw_house(const struct run *run, const struct house *h, const struct fields *fields,
                        const struct draw_options *options, const char *folder, struct draw_files *out,
                        struct rt_problems *p)
{
    struct draw_subject *subjects;
    uint32_t n;
    *out = (struct draw_files){ 0 };
    RT_TRY(draw_subjects(run, h, fields, options, &subjects, &n, p));
    out->paths.v = ARENA_ARRAY(run->arena, struct str, 2 * (size_t)n);
    if (!out->paths.v)
        return rt_fail_memory(p);
    RT_TRY(file_make_folder(folder, p));
    for (uint32_t i = 0; i < n; i++) {
        if (run_is_cancelled(run))
            return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "drawing was stopped; %u files are written",
                           (unsigned)out->paths.n);
        run_report(run, "drawing", (double)i / n);
        RT_TRY(draw_and_write(run, h, fields, options, folder, subjects[i], out, p));
    }
    run_report(run, "drawing", 1.0);
    return RT_OK;
}

#include "draw/pen.h"

#define FAMILY_TEXT "Inter, sans-serif"
#define FAMILY_CODE "DejaVu Sans Mono, monospace"
#define FAMILY_TITLE "Inter Display, Inter, sans-serif"

const struct text_look *text_look(enum text_style style)
{
    static const struct text_look LOOKS[] = {
        [TEXT_TITLE] = { FAMILY_TITLE, PANGO_WEIGHT_LIGHT, 8.0, INK_LINE, 0.0 },
        [TEXT_HEAD] = { FAMILY_TEXT, PANGO_WEIGHT_SEMIBOLD, 3.1, INK_LINE, 0.0 },
        [TEXT_SOFT] = { FAMILY_TEXT, PANGO_WEIGHT_NORMAL, 2.7, INK_SOFT, 0.0 },
        [TEXT_KEY] = { FAMILY_TEXT, PANGO_WEIGHT_NORMAL, 2.3, INK_SOFT, 0.0 },
        [TEXT_VALUE] = { FAMILY_TEXT, PANGO_WEIGHT_NORMAL, 2.8, INK_LINE, 0.0 },
        [TEXT_ROOM] = { FAMILY_TEXT, PANGO_WEIGHT_MEDIUM, 3.0, INK_LINE, 0.8 },
        [TEXT_ROOM_S] = { FAMILY_TEXT, PANGO_WEIGHT_MEDIUM, 2.3, INK_LINE, 0.7 },
        [TEXT_TAG] = { FAMILY_TEXT, PANGO_WEIGHT_BOLD, 2.6, INK_LINE, 0.8 },
        [TEXT_THING] = { FAMILY_TEXT, PANGO_WEIGHT_NORMAL, 2.1, INK_LINE, 0.65 },
        [TEXT_FIGURE] = { FAMILY_TEXT, PANGO_WEIGHT_NORMAL, 2.2, INK_LINE, 0.6 },
        [TEXT_FIGURE_B] = { FAMILY_TEXT, PANGO_WEIGHT_BOLD, 2.4, INK_LINE, 0.8 },
        [TEXT_NOTE_HEAD] = { FAMILY_TEXT, PANGO_WEIGHT_SEMIBOLD, 3.3, INK_LINE, 0.0 },
        [TEXT_NOTE] = { FAMILY_TEXT, PANGO_WEIGHT_NORMAL, 2.7, INK_LINE, 0.0 },
        [TEXT_ADVICE] = { FAMILY_TEXT, PANGO_WEIGHT_NORMAL, 2.7, INK_SOFT, 0.0 },
        [TEXT_CELL] = { FAMILY_TEXT, PANGO_WEIGHT_NORMAL, 2.4, INK_LINE, 0.0 },
        [TEXT_CELL_B] = { FAMILY_TEXT, PANGO_WEIGHT_SEMIBOLD, 2.4, INK_LINE, 0.0 },
        [TEXT_PAGE_TITLE] = { FAMILY_TITLE, PANGO_WEIGHT_LIGHT, 9.0, INK_LINE, 0.0 },
        [TEXT_PAGE_SECTION] = { FAMILY_TEXT, PANGO_WEIGHT_SEMIBOLD, 4.2, INK_LINE, 0.0 },
        [TEXT_PAGE_HEADING] = { FAMILY_TEXT, PANGO_WEIGHT_SEMIBOLD, 3.3, INK_LINE, 0.0 },
        [TEXT_PAGE] = { FAMILY_TEXT, PANGO_WEIGHT_NORMAL, 2.9, INK_LINE, 0.0 },
        [TEXT_PAGE_B] = { FAMILY_TEXT, PANGO_WEIGHT_SEMIBOLD, 2.9, INK_LINE, 0.0 },
        [TEXT_PAGE_SOFT] = { FAMILY_TEXT, PANGO_WEIGHT_NORMAL, 2.55, INK_SOFT, 0.0 },
        [TEXT_PAGE_CELL] = { FAMILY_TEXT, PANGO_WEIGHT_NORMAL, 2.6, INK_LINE, 0.0 },
        [TEXT_PAGE_CELL_B] = { FAMILY_TEXT, PANGO_WEIGHT_SEMIBOLD, 2.6, INK_LINE, 0.0 },
        [TEXT_PAGE_COLUMN] = { FAMILY_TEXT, PANGO_WEIGHT_NORMAL, 2.4, INK_SOFT, 0.0 },
        [TEXT_PAGE_FOOT] = { FAMILY_TEXT, PANGO_WEIGHT_NORMAL, 2.5, INK_SOFT, 0.0 },
        [TEXT_PAGE_CODE] = { FAMILY_CODE, PANGO_WEIGHT_NORMAL, 3.6, INK_LINE, 0.0 },
        [TEXT_COVER] = { FAMILY_TITLE, PANGO_WEIGHT_LIGHT, 17.0, INK_LINE, 0.0 },
        [TEXT_COVER_SAYS] = { FAMILY_TITLE, PANGO_WEIGHT_LIGHT, 5.0, INK_LINE, 0.0 },
    };
    _Static_assert(RT_COUNT(LOOKS) == TEXT_STYLE_COUNT, "a look for every style");
    return &LOOKS[style];
}

bool pen_init(struct pen *pen, cairo_t *cr)
{
    /* the thread's own map, which keeps the fonts it has found; sizes are absolute, so its resolution is of no account */
    *pen = (struct pen){ .cr = cr, .fonts = g_object_ref(pango_cairo_font_map_get_default()) };
    PangoFontFamily **families = NULL;
    int n_families = 0;
    pango_font_map_list_families(pen->fonts, &families, &n_families);
    g_free(families);
    if (n_families == 0) {
        g_object_unref(pen->fonts);
        return false;
    }
    pen->pango = pango_font_map_create_context(pen->fonts);
    pango_context_set_round_glyph_positions(pen->pango, FALSE);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(pen->pango, options);
    cairo_font_options_destroy(options);
    return true;
}

void pen_release(struct pen *pen)
{
    g_object_unref(pen->pango);
    g_object_unref(pen->fonts);
}

void pen_colour(struct pen *pen, struct colour c) { cairo_set_source_rgb(pen->cr, c.r, c.g, c.b); }
void pen_ink(struct pen *pen, enum ink ink)
{
    pen_colour(pen, pen->on_white && ink == INK_SHEET ? (struct colour){ 1.0, 1.0, 1.0 } : colour_ink(ink));
}

void pen_line(struct pen *pen, struct vec2 a, struct vec2 b, double width_mm)
{
    cairo_set_line_width(pen->cr, width_mm);
    cairo_move_to(pen->cr, a.x, a.y);
    cairo_line_to(pen->cr, b.x, b.y);
    cairo_stroke(pen->cr);
}

void pen_path(struct pen *pen, const struct vec2 *points, uint32_t n, bool closed)
{
    for (uint32_t i = 0; i < n; i++)
        if (i == 0)
            cairo_move_to(pen->cr, points[i].x, points[i].y);
        else
            cairo_line_to(pen->cr, points[i].x, points[i].y);
    if (closed)
        cairo_close_path(pen->cr);
}

void pen_path_box(struct pen *pen, struct draw_box box)
{
    cairo_rectangle(pen->cr, box.x_mm, box.y_mm, box.w_mm, box.h_mm);
}

void pen_dashes(struct pen *pen, double on_mm, double off_mm)
{
    const double dashes[2] = { on_mm, off_mm };
    cairo_set_dash(pen->cr, dashes, on_mm > 0.0 ? 2 : 0, 0.0);
}

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

/* A port's number stays with its colon: `switch:` at the end of a line and `16` on the next is read as two things. */
static void keep_ports(PangoAttrList *attributes, struct str text)
{
    for (size_t i = 1; i + 1 < text.n; i++) {
        if (text.p[i] != ':' || !is_digit(text.p[i + 1]) || text.p[i - 1] == ' ')
            continue;
        PangoAttribute *keep = pango_attr_allow_breaks_new(FALSE);
        keep->start_index = (guint)i;
        for (i++; i < text.n && is_digit(text.p[i]);)
            i++;
        keep->end_index = (guint)i;
        pango_attr_list_insert(attributes, keep);
    }
}

/* The text laid out in its style on one line; the caller gives the layout back. */
static PangoLayout *laid_out(const struct pen *pen, enum text_style style, struct str text)
{
    const struct text_look *look = text_look(style);
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, look->family);
    pango_font_description_set_weight(font, look->weight);
    pango_font_description_set_absolute_size(font, look->size_mm * PANGO_SCALE);
    PangoLayout *layout = pango_layout_new(pen->pango);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    PangoAttrList *attributes = pango_attr_list_new();
    pango_attr_list_insert(attributes, pango_attr_font_features_new("tnum, cv05"));
    pango_attr_list_insert(attributes, pango_attr_insert_hyphens_new(FALSE)); /* a name that is broken has none */
    keep_ports(attributes, text);
    pango_layout_set_attributes(layout, attributes);
    pango_attr_list_unref(attributes);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    pango_layout_set_text(layout, text.p ? text.p : "", (int)text.n);
    return layout;
}

static struct text_size size_of(PangoLayout *layout)
{
    int w = 0, h = 0;
    pango_layout_get_size(layout, &w, &h);
    return (struct text_size){ (double)w / PANGO_SCALE, (double)h / PANGO_SCALE,
                               (double)pango_layout_get_baseline(layout) / PANGO_SCALE };
}

struct text_size pen_measure(const struct pen *pen, enum text_style style, struct str text)
{
    PangoLayout *layout = laid_out(pen, style, text);
    const struct text_size size = size_of(layout);
    g_object_unref(layout);
    return size;
}

static void show(struct pen *pen, enum text_style style, enum ink ink, PangoLayout *layout, double x_mm, double y_mm)
{
    cairo_t *cr = pen->cr;
    const double halo_mm = text_look(style)->halo_mm;
    if (halo_mm > 0.0) {
        cairo_move_to(cr, x_mm, y_mm);
        pango_cairo_layout_path(cr, layout);
        cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
        cairo_set_line_width(cr, 2.0 * halo_mm);
        pen_ink(pen, INK_SHEET);
        cairo_stroke(cr);
        cairo_set_line_join(cr, CAIRO_LINE_JOIN_MITER);
    }
    pen_ink(pen, ink);
    cairo_move_to(cr, x_mm, y_mm);
    pango_cairo_show_layout(cr, layout);
    cairo_new_path(cr);
}

void pen_text_in(struct pen *pen, enum text_style style, enum ink ink, struct str text, double x_mm, double y_mm)
{
    PangoLayout *layout = laid_out(pen, style, text);
    show(pen, style, ink, layout, x_mm, y_mm);
    g_object_unref(layout);
}

void pen_text(struct pen *pen, enum text_style style, struct str text, double x_mm, double y_mm)
{
    pen_text_in(pen, style, text_look(style)->ink, text, x_mm, y_mm);
}

void pen_text_turned(struct pen *pen, enum text_style style, struct str text, struct vec2 middle, double turn_rad)
{
    PangoLayout *layout = laid_out(pen, style, text);
    const struct text_size size = size_of(layout);
    cairo_save(pen->cr);
    cairo_translate(pen->cr, middle.x, middle.y);
    cairo_rotate(pen->cr, turn_rad);
    show(pen, style, text_look(style)->ink, layout, -size.w_mm / 2.0, -size.h_mm / 2.0);
    cairo_restore(pen->cr);
    g_object_unref(layout);
}

/* ---- paragraphs ---- */

static PangoLayout *broken_to(const struct pen *pen, enum text_style style, struct str text, double w_mm)
{
    static const double LINE = 1.0; /* of the font's own height: longer lines want more air */
    PangoLayout *layout = laid_out(pen, style, text);
    pango_layout_set_single_paragraph_mode(layout, FALSE);
    pango_layout_set_width(layout, (int)(w_mm * PANGO_SCALE));
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    pango_layout_set_line_spacing(layout, (float)LINE);
    return layout;
}

double pen_paragraph_mm(const struct pen *pen, enum text_style style, struct str text, double w_mm)
{
    PangoLayout *layout = broken_to(pen, style, text, w_mm);
    const double h_mm = text.n ? size_of(layout).h_mm : 0.0;
    g_object_unref(layout);
    return h_mm;
}

size_t pen_paragraph_fit(const struct pen *pen, enum text_style style, struct str text, double w_mm, double h_mm)
{
    PangoLayout *layout = broken_to(pen, style, text, w_mm);
    PangoLayoutIter *line = pango_layout_get_iter(layout);
    size_t fits = 0;
    do {
        int top = 0, foot = 0;
        pango_layout_iter_get_line_yrange(line, &top, &foot);
        fits = (size_t)pango_layout_iter_get_index(line);
        if (foot > (int)(h_mm * PANGO_SCALE))
            break;
        fits = text.n; /* unless another line follows */
    } while (pango_layout_iter_next_line(line));
    pango_layout_iter_free(line);
    g_object_unref(layout);
    return fits;
}

void pen_paragraph_widths(const struct pen *pen, enum text_style style, struct str text, double *line_mm,
                          double *word_mm)
{
    PangoLayout *layout = laid_out(pen, style, text);
    pango_layout_set_single_paragraph_mode(layout, FALSE);
    *line_mm = text.n ? size_of(layout).w_mm : 0.0;
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD);
    pango_layout_set_width(layout, 0);
    *word_mm = text.n ? size_of(layout).w_mm : 0.0;
    g_object_unref(layout);
}

static const PangoAlignment ALIGN[] = { PANGO_ALIGN_LEFT, PANGO_ALIGN_RIGHT, PANGO_ALIGN_CENTER };

void pen_text_ended(struct pen *pen, enum text_style style, enum ink ink, enum pen_align align, struct str text,
                    double x_mm, double y_mm, double w_mm)
{
    PangoLayout *layout = laid_out(pen, style, text);
    pango_layout_set_width(layout, (int)(w_mm * PANGO_SCALE));
    pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
    pango_layout_set_alignment(layout, ALIGN[align]);
    show(pen, style, ink, layout, x_mm, y_mm);
    g_object_unref(layout);
}

void pen_paragraph(struct pen *pen, enum text_style style, enum ink ink, enum pen_align align, struct str text,
                   double x_mm, double y_mm, double w_mm)
{
    PangoLayout *layout = broken_to(pen, style, text, w_mm);
    pango_layout_set_alignment(layout, ALIGN[align]);
    show(pen, style, ink, layout, x_mm, y_mm);
    g_object_unref(layout);
}

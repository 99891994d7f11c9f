#include "draw/pen.h"

#include <pango/pangocairo.h>

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

/* Pango's getters change nothing, but do not say so. */
static PangoLayout *layout_at(gconstpointer key) { return (PangoLayout *)(uintptr_t)key; }

/* Layouts are alike that were asked for with the same words, look, width and ways of breaking. */
static guint layout_hash(gconstpointer key)
{
    PangoLayout *layout = layout_at(key);
    const guint width = (guint)pango_layout_get_width(layout);
    const guint size = (guint)pango_font_description_get_size(pango_layout_get_font_description(layout));
    return g_str_hash(pango_layout_get_text(layout)) ^ width * 31u ^ size * 2654435761u;
}

static gboolean layout_equal(gconstpointer one, gconstpointer other)
{
    PangoLayout *a = layout_at(one), *b = layout_at(other);
    return pango_layout_get_width(a) == pango_layout_get_width(b) &&
           pango_layout_get_single_paragraph_mode(a) == pango_layout_get_single_paragraph_mode(b) &&
           pango_layout_get_wrap(a) == pango_layout_get_wrap(b) &&
           pango_layout_get_ellipsize(a) == pango_layout_get_ellipsize(b) &&
           pango_font_description_equal(pango_layout_get_font_description(a), pango_layout_get_font_description(b)) &&
           strcmp(pango_layout_get_text(a), pango_layout_get_text(b)) == 0;
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
    pen->laid = g_hash_table_new_full(layout_hash, layout_equal, g_object_unref, NULL);
    return true;
}

void pen_release(struct pen *pen)
{
    g_hash_table_unref(pen->laid);
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

/* How a text is broken into lines. */
enum breaking {
    ON_ONE_LINE,
    AT_LINE_FEEDS, /* alone */
    AFTER_WORDS,   /* each */
    TO_WIDTH,
    ENDED /* one line, by an ellipsis where it is wider */
};

static void set_breaking(PangoLayout *layout, enum breaking breaking, double w_mm)
{
    static const float LINE = 1.0f; /* of the font's own height: longer lines want more air */
    pango_layout_set_single_paragraph_mode(layout, breaking == ON_ONE_LINE || breaking == ENDED);
    if (breaking == AT_LINE_FEEDS || breaking == AFTER_WORDS || breaking == TO_WIDTH)
        pango_layout_set_line_spacing(layout, LINE);
    if (breaking == TO_WIDTH)
        pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    if (breaking == TO_WIDTH || breaking == ENDED)
        pango_layout_set_width(layout, (int)(w_mm * PANGO_SCALE));
    if (breaking == AFTER_WORDS)
        pango_layout_set_width(layout, 0);
    if (breaking == ENDED)
        pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
}

/* The text as it is asked for, not looked at yet, so that it has cost nothing; the caller gives it back. */
static PangoLayout *layout_of(const struct pen *pen, enum text_style style, struct str text, enum breaking breaking,
                              double w_mm)
{
    const struct text_look *look = text_look(style);
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, look->family);
    pango_font_description_set_weight(font, look->weight);
    pango_font_description_set_absolute_size(font, look->size_mm * PANGO_SCALE);
    PangoLayout *layout = pango_layout_new(pen->pango);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    pango_layout_set_text(layout, text.p ? text.p : "", (int)text.n);
    set_breaking(layout, breaking, w_mm);
    return layout;
}

static void set_attributes(PangoLayout *layout, struct str text)
{
    PangoAttrList *attributes = pango_attr_list_new();
    pango_attr_list_insert(attributes, pango_attr_font_features_new("tnum, cv05"));
    pango_attr_list_insert(attributes, pango_attr_insert_hyphens_new(FALSE)); /* a name that is broken has none */
    keep_ports(attributes, text);
    pango_layout_set_attributes(layout, attributes);
    pango_attr_list_unref(attributes);
}

/* The same, laid out once for all who ask; the caller gives it back unchanged. */
static PangoLayout *laid_out(const struct pen *pen, enum text_style style, struct str text, enum breaking breaking,
                             double w_mm)
{
    PangoLayout *layout = layout_of(pen, style, text, breaking, w_mm);
    PangoLayout *kept = g_hash_table_lookup(pen->laid, layout);
    if (kept) {
        g_object_unref(layout);
        return g_object_ref(kept);
    }
    set_attributes(layout, text);
    g_hash_table_add(pen->laid, g_object_ref(layout));
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
    PangoLayout *layout = laid_out(pen, style, text, ON_ONE_LINE, 0.0);
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
    PangoLayout *layout = laid_out(pen, style, text, ON_ONE_LINE, 0.0);
    show(pen, style, ink, layout, x_mm, y_mm);
    g_object_unref(layout);
}

void pen_text(struct pen *pen, enum text_style style, struct str text, double x_mm, double y_mm)
{
    pen_text_in(pen, style, text_look(style)->ink, text, x_mm, y_mm);
}

void pen_text_turned(struct pen *pen, enum text_style style, struct str text, struct vec2 middle, double turn_rad)
{
    PangoLayout *layout = laid_out(pen, style, text, ON_ONE_LINE, 0.0);
    const struct text_size size = size_of(layout);
    cairo_save(pen->cr);
    cairo_translate(pen->cr, middle.x, middle.y);
    cairo_rotate(pen->cr, turn_rad);
    show(pen, style, text_look(style)->ink, layout, -size.w_mm / 2.0, -size.h_mm / 2.0);
    cairo_restore(pen->cr);
    g_object_unref(layout);
}

/* ---- paragraphs ---- */

/* A text that was found to be no wider than that breaks at its line feeds alone. */
static PangoLayout *broken_to(const struct pen *pen, enum text_style style, struct str text, double w_mm)
{
    PangoLayout *whole = layout_of(pen, style, text, AT_LINE_FEEDS, 0.0);
    PangoLayout *kept = g_hash_table_lookup(pen->laid, whole);
    int w = 0;
    g_object_unref(whole);
    if (kept)
        pango_layout_get_size(kept, &w, NULL);
    if (kept && w <= (int)(w_mm * PANGO_SCALE))
        return g_object_ref(kept);
    return laid_out(pen, style, text, TO_WIDTH, w_mm);
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

/* Is there any place within it where a line may end? */
static bool may_break(PangoLayout *layout)
{
    int n = 0;
    const PangoLogAttr *at = pango_layout_get_log_attrs_readonly(layout, &n);
    for (int i = 1; i + 1 < n; i++)
        if (at[i].is_line_break)
            return true;
    return false;
}

void pen_paragraph_widths(const struct pen *pen, enum text_style style, struct str text, double *line_mm,
                          double *word_mm)
{
    *line_mm = *word_mm = 0.0;
    if (!text.n)
        return;
    PangoLayout *whole = laid_out(pen, style, text, AT_LINE_FEEDS, 0.0);
    *line_mm = *word_mm = size_of(whole).w_mm;
    if (may_break(whole)) {
        PangoLayout *words = laid_out(pen, style, text, AFTER_WORDS, 0.0);
        *word_mm = size_of(words).w_mm;
        g_object_unref(words);
    }
    g_object_unref(whole);
}

/* Its lines within a box w_mm wide.  Layouts stand to the left, so that one serves all; what is not at the left has no halo. */
static void show_aligned(struct pen *pen, enum text_style style, enum ink ink, enum pen_align align,
                         PangoLayout *layout, double x_mm, double y_mm, double w_mm)
{
    if (align == PEN_LEFT) {
        show(pen, style, ink, layout, x_mm, y_mm);
        return;
    }
    PangoLayoutIter *line = pango_layout_get_iter(layout);
    pen_ink(pen, ink);
    do {
        PangoRectangle box;
        pango_layout_iter_get_line_extents(line, NULL, &box);
        const int spare = (int)(w_mm * PANGO_SCALE) - box.width;
        const double right_mm = (double)(align == PEN_RIGHT ? spare : spare / 2) / PANGO_SCALE;
        cairo_move_to(pen->cr, x_mm + right_mm, y_mm + (double)pango_layout_iter_get_baseline(line) / PANGO_SCALE);
        pango_cairo_show_layout_line(pen->cr, pango_layout_iter_get_line_readonly(line));
    } while (pango_layout_iter_next_line(line));
    pango_layout_iter_free(line);
    cairo_new_path(pen->cr);
}

void pen_text_ended(struct pen *pen, enum text_style style, enum ink ink, enum pen_align align, struct str text,
                    double x_mm, double y_mm, double w_mm)
{
    PangoLayout *layout = laid_out(pen, style, text, ENDED, w_mm);
    show_aligned(pen, style, ink, align, layout, x_mm, y_mm, w_mm);
    g_object_unref(layout);
}

void pen_paragraph(struct pen *pen, enum text_style style, enum ink ink, enum pen_align align, struct str text,
                   double x_mm, double y_mm, double w_mm)
{
    PangoLayout *layout = broken_to(pen, style, text, w_mm);
    show_aligned(pen, style, ink, align, layout, x_mm, y_mm, w_mm);
    g_object_unref(layout);
}

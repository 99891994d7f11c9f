/* Sets each label into its cell: as large as there is room for, never cut. */
#include "book/labels.h"

#include <math.h>

#include "book/flow_int.h"
#include "promise/port_map.h"

/* Letters where there is room enough (em), and the steps down to the least. */
static const double NAME_MM = 4.2, FAR_MM = 2.9, FAR_SHARE = 0.85, STEP = 0.96, FOLD_MARK_MM = 1.2;

struct label_sheets {
    const struct label_grid *grid;
    const port_labels *labels;
    uint32_t used;
};

struct label_page {
    const struct label_sheets *sheets;
    uint32_t page; /* from 0 */
};

/* The words of one label, or of one half of it, as set. */
struct setting {
    double name_mm, far_mm; /* em */
    double w_mm, h_mm;      /* of the box */
};

static double em_mm(enum text_style style) { return text_look(style)->size_mm; }

/* Height of a paragraph in letters of that size. */
static double tall_mm(const struct pen *pen, enum text_style style, double size_mm, struct str text, double w_mm)
{
    const double scale = size_mm / em_mm(style);
    return scale * pen_paragraph_mm(pen, style, text, w_mm / scale);
}

/* Is each of its words on one line? */
static bool keeps_words(const struct pen *pen, enum text_style style, double size_mm, struct str text, double w_mm)
{
    double line_mm, word_mm;
    pen_paragraph_widths(pen, style, text, &line_mm, &word_mm);
    return word_mm * size_mm / em_mm(style) <= w_mm;
}

static bool is_high_enough(const struct pen *pen, const struct setting *s, struct end_label label)
{
    return tall_mm(pen, TEXT_PAGE_B, s->name_mm, label.name, s->w_mm) +
               tall_mm(pen, TEXT_PAGE, s->far_mm, label.far, s->w_mm) <=
           s->h_mm;
}

/* The largest letters for where the other end is, beside those of the name; as below. */
static bool find_far(const struct pen *pen, struct end_label label, struct setting *s)
{
    for (double size_mm = fmin(FAR_MM, FAR_SHARE * s->name_mm);; size_mm *= STEP) {
        s->far_mm = fmax(LABEL_FAR_LEAST_MM, size_mm);
        const bool is_least = s->far_mm <= LABEL_FAR_LEAST_MM;
        if (is_high_enough(pen, s, label) && (is_least || keeps_words(pen, TEXT_PAGE, s->far_mm, label.far, s->w_mm)))
            return true;
        if (is_least)
            return false;
    }
}

/* The largest letters in which no word is broken; in the least ones words are broken where they must be. */
static bool find_setting(const struct pen *pen, struct end_label label, struct setting *s)
{
    for (double size_mm = NAME_MM;; size_mm *= STEP) {
        s->name_mm = fmax(LABEL_NAME_LEAST_MM, size_mm);
        const bool is_least = s->name_mm <= LABEL_NAME_LEAST_MM;
        if ((is_least || keeps_words(pen, TEXT_PAGE_B, s->name_mm, label.name, s->w_mm)) && find_far(pen, label, s))
            return true;
        if (is_least)
            return false;
    }
}

static void paint_text(struct pen *pen, enum text_style style, double size_mm, struct str text, double x_mm,
                       double y_mm, double w_mm)
{
    const double scale = size_mm / em_mm(style);
    cairo_save(pen->cr);
    cairo_translate(pen->cr, x_mm, y_mm);
    cairo_scale(pen->cr, scale, scale);
    pen_paragraph(pen, style, INK_LINE, PEN_LEFT, text, 0.0, 0.0, w_mm / scale);
    cairo_restore(pen->cr);
}

/* In the middle of the box's height. */
static void paint_words(struct pen *pen, const struct setting *s, struct end_label label, double x_mm, double y_mm)
{
    const double name_mm = tall_mm(pen, TEXT_PAGE_B, s->name_mm, label.name, s->w_mm),
                 far_mm = tall_mm(pen, TEXT_PAGE, s->far_mm, label.far, s->w_mm),
                 top_mm = y_mm + (s->h_mm - name_mm - far_mm) / 2.0;
    paint_text(pen, TEXT_PAGE_B, s->name_mm, label.name, x_mm, top_mm, s->w_mm);
    paint_text(pen, TEXT_PAGE, s->far_mm, label.far, x_mm, top_mm + name_mm, s->w_mm);
}

/* Two short lines where it is folded. */
static void paint_fold(struct pen *pen, struct draw_box cell)
{
    const double x = cell.x_mm + cell.w_mm / 2.0, end = cell.y_mm + cell.h_mm;
    pen_ink(pen, INK_SOFT);
    pen_line(pen, (struct vec2){ x, cell.y_mm + 0.4 }, (struct vec2){ x, cell.y_mm + 0.4 + FOLD_MARK_MM }, 0.15);
    pen_line(pen, (struct vec2){ x, end - 0.4 - FOLD_MARK_MM }, (struct vec2){ x, end - 0.4 }, 0.15);
}

static enum rt_code paint_label(struct pen *pen, struct draw_box cell, const struct port_label *label,
                                struct rt_problems *p)
{
    const bool is_folded = label->kind == LABEL_CABLE_END && cell.w_mm >= LABEL_FOLD_LEAST_MM;
    const double part_mm = is_folded ? cell.w_mm / 2.0 : cell.w_mm;
    struct setting s = { .w_mm = part_mm - 2.0 * LABEL_PAD_MM, .h_mm = cell.h_mm - 2.0 * LABEL_PAD_MM };
    if (!find_setting(pen, label->words, &s))
        return rt_fail(p, RT_LIMIT, RT_NOWHERE, "take a sheet of larger labels, or a shorter name",
                       "the label \"%.*s %.*s\" does not fit on %g x %g mm in letters of 5 points",
                       STR_ARG(label->words.name), STR_ARG(label->words.far), cell.w_mm, cell.h_mm);
    for (int half = 0; half < (is_folded ? 2 : 1); half++)
        paint_words(pen, &s, label->words, cell.x_mm + half * part_mm + LABEL_PAD_MM, cell.y_mm + LABEL_PAD_MM);
    if (is_folded)
        paint_fold(pen, cell);
    return RT_OK;
}

static enum rt_code paint_page(void *user, cairo_t *cr, struct str page_words, struct rt_problems *p)
{
    const struct label_page *page = user;
    const struct label_sheets *s = page->sheets;
    const uint32_t per_page = s->grid->columns * s->grid->rows;
    struct pen pen;
    (void)page_words; /* nothing but labels is on the sheet */
    if (!pen_init(&pen, cr))
        return rt_fail(p, RT_MISSING, RT_NOWHERE, "install a font, such as Debian's package fonts-inter",
                       "there is no font on this machine to write the labels with");
    enum rt_code code = RT_OK;
    for (uint32_t i = 0; i < per_page && !code; i++) {
        const uint32_t place = page->page * per_page + i;
        if (place >= s->used && place - s->used < s->labels->n)
            code = paint_label(&pen, label_cell(s->grid, place), &s->labels->v[place - s->used], p);
    }
    pen_release(&pen);
    return code;
}

static enum rt_code gather(const struct run *run, struct evaluation *ev, port_labels *out, struct rt_problems *p)
{
    struct proof *proof;
    const struct cable_plan *cables;
    const struct wire_links *links;
    const struct power_plan *power;
    struct port_map *map;
    RT_TRY(evaluation_proof(ev, &proof, p)); /* with layer2 */
    RT_TRY(evaluation_cables(ev, &cables, &links, p));
    RT_TRY(evaluation_power(ev, &power, p));
    RT_TRY(port_map_make(run, ev->layer2, links, power, &map, p));
    return port_map_labels(run->arena, map, out) ? RT_OK : rt_fail_memory(p);
}

enum rt_code labels_make(const struct run *run, struct evaluation *ev, const struct book_options *options,
                         struct flow_made *out, struct rt_problems *p)
{
    struct label_grid grid;
    port_labels labels;
    RT_TRY(label_grid_read(options->label_grid, options->paper, &grid, p));
    RT_TRY(gather(run, ev, &labels, p));
    const struct label_sheets sheets = { .grid = &grid, .labels = &labels, .used = options->labels_used };
    const uint32_t per_page = grid.columns * grid.rows;
    if (options->labels_used >= per_page)
        return rt_fail(p, RT_USAGE, RT_NOWHERE, "put in a new sheet, and leave --skip out",
                       "a sheet has %u labels, and %u are said to be used", per_page, options->labels_used);
    if (!labels.n)
        return rt_fail(p, RT_USAGE, RT_NOWHERE, "give the house its cables and equipment first",
                       "this house has nothing to label: no cable and no port");
    const uint32_t n_pages = (labels.n + options->labels_used + per_page - 1) / per_page;
    struct label_page *pages = ARENA_ARRAY(run->arena, struct label_page, n_pages);
    struct flow *f = flow_new(run->arena, options->paper);
    if (!pages || !f)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < n_pages; i++) {
        pages[i] = (struct label_page){ .sheets = &sheets, .page = i };
        flow_sheet(f, NULL, STR("labels"), grid.paper_w_mm, grid.paper_h_mm, paint_page, &pages[i]);
    }
    const struct flow_about about = { .form = options->form,
                                      .title = ev->h->name,
                                      .author = options->by,
                                      .subject = STR("the data network of the house: labels"),
                                      .date = options->date };
    return flow_write(run, f, &about, out, p);
}

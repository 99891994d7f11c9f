#include "draw/sheet.h"

#include <math.h>

#include "base/units.h"

#define FRAME_MM 7.0 /* outer border from the paper's edge */
#define INNER_MM 8.9 /* inner border */
#define MARGIN_MM SHEET_MARGIN_MM
#define HEAD_MM SHEET_HEAD_MM
#define FOOT_MM SHEET_FOOT_MM
#define DIMENSION_MM SHEET_DIMENSION_MM
#define NOTE_MM 64.0 /* width of the column of notes */
#define NOTE_APART_MM 14.0
#define NOTES_MM (NOTE_APART_MM + NOTE_MM)
#define ELBOW_MM 5.0
#define NOTE_SPACE_MM 5.0
#define SPOT_MM 1.7
#define FIGURE_FOOT_MM 27.0  /* of a figure: legend, keys, scale */
#define FIGURE_SHIFT_MM 15.0 /* they stand so much nearer to its lower edge than to that of a sheet */

bool sheet_is_figure(const struct sheet *s) { return s->options->figure_w_mm > 0.0; }
/* What stands from the left edge, and up from the lower one. */
static double left_mm(const struct sheet *s) { return sheet_is_figure(s) ? 0.0 : MARGIN_MM; }
static double up_mm(const struct sheet *s, double mm)
{
    return s->h_mm - mm + (sheet_is_figure(s) ? FIGURE_SHIFT_MM : 0.0);
}

double legend_share(const struct legend *g, double value)
{
    if (!g->is_log)
        return (value - g->lo) / (g->hi - g->lo);
    return log(fmax(value, g->lo * 1e-3) / g->lo) / log(g->hi / g->lo);
}

struct str sheet_figure(struct arena *a, double value)
{
    char digits[40];
    snprintf(digits, sizeof digits, "%.2f", fabs(value));
    size_t n = strlen(digits);
    while (digits[n - 1] == '0')
        n--;
    if (digits[n - 1] == '.')
        n--;
    digits[n] = '\0';
    const bool negative = value < 0.0 && strcmp(digits, "0") != 0;
    return str_from(arena_printf(a, "%s%s", negative ? "\u2212" : "", digits));
}

static struct str text(struct sheet *s, const char *fmt, ...) RT_PRINTF(2, 3);
static struct str text(struct sheet *s, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *made = arena_vprintf(s->arena, fmt, args);
    va_end(args);
    s->failed = s->failed || !made;
    return str_from(made ? made : "");
}

/* ---- notes ---- */

void sheet_wrap(struct sheet *s, enum text_style style, struct str whole, double width_mm, struct str **v, uint32_t *n)
{
    VEC(struct str) lines = { .v = *v, .n = *n, .cap = *n };
    size_t from = 0;
    while (from < whole.n) {
        size_t end = from, next = from;
        for (size_t i = from; i <= whole.n; i++) {
            if (i < whole.n && whole.p[i] != ' ')
                continue;
            const struct str try = { whole.p + from, i - from };
            if (end > from && pen_measure(&s->pen, style, try).w_mm > width_mm)
                break;
            end = i;
            next = i + 1;
        }
        const struct str line = { whole.p + from, end - from };
        if (line.n)
            s->failed = !VEC_PUSH(s->arena, &lines, line) || s->failed;
        from = next;
    }
    *v = lines.v;
    *n = lines.n;
}

static double lines_mm(struct sheet *s, enum text_style style) { return pen_measure(&s->pen, style, STR("x")).h_mm; }

static double widest_mm(struct sheet *s, enum text_style style, const struct str *v, uint32_t n)
{
    double widest = 0.0;
    for (uint32_t i = 0; i < n; i++)
        widest = fmax(widest, pen_measure(&s->pen, style, v[i]).w_mm);
    return widest;
}

static bool note_is_here(const struct sheet *s, const struct draw_note *n)
{
    const struct grid *g = &s->fields->grids.v[s->subject.grid];
    return n->floor == g->floor && (!n->what || n->what & (uint32_t)s->subject.what) &&
           (!n->bands || n->bands & 1u << s->subject.band);
}

static void break_note(struct sheet *s, struct sheet_note *note)
{
    sheet_wrap(s, TEXT_NOTE_HEAD, note->note->head, NOTE_MM, &note->head.v, &note->head.n);
    for (uint32_t i = 0; i < note->note->lines.n; i++)
        sheet_wrap(s, TEXT_NOTE, note->note->lines.v[i], NOTE_MM, &note->lines.v, &note->lines.n);
    for (uint32_t i = 0; i < note->note->advice.n; i++)
        sheet_wrap(s, TEXT_ADVICE, note->note->advice.v[i], NOTE_MM, &note->advice.v, &note->advice.n);
    note->box.w_mm = fmax(widest_mm(s, TEXT_NOTE_HEAD, note->head.v, note->head.n),
                          fmax(widest_mm(s, TEXT_NOTE, note->lines.v, note->lines.n),
                               widest_mm(s, TEXT_ADVICE, note->advice.v, note->advice.n)));
    note->box.h_mm = note->head.n * lines_mm(s, TEXT_NOTE_HEAD) + note->lines.n * lines_mm(s, TEXT_NOTE) +
                     note->advice.n * lines_mm(s, TEXT_ADVICE) + (note->advice.n ? 1.2 : 0.0) + 0.8;
}

static void find_notes(struct sheet *s)
{
    const draw_note_list *given = &s->options->notes;
    s->notes.v = ARENA_ARRAY(s->arena, struct sheet_note, given->n);
    if (!s->notes.v) {
        s->failed = true;
        return;
    }
    for (uint32_t i = 0; i < given->n; i++)
        if (note_is_here(s, &given->v[i])) {
            s->notes.v[s->notes.n] = (struct sheet_note){ .note = &given->v[i] };
            break_note(s, &s->notes.v[s->notes.n++]);
        }
}

/* From top to bottom of the paper, so that leader lines do not cross; notes are few. */
static void sort_notes(struct sheet *s)
{
    for (uint32_t i = 1; i < s->notes.n; i++)
        for (uint32_t k = i;
             k > 0 && plan_at(&s->plan, s->notes.v[k].note->at_m).y < plan_at(&s->plan, s->notes.v[k - 1].note->at_m).y;
             k--) {
            const struct sheet_note swap = s->notes.v[k];
            s->notes.v[k] = s->notes.v[k - 1];
            s->notes.v[k - 1] = swap;
        }
}

/* Those of one column one below the other, each as near to the height of its spot as the others let it.  Lines begin at x_mm, or
 * on the plan's left end at x_mm. */
static void place_notes(struct sheet *s, bool left, double x_mm, double top_mm, double bottom_mm)
{
    double free_from = top_mm;
    for (uint32_t i = 0; i < s->notes.n; i++) {
        struct sheet_note *n = &s->notes.v[i];
        if (n->is_left != left)
            continue;
        n->box.x_mm = left ? x_mm - n->box.w_mm : x_mm;
        n->box.y_mm = fmax(free_from, plan_at(&s->plan, n->note->at_m).y - n->box.h_mm / 2.0);
        free_from = n->box.y_mm + n->box.h_mm + NOTE_SPACE_MM;
    }
    double free_to = bottom_mm;
    for (uint32_t i = s->notes.n; i-- > 0;) {
        struct sheet_note *n = &s->notes.v[i];
        if (n->is_left != left)
            continue;
        n->box.y_mm = fmin(n->box.y_mm, free_to - n->box.h_mm);
        free_to = n->box.y_mm - NOTE_SPACE_MM;
    }
}

static enum ink note_ink(const struct draw_note *n) { return n->state == DRAW_BROKEN ? INK_ACCENT : INK_LINE; }

void sheet_draw_state(struct pen *pen, enum draw_state state, enum ink ink, struct vec2 at, double radius_mm)
{
    cairo_t *cr = pen->cr;
    pen_ink(pen, ink);
    if (state == DRAW_KEPT) {
        cairo_arc(cr, at.x, at.y, radius_mm, 0.0, 2.0 * RT_PI);
        cairo_fill(cr);
        return;
    }
    if (state == DRAW_UNKNOWN)
        pen_dashes(pen, 0.9, 0.7);
    cairo_arc(cr, at.x, at.y, radius_mm, 0.0, 2.0 * RT_PI);
    cairo_set_line_width(cr, 0.55);
    cairo_stroke(cr);
    pen_dashes(pen, 0, 0);
    if (state == DRAW_BROKEN) {
        const double k = radius_mm * 0.48;
        pen_line(pen, (struct vec2){ at.x - k, at.y - k }, (struct vec2){ at.x + k, at.y + k }, 0.5);
        pen_line(pen, (struct vec2){ at.x - k, at.y + k }, (struct vec2){ at.x + k, at.y - k }, 0.5);
    }
}

static void draw_spot(struct pen *pen, const struct draw_note *n, struct vec2 at)
{
    pen_ink(pen, INK_SHEET);
    cairo_arc(pen->cr, at.x, at.y, SPOT_MM + 0.8, 0.0, 2.0 * RT_PI);
    cairo_fill(pen->cr);
    sheet_draw_state(pen, n->state, note_ink(n), at, n->state == DRAW_KEPT ? SPOT_MM * 0.75 : SPOT_MM);
}

void sheet_draw_leaders(struct sheet *s)
{
    struct pen *pen = &s->pen;
    for (uint32_t i = 0; i < s->notes.n && !sheet_is_figure(s); i++) {
        const struct sheet_note *n = &s->notes.v[i];
        const struct vec2 at = plan_at(&s->plan, n->note->at_m);
        const double y_mm = n->box.y_mm + lines_mm(s, TEXT_NOTE_HEAD) / 2.0;
        const double out = n->is_left ? -1.0 : 1.0; /* of the plan */
        const double edge_mm = n->is_left ? n->box.x_mm + n->box.w_mm : n->box.x_mm;
        const struct vec2 end = { edge_mm - out * 1.5, y_mm }, elbow = { end.x - out * ELBOW_MM, y_mm };
        const struct vec2 way = vec2_sub(elbow, at);
        const struct vec2 from = vec2_add(at, vec2_scale(way, SPOT_MM / fmax(SPOT_MM, vec2_len(way))));
        const struct vec2 points[3] = { from, elbow, end };
        pen_path(pen, points, 3, false);
        pen_ink(pen, INK_SHEET);
        cairo_set_line_width(pen->cr, 0.9);
        cairo_stroke_preserve(pen->cr);
        pen_ink(pen, note_ink(n->note));
        cairo_set_line_width(pen->cr, 0.3);
        cairo_stroke(pen->cr);
        label_block_strip(&s->space, from, elbow, 0.3);
    }
    for (uint32_t i = 0; i < s->notes.n; i++) {
        const struct vec2 at = plan_at(&s->plan, s->notes.v[i].note->at_m);
        draw_spot(pen, s->notes.v[i].note, at);
        label_block_box(&s->space, (struct draw_box){ at.x - SPOT_MM, at.y - SPOT_MM, 2 * SPOT_MM, 2 * SPOT_MM });
    }
}

static void write_lines(struct sheet *s, enum text_style style, enum ink ink, const struct str *v, uint32_t n,
                        double x_mm, double *y_mm)
{
    for (uint32_t i = 0; i < n; i++) {
        const struct text_size size = pen_measure(&s->pen, style, v[i]);
        pen_text_in(&s->pen, style, ink, v[i], x_mm, *y_mm);
        label_take(&s->space, v[i], (struct draw_box){ x_mm, *y_mm, size.w_mm, size.h_mm - 0.01 });
        *y_mm += size.h_mm;
    }
}

static void write_notes(struct sheet *s)
{
    for (uint32_t i = 0; i < s->notes.n && !sheet_is_figure(s); i++) {
        const struct sheet_note *n = &s->notes.v[i];
        double y_mm = n->box.y_mm;
        write_lines(s, TEXT_NOTE_HEAD, note_ink(n->note), n->head.v, n->head.n, n->box.x_mm, &y_mm);
        y_mm += 0.8;
        write_lines(s, TEXT_NOTE, INK_LINE, n->lines.v, n->lines.n, n->box.x_mm, &y_mm);
        y_mm += 1.2;
        write_lines(s, TEXT_ADVICE, INK_SOFT, n->advice.v, n->advice.n, n->box.x_mm, &y_mm);
    }
}

/* ---- layout ---- */

/* Sources: ISO 216 and ANSI/ASME Y14.1 (sizes). */
enum { PAPER_A4, PAPER_A3, PAPER_LETTER };
static const struct {
    const char *name;
    double w_mm, h_mm;
} PAPERS[] = { { "A4", 297, 210 }, { "A3", 420, 297 }, { "Letter", 279.4, 215.9 } };

/* Of a house that is drawn on one paper only. */
static uint32_t only_paper(const struct sheet *s)
{
    return s->options->paper == DRAW_ON_LETTER ? PAPER_LETTER : PAPER_A4;
}

/* Room for a plan and what stands beside it. */
static struct vec2 paper_room(uint32_t paper)
{
    return (struct vec2){ PAPERS[paper].w_mm - 2.0 * MARGIN_MM - DIMENSION_MM,
                          PAPERS[paper].h_mm - HEAD_MM - FOOT_MM - DIMENSION_MM };
}

static bool fits_room(struct vec2 room_mm, double scale, struct vec2 span_m, double side_mm)
{
    return span_m.x * 1000.0 / scale <= room_mm.x - side_mm && span_m.y * 1000.0 / scale <= room_mm.y;
}

static bool fits(uint32_t paper, double scale, struct vec2 span_m, double side_mm)
{
    return fits_room(paper_room(paper), scale, span_m, side_mm);
}

/* The largest scale in this room.  Source: ISO 5455 (reductions 1:2, 1:5, 1:10 and their tenfolds), which permits scales between
 * them where they are needed: a whole house on small paper needs them. */
static double choose_scale(struct vec2 span_m, double side_mm, struct vec2 room_mm)
{
    static const double STEPS[] = { 20, 50, 75, 100, 125, 150, 200, 250, 300, 400, 500, 750 };
    for (double ten = 1.0; ten < 1e5; ten *= 10.0)
        for (uint32_t i = ten > 1.0 ? 3 : 0; i < RT_COUNT(STEPS); i++)
            if (fits_room(room_mm, STEPS[i] * ten, span_m, side_mm))
                return STEPS[i] * ten;
    return 1e7;
}

/* The largest scale of ISO 5455, on the smaller paper if that will do. */
static double choose_iso_paper(struct vec2 span_m, double side_mm, uint32_t least_paper, uint32_t *paper)
{
    static const double STEPS[] = { 2, 5, 10 };
    for (double ten = 10.0; ten < 1e7; ten *= 10.0)
        for (uint32_t i = 0; i < RT_COUNT(STEPS); i++)
            for (*paper = least_paper; *paper <= PAPER_A3; ++*paper) {
                const double scale = STEPS[i] * ten;
                if (fits(*paper, scale, span_m, side_mm))
                    return scale;
                if (scale < 50.0)
                    break; /* the larger paper is not worth so large a plan */
            }
    *paper = PAPER_A3;
    return 1e7;
}

static double choose_paper(const struct sheet *s, struct vec2 span_m, double side_mm, uint32_t least_paper,
                           uint32_t *paper)
{
    if (s->options->paper == DRAW_ON_ISO)
        return choose_iso_paper(span_m, side_mm, least_paper, paper);
    *paper = only_paper(s);
    return choose_scale(span_m, side_mm, paper_room(*paper));
}

static struct vec2 span_of(const struct house *h, uint32_t floor, bool turned)
{
    struct vec2 lo, hi;
    plan_bounds(h, floor, &lo, &hi);
    const struct vec2 d = vec2_sub(hi, lo);
    return turned ? (struct vec2){ d.y, d.x } : d;
}

/* All floors of a house lie the same way round: the way that lets them be drawn larger. */
static bool house_is_turned(const struct sheet *s)
{
    const struct house *h = s->house;
    double gain = 0.0;
    for (uint32_t i = 0; i < h->floors.n; i++) {
        uint32_t paper[2];
        const double upright = choose_paper(s, span_of(h, i, false), NOTES_MM, PAPER_A4, &paper[0]);
        const double turned = choose_paper(s, span_of(h, i, true), NOTES_MM, PAPER_A4, &paper[1]);
        gain += log(upright / turned) + 0.3 * ((double)paper[0] - (double)paper[1]);
    }
    return gain > 1e-9;
}

/* Notes stand on the side of the plan that is nearer to their spots, so that leader lines do not run across it: in a column on
 * either side if the paper has room for two, else all where the lines are shorter. */
static void choose_sides(struct sheet *s, struct vec2 span_m, uint32_t paper)
{
    const double middle_mm = s->plan.x_mm + plan_mm(&s->plan, span_m.x) / 2.0;
    double right_of_middle_mm = 0.0;
    for (uint32_t i = 0; i < s->notes.n; i++) {
        const double off_mm = plan_at(&s->plan, s->notes.v[i].note->at_m).x - middle_mm;
        s->notes.v[i].is_left = off_mm < 0.0;
        right_of_middle_mm += off_mm;
    }
    const bool has_room = fits(paper, s->plan.scale, span_m, 2.0 * NOTES_MM);
    for (uint32_t i = 0; i < s->notes.n && !has_room; i++)
        s->notes.v[i].is_left = right_of_middle_mm < 0.0;
}

double sheet_side_mm(const struct sheet *s) { return sheet_is_small(s) ? 68.0 : 104.0; }

static bool has_column(const struct sheet *s, bool left)
{
    bool found = false;
    for (uint32_t i = 0; i < s->notes.n; i++)
        found = found || s->notes.v[i].is_left == left;
    return found;
}

static void take(struct sheet *s, uint32_t paper)
{
    s->paper = PAPERS[paper].name;
    s->w_mm = PAPERS[paper].w_mm;
    s->h_mm = PAPERS[paper].h_mm;
}

/* The plan at the largest scale that fits the figure, which becomes as high as that asks for.  Spots of notes are marked; their words
 * stand in the text around it. */
static void lay_out_figure(struct sheet *s)
{
    const struct draw_options *o = s->options;
    const struct vec2 span_m = span_of(s->house, s->plan.floor, s->plan.is_turned);
    const struct vec2 room_mm = { o->figure_w_mm - DIMENSION_MM - 1.0, o->figure_h_mm - DIMENSION_MM - FIGURE_FOOT_MM };
    s->plan.scale = choose_scale(span_m, 0.0, room_mm);
    s->paper = "";
    s->w_mm = o->figure_w_mm;
    s->h_mm = DIMENSION_MM + plan_mm(&s->plan, span_m.y) + FIGURE_FOOT_MM;
    s->plan.x_mm = DIMENSION_MM;
    s->plan.y_mm = DIMENSION_MM;
}

void sheet_lay_out(struct sheet *s)
{
    const struct grid *g = &s->fields->grids.v[s->subject.grid];
    s->plan = (struct plan){ .house = s->house, .floor = g->floor, .height_m = g->height_m };
    plan_bounds(s->house, g->floor, &s->plan.lo, &s->plan.hi);
    find_notes(s);
    if (s->failed)
        return;
    uint32_t paper;
    s->plan.is_turned = house_is_turned(s);
    if (sheet_is_figure(s)) {
        lay_out_figure(s);
        return;
    }
    const struct vec2 span_m = span_of(s->house, g->floor, s->plan.is_turned);
    const bool is_cable = s->subject.what == DRAW_CABLE; /* its tables stand beside the plan */
    const double side_mm = is_cable ? sheet_side_mm(s) : s->notes.n ? NOTES_MM : 0.0;
    s->plan.scale = choose_paper(s, span_m, side_mm, is_cable ? PAPER_A3 : PAPER_A4, &paper);
    take(s, paper);
    const double plan_w = plan_mm(&s->plan, span_m.x), plan_h = plan_mm(&s->plan, span_m.y);
    if (!is_cable)
        choose_sides(s, span_m, paper);
    const double left_w = has_column(s, true) ? NOTES_MM : 0.0;
    const double right_w = is_cable ? side_mm : has_column(s, false) ? NOTES_MM : 0.0;
    s->plan.x_mm = left_w + (s->w_mm - plan_w - left_w - right_w + DIMENSION_MM) / 2.0;
    s->plan.y_mm = HEAD_MM + DIMENSION_MM + (s->h_mm - HEAD_MM - FOOT_MM - DIMENSION_MM - plan_h) / 2.0;
    sort_notes(s);
    place_notes(s, true, s->plan.x_mm - DIMENSION_MM - NOTE_APART_MM, HEAD_MM, s->h_mm - FOOT_MM);
    place_notes(s, false, s->plan.x_mm + plan_w + NOTE_APART_MM, HEAD_MM, s->h_mm - FOOT_MM);
}

void sheet_lay_out_blank(struct sheet *s)
{
    s->plan = (struct plan){ .house = s->house, .floor = NO_REF };
    sheet_take_paper(s, PAPER_A3);
}

void sheet_take_paper(struct sheet *s, uint32_t paper)
{
    take(s, s->options->paper == DRAW_ON_ISO ? paper : only_paper(s));
}

void sheet_begin(struct sheet *s)
{
    struct pen *pen = &s->pen;
    pen_ink(pen, INK_SHEET);
    pen_path_box(pen, (struct draw_box){ 0, 0, s->w_mm, s->h_mm });
    cairo_fill(pen->cr);
    if (sheet_is_figure(s))
        return;
    pen_ink(pen, INK_LINE);
    pen_path_box(pen, (struct draw_box){ FRAME_MM, FRAME_MM, s->w_mm - 2 * FRAME_MM, s->h_mm - 2 * FRAME_MM });
    cairo_set_line_width(pen->cr, 0.35);
    cairo_stroke(pen->cr);
    pen_ink(pen, INK_HAIR);
    pen_path_box(pen, (struct draw_box){ INNER_MM, INNER_MM, s->w_mm - 2 * INNER_MM, s->h_mm - 2 * INNER_MM });
    cairo_set_line_width(pen->cr, 0.25);
    cairo_stroke(pen->cr);
}

/* ---- head and foot ---- */

static void write_head(struct sheet *s, const struct sheet_words *w)
{
    pen_text(&s->pen, TEXT_TITLE, w->title, MARGIN_MM - 0.4, 12.5);
    pen_text(&s->pen, TEXT_HEAD, w->head, MARGIN_MM, 23.0);
    pen_text(&s->pen, TEXT_SOFT, w->soft, MARGIN_MM, 27.4);
}

static void write_title_block(struct sheet *s, const struct sheet_words *w)
{
    const struct str keys[] = { STR("house"), STR("drawing"), STR("floor"), STR("estimate of walls"),
                                STR("scale"), STR("book") };
    const struct str values[] = {
        w->house.n ? w->house : s->house->name,
        w->drawing,
        w->height,
        w->estimate.n ? w->estimate : str_from(estimate_name(s->fields->options.trace.estimate)),
        s->plan.scale > 0.0 ? text(s, "1:%g on %s", s->plan.scale, s->paper) : text(s, "none, on %s", s->paper),
        s->options->page_words
    };
    const double high = 11.0, pad = 3.0, bottom = s->h_mm - INNER_MM, right = s->w_mm - INNER_MM;
    enum { FLOOR = 2, ESTIMATE = 3, PAGE = 5 };
    double width[RT_COUNT(keys)] = { 0 }, total = 0.0;
    for (uint32_t i = 0; i < RT_COUNT(keys); i++) {
        if ((i == ESTIMATE && s->subject.what & (DRAW_CABLE | DRAW_CABINET | DRAW_PORTS)) ||
            (i == FLOOR && !w->height.n) || (i == PAGE && !values[i].n))
            continue; /* what is no field does not depend on the estimate */
        width[i] = 2.0 * pad +
                   fmax(pen_measure(&s->pen, TEXT_KEY, keys[i]).w_mm, pen_measure(&s->pen, TEXT_VALUE, values[i]).w_mm);
        total += width[i];
    }
    double x = right - total;
    for (uint32_t i = 0; i < RT_COUNT(keys); i++) {
        if (width[i] <= 0.0)
            continue;
        if (i > 0) {
            pen_ink(&s->pen, INK_HAIR);
            pen_line(&s->pen, (struct vec2){ x, bottom - high }, (struct vec2){ x, bottom }, 0.25);
        }
        pen_text(&s->pen, TEXT_KEY, keys[i], x + pad, bottom - high + 1.6);
        pen_text(&s->pen, TEXT_VALUE, values[i], x + pad, bottom - high + 5.4);
        x += width[i];
    }
    pen_ink(&s->pen, INK_LINE);
    pen_path_box(&s->pen, (struct draw_box){ right - total, bottom - high, total, high });
    cairo_set_line_width(s->pen.cr, 0.3);
    cairo_stroke(s->pen.cr);
}

static void draw_scale_bar(struct sheet *s)
{
    double metres = 1.0;
    for (double ten = 0.1; ten < 1e5; ten *= 10.0)
        for (int i = 0; i < 3; i++) {
            static const double STEPS[] = { 1, 2, 5 };
            if (plan_mm(&s->plan, STEPS[i] * ten) <= 52.0)
                metres = STEPS[i] * ten;
        }
    const double w = plan_mm(&s->plan, metres), high = 1.3,
                 x = s->w_mm - left_mm(s) - (sheet_is_figure(s) ? 7.0 : 4.0) - w, y = up_mm(s, 27.5);
    s->scale_bar = (struct draw_box){ x, y, w, high };
    s->scale_bar_m = metres;
    struct pen *pen = &s->pen;
    pen_ink(pen, INK_LINE);
    for (int i = 0; i < 4; i++) {
        pen_path_box(pen, (struct draw_box){ x + w * i / 4.0, y, w / 4.0, high });
        cairo_set_line_width(pen->cr, 0.2);
        if (i % 2 == 0)
            cairo_fill_preserve(pen->cr);
        cairo_stroke(pen->cr);
    }
    const double at[] = { 0.0, 0.5, 1.0 };
    for (uint32_t i = 0; i < RT_COUNT(at); i++) {
        const struct str figure = sheet_figure(s->arena, metres * at[i]);
        const struct str shown = i == 2 ? text(s, "%.*s m", STR_ARG(figure)) : figure;
        pen_text(pen, TEXT_FIGURE, shown, x + w * at[i] - pen_measure(pen, TEXT_FIGURE, figure).w_mm / 2.0, y - 3.4);
    }
}

void sheet_draw_north(struct sheet *s, struct vec2 mid)
{
    if (!is_given(s->house->north_deg))
        return;
    const double a = units_rad_from_deg(s->house->north_deg + (s->plan.is_turned ? 90.0 : 0.0)), r = 5.2;
    const struct vec2 up = { sin(a), -cos(a) }, side = { cos(a), sin(a) };
    const struct vec2 tip = vec2_add(mid, vec2_scale(up, r)), tail = vec2_sub(mid, vec2_scale(up, r));
    const struct vec2 left = vec2_add(tail, vec2_scale(side, -2.0)), right = vec2_add(tail, vec2_scale(side, 2.0));
    const struct vec2 notch = vec2_sub(mid, vec2_scale(up, r * 0.55));
    struct pen *pen = &s->pen;
    pen_ink(pen, INK_LINE);
    const struct vec2 dark[3] = { tip, left, notch }, light[3] = { tip, right, notch };
    pen_path(pen, dark, 3, true);
    cairo_fill(pen->cr);
    cairo_set_line_width(pen->cr, 0.2);
    pen_path(pen, dark, 3, true);
    cairo_stroke(pen->cr);
    pen_path(pen, light, 3, true);
    cairo_stroke(pen->cr);
    const struct text_size size = pen_measure(pen, TEXT_FIGURE, STR("N"));
    const struct vec2 n = vec2_add(tip, vec2_scale(up, 2.2));
    pen_text(pen, TEXT_FIGURE, STR("N"), n.x - size.w_mm / 2.0, n.y - size.h_mm / 2.0);
}

/* Where figures stand under the bar. */
struct taken {
    double from[64], to[64];
    uint32_t n;
};

/* A figure under the bar, if it keeps clear of those already there. */
static void write_tick(struct sheet *s, const struct legend *g, struct draw_box bar, enum text_style style,
                       double value, struct taken *taken)
{
    const struct str figure = sheet_figure(s->arena, value);
    const struct text_size size = pen_measure(&s->pen, style, figure);
    const double x = bar.x_mm + bar.w_mm * legend_share(g, value), left = x - size.w_mm / 2.0;
    if (taken->n == RT_COUNT(taken->to))
        return;
    for (uint32_t i = 0; i < taken->n; i++)
        if (left < taken->to[i] + 1.0 && left + size.w_mm > taken->from[i] - 1.0)
            return;
    taken->from[taken->n] = left;
    taken->to[taken->n++] = left + size.w_mm;
    pen_text(&s->pen, style, figure, left, bar.y_mm + bar.h_mm + 1.1);
}

/* One sample line of the key with its words; returns where the next may begin. */
static double write_key(struct sheet *s, double x, double y, double width_mm, bool dashed, struct str words)
{
    struct pen *pen = &s->pen;
    pen_ink(pen, INK_LINE);
    if (dashed)
        pen_dashes(pen, 1.4, 0.9);
    pen_line(pen, (struct vec2){ x, y }, (struct vec2){ x + 7.0, y }, width_mm);
    pen_dashes(pen, 0, 0);
    const struct text_size size = pen_measure(pen, TEXT_KEY, words);
    pen_text_in(pen, TEXT_KEY, INK_LINE, words, x + 8.5, y - size.h_mm / 2.0);
    return x + 8.5 + size.w_mm + 6.0;
}

static void write_keys(struct sheet *s, const struct legend *g, double y)
{
    double x = left_mm(s);
    if (g->promised.n) {
        struct buf b = { .arena = s->arena };
        buf_text(&b, "promised: ");
        for (uint32_t i = 0; i < g->promised.n; i++) {
            buf_text(&b, i ? ", " : "");
            buf_str(&b, sheet_figure(s->arena, g->promised.v[i]));
        }
        buf_printf(&b, " %.*s; ticks point to less", STR_ARG(g->unit));
        x = write_key(s, x, y, 0.7, false, buf_done(&b));
    }
    x = write_key(s, x, y, 0.2, false, g->lines);
    if (g->limit.n)
        write_key(s, x, y, 0.35, true, g->limit);
}

static void draw_legend(struct sheet *s, const struct legend *g)
{
    struct pen *pen = &s->pen;
    const struct draw_box bar = { left_mm(s), up_mm(s, 31.5), 92.0, 3.6 };
    pen_text(pen, TEXT_KEY, g->caption, bar.x_mm, bar.y_mm - 4.2);
    cairo_pattern_t *map = cairo_pattern_create_linear(bar.x_mm, 0, bar.x_mm + bar.w_mm, 0);
    enum { STOPS = 64 };
    for (int i = 0; i <= STOPS; i++) {
        const struct colour c = colour_map((double)i / STOPS);
        cairo_pattern_add_color_stop_rgb(map, (double)i / STOPS, c.r, c.g, c.b);
    }
    cairo_set_source(pen->cr, map);
    pen_path_box(pen, bar);
    cairo_fill(pen->cr);
    cairo_pattern_destroy(map);
    for (int promised = 0; promised < 2; promised++) {
        const double_list *levels = promised ? &g->promised : &g->levels;
        for (uint32_t i = 0; i < levels->n; i++) {
            const double share = legend_share(g, levels->v[i]), x = bar.x_mm + bar.w_mm * share;
            if (share < 0.0 || share > 1.0)
                continue;
            pen_ink(pen, colour_ink_on(colour_map(share)));
            pen_line(pen, (struct vec2){ x, bar.y_mm }, (struct vec2){ x, bar.y_mm + bar.h_mm }, promised ? 0.7 : 0.2);
            pen_ink(pen, INK_LINE);
            pen_line(pen, (struct vec2){ x, bar.y_mm + bar.h_mm }, (struct vec2){ x, bar.y_mm + bar.h_mm + 1.0 },
                     promised ? 0.7 : 0.2);
        }
    }
    cairo_set_line_width(pen->cr, 0.2);
    pen_path_box(pen, bar);
    cairo_stroke(pen->cr);
    /* promised figures first; the others where they keep clear of all */
    struct taken taken = { .n = 0 };
    for (uint32_t i = 0; i < g->promised.n; i++)
        write_tick(s, g, bar, TEXT_FIGURE_B, g->promised.v[i], &taken);
    for (uint32_t i = 0; i < g->levels.n; i++)
        write_tick(s, g, bar, TEXT_FIGURE, g->levels.v[i], &taken);
    write_keys(s, g, up_mm(s, 20.6));
}

/* What the marks on the plan stand for. */
static void write_marks(struct sheet *s)
{
    const struct {
        bool is_drawn;
        struct str words;
    } marks[] = { { s->marks & PLAN_ACCESS_POINT, STR("access point") },
                  { s->marks & PLAN_FREE_MOUNT, STR("place for an access point") },
                  { s->marks & PLAN_DEVICE, STR("device") } };
    struct vec2 at = { MARGIN_MM + 2.0, s->h_mm - 16.4 };
    for (uint32_t i = 0; i < RT_COUNT(marks); i++) {
        if (!marks[i].is_drawn)
            continue;
        if (i == 2)
            plan_mark_device(&s->pen, at);
        else
            plan_mark_mount(&s->pen, at, i == 0);
        const struct text_size size = pen_measure(&s->pen, TEXT_KEY, marks[i].words);
        pen_text_in(&s->pen, TEXT_KEY, INK_LINE, marks[i].words, at.x + 3.2, at.y - size.h_mm / 2.0);
        at.x += 3.2 + size.w_mm + 6.0;
    }
}

/* Numbers that stand in rooms too small for their names. */
static void write_room_key(struct sheet *s)
{
    double x = left_mm(s);
    for (uint32_t i = 0; i < s->room_key.n; i++) {
        const struct text_size size = pen_measure(&s->pen, TEXT_KEY, s->room_key.v[i]);
        pen_text_in(&s->pen, TEXT_KEY, INK_LINE, s->room_key.v[i], x,
                    sheet_is_figure(s) ? s->h_mm - 3.4 : s->h_mm - 14.0);
        x += size.w_mm + 6.0;
    }
}

static struct str capital(struct arena *a, struct str text)
{
    char *copy = arena_printf(a, "%.*s", STR_ARG(text));
    if (copy && copy[0] >= 'a' && copy[0] <= 'z')
        copy[0] = (char)(copy[0] - 'a' + 'A');
    return copy ? str_from(copy) : text;
}

void sheet_finish(struct sheet *s, const struct sheet_words *words, const struct legend *legend)
{
    struct sheet_words head = *words;
    head.title = capital(s->arena, words->title);
    head.head = capital(s->arena, words->head);
    write_notes(s);
    if (!sheet_is_figure(s))
        write_head(s, &head);
    if (s->plan.scale > 0.0)
        draw_scale_bar(s);
    if (s->plan.floor != NO_REF && !words->no_north)
        sheet_draw_north(s, (struct vec2){ s->scale_bar.x_mm - 14.0, s->scale_bar.y_mm - 2.6 });
    if (legend)
        draw_legend(s, legend);
    if (!sheet_is_figure(s))
        write_marks(s);
    write_room_key(s);
    if (!sheet_is_figure(s))
        write_title_block(s, words);
    s->failed = s->failed || s->space.failed;
}

/* sheet.c - the ground, the border, the heading, the legend, the scale bar and the title block. */
#include <cairo.h>
#include <math.h>

#include "base/units.h"
#include "draw/sheet_int.h"

#define FRAME_MM 7.0 /* outer border from the paper's edge */
#define INNER_MM 8.9 /* inner border */
#define MARGIN_MM SHEET_MARGIN_MM
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
    sheet_write_notes(s);
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

/* The distribution of what is asked of the line in its fullest hour, as the share of the time that more than a rate is asked for. */
#include <cairo.h>
#include <math.h>

#include "base/units.h"
#include "draw/chart.h"
#include "draw/load_sheet.h"

#define AXIS_MM 24.0  /* left of a plot: shares */
#define APART_MM 14.0 /* between the two */
#define HEAD_MM 15.0  /* above a plot: what it is of */
#define LEAST_SHARE 1e-4

enum { CURVE_POINTS = 480 };

static double plot_w_mm(const struct sheet *s)
{
    return sheet_is_small(s) ? (s->w_mm - 2.0 * CHART_LEFT_MM - 2.0 * AXIS_MM - APART_MM) / 2.0 : 164.0;
}
static double plot_h_mm(const struct sheet *s) { return sheet_is_small(s) ? 72.0 : 148.0; }

struct plot {
    struct sheet *s;
    const struct line_week *week;
    double needed_mbps; /* careful side; may be infinite */
    struct draw_box box;
    double top_mbps; /* at its right edge */
};

static double x_of(const struct plot *p, double mbps) { return p->box.x_mm + p->box.w_mm * mbps / p->top_mbps; }

static double y_of(const struct plot *p, double share)
{
    return p->box.y_mm + p->box.h_mm * log(fmax(share, LEAST_SHARE)) / log(LEAST_SHARE);
}

/* The next round figure: 1, 2 or 5 times a power of ten. */
static double round_step(double least)
{
    double ten = pow(10.0, floor(log10(least)));
    return ten >= least ? ten : 2.0 * ten >= least ? 2.0 * ten : 5.0 * ten >= least ? 5.0 * ten : 10.0 * ten;
}

static struct plot plot_of(struct sheet *s, enum load_way way)
{
    const struct line_week *week = &s->options->load->now[way];
    const double needed = week->hours[week->worst].needed_mbps.high;
    const double x = CHART_LEFT_MM + AXIS_MM + (way == LOAD_UP ? plot_w_mm(s) + AXIS_MM + APART_MM : 0.0);
    struct plot p = { s, week, needed, { x, CHART_TOP_MM + HEAD_MM, plot_w_mm(s), plot_h_mm(s) }, 0.0 };
    p.top_mbps = 1.12 * fmax(week->capacity_mbps, isinf(needed) ? 2.0 * week->capacity_mbps : needed);
    return p;
}

/* ---- axes ---- */

static void paint_shares(const struct plot *p, double promised_share)
{
    static const double TICKS[] = {
        1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001, 5e-4, 2e-4, LEAST_SHARE
    };
    struct sheet *s = p->s;
    const double high_mm = chart_line_mm(s, TEXT_CELL);
    for (uint32_t i = 0; i < RT_COUNT(TICKS); i++) {
        const double y = y_of(p, TICKS[i]);
        const bool is_ten = i % 3 == 0;
        pen_ink(&s->pen, INK_HAIR);
        pen_line(&s->pen, (struct vec2){ p->box.x_mm, y }, (struct vec2){ p->box.x_mm + p->box.w_mm, y },
                 is_ten ? 0.25 : 0.12);
        if (fabs(y - y_of(p, promised_share)) > 1.3 * high_mm)
            chart_put_right(s, TEXT_CELL, is_ten ? INK_LINE : INK_SOFT, sheet_text(s, "%g %%", TICKS[i] * 100.0),
                            p->box.x_mm - 2.0, y - high_mm / 2.0);
    }
    const double y = y_of(p, promised_share);
    chart_put_right(s, TEXT_CELL_B, INK_LINE, sheet_text(s, "%.4g %%", promised_share * 100.0), p->box.x_mm - 2.0,
                    y - high_mm / 2.0);
    pen_ink(&s->pen, INK_LINE);
    pen_dashes(&s->pen, 1.4, 0.9);
    pen_line(&s->pen, (struct vec2){ p->box.x_mm, y }, (struct vec2){ p->box.x_mm + p->box.w_mm, y }, 0.35);
    pen_dashes(&s->pen, 0, 0);
}

static void paint_rates(const struct plot *p)
{
    struct sheet *s = p->s;
    const double step = round_step(p->top_mbps / (sheet_is_small(s) ? 6.0 : 9.0)), bottom = p->box.y_mm + p->box.h_mm;
    for (int i = 0; i * step < p->top_mbps * 0.985; i++) {
        const double x = x_of(p, i * step);
        pen_ink(&s->pen, INK_LINE);
        pen_line(&s->pen, (struct vec2){ x, bottom }, (struct vec2){ x, bottom + 1.2 }, 0.25);
        chart_put_mid(s, TEXT_CELL, INK_LINE, sheet_text(s, "%g", i * step), x, bottom + 2.0);
    }
    chart_put_right(s, TEXT_SOFT, INK_SOFT, STR("Mb/s asked for"), p->box.x_mm + p->box.w_mm, bottom + 6.0);
}

/* ---- the curve ---- */

static void curve_path(const struct plot *p, bool high, bool back)
{
    for (int i = 0; i <= CURVE_POINTS; i++) {
        const int k = back ? CURVE_POINTS - i : i;
        const double mbps = p->top_mbps * k / CURVE_POINTS;
        const struct bracket over = rate_sum_over(&p->week->worst_sum, mbps);
        cairo_line_to(p->s->pen.cr, x_of(p, mbps), y_of(p, high ? over.high : over.low));
    }
}

static void paint_curve(const struct plot *p)
{
    cairo_t *cr = p->s->pen.cr;
    cairo_save(cr);
    pen_path_box(&p->s->pen, p->box);
    cairo_clip(cr);
    curve_path(p, true, false);
    curve_path(p, false, true);
    cairo_close_path(cr);
    pen_ink(&p->s->pen, INK_SOFT);
    cairo_fill(cr);
    curve_path(p, true, false);
    pen_ink(&p->s->pen, INK_LINE);
    cairo_set_line_width(cr, 0.6);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
    cairo_stroke(cr);
    cairo_restore(cr);
}

/* ---- what decides ---- */

static void arrow(struct sheet *s, struct vec2 tip, double way)
{
    const struct vec2 head[3] = { tip, { tip.x - way * 2.2, tip.y - 0.7 }, { tip.x - way * 2.2, tip.y + 0.7 } };
    pen_path(&s->pen, head, 3, true);
    cairo_fill(s->pen.cr);
}

/* A text on cleared ground. */
static void put_clear(struct sheet *s, enum ink ink, struct str words, double x_mm, double y_mm)
{
    const struct text_size size = pen_measure(&s->pen, TEXT_NOTE_HEAD, words);
    pen_ink(&s->pen, INK_SHEET);
    pen_path_box(&s->pen, (struct draw_box){ x_mm - 0.6, y_mm, size.w_mm + 1.2, size.h_mm });
    cairo_fill(s->pen.cr);
    sheet_put(s, TEXT_NOTE_HEAD, ink, words, x_mm, y_mm);
}

/* A dimension line between what is needed and what the line carries, with its figure; not left of free_mm. */
static void paint_margin(const struct plot *p, double y, double free_mm)
{
    struct sheet *s = p->s;
    const double margin = p->week->capacity_mbps - p->needed_mbps;
    const double a = x_of(p, p->needed_mbps), b = x_of(p, p->week->capacity_mbps), way = b > a ? 1.0 : -1.0;
    const double low = fmin(a, b), high = fmax(a, b), right = p->box.x_mm + p->box.w_mm;
    const enum ink ink = margin < 0.0 ? INK_ACCENT : INK_LINE;
    const struct str words =
        sheet_text(s, "%.*s Mb/s %s", STR_ARG(chart_mbps(s, fabs(margin))), margin < 0.0 ? "missing" : "left");
    const double w_mm = pen_measure(&s->pen, TEXT_NOTE_HEAD, words).w_mm;
    pen_ink(&s->pen, ink);
    pen_line(&s->pen, (struct vec2){ a, y }, (struct vec2){ b, y }, 0.35);
    if (high - low > 5.0) {
        arrow(s, (struct vec2){ b, y }, way);
        arrow(s, (struct vec2){ a, y }, -way);
    }
    double left = fmax((low + high - w_mm) / 2.0, free_mm);
    if (left + w_mm + 2.0 > high) /* outside of it, where there is room */
        left = high + 3.0 + w_mm < right ? high + 3.0 : fmin(low, right) - 3.0 - w_mm;
    put_clear(s, ink, words, left, y - chart_line_mm(s, TEXT_NOTE_HEAD) - 0.8);
}

/* The dot on the curve; its figure left below, where the curve never is, or right above. */
static void paint_needed(const struct plot *p, double promised_share)
{
    struct sheet *s = p->s;
    if (isinf(p->needed_mbps))
        return;
    const struct vec2 at = { x_of(p, p->needed_mbps), y_of(p, promised_share) };
    const double bottom = p->box.y_mm + p->box.h_mm, line_mm = chart_line_mm(s, TEXT_NOTE_HEAD);
    const struct str figure = sheet_text(s, "%.*s needed", STR_ARG(chart_mbps(s, p->needed_mbps)));
    const double w_mm = pen_measure(&s->pen, TEXT_NOTE_HEAD, figure).w_mm;
    /* right above the dot and left below it the curve never is */
    const bool is_short = p->needed_mbps > p->week->capacity_mbps;
    const double dimension = !is_short && at.y - 4.0 > p->box.y_mm + 8.0 ? at.y - 4.0 : at.y + 10.0;
    const bool has_room = at.x - w_mm - 4.0 > p->box.x_mm;
    pen_ink(&s->pen, INK_LINE);
    pen_line(&s->pen, at, (struct vec2){ at.x, bottom }, 0.3);
    cairo_arc(s->pen.cr, at.x, at.y, 1.3, 0.0, 2.0 * RT_PI);
    cairo_fill(s->pen.cr);
    paint_margin(p, dimension, has_room ? 0.0 : at.x + w_mm + 8.0);
    put_clear(s, INK_LINE, figure, has_room ? at.x - 2.0 - w_mm : at.x + 2.5,
              has_room ? bottom - line_mm - 1.5 : dimension - line_mm - 0.8);
}

static void paint_capacity(const struct plot *p)
{
    struct sheet *s = p->s;
    const double x = x_of(p, p->week->capacity_mbps);
    const struct str words = sheet_text(s, "the line carries %.*s", STR_ARG(chart_mbps(s, p->week->capacity_mbps)));
    const double w_mm = pen_measure(&s->pen, TEXT_NOTE_HEAD, words).w_mm;
    pen_ink(&s->pen, INK_LINE);
    pen_line(&s->pen, (struct vec2){ x, p->box.y_mm - 1.5 }, (struct vec2){ x, p->box.y_mm + p->box.h_mm }, 0.9);
    sheet_put(s, TEXT_NOTE_HEAD, INK_LINE, words, fmin(x - w_mm / 2.0, p->box.x_mm + p->box.w_mm - w_mm),
              p->box.y_mm - 6.4);
}

static void paint_plot(struct sheet *s, enum load_way way)
{
    const struct plot p = plot_of(s, way);
    const double share = 1.0 - s->options->load->probability;
    sheet_put(
        s, TEXT_NOTE_HEAD, INK_LINE,
        sheet_text(s, "%s, %.*s", way == LOAD_DOWN ? "Down" : "Up", STR_ARG(line_hour_words(s->arena, p.week->worst))),
        p.box.x_mm - AXIS_MM, CHART_TOP_MM);
    sheet_put(s, TEXT_SOFT, INK_SOFT, STR("share of that hour in which more is asked for"), p.box.x_mm - AXIS_MM,
              CHART_TOP_MM + 4.6);
    paint_shares(&p, share);
    paint_rates(&p);
    paint_curve(&p);
    paint_capacity(&p);
    paint_needed(&p, share);
    chart_frame(s, p.box, 0.3);
}

/* ---- words ---- */

static void add_way(struct text_block *b, enum load_way way)
{
    struct sheet *s = b->s;
    const struct load_view *v = s->options->load;
    const struct line_week *week = &v->now[way];
    const struct line_hour *x = &week->hours[week->worst];
    const double promised = 1.0 - v->probability;
    text_block_add(b, TEXT_NOTE_HEAD, INK_LINE, way == LOAD_DOWN ? STR("Down") : STR("Up"));
    const struct str stated =
        sheet_text(s, "%s no more than %.4g %%.",
                   v->is_promised ? "promised is" : "as nothing is promised, the sheet is drawn for", promised * 100.0);
    if (x->short_share.high < 1e-6)
        text_block_add(
            b, TEXT_NOTE, INK_LINE,
            sheet_text(s, "The line falls short in less than 0.0001 %% of that hour; %.*s", STR_ARG(stated)));
    else
        text_block_add(b, TEXT_NOTE, x->short_share.high > promised ? INK_ACCENT : INK_LINE,
                       sheet_text(s, "The line falls short in %.3g %% of that hour; %.*s", 100.0 * x->short_share.high,
                                  STR_ARG(stated)));
    if (isinf(x->needed_mbps.high))
        text_block_add(b, TEXT_NOTE, INK_ACCENT,
                       sheet_text(s, "More than %d times the line would be needed.", DEMAND_TIMES_MAX));
    else
        text_block_add(
            b, TEXT_NOTE, INK_LINE,
            sheet_text(s, "Needed: between %.*s and %.*s Mb/s, by how the rates are rounded; the larger is taken.",
                       STR_ARG(sheet_figure(s->arena, x->needed_mbps.low)),
                       STR_ARG(sheet_figure(s->arena, x->needed_mbps.high))));
    text_block_add(b, TEXT_NOTE, INK_LINE,
                   sheet_text(s, "In the mean %.*s Mb/s are asked for, %.*s of the line.",
                              STR_ARG(chart_mbps(s, x->mean_mbps)),
                              STR_ARG(chart_percent(s, x->mean_mbps / week->capacity_mbps))));
}

void load_curve_paint(struct sheet *s)
{
    const struct load_view *v = s->options->load;
    const double w_mm = (s->w_mm - 2.0 * CHART_LEFT_MM - 2.0 * APART_MM) / 3.0;
    const double notes_y_mm = CHART_TOP_MM + HEAD_MM + plot_h_mm(s) + 15.0;
    paint_plot(s, LOAD_DOWN);
    paint_plot(s, LOAD_UP);
    struct text_block read = { .s = s, .w_mm = w_mm }, down = read, up = read;
    text_block_add(&read, TEXT_SOFT, INK_SOFT, STR("how to read it"));
    text_block_add(
        &read, TEXT_NOTE, INK_LINE,
        sheet_text(s,
                   "The curve falls: the more Mb/s, the rarer is more asked for. 1 %% of an hour is 36 seconds. "
                   "Dashed: %.4g %%. Where the curve crosses it, a dot: so much would do. Left of the "
                   "heavy line, the line carries it; the rest is margin. A grey band along the curve: what the "
                   "rounding of the rates leaves open.",
                   100.0 * (1.0 - v->probability)));
    text_block_add(&read, TEXT_NOTE, INK_LINE,
                   sheet_text(s,
                              "%.*s Mb/s down and %.*s up are paid for; what packets carry around them takes the rest.",
                              STR_ARG(sheet_figure(s->arena, s->house->line.down_mbps)),
                              STR_ARG(sheet_figure(s->arena, s->house->line.up_mbps))));
    add_way(&down, LOAD_DOWN);
    add_way(&up, LOAD_UP);
    text_block_put(&read, CHART_LEFT_MM, notes_y_mm);
    text_block_put(&down, CHART_LEFT_MM + w_mm + APART_MM, notes_y_mm);
    text_block_put(&up, CHART_LEFT_MM + 2.0 * (w_mm + APART_MM), notes_y_mm);
}

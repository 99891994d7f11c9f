#include "draw/chart.h"

#include <cairo.h>
#include <math.h>

#include "base/units.h"

#define HATCH_APART_MM 1.3
#define HATCH_LINE_MM 0.18

static void slanted(struct sheet *s, struct draw_box b, double slope)
{
    /* lines of one family across the whole sheet, so that neighbouring boxes match */
    const double from = b.x_mm + (slope > 0.0 ? b.y_mm : -b.y_mm - b.h_mm), to = from + b.w_mm + b.h_mm;
    for (double c = ceil(from / HATCH_APART_MM) * HATCH_APART_MM; c < to; c += HATCH_APART_MM) {
        const double y0 = b.y_mm, y1 = b.y_mm + b.h_mm;
        pen_line(&s->pen, (struct vec2){ slope > 0.0 ? c - y0 : c + y0, y0 },
                 (struct vec2){ slope > 0.0 ? c - y1 : c + y1, y1 }, HATCH_LINE_MM);
    }
}

static void dotted(struct sheet *s, struct draw_box b)
{
    for (double y = ceil(b.y_mm / HATCH_APART_MM) * HATCH_APART_MM; y < b.y_mm + b.h_mm; y += HATCH_APART_MM)
        for (double x = ceil(b.x_mm / HATCH_APART_MM) * HATCH_APART_MM; x < b.x_mm + b.w_mm; x += HATCH_APART_MM) {
            pen_path_box(&s->pen, (struct draw_box){ x, y, 0.32, 0.32 });
            cairo_fill(s->pen.cr);
        }
}

void chart_hatch(struct sheet *s, struct draw_box box, enum hatch hatch, double line_mm)
{
    cairo_t *cr = s->pen.cr;
    if (box.w_mm <= 0.0 || box.h_mm <= 0.0)
        return;
    pen_ink(&s->pen, hatch == HATCH_SOLID ? INK_LINE : INK_SHEET);
    pen_path_box(&s->pen, box);
    cairo_fill(cr);
    cairo_save(cr);
    pen_path_box(&s->pen, box);
    cairo_clip(cr);
    pen_ink(&s->pen, INK_LINE);
    if (hatch == HATCH_RISING || hatch == HATCH_CROSS)
        slanted(s, box, 1.0);
    if (hatch == HATCH_FALLING || hatch == HATCH_CROSS)
        slanted(s, box, -1.0);
    if (hatch == HATCH_DOTS)
        dotted(s, box);
    cairo_restore(cr);
    if (line_mm > 0.0)
        chart_frame(s, box, line_mm);
}

void chart_frame(struct sheet *s, struct draw_box box, double line_mm)
{
    pen_ink(&s->pen, INK_LINE);
    pen_path_box(&s->pen, box);
    cairo_set_line_width(s->pen.cr, line_mm);
    cairo_stroke(s->pen.cr);
}

double chart_line_mm(struct sheet *s, enum text_style style) { return pen_measure(&s->pen, style, STR("x")).h_mm; }

double chart_put_mid(struct sheet *s, enum text_style style, enum ink ink, struct str text, double x_mm, double y_mm)
{
    const double w_mm = pen_measure(&s->pen, style, text).w_mm;
    sheet_put(s, style, ink, text, x_mm - w_mm / 2.0, y_mm);
    return w_mm;
}

double chart_put_right(struct sheet *s, enum text_style style, enum ink ink, struct str text, double x_mm, double y_mm)
{
    const double w_mm = pen_measure(&s->pen, style, text).w_mm;
    sheet_put(s, style, ink, text, x_mm - w_mm, y_mm);
    return w_mm;
}

struct str chart_mbps(struct sheet *s, double mbps)
{
    if (!is_given(mbps))
        return STR("?");
    if (isinf(mbps))
        return STR("> 16 \u00d7");
    if (mbps < 0.005)
        return mbps > 0.0 ? STR("< 0.01") : STR("0");
    return sheet_text(s, "%.*f", mbps < 0.995 ? 2 : mbps < 9.95 ? 1 : 0, mbps);
}

struct str chart_percent(struct sheet *s, double share)
{
    if (!is_given(share))
        return STR("?");
    if (share < 0.0005)
        return share > 0.0 ? STR("< 0.1 %") : STR("0");
    return sheet_text(s, "%.*f %%", share < 0.0095 ? 1 : 0, share * 100.0);
}

double chart_share_of_log(double share) { return fmax(0.0, 1.0 + log10(fmax(share, 1e-9)) / CHART_LOG_TENS); }

struct colour chart_fullness(double share) { return colour_map(1.0 - fmin(fmax(share, 0.0), 1.0)); }

void chart_fullness_cell(struct sheet *s, struct draw_box box, double share)
{
    pen_colour(&s->pen, chart_fullness(share));
    pen_path_box(&s->pen, box);
    cairo_fill(s->pen.cr);
    pen_ink(&s->pen, INK_SHEET);
    pen_path_box(&s->pen, box);
    cairo_set_line_width(s->pen.cr, 0.3);
    cairo_stroke(s->pen.cr);
}

static void paint_map(struct sheet *s, struct draw_box bar)
{
    enum { STEPS = 64 };
    cairo_pattern_t *map = cairo_pattern_create_linear(bar.x_mm, 0, bar.x_mm + bar.w_mm, 0);
    for (int i = 0; i <= STEPS; i++) {
        const struct colour c = chart_fullness((double)i / STEPS);
        cairo_pattern_add_color_stop_rgb(map, (double)i / STEPS, c.r, c.g, c.b);
    }
    cairo_set_source(s->pen.cr, map);
    pen_path_box(&s->pen, bar);
    cairo_fill(s->pen.cr);
    cairo_pattern_destroy(map);
    chart_frame(s, bar, 0.2);
}

void chart_fullness_scale(struct sheet *s, double x_mm, double y_mm, bool is_log, struct str caption)
{
    static const double EVEN[] = { 0, 25, 50, 75, 100 }, LOG[] = { 1, 2, 5, 10, 20, 50, 100 };
    const double *ticks = is_log ? LOG : EVEN;
    const uint32_t n = is_log ? RT_COUNT(LOG) : RT_COUNT(EVEN);
    const struct draw_box bar = { x_mm, y_mm + 4.0, 60.0, 3.6 };
    sheet_put(s, TEXT_KEY, INK_LINE, caption, x_mm, y_mm);
    paint_map(s, bar);
    for (uint32_t i = 0; i < n; i++) {
        const double share = ticks[i] / 100.0;
        const double x = bar.x_mm + bar.w_mm * (is_log ? chart_share_of_log(share) : share);
        pen_line(&s->pen, (struct vec2){ x, bar.y_mm + bar.h_mm }, (struct vec2){ x, bar.y_mm + bar.h_mm + 1.0 }, 0.2);
        const struct str alone = sheet_text(s, "%g", ticks[i]);
        sheet_put(s, TEXT_FIGURE, INK_LINE, i + 1 == n ? STR("100 % and more") : alone,
                  x - pen_measure(&s->pen, TEXT_FIGURE, alone).w_mm / 2.0, bar.y_mm + bar.h_mm + 1.1);
    }
}

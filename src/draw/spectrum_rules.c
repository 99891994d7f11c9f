/* What the country says of each channel of a band: as a strip of channels true to scale, and in words. */
#include <math.h>

#include "base/units.h"
#include "data/channels.h"
#include "draw/chart.h"
#include "draw/spectrum_sheet.h"

#define STRIP_MM 5.4
#define CHANNEL_HZ 20e6

double spectrum_x(const struct spectrum_axis *axis, double hz)
{
    return axis->x_mm + axis->w_mm * (hz - axis->from_hz) / (axis->to_hz - axis->from_hz);
}

/* Channels of 20 MHz of a band, one after the other as the tables have them; 0: no more. */
static int channel_at(enum band band, uint32_t i)
{
    uint32_t n;
    const struct channel_block *b = channel_blocks(&n);
    for (uint32_t k = 0; k < n; k++) {
        if (b[k].band != band || b[k].width_mhz * 1e6 != CHANNEL_HZ)
            continue;
        const uint32_t in_it = (uint32_t)((b[k].last - b[k].first) / b[k].step) + 1;
        if (i < in_it)
            return b[k].first + (int)i * b[k].step;
        i -= in_it;
    }
    return 0;
}

void spectrum_edges(enum band band, double *from_hz, double *to_hz)
{
    *from_hz = INFINITY;
    *to_hz = 0.0;
    for (uint32_t i = 0; channel_at(band, i); i++) {
        const double centre_hz = channel_centre_hz(band, channel_at(band, i));
        *from_hz = fmin(*from_hz, centre_hz - CHANNEL_HZ / 2.0);
        *to_hz = fmax(*to_hz, centre_hz + CHANNEL_HZ / 2.0);
    }
}

static enum hatch hatch_of(struct regdb_channel rule)
{
    return !rule.allowed ? HATCH_CROSS : rule.radar ? HATCH_DOTS : rule.passive_only ? HATCH_FALLING : HATCH_NONE;
}

static void paint_megahertz(struct sheet *s, const struct spectrum_axis *axis, double y_mm)
{
    const double span_mhz = (axis->to_hz - axis->from_hz) / 1e6;
    const double step = span_mhz > 1000.0 ? 200.0 : span_mhz > 200.0 ? 100.0 : 10.0;
    for (double mhz = ceil(axis->from_hz / 1e6 / step) * step; mhz <= axis->to_hz / 1e6; mhz += step) {
        const double x = spectrum_x(axis, mhz * 1e6);
        pen_ink(&s->pen, INK_LINE);
        pen_line(&s->pen, (struct vec2){ x, y_mm + 3.9 }, (struct vec2){ x, y_mm + 5.2 }, 0.25);
        chart_put_mid(s, TEXT_CELL, INK_LINE, sheet_text(s, "%.0f", mhz), x, y_mm + 0.4);
    }
}

double spectrum_rules_paint(struct sheet *s, const struct spectrum_axis *axis, const struct regdb_country *rules,
                            double y_mm)
{
    const double step_hz = axis->band == BAND_2G4 ? 5e6 : CHANNEL_HZ; /* channels of 2.4 GHz overlap */
    double free_mm = 0.0;
    paint_megahertz(s, axis, y_mm);
    const double top = y_mm + 5.2;
    for (uint32_t i = 0; channel_at(axis->band, i); i++) {
        const int channel = channel_at(axis->band, i);
        const double centre_hz = channel_centre_hz(axis->band, channel);
        const double x0 = spectrum_x(axis, centre_hz - step_hz / 2.0), x1 = spectrum_x(axis, centre_hz + step_hz / 2.0);
        const struct str number = sheet_text(s, "%d", channel);
        const double w_mm = pen_measure(&s->pen, TEXT_KEY, number).w_mm, mid = (x0 + x1) / 2.0;
        const enum hatch hatch = rules ? hatch_of(regdb_channel_rules(rules, centre_hz, CHANNEL_HZ)) : HATCH_NONE;
        chart_hatch(s, (struct draw_box){ x0, top, x1 - x0, STRIP_MM }, hatch, 0.2);
        if (i == 0 || mid - w_mm / 2.0 > free_mm + 0.8) {
            const bool is_clear =
                label_is_free(&s->space, (struct draw_box){ mid - w_mm / 2.0, top + STRIP_MM + 0.7, w_mm, 1.0 }, 0.4);
            if (is_clear)
                chart_put_mid(s, TEXT_KEY, INK_LINE, number, mid, top + STRIP_MM + 0.7);
            free_mm = mid + w_mm / 2.0;
        }
    }
    return top + STRIP_MM + 5.0;
}

/* ---- in words ---- */

static bool is_same(struct regdb_channel a, struct regdb_channel b)
{
    return a.allowed == b.allowed &&
           (!a.allowed || (a.radar == b.radar && a.indoor_only == b.indoor_only && a.passive_only == b.passive_only &&
                           fabs(a.max_eirp_dbm - b.max_eirp_dbm) < 0.05));
}

static void run_words(struct buf *b, int first, int last, struct regdb_channel rule)
{
    if (first == last)
        buf_printf(b, "%d: ", first);
    else
        buf_printf(b, "%d to %d: ", first, last);
    if (!rule.allowed) {
        buf_text(b, "not allowed");
        return;
    }
    buf_printf(b, "%.3g dBm", rule.max_eirp_dbm);
    buf_text(b, rule.indoor_only ? ", indoors only" : "");
    buf_text(b, rule.radar ? ", gives way to radar" : "");
    buf_text(b, rule.passive_only ? ", only who hears another there" : "");
}

void spectrum_rules_words(struct text_block *b, enum band band, const struct regdb_country *rules)
{
    struct buf words = { .arena = b->s->arena };
    if (!rules) {
        text_block_add(b, TEXT_KEY, INK_LINE,
                       STR("What the country allows is not known: no regulatory database on this machine."));
        return;
    }
    buf_printf(&words, "%s GHz in %s, channels of 20 MHz, most power radiated (EIRP): ", band_name(band), rules->code);
    for (uint32_t i = 0; channel_at(band, i);) {
        const struct regdb_channel rule =
            regdb_channel_rules(rules, channel_centre_hz(band, channel_at(band, i)), CHANNEL_HZ);
        uint32_t end = i + 1;
        while (channel_at(band, end) > channel_at(band, i) &&
               is_same(rule, regdb_channel_rules(rules, channel_centre_hz(band, channel_at(band, end)), CHANNEL_HZ)))
            end++;
        buf_text(&words, i ? "; " : "");
        run_words(&words, channel_at(band, i), channel_at(band, end - 1), rule);
        i = end;
    }
    buf_char(&words, '.');
    b->s->failed |= words.failed;
    if (!words.failed)
        text_block_add(b, TEXT_KEY, INK_LINE, buf_done(&words));
}

#include "draw/week_rows.h"

#include <math.h>

#include "base/units.h"
#include "draw/chart.h"
#include "reach/policy.h"

#define CELL_MM 6.4
#define RADIO_MM (2.0 * CELL_MM + 4.0)
#define LANE_MM 4.2
#define HEAD_MM 13.0 /* above the rows of one kind: what they are, and their hours */
#define BOTTOM_MM 36.0

enum { DAYS = 7, WEEKEND = 5 };

/* Column of names; an hour; where the map and the words right of it begin. */
static double name_w_mm(const struct sheet *s) { return sheet_is_small(s) ? 48.0 : 62.0; }
static double hour_mm(const struct sheet *s) { return sheet_is_small(s) ? 5.8 : 8.6; }
static double map_x_mm(const struct sheet *s) { return CHART_LEFT_MM + name_w_mm(s) + 14.0; }
static double words_x_mm(const struct sheet *s) { return map_x_mm(s) + 24.0 * hour_mm(s) + 6.0; }

/* ---- hours ---- */

uint32_t week_spans(const struct hours *hours, struct week_span spans[WEEK_SPANS_MAX])
{
    uint32_t n = 0;
    for (unsigned day = 0; day < DAYS; day++) {
        const double from = hours->from_minute, to = hours->to_minute;
        if (!(hours->days >> day & 1))
            continue;
        spans[n++] = (struct week_span){ day, from, to > from ? to : 1440.0 };
        if (to <= from && to > 0.0)
            spans[n++] = (struct week_span){ (day + 1) % DAYS, 0.0, to };
    }
    return n;
}

uint32_t week_next_dark(const struct house *h, uint32_t from)
{
    for (uint32_t i = from; i < h->statements.n; i++)
        if (h->statements.v[i].verdict == VERDICT_REFUSE && h->statements.v[i].hours.i != NO_REF)
            return i;
    return NO_REF;
}

/* ---- rows ---- */

enum row_kind { ROW_DARK, ROW_RADIO };
struct week_row {
    enum row_kind kind;
    uint32_t i; /* statement or radio */
    uint32_t page;
    double y_mm;
    bool is_first; /* of its kind on the page: its head stands above */
};
typedef VEC(struct week_row) row_vec;

struct layout {
    struct sheet *s;
    row_vec rows;
    uint32_t page;
    double y_mm;
};

static double name_mm(struct sheet *s, const struct week_row *row)
{
    struct text_block b = { .s = s, .w_mm = name_w_mm(s) - 3.0 };
    if (row->kind == ROW_DARK)
        text_block_add(&b, TEXT_NOTE, INK_LINE, statement_words(s->arena, s->house, &s->house->statements.v[row->i]));
    return text_block_mm(&b);
}

static double row_mm(struct sheet *s, const struct week_row *row)
{
    return row->kind == ROW_RADIO ? RADIO_MM : fmax(DAYS * LANE_MM, name_mm(s, row) + 14.0) + 4.0;
}

static void add_row(struct layout *l, enum row_kind kind, uint32_t i)
{
    const row_vec *rows = &l->rows;
    struct week_row row = { .kind = kind, .i = i };
    const double h_mm = row_mm(l->s, &row);
    row.is_first = !rows->n || rows->v[rows->n - 1].kind != kind;
    if (l->y_mm > CHART_TOP_MM && l->y_mm + h_mm + (row.is_first ? HEAD_MM : 0.0) > l->s->h_mm - BOTTOM_MM) {
        l->page++;
        l->y_mm = CHART_TOP_MM;
        row.is_first = true;
    }
    row.page = l->page;
    row.y_mm = l->y_mm + (row.is_first ? HEAD_MM : 0.0);
    l->y_mm = row.y_mm + h_mm;
    l->s->failed |= !VEC_PUSH(l->s->arena, &l->rows, row);
}

static struct layout lay_out(struct sheet *s)
{
    struct layout l = { .s = s, .y_mm = CHART_TOP_MM };
    for (uint32_t i = week_next_dark(s->house, 0); i != NO_REF; i = week_next_dark(s->house, i + 1))
        add_row(&l, ROW_DARK, i);
    if (l.rows.n)
        l.y_mm += 3.0;
    const struct airtime *air = s->options->load->airtime;
    for (uint32_t r = 0; air && r < air->cells.n; r++)
        add_row(&l, ROW_RADIO, r);
    return l;
}

uint32_t week_rows_pages(struct sheet *s) { return lay_out(s).page + 1; }

/* ---- painting ---- */

static void paint_axis(struct sheet *s, double y_mm)
{
    for (unsigned hour = 0; hour <= HOURS_OF_DAY; hour += 2)
        chart_put_mid(s, TEXT_CELL, INK_LINE, hour == HOURS_OF_DAY ? STR("24 h") : sheet_text(s, "%u", hour),
                      map_x_mm(s) + hour * hour_mm(s), y_mm);
}

static void paint_head(struct sheet *s, const struct week_row *row)
{
    const bool is_dark = row->kind == ROW_DARK;
    sheet_put(s, TEXT_NOTE_HEAD, INK_LINE,
              is_dark ? STR("When screens are dark") : STR("How much of the time each channel is busy, in the mean, %"),
              CHART_LEFT_MM, row->y_mm - HEAD_MM + 1.0);
    paint_axis(s, row->y_mm - 4.6);
}

static void paint_dark(struct sheet *s, const struct week_row *row)
{
    static const char *const NAMES[DAYS] = { "Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun" };
    const struct statement *st = &s->house->statements.v[row->i];
    const struct hours *hours = &s->house->hours.v[st->hours.i];
    struct week_span spans[WEEK_SPANS_MAX];
    const uint32_t n = week_spans(hours, spans);
    struct text_block b = { .s = s, .w_mm = name_w_mm(s) - 3.0 };
    text_block_add(&b, TEXT_NOTE, INK_LINE, statement_words(s->arena, s->house, st));
    text_block_add(&b, TEXT_SOFT, INK_SOFT, hours->says.n ? hours->says : hours->id);
    text_block_put(&b, CHART_LEFT_MM, row->y_mm);
    for (unsigned day = 0; day < DAYS; day++) {
        const double y = row->y_mm + day * LANE_MM;
        chart_put_right(s, TEXT_CELL, INK_LINE, str_from(NAMES[day]), map_x_mm(s) - 2.0, y);
        pen_ink(&s->pen, INK_HAIR);
        pen_line(&s->pen, (struct vec2){ map_x_mm(s), y + LANE_MM / 2.0 - 0.4 },
                 (struct vec2){ map_x_mm(s) + HOURS_OF_DAY * hour_mm(s), y + LANE_MM / 2.0 - 0.4 }, 0.2);
    }
    for (uint32_t k = 0; k < n; k++)
        chart_hatch(s,
                    (struct draw_box){ map_x_mm(s) + spans[k].from_minute / 60.0 * hour_mm(s),
                                       row->y_mm + spans[k].day * LANE_MM + 0.3,
                                       (spans[k].to_minute - spans[k].from_minute) / 60.0 * hour_mm(s), LANE_MM - 1.4 },
                    HATCH_SOLID, 0.0);
    const struct str clock =
        sheet_text(s, "%02d:%02d to %02d:%02d", (int)hours->from_minute / 60, (int)hours->from_minute % 60,
                   (int)hours->to_minute / 60 % 24, (int)hours->to_minute % 60);
    struct text_block words = { .s = s, .w_mm = s->w_mm - CHART_LEFT_MM - words_x_mm(s) };
    text_block_add(&words, TEXT_NOTE, INK_LINE, clock);
    for (uint32_t i = 0; i < hours->except.n; i++)
        text_block_add(
            &words, TEXT_SOFT, INK_SOFT,
            sheet_text(s, "%s %.*s", hours->except.v[i].holds ? "also" : "not", STR_ARG(hours->except.v[i].says)));
    text_block_put(&words, words_x_mm(s), row->y_mm);
}

/* The same figure in all hours, as it is written. */
static bool is_the_same(const struct airtime *air, uint32_t radio)
{
    const double first = airtime_busy(air, radio, 0, 1.0);
    for (unsigned hour = 1; hour < HOURS_OF_WEEK; hour++)
        if (lround(100.0 * airtime_busy(air, radio, hour, 1.0)) != lround(100.0 * first))
            return false;
    return true;
}

/* The largest share at an hour of some days. */
static double largest(const struct airtime *air, uint32_t radio, unsigned hour, unsigned from_day, unsigned to_day)
{
    double most = 0.0;
    for (unsigned day = from_day; day < to_day; day++)
        most = fmax(most, airtime_busy(air, radio, day * HOURS_OF_DAY + hour, 1.0));
    return most;
}

static void paint_radio_words(struct sheet *s, const struct airtime *air, uint32_t radio, unsigned busy, bool is_flat,
                              double y_mm)
{
    const struct air_parts parts = load_view_air(air, radio, busy);
    const struct str all = chart_percent(s, airtime_busy(air, radio, busy, 1.0));
    struct text_block b = { .s = s, .w_mm = s->w_mm - CHART_LEFT_MM - words_x_mm(s) };
    text_block_add(&b, TEXT_NOTE, INK_LINE,
                   is_flat
                       ? sheet_text(s, "%.*s in every hour", STR_ARG(all))
                       : sheet_text(s, "busiest: %.*s, %.*s", STR_ARG(line_hour_words(s->arena, busy)), STR_ARG(all)));
    const double house = parts.share[AIR_OWN] + parts.share[AIR_BEACONS] + parts.share[AIR_OWN_RADIOS];
    text_block_add(&b, TEXT_SOFT, INK_SOFT,
                   sheet_text(s, "the house's own %.*s, neighbours %.*s", STR_ARG(chart_percent(s, house)),
                              STR_ARG(chart_percent(s, parts.share[AIR_NEIGHBOURS]))));
    if (parts.share[AIR_MESH] > 0.0)
        text_block_add(&b, TEXT_SOFT, INK_SOFT,
                       sheet_text(s, "mesh %.*s", STR_ARG(chart_percent(s, parts.share[AIR_MESH]))));
    text_block_put(&b, words_x_mm(s), y_mm);
}

static void paint_radio(struct sheet *s, const struct week_row *row)
{
    const struct airtime *air = s->options->load->airtime;
    const struct ap_radio *r = &air->stations->fields->radios.v[row->i];
    const unsigned busy = airtime_busy_hour(air, row->i);
    sheet_put(s, TEXT_NOTE_HEAD, INK_LINE, s->house->equipment.v[r->equipment].id, CHART_LEFT_MM, row->y_mm);
    sheet_put(s, TEXT_SOFT, INK_SOFT,
              sheet_text(s, "%s GHz, channel %.0f, %.0f MHz", band_name(r->band), r->channel, r->width_hz / 1e6),
              CHART_LEFT_MM, row->y_mm + 4.8);
    for (unsigned weekend = 0; weekend < 2; weekend++) {
        const double y = row->y_mm + weekend * CELL_MM;
        chart_put_right(s, TEXT_CELL, INK_LINE, weekend ? STR("Sat, Sun") : STR("Mon\u2013Fri"), map_x_mm(s) - 2.0,
                        y + 1.6);
        for (unsigned hour = 0; hour < HOURS_OF_DAY; hour++) {
            const double share = largest(air, row->i, hour, weekend ? WEEKEND : 0, weekend ? DAYS : WEEKEND);
            const struct draw_box box = { map_x_mm(s) + hour * hour_mm(s), y, hour_mm(s), CELL_MM };
            chart_fullness_cell(s, box, share);
            chart_put_mid(s, TEXT_CELL, colour_ink_on(chart_fullness(share)), sheet_text(s, "%.0f", share * 100.0),
                          box.x_mm + box.w_mm / 2.0, y + 1.6);
        }
    }
    const bool in_weekend = busy / HOURS_OF_DAY >= WEEKEND, is_flat = is_the_same(air, row->i);
    if (!is_flat)
        chart_frame(s,
                    (struct draw_box){ map_x_mm(s) + busy % HOURS_OF_DAY * hour_mm(s),
                                       row->y_mm + (in_weekend ? CELL_MM : 0.0), hour_mm(s), CELL_MM },
                    0.7);
    paint_radio_words(s, air, row->i, busy, is_flat, row->y_mm + 0.6);
}

struct str week_rows_paint(struct sheet *s, uint32_t page)
{
    const struct layout l = lay_out(s);
    bool has_radio = false, has_dark = false;
    for (uint32_t i = 0; i < l.rows.n; i++) {
        const struct week_row *row = &l.rows.v[i];
        if (row->page != page)
            continue;
        if (row->is_first)
            paint_head(s, row);
        if (row->kind == ROW_DARK)
            paint_dark(s, row);
        else
            paint_radio(s, row);
        has_radio |= row->kind == ROW_RADIO;
        has_dark |= row->kind == ROW_DARK;
    }
    if (!has_radio)
        return STR("when screens are dark");
    chart_fullness_scale(s, CHART_LEFT_MM, s->h_mm - 31.0, false, STR("share of the time that the channel is busy"));
    const double key_x_mm = sheet_is_small(s) ? 112.0 : map_x_mm(s) + 14.0;
    struct text_block b = { .s = s, .w_mm = sheet_is_small(s) ? s->w_mm - CHART_LEFT_MM - key_x_mm : 150.0 };
    text_block_add(
        &b, TEXT_KEY, INK_LINE,
        STR("Each figure: the busiest of these days at that hour. Heavy frame: the busiest hour of the week. "
            "Above about half, devices begin to wait for one another. Neighbours are taken as busy as they "
            "were heard, in every hour."));
    text_block_put(&b, key_x_mm, s->h_mm - 31.0);
    return has_dark ? STR("when screens are dark, and how busy the channels of the radios are, hour by hour")
                    : STR("how busy the channels of the radios are, hour by hour");
}

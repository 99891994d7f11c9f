#include "draw/week_sheet.h"

#include <cairo.h>
#include <math.h>

#include "base/units.h"
#include "draw/chart.h"
#include "draw/week_rows.h"

#define DAY_MM 11.0 /* column of the days' names */
#define CELL_MM 11.0
#define ROW_MM 13.0
#define MAP_HEAD_MM 10.5 /* caption and hours above a map */
#define MAPS_APART_MM 5.0
#define NOTES_X_MM 321.0
#define NOTES_MM 83.0
#define COLUMNS_APART_MM 8.0
#define DARK_MM 0.9 /* the line under a day when screens are dark */

enum { DAYS = 7, ASKERS_MOST = 7 };

static const char *const DAY_NAMES[DAYS] = { "Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun" };

/* Width of an hour. */
static double hour_mm(const struct sheet *s)
{
    return sheet_is_small(s) ? (s->w_mm - 2.0 * CHART_LEFT_MM - DAY_MM) / HOURS_OF_DAY : 11.9;
}

/* One sheet for down and up, or one each. */
static uint32_t line_pages(const struct sheet *s)
{
    return !s->options->load->has_line ? 0 : sheet_is_small(s) ? 2 : 1;
}

static bool has_rows(const struct sheet *s)
{
    return s->options->load->airtime || week_next_dark(s->house, 0) != NO_REF;
}

bool week_pages(struct sheet *s, str_list *names)
{
    const struct load_view *v = s->options->load;
    if (!v || (!v->has_line && !has_rows(s)))
        return true;
    const uint32_t n = line_pages(s) + (has_rows(s) ? week_rows_pages(s) : 0);
    names->v = ARENA_ARRAY(s->arena, struct str, n);
    for (uint32_t i = 0; names->v && i < n; i++)
        names->v[names->n++] = sheet_text(s, "week-%u", i + 1);
    return names->v && !s->failed;
}

/* ---- the map ---- */

static struct draw_box cell_of(const struct sheet *s, double top_mm, unsigned hour)
{
    return (struct draw_box){ CHART_LEFT_MM + DAY_MM + hour % HOURS_OF_DAY * hour_mm(s),
                              top_mm + MAP_HEAD_MM + hour / HOURS_OF_DAY * ROW_MM, hour_mm(s), CELL_MM };
}

static void paint_cell(struct sheet *s, const struct line_week *week, double top_mm, unsigned hour)
{
    const struct line_hour *x = &week->hours[hour];
    const struct draw_box box = cell_of(s, top_mm, hour);
    const double share = x->needed_mbps.high / week->capacity_mbps, dark = chart_share_of_log(share),
                 mid = box.x_mm + box.w_mm / 2.0;
    const enum ink ink = colour_ink_on(chart_fullness(dark));
    chart_fullness_cell(s, box, dark);
    chart_put_mid(s, TEXT_NOTE_HEAD, ink, chart_mbps(s, x->needed_mbps.high), mid, box.y_mm + 1.2);
    chart_put_mid(s, TEXT_CELL, ink, chart_mbps(s, x->mean_mbps), mid, box.y_mm + 6.6);
    if (share > 1.0) { /* a cross: more than the line carries */
        pen_ink(&s->pen, ink);
        const struct vec2 at = { box.x_mm + box.w_mm - 1.5, box.y_mm + 1.5 };
        pen_line(&s->pen, (struct vec2){ at.x - 0.6, at.y - 0.6 }, (struct vec2){ at.x + 0.6, at.y + 0.6 }, 0.3);
        pen_line(&s->pen, (struct vec2){ at.x - 0.6, at.y + 0.6 }, (struct vec2){ at.x + 0.6, at.y - 0.6 }, 0.3);
    }
}

/* Under each day: when a statement refuses something. */
static void paint_dark(struct sheet *s, double top_mm)
{
    for (uint32_t i = week_next_dark(s->house, 0); i != NO_REF; i = week_next_dark(s->house, i + 1)) {
        struct week_span spans[WEEK_SPANS_MAX];
        const uint32_t n = week_spans(&s->house->hours.v[s->house->statements.v[i].hours.i], spans);
        for (uint32_t k = 0; k < n; k++) {
            const struct draw_box day = cell_of(s, top_mm, spans[k].day * HOURS_OF_DAY);
            pen_ink(&s->pen, INK_LINE);
            pen_path_box(&s->pen, (struct draw_box){
                                      day.x_mm + spans[k].from_minute / 60.0 * hour_mm(s), day.y_mm + CELL_MM + 0.4,
                                      (spans[k].to_minute - spans[k].from_minute) / 60.0 * hour_mm(s), DARK_MM });
            cairo_fill(s->pen.cr);
        }
    }
}

static void paint_map(struct sheet *s, enum load_way way, double top_mm)
{
    const struct line_week *week = &s->options->load->now[way];
    const double left = CHART_LEFT_MM + DAY_MM;
    const struct str head = sheet_text(s, "%s: Mb/s asked of the line, which carries %.*s",
                                       way == LOAD_DOWN ? "Down" : "Up", STR_ARG(chart_mbps(s, week->capacity_mbps)));
    sheet_put(s, TEXT_NOTE_HEAD, INK_LINE, head, CHART_LEFT_MM, top_mm);
    for (unsigned hour = 0; hour <= HOURS_OF_DAY; hour++)
        chart_put_mid(s, TEXT_CELL, INK_LINE, hour == HOURS_OF_DAY ? STR("24 h") : sheet_text(s, "%u", hour),
                      left + hour * hour_mm(s), top_mm + 6.6);
    for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++)
        paint_cell(s, week, top_mm, hour);
    for (unsigned day = 0; day < DAYS; day++)
        sheet_put(s, TEXT_VALUE, INK_LINE, str_from(DAY_NAMES[day]), CHART_LEFT_MM,
                  cell_of(s, top_mm, day * HOURS_OF_DAY).y_mm + 3.6);
    paint_dark(s, top_mm);
    const struct draw_box worst = cell_of(s, top_mm, week->worst);
    chart_frame(s, worst, 0.9);
    pen_ink(&s->pen, INK_SHEET); /* seen on a dark ground too */
    pen_path_box(&s->pen, (struct draw_box){ worst.x_mm + 0.6, worst.y_mm + 0.6, worst.w_mm - 1.2, worst.h_mm - 1.2 });
    cairo_set_line_width(s->pen.cr, 0.3);
    cairo_stroke(s->pen.cr);
}

/* ---- notes ---- */

struct notes {
    struct sheet *s;
    double x_mm, w_mm, y_mm;
};

static void say(struct notes *n, enum text_style style, enum ink ink, struct str words)
{
    struct text_block b = { .s = n->s, .w_mm = n->w_mm };
    text_block_add(&b, style, ink, words);
    text_block_put(&b, n->x_mm, n->y_mm);
    n->y_mm += text_block_mm(&b);
}

static void say_askers(struct notes *n, enum load_way way)
{
    struct sheet *s = n->s;
    const struct load_view *v = s->options->load;
    const load_asker_list list = load_view_askers(s->arena, v->demand, way, v->now[way].worst);
    double rest = 0.0;
    const uint32_t shown = list.n > ASKERS_MOST ? ASKERS_MOST - 1 : list.n;
    s->failed |= !list.v;
    if (list.n)
        say(n, TEXT_SOFT, INK_SOFT, STR("who asks then, Mb/s in the mean"));
    for (uint32_t i = 0; i < list.n && !s->failed; i++) {
        if (i >= shown) {
            rest += list.v[i].mbps;
            continue;
        }
        const double top_mm = n->y_mm;
        struct text_block b = { .s = s, .w_mm = n->w_mm - 15.0 };
        text_block_add(&b, TEXT_NOTE, INK_LINE, demand_source_words(s->arena, v->demand, list.v[i].source));
        text_block_put(&b, n->x_mm, n->y_mm);
        n->y_mm += text_block_mm(&b);
        chart_put_right(s, TEXT_NOTE, INK_LINE, chart_mbps(s, list.v[i].mbps), n->x_mm + n->w_mm, top_mm);
    }
    if (shown < list.n) {
        sheet_put(s, TEXT_NOTE, INK_LINE, sheet_text(s, "%u others", list.n - shown), n->x_mm, n->y_mm);
        chart_put_right(s, TEXT_NOTE, INK_LINE, chart_mbps(s, rest), n->x_mm + n->w_mm, n->y_mm);
        n->y_mm += chart_line_mm(s, TEXT_NOTE);
    }
}

static void say_night(struct notes *n, enum load_way way)
{
    struct sheet *s = n->s;
    const struct line_week *now = &s->options->load->now[way], *night = &s->options->load->night[way];
    const double needed = night->hours[night->worst].needed_mbps.high;
    n->y_mm += 1.0;
    const struct str before = chart_mbps(s, now->hours[now->worst].needed_mbps.high);
    if (needed < now->hours[now->worst].needed_mbps.high && !str_eq(before, chart_mbps(s, needed)))
        say(n, TEXT_ADVICE, INK_SOFT,
            sheet_text(
                s, "Backups and updates moved to between %d and %d h: the fullest hour is then %.*s with %.*s Mb/s.",
                NIGHT_FROM, NIGHT_TO, STR_ARG(line_hour_words(s->arena, night->worst)),
                STR_ARG(chart_mbps(s, needed))));
    else
        say(n, TEXT_ADVICE, INK_SOFT, STR("Backups and updates moved to the night would not lower it."));
}

static void say_way(struct notes *n, enum load_way way)
{
    struct sheet *s = n->s;
    const struct load_view *v = s->options->load;
    const struct line_week *week = &v->now[way];
    const double needed = week->hours[week->worst].needed_mbps.high, left = week->capacity_mbps - needed;
    say(n, TEXT_NOTE_HEAD, INK_LINE,
        sheet_text(s, "%s, fullest: %.*s", way == LOAD_DOWN ? "Down" : "Up",
                   STR_ARG(line_hour_words(s->arena, week->worst))));
    if (isinf(needed))
        say(n, TEXT_NOTE, INK_ACCENT,
            sheet_text(s, "More than %d times the %.*s Mb/s that the line carries are asked for.", DEMAND_TIMES_MAX,
                       STR_ARG(chart_mbps(s, week->capacity_mbps))));
    else
        say(n, TEXT_NOTE, left < 0.0 ? INK_ACCENT : INK_LINE,
            sheet_text(s, "%.*s Mb/s serve %.4g %% of the time; the line carries %.*s: %.*s Mb/s %s.",
                       STR_ARG(chart_mbps(s, needed)), v->probability * 100.0,
                       STR_ARG(chart_mbps(s, week->capacity_mbps)), STR_ARG(chart_mbps(s, fabs(left))),
                       left < 0.0 ? "are missing" : "are left"));
}

static void say_how(struct notes *n)
{
    struct sheet *s = n->s;
    const struct load_view *v = s->options->load;
    say(n, TEXT_SOFT, INK_SOFT, STR("how to read it"));
    say(n, TEXT_NOTE, INK_LINE,
        sheet_text(
            s,
            "Large figure: with so many Mb/s everybody is served %.4g %% of that hour%s. Small figure: the mean. The "
            "darker, the less is left of the line. Heavy frame: the fullest hour. Cross: more than the line carries.",
            v->probability * 100.0, v->is_promised ? ", as promised" : ""));
    if (week_next_dark(s->house, 0) != NO_REF)
        say(n, TEXT_NOTE, INK_LINE,
            STR("Black line under a day: somebody's screens are dark then; the next sheet says whose. What they would "
                "ask for is not taken off."));
}

/* In one column, the ways below one another. */
static void paint_notes(struct sheet *s)
{
    struct notes n = { s, NOTES_X_MM, NOTES_MM, CHART_TOP_MM };
    for (int way = LOAD_DOWN; way <= LOAD_UP; way++) {
        say_way(&n, (enum load_way)way);
        say_askers(&n, (enum load_way)way);
        say_night(&n, (enum load_way)way);
        n.y_mm += 5.0;
    }
    say_how(&n);
}

/* Under the map of one way, in three columns. */
static void paint_notes_below(struct sheet *s, enum load_way way, double top_mm)
{
    const double w_mm = (s->w_mm - 2.0 * CHART_LEFT_MM - 2.0 * COLUMNS_APART_MM) / 3.0;
    struct notes n = { s, CHART_LEFT_MM, w_mm, top_mm };
    say_way(&n, way);
    say_night(&n, way);
    n = (struct notes){ s, n.x_mm + w_mm + COLUMNS_APART_MM, w_mm, top_mm };
    say_askers(&n, way);
    n = (struct notes){ s, n.x_mm + w_mm + COLUMNS_APART_MM, w_mm, top_mm };
    say_how(&n);
}

/* ---- the sheet ---- */

static void paint_line_page(struct sheet *s)
{
    const double map_mm = MAP_HEAD_MM + DAYS * ROW_MM;
    if (sheet_is_small(s)) {
        const enum load_way way = s->subject.page == 0 ? LOAD_DOWN : LOAD_UP;
        paint_map(s, way, CHART_TOP_MM);
        paint_notes_below(s, way, CHART_TOP_MM + map_mm + 2.0);
        chart_fullness_scale(s, CHART_LEFT_MM, s->h_mm - 26.0, true, STR("large figure, share of the line"));
        return;
    }
    paint_map(s, LOAD_DOWN, CHART_TOP_MM);
    paint_map(s, LOAD_UP, CHART_TOP_MM + map_mm + MAPS_APART_MM);
    paint_notes(s);
    chart_fullness_scale(s, CHART_LEFT_MM + DAY_MM, s->h_mm - 29.0, true,
                         STR("large figure, as a share of what the line carries; equal steps are equal ratios"));
}

void week_page_paint(struct sheet *s)
{
    const bool is_line = s->subject.page < line_pages(s);
    const uint32_t of = line_pages(s) + (has_rows(s) ? week_rows_pages(s) : 0);
    struct str head = STR("what the household asks of the internet line, hour by hour");
    sheet_begin(s);
    if (is_line)
        paint_line_page(s);
    else
        head = week_rows_paint(s, s->subject.page - line_pages(s));
    const struct sheet_words words = {
        .title = STR("The week"),
        .head = head,
        .soft = STR("an ordinary week by the house's clock; each device and person by their profile"),
        .drawing = sheet_text(s, "The week, %u of %u", s->subject.page + 1, of),
    };
    sheet_finish(s, &words, NULL);
}

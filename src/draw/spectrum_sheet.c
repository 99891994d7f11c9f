#include "draw/spectrum_sheet.h"

#include <math.h>

#include "base/units.h"
#include "data/channels.h"
#include "draw/chart.h"
#include "radio/interference.h"

#define TIME_MOST 1.1 /* of the whole time's width; no more is drawn of what is above it */
#define STRIP_MM 24.4 /* the axis of a band, with its channels */
#define BANDS_APART_MM 4.0
#define HEAD_MM 7.5 /* a heading between the rows */
#define BAR_MM 5.2
#define MESH_BEYOND_HZ 11e6 /* the mesh has channels above the last one of Wi-Fi */

/* The scale of MHz, that of time with its whole, and a row. */
static double axis_x_mm(const struct sheet *s) { return sheet_is_small(s) ? 60.0 : 72.0; }
static double time_w_mm(const struct sheet *s) { return sheet_is_small(s) ? 62.0 : 104.0; }
static double time_x_mm(const struct sheet *s) { return sheet_is_small(s) ? s->w_mm - 97.0 : 276.0; }
static double axis_w_mm(const struct sheet *s) { return sheet_is_small(s) ? time_x_mm(s) - 8.0 - axis_x_mm(s) : 190.0; }
/* Kept for keys and words. */
static double bottom_mm(const struct sheet *s) { return sheet_is_small(s) ? 47.0 : 54.0; }
static double row_mm(const struct sheet *s) { return sheet_is_small(s) ? 12.8 : 12.4; }

enum row_kind { ROW_OWN, ROW_NEIGHBOUR, ROW_MESH };

struct row {
    enum row_kind kind;
    uint32_t i; /* of the fields' radios, of house->neighbours */
    enum band band;
    uint32_t page;        /* of the drawing's */
    double y_mm, axis_mm; /* of the row, and of the axis that it stands under */
    bool is_first;        /* of its kind under the axis */
    bool has_axis;        /* it is the first under it */
};
typedef VEC(struct row) row_vec;

struct layout {
    struct sheet *s;
    row_vec rows;
    uint32_t n_pages;
    enum band band;
    double y_mm; /* of the next row on the last page */
};

static const struct {
    enum hatch hatch;
    const char *name, *key;
} PARTS[AIR_PART_COUNT] = {
    [AIR_OWN] = { HATCH_SOLID, "own devices", "own devices" },
    [AIR_BEACONS] = { HATCH_DOTS, "beacons", "its own beacons" },
    [AIR_OWN_RADIOS] = { HATCH_CROSS, "own radios", "own radios on the same channel" },
    [AIR_NEIGHBOURS] = { HATCH_RISING, "neighbours", "neighbours" },
    [AIR_MESH] = { HATCH_FALLING, "mesh", "the low-power mesh" },
};

/* ---- which rows on which page ---- */

static const struct ap_radio *radio_of(const struct sheet *s, uint32_t i)
{
    return &s->options->load->airtime->stations->fields->radios.v[i];
}

/* A band begins where it has room for a row, else on a new sheet; what goes on there has its axis again. */
static void add_row(struct layout *l, enum row_kind kind, uint32_t i)
{
    struct sheet *s = l->s;
    const struct row *last = l->rows.n ? &l->rows.v[l->rows.n - 1] : NULL;
    const double end_mm = s->h_mm - bottom_mm(s);
    struct row row = { .kind = kind, .i = i, .band = l->band };
    row.has_axis = !last || last->band != l->band;
    row.is_first = row.has_axis || last->kind != kind;
    const double above_mm = (row.has_axis ? BANDS_APART_MM + STRIP_MM : 0.0) + (row.is_first ? HEAD_MM : 0.0);
    if (!last || l->y_mm + above_mm + row_mm(s) > end_mm) {
        l->n_pages++;
        l->y_mm = CHART_TOP_MM - 0.6;
        row.has_axis = row.is_first = true;
    } else if (row.has_axis) {
        l->y_mm += BANDS_APART_MM;
    }
    row.axis_mm = row.has_axis ? l->y_mm : last->axis_mm;
    l->y_mm += row.has_axis ? STRIP_MM : 0.0;
    row.page = l->n_pages - 1;
    row.y_mm = l->y_mm + (row.is_first ? HEAD_MM : 0.0);
    l->y_mm = row.y_mm + row_mm(s);
    s->failed |= !VEC_PUSH(s->arena, &l->rows, row);
}

static struct layout lay_out(struct sheet *s)
{
    struct layout l = { .s = s };
    const struct house *h = s->house;
    const struct airtime *air = s->options->load->airtime;
    for (uint32_t band = 0; band < BAND_COUNT && !s->failed; band++) {
        l.band = (enum band)band;
        for (uint32_t r = 0; air && r < air->cells.n; r++)
            if (radio_of(s, r)->band == l.band)
                add_row(&l, ROW_OWN, r);
        for (uint32_t i = 0; i < h->neighbours.n; i++)
            if (h->neighbours.v[i].band == l.band)
                add_row(&l, ROW_NEIGHBOUR, i);
        if (l.band == BAND_2G4 && is_given(h->mesh.channel))
            add_row(&l, ROW_MESH, 0);
    }
    return l;
}

bool spectrum_pages(struct sheet *s, str_list *names)
{
    if (!s->options->load)
        return true;
    const struct layout l = lay_out(s);
    names->v = ARENA_ARRAY(s->arena, struct str, l.n_pages);
    for (uint32_t i = 0; names->v && i < l.n_pages; i++)
        names->v[names->n++] = sheet_text(s, "spectrum-%u", i + 1);
    return names->v && !s->failed;
}

/* ---- rows ---- */

static void paint_span(struct sheet *s, const struct spectrum_axis *axis, double centre_hz, double width_hz,
                       double y_mm, enum hatch hatch)
{
    const double x0 = spectrum_x(axis, fmax(centre_hz - width_hz / 2.0, axis->from_hz));
    const double x1 = spectrum_x(axis, fmin(centre_hz + width_hz / 2.0, axis->to_hz));
    chart_hatch(s, (struct draw_box){ x0, y_mm, x1 - x0, BAR_MM }, hatch, 0.3);
}

static void paint_name(struct sheet *s, struct str name, struct str soft, double y_mm)
{
    struct text_block b = { .s = s, .w_mm = axis_x_mm(s) - CHART_LEFT_MM - 3.0 };
    text_block_add(&b, TEXT_NOTE_HEAD, INK_LINE, name);
    text_block_add(&b, TEXT_SOFT, INK_SOFT, soft);
    text_block_put(&b, CHART_LEFT_MM, y_mm - 0.4);
}

/* Shares one after the other; the sum behind them, and the words below. */
static void paint_time(struct sheet *s, const double *shares, uint32_t n, const enum hatch *hatches, struct str words,
                       double y_mm)
{
    double sum = 0.0;
    for (uint32_t i = 0; i < n; i++) {
        const double to = fmin(sum + shares[i], TIME_MOST);
        if (to > sum)
            chart_hatch(s,
                        (struct draw_box){ time_x_mm(s) + time_w_mm(s) * sum, y_mm, time_w_mm(s) * (to - sum), BAR_MM },
                        hatches[i], 0.25);
        sum += shares[i];
    }
    sheet_put(s, TEXT_NOTE_HEAD, INK_LINE, chart_percent(s, sum),
              time_x_mm(s) + time_w_mm(s) * fmin(sum, TIME_MOST) + 2.0, y_mm + 0.5);
    struct text_block b = { .s = s, .w_mm = s->w_mm - CHART_LEFT_MM - time_x_mm(s) };
    text_block_add(&b, TEXT_CELL, INK_LINE, words);
    text_block_put(&b, time_x_mm(s), y_mm + BAR_MM + 0.6);
}

static void paint_own(struct sheet *s, const struct spectrum_axis *axis, const struct row *row)
{
    const struct airtime *air = s->options->load->airtime;
    const struct ap_radio *r = radio_of(s, row->i);
    const unsigned hour = airtime_busy_hour(air, row->i);
    const struct air_parts parts = load_view_air(air, row->i, hour);
    enum hatch hatches[AIR_PART_COUNT];
    struct buf words = { .arena = s->arena };
    const char *before = ": ";
    buf_str(&words, radio_hour_words(s->arena, air, row->i));
    for (uint32_t i = 0; i < AIR_PART_COUNT; i++) {
        hatches[i] = PARTS[i].hatch;
        if (!(parts.share[i] > 0.0))
            continue;
        buf_printf(&words, "%s%s %.*s", before, PARTS[i].name, STR_ARG(chart_percent(s, parts.share[i])));
        before = ", ";
    }
    s->failed |= words.failed;
    paint_name(s, s->house->equipment.v[r->equipment].id,
               sheet_text(s, "%s%.0f%s, %.0f MHz, %.*s dBm EIRP", r->channel_was_chosen ? "not chosen (" : "channel ",
                          r->channel, r->channel_was_chosen ? ")" : "", r->width_hz / 1e6,
                          STR_ARG(sheet_figure(s->arena, round(10.0 * r->eirp_dbm) / 10.0))),
               row->y_mm);
    paint_span(s, axis, r->centre_hz, r->width_hz, row->y_mm, HATCH_SOLID);
    paint_time(s, parts.share, AIR_PART_COUNT, hatches, words.failed ? STR("") : buf_done(&words), row->y_mm);
}

static void paint_neighbour(struct sheet *s, const struct spectrum_axis *axis, const struct row *row)
{
    const struct neighbour *n = &s->house->neighbours.v[row->i];
    static const enum hatch RISING = HATCH_RISING;
    struct buf words = { .arena = s->arena };
    const struct airtime *air = s->options->load->airtime;
    uint32_t heard = 0;
    for (uint32_t r = 0; air && r < air->cells.n; r++)
        for (uint32_t i = 0; i < air->cells.v[r].sharers.n; i++)
            if (air->cells.v[r].sharers.v[i].neighbour == row->i)
                buf_printf(&words, "%s%.*s (%.*s dBm)", heard++ ? ", " : "makes wait: ",
                           STR_ARG(s->house->equipment.v[radio_of(s, r)->equipment].id),
                           STR_ARG(sheet_figure(s->arena, round(air->cells.v[r].sharers.v[i].level_dbm))));
    if (!heard)
        buf_printf(&words, "no access point hears it above \u2212%.0f dBm", -DEFER_DBM);
    s->failed |= words.failed;
    paint_name(s, n->id,
               sheet_text(s, "channel %.0f, %.0f MHz, heard at %.*s dBm", n->channel, n->width_mhz,
                          STR_ARG(sheet_figure(s->arena, n->level_dbm))),
               row->y_mm);
    paint_span(s, axis, interference_neighbour_centre_hz(n), n->width_mhz * 1e6, row->y_mm, HATCH_RISING);
    paint_time(s, &n->busy_share, 1, &RISING, words.failed ? STR("") : buf_done(&words), row->y_mm);
}

static void paint_mesh(struct sheet *s, const struct spectrum_axis *axis, const struct row *row)
{
    const int channel = (int)s->house->mesh.channel;
    const struct airtime *air = s->options->load->airtime;
    static const enum hatch CROSS = HATCH_CROSS;
    double most = 0.0;
    unsigned busiest = 0;
    for (unsigned hour = 0; air && hour < HOURS_OF_WEEK; hour++) {
        const double share = airtime_over_mesh(air, channel, hour);
        if (share > most) {
            most = share;
            busiest = hour;
        }
    }
    paint_name(s, STR("mesh"), sheet_text(s, "channel %d, 2 MHz", channel), row->y_mm);
    paint_span(s, axis, mesh_channel_centre_hz(channel), 2e6, row->y_mm, HATCH_FALLING);
    const struct str words = most > 0.0 ? sheet_text(s, "%.*s: Wi-Fi, own and foreign, lies over it",
                                                     STR_ARG(line_hour_words(s->arena, busiest)))
                                        : STR("no Wi-Fi lies over it");
    paint_time(s, &most, 1, &CROSS, words, row->y_mm);
}

/* ---- the sheet ---- */

/* Thin lines down from the edges of the own channels: what of the others lies over them. */
static void paint_guides(struct sheet *s, const struct layout *l, const struct spectrum_axis *axis, double axis_mm,
                         double to_mm)
{
    for (uint32_t i = 0; i < l->rows.n; i++) {
        const struct row *row = &l->rows.v[i];
        if (row->kind != ROW_OWN || row->page != s->subject.page || row->axis_mm != axis_mm)
            continue;
        const struct ap_radio *r = radio_of(s, row->i);
        pen_ink(&s->pen, INK_SOFT);
        for (int side = -1; side <= 1; side += 2) {
            const double x = spectrum_x(axis, r->centre_hz + side * r->width_hz / 2.0);
            pen_line(&s->pen, (struct vec2){ x, row->y_mm + BAR_MM }, (struct vec2){ x, to_mm }, 0.15);
        }
    }
}

static void paint_scale_of_time(struct sheet *s, double y_mm)
{
    const double y = y_mm + 5.8;
    sheet_put(s, TEXT_SOFT, INK_SOFT, STR("share of the time, in each one's busiest hour, %"), time_x_mm(s), y_mm);
    pen_ink(&s->pen, INK_LINE);
    pen_line(&s->pen, (struct vec2){ time_x_mm(s), y + 5.2 }, (struct vec2){ time_x_mm(s) + time_w_mm(s), y + 5.2 },
             0.3);
    for (int i = 0; i <= 4; i++) {
        const double x = time_x_mm(s) + time_w_mm(s) * i / 4.0;
        pen_ink(&s->pen, INK_LINE);
        pen_line(&s->pen, (struct vec2){ x, y + 5.2 }, (struct vec2){ x, y + 3.9 }, 0.25);
        chart_put_mid(s, TEXT_CELL, INK_LINE, sheet_text(s, "%d", 25 * i), x, y + 0.4);
    }
}

static double paint_key(struct sheet *s, enum hatch hatch, struct str words, double x_mm, double y_mm)
{
    chart_hatch(s, (struct draw_box){ x_mm, y_mm, 8.0, 3.2 }, hatch, 0.2);
    return sheet_put(s, TEXT_KEY, INK_LINE, words, x_mm + 9.5, y_mm + 0.2) + 6.0;
}

static void paint_keys(struct sheet *s, const struct layout *l)
{
    double y = s->h_mm - bottom_mm(s) + 4.0;
    double x = sheet_put(s, TEXT_KEY, INK_SOFT, STR("channels:"), CHART_LEFT_MM, y + 0.2) + 4.0;
    x = paint_key(s, HATCH_NONE, STR("free to use"), x, y);
    x = paint_key(s, HATCH_DOTS, STR("gives way to radar"), x, y);
    x = paint_key(s, HATCH_FALLING, STR("only who hears another there"), x, y);
    paint_key(s, HATCH_CROSS, STR("not allowed"), x, y);
    y += 5.4;
    x = sheet_put(s, TEXT_KEY, INK_SOFT, STR("time:"), CHART_LEFT_MM, y + 0.2) + 4.0;
    for (uint32_t i = 0; i < AIR_PART_COUNT; i++)
        x = paint_key(s, PARTS[i].hatch, str_from(PARTS[i].key), x, y);
    y += 5.8;
    struct text_block b = { .s = s, .w_mm = fmin(270.0, s->w_mm - 2.0 * CHART_LEFT_MM) };
    text_block_add(
        &b, TEXT_KEY, INK_LINE,
        STR("Left: each bar is as wide as the channel; thin lines carry the edges of the own channels down, and what "
            "lies between them takes time of it.  Right: foreign cells and the mesh first take their share, the "
            "house takes turns in what they leave.  Above about half the time devices begin to wait for one "
            "another.  What the country allows is a planner's view: local rules decide."));
    for (uint32_t i = 0; i < l->rows.n; i++)
        if (l->rows.v[i].has_axis && l->rows.v[i].page == s->subject.page)
            spectrum_rules_words(&b, l->rows.v[i].band, s->options->load->rules);
    text_block_put(&b, CHART_LEFT_MM, y);
}

static void paint_heading(struct sheet *s, const struct row *row)
{
    static const char *const WORDS[] = { [ROW_OWN] = "own access points",
                                         [ROW_NEIGHBOUR] = "neighbours, as they were heard",
                                         [ROW_MESH] = "low-power mesh" };
    sheet_put(s, TEXT_SOFT, INK_SOFT, str_from(WORDS[row->kind]), CHART_LEFT_MM, row->y_mm - HEAD_MM + 2.4);
    pen_ink(&s->pen, INK_HAIR);
    pen_line(&s->pen, (struct vec2){ CHART_LEFT_MM, row->y_mm - HEAD_MM + 1.4 },
             (struct vec2){ s->w_mm - CHART_LEFT_MM, row->y_mm - HEAD_MM + 1.4 }, 0.2);
}

/* The axis of a band and the rows under it. */
static void paint_band(struct sheet *s, const struct layout *l, uint32_t first)
{
    static void (*const PAINT[])(struct sheet *, const struct spectrum_axis *, const struct row *) = {
        [ROW_OWN] = paint_own, [ROW_NEIGHBOUR] = paint_neighbour, [ROW_MESH] = paint_mesh
    };
    const struct row *at = &l->rows.v[first];
    struct spectrum_axis axis = { .band = at->band, .x_mm = axis_x_mm(s), .w_mm = axis_w_mm(s) };
    uint32_t end = first + 1;
    while (end < l->rows.n && !l->rows.v[end].has_axis)
        end++;
    spectrum_edges(at->band, &axis.from_hz, &axis.to_hz);
    if (at->band == BAND_2G4)
        axis.to_hz += MESH_BEYOND_HZ;
    sheet_put(s, TEXT_HEAD, INK_LINE, sheet_text(s, "%s GHz", band_name(at->band)), CHART_LEFT_MM, at->axis_mm + 5.4);
    sheet_put(s, TEXT_SOFT, INK_SOFT, STR("MHz, and channels of 20 MHz, true to scale"), axis_x_mm(s), at->axis_mm);
    spectrum_rules_paint(s, &axis, s->options->load->rules, at->axis_mm + 5.8);
    paint_scale_of_time(s, at->axis_mm);
    paint_guides(s, l, &axis, at->axis_mm, l->rows.v[end - 1].y_mm + row_mm(s) - 2.0);
    for (uint32_t i = first; i < end; i++) {
        if (l->rows.v[i].is_first)
            paint_heading(s, &l->rows.v[i]);
        PAINT[l->rows.v[i].kind](s, &axis, &l->rows.v[i]);
    }
}

void spectrum_page_paint(struct sheet *s)
{
    const struct layout l = lay_out(s);
    sheet_begin(s);
    for (uint32_t i = 0; i < l.rows.n && !s->failed; i++)
        if (l.rows.v[i].has_axis && l.rows.v[i].page == s->subject.page)
            paint_band(s, &l, i);
    paint_keys(s, &l);
    const struct sheet_words words = {
        .title = STR("The air"),
        .head = STR("who sends on which channel, and how much of the time"),
        .soft = STR("own access points as planned, neighbours as the house file has them, what the country allows"),
        .drawing = l.n_pages > 1 ? sheet_text(s, "The air, %u of %u", s->subject.page + 1, l.n_pages) : STR("The air"),
    };
    sheet_finish(s, &words, NULL);
}

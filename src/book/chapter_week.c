/* The week: when screens are dark, what the children may when, clock changes, the radios' channels; the line's fullest hours stand in
 * the chapter of the load. */
#include <cairo.h>
#include <math.h>

#include "base/csv.h"
#include "base/units.h"
#include "book/net_words.h"
#include "book/tables.h"
#include "draw/week_rows.h"

static const double DAY_MM = 11.0, LANE_MM = 4.2, AXIS_MM = 4.5, BAND_MM = 2.6, SAYS_MM = 10.0, SOFT_MM = 8.5,
                    APART_MM = 8.0;

enum { DAYS = 7 };

/* ---- hours ---- */

static struct str hours_says(struct book *b, const struct hours *h)
{
    return h->says.n ? h->says : net_plain_words(b, h->id);
}

static struct str except_words(struct book *b, const struct day_exception *e)
{
    return book_text(b, "%s %.*s%s%.*s", e->holds ? "also" : "not", STR_ARG(net_days_words(b, e)),
                     e->says.n ? ": " : "", STR_ARG(e->says));
}

/* Every statement and promise that keeps to these hours. */
static struct str used_by(struct book *b, uint32_t hours)
{
    struct buf text = { .arena = b->arena };
    for (uint32_t i = 0; i < b->h->statements.n; i++)
        if (b->h->statements.v[i].hours.i == hours)
            buf_printf(&text, "%s%.*s", text.n ? "\n" : "", STR_ARG(net_statement_sentence(b, &b->h->statements.v[i])));
    for (uint32_t i = 0; i < b->h->promises.n; i++)
        if (b->h->promises.v[i].hours.i == hours)
            buf_printf(&text, "%spromised: %.*s", text.n ? "\n" : "", STR_ARG(b->h->promises.v[i].says));
    return text.n ? buf_done(&text) : STR("nothing");
}

static struct str excepted(struct book *b, const struct hours *h)
{
    struct buf except = { .arena = b->arena };
    for (uint32_t k = 0; k < h->except.n; k++)
        buf_printf(&except, "%s%.*s", k ? "\n" : "", STR_ARG(except_words(b, &h->except.v[k])));
    return except.n ? buf_done(&except) : STR("");
}

void hours_write_csv(struct book *b, struct buf *out)
{
    buf_text(out, "hours,says,when,days_apart,what_keeps_to_them\r\n");
    for (uint32_t i = 0; i < b->h->hours.n; i++) {
        const struct hours *h = &b->h->hours.v[i];
        const struct str cells[] = { h->id, h->says, net_hours_words(b, i), excepted(b, h), used_by(b, i) };
        for (size_t k = 0; k < RT_COUNT(cells); k++)
            csv_field(out, cells[k]);
        csv_end_row(out);
    }
}

static void write_hours(struct book *b)
{
    static const struct flow_column COLUMNS[] = { { "hours", 1.0, FLOW_LEFT },
                                                  { "when", 0.7, FLOW_LEFT },
                                                  { "days apart", 1.2, FLOW_LEFT },
                                                  { "what keeps to them", 1.4, FLOW_LEFT } };
    flow_section(b->flow, "week-hours", "The hours of the house");
    if (!b->h->hours.n) {
        flow_text(b->flow, "The file names no hours: every statement holds day and night.");
        return;
    }
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < b->h->hours.n; i++) {
        const struct hours *h = &b->h->hours.v[i];
        const struct flow_cell cells[] = { net_cell(hours_says(b, h)), net_cell(net_hours_words(b, i)),
                                           h->except.n ? net_cell(excepted(b, h)) : net_soft(STR("none")),
                                           net_cell(used_by(b, i)) };
        flow_row(b->flow, cells);
    }
}

/* ---- dark hours ---- */

/* Two statements side by side. */
struct dark {
    struct str says[2], soft[2];
    const struct hours *hours[2];
};

static void paint_axis(struct pen *pen, double hour_mm)
{
    for (int hour = 0; hour <= HOURS_OF_DAY; hour += 4) {
        char words[8];
        snprintf(words, sizeof words, hour == HOURS_OF_DAY ? "%d h" : "%d", hour);
        const struct text_size size = pen_measure(pen, TEXT_PAGE_COLUMN, str_from(words));
        pen_text(pen, TEXT_PAGE_COLUMN, str_from(words), DAY_MM + hour * hour_mm - size.w_mm / 2.0, SAYS_MM);
    }
}

static void paint_one(struct pen *pen, const struct hours *hours, double w_mm)
{
    static const char *const NAMES[DAYS] = { "Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun" };
    const double hour_mm = (w_mm - DAY_MM - 4.0) / HOURS_OF_DAY, top = SAYS_MM + AXIS_MM;
    struct week_span spans[WEEK_SPANS_MAX];
    const uint32_t n = week_spans(hours, spans);
    paint_axis(pen, hour_mm);
    for (unsigned day = 0; day < DAYS; day++) {
        const double y = top + day * LANE_MM, mid = y + LANE_MM / 2.0;
        pen_text(pen, TEXT_PAGE_CELL, str_from(NAMES[day]), 0.0, y + 0.3);
        pen_ink(pen, INK_HAIR);
        pen_line(pen, (struct vec2){ DAY_MM, mid }, (struct vec2){ DAY_MM + HOURS_OF_DAY * hour_mm, mid }, 0.2);
    }
    pen_ink(pen, INK_LINE);
    for (uint32_t k = 0; k < n; k++) {
        const double x = DAY_MM + spans[k].from_minute / 60.0 * hour_mm,
                     y = top + spans[k].day * LANE_MM + (LANE_MM - BAND_MM) / 2.0;
        pen_path_box(pen,
                     (struct draw_box){ x, y, (spans[k].to_minute - spans[k].from_minute) / 60.0 * hour_mm, BAND_MM });
        cairo_fill(pen->cr);
    }
}

static void paint_dark(struct pen *pen, double w_mm, double h_mm, void *user)
{
    const struct dark *d = user;
    const double one_mm = (w_mm - APART_MM) / 2.0;
    (void)h_mm;
    for (int i = 0; i < 2 && d->hours[i]; i++) {
        cairo_save(pen->cr);
        cairo_translate(pen->cr, i * (one_mm + APART_MM), 0.0);
        pen_paragraph(pen, TEXT_PAGE_B, INK_LINE, PEN_LEFT, d->says[i], 0.0, 0.0, one_mm);
        paint_one(pen, d->hours[i], one_mm);
        pen_paragraph(pen, TEXT_PAGE_SOFT, INK_SOFT, PEN_LEFT, d->soft[i], 0.0,
                      SAYS_MM + AXIS_MM + DAYS * LANE_MM + 0.8, one_mm);
        cairo_restore(pen->cr);
    }
}

static void write_dark(struct book *b)
{
    flow_section(b->flow, "week-dark", "When something is dark");
    if (week_next_dark(b->h, 0) == NO_REF) {
        flow_text(b->flow, "Never: no statement refuses anything at certain hours.");
        return;
    }
    flow_text(b->flow, "In the black hours it is refused, and what is running then is cut. An ordinary week:");
    for (uint32_t i = week_next_dark(b->h, 0); i != NO_REF;) {
        struct dark *d = ARENA_NEW(b->arena, struct dark);
        for (int k = 0; d && k < 2 && i != NO_REF; k++, i = week_next_dark(b->h, i + 1)) {
            const struct statement *s = &b->h->statements.v[i];
            d->hours[k] = &b->h->hours.v[s->hours.i];
            d->says[k] = net_statement_sentence(b, s);
            d->soft[k] = book_text(b, "%.*s, to %.*s. %.*s.", STR_ARG(net_ends_words(b, &s->from)),
                                   STR_ARG(net_ends_words(b, &s->to)), STR_ARG(net_hours_words(b, s->hours.i)));
        }
        if (!d)
            return;
        flow_figure(b->flow, SAYS_MM + AXIS_MM + DAYS * LANE_MM + SOFT_MM, paint_dark, d, STR(""));
    }
}

/* ---- children ---- */

static struct str devices_of(struct book *b, uint32_t person)
{
    struct buf text = { .arena = b->arena };
    uint32_t n = 0, k = 0;
    for (uint32_t i = 0; i < b->h->devices.n; i++)
        n += b->h->devices.v[i].owner.i == person;
    for (uint32_t i = 0; i < b->h->devices.n; i++)
        if (b->h->devices.v[i].owner.i == person)
            net_list_word(&text, k++, n, net_device_short(b, i));
    return buf_done(&text);
}

/* Who of the children has a device that a statement speaks of, or that is on a segment (statement NULL). */
static struct str children_of(struct book *b, const struct statement *s, uint32_t segment)
{
    struct buf text = { .arena = b->arena };
    uint32_t n = 0, k = 0;
    for (int pass = 0; pass < 2; pass++)
        for (uint32_t i = 0; i < b->h->people.n; i++) {
            bool is_meant = s && b->h->people.v[i].kind == PERSON_CHILD && net_statement_is_of(b, s, i);
            for (uint32_t d = 0; !s && b->h->people.v[i].kind == PERSON_CHILD && d < b->h->devices.n; d++)
                is_meant |= b->h->devices.v[d].owner.i == i && b->h->devices.v[d].segment.i == segment;
            if (!is_meant)
                continue;
            if (pass == 0)
                n++;
            else
                net_list_word(&text, k++, n, net_person_words(b, i));
        }
    return buf_done(&text);
}

static void child_row(struct book *b, struct str what, enum verdict verdict, struct str when, struct str who)
{
    const struct flow_cell cells[] = { net_cell(what),
                                       net_strong(verdict == VERDICT_ALLOW ? STR("allowed") : STR("refused")),
                                       net_cell(when), net_cell(who) };
    if (who.n)
        flow_row(b->flow, cells);
}

/* The statements whose senders are among the children's devices, as they stand in the file; the first that fits decides. */
static void write_children(struct book *b)
{
    static const struct flow_column COLUMNS[] = {
        { "what", 1.8, FLOW_LEFT }, { "", 0, FLOW_LEFT }, { "when", 0.9, FLOW_LEFT }, { "who", 0.9, FLOW_LEFT }
    };
    struct buf with = { .arena = b->arena };
    for (uint32_t i = 0; i < b->h->people.n; i++)
        if (b->h->people.v[i].kind == PERSON_CHILD) {
            const struct str devices = devices_of(b, i);
            buf_printf(&with, "%s%.*s has: %.*s.", with.n ? " " : "", STR_ARG(net_person_words(b, i)),
                       STR_ARG(devices.n ? devices : STR("no device of the file")));
        }
    if (!with.n)
        return;
    flow_section(b->flow, "week-children", "What the children may, and when");
    flow_text(b->flow, "%.*s", STR_ARG(buf_done(&with)));
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < b->h->statements.n; i++) {
        const struct statement *s = &b->h->statements.v[i];
        child_row(b, net_statement_sentence(b, s), s->verdict, net_hours_words(b, s->hours.i),
                  children_of(b, s, NO_REF));
    }
    for (uint32_t s = 0; s < b->h->segments.n; s++) {
        const str_list *names = &b->h->segments.v[s].blocked_names;
        struct buf text = { .arena = b->arena };
        for (uint32_t i = 0; i < names->n; i++)
            net_list_word(&text, i, names->n, names->v[i]);
        if (names->n)
            child_row(b, book_text(b, "The gateway does not tell where to find %.*s", STR_ARG(buf_done(&text))),
                      VERDICT_REFUSE, STR("always"), children_of(b, NULL, s));
    }
}

/* ---- clock changes ---- */

/* Which weeks come is not said: the same house gives the same book on any day. */
static void write_clock(struct book *b)
{
    if (!b->h->hours.n)
        return;
    flow_heading(b->flow, "When the clocks change");
    flow_text(
        b->flow,
        "Hours go by the clock on the wall (%.*s). In the night that an hour is left out, hours that begin in it begin "
        "at its end; in the night that an hour comes twice, they hold both times. The gateway is told every change in "
        "advance. Proven is every kind of week that comes: the ordinary one, those in which the clock changes, and "
        "those "
        "with days apart.",
        STR_ARG(b->h->time_zone));
}

/* ---- radios ---- */

static void radio_row(struct book *b, const struct airtime *air, uint32_t i)
{
    const struct ap_radio *r = &air->stations->fields->radios.v[i];
    const struct equipment *e = &b->h->equipment.v[r->equipment];
    const unsigned busy = airtime_busy_hour(air, i);
    const struct flow_cell cells[] = {
        net_strong(e->id),
        net_cell(e->says.n || e->room.i == NO_REF ? e->says : house_room_name(b->h, e->room.i)),
        net_cell(book_text(b, "%s GHz", band_name(r->band))),
        net_cell(book_text(b, "%.0f", r->channel)),
        net_cell(book_text(b, "%.0f MHz", r->width_hz / 1e6)),
        net_cell(book_text(b, "%.0f dBm", r->power_dbm)),
        airtime_is_flat(air, i) ? net_soft(STR(EVERY_HOUR)) : net_cell(line_hour_words(b->arena, busy)),
        net_cell(book_text(b, "%.0f %%", 100.0 * airtime_busy(air, i, busy, 1.0))),
    };
    flow_row(b->flow, cells);
}

static void write_radios(struct book *b)
{
    static const struct flow_column COLUMNS[] = {
        { "radio of", 0, FLOW_LEFT }, { "where", 1.0, FLOW_LEFT },    { "band", 0, FLOW_RIGHT },
        { "channel", 0, FLOW_RIGHT }, { "width", 0, FLOW_RIGHT },     { "power", 0, FLOW_RIGHT },
        { "busiest", 0, FLOW_LEFT },  { "then busy", 0, FLOW_RIGHT },
    };
    const struct airtime *air = b->draw.load ? b->draw.load->airtime : NULL;
    flow_section(b->flow, "week-radios", "The radios and their channels");
    if (!air || !air->cells.n) {
        flow_text(b->flow, "The house has no radio of its own.");
        return;
    }
    flow_text(b->flow,
              "The channel is its centre. Above about half of the time busy, devices begin to wait for one another.");
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    bool radar = false;
    for (uint32_t i = 0; i < air->cells.n; i++) {
        radio_row(b, air, i);
        radar |= air->stations->fields->radios.v[i].needs_radar_detection;
    }
    if (radar)
        flow_soft(b->flow,
                  "Where radar may use a channel too, the access point listens first and leaves it when it hears one: "
                  "after a power cut such a radio can be silent for a minute and more.");
    if (b->h->mesh.at.line && is_given(b->h->mesh.channel))
        flow_text(b->flow, "The low-power mesh is on channel %.0f (IEEE 802.15.4).", b->h->mesh.channel);
}

enum rt_code chapter_week(struct book *b, struct rt_problems *p)
{
    flow_chapter(b->flow, "week", "The week");
    write_dark(b);
    write_children(b);
    write_hours(b);
    write_clock(b);
    write_radios(b);
    (void)p;
    flow_soft(b->flow,
              "`rooftree draw --what week,spectrum` draws every hour of the week, and who sends on which channel.");
    return RT_OK;
}

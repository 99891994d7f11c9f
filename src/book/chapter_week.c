/* The week: when screens are dark, what the children may when, clock changes, the line's fullest hours, the radios' channels. */
#include <math.h>

#include "base/units.h"
#include "book/net_words.h"
#include "draw/week_rows.h"

static const double DAY_MM = 13.0, LANE_MM = 4.6, AXIS_MM = 5.0, BAND_MM = 2.8;

enum { DAYS = 7, ASKERS_MOST = 5 };

/* ---- hours ---- */

static struct str hours_says(struct book *b, const struct hours *h)
{
    return h->says.n ? h->says : net_plain_words(b, h->id);
}

static struct str except_words(struct book *b, const struct day_exception *e)
{
    const struct str days = str_eq(e->from_date, e->to_date)
                                ? e->from_date
                                : book_text(b, "%.*s to %.*s", STR_ARG(e->from_date), STR_ARG(e->to_date));
    return book_text(b, "%s %.*s%s%.*s", e->holds ? "also" : "not", STR_ARG(days), e->says.n ? ": " : "",
                     STR_ARG(e->says));
}

/* Every statement and promise that keeps to these hours. */
static struct str used_by(struct book *b, uint32_t hours)
{
    struct buf text = { .arena = b->arena };
    for (uint32_t i = 0; i < b->h->statements.n; i++)
        if (b->h->statements.v[i].hours.i == hours)
            buf_printf(&text, "%s%.*s", text.n ? "\n" : "", STR_ARG(b->h->statements.v[i].says));
    for (uint32_t i = 0; i < b->h->promises.n; i++)
        if (b->h->promises.v[i].hours.i == hours)
            buf_printf(&text, "%spromised: %.*s", text.n ? "\n" : "", STR_ARG(b->h->promises.v[i].says));
    return text.n ? buf_done(&text) : STR("nothing");
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
        struct buf except = { .arena = b->arena };
        for (uint32_t k = 0; k < h->except.n; k++)
            buf_printf(&except, "%s%.*s", k ? "\n" : "", STR_ARG(except_words(b, &h->except.v[k])));
        const struct flow_cell cells[] = { net_cell(hours_says(b, h)), net_cell(net_hours_words(b, i)),
                                           h->except.n ? net_cell(buf_done(&except)) : net_soft(STR("none")),
                                           net_cell(used_by(b, i)) };
        flow_row(b->flow, cells);
    }
}

/* ---- dark hours ---- */

struct dark {
    const struct hours *hours;
};

static void paint_axis(struct pen *pen, double w_mm)
{
    const double hour_mm = (w_mm - DAY_MM - 4.0) / HOURS_OF_DAY;
    for (int hour = 0; hour <= HOURS_OF_DAY; hour += 3) {
        char words[8];
        snprintf(words, sizeof words, hour == HOURS_OF_DAY ? "%d h" : "%d", hour);
        const struct text_size size = pen_measure(pen, TEXT_PAGE_COLUMN, str_from(words));
        pen_text(pen, TEXT_PAGE_COLUMN, str_from(words), DAY_MM + hour * hour_mm - size.w_mm / 2.0, 0.0);
    }
}

static void paint_dark(struct pen *pen, double w_mm, double h_mm, void *user)
{
    static const char *const NAMES[DAYS] = { "Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun" };
    const struct dark *d = user;
    const double hour_mm = (w_mm - DAY_MM - 4.0) / HOURS_OF_DAY;
    struct week_span spans[WEEK_SPANS_MAX];
    const uint32_t n = week_spans(d->hours, spans);
    (void)h_mm;
    paint_axis(pen, w_mm);
    for (unsigned day = 0; day < DAYS; day++) {
        const double y = AXIS_MM + day * LANE_MM, mid = y + LANE_MM / 2.0;
        pen_text(pen, TEXT_PAGE_CELL, str_from(NAMES[day]), 0.0, y + 0.4);
        pen_ink(pen, INK_HAIR);
        pen_line(pen, (struct vec2){ DAY_MM, mid }, (struct vec2){ DAY_MM + HOURS_OF_DAY * hour_mm, mid }, 0.2);
    }
    pen_ink(pen, INK_LINE);
    for (uint32_t k = 0; k < n; k++) {
        const double x = DAY_MM + spans[k].from_minute / 60.0 * hour_mm,
                     y = AXIS_MM + spans[k].day * LANE_MM + (LANE_MM - BAND_MM) / 2.0;
        pen_path_box(pen,
                     (struct draw_box){ x, y, (spans[k].to_minute - spans[k].from_minute) / 60.0 * hour_mm, BAND_MM });
        cairo_fill(pen->cr);
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
    for (uint32_t i = week_next_dark(b->h, 0); i != NO_REF; i = week_next_dark(b->h, i + 1)) {
        const struct statement *s = &b->h->statements.v[i];
        const struct hours *hours = &b->h->hours.v[s->hours.i];
        struct dark *d = ARENA_NEW(b->arena, struct dark);
        if (!d)
            return;
        d->hours = hours;
        flow_keep_begin(b->flow);
        flow_heading(b->flow, "%.*s", STR_ARG(s->says));
        flow_figure(b->flow, AXIS_MM + DAYS * LANE_MM, paint_dark, d,
                    book_text(b, "%.*s, to %.*s. %.*s.", STR_ARG(net_ends_words(b, &s->from)),
                              STR_ARG(net_ends_words(b, &s->to)), STR_ARG(net_hours_words(b, s->hours.i))));
        flow_keep_end(b->flow);
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
            net_list_word(&text, k++, n, net_device_words(b, i));
    return buf_done(&text);
}

static void write_names(struct book *b, uint32_t person)
{
    for (uint32_t s = 0; s < b->h->segments.n; s++) {
        const str_list *names = &b->h->segments.v[s].blocked_names;
        bool is_on = false;
        for (uint32_t i = 0; i < b->h->devices.n; i++)
            is_on |= b->h->devices.v[i].owner.i == person && b->h->devices.v[i].segment.i == s;
        if (!is_on || !names->n)
            continue;
        struct buf text = { .arena = b->arena };
        for (uint32_t i = 0; i < names->n; i++)
            net_list_word(&text, i, names->n, names->v[i]);
        flow_item(b->flow, "The gateway does not tell where %.*s %s.", STR_ARG(buf_done(&text)),
                  names->n == 1 ? "is" : "are");
    }
}

/* The statements whose senders are among a child's devices, as they stand in the file; the first that fits decides. */
static void write_child(struct book *b, uint32_t person)
{
    const struct str devices = devices_of(b, person);
    flow_keep_begin(b->flow);
    flow_heading(b->flow, "%.*s", STR_ARG(net_person_words(b, person)));
    if (!devices.n) {
        flow_text(b->flow, "No device of the file is theirs.");
        flow_keep_end(b->flow);
        return;
    }
    flow_text(b->flow, "With: %.*s.", STR_ARG(devices));
    for (uint32_t i = 0; i < b->h->statements.n; i++) {
        const struct statement *s = &b->h->statements.v[i];
        if (net_statement_is_of(b, s, person))
            flow_item(b->flow, "%.*s: %.*s.", STR_ARG(s->says), STR_ARG(net_hours_words(b, s->hours.i)));
    }
    write_names(b, person);
    flow_keep_end(b->flow);
}

static void write_children(struct book *b)
{
    bool any = false;
    for (uint32_t i = 0; i < b->h->people.n; i++) {
        if (b->h->people.v[i].kind != PERSON_CHILD)
            continue;
        if (!any)
            flow_section(b->flow, "week-children", "What the children may, and when");
        any = true;
        write_child(b, i);
    }
}

/* ---- clock changes ---- */

static void write_clock(struct book *b)
{
    const struct calendar *c = b->proof->calendar;
    uint32_t n = 0;
    if (!b->h->hours.n)
        return;
    flow_section(b->flow, "week-clock", "When the clocks change");
    flow_text(
        b->flow,
        "Hours go by the clock on the wall (%.*s). In the night that an hour is left out, hours that begin in it "
        "begin at its end; in the night that an hour comes twice, they hold both times. The gateway is told every "
        "change in advance, and proven are all of these weeks:",
        STR_ARG(b->h->time_zone));
    for (uint32_t i = 0; i < c->kinds.n; i++) {
        const struct week_kind *k = &c->kinds.v[i];
        if (k->is_ordinary)
            continue;
        flow_item(b->flow, "%.*s", STR_ARG(k->says));
        n++;
    }
    if (!n)
        flow_item(b->flow, "only ordinary ones: no clock change and no day apart is in sight");
}

/* ---- the line ---- */

static struct str mbps_words(struct book *b, double mbps)
{
    if (mbps > 0.0 && mbps < 0.01)
        return STR("< 0.01");
    return book_text(b, "%.*f", mbps >= 10.0 ? 0 : mbps >= 1.0 ? 1 : 2, mbps);
}

static void write_way(struct book *b, const struct load_view *v, enum load_way way)
{
    const struct line_week *week = &v->now[way];
    const double needed = week->hours[week->worst].needed_mbps.high, left = week->capacity_mbps - needed;
    const struct str when = line_hour_words(b->arena, week->worst), carries = mbps_words(b, week->capacity_mbps);
    const char *way_words = way == LOAD_DOWN ? "Down" : "Up";
    if (isinf(needed))
        flow_item(b->flow, "%s, fullest on %.*s: more than %d times the %.*s Mb/s that the line carries are asked for.",
                  way_words, STR_ARG(when), DEMAND_TIMES_MAX, STR_ARG(carries));
    else
        flow_item(b->flow,
                  "%s, fullest on %.*s: %.*s Mb/s serve everybody %.4g %% of the time; the line carries %.*s, so %.*s "
                  "Mb/s %s.",
                  way_words, STR_ARG(when), STR_ARG(mbps_words(b, needed)), v->probability * 100.0, STR_ARG(carries),
                  STR_ARG(mbps_words(b, fabs(left))), left < 0.0 ? "are missing" : "are left");
}

static struct str source_words(struct book *b, const struct demand_source *s)
{
    return s->person != NO_REF ? net_person_words(b, s->person) : net_device_words(b, s->device);
}

static void write_askers(struct book *b, const struct load_view *v, enum load_way way)
{
    const load_asker_list list = load_view_askers(b->arena, v->demand, way, v->now[way].worst);
    double rest = 0.0;
    for (uint32_t i = 0; list.v && i < list.n; i++) {
        if (i >= ASKERS_MOST) {
            rest += list.v[i].mbps;
            continue;
        }
        const struct flow_cell cells[] = { net_cell(i                  ? STR("")
                                                    : way == LOAD_DOWN ? STR("down")
                                                                       : STR("up")),
                                           net_cell(source_words(b, &v->demand->sources.v[list.v[i].source])),
                                           net_cell(mbps_words(b, list.v[i].mbps)) };
        flow_row(b->flow, cells);
    }
    if (list.v && list.n > ASKERS_MOST) {
        const struct flow_cell cells[] = { net_cell(STR("")), net_soft(book_text(b, "%u others", list.n - ASKERS_MOST)),
                                           net_cell(mbps_words(b, rest)) };
        flow_row(b->flow, cells);
    }
}

static void write_line(struct book *b)
{
    static const struct flow_column COLUMNS[] = { { "way", 0, FLOW_LEFT },
                                                  { "who asks in its fullest hour", 1.0, FLOW_LEFT },
                                                  { "Mb/s, in the mean", 0, FLOW_RIGHT } };
    const struct load_view *v = b->draw.load;
    flow_section(b->flow, "week-line", "The fullest hours of the line");
    if (!v || !v->has_line) {
        flow_text(b->flow, "The file has no line, or nobody who asks anything of it.");
        return;
    }
    write_way(b, v, LOAD_DOWN);
    write_way(b, v, LOAD_UP);
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    write_askers(b, v, LOAD_DOWN);
    write_askers(b, v, LOAD_UP);
}

/* ---- radios ---- */

/* As busy in every hour, to the percent. */
static bool is_flat(const struct airtime *air, uint32_t radio)
{
    const double first = airtime_busy(air, radio, 0, 1.0);
    for (unsigned hour = 1; hour < HOURS_OF_WEEK; hour++)
        if (lround(100.0 * airtime_busy(air, radio, hour, 1.0)) != lround(100.0 * first))
            return false;
    return true;
}

static void radio_row(struct book *b, const struct airtime *air, uint32_t i)
{
    const struct ap_radio *r = &air->stations->fields->radios.v[i];
    const struct equipment *e = &b->h->equipment.v[r->equipment];
    const unsigned busy = airtime_busy_hour(air, i);
    const struct flow_cell cells[] = {
        net_strong(e->id),
        net_cell(e->says),
        net_cell(book_text(b, "%s GHz", band_name(r->band))),
        net_cell(book_text(b, "%.0f", r->channel)),
        net_cell(book_text(b, "%.0f MHz", r->width_hz / 1e6)),
        net_cell(book_text(b, "%.0f dBm", r->power_dbm)),
        is_flat(air, i) ? net_soft(STR("every hour")) : net_cell(line_hour_words(b->arena, busy)),
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
    write_line(b);
    write_radios(b);
    (void)p;
    flow_soft(b->flow,
              "`rooftree draw --what week,spectrum` draws every hour of the week, and who sends on which channel.");
    return RT_OK;
}

/* Weeks as they come, sorted into kinds. */
#include "reach/calendar.h"

#include "base/units.h"
#include "reach/calendar_int.h"

/* ---- hours by the clock on the wall ---- */

static int digit(struct str s, size_t i) { return i < s.n ? s.p[i] - '0' : 0; }

int64_t date_day(struct str date)
{
    const int year = digit(date, 0) * 1000 + digit(date, 1) * 100 + digit(date, 2) * 10 + digit(date, 3);
    return day_number(year, digit(date, 5) * 10 + digit(date, 6), digit(date, 8) * 10 + digit(date, 9));
}

bool hours_begin_weekly(const struct hours *hours, int64_t day) { return hours->days >> day_weekday(day) & 1; }

bool hours_begin(const struct hours *hours, int64_t day)
{
    for (uint32_t i = hours->except.n; i-- > 0;)
        if (day >= date_day(hours->except.v[i].from_date) && day <= date_day(hours->except.v[i].to_date))
            return hours->except.v[i].holds;
    return hours_begin_weekly(hours, day);
}

int64_t hours_start_s(const struct hours *hours) { return (int64_t)hours->from_minute * 60; }

/* to <= from: on the next day.  Never more than a day, so that those of two days do not overlap. */
int64_t hours_length_s(const struct hours *hours)
{
    const int64_t length_s = ((int64_t)hours->to_minute - (int64_t)hours->from_minute) * 60;
    return length_s > 0 ? length_s : length_s + DAY_S;
}

bool calendar_holds(const struct calendar *c, uint32_t hours, int64_t unix_s)
{
    const struct hours *hh = &c->h->hours.v[hours];
    const int64_t wall_s = unix_s + wall_clock_offset_s(&c->clock, unix_s);
    const int64_t minute_s = floor_div(wall_s, 60) * 60, today = floor_div(minute_s, DAY_S);
    for (int64_t day = today - 1; day <= today; day++) {
        const int64_t start_s = day * DAY_S + hours_start_s(hh);
        if (minute_s >= start_s && minute_s < start_s + hours_length_s(hh) && hours_begin(hh, day))
            return true;
    }
    return false;
}

/* ---- one week ---- */

struct stretch stretch_from(const struct wall_clock *clock, int64_t from_s, int64_t to_s)
{
    struct clock_change next;
    const bool ends = wall_clock_next_change(clock, from_s, &next) && next.at_s < to_s;
    return (struct stretch){ from_s, ends ? next.at_s : to_s, wall_clock_offset_s(clock, from_s) };
}

/* Minutes from week_s that begin in from_s..to_s, to_s not included. */
static bool add_minutes(struct arena *a, int64_t week_s, int64_t from_s, int64_t to_s, struct span **v, uint32_t *n,
                        uint32_t *cap)
{
    const int64_t from = floor_div(from_s - week_s + 59, 60), to = floor_div(to_s - week_s + 59, 60);
    if (from >= to)
        return true;
    if (*n == *cap && !vec_grow(a, (void **)v, cap, *n, sizeof **v))
        return false;
    (*v)[(*n)++] = (struct span){ (axis_value)from, (axis_value)(to - 1) };
    return true;
}

/* The minutes of from_s..to_s at which hours hold, counted from from_s; with the exceptions or without. */
static span_list hold_minutes(struct arena *a, const struct wall_clock *clock, const struct hours *hours,
                              int64_t from_s, int64_t to_s, bool (*begins)(const struct hours *, int64_t), bool *failed)
{
    VEC(struct span) found = { 0 };
    for (struct stretch s = { .to_s = from_s }; s.to_s < to_s;) {
        s = stretch_from(clock, s.to_s, to_s);
        const int64_t wall_from_s = s.from_s + s.offset_s, wall_to_s = s.to_s + s.offset_s;
        for (int64_t day = floor_div(wall_from_s, DAY_S) - 1; day * DAY_S < wall_to_s; day++) {
            const int64_t start_s = day * DAY_S + hours_start_s(hours), end_s = start_s + hours_length_s(hours);
            const int64_t lo_s = start_s > wall_from_s ? start_s : wall_from_s;
            const int64_t hi_s = end_s < wall_to_s ? end_s : wall_to_s;
            if (lo_s < hi_s && begins(hours, day) &&
                !add_minutes(a, from_s, lo_s - s.offset_s, hi_s - s.offset_s, &found.v, &found.n, &found.cap))
                *failed = true;
        }
    }
    return *failed ? (span_list){ 0 } : spans_tidy(a, found.v, found.n, failed);
}

/* The first instant at which the clock shows the day, or a later one. */
static int64_t day_begins_s(const struct wall_clock *clock, int64_t day)
{
    const int64_t wall_s = day * DAY_S;
    for (struct stretch s = { .to_s = wall_s - 2 * DAY_S };;) {
        s = stretch_from(clock, s.to_s, wall_s + 2 * DAY_S);
        const int64_t at_s = wall_s - s.offset_s;
        if (at_s < s.to_s)
            return at_s > s.from_s ? at_s : s.from_s;
        if (s.to_s >= wall_s + 2 * DAY_S)
            return at_s; /* not met: offsets are less than two days */
    }
}

/* ---- kinds ---- */

struct sorter {
    struct arena *a;
    struct calendar *c;
    VEC(struct week_kind) kinds;
    bool failed;
};

static bool same_spans(span_list x, span_list y)
{
    if (x.n != y.n)
        return false;
    for (uint32_t i = 0; i < x.n; i++)
        if (x.v[i].lo != y.v[i].lo || x.v[i].hi != y.v[i].hi)
            return false;
    return true;
}

static bool all_same(const struct house *h, const span_list *x, const span_list *y)
{
    for (uint32_t i = 0; i < h->hours.n; i++)
        if (!same_spans(x[i], y[i]))
            return false;
    return true;
}

/* An ordinary week by a clock that never changes. */
static span_list *ordinary_hours(struct sorter *so)
{
    static const struct wall_clock steady = { 0 };
    const struct house *h = so->c->h;
    const int64_t monday_s = day_number(2024, 1, 1) * DAY_S; /* any Monday */
    span_list *out = ARENA_ARRAY(so->a, span_list, h->hours.n);
    for (uint32_t i = 0; out && i < h->hours.n; i++)
        out[i] =
            hold_minutes(so->a, &steady, &h->hours.v[i], monday_s, monday_s + WEEK_S, hours_begin_weekly, &so->failed);
    so->failed = so->failed || !out;
    return out;
}

/* Adds one week to its kind. */
static void sort_week(struct sorter *so, int64_t from_s, int64_t to_s)
{
    const struct house *h = so->c->h;
    const struct arena_mark m = arena_mark(so->a);
    const uint32_t n_minutes = (uint32_t)floor_div(to_s - from_s + 59, 60);
    span_list *hours = ARENA_ARRAY(so->a, span_list, h->hours.n);
    for (uint32_t i = 0; hours && i < h->hours.n; i++)
        hours[i] = hold_minutes(so->a, &so->c->clock, &h->hours.v[i], from_s, to_s, hours_begin, &so->failed);
    if (!hours || so->failed) {
        so->failed = true;
        return;
    }
    for (uint32_t k = 0; k < so->kinds.n; k++)
        if (so->kinds.v[k].n_minutes == n_minutes && all_same(h, so->kinds.v[k].hours, hours)) {
            so->kinds.v[k].n_weeks++;
            arena_reset(so->a, m);
            return;
        }
    const struct week_kind kind = {
        .first_monday_s = from_s,
        .n_weeks = 1,
        .n_minutes = n_minutes,
        .hours = hours,
        .is_ordinary = n_minutes == WEEK_MINUTES && all_same(h, hours, so->c->ordinary),
    };
    if (!VEC_PUSH(so->a, &so->kinds, kind))
        so->failed = true;
}

/* The ordinary kind to the front; the others stay in order. */
static void ordinary_first(struct sorter *so)
{
    for (uint32_t k = 1; k < so->kinds.n; k++) {
        if (!so->kinds.v[k].is_ordinary)
            continue;
        const struct week_kind ordinary = so->kinds.v[k];
        for (uint32_t i = k; i > 0; i--)
            so->kinds.v[i] = so->kinds.v[i - 1];
        so->kinds.v[0] = ordinary;
    }
}

/* ---- what a kind is called ---- */

enum { REASONS_MAX = 3 }; /* that are told */

/* The exceptions that say something of the days from the Sunday before to the week's last, each reason once. */
static void write_reasons(struct buf *b, const struct house *h, int64_t monday)
{
    struct str said[REASONS_MAX];
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->hours.n; i++)
        for (uint32_t k = 0; k < h->hours.v[i].except.n; k++) {
            const struct day_exception *e = &h->hours.v[i].except.v[k];
            const struct str says = e->says.n ? e->says : h->hours.v[i].id;
            bool is_new = date_day(e->to_date) >= monday - 1 && date_day(e->from_date) <= monday + 6;
            for (uint32_t s = 0; s < n && s < REASONS_MAX; s++)
                is_new = is_new && !str_eq(said[s], says);
            if (!is_new)
                continue;
            if (n < REASONS_MAX) {
                said[n] = says;
                buf_printf(b, "%s%.*s", n == 0 ? " (" : "; ", STR_ARG(says));
            }
            n++;
        }
    buf_text(b, n > REASONS_MAX ? " ...)" : n ? ")" : "");
}

static const char *const MONTHS[] = { "January", "February", "March",     "April",   "May",      "June",
                                      "July",    "August",   "September", "October", "November", "December" };

static struct str kind_words(struct arena *a, const struct calendar *c, const struct week_kind *kind)
{
    if (kind->is_ordinary)
        return STR("an ordinary week");
    struct buf b = { .arena = a };
    const int64_t monday =
        floor_div(kind->first_monday_s + wall_clock_offset_s(&c->clock, kind->first_monday_s), DAY_S);
    int64_t year;
    int month, day;
    day_date(monday, &year, &month, &day);
    buf_printf(&b, "the week of %d %s %d", day, MONTHS[month - 1], (int)year);
    if (kind->n_weeks > 1)
        buf_printf(&b, " and %u more", (unsigned)kind->n_weeks - 1);
    write_reasons(&b, c->h, monday);
    struct clock_change change;
    if (wall_clock_next_change(&c->clock, kind->first_monday_s, &change) &&
        change.at_s < kind->first_monday_s + (int64_t)kind->n_minutes * 60)
        buf_printf(&b, ", when the clock goes %s",
                   change.offset_s > wall_clock_offset_s(&c->clock, change.at_s - 1) ? "forward" : "back");
    return b.failed ? (struct str){ 0 } : buf_done(&b);
}

/* ---- all of it ---- */

/* The last day of which an exception says something that matters, or `day`. */
static int64_t last_exception(const struct house *h, int64_t day, int64_t at_most)
{
    for (uint32_t i = 0; i < h->hours.n; i++)
        for (uint32_t k = 0; k < h->hours.v[i].except.n; k++) {
            const int64_t to = date_day(h->hours.v[i].except.v[k].to_date) + 8; /* and the week behind it */
            day = to > day ? to : day;
        }
    return day < at_most ? day : at_most;
}

enum rt_code calendar_make(const struct run *run, const struct house *h, int64_t now_s, unsigned years,
                           struct calendar **out, struct rt_problems *p)
{
    struct calendar *c = ARENA_NEW(run->arena, struct calendar);
    if (!c)
        return rt_fail_memory(p);
    c->h = h;
    RT_TRY(wall_clock_read(run, h->time_zone, house_text_place(h, h->time_zone, RT_NOWHERE), &c->clock, p));
    struct sorter so = { .a = run->arena, .c = c };
    c->ordinary = ordinary_hours(&so);
    const int64_t today = floor_div(now_s + wall_clock_offset_s(&c->clock, now_s), DAY_S);
    const int64_t monday = today - day_weekday(today);
    const int64_t end = last_exception(h, monday + 366 * (int64_t)years, monday + 366 * CALENDAR_YEARS_MAX);
    c->from_s = c->to_s = day_begins_s(&c->clock, monday);
    for (int64_t day = monday; day < end && !so.failed; day += 7) {
        const int64_t from_s = c->to_s;
        c->to_s = day_begins_s(&c->clock, day + 7);
        sort_week(&so, from_s, c->to_s);
    }
    ordinary_first(&so);
    for (uint32_t k = 0; k < so.kinds.n && !so.failed; k++) {
        so.kinds.v[k].says = kind_words(run->arena, c, &so.kinds.v[k]);
        so.failed = !so.kinds.v[k].says.p;
    }
    if (so.failed)
        return rt_fail_memory(p);
    c->kinds.v = so.kinds.v;
    c->kinds.n = so.kinds.n;
    *out = c;
    return RT_OK;
}

/* Times in words, and read from words. */
#include <ctype.h>
#include <string.h>

#include "reach/calendar_int.h"

static const char *const WEEKDAYS[] = { "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday" };

const char *weekday_word(int weekday) { return WEEKDAYS[weekday]; }

static struct str done(const struct buf *b) { return b->failed ? (struct str){ 0 } : buf_done(b); }

/* ---- one minute ---- */

struct str calendar_minute_words(struct arena *a, const struct calendar *c, const struct week_kind *kind,
                                 uint32_t minute)
{
    struct buf b = { .arena = a };
    const int64_t at_s = kind->first_monday_s + (int64_t)minute * 60;
    const int32_t offset_s = wall_clock_offset_s(&c->clock, at_s);
    const int64_t wall_s = at_s + offset_s, day = floor_div(wall_s, DAY_S), minute_of_day = (wall_s - day * DAY_S) / 60;
    buf_printf(&b, "%s %02d:%02d", weekday_word(day_weekday(day)), (int)minute_of_day / 60, (int)minute_of_day % 60);
    /* Was it so late already, before the clock went back? */
    struct clock_change change;
    if (wall_clock_next_change(&c->clock, at_s - DAY_S, &change) && change.at_s <= at_s &&
        at_s + offset_s < change.at_s + wall_clock_offset_s(&c->clock, change.at_s - 1))
        buf_text(&b, ", the second time");
    return done(&b);
}

struct str calendar_time_words(struct arena *a, const struct calendar *c, int64_t unix_s)
{
    static const char *const MONTHS[] = { "January", "February", "March",     "April",   "May",      "June",
                                          "July",    "August",   "September", "October", "November", "December" };
    struct buf b = { .arena = a };
    const int64_t wall_s = unix_s + wall_clock_offset_s(&c->clock, unix_s), day = floor_div(wall_s, DAY_S);
    const int minute = (int)((wall_s - day * DAY_S) / 60);
    int64_t year;
    int month, day_of_month;
    day_date(day, &year, &month, &day_of_month);
    buf_printf(&b, "%s %d %s %lld, %02d:%02d", weekday_word(day_weekday(day)), day_of_month, MONTHS[month - 1],
               (long long)year, minute / 60, minute % 60);
    return done(&b);
}

/* ---- spans of an ordinary week ---- */

enum { DAY_MINUTES = 1440, RUNS_MAX = WEEK_MINUTES / 2 };

struct run_of_minutes {
    uint32_t from, n; /* from..from + n - 1, round the week's end */
};

static void write_clock(struct buf *b, uint32_t minute)
{
    buf_printf(b, "%02u:%02u", (unsigned)minute / 60, (unsigned)minute % 60);
}

/* "Mon-Thu, Sun" */
static void write_days(struct buf *b, unsigned days)
{
    bool is_first = true;
    for (int d = 0; d < 7; d++) {
        int last = d;
        if (!(days >> d & 1))
            continue;
        while (last < 6 && (days >> (last + 1) & 1))
            last++;
        buf_printf(b, "%s%.3s", is_first ? "" : ", ", WEEKDAYS[d]);
        if (last > d)
            buf_printf(b, "%s%.3s", last > d + 1 ? "-" : ", ", WEEKDAYS[last]);
        is_first = false;
        d = last;
    }
}

/* The end of a run by the clock, midnight as the end of its day. */
static void write_end(struct buf *b, uint32_t end, bool with_day)
{
    const bool is_midnight = end % DAY_MINUTES == 0;
    if (with_day)
        buf_printf(b, "%.3s ", WEEKDAYS[(is_midnight ? end / DAY_MINUTES + 6 : end / DAY_MINUTES) % 7]);
    write_clock(b, is_midnight ? DAY_MINUTES : end % DAY_MINUTES);
}

/* A run of more than a day: whole days by their names, else from a day's time to another's. */
static void write_long_run(struct buf *b, struct run_of_minutes r)
{
    if (r.from % DAY_MINUTES == 0 && r.n % DAY_MINUTES == 0) {
        unsigned days = 0;
        for (uint32_t d = 0; d < r.n / DAY_MINUTES; d++)
            days |= 1u << (r.from / DAY_MINUTES + d) % 7;
        write_days(b, days);
        buf_text(b, " all day");
        return;
    }
    buf_printf(b, "%.3s ", WEEKDAYS[r.from / DAY_MINUTES]);
    write_clock(b, r.from % DAY_MINUTES);
    buf_text(b, " to ");
    write_end(b, (r.from + r.n) % WEEK_MINUTES, true);
}

static bool same_time(struct run_of_minutes x, struct run_of_minutes y)
{
    return x.n == y.n && x.n <= DAY_MINUTES && x.from % DAY_MINUTES == y.from % DAY_MINUTES;
}

/* The last span joins the first where both touch the week's end. */
static uint32_t runs_of(span_list minutes, struct run_of_minutes *runs)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < minutes.n; i++)
        runs[n++] =
            (struct run_of_minutes){ (uint32_t)minutes.v[i].lo, (uint32_t)(minutes.v[i].hi - minutes.v[i].lo) + 1 };
    if (n > 1 && runs[0].from == 0 && runs[n - 1].from + runs[n - 1].n == WEEK_MINUTES) {
        runs[n - 1].n += runs[0].n;
        n--;
        memmove(runs, runs + 1, n * sizeof *runs);
    }
    return n;
}

struct str calendar_span_words(struct arena *a, span_list minutes)
{
    struct buf b = { .arena = a };
    if (minutes.n == 0)
        return STR("never");
    if (minutes.n == 1 && minutes.v[0].lo == 0 && minutes.v[0].hi >= WEEK_MINUTES - 1)
        return STR("always");
    struct run_of_minutes *runs = ARENA_ARRAY(a, struct run_of_minutes, minutes.n);
    if (!runs)
        return (struct str){ 0 };
    const uint32_t n = runs_of(minutes, runs);
    for (uint32_t i = 0; i < n; i++) {
        unsigned days = 0;
        bool is_told = false;
        for (uint32_t k = 0; k < n; k++) {
            is_told = is_told || (k < i && same_time(runs[i], runs[k]));
            if (k == i || same_time(runs[i], runs[k]))
                days |= 1u << runs[k].from / DAY_MINUTES % 7;
        }
        if (is_told)
            continue;
        if (b.n)
            buf_text(&b, "; ");
        if (runs[i].n > DAY_MINUTES) {
            write_long_run(&b, runs[i]);
            continue;
        }
        write_days(&b, days);
        if (runs[i].n == DAY_MINUTES && runs[i].from % DAY_MINUTES == 0) {
            buf_text(&b, " all day");
            continue;
        }
        buf_char(&b, ' ');
        write_clock(&b, runs[i].from % DAY_MINUTES);
        buf_char(&b, '-');
        write_end(&b, (runs[i].from + runs[i].n) % WEEK_MINUTES, false);
    }
    return done(&b);
}

/* ---- reading ---- */

static bool two_digits(const char *p, int most, int *out)
{
    if (!isdigit((unsigned char)p[0]) || !isdigit((unsigned char)p[1]))
        return false;
    *out = (p[0] - '0') * 10 + (p[1] - '0');
    return *out <= most;
}

/* "21:05" */
static bool read_clock(struct str text, int *minute)
{
    int hour, min;
    if (text.n != 5 || text.p[2] != ':' || !two_digits(text.p, 23, &hour) || !two_digits(text.p + 3, 59, &min))
        return false;
    *minute = hour * 60 + min;
    return true;
}

/* "2027-03-28" */
static bool read_date(struct str text, int64_t *day)
{
    int century, year, month, dom, m, d;
    int64_t y;
    if (text.n != 10 || text.p[4] != '-' || text.p[7] != '-' || !two_digits(text.p, 99, &century) ||
        !two_digits(text.p + 2, 99, &year) || !two_digits(text.p + 5, 12, &month) || !two_digits(text.p + 8, 31, &dom))
        return false;
    if (month < 1 || dom < 1)
        return false;
    *day = day_number(century * 100 + year, month, dom);
    day_date(*day, &y, &m, &d);
    return m == month && d == dom; /* else there is no such day */
}

/* "Tue", "tuesday": at least three letters of its name. */
static int read_weekday(struct str text)
{
    for (int d = 0; d < 7; d++)
        if (text.n >= 3 && text.n <= strlen(WEEKDAYS[d]) && strncasecmp(text.p, WEEKDAYS[d], text.n) == 0)
            return d;
    return -1;
}

/* The first instant not before least_s, and within two days of it, at which the clock shows it; false: it skips it. */
static bool instant_of(const struct wall_clock *clock, int64_t wall_s, int64_t least_s, int64_t *unix_s)
{
    const int64_t begin_s = wall_s - 2 * DAY_S, end_s = wall_s + 2 * DAY_S;
    for (struct stretch s = { .to_s = begin_s > least_s ? begin_s : least_s }; s.to_s < end_s;) {
        s = stretch_from(clock, s.to_s, end_s);
        *unix_s = wall_s - s.offset_s;
        if (*unix_s >= s.from_s && *unix_s < s.to_s)
            return true;
    }
    return false;
}

static bool next_weekday(const struct calendar *c, int weekday, int minute, int64_t now_s, int64_t *unix_s)
{
    const int64_t today = floor_div(now_s + wall_clock_offset_s(&c->clock, now_s), DAY_S);
    for (int64_t day = today - 1; day < today + 15; day++)
        if (day_weekday(day) == weekday && instant_of(&c->clock, day * DAY_S + (int64_t)minute * 60, now_s, unix_s))
            return true;
    return false;
}

enum rt_code calendar_read_time(const struct calendar *c, struct str text, int64_t now_s, int64_t *unix_s,
                                struct rt_problems *p)
{
    if (str_is(text, "now")) {
        *unix_s = now_s;
        return RT_OK;
    }
    const char *blank = text.n ? memchr(text.p, ' ', text.n) : NULL;
    const struct str first = { text.p, blank ? (size_t)(blank - text.p) : 0 };
    const struct str rest = { blank ? blank + 1 : NULL, blank ? text.n - first.n - 1 : 0 };
    const int weekday = read_weekday(first);
    int64_t day = 0;
    int minute = 0;
    const bool is_date = blank && read_date(first, &day);
    if (!read_clock(rest, &minute) || (weekday < 0 && !is_date))
        return rt_fail(p, RT_USAGE, RT_NOWHERE, NULL,
                       "'%.*s' is no time; write it as \"Tue 21:05\", \"2027-03-28 21:05\" or \"now\"", STR_ARG(text));
    const bool found = is_date ? instant_of(&c->clock, day * DAY_S + (int64_t)minute * 60, INT64_MIN / 2, unix_s)
                               : next_weekday(c, weekday, minute, now_s, unix_s);
    if (!found)
        return rt_fail(p, RT_USAGE, RT_NOWHERE, "name a time before or after it",
                       "the house's clock never shows %.*s: it goes forward then", STR_ARG(text));
    return RT_OK;
}

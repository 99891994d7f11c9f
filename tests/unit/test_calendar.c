/* Hours by the house's clock against the C library's own reading of the time zone database (localtime_r, POSIX). */
#include "reach/calendar.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "check.h"

enum { DAY_S = 86400, WEEK_S = 7 * DAY_S, TWO_YEARS_MINUTES = 2 * 366 * 1440 };

static const char HOURS[] =
    "hours:\n"
    "  night: { days: [sun, mon, tue, wed, thu], from: \"20:30\", to: \"07:00\", except: [\n"
    "    { from_date: 2026-12-18, to_date: 2027-01-03, holds: false, says: Christmas holidays },\n"
    "    { from_date: 2026-12-31, to_date: 2026-12-31, holds: true, says: New Year's Eve },\n"
    "    { from_date: 2027-03-27, to_date: 2027-03-28, holds: true, says: a journey },\n"
    "    { from_date: 2028-04-02, to_date: 2028-04-02, holds: false, says: a feast } ] }\n"
    "  gap: { from: \"01:15\", to: \"02:45\" }\n"
    "  whole: { days: [sat, sun], from: \"00:00\", to: \"24:00\" }\n"
    "  round: { from: \"12:00\", to: \"12:00\" }\n"
    "  late: { days: [fri, sat], from: \"22:00\", to: \"01:30\", except: [\n"
    "    { from_date: 2027-10-30, to_date: 2027-11-07, holds: false, says: repairs } ] }\n";
enum { N_HOURS = 5 };

static struct house *house_in(struct check_run *c, const char *zone, const char *hours)
{
    struct house *h = NULL;
    const struct str all = str_from(
        arena_printf(c->run.arena,
                     "rooftree: 1\nname: Test house\ncountry: GB\ntime_zone: %s\ncurrency: GBP\n"
                     "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n%s",
                     zone, hours));
    CHECK_OK(c, house_read_bytes(&c->run, "house.yaml", all, &h, &c->problems));
    return h;
}

static struct calendar *calendar_in(struct check_run *c, const char *zone, const char *hours, int64_t now_s,
                                    unsigned years)
{
    struct calendar *out = NULL;
    CHECK_OK(c, calendar_make(&c->run, house_in(c, zone, hours), now_s, years, &out, &c->problems));
    return out;
}

static void set_zone(const char *zone)
{
    CHECK("zone", setenv("TZ", zone, 1) == 0);
    tzset();
}

static int64_t utc(int year, int month, int day, int hour, int minute)
{
    struct tm tm = { .tm_year = year - 1900, .tm_mon = month - 1, .tm_mday = day, .tm_hour = hour, .tm_min = minute };
    return timegm(&tm);
}

/* ---- what the library says ---- */

/* Days since 1970 of the date the clock shows, and the minute of that day. */
static void wall(int64_t at_s, int64_t *day, int *minute)
{
    struct tm tm;
    const time_t t = at_s;
    CHECK("local time", localtime_r(&t, &tm) != NULL);
    *minute = tm.tm_hour * 60 + tm.tm_min;
    tm.tm_hour = tm.tm_min = tm.tm_sec = tm.tm_isdst = 0;
    *day = timegm(&tm) / DAY_S;
}

static int64_t day_of(struct str date)
{
    char text[11] = { 0 };
    int y, m, d;
    memcpy(text, date.p, 10);
    CHECK("date", sscanf(text, "%d-%d-%d", &y, &m, &d) == 3);
    return utc(y, m, d, 0, 0) / DAY_S;
}

/* Written apart from the module: the words of the house file, taken at their meaning. */
struct days_on {
    int64_t first;
    bool begins[3 * 366];
};

static void days_on(const struct hours *hh, int64_t first, struct days_on *out)
{
    out->first = first;
    for (int64_t i = 0; i < (int64_t)RT_COUNT(out->begins); i++) {
        const time_t noon = (first + i) * DAY_S + DAY_S / 2;
        struct tm tm;
        CHECK("day", gmtime_r(&noon, &tm) != NULL);
        out->begins[i] = hh->days >> (tm.tm_wday + 6) % 7 & 1; /* tm_wday: Sunday is 0 */
    }
    for (uint32_t e = 0; e < hh->except.n; e++)
        for (int64_t day = day_of(hh->except.v[e].from_date); day <= day_of(hh->except.v[e].to_date); day++)
            if (day >= first && day < first + (int64_t)RT_COUNT(out->begins))
                out->begins[day - first] = hh->except.v[e].holds;
}

static bool library_holds(const struct hours *hh, const struct days_on *on, int64_t day, int minute)
{
    const int from = (int)hh->from_minute, to = (int)hh->to_minute;
    const bool today = on->begins[day - on->first], yesterday = on->begins[day - 1 - on->first];
    if (to > from)
        return today && minute >= from && minute < to;
    return (today && minute >= from) || (yesterday && minute < to);
}

/* ---- every minute of two years ---- */

static const char *const ZONES[] = {
    "Europe/London",       "Europe/Berlin", "Europe/Dublin",    "America/New_York", "America/Santiago",
    "Australia/Lord_Howe", "Africa/Cairo",  "Australia/Sydney", "Asia/Kolkata",     "Africa/Casablanca",
};

/* What the kernel's filter would do at this second, by kernel_rehearsal's measured meaning: days and hours of UTC. */
static bool kernel_matches(const struct kernel_span *k, int64_t at_s)
{
    const int64_t second = (at_s + 3 * DAY_S) % WEEK_S; /* 1970 began on a Thursday */
    return at_s >= k->from_s && at_s < k->to_s &&
           (k->week_seconds.n == 0 || spans_hold(k->week_seconds, (axis_value)second));
}

static void check_zone(const char *zone)
{
    struct check_run c = check_run_begin();
    const int64_t now_s = utc(2026, 11, 25, 10, 0);
    const struct calendar *cal = calendar_in(&c, zone, HOURS, now_s, 2);
    CHECK("hours", cal->h->hours.n == N_HOURS);
    set_zone(zone);
    struct days_on on[N_HOURS];
    kernel_span_list spans[N_HOURS];
    unsigned n_wrong = 0, n_held[N_HOURS] = { 0 };
    for (uint32_t i = 0; i < N_HOURS; i++) {
        days_on(&cal->h->hours.v[i], cal->from_s / DAY_S - 3, &on[i]);
        CHECK_OK(&c, calendar_kernel_spans(&c.run, cal, i, &spans[i], &c.problems));
    }
    for (int64_t at_s = cal->from_s; at_s < cal->to_s; at_s += 60) {
        int64_t day;
        int minute;
        wall(at_s, &day, &minute);
        for (uint32_t i = 0; i < N_HOURS; i++) {
            const bool want = library_holds(&cal->h->hours.v[i], &on[i], day, minute);
            bool kernel = false;
            while (spans[i].n && spans[i].v[0].to_s <= at_s) /* gone by */
                spans[i].v++, spans[i].n--;
            for (uint32_t k = 0; k < spans[i].n && spans[i].v[k].from_s <= at_s; k++)
                kernel = kernel || kernel_matches(&spans[i].v[k], at_s);
            n_held[i] += want;
            if (calendar_holds(cal, i, at_s) == want && kernel == want)
                continue;
            if (n_wrong++ < 5)
                print_error("%s hours %u at %lld (day %lld, minute %d): want %d, holds %d, kernel %d\n", zone,
                            (unsigned)i, (long long)at_s, (long long)day, minute, want, calendar_holds(cal, i, at_s),
                            kernel);
        }
    }
    CHECK(zone, n_wrong == 0);
    CHECK("two years", cal->to_s - cal->from_s >= (int64_t)TWO_YEARS_MINUTES * 60 - WEEK_S);
    for (uint32_t i = 0; i < N_HOURS; i++)
        CHECK("they hold now and then", n_held[i] > 1000);
    check_run_end(&c);
}

TEST(hours_and_kernel_spans_agree_with_the_library_at_every_minute)
{
    for (size_t i = 0; i < RT_COUNT(ZONES); i++)
        check_zone(ZONES[i]);
}

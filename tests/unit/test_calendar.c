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

/* Summer time to the north and the south, winter time as the exception, half an hour, by the moon, none. */
static const char *const ZONES[] = {
    "Europe/London",       "Europe/Dublin",     "America/New_York", "America/Santiago",
    "Australia/Lord_Howe", "Africa/Casablanca", "Asia/Kolkata",
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

/* ---- kinds of weeks ---- */

static const char BEDTIME[] =
    "hours:\n  bedtime: { days: [sun, mon, tue, wed, thu], from: \"21:00\", to: \"07:00\" }\n";

static void check_span(const char *what, struct span got, unsigned lo, unsigned hi)
{
    CHECK_NEAR(what, (double)got.lo, lo, 0, "min");
    CHECK_NEAR(what, (double)got.hi, hi, 0, "min");
}

/* In London the clock goes forward on 28 March 2027 at 01:00 UTC and back on 31 October 2027 at 01:00 UTC (the last Sundays:
 * The Summer Time Order 2002; the database agrees).  Minutes by hand. */
TEST(a_year_in_london_has_three_kinds_of_week)
{
    struct check_run c = check_run_begin();
    const struct calendar *cal = calendar_in(&c, "Europe/London", BEDTIME, utc(2026, 11, 25, 10, 0), 1);
    CHECK_NEAR("from Monday, 23 November 2026", (double)cal->from_s, (double)utc(2026, 11, 23, 0, 0), 0, "s");
    CHECK_NEAR("to Monday, 29 November 2027", (double)cal->to_s, (double)utc(2027, 11, 29, 0, 0), 0, "s");
    CHECK_NEAR("kinds", cal->kinds.n, 3, 0, "");
    const struct week_kind *k = cal->kinds.v;
    CHECK("ordinary first", k[0].is_ordinary && !k[1].is_ordinary && !k[2].is_ordinary);
    CHECK("weeks", k[0].n_weeks == 51 && k[1].n_weeks == 1 && k[2].n_weeks == 1);
    CHECK("minutes", k[0].n_minutes == 10080 && k[1].n_minutes == 10020 && k[2].n_minutes == 10140);
    CHECK_TEXT("says", k[0].says, STR("an ordinary week"));
    CHECK_TEXT("says", k[1].says, STR("the week of 22 March 2027, when the clock goes forward"));
    CHECK_TEXT("says", k[2].says, STR("the week of 25 October 2027, when the clock goes back"));
    CHECK_NEAR("begins", (double)k[2].first_monday_s, (double)utc(2027, 10, 24, 23, 0), 0, "s");
    for (int i = 0; i < 3; i++)
        CHECK_NEAR("spans", k[i].hours[0].n, 6, 0, "");
    check_span("from Sunday's", k[0].hours[0].v[0], 0, 419);
    check_span("Monday's", k[0].hours[0].v[1], 1260, 1859);
    check_span("Sunday's", k[0].hours[0].v[5], 9900, 10079);
    check_span("Sunday's, an hour earlier", k[1].hours[0].v[5], 9840, 10019);
    check_span("Sunday's, an hour later", k[2].hours[0].v[5], 9960, 10139);
    CHECK("ordinary hours", cal->ordinary[0].n == 6 && cal->ordinary[0].v[5].lo == 9900);
    check_run_end(&c);
}

TEST(weeks_of_exceptions_are_named)
{
    static const char *const SAYS[] = {
        "an ordinary week",
        "the week of 14 December 2026 (Christmas holidays)",            /* Sunday, the 20th, is free */
        "the week of 21 December 2026 and 1 more (Christmas holidays)", /* nothing at all */
        "the week of 4 January 2027 (Christmas holidays)",              /* Monday morning still is */
        "the week of 22 March 2027, when the clock goes forward",
        "the week of 3 May 2027 (night; a feast)",
        "the week of 25 October 2027, when the clock goes back",
    };
    struct check_run c = check_run_begin();
    const struct calendar *cal =
        calendar_in(&c, "Europe/London",
                    "hours:\n  night: { days: [sun, mon, tue, wed, thu], from: \"20:30\", to: \"07:00\", except: [\n"
                    "    { from_date: 2026-12-18, to_date: 2027-01-03, holds: false, says: Christmas holidays },\n"
                    "    { from_date: 2027-05-05, to_date: 2027-05-05, holds: false },\n"
                    "    { from_date: 2027-05-07, to_date: 2027-05-07, holds: true, says: a feast },\n"
                    "    { from_date: 2027-06-05, to_date: 2027-06-05, holds: false, says: free anyway } ] }\n",
                    utc(2026, 11, 25, 10, 0), 1);
    CHECK_NEAR("kinds", cal->kinds.n, RT_COUNT(SAYS), 0, "");
    for (uint32_t i = 0; i < cal->kinds.n; i++)
        CHECK_TEXT("says", cal->kinds.v[i].says, str_from(SAYS[i]));
    CHECK("nothing holds", cal->kinds.v[2].hours[0].n == 0 && cal->kinds.v[2].n_weeks == 2);
    check_run_end(&c);
}

/* The last exception lies beyond the year that was asked for. */
TEST(weeks_reach_to_the_last_exception)
{
    struct check_run c = check_run_begin();
    const struct calendar *cal = calendar_in(&c, "UTC",
                                             "hours:\n  night: { from: \"20:30\", to: \"07:00\", except: [\n"
                                             "    { from_date: 2030-05-01, to_date: 2030-05-02, holds: false } ] }\n",
                                             utc(2026, 11, 25, 10, 0), 1);
    CHECK("far enough", cal->to_s > utc(2030, 5, 4, 0, 0) && cal->to_s < utc(2030, 6, 1, 0, 0));
    CHECK("two kinds", cal->kinds.n == 2 && cal->kinds.v[1].n_weeks == 1);
    const struct calendar *never = calendar_in(&c, "UTC",
                                               "hours:\n  night: { from: \"20:30\", to: \"07:00\", except: [\n"
                                               "    { from_date: 2027-01-01, to_date: 9999-12-31, holds: false } ] }\n",
                                               utc(2026, 11, 25, 10, 0), 1);
    CHECK("but not to the end of time", never->to_s < utc(2026 + CALENDAR_YEARS_MAX + 1, 1, 1, 0, 0));
    check_run_end(&c);
}

/* Is this week, whose first instant is given, of the kind? */
static bool is_of_kind(const struct calendar *cal, const struct week_kind *kind, int64_t from_s, int64_t to_s)
{
    if (kind->n_minutes != (to_s - from_s) / 60)
        return false;
    for (uint32_t i = 0; i < cal->h->hours.n; i++)
        for (uint32_t minute = 0; minute < kind->n_minutes; minute++)
            if (spans_hold(kind->hours[i], minute) != calendar_holds(cal, i, from_s + minute * 60))
                return false;
    return true;
}

/* Every week, from Monday to Monday by mktime(3), is of just one kind, and each kind counts its own. */
TEST(every_week_is_of_one_kind)
{
    static const char *const SOME[] = { "Europe/London", "America/Santiago", "Australia/Lord_Howe", "Africa/Cairo" };
    for (size_t z = 0; z < RT_COUNT(SOME); z++) {
        struct check_run c = check_run_begin();
        const struct calendar *cal = calendar_in(&c, SOME[z], HOURS, utc(2026, 11, 25, 10, 0), 2);
        uint32_t n_found[64] = { 0 };
        set_zone(SOME[z]);
        struct tm monday = { .tm_year = 2026 - 1900, .tm_mon = 10, .tm_mday = 23, .tm_isdst = -1 };
        int64_t from_s = mktime(&monday);
        CHECK("begins", from_s == cal->from_s);
        while (from_s < cal->to_s) {
            struct tm next = {
                .tm_year = monday.tm_year, .tm_mon = monday.tm_mon, .tm_mday = monday.tm_mday + 7, .tm_isdst = -1
            };
            const int64_t to_s = mktime(&next);
            uint32_t k = 0;
            while (k < cal->kinds.n && !is_of_kind(cal, &cal->kinds.v[k], from_s, to_s))
                k++;
            CHECK(SOME[z], k < cal->kinds.n);
            CHECK("the first one is named", n_found[k] > 0 || cal->kinds.v[k].first_monday_s == from_s);
            n_found[k]++;
            from_s = to_s;
            monday = next;
        }
        CHECK("ends", from_s == cal->to_s);
        for (uint32_t k = 0; k < cal->kinds.n; k++)
            CHECK("counted", n_found[k] == cal->kinds.v[k].n_weeks);
        check_run_end(&c);
    }
}

/* ---- words ---- */

TEST(minutes_are_told_by_the_clock_on_the_wall)
{
    static const struct {
        uint32_t kind, minute;
        const char *words;
    } CASES[] = {
        { 0, 0, "Monday 00:00" },
        { 0, 1440 + 21 * 60 + 5, "Tuesday 21:05" },
        { 0, 10079, "Sunday 23:59" },
        { 1, 6 * 1440 + 59, "Sunday 00:59" },
        { 1, 6 * 1440 + 60, "Sunday 02:00" }, /* 01:00 to 02:00 is skipped */
        { 1, 10019, "Sunday 23:59" },
        { 2, 6 * 1440 + 60, "Sunday 01:00" },
        { 2, 6 * 1440 + 119, "Sunday 01:59" },
        { 2, 6 * 1440 + 120, "Sunday 01:00, the second time" },
        { 2, 6 * 1440 + 179, "Sunday 01:59, the second time" },
        { 2, 6 * 1440 + 180, "Sunday 02:00" },
        { 2, 10139, "Sunday 23:59" },
    };
    struct check_run c = check_run_begin();
    const struct calendar *cal = calendar_in(&c, "Europe/London", BEDTIME, utc(2026, 11, 25, 10, 0), 1);
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        CHECK_TEXT("minute", calendar_minute_words(c.run.arena, cal, &cal->kinds.v[CASES[i].kind], CASES[i].minute),
                   str_from(CASES[i].words));
    check_run_end(&c);
}

TEST(spans_are_told_as_people_say_them)
{
    static const struct {
        const char *hours, *words;
    } CASES[] = {
        { "days: [sun, mon, tue, wed, thu], from: \"20:30\", to: \"07:00\"", "Mon-Thu, Sun 20:30-07:00" },
        { "days: [mon, tue, wed, thu, fri], from: \"16:00\", to: \"17:30\"", "Mon-Fri 16:00-17:30" },
        { "days: [sat, sun], from: \"09:00\", to: \"24:00\"", "Sat, Sun 09:00-24:00" },
        { "days: [sat], from: \"00:00\", to: \"24:00\"", "Sat all day" },
        { "days: [tue, sat], from: \"00:00\", to: \"24:00\"", "Tue, Sat all day" },
        { "days: [sun, mon], from: \"00:00\", to: \"24:00\"", "Mon, Sun all day" },
        { "days: [fri, sat, sun], from: \"00:00\", to: \"24:00\"", "Fri-Sun all day" },
        { "days: [sat, sun], from: \"12:00\", to: \"12:00\"", "Sat 12:00 to Mon 12:00" },
        { "days: [sun], from: \"18:00\", to: \"18:00\"", "Sun 18:00-18:00" },
        { "from: \"21:00\", to: \"06:00\"", "Mon-Sun 21:00-06:00" },
        { "from: \"05:00\", to: \"05:00\"", "always" },
        { "days: [mon, wed, fri], from: \"23:30\", to: \"00:30\"", "Mon, Wed, Fri 23:30-00:30" },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        const struct calendar *cal = calendar_in(
            &c, "UTC", arena_printf(c.run.arena, "hours:\n  x: { %s }\n", CASES[i].hours), utc(2026, 11, 25, 10, 0), 1);
        CHECK_TEXT(CASES[i].hours, calendar_span_words(c.run.arena, cal->ordinary[0]), str_from(CASES[i].words));
        check_run_end(&c);
    }
    struct check_run c = check_run_begin();
    struct span two[] = { { 600, 659 }, { 10000, 10079 } };
    CHECK_TEXT("none", calendar_span_words(c.run.arena, (span_list){ 0 }), STR("never"));
    CHECK_TEXT("two times", calendar_span_words(c.run.arena, (span_list){ two, 2 }),
               STR("Mon 10:00-11:00; Sun 22:40-24:00"));
    check_run_end(&c);
}

/* ---- reading ---- */

TEST(times_are_read_by_the_houses_clock)
{
    struct check_run c = check_run_begin();
    const int64_t now_s = utc(2027, 7, 14, 20, 5); /* a Wednesday, 21:05 in London */
    const struct calendar *cal = calendar_in(&c, "Europe/London", BEDTIME, now_s, 1);
    const struct {
        const char *text;
        int64_t unix_s;
    } CASES[] = {
        { "now", now_s },
        { "Wed 21:05", now_s },
        { "wednesday 21:04", now_s + 7 * DAY_S - 60 },
        { "Thu 00:00", utc(2027, 7, 14, 23, 0) },
        { "Tues 21:05", now_s + 6 * DAY_S },
        { "2027-07-14 21:05", now_s },
        { "2027-01-14 21:05", utc(2027, 1, 14, 21, 5) },
        { "2028-02-29 00:00", utc(2028, 2, 29, 0, 0) },
        { "2027-03-28 00:59", utc(2027, 3, 28, 0, 59) },
        { "2027-03-28 02:00", utc(2027, 3, 28, 1, 0) },
        { "2027-10-31 01:30", utc(2027, 10, 31, 0, 30) }, /* the first of two */
        { "2027-10-31 02:00", utc(2027, 10, 31, 2, 0) },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        int64_t unix_s = 0;
        CHECK_OK(&c, calendar_read_time(cal, str_from(CASES[i].text), now_s, &unix_s, &c.problems));
        CHECK_NEAR(CASES[i].text, (double)unix_s, (double)CASES[i].unix_s, 0, "s");
    }
    /* the second of two, when now is after the first */
    int64_t unix_s = 0;
    CHECK_OK(&c, calendar_read_time(cal, STR("Sun 01:30"), utc(2027, 10, 31, 0, 45), &unix_s, &c.problems));
    CHECK("second", unix_s == utc(2027, 10, 31, 1, 30));
    check_run_end(&c);
}

TEST(wrong_times_are_refused_in_these_words)
{
    static const char *const WRONG[] = { "",
                                         "21:05",
                                         "Tue",
                                         "Tue  21:05",
                                         "Tue 21:5",
                                         "Tue 24:00",
                                         "Tu 21:05",
                                         "Tuedsay 21:05",
                                         "2027-02-29 10:00",
                                         "2027-13-01 10:00",
                                         "27-01-01 10:00",
                                         "2027-01-01T10:00",
                                         "Now",
                                         "Tue 21:05 " };
    struct check_run c = check_run_begin();
    const struct calendar *cal = calendar_in(&c, "Europe/London", BEDTIME, utc(2026, 11, 25, 10, 0), 1);
    int64_t unix_s;
    for (size_t i = 0; i < RT_COUNT(WRONG); i++) {
        struct check_run r = check_run_begin();
        CHECK(WRONG[i], calendar_read_time(cal, str_from(WRONG[i]), 0, &unix_s, &r.problems) == RT_USAGE);
        CHECK_TEXT(WRONG[i], str_from(r.problems.list.v[0].msg),
                   str_from(arena_printf(c.run.arena,
                                         "'%s' is no time; write it as \"Tue 21:05\", \"2027-03-28 21:05\" or \"now\"",
                                         WRONG[i])));
        check_run_end(&r);
    }
    CHECK("skipped", calendar_read_time(cal, STR("2027-03-28 01:30"), 0, &unix_s, &c.problems) == RT_USAGE);
    CHECK_TEXT("skipped", str_from(c.problems.list.v[0].msg),
               STR("the house's clock never shows 2027-03-28 01:30: it goes forward then"));
    check_run_end(&c);
}

/* ---- kernel spans ---- */

/* One for each stretch between changes of the clock: a year has two changes, so three of them. */
TEST(kernel_spans_are_few)
{
    struct check_run c = check_run_begin();
    const struct calendar *cal = calendar_in(&c, "Europe/London", BEDTIME, utc(2026, 11, 25, 10, 0), 1);
    kernel_span_list spans;
    CHECK_OK(&c, calendar_kernel_spans(&c.run, cal, 0, &spans, &c.problems));
    CHECK_NEAR("spans", spans.n, 3, 0, "");
    CHECK("changes", spans.v[0].to_s == utc(2027, 3, 28, 1, 0) && spans.v[1].to_s == utc(2027, 10, 31, 1, 0));
    /* winter: Monday 21:00 to Tuesday 07:00 UTC; summer: 20:00 to 06:00 */
    CHECK("winter",
          spans_hold(spans.v[0].week_seconds, 21 * 3600) && !spans_hold(spans.v[0].week_seconds, 21 * 3600 - 1));
    CHECK("summer",
          spans_hold(spans.v[1].week_seconds, 20 * 3600) && !spans_hold(spans.v[1].week_seconds, 20 * 3600 - 1));
    /* two weeks of holidays are one cut */
    const struct calendar *free =
        calendar_in(&c, "Europe/London",
                    "hours:\n  x: { days: [sun, mon, tue, wed, thu], from: \"21:00\", to: \"07:00\", except: [\n"
                    "    { from_date: 2026-12-18, to_date: 2027-01-03, holds: false } ] }\n",
                    utc(2026, 11, 25, 10, 0), 1);
    CHECK_OK(&c, calendar_kernel_spans(&c.run, free, 0, &spans, &c.problems));
    CHECK_NEAR("spans", spans.n, 4, 0, "");
    CHECK("cut", spans.v[0].to_s == utc(2026, 12, 20, 21, 0) && spans.v[1].from_s == utc(2027, 1, 4, 7, 0));
    check_run_end(&c);
}

/* ---- errors ---- */

TEST(an_unknown_zone_is_an_error_at_its_place)
{
    struct check_run c = check_run_begin();
    struct house *h = house_in(&c, "Europe/London", BEDTIME);
    struct calendar *cal = NULL;
    h->time_zone.n -= 1; /* Europe/Londo: the reader would have refused it */
    CHECK("refused", calendar_make(&c.run, h, 0, 1, &cal, &c.problems) == RT_UNKNOWN_REF && !cal);
    struct buf b = { .arena = c.run.arena };
    rt_problems_format(&c.problems, &b);
    CHECK_TEXT("told", buf_done(&b),
               STR("house.yaml:4:12: this machine knows no time zone 'Europe/Londo'\n"
                   "    time_zone: Europe/London\n"
                   "               ^^^^^^^^^^^^\n"
                   "    is the system's time zone database (tzdata) installed?\n"));
    check_run_end(&c);
}

TEST(running_out_of_memory_is_an_error)
{
    struct check_run c = check_run_begin();
    const struct house *h = house_in(&c, "Europe/London", HOURS);
    unsigned n_stopped = 0;
    for (size_t limit = 256;; limit += limit / 8) {
        struct check_run r = check_run_begin();
        struct arena *small = arena_new(limit);
        struct calendar *cal = NULL;
        kernel_span_list spans = { 0 };
        r.run.arena = small;
        enum rt_code code = calendar_make(&r.run, h, utc(2026, 11, 25, 10, 0), 1, &cal, &r.problems);
        CHECK("made or out of memory", (code == RT_OK) == (cal != NULL));
        if (code == RT_OK)
            code = calendar_kernel_spans(&r.run, cal, 0, &spans, &r.problems);
        CHECK("clean", code == RT_OK || code == RT_NOMEM);
        r.run.arena = r.problems.arena;
        arena_free(small);
        check_run_end(&r);
        if (code == RT_OK)
            break;
        n_stopped++;
    }
    CHECK("it was stopped now and then", n_stopped > 10);
    check_run_end(&c);
}

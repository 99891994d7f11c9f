/* The clock on the wall against the C library's own reading of the same database (localtime_r, POSIX) and of the same
 * rules (TZ, POSIX.1-2017, 8.3), and dates against timegm(3). */
#include "reach/wall_clock.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/file.h"
#include "check.h"

enum { DAY_S = 86400 };

static int64_t utc(int year, int month, int day)
{
    struct tm tm = { .tm_year = year - 1900, .tm_mon = month - 1, .tm_mday = day };
    return timegm(&tm);
}

static void set_zone(const char *zone)
{
    CHECK("zone", setenv("TZ", zone, 1) == 0);
    tzset();
}

static int32_t library_offset_s(int64_t unix_s)
{
    struct tm tm;
    const time_t t = unix_s;
    CHECK("local time", localtime_r(&t, &tm) != NULL);
    return (int32_t)tm.tm_gmtoff;
}

static void check_offset(const char *zone, const struct wall_clock *c, int64_t unix_s)
{
    const int32_t got = wall_clock_offset_s(c, unix_s), want = library_offset_s(unix_s);
    if (got != want)
        print_error("%s at %lld: got %d s, want %d s\n", zone, (long long)unix_s, (int)got, (int)want);
    CHECK(zone, got == want);
}

/* Both sides of every change, and that nothing changes between. */
static uint32_t check_changes(const char *zone, const struct wall_clock *c, int64_t from_s, int64_t to_s)
{
    uint32_t n = 0;
    struct clock_change change = { .at_s = from_s };
    int64_t before_s = from_s;
    check_offset(zone, c, from_s);
    while (wall_clock_next_change(c, before_s, &change) && change.at_s < to_s) {
        CHECK("forward", change.at_s > before_s);
        for (int64_t t = before_s; t < change.at_s; t += 11 * DAY_S)
            CHECK(zone, library_offset_s(t) == wall_clock_offset_s(c, before_s));
        check_offset(zone, c, change.at_s - 1);
        check_offset(zone, c, change.at_s);
        CHECK(zone, wall_clock_offset_s(c, change.at_s) == change.offset_s);
        CHECK("a change", wall_clock_offset_s(c, change.at_s - 1) != change.offset_s);
        before_s = change.at_s;
        n++;
    }
    for (int64_t t = before_s; t < to_s; t += 11 * DAY_S)
        CHECK(zone, library_offset_s(t) == wall_clock_offset_s(c, before_s));
    return n;
}

/* Every zone of the database's own list, 1970 to 2100. */
TEST(all_zones_agree_with_the_library)
{
    struct check_run c = check_run_begin();
    struct str list;
    struct rt_problems quiet;
    rt_problems_init(&quiet, c.run.arena);
    if (file_read(c.run.arena, "/usr/share/zoneinfo/tzdata.zi", 1 << 20, &list, &quiet) != RT_OK) {
        print_message("    skipped: this system has no /usr/share/zoneinfo/tzdata.zi (install tzdata)\n");
        check_run_end(&c);
        skip();
    }
    uint32_t n_zones = 0, n_changes = 0;
    for (const char *line = list.p; line && *line; line = strchr(line, '\n') ? strchr(line, '\n') + 1 : NULL) {
        char zone[64] = { 0 };
        struct wall_clock clock;
        if (sscanf(line, "Z %63s", zone) != 1)
            continue;
        CHECK_OK(&c, wall_clock_read(&c.run, str_from(zone), RT_NOWHERE, &clock, &c.problems));
        set_zone(zone);
        n_changes += check_changes(zone, &clock, utc(1970, 1, 2), utc(2100, 1, 1));
        n_zones++;
    }
    print_message("    %u zones, %u changes\n", (unsigned)n_zones, (unsigned)n_changes);
    CHECK("all zones", n_zones > 300 && n_changes > 20000);
    check_run_end(&c);
}

/* ---- rules ---- */

/* A zone file that holds nothing but a rule (RFC 8536, clause 3). */
static struct str file_of(struct check_run *c, const char *rule)
{
    struct buf b = { .arena = c->run.arena };
    for (int version = 0; version < 2; version++) {
        buf_add(&b, "TZif3\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0", 20);
        /* counts: UTC and standard indicators, leap seconds, changes, types, characters */
        buf_add(&b, "\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\1\0\0\0\4", 24);
        buf_add(&b, "\0\0\0\0\0\0UTC", 10);
    }
    buf_printf(&b, "\n%s\n", rule);
    return buf_done(&b);
}

/* None changes within a day of the new year: there the library looks at the rules of the UTC year only. */
static const char *const RULES[] = {
    "GMT0BST,M3.5.0/1,M10.5.0",
    "CET-1CEST,M3.5.0,M10.5.0/3",
    "IST-1GMT0,M10.5.0,M3.5.0/1", /* winter is the exception */
    "EST5EDT,M3.2.0,M11.1.0",
    "<+1030>-10:30<+11>-11,M10.1.0,M4.1.0", /* half an hour, south of the equator */
    "<-04>4<-03>,M9.1.6/24,M4.1.6/24",
    "EET-2EEST,M4.5.5/0,M10.5.4/24",
    "<-02>2<-01>,M3.5.0/-1,M10.5.0/0",
    "IST-2IDT,M3.4.4/26,M10.5.0",
    "AAA3BBB,J60/2,J300/2:30:15",
    "AAA-11BBB,59/2,364/2",
    "AAA-11BBB,0/14,200/2",
    "AAA12BBB11,M1.1.1/0,M12.5.3/0",
    "AAA0BBB-2,M2.5.0,M8.5.6/100",
    "AAA-13:59:59",
    "UTC0",
};

TEST(rules_agree_with_the_library)
{
    for (size_t i = 0; i < RT_COUNT(RULES); i++) {
        struct check_run c = check_run_begin();
        struct wall_clock clock;
        bool failed = false;
        const char *wrong = wall_clock_parse(c.run.arena, file_of(&c, RULES[i]), &clock, &failed);
        CHECK(RULES[i], wrong == NULL && !failed);
        set_zone(RULES[i]);
        (void)check_changes(RULES[i], &clock, utc(1995, 1, 2), utc(2060, 1, 1));
        check_run_end(&c);
    }
}

/* RFC 8536, 3.3.1: 'XXX3EDT4,0/0,J365/23' is summer time all year round. */
TEST(summer_without_an_end_does_not_change)
{
    struct check_run c = check_run_begin();
    struct wall_clock clock;
    struct clock_change change;
    bool failed = false;
    CHECK("read", wall_clock_parse(c.run.arena, file_of(&c, "XXX3EDT4,0/0,J365/23"), &clock, &failed) == NULL);
    CHECK("offset", wall_clock_offset_s(&clock, utc(2027, 1, 1)) == -4 * 3600);
    CHECK("no change", !wall_clock_next_change(&clock, utc(2026, 6, 1), &change));
    check_run_end(&c);
}

/* ---- damaged files and wrong names ---- */

TEST(damaged_files_are_refused)
{
    static const struct {
        const char *rule, *wrong;
    } RULES_WRONG[] = {
        { "GMT", "its last line is not understood" },
        { "GM0", "its last line is not understood" },
        { "GMT0BST", "its last line is not understood" },
        { "GMT0BST,M3.5.0/1", "its last line is not understood" },
        { "GMT0BST,M13.5.0,M10.5.0", "its last line is not understood" },
        { "GMT0BST,M3.6.0,M10.5.0", "its last line is not understood" },
        { "GMT0BST,M3.5.7,M10.5.0", "its last line is not understood" },
        { "GMT0BST,M3.5.0/168,M10.5.0", "its last line is not understood" },
        { "GMT0BST,J0,J366", "its last line is not understood" },
        { "GMT25", "its last line is not understood" },
        { "GMT0BST,M3.5.0,M10.5.0 ", "its last line is not understood" },
        { "<GMT0", "its last line is not understood" },
    };
    struct check_run c = check_run_begin();
    struct wall_clock clock;
    bool failed = false;
    for (size_t i = 0; i < RT_COUNT(RULES_WRONG); i++) {
        const char *wrong = wall_clock_parse(c.run.arena, file_of(&c, RULES_WRONG[i].rule), &clock, &failed);
        CHECK(RULES_WRONG[i].rule, wrong && strcmp(wrong, RULES_WRONG[i].wrong) == 0);
    }
    /* every shorter piece of a right file */
    struct str file;
    CHECK_OK(&c, file_read(c.run.arena, "/usr/share/zoneinfo/Europe/London", 1 << 16, &file, &c.problems));
    for (size_t n = 0; n < file.n; n++)
        CHECK("cut off", wall_clock_parse(c.run.arena, (struct str){ file.p, n }, &clock, &failed) != NULL);
    CHECK("whole", wall_clock_parse(c.run.arena, file, &clock, &failed) == NULL && clock.has_rules);
    check_run_end(&c);
}

TEST(names_that_leave_the_folder_are_refused)
{
    static const char *const NAMES[] = { "",        "/etc/passwd", "../zoneinfo/UTC", "Europe/../UTC", "Europe/Lodnon",
                                         "Europe/", "Europe",      "zone.tab",        "a\nb",          "UTC\t" };
    for (size_t i = 0; i < RT_COUNT(NAMES); i++) {
        struct check_run c = check_run_begin();
        struct wall_clock clock;
        CHECK(NAMES[i], wall_clock_read(&c.run, str_from(NAMES[i]), RT_NOWHERE, &clock, &c.problems) == RT_UNKNOWN_REF);
        CHECK("said once", c.problems.list.n == 1);
        check_run_end(&c);
    }
}

/* UNIX time counts no leap seconds; the database has a second copy that does. */
TEST(zones_that_count_leap_seconds_are_refused)
{
    struct check_run c = check_run_begin();
    struct wall_clock clock;
    const enum rt_code code = wall_clock_read(&c.run, STR("right/Europe/London"), RT_NOWHERE, &clock, &c.problems);
    CHECK("refused", code == RT_SYNTAX || code == RT_UNKNOWN_REF);
    check_run_end(&c);
}

/* ---- dates ---- */

PROP(dates_agree_with_the_library, 3000)
{
    const int64_t day = (int64_t)random_below(r, 2000000) - 1000000;
    const time_t t = day * DAY_S;
    struct tm tm;
    int64_t year;
    int month, dom;
    CHECK("library", gmtime_r(&t, &tm) != NULL);
    day_date(day, &year, &month, &dom);
    CHECK("date", year == tm.tm_year + 1900 && month == tm.tm_mon + 1 && dom == tm.tm_mday);
    CHECK("day", day_number(year, month, dom) == day);
    CHECK("weekday", day_weekday(day) == (tm.tm_wday + 6) % 7);
}

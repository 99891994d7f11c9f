/* wall_clock.h - what the clock on the wall of a place shows: UTC and an offset that changes.
 *
 * From the system's time zone database (files of RFC 8536), read here rather than through the C library, which keeps one
 * zone for the whole process.  The house clock of a skipped hour never shows it; of a doubled one it shows it twice. */
#ifndef RT_REACH_WALL_CLOCK_H
#define RT_REACH_WALL_CLOCK_H

#include "base/problem.h"
#include "base/run.h"

/* From this instant on the clock shows UTC + offset_s. */
struct clock_change {
    int64_t at_s; /* UNIX time */
    int32_t offset_s;
};

enum clock_rule_kind { RULE_WEEKDAY, RULE_DAY_WITHOUT_LEAP, RULE_DAY };

/* A change that comes every year (POSIX.1-2017, 8.3, TZ): the week-th (5: last) weekday of a month, or the day of the year. */
struct clock_rule {
    enum clock_rule_kind kind;
    int month, week, weekday; /* weekday: 0 is Sunday */
    int day;                  /* without leap: 1..365, 29 February never counted; else 0..365 */
    int32_t time_s;           /* by the clock before the change; may be negative or beyond a day (RFC 8536, 3.3.1) */
};

struct wall_clock {
    int32_t first_offset_s; /* before the first change */
    LIST(struct clock_change) changes;
    bool has_rules; /* behind the last change: */
    bool has_summer;
    int32_t standard_offset_s, summer_offset_s;
    struct clock_rule to_summer, to_standard;
};

/* Reads a zone by its name of the IANA database.  `at` is where the user wrote it.
 * Errors: RT_UNKNOWN_REF (no such zone on this machine, or a name that cannot be one), RT_SYNTAX (its file is damaged),
 * RT_NOMEM. */
RT_MUST_CHECK enum rt_code wall_clock_read(const struct run *run, struct str name, struct rt_place at,
                                           struct wall_clock *out, struct rt_problems *p);
/* The same from the bytes of a zone file.  Returns what is wrong with them, NULL for nothing; the list of changes lives in the
 * arena (*failed: its ceiling is reached). */
const char *wall_clock_parse(struct arena *a, struct str bytes, struct wall_clock *out, bool *failed);

/* What is added to UTC at an instant.  Instants are within 2^60 s of 1970, here and below. */
int32_t wall_clock_offset_s(const struct wall_clock *c, int64_t unix_s);
/* The next instant behind this one at which the offset becomes another; false: there is none any more. */
bool wall_clock_next_change(const struct wall_clock *c, int64_t after_s, struct clock_change *out);

/* ---- days ---- */

/* Days since 1 January 1970, Gregorian calendar, proleptic. */
int64_t day_number(int64_t year, int month, int day);
void day_date(int64_t day, int64_t *year, int *month, int *day_of_month);
/* 0 is Monday. */
int day_weekday(int64_t day);
/* Division that rounds down. */
int64_t floor_div(int64_t x, int64_t by);

#endif

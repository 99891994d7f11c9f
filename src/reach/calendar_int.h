/* calendar_int.h - what the sources of the calendar share. */
#ifndef RT_REACH_CALENDAR_INT_H
#define RT_REACH_CALENDAR_INT_H

#include "reach/calendar.h"

enum { DAY_S = 86400, WEEK_S = 7 * DAY_S };

/* Part of the line of time in which the offset is one. */
struct stretch {
    int64_t from_s, to_s; /* to_s not included */
    int32_t offset_s;
};

/* From from_s to the next change, to_s at the latest. */
struct stretch stretch_from(const struct wall_clock *clock, int64_t from_s, int64_t to_s);

/* Do they begin on the day (by the house's clock)?  With and without the dated exceptions. */
bool hours_begin(const struct hours *hours, int64_t day);
bool hours_begin_weekly(const struct hours *hours, int64_t day);
/* When they begin on a day, and how long they last: seconds by the clock on the wall. */
int64_t hours_start_s(const struct hours *hours);
int64_t hours_length_s(const struct hours *hours);

/* Day of a date as the reader lets it through: YYYY-MM-DD. */
int64_t date_day(struct str date);
const char *weekday_word(int weekday); /* 0 is Monday */

#endif

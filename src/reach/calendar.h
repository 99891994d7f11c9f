/* calendar.h - hours by the house's clock: every week as it really comes, summer time and holidays included.
 *
 * One rule settles all cases: hours hold at an instant when the clock on the wall then shows a time within them, on a day on
 * which they began.  So a time that the clock skips never comes, and one that it shows twice holds twice.  Hours begin on the
 * days named, unless a dated exception says otherwise for that date (of several, the last of the file counts); what began
 * runs to its end.  The time zone's rules are those of the system's time zone database (wall_clock.h). */
#ifndef RT_REACH_CALENDAR_H
#define RT_REACH_CALENDAR_H

#include "base/run.h"
#include "reach/packet.h"
#include "reach/wall_clock.h"

enum { WEEK_MINUTES = 7 * 1440, CALENDAR_YEARS_MAX = 30 };

/* A kind of week: all weeks in which every one of the house's hours holds at the same minutes. */
struct week_kind {
    int64_t first_monday_s; /* UNIX time at which the first such week begins (Monday 00:00 by the house's clock) */
    uint32_t n_weeks;       /* how many of the weeks looked at are such */
    uint32_t n_minutes;     /* 10080; 60 fewer or more where the clock changes */
    span_list *hours;       /* for each of house->hours: minutes from the week's beginning, as they pass */
    bool is_ordinary;       /* no clock change, no exception: the one that people mean */
    struct str says;        /* "an ordinary week", "the week of 22 March 2027, when the clock goes forward" ... */
};

struct calendar {
    const struct house *h;
    struct wall_clock clock;
    LIST(struct week_kind) kinds; /* the ordinary week first, if one comes at all; then as they come */
    span_list *ordinary;          /* for each of house->hours: minutes of an ordinary week */
    int64_t from_s, to_s;         /* weeks looked at */
};

/* Looks at `years` years of weeks from the one that holds `now_s`, and as many more as the last dated exception needs (up to
 * CALENDAR_YEARS_MAX in all).  Errors: as wall_clock_read(), RT_NOMEM. */
RT_MUST_CHECK enum rt_code calendar_make(const struct run *run, const struct house *h, int64_t now_s, unsigned years,
                                         struct calendar **out, struct rt_problems *p);

/* Does it hold at this instant?  Minutes begin at whole minutes of the house's clock. */
bool calendar_holds(const struct calendar *c, uint32_t hours, int64_t unix_s);
/* "Tuesday 21:05", by the house's clock, of a minute of a kind of week; "Sunday 01:30, the second time". */
struct str calendar_minute_words(struct arena *a, const struct calendar *c, const struct week_kind *kind,
                                 uint32_t minute);
/* "Thursday 25 March 2027, 21:05", by the house's clock. */
struct str calendar_time_words(struct arena *a, const struct calendar *c, int64_t unix_s);
/* "Mon-Thu, Sun 20:30-07:00", of spans of minutes of an ordinary week; "always", "never".  p is NULL when the arena's ceiling
 * is reached. */
struct str calendar_span_words(struct arena *a, span_list minutes);
/* Reads "Tue 21:05" (the next one from now on), "2027-03-28 02:30" (by the house's clock; of two the first) or "now".
 * Errors: RT_USAGE (not such a time, or one that the clock skips). */
RT_MUST_CHECK enum rt_code calendar_read_time(const struct calendar *c, struct str text, int64_t now_s, int64_t *unix_s,
                                              struct rt_problems *p);

/* ---- as the kernel's packet filter takes it: UTC, no summer time ---- */

/* Holds while UNIX time is in from_s..to_s (to_s not included) and the UTC second of the week (from Monday 00:00 UTC) lies in
 * one of the spans. */
struct kernel_span {
    int64_t from_s, to_s;
    span_list week_seconds; /* empty: throughout */
};
typedef LIST(struct kernel_span) kernel_span_list;

/* The hours as kernel spans, from from_s to to_s of the calendar: one for each stretch between clock changes, with the
 * exceptions cut out or added; by their beginnings.  They hold where any one of them does.  None: never. */
RT_MUST_CHECK enum rt_code calendar_kernel_spans(const struct run *run, const struct calendar *c, uint32_t hours,
                                                 kernel_span_list *out, struct rt_problems *p);

#endif

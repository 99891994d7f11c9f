/* week_rows.h - the second kind of the week's sheets: hours and radios in rows, as many as a sheet holds. */
#ifndef RT_DRAW_WEEK_ROWS_H
#define RT_DRAW_WEEK_ROWS_H

#include "draw/load_view.h"
#include "draw/sheet.h"

/* Minutes of the week (Monday 0:00 first) in which hours hold, in an ordinary week: no exceptions, no change of the clock.
 * Calls back with spans that lie within one day, by their beginnings' days. */
struct week_span {
    unsigned day;
    double from_minute, to_minute; /* 0 to 1440 */
};
enum { WEEK_SPANS_MAX = 14 };
uint32_t week_spans(const struct hours *hours, struct week_span spans[WEEK_SPANS_MAX]);

/* Statements that refuse something in hours of the house: index of the next from `from` on, or NO_REF. */
uint32_t week_next_dark(const struct house *h, uint32_t from);

uint32_t week_rows_pages(struct sheet *s);
/* Returns what the page shows. */
struct str week_rows_paint(struct sheet *s, uint32_t page);

#endif

/* csv.h - writing tables for a spreadsheet (RFC 4180). */
#ifndef RT_CSV_H
#define RT_CSV_H

#include "base/str.h"

/* One field, with the comma before it where it is not the first of its row.  Quoted where section 2 asks for it; text that a
 * spreadsheet would run as a formula gets an apostrophe in front. */
void csv_field(struct buf *out, struct str text);
/* A number with so many decimals; NaN is an empty field. */
void csv_number(struct buf *out, double value, int decimals);
void csv_end_row(struct buf *out);

#endif

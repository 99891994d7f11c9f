/* tables.h - the book's tables for a spreadsheet (RFC 4180): what other modules do not already write beside their own facts. */
#ifndef RT_BOOK_TABLES_H
#define RT_BOOK_TABLES_H

#include "book/book_int.h"
#include "reach/export.h"

/* What stands where, holes and boards, promises and their rooms, tests of the day, failures, what lasts how long, radios, hours and
 * statements, the line by the hour and who asks of it, cabinets, sockets of strangers, the year.  `b` as book_gather() fills it.
 * Errors: those of acceptance_make(); RT_NOMEM. */
RT_MUST_CHECK enum rt_code book_tables_add(struct book *b, struct export_folder *files, struct rt_problems *p);

/* network_below.c: the sockets that a stranger can reach. */
void sockets_write_csv(struct book *b, struct buf *out);
/* chapter_week.c: the hours of the house, and what keeps to them. */
void hours_write_csv(struct book *b, struct buf *out);

#endif

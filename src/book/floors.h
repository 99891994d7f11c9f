/* floors.h - what the chapter of the floors is made of: what hangs and stands where, and which sheets and figures a floor gets. */
#ifndef RT_BOOK_FLOORS_H
#define RT_BOOK_FLOORS_H

#include "book/book_int.h"
#include "wire/install.h"

/* Everything of the network that is fixed on a floor, and every cable that ends there, as a table; then what is drilled and
 * lifted, by number: the cables' chapter tells each. */
void floor_places_write(struct book *b, uint32_t floor);
/* The same of all floors, for a spreadsheet. */
void floor_places_write_csv(struct book *b, struct buf *out);
void floor_work_write(struct book *b, const struct install *in, uint32_t floor);
/* The drawings that stand in its text, and a line that says which fill pages of their own; these pages. */
enum rt_code floor_figures_write(struct book *b, uint32_t floor, struct rt_problems *p);
enum rt_code floor_sheets_write(struct book *b, uint32_t floor, struct rt_problems *p);

#endif

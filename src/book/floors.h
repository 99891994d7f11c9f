/* floors.h - what the chapter of the floors is made of: what hangs and stands where, and which sheets and figures a floor gets. */
#ifndef RT_BOOK_FLOORS_H
#define RT_BOOK_FLOORS_H

#include "book/book_int.h"
#include "wire/install.h"

/* One thing that is fixed, in words; texts in the book's arena. */
struct floor_fixed {
    struct str id;
    uint32_t floor;
    struct vec3 at_m;        /* above the floor; NaN: anywhere in its room */
    struct str what, where;  /* where: from the faces of walls, and how high */
    struct str how, arrives; /* what it is screwed with, which way it looks; its cables' labels, its radios */
};
/* Equipment or a device by its index; false: it is not fixed, or no cable comes to it.  b->draw.numbers must be there. */
bool floor_fixed(struct book *b, bool is_device, uint32_t i, struct floor_fixed *out);

/* Everything of the network that is fixed on a floor, and every cable that ends there, as a table; then what is drilled and
 * lifted, by number: the cables' chapter tells each. */
void floor_places_write(struct book *b, uint32_t floor);
/* The same of all floors, for a spreadsheet. */
void floor_places_write_csv(struct book *b, struct buf *out);
void floor_work_write(struct book *b, const struct install *in, uint32_t floor);
/* The drawings that fill pages of their own, and a line that says which; those that stand in its text. */
enum rt_code floor_sheets_write(struct book *b, uint32_t floor, struct rt_problems *p);
enum rt_code floor_figures_write(struct book *b, uint32_t floor, struct rt_problems *p);

#endif

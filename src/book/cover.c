#include "book/book_int.h"

void book_cover(struct pen *pen, double w_mm, double h_mm, void *book)
{
    const struct book *b = book;
    (void)w_mm;
    (void)h_mm;
    pen_text(pen, TEXT_TITLE, b->h->name, 0.0, 0.0);
}

#include "book/book_int.h"

enum rt_code chapter_words(struct book *b, struct rt_problems *p)
{
    (void)b;
    (void)p;
    return RT_OK;
}

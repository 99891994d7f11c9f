/* network_rehearsed.h - what came of trying the rules on this kernel, or how to try them. */
#ifndef RT_BOOK_NETWORK_REHEARSED_H
#define RT_BOOK_NETWORK_REHEARSED_H

#include "book/net_words.h"

/* With options->rehearses the rules are tried now.  A kernel that cannot is told in the book, which is made all the same.  Errors:
 * RT_NOMEM, RT_CANCELLED. */
RT_MUST_CHECK enum rt_code network_rehearsed_write(struct book *b, struct rt_problems *p);

#endif

/* network_matrix.h - the proof's matrix as a table that fits a page: a mark in each cell, and what a numbered mark means beneath. */
#ifndef RT_BOOK_NETWORK_MATRIX_H
#define RT_BOOK_NETWORK_MATRIX_H

#include "book/net_words.h"
#include "reach/matrix.h"

/* What may be begun, in both families: "https, ntp to the printer, from anna phone; at Mon-Fri 08:00-19:00".  Of what every segment has
 * of its gateway nothing is said.  Empty: nothing else. */
str_list network_passages(struct book *b, const struct matrix *m, uint32_t from, uint32_t to);
/* The section "what is proven": table and legend on one page, then what its numbers mean. */
void network_matrix_write(struct book *b, const struct matrix *m);

#endif

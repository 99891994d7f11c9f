/* breaks_words.h - a failure as it is met at night: what one sees, what to do in order, by what it is replaced. */
#ifndef RT_BOOK_BREAKS_WORDS_H
#define RT_BOOK_BREAKS_WORDS_H

#include "book/book_int.h"

/* What one sees first: "No Wi-Fi, or little, in: landing, bathroom". */
struct str breaks_symptom(struct book *b, const struct failure_row *row);
/* What to do, in order; the last is the replacement or the call. */
struct breaks_steps {
    struct str v[6];
    uint32_t n;
};
struct breaks_steps breaks_steps_of(struct book *b, const struct failure_row *row);

/* Both ends of a cable as on its labels: "switch:4 to hub". */
struct str breaks_cable_ends(struct book *b, uint32_t cable);
/* Things that go with it, itself left out: "a4, Joel's work laptop and 4 more"; empty: none. */
struct str breaks_gone(struct book *b, const struct damage *d, uint32_t most);
/* Sentences of promises that it breaks, or that are kept in spite of it; empty: none. */
struct str breaks_promises(struct book *b, const struct failure_row *row, bool broken, uint32_t most);

#endif

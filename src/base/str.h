/* str.h - text as a slice (pointer and length) of bytes that somebody else owns, usually the run's arena. */
#ifndef RT_STR_H
#define RT_STR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

struct str {
    const char *p; /* not NUL-terminated unless it came from str_dup(); may be NULL when n is 0 */
    size_t n;
};

#define STR(literal) ((struct str){ "" literal, sizeof(literal) - 1 })
/* For printf: printf("%.*s", STR_ARG(s)). */
#define STR_ARG(s) (int)(s).n, ((s).p ? (s).p : "")

struct str str_from(const char *c_text);
bool str_eq(struct str a, struct str b);
bool str_is(struct str a, const char *c_text);
/* Orders by bytes, the shorter first on a tie: less than, equal to or greater than 0. */
int str_cmp(struct str a, struct str b);
/* A NUL-terminated copy in the arena; p is NULL when the ceiling is reached. */
struct str str_dup(struct arena *a, struct str s);
/* Edits (insertions, deletions, changes, swaps of neighbours) that turn a into b, for 'did you mean'.
 * Optimal string alignment distance; texts beyond 63 bytes count as far apart (returns 64). */
unsigned str_distance(struct str a, struct str b);
/* Index of the candidate nearest to s if it is near enough to be a slip of the hand, else n. */
size_t str_nearest(struct str s, const struct str *candidates, size_t n);

/* A growing text.  Zero-initialise with the arena set; after a failed growth `failed` is set and later calls do nothing,
 * so one check at the end is enough.  The text is always NUL-terminated once anything was added. */
struct buf {
    struct arena *arena;
    char *p;
    size_t n, cap;
    bool failed;
};

void buf_add(struct buf *b, const char *p, size_t n);
void buf_str(struct buf *b, struct str s);
void buf_text(struct buf *b, const char *c_text);
void buf_char(struct buf *b, char c);
void buf_fill(struct buf *b, char c, size_t n);
void buf_printf(struct buf *b, const char *fmt, ...) RT_PRINTF(2, 3);
struct str buf_done(const struct buf *b);

/* Columns that s takes on a terminal: code points of UTF-8, combining marks not told apart. */
size_t str_columns(struct str s);
/* Takes the next line of at most `columns` code points off the text, cut at a blank where there is one; the blanks it was cut at go. */
struct str str_take_line(struct str *rest, size_t columns);
/* Bytes of the UTF-8 sequence that begins at byte i (RFC 3629, section 4); 0 when none does. */
size_t str_letter(struct str s, size_t i);

#endif

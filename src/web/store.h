/* store.h - every state that a house was in: a tree of revisions in SQLite, with a mark at the one that the file holds.
 *
 * The file is the truth.  A change is noted first, then the file is replaced, then the mark is moved: killed at any instant, the file
 * is whole, and on the next look the mark is put to the revision whose bytes the file holds.  Undo goes to the parent, redo to the
 * child made last; what was undone is never lost.  One store for the folder: .rooftree/revisions.sqlite.
 *
 * Not safe for two threads at once: whoever has the house's lock calls (workspace.h). */
#ifndef RT_WEB_STORE_H
#define RT_WEB_STORE_H

#include "base/array.h"
#include "base/problem.h"

struct store; /* in the arena it was opened in; its own memory is SQLite's */

struct revision {
    int64_t number;                /* from 1, of this house */
    int64_t parent;                /* 0: the first */
    int64_t at_s;                  /* UNIX time */
    struct str what;               /* in words: "moved a2"; "changed outside" */
    int32_t kept, broken, unknown; /* promises; -1: not judged (yet, or the house cannot be read) */
};

typedef LIST(struct revision) revision_list;

/* Opens or makes the store of a folder.  Errors: RT_IO, RT_NOMEM. */
RT_MUST_CHECK enum rt_code store_open(struct arena *a, const char *folder, struct store **out, struct rt_problems *p);
void store_close(struct store *s); /* NULL is allowed */

/* The revision that the mark is at; number 0: the house has none.  bytes (may be NULL): what the file was. */
RT_MUST_CHECK enum rt_code store_marked(struct store *s, struct arena *a, struct str house, struct revision *out,
                                        struct str *bytes, struct rt_problems *p);
/* One revision by its number.  Errors: RT_UNKNOWN_REF. */
RT_MUST_CHECK enum rt_code store_read(struct store *s, struct arena *a, struct str house, int64_t number,
                                      struct revision *out, struct str *bytes, struct rt_problems *p);
/* The newest revision of these very bytes; number 0: none. */
RT_MUST_CHECK enum rt_code store_find(struct store *s, struct arena *a, struct str house, struct str bytes,
                                      struct revision *out, struct rt_problems *p);

/* Notes a state that comes after `parent` (0: none); the mark stays.  Errors: RT_IO, RT_NOMEM. */
RT_MUST_CHECK enum rt_code store_add(struct store *s, struct str house, int64_t parent, int64_t at_s, struct str what,
                                     struct str bytes, int64_t *number, struct rt_problems *p);
/* Moves the mark, once the file holds that revision. */
RT_MUST_CHECK enum rt_code store_mark(struct store *s, struct str house, int64_t number, struct rt_problems *p);
/* What the promises were then. */
RT_MUST_CHECK enum rt_code store_judge(struct store *s, struct str house, int64_t number, int32_t kept, int32_t broken,
                                       int32_t unknown, struct rt_problems *p);

/* The house that was changed last, or first seen; empty: none was yet. */
RT_MUST_CHECK enum rt_code store_newest(struct store *s, struct arena *a, struct str *house, struct rt_problems *p);

/* Where redo leads from this revision: its child that was marked last; number 0: nowhere. */
RT_MUST_CHECK enum rt_code store_child(struct store *s, struct arena *a, struct str house, int64_t number,
                                       struct revision *out, struct rt_problems *p);
/* The newest `most` of them, newest first. */
RT_MUST_CHECK enum rt_code store_list(struct store *s, struct arena *a, struct str house, uint32_t most,
                                      revision_list *out, struct rt_problems *p);

#endif

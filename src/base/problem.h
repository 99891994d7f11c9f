/* problem.h - what went wrong, in words for the user, with the place in the user's file.
 *
 * Functions return a code (for programs) and add problems (for people).  The list is untouched on success, except for
 * warnings.  A message says what is wrong and what was expected; the hint says what to do.  Library code never prints. */
#ifndef RT_PROBLEM_H
#define RT_PROBLEM_H

#include <stdbool.h>
#include <stdint.h>

#include "base/array.h"
#include "base/str.h"

/* name, HTTP status */
#define RT_CODES(X)                                                                              \
    X(OK, 200)                                                                                   \
    X(SYNTAX, 400)      /* the bytes are not YAML, JSON, CSV ... */                              \
    X(SHAPE, 422)       /* a key, type or count that the format does not have */                 \
    X(RANGE, 422)       /* a value outside what is possible */                                   \
    X(UNKNOWN_REF, 422) /* a name that stands for nothing */                                     \
    X(GEOMETRY, 422)    /* the house cannot be built like this */                                \
    X(CONFLICT, 409)    /* two facts contradict each other, or somebody else changed the file */ \
    X(LIMIT, 413)       /* larger or deeper than this program accepts */                         \
    X(USAGE, 400)       /* the command's words are off */                                        \
    X(IO, 500)                                                                                   \
    X(NOMEM, 500)                                                                                \
    X(CANCELLED, 499)                                                                            \
    X(MISSING, 503) /* something of the system that is needed is not there */

enum rt_code {
#define X(name, http_status) RT_##name,
    RT_CODES(X)
#undef X
};

/* A place in a file of the user's; line 0: not tied to one.  line and col count from 1, col in code points;
 * byte..byte + n is the token the caret underlines. */
struct rt_place {
    const char *file;
    uint32_t line, col;
    size_t byte, n;
};

#define RT_NOWHERE ((struct rt_place){ 0 })

struct rt_problem {
    enum rt_code code;
    bool is_warning;
    struct rt_place at;
    const char *msg;  /* what is wrong, and what was expected */
    const char *hint; /* what to do; NULL when the message says it */
};

/* The bytes of a file that problems point into, so that the line can be shown. */
struct rt_source {
    const char *file;
    struct str bytes;
};

/* Problems beyond the cap are counted, not kept. */
enum { RT_PROBLEMS_MAX = 200 };

struct rt_problems {
    struct arena *arena;
    VEC(struct rt_problem) list;
    VEC(struct rt_source) sources;
    uint32_t n_errors, n_warnings; /* all, also those not kept */
};

/* Starts an empty list whose texts will live in the arena. */
void rt_problems_init(struct rt_problems *p, struct arena *a);
/* Lets the printed form show lines of this file.  Both pointers must outlive the list. */
void rt_problems_source(struct rt_problems *p, const char *file, struct str bytes);

/* Adds an error and returns its code, so that a caller can write: return rt_fail(p, RT_RANGE, at, hint, "...", ...). */
enum rt_code rt_fail(struct rt_problems *p, enum rt_code code, struct rt_place at, const char *hint, const char *fmt,
                     ...) RT_PRINTF(5, 6);
/* The same, for a warning; one that was given already, in the same words of the same place, is not given again. */
void rt_warn(struct rt_problems *p, enum rt_code code, struct rt_place at, const char *hint, const char *fmt, ...)
    RT_PRINTF(5, 6);
/* The usual words when an arena's ceiling is reached. */
enum rt_code rt_fail_memory(struct rt_problems *p);

/* Writes all problems as text:  FILE:LINE:COL: what is wrong / the line / a caret / what to do.
 * Ordered as found; with a closing count if more than one. */
void rt_problems_format(const struct rt_problems *p, struct buf *out);

const char *rt_code_name(enum rt_code code);
int rt_code_http_status(enum rt_code code);

#define RT_TRY(expr)                       \
    do {                                   \
        const enum rt_code code_ = (expr); \
        if (code_)                         \
            return code_;                  \
    } while (0)

#endif

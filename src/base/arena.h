/* arena.h - memory that is freed all at once.
 *
 * One arena holds everything that belongs to a run; nothing inside it has a free of its own.  An arena has a
 * ceiling in bytes; an allocation past it returns NULL and leaves the arena usable.  New memory is zero.
 * Not safe for use by two threads at once: give each thread its own. */
#ifndef RT_ARENA_H
#define RT_ARENA_H

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include "base/compiler.h"

struct arena;

/* A point to return to: everything allocated after it is given back by arena_reset(). */
struct arena_mark {
    void *chunk;
    size_t used;
    size_t total;
};

enum { ARENA_DEFAULT_LIMIT_MB = 2048 };

/* Makes an arena that will hold at most limit_bytes.  Returns NULL when the system has no memory. */
struct arena *arena_new(size_t limit_bytes);
/* Frees the arena and all that lives in it.  NULL is allowed. */
void arena_free(struct arena *a);

/* Returns n * size zeroed bytes, aligned to 16 (to 64 from 64 bytes on), or NULL when the product overflows, the
 * ceiling is reached or the system has no memory.  n * size == 0 returns a valid pointer to no bytes. */
void *arena_alloc(struct arena *a, size_t n, size_t size);
#define ARENA_ARRAY(arena, type, n) ((type *)arena_alloc((arena), (n), sizeof(type)))
#define ARENA_NEW(arena, type) ((type *)arena_alloc((arena), 1, sizeof(type)))

struct arena_mark arena_mark(const struct arena *a);
void arena_reset(struct arena *a, struct arena_mark m);

/* Bytes handed out now, and the most ever handed out. */
size_t arena_used(const struct arena *a);
size_t arena_peak(const struct arena *a);

/* Formatted text in the arena, NUL-terminated; NULL when the ceiling is reached. */
char *arena_printf(struct arena *a, const char *fmt, ...) RT_PRINTF(2, 3);
char *arena_vprintf(struct arena *a, const char *fmt, va_list args) RT_PRINTF(2, 0);

#endif

#include "base/arena.h"

#include "base/memory.h"

/* The one file that owns heap memory (see banned.h). */
#undef calloc

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Under the address sanitizer the unused tail of every chunk is poisoned, so a read past the end of an allocation or of
 * memory that was reset is caught as it would be on the heap. */
#if defined(__SANITIZE_ADDRESS__)
#define RT_ASAN 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define RT_ASAN 1
#endif
#endif
#ifdef RT_ASAN
#include <sanitizer/asan_interface.h>
enum { RED_ZONE = 16 };
#else
#define ASAN_POISON_MEMORY_REGION(p, n) ((void)(p), (void)(n))
#define ASAN_UNPOISON_MEMORY_REGION(p, n) ((void)(p), (void)(n))
enum { RED_ZONE = 0 };
#endif

enum { CHUNK_BYTES = 256 * 1024, SMALL_ALIGN = 16, LARGE_ALIGN = 64 };

struct chunk {
    struct chunk *next;
    size_t cap, used;
    unsigned char *data;
};

struct arena {
    struct chunk *first, *current;
    size_t limit, total, peak;
};

static size_t round_up(size_t n, size_t step) { return (n + step - 1) / step * step; }

static struct chunk *chunk_new(size_t cap)
{
    const size_t head = round_up(sizeof(struct chunk), LARGE_ALIGN);
    struct chunk *c = aligned_alloc(LARGE_ALIGN, head + cap);
    if (!c)
        return NULL;
    *c = (struct chunk){ .cap = cap, .data = (unsigned char *)c + head };
    ASAN_POISON_MEMORY_REGION(c->data, cap);
    return c;
}

struct arena *arena_new(size_t limit_bytes)
{
    struct arena *a = calloc(1, sizeof *a);
    if (!a)
        return NULL;
    a->limit = limit_bytes;
    a->first = a->current = chunk_new(CHUNK_BYTES);
    if (!a->first) {
        free(a);
        return NULL;
    }
    return a;
}

void arena_free(struct arena *a)
{
    if (!a)
        return;
    for (struct chunk *c = a->first, *next; c; c = next) {
        next = c->next;
        ASAN_UNPOISON_MEMORY_REGION(c->data, c->cap);
        free(c);
    }
    free(a);
}

void arena_give_back(struct arena *a)
{
    for (struct chunk *c = a->current->next, *next; c; c = next) {
        next = c->next;
        ASAN_UNPOISON_MEMORY_REGION(c->data, c->cap);
        free(c);
    }
    a->current->next = NULL;
}

/* Moves on to a chunk with room for n bytes: the next one kept from before a reset, or a new one. */
static struct chunk *chunk_with_room(struct arena *a, size_t n)
{
    for (struct chunk *c = a->current->next; c; c = c->next) {
        c->used = 0;
        if (c->cap >= n)
            return a->current = c;
        a->current = c;
    }
    struct chunk *c = chunk_new(n > CHUNK_BYTES ? round_up(n, LARGE_ALIGN) : CHUNK_BYTES);
    if (!c)
        return NULL;
    a->current->next = c;
    return a->current = c;
}

void *arena_alloc(struct arena *a, size_t n, size_t size)
{
    if (size && n > (SIZE_MAX / 4) / size)
        return NULL;
    const size_t bytes = n * size;
    const size_t align = bytes >= LARGE_ALIGN ? LARGE_ALIGN : SMALL_ALIGN;
    if (bytes > a->limit || a->total > a->limit - bytes)
        return NULL;
    size_t at = round_up(a->current->used, align);
    if (at > a->current->cap || bytes + RED_ZONE > a->current->cap - at) {
        if (!chunk_with_room(a, bytes + RED_ZONE))
            return NULL;
        at = 0;
    }
    unsigned char *p = a->current->data + at;
    a->current->used = at + bytes + RED_ZONE;
    a->total += bytes;
    if (a->total > a->peak)
        a->peak = a->total;
    ASAN_UNPOISON_MEMORY_REGION(p, bytes);
    return memset(p, 0, bytes);
}

struct arena_mark arena_mark(const struct arena *a)
{
    return (struct arena_mark){ .chunk = a->current, .used = a->current->used, .total = a->total };
}

void arena_reset(struct arena *a, struct arena_mark m)
{
    a->current = m.chunk;
    a->current->used = m.used;
    a->total = m.total;
    ASAN_POISON_MEMORY_REGION(a->current->data + m.used, a->current->cap - m.used);
    for (struct chunk *c = a->current->next; c; c = c->next) {
        c->used = 0;
        ASAN_POISON_MEMORY_REGION(c->data, c->cap);
    }
}

size_t arena_used(const struct arena *a) { return a->total; }

size_t arena_peak(const struct arena *a) { return a->peak; }

char *arena_vprintf(struct arena *a, const char *fmt, va_list args)
{
    va_list again;
    va_copy(again, args);
    const int n = vsnprintf(NULL, 0, fmt, again);
    va_end(again);
    if (n < 0)
        return NULL;
    char *p = arena_alloc(a, (size_t)n + 1, 1);
    if (p)
        vsnprintf(p, (size_t)n + 1, fmt, args);
    return p;
}

char *arena_printf(struct arena *a, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    char *p = arena_vprintf(a, fmt, args);
    va_end(args);
    return p;
}

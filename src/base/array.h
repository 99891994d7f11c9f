/* array.h - growing arrays in an arena.
 *
 * LIST(T) is the plain form the model uses: items and a count.  VEC(T) also remembers its capacity while it grows.
 * A VEC that has stopped growing is handed on as a LIST by copying v and n. */
#ifndef RT_ARRAY_H
#define RT_ARRAY_H

#include <stdbool.h>
#include <stdint.h>

#include "base/arena.h"

#define LIST(type)  \
    struct {        \
        type *v;    \
        uint32_t n; \
    }

typedef LIST(uint32_t) index_list;

#define VEC(type)        \
    struct {             \
        type *v;         \
        uint32_t n, cap; \
    }

/* Makes room for one more item; false when the arena's ceiling is reached.  Use through VEC_PUSH. */
bool vec_grow(struct arena *a, void **items, uint32_t *cap, uint32_t n, size_t item_size);

/* Adds an item; false when the ceiling is reached:  if (!VEC_PUSH(arena, &vec, item)) return ... */
#define VEC_PUSH(arena, vec, item)                                                                                \
    (((vec)->n < (vec)->cap || vec_grow((arena), (void **)&(vec)->v, &(vec)->cap, (vec)->n, sizeof *(vec)->v)) && \
     ((vec)->v[(vec)->n++] = (item), true))

#endif

#include "base/array.h"

#include <string.h>

bool vec_grow(struct arena *a, void **items, uint32_t *cap, uint32_t n, size_t item_size)
{
    if (*cap > UINT32_MAX / 2)
        return false;
    const uint32_t bigger_cap = *cap ? *cap * 2 : 8;
    void *bigger = arena_alloc(a, bigger_cap, item_size);
    if (!bigger)
        return false;
    if (n)
        memcpy(bigger, *items, (size_t)n * item_size);
    *items = bigger;
    *cap = bigger_cap;
    return true;
}

#include "fuzz.h"

/* The block must be the heap's own for the sanitizer to guard its ends. */
#undef malloc

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LIMIT_BYTES = 512 * 1024 * 1024 };

void fuzz_check(bool ok, const char *what)
{
    if (ok)
        return;
    fprintf(stderr, "fuzz target: %s\n", what);
    abort();
}

void fuzz_number(struct buf *out, const char *name, double x, bool may_be_left_out)
{
    fuzz_check(isfinite(x) || (may_be_left_out && isnan(x)), name);
    buf_printf(out, " %s=%.9g", name, x);
}

int fuzz_twice(const uint8_t *p, size_t n, fuzz_fn *fn)
{
    struct arena *arenas[2];
    struct buf out[2];
    for (int i = 0; i < 2; i++) {
        char *block = malloc(n ? n : 1);
        arenas[i] = arena_new(LIMIT_BYTES);
        fuzz_check(block && arenas[i], "no memory");
        if (i) /* other addresses, other alignment of chunks */
            fuzz_check(arena_alloc(arenas[i], 12345, 1) != NULL, "no memory");
        if (n)
            memcpy(block, p, n);
        const struct run run = { .arena = arenas[i], .seed = 1, .n_threads = 1 };
        out[i] = (struct buf){ .arena = arenas[i] };
        fn(&run, (struct str){ block, n }, &out[i]);
        free(block);
    }
    const struct str a = buf_done(&out[0]), b = buf_done(&out[1]);
    fuzz_check(str_eq(a, b), "two runs differ");
    arena_free(arenas[0]);
    arena_free(arenas[1]);
    return 0;
}

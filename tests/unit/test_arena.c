#include "base/arena.h"

#include "base/array.h"
#include "check.h"

TEST(memory_is_zero_also_after_a_reset)
{
    struct arena *a = arena_new(1 << 20);
    const struct arena_mark m = arena_mark(a);
    unsigned char *p = arena_alloc(a, 1000, 1);
    for (int i = 0; i < 1000; i++)
        p[i] = 0xff;
    arena_reset(a, m);
    const unsigned char *q = arena_alloc(a, 1000, 1);
    for (int i = 0; i < 1000; i++)
        CHECK("zero", q[i] == 0);
    arena_free(a);
}

TEST(ceiling_returns_null_and_leaves_the_arena_usable)
{
    struct arena *a = arena_new(10000);
    CHECK("too much", arena_alloc(a, 10001, 1) == NULL);
    CHECK("product overflows", arena_alloc(a, SIZE_MAX / 2, 8) == NULL);
    CHECK("fits", arena_alloc(a, 10000, 1) != NULL);
    CHECK("full", arena_alloc(a, 1, 1) == NULL);
    CHECK_NEAR("peak", (double)arena_peak(a), 10000, 0, "bytes");
    arena_free(a);
}

TEST(chunks_are_used_again_after_a_reset)
{
    struct arena *a = arena_new((size_t)64 << 20);
    for (int round = 0; round < 50; round++) {
        const struct arena_mark m = arena_mark(a);
        for (int i = 0; i < 40; i++) {
            unsigned char *p = arena_alloc(a, 100000 + (size_t)i, 1);
            p[0] = 1;
            p[99999] = 2;
            CHECK_NEAR("aligned to 64", (double)((uintptr_t)p % 64), 0, 0, "bytes");
        }
        arena_reset(a, m);
    }
    CHECK_NEAR("nothing is counted twice", (double)arena_used(a), 0, 0, "bytes");
    arena_free(a);
}

TEST(vec_keeps_its_items)
{
    struct arena *a = arena_new(1 << 20);
    VEC(uint32_t) v = { 0 };
    for (uint32_t i = 0; i < 10000; i++)
        CHECK("room", VEC_PUSH(a, &v, i * 3));
    for (uint32_t i = 0; i < v.n; i++)
        CHECK_NEAR("item", v.v[i], i * 3.0, 0, "");
    arena_free(a);
}

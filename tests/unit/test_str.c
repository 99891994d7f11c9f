#include "base/str.h"

#include "check.h"

TEST(distance_counts_slips)
{
    static const struct {
        const char *a, *b;
        unsigned want;
    } CASES[] = {
        { "", "", 0 },
        { "room", "room", 0 },
        { "rom", "room", 1 },
        { "roomm", "room", 1 },
        { "rooms", "walls", 4 },
        { "lien", "line", 1 },
        { "constrcut", "construct", 1 },
        { "abc", "", 3 },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        CHECK_NEAR(CASES[i].a, str_distance(str_from(CASES[i].a), str_from(CASES[i].b)), CASES[i].want, 0, "edits");
}

TEST(nearest_word_must_be_near)
{
    const struct str words[] = { STR("walls"), STR("floors"), STR("rooms") };
    CHECK("a slip", str_nearest(STR("wals"), words, 3) == 0);
    CHECK("another word", str_nearest(STR("kitchen"), words, 3) == 3);
}

TEST(buf_grows_and_stops_at_the_ceiling)
{
    struct arena *a = arena_new(4096);
    struct buf b = { .arena = a };
    for (int i = 0; i < 100; i++)
        buf_printf(&b, "%d,", i);
    CHECK("length", buf_done(&b).n == 290);
    for (int i = 0; i < 5000 && !b.failed; i++)
        buf_text(&b, "0123456789");
    CHECK("stopped cleanly", b.failed);
    arena_free(a);
}

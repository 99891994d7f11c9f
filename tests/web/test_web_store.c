/* The store by itself: a tree of states, a mark, redo to the child that was made last. */
#include "base/file.h"
#include "web_kit.h"

static const struct str HOUSE = { "h", 1 };

static int64_t add(struct web_kit *k, struct store *s, int64_t parent, const char *bytes)
{
    int64_t number = 0;
    CHECK_OK(&k->c, store_add(s, HOUSE, parent, 1000, str_from(bytes), str_from(bytes), &number, &k->c.problems));
    return number;
}

static void mark(struct web_kit *k, struct store *s, int64_t number)
{
    CHECK_OK(&k->c, store_mark(s, HOUSE, number, &k->c.problems));
}

static int64_t child(struct web_kit *k, struct store *s, int64_t number)
{
    struct revision r;
    CHECK_OK(&k->c, store_child(s, k->c.run.arena, HOUSE, number, &r, &k->c.problems));
    return r.number;
}

TEST(a_tree_with_a_mark)
{
    struct web_kit k;
    web_kit_begin(&k, NULL);
    struct store *s = k.server.houses.store;
    struct revision r;
    struct str bytes;
    struct arena *a = k.c.run.arena;
    CHECK_OK(&k.c, store_marked(s, a, HOUSE, &r, NULL, &k.c.problems));
    CHECK("none yet", r.number == 0);
    struct str none;
    CHECK_OK(&k.c, store_newest(s, a, &none, &k.c.problems));
    CHECK("of no house", none.n == 0);
    const int64_t one = add(&k, s, 0, "one");
    mark(&k, s, one);
    const int64_t two = add(&k, s, one, "two");
    mark(&k, s, two);
    mark(&k, s, one); /* undone */
    CHECK("redo leads to two", child(&k, s, one) == two);
    const int64_t three = add(&k, s, one, "three");
    mark(&k, s, three);
    mark(&k, s, one);
    CHECK("redo leads to where the user was last", child(&k, s, one) == three);
    CHECK("numbers rise", one == 1 && two == 2 && three == 3);
    CHECK_OK(&k.c, store_read(s, a, HOUSE, two, &r, &bytes, &k.c.problems));
    CHECK_TEXT("what was undone is not lost", bytes, STR("two"));
    CHECK("it knows where it came from", r.parent == one && r.kept == -1);
    CHECK_OK(&k.c, store_find(s, a, HOUSE, STR("two"), &r, &k.c.problems));
    CHECK("found by its bytes", r.number == two);
    CHECK_OK(&k.c, store_find(s, a, HOUSE, STR("four"), &r, &k.c.problems));
    CHECK("not found", r.number == 0);
    CHECK_OK(&k.c, store_judge(s, HOUSE, two, 3, 2, 1, &k.c.problems));
    struct str newest;
    CHECK_OK(&k.c, store_newest(s, a, &newest, &k.c.problems));
    CHECK_TEXT("the only house that was changed", newest, HOUSE);
    revision_list list;
    CHECK_OK(&k.c, store_list(s, a, HOUSE, 2, &list, &k.c.problems));
    CHECK("the newest two", list.n == 2 && list.v[0].number == three && list.v[1].number == two);
    CHECK("judged", list.v[1].kept == 3 && list.v[1].broken == 2 && list.v[1].unknown == 1);
    CHECK("another house has none", (store_marked(s, a, STR("g"), &r, NULL, &k.c.problems) == RT_OK && r.number == 0));
    struct rt_problems wrong;
    rt_problems_init(&wrong, a);
    CHECK("no such revision", store_read(s, a, HOUSE, 9, &r, &bytes, &wrong) == RT_UNKNOWN_REF);
    web_kit_end(&k);
}

TEST(it_is_there_when_opened_again)
{
    struct web_kit k;
    web_kit_begin(&k, NULL);
    struct store *s = k.server.houses.store;
    struct revision r;
    struct str bytes = { 0 };
    mark(&k, s, add(&k, s, 0, "one"));
    store_close(s);
    CHECK_OK(&k.c, store_open(k.c.run.arena, k.server.houses.folder.path, &k.server.houses.store, &k.c.problems));
    CHECK_OK(&k.c, store_marked(k.server.houses.store, k.c.run.arena, HOUSE, &r, &bytes, &k.c.problems));
    CHECK_TEXT("as it was", bytes, STR("one"));
    web_kit_end(&k);
}

/* The password beyond this machine, and what guessing costs.  The hash is judged by crypt(3) of the system itself. */
#include <string.h>

#include "check.h"
#include "web/password.h"

static struct password *with(struct check_run *c, const char *text)
{
    struct password *w = ARENA_NEW(c->run.arena, struct password);
    password_init(w);
    CHECK_OK(c, password_set(w, str_from(text), &c->problems));
    return w;
}

static enum password_answer try_at(struct password *w, const char *text, const char *from, int64_t now_s)
{
    int64_t wait_s = 0;
    return password_try(w, str_from(text), str_from(from), now_s, &wait_s);
}

TEST(the_right_one_alone)
{
    struct check_run c = check_run_begin();
    struct password *w = with(&c, "four words of mine");
    static const char *const WRONG[] = { "", "four words of min", "four words of mine ", "Four words of mine" };
    CHECK("right", try_at(w, "four words of mine", "a", 0) == PASSWORD_RIGHT);
    for (size_t i = 0; i < RT_COUNT(WRONG); i++)
        CHECK(WRONG[i], try_at(w, WRONG[i], "a", 1000 * (int64_t)i) == PASSWORD_WRONG);
    CHECK("a NUL in it",
          password_try(w, (struct str){ "four words of mine\0x", 20 }, STR("b"), 0, &(int64_t){ 0 }) == PASSWORD_WRONG);
    /* the system's own judge, with a state of its own */
    struct crypt_data data = { 0 };
    const char *again = crypt_r("four words of mine", w->kept, &data);
    CHECK("yescrypt, crypt(5)", strncmp(w->kept, "$y$", 3) == 0);
    CHECK_TEXT("the system's hash", str_from(again ? again : ""), str_from(w->kept));
    CHECK("not the text", !strstr(w->kept, "words"));
    password_end(w);
    check_run_end(&c);
}

TEST(two_of_the_same_are_kept_differently)
{
    struct check_run c = check_run_begin();
    struct password *a = with(&c, "four words of mine"), *b = with(&c, "four words of mine");
    CHECK("salted", strcmp(a->kept, b->kept) != 0);
    password_end(a);
    password_end(b);
    check_run_end(&c);
}

TEST(what_is_no_password_is_refused)
{
    struct check_run c = check_run_begin();
    struct password *w = ARENA_NEW(c.run.arena, struct password);
    char longest[PASSWORD_MOST + 2];
    memset(longest, 'x', sizeof longest);
    password_init(w);
    CHECK("eleven", password_set(w, STR("elevenchars"), &c.problems) == RT_USAGE);
    CHECK("none", password_set(w, STR(""), &c.problems) == RT_USAGE);
    CHECK("two lines", password_set(w, STR("one line\nand another"), &c.problems) == RT_USAGE);
    CHECK("too long", password_set(w, (struct str){ longest, PASSWORD_MOST + 1 }, &c.problems) == RT_USAGE);
    CHECK("none is set", try_at(w, "elevenchars", "a", 0) == PASSWORD_WRONG);
    CHECK("nor the empty one", try_at(w, "", "b", 0) == PASSWORD_WRONG);
    CHECK_OK(&c, password_set(w, (struct str){ longest, PASSWORD_MOST }, &c.problems));
    password_end(w);
    check_run_end(&c);
}

TEST(an_address_that_guesses_waits_longer_each_time)
{
    struct check_run c = check_run_begin();
    struct password *w = with(&c, "four words of mine");
    int64_t now_s = 0, wait_s = 0, last_s = 0;
    for (int i = 1; i <= 12; i++) {
        CHECK("looked at", password_try(w, STR("wrong"), STR("a"), now_s, &wait_s) == PASSWORD_WRONG);
        CHECK_NEAR("waits", (double)wait_s, i < 3 ? 0.0 : i < 12 ? (double)(1 << (i - 3)) : 300.0, 0.0, "s");
        CHECK("never less", wait_s >= last_s);
        last_s = wait_s;
        if (wait_s) {
            CHECK("too early, even with the right one",
                  try_at(w, "four words of mine", "a", now_s + wait_s - 1) == PASSWORD_WAIT);
            CHECK("another address does not wait", try_at(w, "four words of mine", "b", now_s) == PASSWORD_RIGHT);
        }
        now_s += wait_s + 60;
    }
    CHECK("the right one in its time", try_at(w, "four words of mine", "a", now_s + 300) == PASSWORD_RIGHT);
    CHECK("is forgiven", try_at(w, "wrong", "a", now_s + 301) == PASSWORD_WRONG &&
                             try_at(w, "four words of mine", "a", now_s + 301) == PASSWORD_RIGHT);
    password_end(w);
    check_run_end(&c);
}

/* A thousand addresses, one after the other: all together they get so many and no more. */
TEST(many_addresses_are_slowed_together)
{
    struct check_run c = check_run_begin();
    struct password *w = with(&c, "four words of mine");
    uint32_t looked_at = 0;
    for (int i = 0; i < 200; i++)
        looked_at += try_at(w, "wrong", arena_printf(c.run.arena, "10.0.0.%d", i), 0) == PASSWORD_WRONG;
    CHECK_NEAR("at once", looked_at, PASSWORD_ALL_AT_ONCE, 0.0, "attempts");
    looked_at = 0;
    for (int i = 0; i < 200; i++)
        looked_at += try_at(w, "wrong", arena_printf(c.run.arena, "10.0.1.%d", i), 30) == PASSWORD_WRONG;
    CHECK_NEAR("in 30 seconds", looked_at, 30.0 / PASSWORD_ALL_EACH_S, 0.0, "attempts");
    CHECK("then it is open again", try_at(w, "four words of mine", "owner", 33) == PASSWORD_RIGHT);
    password_end(w);
    check_run_end(&c);
}

TEST(a_made_one_is_long_and_never_the_same)
{
    struct check_run c = check_run_begin();
    char one[PASSWORD_MADE], two[PASSWORD_MADE];
    CHECK_OK(&c, password_make(one, &c.problems));
    CHECK_OK(&c, password_make(two, &c.problems));
    CHECK("its length", strlen(one) == PASSWORD_MADE - 1);
    CHECK("its letters", strspn(one, "abcdefghjkmnpqrstuvwxyz23456789-") == strlen(one));
    CHECK("another each time", strcmp(one, two) != 0);
    check_run_end(&c);
}

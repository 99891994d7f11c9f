/* The ruleset text is judged by nft and the kernel: in a network namespace that ends with the test. */
#include "reach/export_nft.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "check.h"
#include "namespace.h"
#include "reach/export_nft_int.h"
#include "ruleset_kit.h"

enum { HOUR = 3600, DAY = 24 * HOUR };

/* ---- hours ---- */

/* By hand from the meaning of the spans: seconds of the week from Monday 00:00 UTC, both ends included. */
static const struct {
    const char *what;
    int64_t from_s, to_s;
    struct span week[3];
    uint32_t n_week;
    const char *want[4];
} TIMES[] = {
    { "throughout", 1000, 2000, { { 0, 0 } }, 0, { "meta time >= 1000 meta time < 2000" } },
    { "since ever", 0, INT64_MAX, { { 2 * DAY, 3 * DAY - 1 } }, 1, { "meta day \"Wednesday\"" } },
    { "within a day",
      1000,
      INT64_MAX,
      { { 19 * HOUR, 21 * HOUR - 1 } },
      1,
      { "meta time >= 1000 meta day \"Monday\" meta hour 68400-75599" } },
    { "over midnight",
      0,
      2000,
      { { DAY - HOUR, DAY + 2 * HOUR - 1 } },
      1,
      { "meta time < 2000 meta day \"Tuesday\" meta hour 0-7199",
        "meta time < 2000 meta day \"Monday\" meta hour 82800-86399" } },
    { "over the week's end, which the spans cut",
      0,
      INT64_MAX,
      { { 0, HOUR - 1 }, { 7 * DAY - HOUR, 7 * DAY - 1 } },
      2,
      { "meta day \"Monday\" meta hour 0-3599", "meta day \"Sunday\" meta hour 82800-86399" } },
    { "the same on two days",
      0,
      INT64_MAX,
      { { HOUR, 2 * HOUR - 1 }, { DAY + HOUR, DAY + 2 * HOUR - 1 } },
      2,
      { "meta day { \"Monday\", \"Tuesday\" } meta hour 3600-7199" } },
    { "many days",
      0,
      INT64_MAX,
      { { 0, 4 * DAY - 1 }, { 5 * DAY, 7 * DAY - 1 } },
      2,
      { "meta day { \"Monday\"-\"Thursday\", \"Saturday\", \"Sunday\" }" } },
    { "every day whole", 0, INT64_MAX, { { 0, 7 * DAY - 1 } }, 1, { "" } },
};

TEST(hours_become_conditions_in_utc)
{
    struct check_run c = check_run_begin();
    for (size_t i = 0; i < RT_COUNT(TIMES); i++) {
        struct span week[3];
        for (uint32_t k = 0; k < TIMES[i].n_week; k++)
            week[k] = TIMES[i].week[k];
        struct kernel_span span = { TIMES[i].from_s, TIMES[i].to_s, { week, TIMES[i].n_week } };
        const kernel_span_list spans = { &span, 1 };
        bool failed = false;
        const nft_time_list got = nft_time_conditions(c.run.arena, &spans, &failed);
        uint32_t n = 0;
        for (; n < 4 && TIMES[i].want[n]; n++)
            CHECK_TEXT(TIMES[i].what, n < got.n ? got.v[n].condition : STR("nothing"), str_from(TIMES[i].want[n]));
        CHECK_NEAR(TIMES[i].what, got.n, n, 0, "conditions");
        CHECK("memory", !failed);
    }
    check_run_end(&c);
}

/* ---- words ---- */

TEST(words_are_none_of_nft_s_own)
{
    static const char *const WORDS[] = { "log",  "family", "mark",  "drop",    "set", "meta",          "ct",   "hook",
                                         "type", "policy", "limit", "counter", "fwd", "dup",           "last", "th",
                                         "ip6",  "Küche",  "9th",   "a.b-c",   "",    "backup.example" };
    struct check_run c = check_run_begin();
    if (!namespace_allowed()) {
        check_run_end(&c);
        skip();
    }
    struct buf text = { .arena = c.run.arena };
    buf_text(&text, "table inet t {\n");
    for (size_t i = 0; i < RT_COUNT(WORDS); i++)
        buf_printf(&text, "chain %.*s {\ncomment \"%.*s\"\n}\n", STR_ARG(nft_word(c.run.arena, str_from(WORDS[i]))),
                   STR_ARG(nft_quotable(c.run.arena, str_from(WORDS[i]), 40)));
    buf_text(&text, "}\n");
    const char *path = namespace_file(&c, buf_done(&text));
    struct str output;
    const int status = namespace_run(&c, arena_printf(c.run.arena, "nft -f %s", path), &output);
    unlink(path);
    CHECK_TEXT("nft says", output, STR(""));
    CHECK_NEAR("status", status, 0, 0, "");
    check_run_end(&c);
}

static const struct {
    const char *comment;
    uint32_t want;
} NUMBERS[] = {
    { "rule 12, kids_dark, line 212", 12 },
    { "rule 1", 1 },
    { "rule ", 0 },
    { "12", 0 },
    { "ruler 3", 0 },
    { "", 0 },
    { "rule 99999999999999", 0 },
    { "rule 4294967294x", 0 },
};

TEST(the_comment_names_the_rule)
{
    for (size_t i = 0; i < RT_COUNT(NUMBERS); i++)
        CHECK_NEAR(NUMBERS[i].comment, nft_rule_number(str_from(NUMBERS[i].comment)), NUMBERS[i].want, 0, "");
}

TEST(names_that_read_alike_get_sets_of_their_own)
{
    struct check_run c = check_run_begin();
    struct str names[] = { STR("a.b.example"), STR("a-b.example"), STR("c.example") };
    const struct table t = { .named = { names, 3 } };
    CHECK_TEXT("first", nft_set_name(c.run.arena, &t, 0, FAMILY_IPV4), STR("name_a_b_example_ipv4"));
    CHECK_TEXT("second", nft_set_name(c.run.arena, &t, 1, FAMILY_IPV6), STR("name_a_b_example_2_ipv6"));
    CHECK_TEXT("third", nft_set_name(c.run.arena, &t, 2, FAMILY_IPV6), STR("name_c_example_ipv6"));
    check_run_end(&c);
}

/* ---- the text ---- */

static kernel_span_list evenings(void)
{
    static struct span week[] = { { 20 * HOUR, 29 * HOUR - 1 }, { 44 * HOUR, 53 * HOUR - 1 } };
    static struct kernel_span spans[] = { { 1774746000, 1792890000, { week, 2 } },
                                          { 1792890000, 1806195600, { week, 1 } } };
    return (kernel_span_list){ spans, 2 };
}

static struct str text_of(struct check_run *c, const struct ruleset_kit *k)
{
    const kernel_span_list hours = evenings();
    const struct nft_options options = { .interfaces = k->interfaces,
                                         .n_interfaces = KIT_ZONES,
                                         .hours = &hours,
                                         .n_hours = 1,
                                         .translation = true,
                                         .log = true };
    struct buf out = { .arena = c->run.arena };
    CHECK_OK(c, nft_export(&c->run, &k->policy, &options, &out, &c->problems));
    CHECK("memory", !k->failed);
    return buf_done(&out);
}

/* Loads the text twice (the second time over the first) with the time zone of its reader, and lists it in UTC. */
static struct str listing(struct check_run *c, struct str text, const char *time_zone)
{
    const char *path = namespace_file(c, text);
    struct str output;
    const int status =
        namespace_run(c,
                      arena_printf(c->run.arena, "export TZ=%s; nft -f %s && nft -f %s && TZ=UTC nft list ruleset",
                                   time_zone, path, path),
                      &output);
    unlink(path);
    if (status)
        print_message("%.*s\n%.*s\n", STR_ARG(text), STR_ARG(output));
    CHECK_NEAR("status of nft", status, 0, 0, "");
    return output;
}

PROP(the_kernel_takes_every_table, 12)
{
    struct check_run c = check_run_begin();
    if (!namespace_allowed()) {
        check_run_end(&c);
        skip();
    }
    struct ruleset_kit k;
    ruleset_kit_begin(&k, c.run.arena, 4);
    ruleset_kit_random(&k, r);
    const struct str text = text_of(&c, &k);
    const struct str here = listing(&c, text, "UTC"), there = listing(&c, text, "Asia/Kolkata");
    CHECK_TEXT("the same wherever it is loaded", there, here);
    CHECK("something was loaded", here.n > 200);
    check_run_end(&c);
}

static const struct {
    const char *what;
    uint32_t axis;
    enum rt_code code;
    const char *want;
} WRONG[] = {
    { "ports of any protocol", AXIS_DESTINATION_PORT, RT_RANGE,
      "rule 1 speaks of ports, but not of TCP or UDP alone\n" },
    { "types of any protocol", AXIS_ICMP_TYPE, RT_RANGE, "rule 1 speaks of ICMP types, but not of ICMP alone\n" },
    { "minutes", AXIS_MINUTE, RT_RANGE,
      "rule 1 speaks of minutes of the week; a ruleset is written from hours of the house\n" },
};

TEST(what_cannot_be_written_is_an_error)
{
    for (size_t i = 0; i < RT_COUNT(WRONG); i++) {
        struct check_run c = check_run_begin();
        struct ruleset_kit k;
        ruleset_kit_begin(&k, c.run.arena, 1);
        TERM(&k, ruleset_kit_rule(&k, 0, ACTION_ACCEPT), WRONG[i].axis, 5, 7);
        const struct nft_options options = { .interfaces = k.interfaces, .n_interfaces = KIT_ZONES };
        struct buf out = { .arena = c.run.arena }, said = { .arena = c.run.arena };
        CHECK_NEAR(WRONG[i].what, nft_export(&c.run, &k.policy, &options, &out, &c.problems), WRONG[i].code, 0, "code");
        rt_problems_format(&c.problems, &said);
        CHECK_TEXT(WRONG[i].what, buf_done(&said), str_from(WRONG[i].want));
        check_run_end(&c);
    }
}

TEST(a_circle_of_chains_is_an_error)
{
    struct check_run c = check_run_begin();
    struct ruleset_kit k;
    ruleset_kit_begin(&k, c.run.arena, 3);
    ruleset_kit_rule(&k, 0, ACTION_JUMP)->chain = 1;
    ruleset_kit_rule(&k, 1, ACTION_GOTO)->chain = 2;
    ruleset_kit_rule(&k, 2, ACTION_JUMP)->chain = 1;
    const struct nft_options options = { .interfaces = k.interfaces, .n_interfaces = KIT_ZONES };
    struct buf out = { .arena = c.run.arena };
    CHECK("refused", nft_export(&c.run, &k.policy, &options, &out, &c.problems) == RT_LIMIT);
    check_run_end(&c);
}

TEST(an_interface_with_too_long_a_name_is_an_error)
{
    struct check_run c = check_run_begin();
    struct ruleset_kit k;
    ruleset_kit_begin(&k, c.run.arena, 1);
    k.interfaces[KIT_KIDS] = STR("bridge.of.kids.1");
    const struct nft_options options = { .interfaces = k.interfaces, .n_interfaces = KIT_ZONES };
    struct buf out = { .arena = c.run.arena }, said = { .arena = c.run.arena };
    CHECK("refused", nft_export(&c.run, &k.policy, &options, &out, &c.problems) == RT_RANGE);
    rt_problems_format(&c.problems, &said);
    CHECK_TEXT("in words", buf_done(&said),
               STR("interface 'bridge.of.kids.1' has a longer name than the 15 letters that Linux allows\n"));
    check_run_end(&c);
}

TEST(the_longest_names_differ_too)
{
    struct check_run c = check_run_begin();
    char text[2][254];
    struct str names[2];
    for (int i = 0; i < 2; i++) {
        memset(text[i], 'a', 253);
        text[i][252] = (char)('x' + i);
        names[i] = (struct str){ text[i], 253 };
    }
    const struct table t = { .named = { names, 2 } };
    const struct str one = nft_set_name(c.run.arena, &t, 0, FAMILY_IPV4);
    const struct str other = nft_set_name(c.run.arena, &t, 1, FAMILY_IPV4);
    CHECK("short enough for the kernel", one.n < 255 && other.n < 255);
    CHECK("and not the same", !str_eq(one, other));
    check_run_end(&c);
}

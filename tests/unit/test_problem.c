#include "base/problem.h"

#include "check.h"

TEST(a_problem_shows_its_line_and_a_caret)
{
    struct check_run c = check_run_begin();
    const struct str bytes = STR("one: 1\nzw\xc3\xb6lf: 3.5m # long\nlast: x");
    rt_problems_source(&c.problems, "a.house.yaml", bytes);
    const struct rt_place at = { .file = "a.house.yaml", .line = 2, .col = 8, .byte = 15, .n = 4 };
    CHECK("code", rt_fail(&c.problems, RT_RANGE, at, "leave the unit out", "`%s` is not a number", "3.5m") == RT_RANGE);
    rt_warn(&c.problems, RT_SHAPE, RT_NOWHERE, NULL, "nothing is promised");
    struct buf out = { .arena = c.run.arena };
    rt_problems_format(&c.problems, &out);
    CHECK_TEXT("text", buf_done(&out),
               STR("a.house.yaml:2:8: `3.5m` is not a number\n"
                   "    zw\xc3\xb6lf: 3.5m # long\n"
                   "           ^^^^\n"
                   "    leave the unit out\n"
                   "take care: nothing is promised\n"));
    check_run_end(&c);
}

TEST(a_warning_is_given_once)
{
    struct check_run c = check_run_begin();
    const struct rt_place here = { .file = "a", .line = 1, .col = 1, .byte = 0 },
                          there = { .file = "a", .line = 2, .col = 1, .byte = 9 };
    for (int i = 0; i < 3; i++)
        rt_warn(&c.problems, RT_SHAPE, here, NULL, "copper joins %s", "two buildings");
    CHECK_NEAR("given", c.problems.list.n, 1, 0, "problems");
    rt_warn(&c.problems, RT_SHAPE, there, NULL, "copper joins two buildings");
    rt_warn(&c.problems, RT_SHAPE, RT_NOWHERE, NULL, "copper joins two buildings");
    rt_warn(&c.problems, RT_SHAPE, here, NULL, "copper joins three buildings");
    CHECK_NEAR("of another place, and another one of this", c.problems.n_warnings, 4, 0, "warnings");
    for (int i = 0; i < 2; i++)
        rt_fail(&c.problems, RT_SHAPE, here, NULL, "copper joins two buildings");
    CHECK_NEAR("errors are all counted", c.problems.n_errors, 2, 0, "errors");
    check_run_end(&c);
}

TEST(problems_beyond_the_cap_are_counted)
{
    struct check_run c = check_run_begin();
    for (int i = 0; i < RT_PROBLEMS_MAX + 50; i++)
        rt_fail(&c.problems, RT_RANGE, RT_NOWHERE, NULL, "number %d", i);
    CHECK_NEAR("kept", c.problems.list.n, RT_PROBLEMS_MAX, 0, "problems");
    struct buf out = { .arena = c.run.arena };
    rt_problems_format(&c.problems, &out);
    const struct str tail = { out.p + out.n - 41, 41 };
    CHECK_TEXT("tail", tail, STR("199\nand 50 more of the kind\n250 mistakes\n"));
    check_run_end(&c);
}

TEST(places_outside_the_file_do_not_harm)
{
    struct check_run c = check_run_begin();
    rt_problems_source(&c.problems, "a", STR("ab"));
    const size_t bytes[] = { 0, 2, 3, SIZE_MAX };
    for (size_t i = 0; i < RT_COUNT(bytes); i++)
        rt_fail(&c.problems, RT_RANGE, (struct rt_place){ "a", 1, 1, bytes[i], 100 }, NULL, "x");
    struct buf out = { .arena = c.run.arena };
    rt_problems_format(&c.problems, &out);
    CHECK("written", out.n > 0 && !out.failed);
    check_run_end(&c);
}

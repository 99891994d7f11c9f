#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { TESTS_MAX = 400 };

static struct CMUnitTest tests[TESTS_MAX];
static size_t n_tests;

void check_register(const char *name, test_fn *fn)
{
    if (n_tests < TESTS_MAX)
        tests[n_tests++] = (struct CMUnitTest){ .name = name, .test_func = fn };
}

void check_run_prop(const char *name, unsigned n, prop_fn *fn)
{
    const char *given = getenv("RT_TEST_SEED");
    const uint64_t seed = given ? strtoull(given, NULL, 0) : 20261125;
    print_message("    seed %llu, %u cases\n", (unsigned long long)seed, n);
    for (unsigned i = 0; i < n; i++) {
        struct random r = { .seed = seed, .stream = random_u64(seed, strlen(name), i) };
        fn(&r);
    }
}

void check_near(const char *what, double got, double want, double tol, const char *unit, const char *file, int line)
{
    if (fabs(got - want) <= tol || got == want)
        return;
    print_error("%s:%d: %s: got %.9g %s, want %.9g within %.3g\n", file, line, what, got, unit, want, tol);
    fail();
}

void check_true(bool ok, const char *what, const char *expr, const char *file, int line)
{
    if (ok)
        return;
    print_error("%s:%d: %s: not true: %s\n", file, line, what, expr);
    fail();
}

void check_text(const char *what, struct str got, struct str want, const char *file, int line)
{
    if (str_eq(got, want))
        return;
    print_error("%s:%d: %s:\n--- got\n%.*s\n--- want\n%.*s\n---\n", file, line, what, STR_ARG(got), STR_ARG(want));
    fail();
}

struct check_run check_run_begin(void)
{
    struct check_run c = { .run = {
                               .arena = arena_new((size_t)1 << 31), .seed = 1, .n_threads = 1, .now_s = CHECK_NOW_S } };
    if (!c.run.arena)
        fail_msg("no memory for the test");
    rt_problems_init(&c.problems, c.run.arena);
    return c;
}

void check_run_end(struct check_run *c) { arena_free(c->run.arena); }

void check_ok(struct check_run *c, enum rt_code code, const char *file, int line)
{
    if (code == RT_OK)
        return;
    struct buf out = { .arena = c->run.arena };
    rt_problems_format(&c->problems, &out);
    print_error("%s:%d: failed with %s:\n%.*s", file, line, rt_code_name(code), STR_ARG(buf_done(&out)));
    fail();
}

const char *check_path(struct check_run *c, const char *below_root)
{
    const char *root = getenv("RT_TEST_ROOT");
    return arena_printf(c->run.arena, "%s/%s", root ? root : ".", below_root);
}

const char *check_reference(struct check_run *c, const char *below_reference)
{
    const char *given = getenv("ROOFTREE_REFERENCE");
    const char *path = given ? arena_printf(c->run.arena, "%s/%s", given, below_reference)
                             : check_path(c, arena_printf(c->run.arena, "../shared/reference/%s", below_reference));
    if (access(path, R_OK) == 0)
        return path;
    print_message("    skipped: %s is not on this machine (set ROOFTREE_REFERENCE)\n", below_reference);
    return NULL;
}

/* Runs all tests, or those whose names contain one of the arguments. */
int main(int argc, char **argv)
{
    static struct CMUnitTest chosen[TESTS_MAX];
    size_t n = 0;
    for (size_t i = 0; i < n_tests; i++) {
        bool wanted = argc < 2;
        for (int a = 1; a < argc; a++)
            wanted = wanted || strstr(tests[i].name, argv[a]);
        if (wanted)
            chosen[n++] = tests[i];
    }
    return _cmocka_run_group_tests(argv[0], chosen, n, NULL, NULL);
}

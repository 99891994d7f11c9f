/* check.h - the tests' thin layer over cmocka: tests register themselves, checks print both values with their unit.
 *
 *   TEST(free_space_at_10_m) { CHECK_NEAR("10 m", fspl_db(10, 2.4e9), 60.05, 0.01, "dB"); }
 *   PROP(loss_grows_with_distance, 2000) { double d_m = random_between(r, 0.1, 1e3); ... }
 *
 * A program runs all its tests, or those whose names contain one of its arguments.  RT_TEST_SEED sets the seed of the
 * property tests; it is printed. */
#ifndef RT_CHECK_H
#define RT_CHECK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/problem.h"
#include "base/random.h"
#include "base/run.h"

typedef void test_fn(void **state);
typedef void prop_fn(struct random *r);

void check_register(const char *name, test_fn *fn);
void check_run_prop(const char *name, unsigned n, prop_fn *fn);

#define TEST(name)                                                                                         \
    static void test_##name(void **state);                                                                 \
    __attribute__((constructor)) static void register_##name(void) { check_register(#name, test_##name); } \
    static void test_##name(void **state RT_UNUSED)

#define PROP(name, times)                                       \
    static void prop_##name(struct random *r);                  \
    TEST(name) { check_run_prop(#name, (times), prop_##name); } \
    static void prop_##name(struct random *r)

void check_near(const char *what, double got, double want, double tol, const char *unit, const char *file, int line);
void check_true(bool ok, const char *what, const char *expr, const char *file, int line);
void check_text(const char *what, struct str got, struct str want, const char *file, int line);

#define CHECK_NEAR(what, got, want, tol, unit) check_near((what), (got), (want), (tol), (unit), __FILE__, __LINE__)
#define CHECK(what, expr) check_true((expr), (what), #expr, __FILE__, __LINE__)
#define CHECK_TEXT(what, got, want) check_text((what), (got), (want), __FILE__, __LINE__)

/* Wednesday 25 November 2026, 12:00 UTC: what counts as now in tests. */
#define CHECK_NOW_S INT64_C(1795608000)

/* A run for a test, one thread, with an arena of its own and an empty problem list; end it with check_run_end(). */
struct check_run {
    struct run run;
    struct rt_problems problems;
};

struct check_run check_run_begin(void);
void check_run_end(struct check_run *c);
/* Fails with the printed problems unless code is RT_OK. */
void check_ok(struct check_run *c, enum rt_code code, const char *file, int line);
#define CHECK_OK(c, code) check_ok((c), (code), __FILE__, __LINE__)

/* A path below the project's root, and below the folder of published references (NULL where that is not there, after
 * printing that the test is skipped and why: then call skip()). */
const char *check_path(struct check_run *c, const char *below_root);
const char *check_reference(struct check_run *c, const char *below_reference);

#endif

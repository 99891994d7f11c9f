/* fuzz.h - what the fuzz targets share.  Each target reads foreign bytes and writes all that came of it as text.
 *
 * Built with -DRT_FUZZ by clang (tools/fuzz.sh) a target is a libFuzzer program; in the test build all targets are linked
 * into one program that replays the corpus. */
#ifndef RT_FUZZ_H
#define RT_FUZZ_H

#include <stdint.h>

#include "base/run.h"
#include "base/str.h"

/* Reads bytes (in a heap block of just that size, so that a look beyond is caught) and puts the outcome. */
typedef void fuzz_fn(const struct run *run, struct str bytes, struct buf *out);

/* Runs the target twice, in memory of different history, and aborts when the outcomes differ. */
int fuzz_twice(const uint8_t *p, size_t n, fuzz_fn *fn);
/* Aborts with the words when a promise of the reader's is broken. */
void fuzz_check(bool ok, const char *what);

/* Puts a number of the outcome; aborts when it is not finite (NaN: not given, where that may be). */
void fuzz_number(struct buf *out, const char *name, double x, bool may_be_left_out);

int fuzz_house(const uint8_t *p, size_t n);
int fuzz_parts(const uint8_t *p, size_t n);
int fuzz_regdb(const uint8_t *p, size_t n);
int fuzz_edit(const uint8_t *p, size_t n);
int fuzz_ruleset(const uint8_t *p, size_t n);
int fuzz_zone(const uint8_t *p, size_t n);
int fuzz_table(const uint8_t *p, size_t n);
int fuzz_policy(const uint8_t *p, size_t n);

/* The name that libFuzzer calls; twice in one program it would clash. */
#ifdef RT_FUZZ
#define FUZZ_TARGET(target)                                 \
    int LLVMFuzzerTestOneInput(const uint8_t *p, size_t n); \
    int LLVMFuzzerTestOneInput(const uint8_t *p, size_t n) { return target(p, n); }
#else
#define FUZZ_TARGET(target) struct fuzz_no_target
#endif

#endif

/* compiler.h - the few compiler extensions the project uses, each behind a name. */
#ifndef RT_COMPILER_H
#define RT_COMPILER_H

#define RT_MUST_CHECK __attribute__((warn_unused_result))
#define RT_PRINTF(fmt_arg, first_arg) __attribute__((format(printf, fmt_arg, first_arg)))
#define RT_COUNT(array) (sizeof(array) / sizeof((array)[0]))
#define RT_UNUSED __attribute__((unused))
#define RT_NORETURN __attribute__((noreturn))
/* Compiled twice, the second time for processors with wider vectors; chosen when the program starts.  The results are the same
 * bits, since no operation is contracted or put in another order.  Not by clang, whose two copies other files do not find. */
#if defined(__x86_64__) && !defined(__clang__)
#define RT_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define RT_WIDE
#endif
/* For the helpers of such a function: they become part of both. */
#define RT_INLINE __attribute__((always_inline)) inline

/* C11's CMPLX: the C library defines it for gcc only (glibc 2.36). */
#ifdef __clang__
#include <complex.h>
#ifndef CMPLX
#define CMPLX(re, im) __builtin_complex((double)(re), (double)(im))
#define CMPLXF(re, im) __builtin_complex((float)(re), (float)(im))
#endif
#endif

#endif

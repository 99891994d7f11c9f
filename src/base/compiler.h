/* compiler.h - the few compiler extensions the project uses, each behind a name. */
#ifndef RT_COMPILER_H
#define RT_COMPILER_H

#define RT_MUST_CHECK __attribute__((warn_unused_result))
#define RT_PRINTF(fmt_arg, first_arg) __attribute__((format(printf, fmt_arg, first_arg)))
#define RT_COUNT(array) (sizeof(array) / sizeof((array)[0]))
#define RT_UNUSED __attribute__((unused))
#define RT_NORETURN __attribute__((noreturn))

/* C11's CMPLX: the C library defines it for gcc only (glibc 2.36). */
#ifdef __clang__
#include <complex.h>
#ifndef CMPLX
#define CMPLX(re, im) __builtin_complex((double)(re), (double)(im))
#define CMPLXF(re, im) __builtin_complex((float)(re), (float)(im))
#endif
#endif

#endif

/* compiler.h - the few compiler extensions the project uses, each behind a name. */
#ifndef RT_COMPILER_H
#define RT_COMPILER_H

#define RT_MUST_CHECK __attribute__((warn_unused_result))
#define RT_PRINTF(fmt_arg, first_arg) __attribute__((format(printf, fmt_arg, first_arg)))
#define RT_COUNT(array) (sizeof(array) / sizeof((array)[0]))
#define RT_UNUSED __attribute__((unused))
#define RT_NORETURN __attribute__((noreturn))

#endif

/* namespace.h - commands that a test runs in a network namespace of their own, which ends with them. */
#ifndef RT_TEST_NAMESPACE_H
#define RT_TEST_NAMESPACE_H

#include "check.h"

/* May this process make network namespaces and load rules there?  If not, says why, so that the test can skip(). */
bool namespace_allowed(void);
/* Runs the shell's words in a new one; returns their exit status, and what they wrote to both outputs, in the arena. */
int namespace_run(struct check_run *c, const char *words, struct str *output);
/* Writes a text to a new file below the system's folder for such and returns its path. */
const char *namespace_file(struct check_run *c, struct str text);

#endif

/* problem_path.h - where in the house a problem lies, as edits name places. */
#ifndef RT_WEB_PROBLEM_PATH_H
#define RT_WEB_PROBLEM_PATH_H

#include "base/problem.h"

/* The file that was looked into last, so that it is read once for all its problems.  Begin with { 0 }. */
struct problem_tree {
    const char *file;
    const struct yaml_node *root; /* NULL: it cannot be read as YAML */
};

/* The JSON pointer (RFC 6901) of the value that problem lies in; NULL if it lies in no file that `all` has the bytes of, or not in a
 * value of it.  The text lives in all->arena. */
const char *problem_path(const struct rt_problems *all, const struct rt_problem *one, struct problem_tree *t);

#endif

/* told.h - what went wrong, taken along from an arena that goes. */
#ifndef RT_WEB_TOLD_H
#define RT_WEB_TOLD_H

#include "base/problem.h"

/* Adds all of another list to `to`, texts and all. */
void problems_copy(struct rt_problems *to, const struct rt_problems *from);

#endif

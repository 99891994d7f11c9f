/* designs.h - how long a design takes, and how that grows. */
#ifndef RT_BENCH_DESIGNS_H
#define RT_BENCH_DESIGNS_H

#include "base/run.h"
#include "rows.h"

/* Adds two tables: the three demo houses designed from bare walls, by the clock on all processors the run may use; and the main demo
 * with more places, more promises, more parts.  `folder` holds the houses. */
void bench_designs(const struct run *run, const char *folder, struct rows *rows, struct rt_problems *p);

#endif

/* serving.h - what a browser waits for: the first view of a house, and pictures while an access point is dragged. */
#ifndef RT_BENCH_SERVING_H
#define RT_BENCH_SERVING_H

#include "base/run.h"
#include "rows.h"

/* Adds a table, by the clock, on as many threads as the run has; HTTP and the browser are not in it. */
void bench_serving(const struct run *run, const char *house_path, struct rows *rows, struct rt_problems *p);

#endif

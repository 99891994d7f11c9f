/* lay.h - how long it takes to lay all cables of a house, and against what. */
#ifndef RT_BENCH_LAY_H
#define RT_BENCH_LAY_H

#include "base/run.h"
#include "rows.h"

/* Adds a table: all cables of the house together, each alone, and all pairs of the same network. */
void bench_cables(const struct run *run, const char *house_path, struct rows *rows, struct rt_problems *p);

#endif

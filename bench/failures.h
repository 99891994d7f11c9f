/* failures.h - how long all single failures of a house take, and against what. */
#ifndef RT_BENCH_FAILURES_H
#define RT_BENCH_FAILURES_H

#include "base/run.h"
#include "rows.h"

/* Adds a table: every failure with what is reused, and a sample of them each from nothing. */
void bench_failures(const struct run *run, const char *house_path, struct rows *rows, struct rt_problems *p);

#endif

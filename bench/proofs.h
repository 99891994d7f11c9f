/* proofs.h - how long it takes to judge large tables of rules, and against what. */
#ifndef RT_BENCH_PROOFS_H
#define RT_BENCH_PROOFS_H

#include "base/run.h"
#include "rows.h"

/* Adds tables: 1,000 and 10,000 rules, both families; the same questions put to Z3; growth with rules, devices and hours. */
void bench_proofs(const struct run *run, struct rows *rows, struct rt_problems *p);

#endif

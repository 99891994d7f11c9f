/* sum.h - compensated sums: the error stays at one rounding however many terms are added (Neumaier 1974). */
#ifndef RT_SUM_H
#define RT_SUM_H

#include <math.h>

struct sum {
    double total, rest;
};

static inline void sum_add(struct sum *s, double x)
{
    const double t = s->total + x;
    s->rest += fabs(s->total) >= fabs(x) ? (s->total - t) + x : (x - t) + s->total;
    s->total = t;
}

static inline double sum_value(const struct sum *s) { return s->total + s->rest; }

#endif

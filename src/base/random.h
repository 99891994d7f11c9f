/* random.h - counter-based random numbers: the value depends on (seed, stream, index) alone, never on a thread or on
 * how many were drawn before.  For tests, searches and generators; secrets use getrandom(2) instead. */
#ifndef RT_RANDOM_H
#define RT_RANDOM_H

#include <stdint.h>

/* 64 well-mixed bits.  Source: the finaliser of SplitMix64 (Steele, Lea, Flood 2014), applied once per key. */
uint64_t random_u64(uint64_t seed, uint64_t stream, uint64_t index);

/* A sequence drawn from one stream. */
struct random {
    uint64_t seed, stream, index;
};

uint64_t random_next(struct random *r);
/* Uniform in [0, 1). */
double random_unit(struct random *r);
/* Uniform in [lo, hi). */
double random_between(struct random *r, double lo, double hi);
/* Uniform in 0..n-1; n > 0. */
uint32_t random_below(struct random *r, uint32_t n);

#endif

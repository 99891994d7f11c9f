#include "base/random.h"

static uint64_t mix(uint64_t z)
{
    z += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

uint64_t random_u64(uint64_t seed, uint64_t stream, uint64_t index) { return mix(mix(mix(seed) ^ stream) ^ index); }

uint64_t random_next(struct random *r) { return random_u64(r->seed, r->stream, r->index++); }

double random_unit(struct random *r) { return (double)(random_next(r) >> 11) * 0x1.0p-53; }

double random_between(struct random *r, double lo, double hi) { return lo + (hi - lo) * random_unit(r); }

uint32_t random_below(struct random *r, uint32_t n) { return (uint32_t)(((random_next(r) >> 32) * n) >> 32); }

/* tuning_int.h - shared by the sources of tuning.h that know numbers alone. */
#ifndef RT_DESIGN_TUNING_INT_H
#define RT_DESIGN_TUNING_INT_H

#include "design/tuning.h"
#include "wire/integer_program.h"

/* A tuning with what its pairs cost in tables. */
struct tune_view {
    struct arena *arena;
    const struct tuning *q;
    uint32_t n;       /* radios, the mesh too */
    double **between; /* [n * n], for a < b: [options of a][options of b]; NULL: they do not hear each other */
};

/* False: the arena's ceiling. */
bool tune_view_make(struct arena *arena, const struct tuning *q, struct tune_view *out);

static inline uint32_t tune_options(const struct tune_view *v, uint32_t radio)
{
    return v->q->radios.v[radio].options.n;
}

static inline double tune_between(const struct tune_view *v, uint32_t a, uint32_t i, uint32_t b, uint32_t j)
{
    const bool in_order = a < b;
    const double *m = in_order ? v->between[a * v->n + b] : v->between[b * v->n + a];
    if (!m)
        return 0.0;
    return in_order ? m[i * tune_options(v, b) + j] : m[j * tune_options(v, a) + i];
}

/* Which options are left to choose from: [radios][options], true: may be chosen. */
bool **tune_all_allowed(const struct tune_view *v);
/* Of groups of options that are alike in everything but their name, as empty channels are, it does not matter which is whose: the
 * k-th of `members` (radios, ascending) may use the first k + 1 of such groups only.  False: the arena's ceiling. */
bool tune_break_symmetry(const struct tune_view *v, const index_list *members, bool **allowed);

/* The integer program for some of the radios: a column for each option, and for each pair of options that costs one that is 1 where
 * both are chosen. */
struct tune_program {
    struct program program;
    double *cost;      /* of each column */
    uint32_t **column; /* [radios][options]; NO_REF: not allowed */
};

/* Pairs that cost more than `most` are ruled out.  False: the arena's ceiling. */
bool tune_program_make(const struct tune_view *v, const index_list *members, bool *const *allowed, double most,
                       struct tune_program *out);

#endif

/* What a need says of offers alone, without a column for each cell.
 *
 * Let m(o) be the size of the smallest set of offers that keeps a need, of which o is a member that it cannot do without.  Each set
 * that keeps the need has such a set in it, of size m say, each member of which has m(o) <= m: the sum of 1/m(o) over what is chosen
 * is 1 at least.  Where rooms want 19 cells in 20, this says of an offer that serves 18 what the cells' rows cannot say: that it takes
 * a second one. */
#include "design/placing_int.h"

enum { LARGEST = 3, MOST_TRIALS = 100000 };

struct rank {
    struct image *im;
    uint32_t need;
    uint64_t *chosen;
    uint32_t *useful; /* offers that serve something of it */
    uint32_t n_useful;
    uint32_t *size; /* [offers.n]: m(o); 0: not found yet */
    uint32_t n_trials;
};

static bool serves(const struct rank *r, uint32_t o)
{
    const struct image_need *is = &r->im->needs[r->need];
    for (uint32_t i = 0; i < is->shares.n; i++) {
        const struct image_cell *cell = &r->im->cells.v[is->shares.v[i].cell];
        for (uint32_t k = 0; k < cell->n; k++)
            if (bits_has(r->im->clauses.v[cell->first + k].offers, o))
                return true;
    }
    return false;
}

/* Sets of `size`, of which some members are chosen, the others of useful[from...]; finds the sizes of those of a set that keeps the
 * need.  In sets with a member that is enough by itself all others can be done without. */
static bool try_sets(struct rank *r, uint32_t from, uint32_t left, uint32_t size)
{
    const struct placing *q = r->im->q;
    bool any = false;
    if (!left) {
        r->n_trials++;
        return !image_lack(r->im, r->need, r->chosen);
    }
    for (uint32_t i = from; i + left <= r->n_useful && r->n_trials < MOST_TRIALS; i++) {
        const uint32_t o = r->useful[i];
        if (r->size[o] == 1 || bits_common(r->im->sites[q->offers.v[o].site], r->chosen, r->im->n_words))
            continue;
        bits_set(r->chosen, o);
        if (try_sets(r, i + 1, left - 1, size)) {
            any = true;
            r->size[o] = r->size[o] ? r->size[o] : size;
        }
        bits_clear(r->chosen, o);
    }
    return any;
}

bool place_rank(struct arena *a, struct image *im, uint32_t need, double *weight)
{
    const uint32_t n = im->q->offers.n;
    const struct arena_mark mark = arena_mark(a);
    struct rank r = { .im = im,
                      .need = need,
                      .chosen = ARENA_ARRAY(a, uint64_t, im->n_words),
                      .useful = ARENA_ARRAY(a, uint32_t, n),
                      .size = ARENA_ARRAY(a, uint32_t, n) };
    if (!r.chosen || !r.useful || !r.size)
        return false;
    for (uint32_t o = 0; o < n; o++)
        if (serves(&r, o))
            r.useful[r.n_useful++] = o;
    uint32_t size = 1;
    for (; size <= LARGEST && r.n_trials < MOST_TRIALS; size++)
        (void)try_sets(&r, 0, size, size);
    /* What has no size yet may have the one that was looked at last, if that was not looked at to the end. */
    const uint32_t least = r.n_trials < MOST_TRIALS ? LARGEST + 1 : size - 1;
    for (uint32_t o = 0; o < n; o++)
        weight[o] = 0;
    for (uint32_t i = 0; i < r.n_useful; i++)
        weight[r.useful[i]] = 1.0 / (r.size[r.useful[i]] ? r.size[r.useful[i]] : least);
    arena_reset(a, mark);
    return true;
}

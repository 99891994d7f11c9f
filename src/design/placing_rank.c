/* What a need says of offers alone, without a column for each cell.
 *
 * Let m(o) be the size of the smallest set of offers that keeps a need, of which o is a member that it cannot do without.  Each set
 * that keeps the need has such a set in it, of size m say, each member of which has m(o) <= m: the sum of 1/m(o) over what is chosen
 * is 1 at least.  Where rooms want 19 cells in 20, this says of an offer that serves 18 what the cells' rows cannot say: that it takes
 * a second one. */
#include "design/placing_int.h"

#include <stdlib.h>

enum { LARGEST = 3, MOST_TRIALS = 100000 };

/* A clause of one of the need's cells. */
struct ranked_clause {
    uint32_t share, at_least, has; /* has: how many of the chosen offers are of it */
};

/* An offer that serves something of the need. */
struct useful {
    uint32_t offer;
    uint32_t most; /* cells it has a part in: no more are served by having it */
    index_list clauses;
};

struct rank {
    const struct image *im;
    uint32_t need;
    uint64_t *chosen;
    LIST(struct ranked_clause) clauses;
    uint32_t *lacks;       /* [shares.n]: clauses that do not hold yet */
    uint32_t served;       /* by what is chosen */
    struct useful *useful; /* the greatest first */
    uint32_t n_useful;
    uint32_t *size; /* [offers.n]: m(o); 0: not found yet */
    uint32_t n_trials;
};

static const struct image_need *need_of(const struct rank *r) { return &r->im->needs[r->need]; }

/* ---- what the need is made of ---- */

static bool list_clauses(struct rank *r, struct arena *a)
{
    const struct image_need *is = need_of(r);
    uint32_t n = 0;
    for (uint32_t i = 0; i < is->shares.n; i++)
        n += r->im->cells.v[is->shares.v[i].cell].n;
    r->clauses.v = ARENA_ARRAY(a, struct ranked_clause, n);
    r->lacks = ARENA_ARRAY(a, uint32_t, is->shares.n);
    if (!r->clauses.v || !r->lacks)
        return false;
    for (uint32_t i = 0; i < is->shares.n; i++) {
        const struct image_cell *cell = &r->im->cells.v[is->shares.v[i].cell];
        r->lacks[i] = cell->n;
        for (uint32_t k = 0; k < cell->n; k++)
            r->clauses.v[r->clauses.n++] = (struct ranked_clause){ i, r->im->clauses.v[cell->first + k].at_least, 0 };
    }
    return true;
}

static bool add_useful(struct rank *r, struct arena *a, uint32_t o)
{
    const struct image_need *is = need_of(r);
    struct useful *u = &r->useful[r->n_useful];
    uint32_t at = 0;
    *u = (struct useful){ .offer = o, .clauses.v = ARENA_ARRAY(a, uint32_t, r->clauses.n) };
    if (!u->clauses.v)
        return false;
    for (uint32_t i = 0; i < is->shares.n; i++) {
        const struct image_cell *cell = &r->im->cells.v[is->shares.v[i].cell];
        const uint32_t before = u->clauses.n;
        for (uint32_t k = 0; k < cell->n; k++, at++)
            if (bits_has(r->im->clauses.v[cell->first + k].offers, o))
                u->clauses.v[u->clauses.n++] = at;
        u->most += u->clauses.n > before ? is->shares.v[i].weight : 0;
    }
    r->n_useful += u->most > 0;
    return true;
}

static int by_most(const void *a, const void *b)
{
    const struct useful *x = a, *y = b;
    return x->most != y->most ? (x->most < y->most ? 1 : -1) : x->offer < y->offer ? -1 : x->offer > y->offer;
}

/* ---- sets ---- */

static void choose(struct rank *r, const struct useful *u)
{
    bits_set(r->chosen, u->offer);
    for (uint32_t i = 0; i < u->clauses.n; i++) {
        struct ranked_clause *c = &r->clauses.v[u->clauses.v[i]];
        if (++c->has == c->at_least && !--r->lacks[c->share])
            r->served += need_of(r)->shares.v[c->share].weight;
    }
}

static void leave(struct rank *r, const struct useful *u)
{
    bits_clear(r->chosen, u->offer);
    for (uint32_t i = 0; i < u->clauses.n; i++) {
        struct ranked_clause *c = &r->clauses.v[u->clauses.v[i]];
        if (c->has-- == c->at_least && !r->lacks[c->share]++)
            r->served -= need_of(r)->shares.v[c->share].weight;
    }
}

/* Can the next `left` from here on, none of which serves more than those, be enough?  If one may be lost, without the first. */
static bool may_hold(const struct rank *r, uint32_t from, uint32_t left)
{
    const struct place_need *is = &r->im->q->needs.v[r->need];
    uint64_t sum = r->served;
    for (uint32_t i = is->bears_loss; i < left; i++)
        sum += r->useful[from + i].most;
    return sum >= is->wanted;
}

static bool holds(struct rank *r, const struct useful *const *members, uint32_t n)
{
    const struct place_need *is = &r->im->q->needs.v[r->need];
    bool so = r->served >= is->wanted;
    for (uint32_t i = 0; i < n && is->bears_loss && so; i++) {
        leave(r, members[i]);
        so = r->served >= is->wanted;
        choose(r, members[i]);
    }
    return so;
}

/* Sets of `size`, of which all members but `left` are chosen, the others of useful[from...]; finds the sizes of those of a set that keeps the
 * need.  In sets with a member that is enough by itself all others can be done without. */
static bool try_sets(struct rank *r, uint32_t from, uint32_t left, uint32_t size, const struct useful **members)
{
    const struct placing *q = r->im->q;
    bool any = false;
    if (!left) {
        r->n_trials++;
        return holds(r, members, size);
    }
    for (uint32_t i = from; i + left <= r->n_useful && r->n_trials < MOST_TRIALS && may_hold(r, i, left); i++) {
        const struct useful *u = &r->useful[i];
        if (r->size[u->offer] == 1 || bits_meet(r->im->sites[q->offers.v[u->offer].site], r->chosen, r->im->n_words))
            continue;
        choose(r, u);
        members[size - left] = u;
        if (try_sets(r, i + 1, left - 1, size, members)) {
            any = true;
            r->size[u->offer] = r->size[u->offer] ? r->size[u->offer] : size;
        }
        leave(r, u);
    }
    return any;
}

double *place_rank(struct arena *a, const struct image *im, uint32_t need)
{
    const uint32_t n = im->q->offers.n;
    double *weight = ARENA_ARRAY(a, double, n);
    const struct arena_mark mark = arena_mark(a);
    struct rank r = { .im = im,
                      .need = need,
                      .chosen = ARENA_ARRAY(a, uint64_t, im->n_words),
                      .served = im->needs[need].always,
                      .useful = ARENA_ARRAY(a, struct useful, n),
                      .size = ARENA_ARRAY(a, uint32_t, n) };
    if (!weight || !r.chosen || !r.useful || !r.size || !list_clauses(&r, a))
        return NULL;
    for (uint32_t o = 0; o < n; o++)
        if (!add_useful(&r, a, o))
            return NULL;
    qsort(r.useful, r.n_useful, sizeof *r.useful, by_most);
    const struct useful *members[LARGEST];
    uint32_t size = 1;
    for (; size <= LARGEST && r.n_trials < MOST_TRIALS; size++)
        (void)try_sets(&r, 0, size, size, members);
    /* What has no size yet may have the one that was looked at last, if that was not looked at to the end. */
    const uint32_t least = r.n_trials < MOST_TRIALS ? LARGEST + 1 : size - 1;
    for (uint32_t i = 0; i < r.n_useful; i++)
        weight[r.useful[i].offer] = 1.0 / (r.size[r.useful[i].offer] ? r.size[r.useful[i].offer] : least);
    arena_reset(a, mark);
    return weight;
}

bool placing_rank(struct arena *a, struct placing *q)
{
    struct image image;
    if (!image_make(a, q, &image))
        return false;
    for (uint32_t n = 0; n < q->needs.n; n++)
        if (!(q->needs.v[n].ranks = place_rank(a, &image, n)))
            return false;
    return true;
}

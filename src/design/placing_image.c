/* Cells as sets of offers: cells that the same offers serve are one for all needs, and a need with a site lost is a need of the same
 * cells without that site's offers. */
#include "design/placing_int.h"

static uint32_t hash_of(const struct image *im, const struct image_clause *c, uint32_t n)
{
    uint64_t h = 1469598103934665603u;
    for (uint32_t i = 0; i < n; i++) {
        h = (h ^ c[i].at_least) * 1099511628211u;
        for (uint32_t w = 0; w < im->n_words; w++) {
            h = (h ^ c[i].offers[w]) * 1099511628211u;
            h ^= h >> 29;
        }
    }
    return (uint32_t)(h % IMAGE_BUCKETS);
}

static bool is_same(const struct image *im, const struct image_cell *cell, const struct image_clause *c, uint32_t n)
{
    bool is = cell->n == n;
    for (uint32_t i = 0; i < n && is; i++) {
        const struct image_clause *k = &im->clauses.v[cell->first + i];
        is = k->at_least == c[i].at_least && !memcmp(k->offers, c[i].offers, im->n_words * sizeof *k->offers);
    }
    return is;
}

/* The cell with these clauses; the sets are kept if it is new. */
static uint32_t find_or_add(struct image *im, const struct image_clause *c, uint32_t n)
{
    const uint32_t h = hash_of(im, c, n);
    for (uint32_t i = im->buckets[h]; i != NO_REF; i = im->cells.v[i].next)
        if (is_same(im, &im->cells.v[i], c, n))
            return i;
    const struct image_cell cell = { im->clauses.n, n, im->buckets[h] };
    for (uint32_t i = 0; i < n; i++)
        im->failed |= !VEC_PUSH(im->a, &im->clauses, c[i]);
    im->failed |= im->failed || !VEC_PUSH(im->a, &im->cells, cell);
    if (!im->failed)
        im->buckets[h] = im->cells.n - 1;
    return im->failed ? NO_REF : im->cells.n - 1;
}

/* Could so many different sites serve? */
static bool is_possible(const struct image *im, const struct image_clause *c)
{
    uint32_t n = 0;
    for (uint32_t s = 0; s < im->q->n_sites && n < c->at_least; s++)
        n += bits_meet(im->sites[s], c->offers, im->n_words);
    return n >= c->at_least;
}

enum { MOST_CLAUSES = 64 };

static uint64_t *set_of(struct image *im)
{
    uint64_t *set = ARENA_ARRAY(im->a, uint64_t, im->n_words);
    im->failed |= !set;
    return set;
}

uint32_t image_without(struct image *im, uint32_t cell, uint32_t site)
{
    const struct image_cell is = im->cells.v[cell];
    struct image_clause clauses[MOST_CLAUSES];
    bool changes = false;
    for (uint32_t i = 0; i < is.n; i++)
        changes |= bits_meet(im->clauses.v[is.first + i].offers, im->sites[site], im->n_words);
    if (!changes)
        return cell;
    for (uint32_t i = 0; i < is.n; i++) {
        clauses[i] = im->clauses.v[is.first + i];
        const uint64_t *before = clauses[i].offers;
        clauses[i].offers = set_of(im);
        if (im->failed)
            return NO_REF;
        for (uint32_t w = 0; w < im->n_words; w++)
            clauses[i].offers[w] = before[w] & ~im->sites[site][w];
        if (!is_possible(im, &clauses[i]))
            return NO_REF;
    }
    return find_or_add(im, clauses, is.n);
}

/* The cell of the placing; *is_never: nothing can serve it; NO_REF otherwise: it asks nothing. */
static uint32_t cell_of(struct image *im, const struct place_cell *cell, bool *is_never)
{
    struct image_clause clauses[MOST_CLAUSES];
    uint32_t n = 0;
    *is_never = false;
    for (uint32_t k = 0; k < cell->clauses.n; k++) {
        const struct place_clause *c = &cell->clauses.v[k];
        if (!c->at_least)
            continue;
        if (n == MOST_CLAUSES) { /* no promise has so many; left out, the cell would be served too easily */
            im->failed = true;
            return NO_REF;
        }
        clauses[n] = (struct image_clause){ set_of(im), c->at_least };
        if (im->failed)
            return NO_REF;
        for (uint32_t i = 0; i < c->offers.n; i++)
            bits_set(clauses[n].offers, c->offers.v[i]);
        *is_never |= !is_possible(im, &clauses[n++]);
    }
    return n && !*is_never ? find_or_add(im, clauses, n) : NO_REF;
}

static bool make_need(struct image *im, uint32_t need)
{
    const struct place_need *from = &im->q->needs.v[need];
    struct image_need *out = &im->needs[need];
    *out = (struct image_need){ .need = need };
    out->shares.v = ARENA_ARRAY(im->a, struct image_share, from->cells.n);
    if (!out->shares.v)
        return false;
    for (uint32_t i = 0; i < from->cells.n && !im->failed; i++) {
        bool is_never;
        const uint32_t cell = cell_of(im, &from->cells.v[i], &is_never), weight = from->cells.v[i].weight;
        if (is_never)
            continue;
        if (cell == NO_REF) {
            out->always += weight;
            continue;
        }
        out->total += weight;
        uint32_t k = 0;
        while (k < out->shares.n && out->shares.v[k].cell != cell)
            k++;
        if (k == out->shares.n)
            out->shares.v[out->shares.n++] = (struct image_share){ .cell = cell };
        out->shares.v[k].weight += weight;
    }
    return !im->failed;
}

bool image_make(struct arena *a, const struct placing *q, struct image *out)
{
    *out = (struct image){ .q = q,
                           .a = a,
                           .n_words = q->offers.n / 64 + 1,
                           .sites = ARENA_ARRAY(a, uint64_t *, q->n_sites),
                           .needs = ARENA_ARRAY(a, struct image_need, q->needs.n),
                           .buckets = ARENA_ARRAY(a, uint32_t, IMAGE_BUCKETS),
                           .lost = ARENA_ARRAY(a, uint32_t, q->offers.n) };
    if (!out->lost || !out->sites || !out->needs || !out->buckets)
        return false;
    for (uint32_t i = 0; i < IMAGE_BUCKETS; i++)
        out->buckets[i] = NO_REF;
    for (uint32_t s = 0; s < q->n_sites; s++)
        if (!(out->sites[s] = set_of(out)))
            return false;
    for (uint32_t o = 0; o < q->offers.n; o++)
        bits_set(out->sites[q->offers.v[o].site], o);
    for (uint32_t n = 0; n < q->needs.n; n++)
        if (!make_need(out, n))
            return false;
    return true;
}

bool image_serves(const struct image *im, uint32_t cell, const uint64_t *chosen)
{
    const struct image_cell *is = &im->cells.v[cell];
    for (uint32_t i = 0; i < is->n; i++) {
        const struct image_clause *c = &im->clauses.v[is->first + i];
        if (bits_common_to(c->offers, chosen, im->n_words, c->at_least) < c->at_least)
            return false;
    }
    return true;
}

uint32_t image_served(const struct image *im, uint32_t need, const uint64_t *chosen)
{
    const struct image_need *is = &im->needs[need];
    uint32_t sum = is->always;
    for (uint32_t i = 0; i < is->shares.n; i++)
        sum += image_serves(im, is->shares.v[i].cell, chosen) ? is->shares.v[i].weight : 0;
    return sum;
}

/* The chosen offers without which the cell would not be served are counted up in lost[]; false: it is not served with them. */
static bool count_losses(const struct image *im, const struct image_share *share, const uint64_t *chosen,
                         uint32_t *lost)
{
    const struct image_cell *is = &im->cells.v[share->cell];
    if (!image_serves(im, share->cell, chosen))
        return false;
    for (uint32_t w = 0; w < im->n_words; w++) {
        uint64_t needed = 0;
        for (uint32_t i = 0; i < is->n; i++) {
            const struct image_clause *c = &im->clauses.v[is->first + i];
            if (chosen[w] & c->offers[w] &&
                bits_common_to(c->offers, chosen, im->n_words, c->at_least + 1) == c->at_least)
                needed |= chosen[w] & c->offers[w];
        }
        for (; needed; needed &= needed - 1)
            lost[64 * w + (uint32_t)__builtin_ctzll(needed)] += share->weight;
    }
    return true;
}

/* Each cell is looked at once, not once for each site that may be lost. */
static bool holds_without_any(const struct image *im, uint32_t need, const uint64_t *chosen)
{
    const struct image_need *is = &im->needs[need];
    uint32_t served = is->always, most = 0;
    memset(im->lost, 0, im->q->offers.n * sizeof *im->lost);
    for (uint32_t i = 0; i < is->shares.n; i++)
        served += count_losses(im, &is->shares.v[i], chosen, im->lost) ? is->shares.v[i].weight : 0;
    for (uint32_t o = 0; o < im->q->offers.n; o++)
        most = im->lost[o] > most ? im->lost[o] : most;
    return served - most >= im->q->needs.v[need].wanted;
}

bool image_holds(const struct image *im, uint32_t need, const uint64_t *chosen)
{
    const struct place_need *is = &im->q->needs.v[need];
    return image_served(im, need, chosen) >= is->wanted && (!is->bears_loss || holds_without_any(im, need, chosen));
}

/* A choice by a quick search: the offer that serves most for its money, again and again; then what can be dropped, swapped, or dropped
 * for one that is added; last, swaps at the true price with cables and switches. */
#include <math.h>

#include "base/random.h"
#include "design/placing_int.h"

enum { ROUNDS = 8, STARTS = 12 };

struct search {
    const struct run *run;
    struct arena *a;
    const struct placing *q;
    const bool *given_up;
    struct image image;
    uint64_t *chosen, *trial, *tried;
    double *price;      /* of each offer with its cable and a port, about; infinite: of no use */
    const double *hint; /* [offers.n]: how far each is chosen, 0 to 1; NULL */
    double *bias;       /* what an offer counts as while offers are added: other beginnings come to other ends */
};

/* ---- what an offer costs, about ---- */

static double port_estimate(const struct placing *q)
{
    double best = 0;
    for (uint32_t s = 0; s < q->switches.n; s++) {
        uint32_t n = 0;
        for (uint32_t g = 0; g < q->switches.v[s].ports.n; g++)
            n += q->switches.v[s].ports.v[g].count;
        const double is = n ? (double)q->switches.v[s].price / n : 0;
        best = is > 0 && (best <= 0 || is < best) ? is : best;
    }
    return best;
}

static void estimate(struct search *s)
{
    const struct placing *q = s->q;
    const double port = port_estimate(q);
    for (uint32_t o = 0; o < q->offers.n; o++)
        s->price[o] = (double)q->offers.v[o].price + 1e-3;
    for (uint32_t t = 0; t < q->things.n; t++) {
        uint32_t link;
        const double cable = place_cable_estimate(q, &q->things.v[t], &link);
        for (uint32_t o = 0; o < q->offers.n && q->things.v[t].site != NO_REF; o++)
            if (q->offers.v[o].site == q->things.v[t].site)
                s->price[o] += link == NO_REF ? (double)INFINITY : cable + port;
    }
}

/* ---- needs ---- */

static bool is_asked(const struct search *s, uint32_t need)
{
    return !place_is_given_up(s->given_up, s->q->needs.v[need].promise);
}

static bool all_hold(const struct search *s, uint64_t *chosen)
{
    for (uint32_t n = 0; n < s->q->needs.n; n++)
        if (is_asked(s, n) && !image_holds(&s->image, n, chosen))
            return false;
    return true;
}

/* How far a cell is: whole clauses, and a little for each site that counts towards one. */
static double credit(const struct search *s, uint32_t cell, const uint64_t *chosen, uint32_t more)
{
    const struct image_cell *is = &s->image.cells.v[cell];
    bool is_served = true;
    double part = 0;
    for (uint32_t i = 0; i < is->n; i++) {
        const struct image_clause *c = &s->image.clauses.v[is->first + i];
        const uint32_t want = c->at_least + more, n = bits_common_to(c->offers, chosen, s->image.n_words, want);
        is_served &= n >= want;
        part += (double)n / want;
    }
    return (is_served ? 1.0 : 0.0) + 0.01 * part / is->n;
}

/* What is served, up to what is wanted; a need that bears a loss wants it twice. */
static double served(const struct search *s, const uint64_t *chosen)
{
    double sum = 0;
    for (uint32_t n = 0; n < s->q->needs.n; n++) {
        const struct image_need *need = &s->image.needs[n];
        for (uint32_t more = 0; is_asked(s, n) && more <= s->q->needs.v[n].bears_loss; more++) {
            double is = need->always;
            for (uint32_t i = 0; i < need->shares.n; i++)
                is += need->shares.v[i].weight * credit(s, need->shares.v[i].cell, chosen, more);
            sum += fmin(is, 1.01 * s->q->needs.v[n].wanted);
        }
    }
    return sum;
}

static bool may_join(const struct search *s, const uint64_t *chosen, uint32_t o)
{
    const struct place_offer *is = &s->q->offers.v[o];
    bool may = isfinite(s->price[o]) && !bits_meet(s->image.sites[is->site], chosen, s->image.n_words);
    for (uint32_t k = 0; k < s->q->offers.n && may && is->piece != NO_REF; k++)
        may = s->q->offers.v[k].piece != is->piece || !bits_has(chosen, k);
    return may;
}

static bool grow(struct search *s)
{
    for (;;) {
        if (all_hold(s, s->chosen))
            return true;
        const double now = served(s, s->chosen);
        double best = 0;
        uint32_t at = NO_REF;
        for (uint32_t o = 0; o < s->q->offers.n; o++) {
            if (!may_join(s, s->chosen, o))
                continue;
            bits_set(s->chosen, o);
            const double is = (served(s, s->chosen) - now) / s->bias[o];
            bits_clear(s->chosen, o);
            if (is > best * (1 + 1e-12)) {
                best = is;
                at = o;
            }
        }
        if (at == NO_REF || run_is_cancelled(s->run))
            return false;
        bits_set(s->chosen, at);
    }
}

/* ---- better by the estimate ---- */

static double sum_of(const struct search *s, const uint64_t *chosen)
{
    double sum = 0;
    for (uint32_t o = 0; o < s->q->offers.n; o++)
        sum += bits_has(chosen, o) ? s->price[o] : 0;
    return sum;
}

/* Leaves out what can be left out, the dearest first. */
static void drop(const struct search *s, uint64_t *chosen)
{
    uint64_t *tried = s->tried;
    memset(tried, 0, s->image.n_words * sizeof *tried);
    for (;;) {
        uint32_t at = NO_REF;
        for (uint32_t o = 0; o < s->q->offers.n; o++)
            if (bits_has(chosen, o) && !bits_has(tried, o) && !s->q->offers.v[o].is_fixed &&
                (at == NO_REF || s->price[o] > s->price[at]))
                at = o;
        if (at == NO_REF)
            return;
        bits_set(tried, at);
        bits_clear(chosen, at);
        if (!all_hold(s, chosen))
            bits_set(chosen, at);
    }
}

static void copy(const struct search *s, uint64_t *to, const uint64_t *from)
{
    memcpy(to, from, s->image.n_words * sizeof *to);
}

/* One out, a cheaper one in. */
static bool swap(struct search *s)
{
    for (uint32_t out = 0; out < s->q->offers.n; out++) {
        if (!bits_has(s->chosen, out) || s->q->offers.v[out].is_fixed)
            continue;
        bits_clear(s->chosen, out);
        for (uint32_t in = 0; in < s->q->offers.n; in++) {
            if (s->price[in] >= s->price[out] - 1e-6 || bits_has(s->chosen, in) || !may_join(s, s->chosen, in))
                continue;
            bits_set(s->chosen, in);
            if (all_hold(s, s->chosen))
                return true;
            bits_clear(s->chosen, in);
        }
        bits_set(s->chosen, out);
    }
    return false;
}

/* One in, and out whatever is then of no more use. */
static bool add_drop(struct search *s)
{
    const double was = sum_of(s, s->chosen);
    for (uint32_t in = 0; in < s->q->offers.n && !run_is_cancelled(s->run); in++) {
        if (bits_has(s->chosen, in) || !may_join(s, s->chosen, in))
            continue;
        copy(s, s->trial, s->chosen);
        bits_set(s->trial, in);
        drop(s, s->trial);
        if (sum_of(s, s->trial) < was - 1e-6) {
            copy(s, s->chosen, s->trial);
            return true;
        }
    }
    return false;
}

static void improve(struct search *s)
{
    drop(s, s->chosen);
    for (int i = 0; i < ROUNDS * (int)s->q->n_sites && !run_is_cancelled(s->run); i++) {
        if (!swap(s) && !add_drop(s))
            return;
        drop(s, s->chosen);
    }
}

/* ---- at the true price ---- */

static void to_offers(const struct search *s, const uint64_t *chosen, bool *offers)
{
    for (uint32_t o = 0; o < s->q->offers.n; o++)
        offers[o] = bits_has(chosen, o);
}

static bool is_better(const struct placing_answer *a, const struct placing_answer *b)
{
    return a->price != b->price ? a->price < b->price : a->n_boxes < b->n_boxes;
}

/* Wires what is in s->chosen, beginning from the cables of `best`; true and written there if it is better. */
static bool try_wired(struct search *s, struct placing_answer *trial, struct placing_answer *best)
{
    const struct arena_mark mark = arena_mark(s->a);
    to_offers(s, s->chosen, trial->offers);
    memcpy(trial->links, best->links, s->q->things.n * sizeof *trial->links);
    const bool is = place_wire(s->a, s->q, trial, false) && is_better(trial, best);
    arena_reset(s->a, mark);
    if (!is)
        return false;
    const struct placing_answer was = *best;
    *best = *trial;
    *trial = was;
    return true;
}

static bool polish_one(struct search *s, struct placing_answer *trial, struct placing_answer *best, uint32_t out)
{
    bits_clear(s->chosen, out);
    if (all_hold(s, s->chosen) && try_wired(s, trial, best))
        return true;
    for (uint32_t in = 0; in < s->q->offers.n; in++) {
        if (in == out || bits_has(s->chosen, in) || !may_join(s, s->chosen, in))
            continue;
        bits_set(s->chosen, in);
        if (all_hold(s, s->chosen) && try_wired(s, trial, best))
            return true;
        bits_clear(s->chosen, in);
    }
    bits_set(s->chosen, out);
    return false;
}

/* Two out, one in. */
static bool polish_two(struct search *s, struct placing_answer *trial, struct placing_answer *best, uint32_t out)
{
    for (uint32_t other = out + 1; other < s->q->offers.n && !run_is_cancelled(s->run); other++) {
        if (!bits_has(s->chosen, other) || s->q->offers.v[other].is_fixed)
            continue;
        bits_clear(s->chosen, out);
        bits_clear(s->chosen, other);
        for (uint32_t in = 0; in < s->q->offers.n; in++) {
            if (in == out || in == other || bits_has(s->chosen, in) || !may_join(s, s->chosen, in))
                continue;
            bits_set(s->chosen, in);
            if (all_hold(s, s->chosen) && try_wired(s, trial, best))
                return true;
            bits_clear(s->chosen, in);
        }
        bits_set(s->chosen, out);
        bits_set(s->chosen, other);
    }
    return false;
}

static void polish(struct search *s, struct placing_answer *trial, struct placing_answer *best)
{
    bool again = true;
    for (int i = 0; i < ROUNDS && again; i++) {
        again = false;
        for (uint32_t out = 0; out < s->q->offers.n && !run_is_cancelled(s->run); out++)
            if (bits_has(s->chosen, out) && !s->q->offers.v[out].is_fixed)
                again |= polish_one(s, trial, best, out) || polish_two(s, trial, best, out);
    }
}

static bool begin(struct search *s)
{
    const size_t n = s->q->offers.n / 64 + 1;
    s->chosen = ARENA_ARRAY(s->a, uint64_t, n);
    s->trial = ARENA_ARRAY(s->a, uint64_t, n);
    s->tried = ARENA_ARRAY(s->a, uint64_t, n);
    s->price = ARENA_ARRAY(s->a, double, s->q->offers.n);
    s->bias = ARENA_ARRAY(s->a, double, s->q->offers.n);
    if (!s->chosen || !s->trial || !s->tried || !s->price || !s->bias || !image_make(s->a, s->q, &s->image))
        return false;
    estimate(s);
    return true;
}

/* Fixed offers alone, and the prices of this beginning: as they are, their roots, all the same, then by chance; less for what the
 * hint has in part. */
static void begin_again(struct search *s, uint32_t start)
{
    static const double POWERS[] = { 1, 0.5, 0 };
    struct random r = { 1, start, 0 };
    memset(s->chosen, 0, s->image.n_words * sizeof *s->chosen);
    for (uint32_t o = 0; o < s->q->offers.n; o++) {
        if (s->q->offers.v[o].is_fixed)
            bits_set(s->chosen, o);
        s->bias[o] = pow(s->price[o], POWERS[start % RT_COUNT(POWERS)]) *
                     (start < RT_COUNT(POWERS) ? 1 : random_between(&r, 0.6, 1.4)) * (s->hint ? 1.05 - s->hint[o] : 1);
    }
}

static void search_from(struct search *s, uint32_t start, struct placing_answer *trial, struct placing_answer *best)
{
    begin_again(s, start);
    if (!grow(s))
        return;
    improve(s);
    const struct arena_mark mark = arena_mark(s->a);
    to_offers(s, s->chosen, trial->offers);
    for (uint32_t t = 0; t < s->q->things.n; t++)
        trial->links[t] = NO_REF;
    trial->is_found = place_wire(s->a, s->q, trial, true);
    arena_reset(s->a, mark);
    if (trial->is_found && (!best->is_found || is_better(trial, best))) {
        const struct placing_answer was = *best;
        *best = *trial;
        *trial = was;
    }
}

enum rt_code place_search(const struct run *run, const struct placing *q, const bool *given_up, const double *hint,
                          struct placing_answer *best)
{
    struct search s = { .run = run, .a = run->arena, .q = q, .given_up = given_up, .hint = hint };
    struct placing_answer out, trial;
    if (!place_blank(run->arena, q, &out) || !place_blank(run->arena, q, &trial) || !begin(&s))
        return RT_NOMEM;
    for (uint32_t start = 0; start < STARTS && (start == 0 || !run_is_cancelled(run)); start++)
        search_from(&s, start, &trial, &out);
    if (!out.is_found)
        return RT_OK;
    memset(s.chosen, 0, s.image.n_words * sizeof *s.chosen);
    for (uint32_t o = 0; o < q->offers.n; o++)
        if (out.offers[o])
            bits_set(s.chosen, o);
    polish(&s, &trial, &out);
    const struct arena_mark mark = arena_mark(run->arena);
    (void)place_wire(run->arena, q, &out, true);
    arena_reset(run->arena, mark);
    out.bound = best->is_found ? best->bound : q->owing;
    out.is_found = placing_holds(q, given_up, &out);
    if (out.is_found && (!best->is_found || is_better(&out, best)))
        *best = out;
    return RT_OK;
}

enum rt_code placing_greedy(const struct run *run, const struct placing *q, const bool *given_up,
                            struct placing_answer *out, struct rt_problems *p)
{
    *out = (struct placing_answer){ 0 };
    if (!place_blank(run->arena, q, out) || place_search(run, q, given_up, NULL, out))
        return rt_fail_memory(p);
    return RT_OK;
}

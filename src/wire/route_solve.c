/* All cables together: re-routing from several beginnings, and the bound of the shares (see route_net.h). */
#include <math.h>
#include <string.h>

#include "base/sum.h"
#include "wire/route_net.h"

enum { SHARE_ROUNDS = 100, REROUTE_ROUNDS = 20, TRY_EVERY = 10 };

/* Steps get so much shorter after a round that is no better. */
#define SLOWER 0.95

/* In a very large house fewer rounds are made: the routes stay right, the bound gets looser.  Edges looked at in all. */
#define EFFORT 2e8

struct solver {
    const struct run *run;
    struct arena *a;
    const struct route_net *net;
    const struct route_ask *asks;
    uint32_t n;
    double *share;  /* [n][works]: what each cable pays of each work */
    double *price;  /* scratch [works] */
    uint32_t *uses; /* [works]: how many cables pass */
    bool *used;
    struct route_way *best, *attempt;
    double best_price;
};

/* Copies a way into memory that `out` has for the longest. */
static void keep_way(const struct route_way *way, struct route_way *out)
{
    uint32_t *edges = out->edges;
    *out = *way;
    out->edges = edges;
    if (way->n)
        memcpy(edges, way->edges, way->n * sizeof *edges);
}

static bool shortest_into(struct solver *s, uint32_t k, const double *price, struct route_way *out)
{
    const struct arena_mark mark = arena_mark(s->a);
    struct route_way way;
    const bool ok = route_shortest(s->a, s->net, &s->asks[k], price, &way);
    if (ok)
        keep_way(&way, out);
    arena_reset(s->a, mark);
    return ok;
}

static void count_way(struct solver *s, const struct route_way *way, bool add)
{
    for (uint32_t i = 0; i < way->n; i++) {
        const struct route_edge *e = &s->net->edges.v[way->edges[i]];
        for (uint32_t w = e->work; w < e->work + e->n_work; w++)
            s->uses[w] += add ? 1u : UINT32_MAX;
    }
}

double route_price(const struct route_net *net, const struct route_ask *asks, const struct route_way *ways, uint32_t n,
                   bool *used)
{
    struct sum total = { 0 };
    if (net->works.n)
        memset(used, 0, net->works.n * sizeof *used);
    for (uint32_t k = 0; k < n; k++)
        for (uint32_t i = 0; i < ways[k].n; i++) {
            const struct route_edge *e = &net->edges.v[ways[k].edges[i]];
            sum_add(&total, e->price + e->length_m * asks[k].price_per_m);
            for (uint32_t w = e->work; w < e->work + e->n_work; w++)
                used[w] = true;
        }
    for (uint32_t w = 0; w < net->works.n; w++)
        if (used[w])
            sum_add(&total, net->works.v[w].price);
    return sum_value(&total);
}

/* As many rounds as the effort allows, at least one. */
static int rounds_of(const struct solver *s, int wanted)
{
    const double each = 2.0 * s->net->edges.n * fmax(1.0, s->n);
    return (int)fmax(1.0, fmin(wanted, EFFORT / each));
}

/* One cable after the other takes its best way while the works of the others are free, until nobody gains. */
static enum rt_code reroute(struct solver *s, struct route_way *ways, double *price)
{
    const uint32_t n_works = s->net->works.n;
    memset(s->uses, 0, n_works * sizeof *s->uses);
    for (uint32_t k = 0; k < s->n; k++)
        count_way(s, &ways[k], true);
    *price = route_price(s->net, s->asks, ways, s->n, s->used);
    const int rounds = rounds_of(s, REROUTE_ROUNDS);
    for (int round = 0; round < rounds; round++) {
        const double before = *price;
        for (uint32_t k = 0; k < s->n; k++) {
            if (run_is_cancelled(s->run))
                return RT_CANCELLED;
            count_way(s, &ways[k], false);
            for (uint32_t w = 0; w < n_works; w++)
                s->price[w] = s->uses[w] ? 0.0 : s->net->works.v[w].price;
            if (!shortest_into(s, k, s->price, &ways[k]))
                return RT_NOMEM;
            count_way(s, &ways[k], true);
        }
        *price = route_price(s->net, s->asks, ways, s->n, s->used);
        if (*price >= before - 1e-9)
            break;
    }
    return RT_OK;
}

/* The nearest shares that are not negative and add up to the price (Euclidean projection on a simplex; Held et al. 1974):
 * the same amount off each, none below zero. */
static void project(struct solver *s, uint32_t w)
{
    const uint32_t n_works = s->net->works.n;
    const double price = s->net->works.v[w].price;
    double off = 0.0;
    for (uint32_t pass = 0; pass <= s->n; pass++) { /* each pass drops at least one cable, or ends */
        double total = 0.0;
        uint32_t n = 0;
        for (uint32_t k = 0; k < s->n; k++)
            if (s->share[(size_t)k * n_works + w] > off || pass == 0) {
                total += s->share[(size_t)k * n_works + w];
                n++;
            }
        const double next = n ? (total - price) / n : off;
        if (pass && next <= off + 1e-15)
            break;
        off = next;
    }
    for (uint32_t k = 0; k < s->n; k++) {
        double *share = &s->share[(size_t)k * n_works + w];
        *share = fmax(0.0, *share - off);
    }
}

static void move_shares(struct solver *s, const struct route_way *ways, double step)
{
    const uint32_t n_works = s->net->works.n;
    for (uint32_t k = 0; k < s->n; k++)
        for (uint32_t i = 0; i < ways[k].n; i++) {
            const struct route_edge *e = &s->net->edges.v[ways[k].edges[i]];
            for (uint32_t w = e->work; w < e->work + e->n_work; w++)
                s->share[(size_t)k * n_works + w] += step;
        }
    for (uint32_t w = 0; w < n_works; w++)
        if (s->uses[w])
            project(s, w);
}

/* Re-routes from these ways, and keeps what comes of it if it is the cheapest so far. */
static enum rt_code try_from(struct solver *s, const struct route_way *ways)
{
    double price;
    for (uint32_t k = 0; k < s->n; k++)
        keep_way(&ways[k], &s->attempt[k]);
    RT_TRY(reroute(s, s->attempt, &price));
    if (price < s->best_price - 1e-9) {
        struct route_way *swap = s->best;
        s->best = s->attempt;
        s->attempt = swap;
        s->best_price = price;
    }
    return RT_OK;
}

/* Each cable's shortest way at its shares; the sum is a bound. */
static enum rt_code ways_at_shares(struct solver *s, struct route_way *ways, double *bound)
{
    const uint32_t n_works = s->net->works.n;
    struct sum total = { 0 };
    memset(s->uses, 0, n_works * sizeof *s->uses);
    for (uint32_t k = 0; k < s->n; k++) {
        if (run_is_cancelled(s->run))
            return RT_CANCELLED;
        if (!shortest_into(s, k, &s->share[(size_t)k * n_works], &ways[k]))
            return RT_NOMEM;
        sum_add(&total, ways[k].is_found ? ways[k].price : 0.0);
        count_way(s, &ways[k], true);
    }
    *bound = sum_value(&total);
    return RT_OK;
}

/* Length of the subgradient, squared, along the plane of shares that add up to the price: a work that u of n cables pass
 * gives u (1 - u / n); one that all of them pass is shared out no better for it. */
static double steepness(const struct solver *s)
{
    double norm = 0.0;
    for (uint32_t w = 0; w < s->net->works.n; w++)
        norm += (double)s->uses[w] * (1.0 - (double)s->uses[w] / s->n);
    return norm;
}

/* Looks for shares of the works at which the shortest ways cost most together, and tries to re-route from ways met there. */
static enum rt_code ascend(struct solver *s, struct route_way *ways, double *bound)
{
    const uint32_t n_works = s->net->works.n;
    double slowness = 1.0;
    *bound = 0.0;
    for (uint32_t w = 0; w < n_works; w++)
        for (uint32_t k = 0; k < s->n; k++)
            s->share[(size_t)k * n_works + w] = s->net->works.v[w].price / s->n;
    const int rounds = rounds_of(s, SHARE_ROUNDS);
    for (int round = 0; round < rounds; round++) {
        double here;
        RT_TRY(ways_at_shares(s, ways, &here));
        if (here > *bound)
            *bound = here;
        else
            slowness *= SLOWER;
        const double norm = steepness(s);
        if (norm < 1e-9 || s->best_price - *bound <= 1e-9)
            break;
        move_shares(s, ways, slowness * (s->best_price - here) / norm);
        if (round % TRY_EVERY == 0)
            RT_TRY(try_from(s, ways));
    }
    return try_from(s, ways);
}

static struct route_way *new_ways(struct solver *s)
{
    struct route_way *ways = ARENA_ARRAY(s->a, struct route_way, s->n);
    for (uint32_t k = 0; ways && k < s->n; k++) {
        ways[k].edges = ARENA_ARRAY(s->a, uint32_t, route_way_max(s->net, &s->asks[k]));
        if (!ways[k].edges)
            return NULL;
    }
    return ways;
}

enum rt_code route_solve(const struct run *run, const struct route_net *net, const struct route_ask *asks, uint32_t n,
                         struct route_answer *out)
{
    struct arena *a = run->arena;
    const size_t n_works = net->works.n;
    struct solver s = { .run = run, .a = a, .net = net, .asks = asks, .n = n, .best_price = INFINITY };
    s.share = ARENA_ARRAY(a, double, n_works *n);
    s.price = ARENA_ARRAY(a, double, n_works);
    s.uses = ARENA_ARRAY(a, uint32_t, n_works);
    s.used = ARENA_ARRAY(a, bool, n_works);
    struct route_way *ways = new_ways(&s);
    s.best = new_ways(&s);
    s.attempt = new_ways(&s);
    if (!s.share || !s.price || !s.uses || !s.used || !ways || !s.best || !s.attempt)
        return RT_NOMEM;
    for (uint32_t k = 0; k < n; k++)
        if (!shortest_into(&s, k, NULL, &ways[k]))
            return RT_NOMEM;
    RT_TRY(try_from(&s, ways));
    RT_TRY(ascend(&s, ways, &out->bound));
    out->ways = s.best;
    out->price = s.best_price;
    out->bound = fmin(out->bound, out->price); /* rounding alone could put it above */
    return RT_OK;
}

/* Cables of one house: all together, each alone, and what a plain method takes for the shortest ways alone. */
#include "lay.h"

#include <math.h>
#include <stdlib.h>

#include "wire/route_space.h"

enum { TIMES = 10 };

static void stop_unless(const struct run *run, bool ok, struct rt_problems *p)
{
    if (ok)
        return;
    struct buf text = { .arena = run->arena };
    rt_problems_format(p, &text);
    fprintf(stderr, "%.*s", STR_ARG(buf_done(&text)));
    exit(2);
}

static double plan_s(const struct run *run, const struct house *h, double *gap, struct rt_problems *p)
{
    double best = INFINITY;
    for (int i = 0; i < TIMES; i++) {
        const struct arena_mark mark = arena_mark(run->arena);
        struct cable_plan *plan = NULL;
        const double start = cpu_s();
        stop_unless(run, cables_plan(run, h, &plan, p) == RT_OK, p);
        best = fmin(best, cpu_s() - start);
        *gap = 1.0 - plan->bound / plan->price;
        arena_reset(run->arena, mark);
        rt_problems_init(p, run->arena);
    }
    return best;
}

/* The cheapest way of each cable once, works at their own price. */
static double alone_s(const struct run *run, const struct space *s, struct rt_problems *p)
{
    double best = INFINITY;
    for (int i = 0; i < TIMES; i++) {
        const double start = cpu_s();
        for (uint32_t c = 0; c < s->h->cables.n; c++) {
            const struct cable *cable = &s->h->cables.v[c];
            const uint32_t from = space_thing_of(s->h, &cable->from), to = space_thing_of(s->h, &cable->to);
            const struct arena_mark mark = arena_mark(run->arena);
            struct route_way way;
            if (from == NO_REF || to == NO_REF || s->things[from].node == ROUTE_NONE ||
                s->things[to].node == ROUTE_NONE)
                continue;
            const struct route_ask ask = { .from = s->things[from].node,
                                           .to = s->things[to].node,
                                           .price_per_m = PRICE_CABLE_MIN_PER_M,
                                           .cord_from_m = s->things[from].cord_m,
                                           .cord_to_m = s->things[to].cord_m };
            stop_unless(run, route_shortest(run->arena, &s->net, &ask, NULL, &way), p);
            arena_reset(run->arena, mark);
        }
        best = fmin(best, cpu_s() - start);
    }
    return best;
}

/* All pairs (Floyd 1962, Warshall 1962), without rules, bounds or shared work. */
static double all_pairs_s(const struct run *run, const struct route_net *net, struct rt_problems *p)
{
    const struct arena_mark mark = arena_mark(run->arena);
    const size_t n = net->n_nodes;
    double *cost = ARENA_ARRAY(run->arena, double, n *n);
    stop_unless(run, cost != NULL, p);
    const double start = cpu_s();
    for (size_t i = 0; i < n * n; i++)
        cost[i] = i % (n + 1) ? (double)INFINITY : 0.0;
    for (uint32_t e = 0; e < net->edges.n; e++) {
        const struct route_edge *edge = &net->edges.v[e];
        double price = edge->price + edge->length_m * PRICE_CABLE_MIN_PER_M;
        for (uint32_t w = edge->work; w < edge->work + edge->n_work; w++)
            price += net->works.v[w].price;
        cost[edge->a * n + edge->b] = fmin(cost[edge->a * n + edge->b], price);
        cost[edge->b * n + edge->a] = fmin(cost[edge->b * n + edge->a], price);
    }
    for (size_t k = 0; k < n; k++)
        for (size_t i = 0; i < n; i++)
            for (size_t j = 0; j < n; j++) {
                const double by_k = cost[i * n + k] + cost[k * n + j];
                cost[i * n + j] = by_k < cost[i * n + j] ? by_k : cost[i * n + j];
            }
    const double took = cpu_s() - start;
    arena_reset(run->arena, mark);
    return took;
}

void bench_cables(const struct run *run, const char *house_path, struct rows *rows, struct rt_problems *p)
{
    struct arena *a = run->arena;
    struct house *h = NULL;
    double gap = 0.0;
    stop_unless(run, house_read(run, house_path, &h, p) == RT_OK, p);
    const double ours_s = plan_s(run, h, &gap, p);
    struct space s = { .run = run, .h = h, .a = a };
    stop_unless(run, space_build(&s), p);
    const double pairs_s = all_pairs_s(run, &s.net, p);
    rows_heading(rows, "Cables of the main demo, one core");
    rows_add(rows, "all cables together, network and bound included", 1e3 * ours_s, 1, "ms",
             arena_printf(a, "%u cables, %u nodes, %u edges, %u works; %.1f %% above the bound", h->cables.n,
                          s.net.n_nodes, s.net.edges.n, s.net.works.n, 100.0 * gap));
    rows_add(rows, "each cable's cheapest way alone, once", 1e3 * alone_s(run, &s, p), 2, "ms", "");
    rows_add(rows, "all pairs of the same network (Floyd, Warshall)", 1e3 * pairs_s, 1, "ms",
             "prices alone: no rules, no sharing, no bound");
    rows_add(rows, "all pairs' time over ours", pairs_s / ours_s, 2, "times", "");
}

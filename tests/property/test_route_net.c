/* Cables through random small networks, against every combination of ways tried one by one. */
#include <math.h>
#include <stdio.h>

#include "check.h"
#include "wire/route_net.h"

enum { NODES = 6, CABLES = 3, WAYS_MAX = 400 };

static struct route_net random_net(struct check_run *c, struct random *r, uint32_t n_edges)
{
    struct route_net net = { .n_nodes = NODES };
    for (uint32_t e = 0; e < n_edges; e++) {
        const uint32_t a = (uint32_t)random_below(r, NODES), b = (uint32_t)random_below(r, NODES);
        struct route_edge edge = { .a = a,
                                   .b = a == b ? (b + 1) % NODES : b,
                                   .length_m = random_between(r, 0.0, 4.0),
                                   .label = ROUTE_NONE,
                                   .work = net.works.n,
                                   .n_work = (uint32_t)random_below(r, 3) };
        edge.price = edge.length_m * random_between(r, 0.0, 3.0);
        for (uint32_t w = 0; w < edge.n_work; w++)
            CHECK("memory", VEC_PUSH(c->run.arena, &net.works, (struct route_work){ random_between(r, 0.0, 12.0) }));
        CHECK("memory", VEC_PUSH(c->run.arena, &net.edges, edge));
    }
    CHECK("memory", route_net_close(c->run.arena, &net));
    return net;
}

struct all_ways {
    uint32_t edges[WAYS_MAX][NODES];
    uint32_t len[WAYS_MAX], n;
};

/* Every way that visits no node twice. */
static void list_ways(const struct route_net *net, uint32_t at, uint32_t to, unsigned seen, uint32_t *way, uint32_t len,
                      struct all_ways *out)
{
    if (at == to) {
        CHECK("room for the ways", out->n < WAYS_MAX);
        out->len[out->n] = len;
        for (uint32_t i = 0; i < len && i < NODES; i++) /* a way has fewer: the compiler cannot know */
            out->edges[out->n][i] = way[i];
        out->n++;
        return;
    }
    for (uint32_t e = 0; e < net->edges.n; e++) {
        const struct route_edge *edge = &net->edges.v[e];
        const uint32_t next = edge->a == at ? edge->b : edge->b == at ? edge->a : NODES;
        if (next == NODES || len >= NODES || seen & 1u << next)
            continue;
        way[len] = e;
        list_ways(net, next, to, seen | 1u << next, way, len + 1, out);
    }
}

static double price_of(const struct route_net *net, const struct route_ask *asks, struct all_ways *ways,
                       const uint32_t *pick)
{
    bool used[64] = { false };
    double total = 0.0;
    for (uint32_t k = 0; k < CABLES; k++)
        for (uint32_t i = 0; i < ways[k].len[pick[k]]; i++) {
            const struct route_edge *e = &net->edges.v[ways[k].edges[pick[k]][i]];
            total += e->price + e->length_m * asks[k].price_per_m;
            for (uint32_t w = e->work; w < e->work + e->n_work; w++) {
                total += used[w] ? 0.0 : net->works.v[w].price;
                used[w] = true;
            }
        }
    return total;
}

static double best_of_all(const struct route_net *net, const struct route_ask *asks, struct all_ways *ways)
{
    double best = INFINITY;
    uint32_t pick[CABLES];
    for (pick[0] = 0; pick[0] < ways[0].n; pick[0]++)
        for (pick[1] = 0; pick[1] < ways[1].n; pick[1]++)
            for (pick[2] = 0; pick[2] < ways[2].n; pick[2]++)
                best = fmin(best, price_of(net, asks, ways, pick));
    return best;
}

static struct {
    double over, gap, worst_over, worst_gap;
    unsigned n, n_best;
} tally;

PROP(bound_best_and_found_stand_in_order, 400)
{
    struct check_run c = check_run_begin();
    const struct route_net net = random_net(&c, r, 9);
    struct route_ask asks[CABLES];
    struct all_ways *ways = ARENA_ARRAY(c.run.arena, struct all_ways, CABLES);
    bool all_there = true;
    for (uint32_t k = 0; k < CABLES; k++) {
        uint32_t way[NODES];
        asks[k] = (struct route_ask){ .from = 0,
                                      .to = 1 + (uint32_t)random_below(r, NODES - 1),
                                      .price_per_m = random_between(r, 0.1, 2.0) };
        list_ways(&net, asks[k].from, asks[k].to, 1u << asks[k].from, way, 0, &ways[k]);
        all_there &= ways[k].n > 0;
    }
    struct route_answer answer;
    CHECK("solved", route_solve(&c.run, &net, asks, CABLES, &answer) == RT_OK);
    for (uint32_t k = 0; k < CABLES; k++)
        CHECK("found if there is a way", answer.ways[k].is_found == (ways[k].n > 0));
    if (all_there) {
        const double best = best_of_all(&net, asks, ways);
        CHECK("the bound is none", answer.bound <= best + 1e-9);
        CHECK("nothing is cheaper than the best", answer.price >= best - 1e-9);
        tally.n++;
        tally.n_best += answer.price <= best + 1e-9;
        tally.over += answer.price / best - 1.0;
        tally.gap += 1.0 - answer.bound / best;
        tally.worst_over = fmax(tally.worst_over, answer.price / best - 1.0);
        tally.worst_gap = fmax(tally.worst_gap, 1.0 - answer.bound / best);
    }
    check_run_end(&c);
}

/* What the method is worth, over the cases above: it is no exact method, but it must not be a bad one. */
TEST(ways_found_are_nearly_always_the_best)
{
    check_run_prop("bound_best_and_found_stand_in_order", 400, prop_bound_best_and_found_stand_in_order);
    printf("best found in %u of %u; %.4f above the best on average, %.4f at most; bound %.4f below, %.4f at most\n",
           tally.n_best, tally.n, tally.over / tally.n, tally.worst_over, tally.gap / tally.n, tally.worst_gap);
    CHECK("enough cases", tally.n > 100);
    CHECK("best in 99 of 100", 100 * tally.n_best >= 99 * tally.n);
    CHECK("within 0.1 % on average, 5 % at most", tally.over / tally.n < 0.001 && tally.worst_over < 0.05);
    CHECK("bound within 0.5 % on average, 15 % at most", tally.gap / tally.n < 0.005 && tally.worst_gap < 0.15);
}

/* Worked by hand: alone each cable takes its own short way (7 each, 14 together); together they share the one hole of the
 * long way, 2 x 1.5 metres' price and 9 for the hole: 12. */
TEST(two_cables_share_a_hole)
{
    struct check_run c = check_run_begin();
    struct route_net net = { .n_nodes = 4 };
    const struct route_edge edges[] = {
        { .a = 0, .b = 1, .price = 7.0, .label = ROUTE_NONE },
        { .a = 0, .b = 2, .price = 7.0, .label = ROUTE_NONE },
        { .a = 0, .b = 3, .price = 0.5, .label = ROUTE_NONE, .work = 0, .n_work = 1 },
        { .a = 3, .b = 1, .price = 1.0, .label = ROUTE_NONE, .work = 1 },
        { .a = 3, .b = 2, .price = 1.0, .label = ROUTE_NONE, .work = 1 },
    };
    for (size_t i = 0; i < RT_COUNT(edges); i++)
        CHECK("memory", VEC_PUSH(c.run.arena, &net.edges, edges[i]));
    CHECK("memory", VEC_PUSH(c.run.arena, &net.works, (struct route_work){ 9.0 }));
    CHECK("memory", route_net_close(c.run.arena, &net));
    const struct route_ask asks[] = { { .from = 0, .to = 1 }, { .from = 0, .to = 2 } };
    struct route_answer answer;
    CHECK("solved", route_solve(&c.run, &net, asks, 2, &answer) == RT_OK);
    CHECK_NEAR("together", answer.price, 12.0, 1e-9, "");
    CHECK_NEAR("bound", answer.bound, 12.0, 0.05, "");
    check_run_end(&c);
}

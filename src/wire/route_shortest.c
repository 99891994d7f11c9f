/* The cheapest way of one cable (Dijkstra 1959), over states (node, labels passed so far). */
#include <math.h>

#include "wire/route_net.h"

struct item {
    double cost;
    uint32_t state;
};

struct heap {
    struct item *v;
    uint32_t n, cap;
};

static bool is_before(struct item x, struct item y)
{
    return x.cost < y.cost || (x.cost == y.cost && x.state < y.state);
}

static bool heap_push(struct arena *a, struct heap *h, struct item x)
{
    if (!VEC_PUSH(a, h, x))
        return false;
    uint32_t i = h->n - 1;
    for (; i && is_before(x, h->v[(i - 1) / 2]); i = (i - 1) / 2)
        h->v[i] = h->v[(i - 1) / 2];
    h->v[i] = x;
    return true;
}

static struct item heap_pop(struct heap *h)
{
    const struct item top = h->v[0], last = h->v[--h->n];
    uint32_t i = 0;
    for (;;) {
        uint32_t child = 2 * i + 1;
        if (child >= h->n)
            break;
        if (child + 1 < h->n && is_before(h->v[child + 1], h->v[child]))
            child++;
        if (!is_before(h->v[child], last))
            break;
        h->v[i] = h->v[child];
        i = child;
    }
    h->v[i] = last;
    return top;
}

bool route_net_close(struct arena *a, struct route_net *net)
{
    net->first = ARENA_ARRAY(a, uint32_t, (size_t)net->n_nodes + 2);
    net->out = ARENA_ARRAY(a, uint32_t, (size_t)net->edges.n * 2);
    if (!net->first || !net->out)
        return false;
    for (uint32_t e = 0; e < net->edges.n; e++) {
        net->first[net->edges.v[e].a + 2]++;
        net->first[net->edges.v[e].b + 2]++;
    }
    for (uint32_t i = 2; i < net->n_nodes + 2; i++)
        net->first[i] += net->first[i - 1];
    for (uint32_t e = 0; e < net->edges.n; e++) {
        net->out[net->first[net->edges.v[e].a + 1]++] = e;
        net->out[net->first[net->edges.v[e].b + 1]++] = e;
    }
    return true;
}

size_t route_way_max(const struct route_net *net, const struct route_ask *ask)
{
    return (size_t)net->n_nodes * (ask->n_labels + 1) * 2;
}

static double edge_cost(const struct route_net *net, const struct route_ask *ask, const double *work_price, uint32_t e)
{
    const struct route_edge *edge = &net->edges.v[e];
    double cost = edge->price + edge->length_m * ask->price_per_m;
    for (uint32_t w = edge->work; w < edge->work + edge->n_work; w++)
        cost += work_price ? work_price[w] : net->works.v[w].price;
    return cost;
}

/* How many labels are passed once the edge is; ROUTE_NONE: it is closed to the cable. */
static uint32_t stage_after(const struct route_ask *ask, const struct route_edge *edge, uint32_t stage)
{
    if (edge->label == ROUTE_NONE)
        return stage;
    if (!ask->n_labels)
        return edge->only_named ? ROUTE_NONE : 0;
    if (stage < ask->n_labels && ask->labels[stage] == edge->label)
        return stage + 1;
    return stage && ask->labels[stage - 1] == edge->label ? stage : ROUTE_NONE;
}

struct search {
    const struct route_net *net;
    const struct route_ask *ask;
    const double *work_price;
    uint32_t n_stages;
    double *cost;                  /* of each state: (node, labels passed, came by a hop) */
    uint32_t *came_by, *came_from; /* edge and state before */
    struct heap heap;
};

static uint32_t state_of(const struct search *s, uint32_t node, uint32_t stage, bool by_hop)
{
    return (node * s->n_stages + stage) * 2 + by_hop;
}

static uint8_t trait_of(const struct route_net *net, uint32_t node)
{
    return node < net->traits.n ? net->traits.v[node] : 0;
}

/* The state that an edge leads to; ROUTE_NONE: it is closed. */
static uint32_t state_after(const struct search *s, uint32_t state, const struct route_edge *edge)
{
    const uint32_t node = state / 2 / s->n_stages, next = edge->a == node ? edge->b : edge->a;
    const uint32_t stage = stage_after(s->ask, edge, state / 2 % s->n_stages);
    const uint8_t here = trait_of(s->net, node), there = trait_of(s->net, next);
    if (stage == ROUTE_NONE || (edge->is_hop && state % 2 && !(here & ROUTE_BEND)))
        return ROUTE_NONE;
    if (there & ROUTE_END && next != s->ask->to)
        return ROUTE_NONE;
    return state_of(s, next, stage, edge->is_hop && next != s->ask->to);
}

static bool spread(struct arena *a, struct search *s)
{
    const uint32_t start = state_of(s, s->ask->from, 0, false);
    const uint32_t goal = state_of(s, s->ask->to, s->ask->n_labels, false);
    s->cost[start] = 0.0;
    if (!heap_push(a, &s->heap, (struct item){ 0.0, start }))
        return false;
    while (s->heap.n) {
        const struct item top = heap_pop(&s->heap);
        const uint32_t node = top.state / 2 / s->n_stages;
        if (top.cost > s->cost[top.state])
            continue;
        if (top.state == goal)
            break;
        for (uint32_t i = s->net->first[node]; i < s->net->first[node + 1]; i++) {
            const uint32_t e = s->net->out[i], next = state_after(s, top.state, &s->net->edges.v[e]);
            const bool turns = top.state != start && e == s->came_by[top.state];
            if (next == ROUTE_NONE || (turns && !s->ask->may_turn))
                continue;
            const double cost = top.cost + edge_cost(s->net, s->ask, s->work_price, e);
            if (cost >= s->cost[next])
                continue;
            s->cost[next] = cost;
            s->came_by[next] = e;
            s->came_from[next] = top.state;
            if (!heap_push(a, &s->heap, (struct item){ cost, next }))
                return false;
        }
    }
    return true;
}

static void trace_back(const struct search *s, uint32_t start, uint32_t goal, struct route_way *out)
{
    out->is_found = true;
    out->price = s->cost[goal];
    for (uint32_t at = goal; at != start; at = s->came_from[at])
        out->edges[out->n++] = s->came_by[at];
    for (uint32_t i = 0; i < out->n / 2; i++) {
        const uint32_t swap = out->edges[i];
        out->edges[i] = out->edges[out->n - 1 - i];
        out->edges[out->n - 1 - i] = swap;
    }
}

bool route_shortest(struct arena *a, const struct route_net *net, const struct route_ask *ask, const double *work_price,
                    struct route_way *out)
{
    const size_t n = route_way_max(net, ask);
    *out = (struct route_way){ .edges = ARENA_ARRAY(a, uint32_t, n) };
    const struct arena_mark mark = arena_mark(a);
    struct search s = { .net = net, .ask = ask, .work_price = work_price, .n_stages = ask->n_labels + 1 };
    s.cost = ARENA_ARRAY(a, double, n);
    s.came_by = ARENA_ARRAY(a, uint32_t, n);
    s.came_from = ARENA_ARRAY(a, uint32_t, n);
    bool ok = out->edges && s.cost && s.came_by && s.came_from;
    for (size_t i = 0; ok && i < n; i++)
        s.cost[i] = INFINITY;
    ok = ok && spread(a, &s);
    const uint32_t start = state_of(&s, ask->from, 0, false), goal = state_of(&s, ask->to, ask->n_labels, false);
    if (ok && isfinite(s.cost[goal]))
        trace_back(&s, start, goal, out);
    arena_reset(a, mark);
    return ok;
}

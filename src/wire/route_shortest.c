/* The cheapest way of one cable (Dijkstra 1959), over states (node, labels passed so far, came by a hop). */
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

/* Slots of a search: what is known of one arrival at a state. */
static size_t n_slots(const struct route_net *net, const struct route_ask *ask)
{
    return (size_t)net->n_nodes * (ask->n_labels + 1) * 4;
}

size_t route_way_max(const struct route_net *net, const struct route_ask *ask) { return n_slots(net, ask); }

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

/* Since no way may turn back, the cheapest arrival at a state is not enough: the next may have to go on by the very edge that
 * this one came by.  The cheapest by any other edge then serves, so each state has two slots. */
struct arrival {
    double cost;
    uint32_t by, from; /* edge, and slot before */
};

struct search {
    const struct route_net *net;
    const struct route_ask *ask;
    uint32_t n_stages;
    double *edge_cost;
    struct arrival *slots; /* 2 x state, and one more for the second best */
    struct heap heap;
};

/* A state: (node, labels passed, came by a hop). */
static uint32_t state_of(const struct search *s, uint32_t node, uint32_t stage, bool by_hop)
{
    return (node * s->n_stages + stage) * 2 + by_hop;
}

static uint8_t trait_of(const struct route_net *net, uint32_t node)
{
    return node < net->traits.n ? net->traits.v[node] : 0;
}

/* The cable's cord at that end of it where the edge lies. */
static double cord_at(const struct route_ask *ask, const struct route_edge *edge)
{
    return edge->a == ask->from || edge->b == ask->from ? ask->cord_from_m : ask->cord_to_m;
}

/* The state that an edge leads to; ROUTE_NONE: it is closed. */
static uint32_t state_after(const struct search *s, uint32_t state, const struct route_edge *edge)
{
    const uint32_t node = state / 2 / s->n_stages, next = edge->a == node ? edge->b : edge->a;
    const uint32_t stage = stage_after(s->ask, edge, state / 2 % s->n_stages);
    const uint8_t here = trait_of(s->net, node), there = trait_of(s->net, next);
    if (stage == ROUTE_NONE || (edge->is_hop && state % 2 && !(here & ROUTE_BEND)))
        return ROUTE_NONE;
    if (there & ROUTE_END && (next != s->ask->to || stage < s->ask->n_labels))
        return ROUTE_NONE;
    if (edge->cord_m > 0.0 && edge->cord_m > cord_at(s->ask, edge) + 1e-9)
        return ROUTE_NONE;
    return state_of(s, next, stage, edge->is_hop && next != s->ask->to);
}

static bool keep(struct arena *a, struct search *s, uint32_t slot, struct arrival x)
{
    s->slots[slot] = x;
    return heap_push(a, &s->heap, (struct item){ x.cost, slot });
}

static bool arrive(struct arena *a, struct search *s, uint32_t state, struct arrival x)
{
    const struct arrival best = s->slots[2 * state];
    if (x.cost < best.cost) {
        const bool is_second = isfinite(best.cost) && best.by != x.by;
        return (!is_second || keep(a, s, 2 * state + 1, best)) && keep(a, s, 2 * state, x);
    }
    if (x.by == best.by || x.cost >= s->slots[2 * state + 1].cost)
        return true;
    return keep(a, s, 2 * state + 1, x);
}

/* Does the arrival go on by this edge?  The second best only where the best may not. */
static bool goes_on(const struct search *s, uint32_t slot, uint32_t edge)
{
    return slot % 2 ? edge == s->slots[slot - 1].by : edge != s->slots[slot].by;
}

static bool spread(struct arena *a, struct search *s)
{
    const uint32_t goal = state_of(s, s->ask->to, s->ask->n_labels, false);
    if (!keep(a, s, 2 * state_of(s, s->ask->from, 0, false), (struct arrival){ 0.0, ROUTE_NONE, ROUTE_NONE }))
        return false;
    while (s->heap.n) {
        const struct item top = heap_pop(&s->heap);
        const uint32_t state = top.state / 2, node = state / 2 / s->n_stages;
        if (top.cost > s->slots[top.state].cost)
            continue;
        if (state == goal)
            break;
        for (uint32_t i = s->net->first[node]; i < s->net->first[node + 1]; i++) {
            const uint32_t e = s->net->out[i];
            if (!goes_on(s, top.state, e))
                continue;
            const uint32_t next = state_after(s, state, &s->net->edges.v[e]);
            if (next != ROUTE_NONE && !arrive(a, s, next, (struct arrival){ top.cost + s->edge_cost[e], e, top.state }))
                return false;
        }
    }
    return true;
}

static void trace_back(const struct search *s, uint32_t goal, struct route_way *out)
{
    out->is_found = true;
    out->price = s->slots[goal].cost;
    for (uint32_t at = goal; s->slots[at].by != ROUTE_NONE; at = s->slots[at].from)
        out->edges[out->n++] = s->slots[at].by;
    for (uint32_t i = 0; i < out->n / 2; i++) {
        const uint32_t swap = out->edges[i];
        out->edges[i] = out->edges[out->n - 1 - i];
        out->edges[out->n - 1 - i] = swap;
    }
}

bool route_shortest(struct arena *a, const struct route_net *net, const struct route_ask *ask, const double *work_price,
                    struct route_way *out)
{
    const size_t n = n_slots(net, ask);
    *out = (struct route_way){ .edges = ARENA_ARRAY(a, uint32_t, route_way_max(net, ask)) };
    const struct arena_mark mark = arena_mark(a);
    struct search s = { .net = net, .ask = ask, .n_stages = ask->n_labels + 1 };
    s.edge_cost = ARENA_ARRAY(a, double, net->edges.n);
    s.slots = ARENA_ARRAY(a, struct arrival, n);
    bool ok = out->edges && s.edge_cost && s.slots;
    for (uint32_t e = 0; ok && e < net->edges.n; e++)
        s.edge_cost[e] = edge_cost(net, ask, work_price, e);
    for (size_t i = 0; ok && i < n; i++)
        s.slots[i] = (struct arrival){ INFINITY, ROUTE_NONE, ROUTE_NONE };
    ok = ok && spread(a, &s);
    const uint32_t goal = 2 * state_of(&s, ask->to, ask->n_labels, false);
    if (ok && isfinite(s.slots[goal].cost))
        trace_back(&s, goal, out);
    arena_reset(a, mark);
    return ok;
}

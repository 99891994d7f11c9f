/* Prints random networks and the cheapest way that the library finds through each, one JSON object after the other, for a program that
 * knows nothing of it to judge:  route_report SEED COUNT */
#include <stdio.h>
#include <stdlib.h>

#include "base/json.h"
#include "base/random.h"
#include "wire/route_net.h"

static bool random_net(struct arena *a, struct random *r, struct route_net *net)
{
    *net = (struct route_net){ .n_nodes = 2 + random_below(r, 60) };
    const uint32_t n_edges = 1 + random_below(r, 4 * net->n_nodes);
    for (uint32_t e = 0; e < n_edges; e++) {
        struct route_edge edge = { .a = random_below(r, net->n_nodes),
                                   .b = random_below(r, net->n_nodes),
                                   .length_m = random_between(r, 0.0, 9.0),
                                   .price = random_between(r, 0.0, 20.0),
                                   .label = ROUTE_NONE,
                                   .work = net->works.n,
                                   .n_work = random_below(r, 3) };
        for (uint32_t w = 0; w < edge.n_work; w++)
            if (!VEC_PUSH(a, &net->works, (struct route_work){ random_between(r, 0.0, 30.0) }))
                return false;
        if (!VEC_PUSH(a, &net->edges, edge))
            return false;
    }
    return route_net_close(a, net);
}

static void write_case(struct buf *out, const struct route_net *net, const struct route_ask *ask,
                       const struct route_way *way)
{
    struct json j = { .out = out };
    json_begin_object(&j, NULL);
    json_int(&j, "nodes", net->n_nodes);
    json_int(&j, "from", ask->from);
    json_int(&j, "to", ask->to);
    json_fixed(&j, "price_per_m", ask->price_per_m, 12);
    json_begin_array(&j, "edges");
    for (uint32_t e = 0; e < net->edges.n; e++) {
        const struct route_edge *edge = &net->edges.v[e];
        double works = 0.0;
        for (uint32_t w = edge->work; w < edge->work + edge->n_work; w++)
            works += net->works.v[w].price;
        json_begin_object(&j, NULL);
        json_int(&j, "a", edge->a);
        json_int(&j, "b", edge->b);
        json_fixed(&j, "length_m", edge->length_m, 12);
        json_fixed(&j, "price", edge->price, 12);
        json_fixed(&j, "works", works, 12);
        json_end_object(&j);
    }
    json_end_array(&j);
    json_fixed(&j, "found", way->is_found ? way->price : -1.0, 12);
    json_begin_array(&j, "way");
    for (uint32_t i = 0; i < way->n; i++)
        json_int(&j, NULL, way->edges[i]);
    json_end_array(&j);
    json_end_object(&j);
    buf_char(out, '\n');
}

int main(int argc, char **argv)
{
    const uint64_t seed = argc > 1 ? strtoull(argv[1], NULL, 10) : 1;
    const uint32_t count = argc > 2 ? (uint32_t)strtoul(argv[2], NULL, 10) : 200;
    struct arena *a = arena_new((size_t)64 << 20);
    for (uint32_t i = 0; a && i < count; i++) {
        const struct arena_mark mark = arena_mark(a);
        struct random r = { .seed = seed, .stream = i };
        struct route_net net;
        struct route_way way;
        struct buf out = { .arena = a };
        if (!random_net(a, &r, &net))
            return 2;
        const struct route_ask ask = { .from = random_below(&r, net.n_nodes),
                                       .to = random_below(&r, net.n_nodes),
                                       .price_per_m = random_between(&r, 0.1, 2.0) };
        if (!route_shortest(a, &net, &ask, NULL, &way))
            return 2;
        write_case(&out, &net, &ask, &way);
        if (out.failed)
            return 2;
        fwrite(out.p, 1, out.n, stdout);
        arena_reset(a, mark);
    }
    arena_free(a);
    return 0;
}

#include "wire/cable_tree.h"

#include <string.h>

uint32_t tree_thing_of(const struct house *h, const struct cable_end *end)
{
    if (end->equipment != NO_REF)
        return end->equipment;
    return end->device == NO_REF ? NO_REF : tree_device(h, end->device);
}

uint32_t tree_gateway(const struct house *h)
{
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (h->equipment.v[e].part.i != NO_REF ? h->parts.list.v[h->equipment.v[e].part.i].kind == PART_GATEWAY
                                               : str_is(h->equipment.v[e].kind, "gateway"))
            return e;
    return NO_REF;
}

uint32_t tree_root(const struct house *h)
{
    const uint32_t gateway = tree_gateway(h);
    uint32_t best = NO_REF, most = 0;
    for (uint32_t e = 0; gateway == NO_REF && e < h->equipment.n; e++) {
        const uint32_t part = h->equipment.v[e].part.i;
        uint32_t n = 0;
        for (uint32_t c = 0; c < h->cables.n; c++)
            n += h->cables.v[c].from.equipment == e || h->cables.v[c].to.equipment == e;
        if (part != NO_REF && h->parts.list.v[part].kind == PART_SWITCH && (best == NO_REF || n > most)) {
            best = e;
            most = n;
        }
    }
    return gateway == NO_REF ? best : gateway;
}

static bool is_dead(const bool *dead, uint32_t i) { return dead && dead[i]; }

struct hanging {
    struct cable_tree *tree;
    const bool *dead_thing, *dead_cable;
};

/* Joins what hangs on a joined thing by this cable. */
static void join(struct hanging *k, uint32_t at, uint32_t cable)
{
    struct cable_tree *t = k->tree;
    const struct cable *c = &t->h->cables.v[cable];
    const uint32_t from = tree_thing_of(t->h, &c->from), to = tree_thing_of(t->h, &c->to);
    const uint32_t other = from == at ? to : to == at ? from : NO_REF;
    if (at >= t->h->equipment.n || !tree_is_joined(t, at) || other == NO_REF || tree_is_joined(t, other) ||
        is_dead(k->dead_cable, cable) || is_dead(k->dead_thing, other))
        return;
    t->parent[other] = at;
    t->parent_cable[other] = cable;
    t->order[t->n_order++] = other;
}

/* The first cable at rest that leads to something not joined yet. */
static void wake_one(struct hanging *k)
{
    const struct house *h = k->tree->h;
    const uint32_t before = k->tree->n_order;
    for (uint32_t c = 0; c < h->cables.n && k->tree->n_order == before; c++) {
        const uint32_t ends[2] = { tree_thing_of(h, &h->cables.v[c].from), tree_thing_of(h, &h->cables.v[c].to) };
        for (int e = 0; e < 2 && h->cables.v[c].rests && k->tree->n_order == before; e++)
            if (ends[e] != NO_REF)
                join(k, ends[e], c);
    }
}

bool cable_tree_hang(struct arena *a, const struct house *h, uint32_t root, const bool *dead_thing,
                     const bool *dead_cable, struct cable_tree *out)
{
    const uint32_t n = h->equipment.n + h->devices.n;
    struct hanging k = { out, dead_thing, dead_cable };
    *out = (struct cable_tree){ .h = h,
                                .n_things = n,
                                .gateway = NO_REF,
                                .parent = ARENA_ARRAY(a, uint32_t, n),
                                .parent_cable = ARENA_ARRAY(a, uint32_t, n),
                                .order = ARENA_ARRAY(a, uint32_t, n) };
    if (!out->parent || !out->parent_cable || !out->order)
        return false;
    memset(out->parent, 0xff, n * sizeof *out->parent);
    memset(out->parent_cable, 0xff, n * sizeof *out->parent_cable);
    if (root == NO_REF || is_dead(dead_thing, root))
        return true;
    out->gateway = root;
    out->order[out->n_order++] = root;
    for (uint32_t done = 0; done < out->n_order; done++) {
        for (uint32_t c = 0; c < h->cables.n; c++)
            if (!h->cables.v[c].rests)
                join(&k, out->order[done], c);
        if (done + 1 == out->n_order)
            wake_one(&k);
    }
    return true;
}

bool cable_tree_make(struct arena *a, const struct house *h, const bool *dead_thing, const bool *dead_cable,
                     struct cable_tree *out)
{
    return cable_tree_hang(a, h, tree_gateway(h), dead_thing, dead_cable, out);
}

static uint32_t depth_of(const struct cable_tree *t, uint32_t thing)
{
    uint32_t depth = 0;
    for (; t->parent[thing] != NO_REF; thing = t->parent[thing])
        depth++;
    return depth;
}

bool tree_way(struct arena *a, const struct cable_tree *t, uint32_t from, uint32_t to, cable_way *out)
{
    *out = (cable_way){ 0 };
    if (!tree_is_joined(t, from) || !tree_is_joined(t, to))
        return true;
    uint32_t up = depth_of(t, from), down = depth_of(t, to);
    const uint32_t all = up + down;
    uint32_t n = 0, tail = all; /* the way down is found from its end */
    out->v = ARENA_ARRAY(a, uint32_t, all);
    if (!out->v)
        return false;
    while (from != to)
        if (up >= down) {
            out->v[n++] = t->parent_cable[from];
            from = t->parent[from];
            up--;
        } else {
            out->v[--tail] = t->parent_cable[to];
            to = t->parent[to];
            down--;
        }
    while (tail < all)
        out->v[n++] = out->v[tail++];
    out->n = n;
    return true;
}

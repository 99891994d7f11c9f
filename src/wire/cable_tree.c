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
        if (h->equipment.v[e].part.i != NO_REF && h->parts.list.v[h->equipment.v[e].part.i].kind == PART_GATEWAY)
            return e;
    return NO_REF;
}

static bool is_dead(const bool *dead, uint32_t i) { return dead && dead[i]; }

bool cable_tree_hang(struct arena *a, const struct house *h, uint32_t root, const bool *dead_thing,
                     const bool *dead_cable, struct cable_tree *out)
{
    const uint32_t n = h->equipment.n + h->devices.n;
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
        const uint32_t at = out->order[done];
        for (uint32_t c = 0; at < h->equipment.n && c < h->cables.n; c++) {
            const uint32_t from = tree_thing_of(h, &h->cables.v[c].from), to = tree_thing_of(h, &h->cables.v[c].to);
            const uint32_t other = from == at ? to : to == at ? from : NO_REF;
            if (other == NO_REF || tree_is_joined(out, other) || is_dead(dead_cable, c) || is_dead(dead_thing, other))
                continue;
            out->parent[other] = at;
            out->parent_cable[other] = c;
            out->order[out->n_order++] = other;
        }
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

/* How the house hangs together, on random cables with loops, loose ends and dead things: against shortest ways by repeated
 * relaxation over all pairs (R. W. Floyd, "Algorithm 97", CACM 5(6), 1962, from memory). */
#include "base/units.h"
#include "check.h"
#include "wire/cable_tree.h"

enum { EQUIPMENT_MAX = 8, DEVICES_MAX = 6, CABLES_MAX = 20, THINGS_MAX = EQUIPMENT_MAX + DEVICES_MAX, FAR = 1000 };

static struct cable_end some_end(struct random *r, const struct house *h)
{
    const uint32_t i = (uint32_t)random_below(r, h->equipment.n + h->devices.n + 1); /* the last: nothing */
    return (struct cable_end){ .equipment = i < h->equipment.n ? i : NO_REF,
                               .device = i >= h->equipment.n && i < h->equipment.n + h->devices.n ? i - h->equipment.n
                                                                                                  : NO_REF,
                               .port = RT_NOT_GIVEN };
}

static struct house *some_house(struct arena *a, struct random *r)
{
    struct house *h = ARENA_NEW(a, struct house);
    h->parts.list.v = ARENA_ARRAY(a, struct part, 2);
    h->parts.list.n = 2;
    h->parts.list.v[0].kind = PART_SWITCH;
    h->parts.list.v[1].kind = PART_GATEWAY;
    h->equipment.n = 1 + (uint32_t)random_below(r, EQUIPMENT_MAX);
    h->devices.n = (uint32_t)random_below(r, DEVICES_MAX + 1);
    h->cables.n = (uint32_t)random_below(r, CABLES_MAX + 1);
    h->equipment.v = ARENA_ARRAY(a, struct equipment, h->equipment.n);
    h->devices.v = ARENA_ARRAY(a, struct device, h->devices.n);
    h->cables.v = ARENA_ARRAY(a, struct cable, h->cables.n);
    const uint32_t gateway = (uint32_t)random_below(r, h->equipment.n);
    for (uint32_t e = 0; e < h->equipment.n; e++)
        h->equipment.v[e].part.i = e == gateway ? 1 : random_below(r, 2) ? NO_REF : 0;
    for (uint32_t c = 0; c < h->cables.n; c++)
        h->cables.v[c] = (struct cable){ .from = some_end(r, h), .to = some_end(r, h) };
    return h;
}

/* Cables between each two things; nothing passes through a device. */
static void all_ways(const struct house *h, const bool *dead_thing, const bool *dead_cable,
                     unsigned ways[THINGS_MAX][THINGS_MAX])
{
    const uint32_t n = h->equipment.n + h->devices.n;
    for (uint32_t i = 0; i < n; i++)
        for (uint32_t j = 0; j < n; j++)
            ways[i][j] = i == j ? 0 : FAR;
    for (uint32_t c = 0; c < h->cables.n; c++) {
        const uint32_t a = tree_thing_of(h, &h->cables.v[c].from), b = tree_thing_of(h, &h->cables.v[c].to);
        if (a != NO_REF && b != NO_REF && a != b && !dead_cable[c] && !dead_thing[a] && !dead_thing[b])
            ways[a][b] = ways[b][a] = 1;
    }
    for (uint32_t k = 0; k < h->equipment.n; k++)
        for (uint32_t i = 0; i < n; i++)
            for (uint32_t j = 0; j < n; j++)
                if (ways[i][k] + ways[k][j] < ways[i][j])
                    ways[i][j] = ways[i][k] + ways[k][j];
}

PROP(tree_holds_the_shortest_ways, 3000)
{
    struct check_run c = check_run_begin();
    const struct house *h = some_house(c.run.arena, r);
    bool dead_thing[THINGS_MAX] = { false }, dead_cable[CABLES_MAX] = { false };
    const bool some_die = random_below(r, 2) == 0;
    for (uint32_t i = 0; i < THINGS_MAX; i++)
        dead_thing[i] = some_die && random_below(r, 6) == 0;
    for (uint32_t i = 0; i < CABLES_MAX; i++)
        dead_cable[i] = some_die && random_below(r, 6) == 0;
    struct cable_tree t;
    CHECK("made", cable_tree_make(c.run.arena, h, some_die ? dead_thing : NULL, some_die ? dead_cable : NULL, &t));
    const uint32_t gateway = tree_gateway(h);
    CHECK("its root is the gateway, if that lives", t.gateway == (dead_thing[gateway] ? NO_REF : gateway));
    unsigned ways[THINGS_MAX][THINGS_MAX];
    all_ways(h, dead_thing, dead_cable, ways);
    uint32_t n_joined = 0;
    for (uint32_t i = 0; i < t.n_things; i++) {
        const bool is_near = t.gateway != NO_REF && ways[t.gateway][i] < FAR;
        CHECK("joined if there is a way", tree_is_joined(&t, i) == is_near);
        n_joined += is_near;
        if (!is_near || i == t.gateway)
            continue;
        const struct cable *k = &h->cables.v[t.parent_cable[i]];
        const uint32_t a = tree_thing_of(h, &k->from), b = tree_thing_of(h, &k->to);
        CHECK("its cable leads to its parent", (a == i && b == t.parent[i]) || (b == i && a == t.parent[i]));
        CHECK("one cable nearer", ways[t.gateway][t.parent[i]] + 1 == ways[t.gateway][i]);
        CHECK("nothing hangs on a device", t.parent[i] < h->equipment.n);
    }
    CHECK("all joined things are in the order", t.n_order == n_joined);
    for (uint32_t k = 1; k < t.n_order; k++)
        CHECK("nearest first", ways[t.gateway][t.order[k - 1]] <= ways[t.gateway][t.order[k]]);
    check_run_end(&c);
}

TEST(house_without_a_gateway_joins_nothing)
{
    struct check_run c = check_run_begin();
    struct house *h = ARENA_NEW(c.run.arena, struct house);
    struct cable_tree t;
    CHECK("made", cable_tree_make(c.run.arena, h, NULL, NULL, &t));
    CHECK("no root", t.gateway == NO_REF && t.n_order == 0 && t.n_things == 0);
    check_run_end(&c);
}

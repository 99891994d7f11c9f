/* placing_kit.h - random small placings, with everything that one may ask for. */
#ifndef RT_PLACING_KIT_H
#define RT_PLACING_KIT_H

#include "base/random.h"
#include "check.h"
#include "design/placing.h"

enum { KIT_SITES = 4, KIT_OFFERS = 7, KIT_HUBS = 2, KIT_SORTS = 3, KIT_PROMISES = 5 };

struct kit {
    struct arena *a;
    struct random *r;
    struct placing q;
};

static inline uint32_t kit_below(struct kit *k, uint32_t n) { return random_below(k->r, n); }
static inline bool kit_once_in(struct kit *k, uint32_t n) { return random_below(k->r, n) == 0; }

#define KIT_LIST(k, list, type, count)                    \
    do {                                                  \
        (list)->n = (count);                              \
        (list)->v = ARENA_ARRAY((k)->a, type, (list)->n); \
    } while (0)

static inline struct place_ports kit_ports(struct kit *k)
{
    static const double SPEEDS[] = { 100, 1000, 2500 };
    static const int CLASSES[] = { -1, 3, 4, 4 };
    return (struct place_ports){ 1 + kit_below(k, 4), CLASSES[kit_below(k, 4)], SPEEDS[kit_below(k, 3)] };
}

static inline void kit_switches(struct kit *k)
{
    KIT_LIST(k, &k->q.switches, struct place_switch, KIT_SORTS);
    for (uint32_t s = 0; s < KIT_SORTS; s++) {
        struct place_switch *is = &k->q.switches.v[s];
        *is = (struct place_switch){ .part = s,
                                     .price = 20 + 5 * (int64_t)kit_below(k, 20),
                                     .poe_budget_w = kit_once_in(k, 6) ? 0 : 15 + 7.3 * kit_below(k, 8),
                                     .n_up = kit_below(k, 2) };
        KIT_LIST(k, &is->ports, struct place_ports, 1 + kit_below(k, 2));
        for (uint32_t g = 0; g < is->ports.n; g++)
            is->ports.v[g] = kit_ports(k);
        is->ports.v[0].count += 1 + kit_below(k, 4);
    }
    k->q.switches.v[KIT_SORTS - 1].price = 0; /* there already */
}

static inline void kit_hubs(struct kit *k)
{
    KIT_LIST(k, &k->q.hubs, struct place_hub, 1 + kit_below(k, KIT_HUBS));
    for (uint32_t h = 0; h < k->q.hubs.n; h++) {
        struct place_hub *is = &k->q.hubs.v[h];
        *is = (struct place_hub){ .is_core = h == 0,
                                  .spare = kit_below(k, 2),
                                  .headroom_share = 0.1 * kit_below(k, 3),
                                  .price = h ? kit_below(k, 60) : 0,
                                  .most = 1 + kit_below(k, 2) };
        if (h == 0 && !kit_once_in(k, 4))
            is->free = (struct place_ports){ 1 + kit_below(k, 4), -1, 1000 };
        KIT_LIST(k, &is->switches, uint32_t, KIT_SORTS - 1);
        for (uint32_t s = 0; s + 1 < KIT_SORTS; s++)
            is->switches.v[s] = s;
        if (kit_once_in(k, 3)) {
            KIT_LIST(k, &is->there, uint32_t, 1);
            is->there.v[0] = KIT_SORTS - 1;
        }
    }
}

static inline void kit_offers(struct kit *k)
{
    k->q.n_sites = 2 + kit_below(k, KIT_SITES - 1);
    k->q.n_pieces = kit_below(k, 2);
    KIT_LIST(k, &k->q.offers, struct place_offer, k->q.n_sites + kit_below(k, KIT_OFFERS - KIT_SITES + 1));
    for (uint32_t o = 0; o < k->q.offers.n; o++)
        k->q.offers.v[o] = (struct place_offer){ .site = o < k->q.n_sites ? o : kit_below(k, k->q.n_sites),
                                                 .part = o,
                                                 .piece = k->q.n_pieces && kit_once_in(k, 3) ? 0 : NO_REF,
                                                 .price = kit_once_in(k, 5) ? 0 : 10 * (int64_t)(3 + kit_below(k, 6)),
                                                 .poe_class = kit_once_in(k, 4) ? -1 : 3 + (int)kit_below(k, 2),
                                                 .power_w = 3.7 + 2.9 * kit_below(k, 5),
                                                 .speed_mbps = kit_once_in(k, 2) ? 1000 : 2500,
                                                 .sent_w = 0.05 * (1 + kit_below(k, 4)) };
    k->q.offers.v[0].is_fixed = kit_once_in(k, 4);
}

static inline void kit_things(struct kit *k)
{
    const uint32_t n_devices = kit_below(k, 3), n_hubs = k->q.hubs.n;
    KIT_LIST(k, &k->q.things, struct place_thing, k->q.n_sites + n_devices + n_hubs - 1);
    KIT_LIST(k, &k->q.works, int64_t, 3);
    KIT_LIST(k, &k->q.links, struct place_link, k->q.things.n * n_hubs);
    KIT_LIST(k, &k->q.cablings, struct place_cabling, 1);
    for (uint32_t w = 0; w < 3; w++)
        k->q.works.v[w] = 5 * (int64_t)kit_below(k, 12);
    struct place_cabling *cabling = &k->q.cablings.v[0];
    cabling->n_parts = 1 + kit_below(k, 2);
    cabling->parts = ARENA_ARRAY(k->a, struct place_cable_part, 2);
    cabling->parts[0] = (struct place_cable_part){ 0, 40 + kit_below(k, 30), 25.0 };
    cabling->parts[1] = (struct place_cable_part){ 1, 3 + kit_below(k, 3), 1.0 };
    k->q.links.n = 0;
    for (uint32_t t = 0; t < k->q.things.n; t++) {
        struct place_thing *is = &k->q.things.v[t];
        *is = (struct place_thing){
            .site = NO_REF, .device = NO_REF, .hub = NO_REF, .poe_class = -1, .speed_mbps = 1000
        };
        if (t < k->q.n_sites) {
            is->site = t;
        } else if (t < k->q.n_sites + n_devices) {
            is->device = t - k->q.n_sites;
            is->poe_class = kit_once_in(k, 3) ? 3 : -1;
            is->power_w = 4.4;
            is->speed_mbps = kit_once_in(k, 2) ? 100 : 1000;
        } else {
            is->hub = t - k->q.n_sites - n_devices + 1;
        }
        KIT_LIST(k, &is->links, uint32_t, 0);
        is->links.v = ARENA_ARRAY(k->a, uint32_t, n_hubs);
        for (uint32_t h = 0; h < n_hubs; h++) {
            if (h == is->hub || (h && kit_once_in(k, 4)))
                continue;
            const bool is_bought = !kit_once_in(k, 6);
            is->links.v[is->links.n++] = k->q.links.n;
            struct place_link *l = &k->q.links.v[k->q.links.n++];
            *l = (struct place_link){ .thing = t,
                                      .hub = h,
                                      .price = is_bought ? kit_below(k, 25) : 0,
                                      .length_m = is_bought ? 0.1 * kit_below(k, 200) : 0,
                                      .cabling = is_bought ? 0 : NO_REF };
            KIT_LIST(k, &l->works, uint32_t, 0);
            l->works.v = ARENA_ARRAY(k->a, uint32_t, 3);
            for (uint32_t w = 0; w < 3; w++)
                if (kit_once_in(k, 3))
                    l->works.v[l->works.n++] = w;
        }
    }
}

/* Clauses of one or two sites: offers of each site with a chance. */
static inline void kit_clause(struct kit *k, struct place_clause *c, uint32_t at_least)
{
    c->at_least = at_least;
    c->offers.v = ARENA_ARRAY(k->a, uint32_t, k->q.offers.n);
    for (uint32_t o = 0; o < k->q.offers.n; o++)
        if (kit_below(k, 6) < 3 + at_least)
            c->offers.v[c->offers.n++] = o;
}

static inline void kit_needs(struct kit *k)
{
    KIT_LIST(k, &k->q.needs, struct place_need, 1 + kit_below(k, 3));
    for (uint32_t n = 0; n < k->q.needs.n; n++) {
        struct place_need *need = &k->q.needs.v[n];
        uint32_t weight = 0;
        *need = (struct place_need){ .promise = kit_below(k, KIT_PROMISES - 1),
                                     .room = n,
                                     .bears_loss = kit_once_in(k, 4) };
        const bool roams = kit_once_in(k, 5);
        KIT_LIST(k, &need->cells, struct place_cell, 1 + kit_below(k, 6));
        for (uint32_t i = 0; i < need->cells.n; i++) {
            struct place_cell *cell = &need->cells.v[i];
            cell->weight = 1 + kit_below(k, 9);
            weight += cell->weight;
            KIT_LIST(k, &cell->clauses, struct place_clause, 1 + kit_below(k, 2));
            for (uint32_t c = 0; c < cell->clauses.n; c++)
                kit_clause(k, &cell->clauses.v[c], roams ? 2 : kit_once_in(k, 12) ? 3 : 1);
        }
        need->wanted = weight * (10 + kit_below(k, 7)) / 20;
    }
}

/* The promise KIT_PROMISES - 1 is the budget's. */
static inline struct kit kit_placing(struct arena *a, struct random *r)
{
    struct kit k = { .a = a, .r = r };
    kit_switches(&k);
    kit_hubs(&k);
    kit_offers(&k);
    kit_things(&k);
    kit_needs(&k);
    k.q.owing = kit_below(&k, 50);
    k.q.at_most = kit_once_in(&k, 4) ? 200 + 10 * (int64_t)kit_below(&k, 30) : INT64_MAX;
    k.q.budget_promise = kit_once_in(&k, 5) ? NO_REF : KIT_PROMISES - 1;
    return k;
}

#endif

/* placing_house_kit.h - a placing as a house of a dozen rooms on three floors might ask it: the field of each site by distance, walls
 * and floors, with some chance in it.  For speed and for what holds in the large; small ones with every odd case: placing_kit.h. */
#ifndef RT_PLACING_HOUSE_KIT_H
#define RT_PLACING_HOUSE_KIT_H

#include <math.h>

#include "placing_kit.h"

enum { HOUSE_FLOORS = 3, HOUSE_ROOMS = 4, HOUSE_HUBS = 3, HOUSE_WORKS = 40 };
#define HOUSE_ROOM_M 5.0

struct kit_house {
    uint32_t n_sites, n_offers, n_devices, cells_a_side;
    double share;
    bool bears_loss; /* the rooms of the first floor bear the loss of any one access point */
    bool roams;      /* in two rooms, two are to be heard */
};

/* Rooms of a floor stand two by two. */
static inline double kit_room_x_m(uint32_t room) { return HOUSE_ROOM_M * (room % 2); }
static inline double kit_room_y_m(uint32_t room) { return HOUSE_ROOM_M * (room % HOUSE_ROOMS / 2); }

struct kit_spot {
    double x_m, y_m;
    uint32_t floor;
};

static inline double kit_loss_db(struct kit *k, struct kit_spot a, struct kit_spot b)
{
    const double floors = fabs((double)a.floor - (double)b.floor);
    const double d_m = hypot(hypot(a.x_m - b.x_m, a.y_m - b.y_m), 2.8 * floors);
    const int walls =
        ((a.x_m < HOUSE_ROOM_M) != (b.x_m < HOUSE_ROOM_M)) + ((a.y_m < HOUSE_ROOM_M) != (b.y_m < HOUSE_ROOM_M));
    return 47 + 22 * log10(fmax(d_m, 1)) + 8 * walls + 14 * floors + random_between(k->r, -4, 4);
}

static inline void kit_house_switches(struct kit *k)
{
    static const struct place_ports PORTS[] = {
        { 5, -1, 1000 }, { 8, -1, 1000 }, { 8, 4, 1000 }, { 16, 4, 1000 }, { 24, 4, 1000 }
    };
    static const int64_t PRICES[] = { 1900, 2900, 8900, 15900, 24900 };
    static const double BUDGETS_W[] = { 0, 0, 62, 120, 190 };
    KIT_LIST(k, &k->q.switches, struct place_switch, 5);
    for (uint32_t s = 0; s < 5; s++) {
        k->q.switches.v[s] = (struct place_switch){ .part = s, .price = PRICES[s], .poe_budget_w = BUDGETS_W[s] };
        KIT_LIST(k, &k->q.switches.v[s].ports, struct place_ports, 1);
        k->q.switches.v[s].ports.v[0] = PORTS[s];
    }
    KIT_LIST(k, &k->q.hubs, struct place_hub, HOUSE_HUBS);
    for (uint32_t h = 0; h < HOUSE_HUBS; h++) {
        k->q.hubs.v[h] = (struct place_hub){
            .is_core = h == 0, .spare = 1, .headroom_share = 0.1, .price = h ? 6000 : 0, .most = 3
        };
        if (h == 0)
            k->q.hubs.v[h].free = (struct place_ports){ 4, -1, 1000 };
        KIT_LIST(k, &k->q.hubs.v[h].switches, uint32_t, 5);
        for (uint32_t s = 0; s < 5; s++)
            k->q.hubs.v[h].switches.v[s] = s;
    }
}

static inline void kit_house_links(struct kit *k, const struct kit_spot *spots)
{
    KIT_LIST(k, &k->q.works, int64_t, HOUSE_WORKS);
    for (uint32_t w = 0; w < HOUSE_WORKS; w++)
        k->q.works.v[w] = 500 * (int64_t)(1 + kit_below(k, 10));
    KIT_LIST(k, &k->q.cablings, struct place_cabling, 1);
    k->q.cablings.v[0].n_parts = 3;
    k->q.cablings.v[0].parts = ARENA_ARRAY(k->a, struct place_cable_part, 3);
    k->q.cablings.v[0].parts[0] = (struct place_cable_part){ 0, 8900, 305 };
    k->q.cablings.v[0].parts[1] = (struct place_cable_part){ 1, 3900, 100 };
    k->q.cablings.v[0].parts[2] = (struct place_cable_part){ 2, 65, 1 };
    KIT_LIST(k, &k->q.links, struct place_link, k->q.things.n * HOUSE_HUBS);
    k->q.links.n = 0;
    for (uint32_t t = 0; t < k->q.things.n; t++) {
        struct place_thing *is = &k->q.things.v[t];
        is->links.v = ARENA_ARRAY(k->a, uint32_t, HOUSE_HUBS);
        for (uint32_t h = 0; h < HOUSE_HUBS; h++) {
            if (h == is->hub || (is->hub != NO_REF && h))
                continue;
            const double length_m =
                fabs(spots[t].x_m - 2.0 * h) + fabs(spots[t].y_m - 1) + 3.0 * fabs((double)spots[t].floor - h) + 4;
            is->links.v[is->links.n++] = k->q.links.n;
            struct place_link *l = &k->q.links.v[k->q.links.n++];
            *l = (struct place_link){ .thing = t,
                                      .hub = h,
                                      .price = 1500 + 100 * (int64_t)kit_below(k, 20),
                                      .length_m = length_m,
                                      .cabling = 0 };
            KIT_LIST(k, &l->works, uint32_t, 5);
            /* Works are near where the cable begins and on the floors between. */
            const uint32_t at_x = spots[t].x_m >= HOUSE_ROOM_M, at_y = spots[t].y_m >= HOUSE_ROOM_M;
            const uint32_t near = (spots[t].floor * HOUSE_ROOMS + at_x + 2 * at_y) * 3;
            l->works.v[0] = near + kit_below(k, 3);
            l->works.n = 1;
            for (uint32_t f = spots[t].floor < h ? spots[t].floor : h; f < (spots[t].floor < h ? h : spots[t].floor);
                 f++)
                l->works.v[l->works.n++] = HOUSE_FLOORS * HOUSE_ROOMS * 3 + f;
        }
    }
}

static inline void kit_house_need(struct kit *k, const struct kit_house *h, const double *loss_db, uint32_t room,
                                  double most_db, uint32_t at_least, struct place_need *need)
{
    const uint32_t n_cells = h->cells_a_side * h->cells_a_side;
    KIT_LIST(k, &need->cells, struct place_cell, n_cells);
    need->room = room;
    for (uint32_t c = 0; c < n_cells; c++) {
        struct place_cell *cell = &need->cells.v[c];
        cell->weight = 1;
        KIT_LIST(k, &cell->clauses, struct place_clause, 1);
        cell->clauses.v[0].at_least = at_least;
        cell->clauses.v[0].offers.v = ARENA_ARRAY(k->a, uint32_t, k->q.offers.n);
        for (uint32_t o = 0; o < k->q.offers.n; o++)
            /* The dearer part sends more and hears better. */
            if (loss_db[(room * n_cells + c) * h->n_sites + k->q.offers.v[o].site] <=
                most_db + (k->q.offers.v[o].part ? 4 : 0))
                cell->clauses.v[0].offers.v[cell->clauses.v[0].offers.n++] = o;
    }
    need->wanted = (uint32_t)floor(h->share * n_cells);
}

/* Signal in every room (promise 0), rate in every other (1), roaming in two (2), survival on one floor (3). */
static inline void kit_house_needs(struct kit *k, const struct kit_house *h, const struct kit_spot *spots)
{
    const uint32_t n_rooms = HOUSE_FLOORS * HOUSE_ROOMS, n_cells = h->cells_a_side * h->cells_a_side;
    double *loss_db = ARENA_ARRAY(k->a, double, n_rooms *n_cells * h->n_sites);
    for (uint32_t i = 0; i < n_rooms * n_cells; i++)
        for (uint32_t s = 0; s < h->n_sites; s++) {
            const uint32_t room = i / n_cells, c = i % n_cells;
            const double step_m = HOUSE_ROOM_M / h->cells_a_side;
            const struct kit_spot at = { kit_room_x_m(room) + step_m * (c % h->cells_a_side + 0.5),
                                         kit_room_y_m(room) + step_m * (c / h->cells_a_side + 0.5),
                                         room / HOUSE_ROOMS };
            loss_db[i * h->n_sites + s] = kit_loss_db(k, at, spots[s]);
        }
    KIT_LIST(k, &k->q.needs, struct place_need, 3 * n_rooms);
    k->q.needs.n = 0;
    for (uint32_t room = 0; room < n_rooms; room++) {
        struct place_need *need = &k->q.needs.v[k->q.needs.n++];
        need->promise = 0;
        kit_house_need(k, h, loss_db, room, 78, 1, need);
        if (room % 2) {
            need = &k->q.needs.v[k->q.needs.n++];
            need->promise = 1;
            kit_house_need(k, h, loss_db, room, 70, 1, need);
        }
        if (h->roams && room % 6 == 0) {
            need = &k->q.needs.v[k->q.needs.n++];
            need->promise = 2;
            kit_house_need(k, h, loss_db, room, 82, 2, need);
        } else if (h->bears_loss && room / HOUSE_ROOMS == 1) {
            need = &k->q.needs.v[k->q.needs.n++];
            need->promise = 3;
            need->bears_loss = true;
            kit_house_need(k, h, loss_db, room, 80, 1, need);
        }
    }
}

static inline struct kit kit_house_placing(struct arena *a, struct random *r, const struct kit_house *h)
{
    struct kit k = { .a = a, .r = r };
    k.q.n_sites = h->n_sites;
    KIT_LIST(&k, &k.q.offers, struct place_offer, h->n_offers);
    for (uint32_t o = 0; o < h->n_offers; o++)
        k.q.offers.v[o] =
            (struct place_offer){ .site = o % h->n_sites,
                                  .part = o / h->n_sites,
                                  .piece = NO_REF,
                                  .price = (o / h->n_sites ? 21900 : 12900) + 500 * (int64_t)kit_below(&k, 6),
                                  .poe_class = o / h->n_sites ? 4 : 3,
                                  .power_w = o / h->n_sites ? 19.5 : 11.2,
                                  .speed_mbps = o / h->n_sites ? 2500 : 1000,
                                  .sent_w = o / h->n_sites ? 0.4 : 0.2 };
    KIT_LIST(&k, &k.q.things, struct place_thing, h->n_sites + h->n_devices + HOUSE_HUBS - 1);
    struct kit_spot *spots = ARENA_ARRAY(a, struct kit_spot, k.q.things.n);
    for (uint32_t t = 0; t < k.q.things.n; t++) {
        spots[t] = (struct kit_spot){ random_between(r, 0, 2 * HOUSE_ROOM_M), random_between(r, 0, 2 * HOUSE_ROOM_M),
                                      t % HOUSE_FLOORS };
        k.q.things.v[t] = (struct place_thing){ NO_REF, NO_REF, NO_REF, -1, 0, 1000, { NULL, 0 } };
        if (t < h->n_sites) {
            k.q.things.v[t].site = t;
        } else if (t < h->n_sites + h->n_devices) {
            k.q.things.v[t].device = t - h->n_sites;
            k.q.things.v[t].poe_class = t % 4 ? -1 : 3;
            k.q.things.v[t].power_w = 7;
        } else {
            k.q.things.v[t].hub = t - h->n_sites - h->n_devices + 1;
            spots[t] = (struct kit_spot){ 2.0 * k.q.things.v[t].hub, 1, k.q.things.v[t].hub };
        }
    }
    kit_house_switches(&k);
    kit_house_links(&k, spots);
    kit_house_needs(&k, h, spots);
    k.q.owing = 20000;
    k.q.at_most = INT64_MAX;
    k.q.budget_promise = NO_REF;
    return k;
}

#endif

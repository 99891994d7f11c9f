/* Cables and switches for offers already chosen, by a quick search: each thing to the hub that is cheapest for it, then moved one by
 * one as long as that is cheaper; the switches of each hub by trying all small sets, the cheaper ones first. */
#include "design/placing_int.h"

/* What a hub that cannot be made to work weighs: above every price, and many of them still fit 64 bits. */
#define NONE_SUCH (INT64_C(1) << 50)
enum { PASSES = 4, MOST_TRIALS = 2000 };

struct wiring {
    const struct placing *q;
    struct placing_answer *a;
    bool *is_used;   /* [hubs.n] */
    uint32_t *trial; /* [switches.n] */
    uint32_t n_trials;
};

/* ---- switches of one hub ---- */

/* Tries to add to the switches of a hub from sort `from` on; keeps the cheapest that works in w->trial. */
static void try_switches(struct wiring *w, uint32_t hub, uint32_t from, uint32_t left, int64_t price, int64_t *best)
{
    const struct placing *q = w->q;
    const struct place_hub *is = &q->hubs.v[hub];
    uint32_t *now = &w->a->switches[hub * q->switches.n];
    if (price >= *best || w->n_trials++ > MOST_TRIALS)
        return;
    if (place_ports_hold(q, w->a, hub)) {
        *best = price;
        memcpy(w->trial, now, q->switches.n * sizeof *now);
        return; /* more of them only cost more */
    }
    for (uint32_t i = from; i < is->switches.n && left; i++) {
        const uint32_t s = is->switches.v[i];
        now[s]++;
        try_switches(w, hub, i, left - 1, price + q->switches.v[s].price, best);
        now[s]--;
    }
}

static int64_t switch_hub(struct wiring *w, uint32_t hub)
{
    const struct placing *q = w->q;
    uint32_t *now = &w->a->switches[hub * q->switches.n];
    int64_t best = NONE_SUCH;
    memset(now, 0, q->switches.n * sizeof *now);
    if (!w->is_used[hub])
        return 0;
    memset(w->trial, 0, q->switches.n * sizeof *w->trial);
    w->n_trials = 0;
    try_switches(w, hub, 0, q->hubs.v[hub].most, 0, &best);
    memcpy(now, w->trial, q->switches.n * sizeof *now);
    return best;
}

/* ---- links ---- */

/* A cable alone, its metres at the best rate. */
static double price_alone(const struct placing *q, const struct place_link *l)
{
    double sum = (double)l->price, per_m = 0;
    for (uint32_t i = 0; i < l->works.n; i++)
        sum += (double)q->works.v[l->works.v[i]];
    for (uint32_t p = 0; l->cabling != NO_REF && p < q->cablings.v[l->cabling].n_parts; p++) {
        const struct place_cable_part *part = &q->cablings.v[l->cabling].parts[p];
        const double is = (double)part->price / (part->per_m > 0 ? part->per_m : 1);
        per_m = p == 0 || is < per_m ? is : per_m;
    }
    return sum + per_m * l->length_m;
}

double place_cable_estimate(const struct placing *q, const struct place_thing *t, uint32_t *link)
{
    double best = 0;
    *link = NO_REF;
    for (uint32_t i = 0; i < t->links.n; i++) {
        const struct place_link *l = &q->links.v[t->links.v[i]];
        const double is = price_alone(q, l);
        if (l->hub != t->hub && (*link == NO_REF || is < best)) {
            best = is;
            *link = t->links.v[i];
        }
    }
    return best;
}

/* The way up: to a core if there is one, else the cheapest. */
static uint32_t way_up(const struct placing *q, const struct place_thing *t)
{
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < t->links.n; i++) {
        const struct place_link *l = &q->links.v[t->links.v[i]];
        if (l->hub == t->hub)
            continue;
        const struct place_link *b = best == NO_REF ? NULL : &q->links.v[best];
        const bool is_core = q->hubs.v[l->hub].is_core, was_core = b && q->hubs.v[b->hub].is_core;
        if (!b || (is_core && !was_core) || (is_core == was_core && price_alone(q, l) < price_alone(q, b)))
            best = t->links.v[i];
    }
    return best;
}

static void use_hubs(struct wiring *w)
{
    const struct placing *q = w->q;
    for (uint32_t h = 0; h < q->hubs.n; h++)
        w->is_used[h] = q->hubs.v[h].is_core;
    for (uint32_t t = 0; t < q->things.n; t++) {
        if (q->things.v[t].hub != NO_REF)
            w->a->links[t] = NO_REF;
        else if (w->a->links[t] != NO_REF)
            w->is_used[q->links.v[w->a->links[t]].hub] = true;
    }
    for (uint32_t round = 0; round < q->hubs.n; round++)
        for (uint32_t t = 0; t < q->things.n; t++) {
            const struct place_thing *thing = &q->things.v[t];
            if (thing->hub == NO_REF || q->hubs.v[thing->hub].is_core || !w->is_used[thing->hub])
                continue;
            w->a->links[t] = way_up(q, thing);
            if (w->a->links[t] != NO_REF)
                w->is_used[q->links.v[w->a->links[t]].hub] = true;
        }
}

/* Ways up, switches and cable for the links of sites and devices as they are; the price, and NONE_SUCH for each hub that fails. */
static int64_t complete(struct wiring *w)
{
    const struct placing *q = w->q;
    int64_t lacking = 0;
    use_hubs(w);
    for (uint32_t h = 0; h < q->hubs.n; h++)
        lacking += switch_hub(w, h) >= NONE_SUCH ? NONE_SUCH : 0;
    for (uint32_t c = 0; c < q->cablings.n; c++) {
        int64_t sum_mm = 0, price;
        for (uint32_t t = 0; t < q->things.n; t++)
            if (w->a->links[t] != NO_REF && q->links.v[w->a->links[t]].cabling == c)
                sum_mm += place_mm(q->links.v[w->a->links[t]].length_m);
        w->a->cablings[c] = place_best_part(&q->cablings.v[c], sum_mm, &price);
    }
    return lacking + placing_price(q, w->a);
}

/* The best of the other links of a thing; true if it is better than what was. */
static bool move(struct wiring *w, uint32_t t, int64_t *price)
{
    const struct place_thing *thing = &w->q->things.v[t];
    uint32_t best = w->a->links[t];
    const uint32_t was = best;
    for (uint32_t i = 0; i < thing->links.n; i++) {
        if (thing->links.v[i] == was)
            continue;
        w->a->links[t] = thing->links.v[i];
        const int64_t is = complete(w);
        if (is < *price) {
            *price = is;
            best = thing->links.v[i];
        }
    }
    w->a->links[t] = best;
    return best != was;
}

bool place_wire(struct arena *scratch, const struct placing *q, struct placing_answer *a, bool is_thorough)
{
    struct wiring w = { .q = q,
                        .a = a,
                        .is_used = ARENA_ARRAY(scratch, bool, q->hubs.n),
                        .trial = ARENA_ARRAY(scratch, uint32_t, q->switches.n) };
    bool *at = ARENA_ARRAY(scratch, bool, q->n_sites), *is_new = ARENA_ARRAY(scratch, bool, q->things.n);
    if (!w.is_used || !w.trial || !at || !is_new)
        return false;
    for (uint32_t o = 0; o < q->offers.n; o++)
        at[q->offers.v[o].site] |= a->offers[o];
    for (uint32_t t = 0; t < q->things.n; t++) {
        const struct place_thing *thing = &q->things.v[t];
        const bool wants = thing->site != NO_REF ? at[thing->site] : thing->hub == NO_REF;
        is_new[t] = wants && a->links[t] == NO_REF;
        if (is_new[t])
            (void)place_cable_estimate(q, thing, &a->links[t]);
        if (!wants)
            a->links[t] = NO_REF;
        else if (a->links[t] == NO_REF)
            return false;
    }
    int64_t price = complete(&w);
    for (uint32_t t = 0; t < q->things.n; t++)
        if (is_new[t] && q->things.v[t].links.n > 1)
            (void)move(&w, t, &price);
    bool is_better = is_thorough;
    for (int pass = 0; pass < PASSES && is_better; pass++) {
        is_better = false;
        for (uint32_t t = 0; t < q->things.n; t++)
            if (a->links[t] != NO_REF && q->things.v[t].hub == NO_REF && q->things.v[t].links.n > 1)
                is_better |= move(&w, t, &price);
    }
    a->price = complete(&w);
    a->n_boxes = place_n_boxes(q, a);
    return a->price < NONE_SUCH && place_wires_hold(q, a);
}

/* What a choice costs and whether it holds, in plain words and without a solver: the tests hold the program to this. */
#include <math.h>

#include "design/placing_int.h"

/* Shares of ports are compared with this much to spare: far below one port, far above what is lost in rounding. */
#define PORT_SLACK 1e-4

int64_t place_mm(double length_m) { return llround(length_m * 1000.0); }

int64_t place_mw(double power_w) { return llround(power_w * 1000.0); }

int64_t place_budget_mw(const struct place_hub *hub, const struct place_switch *s)
{
    return (int64_t)floor((1.0 - hub->headroom_share) * (double)place_mw(s->poe_budget_w) + 1e-6);
}

static double faster(double so_far_mbps, const struct place_ports *p, int poe_class)
{
    return p->count && p->poe_class >= poe_class && p->speed_mbps > so_far_mbps ? p->speed_mbps : so_far_mbps;
}

double place_speed(const struct placing *q, int poe_class, double speed_mbps)
{
    double fastest_mbps = 0;
    for (uint32_t s = 0; s < q->switches.n; s++)
        for (uint32_t g = 0; g < q->switches.v[s].ports.n; g++)
            fastest_mbps = faster(fastest_mbps, &q->switches.v[s].ports.v[g], poe_class);
    for (uint32_t h = 0; h < q->hubs.n; h++)
        fastest_mbps = faster(fastest_mbps, &q->hubs.v[h].free, poe_class);
    return fmin(speed_mbps, fastest_mbps);
}

struct place_asks place_asks_of(const struct placing *q, const struct place_thing *t, const struct place_offer *offer)
{
    const int poe_class = offer ? offer->poe_class : t->poe_class;
    return (struct place_asks){ poe_class, place_speed(q, poe_class, offer ? offer->speed_mbps : t->speed_mbps),
                                poe_class < 0 ? 0 : place_mw(offer ? offer->power_w : t->power_w) };
}

bool place_is_box(const struct place_offer *o) { return !o->is_fixed && (o->piece == NO_REF || o->price > 0); }

bool place_is_given_up(const bool *given_up, uint32_t promise)
{
    return given_up && promise != NO_REF && given_up[promise];
}

int64_t place_at_most(const struct placing *q, const bool *given_up)
{
    return place_is_given_up(given_up, q->budget_promise) ? INT64_MAX : q->at_most;
}

/* ---- price ---- */

static int64_t price_of_metres(const struct place_cable_part *p, int64_t length_mm)
{
    const int64_t piece_mm = place_mm(p->per_m) > 0 ? place_mm(p->per_m) : 1;
    return (length_mm + piece_mm - 1) / piece_mm * p->price;
}

uint32_t place_best_part(const struct place_cabling *c, int64_t length_mm, int64_t *price)
{
    uint32_t best = 0;
    *price = 0;
    for (uint32_t p = 0; p < c->n_parts; p++) {
        const int64_t is = price_of_metres(&c->parts[p], length_mm);
        if (p == 0 || is < *price) {
            best = p;
            *price = is;
        }
    }
    return best;
}

static int64_t length_of(const struct placing *q, const struct placing_answer *a, uint32_t cabling)
{
    int64_t sum_mm = 0;
    for (uint32_t t = 0; t < q->things.n; t++)
        if (a->links[t] != NO_REF && q->links.v[a->links[t]].cabling == cabling)
            sum_mm += place_mm(q->links.v[a->links[t]].length_m);
    return sum_mm;
}

static bool passes(const struct placing *q, const struct placing_answer *a, uint32_t work)
{
    for (uint32_t t = 0; t < q->things.n; t++)
        for (uint32_t w = 0; a->links[t] != NO_REF && w < q->links.v[a->links[t]].works.n; w++)
            if (q->links.v[a->links[t]].works.v[w] == work)
                return true;
    return false;
}

static uint32_t n_bought(const struct placing *q, const struct placing_answer *a, uint32_t hub)
{
    uint32_t n = 0;
    for (uint32_t s = 0; s < q->switches.n; s++)
        n += a->switches[hub * q->switches.n + s];
    return n;
}

static bool is_used(const struct placing *q, const struct placing_answer *a, uint32_t hub)
{
    bool is = q->hubs.v[hub].is_core || n_bought(q, a, hub);
    for (uint32_t t = 0; t < q->things.n && !is; t++)
        is = a->links[t] != NO_REF && q->links.v[a->links[t]].hub == hub;
    return is;
}

int64_t placing_price(const struct placing *q, const struct placing_answer *a)
{
    int64_t sum = q->owing;
    for (uint32_t o = 0; o < q->offers.n; o++)
        sum += a->offers[o] ? q->offers.v[o].price : 0;
    for (uint32_t t = 0; t < q->things.n; t++)
        sum += a->links[t] != NO_REF ? q->links.v[a->links[t]].price : 0;
    for (uint32_t w = 0; w < q->works.n; w++)
        sum += passes(q, a, w) ? q->works.v[w] : 0;
    for (uint32_t c = 0; c < q->cablings.n; c++)
        if (a->cablings[c] < q->cablings.v[c].n_parts)
            sum += price_of_metres(&q->cablings.v[c].parts[a->cablings[c]], length_of(q, a, c));
    for (uint32_t h = 0; h < q->hubs.n; h++) {
        sum += is_used(q, a, h) ? q->hubs.v[h].price : 0;
        for (uint32_t s = 0; s < q->switches.n; s++)
            sum += (int64_t)a->switches[h * q->switches.n + s] * q->switches.v[s].price;
    }
    return sum;
}

uint32_t place_n_boxes(const struct placing *q, const struct placing_answer *a)
{
    uint32_t n = 0;
    for (uint32_t o = 0; o < q->offers.n; o++)
        n += a->offers[o] && place_is_box(&q->offers.v[o]);
    for (uint32_t h = 0; h < q->hubs.n; h++)
        n += n_bought(q, a, h);
    return n;
}

int64_t place_sent_mw(const struct placing *q, const struct placing_answer *a)
{
    int64_t sum_mw = 0;
    for (uint32_t o = 0; o < q->offers.n; o++)
        sum_mw += a->offers[o] ? place_mw(q->offers.v[o].sent_w) : 0;
    return sum_mw;
}

/* ---- needs ---- */

static bool clause_holds(const struct placing *q, const struct place_clause *c, const bool *offers, uint32_t lost_site)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < c->offers.n; i++) {
        const uint32_t site = q->offers.v[c->offers.v[i]].site;
        bool is_new = offers[c->offers.v[i]] && site != lost_site;
        for (uint32_t k = 0; k < i && is_new; k++)
            is_new = !offers[c->offers.v[k]] || q->offers.v[c->offers.v[k]].site != site;
        n += is_new;
    }
    return n >= c->at_least;
}

static bool is_kept(const struct placing *q, const struct place_need *need, const bool *offers, uint32_t lost_site)
{
    uint64_t served = 0;
    for (uint32_t i = 0; i < need->cells.n; i++) {
        bool is = true;
        for (uint32_t k = 0; k < need->cells.v[i].clauses.n && is; k++)
            is = clause_holds(q, &need->cells.v[i].clauses.v[k], offers, lost_site);
        served += is ? need->cells.v[i].weight : 0;
    }
    return served >= need->wanted;
}

bool placing_need_holds(const struct placing *q, uint32_t need, const bool *offers)
{
    const struct place_need *is = &q->needs.v[need];
    bool ok = is_kept(q, is, offers, NO_REF);
    for (uint32_t o = 0; o < q->offers.n && ok && is->bears_loss; o++)
        ok = !offers[o] || is_kept(q, is, offers, q->offers.v[o].site);
    return ok;
}

static bool offers_hold(const struct placing *q, const bool *offers)
{
    for (uint32_t o = 0; o < q->offers.n; o++) {
        if (q->offers.v[o].is_fixed && !offers[o])
            return false;
        for (uint32_t k = 0; k < o && offers[o]; k++)
            if (offers[k] && (q->offers.v[k].site == q->offers.v[o].site ||
                              (q->offers.v[o].piece != NO_REF && q->offers.v[k].piece == q->offers.v[o].piece)))
                return false;
    }
    return true;
}

/* ---- cables ---- */

static const struct place_offer *offer_at(const struct placing *q, const struct placing_answer *a, uint32_t site)
{
    for (uint32_t o = 0; o < q->offers.n; o++)
        if (a->offers[o] && q->offers.v[o].site == site)
            return &q->offers.v[o];
    return NULL;
}

static bool wants_cable(const struct placing *q, const struct placing_answer *a, const struct place_thing *t)
{
    if (t->site != NO_REF)
        return offer_at(q, a, t->site) != NULL;
    return t->hub == NO_REF || (!q->hubs.v[t->hub].is_core && is_used(q, a, t->hub));
}

static bool links_hold(const struct placing *q, const struct placing_answer *a)
{
    for (uint32_t t = 0; t < q->things.n; t++) {
        const struct place_thing *thing = &q->things.v[t];
        const uint32_t link = a->links[t];
        bool is_own = false;
        for (uint32_t i = 0; i < thing->links.n; i++)
            is_own |= link == thing->links.v[i];
        if (wants_cable(q, a, thing) != (link != NO_REF) || (link != NO_REF && !is_own))
            return false;
    }
    return true;
}

/* The hub that this one's way up comes to; NO_REF: it has none. */
static uint32_t above(const struct placing *q, const struct placing_answer *a, uint32_t hub)
{
    for (uint32_t t = 0; t < q->things.n; t++)
        if (q->things.v[t].hub == hub && a->links[t] != NO_REF)
            return q->links.v[a->links[t]].hub;
    return NO_REF;
}

/* From hub to hub on their ways up, none is met again. */
static bool ways_up_hold(const struct placing *q, const struct placing_answer *a)
{
    for (uint32_t from = 0; from < q->hubs.n; from++) {
        uint32_t hub = from, steps = 0;
        while (hub != NO_REF && !q->hubs.v[hub].is_core && steps <= q->hubs.n) {
            hub = above(q, a, hub);
            steps++;
        }
        if (steps > q->hubs.n)
            return false;
    }
    return true;
}

/* ---- ports ---- */

/* Like ports of a hub, and how many are taken. */
struct group {
    const struct place_ports *like;
    uint32_t count, taken;
};

/* What sits in ports: each in one group, moved on when another finds no other place (augmenting paths). */
struct seats {
    struct group *groups;
    uint32_t n_groups;
    struct place_asks *asks;
    uint32_t *in; /* group of each */
    uint32_t n;
    bool *tried; /* groups */
};

static bool seat(struct seats *s, uint32_t i)
{
    for (uint32_t g = 0; g < s->n_groups; g++) {
        struct group *group = &s->groups[g];
        if (s->tried[g] || group->like->poe_class < s->asks[i].poe_class ||
            group->like->speed_mbps < s->asks[i].speed_mbps)
            continue;
        s->tried[g] = true;
        bool is_free = group->taken < group->count;
        for (uint32_t k = 0; k < s->n && !is_free; k++)
            if (s->in[k] == g && seat(s, k)) {
                group->taken--;
                is_free = true;
            }
        if (!is_free)
            continue;
        s->in[i] = g;
        group->taken++;
        return true;
    }
    return false;
}

enum { MOST_GROUPS = 256, MOST_SEATS = 512 };

static bool all_sit(struct seats *s)
{
    for (uint32_t i = 0; i < s->n; i++)
        s->in[i] = NO_REF;
    for (uint32_t i = 0; i < s->n; i++) {
        for (uint32_t g = 0; g < s->n_groups; g++)
            s->tried[g] = false;
        if (!seat(s, i))
            return false;
    }
    return true;
}

/* Switches of a hub, one sort after another: bought and there. */
static uint32_t n_of(const struct placing *q, const struct placing_answer *a, uint32_t hub, uint32_t s)
{
    uint32_t n = a->switches[hub * q->switches.n + s];
    for (uint32_t i = 0; i < q->hubs.v[hub].there.n; i++)
        n += q->hubs.v[hub].there.v[i] == s;
    return n;
}

struct hub_sums {
    uint32_t n_switches, n_joints, n_ports;
    int64_t budget_mw, asked_mw;
};

static bool sums_hold(const struct place_hub *hub, const struct hub_sums *sums, uint32_t taken)
{
    return taken + hub->spare * sums->n_switches <= sums->n_ports && sums->asked_mw <= sums->budget_mw &&
           (double)taken <= (1.0 - hub->headroom_share) * (double)sums->n_ports + PORT_SLACK &&
           (hub->free.count || sums->n_switches);
}

bool place_ports_hold(const struct placing *q, const struct placing_answer *a, uint32_t h)
{
    const struct place_hub *hub = &q->hubs.v[h];
    struct group groups[MOST_GROUPS];
    struct place_asks asks[MOST_SEATS];
    uint32_t in[MOST_SEATS];
    bool tried[MOST_GROUPS];
    struct seats s = { .groups = groups, .asks = asks, .in = in, .tried = tried };
    struct hub_sums sums = { .n_ports = hub->free.count };
    groups[s.n_groups++] = (struct group){ &hub->free, hub->free.count, 0 };
    for (uint32_t k = 0; k < q->switches.n; k++) {
        const struct place_switch *is = &q->switches.v[k];
        const uint32_t n = n_of(q, a, h, k);
        sums.n_switches += n;
        sums.n_joints += n * place_joints(is);
        sums.budget_mw += n * place_budget_mw(hub, is);
        for (uint32_t g = 0; n && g < is->ports.n && s.n_groups < MOST_GROUPS; g++) {
            groups[s.n_groups++] = (struct group){ &is->ports.v[g], n * is->ports.v[g].count, 0 };
            sums.n_ports += n * is->ports.v[g].count;
        }
    }
    if (!hub->free.count && sums.n_switches)
        sums.n_joints--;
    for (uint32_t t = 0; t < q->things.n && s.n < MOST_SEATS; t++)
        if (a->links[t] != NO_REF && q->links.v[a->links[t]].hub == h) {
            const struct place_thing *thing = &q->things.v[t];
            asks[s.n] = place_asks_of(q, thing, thing->site == NO_REF ? NULL : offer_at(q, a, thing->site));
            sums.asked_mw += asks[s.n++].power_mw;
        }
    for (uint32_t i = 0; i < sums.n_joints && s.n < MOST_SEATS; i++)
        asks[s.n++] = (struct place_asks){ -1, 0, 0 };
    return s.n < MOST_SEATS && s.n_groups < MOST_GROUPS && sums_hold(hub, &sums, s.n) && all_sit(&s);
}

static bool switches_hold(const struct placing *q, const struct placing_answer *a, uint32_t h)
{
    const struct place_hub *hub = &q->hubs.v[h];
    for (uint32_t s = 0; s < q->switches.n; s++) {
        bool is_for_it = !a->switches[h * q->switches.n + s];
        for (uint32_t i = 0; i < hub->switches.n && !is_for_it; i++)
            is_for_it = hub->switches.v[i] == s;
        if (!is_for_it)
            return false;
    }
    return n_bought(q, a, h) <= hub->most;
}

bool place_wires_hold(const struct placing *q, const struct placing_answer *a)
{
    if (!offers_hold(q, a->offers) || !links_hold(q, a) || !ways_up_hold(q, a))
        return false;
    for (uint32_t c = 0; c < q->cablings.n; c++)
        if (a->cablings[c] >= q->cablings.v[c].n_parts && length_of(q, a, c))
            return false;
    for (uint32_t h = 0; h < q->hubs.n; h++)
        if (!switches_hold(q, a, h) || (is_used(q, a, h) && !place_ports_hold(q, a, h)))
            return false;
    return true;
}

bool placing_holds(const struct placing *q, const bool *given_up, const struct placing_answer *a)
{
    for (uint32_t n = 0; n < q->needs.n; n++)
        if (!place_is_given_up(given_up, q->needs.v[n].promise) && !placing_need_holds(q, n, a->offers))
            return false;
    return place_wires_hold(q, a) && placing_price(q, a) <= place_at_most(q, given_up);
}

/* ---- answers ---- */

bool place_blank(struct arena *a, const struct placing *q, struct placing_answer *out)
{
    *out = (struct placing_answer){ .offers = ARENA_ARRAY(a, bool, q->offers.n),
                                    .links = ARENA_ARRAY(a, uint32_t, q->things.n),
                                    .switches = ARENA_ARRAY(a, uint32_t, (size_t)q->hubs.n * q->switches.n),
                                    .cablings = ARENA_ARRAY(a, uint32_t, q->cablings.n) };
    if (!out->offers || !out->links || !out->switches || !out->cablings)
        return false;
    for (uint32_t t = 0; t < q->things.n; t++)
        out->links[t] = NO_REF;
    return true;
}

bool place_copy(struct arena *a, const struct placing *q, const struct placing_answer *from, struct placing_answer *out)
{
    struct placing_answer made;
    if (!place_blank(a, q, &made))
        return false;
    memcpy(made.offers, from->offers, q->offers.n * sizeof *made.offers);
    memcpy(made.links, from->links, q->things.n * sizeof *made.links);
    memcpy(made.switches, from->switches, (size_t)q->hubs.n * q->switches.n * sizeof *made.switches);
    memcpy(made.cablings, from->cablings, q->cablings.n * sizeof *made.cablings);
    *out = *from;
    out->offers = made.offers;
    out->links = made.links;
    out->switches = made.switches;
    out->cablings = made.cablings;
    return true;
}

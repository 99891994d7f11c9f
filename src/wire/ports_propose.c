/* Places for what has no cable yet: every switch and gateway is tried, each cable laid in thought by its own cheapest way. */
#include <math.h>

#include "base/units.h"
#include "data/cabling.h"
#include "wire/bill.h"
#include "wire/ports_int.h"

/* Cords of a cable that is only thought of: the house format's usual ones. */
static const double CORD_AT_SWITCH_M = 0.5, CORD_AT_THING_M = 2.0;

struct proposer {
    const struct run *run;
    struct ports_problem *q;
    const struct choice_answer *answer; /* of the cables there are */
    struct port_plan *plan;
    VEC(uint32_t) things; /* without a cable, as in cable_tree.h */
    VEC(uint32_t) places; /* sites that something may be joined to */
    struct house h;       /* with the cables thought of: thing by thing, place by place */
    struct cable_plan *ways;
    VEC(struct choice_plug) plugs;
};

static bool has_cable(const struct house *h, uint32_t thing)
{
    for (uint32_t c = 0; c < h->cables.n; c++)
        if (tree_thing_of(h, &h->cables.v[c].from) == thing || tree_thing_of(h, &h->cables.v[c].to) == thing)
            return true;
    return false;
}

static enum part_kind kind_of(const struct house *h, uint32_t e)
{
    const uint32_t part = h->equipment.v[e].part.i;
    return part == NO_REF ? PART_SUNDRY : h->parts.list.v[part].kind;
}

static bool list_things(struct proposer *x)
{
    const struct house *h = x->q->h;
    bool ok = true;
    for (uint32_t t = 0; t < x->q->tree.n_things; t++) {
        const bool wants = t < h->equipment.n ? kind_of(h, t) == PART_ACCESS_POINT
                                              : h->devices.v[t - h->equipment.n].link == LINK_WIRED;
        if (wants && !has_cable(h, t))
            ok = ok && VEC_PUSH(x->q->a, &x->things, t);
    }
    for (uint32_t s = 0; s < x->q->sites.n; s++) {
        const uint32_t e = x->q->equipment_of[s];
        const enum part_kind kind = kind_of(h, e);
        if ((kind == PART_SWITCH || kind == PART_GATEWAY) && tree_is_joined(&x->q->tree, e))
            ok = ok && VEC_PUSH(x->q->a, &x->places, s);
    }
    return ok;
}

/* ---- cables thought of ---- */

static double price_per_m(const struct part *p) { return p->price / p->per_m; }

/* The cheapest copper by the metre that carries the speed at all. */
static uint32_t cable_part(const struct house *h, double mbps)
{
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < h->parts.list.n; i++) {
        const struct part *p = &h->parts.list.v[i];
        const struct cable_category *category = p->kind == PART_CABLE ? cable_category_find(p->category) : NULL;
        if (category && category->family == CABLE_COPPER && p->per_m > 0.0 &&
            cable_channel_max_m(category, mbps) > 0.0 &&
            (best == NO_REF || price_per_m(p) < price_per_m(&h->parts.list.v[best])))
            best = i;
    }
    return best;
}

static struct cable_end end_of(const struct house *h, uint32_t thing)
{
    const bool is_equipment = thing < h->equipment.n;
    const uint32_t device = thing - h->equipment.n;
    return (struct cable_end){ .what = is_equipment ? h->equipment.v[thing].id : h->devices.v[device].id,
                               .equipment = is_equipment ? thing : NO_REF,
                               .device = is_equipment ? NO_REF : device,
                               .port = RT_NOT_GIVEN };
}

static double need_mbps(const struct proposer *x, uint32_t thing)
{
    const struct house *h = x->q->h;
    const struct part *part = thing < h->equipment.n ? &h->parts.list.v[h->equipment.v[thing].part.i] : NULL;
    return fmin(wire_own_need_mbps(h, thing), ports_fastest_mbps(part, CHOICE_COPPER));
}

static bool think_of_cables(struct proposer *x)
{
    const struct house *h = x->q->h;
    x->h = *h;
    x->h.cables.n = 0;
    x->h.cables.v = ARENA_ARRAY(x->q->a, struct cable, (size_t)x->things.n * x->places.n);
    for (uint32_t t = 0; x->h.cables.v && t < x->things.n; t++)
        for (uint32_t k = 0; k < x->places.n; k++)
            x->h.cables.v[x->h.cables.n++] =
                (struct cable){ .id = end_of(h, x->things.v[t]).what,
                                .from = end_of(h, x->q->equipment_of[x->places.v[k]]),
                                .to = end_of(h, x->things.v[t]),
                                .part = { .i = cable_part(h, need_mbps(x, x->things.v[t])) },
                                .length_m = RT_NOT_GIVEN,
                                .cord_from_m = CORD_AT_SWITCH_M,
                                .cord_to_m = CORD_AT_THING_M };
    return x->h.cables.v != NULL;
}

static double price_of(const struct proposer *x, uint32_t cable)
{
    const struct routed_cable *r = &x->ways->cables[cable];
    const uint32_t part = x->h.cables.v[cable].part.i;
    double price = part == NO_REF ? 0.0 : r->fixed_m * price_per_m(&x->h.parts.list.v[part]);
    for (uint32_t i = 0; i < r->legs.n; i++)
        price += r->legs.v[i].price;
    for (uint32_t w = 0; w < x->ways->work.n; w++)
        for (uint32_t i = 0; i < x->ways->work.v[w].cables.n; i++)
            price += x->ways->work.v[w].cables.v[i].i == cable ? x->ways->work.v[w].price : 0.0;
    return price;
}

static double length_of(const struct proposer *x, uint32_t cable)
{
    return x->ways->cables[cable].fixed_m + x->ways->cables[cable].cords_m;
}

/* Is there a way, and is it short enough for the speed? */
static bool is_open(const struct proposer *x, uint32_t cable)
{
    const uint32_t part = x->h.cables.v[cable].part.i;
    const struct cable_category *category =
        part == NO_REF ? NULL : cable_category_find(x->h.parts.list.v[part].category);
    const double need = need_mbps(x, tree_thing_of(&x->h, &x->h.cables.v[cable].to));
    return x->ways->cables[cable].is_routed && category &&
           length_of(x, cable) <=
               cable_length_max_m(category, cable_channel_max_m(category, need), x->ways->cables[cable].cords_m);
}

/* ---- the choice ---- */

/* What is there stays where it is. */
static bool keep_plugs(struct proposer *x)
{
    for (uint32_t i = 0; i < x->q->plugs.n; i++) {
        const struct choice_seat *seat = &x->answer->seats[i];
        struct choice_join *join = ARENA_NEW(x->q->a, struct choice_join);
        struct choice_plug plug = x->q->plugs.v[i];
        if (!join)
            return false;
        if (seat->join == CHOICE_NONE)
            continue;
        *join = (struct choice_join){ .site = seat->site, .port = seat->port };
        plug.joins = join;
        if (!VEC_PUSH(x->q->a, &x->plugs, plug))
            return false;
    }
    return true;
}

static bool add_thing(struct proposer *x, uint32_t t)
{
    const struct house *h = x->q->h;
    const uint32_t thing = x->things.v[t];
    struct choice_join *joins = ARENA_ARRAY(x->q->a, struct choice_join, x->places.n);
    struct choice_want *want = ARENA_NEW(x->q->a, struct choice_want);
    if (!joins || !want)
        return false;
    *want = thing < h->equipment.n ? ports_want_of_part(&h->parts.list.v[h->equipment.v[thing].part.i])
                                   : ports_want_of_device(h, &h->devices.v[thing - h->equipment.n]);
    want->speed_mbps = need_mbps(x, thing);
    struct choice_plug plug = { .media = CHOICE_COPPER,
                                .joins = joins,
                                .wants = want,
                                .follows = CHOICE_NONE,
                                .set = CHOICE_NONE,
                                .rate_mbps = want->speed_mbps };
    for (uint32_t k = 0; k < x->places.n; k++)
        if (is_open(x, t * x->places.n + k))
            joins[plug.n_joins++] = (struct choice_join){ .site = x->places.v[k],
                                                          .price = llround(100.0 * price_of(x, t * x->places.n + k)) };
    return VEC_PUSH(x->q->a, &x->plugs, plug);
}

/* What an uplink has left for more behind it; one that is overrun already limits nothing. */
static void limit_by_uplinks(struct proposer *x)
{
    for (uint32_t i = 0; i < x->plan->uplinks.n; i++) {
        const struct planned_uplink *u = &x->plan->uplinks.v[i];
        const double room_mbps = u->speed_mbps - u->needed_mbps;
        struct choice_site *site =
            x->q->site_of[u->lower] == CHOICE_NONE ? NULL : &x->q->sites.v[x->q->site_of[u->lower]];
        if (!site)
            continue;
        site->up = u->upper < x->q->h->equipment.n ? x->q->site_of[u->upper] : CHOICE_NONE;
        site->room_mbps = room_mbps > 0.0 ? room_mbps : (double)INFINITY;
    }
}

static bool all_joined(const struct proposer *x, const struct choice_answer *found, uint32_t first)
{
    for (uint32_t t = 0; t < x->things.n; t++)
        if (x->plugs.v[first + t].n_joins && found->seats[first + t].join == CHOICE_NONE)
            return false;
    return true;
}

/* Within what the uplinks have left, if that leaves a place for all. */
static enum rt_code choose(struct proposer *x, uint32_t first, struct choice_answer *found)
{
    const struct choice_problem problem = {
        .sites = x->q->sites.v, .n_sites = x->q->sites.n, .plugs = x->plugs.v, .n_plugs = x->plugs.n
    };
    limit_by_uplinks(x);
    RT_TRY(choice_solve(x->run, &problem, found));
    if (all_joined(x, found, first))
        return RT_OK;
    for (uint32_t s = 0; s < x->q->sites.n; s++)
        x->q->sites.v[s].room_mbps = INFINITY;
    return choice_solve(x->run, &problem, found);
}

/* ---- in words ---- */

static struct str no_place(struct proposer *x, uint32_t t, const struct choice_plug *plug)
{
    if (!x->places.n)
        return STR("there is no switch or gateway to join it to");
    if (plug->n_joins)
        return STR("no free port is left at any switch; take a larger one, or one more");
    const struct routed_cable *r = &x->ways->cables[(size_t)t * x->places.n];
    return r->why_not.n ? r->why_not : STR("every way is longer than its cable may be");
}

static struct str place_words(struct proposer *x, const struct port_proposal *r, unsigned lacks, bool *failed)
{
    struct buf b = { .arena = x->q->a };
    const struct equipment *e = &x->q->h->equipment.v[r->at];
    int64_t amount = 0;
    const bool is_priced = money_amount(x->q->h->currency, r->price, 1.0, &amount);
    buf_printf(&b, "to %.*s, port %u: %.1f m with its cords, about %.*s to lay%s%s", STR_ARG(e->id), r->port,
               r->length_m,
               STR_ARG(is_priced ? money_words(x->q->a, x->q->h->currency, amount) : STR("an unknown sum")),
               lacks & LACK_POWER ? "; it gets no power there" : "",
               lacks & LACK_SPEED ? "; the port is slower than it needs" : "");
    *failed |= b.failed;
    return buf_done(&b);
}

static bool tell(struct proposer *x, const struct choice_answer *found, uint32_t first)
{
    bool failed = false;
    x->plan->proposals.v = ARENA_ARRAY(x->q->a, struct port_proposal, x->things.n);
    for (uint32_t t = 0; x->plan->proposals.v && t < x->things.n; t++) {
        const struct cable_end end = end_of(x->q->h, x->things.v[t]);
        const struct choice_seat *seat = &found->seats[first + t];
        struct port_proposal r = { .device = end.device,
                                   .equipment = end.equipment,
                                   .at = NO_REF,
                                   .length_m = RT_NOT_GIVEN,
                                   .price = RT_NOT_GIVEN };
        for (uint32_t k = 0; seat->join != CHOICE_NONE && k < x->places.n; k++)
            if (x->places.v[k] == seat->site) {
                r.at = x->q->equipment_of[seat->site];
                r.port = seat->port;
                r.length_m = length_of(x, t * x->places.n + k);
                r.price = price_of(x, t * x->places.n + k);
            }
        r.says = r.at == NO_REF ? no_place(x, t, &x->plugs.v[first + t]) : place_words(x, &r, seat->lacks, &failed);
        x->plan->proposals.v[x->plan->proposals.n++] = r;
    }
    return x->plan->proposals.v && !failed;
}

static enum rt_code stop(enum rt_code code, struct rt_problems *p)
{
    if (code == RT_CANCELLED)
        return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped");
    return rt_fail_memory(p);
}

enum rt_code ports_propose(const struct run *run, struct ports_problem *problem, const struct choice_answer *answer,
                           struct port_plan *plan, struct rt_problems *p)
{
    struct proposer x = { .run = run, .q = problem, .answer = answer, .plan = plan };
    struct rt_problems unheard; /* warnings about cables that nobody will lay */
    struct choice_answer found = { 0 };
    rt_problems_init(&unheard, problem->a);
    if (!list_things(&x))
        return rt_fail_memory(p);
    if (!x.things.n)
        return RT_OK;
    if (!think_of_cables(&x) || !keep_plugs(&x))
        return rt_fail_memory(p);
    const enum rt_code code = cables_plan_alone(run, &x.h, &x.ways, &unheard);
    if (code)
        return stop(code, p);
    const uint32_t first = x.plugs.n;
    for (uint32_t t = 0; t < x.things.n; t++)
        if (!add_thing(&x, t))
            return rt_fail_memory(p);
    const enum rt_code chosen = choose(&x, first, &found);
    if (chosen)
        return stop(chosen, p);
    plan->price = found.sums[CHOICE_PRICE] / 100.0;
    plan->bound = found.bound / 100.0;
    plan->is_best &= found.is_best;
    return tell(&x, &found, first) ? RT_OK : rt_fail_memory(p);
}

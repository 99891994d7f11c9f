/* From the network's answer to the plan: legs, lengths, work and words.  The bound is route_net.h's. */
#include "wire/cables.h"

#include <math.h>

#include "base/sum.h"
#include "base/units.h"
#include "wire/route_space.h"

/* Left over at each end so that it can be finished again (common practice, no source). */
static const double SLACK_AT_OUTLET_M = 0.3, SLACK_AT_CABINET_M = 1.0;

struct planner {
    struct space s;
    struct cable_plan *plan;
    struct route_ask *asks;
    uint32_t *asked; /* cable of each ask */
    uint32_t n_asks;
    struct rt_problems *p;
    bool alone; /* each cable as if there were no other */
};

static const struct part *part_of(const struct house *h, const struct cable *c)
{
    return c->part.i == NO_REF ? NULL : &h->parts.list.v[c->part.i];
}

static bool is_cord(const struct house *h, const struct cable *c)
{
    const struct part *part = part_of(h, c);
    return part && part->kind == PART_CORD;
}

static double price_per_m(const struct house *h, const struct cable *c)
{
    const struct part *part = part_of(h, c);
    const double price = part && part->per_m > 0.0 ? part->price / part->per_m : 0.0;
    return fmax(is_given(price) ? price : 0.0, PRICE_CABLE_MIN_PER_M);
}

static double slack_at_m(const struct house *h, const struct cable_end *end)
{
    if (end->equipment == NO_REF)
        return SLACK_AT_OUTLET_M;
    const uint32_t part = h->equipment.v[end->equipment].part.i;
    const enum part_kind kind = part == NO_REF ? PART_SUNDRY : h->parts.list.v[part].kind;
    return kind == PART_SWITCH || kind == PART_GATEWAY ? SLACK_AT_CABINET_M : SLACK_AT_OUTLET_M;
}

static void why_not(struct planner *pl, uint32_t cable, const char *text)
{
    pl->plan->cables[cable].why_not = str_from(text ? text : "");
    pl->s.failed |= !text;
}

/* ---- before: what is asked ---- */

/* A cord goes straight from one thing to the other. */
static void lay_cord(struct planner *pl, uint32_t cable, const struct space_thing *from, const struct space_thing *to)
{
    const struct cable *c = &pl->s.h->cables.v[cable];
    struct routed_cable *r = &pl->plan->cables[cable];
    r->legs.v = ARENA_ARRAY(pl->s.a, struct cable_leg, 1);
    if (!r->legs.v) {
        pl->s.failed = true;
        return;
    }
    const double apart_m = vec3_len(vec3_sub(from->at_m, to->at_m));
    r->is_routed = true;
    r->cords_m = 0.0;
    r->fixed_m = is_given(c->length_m) ? c->length_m : apart_m - r->lacks_m;
    r->legs.v[r->legs.n++] = (struct cable_leg){ .run = NO_REF,
                                                 .kind = RUN_SURFACE,
                                                 .floor = from->floor,
                                                 .from_m = from->at_m,
                                                 .to_m = to->at_m,
                                                 .length_m = r->fixed_m,
                                                 .says = STR("a cord, from one to the other") };
}

/* By the length that the file gives it, or by that of the cord that is its part. */
static void too_short(struct planner *pl, uint32_t cable, const struct space_thing *from, const struct space_thing *to)
{
    const struct house *h = pl->s.h;
    const struct cable *c = &h->cables.v[cable];
    struct routed_cable *r = &pl->plan->cables[cable];
    const double cord_m = is_cord(h, c) ? h->parts.list.v[c->part.i].per_m : RT_NOT_GIVEN;
    const double reach_m = r->length_given ? r->fixed_m + r->cords_m : given_or(cord_m, (double)INFINITY);
    const double apart_m = vec3_len(vec3_sub(from->at_m, to->at_m));
    if (reach_m >= apart_m - 0.05)
        return;
    r->lacks_m = apart_m - reach_m;
    rt_warn(pl->p, RT_GEOMETRY, c->at,
            r->length_given ? "correct the length, or the places of its two ends" : "take a longer cord, or a cable",
            "cable '%.*s' is said to be %.1f m with its cords, but its ends are %.1f m apart", STR_ARG(c->id), reach_m,
            apart_m);
}

static void ask_for(struct planner *pl, uint32_t cable)
{
    const struct house *h = pl->s.h;
    const struct cable *c = &h->cables.v[cable];
    struct routed_cable *r = &pl->plan->cables[cable];
    const uint32_t from = space_thing_of(h, &c->from), to = space_thing_of(h, &c->to);
    *r =
        (struct routed_cable){ .length_given = is_given(c->length_m),
                               .fixed_m = c->length_m,
                               .cords_m = is_cord(h, c) ? 0.0 : given_or(c->cord_from_m, 0) + given_or(c->cord_to_m, 0),
                               .mains_m = RT_NOT_GIVEN };
    for (int e = 0; e < 2; e++) {
        const struct cable_end *end = e ? &c->to : &c->from;
        const uint32_t thing = e ? to : from;
        if (thing == NO_REF || !pl->s.things[thing].is_placed) {
            why_not(pl, cable,
                    arena_printf(pl->s.a,
                                 "say where `%.*s` is (its `room` or `floor`, and `at_m`): cable `%.*s` ends there",
                                 STR_ARG(end->what), STR_ARG(c->id)));
            return;
        }
    }
    too_short(pl, cable, &pl->s.things[from], &pl->s.things[to]);
    if (is_cord(h, c)) {
        lay_cord(pl, cable, &pl->s.things[from], &pl->s.things[to]);
        return;
    }
    uint32_t *labels = ARENA_ARRAY(pl->s.a, uint32_t, c->route.n);
    if (!labels) {
        pl->s.failed = true;
        return;
    }
    for (uint32_t i = 0; i < c->route.n; i++)
        labels[i] = c->route.v[i].i;
    pl->asked[pl->n_asks] = cable;
    pl->asks[pl->n_asks++] = (struct route_ask){ .from = pl->s.things[from].node,
                                                 .to = pl->s.things[to].node,
                                                 .price_per_m = price_per_m(h, c),
                                                 .labels = labels,
                                                 .n_labels = c->route.n,
                                                 .cord_from_m = given_or(c->cord_from_m, 0.0),
                                                 .cord_to_m = given_or(c->cord_to_m, 0.0) };
}

/* ---- after: what is answered ---- */

static void tell_edge(struct planner *pl, struct routed_cable *r, const struct route_edge *e, bool forward)
{
    const struct space *s = &pl->s;
    const struct space_way *way = &s->ways.v[e->way];
    const struct vec3 from_m = s->at_m.v[forward ? e->a : e->b], to_m = s->at_m.v[forward ? e->b : e->a];
    struct cable_leg *last = r->legs.n ? &r->legs.v[r->legs.n - 1] : NULL;
    r->outdoors |= way->outdoors;
    if (e->length_m <= 0.0 && (way->run == NO_REF || (last && last->run == way->run)))
        return; /* a run that is only touched is told, once */
    const struct vec3 was = last ? vec3_sub(last->to_m, last->from_m) : (struct vec3){ 0 }, is = vec3_sub(to_m, from_m);
    const bool goes_on = last && last->run == way->run && last->floor == way->floor && last->kind == way->kind &&
                         last->says.p == way->says.p &&
                         vec3_len(vec3_cross(was, is)) < 1e-6 * vec3_len(was) * vec3_len(is) && vec3_dot(was, is) > 0.0;
    if (goes_on || (last && way->run == NO_REF && e->length_m < 0.01)) {
        last->to_m = to_m;
        last->length_m += e->length_m;
        last->price += e->price;
        return;
    }
    r->legs.v[r->legs.n++] = (struct cable_leg){ .run = way->run,
                                                 .kind = way->kind,
                                                 .floor = way->floor,
                                                 .from_m = from_m,
                                                 .to_m = to_m,
                                                 .length_m = e->length_m,
                                                 .price = e->price,
                                                 .says = way->says };
}

/* The least of the runs of the file; not known as soon as one of them, or a generated void, does not tell. */
static double mains_of(const struct space *s, const struct route_way *way)
{
    double least_m = INFINITY;
    for (uint32_t i = 0; i < way->n; i++) {
        const struct space_way *w = &s->ways.v[s->net.edges.v[way->edges[i]].way];
        const bool is_void = w->kind == RUN_CEILING_VOID || w->kind == RUN_UNDER_FLOOR || w->kind == RUN_ATTIC;
        if (w->run == NO_REF && !is_void)
            continue;
        if (!is_given(w->mains_m))
            return RT_NOT_GIVEN;
        least_m = fmin(least_m, w->mains_m);
    }
    return isfinite(least_m) ? least_m : RT_NOT_GIVEN;
}

static void tell_cable(struct planner *pl, uint32_t cable, const struct route_ask *ask, const struct route_way *way)
{
    struct space *s = &pl->s;
    struct routed_cable *r = &pl->plan->cables[cable];
    const struct cable *c = &s->h->cables.v[cable];
    struct sum length = { 0 };
    uint32_t at = ask->from;
    r->is_routed = true;
    r->legs.v = ARENA_ARRAY(s->a, struct cable_leg, way->n);
    if (!r->legs.v) {
        s->failed = true;
        return;
    }
    for (uint32_t i = 0; i < way->n; i++) {
        const struct route_edge *e = &s->net.edges.v[way->edges[i]];
        tell_edge(pl, r, e, e->a == at);
        sum_add(&length, e->length_m);
        at = e->a == at ? e->b : e->a;
    }
    r->slack_m = slack_at_m(s->h, &c->from) + slack_at_m(s->h, &c->to);
    r->mains_m = mains_of(s, way);
    if (!r->length_given)
        r->fixed_m = sum_value(&length) + r->slack_m;
}

/* An end in a room that is to be kept free of cable; NULL: neither. */
static const struct cable_end *kept_free_end(const struct planner *pl, const struct cable *c)
{
    const struct cable_end *ends[2] = { &c->from, &c->to };
    for (int e = 0; e < 2; e++) {
        const uint32_t room = pl->s.things[space_thing_of(pl->s.h, ends[e])].room;
        if (room != NO_REF && pl->s.h->rooms.v[room].keep_free & FREE_CABLE)
            return ends[e];
    }
    return NULL;
}

static void tell_why_not(struct planner *pl, uint32_t cable, const struct route_ask *ask)
{
    struct space *s = &pl->s;
    const struct house *h = s->h;
    const struct cable *c = &h->cables.v[cable];
    const uint32_t ends[2] = { ask->from, ask->to };
    for (int e = 0; e < 2; e++) {
        const struct cable_end *end = e ? &c->to : &c->from;
        if (s->net.first[ends[e]] == s->net.first[ends[e] + 1]) {
            why_not(
                pl, cable,
                arena_printf(s->a,
                             "no run, wall, ceiling or floor within reach of `%.*s`: the cable would hang in open air; "
                             "add a run that comes within %.0f m of it, a longer cord, or the cable's `length_m`",
                             STR_ARG(end->what), LINE_REACH_M));
            return;
        }
    }
    const struct cable_end *kept_free = kept_free_end(pl, c);
    if (kept_free && !ask->n_labels)
        why_not(pl, cable,
                arena_printf(
                    s->a,
                    "`%.*s` is in a room that is kept free of cable, and no hidden way leads there; add a void or "
                    "a run behind its wall, take `cable` out of the room's `keep_free`, or give the cable's `length_m`",
                    STR_ARG(kept_free->what)));
    else if (ask->n_labels)
        why_not(
            pl, cable,
            arena_printf(s->a,
                         "the runs named in `route` do not meet one another and both ends of `%.*s`, in this order; "
                         "name the missing run, or leave `route` out",
                         STR_ARG(c->id)));
    else
        why_not(pl, cable,
                arena_printf(
                    s->a,
                    "no run leads from `%.*s` to `%.*s`; add one (a riser between floors, a duct or trench between "
                    "buildings), or the cable's `length_m`",
                    STR_ARG(c->from.what), STR_ARG(c->to.what)));
}

/* ---- work ---- */

static void tell_work(struct planner *pl, const struct route_way *ways)
{
    struct space *s = &pl->s;
    VEC(struct cable_work) work = { 0 };
    uint32_t *place = ARENA_ARRAY(s->a, uint32_t, s->net.works.n);
    uint32_t *count = ARENA_ARRAY(s->a, uint32_t, s->net.works.n);
    if (!place || !count) {
        s->failed = true;
        return;
    }
    for (uint32_t k = 0; k < pl->n_asks; k++)
        for (uint32_t i = 0; i < ways[k].n; i++) {
            const struct route_edge *e = &s->net.edges.v[ways[k].edges[i]];
            for (uint32_t w = e->work; w < e->work + e->n_work; w++)
                count[w]++;
        }
    for (uint32_t w = 0; w < s->net.works.n && !s->failed; w++) {
        const struct space_work *from = &s->works.v[w];
        if (!count[w])
            continue;
        place[w] = work.n;
        struct cable_work item = { .kind = from->kind,
                                   .construct = from->construct,
                                   .floor = from->floor,
                                   .at_m = from->at_m,
                                   .price = s->net.works.v[w].price,
                                   .says = from->says };
        item.cables.v = ARENA_ARRAY(s->a, struct ref, count[w]);
        s->failed |= !item.cables.v || !VEC_PUSH(s->a, &work, item);
    }
    for (uint32_t k = 0; k < pl->n_asks && !s->failed; k++)
        for (uint32_t i = 0; i < ways[k].n; i++) {
            const struct route_edge *e = &s->net.edges.v[ways[k].edges[i]];
            for (uint32_t w = e->work; w < e->work + e->n_work; w++) {
                ref_list *list = &work.v[place[w]].cables;
                if (!list->n || list->v[list->n - 1].i != pl->asked[k])
                    list->v[list->n++] = (struct ref){ .i = pl->asked[k] };
            }
        }
    pl->plan->work.v = work.v;
    pl->plan->work.n = work.n;
}

/* ---- buildings ---- */

uint32_t cable_building_of(const struct house *h, uint32_t floor) { return h->floors.v[floor].building; }

static void tell_outdoors(struct planner *pl, uint32_t cable)
{
    const struct house *h = pl->s.h;
    const struct cable *c = &h->cables.v[cable];
    struct routed_cable *r = &pl->plan->cables[cable];
    const uint32_t from = space_thing_of(h, &c->from), to = space_thing_of(h, &c->to);
    if (from == NO_REF || to == NO_REF || !pl->s.things[from].is_placed || !pl->s.things[to].is_placed)
        return;
    const uint32_t a = cable_building_of(h, pl->s.things[from].floor), b = cable_building_of(h, pl->s.things[to].floor);
    r->outdoors |= a == NO_REF || b == NO_REF;
    r->leaves_building = a != NO_REF && b != NO_REF && a != b;
}

static enum rt_code fail(struct planner *pl, enum rt_code code)
{
    if (code == RT_CANCELLED)
        return rt_fail(pl->p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped");
    return rt_fail_memory(pl->p);
}

/* Each by its own cheapest way. */
static enum rt_code each_alone(struct planner *pl, struct route_answer *answer)
{
    *answer = (struct route_answer){ .ways = ARENA_ARRAY(pl->s.a, struct route_way, pl->n_asks) };
    if (!answer->ways)
        return RT_NOMEM;
    for (uint32_t k = 0; k < pl->n_asks; k++) {
        if (run_is_cancelled(pl->s.run))
            return RT_CANCELLED;
        if (!route_shortest(pl->s.a, &pl->s.net, &pl->asks[k], NULL, &answer->ways[k]))
            return RT_NOMEM;
        answer->price += answer->ways[k].is_found ? answer->ways[k].price : 0.0;
    }
    answer->bound = answer->price;
    return RT_OK;
}

static enum rt_code make(struct planner *pl)
{
    struct space *s = &pl->s;
    struct cable_plan *plan = pl->plan;
    struct route_answer answer;
    plan->cables = ARENA_ARRAY(s->a, struct routed_cable, s->h->cables.n);
    pl->asks = ARENA_ARRAY(s->a, struct route_ask, s->h->cables.n);
    pl->asked = ARENA_ARRAY(s->a, uint32_t, s->h->cables.n);
    if (!plan->cables || !pl->asks || !pl->asked || !space_build(s))
        return fail(pl, RT_NOMEM);
    for (uint32_t c = 0; c < s->h->cables.n && !s->failed; c++)
        ask_for(pl, c);
    if (s->failed)
        return fail(pl, RT_NOMEM);
    const enum rt_code code =
        pl->alone ? each_alone(pl, &answer) : route_solve(s->run, &s->net, pl->asks, pl->n_asks, &answer);
    if (code)
        return fail(pl, code);
    plan->price = answer.price;
    plan->bound = answer.bound;
    for (uint32_t k = 0; k < pl->n_asks && !s->failed; k++) {
        if (answer.ways[k].is_found)
            tell_cable(pl, pl->asked[k], &pl->asks[k], &answer.ways[k]);
        else
            tell_why_not(pl, pl->asked[k], &pl->asks[k]);
    }
    for (uint32_t c = 0; c < s->h->cables.n; c++)
        tell_outdoors(pl, c);
    tell_work(pl, answer.ways);
    return s->failed ? fail(pl, RT_NOMEM) : RT_OK;
}

static enum rt_code plan_cables(const struct run *run, const struct house *h, bool alone, struct cable_plan **out,
                                struct rt_problems *p)
{
    struct planner *pl = ARENA_NEW(run->arena, struct planner);
    struct cable_plan *plan = ARENA_NEW(run->arena, struct cable_plan);
    if (!pl || !plan)
        return rt_fail_memory(p);
    plan->h = h;
    *pl = (struct planner){ .s = { .run = run, .h = h, .a = run->arena }, .plan = plan, .p = p, .alone = alone };
    RT_TRY(make(pl));
    *out = plan;
    return RT_OK;
}

enum rt_code cables_plan(const struct run *run, const struct house *h, struct cable_plan **out, struct rt_problems *p)
{
    return plan_cables(run, h, false, out, p);
}

enum rt_code cables_plan_alone(const struct run *run, const struct house *h, struct cable_plan **out,
                               struct rt_problems *p)
{
    return plan_cables(run, h, true, out, p);
}

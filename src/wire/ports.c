#include "wire/ports.h"

#include <math.h>

#include "base/units.h"
#include "wire/ports_int.h"

const struct equipment_ports *port_plan_of(const struct port_plan *plan, uint32_t equipment)
{
    for (uint32_t i = 0; i < plan->equipment.n; i++)
        if (plan->equipment.v[i].equipment == equipment)
            return &plan->equipment.v[i];
    return NULL;
}

/* ---- which port ---- */

static void take_seats(const struct ports_problem *q, const struct choice_answer *answer, struct port_plan *plan)
{
    for (uint32_t i = 0; i < q->ends.n; i++) {
        const struct choice_seat *seat = &answer->seats[i];
        const struct ports_end *end = &q->ends.v[i];
        const struct cable *c = &q->h->cables.v[end->cable];
        const double given = end->is_from ? c->from.port : c->to.port;
        const struct planned_end planned = { .port = seat->join == CHOICE_NONE ? (unsigned)given_or(given, 0.0)
                                                                               : seat->port,
                                             .is_chosen = !is_given(given) && seat->join != CHOICE_NONE,
                                             .lacks = seat->lacks };
        if (end->is_from)
            plan->cables[end->cable].from = planned;
        else
            plan->cables[end->cable].to = planned;
    }
    /* Equipment whose part lists no ports: what the file says. */
    for (uint32_t c = 0; c < q->h->cables.n; c++) {
        const struct cable *cable = &q->h->cables.v[c];
        struct planned_cable *planned = &plan->cables[c];
        if (!planned->from.port)
            planned->from.port = (unsigned)given_or(cable->from.port, 0.0);
        if (!planned->to.port)
            planned->to.port = (unsigned)given_or(cable->to.port, 0.0);
        plan->numbers[c] = (struct port_numbers){ planned->from.port, planned->to.port };
    }
}

/* ---- what is used, what is free ---- */

static bool is_plugged(const struct ports_problem *q, const struct choice_answer *answer, uint32_t site,
                       unsigned number)
{
    for (uint32_t i = 0; i < q->ends.n; i++)
        if (answer->seats[i].join != CHOICE_NONE && answer->seats[i].site == site && answer->seats[i].port == number)
            return true;
    return false;
}

static struct equipment_ports count_site(const struct ports_problem *q, const struct choice_answer *answer, uint32_t s)
{
    const struct choice_part *part = &q->sites.v[s].parts[0];
    struct equipment_ports e = { .equipment = q->equipment_of[s], .poe_asked_w = 0.0, .poe_budget_w = RT_NOT_GIVEN };
    unsigned number = 0;
    for (uint32_t g = 0; g < part->n_groups; g++)
        for (unsigned i = 0; i < part->groups[g].count; i++) {
            const struct choice_group *group = &part->groups[g];
            const bool is_used = is_plugged(q, answer, s, ++number);
            if (group->is_closed && !is_used)
                continue; /* for the internet line */
            e.n++;
            e.n_used += is_used;
            e.n_spare += !is_used && (group->media & CHOICE_COPPER) && !group->is_up;
            e.n_poe += group->poe_class >= 0;
            e.n_poe_free += group->poe_class >= 0 && !is_used;
        }
    e.n_free = e.n - e.n_used;
    for (uint32_t i = 0; i < q->ends.n; i++) {
        const struct choice_seat *seat = &answer->seats[i];
        if (seat->join != CHOICE_NONE && seat->site == s && !(seat->lacks & LACK_POWER))
            e.poe_asked_w += q->plugs.v[i].wants[0].poe_class >= 0 ? q->plugs.v[i].wants[0].watts : 0.0;
    }
    if (isfinite(part->budget_w))
        e.poe_budget_w = part->budget_w;
    if (!e.n_poe)
        e.poe_asked_w = RT_NOT_GIVEN;
    return e;
}

static bool count_all(struct ports_problem *q, const struct choice_answer *answer, struct port_plan *plan)
{
    const struct house *h = q->h;
    plan->equipment.v = ARENA_ARRAY(q->a, struct equipment_ports, q->sites.n);
    for (uint32_t s = 0; plan->equipment.v && s < q->sites.n; s++) {
        const struct equipment_ports e = count_site(q, answer, s);
        const enum part_kind kind = h->parts.list.v[h->equipment.v[e.equipment].part.i].kind;
        plan->equipment.v[plan->equipment.n++] = e;
        if (kind == PART_SWITCH || kind == PART_GATEWAY) {
            plan->n_free += e.n_free;
            plan->n_spare += e.n_spare;
        }
    }
    return plan->equipment.v != NULL;
}

/* ---- uplinks ---- */

static bool is_behind(const struct cable_tree *t, uint32_t thing, uint32_t above)
{
    while (thing != NO_REF && thing != above)
        thing = t->parent[thing];
    return thing == above;
}

static bool is_leaf(const struct cable_tree *t, uint32_t thing)
{
    for (uint32_t i = 0; i < t->n_order; i++)
        if (t->parent[t->order[i]] == thing)
            return false;
    return true;
}

/* Speed of the port at the upper end of a leaf's cable; the link's own where the part lists no ports. */
static double port_speed_mbps(const struct ports_problem *q, const struct port_plan *plan, uint32_t thing)
{
    const uint32_t cable = q->tree.parent_cable[thing], up = q->tree.parent[thing];
    const uint32_t site = up < q->h->equipment.n ? q->site_of[up] : CHOICE_NONE;
    const bool is_from = q->h->cables.v[cable].from.equipment == up;
    const unsigned number = is_from ? plan->cables[cable].from.port : plan->cables[cable].to.port;
    const struct choice_part *part = site == CHOICE_NONE ? NULL : &q->sites.v[site].parts[0];
    const uint32_t group = part ? choice_group_of(part, number) : CHOICE_NONE;
    return group == CHOICE_NONE ? q->links->v[cable].speed_mbps : part->groups[group].speed_mbps;
}

static uint32_t second_way(const struct ports_problem *q, uint32_t lower)
{
    const struct house *h = q->h;
    for (uint32_t c = 0; c < h->cables.n; c++)
        if (h->cables.v[c].rests && q->tree.parent_cable[lower] != c &&
            (tree_thing_of(h, &h->cables.v[c].from) == lower || tree_thing_of(h, &h->cables.v[c].to) == lower))
            return c;
    return NO_REF;
}

static struct planned_uplink uplink_of(const struct ports_problem *q, const struct port_plan *plan, uint32_t lower)
{
    const struct cable_tree *t = &q->tree;
    const struct wire_link *link = &q->links->v[t->parent_cable[lower]];
    struct planned_uplink u = { .cable = link->cable,
                                .lower = lower,
                                .upper = t->parent[lower],
                                .speed_mbps = link->is_known ? link->speed_mbps : RT_NOT_GIVEN,
                                .needed_mbps = link->wanted_mbps,
                                .second_cable = second_way(q, lower) };
    for (uint32_t i = 0; i < t->n_order; i++)
        if (t->order[i] != lower && is_behind(t, t->order[i], lower) && is_leaf(t, t->order[i]))
            u.ports_mbps += port_speed_mbps(q, plan, t->order[i]);
    u.needed_share = u.speed_mbps > 0.0 ? u.needed_mbps / u.speed_mbps : RT_NOT_GIVEN;
    u.ports_share = u.speed_mbps > 0.0 ? u.ports_mbps / u.speed_mbps : RT_NOT_GIVEN;
    return u;
}

static bool tell_uplinks(const struct ports_problem *q, struct port_plan *plan)
{
    plan->uplinks.v = ARENA_ARRAY(q->a, struct planned_uplink, q->h->cables.n);
    for (uint32_t c = 0; plan->uplinks.v && c < q->h->cables.n; c++)
        for (uint32_t e = 0; e < q->h->equipment.n; e++)
            if (q->tree.parent_cable[e] == c && !is_leaf(&q->tree, e))
                plan->uplinks.v[plan->uplinks.n++] = uplink_of(q, plan, e);
    return plan->uplinks.v != NULL;
}

/* ---- conflicts ---- */

static bool tell_conflict(const struct ports_problem *q, const struct choice_answer *answer, struct port_plan *plan)
{
    struct port_conflict *conflict = ARENA_NEW(q->a, struct port_conflict);
    struct buf text = { .arena = q->a };
    unsigned lacks = 0;
    if (!answer->n_conflict)
        return true;
    if (!conflict || !(conflict->cables.v = ARENA_ARRAY(q->a, struct ref, answer->n_conflict)))
        return false;
    for (uint32_t i = 0; i < answer->n_conflict; i++) {
        const uint32_t cable = q->ends.v[answer->conflict[i]].cable;
        lacks |= answer->seats[answer->conflict[i]].lacks;
        if (conflict->cables.n && conflict->cables.v[conflict->cables.n - 1].i == cable)
            continue;
        buf_printf(&text, "%s%.*s", conflict->cables.n ? ", " : "", STR_ARG(q->h->cables.v[cable].id));
        conflict->cables.v[conflict->cables.n++] = (struct ref){ .i = cable };
    }
    const uint32_t site = q->plugs.v[answer->conflict[0]].joins[0].site;
    const bool is_one = conflict->cables.n == 1;
    buf_printf(&text, "%s at %.*s: %s; %s", is_one ? " does not get what it needs" : " do not fit together",
               STR_ARG(q->h->equipment.v[q->equipment_of[site]].id),
               lacks & LACK_PORT ? "there are not ports enough of its kind"
                                 : "its power over Ethernet does not suffice",
               is_one ? "another place or another part would do" : "without any one of them the others do");
    conflict->says = buf_done(&text);
    plan->conflicts.v = conflict;
    plan->conflicts.n = 1;
    return !text.failed;
}

enum rt_code port_plan_make(const struct run *run, const struct cable_plan *cables, const struct wire_links *links,
                            struct port_plan **out, struct rt_problems *p)
{
    struct arena *a = run->arena;
    struct port_plan *plan = ARENA_NEW(a, struct port_plan);
    struct ports_problem q;
    struct choice_answer answer;
    *out = NULL;
    if (!plan || !ports_problem_make(a, cables->h, links, NULL, &q))
        return rt_fail_memory(p);
    plan->h = cables->h;
    plan->cables = ARENA_ARRAY(a, struct planned_cable, plan->h->cables.n);
    plan->numbers = ARENA_ARRAY(a, struct port_numbers, plan->h->cables.n);
    if (!plan->cables || !plan->numbers)
        return rt_fail_memory(p);
    const struct choice_problem problem = {
        .sites = q.sites.v, .n_sites = q.sites.n, .plugs = q.plugs.v, .n_plugs = q.plugs.n
    };
    const enum rt_code code = choice_solve(run, &problem, &answer);
    if (code == RT_CANCELLED)
        return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped");
    if (code)
        return rt_fail_memory(p);
    take_seats(&q, &answer, plan);
    plan->is_best = answer.is_best;
    if (!count_all(&q, &answer, plan) || !tell_uplinks(&q, plan) || !tell_conflict(&q, &answer, plan))
        return rt_fail_memory(p);
    RT_TRY(ports_propose(run, &q, &answer, plan, p));
    *out = plan;
    return RT_OK;
}

#include "wire/open_parts.h"

#include <math.h>

#include "base/units.h"
#include "wire/bill.h"
#include "wire/open_parts_int.h"

enum { TOLD_MOST = 3, REASONS_MOST = 5 };

/* ---- what is in hand ---- */

static bool list_candidates(struct open_maker *m, uint32_t e, struct rt_problems *p)
{
    const struct house *h = m->h;
    ports_candidates *list = &m->candidates[e];
    list->v = ARENA_ARRAY(m->a, uint32_t, h->parts.list.n);
    struct buf reasons = { .arena = m->a };
    uint32_t n_told = 0;
    if (!list->v)
        return false;
    for (uint32_t i = 0; i < h->parts.list.n; i++) {
        const struct part *part = &h->parts.list.v[i];
        if (!str_is(h->equipment.v[e].kind, part_kind_name(part->kind)))
            continue;
        const char *why = open_part_unfit(m, e, part);
        if (!why)
            list->v[list->n++] = i;
        else if (n_told++ < REASONS_MOST)
            buf_printf(&reasons, "%s%.*s %s", reasons.n ? "; " : "", STR_ARG(part->id), why);
    }
    if (!list->n)
        m->code =
            rt_fail(p, RT_MISSING, house_text_place(h, h->equipment.v[e].kind, h->equipment.v[e].at),
                    "add a part that will do to the parts file, or ask for less here",
                    "equipment '%.*s': no part of kind '%.*s' in hand will do%s%.*s", STR_ARG(h->equipment.v[e].id),
                    STR_ARG(h->equipment.v[e].kind), reasons.n ? ": " : "", STR_ARG(buf_done(&reasons)));
    return !reasons.failed;
}

/* ---- cabinets ---- */

/* A shelf for each cabinet whose height is known: what is left of it for things with ports. */
static bool make_shelves(struct open_maker *m, struct ports_problem *q)
{
    const struct house *h = m->h;
    m->shelf_units = ARENA_ARRAY(m->a, double, h->equipment.n);
    for (uint32_t cabinet = 0; m->shelf_units && cabinet < h->equipment.n; cabinet++) {
        const struct part *part = open_own_part(h, cabinet);
        if (!part || part->kind != PART_CABINET || !is_given(part->rack_units))
            continue;
        double units = part->rack_units, fixed = 0;
        for (uint32_t e = 0; e < h->equipment.n; e++) {
            if (h->equipment.v[e].inside.i != cabinet)
                continue;
            const struct part *inside = open_own_part(h, e);
            const double taken = inside ? given_or(inside->rack_units, 0.0) : 0.0;
            if (q->site_of[e] == CHOICE_NONE)
                units -= taken;
            else
                q->sites.v[q->site_of[e]].shelf = m->n_shelves;
            fixed += q->site_of[e] == CHOICE_NONE ? 0.0 : taken;
        }
        m->shelf_units[m->n_shelves++] =
            fmax(units, fixed); /* one that is too full already is no matter of the choice */
    }
    return m->shelf_units != NULL;
}

/* ---- the outcome in words ---- */

static bool is_about(const struct ports_problem *q, uint32_t plug, uint32_t site)
{
    return q->plugs.v[plug].follows == site || q->plugs.v[plug].joins[0].site == site;
}

/* What the best choice leaves lacking at one open site; false: nothing. */
static bool tell_lack(struct open_maker *m, const struct ports_problem *q, const struct choice_answer *answer,
                      uint32_t e, struct rt_problems *p)
{
    const uint32_t site = q->site_of[e];
    for (uint32_t i = 0; i < q->plugs.n; i++) {
        const unsigned lacks = answer->seats[i].lacks;
        const struct choice_want *want = &q->plugs.v[i].wants[answer->seats[i].want];
        if (!is_about(q, i, site) || !(lacks & (LACK_PORT | LACK_POWER)))
            continue;
        const struct cable *c = &m->h->cables.v[q->ends.v[i].cable];
        const char *what = lacks & LACK_PORT ? "no free port that takes its plug"
                                             : arena_printf(m->a, "no port that can give it class %d (%.1f W)",
                                                            want->poe_class, want->watts);
        m->code = rt_fail(p, RT_MISSING, house_text_place(m->h, m->h->equipment.v[e].kind, m->h->equipment.v[e].at),
                          "add a part that can to the parts file, or join the cable elsewhere",
                          "equipment '%.*s': no part of kind '%.*s' in hand serves cable '%.*s': %s",
                          STR_ARG(m->h->equipment.v[e].id), STR_ARG(m->h->equipment.v[e].kind), STR_ARG(c->id),
                          what ? what : "");
        return true;
    }
    return false;
}

/* Why a cheaper part than the chosen one was not taken. */
static const char *why_not_cheaper(struct open_maker *m, const struct ports_problem *q,
                                   const struct choice_answer *answer, uint32_t site, uint32_t k)
{
    const struct choice_part *part = &q->sites.v[site].parts[k];
    unsigned n_plugs = 0, n_ports = 0, n_fed = 0, n_feeding = 0, n_slow = 0;
    double watts = 0;
    for (uint32_t g = 0; g < part->n_groups; g++)
        n_ports += part->groups[g].is_closed ? 0 : part->groups[g].count;
    for (uint32_t i = 0; i < q->plugs.n; i++) {
        const struct choice_want *want = &q->plugs.v[i].wants[answer->seats[i].want];
        if (q->plugs.v[i].joins[0].site != site)
            continue;
        unsigned n_fast = 0;
        n_plugs++;
        n_fed += want->poe_class >= 0;
        watts += want->poe_class >= 0 ? want->watts : 0;
        for (uint32_t g = 0; g < part->n_groups; g++)
            n_fast += part->groups[g].speed_mbps >= want->speed_mbps && (part->groups[g].media & q->plugs.v[i].media);
        n_slow += n_fast == 0;
    }
    for (uint32_t g = 0; g < part->n_groups; g++)
        n_feeding += part->groups[g].poe_class >= 0 ? part->groups[g].count : 0;
    if (n_plugs > n_ports)
        return arena_printf(m->a, "has %u ports for %u cables", n_ports, n_plugs);
    if (n_fed > n_feeding)
        return arena_printf(m->a, "feeds %u of %u", n_feeding, n_fed);
    if (watts > part->budget_w)
        return arena_printf(m->a, "gives %.0f W of %.0f W", part->budget_w, watts);
    if (n_slow)
        return "is too slow";
    return "does not serve them all";
}

/* Of the same kind the dearest that comes before `last` by price, then by the file's order; NULL: none. */
static const struct part *next_cheaper(const struct open_maker *m, uint32_t e, const struct part *last)
{
    const struct part *best = NULL;
    for (uint32_t i = 0; i < m->h->parts.list.n; i++) {
        const struct part *other = &m->h->parts.list.v[i];
        const bool is_below = other->price < last->price || (other->price == last->price && other < last);
        if (str_is(m->h->equipment.v[e].kind, part_kind_name(other->kind)) && is_below &&
            (!best || other->price >= best->price))
            best = other;
    }
    return best;
}

static bool tell_choice(struct open_maker *m, const struct ports_problem *q, const struct choice_answer *answer,
                        uint32_t e)
{
    struct equipment *thing = &m->h->equipment.v[e];
    const struct house *h = m->h;
    const uint32_t site = q->site_of[e], chosen = m->candidates[e].v[answer->parts[site]];
    const struct part *part = &h->parts.list.v[chosen];
    struct buf b = { .arena = m->a };
    uint32_t n_told = 0;
    int64_t amount = 0;
    const bool is_priced = money_amount(h->parts.currency, part->price, 1.0, &amount);
    buf_printf(&b, "the cheapest %.*s in hand that will do%s%.*s", STR_ARG(thing->kind), is_priced ? ", " : "",
               STR_ARG(is_priced ? money_words(m->a, h->parts.currency, amount) : STR("")));
    const struct part *told = part;
    while (n_told < TOLD_MOST && (told = next_cheaper(m, e, told))) {
        const uint32_t i = (uint32_t)(told - h->parts.list.v);
        const char *why = open_part_unfit(m, e, told);
        for (uint32_t k = 0; !why && k < m->candidates[e].n; k++)
            if (m->candidates[e].v[k] == i)
                why = why_not_cheaper(m, q, answer, site, k);
        buf_printf(&b, "%s%.*s %s", n_told++ ? "; " : "; next below: ", STR_ARG(told->id), why ? why : "");
    }
    thing->part = (struct ref){ .i = chosen, .at = house_text_place(h, thing->kind, thing->at) };
    thing->because = buf_done(&b);
    return !b.failed;
}

/* ---- the whole ---- */

static enum rt_code choose(struct open_maker *m, struct rt_problems *p)
{
    struct ports_problem q;
    struct choice_answer answer;
    if (!ports_problem_make(m->a, m->h, NULL, m->candidates, &q) || !make_shelves(m, &q))
        return rt_fail_memory(p);
    const struct choice_problem problem = { .sites = q.sites.v,
                                            .n_sites = q.sites.n,
                                            .plugs = q.plugs.v,
                                            .n_plugs = q.plugs.n,
                                            .shelf_units = m->shelf_units,
                                            .n_shelves = m->n_shelves };
    const enum rt_code code = choice_solve(m->run, &problem, &answer);
    if (code == RT_CANCELLED)
        return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped");
    if (code)
        return rt_fail_memory(p);
    for (uint32_t e = 0; e < m->h->equipment.n; e++)
        if (m->candidates[e].n && !tell_lack(m, &q, &answer, e, p) && !tell_choice(m, &q, &answer, e))
            return rt_fail_memory(p);
    return m->code;
}

enum rt_code open_parts_choose(const struct run *run, struct house *h, struct rt_problems *p)
{
    struct open_maker m = { .run = run, .a = run->arena, .h = h };
    uint32_t n_open = 0;
    for (uint32_t e = 0; e < h->equipment.n; e++)
        n_open += h->equipment.v[e].part.i == NO_REF && h->equipment.v[e].kind.n > 0;
    if (!n_open)
        return RT_OK;
    m.candidates = ARENA_ARRAY(m.a, ports_candidates, h->equipment.n);
    if (!m.candidates || !cable_tree_hang(m.a, h, tree_root(h), NULL, NULL, &m.tree))
        return rt_fail_memory(p);
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (h->equipment.v[e].part.i == NO_REF && h->equipment.v[e].kind.n > 0 && !list_candidates(&m, e, p))
            return rt_fail_memory(p);
    return m.code ? m.code : choose(&m, p);
}

enum rt_code house_open(const struct run *run, const char *path, struct house **out, struct rt_problems *p)
{
    struct house *h = NULL;
    RT_TRY(house_read(run, path, &h, p));
    RT_TRY(open_parts_choose(run, h, p));
    *out = h;
    return RT_OK;
}

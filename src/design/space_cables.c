/* Which cables might be laid, and what each costs: a house with all of them at once, each by its own way, and the bill's own prices. */
#include <math.h>
#include <string.h>

#include "data/device_kinds.h"
#include "data/separation.h"
#include "design/space_int.h"
#include "wire/cable_rules.h"

#define CHANNEL_MOST_M 100.0 /* ISO/IEC 11801-1, from memory */

/* ---- which ---- */

static uint32_t building_of(const struct house *h, uint32_t floor)
{
    return floor == NO_REF ? NO_REF : cable_building_of(h, floor);
}

/* May copper lead from one building to another?  Where mains are used in both, their earths may differ. */
static bool copper_may_cross(const struct space_maker *m, uint32_t a, uint32_t b)
{
    const uint32_t home = m->hubs.v[0].hub.building;
    return m->protector != NO_REF && (a == home || !m->earths_differ[a]) && (b == home || !m->earths_differ[b]);
}

static bool add_pair(struct space_maker *m, uint32_t hub, uint32_t building, bool is_hub)
{
    const uint32_t here = m->hubs.v[hub].hub.building;
    struct pair q = { .hub = hub, .medium = MEDIUM_COPPER, .cable = NO_REF, .cord = NO_REF, .cabling = NO_REF };
    q.is_between = here != NO_REF && building != NO_REF && here != building;
    if (q.is_between && is_hub && m->converter != NO_REF && m->fibre != NO_REF)
        q.medium = MEDIUM_FIBRE;
    else if (q.is_between && !is_hub && !copper_may_cross(m, here, building))
        return true;
    else if (q.is_between && m->protector == NO_REF)
        return true;
    m->failed |= !VEC_PUSH(m->a, &m->pairs, q);
    return !m->failed;
}

static bool pairs_to_all(struct space_maker *m, uint32_t building, uint32_t *first, uint32_t *n)
{
    *first = m->pairs.n;
    for (uint32_t g = 0; g < m->hubs.n; g++)
        if (!add_pair(m, g, building, false))
            return false;
    *n = m->pairs.n - *first;
    return true;
}

static bool pairs_of_hub(struct space_maker *m, uint32_t g)
{
    struct hub_draft *d = &m->hubs.v[g];
    d->first_pair = m->pairs.n;
    for (uint32_t k = 0; k < d->hub.switches.n && d->up == NO_REF; k++) {
        bool is_fed = false;
        d->up = maker_hub_behind(m, d->hub.switches.v[k], &d->up_cable, &is_fed);
        if (d->up == g)
            d->up = NO_REF;
    }
    for (uint32_t o = 0; o < g && d->up == NO_REF; o++)
        if ((o == 0 || m->hubs.v[o].hub.building == d->hub.building) && !add_pair(m, o, d->hub.building, true))
            return false;
    d->n_pairs = m->pairs.n - d->first_pair;
    return true;
}

static bool pairs_of_site(struct space_maker *m, struct site_draft *s)
{
    const struct house *h = m->h;
    if (s->piece != NO_REF) {
        const uint32_t e = m->space->pieces.v[s->piece];
        s->hub = maker_hub_behind(m, e, &s->cable, &s->is_fed);
        if (s->hub != NO_REF && !s->is_fixed && !m->space->asked->cables.v[s->cable].owned)
            s->hub = s->cable = NO_REF;
    }
    return s->hub != NO_REF ||
           pairs_to_all(m, building_of(h, h->mounts.v[s->mount].floor.i), &s->first_pair, &s->n_pairs);
}

static bool has_cable(const struct house *h, uint32_t device)
{
    for (uint32_t c = 0; c < h->cables.n; c++)
        if (h->cables.v[c].from.device == device || h->cables.v[c].to.device == device)
            return true;
    return false;
}

static bool pairs_of_device(struct space_maker *m, uint32_t device)
{
    const struct house *h = m->h;
    struct device_draft d = { .device = device, .hub = NO_REF, .cable = NO_REF, .thing = NO_REF };
    if (h->devices.v[device].link != LINK_WIRED)
        return true;
    if (has_cable(h, device)) {
        d.hub = maker_hub_behind(m, tree_device(h, device), &d.cable, &d.is_fed);
        if (d.hub == NO_REF)
            return true; /* its cable leads elsewhere: it takes no port of ours */
    } else if (!pairs_to_all(m, building_of(h, h->devices.v[device].floor.i), &d.first_pair, &d.n_pairs)) {
        return false;
    }
    m->failed |= !VEC_PUSH(m->a, &m->devices, d);
    return !m->failed;
}

/* Does something in the building take mains? */
static bool mark_earths(struct space_maker *m)
{
    const struct house *h = m->h;
    m->earths_differ = ARENA_ARRAY(m->a, bool, h->floors.n);
    for (uint32_t i = 0; m->earths_differ && i < h->devices.n; i++) {
        const struct device *d = &h->devices.v[i];
        const struct device_kind *kind = device_kind_find(d->kind);
        const uint32_t building = building_of(h, d->floor.i);
        if (building != NO_REF && !d->carried && d->link != LINK_MESH && !is_given(d->poe_class) &&
            given_or(d->power_w, kind ? kind->power_w : 0.0) > 0.0)
            m->earths_differ[building] = true;
    }
    for (uint32_t i = 0; m->earths_differ && i < h->equipment.n; i++) {
        const struct part *p = equipment_part(h, i);
        const uint32_t building = building_of(h, h->equipment.v[i].floor.i);
        if (building != NO_REF && p && !is_given(p->poe_class_needed) && p->kind != PART_OPTIC &&
            given_or(p->power_w, 0.0) > 0.0)
            m->earths_differ[building] = true;
    }
    return m->earths_differ != NULL;
}

/* The cheapest fibre for outdoors that is sold by length. */
static uint32_t cheapest_fibre(const struct house *h)
{
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < h->parts.list.n; i++) {
        const struct part *p = &h->parts.list.v[i], *q = best == NO_REF ? NULL : &h->parts.list.v[best];
        const struct cable_category *c = cable_category_find(p->category);
        if (p->kind == PART_CABLE && p->outdoors && p->per_m > 0.0 && c && c->family != CABLE_COPPER &&
            c->family != CABLE_TWINAX && (!q || p->price / p->per_m < q->price / q->per_m))
            best = i;
    }
    return best;
}

static bool find_pairs(struct space_maker *m)
{
    m->converter = maker_cheapest(m->h, PART_CONVERTER);
    m->protector = maker_cheapest(m->h, PART_PROTECTOR);
    m->fibre = cheapest_fibre(m->h);
    if (!mark_earths(m))
        return false;
    for (uint32_t g = 1; g < m->hubs.n; g++)
        if (!pairs_of_hub(m, g))
            return false;
    for (uint32_t i = 0; i < m->sites.n; i++)
        if (!pairs_of_site(m, &m->sites.v[i]))
            return false;
    for (uint32_t i = 0; i < m->h->devices.n; i++)
        if (!pairs_of_device(m, i))
            return false;
    return true;
}

/* ---- the house that asks ---- */

static struct equipment stand_in(struct str id, uint32_t part)
{
    const struct ref none = { .i = NO_REF };
    return (struct equipment){ .id = id,
                               .part.i = part,
                               .mount = none,
                               .floor = none,
                               .room = none,
                               .inside = none,
                               .unit = RT_NOT_GIVEN,
                               .faces_deg = RT_NOT_GIVEN,
                               .segment = none,
                               .phase = none,
                               .owned = true };
}

static struct equipment at_hub(const struct design_hub *hub, struct str id, uint32_t part)
{
    struct equipment e = stand_in(id, part);
    e.floor.i = hub->floor;
    e.room.i = hub->room;
    e.at_m = hub->at_m;
    return e;
}

static struct equipment at_mount(const struct house *h, uint32_t mount, struct str id, uint32_t part)
{
    const struct mount *k = &h->mounts.v[mount];
    struct equipment e = stand_in(id, part);
    e.mount.i = mount;
    e.floor = k->floor;
    e.room = k->room;
    e.at_m = k->at_m;
    return e;
}

/* A switch that stands for those of the hubs: its ports decide nothing here. */
static uint32_t any_switch(const struct house *h)
{
    const uint32_t part = maker_cheapest(h, PART_SWITCH);
    return part == NO_REF ? maker_cheapest(h, PART_GATEWAY) : part;
}

/* What is there (movable access points and their cables cost nothing here), a switch at each hub, an access point at each site, what
 * ends fibre at each hub, and what the core needs. */
static bool add_things(struct space_maker *m, struct house *h)
{
    const struct design_hub *core = &m->hubs.v[0].hub;
    struct equipment *v = ARENA_ARRAY(m->a, struct equipment, (size_t)h->equipment.n + 2u * m->hubs.n + m->sites.n + 2);
    if (!v)
        return false;
    uint32_t n = h->equipment.n;
    if (n)
        memcpy(v, h->equipment.v, n * sizeof *v);
    for (uint32_t e = 0; e < n; e++)
        v[e].owned |= v[e].movable && v[e].part.i != NO_REF && equipment_part(h, e)->kind == PART_ACCESS_POINT;
    for (uint32_t g = 0; g < m->hubs.n; g++)
        v[n++] = at_hub(&m->hubs.v[g].hub, STR("switch"), any_switch(h));
    for (uint32_t i = 0; i < m->sites.n; i++) {
        const struct site_draft *s = &m->sites.v[i];
        const uint32_t part = s->parts.n           ? s->parts.v[0]
                              : s->piece != NO_REF ? h->equipment.v[m->space->pieces.v[s->piece]].part.i
                                                   : maker_cheapest(h, PART_ACCESS_POINT);
        v[n++] = at_mount(h, s->mount, h->mounts.v[s->mount].id, part);
    }
    for (uint32_t g = 0; g < m->hubs.n && m->converter != NO_REF; g++)
        v[n++] = at_hub(&m->hubs.v[g].hub, STR("converter"), m->converter);
    if (core->gateway_part != NO_REF) {
        v[n] = at_hub(core, STR("gateway"), core->gateway_part);
        v[n++].owned = false;
    }
    if (maker_owes_cabinet(m, core)) {
        v[n] = at_mount(h, core->cabinet_mount, STR("cabinet"), core->cabinet_part);
        v[n++].owned = false;
    }
    h->equipment.v = v;
    h->equipment.n = n;
    return true;
}

static struct cable_end end_at(const struct house *h, uint32_t equipment, uint32_t device)
{
    return (struct cable_end){ .what = device == NO_REF ? h->equipment.v[equipment].id : h->devices.v[device].id,
                               .equipment = equipment,
                               .device = device,
                               .port = RT_NOT_GIVEN };
}

/* From the switch of the hub, or what ends fibre there, to a thing (a hub: far_hub, else NO_REF). */
static void add_cables_of(struct space_maker *m, struct house *h, uint32_t first, uint32_t n, struct cable_end to,
                          uint32_t far_hub, double cord_to_m)
{
    const uint32_t first_hub = m->h->equipment.n, first_converter = first_hub + m->hubs.n + m->sites.n;
    for (uint32_t i = first; i < first + n; i++) {
        struct pair *q = &m->pairs.v[i];
        const bool is_fibre = q->medium == MEDIUM_FIBRE;
        q->cable = h->cables.n;
        h->cables.v[h->cables.n++] =
            (struct cable){ .id = to.what,
                            .from = end_at(h, (is_fibre ? first_converter : first_hub) + q->hub, NO_REF),
                            .to = is_fibre ? end_at(h, first_converter + far_hub, NO_REF) : to,
                            .part.i = NO_REF,
                            .length_m = RT_NOT_GIVEN,
                            .cord_from_m = DESIGN_CORD_AT_HUB_M,
                            .cord_to_m = cord_to_m };
    }
}

static bool add_cables(struct space_maker *m, struct house *h)
{
    const uint32_t n_old = h->cables.n, first_hub = m->h->equipment.n, first_site = first_hub + m->hubs.n;
    struct cable *v = ARENA_ARRAY(m->a, struct cable, (size_t)n_old + m->pairs.n);
    if (!v)
        return false;
    if (n_old)
        memcpy(v, h->cables.v, n_old * sizeof *v);
    h->cables.v = v;
    for (uint32_t c = 0; c < n_old; c++) {
        const uint32_t ends[2] = { v[c].from.equipment, v[c].to.equipment };
        for (int k = 0; k < 2; k++) {
            const struct part *p = ends[k] == NO_REF ? NULL : equipment_part(h, ends[k]);
            v[c].owned |= p && p->kind == PART_ACCESS_POINT && h->equipment.v[ends[k]].movable;
        }
    }
    for (uint32_t g = 1; g < m->hubs.n; g++)
        add_cables_of(m, h, m->hubs.v[g].first_pair, m->hubs.v[g].n_pairs, end_at(h, first_hub + g, NO_REF), g,
                      DESIGN_CORD_AT_SITE_M);
    for (uint32_t i = 0; i < m->sites.n; i++)
        add_cables_of(m, h, m->sites.v[i].first_pair, m->sites.v[i].n_pairs, end_at(h, first_site + i, NO_REF), NO_REF,
                      DESIGN_CORD_AT_SITE_M);
    for (uint32_t i = 0; i < m->devices.n; i++)
        add_cables_of(m, h, m->devices.v[i].first_pair, m->devices.v[i].n_pairs,
                      end_at(h, NO_REF, m->devices.v[i].device), NO_REF, DESIGN_CORD_AT_DEVICE_M);
    m->n_asked_cables = n_old;
    return true;
}

/* ---- is it legal, and may it lie there? ---- */

double maker_longest_m(const struct space_maker *m, uint32_t first_pair, uint32_t n_pairs, uint32_t cable)
{
    double most_m = 0.0;
    if (cable != NO_REF)
        return given_or(m->links.v[cable].length_m, CHANNEL_MOST_M);
    for (uint32_t i = first_pair; i < first_pair + n_pairs; i++)
        if (m->pairs.v[i].is_good)
            most_m = fmax(most_m, given_or(m->links.v[m->pairs.v[i].cable].length_m, CHANNEL_MOST_M));
    return most_m;
}

static double need_of_device(const struct space_maker *m, uint32_t device)
{
    return fmax(wire_own_need_mbps(m->h, m->h->equipment.n + device), m->promised_mbps);
}

static bool reaches(const struct space_maker *m, const struct cable_category *c, const struct wire_link *l,
                    double need_mbps)
{
    const double channel_m = cable_channel_max_m(c, need_mbps);
    return channel_m > 0.0 && l->length_m <= cable_length_max_m(c, channel_m, l->cords_m) * m->length_share - l->warm_m;
}

/* The least category that carries it over this length; NULL: none. */
static const struct cable_category *category_for(const struct space_maker *m, const struct pair *q,
                                                 const struct wire_link *l, double need_mbps)
{
    uint32_t n = 0;
    const struct cable_category *all = cable_categories(&n), *fibre = NULL;
    if (q->medium == MEDIUM_FIBRE) {
        fibre = cable_category_find(maker_part(m, m->fibre)->category);
        return fibre && reaches(m, fibre, l, need_mbps) ? fibre : NULL;
    }
    for (uint32_t i = 0; i < n; i++)
        if (all[i].family == CABLE_COPPER && reaches(m, &all[i], l, need_mbps))
            return &all[i];
    return NULL;
}

/* Is there room for one more in every run it passes? */
static bool has_room(const struct space_maker *m, const struct cable_rules *rules, uint32_t cable)
{
    const struct routed_cable *r = &m->plan->cables[cable];
    const double section_mm2 = cable_section_mm2(m->asking, &m->links, cable);
    for (uint32_t i = 0; i < r->legs.n; i++) {
        const uint32_t run = r->legs.v[i].run;
        double used_mm2 = 0.0;
        uint32_t n = 0;
        if (run == NO_REF || !is_given(m->h->runs.v[run].area_mm2))
            continue;
        for (uint32_t k = 0; k < rules->fills.n; k++)
            if (rules->fills.v[k].run == run) {
                used_mm2 = rules->fills.v[k].used_mm2;
                n = rules->fills.v[k].n_cables;
            }
        if (used_mm2 + section_mm2 > m->h->runs.v[run].area_mm2 * fill_share_max(n + 1) + 1e-9)
            return false;
    }
    return true;
}

/* ---- by the metre ---- */

static enum rt_code add_class(struct space_maker *m, struct str category, bool outdoors, uint32_t *out)
{
    const struct house *h = m->h;
    struct place_cabling q = { .parts = ARENA_ARRAY(m->a, struct place_cable_part, h->parts.list.n) };
    *out = m->cablings.n;
    if (!q.parts || !VEC_PUSH(m->a, &m->classes, ((struct cabling_class){ category, outdoors })))
        return rt_fail_memory(m->p);
    for (uint32_t i = 0; i < h->parts.list.n; i++) {
        const struct part *p = maker_part(m, i);
        if (p->kind != PART_CABLE || !(p->per_m > 0.0) || !(p->price >= 0.0) || (outdoors && !p->outdoors) ||
            !cable_category_serves(p->category, category))
            continue;
        struct place_cable_part *c = &q.parts[q.n_parts++];
        *c = (struct place_cable_part){ .part = i, .per_m = p->per_m };
        RT_TRY(maker_piece_price(m, i, &c->price));
    }
    return VEC_PUSH(m->a, &m->cablings, q) ? RT_OK : rt_fail_memory(m->p);
}

static enum rt_code class_of(struct space_maker *m, const struct cable_category *c, bool outdoors, uint32_t *out)
{
    const struct str name = str_from(c->name);
    for (*out = 0; *out < m->classes.n; ++*out)
        if (str_eq(m->classes.v[*out].category, name) && m->classes.v[*out].outdoors == outdoors)
            return RT_OK;
    return add_class(m, name, outdoors, out);
}

/* ---- each pair ---- */

/* A cord does for what stands beside a switch: along the walls, in the same room. */
static uint32_t cord_for(const struct space_maker *m, const struct pair *q, uint32_t room, struct vec3 at_m)
{
    const struct design_hub *hub = &m->hubs.v[q->hub].hub;
    const double reach_m = fabs(at_m.x - hub->at_m.x) + fabs(at_m.y - hub->at_m.y) + fabs(at_m.z - hub->at_m.z);
    return room != NO_REF && room == hub->room && is_given(reach_m) ? maker_cord(m->h, reach_m) : NO_REF;
}

static void take_cords(struct space_maker *m)
{
    const struct house *h = m->h;
    for (uint32_t i = 0; i < m->devices.n; i++) {
        const struct device_draft *d = &m->devices.v[i];
        const struct device *q = &h->devices.v[d->device];
        for (uint32_t k = d->first_pair; k < d->first_pair + d->n_pairs; k++)
            m->pairs.v[k].cord = cord_for(m, &m->pairs.v[k], q->room.i, q->at_m);
    }
    for (uint32_t i = 0; i < m->sites.n; i++) {
        const struct site_draft *s = &m->sites.v[i];
        const struct mount *q = &h->mounts.v[s->mount];
        for (uint32_t k = s->first_pair; k < s->first_pair + s->n_pairs && q->surface == SURFACE_SHELF; k++)
            m->pairs.v[k].cord = cord_for(m, &m->pairs.v[k], q->room.i, q->at_m);
    }
}

/* Sets its category, so that cords and sockets are counted for that. */
static enum rt_code judge_pair(struct space_maker *m, const struct cable_rules *rules, struct pair *q, double need_mbps)
{
    const struct routed_cable *r = &m->plan->cables[q->cable];
    struct wire_link *l = &m->links.v[q->cable];
    if (q->cord != NO_REF) {
        q->is_good = true;
        return RT_OK;
    }
    const struct cable_category *c = r->is_routed && l->is_known ? category_for(m, q, l, need_mbps) : NULL;
    if (!c)
        return RT_OK;
    l->category = str_from(c->name);
    l->is_fibre = q->medium == MEDIUM_FIBRE;
    if (!has_room(m, rules, q->cable))
        return RT_OK;
    RT_TRY(class_of(m, c, r->outdoors || l->is_fibre, &q->cabling));
    q->is_good = m->cablings.v[q->cabling].n_parts > 0;
    q->length_m = r->fixed_m + (l->is_fibre ? r->cords_m : 0.0);
    return RT_OK;
}

static enum rt_code judge_pairs(struct space_maker *m, const struct cable_rules *rules, uint32_t first, uint32_t n,
                                double need_mbps)
{
    for (uint32_t i = first; i < first + n; i++)
        RT_TRY(judge_pair(m, rules, &m->pairs.v[i], need_mbps));
    return RT_OK;
}

static enum rt_code judge_all(struct space_maker *m)
{
    struct cable_rules rules = { 0 };
    struct house base = *m->asking;
    struct cable_plan plan = *m->plan;
    struct wire_links links = m->links;
    const double usual_mbps = m->promised_mbps > 0.0 ? m->promised_mbps : m->fastest_mbps;
    base.cables.n = links.n = m->n_asked_cables;
    plan.h = &base;
    RT_TRY(cable_rules_check(m->run, &plan, &links, &rules, m->p));
    for (uint32_t g = 1; g < m->hubs.n; g++)
        RT_TRY(judge_pairs(m, &rules, m->hubs.v[g].first_pair, m->hubs.v[g].n_pairs, usual_mbps));
    for (uint32_t i = 0; i < m->sites.n; i++)
        RT_TRY(judge_pairs(m, &rules, m->sites.v[i].first_pair, m->sites.v[i].n_pairs, usual_mbps));
    for (uint32_t i = 0; i < m->devices.n; i++)
        RT_TRY(judge_pairs(m, &rules, m->devices.v[i].first_pair, m->devices.v[i].n_pairs,
                           need_of_device(m, m->devices.v[i].device)));
    return RT_OK;
}

/* What stands at both ends of a cable between buildings. */
static enum rt_code price_of_ends(struct space_maker *m, const struct pair *q, int64_t *out)
{
    int64_t box = 0, cord = 0;
    *out = 0;
    if (!q->is_between)
        return RT_OK;
    RT_TRY(maker_part_price(m, q->medium == MEDIUM_FIBRE ? m->converter : m->protector, NO_REF, &box));
    const uint32_t part = q->medium == MEDIUM_FIBRE ? maker_cord(m->h, DESIGN_CORD_AT_HUB_M) : NO_REF;
    if (part != NO_REF)
        RT_TRY(maker_piece_price(m, part, &cord));
    *out = 2 * (box + cord);
    return RT_OK;
}

/* Is it done anyway, for a cable that the file still has to buy? */
static bool is_owed(const struct space_maker *m, const struct cable_work *w)
{
    for (uint32_t i = 0; i < w->cables.n; i++)
        if (w->cables.v[i].i < m->n_asked_cables && !m->asking->cables.v[w->cables.v[i].i].owned)
            return true;
    return false;
}

static enum rt_code price_all(struct space_maker *m)
{
    struct bill_prices prices = { 0 };
    RT_TRY(bill_price_alone(m->run, m->plan, &m->links, &prices, m->p));
    for (uint32_t i = 0; i < m->pairs.n; i++) {
        int64_t ends = 0;
        struct pair *q = &m->pairs.v[i];
        if (q->cord != NO_REF) {
            RT_TRY(maker_piece_price(m, q->cord, &q->price));
            continue;
        }
        q->price = prices.cables[q->cable];
        RT_TRY(bill_add_unforeseen(m->h, &q->price, m->p));
        RT_TRY(price_of_ends(m, q, &ends));
        q->price += ends;
    }
    for (uint32_t i = 0; i < m->plan->work.n; i++) {
        if (is_owed(m, &m->plan->work.v[i]))
            prices.works[i] = 0;
        RT_TRY(bill_add_unforeseen(m->h, &prices.works[i], m->p));
    }
    m->space->placing.works.v = prices.works;
    m->space->placing.works.n = m->plan->work.n;
    return RT_OK;
}

enum rt_code maker_find_cables(struct space_maker *m)
{
    struct house *h = ARENA_NEW(m->a, struct house);
    if (!h || !find_pairs(m))
        return rt_fail_memory(m->p);
    *h = *m->h;
    if (!add_things(m, h) || !add_cables(m, h))
        return rt_fail_memory(m->p);
    m->asking = h;
    struct rt_problems unheard;
    rt_problems_init(&unheard, m->a);
    const enum rt_code code = cables_plan_alone(m->run, h, &m->plan, &unheard);
    if (code == RT_CANCELLED)
        return rt_fail(m->p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped");
    if (code)
        return rt_fail_memory(m->p);
    RT_TRY(wire_links_judge(m->run, m->plan, &m->links, m->p));
    take_cords(m);
    RT_TRY(judge_all(m));
    return price_all(m);
}

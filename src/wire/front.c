/* Which things stand together, what they draw and from where; the places are found in front_cabinet.c and front_wall.c. */
#include "wire/front.h"

#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "data/device_kinds.h"
#include "wire/front_int.h"
#include "wire/inside.h"
#include "wire/power_int.h"

#define NEAR_M 1.0 /* things of one wall hang no further apart */

/* ---- one thing ---- */

static enum stand_rank rank_of(enum part_kind kind)
{
    switch (kind) {
    case PART_GATEWAY:
        return RANK_GATEWAY;
    case PART_SUNDRY: /* a row of sockets */
    case PART_OUTLET:
        return RANK_PATCH;
    case PART_SWITCH:
    case PART_INJECTOR:
    case PART_CONVERTER:
        return RANK_SWITCH;
    case PART_BATTERY:
        return RANK_BATTERY;
    default:
        return RANK_OTHER;
    }
}

static void size_stand(struct stand *s, const struct part *p)
{
    const double units = p ? p->rack_units : RT_NOT_GIVEN;
    s->w_m = p && is_given(p->width_m) ? p->width_m : is_given(units) ? RACK_WIDTH_M : STAND_W_M;
    const bool is_small = p && (p->kind == PART_INJECTOR || p->kind == PART_CONVERTER);
    s->h_m = p && is_given(p->height_m) ? p->height_m
             : is_given(units)          ? units * RACK_UNIT_M
             : is_small                 ? STAND_SMALL_H_M
                                        : STAND_H_M;
    s->is_size_known = is_given(units) || (p && is_given(p->width_m) && is_given(p->height_m));
    s->units = is_given(units) ? (unsigned)ceil(units) : 0;
}

static struct draft_stand draft_equipment(const struct front_maker *m, uint32_t e)
{
    const struct equipment *q = &m->h->equipment.v[e];
    const struct part *p = part_of_equipment(m->h, e);
    struct draft_stand d = { .stand = { .kind = STAND_EQUIPMENT, .which = e }, .part = p, .at_m = q->at_m };
    d.rank = p ? rank_of(p->kind) : RANK_OTHER;
    d.unit = q->unit;
    size_stand(&d.stand, p);
    d.stand.power_w = p ? given_or(p->power_max_w, p->power_w) : RT_NOT_GIVEN;
    if (m->energy->power->feed_of_equipment[e] != NO_REF)
        d.stand.power = POWER_CABLE;
    else if (d.stand.power_w > 0.0)
        d.stand.power = m->energy->battery_of_equipment[e] != NO_REF ? POWER_BATTERY : POWER_MAINS;
    return d;
}

static struct draft_stand draft_device(const struct front_maker *m, uint32_t i)
{
    const struct device *q = &m->h->devices.v[i];
    const struct part *p = part_of_device(m->h, q);
    const struct device_kind *kind = device_kind_find(q->kind);
    struct draft_stand d = { .stand = { .kind = STAND_DEVICE, .which = i }, .part = p, .at_m = q->at_m };
    d.rank = RANK_OTHER;
    d.unit = RT_NOT_GIVEN;
    size_stand(&d.stand, p);
    const double part_w = p ? given_or(p->power_max_w, p->power_w) : RT_NOT_GIVEN;
    d.stand.power_w = given_or(part_w, given_or(q->power_w, kind ? kind->power_w : RT_NOT_GIVEN));
    if (m->energy->power->feed_of_device[i] != NO_REF)
        d.stand.power = POWER_CABLE;
    else if (!(d.stand.power_w <= 0.0))
        d.stand.power = m->energy->battery_of_device[i] != NO_REF ? POWER_BATTERY : POWER_MAINS;
    return d;
}

static void push(struct front_maker *m, draft_list *list, struct draft_stand d)
{
    d.order = list->n;
    m->failed |= !VEC_PUSH(m->arena, list, d);
}

/* ---- what they have in common ---- */

static bool is_here(const struct front *f, enum stand_kind kind, uint32_t which)
{
    for (uint32_t i = 0; i < f->stands.n; i++)
        if (f->stands.v[i].kind == kind && f->stands.v[i].which == which)
            return true;
    return false;
}

static bool holds(const draft_list *list, const struct cable_end *end)
{
    for (uint32_t i = 0; i < list->n; i++) {
        const struct stand *s = &list->v[i].stand;
        if ((s->kind == STAND_EQUIPMENT && s->which == end->equipment) ||
            (s->kind == STAND_DEVICE && s->which == end->device))
            return true;
    }
    return false;
}

/* Cables that come from elsewhere to what stands here; cords go from thing to thing. */
static void find_patched(struct front_maker *m, struct front *f, const draft_list *list)
{
    const struct house *h = m->h;
    f->patched.v = ARENA_ARRAY(m->arena, struct patched, h->cables.n);
    m->failed |= !f->patched.v;
    for (uint32_t c = 0; !m->failed && c < h->cables.n; c++) {
        const struct part *part = part_of_cable(h, c);
        const bool from = holds(list, &h->cables.v[c].from), to = holds(list, &h->cables.v[c].to);
        if (from != to && !(part && part->kind == PART_CORD))
            f->patched.v[f->patched.n++] = (struct patched){ c, from };
    }
}

static void count_plugs(struct front *f)
{
    for (uint32_t i = 0; i < f->stands.n; i++) {
        f->n_strip += f->stands.v[i].power == POWER_MAINS;
        f->n_battery += f->stands.v[i].power == POWER_BATTERY;
    }
}

/* A battery of the house that feeds something here, over its own sockets or over cables. */
static bool feeds_here(const struct front_maker *m, const struct front *f, uint32_t b)
{
    for (uint32_t e = 0; e < m->h->equipment.n; e++)
        if (m->energy->battery_of_equipment[e] == b && is_here(f, STAND_EQUIPMENT, e))
            return true;
    for (uint32_t d = 0; d < m->h->devices.n; d++)
        if (m->energy->battery_of_device[d] == b && is_here(f, STAND_DEVICE, d))
            return true;
    return m->energy->battery_of_line == b && is_here(f, STAND_LINE_BOX, NO_REF);
}

static void find_batteries(struct front_maker *m, struct front *f)
{
    f->batteries.v = ARENA_ARRAY(m->arena, uint32_t, m->h->batteries.n);
    m->failed |= !f->batteries.v;
    for (uint32_t b = 0; !m->failed && b < m->h->batteries.n; b++)
        if (feeds_here(m, f, b))
            f->batteries.v[f->batteries.n++] = b;
}

/* From top to bottom, then left to right; last what found no room. */
static int by_place(const void *a, const void *b)
{
    const struct stand *p = a, *q = b;
    if (p->fits != q->fits)
        return p->fits ? -1 : 1;
    const double top_p = p->z_m + p->h_m, top_q = q->z_m + q->h_m;
    if (p->fits && fabs(top_p - top_q) > 1e-9)
        return top_p > top_q ? -1 : 1;
    if (p->fits && p->x_m != q->x_m)
        return p->x_m < q->x_m ? -1 : 1;
    if (p->kind != q->kind)
        return p->kind < q->kind ? -1 : 1;
    return p->which < q->which ? -1 : p->which > q->which;
}

static void finish(struct front_maker *m, struct front *f, draft_list *list)
{
    f->stands.v = ARENA_ARRAY(m->arena, struct stand, list->n);
    m->failed |= !f->stands.v;
    for (uint32_t i = 0; !m->failed && i < list->n; i++)
        f->stands.v[f->stands.n++] = list->v[i].stand;
    if (f->stands.n)
        qsort(f->stands.v, f->stands.n, sizeof f->stands.v[0], by_place);
    for (uint32_t i = 0; i < f->stands.n; i++)
        f->heat_w += f->stands.v[i].power == POWER_NONE ? 0.0 : given_or(f->stands.v[i].power_w, 0.0);
    count_plugs(f);
    find_batteries(m, f);
}

/* ---- cabinets ---- */

static const struct cabinet_heat *heat_of(const struct front_maker *m, uint32_t cabinet)
{
    for (uint32_t i = 0; i < m->energy->cabinets.n; i++)
        if (m->energy->cabinets.v[i].equipment == cabinet)
            return &m->energy->cabinets.v[i];
    return NULL;
}

static struct front cabinet_front(struct front_maker *m, uint32_t cabinet)
{
    const struct equipment *c = &m->h->equipment.v[cabinet];
    struct front f = { .cabinet = cabinet, .floor = c->floor.i, .room = c->room.i, .name = c->id };
    draft_list list = { 0 };
    for (uint32_t e = 0; e < m->h->equipment.n; e++)
        if (m->h->equipment.v[e].inside.i == cabinet && e != cabinet)
            push(m, &list, draft_equipment(m, e));
    for (uint32_t d = 0; d < m->h->devices.n; d++)
        if (cabinet_of_device(m->h, d) == cabinet)
            push(m, &list, draft_device(m, d));
    find_patched(m, &f, &list);
    f.heat = heat_of(m, cabinet);
    front_fill_cabinet(m, &f, &list);
    f.foot_m = c->at_m.z - f.h_m / 2.0;
    finish(m, &f, &list);
    f.heat_w = f.heat ? f.heat->heat_w : f.heat_w;
    return f;
}

/* ---- walls ---- */

/* Things that others hang on; an access point on its ceiling is no wall of things. */
static bool is_of_walls(const struct front_maker *m, uint32_t e)
{
    const struct part *p = part_of_equipment(m->h, e);
    const struct equipment *q = &m->h->equipment.v[e];
    if (!p || q->inside.i != NO_REF || q->floor.i == NO_REF || !is_given(q->at_m.x))
        return false;
    return p->kind == PART_GATEWAY || p->kind == PART_SWITCH || p->kind == PART_INJECTOR || p->kind == PART_CONVERTER ||
           p->kind == PART_BATTERY || p->kind == PART_RECORDER;
}

static bool is_near(const draft_list *list, struct vec3 at_m)
{
    for (uint32_t i = 0; i < list->n; i++)
        if (hypot(list->v[i].at_m.x - at_m.x, list->v[i].at_m.y - at_m.y) <= NEAR_M)
            return true;
    return false;
}

/* Adds what hangs near to what is there already, as long as there is more. */
static void gather_wall(struct front_maker *m, const struct front *f, draft_list *list, bool *taken)
{
    for (bool more = true; more;) {
        more = false;
        for (uint32_t e = 0; e < m->h->equipment.n; e++) {
            const struct equipment *q = &m->h->equipment.v[e];
            if (taken[e] || !is_of_walls(m, e) || q->floor.i != f->floor || q->room.i != f->room ||
                !is_near(list, q->at_m))
                continue;
            push(m, list, draft_equipment(m, e));
            taken[e] = more = true;
        }
    }
}

/* The machines that belong to it: what records and serves, and is wired. */
static void add_machines(struct front_maker *m, const struct front *f, draft_list *list)
{
    const uint32_t n = list->n;
    for (uint32_t d = 0; d < m->h->devices.n; d++) {
        const struct device *q = &m->h->devices.v[d];
        if (q->link == LINK_WIRED && q->floor.i == f->floor && q->room.i == f->room && is_given(q->at_m.x) &&
            (str_is(q->kind, "recorder") || str_is(q->kind, "server")) && cabinet_of_device(m->h, d) == NO_REF) {
            const draft_list equipment = { list->v, n, n };
            if (is_near(&equipment, q->at_m))
                push(m, list, draft_device(m, d));
        }
    }
}

static void add_line_box(struct front_maker *m, const struct front *f, draft_list *list)
{
    const struct line *line = &m->h->line;
    if (!line->at.line || line->box.mode == BOX_NONE || line->floor.i != f->floor || !is_given(line->at_m.x) ||
        !is_near(list, line->at_m) ||
        house_room_at(m->h, f->floor, (struct vec2){ line->at_m.x, line->at_m.y }) != f->room)
        return;
    struct draft_stand d = { .stand = { .kind = STAND_LINE_BOX, .which = NO_REF }, .rank = RANK_GATEWAY };
    d.at_m = line->at_m;
    d.unit = RT_NOT_GIVEN;
    size_stand(&d.stand, NULL);
    d.stand.power_w = line->box.power_w;
    d.stand.power = m->energy->battery_of_line != NO_REF ? POWER_BATTERY : POWER_MAINS;
    push(m, list, d);
}

static struct front wall_front(struct front_maker *m, uint32_t first, bool *taken)
{
    const struct equipment *q = &m->h->equipment.v[first];
    struct front f = { .cabinet = NO_REF, .floor = q->floor.i, .room = q->room.i, .name = q->id };
    draft_list list = { 0 };
    push(m, &list, draft_equipment(m, first));
    taken[first] = true;
    gather_wall(m, &f, &list, taken);
    add_machines(m, &f, &list);
    add_line_box(m, &f, &list);
    find_patched(m, &f, &list);
    f.foot_m = 0.0;
    f.is_size_known = true;
    front_fill_wall(m, &f, &list);
    finish(m, &f, &list);
    return f;
}

enum rt_code front_plan_make(const struct run *run, const struct energy_plan *energy, struct front_plan **out,
                             struct rt_problems *p)
{
    struct front_plan *plan = ARENA_NEW(run->arena, struct front_plan);
    struct front_maker m = { .arena = run->arena, .h = energy->h, .energy = energy };
    *out = NULL;
    if (!plan)
        return rt_fail_memory(p);
    plan->h = energy->h;
    plan->v = ARENA_ARRAY(run->arena, struct front, energy->h->equipment.n);
    bool *taken = ARENA_ARRAY(run->arena, bool, energy->h->equipment.n);
    if (!plan->v || !taken)
        return rt_fail_memory(p);
    for (int walls = 0; walls < 2; walls++)
        for (uint32_t e = 0; e < m.h->equipment.n && !m.failed; e++) {
            const struct part *part = part_of_equipment(m.h, e);
            const bool is_cabinet = part && part->kind == PART_CABINET;
            if (walls ? !taken[e] && is_of_walls(&m, e) : is_cabinet)
                plan->v[plan->n++] = walls ? wall_front(&m, e, taken) : cabinet_front(&m, e);
        }
    if (m.failed)
        return rt_fail_memory(p);
    *out = plan;
    return RT_OK;
}

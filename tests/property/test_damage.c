/* What dies with one thing, on random houses with loops, loose ends, things that feed one another, circuits and batteries: against
 * plain searches through the graph, one for each thing. */
#include "base/units.h"
#include "check.h"
#include "promise/damage.h"
#include "promise/evaluation.h"

enum { EQUIPMENT_MAX = 7, DEVICES_MAX = 6, CABLES_MAX = 16, THINGS_MAX = EQUIPMENT_MAX + DEVICES_MAX };

struct oracle {
    const struct house *h;
    const struct power_plan *power;
    const struct energy_plan *energy;
    const struct failure *f;
    bool dead_cable[CABLES_MAX];
};

static struct cable_end some_end(struct random *r, const struct house *h)
{
    const uint32_t i = (uint32_t)random_below(r, h->equipment.n + h->devices.n);
    return (struct cable_end){ .equipment = i < h->equipment.n ? i : NO_REF,
                               .device = i >= h->equipment.n ? i - h->equipment.n : NO_REF,
                               .port = RT_NOT_GIVEN };
}

static struct str some_circuit(struct random *r)
{
    static const struct str NAMES[] = { { "", 0 }, { "up", 2 }, { "down", 4 } };
    return NAMES[random_below(r, RT_COUNT(NAMES))];
}

static struct house *some_house(struct arena *a, struct random *r)
{
    static const enum part_kind KINDS[] = { PART_GATEWAY, PART_SWITCH, PART_ACCESS_POINT, PART_OUTLET };
    static const enum link_kind LINKS[] = { LINK_WIRED, LINK_WIRED, LINK_MESH, LINK_NONE };
    struct house *h = ARENA_NEW(a, struct house);
    h->parts.list.v = ARENA_ARRAY(a, struct part, RT_COUNT(KINDS));
    for (h->parts.list.n = 0; h->parts.list.n < RT_COUNT(KINDS); h->parts.list.n++)
        h->parts.list.v[h->parts.list.n].kind = KINDS[h->parts.list.n];
    h->equipment.n = 1 + (uint32_t)random_below(r, EQUIPMENT_MAX);
    h->devices.n = (uint32_t)random_below(r, DEVICES_MAX + 1);
    h->cables.n = (uint32_t)random_below(r, CABLES_MAX + 1);
    h->equipment.v = ARENA_ARRAY(a, struct equipment, h->equipment.n);
    h->devices.v = ARENA_ARRAY(a, struct device, h->devices.n);
    h->cables.v = ARENA_ARRAY(a, struct cable, h->cables.n);
    for (uint32_t e = 0; e < h->equipment.n; e++)
        h->equipment.v[e] = (struct equipment){ .id = STR("thing"),
                                                .part.i = e ? (uint32_t)random_below(r, RT_COUNT(KINDS)) : 0,
                                                .circuit = some_circuit(r) };
    for (uint32_t d = 0; d < h->devices.n; d++)
        h->devices.v[d] = (struct device){ .id = STR("device"),
                                           .kind = random_below(r, 4) ? STR("printer") : STR("phone"),
                                           .link = LINKS[random_below(r, RT_COUNT(LINKS))],
                                           .circuit = some_circuit(r) };
    for (uint32_t c = 0; c < h->cables.n; c++)
        h->cables.v[c] = (struct cable){ .id = STR("c"), .from = some_end(r, h), .to = some_end(r, h) };
    return h;
}

static uint32_t thing_of(const struct house *h, const struct power_feed *f)
{
    return f->equipment != NO_REF ? f->equipment : h->equipment.n + f->device;
}

/* Some things take their power over a cable of theirs, from whatever is at its other end. */
static struct power_plan *some_power(struct arena *a, struct random *r, const struct house *h)
{
    struct power_plan *plan = ARENA_NEW(a, struct power_plan);
    plan->h = h;
    plan->feeds.v = ARENA_ARRAY(a, struct power_feed, h->cables.n);
    plan->feed_of_equipment = ARENA_ARRAY(a, uint32_t, h->equipment.n);
    plan->feed_of_device = ARENA_ARRAY(a, uint32_t, h->devices.n);
    for (uint32_t i = 0; i < h->equipment.n; i++)
        plan->feed_of_equipment[i] = NO_REF;
    for (uint32_t i = 0; i < h->devices.n; i++)
        plan->feed_of_device[i] = NO_REF;
    for (uint32_t c = 0; c < h->cables.n; c++) {
        const struct cable *k = &h->cables.v[c];
        const uint32_t e = k->to.equipment, d = k->to.device;
        uint32_t *of = e != NO_REF ? &plan->feed_of_equipment[e] : &plan->feed_of_device[d];
        if (*of != NO_REF || k->from.equipment == NO_REF || k->from.equipment == e || random_below(r, 2) == 0)
            continue;
        *of = plan->feeds.n;
        struct ref *way = ARENA_ARRAY(a, struct ref, 1);
        *way = (struct ref){ .i = c };
        plan->feeds.v[plan->feeds.n++] = (struct power_feed){ .cable = c,
                                                              .way = { way, 1 },
                                                              .source = k->from.equipment,
                                                              .equipment = e,
                                                              .device = d,
                                                              .class_granted = random_below(r, 5) ? 3 : -1 };
    }
    return plan;
}

static struct energy_plan *some_energy(struct arena *a, struct random *r, const struct power_plan *power)
{
    const struct house *h = power->h;
    struct energy_plan *plan = ARENA_NEW(a, struct energy_plan);
    *plan = (struct energy_plan){ .h = h, .power = power, .battery_of_line = NO_REF };
    plan->batteries = ARENA_ARRAY(a, struct battery_life, 1);
    plan->batteries[0].minutes = 30;
    plan->battery_of_equipment = ARENA_ARRAY(a, uint32_t, h->equipment.n);
    plan->battery_of_device = ARENA_ARRAY(a, uint32_t, h->devices.n);
    for (uint32_t i = 0; i < h->equipment.n; i++)
        plan->battery_of_equipment[i] = random_below(r, 3) ? NO_REF : 0;
    for (uint32_t i = 0; i < h->devices.n; i++)
        plan->battery_of_device[i] = random_below(r, 3) ? NO_REF : 0;
    return plan;
}

/* ---- the plain way ---- */

static const struct power_feed *feed_at(const struct oracle *o, uint32_t thing)
{
    for (uint32_t i = 0; i < o->power->feeds.n; i++)
        if (thing_of(o->h, &o->power->feeds.v[i]) == thing)
            return &o->power->feeds.v[i];
    return NULL;
}

/* Up the chain of what feeds it, as far as it goes; a ring feeds itself. */
static bool is_dead(const struct oracle *o, uint32_t thing)
{
    const struct house *h = o->h;
    for (uint32_t steps = 0; steps <= THINGS_MAX; steps++) {
        const struct power_feed *f = feed_at(o, thing);
        const bool is_equipment = thing < h->equipment.n;
        const struct device *d = is_equipment ? NULL : &h->devices.v[thing - h->equipment.n];
        const struct str circuit = is_equipment ? h->equipment.v[thing].circuit : d->circuit;
        const uint32_t battery = is_equipment ? o->energy->battery_of_equipment[thing]
                                              : o->energy->battery_of_device[thing - h->equipment.n];
        const bool has_plug = is_equipment ? h->parts.list.v[h->equipment.v[thing].part.i].kind != PART_OUTLET
                                           : d->link != LINK_NONE && !str_is(d->kind, "phone");
        if (o->f->kind != FAILURE_MAINS && o->f->kind != FAILURE_CABLE && o->f->i == thing)
            return true;
        if (!f)
            return o->f->kind == FAILURE_MAINS && has_plug && battery == NO_REF &&
                   (o->f->circuit.n == 0 || str_eq(o->f->circuit, circuit));
        if (f->class_granted < 0)
            return false;
        if (o->dead_cable[f->cable])
            return true;
        thing = f->source;
    }
    return false;
}

/* Depth first from `at`, through equipment that lives. */
static bool leads_to(const struct oracle *o, bool hurt, uint32_t at, uint32_t to, bool *seen)
{
    const struct house *h = o->h;
    if (hurt && is_dead(o, at))
        return false;
    if (at == to)
        return true;
    seen[at] = true;
    for (uint32_t c = 0; at < h->equipment.n && c < h->cables.n; c++) {
        const uint32_t a = tree_thing_of(h, &h->cables.v[c].from), b = tree_thing_of(h, &h->cables.v[c].to);
        const uint32_t other = a == at ? b : b == at ? a : NO_REF;
        if (other != NO_REF && !seen[other] && !(hurt && o->dead_cable[c]) && leads_to(o, hurt, other, to, seen))
            return true;
    }
    return false;
}

static bool has_way(const struct oracle *o, bool hurt, uint32_t thing)
{
    bool seen[THINGS_MAX] = { false };
    return leads_to(o, hurt, 0, thing, seen); /* thing 0 is the gateway */
}

static void check_damage(const struct oracle *o, const struct damage *d)
{
    const struct house *h = o->h;
    for (uint32_t t = 0; t < h->equipment.n + h->devices.n; t++) {
        const bool is_wired = t < h->equipment.n || h->devices.v[t - h->equipment.n].link == LINK_WIRED;
        CHECK("dead", d->dead_thing[t] == is_dead(o, t));
        CHECK("cut off", d->cut_off[t] == (is_wired && !is_dead(o, t) && has_way(o, false, t) && !has_way(o, true, t)));
        CHECK("why", (d->death[t] == DEATH_NONE) == !d->dead_thing[t]);
        for (uint32_t s = 0; s < h->equipment.n;
             s++) { /* islands: from equipment one gets to all that bear its number */
            bool seen[THINGS_MAX] = { false };
            if (is_dead(o, s))
                CHECK("the dead are nowhere", d->island[s] == NO_REF);
            else if (t < h->equipment.n && !is_dead(o, t))
                CHECK("island", (d->island[s] == d->island[t]) == leads_to(o, true, s, t, seen));
        }
    }
}

PROP(what_dies_and_what_is_cut_off, 400)
{
    struct check_run c = check_run_begin();
    struct house *h = some_house(c.run.arena, r);
    struct evaluation ev = { .run = &c.run, .h = h };
    ev.power = some_power(c.run.arena, r, h);
    ev.energy = some_energy(c.run.arena, r, ev.power);
    failure_list list;
    CHECK_OK(&c, failures_of_house(c.run.arena, h, ALL_FAILURE_KINDS, &list, &c.problems));
    for (uint32_t i = 0; i < list.n; i++) {
        struct oracle o = { h, ev.power, ev.energy, &list.v[i], { false } };
        struct damage *d = NULL;
        if (list.v[i].kind == FAILURE_CABLE)
            o.dead_cable[list.v[i].i] = true;
        CHECK_OK(&c, damage_make(&ev, &list.v[i], &d, &c.problems));
        check_damage(&o, d);
        CHECK("gateway", d->gateway_dead == is_dead(&o, 0));
    }
    check_run_end(&c);
}

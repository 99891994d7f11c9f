#include "wire/energy.h"

#include <math.h>

#include "base/units.h"
#include "data/batteries.h"
#include "data/cabinets.h"
#include "data/device_kinds.h"
#include "wire/inside.h"
#include "wire/power_int.h"

struct energy_maker {
    struct arena *arena;
    const struct house *h;
    const struct power_plan *power;
    const bool *absent; /* of the equipment; NULL: all is there */
    struct energy_plan *plan;
    VEC(struct str) missing;
    bool failed;
};

double energy_kwh_per_year(double load_w) { return load_w * 8760.0 / 1000.0; }

/* ---- what draws how much ---- */

static bool takes_power_by_cable(const struct energy_maker *m, uint32_t equipment)
{
    return m->power->feed_of_equipment[equipment] != NO_REF;
}

/* Its own use, in use or at most; NaN: not said. */
static double equipment_w(const struct energy_maker *m, uint32_t e, bool at_most)
{
    const struct part *part = part_of_equipment(m->h, e);
    if (!part)
        return RT_NOT_GIVEN;
    return at_most ? given_or(part->power_max_w, part->power_w) : given_or(part->power_w, part->power_max_w);
}

/* A cable, a socket or a bare cabinet draws nothing, and what is sundry only what is said of it. */
static bool draws_power(const struct part *part)
{
    static const bool PASSIVE[PART_KIND_COUNT] = {
        [PART_CABLE] = true, [PART_CORD] = true, [PART_OUTLET] = true, [PART_CABINET] = true, [PART_SUNDRY] = true
    };
    return part && !PASSIVE[part->kind];
}

/* Its draw counts, and nobody said what it is. */
static bool is_draw_missing(const struct energy_maker *m, uint32_t e)
{
    return draws_power(part_of_equipment(m->h, e)) && !is_given(equipment_w(m, e, false));
}

static struct str draw_missing_words(struct arena *a, struct str part)
{
    const char *text = arena_printf(a, "say how much `%.*s` draws (`power_w` in the parts file)", STR_ARG(part));
    return str_from(text ? text : "");
}

/* What its ports give to others, at the plug. */
static double passed_on_w(const struct energy_maker *m, uint32_t e)
{
    const struct power_source *s = power_source_of(m->power, e);
    return s ? s->typical_w / PORT_SUPPLY_RATIO : 0.0;
}

double energy_device_w(const struct house *h, uint32_t i)
{
    const struct device *d = &h->devices.v[i];
    const struct part *part = part_of_device(h, d);
    const struct device_kind *kind = device_kind_find(d->kind);
    return given_or(d->power_w, given_or(part ? part->power_w : RT_NOT_GIVEN, kind ? kind->power_w : RT_NOT_GIVEN));
}

/* ---- who lives on which battery ---- */

static uint32_t nth_piece(const struct house *h, const struct battery *like, uint32_t n, bool in_its_room)
{
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (h->equipment.v[e].part.i == like->part.i && (!in_its_room || h->equipment.v[e].room.i == like->room.i) &&
            n-- == 0)
            return e;
    return NO_REF;
}

uint32_t energy_battery_piece(const struct house *h, uint32_t battery)
{
    const struct battery *b = &h->batteries.v[battery];
    uint32_t n_before = 0, n_before_here = 0;
    for (uint32_t k = 0; k < battery; k++)
        if (h->batteries.v[k].part.i == b->part.i) {
            n_before++;
            n_before_here += h->batteries.v[k].room.i == b->room.i;
        }
    if (b->part.i == NO_REF)
        return NO_REF;
    const uint32_t here = b->room.i == NO_REF ? NO_REF : nth_piece(h, b, n_before_here, true);
    return here != NO_REF ? here : nth_piece(h, b, n_before, false);
}

static bool is_absent(const struct energy_maker *m, uint32_t battery)
{
    const uint32_t piece = m->absent ? energy_battery_piece(m->h, battery) : NO_REF;
    return piece != NO_REF && m->absent[piece];
}

static void set_battery(uint32_t *of, uint32_t battery)
{
    if (*of == NO_REF)
        *of = battery;
}

static void hang_on_batteries(struct energy_maker *m)
{
    const struct house *h = m->h;
    for (uint32_t b = 0; b < h->batteries.n; b++)
        for (uint32_t i = 0; !is_absent(m, b) && i < h->batteries.v[b].feeds.n; i++) {
            const struct str id = h->batteries.v[b].feeds.v[i];
            const uint32_t e = house_find_equipment(h, id), d = house_find_device(h, id);
            if (e != NO_REF && !takes_power_by_cable(m, e))
                set_battery(&m->plan->battery_of_equipment[e], b);
            else if (d != NO_REF && m->power->feed_of_device[d] == NO_REF)
                set_battery(&m->plan->battery_of_device[d], b);
            else if (e == NO_REF && d == NO_REF)
                set_battery(&m->plan->battery_of_line, b);
        }
    /* Over the cables, from the sources outwards: a feed of a feed takes another round. */
    for (bool found = true; found;) {
        found = false;
        for (uint32_t i = 0; i < m->power->feeds.n; i++) {
            const struct power_feed *f = &m->power->feeds.v[i];
            if (f->source == NO_REF || f->class_granted < 0)
                continue;
            uint32_t *of = f->equipment != NO_REF ? &m->plan->battery_of_equipment[f->equipment]
                                                  : &m->plan->battery_of_device[f->device];
            if (*of == NO_REF && m->plan->battery_of_equipment[f->source] != NO_REF) {
                *of = m->plan->battery_of_equipment[f->source];
                found = true;
            }
        }
    }
}

/* Adds a load, or says what is missing. */
static void add_load(struct energy_maker *m, struct battery_life *life, double load_w, const char *key, struct str of)
{
    if (is_given(load_w)) {
        life->load_w += load_w;
    } else if (!life->missing.n) {
        const char *text = arena_printf(m->arena, "say how much `%.*s` draws (`%s`)", STR_ARG(of), key);
        life->missing = str_from(text ? text : key);
    }
}

static void gather_load(struct energy_maker *m, struct battery_life *life)
{
    const struct house *h = m->h;
    const struct battery *b = &h->batteries.v[life->battery];
    for (uint32_t i = 0; i < b->feeds.n; i++) {
        const struct str id = b->feeds.v[i];
        bool is_again = false;
        for (uint32_t k = 0; k < i; k++)
            is_again |= str_eq(b->feeds.v[k], id);
        const uint32_t e = house_find_equipment(h, id), d = house_find_device(h, id);
        if (is_again)
            continue;
        if (e != NO_REF && !takes_power_by_cable(m, e)) {
            const struct part *part = part_of_equipment(h, e);
            add_load(m, life, equipment_w(m, e, false) + passed_on_w(m, e), "power_w", part ? part->id : id);
        } else if (d != NO_REF && m->power->feed_of_device[d] == NO_REF) {
            add_load(m, life, energy_device_w(h, d), "power_w", id);
        } else if (e == NO_REF && d == NO_REF) {
            add_load(m, life, h->line.box.power_w, "line: box: power_w", id);
        }
    }
}

/* ---- how long ---- */

static const struct part *part_of_battery(const struct house *h, uint32_t battery)
{
    const uint32_t i = h->batteries.v[battery].part.i;
    return i == NO_REF ? NULL : &h->parts.list.v[i];
}

/* What leaves the cells while they feed a load. */
static double draw_from_cells_w(const struct part *part, double load_w)
{
    return load_w / BATTERY_CONVERSION_RATIO + (part ? given_or(part->power_w, 0.0) : 0.0);
}

static double usable_wh(const struct house *h, uint32_t battery, double draw_w, double age_years)
{
    const struct battery *b = &h->batteries.v[battery];
    const struct part *part = part_of_battery(h, battery);
    const struct battery_chemistry *c = part ? battery_chemistry_find(part->chemistry) : NULL;
    const double capacity_wh = given_or(b->capacity_wh, part ? part->capacity_wh : RT_NOT_GIVEN);
    if (!c || !is_given(capacity_wh))
        return RT_NOT_GIVEN;
    const double whole_wh = capacity_wh * battery_share(c, age_years, b->temperature_degc);
    if (draw_w <= 0.0)
        return whole_wh;
    /* slowly taken out it gives no more than there is */
    return fmin(whole_wh, draw_w * battery_hours(whole_wh, c->rated_h, draw_w, c->peukert));
}

double energy_battery_minutes(const struct house *h, uint32_t battery, double load_w, double age_years)
{
    const struct part *part = part_of_battery(h, battery);
    const double draw_w = draw_from_cells_w(part, load_w);
    if (!part || !is_given(part->power_w) || draw_w <= 0.0)
        return RT_NOT_GIVEN;
    if (load_w > part->discharge_w_max)
        return 0.0;
    return usable_wh(h, battery, draw_w, age_years) / draw_w * 60.0;
}

static const char *battery_missing(struct energy_maker *m, const struct battery *b, const struct part *part,
                                   double capacity_wh)
{
    if (!is_given(capacity_wh))
        return arena_printf(m->arena, "say how much battery `%.*s` stores (`capacity_wh`)", STR_ARG(b->id));
    if (!part || !battery_chemistry_find(part->chemistry))
        return arena_printf(m->arena,
                            "say what battery `%.*s` is made of: `chemistry` of its part is `lead`, `gel`, "
                            "`flooded_lead`, `lithium_iron_phosphate` or `lithium_ion`",
                            STR_ARG(b->id));
    return is_given(part->power_w) ? NULL : draw_missing_words(m->arena, part->id).p;
}

static void last(struct energy_maker *m, struct battery_life *life)
{
    const struct house *h = m->h;
    const struct battery *b = &h->batteries.v[life->battery];
    const struct part *part = part_of_battery(h, life->battery);
    gather_load(m, life);
    life->capacity_wh = given_or(b->capacity_wh, part ? part->capacity_wh : RT_NOT_GIVEN);
    life->minutes = life->usable_wh = RT_NOT_GIVEN;
    life->draw_w = draw_from_cells_w(part, life->load_w);
    const char *missing = life->missing.n ? NULL : battery_missing(m, b, part, life->capacity_wh);
    if (missing)
        life->missing = str_from(missing);
    if (life->missing.n)
        return;
    life->is_overloaded = is_given(part->discharge_w_max) && life->load_w > part->discharge_w_max;
    life->usable_wh = usable_wh(h, life->battery, life->draw_w, b->age_years);
    if (life->draw_w <= 0.0)
        life->missing = STR("nothing that it feeds draws anything: look at `power_w`");
    else
        life->minutes = life->is_overloaded ? 0.0 : life->usable_wh / life->draw_w * 60.0;
}

/* ---- cabinets ---- */

/* All at full; what a battery or a supply loses while it feeds the rest stays inside as well. */
static double heat_of(const struct energy_maker *m, uint32_t e)
{
    const struct power_source *s = power_source_of(m->power, e);
    return given_or(equipment_w(m, e, true), 0.0) +
           (s && !takes_power_by_cable(m, e) ? s->worst_w * (1.0 / PORT_SUPPLY_RATIO - 1.0) : 0.0);
}

static struct cabinet_heat cabinet_of(const struct energy_maker *m, uint32_t cabinet, const struct part *part)
{
    struct cabinet_heat c = { .equipment = cabinet,
                              .rise_k = RT_NOT_GIVEN,
                              .vented_k = RT_NOT_GIVEN,
                              .air_k = RT_NOT_GIVEN,
                              .flow_m3_per_h = RT_NOT_GIVEN,
                              .rack_units = part->rack_units };
    for (uint32_t e = 0; e < m->h->equipment.n; e++) {
        if (m->h->equipment.v[e].inside.i != cabinet || e == cabinet)
            continue;
        if (is_draw_missing(m, e) && !c.missing.n)
            c.missing = draw_missing_words(m->arena, part_of_equipment(m->h, e)->id);
        c.heat_w += heat_of(m, e);
        c.rack_units_used += given_or(part_of_equipment(m->h, e)->rack_units, 0.0);
    }
    for (uint32_t d = 0; d < m->h->devices.n; d++) {
        const struct part *p = part_of_device(m->h, &m->h->devices.v[d]);
        if (cabinet_of_device(m->h, d) != cabinet)
            continue;
        const double part_w = p ? given_or(p->power_max_w, p->power_w) : RT_NOT_GIVEN;
        const double most_w = given_or(part_w, energy_device_w(m->h, d));
        if (!is_given(most_w) && !c.missing.n) {
            const char *text =
                arena_printf(m->arena, "say how much `%.*s` draws (`power_w`)", STR_ARG(m->h->devices.v[d].id));
            c.missing = str_from(text ? text : "");
        }
        c.heat_w += given_or(most_w, 0.0);
        c.rack_units_used += p ? given_or(p->rack_units, 0.0) : 0.0;
    }
    if (c.missing.n) {
        c.heat_w = RT_NOT_GIVEN;
    } else if (!is_given(part->height_m) || !is_given(part->width_m) || !is_given(part->depth_m)) {
        const char *text = arena_printf(m->arena, "say how large cabinet `%.*s` is (`width_m`, `height_m`, `depth_m`)",
                                        STR_ARG(part->id));
        c.missing = str_from(text ? text : "");
    } else {
        const double area_m2 = cabinet_area_m2(CABINET_ON_WALL, part->height_m, part->width_m, part->depth_m);
        c.rise_k = cabinet_rise_k(c.heat_w, area_m2, CABINET_STEEL_W_PER_M2_K, 0.0);
        c.vented_k =
            cabinet_rise_vented_k(c.heat_w, area_m2, CABINET_STEEL_W_PER_M2_K, CABINET_SLOT_M2, part->height_m);
        const struct str air = m->h->equipment.v[cabinet].air;
        c.air_k = str_is(air, "fan") ? cabinet_rise_k(c.heat_w, area_m2, CABINET_STEEL_W_PER_M2_K, CABINET_FAN_M3_PER_H)
                  : str_is(air, "slots") ? c.vented_k
                                         : c.rise_k;
        c.flow_m3_per_h = cabinet_flow_m3_per_h(c.heat_w, area_m2, CABINET_STEEL_W_PER_M2_K, CABINET_RISE_K);
    }
    return c;
}

static bool list_cabinets(struct energy_maker *m)
{
    const struct house *h = m->h;
    m->plan->cabinets.v = ARENA_ARRAY(m->arena, struct cabinet_heat, h->equipment.n);
    for (uint32_t e = 0; m->plan->cabinets.v && e < h->equipment.n; e++) {
        const struct part *part = part_of_equipment(h, e);
        if (part && part->kind == PART_CABINET)
            m->plan->cabinets.v[m->plan->cabinets.n++] = cabinet_of(m, e, part);
    }
    return m->plan->cabinets.v != NULL;
}

/* ---- the year ---- */

/* A battery of the house that stands among the equipment too is counted there, one for one as in the bill. */
static bool is_placed(const struct house *h, uint32_t battery)
{
    uint32_t n_before = 0;
    for (uint32_t b = 0; b < battery; b++)
        n_before += h->batteries.v[b].part.i == h->batteries.v[battery].part.i;
    return nth_piece(h, &h->batteries.v[battery], n_before, false) != NO_REF;
}

/* Says once what is missing. */
static void miss(struct energy_maker *m, struct str says)
{
    for (uint32_t i = 0; i < m->missing.n; i++)
        if (str_eq(m->missing.v[i], says))
            return;
    m->failed |= !says.n || !VEC_PUSH(m->arena, &m->missing, says);
}

/* Of a device that the bill counts: one that names a part, its own draw.  What is sundry draws only what is said of it. */
static double bought_device_w(const struct house *h, uint32_t i)
{
    const struct device *d = &h->devices.v[i];
    const struct part *part = part_of_device(h, d);
    if (!part)
        return 0.0;
    return draws_power(part) ? energy_device_w(h, i) : given_or(d->power_w, given_or(part->power_w, 0.0));
}

/* What takes its power over its cable is in what its source passes on, as its class where nothing is said of it. */
static double typical_of_all_w(struct energy_maker *m)
{
    const struct house *h = m->h;
    double sum_w = 0.0;
    if (h->line.at.line && h->line.box.at.line && h->line.box.mode != BOX_NONE) {
        sum_w += given_or(h->line.box.power_w, 0.0);
        if (!is_given(h->line.box.power_w))
            miss(m, STR("say how much the line's box draws (`power_w` of `line: box`)"));
    }
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (!takes_power_by_cable(m, e)) {
            sum_w += given_or(equipment_w(m, e, false), 0.0) + passed_on_w(m, e);
            if (is_draw_missing(m, e))
                miss(m, draw_missing_words(m->arena, part_of_equipment(h, e)->id));
        }
    for (uint32_t d = 0; d < h->devices.n; d++)
        if (m->power->feed_of_device[d] == NO_REF) {
            const double load_w = bought_device_w(h, d);
            sum_w += given_or(load_w, 0.0);
            if (!is_given(load_w))
                miss(m, draw_missing_words(m->arena, part_of_device(h, &h->devices.v[d])->id));
        }
    for (uint32_t b = 0; b < h->batteries.n; b++) {
        const struct part *part = part_of_battery(h, b);
        if (!part || is_placed(h, b))
            continue;
        sum_w += given_or(part->power_w, 0.0);
        if (!is_given(part->power_w))
            miss(m, draw_missing_words(m->arena, part->id));
    }
    return sum_w;
}

static void set_none(uint32_t *v, uint32_t n)
{
    for (uint32_t i = 0; i < n; i++)
        v[i] = NO_REF;
}

enum rt_code energy_plan_without(const struct run *run, const struct power_plan *power, const bool *absent,
                                 struct energy_plan **out, struct rt_problems *p)
{
    const struct house *h = power->h;
    struct energy_plan *plan = ARENA_NEW(run->arena, struct energy_plan);
    struct energy_maker m = { .arena = run->arena, .h = h, .power = power, .absent = absent, .plan = plan };
    if (!plan)
        return rt_fail_memory(p);
    plan->h = h;
    plan->power = power;
    plan->battery_of_line = NO_REF;
    plan->battery_of_equipment = ARENA_ARRAY(run->arena, uint32_t, h->equipment.n);
    plan->battery_of_device = ARENA_ARRAY(run->arena, uint32_t, h->devices.n);
    plan->batteries = ARENA_ARRAY(run->arena, struct battery_life, h->batteries.n);
    if (!plan->battery_of_equipment || !plan->battery_of_device || !plan->batteries || !list_cabinets(&m))
        return rt_fail_memory(p);
    set_none(plan->battery_of_equipment, h->equipment.n);
    set_none(plan->battery_of_device, h->devices.n);
    hang_on_batteries(&m);
    for (uint32_t b = 0; b < h->batteries.n; b++) {
        plan->batteries[b] = (struct battery_life){ .battery = b, .is_absent = is_absent(&m, b) };
        if (!plan->batteries[b].is_absent)
            last(&m, &plan->batteries[b]);
    }
    plan->typical_w = typical_of_all_w(&m);
    plan->kwh_per_year = energy_kwh_per_year(plan->typical_w);
    plan->missing.v = m.missing.v;
    plan->missing.n = m.missing.n;
    *out = plan;
    return m.failed ? rt_fail_memory(p) : RT_OK;
}

enum rt_code energy_plan_make(const struct run *run, const struct power_plan *power, struct energy_plan **out,
                              struct rt_problems *p)
{
    return energy_plan_without(run, power, NULL, out, p);
}

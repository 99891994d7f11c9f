#include "wire/building_links.h"

#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "data/cabling.h"
#include "data/device_kinds.h"
#include "data/wifi.h"
#include "house/polygon.h"
#include "wire/cable_tree.h"

/* A trench with a duct in it, by the metre, house currency; slack at both ends; spare of a radio link; payload of its rate
 * (common practice, no source). */
static const double DIG_PER_M = 25.0, SLACK_M = 2.0, FADE_DB = 10.0, PAYLOAD_SHARE = 0.8, CORDS_M = 2.5;

struct comparer {
    const struct run *run;
    const struct house *h;
    const struct cable_plan *plan;
    const struct wire_links *links;
    struct rt_problems *p;
    uint32_t home; /* building of the gateway; NO_REF: not known */
    VEC(struct building_link) found;
    bool failed;
};

const char *link_medium_name(enum link_medium m)
{
    static const char *const NAMES[] = { "copper", "fibre", "radio", "none" };
    return NAMES[m];
}

bool building_link_is_bare(const struct building_link *l) { return l->chosen == MEDIUM_COPPER && !l->is_protected; }

/* ---- things ---- */

static uint32_t floor_of(const struct house *h, uint32_t thing)
{
    const bool is_equipment = thing < h->equipment.n;
    const struct ref floor = is_equipment ? h->equipment.v[thing].floor : h->devices.v[thing - h->equipment.n].floor;
    const struct ref room = is_equipment ? h->equipment.v[thing].room : h->devices.v[thing - h->equipment.n].room;
    return floor.i != NO_REF ? floor.i : room.i != NO_REF ? h->rooms.v[room.i].floor.i : NO_REF;
}

static struct vec3 place_of(const struct house *h, uint32_t thing)
{
    const uint32_t floor = floor_of(h, thing);
    struct vec3 at = thing < h->equipment.n ? h->equipment.v[thing].at_m : h->devices.v[thing - h->equipment.n].at_m;
    if (!is_given(at.x)) { /* anywhere in its building */
        const struct vec2 centre = polygon_centre(h->floors.v[floor].outline);
        at = (struct vec3){ centre.x, centre.y, 1.0 };
    }
    at.z = house_z_m(h, floor, at.z);
    return at;
}

static uint32_t building_of_thing(const struct house *h, uint32_t thing)
{
    const uint32_t floor = thing == NO_REF ? NO_REF : floor_of(h, thing);
    return floor == NO_REF ? NO_REF : cable_building_of(h, floor);
}

static const struct part *part_of(const struct house *h, uint32_t equipment)
{
    const uint32_t part = h->equipment.v[equipment].part.i;
    return part == NO_REF ? NULL : &h->parts.list.v[part];
}

static bool is_fed(const struct house *h, uint32_t thing)
{
    if (thing < h->equipment.n) {
        const struct part *part = part_of(h, thing);
        return part && is_given(part->poe_class_needed);
    }
    return is_given(h->devices.v[thing - h->equipment.n].poe_class);
}

/* Takes mains where it stands: draws something, and not over its cable. */
static bool takes_mains(const struct house *h, uint32_t thing)
{
    if (is_fed(h, thing))
        return false;
    if (thing < h->equipment.n) {
        const struct part *part = part_of(h, thing);
        return part && given_or(part->power_w, 0.0) > 0.0 && part->kind != PART_OPTIC;
    }
    const struct device *d = &h->devices.v[thing - h->equipment.n];
    const struct device_kind *kind = device_kind_find(d->kind);
    return !d->carried && d->link != LINK_MESH && given_or(d->power_w, kind ? kind->power_w : 0.0) > 0.0;
}

/* Wants to be on the network by more than the mesh. */
static bool wants_link(const struct house *h, uint32_t thing)
{
    if (thing < h->equipment.n) {
        const struct part *part = part_of(h, thing);
        return part && part->ports.n > 0;
    }
    const struct device *d = &h->devices.v[thing - h->equipment.n];
    return !d->carried && (d->link == LINK_WIRED || d->link == LINK_WIFI);
}

/* ---- parts in hand ---- */

static bool is_radio_bridge(const struct part *p) { return p->kind == PART_BRIDGE && p->radios.n > 0; }

static double metre_price(const struct part *p) { return p->price / given_or(p->per_m, 1.0); }

/* The cheapest outdoor cable by the metre of copper, or of fibre, that carries this. */
static const struct part *cable_part(const struct house *h, bool fibre, const struct building_link *l, double fixed_m)
{
    const struct part *best = NULL;
    for (uint32_t i = 0; i < h->parts.list.n; i++) {
        const struct part *p = &h->parts.list.v[i];
        const struct cable_category *category = cable_category_find(p->category);
        if (p->kind != PART_CABLE || !category || !p->outdoors || !is_given(p->per_m) ||
            category->family == CABLE_TWINAX || (category->family != CABLE_COPPER) != fibre)
            continue;
        const bool serves = cable_speed_mbps(category, fixed_m, l->cords_m, INFINITY) >= l->needed_mbps;
        const struct cable_category *had = best ? cable_category_find(best->category) : NULL;
        const bool had_serves = had && cable_speed_mbps(had, fixed_m, l->cords_m, INFINITY) >= l->needed_mbps;
        if (!best || (serves && !had_serves) || (serves == had_serves && metre_price(p) < metre_price(best)))
            best = p;
    }
    return best;
}

static const struct part *cheapest(const struct house *h, enum part_kind kind)
{
    const struct part *best = NULL;
    for (uint32_t i = 0; i < h->parts.list.n; i++) {
        const struct part *p = &h->parts.list.v[i];
        if (p->kind == kind && (kind != PART_BRIDGE || is_radio_bridge(p)) && (!best || p->price < best->price))
            best = p;
    }
    return best;
}

static double port_mbps(const struct part *p)
{
    double most = 0.0;
    for (uint32_t i = 0; i < p->ports.n; i++)
        most = fmax(most, given_or(p->ports.v[i].speed_mbps, 0.0));
    return most > 0.0 ? most : (double)INFINITY;
}

/* ---- the three ---- */

static void say(struct comparer *m, struct building_option *o, const char *text)
{
    o->says = str_from(text ? text : "");
    m->failed |= !text;
}

static void by_copper(struct comparer *m, const struct building_link *l, struct building_option *o)
{
    const double fixed_m = fmax(0.0, l->length_m - l->cords_m);
    const struct part *cable = cable_part(m->h, false, l, fixed_m);
    const struct part *guard = cheapest(m->h, PART_PROTECTOR);
    *o = (struct building_option){ .medium = MEDIUM_COPPER, .discouraged = l->earths_differ, .price = RT_NOT_GIVEN };
    if (!cable || !guard) {
        say(m, o, "no copper cable for outdoors by the metre, or no surge protector, is among the parts");
        return;
    }
    o->speed_mbps = cable_speed_mbps(cable_category_find(cable->category), fixed_m, l->cords_m, INFINITY);
    o->works = o->speed_mbps >= l->needed_mbps && o->speed_mbps > 0.0;
    o->price = fixed_m * metre_price(cable) + 2.0 * guard->price + l->dig_m * DIG_PER_M;
    say(m, o,
        arena_printf(m->run->arena, "%s %.1f m%s%s; a surge protector, bonded to that building's earth, at each end",
                     o->works ? "carries enough over" : "too long or too slow over", l->length_m,
                     l->wants_power ? ", and brings power" : "",
                     l->earths_differ
                         ? "; joins two earths, whose voltage may differ dangerously, and leads lightning from one "
                           "to the other"
                         : ""));
}

static bool has_sfp(const struct house *h, const struct cable_end *end)
{
    const struct part *part = end->equipment == NO_REF ? NULL : part_of(h, end->equipment);
    for (uint32_t i = 0; part && i < part->ports.n; i++)
        if (!str_is(part->ports.v[i].medium, "copper") && part->kind != PART_CONVERTER)
            return true;
    return false;
}

static void by_fibre(struct comparer *m, const struct building_link *l, struct building_option *o)
{
    const double fixed_m = fmax(0.0, l->length_m - l->cords_m);
    const struct part *cable = cable_part(m->h, true, l, fixed_m);
    const struct cable *c = l->cable == NO_REF ? NULL : &m->h->cables.v[l->cable];
    const bool plugs = c && has_sfp(m->h, &c->from) && has_sfp(m->h, &c->to);
    const struct part *end = cheapest(m->h, plugs ? PART_OPTIC : PART_CONVERTER);
    *o = (struct building_option){ .medium = MEDIUM_FIBRE, .mains_needed = l->wants_power, .price = RT_NOT_GIVEN };
    if (!cable || !end) {
        say(m, o, "no fibre for outdoors by the metre, or nothing that ends it, is among the parts");
        return;
    }
    o->speed_mbps =
        fmin(cable_speed_mbps(cable_category_find(cable->category), fixed_m, 0.0, INFINITY), port_mbps(end));
    o->works = o->speed_mbps >= l->needed_mbps && o->speed_mbps > 0.0;
    o->price = fixed_m * metre_price(cable) + 2.0 * end->price + l->dig_m * DIG_PER_M;
    say(m, o,
        arena_printf(m->run->arena, "%s %.1f m; joins no earths and leads no lightning, if nothing in it is of metal%s",
                     o->works ? "carries enough over" : "too long or too slow over", l->length_m,
                     l->wants_power ? "; brings no power: mains are needed there" : ""));
}

/* Fastest payload over so much air between two of these; one stream gets its share of the power. */
static double air_mbps(const struct part *bridge, double air_m)
{
    static const double MIDDLE_HZ[BAND_COUNT] = { [BAND_2G4] = 2.44e9, [BAND_5G] = 5.5e9, [BAND_6G] = 6.2e9 };
    const struct part_radio *r = &bridge->radios.v[0];
    const struct wifi_generation *g = wifi_generation(r->phy);
    const int width = wifi_width_index(r->width_mhz);
    const double gain_dbi = r->antenna.elevation_dbi.n ? r->antenna.elevation_dbi.v[0] : 0.0;
    const double loss_db = 20.0 * log10(4.0 * RT_PI * fmax(air_m, 1.0) * MIDDLE_HZ[r->band] / RT_C0_M_S);
    const double level_dbm = r->power_dbm - 10.0 * log10(r->streams) + 2.0 * gain_dbi - loss_db - FADE_DB;
    double best = 0.0;
    for (int i = 0; width >= 0 && i <= g->mcs_top; i++) {
        const struct wifi_mcs *k = wifi_mcs(i);
        const double bits = g->data_tones[width] * k->bits_per_tone * r->streams * k->coded_of / k->coded_from;
        if (level_dbm >= k->sensitivity_dbm[width])
            best = fmax(best, PAYLOAD_SHARE * bits / (g->dft_s + g->guard_s) / 1e6);
    }
    return fmin(best, port_mbps(bridge));
}

static void by_radio(struct comparer *m, const struct building_link *l, struct building_option *o)
{
    const struct part *bridge = cheapest(m->h, PART_BRIDGE), *injector = cheapest(m->h, PART_INJECTOR);
    *o = (struct building_option){ .medium = MEDIUM_RADIO, .mains_needed = true, .price = RT_NOT_GIVEN };
    const bool is_fed_by_cable = bridge && is_given(bridge->poe_class_needed);
    if (!bridge || (is_fed_by_cable && !injector)) {
        say(m, o, "no radio bridge, or nothing that feeds it, is among the parts");
        return;
    }
    o->speed_mbps = air_mbps(bridge, l->air_m);
    o->works = o->speed_mbps >= l->needed_mbps && o->speed_mbps > 0.0 && !l->in_the_way.n;
    o->price = 2.0 * (bridge->price + (is_fed_by_cable ? injector->price : 0.0));
    say(m, o,
        arena_printf(
            m->run->arena,
            "%.0f Mb/s over %.1f m of air%s%.*s; no digging; mains are needed there; trees, and the power that the "
            "country allows, are not judged",
            o->speed_mbps, l->air_m, l->in_the_way.n ? ", but in its way stands " : "", STR_ARG(l->in_the_way)));
}

static int compare_options(const void *a, const void *b)
{
    const struct building_option *x = a, *y = b;
    if (x->works != y->works)
        return x->works ? -1 : 1;
    if (x->discouraged != y->discouraged)
        return x->discouraged ? 1 : -1;
    const double by = given_or(x->price, INFINITY) - given_or(y->price, INFINITY);
    return by < 0.0 ? -1 : by > 0.0 ? 1 : (int)x->medium - (int)y->medium;
}

/* ---- lie of the land ---- */

/* The nearest points of two outlines; infinite: none. */
static double gap_m(vec2_list a, vec2_list b, struct vec2 *at_a, struct vec2 *at_b)
{
    double best_m = INFINITY;
    for (int turn = 0; turn < 2; turn++) {
        const vec2_list corners = turn ? b : a, sides = turn ? a : b;
        for (uint32_t i = 0; i < corners.n; i++)
            for (uint32_t k = 0; k < sides.n; k++) {
                const struct vec2 from = sides.v[k], d = vec2_sub(sides.v[(k + 1) % sides.n], from);
                const double len2 = vec2_dot(d, d), t = vec2_dot(vec2_sub(corners.v[i], from), d) / fmax(len2, 1e-12);
                const struct vec2 foot = vec2_add(from, vec2_scale(d, fmin(1.0, fmax(0.0, t))));
                const double away_m = vec2_len(vec2_sub(foot, corners.v[i]));
                if (away_m >= best_m - 1e-9)
                    continue;
                best_m = away_m;
                *at_a = turn ? foot : corners.v[i];
                *at_b = turn ? corners.v[i] : foot;
            }
    }
    return best_m;
}

/* Between the outer walls of two buildings, whichever storeys come nearest. */
static double buildings_gap_m(const struct house *h, uint32_t a, uint32_t b, struct vec2 *at_a, struct vec2 *at_b)
{
    double best_m = INFINITY;
    for (uint32_t i = 0; i < h->floors.n; i++)
        for (uint32_t k = 0; k < h->floors.n; k++) {
            struct vec2 p = { 0, 0 }, q = { 0, 0 };
            if (cable_building_of(h, i) != a || cable_building_of(h, k) != b)
                continue;
            const double away_m = gap_m(h->floors.v[i].outline, h->floors.v[k].outline, &p, &q);
            if (away_m >= best_m - 1e-9)
                continue;
            best_m = away_m;
            *at_a = p;
            *at_b = q;
        }
    return best_m;
}

static bool crosses(struct vec2 a, struct vec2 b, vec2_list outline)
{
    for (uint32_t i = 0; i < outline.n; i++) {
        const struct vec2 c = outline.v[i], d = outline.v[(i + 1) % outline.n], r = vec2_sub(b, a), s = vec2_sub(d, c);
        const double across = vec2_cross(r, s);
        if (fabs(across) < 1e-12)
            continue;
        const double t = vec2_cross(vec2_sub(c, a), s) / across, u = vec2_cross(vec2_sub(c, a), r) / across;
        if (t > 1e-6 && t < 1.0 - 1e-6 && u >= 0.0 && u <= 1.0)
            return true;
    }
    return false;
}

/* Other buildings, and tall things in the open, between the two walls. */
static struct str what_is_between(const struct house *h, const struct building_link *l, struct vec2 a, struct vec2 b)
{
    static const double TALL_M = 2.0;
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const uint32_t building = cable_building_of(h, i);
        if (building != NO_REF && building != l->near_floor && building != l->floor &&
            crosses(a, b, h->floors.v[i].outline))
            return h->floors.v[i].says.n ? h->floors.v[i].says : h->floors.v[i].id;
    }
    for (uint32_t i = 0; i < h->obstacles.n; i++) {
        const struct obstacle *o = &h->obstacles.v[i];
        if (o->floor.i != NO_REF && h->floors.v[o->floor.i].open_air && o->to_m >= TALL_M && crosses(a, b, o->outline))
            return o->id;
    }
    return (struct str){ 0 };
}

/* The way that one more cable would take through the runs of the file; NaN: none. */
static enum rt_code length_by_runs(struct comparer *m, uint32_t from, uint32_t to, double *length_m)
{
    const struct house *h = m->h;
    struct house with = *h;
    struct cable_plan *plan = NULL;
    struct cable c = {
        .id = STR("new"), .part.i = NO_REF, .length_m = RT_NOT_GIVEN, .cord_from_m = 0.5, .cord_to_m = 2.0
    };
    const uint32_t things[2] = { from, to };
    for (int e = 0; e < 2; e++) {
        const bool is_equipment = things[e] < h->equipment.n;
        *(e ? &c.to : &c.from) = (struct cable_end){ .what = is_equipment ? h->equipment.v[things[e]].id
                                                                          : h->devices.v[things[e] - h->equipment.n].id,
                                                     .equipment = is_equipment ? things[e] : NO_REF,
                                                     .device = is_equipment ? NO_REF : things[e] - h->equipment.n,
                                                     .port = RT_NOT_GIVEN };
    }
    with.cables.v = &c;
    with.cables.n = 1;
    RT_TRY(cables_plan(m->run, &with, &plan, m->p));
    *length_m = plan->cables[0].is_routed ? plan->cables[0].fixed_m + plan->cables[0].cords_m : RT_NOT_GIVEN;
    return RT_OK;
}

static enum rt_code measure(struct comparer *m, uint32_t from, uint32_t to, struct building_link *l)
{
    const struct house *h = m->h;
    struct vec2 a = { 0 }, b = { 0 };
    l->air_m = buildings_gap_m(h, l->near_floor, l->floor, &a, &b);
    l->in_the_way = what_is_between(h, l, a, b);
    l->cords_m = l->cable != NO_REF ? m->links->v[l->cable].cords_m : CORDS_M;
    if (l->cable != NO_REF && m->links->v[l->cable].is_known)
        l->length_m = m->links->v[l->cable].length_m;
    else
        RT_TRY(length_by_runs(m, from, to, &l->length_m));
    if (is_given(l->length_m))
        return RT_OK;
    const struct vec3 p = place_of(h, from), q = place_of(h, to);
    l->dig_m = l->air_m;
    l->length_m = hypot(p.x - a.x, p.y - a.y) + l->air_m + hypot(q.x - b.x, q.y - b.y) + SLACK_M + l->cords_m;
    return RT_OK;
}

/* ---- which ---- */

/* Copper between two buildings has a protector in each: as many stand there as such cables. */
static bool is_protected(const struct comparer *m, uint32_t building)
{
    uint32_t n_copper = 0, n_protectors = 0;
    for (uint32_t c = 0; c < m->h->cables.n; c++) {
        const struct cable *k = &m->h->cables.v[c];
        const bool ends_here = building_of_thing(m->h, tree_thing_of(m->h, &k->from)) == building ||
                               building_of_thing(m->h, tree_thing_of(m->h, &k->to)) == building;
        n_copper += m->plan->cables[c].leaves_building && cable_is_copper(m->links->v[c].category) && ends_here;
    }
    for (uint32_t e = 0; e < m->h->equipment.n; e++) {
        const struct part *part = part_of(m->h, e);
        n_protectors += part && part->kind == PART_PROTECTOR && building_of_thing(m->h, e) == building;
    }
    return n_protectors >= n_copper;
}

static enum rt_code add(struct comparer *m, uint32_t cable, uint32_t from, uint32_t to, double needed_mbps)
{
    const struct house *h = m->h;
    struct building_link l = { .cable = cable,
                               .near_floor = building_of_thing(h, from),
                               .floor = building_of_thing(h, to),
                               .needed_mbps = needed_mbps,
                               .wants_power = is_fed(h, to),
                               .chosen = MEDIUM_COUNT };
    if (cable != NO_REF) {
        l.chosen = cable_is_copper(m->links->v[cable].category) ? MEDIUM_COPPER : MEDIUM_FIBRE;
        l.is_protected = is_protected(m, l.near_floor) && is_protected(m, l.floor);
    }
    for (uint32_t i = 0; i < h->equipment.n + h->devices.n; i++)
        l.earths_differ |= building_of_thing(h, i) == l.floor && takes_mains(h, i);
    RT_TRY(measure(m, from, to, &l));
    by_copper(m, &l, &l.options[MEDIUM_COPPER]);
    by_fibre(m, &l, &l.options[MEDIUM_FIBRE]);
    by_radio(m, &l, &l.options[MEDIUM_RADIO]);
    qsort(l.options, MEDIUM_COUNT, sizeof l.options[0], compare_options);
    m->failed |= !VEC_PUSH(m->run->arena, &m->found, l);
    return m->failed ? rt_fail_memory(m->p) : RT_OK;
}

/* The nearest switch or gateway of the home; NO_REF: none. */
static uint32_t nearest_head(const struct comparer *m, uint32_t to)
{
    uint32_t best = NO_REF;
    double best_m = INFINITY;
    for (uint32_t e = 0; e < m->h->equipment.n; e++) {
        const struct part *part = part_of(m->h, e);
        if (!part || (part->kind != PART_SWITCH && part->kind != PART_GATEWAY) || building_of_thing(m->h, e) != m->home)
            continue;
        const double away_m = vec3_len(vec3_sub(place_of(m->h, e), place_of(m->h, to)));
        if (away_m < best_m) {
            best_m = away_m;
            best = e;
        }
    }
    return best;
}

static bool has_cable_out(const struct house *h, uint32_t building)
{
    for (uint32_t c = 0; c < h->cables.n; c++) {
        const uint32_t a = building_of_thing(h, tree_thing_of(h, &h->cables.v[c].from));
        const uint32_t b = building_of_thing(h, tree_thing_of(h, &h->cables.v[c].to));
        if ((a == building) != (b == building) && a != NO_REF && b != NO_REF)
            return true;
    }
    return false;
}

/* An outbuilding with something in it that wants a link, and no cable out of it. */
static enum rt_code add_without_cable(struct comparer *m, uint32_t building)
{
    const struct house *h = m->h;
    uint32_t to = NO_REF;
    double needed_mbps = 0.0;
    for (uint32_t i = 0; i < h->equipment.n + h->devices.n; i++) {
        if (building_of_thing(h, i) != building || !wants_link(h, i))
            continue;
        to = to == NO_REF ? i : to;
        const struct part *part = i < h->equipment.n ? part_of(h, i) : NULL;
        needed_mbps += fmin(wire_own_need_mbps(h, i), part ? port_mbps(part) : (double)INFINITY);
    }
    const uint32_t from = to == NO_REF || has_cable_out(h, building) ? NO_REF : nearest_head(m, to);
    return from == NO_REF ? RT_OK : add(m, NO_REF, from, to, needed_mbps);
}

enum rt_code building_links_compare(const struct run *run, const struct cable_plan *plan,
                                    const struct wire_links *links, struct building_links *out, struct rt_problems *p)
{
    struct comparer m = { .run = run, .h = plan->h, .plan = plan, .links = links, .p = p };
    const uint32_t gateway = tree_gateway(plan->h);
    m.home = building_of_thing(m.h, gateway);
    for (uint32_t c = 0; c < m.h->cables.n; c++) {
        const uint32_t a = tree_thing_of(m.h, &m.h->cables.v[c].from), b = tree_thing_of(m.h, &m.h->cables.v[c].to);
        const bool turned = building_of_thing(m.h, b) == m.home;
        if (plan->cables[c].leaves_building)
            RT_TRY(add(&m, c, turned ? b : a, turned ? a : b, links->v[c].needed_mbps));
    }
    for (uint32_t i = 0; m.home != NO_REF && i < m.h->floors.n; i++)
        if (cable_building_of(m.h, i) == i && i != m.home)
            RT_TRY(add_without_cable(&m, i));
    out->v.v = m.found.v;
    out->v.n = m.found.n;
    return RT_OK;
}

/* What each cable has to carry, and what it can. */
#include "wire/links.h"

#include <math.h>

#include "base/units.h"
#include "data/cabling.h"
#include "data/device_kinds.h"
#include "data/wifi.h"
#include "wire/cable_rules.h"
#include "wire/cable_tree.h"

/* Of a radio's fastest rate, what is left for payload (common practice, no source). */
static const double PAYLOAD_SHARE = 0.8;

struct needs {
    struct cable_tree tree;
    double *behind_mbps; /* of each thing: what it and all behind it need */
    uint32_t *n_behind;  /* things that need something, itself included */
};

static const struct part *part_of(const struct house *h, uint32_t node)
{
    if (node >= h->equipment.n || h->equipment.v[node].part.i == NO_REF)
        return NULL;
    return &h->parts.list.v[h->equipment.v[node].part.i];
}

/* ---- ports ---- */

static bool takes(const struct port_group *g, bool fibre) { return str_is(g->medium, "copper") ? !fibre : fibre; }

struct port_found {
    double mbps; /* infinite: that of a device of which no part is known */
    bool fits;
};

/* Of equipment, or of a device that is bought by its part. */
static const struct part *part_at(const struct house *h, const struct cable_end *end)
{
    if (end->equipment != NO_REF)
        return part_of(h, end->equipment);
    const struct str name = end->device == NO_REF ? (struct str){ 0 } : h->devices.v[end->device].part;
    const uint32_t part = name.n ? parts_find(&h->parts, name) : NO_REF;
    return part == NO_REF ? NULL : &h->parts.list.v[part];
}

static struct port_found port_at(const struct house *h, const struct cable_end *end, bool fibre)
{
    const struct part *part = part_at(h, end);
    struct port_found found = { 0.0, false };
    double last = 0.0;
    if (!part || !part->ports.n)
        return (struct port_found){ INFINITY, true };
    for (uint32_t i = 0; i < part->ports.n; i++) {
        const struct port_group *g = &part->ports.v[i];
        const bool is_it = !is_given(end->port) || (end->port > last && end->port <= last + g->count);
        last += g->count;
        if (is_it && takes(g, fibre)) {
            found.fits = true;
            found.mbps = fmax(found.mbps, given_or(g->speed_mbps, 0.0));
        }
    }
    return found;
}

static bool is_fibre(const struct house *h, const struct cable *c)
{
    const struct part *part = c->part.i == NO_REF ? NULL : &h->parts.list.v[c->part.i];
    const struct cable_category *category = part ? cable_category_find(part->category) : NULL;
    return category && category->family != CABLE_COPPER;
}

/* ---- what is needed ---- */

static double radio_mbps(const struct part_radio *r, double width_mhz)
{
    const struct wifi_generation *g = wifi_generation(r->phy);
    const int width = wifi_width_index(width_mhz);
    if (!g || width < 0 || !is_given(r->streams))
        return 0.0;
    const struct wifi_mcs *mcs = wifi_mcs(g->mcs_top);
    const double bits = g->data_tones[width] * mcs->bits_per_tone * r->streams * mcs->coded_of / mcs->coded_from;
    return bits / (g->dft_s + g->guard_s) / 1e6;
}

/* The radios as they are set. */
double wire_radios_mbps(const struct equipment *e, const struct part *part)
{
    double total = 0.0;
    for (uint32_t i = 0; i < part->radios.n; i++) {
        const struct part_radio *r = &part->radios.v[i];
        double width_mhz = r->width_mhz;
        bool off = false;
        for (uint32_t k = 0; k < e->radios.n; k++)
            if (e->radios.v[k].band == r->band) {
                off = e->radios.v[k].off;
                width_mhz = fmin(width_mhz, given_or(e->radios.v[k].width_mhz, width_mhz));
            }
        total += off ? 0.0 : PAYLOAD_SHARE * radio_mbps(r, width_mhz);
    }
    return total;
}

double wire_own_need_mbps(const struct house *h, uint32_t node)
{
    if (node < h->equipment.n) {
        const struct part *part = part_of(h, node);
        return part && part->kind == PART_ACCESS_POINT ? wire_radios_mbps(&h->equipment.v[node], part) : 0.0;
    }
    const struct device *d = &h->devices.v[node - h->equipment.n];
    const struct device_kind *kind = device_kind_find(d->kind);
    return given_or(d->speed_mbps, kind ? kind->speed_mbps : 0.0);
}

/* From the leaves to the gateway: no more comes through a link than its ports let pass. */
static bool sum_up(struct arena *a, struct needs *t)
{
    const struct cable_tree *tree = &t->tree;
    const struct house *h = tree->h;
    t->behind_mbps = ARENA_ARRAY(a, double, tree->n_things);
    t->n_behind = ARENA_ARRAY(a, uint32_t, tree->n_things);
    if (!t->behind_mbps || !t->n_behind)
        return false;
    for (uint32_t i = 0; i < tree->n_things; i++) {
        t->behind_mbps[i] = wire_own_need_mbps(h, i);
        t->n_behind[i] = t->behind_mbps[i] > 0.0;
    }
    for (uint32_t i = tree->n_order; i-- > 1;) {
        const uint32_t node = tree->order[i], up = tree->parent[node];
        const struct cable *c = &h->cables.v[tree->parent_cable[node]];
        const bool fibre = is_fibre(h, c);
        const double port_mbps = fmin(port_at(h, &c->from, fibre).mbps, port_at(h, &c->to, fibre).mbps);
        t->behind_mbps[up] += fmin(t->behind_mbps[node], port_mbps);
        t->n_behind[up] += t->n_behind[node];
    }
    return true;
}

/* The end of a cable that is further from the gateway; for one that does not lead there, a device's, or the end with less
 * behind. */
static uint32_t lower_end(const struct needs *t, uint32_t cable)
{
    const struct house *h = t->tree.h;
    const struct cable *c = &h->cables.v[cable];
    const uint32_t from = tree_thing_of(h, &c->from), to = tree_thing_of(h, &c->to);
    if (from == NO_REF || to == NO_REF)
        return from == NO_REF ? to : from;
    if (t->tree.parent_cable[from] == cable)
        return from;
    if (t->tree.parent_cable[to] == cable)
        return to;
    if ((from >= h->equipment.n) != (to >= h->equipment.n))
        return from >= h->equipment.n ? from : to;
    return t->behind_mbps[from] < t->behind_mbps[to] ? from : to;
}

/* ---- one link ---- */

static const struct cable_category *least_that_serves(const struct wire_link *l)
{
    uint32_t n;
    const struct cable_category *all = cable_categories(&n);
    for (uint32_t i = 0; i < n; i++) {
        if (all[i].family != CABLE_COPPER)
            continue;
        const double channel_m = cable_channel_max_m(&all[i], l->needed_mbps);
        if (channel_m > 0.0 && !(l->length_m + l->warm_m > cable_length_max_m(&all[i], channel_m, l->cords_m)))
            return &all[i];
    }
    return &all[0];
}

static struct str port_words(struct arena *a, const struct cable_end *end, bool *failed)
{
    const char *text = arena_printf(a, "port of %.*s", STR_ARG(end->what));
    *failed |= !text;
    return str_from(text ? text : "");
}

static void judge_speed(struct arena *a, const struct house *h, const struct cable_category *category,
                        struct port_found from, struct port_found to, struct wire_link *l, bool *failed)
{
    const struct cable *c = &h->cables.v[l->cable];
    const struct cable_end *slower = from.mbps <= to.mbps ? &c->from : &c->to;
    const double length_m = l->is_known ? l->fixed_m + l->warm_m : 0.0;
    const double by_category = cable_speed_mbps(category, 0.0, 0.0, INFINITY);
    const double by_length = cable_speed_mbps(category, length_m, l->cords_m, INFINITY);
    l->speed_mbps = cable_speed_mbps(category, length_m, l->cords_m, l->port_mbps);
    l->length_max_m =
        fmax(0.0, cable_length_max_m(category, cable_channel_max_m(category, l->needed_mbps), l->cords_m) - l->warm_m);
    if (!l->fits) {
        l->speed_mbps = 0.0;
        l->limit = port_words(a, from.fits ? &c->to : &c->from, failed);
    } else if (l->port_mbps <= by_length) {
        l->limit = port_words(a, slower, failed);
    } else if (by_length < by_category) {
        l->limit = STR("length");
    } else {
        l->limit = str_from(category->says);
    }
}

/* What its warm legs count for beyond their length. */
static double warm_m(const struct house *h, const struct routed_cable *r, const struct part *part)
{
    const bool screened = cable_is_screened(part, part ? part->category : (struct str){ 0 });
    double metres = 0.0;
    for (uint32_t i = 0; i < r->legs.n; i++)
        metres += cable_leg_is_warm(h, &r->legs.v[i]) ? r->legs.v[i].length_m : 0.0;
    return fmin(metres, r->fixed_m) * (cable_warm_ratio(screened, CABLE_UNDER_ROOF_DEGC) - 1.0);
}

static void judge(struct arena *a, const struct cable_plan *plan, const struct needs *t, uint32_t cable,
                  struct wire_link *l, bool *failed)
{
    const struct house *h = plan->h;
    const struct cable *c = &h->cables.v[cable];
    const struct routed_cable *r = &plan->cables[cable];
    const struct part *part = c->part.i == NO_REF ? NULL : &h->parts.list.v[c->part.i];
    const bool is_cord = part && part->kind == PART_CORD;
    const struct cable_category *category = part ? cable_category_find(part->category) : NULL;
    *l = (struct wire_link){ .cable = cable,
                             .category_chosen = category != NULL,
                             .is_fibre = is_fibre(h, c),
                             .fixed_m = is_cord ? 0.0 : r->fixed_m,
                             .cords_m = is_cord ? r->fixed_m : r->cords_m };
    l->length_m = l->fixed_m + l->cords_m;
    l->is_known = is_given(l->length_m);
    l->warm_m = l->is_known && !is_cord && !l->is_fibre ? warm_m(h, r, part) : 0.0;
    const struct port_found from = port_at(h, &c->from, l->is_fibre), to = port_at(h, &c->to, l->is_fibre);
    const uint32_t lower = lower_end(t, cable);
    l->fits = from.fits && to.fits;
    l->port_mbps = fmin(from.mbps, to.mbps);
    l->wanted_mbps = lower == NO_REF ? 0.0 : t->behind_mbps[lower];
    l->needed_mbps = l->fits ? fmin(l->wanted_mbps, l->port_mbps) : l->wanted_mbps;
    l->is_uplink = lower != NO_REF && t->n_behind[lower] > 1;
    if (!category)
        category = least_that_serves(l);
    l->category = str_from(category->name);
    judge_speed(a, h, category, from, to, l, failed);
}

enum rt_code wire_links_judge(const struct run *run, const struct cable_plan *plan, struct wire_links *out,
                              struct rt_problems *p)
{
    struct needs needs;
    bool failed = false;
    *out = (struct wire_links){ .v = ARENA_ARRAY(run->arena, struct wire_link, plan->h->cables.n),
                                .n = plan->h->cables.n };
    if (!out->v || !cable_tree_hang(run->arena, plan->h, tree_root(plan->h), NULL, NULL, &needs.tree) ||
        !sum_up(run->arena, &needs))
        return rt_fail_memory(p);
    for (uint32_t c = 0; c < out->n; c++)
        judge(run->arena, plan, &needs, c, &out->v[c], &failed);
    return failed ? rt_fail_memory(p) : RT_OK;
}

/* Will a part do at its place, whatever its ports are? */
#include <math.h>

#include "base/units.h"
#include "wire/open_parts_int.h"

/* ---- segments ---- */

static bool is_behind(const struct cable_tree *t, uint32_t thing, uint32_t e)
{
    while (thing != NO_REF && thing != e)
        thing = t->parent[thing];
    return thing == e;
}

static bool ssid_is_on(const struct house *h, const struct ssid *s, uint32_t e)
{
    const struct part *part = open_own_part(h, e);
    const bool is_access_point =
        part ? part->kind == PART_ACCESS_POINT : str_is(h->equipment.v[e].kind, "access_point");
    for (uint32_t i = 0; i < s->equipment.n; i++)
        if (s->equipment.v[i].i == e)
            return true;
    return is_access_point && s->equipment.n == 0;
}

static bool has_segment(const struct open_maker *m, uint32_t e, uint32_t segment)
{
    const struct house *h = m->h;
    for (uint32_t t = 0; t < m->tree.n_things; t++) {
        if (!is_behind(&m->tree, t, e))
            continue;
        if (t >= h->equipment.n) {
            const struct device *d = &h->devices.v[t - h->equipment.n];
            if (d->link == LINK_WIRED && d->segment.i == segment)
                return true;
            continue;
        }
        if (h->equipment.v[t].segment.i == segment)
            return true;
        for (uint32_t s = 0; s < h->ssids.n; s++)
            if (h->ssids.v[s].segment.i == segment && ssid_is_on(h, &h->ssids.v[s], t))
                return true;
    }
    return false;
}

/* Does more than one segment go through it? */
static bool needs_vlans(const struct open_maker *m, uint32_t e)
{
    uint32_t n = 0;
    for (uint32_t s = 0; s < m->h->segments.n; s++)
        n += has_segment(m, e, s);
    return n > 1;
}

/* ---- radios ---- */

static const char *radios_unfit(const struct equipment *e, const struct part *part)
{
    for (uint32_t i = 0; i < e->radios.n; i++) {
        const struct radio_setting *set = &e->radios.v[i];
        const struct part_radio *found = NULL;
        for (uint32_t k = 0; k < part->radios.n; k++)
            if (part->radios.v[k].band == set->band)
                found = &part->radios.v[k];
        if (set->off)
            continue;
        if (!found)
            return "lacks a band that is set";
        if (set->width_mhz > found->width_mhz)
            return "has no channel as wide as is set";
        if (set->power_dbm > found->power_dbm)
            return "has less power than is set";
    }
    return NULL;
}

static double n_ssids(const struct house *h, uint32_t e)
{
    double n = 0;
    for (uint32_t s = 0; s < h->ssids.n; s++)
        n += ssid_is_on(h, &h->ssids.v[s], e);
    return n;
}

/* ---- place ---- */

static bool is_in_the_open(const struct house *h, const struct equipment *e)
{
    if (e->mount.i != NO_REF)
        return h->mounts.v[e->mount.i].outdoors;
    return e->room.i == NO_REF && e->inside.i == NO_REF && e->floor.i != NO_REF && h->floors.v[e->floor.i].open_air;
}

static bool is_larger(double a_m, double b_m) { return is_given(a_m) && is_given(b_m) && a_m > b_m + 1e-9; }

static const char *place_unfit(const struct house *h, const struct equipment *e, const struct part *part)
{
    const struct part *cabinet = e->inside.i == NO_REF ? NULL : open_own_part(h, e->inside.i);
    if (is_in_the_open(h, e) && !part->outdoors)
        return "does not stand the weather";
    if (part->kind == PART_ACCESS_POINT && e->mount.i != NO_REF && part->surface != h->mounts.v[e->mount.i].surface)
        return "is made for another surface";
    if (!cabinet)
        return NULL;
    if (is_larger(part->width_m, cabinet->width_m) || is_larger(part->depth_m, cabinet->depth_m) ||
        is_larger(part->height_m, cabinet->height_m) || is_larger(part->rack_units, cabinet->rack_units))
        return "is too large for its cabinet";
    return NULL;
}

static bool has_cable(const struct house *h, uint32_t e)
{
    for (uint32_t c = 0; c < h->cables.n; c++)
        if (h->cables.v[c].from.equipment == e || h->cables.v[c].to.equipment == e)
            return true;
    return false;
}

static double highest_port(const struct house *h, uint32_t e)
{
    double highest = 0;
    for (uint32_t c = 0; c < h->cables.n; c++) {
        const struct cable_end *ends[2] = { &h->cables.v[c].from, &h->cables.v[c].to };
        for (int k = 0; k < 2; k++)
            if (ends[k]->equipment == e)
                highest = fmax(highest, given_or(ends[k]->port, 0.0));
    }
    return highest;
}

const char *open_part_unfit(const struct open_maker *m, uint32_t e, const struct part *part)
{
    const struct house *h = m->h;
    const struct equipment *thing = &h->equipment.v[e];
    const char *why = radios_unfit(thing, part);
    double n_ports = 0;
    for (uint32_t i = 0; i < part->ports.n; i++)
        n_ports += part->ports.v[i].count;
    if (!why)
        why = place_unfit(h, thing, part);
    if (why)
        return why;
    const bool joins = part->kind == PART_SWITCH || part->kind == PART_GATEWAY || part->kind == PART_ACCESS_POINT;
    if (joins && !part->vlans && needs_vlans(m, e))
        return "keeps no VLANs apart";
    if (is_given(part->ssids_max) && n_ssids(h, e) > part->ssids_max)
        return "carries too few SSIDs";
    if (part->kind == PART_GATEWAY && part->routed_mbps < h->line.down_mbps)
        return "routes less than the line brings";
    if (is_given(part->poe_class_needed) && !has_cable(h, e))
        return "needs a cable that feeds it";
    if (highest_port(h, e) > n_ports)
        return "lacks a port that a cable names";
    return NULL;
}

/* Cables within one cabinet are cords, unless the file says otherwise. */
#include <math.h>

#include "base/units.h"
#include "data/cabling.h"
#include "house/model_int.h"

/* Two things in one cabinet are joined by a cord of at least this (common practice, no source). */
static const double CORD_MIN_M = 0.5;

static bool is_one_cabinet(const struct house *h, const struct cable *c)
{
    return c->from.equipment != NO_REF && c->to.equipment != NO_REF &&
           h->equipment.v[c->from.equipment].inside.i != NO_REF &&
           h->equipment.v[c->from.equipment].inside.i == h->equipment.v[c->to.equipment].inside.i;
}

/* The fastest copper port at an end; 0: none, or not known which part it is. */
static double copper_mbps(const struct house *h, const struct cable_end *end)
{
    const uint32_t part = h->equipment.v[end->equipment].part.i;
    double fastest_mbps = 0.0, last = 0.0;
    for (uint32_t i = 0; part != NO_REF && i < h->parts.list.v[part].ports.n; i++) {
        const struct port_group *g = &h->parts.list.v[part].ports.v[i];
        const bool is_it = !is_given(end->port) || (end->port > last && end->port <= last + g->count);
        last += g->count;
        if (is_it && str_is(g->medium, "copper"))
            fastest_mbps = fmax(fastest_mbps, given_or(g->speed_mbps, 0.0));
    }
    return fastest_mbps;
}

/* The cheapest that is long enough and carries what both ports do; if none does, the cheapest that is long enough. */
static uint32_t cord_for(const struct house *h, double length_m, double mbps)
{
    uint32_t best = NO_REF;
    bool best_carries = false;
    for (uint32_t i = 0; i < h->parts.list.n; i++) {
        const struct part *p = &h->parts.list.v[i];
        const struct cable_category *category = cable_category_find(p->category);
        if (p->kind != PART_CORD || !category || !cable_is_copper(p->category) || !(p->per_m >= length_m - 1e-9))
            continue;
        const bool carries = cable_speed_mbps(category, 0.0, p->per_m, (double)INFINITY) >= mbps;
        if (best != NO_REF && (carries != best_carries ? !carries : !(p->price < h->parts.list.v[best].price)))
            continue;
        best = i;
        best_carries = carries;
    }
    return best;
}

void house_complete_cords(struct house *h)
{
    for (uint32_t i = 0; i < h->cables.n; i++) {
        struct cable *c = &h->cables.v[i];
        if (c->part.i != NO_REF || is_given(c->length_m) || c->route.n || c->owned || !is_one_cabinet(h, c))
            continue;
        const struct vec3 a = h->equipment.v[c->from.equipment].at_m, b = h->equipment.v[c->to.equipment].at_m;
        const double apart_m = vec3_len(vec3_sub(a, b)), length_m = fmax(CORD_MIN_M, given_or(apart_m, 0.0));
        const double mbps = fmin(copper_mbps(h, &c->from), copper_mbps(h, &c->to));
        const uint32_t cord = mbps > 0.0 ? cord_for(h, length_m, mbps) : NO_REF;
        if (cord == NO_REF)
            continue;
        c->part.i = cord;
        c->length_m = h->parts.list.v[cord].per_m;
    }
}

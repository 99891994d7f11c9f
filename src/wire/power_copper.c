/* The copper: what each way resists, how warm its bundle makes it, what its wires bear. */
#include <math.h>

#include "base/units.h"
#include "data/cabling.h"
#include "data/conductors.h"
#include "wire/power_int.h"

/* Air around cables: the reference of NFPA 70 (NEC) table 725.144. */
#define INDOORS_DEGC 30.0
/* Cable of which nothing is said bears this (as PVC cable does; common practice, no source). */
#define CABLE_LIMIT_DEGC 60.0

static bool is_warm_place(const struct house *h, uint32_t run)
{
    return run != NO_REF && (h->runs.v[run].outdoors || h->runs.v[run].kind == RUN_ATTIC);
}

static double air_degc(const struct power_maker *m, uint32_t cable)
{
    const struct routed_cable *r = &m->cables->cables[cable];
    bool is_warm = r->outdoors;
    for (uint32_t i = 0; i < r->legs.n; i++)
        is_warm |= r->legs.v[i].kind == RUN_ATTIC || is_warm_place(m->h, r->legs.v[i].run);
    for (uint32_t i = 0; r->legs.n == 0 && i < m->h->cables.v[cable].route.n; i++)
        is_warm |= is_warm_place(m->h, m->h->cables.v[cable].route.v[i].i);
    return is_warm ? CABLE_UNDER_ROOF_DEGC : INDOORS_DEGC;
}

static bool length_is_known(const struct routed_cable *r)
{
    return (r->is_routed || r->length_given) && is_given(r->fixed_m);
}

/* Of one pair set: two wires out side by side, two back, so as long as one wire. */
static double fixed_ohm_per_m(const struct part *part, double degc)
{
    if (!part || !is_given(part->conductor_mm2))
        return POE_WORST_CHANNEL_OHM_PER_M; /* nothing known: the worst that is legal */
    const double ohm_per_m = copper_ohm_per_m(part->conductor_mm2, degc);
    return part->kind == PART_CORD ? ohm_per_m * CORD_RESISTANCE_RATIO : ohm_per_m;
}

static double cable_ohm(const struct power_maker *m, uint32_t cable, double degc)
{
    const struct routed_cable *r = &m->cables->cables[cable];
    const double cord_ohm_per_m = copper_ohm_per_m(awg_area_mm2(CORD_AWG), INDOORS_DEGC) * CORD_RESISTANCE_RATIO;
    return r->fixed_m * fixed_ohm_per_m(part_of_cable(m->h, cable), degc) + r->cords_m * cord_ohm_per_m;
}

void power_loops(struct power_maker *m)
{
    for (uint32_t i = 0; i < m->plan->feeds.n; i++) {
        struct power_feed *f = &m->plan->feeds.v[i];
        f->is_known = true;
        f->loop_ohm = 0.0;
        f->copper_degc = INDOORS_DEGC;
        for (uint32_t k = 0; k < f->way.n; k++) {
            const uint32_t cable = f->way.v[k].i;
            if (!length_is_known(&m->cables->cables[cable])) {
                f->is_known = false;
                f->unknown_cable = f->unknown_cable == NO_REF ? cable : f->unknown_cable;
                continue;
            }
            const double degc = air_degc(m, cable) + m->rise_k[cable];
            f->copper_degc = fmax(f->copper_degc, degc);
            f->loop_ohm += cable_ohm(m, cable, degc);
        }
        if (!f->is_known || !feed_is_on(f))
            f->loop_ohm = RT_NOT_GIVEN;
    }
}

/* ---- bundles ---- */

/* Calls back for each run that a cable lies in, once. */
static bool lies_in(const struct power_maker *m, uint32_t cable, uint32_t run)
{
    const struct routed_cable *r = &m->cables->cables[cable];
    const struct cable *c = &m->h->cables.v[cable];
    for (uint32_t i = 0; i < r->legs.n; i++)
        if (r->legs.v[i].run == run)
            return true;
    for (uint32_t i = 0; r->legs.n == 0 && i < c->route.n; i++)
        if (c->route.v[i].i == run)
            return true;
    return false;
}

static double heat_w_per_m(const struct power_maker *m, const struct power_feed *f, uint32_t cable)
{
    const struct poe_class *class = poe_class(f->class_granted);
    const double ohm_per_m = fixed_ohm_per_m(part_of_cable(m->h, cable), f->copper_degc);
    return class && is_given(f->current_a) ? f->current_a * f->current_a * ohm_per_m / class->pair_sets : 0.0;
}

/* Every cable of the fullest bundle at full; only powered ones are counted, which is the careful side. */
void power_bundles(struct power_maker *m)
{
    const struct house *h = m->h;
    struct power_plan *plan = m->plan;
    plan->bundle = (struct power_bundle){ .run = NO_REF, .rise_k = RT_NOT_GIVEN };
    for (uint32_t run = 0; run < h->runs.n; run++) {
        double heat = 0.0;
        uint32_t n = 0;
        for (uint32_t i = 0; i < plan->feeds.n; i++)
            for (uint32_t k = 0; k < plan->feeds.v[i].way.n; k++)
                if (feed_is_on(&plan->feeds.v[i]) && lies_in(m, plan->feeds.v[i].way.v[k].i, run)) {
                    heat += heat_w_per_m(m, &plan->feeds.v[i], plan->feeds.v[i].way.v[k].i);
                    n++;
                }
        if (n == 0)
            continue;
        const double rise_k = bundle_rise_k(n, heat);
        for (uint32_t c = 0; c < h->cables.n; c++)
            if (lies_in(m, c, run)) {
                m->rise_k[c] = fmax(m->rise_k[c], rise_k);
                m->n_bundle[c] = n > m->n_bundle[c] ? n : m->n_bundle[c];
            }
        if (plan->bundle.run == NO_REF || rise_k > plan->bundle.rise_k)
            plan->bundle = (struct power_bundle){ .run = run, .n_powered = n, .rise_k = rise_k };
    }
}

void power_check_wires(struct power_maker *m)
{
    for (uint32_t i = 0; i < m->plan->feeds.n; i++) {
        struct power_feed *f = &m->plan->feeds.v[i];
        const struct poe_class *class = poe_class(f->class_granted);
        f->wire_a = f->wire_max_a = RT_NOT_GIVEN;
        if (!class || !is_given(f->current_a))
            continue;
        f->wire_a = f->current_a / class->pair_sets / 2.0;
        for (uint32_t k = 0; k < f->way.n; k++) {
            const uint32_t cable = f->way.v[k].i;
            const struct part *part = part_of_cable(m->h, cable);
            const double limit_degc = given_or(part ? part->temperature_max_degc : RT_NOT_GIVEN, CABLE_LIMIT_DEGC);
            if (air_degc(m, cable) + m->rise_k[cable] > limit_degc)
                f->limit = POWER_BY_WARMTH;
            if (!part || !is_given(part->conductor_mm2))
                continue;
            const double max_a =
                bundle_current_max_a(awg_of_area(part->conductor_mm2), m->n_bundle[cable] ? m->n_bundle[cable] : 1,
                                     limit_degc, air_degc(m, cable));
            if (is_given(max_a))
                f->wire_max_a = is_given(f->wire_max_a) ? fmin(f->wire_max_a, max_a) : max_a;
        }
        if (is_given(f->wire_max_a) && f->wire_a > f->wire_max_a)
            f->limit = POWER_BY_WIRES;
    }
}

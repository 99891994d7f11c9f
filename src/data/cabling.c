#include "data/cabling.h"

#include <math.h>

#include "base/compiler.h"

#define WISCONSIN "Ethernet Media Standards and Distances, University of Wisconsin knowledge base (read)"
#define MEMORY "from memory"

/* Outer diameters are those of common cable of the grade, of two fibres in a jacket for ducts, of two pairs of twinax (common
 * practice, no source).  Categories 7 and up exist screened only (ISO/IEC 11801, from memory).  Loss of light at 850 nm, and of OS2 at
 * 1310 and 1550 nm (ISO/IEC 11801-1, from memory; ANSI/TIA-568.3-D is kinder to OM3 and up, harsher to OS2 indoors). */
static const struct cable_category CATEGORIES[] = {
    { "5e", "category 5e", CABLE_COPPER, 0, 5.3, false, 0 },
    { "6", "category 6", CABLE_COPPER, 1, 6.2, false, 0 },
    { "6a", "category 6A", CABLE_COPPER, 2, 7.6, false, 0 },
    { "7", "category 7", CABLE_COPPER, 3, 7.8, true, 0 },
    { "7a", "category 7A", CABLE_COPPER, 4, 8.2, true, 0 },
    { "8.1", "category 8.1", CABLE_COPPER, 5, 8.4, true, 0 },
    { "8.2", "category 8.2", CABLE_COPPER, 6, 8.4, true, 0 },
    { "om1", "OM1 fibre", CABLE_MULTIMODE, 0, 6.0, false, 3.5 },
    { "om2", "OM2 fibre", CABLE_MULTIMODE, 1, 6.0, false, 3.5 },
    { "om3", "OM3 fibre", CABLE_MULTIMODE, 2, 6.0, false, 3.5 },
    { "om4", "OM4 fibre", CABLE_MULTIMODE, 3, 6.0, false, 3.5 },
    { "om5", "OM5 fibre", CABLE_MULTIMODE, 4, 6.0, false, 3.5 },
    { "os2", "OS2 fibre", CABLE_SINGLE_MODE, 0, 6.0, false, 0.4 },
    { "twinax", "twinax cable", CABLE_TWINAX, 0, 5.0, true, 0 },
};

/* Loss of a channel of fibre: channel insertion loss of IEEE 802.3 clauses 38, 52, 86 and 87, from memory.
 *
 * 5 Gb/s over category 5e is left out: only for use cases that IEEE 802.3bz defines.  10 Gb/s over category 6 is the length
 * beside other cables.  Category 8 is made for 30 m; what category 6A carries over 100 m it carries too. */
static const struct cable_reach REACHES[] = {
    { "5e", 100, 100, 0, "100BASE-TX", WISCONSIN },
    { "5e", 1000, 100, 0, "1000BASE-T", WISCONSIN },
    { "5e", 2500, 100, 0, "2.5GBASE-T", MEMORY },
    { "6", 5000, 100, 0, "5GBASE-T", MEMORY },
    { "6", 10000, 37, 0, "10GBASE-T", "TSB-155, read as quoted from a trade article" },
    { "6a", 10000, 100, 0, "10GBASE-T", WISCONSIN },
    { "8.1", 25000, 30, 0, "25GBASE-T", MEMORY },
    { "8.1", 40000, 30, 0, "40GBASE-T", MEMORY },
    { "om1", 1000, 220, 2.38, "1000BASE-SX", WISCONSIN },
    { "om1", 10000, 33, 1.6, "10GBASE-SR", MEMORY },
    { "om2", 1000, 500, 3.56, "1000BASE-SX", WISCONSIN },
    { "om2", 10000, 82, 1.8, "10GBASE-SR", MEMORY },
    { "om3", 1000, 550, 3.56, "1000BASE-SX", MEMORY },
    { "om3", 10000, 300, 2.6, "10GBASE-SR", WISCONSIN },
    { "om3", 40000, 100, 1.9, "40GBASE-SR4", WISCONSIN },
    { "om4", 10000, 400, 2.9, "10GBASE-SR", "a public page on 10GBASE-SR (read)" },
    { "os2", 1000, 5000, 4.57, "1000BASE-LX", MEMORY },
    { "os2", 10000, 10000, 6.2, "10GBASE-LR", WISCONSIN },
    { "os2", 40000, 10000, 6.7, "40GBASE-LR4", WISCONSIN },
    { "twinax", 10000, 7, 0, "SFP+ direct attach", MEMORY },
    { "twinax", 25000, 5, 0, "25GBASE-CR", MEMORY },
    { "twinax", 40000, 7, 0, "40GBASE-CR4", "a public page on 40G optics (read)" },
};

static const double SPEEDS_MBPS[] = { 100, 1000, 2500, 5000, 10000, 25000, 40000 };

/* Of TIA-568-B: fixed cable at most, and the sum of fixed cable and cords weighed by their loss, of a channel of 100 m. */
static const double FIXED_SHARE = 0.90, WEIGHED_SHARE = 1.02, CORD_WEIGHT = 1.2;

const struct cable_category *cable_categories(uint32_t *n)
{
    *n = (uint32_t)RT_COUNT(CATEGORIES);
    return CATEGORIES;
}

const struct cable_reach *cable_reaches(uint32_t *n)
{
    *n = (uint32_t)RT_COUNT(REACHES);
    return REACHES;
}

const struct cable_category *cable_category_find(struct str name)
{
    for (size_t i = 0; i < RT_COUNT(CATEGORIES); i++)
        if (str_is(name, CATEGORIES[i].name))
            return &CATEGORIES[i];
    return NULL;
}

static bool serves(const struct cable_category *c, const struct cable_reach *r)
{
    const struct cable_category *of = cable_category_find(str_from(r->category));
    return of && of->family == c->family && of->rank <= c->rank;
}

/* The longest row of the slowest application that carries at least speed_mbps; NULL: none does. */
static const struct cable_reach *row_for(const struct cable_category *c, double speed_mbps)
{
    const struct cable_reach *best = NULL;
    for (size_t i = 0; i < RT_COUNT(REACHES); i++) {
        const struct cable_reach *r = &REACHES[i];
        if (!serves(c, r) || r->speed_mbps < speed_mbps)
            continue;
        if (!best || r->speed_mbps < best->speed_mbps ||
            (r->speed_mbps <= best->speed_mbps && r->channel_max_m > best->channel_max_m))
            best = r;
    }
    return best;
}

double cable_channel_max_m(const struct cable_category *c, double speed_mbps)
{
    const struct cable_reach *r = row_for(c, speed_mbps);
    return r ? r->channel_max_m : 0.0;
}

double cable_loss_max_db(const struct cable_category *c, double speed_mbps)
{
    const struct cable_reach *r = row_for(c, speed_mbps);
    return r ? r->loss_max_db : 0.0;
}

double cable_length_max_m(const struct cable_category *c, double channel_max_m, double cords_m)
{
    if (c->family != CABLE_COPPER)
        return channel_max_m;
    const double fixed_m = fmin(FIXED_SHARE * channel_max_m, WEIGHED_SHARE * channel_max_m - CORD_WEIGHT * cords_m);
    return fixed_m >= 0.0 ? fixed_m + cords_m : WEIGHED_SHARE * channel_max_m / CORD_WEIGHT;
}

double cable_speed_mbps(const struct cable_category *c, double fixed_m, double cords_m, double at_most_mbps)
{
    double best = 0.0;
    for (size_t i = 0; i < RT_COUNT(SPEEDS_MBPS); i++) {
        const double longest_m = cable_channel_max_m(c, SPEEDS_MBPS[i]);
        if (SPEEDS_MBPS[i] <= at_most_mbps && longest_m > 0.0 &&
            fixed_m + cords_m <= cable_length_max_m(c, longest_m, cords_m))
            best = SPEEDS_MBPS[i];
    }
    return best;
}

double cable_warm_ratio(bool screened, double degc)
{
    const double warm_k = fmin(fmax(degc - 20.0, 0.0), 40.0);
    if (screened)
        return 1.0 + 0.002 * warm_k;
    return 1.0 + 0.004 * fmin(warm_k, 20.0) + 0.006 * fmax(warm_k - 20.0, 0.0);
}

bool cable_is_copper(struct str name)
{
    const struct cable_category *c = cable_category_find(name);
    return !c || c->family == CABLE_COPPER;
}

bool cable_category_serves(struct str name, struct str needed)
{
    const struct cable_category *has = cable_category_find(name), *wants = cable_category_find(needed);
    if (!has || !wants)
        return str_eq(name, needed);
    return has->family == wants->family && (has->family == CABLE_COPPER ? has->rank >= wants->rank : has == wants);
}

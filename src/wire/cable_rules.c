#include "wire/cable_rules.h"

#include <math.h>

#include "base/sum.h"
#include "base/units.h"
#include "data/cabling.h"

/* So much of a cable may lie outdoors without being made for it: through the wall into the box of what it feeds (common practice,
 * no source). */
static const double TAIL_M = 1.0;

struct rules {
    const struct house *h;
    const struct cable_plan *plan;
    const struct wire_links *links;
    struct arena *a;
    VEC(struct cable_breach) breaches;
    bool failed;
};

static const char *const NAMES[RULE_COUNT] = {
    [RULE_FILL] = "fill", [RULE_MAINS] = "mains", [RULE_WEATHER] = "weather", [RULE_WARMTH] = "warmth"
};

const char *cable_rule_name(enum cable_rule rule) { return NAMES[rule]; }

bool cable_leg_is_outdoors(const struct house *h, const struct cable_leg *leg)
{
    if (leg->run != NO_REF)
        return h->runs.v[leg->run].outdoors;
    return leg->floor != NO_REF && h->floors.v[leg->floor].open_air;
}

bool cable_leg_is_warm(const struct house *h, const struct cable_leg *leg)
{
    const bool in_pipe = leg->kind == RUN_TRENCH || (leg->kind == RUN_DUCT && leg->run != NO_REF);
    return leg->kind == RUN_ATTIC || (cable_leg_is_outdoors(h, leg) && !in_pipe);
}

bool cable_is_screened(const struct part *part, struct str category)
{
    const struct cable_category *c = cable_category_find(category);
    return (part && part->screened) || (c && c->screened);
}

bool equipment_is_outdoors(const struct house *h, uint32_t equipment)
{
    const struct equipment *e = &h->equipment.v[equipment];
    if (e->mount.i != NO_REF && h->mounts.v[e->mount.i].outdoors)
        return true;
    if (e->room.i != NO_REF && h->rooms.v[e->room.i].use == USE_OUTDOOR)
        return true;
    return e->floor.i != NO_REF && h->floors.v[e->floor.i].open_air;
}

static void breach(struct rules *r, struct cable_breach b, const char *says)
{
    b.says = str_from(says ? says : "");
    r->failed |= !says || !VEC_PUSH(r->a, &r->breaches, b);
}

static const struct part *part_of(const struct rules *r, uint32_t cable)
{
    const uint32_t part = r->h->cables.v[cable].part.i;
    return part == NO_REF ? NULL : &r->h->parts.list.v[part];
}

static struct str run_name(const struct house *h, uint32_t run)
{
    return h->runs.v[run].says.n ? h->runs.v[run].says : h->runs.v[run].id;
}

double cable_metres_in(const struct cable_plan *plan, uint32_t cable, uint32_t run)
{
    const struct routed_cable *way = &plan->cables[cable];
    const struct cable *c = &plan->h->cables.v[cable];
    struct sum metres = { 0 };
    bool is_there = false;
    for (uint32_t i = 0; i < way->legs.n; i++)
        if (way->legs.v[i].run == run) {
            is_there = true;
            sum_add(&metres, way->legs.v[i].length_m);
        }
    for (uint32_t i = 0; way->legs.n == 0 && i < c->route.n; i++)
        is_there |= c->route.v[i].i == run;
    return is_there ? sum_value(&metres) : RT_NOT_GIVEN;
}

/* ---- room ---- */

double cable_section_mm2(const struct house *h, const struct wire_links *links, uint32_t cable)
{
    const uint32_t i = h->cables.v[cable].part.i;
    const double part_mm = i == NO_REF ? RT_NOT_GIVEN : h->parts.list.v[i].outer_mm;
    const struct cable_category *category = cable_category_find(links->v[cable].category);
    const double outer_mm = given_or(part_mm, category ? category->outer_mm : 0.0);
    return RT_PI / 4.0 * outer_mm * outer_mm;
}

static void check_fill(struct rules *r, struct cable_rules *out)
{
    out->fills.v = ARENA_ARRAY(r->a, struct run_fill, r->h->runs.n);
    r->failed |= !out->fills.v;
    for (uint32_t run = 0; !r->failed && run < r->h->runs.n; run++) {
        struct run_fill f = { .run = run };
        struct sum used = { 0 };
        for (uint32_t c = 0; c < r->h->cables.n; c++)
            if (is_given(cable_metres_in(r->plan, c, run))) {
                f.n_cables++;
                sum_add(&used, cable_section_mm2(r->h, r->links, c));
            }
        if (f.n_cables == 0)
            continue;
        const double area_mm2 = r->h->runs.v[run].area_mm2;
        f.used_mm2 = sum_value(&used);
        f.share = f.used_mm2 / area_mm2;
        f.share_max = fill_share_max(f.n_cables);
        out->fills.v[out->fills.n++] = f;
        if (!(f.share > f.share_max + 1e-9))
            continue;
        breach(
            r,
            (struct cable_breach){ .rule = RULE_FILL,
                                   .cable = NO_REF,
                                   .run = run,
                                   .equipment = NO_REF,
                                   .is = f.share,
                                   .limit = f.share_max,
                                   .metres = RT_NOT_GIVEN },
            arena_printf(r->a,
                         "%.*s: %u cable%s fill%s it by %.0f %%, %.0f of %.0f mm2; at most %.0f %%: it needs %.0f mm2, "
                         "or some of them another way",
                         STR_ARG(run_name(r->h, run)), (unsigned)f.n_cables, f.n_cables == 1 ? "" : "s",
                         f.n_cables == 1 ? "s" : "", 100.0 * f.share, f.used_mm2, area_mm2, 100.0 * f.share_max,
                         ceil(f.used_mm2 / f.share_max)));
    }
}

/* ---- mains ---- */

static bool is_head(const struct house *h, const struct cable_end *end)
{
    const uint32_t part = end->equipment == NO_REF ? NO_REF : h->equipment.v[end->equipment].part.i;
    const enum part_kind kind = part == NO_REF ? PART_SUNDRY : h->parts.list.v[part].kind;
    return kind == PART_SWITCH || kind == PART_GATEWAY;
}

/* Of a cable's metres in a run, those that count: all but the last ones before the outlet.  Between two switches all do. */
static double counted_m(const struct rules *r, uint32_t cable, uint32_t run)
{
    const struct cable *c = &r->h->cables.v[cable];
    const struct routed_cable *way = &r->plan->cables[cable];
    const bool head_first = is_head(r->h, &c->from), between_heads = head_first && is_head(r->h, &c->to);
    struct sum counted = { 0 }, passed = { 0 };
    for (uint32_t k = 0; k < way->legs.n; k++) { /* from the outlet */
        const struct cable_leg *leg = &way->legs.v[head_first ? way->legs.n - 1 - k : k];
        const double exempt_m = between_heads ? 0.0 : fmax(0.0, SEPARATION_EXEMPT_M - sum_value(&passed));
        if (leg->run == run)
            sum_add(&counted, fmax(0.0, leg->length_m - exempt_m));
        sum_add(&passed, leg->length_m);
    }
    return sum_value(&counted);
}

static const char *divider_words(enum divider d)
{
    return d == DIVIDER_NONE ? "no metal divider" : d == DIVIDER_STEEL ? "a steel divider" : "an aluminium divider";
}

static void check_mains_of(struct rules *r, uint32_t run, uint32_t cable)
{
    const struct cable_run *way = &r->h->runs.v[run];
    const bool screened = cable_is_screened(part_of(r, cable), r->links->v[cable].category);
    const double least_m = separation_min_m(way->mains_screened, screened, way->mains_divider);
    const double metres = way->mains_m < least_m - 1e-9 ? counted_m(r, cable, run) : 0.0;
    if (metres <= 0.0)
        return;
    breach(r,
           (struct cable_breach){ .rule = RULE_MAINS,
                                  .cable = cable,
                                  .run = run,
                                  .equipment = NO_REF,
                                  .is = way->mains_m,
                                  .limit = least_m,
                                  .metres = metres },
           arena_printf(
               r->a,
               "cable %.*s: %.1f m of it lie %.3g m from mains in %.*s; %.3g m are needed for %s data cable with %s: "
               "move it, or take screened cable or a metal divider",
               STR_ARG(r->h->cables.v[cable].id), metres, way->mains_m, STR_ARG(run_name(r->h, run)), least_m,
               screened ? "screened" : "unscreened", divider_words(way->mains_divider)));
}

static bool is_void(enum run_kind kind)
{
    return kind == RUN_CEILING_VOID || kind == RUN_UNDER_FLOOR || kind == RUN_ATTIC;
}

static void check_mains(struct rules *r, struct cable_rules *out)
{
    const struct house *h = r->h;
    out->mains_unknown.v = ARENA_ARRAY(r->a, struct ref, h->runs.n);
    r->failed |= !out->mains_unknown.v;
    for (uint32_t run = 0; !r->failed && run < h->runs.n; run++) {
        bool has_copper = false;
        for (uint32_t c = 0; c < h->cables.n; c++) {
            if (!cable_is_copper(r->links->v[c].category) || !is_given(cable_metres_in(r->plan, c, run)))
                continue;
            has_copper = true;
            if (is_given(h->runs.v[run].mains_m))
                check_mains_of(r, run, c);
        }
        if (has_copper && !is_given(h->runs.v[run].mains_m))
            out->mains_unknown.v[out->mains_unknown.n++] = (struct ref){ .i = run };
    }
    for (uint32_t c = 0; c < h->cables.n; c++)
        for (uint32_t k = 0; cable_is_copper(r->links->v[c].category) && k < r->plan->cables[c].legs.n; k++) {
            const struct cable_leg *leg = &r->plan->cables[c].legs.v[k];
            out->generated_unknown |= leg->run == NO_REF && is_void(leg->kind);
        }
}

/* ---- weather and warmth ---- */

static void check_cable_weather(struct rules *r, uint32_t cable)
{
    const struct part *part = part_of(r, cable);
    const struct routed_cable *way = &r->plan->cables[cable];
    struct sum metres = { 0 };
    for (uint32_t i = 0; i < way->legs.n; i++)
        if (cable_leg_is_outdoors(r->h, &way->legs.v[i]))
            sum_add(&metres, way->legs.v[i].length_m);
    const double outdoors_m = sum_value(&metres);
    if (!part || part->outdoors || outdoors_m <= TAIL_M)
        return;
    breach(r,
           (struct cable_breach){ .rule = RULE_WEATHER,
                                  .cable = cable,
                                  .run = NO_REF,
                                  .equipment = NO_REF,
                                  .is = RT_NOT_GIVEN,
                                  .limit = RT_NOT_GIVEN,
                                  .metres = outdoors_m },
           arena_printf(
               r->a,
               "cable %.*s: %.1f m of it lie outdoors, and %.*s is not made for that: take a cable for outdoors, or "
               "lead it inside",
               STR_ARG(r->h->cables.v[cable].id), outdoors_m, STR_ARG(part->says)));
}

static void check_cable_warmth(struct rules *r, uint32_t cable)
{
    const struct part *part = part_of(r, cable);
    const struct routed_cable *way = &r->plan->cables[cable];
    struct sum metres = { 0 };
    for (uint32_t i = 0; i < way->legs.n; i++)
        if (cable_leg_is_warm(r->h, &way->legs.v[i]))
            sum_add(&metres, way->legs.v[i].length_m);
    const double warm_m = sum_value(&metres);
    if (!part || !(part->temperature_max_degc < CABLE_UNDER_ROOF_DEGC) || warm_m <= 0.0)
        return;
    breach(r,
           (struct cable_breach){ .rule = RULE_WARMTH,
                                  .cable = cable,
                                  .run = NO_REF,
                                  .equipment = NO_REF,
                                  .is = CABLE_UNDER_ROOF_DEGC,
                                  .limit = part->temperature_max_degc,
                                  .metres = warm_m },
           arena_printf(
               r->a,
               "cable %.*s: %.1f m of it lie under the roof or in the sun, where air gets %.0f degC warm; %.*s bears "
               "%.0f degC: take one that bears more, or another way",
               STR_ARG(r->h->cables.v[cable].id), warm_m, CABLE_UNDER_ROOF_DEGC, STR_ARG(part->says),
               part->temperature_max_degc));
}

static bool has_cable(const struct house *h, uint32_t equipment)
{
    for (uint32_t c = 0; c < h->cables.n; c++)
        if (h->cables.v[c].from.equipment == equipment || h->cables.v[c].to.equipment == equipment)
            return true;
    return false;
}

/* What stands in a cabinet that is made for outdoors is out of the weather. */
static bool is_sheltered(const struct house *h, uint32_t equipment)
{
    uint32_t outer = h->equipment.v[equipment].inside.i;
    for (uint32_t steps = 0; outer != NO_REF && steps < h->equipment.n; steps++) {
        const uint32_t part = h->equipment.v[outer].part.i;
        if (part != NO_REF && h->parts.list.v[part].outdoors)
            return true;
        outer = h->equipment.v[outer].inside.i;
    }
    return false;
}

static void check_equipment(struct rules *r, uint32_t equipment, enum cable_rule rule)
{
    const struct equipment *e = &r->h->equipment.v[equipment];
    const struct part *part = e->part.i == NO_REF ? NULL : &r->h->parts.list.v[e->part.i];
    const struct str name = e->says.n ? e->says : e->id;
    struct cable_breach b = { .rule = rule,
                              .cable = NO_REF,
                              .run = NO_REF,
                              .equipment = equipment,
                              .is = RT_NOT_GIVEN,
                              .limit = RT_NOT_GIVEN,
                              .metres = RT_NOT_GIVEN };
    if (!part || !has_cable(r->h, equipment) || !equipment_is_outdoors(r->h, equipment))
        return;
    if (rule == RULE_WEATHER && !part->outdoors && !is_sheltered(r->h, equipment))
        breach(r, b,
               arena_printf(
                   r->a,
                   "%.*s stands outdoors, and %.*s is not made for that: take one that stands the weather, build it "
                   "into a cabinet for outdoors (`inside`), or put it indoors",
                   STR_ARG(name), STR_ARG(part->says)));
    if (rule == RULE_WARMTH && part->temperature_max_degc < CABLE_UNDER_ROOF_DEGC) {
        b.is = CABLE_UNDER_ROOF_DEGC;
        b.limit = part->temperature_max_degc;
        breach(r, b,
               arena_printf(
                   r->a,
                   "%.*s stands in the sun, where air gets %.0f degC warm; %.*s bears %.0f degC: take one that bears "
                   "more, or put it in the shade indoors",
                   STR_ARG(name), CABLE_UNDER_ROOF_DEGC, STR_ARG(part->says), part->temperature_max_degc));
    }
}

enum rt_code cable_rules_check(const struct run *run, const struct cable_plan *plan, const struct wire_links *links,
                               struct cable_rules *out, struct rt_problems *p)
{
    struct rules r = { .h = plan->h, .plan = plan, .links = links, .a = run->arena };
    *out = (struct cable_rules){ 0 };
    check_fill(&r, out);
    check_mains(&r, out);
    for (enum cable_rule rule = RULE_WEATHER; rule <= RULE_WARMTH; rule++) {
        for (uint32_t c = 0; c < r.h->cables.n; c++)
            (rule == RULE_WEATHER ? check_cable_weather : check_cable_warmth)(&r, c);
        for (uint32_t e = 0; e < r.h->equipment.n; e++)
            check_equipment(&r, e, rule);
    }
    out->breaches.v = r.breaches.v;
    out->breaches.n = r.breaches.n;
    return r.failed ? rt_fail_memory(p) : RT_OK;
}

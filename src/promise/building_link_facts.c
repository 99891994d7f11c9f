/* Copper, fibre or radio between buildings, as evidence of a promise of kind `cable`. */
#include <math.h>

#include "base/units.h"
#include "promise/cable_checks.h"
#include "wire/building_links.h"

static struct str floor_id(const struct house *h, uint32_t floor)
{
    return floor == NO_REF ? (struct str){ 0 } : h->floors.v[floor].id;
}

static void option_facts(struct arena *a, const struct building_option *o, struct fact *list)
{
    struct fact *f = fact_object(a, list, NULL);
    fact_text(a, f, "medium", link_medium_name(o->medium));
    fact_bool(a, f, "works", o->works);
    fact_bool(a, f, "discouraged", o->discouraged);
    fact_bool(a, f, "mains_needed", o->mains_needed);
    fact_num(a, f, "speed_mbps", o->speed_mbps, 0);
    fact_num(a, f, "price", o->price, 2);
    fact_str(a, f, "says", o->says);
}

static void link_facts(struct arena *a, const struct house *h, const struct building_link *l, struct fact *list)
{
    struct fact *f = fact_object(a, list, NULL);
    fact_str(a, f, "cable", l->cable == NO_REF ? (struct str){ 0 } : h->cables.v[l->cable].id);
    fact_str(a, f, "from", floor_id(h, l->near_floor));
    fact_str(a, f, "to", floor_id(h, l->floor));
    fact_text(a, f, "medium", l->chosen == MEDIUM_COUNT ? "" : link_medium_name(l->chosen));
    fact_bool(a, f, "unprotected", building_link_is_bare(l));
    fact_num(a, f, "length_m", l->length_m, 1);
    fact_num(a, f, "dig_m", l->dig_m, 1);
    fact_num(a, f, "air_m", l->air_m, 1);
    fact_str(a, f, "in_the_way", l->in_the_way);
    fact_num(a, f, "needed_mbps", l->needed_mbps, 0);
    struct fact *options = fact_array(a, f, "options");
    for (int i = 0; i < MEDIUM_COUNT; i++)
        option_facts(a, &l->options[i], options);
}

/* NULL: the parts file has none. */
static const struct part *cheapest_protector(const struct house *h)
{
    const struct part *best = NULL;
    for (uint32_t i = 0; i < h->parts.list.n; i++) {
        const struct part *part = &h->parts.list.v[i];
        if (part->kind == PART_PROTECTOR && (!best || part->price < best->price))
            best = part;
    }
    return best;
}

/* The first promise about cables? */
static bool is_first(const struct house *h, const struct promise *promise)
{
    uint32_t i = 0;
    while (i < h->promises.n && h->promises.v[i].kind != PROMISE_CABLE)
        i++;
    return i < h->promises.n && &h->promises.v[i] == promise;
}

static bool has_protector(const struct house *h)
{
    for (uint32_t i = 0; i < h->equipment.n; i++)
        if (h->equipment.v[i].part.i != NO_REF && h->parts.list.v[h->equipment.v[i].part.i].kind == PART_PROTECTOR)
            return true;
    return false;
}

/* Once a house, however many promises are about cables: at each bare cable's line, if nobody thought of protectors. */
static void warn_of_bare(const struct house *h, const struct wire_links *links, const struct building_links *found,
                         struct rt_problems *p)
{
    for (uint32_t i = 0; i < found->v.n && !has_protector(h); i++) {
        const struct building_link *l = &found->v.v[i];
        if (building_link_is_bare(l) && links->v[l->cable].is_known) /* one without a way is told already */
            rt_warn(p, RT_RANGE, h->cables.v[l->cable].at,
                    "put a surge protector at each end, bonded to that building's earth, or lay fibre",
                    "cable '%.*s' joins two buildings in copper: lightning and unequal earths come in along it",
                    STR_ARG(h->cables.v[l->cable].id));
    }
}

enum rt_code cable_promise_buildings(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                                     struct rt_problems *p)
{
    struct arena *a = ev->run->arena;
    const struct cable_plan *plan;
    const struct wire_links *links;
    struct building_links found;
    RT_TRY(evaluation_cables(ev, &plan, &links, p));
    RT_TRY(building_links_compare(ev->run, plan, links, &found, p));
    if (!ev->whole && is_first(ev->h, promise))
        warn_of_bare(ev->h, links, &found, p);
    struct fact *list = fact_array(a, out->evidence, "between_buildings");
    for (uint32_t i = 0; i < found.v.n; i++) {
        const struct building_link *l = &found.v.v[i];
        if (l->cable == NO_REF ? promise->devices.n > 0 : !cable_is_meant(ev->h, promise, l->cable))
            continue;
        link_facts(a, ev->h, l, list);
        if (!building_link_is_bare(l) || out->state == PROMISE_BROKEN)
            continue;
        const struct part *guard = cheapest_protector(ev->h);
        struct buf b = { .arena = a };
        buf_printf(&b, "%.*s; beware: cable %.*s joins two buildings in copper without surge protectors",
                   STR_ARG(out->reason), STR_ARG(ev->h->cables.v[l->cable].id));
        if (guard)
            buf_printf(&b, ": two of part `%.*s` help, %.2f %.*s", STR_ARG(guard->id), 2.0 * guard->price,
                       STR_ARG(ev->h->currency));
        out->reason = buf_done(&b);
        if (!out->reason.p)
            return rt_fail_memory(p);
    }
    return RT_OK;
}

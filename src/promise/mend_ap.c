/* One more access point: each part in hand on each free mount, the cheapest first. */
#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "promise/mend_int.h"

struct site {
    uint32_t mount, part;
    double least_price; /* of part and mount; the cable comes to it */
};

static bool is_free(const struct house *h, uint32_t mount)
{
    const struct mount *m = &h->mounts.v[mount];
    if (!(m->use & MOUNT_ACCESS_POINT) || (m->room.i != NO_REF && h->rooms.v[m->room.i].keep_free & FREE_EQUIPMENT))
        return false;
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (h->equipment.v[e].mount.i == mount)
            return false;
    return true;
}

static int by_price(const void *a, const void *b)
{
    const struct site *x = a, *y = b;
    if (x->least_price != y->least_price)
        return x->least_price > y->least_price ? 1 : -1;
    if (x->mount != y->mount)
        return x->mount > y->mount ? 1 : -1;
    return (x->part > y->part) - (x->part < y->part);
}

static struct site *sites_of(struct mender *m, uint32_t *n)
{
    const struct house *h = m->h;
    struct site *sites = ARENA_ARRAY(m->arena, struct site, (size_t)h->mounts.n * h->parts.list.n);
    *n = 0;
    for (uint32_t k = 0; sites && k < h->mounts.n; k++)
        for (uint32_t i = 0; is_free(h, k) && i < h->parts.list.n; i++) {
            const struct part *part = &h->parts.list.v[i];
            const struct mount *mount = &h->mounts.v[k];
            if (part->kind == PART_ACCESS_POINT && part->surface == mount->surface &&
                (part->outdoors || !mount->outdoors))
                sites[(*n)++] = (struct site){ k, i, part->price + given_or(mount->price, 0.0) };
        }
    if (sites)
        qsort(sites, *n, sizeof *sites, by_price);
    return sites;
}

/* ---- its cable ---- */

static bool has_free_port(const struct house *h, uint32_t e)
{
    const struct part *part = &h->parts.list.v[h->equipment.v[e].part.i];
    double n = 0.0;
    for (uint32_t i = 0; i < part->ports.n; i++)
        n += str_is(part->ports.v[i].medium, "copper") || !part->ports.v[i].medium.n ? part->ports.v[i].count : 0.0;
    for (uint32_t c = 0; c < h->cables.n; c++)
        n -= h->cables.v[c].from.equipment == e || h->cables.v[c].to.equipment == e;
    return n > 0.0;
}

static struct vec3 place_of(const struct house *h, uint32_t floor, struct vec3 at_m)
{
    return (struct vec3){ at_m.x, at_m.y, house_z_m(h, floor, at_m.z) };
}

/* The nearest switch or gateway that still works, is joined and has a port left; one that feeds others before one that does not.
 * NO_REF: none. */
static uint32_t source_for(const struct house *h, const struct damage *d, const struct mount *mount)
{
    const struct vec3 to = place_of(h, mount->floor.i, mount->at_m);
    uint32_t best = NO_REF;
    double best_m = INFINITY;
    bool best_feeds = false;
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        const struct equipment *s = &h->equipment.v[e];
        const struct part *part = s->part.i == NO_REF ? NULL : &h->parts.list.v[s->part.i];
        if (!part || (part->kind != PART_SWITCH && part->kind != PART_GATEWAY) || d->dead_thing[e] ||
            !tree_is_joined(&d->tree, e) || s->floor.i == NO_REF || !has_free_port(h, e))
            continue;
        const struct vec3 from = place_of(h, s->floor.i, s->at_m);
        const double far_m = fabs(from.x - to.x) + fabs(from.y - to.y) + fabs(from.z - to.z);
        const bool feeds = is_given(part->poe_budget_w);
        if (best == NO_REF || feeds > best_feeds || (feeds == best_feeds && far_m < best_m)) {
            best = e;
            best_m = far_m;
            best_feeds = feeds;
        }
    }
    return best;
}

/* ---- the house with it ---- */

static struct house *house_with(struct mender *m, const struct site *site, uint32_t source)
{
    const struct mount *mount = &m->h->mounts.v[site->mount];
    struct house *h = ARENA_NEW(m->arena, struct house);
    struct equipment *things = ARENA_ARRAY(m->arena, struct equipment, (size_t)m->h->equipment.n + 1);
    struct cable *cables = ARENA_ARRAY(m->arena, struct cable, (size_t)m->h->cables.n + 1);
    if (!h || !things || !cables)
        return NULL;
    *h = *m->h;
    for (uint32_t e = 0; e < h->equipment.n; e++)
        things[e] = h->equipment.v[e];
    for (uint32_t c = 0; c < h->cables.n; c++)
        cables[c] = h->cables.v[c];
    const struct ref none = { .i = NO_REF };
    things[h->equipment.n] = (struct equipment){ .id = STR("one_more"),
                                                 .part.i = site->part,
                                                 .mount.i = site->mount,
                                                 .floor = mount->floor,
                                                 .room = mount->room,
                                                 .at_m = mount->at_m,
                                                 .faces_deg = mount->faces_deg,
                                                 .tilt_deg = mount->tilt_deg,
                                                 .inside = none,
                                                 .unit = RT_NOT_GIVEN,
                                                 .segment = none,
                                                 .tune = true,
                                                 .phase = none };
    cables[h->cables.n] = (struct cable){
        .id = STR("one_more"),
        .from = { .what = things[source].id, .equipment = source, .device = NO_REF, .port = RT_NOT_GIVEN },
        .to = { .what = STR("one_more"), .equipment = h->equipment.n, .device = NO_REF, .port = RT_NOT_GIVEN },
        .part = none,
        .length_m = RT_NOT_GIVEN,
        .cord_from_m = 0.5,
        .cord_to_m = 0.5
    };
    h->equipment.v = things;
    h->equipment.n++;
    h->cables.v = cables;
    h->cables.n++;
    return h;
}

/* The field of the new radios, computed once for a part on a mount. */
static enum rt_code fields_of_new(struct mender *m, const struct site *site, const struct evaluation *with,
                                  enum estimate estimate, const struct fields *old, const struct fields **out,
                                  struct rt_problems *p)
{
    struct fields **kept =
        &m->fields[((size_t)site->mount * m->h->parts.list.n + site->part) * MEND_ESTIMATES + (size_t)estimate];
    if (!*kept) {
        struct fields *f = ARENA_NEW(m->arena, struct fields);
        const uint32_t n_old = old->radios.n;
        if (!f)
            return rt_fail_memory(p);
        f->grids.v = old->grids.v;
        f->grids.n = old->grids.n;
        RT_TRY(fields_compute(with->run, with->h, with->scene,
                              (ap_radio_list){ with->radios.v + n_old, with->radios.n - n_old }, old->options, f, p));
        *kept = f;
    }
    *out = *kept;
    return RT_OK;
}

/* Old radios' rasters and the new ones'. */
static enum rt_code join_fields(struct mender *m, const struct site *site, struct evaluation *with,
                                enum estimate estimate, struct rt_problems *p)
{
    const struct fields *old = NULL, *new = NULL;
    RT_TRY(evaluation_fields(m->whole, estimate, &old, p));
    RT_TRY(fields_of_new(m, site, with, estimate, old, &new, p));
    struct fields *f = ARENA_NEW(m->arena, struct fields);
    float **gain_db = ARENA_ARRAY(m->arena, float *, (size_t)old->grids.n * with->radios.n);
    if (!f || !gain_db)
        return rt_fail_memory(p);
    *f = *old;
    f->radios = with->radios;
    f->gain_db = gain_db;
    for (uint32_t g = 0; g < old->grids.n; g++)
        for (uint32_t r = 0; r < with->radios.n; r++)
            gain_db[(size_t)g * with->radios.n + r] =
                r < old->radios.n ? old->gain_db[(size_t)g * old->radios.n + r]
                                  : new->gain_db[(size_t)g * (with->radios.n - old->radios.n) + r - old->radios.n];
    with->fields[estimate] = f;
    return RT_OK;
}

/* Does it get its power over the new cable, if it takes it so? */
static enum rt_code is_fed(struct evaluation *with, bool *yes, struct rt_problems *p)
{
    const struct power_plan *power = NULL;
    RT_TRY(evaluation_power(with, &power, p));
    const uint32_t feed = power->feed_of_equipment[with->h->equipment.n - 1];
    *yes = feed == NO_REF || (power->feeds.v[feed].source != NO_REF && power->feeds.v[feed].class_granted >= 0);
    return RT_OK;
}

static enum rt_code try_site(struct mender *m, const struct site *site, const struct damage *d, struct rt_problems *p)
{
    const struct house *h = m->h;
    const uint32_t source = source_for(h, d, &h->mounts.v[site->mount]);
    struct evaluation *with = ARENA_NEW(m->arena, struct evaluation);
    bool fed = false;
    if (source == NO_REF)
        return RT_OK;
    struct house *more = house_with(m, site, source);
    if (!more || !with)
        return rt_fail_memory(p);
    mend_begin(m, more, with);
    RT_TRY(ap_radios_resolve(with->run, more, with->rules, &with->radios, p));
    RT_TRY(is_fed(with, &fed, p));
    if (!fed || !with->cables->cables[more->cables.n - 1].is_routed)
        return RT_OK;
    for (int e = 0; e < MEND_ESTIMATES; e++)
        with->fields[e] = NULL;
    RT_TRY(join_fields(m, site, with, with->options.trace.estimate, p));
    for (int e = ESTIMATE_CAREFUL; e <= ESTIMATE_HOPEFUL; e++) /* both ends, for the words about the other one */
        if (e != ESTIMATE_MIDDLE && !with->fields[e])
            RT_TRY(join_fields(m, site, with, (enum estimate)e, p));
    const char *says = arena_printf(m->arena, "one more access point, `%.*s` on mount %.*s, on a cable from %.*s",
                                    STR_ARG(h->parts.list.v[site->part].id), STR_ARG(h->mounts.v[site->mount].id),
                                    STR_ARG(h->equipment.v[source].id));
    return says ? mend_try(m, with, says, p) : rt_fail_memory(p);
}

enum rt_code mend_by_access_point(struct mender *m, const struct damage *d, struct rt_problems *p)
{
    uint32_t n = 0;
    const struct site *sites = sites_of(m, &n);
    if (!sites)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < n; i++) {
        if (run_is_cancelled(m->whole->run))
            return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped");
        run_report(m->whole->run, "what would mend it", (double)i / n);
        if (m->out->is_found && sites[i].least_price >= money_value(m->h->currency, m->out->price))
            break; /* the cable comes on top: none that follows is cheaper */
        RT_TRY(mend_quietly(m, try_site(m, &sites[i], d, &m->unheard), p));
    }
    return RT_OK;
}

/* Zones in words, their interfaces, and the devices behind an endpoint. */
#include "reach/addressing_int.h"

enum { INTERFACE_MAX = 15 }; /* IFNAMSIZ of the Linux kernel less the NUL (linux/if.h) */

static struct str words_or_id(struct str says, struct str id) { return says.n ? says : id; }

static uint32_t first_tunnel(const struct address_plan *plan) { return ZONE_SEGMENT + plan->h->segments.n; }

struct str zone_words(const struct address_plan *plan, uint32_t zone)
{
    const struct house *h = plan->h;
    if (zone == ZONE_INTERNET)
        return STR("the internet");
    if (zone == ZONE_GATEWAY)
        return STR("the gateway");
    if (zone < first_tunnel(plan))
        return words_or_id(h->segments.v[zone - ZONE_SEGMENT].says, h->segments.v[zone - ZONE_SEGMENT].id);
    if (zone < plan->n_zones) {
        const struct remote_access *r = &h->remote_access.v[zone - first_tunnel(plan)];
        return words_or_id(r->says, r->id);
    }
    return STR("");
}

struct str zone_id(const struct address_plan *plan, uint32_t zone)
{
    const struct house *h = plan->h;
    if (zone == ZONE_INTERNET)
        return STR("internet");
    if (zone == ZONE_GATEWAY)
        return STR("gateway");
    if (zone < first_tunnel(plan))
        return h->segments.v[zone - ZONE_SEGMENT].id;
    return zone < plan->n_zones ? h->remote_access.v[zone - first_tunnel(plan)].id : STR("");
}

struct str zone_interface(const struct address_plan *plan, uint32_t zone)
{
    return zone < plan->n_zones ? plan->interfaces[zone] : STR("");
}

/* ---- interfaces ---- */

/* As the file says; the first where it names several for one zone. */
static void given_interfaces(struct planner *pl)
{
    for (uint32_t i = 0; i < pl->h->interfaces.n; i++) {
        const struct interface_name *name = &pl->h->interfaces.v[i];
        struct str *out =
            &pl->plan->interfaces[name->segment.i == NO_REF ? ZONE_INTERNET : ZONE_SEGMENT + name->segment.i];
        if (out->n == 0)
            *out = name->id;
    }
}

static struct str usual_interface(struct planner *pl, uint32_t zone)
{
    const uint32_t tunnel = zone - first_tunnel(pl->plan);
    if (zone == ZONE_INTERNET)
        return STR("wan");
    if (zone < first_tunnel(pl->plan))
        return str_from(planner_text(pl, "lan.%u", pl->plan->segments[zone - ZONE_SEGMENT].vlan));
    return tunnel == 0 ? STR("away") : str_from(planner_text(pl, "away%u", (unsigned)tunnel + 1));
}

static void check_interface(struct planner *pl, uint32_t zone)
{
    const struct str *v = pl->plan->interfaces;
    for (uint32_t i = 0; i < pl->h->interfaces.n; i++) {
        const struct interface_name *name = &pl->h->interfaces.v[i];
        const uint32_t other = name->segment.i == NO_REF ? ZONE_INTERNET : ZONE_SEGMENT + name->segment.i;
        if (other != zone && str_eq(name->id, v[zone]))
            planner_fail(
                pl, RT_CONFLICT, name->at,
                planner_text(pl, "say under 'interfaces:' which one leads to '%.*s'", STR_ARG(zone_id(pl->plan, zone))),
                "interface '%.*s' leads to '%.*s', but it is also the name for that of '%.*s' as long as the file "
                "says none",
                STR_ARG(name->id), STR_ARG(zone_id(pl->plan, other)), STR_ARG(zone_id(pl->plan, zone)));
    }
}

void plan_interfaces(struct planner *pl)
{
    given_interfaces(pl);
    for (uint32_t zone = 0; zone < pl->plan->n_zones && pl->code == RT_OK; zone++) {
        if (zone == ZONE_GATEWAY || pl->plan->interfaces[zone].n)
            continue;
        pl->plan->interfaces[zone] = usual_interface(pl, zone);
        check_interface(pl, zone);
    }
}

span_list zone_gateway_addresses(struct arena *a, const struct address_plan *plan, uint32_t zone, enum family family,
                                 bool *failed)
{
    struct span at[3];
    uint32_t n = 0;
    axis_value all[3] = { 0 };
    const uint32_t segment = zone - ZONE_SEGMENT, n_segments = plan->h->segments.n;
    if (zone >= ZONE_SEGMENT && segment < n_segments) {
        const struct segment_plan *s = &plan->segments[segment];
        all[0] = family == FAMILY_IPV4 ? s->ipv4_gateway : s->ula_gateway;
        all[1] = family == FAMILY_IPV4 ? 0 : s->global_gateway;
        all[2] = family == FAMILY_IPV4 ? 0 : s->link_local_gateway;
    } else if (zone >= ZONE_SEGMENT && zone < plan->n_zones) {
        const struct tunnel_plan *t = &plan->tunnels[segment - n_segments];
        all[0] = family == FAMILY_IPV4 ? t->ipv4_gateway : t->ula_gateway;
    }
    for (size_t i = 0; i < RT_COUNT(all); i++)
        if (all[i])
            at[n++] = (struct span){ all[i], all[i] };
    return spans_tidy(a, at, n, failed);
}

/* ---- devices of an endpoint ---- */

struct chosen {
    const struct house *h;
    bool *device, *group; /* group: entered already */
};

static void choose_owned(struct chosen *c, uint32_t person)
{
    for (uint32_t i = 0; i < c->h->devices.n; i++)
        if (c->h->devices.v[i].owner.i == person)
            c->device[i] = true;
}

/* A member is a device, a group or a person, looked for in this order (the reader let none of the same id stand for two
 * in an endpoint; in a group the nearest meaning counts). */
static void choose_group(struct chosen *c, uint32_t group)
{
    const struct house *h = c->h;
    if (c->group[group])
        return;
    c->group[group] = true;
    for (uint32_t m = 0; m < h->groups.v[group].members.n; m++) {
        const struct str id = h->groups.v[group].members.v[m];
        const uint32_t device = house_find_device(h, id);
        uint32_t inner = 0, person = 0;
        while (inner < h->groups.n && !str_eq(h->groups.v[inner].id, id))
            inner++;
        while (person < h->people.n && !str_eq(h->people.v[person].id, id))
            person++;
        if (device != NO_REF)
            c->device[device] = true;
        else if (inner < h->groups.n)
            choose_group(c, inner);
        else if (person < h->people.n)
            choose_owned(c, person);
    }
}

static void choose_all(struct chosen *c, const struct endpoint *e)
{
    for (uint32_t i = 0; i < c->h->devices.n; i++)
        if (e->kind == END_ANYONE || (e->kind == END_SEGMENT && c->h->devices.v[i].segment.i == e->i))
            c->device[i] = true;
    if (e->kind == END_DEVICE && e->i < c->h->devices.n)
        c->device[e->i] = true;
    if (e->kind == END_PERSON)
        choose_owned(c, e->i);
    if (e->kind == END_GROUP && e->i < c->h->groups.n)
        choose_group(c, e->i);
}

index_list endpoint_devices(struct arena *a, const struct house *h, const struct endpoint *e, bool *failed)
{
    index_list out = { .v = ARENA_ARRAY(a, uint32_t, h->devices.n) };
    const struct arena_mark m = arena_mark(a);
    struct chosen c = { h, ARENA_ARRAY(a, bool, h->devices.n), ARENA_ARRAY(a, bool, h->groups.n) };
    if (!out.v || !c.device || !c.group) {
        *failed = true;
        return (index_list){ 0 };
    }
    choose_all(&c, e);
    for (uint32_t i = 0; i < h->devices.n; i++)
        if (c.device[i])
            out.v[out.n++] = i;
    arena_reset(a, m);
    return out;
}

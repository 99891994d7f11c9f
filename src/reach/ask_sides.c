/* Who of one side shares a segment with whom of the other: what they say to each other never meets the gateway's rules. */
#include "reach/ask_int.h"
#include "reach/policy_int.h"

/* One side: the devices it names, or whole zones with whoever is in them. */
struct side {
    bool is_whole;      /* zones */
    index_list devices; /* else */
    bool *zones;        /* that it lies in; of a segment without the tunnels into it */
};

static struct side side_of(struct arena *a, const struct address_plan *plan, const struct endpoint *e, bool *failed)
{
    struct side s = { .is_whole = true, .zones = ARENA_ARRAY(a, bool, plan->n_zones) };
    if (!s.zones) {
        *failed = true;
        return s;
    }
    if (e->kind == END_SEGMENT) {
        s.zones[zone_of_segment(e->i)] = true;
    } else if (e->kind == END_ANYONE) {
        for (uint32_t z = 0; z < plan->n_zones; z++)
            s.zones[z] = true;
    } else if (e->kind == END_INTERNET || e->kind == END_NAME) {
        s.zones[ZONE_INTERNET] = true;
    } else if (e->kind == END_GATEWAY) {
        s.zones[ZONE_GATEWAY] = true;
    } else {
        s.is_whole = false;
        s.devices = endpoint_devices(a, plan->h, e, failed);
        for (uint32_t i = 0; i < s.devices.n; i++)
            if (plan->devices[s.devices.v[i]].zone != NO_REF)
                s.zones[plan->devices[s.devices.v[i]].zone] = true;
    }
    return s;
}

static bool has_tunnel(const struct house *h, const struct endpoint *e)
{
    for (uint32_t i = 0; i < h->remote_access.n && e->kind == END_SEGMENT; i++)
        if (h->remote_access.v[i].segment.i == e->i)
            return true;
    return false;
}

/* Devices of both sides, pair by pair, until one pair talks and one does not. */
static void find_pairs(struct arena *a, const struct layer2 *l2, const struct side *from, const struct side *to,
                       struct ask_sides *out, bool *failed)
{
    for (uint32_t i = 0; i < from->devices.n; i++)
        for (uint32_t k = 0; k < to->devices.n && !(out->apart && out->together); k++) {
            const uint32_t x = from->devices.v[i], y = to->devices.v[k];
            const uint32_t zone = l2->plan->devices[x].zone;
            struct str because = { 0 };
            if (x == y || zone == NO_REF || zone != l2->plan->devices[y].zone)
                continue;
            const bool isolated = layer2_talk(a, l2, x, y, &because, failed) == TALK_ISOLATED;
            if (!out->inside || (isolated && !out->apart))
                out->because = because;
            out->inside = true;
            out->apart = out->apart || isolated;
            out->together = out->together || !isolated;
        }
}

/* A whole segment on one side at least: strangers too may be in it, by cable or on any of its SSIDs. */
static void find_shared_zone(struct arena *a, const struct address_plan *plan, const struct side *from,
                             const struct side *to, struct ask_sides *out, bool *failed)
{
    uint32_t zone = 0;
    while (zone < plan->n_zones && !(zone >= ZONE_SEGMENT && from->zones[zone] && to->zones[zone]))
        zone++;
    if (zone == plan->n_zones)
        return;
    out->inside = out->together = true;
    const struct str id = zone_id(plan, zone);
    struct str isolated = { 0 };
    for (uint32_t i = 0; i < plan->h->ssids.n; i++)
        if (plan->h->ssids.v[i].isolate && zone_of_segment(plan->h->ssids.v[i].segment.i) == zone)
            isolated = plan->h->ssids.v[i].name.n ? plan->h->ssids.v[i].name : plan->h->ssids.v[i].id;
    const char *text =
        isolated.n
            ? arena_printf(a,
                           "both are in %.*s: the gateway's rules never see it; the client isolation of SSID '%.*s' "
                           "keeps apart those who are on it",
                           STR_ARG(id), STR_ARG(isolated))
            : arena_printf(a, "both are in %.*s: the gateway's rules never see it", STR_ARG(id));
    *failed = *failed || !text;
    out->because = str_from(text ? text : "");
}

enum rt_code ask_sides_find(struct arena *a, const struct layer2 *l2, const struct asked *q, struct ask_sides *out,
                            struct rt_problems *p)
{
    const struct address_plan *plan = l2->plan;
    bool failed = false;
    *out = (struct ask_sides){ 0 };
    const struct side from = side_of(a, plan, &q->from, &failed), to = side_of(a, plan, &q->to, &failed);
    if (failed)
        return rt_fail_memory(p);
    for (uint32_t x = 0; x < plan->n_zones; x++)
        for (uint32_t y = 0; y < plan->n_zones; y++)
            out->by_rules = out->by_rules || (x != y && from.zones[x] && to.zones[y]);
    if (from.is_whole || to.is_whole)
        find_shared_zone(a, plan, &from, &to, out, &failed);
    else
        find_pairs(a, l2, &from, &to, out, &failed);
    out->by_tunnel = out->inside && (has_tunnel(plan->h, &q->from) || has_tunnel(plan->h, &q->to));
    return failed ? rt_fail_memory(p) : RT_OK;
}

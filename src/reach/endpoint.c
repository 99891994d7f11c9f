/* Endpoints as packets: who sends, who receives.
 *
 * A device sends from its segment with its MAC address, which it changes less easily than its addresses; it receives at the
 * addresses that are reserved for it.  A person is their devices, and their own end of a tunnel. */
#include "reach/policy_int.h"

uint32_t policy_n_zones(const struct house *h) { return ZONE_SEGMENT + h->segments.n + h->remote_access.n; }

span_list zones_spans(struct arena *a, const bool *zones, uint32_t n, bool *failed)
{
    struct span *v = ARENA_ARRAY(a, struct span, n);
    uint32_t k = 0;
    if (!v) {
        *failed = true;
        return (span_list){ 0 };
    }
    for (uint32_t z = 0; z < n; z++)
        if (zones[z])
            v[k++] = (struct span){ z, z };
    return spans_tidy(a, v, k, failed);
}

/* ---- gathering ---- */

enum { GROUPS_DEEP_MAX = 64 };

static void gather_people(const struct house *h, const struct group *g, bool *people, unsigned depth)
{
    for (uint32_t m = 0; m < g->members.n && depth < GROUPS_DEEP_MAX; m++) {
        for (uint32_t i = 0; i < h->people.n; i++)
            people[i] = people[i] || str_eq(h->people.v[i].id, g->members.v[m]);
        for (uint32_t i = 0; i < h->groups.n; i++)
            if (str_eq(h->groups.v[i].id, g->members.v[m]))
                gather_people(h, &h->groups.v[i], people, depth + 1);
    }
}

static void gather_segment(const struct house *h, uint32_t segment, bool *zones)
{
    zones[zone_of_segment(segment)] = true;
    for (uint32_t i = 0; i < h->remote_access.n; i++)
        if (h->remote_access.v[i].segment.i == segment)
            zones[zone_of_tunnel(h, i)] = true;
}

static void gather_devices(struct arena *a, const struct house *h, const struct endpoint *e, bool *devices,
                           bool *failed)
{
    const index_list list = endpoint_devices(a, h, e, failed);
    for (uint32_t i = 0; i < list.n; i++)
        devices[list.v[i]] = true;
}

static void gather_one(struct arena *a, const struct house *h, const struct endpoint *e, struct ends *out, bool *failed)
{
    switch (e->kind) {
    case END_NONE:
        break;
    case END_ANYONE:
        for (uint32_t z = 0; z < policy_n_zones(h); z++)
            out->zones[z] = true;
        break;
    case END_INTERNET:
        out->zones[ZONE_INTERNET] = true;
        break;
    case END_GATEWAY:
        out->zones[ZONE_GATEWAY] = true;
        break;
    case END_SEGMENT:
        gather_segment(h, e->i, out->zones);
        break;
    case END_PERSON:
        out->people[e->i] = true;
        gather_devices(a, h, e, out->devices, failed);
        break;
    case END_GROUP:
        gather_people(h, &h->groups.v[e->i], out->people, 0);
        gather_devices(a, h, e, out->devices, failed);
        break;
    case END_DEVICE:
        gather_devices(a, h, e, out->devices, failed);
        break;
    case END_NAME:
        out->names.v[out->names.n++] = e->name;
        break;
    }
}

void ends_gather(struct arena *a, const struct house *h, const struct endpoint *v, uint32_t n, struct ends *out,
                 bool *failed)
{
    *out = (struct ends){ .zones = ARENA_ARRAY(a, bool, policy_n_zones(h)),
                          .devices = ARENA_ARRAY(a, bool, h->devices.n),
                          .people = ARENA_ARRAY(a, bool, h->people.n),
                          .names.v = ARENA_ARRAY(a, struct str, n) };
    if (!out->zones || !out->devices || !out->people || !out->names.v) {
        *failed = true;
        return;
    }
    for (uint32_t i = 0; i < n && !*failed; i++)
        gather_one(a, h, &v[i], out, failed);
    if (out->zones[ZONE_INTERNET])
        out->names.n = 0;
}

/* ---- parts ---- */

struct maker {
    struct arena *a;
    const struct house *h;
    const struct address_plan *plan;
    piece_vec parts;
    struct piece nowhere; /* written to once memory is out */
    bool *failed;
};

static struct piece *add_part(struct maker *m, unsigned families)
{
    return piece_add(m->a, &m->parts, families, &m->nowhere, m->failed);
}

static void add_zones(struct maker *m, const struct ends *e, uint32_t axis)
{
    const span_list zones = zones_spans(m->a, e->zones, policy_n_zones(m->h), m->failed);
    if (zones.n)
        match_narrow(m->a, &add_part(m, BOTH_FAMILIES)->match, axis, zones, m->failed);
}

/* Adds a part of one zone whose `axis` holds these values; none when there are none. */
static void add_values(struct maker *m, unsigned families, uint32_t zone_axis, uint32_t zone, uint32_t axis,
                       const struct span *v, uint32_t n)
{
    if (n == 0)
        return;
    struct piece *p = add_part(m, families);
    match_narrow_to(m->a, &p->match, zone_axis, zone, zone, m->failed);
    match_narrow(m->a, &p->match, axis, spans_tidy(m->a, v, n, m->failed), m->failed);
}

static void put(struct span *v, uint32_t *n, axis_value value)
{
    if (value)
        v[(*n)++] = (struct span){ value, value };
}

static void add_tunnel_people(struct maker *m, const struct ends *e, uint32_t zone_axis, uint32_t axis)
{
    for (uint32_t t = 0; t < m->h->remote_access.n; t++) {
        const struct tunnel_plan *tunnel = &m->plan->tunnels[t];
        struct span *v4 = ARENA_ARRAY(m->a, struct span, tunnel->peers.n),
                    *v6 = ARENA_ARRAY(m->a, struct span, tunnel->peers.n);
        uint32_t n4 = 0, n6 = 0;
        if (!v4 || !v6) {
            *m->failed = true;
            return;
        }
        if (e->zones[tunnel->zone])
            continue;
        for (uint32_t i = 0; i < tunnel->peers.n; i++) {
            if (!e->people[tunnel->peers.v[i].person])
                continue;
            put(v4, &n4, tunnel->peers.v[i].ipv4);
            put(v6, &n6, tunnel->peers.v[i].ula);
        }
        add_values(m, IPV4, zone_axis, tunnel->zone, axis, v4, n4);
        add_values(m, IPV6, zone_axis, tunnel->zone, axis, v6, n6);
    }
}

/* What is to be gathered of each device of a zone. */
static void device_macs(const struct device_plan *d, struct span *v, uint32_t *n) { put(v, n, d->mac); }
static void device_ipv4(const struct device_plan *d, struct span *v, uint32_t *n) { put(v, n, d->ipv4); }
static void device_ipv6(const struct device_plan *d, struct span *v, uint32_t *n)
{
    put(v, n, d->ula);
    put(v, n, d->global);
}

static void add_devices(struct maker *m, const struct ends *e, unsigned families, uint32_t zone_axis, uint32_t axis,
                        void (*values)(const struct device_plan *d, struct span *v, uint32_t *n))
{
    struct span *v = ARENA_ARRAY(m->a, struct span, (size_t)m->h->devices.n * 2);
    if (!v) {
        *m->failed = true;
        return;
    }
    for (uint32_t z = ZONE_SEGMENT; z < ZONE_SEGMENT + m->h->segments.n; z++) {
        uint32_t n = 0;
        for (uint32_t i = 0; i < m->h->devices.n && !e->zones[z]; i++)
            if (e->devices[i] && m->plan->devices[i].zone == z)
                values(&m->plan->devices[i], v, &n);
        add_values(m, families, zone_axis, z, axis, v, n);
    }
}

piece_list ends_senders(struct arena *a, const struct house *h, const struct address_plan *plan, const struct ends *e,
                        bool *failed)
{
    struct maker m = { .a = a, .h = h, .plan = plan, .failed = failed };
    add_zones(&m, e, AXIS_FROM);
    add_devices(&m, e, BOTH_FAMILIES, AXIS_FROM, AXIS_SOURCE_MAC, device_macs);
    add_tunnel_people(&m, e, AXIS_FROM, AXIS_SOURCE);
    return (piece_list){ m.parts.v, m.parts.n };
}

piece_list ends_receivers(struct arena *a, const struct house *h, const struct address_plan *plan, const struct ends *e,
                          bool *failed)
{
    struct maker m = { .a = a, .h = h, .plan = plan, .failed = failed };
    add_zones(&m, e, AXIS_TO);
    add_devices(&m, e, IPV4, AXIS_TO, AXIS_DESTINATION, device_ipv4);
    add_devices(&m, e, IPV6, AXIS_TO, AXIS_DESTINATION, device_ipv6);
    add_tunnel_people(&m, e, AXIS_TO, AXIS_DESTINATION);
    return (piece_list){ m.parts.v, m.parts.n };
}

/* ---- questions ---- */

static match_list of_family(struct arena *a, piece_list parts, enum family family, bool *failed)
{
    match_list out = { ARENA_ARRAY(a, struct match, parts.n), 0 };
    if (!out.v) {
        *failed = true;
        return out;
    }
    for (uint32_t i = 0; i < parts.n; i++)
        if (parts.v[i].families & (1U << family))
            out.v[out.n++] = parts.v[i].match;
    return out;
}

/* A name that no statement speaks of is not told from the rest of the internet. */
static void add_name(struct maker *m, const struct policy *policy, const struct endpoint *e, uint32_t zone_axis)
{
    struct piece *p = add_part(m, BOTH_FAMILIES);
    match_narrow_to(m->a, &p->match, zone_axis, ZONE_INTERNET, ZONE_INTERNET, m->failed);
    for (uint32_t k = 0; k < policy->names.n; k++)
        if (str_eq(policy->names.v[k].name, e->name))
            match_narrow_to(m->a, &p->match, policy->names.v[k].axis, 1, 1, m->failed);
}

match_list endpoint_sends(struct arena *a, const struct policy *policy, const struct endpoint *e, enum family family,
                          bool *failed)
{
    struct ends ends;
    ends_gather(a, policy->h, e, 1, &ends, failed);
    if (*failed)
        return (match_list){ 0 };
    if (e->kind == END_NAME) {
        struct maker m = { .a = a, .h = policy->h, .plan = policy->plan, .failed = failed };
        add_name(&m, policy, e, AXIS_FROM);
        return of_family(a, (piece_list){ m.parts.v, m.parts.n }, family, failed);
    }
    return of_family(a, ends_senders(a, policy->h, policy->plan, &ends, failed), family, failed);
}

static uint32_t mark_of_device(const struct policy *policy, uint32_t device)
{
    for (uint32_t i = 0; i < policy->marks.n; i++)
        for (uint32_t k = 0; k < policy->marks.v[i].devices.n; k++)
            if (policy->marks.v[i].devices.v[k] == device)
                return policy->marks.v[i].value;
    return 0;
}

/* Answers to a device are told by the mark of the conversation it began.  Without a mark: at its reserved address by IPv4,
 * anywhere in its segment by IPv6. */
static void add_answers(struct maker *m, const struct policy *policy, const struct ends *e)
{
    for (uint32_t i = 0; i < m->h->devices.n; i++) {
        const struct device_plan *d = &m->plan->devices[i];
        if (!e->devices[i] || d->zone == NO_REF)
            continue;
        const uint32_t mark = mark_of_device(policy, i);
        for (enum family f = 0; f < FAMILY_COUNT; f++) {
            if (f == FAMILY_IPV4 && !mark && !d->ipv4)
                continue;
            struct match *match = &add_part(m, 1U << f)->match;
            match_narrow_to(m->a, match, AXIS_TO, d->zone, d->zone, m->failed);
            match_narrow_to(m->a, match, AXIS_STATE, STATE_REPLY, STATE_REPLY, m->failed);
            match_narrow_to(m->a, match, AXIS_MARK, mark, mark, m->failed);
            if (f == FAMILY_IPV4 && !mark)
                match_narrow_to(m->a, match, AXIS_DESTINATION, d->ipv4, d->ipv4, m->failed);
        }
    }
}

match_list endpoint_receives(struct arena *a, const struct policy *policy, const struct endpoint *e, enum family family,
                             bool *failed)
{
    struct ends ends;
    ends_gather(a, policy->h, e, 1, &ends, failed);
    if (*failed)
        return (match_list){ 0 };
    struct maker m = { .a = a, .h = policy->h, .plan = policy->plan, .failed = failed };
    if (e->kind == END_NAME) {
        add_name(&m, policy, e, AXIS_TO);
        return of_family(a, (piece_list){ m.parts.v, m.parts.n }, family, failed);
    }
    const piece_list asked = ends_receivers(a, policy->h, policy->plan, &ends, failed);
    for (uint32_t i = 0; i < asked.n; i++) {
        struct piece *p = add_part(&m, asked.v[i].families);
        p->match = asked.v[i].match;
        const span_list *to = match_on(&p->match, AXIS_TO);
        /* a tunnel's addresses are bound to its keys: what arrives at them is for that person, answers too */
        if (match_on(&p->match, AXIS_DESTINATION) && to && is_segment_zone(policy->h, (uint32_t)to->v[0].lo))
            match_narrow_to(a, &p->match, AXIS_STATE, STATE_NEW, STATE_ESTABLISHED, failed);
    }
    add_answers(&m, policy, &ends);
    return of_family(a, (piece_list){ m.parts.v, m.parts.n }, family, failed);
}

/* Port openings: the internet may start a conversation with a device.  By IPv4 the gateway translates its own address into the
 * device's, port by port; by IPv6 the device's own address is let through. */
#include "reach/policy_int.h"

struct job {
    struct compiler *c;
    uint32_t i;
    const struct port_opening *o;
    const struct device_plan *device;
    struct str says;
    span_list from[FAMILY_COUNT]; /* callers; empty: none of the family */
};

/* ---- callers ---- */

static void read_callers(struct job *j)
{
    struct compiler *c = j->c;
    for (enum family f = 0; f < FAMILY_COUNT; f++)
        if (j->o->from.n == 0)
            policy_add_span(c, &j->from[f], 0, axis_max(AXIS_SOURCE, f));
    for (uint32_t k = 0; k < j->o->from.n; k++) {
        struct prefix p;
        if (!prefix_read(j->o->from.v[k], &p))
            continue; /* the reader has refused it */
        policy_add_span(c, &j->from[p.family], prefix_span(p).lo, prefix_span(p).hi);
    }
}

/* ---- translations ---- */

/* The translation, or the tunnel, that wants one of these ports already: its name and place. */
static bool is_taken(const struct compiler *c, const struct translation *t, struct str *by, struct rt_place *at)
{
    for (uint32_t k = 0; k < c->translations.n; k++) {
        const struct translation *other = &c->translations.v[k];
        if (other->protocol != t->protocol || other->port_from > t->port_to || other->port_to < t->port_from ||
            other->opening == t->opening)
            continue;
        *by = c->h->port_openings.v[other->opening].id;
        *at = c->h->port_openings.v[other->opening].at;
        return true;
    }
    for (uint32_t k = 0; k < c->h->remote_access.n; k++) {
        const unsigned port = c->plan->tunnels[k].port;
        if (t->protocol != IP_UDP || port < t->port_from || port > t->port_to)
            continue;
        *by = c->h->remote_access.v[k].id;
        *at = c->h->remote_access.v[k].at;
        return true;
    }
    return false;
}

static const char *port_words(struct compiler *c, const struct translation *t)
{
    const char *text = t->port_from == t->port_to
                           ? arena_printf(c->a, "port %u", (unsigned)t->port_from)
                           : arena_printf(c->a, "ports %u-%u", (unsigned)t->port_from, (unsigned)t->port_to);
    c->failed = c->failed || !text;
    return text ? text : "";
}

static void translate(struct job *j, enum ip_protocol protocol, struct span ports)
{
    struct compiler *c = j->c;
    const struct translation t = { .opening = j->i,
                                   .protocol = protocol,
                                   .port_from = (uint16_t)ports.lo,
                                   .port_to = (uint16_t)ports.hi,
                                   .to_ipv4 = j->device->ipv4 };
    struct str by;
    struct rt_place at;
    if (is_taken(c, &t, &by, &at))
        policy_fail(c, RT_CONFLICT, j->o->at, "the gateway has one address by IPv4: give one of them another service",
                    "opening '%.*s': %s %s at the gateway: '%.*s' (line %u) wants it too", STR_ARG(j->o->id),
                    protocol == IP_TCP ? "TCP" : "UDP", port_words(c, &t), STR_ARG(by), (unsigned)at.line);
    else if (!VEC_PUSH(c->a, &c->translations, t))
        c->failed = true;
}

static void translate_part(struct job *j, const struct match *m)
{
    const span_list *protocols = match_on(m, AXIS_PROTOCOL), *ports = match_on(m, AXIS_DESTINATION_PORT);
    static const enum ip_protocol BOTH[] = { IP_TCP, IP_UDP };
    for (size_t p = 0; p < RT_COUNT(BOTH); p++)
        for (uint32_t k = 0; ports && k < ports->n && spans_hold(*protocols, BOTH[p]); k++)
            translate(j, BOTH[p], ports->v[k]);
}

/* ---- one opening ---- */

static void open_part(struct job *j, enum family family, axis_value address, const struct piece *part)
{
    struct compiler *c = j->c;
    if (!(part->families & (1U << family)))
        return;
    struct rule *r = policy_rule(c, CHAIN_THROUGH, 1U << family, ACTION_ACCEPT, "%.*s", STR_ARG(j->says));
    policy_from(r, ORIGIN_PORT_OPENING, j->i, j->o->at);
    policy_is(c, &r->match, AXIS_FROM, ZONE_INTERNET);
    policy_is(c, &r->match, AXIS_TO, j->device->zone);
    if (j->o->from.n)
        policy_in(c, &r->match, AXIS_SOURCE, j->from[family]);
    policy_is(c, &r->match, AXIS_DESTINATION, address);
    for (uint32_t k = 0; k < part->match.terms.n; k++)
        policy_in(c, &r->match, part->match.terms.v[k].axis, part->match.terms.v[k].in);
}

static bool wants_port(const struct piece *part)
{
    const span_list *protocols = match_on(&part->match, AXIS_PROTOCOL);
    const bool has_ports = protocols && (spans_hold(*protocols, IP_TCP) || spans_hold(*protocols, IP_UDP));
    return has_ports && !match_on(&part->match, AXIS_DESTINATION_PORT);
}

static bool is_right(struct job *j, piece_list parts)
{
    struct compiler *c = j->c;
    if (service_is_local(c->h, j->o->service)) {
        policy_fail(c, RT_RANGE, j->o->at, "name the service that is to be used, not how it is found",
                    "opening '%.*s': '%.*s' cannot leave its segment", STR_ARG(j->o->id), STR_ARG(j->o->service));
        return false;
    }
    for (uint32_t k = 0; k < parts.n; k++)
        if (wants_port(&parts.v[k])) {
            policy_fail(c, RT_RANGE, j->o->at, "give the service its ports, such as ports: [\"8443\"]",
                        "opening '%.*s': service '%.*s' has no port, and would open all of them", STR_ARG(j->o->id),
                        STR_ARG(j->o->service));
            return false;
        }
    return true;
}

static void open_ipv4(struct job *j, piece_list parts)
{
    struct compiler *c = j->c;
    for (uint32_t k = 0; k < parts.n; k++) {
        if (match_on(&parts.v[k].match, AXIS_DESTINATION_PORT)) {
            open_part(j, FAMILY_IPV4, j->device->ipv4, &parts.v[k]);
            translate_part(j, &parts.v[k].match);
        } else if (parts.v[k].families & IPV4) {
            policy_note(c, j->o->at, "opening '%.*s': by IPv4 only ports can be opened, and '%.*s' has none",
                        STR_ARG(j->o->id), STR_ARG(j->o->service));
        }
    }
}

static void open_one(struct compiler *c, uint32_t i)
{
    const struct port_opening *o = &c->h->port_openings.v[i];
    struct job j = { .c = c, .i = i, .o = o, .device = &c->plan->devices[o->device.i] };
    j.says = o->says.n ? o->says : o->id;
    struct str service = o->service;
    const str_list one = { &service, 1 };
    const piece_list parts = services_pieces(c->a, c->h, &one, true, &c->failed);
    read_callers(&j);
    if (c->failed || !is_right(&j, parts))
        return;
    const bool by_ipv4 = !c->plan->no_ipv4 && j.device->ipv4 && j.from[FAMILY_IPV4].n;
    const bool by_ipv6 = j.device->global && j.from[FAMILY_IPV6].n;
    if (by_ipv4)
        open_ipv4(&j, parts);
    for (uint32_t k = 0; k < parts.n && by_ipv6; k++)
        open_part(&j, FAMILY_IPV6, j.device->global, &parts.v[k]);
    if (!by_ipv4 && !by_ipv6)
        policy_note(c, o->at, "opening '%.*s' opens nothing: the line gives the house no address to be called at",
                    STR_ARG(o->id));
}

void policy_openings(struct compiler *c)
{
    for (uint32_t i = 0; i < c->h->port_openings.n && !c->failed; i++)
        open_one(c, i);
}

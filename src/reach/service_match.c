/* Services as packets: the flows of data/services.h and of the house's own, merged into few matches.
 *
 * Flows of TCP and UDP without fixed source ports are joined by protocol, and TCP with UDP when they want the same ports; ICMP
 * types are joined per family; protocols without ports are joined. */
#include "reach/policy_int.h"

#include <stdlib.h>

enum { PORT_MAX = UINT16_MAX, TYPE_MAX = UINT8_MAX };

/* A flow, of either table. */
struct flow {
    enum ip_protocol protocol;
    struct span ports, source_ports; /* or ICMP types in ports; whole: any */
};

struct gathered {
    struct arena *a;
    VEC(struct flow) flows;
    bool *failed;
};

static const struct span ANY_PORT = { 0, PORT_MAX };

static bool is_any(struct span s) { return s.lo == 0 && s.hi == PORT_MAX; }

static void add_flow(struct gathered *g, struct flow f)
{
    if (!VEC_PUSH(g->a, &g->flows, f))
        *g->failed = true;
}

/* "443" or "5000-5010"; the reader has checked it. */
static struct span read_ports(struct str text)
{
    unsigned value[2] = { 0, 0 }, k = 0;
    for (size_t i = 0; i < text.n; i++) {
        if (text.p[i] == '-')
            k = 1;
        else
            value[k] = value[k] * 10 + (unsigned)(text.p[i] - '0');
    }
    return (struct span){ value[0], k ? value[1] : value[0] };
}

static enum ip_protocol read_protocol(struct str word)
{
    static const enum ip_protocol ALL[] = { IP_TCP, IP_UDP, IP_ICMP, IP_ICMPV6, IP_GRE, IP_ESP };
    for (size_t i = 0; i < RT_COUNT(ALL); i++)
        if (str_is(word, ip_protocol_name(ALL[i])))
            return ALL[i];
    return IP_TCP;
}

static const struct own_service *own_service(const struct house *h, struct str name)
{
    for (uint32_t i = 0; i < h->services.n; i++)
        if (str_eq(h->services.v[i].id, name))
            return &h->services.v[i];
    return NULL;
}

static void gather_own(struct gathered *g, const struct own_service *s)
{
    const enum ip_protocol protocol = read_protocol(s->protocol);
    for (uint32_t i = 0; i < s->ports.n; i++)
        add_flow(g, (struct flow){ protocol, read_ports(s->ports.v[i]), ANY_PORT });
    if (s->ports.n == 0)
        add_flow(g, (struct flow){ protocol, ANY_PORT, ANY_PORT });
}

/* The house's own service comes before a built-in one of the same name. */
static void gather(struct gathered *g, const struct house *h, struct str name, bool local)
{
    const struct own_service *own = own_service(h, name);
    if (own) {
        gather_own(g, own);
        return;
    }
    uint32_t n = 0;
    const struct service_flow *f = service_find(name, &n);
    for (uint32_t i = 0; i < n; i++) {
        if (f[i].is_local && !local)
            continue;
        const bool has_ports = f[i].from || f[i].to, has_sources = f[i].source_from || f[i].source_to;
        add_flow(g, (struct flow){ f[i].protocol, has_ports ? (struct span){ f[i].from, f[i].to } : ANY_PORT,
                                   has_sources ? (struct span){ f[i].source_from, f[i].source_to } : ANY_PORT });
    }
}

bool service_is_local(const struct house *h, struct str service)
{
    uint32_t n = 0;
    const struct service_flow *f = own_service(h, service) ? NULL : service_find(service, &n);
    for (uint32_t i = 0; i < n; i++)
        if (f[i].is_local)
            return true;
    return false;
}

/* ---- merging ---- */

struct merger {
    struct arena *a;
    piece_vec parts;
    struct piece nowhere; /* written to once memory is out */
    bool *failed;
};

static struct piece *new_part(struct merger *m, unsigned families)
{
    return piece_add(m->a, &m->parts, families, &m->nowhere, m->failed);
}

static void narrow_unless_any(struct merger *m, struct piece *p, uint32_t axis, span_list in, axis_value max)
{
    if (in.n == 1 && in.v[0].lo == 0 && in.v[0].hi >= max)
        return;
    match_narrow(m->a, &p->match, axis, in, m->failed);
}

/* Ports (types) of all flows of a protocol with these source ports. */
static span_list ports_of(struct merger *m, const struct gathered *g, enum ip_protocol protocol, struct span sources)
{
    struct span *v = ARENA_ARRAY(m->a, struct span, g->flows.n);
    uint32_t n = 0;
    if (!v) {
        *m->failed = true;
        return (span_list){ 0 };
    }
    for (uint32_t i = 0; i < g->flows.n; i++) {
        const struct flow *f = &g->flows.v[i];
        if (f->protocol == protocol && f->source_ports.lo == sources.lo && f->source_ports.hi == sources.hi)
            v[n++] = f->ports;
    }
    return spans_tidy(m->a, v, n, m->failed);
}

static void add_ports(struct merger *m, enum ip_protocol protocol, span_list ports, struct span sources)
{
    if (ports.n == 0)
        return;
    struct piece *p = new_part(m, BOTH_FAMILIES);
    match_narrow_to(m->a, &p->match, AXIS_PROTOCOL, protocol, protocol, m->failed);
    narrow_unless_any(m, p, AXIS_DESTINATION_PORT, ports, PORT_MAX);
    if (!is_any(sources))
        match_narrow_to(m->a, &p->match, AXIS_SOURCE_PORT, sources.lo, sources.hi, m->failed);
}

static void add_tcp_and_udp(struct merger *m, const struct gathered *g, struct span sources)
{
    const span_list tcp = ports_of(m, g, IP_TCP, sources), udp = ports_of(m, g, IP_UDP, sources);
    if (tcp.n == 0 || !spans_equal(tcp, udp)) {
        add_ports(m, IP_TCP, tcp, sources);
        add_ports(m, IP_UDP, udp, sources);
        return;
    }
    add_ports(m, IP_TCP, tcp, sources);
    struct piece *p = &m->parts.v[m->parts.n - 1];
    const struct span both[] = { { IP_TCP, IP_TCP }, { IP_UDP, IP_UDP } };
    struct term *protocol = NULL;
    for (uint32_t i = 0; i < p->match.terms.n; i++)
        if (p->match.terms.v[i].axis == AXIS_PROTOCOL)
            protocol = &p->match.terms.v[i];
    if (protocol)
        protocol->in = spans_tidy(m->a, both, 2, m->failed);
}

static void add_types(struct merger *m, const struct gathered *g, enum ip_protocol protocol, unsigned families)
{
    const span_list types = ports_of(m, g, protocol, ANY_PORT);
    if (types.n == 0)
        return;
    struct piece *p = new_part(m, families);
    match_narrow_to(m->a, &p->match, AXIS_PROTOCOL, protocol, protocol, m->failed);
    narrow_unless_any(m, p, AXIS_ICMP_TYPE, types, TYPE_MAX);
}

static void add_bare_protocols(struct merger *m, const struct gathered *g)
{
    static const enum ip_protocol BARE[] = { IP_IGMP, IP_GRE, IP_ESP };
    struct span v[RT_COUNT(BARE)];
    uint32_t n = 0;
    for (size_t k = 0; k < RT_COUNT(BARE); k++)
        if (ports_of(m, g, BARE[k], ANY_PORT).n)
            v[n++] = (struct span){ BARE[k], BARE[k] };
    if (n == 0)
        return;
    struct piece *p = new_part(m, BOTH_FAMILIES);
    match_narrow(m->a, &p->match, AXIS_PROTOCOL, spans_tidy(m->a, v, n, m->failed), m->failed);
}

/* One pass for each set of fixed source ports, in the order in which they come. */
static void add_fixed_sources(struct merger *m, const struct gathered *g)
{
    for (uint32_t i = 0; i < g->flows.n; i++) {
        const struct span s = g->flows.v[i].source_ports;
        bool is_first = !is_any(s);
        for (uint32_t k = 0; k < i && is_first; k++)
            is_first = g->flows.v[k].source_ports.lo != s.lo || g->flows.v[k].source_ports.hi != s.hi;
        if (is_first)
            add_tcp_and_udp(m, g, s);
    }
}

piece_list services_pieces(struct arena *a, const struct house *h, const str_list *services, bool local, bool *failed)
{
    struct merger m = { .a = a, .failed = failed };
    if (services->n == 0) {
        new_part(&m, BOTH_FAMILIES);
        return (piece_list){ m.parts.v, m.parts.n };
    }
    struct gathered g = { .a = a, .failed = failed };
    for (uint32_t i = 0; i < services->n; i++)
        gather(&g, h, services->v[i], local);
    if (g.flows.n) {
        add_tcp_and_udp(&m, &g, ANY_PORT);
        add_fixed_sources(&m, &g);
        add_types(&m, &g, IP_ICMP, IPV4);
        add_types(&m, &g, IP_ICMPV6, IPV6);
        add_bare_protocols(&m, &g);
    }
    return (piece_list){ m.parts.v, m.parts.n };
}

match_list service_asks(struct arena *a, const struct house *h, struct str service, enum family family, bool *failed)
{
    const str_list one = { &service, 1 };
    const piece_list parts = services_pieces(a, h, &one, true, failed);
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

/* The port table: what hangs behind each port, the VLANs that follow, and what is wrong with it. */
#include <string.h>

#include "base/units.h"
#include "reach/layer2_int.h"

uint64_t *needs_of(const struct layer2_maker *m, uint32_t node) { return m->needs + (size_t)node * m->n_words; }

bool port_carries(const struct l2_port *port, uint32_t segment)
{
    if (port->untagged == segment)
        return true;
    for (uint32_t i = 0; i < port->tagged.n; i++)
        if (port->tagged.v[i] == segment)
            return true;
    return false;
}

static uint32_t n_segments_in(const struct layer2_maker *m, const uint64_t *bits)
{
    uint32_t n = 0;
    for (uint32_t w = 0; w < m->n_words; w++)
        n += (uint32_t)__builtin_popcountll(bits[w]);
    return n;
}

static uint32_t first_segment(const struct layer2_maker *m, const uint64_t *bits)
{
    for (uint32_t s = 0; s < m->h->segments.n; s++)
        if (segments_hold(bits, s))
            return s;
    return NO_REF;
}

/* All of them but one, ascending. */
static index_list segments_without(struct layer2_maker *m, const uint64_t *bits, uint32_t but)
{
    index_list out = { .v = ARENA_ARRAY(m->arena, uint32_t, n_segments_in(m, bits)) };
    m->failed |= !out.v;
    for (uint32_t s = 0; out.v && s < m->h->segments.n; s++)
        if (segments_hold(bits, s) && s != but)
            out.v[out.n++] = s;
    return out;
}

/* ---- the ports there are ---- */

static void list_ports(struct layer2_maker *m)
{
    const struct house *h = m->h;
    struct layer2 *l2 = m->l2;
    l2->first_port = ARENA_ARRAY(m->arena, uint32_t, (size_t)h->equipment.n + 1);
    if (!l2->first_port) {
        m->failed = true;
        return;
    }
    for (uint32_t e = 0; e < h->equipment.n; e++)
        l2->first_port[e + 1] = l2->first_port[e] + net_n_ports(&m->net, e);
    l2->ports.n = l2->first_port[h->equipment.n];
    l2->ports.v = ARENA_ARRAY(m->arena, struct l2_port, l2->ports.n);
    if (!l2->ports.v) {
        l2->ports.n = 0;
        m->failed = true;
        return;
    }
    for (uint32_t e = 0; e < h->equipment.n; e++)
        for (uint32_t i = l2->first_port[e]; i < l2->first_port[e + 1]; i++)
            l2->ports.v[i] = (struct l2_port){ .equipment = e,
                                               .number = i - l2->first_port[e] + 1,
                                               .group = part_port(net_part(&m->net, e), i - l2->first_port[e] + 1),
                                               .cable = NO_REF,
                                               .far_equipment = NO_REF,
                                               .far_device = NO_REF,
                                               .far_port = NO_REF,
                                               .untagged = NO_REF };
}

/* The port of a cable's end at a node; NO_REF: a device, or a port that is not there. */
static uint32_t port_at(const struct layer2_maker *m, uint32_t cable, uint32_t node)
{
    if (node == NO_REF || net_is_device(&m->net, node))
        return NO_REF;
    const unsigned number = pick_at(&m->net, m->picks, cable, node);
    const uint32_t first = m->l2->first_port[node];
    return number >= 1 && number <= m->l2->first_port[node + 1] - first ? first + number - 1 : NO_REF;
}

static void plug_cables(struct layer2_maker *m)
{
    for (uint32_t c = 0; c < m->h->cables.n; c++) {
        const struct cable *cable = &m->h->cables.v[c];
        const uint32_t nodes[2] = { net_node(m->h, &cable->from), net_node(m->h, &cable->to) };
        const bool chosen[2] = { m->picks[c].from_chosen, m->picks[c].to_chosen };
        for (int e = 0; e < 2; e++) {
            const uint32_t at = port_at(m, c, nodes[e]);
            if (at == NO_REF)
                continue;
            struct l2_port *port = &m->l2->ports.v[at];
            uint32_t last;
            const uint32_t far = net_far(&m->net, c, nodes[e], &last);
            port->cable = c;
            port->number_chosen = chosen[e];
            port->rests = cable->rests && m->net.is_ring[c];
            port->towards_gateway = m->net.parent_cable[nodes[e]] == c;
            if (far != NO_REF && net_is_device(&m->net, far))
                port->far_device = far - m->h->equipment.n;
            else if (far != NO_REF)
                port->far_equipment = far;
            port->far_port = port_at(m, last, far);
        }
    }
}

static const struct port_setting *setting_of(const struct layer2_maker *m, const struct l2_port *port)
{
    const struct equipment *e = &m->h->equipment.v[port->equipment];
    for (uint32_t i = 0; i < e->ports.n; i++)
        if (e->ports.v[i].port == (double)port->number)
            return &e->ports.v[i];
    return NULL;
}

/* ---- who needs what ---- */

static void need(struct layer2_maker *m, uint32_t node, uint32_t segment)
{
    if (segment != NO_REF)
        segments_add(needs_of(m, node), segment);
}

/* A port that is set by hand and leads to nothing that has a segment of its own (an outlet, a free port) asks for what it is set to. */
static void need_by_setting(struct layer2_maker *m, const struct l2_port *port)
{
    const struct port_setting *set = setting_of(m, port);
    const bool leads_on =
        port->far_device != NO_REF ||
        (port->far_equipment != NO_REF &&
         (net_bridges(&m->net, port->far_equipment) || m->h->equipment.v[port->far_equipment].segment.i != NO_REF));
    if (!set || leads_on || port->towards_gateway)
        return;
    need(m, port->equipment, set->untagged.i);
    for (uint32_t i = 0; i < set->tagged.n; i++)
        need(m, port->equipment, set->tagged.v[i].i);
}

/* All above a second way must carry what it will bring when it wakes. */
static void need_second_way(struct layer2_maker *m, uint32_t cable)
{
    const uint32_t lower = net_lower(&m->net, cable);
    const uint64_t *own = needs_of(m, lower);
    for (uint32_t at = net_other(&m->net, cable, lower); at != NO_REF; at = m->net.parent[at])
        for (uint32_t w = 0; w < m->n_words; w++)
            needs_of(m, at)[w] |= own[w];
}

static void gather_needs(struct layer2_maker *m)
{
    const struct house *h = m->h;
    const struct net *net = &m->net;
    for (uint32_t e = 0; e < h->equipment.n; e++)
        need(m, e, h->equipment.v[e].segment.i);
    for (uint32_t d = 0; d < h->devices.n; d++)
        if (h->devices.v[d].link == LINK_WIRED)
            need(m, h->equipment.n + d, h->devices.v[d].segment.i);
    for (uint32_t s = 0; s < h->ssids.n; s++)
        for (uint32_t i = 0; i < m->l2->ssids[s].cells.n; i++)
            need(m, m->l2->ssids[s].cells.v[i].equipment, h->ssids.v[s].segment.i);
    for (uint32_t i = 0; i < m->l2->ports.n; i++)
        need_by_setting(m, &m->l2->ports.v[i]);
    for (uint32_t i = net->n_order; i-- > 1;) {
        const uint32_t node = net->order[i];
        uint64_t *up = needs_of(m, net->parent[node]);
        const uint64_t *own = needs_of(m, node);
        for (uint32_t w = 0; w < m->n_words; w++)
            up[w] |= own[w];
    }
    for (uint32_t c = 0; c < h->cables.n; c++)
        if (h->cables.v[c].rests && net->is_ring[c])
            need_second_way(m, c);
}

/* ---- what each port carries ---- */

/* The node below a cable: the one whose way to the gateway it is, or a thing at its end that nothing hangs from. */
static uint32_t lower_end(const struct net *net, uint32_t cable, uint32_t node)
{
    const uint32_t other = net_other(net, cable, node);
    if (net->h->cables.v[cable].rests && net->is_ring[cable])
        return net_lower(net, cable);
    if (other != NO_REF && net->parent_cable[other] == cable)
        return other;
    if (net->parent_cable[node] == cable)
        return node;
    return other == NO_REF || net_bridges(net, other) || net_passes_on(net, other) ? NO_REF : other;
}

static void carry(struct layer2_maker *m, struct l2_port *port)
{
    const struct net *net = &m->net;
    const struct port_setting *set = setting_of(m, port);
    const uint32_t lower = port->cable == NO_REF ? NO_REF : lower_end(net, port->cable, port->equipment);
    if (set) {
        port->setting_given = true;
        port->untagged = set->untagged.i;
        port->tagged.v = ARENA_ARRAY(m->arena, uint32_t, set->tagged.n);
        m->failed |= !port->tagged.v;
        for (uint32_t s = 0; port->tagged.v && s < m->h->segments.n; s++) /* ascending */
            for (uint32_t i = 0; i < set->tagged.n; i++)
                if (set->tagged.v[i].i == s && (!port->tagged.n || port->tagged.v[port->tagged.n - 1] != s))
                    port->tagged.v[port->tagged.n++] = s;
    } else if (lower != NO_REF) {
        uint32_t last;
        const uint64_t *needs = needs_of(m, lower);
        const uint32_t end =
            net_passes_on(net, lower) ? net_far(net, port->cable, net_other(net, port->cable, lower), &last) : lower;
        const bool tells = end != NO_REF && net_tells_vlans(net, end);
        const uint32_t own = tells ? m->h->equipment.v[end].segment.i : first_segment(m, needs);
        port->untagged = own != NO_REF && segments_hold(needs, own) ? own : NO_REF;
        port->tagged = segments_without(m, needs, port->untagged);
    }
    const struct part *part = net_part(net, port->equipment);
    if (net_passes_on(net, port->equipment) || part->kind == PART_OUTLET)
        port->mode = PORT_THROUGH;
    else if (port->tagged.n)
        port->mode = PORT_TRUNK;
    else if (port->cable != NO_REF || port->untagged != NO_REF)
        port->mode = PORT_ACCESS;
}

/* The gateway's first port that is meant for it, unless a cable says that it is used otherwise. */
static void mark_line(struct layer2_maker *m)
{
    const uint32_t g = m->net.gateway;
    for (uint32_t i = g == NO_REF ? 0 : m->l2->first_port[g]; g != NO_REF && i < m->l2->first_port[g + 1]; i++) {
        struct l2_port *port = &m->l2->ports.v[i];
        if (port->group && port->group->uplink && port->mode == PORT_EMPTY) {
            port->mode = PORT_LINE;
            return;
        }
    }
}

void layer2_ports(struct layer2_maker *m)
{
    list_ports(m);
    if (m->failed)
        return;
    plug_cables(m);
    gather_needs(m);
    for (uint32_t i = 0; i < m->l2->ports.n && !m->failed; i++)
        carry(m, &m->l2->ports.v[i]);
    mark_line(m);
    const uint32_t n = m->h->devices.n;
    m->l2->port_of_device = ARENA_ARRAY(m->arena, uint32_t, n);
    m->failed |= !m->l2->port_of_device;
    for (uint32_t d = 0; !m->failed && d < n; d++) {
        const uint32_t node = m->h->equipment.n + d, cable = m->net.parent_cable[node];
        m->l2->port_of_device[d] = cable == NO_REF ? NO_REF : port_at(m, cable, m->net.parent[node]);
    }
}

/* What is wrong with cables and ports. */
#include "base/units.h"
#include "reach/layer2_int.h"

/* ---- cables ---- */

static void find_port_of_end(struct layer2_maker *m, uint32_t cable, const struct cable_end *end, unsigned picked)
{
    if (end->equipment == NO_REF)
        return;
    const unsigned n = net_n_ports(&m->net, end->equipment);
    const char *name = thing_words(m, end->equipment);
    const struct str id = m->h->cables.v[cable].id;
    if (is_given(end->port) && end->port > n)
        finding_add(m, L2_NO_SUCH_PORT, true, end->at, "look at the numbers on the part",
                    "cable '%.*s' goes to port %.0f of %s, which has %u", STR_ARG(id), end->port, name, n);
    else if (!picked)
        finding_add(m, L2_NO_FREE_PORT, true, end->at, "take a part with more ports, or another place for it",
                    "no port of %s is left that fits cable '%.*s'", name, STR_ARG(id));
}

/* A second way is silent only if both its ends speak the spanning tree (IEEE 802.1Q-2022, clause 13, from memory). */
static void find_resting(struct layer2_maker *m, uint32_t c)
{
    const struct cable *cable = &m->h->cables.v[c];
    const uint32_t ends[2] = { net_node(m->h, &cable->from), net_node(m->h, &cable->to) };
    if (!m->net.is_ring[c]) {
        finding_add(m, L2_RESTS_ALONE, false, cable->at, "leave 'rests' out, or add the cable that it stands in for",
                    "cable '%.*s' is to rest until another fails, but there is no other way that it could stand in for",
                    STR_ARG(cable->id));
        return;
    }
    for (int e = 0; e < 2; e++) {
        uint32_t last;
        const uint32_t far = net_far(&m->net, c, ends[1 - e], &last);
        const struct part *part = far == NO_REF ? NULL : net_part(&m->net, far);
        if (part && part->spanning_tree)
            continue;
        finding_add(m, L2_LOOP, true, cable->at, "unplug it, or take parts with 'spanning_tree: true' at both its ends",
                    "cable '%.*s' is to rest until another fails, but %s does not speak the spanning tree: it closes a "
                    "ring, and frames would go round in it for ever",
                    STR_ARG(cable->id), far == NO_REF ? "its far end" : thing_words(m, far));
        return;
    }
}

static void find_cable(struct layer2_maker *m, uint32_t c)
{
    const struct cable *cable = &m->h->cables.v[c];
    find_port_of_end(m, c, &cable->from, m->picks[c].from);
    find_port_of_end(m, c, &cable->to, m->picks[c].to);
    if (cable->rests)
        find_resting(m, c);
    else if (m->net.is_ring[c])
        finding_add(m, L2_LOOP, true, cable->at,
                    "unplug it; or let it rest (rests: true) between equipment that speaks the spanning tree",
                    "cable '%.*s' closes a ring: frames would go round in it for ever", STR_ARG(cable->id));
}

/* ---- what has no way to the gateway ---- */

static void find_unplugged(struct layer2_maker *m)
{
    for (uint32_t node = 0; node < m->net.n_nodes; node++) {
        const bool is_device = net_is_device(&m->net, node);
        const struct device *d = is_device ? &m->h->devices.v[node - m->h->equipment.n] : NULL;
        const bool wants = is_device ? d->link == LINK_WIRED && d->segment.i != NO_REF : net_bridges(&m->net, node);
        if (wants && !net_hangs(&m->net, node))
            finding_add(m, L2_UNPLUGGED, true, is_device ? d->at : m->h->equipment.v[node].at,
                        "add a cable from it under 'cables'", "%s has no cable that leads to the gateway",
                        thing_words(m, node));
    }
}

static void find_gateways(struct layer2_maker *m)
{
    const struct house *h = m->h;
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        const struct part *part = net_part(&m->net, e);
        if (part && part->kind == PART_GATEWAY && e != m->net.gateway)
            finding_add(m, L2_SECOND_GATEWAY, true, h->equipment.v[e].at, "keep one gateway",
                        "%s is a second gateway; only %s is planned", thing_words(m, e),
                        thing_words(m, m->net.gateway));
    }
    if (m->net.gateway == NO_REF && h->segments.n)
        finding_add(m, L2_NO_GATEWAY, true, h->segments.v[0].at, "put a part of kind 'gateway' under 'equipment'",
                    "there is no gateway: nothing joins the segments to each other and to the internet");
}

/* ---- segments that do not arrive ---- */

/* The port of a tree cable at a node; NULL: none is known. */
static const struct l2_port *port_on(const struct layer2_maker *m, uint32_t cable, uint32_t node)
{
    for (uint32_t i = m->l2->first_port[node]; i < m->l2->first_port[node + 1]; i++)
        if (m->l2->ports.v[i].cable == cable)
            return &m->l2->ports.v[i];
    return NULL;
}

/* Reports the first port between a node and the gateway that does not let the segment through.  must_be_plain: the node itself
 * knows nothing of tags. */
static void find_stop(struct layer2_maker *m, uint32_t node, uint32_t segment, bool must_be_plain, const char *who,
                      struct rt_place at)
{
    const struct net *net = &m->net;
    for (uint32_t below = node; net->parent[below] != NO_REF; below = net->parent[below]) {
        const uint32_t cable = net->parent_cable[below], nodes[2] = { below, net->parent[below] };
        for (int e = 0; e < 2; e++) {
            const struct l2_port *port = net_is_device(net, nodes[e]) ? NULL : port_on(m, cable, nodes[e]);
            const bool is_plain = must_be_plain && (below == node || net_passes_on(net, below));
            if (!port || port->mode == PORT_THROUGH ||
                (is_plain ? port->untagged == segment : port_carries(port, segment)))
                continue;
            finding_add(m, L2_NOT_DELIVERED, true, at, "change 'ports' of the equipment, or the segment",
                        is_plain && port_carries(port, segment) ? "%s gets %s only with a VLAN tag at %s"
                                                                : "%s does not get %s: %s does not carry it",
                        who, segment_words(m, segment),
                        l2_port_words(m->arena, m->l2, (uint32_t)(port - m->l2->ports.v)).p);
            return;
        }
        if (!net_passes_on(net, net->parent[below]))
            must_be_plain = false;
    }
}

static void find_not_delivered(struct layer2_maker *m)
{
    const struct house *h = m->h;
    for (uint32_t d = 0; d < h->devices.n; d++) {
        const struct device *device = &h->devices.v[d];
        const uint32_t node = h->equipment.n + d;
        if (device->link == LINK_WIRED && device->segment.i != NO_REF)
            find_stop(m, node, device->segment.i, true, thing_words(m, node), device->at);
    }
    for (uint32_t s = 0; s < h->ssids.n; s++) {
        const struct l2_ssid *row = &m->l2->ssids[s];
        for (uint32_t i = 0; i < row->cells.n; i++)
            if (i == 0 || row->cells.v[i].equipment != row->cells.v[i - 1].equipment)
                find_stop(m, row->cells.v[i].equipment, row->segment, false,
                          arena_printf(m->arena, "SSID '%.*s' on %s", STR_ARG(row->name),
                                       thing_words(m, row->cells.v[i].equipment)),
                          h->equipment.v[row->cells.v[i].equipment].at);
    }
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (h->equipment.v[e].segment.i != NO_REF)
            find_stop(m, e, h->equipment.v[e].segment.i, !net_tells_vlans(&m->net, e), thing_words(m, e),
                      h->equipment.v[e].at);
}

/* ---- segments that should not be there ---- */

static void find_not_needed(struct layer2_maker *m, const struct l2_port *port)
{
    const uint32_t other = port->cable == NO_REF ? NO_REF : net_other(&m->net, port->cable, port->equipment);
    if (!port->setting_given || other == NO_REF)
        return;
    const uint32_t lower = port->towards_gateway ? port->equipment : other;
    if (!net_bridges(&m->net, lower) && !net_passes_on(&m->net, lower))
        return;
    for (uint32_t s = 0; s < m->h->segments.n; s++)
        if (port_carries(port, s) && !segments_hold(needs_of(m, lower), s))
            finding_add(m, L2_NOT_NEEDED, false, m->h->equipment.v[port->equipment].at,
                        "take it out of 'ports' there: what is not carried cannot be got at",
                        "%s carries %s, which nothing behind it needs",
                        l2_port_words(m->arena, m->l2, (uint32_t)(port - m->l2->ports.v)).p, segment_words(m, s));
}

static void find_disagreement(struct layer2_maker *m, uint32_t at)
{
    const struct l2_port *port = &m->l2->ports.v[at];
    if (port->far_port == NO_REF || port->far_port < at || port->mode == PORT_THROUGH)
        return;
    const struct l2_port *far = &m->l2->ports.v[port->far_port];
    if (far->mode == PORT_THROUGH || port->untagged == far->untagged || (!port->setting_given && !far->setting_given))
        return;
    finding_add(m, L2_ENDS_DISAGREE, true, m->h->equipment.v[port->equipment].at,
                "set both ends of the cable to the same untagged segment",
                "%s and %s are the two ends of one cable, but what bears no tag is %s at the one and %s at the other",
                l2_port_words(m->arena, m->l2, at).p, l2_port_words(m->arena, m->l2, port->far_port).p,
                segment_words(m, port->untagged), segment_words(m, far->untagged));
}

static void find_bridged(struct layer2_maker *m, uint32_t e)
{
    if (!net_bridges(&m->net, e) || net_tells_vlans(&m->net, e) || e == m->net.gateway)
        return;
    struct buf names = { .arena = m->arena };
    uint32_t n = 0;
    for (uint32_t s = 0; s < m->h->segments.n; s++)
        if (segments_hold(needs_of(m, e), s))
            buf_printf(&names, "%s%s", n++ ? " and " : "", segment_words(m, s));
    if (n > 1)
        finding_add(m, L2_BRIDGED, true, m->h->equipment.v[e].at,
                    "take a part that keeps VLANs apart, or leave one segment on it",
                    "%s cannot keep VLANs apart, and so joins %s into one network", thing_words(m, e), names.p);
}

/* ---- settings that nobody can get to ---- */

static bool endpoint_is_in(const struct endpoint *e, uint32_t segment)
{
    return e->kind == END_ANYONE || (e->kind == END_SEGMENT && e->i == segment);
}

static bool somebody_manages(const struct house *h, uint32_t segment)
{
    for (uint32_t i = 0; i < h->devices.n; i++) {
        const struct device *d = &h->devices.v[i];
        if (d->segment.i == segment &&
            (str_is(d->kind, "laptop") || str_is(d->kind, "desktop") || str_is(d->kind, "phone") ||
             str_is(d->kind, "tablet") || str_is(d->kind, "work_laptop")))
            return true;
    }
    for (uint32_t i = 0; i < h->statements.n; i++)
        for (uint32_t k = 0; h->statements.v[i].verdict == VERDICT_ALLOW && k < h->statements.v[i].to.n; k++)
            if (endpoint_is_in(&h->statements.v[i].to.v[k], segment))
                return true;
    return false;
}

static void find_unmanaged(struct layer2_maker *m, uint32_t e)
{
    const struct equipment *equipment = &m->h->equipment.v[e];
    if (!net_tells_vlans(&m->net, e) || e == m->net.gateway || !m->h->segments.n)
        return;
    if (equipment->segment.i == NO_REF)
        finding_add(m, L2_NOBODY_MANAGES, false, equipment->at, "say under 'segment' where its settings are reached",
                    "nothing says in which segment the settings of %s are reached: its next update may never come",
                    thing_words(m, e));
    else if (!somebody_manages(m->h, equipment->segment.i))
        finding_add(m, L2_NOBODY_MANAGES, false, equipment->segment.at,
                    "add a statement that lets somebody start talk with that segment",
                    "the settings of %s are in %s, to which nobody may start talk", thing_words(m, e),
                    segment_words(m, equipment->segment.i));
}

void layer2_find_wire(struct layer2_maker *m)
{
    for (uint32_t c = 0; c < m->h->cables.n; c++)
        find_cable(m, c);
    find_gateways(m);
    find_unplugged(m);
    find_not_delivered(m);
    for (uint32_t i = 0; i < m->l2->ports.n; i++) {
        find_not_needed(m, &m->l2->ports.v[i]);
        find_disagreement(m, i);
    }
    for (uint32_t e = 0; e < m->h->equipment.n; e++) {
        find_bridged(m, e);
        find_unmanaged(m, e);
    }
}

/* Ports, and the switches they are on. */
#include "base/units.h"
#include "book/settings_int.h"
#include "promise/wire_words.h"

static const char *const PORT_COLUMNS[] = { "leads to", "untagged VLAN (PVID)", "tagged VLANs",
                                            "power over the cable (PoE)" };

static struct str leads_to(struct settings_maker *m, const struct port_row *row)
{
    if (row->port->mode == PORT_LINE)
        return STR("the internet line");
    if (!row->far_id.n)
        return STR("nothing");
    if (row->far_number)
        return settings_text(m, "%.*s, its port %u", STR_ARG(row->far_id), row->far_number);
    return row->far_id;
}

static struct str tagged(struct settings_maker *m, const struct l2_port *port)
{
    struct buf b = settings_buf(m);
    for (uint32_t i = 0; i < port->tagged.n; i++)
        buf_printf(&b, "%s%u %.*s", i ? ", " : "", m->x->plan->segments[port->tagged.v[i]].vlan,
                   STR_ARG(m->h->segments.v[port->tagged.v[i]].id));
    return port->tagged.n ? settings_done(m, &b) : STR("none");
}

static struct str untagged(struct settings_maker *m, const struct l2_port *port)
{
    if (port->untagged == NO_REF)
        return port->mode == PORT_TRUNK ? STR("none: frames without a tag are dropped") : STR("none");
    return settings_text(m, "%u %.*s", m->x->plan->segments[port->untagged].vlan,
                         STR_ARG(m->h->segments.v[port->untagged].id));
}

/* ---- power ---- */

static struct str fed_id(const struct settings_maker *m, const struct power_feed *f)
{
    return f->equipment != NO_REF ? m->h->equipment.v[f->equipment].id : m->h->devices.v[f->device].id;
}

static struct str power_words(struct settings_maker *m, const struct port_row *row)
{
    const struct port_group *group = row->port->group;
    const struct power_feed *f = row->feed;
    if (f && f->class_granted >= 0)
        return settings_text(m, "on: class %d, up to %.1f W, priority %s", f->class_granted, f->drawn_w,
                             settings_is_promised_in_outage(m->h, fed_id(m, f)) ? "critical" : "low");
    if (f)
        return settings_text(m, "asked for (class %d), not to be had here: %s", f->class_asked,
                             power_limit_words(f->limit));
    return group && is_given(group->poe_class) ? STR("off") : STR("has none");
}

/* ---- one port ---- */

static struct str speed_words(struct settings_maker *m, const struct port_row *row)
{
    if (!row->link || !(row->link->speed_mbps > 0))
        return STR("auto; the plan does not know what it comes to");
    return settings_text(m, "auto, %.*s", STR_ARG(port_speed_words(m->arena, row->link->speed_mbps)));
}

static struct str spanning_tree(const struct l2_port *port)
{
    if (port->rests)
        return STR("not an edge; rests until the first way fails");
    return port->far_equipment == NO_REF ? STR("edge, BPDU guard") : STR("not an edge");
}

static struct str why_port(struct settings_maker *m, const struct port_row *row)
{
    enum { WIRES = 1u << PROMISE_POWER | 1u << PROMISE_CABLE | 1u << PROMISE_OUTAGE };
    const struct l2_port *port = row->port;
    if (port->mode == PORT_EMPTY)
        return STR("a free socket is a way in for whoever stands before it");
    if (port->mode == PORT_LINE)
        return settings_promise(m, 1u << PROMISE_LINE);
    const struct str own = settings_promise_of_thing(m, WIRES, row->far_id);
    if (port->mode == PORT_TRUNK)
        return settings_because(m, own, settings_promise(m, 1u << PROMISE_CABLE),
                                "it carries the segments of what lies behind it, and no others");
    if (port->untagged == NO_REF)
        return own;
    return settings_because(
        m, own, settings_promise_of_segment(m, 1u << PROMISE_APART | 1u << PROMISE_REACH, port->untagged),
        settings_text(m, "%.*s belongs to %.*s", STR_ARG(row->far_words), STR_ARG(settings_segment(m, port->untagged)))
            .p);
}

static void port(struct settings_maker *m, const struct port_row *row, bool tells_vlans)
{
    const struct l2_port *port = row->port;
    const struct str item = settings_text(m, "port %u", port->number), why = why_port(m, row);
    const bool is_open = port->mode != PORT_EMPTY && port->mode != PORT_LINE;
    settings_add(m, item, PORT_COLUMNS[0], leads_to(m, row), why);
    settings_add(m, item, PORT_COLUMNS[1],
                 port->mode == PORT_LINE ? STR("not in the switch: the line's own") : untagged(m, port), why);
    settings_add(m, item, PORT_COLUMNS[2], tagged(m, port), why);
    settings_add(m, item, PORT_COLUMNS[3], power_words(m, row), why);
    settings_add(m, item, "state", port->mode == PORT_EMPTY ? STR("off") : STR("on"), why);
    if (port->mode == PORT_EMPTY)
        return;
    settings_add(m, item, "speed", speed_words(m, row), why);
    if (!is_open || !tells_vlans)
        return;
    settings_add(m, item, "ingress filtering",
                 port->mode == PORT_ACCESS  ? STR("on; untagged only")
                 : port->untagged == NO_REF ? STR("on; tagged only")
                                            : STR("on; all frames"),
                 why);
    settings_add(m, item, "spanning tree", spanning_tree(port), why);
    settings_add(m, item, "DHCP and RA guard", port->towards_gateway ? STR("trusted") : STR("on"), why);
}

void settings_ports(struct settings_maker *m, uint32_t e)
{
    const struct part *part = settings_part(m->h, e);
    const bool tells_vlans = part && (part->vlans || part->kind == PART_GATEWAY || part->kind == PART_ACCESS_POINT);
    settings_block(m,
                   (struct settings_block){
                       .title = settings_text(m, "Ports of %.*s", STR_ARG(m->h->equipment.v[e].id)),
                       .where = STR("VLAN membership and state of each port"),
                       .standard = STR("IEEE 802.1Q (8.6, ingress filtering); IEEE 802.3 (28, 33, 145); RFC 7610 and "
                                       "RFC 6105 (guards)"),
                       .intro = STR("VLAN 1 leaves every port where it does not stand below. What a port does not "
                                    "name, it does not carry. An edge port leads to one device: it sends at once, and "
                                    "bridge messages there (BPDUs) switch it off. The guard drops what offers "
                                    "addresses or a way out (DHCP answers, router advertisements), but where the "
                                    "gateway lies."),
                       .instead = STR("Without ingress filtering, put no untagged VLAN on a trunk. Without a switch "
                                      "for each port, put free sockets into a VLAN that leads nowhere. Without PoE "
                                      "priorities nothing is kept alive longer when the watts run short."),
                       .check = STR("A computer in each access port gets an address of its segment; in a free port "
                                    "it gets none."),
                       .of = "port",
                       SETTINGS_COLUMNS(PORT_COLUMNS) });
    for (uint32_t i = m->x->l2->first_port[e]; i < m->x->l2->first_port[e + 1]; i++)
        port(m, &m->map->rows.v[i], tells_vlans);
}

/* ---- switches ---- */

static void own_settings(struct settings_maker *m, uint32_t e)
{
    const struct equipment *eq = &m->h->equipment.v[e];
    const struct str why = settings_because(
        m, eq->segment.i == NO_REF ? STR("") : settings_promise_of_segment(m, 1u << PROMISE_APART, eq->segment.i),
        STR(""), "its settings are reached from one segment, and from no other");
    settings_block(m, (struct settings_block){
                          .title = STR("Its own address"),
                          .where = STR("Management interface"),
                          .standard = STR("IEEE 802.1Q; RFC 2131"),
                          .instead = STR("A switch that can be set from every VLAN needs a password that nobody "
                                         "guesses; the rules of the gateway still keep other segments from it."),
                          .check = STR("Its settings open from that segment, and from no other.") });
    if (eq->segment.i == NO_REF) {
        settings_add_open(m, STR(""), "management VLAN",
                          STR("not in the house file: write segment under this equipment"), why);
    } else {
        settings_add(m, STR(""), "management VLAN", settings_segment(m, eq->segment.i), why);
        settings_add(m, STR(""), "address", STR("by DHCP, then reserved for its MAC address"), why);
    }
    settings_add(m, STR(""), "name", eq->id, STR("the name on its label and in the house file"));
}

/* Is this the switch next to the gateway? */
static bool is_root(const struct settings_maker *m, uint32_t e)
{
    const struct layer2 *l2 = m->x->l2;
    for (uint32_t i = l2->first_port[e]; i < l2->first_port[e + 1]; i++)
        if (l2->ports.v[i].towards_gateway && l2->ports.v[i].far_equipment == l2->gateway)
            return true;
    return false;
}

static bool has_second_way(const struct settings_maker *m)
{
    for (uint32_t c = 0; c < m->h->cables.n; c++)
        if (m->h->cables.v[c].rests)
            return true;
    return false;
}

static void whole_switch(struct settings_maker *m, uint32_t e)
{
    const struct part *part = settings_part(m->h, e);
    const struct str loops = has_second_way(m) ? settings_promise(m, 1u << PROMISE_SURVIVE) : STR("");
    settings_block(m,
                   (struct settings_block){
                       .title = STR("The whole switch"),
                       .where = STR("Neighbours, loops, storms, groups"),
                       .standard = STR("IEEE 802.1AB (LLDP); IEEE 802.1Q clause 13 (RSTP); RFC 4541 (snooping)"),
                       .instead = STR("Without a spanning tree plug in no second way and no cable in a ring. Without "
                                      "snooping a casting stream reaches every port: it costs rate, nothing else."),
                       .check = STR("It lists its neighbours by name; two of its free ports joined by a cord, once "
                                    "switched on for the test, do not take the network down.") });
    settings_add(m, STR(""), "LLDP", STR("on; power over LLDP on where it feeds"),
                 STR("it tells who hangs on which port, and what each may draw"));
    if (part && part->spanning_tree)
        settings_add(m, STR(""), "RSTP",
                     is_root(m, e) ? STR("on, bridge priority 4096 (the root)") : STR("on, bridge priority 32768"),
                     settings_because(m, loops, STR(""),
                                      "a cable plugged twice does not take the house down; the root "
                                      "is the switch at the gateway"));
    else
        settings_add(m, STR(""), "RSTP", STR("not offered by this part, as the parts file says"),
                     STR("plug in no ring"));
    settings_add(m, STR(""), "storm guard", STR("broadcast, unknown and multicast frames at most 1 % of each port"),
                 STR("common practice, no source: one broken thing does not fill all cables"));
    if (settings_has_groups(m))
        settings_add(m, STR(""), "IGMP and MLD snooping",
                     STR("on; the gateway asks (querier); reports are not held back"),
                     settings_because(m, settings_promise(m, 1u << PROMISE_REACH), STR(""),
                                      "casting and finding go to groups, and reach only the ports that asked"));
}

static void one_switch(struct settings_maker *m, uint32_t e)
{
    const struct part *part = settings_part(m->h, e);
    const bool is_set = part->vlans;
    settings_thing(m, m->h->equipment.v[e].id, settings_heading(m, "Switch", e),
                   is_set ? STR("")
                          : STR("It keeps no VLANs apart and has nothing to set: every port is in the same segment. "
                                "What stands below is what each port carries."));
    if (is_set) {
        own_settings(m, e);
        whole_switch(m, e);
    }
    settings_ports(m, e);
}

static bool only_passes_on(const struct part *part)
{
    return part && part->kind != PART_SWITCH && part->kind != PART_ACCESS_POINT && part->kind != PART_GATEWAY;
}

static const char *const THROUGH_COLUMNS[] = { "leads to", "to set" };

static void through(struct settings_maker *m)
{
    settings_thing(m, STR("through"), STR("What only passes on"), STR(""));
    settings_block(m, (struct settings_block){ .title = STR("Injectors, converters, outlets and the like"),
                                               .where = STR("Plugging"),
                                               .standard = STR("IEEE 802.3"),
                                               .check = STR("The lamps at both ends of each cable are lit."),
                                               .of = "port",
                                               SETTINGS_COLUMNS(THROUGH_COLUMNS) });
    for (uint32_t i = 0; i < m->map->rows.n; i++) {
        const struct port_row *row = &m->map->rows.v[i];
        const struct str why = STR("it has no settings: what comes in goes out");
        if (!only_passes_on(settings_part(m->h, row->port->equipment)))
            continue;
        const struct str item =
            settings_text(m, "%.*s, port %u", STR_ARG(m->h->equipment.v[row->port->equipment].id), row->port->number);
        settings_add(m, item, THROUGH_COLUMNS[0], leads_to(m, row), why);
        settings_add(m, item, THROUGH_COLUMNS[1], STR("nothing"), why);
    }
}

void settings_switches(struct settings_maker *m)
{
    for (uint32_t e = 0; e < m->h->equipment.n; e++) {
        const struct part *part = settings_part(m->h, e);
        if (part && (part->kind == PART_SWITCH || (part->kind == PART_GATEWAY && e != m->x->l2->gateway)))
            one_switch(m, e);
    }
    through(m);
}

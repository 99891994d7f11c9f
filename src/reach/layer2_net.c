/* The cables of a house as a tree that hangs from its gateway, and which cable is in which port. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "reach/layer2_int.h"

uint32_t net_node(const struct house *h, const struct cable_end *end)
{
    if (end->equipment != NO_REF)
        return end->equipment;
    return end->device != NO_REF ? h->equipment.n + end->device : NO_REF;
}

uint32_t net_other(const struct net *net, uint32_t cable, uint32_t node)
{
    const struct cable *c = &net->h->cables.v[cable];
    const uint32_t from = net_node(net->h, &c->from);
    return from == node ? net_node(net->h, &c->to) : from;
}

bool net_is_device(const struct net *net, uint32_t node) { return node >= net->h->equipment.n; }

static const struct part *part_of(const struct house *h, uint32_t equipment)
{
    const uint32_t part = h->equipment.v[equipment].part.i;
    return part == NO_REF ? NULL : &h->parts.list.v[part];
}

const struct part *net_part(const struct net *net, uint32_t node)
{
    return net_is_device(net, node) ? NULL : part_of(net->h, node);
}

bool net_bridges(const struct net *net, uint32_t node)
{
    const struct part *part = net_part(net, node);
    return part && (part->kind == PART_GATEWAY || part->kind == PART_SWITCH || part->kind == PART_ACCESS_POINT);
}

bool net_passes_on(const struct net *net, uint32_t node)
{
    const struct part *part = net_part(net, node);
    return part && (part->kind == PART_INJECTOR || part->kind == PART_CONVERTER || part->kind == PART_BRIDGE);
}

bool net_tells_vlans(const struct net *net, uint32_t node)
{
    return net_bridges(net, node) && net_part(net, node)->vlans;
}

uint32_t net_far(const struct net *net, uint32_t cable, uint32_t node, uint32_t *last)
{
    uint32_t at = net_other(net, cable, node);
    for (uint32_t steps = 0; at != NO_REF && net_passes_on(net, at) && steps < net->n_nodes; steps++) {
        uint32_t onward = NO_REF;
        for (uint32_t i = net->first_cable[at]; i < net->first_cable[at + 1] && onward == NO_REF; i++)
            if (net->cables[i] != cable)
                onward = net->cables[i];
        if (onward == NO_REF)
            break;
        at = net_other(net, onward, at);
        cable = onward;
    }
    *last = cable;
    return at;
}

/* ---- the tree ---- */

static bool list_cables(struct net *net)
{
    const struct house *h = net->h;
    uint32_t *first = net->first_cable = ARENA_ARRAY(net->arena, uint32_t, (size_t)net->n_nodes + 2);
    net->cables = ARENA_ARRAY(net->arena, uint32_t, (size_t)h->cables.n * 2);
    if (!first || !net->cables)
        return false;
    for (uint32_t c = 0; c < h->cables.n; c++) {
        const uint32_t ends[2] = { net_node(h, &h->cables.v[c].from), net_node(h, &h->cables.v[c].to) };
        for (int e = 0; e < 2; e++)
            if (ends[e] != NO_REF)
                first[ends[e] + 2]++;
    }
    for (uint32_t i = 2; i < net->n_nodes + 2; i++)
        first[i] += first[i - 1];
    for (uint32_t c = 0; c < h->cables.n; c++) {
        const uint32_t ends[2] = { net_node(h, &h->cables.v[c].from), net_node(h, &h->cables.v[c].to) };
        for (int e = 0; e < 2; e++)
            if (ends[e] != NO_REF)
                net->cables[first[ends[e] + 1]++] = c;
    }
    return true;
}

static uint32_t root_of(const struct net *net)
{
    uint32_t best = NO_REF, most = 0;
    for (uint32_t i = 0; i < net->h->equipment.n; i++) {
        const struct part *part = part_of(net->h, i);
        if (part && part->kind == PART_GATEWAY)
            return i;
        const uint32_t n = net->first_cable[i + 1] - net->first_cable[i];
        if (part && part->kind == PART_SWITCH && (best == NO_REF || n > most)) {
            best = i;
            most = n;
        }
    }
    return best;
}

/* Nearest first, cables in the file's order.  Frames do not pass a device, so nothing hangs from one. */
static void hang(struct net *net, uint32_t root)
{
    net->order[net->n_order++] = root;
    for (uint32_t done = net->n_order - 1; done < net->n_order; done++) {
        const uint32_t node = net->order[done];
        if (!net_bridges(net, node) && !net_passes_on(net, node))
            continue;
        for (uint32_t i = net->first_cable[node]; i < net->first_cable[node + 1]; i++) {
            const uint32_t cable = net->cables[i], other = net_other(net, cable, node);
            if (cable == net->parent_cable[node] || other == NO_REF || net->h->cables.v[cable].rests)
                continue;
            const bool is_new = other != root && net->parent[other] == NO_REF;
            if (!is_new && net->parent_cable[other] != cable)
                net->is_ring[cable] = net_bridges(net, other) || net_passes_on(net, other);
            if (!is_new)
                continue;
            net->parent[other] = node;
            net->parent_cable[other] = cable;
            net->order[net->n_order++] = other;
        }
    }
}

bool net_hangs(const struct net *net, uint32_t node)
{
    return net->parent[node] != NO_REF || (net->n_order && net->order[0] == node);
}

static bool leads_on(const struct net *net, uint32_t node)
{
    return node != NO_REF && net_hangs(net, node) && (net_bridges(net, node) || net_passes_on(net, node));
}

/* Cables that rest: a second way where both ends hang already; the only way there is where one does not. */
static void hang_resting(struct net *net)
{
    const struct house *h = net->h;
    for (uint32_t c = 0; c < h->cables.n; c++) {
        const uint32_t ends[2] = { net_node(h, &h->cables.v[c].from), net_node(h, &h->cables.v[c].to) };
        if (!h->cables.v[c].rests || ends[0] == NO_REF || ends[1] == NO_REF)
            continue;
        net->is_ring[c] = leads_on(net, ends[0]) && leads_on(net, ends[1]);
        for (int e = 0; e < 2 && !net->is_ring[c]; e++)
            if (leads_on(net, ends[e]) && !net_hangs(net, ends[1 - e])) {
                net->parent[ends[1 - e]] = ends[e];
                net->parent_cable[ends[1 - e]] = c;
                hang(net, ends[1 - e]);
                break;
            }
    }
}

uint32_t net_lower(const struct net *net, uint32_t cable)
{
    const struct cable *c = &net->h->cables.v[cable];
    const uint32_t from = net_node(net->h, &c->from), to = net_node(net->h, &c->to);
    for (uint32_t i = net->n_order; i-- > 0;)
        if (net->order[i] == from || net->order[i] == to)
            return net->order[i];
    return NO_REF;
}

bool net_make(struct arena *a, const struct house *h, struct net *out)
{
    *out = (struct net){ .h = h, .arena = a, .n_nodes = h->equipment.n + h->devices.n, .gateway = NO_REF };
    const size_t n = out->n_nodes;
    out->parent = ARENA_ARRAY(a, uint32_t, n);
    out->parent_cable = ARENA_ARRAY(a, uint32_t, n);
    out->order = ARENA_ARRAY(a, uint32_t, n);
    out->is_ring = ARENA_ARRAY(a, bool, h->cables.n);
    if (!list_cables(out) || !out->parent || !out->parent_cable || !out->order || !out->is_ring)
        return false;
    memset(out->parent, 0xff, n * sizeof *out->parent);
    memset(out->parent_cable, 0xff, n * sizeof *out->parent_cable);
    const uint32_t root = root_of(out);
    if (root == NO_REF)
        return true;
    if (part_of(h, root)->kind == PART_GATEWAY)
        out->gateway = root;
    hang(out, root);
    hang_resting(out);
    return true;
}

/* ---- ports ---- */

const struct port_group *part_port(const struct part *part, unsigned number)
{
    double past = 0;
    for (uint32_t i = 0; part && i < part->ports.n; i++) {
        past += part->ports.v[i].count;
        if (number >= 1 && number <= past)
            return &part->ports.v[i];
    }
    return NULL;
}

unsigned net_n_ports(const struct net *net, uint32_t node)
{
    const struct part *part = net_part(net, node);
    double n = 0;
    for (uint32_t i = 0; part && i < part->ports.n; i++)
        n += part->ports.v[i].count;
    for (uint32_t i = net->first_cable[node]; n == 0 && part && i < net->first_cable[node + 1]; i++) {
        const struct cable *c = &net->h->cables.v[net->cables[i]];
        const double port = net_node(net->h, &c->from) == node ? c->from.port : c->to.port;
        n = fmax(n, given_or(port, 0));
    }
    return (unsigned)n;
}

unsigned pick_at(const struct net *net, const struct port_pick *picks, uint32_t cable, uint32_t node)
{
    return net_node(net->h, &net->h->cables.v[cable].from) == node ? picks[cable].from : picks[cable].to;
}

/* Does the cable's plug go into it?  The gateway's ports for the internet line take none. */
static bool fits(const struct net *net, uint32_t cable, const struct port_group *g, const struct part *part)
{
    const struct ref of_cable = net->h->cables.v[cable].part;
    const struct str category = of_cable.i == NO_REF ? STR("") : net->h->parts.list.v[of_cable.i].category;
    const bool is_fibre = str_is(category, "om3") || str_is(category, "os2");
    return is_fibre != str_is(g->medium, "copper") && !(part->kind == PART_GATEWAY && g->uplink);
}

/* The lowest free port of a node that takes the cable's plug; 0: none. */
static unsigned free_port(const struct net *net, const struct port_pick *picks, uint32_t cable, uint32_t node)
{
    const struct part *part = net_part(net, node);
    for (unsigned number = 1; part_port(part, number); number++) {
        bool is_free = fits(net, cable, part_port(part, number), part);
        for (uint32_t i = net->first_cable[node]; i < net->first_cable[node + 1] && is_free; i++)
            is_free = pick_at(net, picks, net->cables[i], node) != number;
        if (is_free)
            return number;
    }
    return 0;
}

static void pick_end(const struct net *net, struct port_pick *picks, uint32_t cable, const struct cable_end *end,
                     unsigned *port, bool *is_chosen)
{
    if (is_given(end->port) || end->equipment == NO_REF)
        return;
    *port = free_port(net, picks, cable, end->equipment);
    *is_chosen = *port != 0;
}

void net_pick_ports(const struct net *net, struct port_pick *picks)
{
    const struct house *h = net->h;
    for (uint32_t c = 0; c < h->cables.n; c++) {
        picks[c].from = (unsigned)given_or(h->cables.v[c].from.port, 0);
        picks[c].to = (unsigned)given_or(h->cables.v[c].to.port, 0);
    }
    for (uint32_t c = 0; c < h->cables.n; c++) {
        pick_end(net, picks, c, &h->cables.v[c].from, &picks[c].from, &picks[c].from_chosen);
        pick_end(net, picks, c, &h->cables.v[c].to, &picks[c].to, &picks[c].to_chosen);
    }
}

/* Sockets to which a stranger can plug something of their own: outdoors, in outbuildings, where visitors walk, in let rooms. */
#include "base/units.h"
#include "reach/layer2_int.h"

/* Up to which height a person standing reaches (common practice, no source). */
#define ARMS_REACH_M 2.5

struct spot_of {
    uint32_t floor, room;
    double height_m;
    bool outdoors;
};

static struct spot_of spot_of(const struct house *h, uint32_t node)
{
    struct spot_of s = { .floor = NO_REF, .room = NO_REF, .height_m = RT_NOT_GIVEN };
    if (node < h->equipment.n) {
        const struct equipment *e = &h->equipment.v[node];
        s.floor = e->floor.i;
        s.room = e->room.i;
        s.height_m = is_given(e->at_m.x) ? e->at_m.z : RT_NOT_GIVEN;
        s.outdoors = e->mount.i != NO_REF && h->mounts.v[e->mount.i].outdoors;
    } else {
        const struct device *d = &h->devices.v[node - h->equipment.n];
        s.floor = d->floor.i;
        s.room = d->room.i;
        s.height_m = is_given(d->at_m.x) ? d->at_m.z : RT_NOT_GIVEN;
    }
    s.outdoors |= s.floor != NO_REF && h->floors.v[s.floor].open_air;
    s.outdoors |= s.room != NO_REF && h->rooms.v[s.room].use == USE_OUTDOOR;
    return s;
}

static uint32_t lodger_of(const struct house *h, uint32_t room)
{
    for (uint32_t i = 0; i < h->people.n; i++)
        if (h->people.v[i].room.i == room && room != NO_REF &&
            (h->people.v[i].kind == PERSON_LODGER || h->people.v[i].kind == PERSON_GUEST))
            return i;
    return NO_REF;
}

/* Who gets to a spot; false: only the household. */
static bool who_reaches(const struct house *h, const struct spot_of *s, enum reach_of *whose)
{
    if (s->outdoors) {
        *whose = REACH_OPEN_GROUND;
        return true;
    }
    if (lodger_of(h, s->room) != NO_REF) {
        *whose = REACH_LODGER;
        return true;
    }
    switch (s->room == NO_REF ? USE_OTHER : h->rooms.v[s->room].use) {
    case USE_BARN:
    case USE_GARAGE:
    case USE_WORKSHOP:
        *whose = REACH_OUTBUILDING;
        return true;
    case USE_HALL:
    case USE_STAIRS:
        *whose = REACH_VISITORS;
        return true;
    default:
        return false;
    }
}

static const char *where_words(enum reach_of whose)
{
    switch (whose) {
    case REACH_OPEN_GROUND:
        return "outdoors";
    case REACH_OUTBUILDING:
        return "in an outbuilding";
    case REACH_VISITORS:
        return "where visitors walk";
    case REACH_LODGER:
        return "in a let room";
    }
    return "";
}

static index_list segments_of(struct layer2_maker *m, const struct l2_port *port)
{
    index_list out = { .v = ARENA_ARRAY(m->arena, uint32_t, (size_t)port->tagged.n + 1) };
    m->failed |= !out.v;
    for (uint32_t s = 0; out.v && s < m->h->segments.n; s++)
        if (port_carries(port, s) && out.n <= port->tagged.n)
            out.v[out.n++] = s;
    return out;
}

/* The people of a let room may be in their own segment there. */
static bool is_their_own(const struct house *h, uint32_t room, uint32_t segment)
{
    for (uint32_t i = 0; i < h->devices.n; i++) {
        const uint32_t owner = h->devices.v[i].owner.i;
        if (owner != NO_REF && h->people.v[owner].room.i == room && h->devices.v[i].segment.i == segment)
            return true;
    }
    return false;
}

/* "segment family, segment work" of the socket's segments that are trusted, or that take anyone. */
static uint32_t name_segments(struct layer2_maker *m, const struct l2_socket *socket, bool trusted, struct buf *names)
{
    const struct house *h = m->h;
    uint32_t n = 0;
    for (uint32_t i = 0; i < socket->segments.n; i++) {
        const uint32_t s = socket->segments.v[i];
        if (socket->whose == REACH_LODGER && is_their_own(h, socket->room, s))
            continue;
        const bool is_trusted = segment_is_trusted(h, s);
        if (trusted ? is_trusted : !is_trusted && !h->segments.v[s].known_only)
            buf_printf(names, "%s%s", n++ ? ", " : "", segment_words(m, s));
    }
    m->failed |= names->failed;
    return n;
}

static void judge(struct layer2_maker *m, const struct l2_socket *socket, struct rt_place at, const char *what)
{
    if (socket->whose == REACH_VISITORS || !socket->within_arms_reach)
        return; /* somebody is at home; or it takes a ladder */
    struct buf trusted = { .arena = m->arena }, open = { .arena = m->arena };
    if (name_segments(m, socket, true, &trusted))
        finding_add(m, L2_TRUSTED_OUTDOORS, socket->whose == REACH_OPEN_GROUND, at,
                    "give it a segment of its own, or a box that locks ('inside' a cabinet)",
                    "%s is %s: who plugs in something else there is in %s, where the household's own machines are",
                    what, where_words(socket->whose), trusted.p);
    else if (socket->whose == REACH_OPEN_GROUND && name_segments(m, socket, false, &open))
        finding_add(m, L2_OPEN_SOCKET, false, at, "say 'known_only: true' for that segment",
                    "%s is outdoors: who plugs in something else there is in %s", what, open.p);
}

/* A port that can be got to at a node: by pulling the node's plug (other end of the port's cable) or at the port itself. */
static void add_socket(struct layer2_maker *m, uint32_t at, uint32_t node)
{
    const struct house *h = m->h;
    const struct l2_port *port = &m->l2->ports.v[at];
    const struct spot_of spot = spot_of(h, node);
    const bool is_device = net_is_device(&m->net, node);
    struct l2_socket s = { .port = at,
                           .equipment = is_device ? NO_REF : node,
                           .device = is_device ? node - h->equipment.n : NO_REF,
                           .room = spot.room,
                           .floor = spot.floor,
                           .height_m = spot.height_m };
    if (!who_reaches(h, &spot, &s.whose) || (!is_device && h->equipment.v[node].inside.i != NO_REF))
        return;
    s.within_arms_reach = !is_given(spot.height_m) || spot.height_m <= ARMS_REACH_M;
    s.segments = segments_of(m, port);
    if (!s.segments.n)
        return;
    const char *what = node == port->equipment ? l2_port_words(m->arena, m->l2, at).p
                                               : arena_printf(m->arena, "the socket of %s", thing_words(m, node));
    struct buf says = { .arena = m->arena };
    buf_printf(&says, "%s, %s", what ? what : "", where_words(s.whose));
    if (!s.within_arms_reach)
        buf_printf(&says, " %.1f m up", spot.height_m);
    for (uint32_t i = 0; i < s.segments.n; i++)
        buf_printf(&says, "%s%.*s", i ? ", " : ": ", STR_ARG(h->segments.v[s.segments.v[i]].id));
    s.says = buf_done(&says);
    m->failed |= says.failed || !what || !VEC_PUSH(m->arena, &m->sockets, s);
    if (node == port->equipment && m->net.parent[node] != NO_REF)
        return; /* its own plug, towards the gateway, gives no less */
    judge(m, &s, is_device ? h->devices.v[s.device].at : h->equipment.v[node].at, what ? what : "");
}

void layer2_sockets(struct layer2_maker *m)
{
    for (uint32_t i = 0; i < m->l2->ports.n && !m->failed; i++) {
        const struct l2_port *port = &m->l2->ports.v[i];
        if (port->mode == PORT_EMPTY || port->mode == PORT_LINE || port->mode == PORT_THROUGH)
            continue;
        if (port->towards_gateway) { /* the plug at this end: pulling it gives what the other end sends */
            add_socket(m, port->far_port == NO_REF ? i : port->far_port, port->equipment);
            continue;
        }
        const bool far_has_port = port->far_port != NO_REF && m->l2->ports.v[port->far_port].towards_gateway;
        add_socket(m, i, port->equipment);
        if (port->far_device != NO_REF)
            add_socket(m, i, m->h->equipment.n + port->far_device);
        else if (port->far_equipment != NO_REF && !far_has_port)
            add_socket(m, i, port->far_equipment);
    }
}

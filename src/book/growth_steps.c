#include "book/growth_steps.h"

#include "base/units.h"
#include "book/evidence.h"
#include "book/net_words.h"
#include "wire/end_label.h"

struct growth_port growth_free_port(const struct port_map *map, int poe_class)
{
    for (uint32_t i = 0; map && i < map->rows.n; i++) {
        const struct l2_port *port = map->rows.v[i].port;
        const struct part *part = &map->h->parts.list.v[map->h->equipment.v[port->equipment].part.i];
        const bool feeds = poe_class == 0 || given_or(port->group->poe_class, -1.0) >= poe_class;
        if (port->cable == NO_REF && port->mode != PORT_LINE && !port->group->uplink && feeds &&
            str_is(port->group->medium, "copper") && (part->kind == PART_SWITCH || part->kind == PART_GATEWAY))
            return (struct growth_port){ port->equipment, port->number };
    }
    return (struct growth_port){ .equipment = NO_REF };
}

/* ---- patterns: something of the kind that the house has ---- */

/* The first device with this link, of this kind (NULL: of any), that has a segment and is no child's, lodger's or guest's. */
static uint32_t pattern_of(const struct house *h, enum link_kind link, const char *kind)
{
    for (uint32_t i = 0; i < h->devices.n; i++) {
        const struct device *d = &h->devices.v[i];
        const bool is_grown_up = d->owner.i == NO_REF || h->people.v[d->owner.i].kind == PERSON_ADULT;
        if (d->link == link && d->segment.i != NO_REF && is_grown_up && (!kind || str_is(d->kind, kind)))
            return i;
    }
    return NO_REF;
}

static uint32_t pattern_of_any(const struct house *h, enum link_kind link)
{
    static const char *const KINDS[] = { "phone", "tablet", "laptop", "desktop" };
    for (size_t i = 0; i < RT_COUNT(KINDS); i++) {
        const uint32_t d = pattern_of(h, link, KINDS[i]);
        if (d != NO_REF)
            return d;
    }
    return pattern_of(h, link, NULL);
}

static struct str segment_of(struct book *b, uint32_t device)
{
    return b->h->segments.v[b->h->devices.v[device].segment.i].id;
}

static struct str room_of(const struct book *b, uint32_t device)
{
    const uint32_t room = b->h->devices.v[device].room.i;
    if (room != NO_REF)
        return b->h->rooms.v[room].id;
    return b->h->rooms.n ? b->h->rooms.v[0].id : STR("");
}

static void step(struct growth_addition *a, struct str text)
{
    if (text.n && a->n_steps < RT_COUNT(a->steps))
        a->steps[a->n_steps++] = text;
}

static void line(struct growth_addition *a, const char *section, struct str text)
{
    if (text.n && a->n_lines < RT_COUNT(a->lines))
        a->lines[a->n_lines++] = (struct growth_line){ section, text };
}

static struct str port_words(struct book *b, struct growth_port port, const char *what)
{
    if (port.equipment == NO_REF)
        return book_text(b, "No %s is free: a larger switch first (see what runs out).", what);
    const struct str label = end_label_port(b->arena, b->h->equipment.v[port.equipment].id, port.number);
    return book_text(b, "Its cable goes to %.*s, the first %s that is free; label both ends alike.", STR_ARG(label),
                     what);
}

static struct str ssid_of(const struct book *b, uint32_t segment)
{
    for (uint32_t i = 0; i < b->h->ssids.n; i++)
        if (b->h->ssids.v[i].segment.i == segment)
            return b->h->ssids.v[i].name.n ? b->h->ssids.v[i].name : b->h->ssids.v[i].id;
    return STR("");
}

/* ---- each kind ---- */

static void on_wifi(struct book *b, struct growth_addition *a)
{
    const uint32_t d = pattern_of_any(b->h, LINK_WIFI);
    if (d == NO_REF)
        return;
    const struct str segment = segment_of(b, d), ssid = ssid_of(b, b->h->devices.v[d].segment.i),
                     like = net_device_words(b, d);
    a->title = "A device on Wi-Fi";
    step(a, STR("Decide in which network it belongs: what may reach it, and what it may reach (chapter on networks)."));
    step(a, book_text(b, "As %.*s it belongs in %.*s: join it to the Wi-Fi \u201c%.*s\u201d.", STR_ARG(like),
                      STR_ARG(segment), STR_ARG(ssid)));
    step(a, STR("If the network takes known devices only, its MAC address goes into the file too (`mac`)."));
    line(a, "devices",
         book_text(b, "new_device: {kind: %.*s, room: %.*s, segment: %.*s, link: wifi}",
                   STR_ARG(b->h->devices.v[d].kind), STR_ARG(room_of(b, d)), STR_ARG(segment)));
}

static struct str cable_line(struct book *b, struct growth_port port, const char *to)
{
    if (port.equipment == NO_REF)
        return STR("");
    return book_text(b, "c_%s: {from: \"%.*s:%u\", to: %s}", to, STR_ARG(b->h->equipment.v[port.equipment].id),
                     port.number, to);
}

static void on_cable(struct book *b, struct growth_addition *a)
{
    const uint32_t d = pattern_of(b->h, LINK_WIRED, NULL);
    const struct growth_port port = growth_free_port(b->draw.ports, 0);
    if (d == NO_REF)
        return;
    a->title = "A device on cable";
    step(a, port_words(b, port, "port"));
    step(a, book_text(b, "The port carries its network untagged: %.*s, as %.*s.", STR_ARG(segment_of(b, d)),
                      STR_ARG(net_device_words(b, d))));
    line(a, "devices",
         book_text(b, "new_wired: {kind: %.*s, room: %.*s, segment: %.*s, link: wired}",
                   STR_ARG(b->h->devices.v[d].kind), STR_ARG(room_of(b, d)), STR_ARG(segment_of(b, d))));
    line(a, "cables", cable_line(b, port, "new_wired"));
}

static void camera(struct book *b, struct growth_addition *a)
{
    enum { CAMERA_CLASS = 3 };
    const uint32_t d = pattern_of(b->h, LINK_WIRED, "camera");
    const struct growth_port port = growth_free_port(b->draw.ports, CAMERA_CLASS);
    if (d == NO_REF)
        return;
    a->title = "A camera";
    step(a, port_words(b, port, "port that feeds class 3"));
    step(a, book_text(b, "Its network is %.*s, as %.*s; nothing outside of it may be reached from there.",
                      STR_ARG(segment_of(b, d)), STR_ARG(net_device_words(b, d))));
    step(a, STR("Add it to `cameras` of the recording: the days that the disk keeps become fewer, and `check` says how "
                "many."));
    step(a, STR("Ask whoever comes into its picture, and keep the neighbours' ground out of it."));
    line(a, "devices",
         book_text(b, "new_camera: {kind: camera, room: %.*s, segment: %.*s, link: wired, poe_class: %d}",
                   STR_ARG(room_of(b, d)), STR_ARG(segment_of(b, d)), CAMERA_CLASS));
    line(a, "cables", cable_line(b, port, "new_camera"));
}

/* A mount meant for an access point that holds nothing; NO_REF: none. */
static uint32_t free_mount(const struct house *h)
{
    for (uint32_t m = 0; m < h->mounts.n; m++) {
        bool is_free = h->mounts.v[m].use & MOUNT_ACCESS_POINT;
        for (uint32_t e = 0; e < h->equipment.n; e++)
            is_free = is_free && h->equipment.v[e].mount.i != m;
        if (is_free)
            return m;
    }
    return NO_REF;
}

static uint32_t access_point_of(const struct house *h)
{
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (h->equipment.v[e].part.i != NO_REF && h->parts.list.v[h->equipment.v[e].part.i].kind == PART_ACCESS_POINT)
            return e;
    return NO_REF;
}

static void access_point(struct book *b, struct growth_addition *a)
{
    const uint32_t like = access_point_of(b->h), mount = free_mount(b->h);
    if (like == NO_REF)
        return;
    const struct part *part = &b->h->parts.list.v[b->h->equipment.v[like].part.i];
    const double class = given_or(part->poe_class_needed, 0.0);
    const struct growth_port port = growth_free_port(b->draw.ports, (int)class);
    a->title = "An access point";
    if (mount == NO_REF)
        step(a, STR("No place that the file keeps for one is free: describe one under `mounts`, or let `rooftree "
                    "design` propose it."));
    else
        step(a, book_text(b, "Free places that the file keeps for one: the first is %.*s.",
                          STR_ARG(book_id_words(b, b->h->mounts.v[mount].id))));
    step(a, port_words(b, port, class > 0.0 ? "port that feeds it" : "port"));
    step(a, STR("`check` judges signal, channels, watts and money anew; then load the settings of its neighbours' "
                "pages of this book."));
    if (mount != NO_REF)
        line(a, "equipment",
             book_text(b, "new_ap: {part: %.*s, mount: %.*s}", STR_ARG(part->id), STR_ARG(b->h->mounts.v[mount].id)));
    if (mount != NO_REF)
        line(a, "cables", cable_line(b, port, "new_ap"));
}

static void person(struct book *b, struct growth_addition *a)
{
    if (!b->h->people.n)
        return;
    const uint32_t d = pattern_of_any(b->h, LINK_WIFI);
    a->title = "A person";
    step(a, STR("Their devices decide: in which network each belongs, and which hours hold for them (chapter on the "
                "week)."));
    if (d != NO_REF)
        step(a,
             book_text(
                 b, "An adult of the household: devices in %.*s; a child, a lodger, a visitor: where theirs are now.",
                 STR_ARG(segment_of(b, d))));
    step(a, STR("A child's devices also go into the groups that statements about hours name."));
    line(a, "people", STR("new_person: {says: New person, kind: adult}"));
    if (d != NO_REF)
        line(a, "devices",
             book_text(
                 b, "new_phone: {kind: phone, owner: new_person, room: %.*s, carried: true, segment: %.*s, link: wifi}",
                 STR_ARG(room_of(b, d)), STR_ARG(segment_of(b, d))));
}

uint32_t growth_additions(struct book *b, struct growth_addition out[GROWTH_ADDITIONS])
{
    static void (*const MAKERS[GROWTH_ADDITIONS])(
        struct book *, struct growth_addition *) = { on_wifi, on_cable, camera, access_point, person };
    uint32_t n = 0;
    for (size_t i = 0; i < RT_COUNT(MAKERS); i++) {
        out[n] = (struct growth_addition){ .title = NULL };
        MAKERS[i](b, &out[n]);
        n += out[n].title != NULL;
    }
    return n;
}

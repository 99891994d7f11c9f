/* design_kit.h - random changes of a house in memory, of the kinds that a design makes, each told as what it means for the file:
 * "set /equipment/a1/mount "landing_ceiling"" and the like, in JSON that is written here and nowhere else. */
#ifndef RT_DESIGN_KIT_H
#define RT_DESIGN_KIT_H

#include <math.h>
#include <string.h>

#include "base/random.h"
#include "base/units.h"
#include "house/house.h"

struct change {
    struct arena *a;
    struct random *r;
    struct house *h;
    struct buf told; /* a line each: set or cut, a blank, the path, a blank, JSON */
    unsigned n_new;
};

/* A copy of a LIST with room for one more. */
#define CHANGE_GROW(c, list)                                                  \
    do {                                                                      \
        void *grown_ = arena_alloc((c)->a, (list)->n + 1, sizeof *(list)->v); \
        if ((list)->n)                                                        \
            memcpy(grown_, (list)->v, (list)->n * sizeof *(list)->v);         \
        memcpy(&(list)->v, &grown_, sizeof grown_);                           \
    } while (0)

static inline struct str change_text(struct change *c, const char *stem)
{
    return str_from(arena_printf(c->a, "%s_%u", stem, c->n_new++));
}

static inline uint32_t change_mount(struct change *c, bool is_for_ap)
{
    uint32_t free_[512], n = 0;
    for (uint32_t m = 0; m < c->h->mounts.n && n < 512; m++) {
        bool is_free = !is_for_ap || (c->h->mounts.v[m].use & MOUNT_ACCESS_POINT);
        for (uint32_t e = 0; e < c->h->equipment.n; e++)
            is_free = is_free && c->h->equipment.v[e].mount.i != m;
        if (is_free)
            free_[n++] = m;
    }
    return n ? free_[random_below(c->r, n)] : NO_REF;
}

static inline uint32_t change_part(struct change *c, enum part_kind kind, enum mount_surface surface)
{
    uint32_t v[256], n = 0;
    for (uint32_t i = 0; i < c->h->parts.list.n; i++)
        if (c->h->parts.list.v[i].kind == kind &&
            (kind != PART_ACCESS_POINT || c->h->parts.list.v[i].surface == surface))
            v[n++] = i;
    return n ? v[random_below(c->r, n)] : NO_REF;
}

static inline uint32_t change_switch(struct change *c)
{
    for (uint32_t e = 0; e < c->h->equipment.n; e++)
        if (c->h->parts.list.v[c->h->equipment.v[e].part.i].kind == PART_SWITCH)
            return e;
    return 0;
}

/* An access point on a mount, and its cable from a switch. */
static inline void change_add_ap(struct change *c, uint32_t mount)
{
    struct house *h = c->h;
    const struct mount *m = &h->mounts.v[mount];
    const uint32_t part = change_part(c, PART_ACCESS_POINT, m->surface), from = change_switch(c);
    const struct ref none = { .i = NO_REF };
    if (part == NO_REF)
        return;
    struct equipment e = { .id = change_text(c, "ap_new"), .says = STR("a box: new, or \"newish\" # 1") };
    e.part.i = part;
    e.mount.i = mount;
    e.floor = m->floor;
    e.room = m->room;
    e.at_m = m->at_m;
    e.faces_deg = m->faces_deg;
    e.tilt_deg = m->tilt_deg;
    e.inside = e.phase = none;
    e.unit = RT_NOT_GIVEN;
    e.air = STR("closed");
    e.tune = true;
    e.segment.i = h->segments.n ? random_below(c->r, h->segments.n) : NO_REF;
    buf_printf(
        &c->told,
        "set /equipment/%.*s {\"says\": \"a box: new, or \\\"newish\\\" # 1\", \"part\": \"%.*s\", \"mount\": \"%.*s\"",
        STR_ARG(e.id), STR_ARG(h->parts.list.v[part].id), STR_ARG(m->id));
    if (e.segment.i != NO_REF)
        buf_printf(&c->told, ", \"segment\": \"%.*s\"", STR_ARG(h->segments.v[e.segment.i].id));
    if (random_below(c->r, 2)) {
        e.radios.v = ARENA_ARRAY(c->a, struct radio_setting, 1);
        e.radios.v[e.radios.n++] = (struct radio_setting){
            .band = h->parts.list.v[part].radios.v[0].band, .channel = 6, .width_mhz = 20, .power_dbm = 13.04
        };
        buf_printf(&c->told, ", \"radios\": [{\"band\": %s, \"channel\": 6, \"width_mhz\": 20, \"power_dbm\": 13}]",
                   band_name(e.radios.v[0].band));
    }
    buf_text(&c->told, "}\n");
    CHANGE_GROW(c, &h->equipment);
    h->equipment.v[h->equipment.n++] = e;
    struct cable k = {
        .id = change_text(c, "c_ap_new"), .part = none, .length_m = RT_NOT_GIVEN, .cord_from_m = 0.5, .cord_to_m = 0.5
    };
    k.from = (struct cable_end){
        .what = h->equipment.v[from].id, .equipment = from, .device = NO_REF, .port = RT_NOT_GIVEN
    };
    k.to = (struct cable_end){ .what = e.id, .equipment = h->equipment.n - 1, .device = NO_REF, .port = 1 };
    k.part.i = change_part(c, PART_CABLE, 0);
    buf_printf(&c->told,
               "set /cables/%.*s {\"from\": \"%.*s\", \"to\": \"%.*s:1\", \"part\": \"%.*s\", \"cord_to_m\": 0.5}\n",
               STR_ARG(k.id), STR_ARG(k.from.what), STR_ARG(e.id), STR_ARG(h->parts.list.v[k.part.i].id));
    CHANGE_GROW(c, &h->cables);
    h->cables.v[h->cables.n++] = k;
}

/* A mount that the file does not have, in the middle of a room, to a tenth of a millimetre. */
static inline uint32_t change_add_mount(struct change *c)
{
    struct house *h = c->h;
    const struct ref none = { .i = NO_REF };
    uint32_t room = random_below(c->r, h->rooms.n);
    struct mount m = { .id = change_text(c, "m_new"), .room = none, .floor = none };
    m.room.i = room;
    m.floor = h->rooms.v[room].floor;
    const struct vec2 at_m = polygon_centre(h->rooms.v[room].outline);
    m.at_m = (struct vec3){ at_m.x + 0.0123, at_m.y - 0.0049, 2.0 };
    m.surface = SURFACE_CEILING;
    m.faces_deg = RT_NOT_GIVEN;
    m.use = MOUNT_ACCESS_POINT;
    m.price = 25;
    buf_printf(&c->told,
               "set /mounts/%.*s {\"room\": \"%.*s\", \"at_m\": [%.3f, %.3f, 2], \"surface\": \"ceiling\", \"use\": "
               "[\"access_point\"], \"price\": 25}\n",
               STR_ARG(m.id), STR_ARG(h->rooms.v[room].id), m.at_m.x, m.at_m.y);
    CHANGE_GROW(c, &h->mounts);
    h->mounts.v[h->mounts.n++] = m;
    return h->mounts.n - 1;
}

static inline void change_move(struct change *c)
{
    struct house *h = c->h;
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        const uint32_t to = change_mount(c, true);
        if (!h->equipment.v[e].movable || to == NO_REF)
            continue;
        CHANGE_GROW(c, &h->equipment);
        struct equipment *x = &h->equipment.v[e];
        x->mount.i = to;
        x->floor = h->mounts.v[to].floor;
        x->room = h->mounts.v[to].room;
        x->at_m = h->mounts.v[to].at_m;
        x->faces_deg = h->mounts.v[to].faces_deg;
        x->tilt_deg = h->mounts.v[to].tilt_deg;
        buf_printf(&c->told, "set /equipment/%.*s/mount \"%.*s\"\n", STR_ARG(x->id), STR_ARG(h->mounts.v[to].id));
    }
}

static inline void change_channel(struct change *c)
{
    struct house *h = c->h;
    const uint32_t e = random_below(c->r, h->equipment.n);
    CHANGE_GROW(c, &h->equipment);
    struct equipment *x = &h->equipment.v[e];
    if (!x->radios.n)
        return;
    CHANGE_GROW(c, &x->radios);
    const uint32_t i = random_below(c->r, x->radios.n);
    struct radio_setting *s = &x->radios.v[i];
    s->channel = s->band == BAND_2G4 ? 1 + random_below(c->r, 11) : 36 + 4 * random_below(c->r, 4);
    s->power_dbm = 10 + 0.26 * random_below(c->r, 20);
    buf_printf(&c->told, "set /equipment/%.*s/radios/%u/channel %.0f\nset /equipment/%.*s/radios/%u/power_dbm %.1f\n",
               STR_ARG(x->id), i, s->channel, STR_ARG(x->id), i, s->power_dbm);
}

static inline void change_battery(struct change *c)
{
    struct house *h = c->h;
    const struct ref none = { .i = NO_REF };
    struct battery b = { .id = change_text(c, "battery_new"),
                         .room = none,
                         .part = none,
                         .capacity_wh = RT_NOT_GIVEN,
                         .temperature_degc = 20 };
    b.part.i = change_part(c, PART_BATTERY, 0);
    b.room.i = 0;
    b.feeds.v = ARENA_ARRAY(c->a, struct str, 2);
    b.feeds.v[b.feeds.n++] = STR("line");
    b.feeds.v[b.feeds.n++] = h->equipment.v[change_switch(c)].id;
    buf_printf(&c->told,
               "set /batteries/%.*s {\"part\": \"%.*s\", \"room\": \"%.*s\", \"feeds\": [\"line\", \"%.*s\"]}\n",
               STR_ARG(b.id), STR_ARG(h->parts.list.v[b.part.i].id), STR_ARG(h->rooms.v[0].id), STR_ARG(b.feeds.v[1]));
    CHANGE_GROW(c, &h->batteries);
    h->batteries.v[h->batteries.n++] = b;
}

/* A thing goes, with its cables. */
static inline void change_remove(struct change *c)
{
    struct house *h = c->h;
    const uint32_t gone = h->equipment.n - 1;
    const struct equipment *e = &h->equipment.v[gone];
    bool is_named = h->parts.list.v[e->part.i].kind != PART_ACCESS_POINT;
    for (uint32_t b = 0; b < h->batteries.n; b++)
        for (uint32_t i = 0; i < h->batteries.v[b].feeds.n; i++)
            is_named |= str_eq(h->batteries.v[b].feeds.v[i], e->id);
    for (uint32_t i = 0; i < h->ssids.n; i++)
        is_named |= h->ssids.v[i].equipment.n > 0;
    if (is_named || gone == 0)
        return;
    buf_printf(&c->told, "cut /equipment/%.*s\n", STR_ARG(e->id));
    CHANGE_GROW(c, &h->cables);
    uint32_t n = 0;
    for (uint32_t k = 0; k < h->cables.n; k++) {
        const struct cable *cable = &h->cables.v[k];
        if (cable->from.equipment == gone || cable->to.equipment == gone)
            buf_printf(&c->told, "cut /cables/%.*s\n", STR_ARG(cable->id));
        else
            h->cables.v[n++] = *cable;
    }
    h->cables.n = n;
    h->equipment.n--;
}

static inline void change_segments(struct change *c)
{
    struct house *h = c->h;
    if (!h->segments.n || !h->devices.n)
        return;
    struct segment s = { .id = change_text(c, "seg_new"), .says = STR("what is new"), .vlan = 300 + c->n_new };
    buf_printf(&c->told, "set /segments/%.*s {\"says\": \"what is new\", \"vlan\": %.0f}\n", STR_ARG(s.id), s.vlan);
    CHANGE_GROW(c, &h->segments);
    h->segments.v[h->segments.n++] = s;
    struct statement line = { .hours = { .i = NO_REF } };
    line.from.v = ARENA_ARRAY(c->a, struct endpoint, 1);
    line.to.v = ARENA_ARRAY(c->a, struct endpoint, 1);
    line.from.v[line.from.n++] = (struct endpoint){ .kind = END_SEGMENT, .i = h->segments.n - 1, .name = s.id };
    line.to.v[line.to.n++] = (struct endpoint){ .kind = END_INTERNET, .i = NO_REF, .name = STR("internet") };
    buf_printf(&c->told, "set /statements/- {\"from\": [\"%.*s\"], \"to\": [\"internet\"]}\n", STR_ARG(s.id));
    CHANGE_GROW(c, &h->statements);
    h->statements.v[h->statements.n++] = line;
}

static inline void change_mesh(struct change *c)
{
    const double channel = 11 + random_below(c->r, 16);
    if (channel == c->h->mesh.channel)
        return;
    c->h->mesh.channel = channel;
    buf_printf(&c->told, "set /mesh/channel %.0f\n", channel);
}

static inline void change_recording(struct change *c)
{
    struct house *h = c->h;
    if (!h->recordings.n)
        return;
    CHANGE_GROW(c, &h->recordings);
    h->recordings.v[0].disk_gb = 1000 + random_below(c->r, 3000);
    buf_printf(&c->told, "set /recordings/%.*s/disk_gb %.0f\n", STR_ARG(h->recordings.v[0].id),
               h->recordings.v[0].disk_gb);
}

/* A house after some changes; `told` says what they are. */
static inline struct house *change_house(struct arena *a, struct random *r, const struct house *h, struct buf *told)
{
    struct change c = { .a = a, .r = r, .h = ARENA_NEW(a, struct house), .told = { .arena = a } };
    *c.h = *h;
    const uint32_t n = 1 + random_below(r, 5);
    if (random_below(r, 3) == 0)
        change_remove(&c);
    for (uint32_t i = 0; i < n; i++) {
        const uint32_t which = random_below(r, 9), free_ = change_mount(&c, true);
        if (which == 0 && free_ != NO_REF)
            change_add_ap(&c, free_);
        else if (which == 1)
            change_add_ap(&c, change_add_mount(&c));
        else if (which == 2)
            change_move(&c);
        else if (which == 3 || which == 8)
            change_channel(&c);
        else if (which == 4)
            change_battery(&c);
        else if (which == 5)
            change_segments(&c);
        else if (which == 6)
            change_mesh(&c);
        else if (which == 7)
            change_recording(&c);
    }
    *told = c.told;
    return c.h;
}

#endif

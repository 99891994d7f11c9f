/* What is not wrong, but makes the answers weaker than they look. */
#include "base/units.h"
#include "data/channels.h"
#include "data/materials.h"
#include "house/field_int.h"
#include "house/model_int.h"

/* From the first to the last channel of a band. */
static bool covers_band(const struct material *m, enum band band)
{
    uint32_t n;
    const struct channel_block *blocks = channel_blocks(&n);
    bool ok = true;
    for (uint32_t i = 0; i < n; i++)
        if (blocks[i].band == band)
            ok = ok && material_covers(m, channel_centre_hz(band, blocks[i].first)) &&
                 material_covers(m, channel_centre_hz(band, blocks[i].last));
    return ok;
}

static bool is_measured_in(const struct construct *c, enum band band)
{
    static const double BAND_GHZ[BAND_COUNT] = { [BAND_2G4] = 2.4, [BAND_5G] = 5, [BAND_6G] = 6 };
    for (uint32_t i = 0; i < c->measured.n; i++)
        if (c->measured.v[i].band_ghz == BAND_GHZ[band])
            return true;
    return false;
}

/* A loss measured through the whole construct makes up for a layer that nobody knows. */
static void warn_of_layer(struct reader *rd, const struct construct *c, uint32_t k)
{
    const struct layer *layer = &c->layers.v[k];
    const struct material *m = material_find(layer->material);
    if (!m)
        return;
    struct buf bands = { .arena = rd->arena };
    uint32_t n_left = 0;
    bool is_unknown[BAND_COUNT];
    for (int b = 0; b < BAND_COUNT; b++) {
        is_unknown[b] = !covers_band(m, (enum band)b) && !is_measured_in(c, (enum band)b);
        n_left += is_unknown[b];
    }
    if (n_left == 0)
        return;
    for (int b = 0; b < BAND_COUNT; b++)
        if (is_unknown[b]) {
            buf_printf(&bands, "%s%s", band_name((enum band)b), n_left > 2 ? ", " : n_left == 2 ? " and " : "");
            n_left--;
        }
    if (bands.failed) {
        reader_no_memory(rd);
        return;
    }
    rt_warn(rd->p, RT_MISSING, layer->at,
            "take a material that is known there (wood, chipboard, glass ...), or say what was measured straight "
            "through the construct: 'measured: [{band_ghz: 5, loss_db: ...}]'",
            "construct '%.*s': layer %u: no published values of '%.*s' are known at %s GHz; those of other "
            "frequencies stand in for them",
            STR_ARG(c->id), (unsigned)k + 1, STR_ARG(layer->material), bands.p);
}

/* A mount is one place: what is fixed there leaves none for a second thing. */
static void warn_of_shared_mounts(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 1; i < h->equipment.n; i++) {
        const struct equipment *e = &h->equipment.v[i];
        const struct yaml_node *node = section_value(rd, "equipment", i, "mount");
        for (uint32_t k = 0; k < i && e->mount.i != NO_REF && !reader_is_full(rd); k++)
            if (h->equipment.v[k].mount.i == e->mount.i) {
                rt_warn(rd->p, RT_CONFLICT, node ? node->at : e->at, "give it a mount of its own, or a room and 'at_m'",
                        "equipment '%.*s': mount '%.*s' holds '%.*s' already", STR_ARG(e->id),
                        STR_ARG(h->mounts.v[e->mount.i].id), STR_ARG(h->equipment.v[k].id));
                break;
            }
    }
}

/* ---- batteries ---- */

enum { FAR_NAMED = 3 };

/* Where something stands that has a plug; NO_REF: nobody says, or its power comes over its data cable. */
static uint32_t room_of_plug(const struct house *h, struct str id)
{
    const uint32_t e = house_find_equipment(h, id), d = house_find_device(h, id);
    if (e != NO_REF) {
        const uint32_t part = h->equipment.v[e].part.i;
        return part != NO_REF && is_given(h->parts.list.v[part].poe_class_needed) ? NO_REF : h->equipment.v[e].room.i;
    }
    if (d != NO_REF) {
        const struct device *q = &h->devices.v[d];
        const uint32_t part = q->part.n ? parts_find(&h->parts, q->part) : NO_REF;
        const bool is_fed = is_given(q->poe_class) || (part != NO_REF && q->link == LINK_WIRED &&
                                                       is_given(h->parts.list.v[part].poe_class_needed));
        return is_fed ? NO_REF : q->room.i;
    }
    const struct line *l = &h->line;
    if (!l->at.line || l->floor.i == NO_REF || !is_given(l->at_m.x))
        return NO_REF;
    return house_room_at(h, l->floor.i, (struct vec2){ l->at_m.x, l->at_m.y });
}

/* What is fed stands in another room: a lead has to be laid to it, which nothing in the file does. */
static void warn_of_battery(struct reader *rd, const struct house *h, const struct battery *b)
{
    struct buf far = { .arena = rd->arena };
    uint32_t n = 0;
    for (uint32_t i = 0; i < b->feeds.n && b->room.i != NO_REF; i++) {
        const struct str id = b->feeds.v[i];
        const uint32_t room = room_of_plug(h, id);
        const bool is_line = house_find_equipment(h, id) == NO_REF && house_find_device(h, id) == NO_REF;
        if (room == NO_REF || room == b->room.i || n++ >= FAR_NAMED)
            continue;
        buf_text(&far, n > 1 ? ", " : "");
        if (is_line)
            buf_text(&far, "the line's box");
        else
            buf_printf(&far, "'%.*s'", STR_ARG(id));
        buf_printf(&far, " ('%.*s')", STR_ARG(h->rooms.v[room].id));
    }
    if (n > FAR_NAMED)
        buf_printf(&far, " and %u more", (unsigned)n - FAR_NAMED);
    if (far.failed)
        reader_no_memory(rd);
    else if (n)
        rt_warn(rd->p, RT_CONFLICT, b->at,
                "see that a lead reaches there from the battery, or put a battery beside them",
                "battery '%.*s' (room '%.*s') feeds what stands in other rooms: %.*s", STR_ARG(b->id),
                STR_ARG(h->rooms.v[b->room.i].id), STR_ARG(buf_done(&far)));
}

void house_warn(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 0; i < h->batteries.n; i++)
        warn_of_battery(rd, h, &h->batteries.v[i]);
    for (uint32_t i = 0; i < h->constructs.n; i++)
        for (uint32_t k = 0; k < h->constructs.v[i].layers.n && !h->constructs.v[i].is_built_in; k++)
            warn_of_layer(rd, &h->constructs.v[i], k);
    house_warn_of_walls(rd, h);
    warn_of_shared_mounts(rd, h);
    const struct yaml_node *currency = yaml_get(rd->root, "currency");
    if (currency && h->parts.currency.n && h->currency.n && !str_eq(h->parts.currency, h->currency))
        rt_warn(rd->p, RT_CONFLICT, currency->at, "use a parts file with prices in the house's currency",
                "the house reckons in %.*s, but the parts file in %.*s: costs cannot be told", STR_ARG(h->currency),
                STR_ARG(h->parts.currency));
}

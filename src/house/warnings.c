/* What is not wrong, but makes the answers weaker than they look. */
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

void house_warn(struct reader *rd, const struct house *h)
{
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

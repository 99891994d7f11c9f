/* Neighbours: a channel that its band does not have would be counted as nothing. */
#include "base/units.h"
#include "data/channels.h"
#include "house/field_int.h"
#include "house/model_int.h"

/* "1, 2 ... 13"; "36, 40 ... 64, 100, 104 ... 144 and so on": the 20 MHz channels of a band. */
static const char *channels_words(struct reader *rd, enum band band)
{
    struct buf b = { .arena = rd->arena };
    uint32_t n;
    const struct channel_block *blocks = channel_blocks(&n);
    for (uint32_t i = 0; i < n; i++) {
        const struct channel_block *x = &blocks[i];
        if (x->band != band || x->width_mhz != 20)
            continue;
        buf_printf(&b, "%s%d", b.n ? ", " : "", x->first);
        if (x->last > x->first)
            buf_printf(&b, ", %d ... %d", x->first + x->step, x->last);
    }
    if (b.failed)
        reader_no_memory(rd);
    return b.failed || !b.p ? "" : b.p;
}

/* Was the band read?  Else it stands at its first value, and says nothing of the channel. */
static bool has_band(const struct reader *rd, uint32_t i, enum band band)
{
    const struct yaml_node *node = section_value(rd, "neighbours", i, "band");
    double said, meant;
    return node && node->kind == YAML_WORD && number_parse(node->text, &said) &&
           number_parse(str_from(band_name(band)), &meant) && said == meant;
}

static void check_neighbour(struct reader *rd, const struct house *h, uint32_t i)
{
    const struct neighbour *n = &h->neighbours.v[i];
    const struct spot spot = { NULL, &SHAPE_NEIGHBOUR, n->id, 0 };
    const struct yaml_node *node = section_value(rd, "neighbours", i, "channel");
    if (!is_given(n->channel) || !is_given(n->width_mhz) || !node || !has_band(rd, i, n->band))
        return;
    const int channel = (int)n->channel, width_mhz = (int)n->width_mhz, own_mhz = channel_width_mhz(n->band, channel);
    const char *band = band_name(n->band);
    if (channel_exists(n->band, channel, width_mhz) || channel_around(n->band, channel, width_mhz))
        return;
    if (own_mhz == 0)
        reader_fail(rd, &spot, RT_CONFLICT, node->at,
                    reader_text(rd, "the channels of %s GHz are %s", band, channels_words(rd, n->band)),
                    "the band of %s GHz has no channel %d", band, channel);
    else if (own_mhz > 20)
        reader_fail(rd, &spot, RT_CONFLICT, node->at,
                    reader_text(rd, "write 'width_mhz: %d', or give one of its channels 20 MHz wide", own_mhz),
                    "channel %d of %s GHz is %d MHz wide, not %d MHz", channel, band, own_mhz, width_mhz);
    else
        reader_fail(rd, &spot, RT_CONFLICT, node->at, "write a smaller 'width_mhz', or another channel",
                    "no channel of %s GHz that is %d MHz wide holds channel %d", band, width_mhz, channel);
}

void house_check_heard(struct reader *rd, const struct house *h)
{
    for (uint32_t i = 0; i < h->neighbours.n; i++)
        check_neighbour(rd, h, i);
}

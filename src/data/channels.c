#include "data/channels.h"

#include "base/compiler.h"

/* IEEE 802.11 operating classes.  Numbers and centres read in the ns-3 simulator's wifi-phy-operating-channel.cc (commit
 * 1406464); 6 GHz channel 2 (operating class 136) from memory.  Channel 14 of 2.4 GHz, DSSS only, is left out. */
/* clang-format off */
static const struct channel_block BLOCKS[] = {
    { BAND_2G4,  20,   1,  13,  1 },
    { BAND_2G4,  40,   3,  11,  1 },
    { BAND_5G,   20,  36,  64,  4 }, { BAND_5G,  20, 100, 144,  4 }, { BAND_5G,  20, 149, 177,  4 },
    { BAND_5G,   40,  38,  62,  8 }, { BAND_5G,  40, 102, 142,  8 }, { BAND_5G,  40, 151, 175,  8 },
    { BAND_5G,   80,  42,  58, 16 }, { BAND_5G,  80, 106, 138, 16 }, { BAND_5G,  80, 155, 171, 16 },
    { BAND_5G,  160,  50,  50, 32 }, { BAND_5G, 160, 114, 114, 32 }, { BAND_5G, 160, 163, 163, 32 },
    { BAND_6G,   20,   1, 233,  4 }, { BAND_6G,  20,   2,   2,  4 },
    { BAND_6G,   40,   3, 227,  8 },
    { BAND_6G,   80,   7, 215, 16 },
    { BAND_6G,  160,  15, 207, 32 },
    { BAND_6G,  320,  31, 191, 32 },
};
/* clang-format on */

const struct channel_block *channel_blocks(uint32_t *n)
{
    *n = (uint32_t)RT_COUNT(BLOCKS);
    return BLOCKS;
}

bool channel_exists(enum band band, int channel, int width_mhz)
{
    for (size_t i = 0; i < RT_COUNT(BLOCKS); i++) {
        const struct channel_block *b = &BLOCKS[i];
        if (b->band == band && b->width_mhz == width_mhz && channel >= b->first && channel <= b->last &&
            (channel - b->first) % b->step == 0)
            return true;
    }
    return false;
}

double channel_centre_hz(enum band band, int channel)
{
    switch (band) {
    case BAND_2G4:
        return 1e6 * (2407 + 5 * channel);
    case BAND_5G:
        return 1e6 * (5000 + 5 * channel);
    default:
        return 1e6 * (channel == 2 ? 5935 : 5950 + 5 * channel);
    }
}

int channel_around(enum band band, int primary, int width_mhz)
{
    if (!channel_exists(band, primary, 20))
        return 0;
    if (band == BAND_2G4 && width_mhz == 40)
        return primary <= 7 ? primary + 2 : primary - 2;
    /* A number is 5 MHz, so the 20 MHz channels of a wide one lie within (width - 20) / 10 numbers of its centre. */
    const int reach = (width_mhz - 20) / 10;
    for (int centre = primary - reach; centre <= primary + reach; centre++)
        if (channel_exists(band, centre, width_mhz) && (centre - reach - primary) % 4 == 0)
            return centre;
    return 0;
}

int channel_primary(enum band band, int centre, int width_mhz)
{
    const int reach = (width_mhz - 20) / 10;
    if (width_mhz == 20)
        return channel_exists(band, centre, 20) ? centre : 0;
    for (int primary = centre - reach; primary <= centre + reach; primary++)
        if (channel_around(band, primary, width_mhz) == centre)
            return primary;
    return 0;
}

int channel_width_mhz(enum band band, int channel)
{
    for (size_t i = 0; i < RT_COUNT(BLOCKS); i++)
        if (BLOCKS[i].band == band && channel_exists(band, channel, BLOCKS[i].width_mhz))
            return BLOCKS[i].width_mhz;
    return 0;
}

double mesh_channel_centre_hz(int channel)
{
    /* IEEE 802.15.4-2006 6.1.2.1; read in the ns-3 simulator's lr-wpan-spectrum-value-helper.cc. */
    return 1e6 * (2405 + 5 * (channel - MESH_CHANNEL_FIRST));
}

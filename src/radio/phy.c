#include "radio/phy.h"

#include <math.h>
#include <stddef.h>

#include "base/compiler.h"
#include "data/wifi.h"
#include "radio/noise.h"

/* VHT modes that do not exist although their bits are whole: the encoders could not share them evenly.
 * Source: IEEE 802.11-2016 tables of 21.5, from memory. */
static const struct {
    int width_index, streams, mcs;
} VHT_GAPS[] = { { 2, 3, 6 }, { 2, 7, 6 }, { 2, 6, 9 }, { 3, 3, 9 } };

bool phy_mode_exists(struct phy_mode m)
{
    if (m.phy < PHY_N || m.phy > PHY_BE || m.width_index < 0 || m.width_index >= WIFI_WIDTHS)
        return false;
    const struct wifi_generation *g = wifi_generation(m.phy);
    if (g->data_tones[m.width_index] == 0 || m.streams < 1 || m.streams > g->streams_max || m.mcs < 0 ||
        m.mcs > g->mcs_top)
        return false;
    if (m.phy != PHY_AC)
        return true;
    for (size_t i = 0; i < RT_COUNT(VHT_GAPS); i++)
        if (m.width_index == VHT_GAPS[i].width_index && m.streams == VHT_GAPS[i].streams && m.mcs == VHT_GAPS[i].mcs)
            return false;
    /* VHT allows whole bits only; this rules out MCS 9 at 20 MHz for most numbers of streams. */
    const struct wifi_mcs *c = wifi_mcs(m.mcs);
    return g->data_tones[m.width_index] * c->bits_per_tone * m.streams * c->coded_of % c->coded_from == 0;
}

int phy_bits_per_symbol(struct phy_mode m)
{
    const struct wifi_mcs *c = wifi_mcs(m.mcs);
    const int coded_bits = wifi_generation(m.phy)->data_tones[m.width_index] * c->bits_per_tone * m.streams;
    return coded_bits * c->coded_of / c->coded_from;
}

double phy_symbol_s(struct phy_mode m)
{
    const struct wifi_generation *g = wifi_generation(m.phy);
    return g->dft_s + g->guard_s;
}

double phy_rate_bps(struct phy_mode m, double guard_s)
{
    return phy_bits_per_symbol(m) / (wifi_generation(m.phy)->dft_s + guard_s);
}

/* k T B at 20 MHz plus the reference receiver's noise figure is -90.97 dBm; each doubling of the width adds 3.01 dB. */
static double reference_noise_dbm(int width_index)
{
    return noise_floor_dbm(20e6 * (1 << width_index), WIFI_REFERENCE_NOISE_FIGURE_DB);
}

double phy_needed_snr_db(struct phy_mode m)
{
    return wifi_mcs(m.mcs)->sensitivity_dbm[m.width_index] - reference_noise_dbm(m.width_index);
}

int phy_best_mcs(enum phy phy, int width_index, int streams, double stream_snr_db)
{
    struct phy_mode m = { phy, width_index, streams, wifi_generation(phy)->mcs_top };
    const double as_reference_dbm = stream_snr_db + reference_noise_dbm(width_index);
    while (m.mcs >= 0 && (as_reference_dbm < wifi_mcs(m.mcs)->sensitivity_dbm[width_index] || !phy_mode_exists(m)))
        m.mcs--;
    return m.mcs;
}

double phy_stream_snr_db(double snr_db, int streams, int antennas)
{
    return snr_db + 10.0 * log10((double)(antennas - streams + 1) / streams);
}

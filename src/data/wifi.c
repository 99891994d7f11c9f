#include "data/wifi.h"

#include "base/compiler.h"

/* Modulations, code rates: IEEE 802.11-2016 tables of 19.5 and 21.5, 802.11ax-2021 27.5, 802.11be 36.5 (from memory).
 * Sensitivities: the tables of minimum receiver input sensitivity, IEEE 802.11n Table 20-23, 802.11ac Table 22-25, 802.11ax
 * Table 27-51, 802.11be Table 36-67 (table numbers from memory); the values were read in a public simulation of 802.11be
 * (AlexBurgo/IEEE-802.11be-WLAN-Simulation, files mcsFor20.m to mcsFor320.m, commit 0ff222e).
 * Reference rates: IEEE 802.11-2016 10.7.6.5.5, non-HT reference rate of each modulation (from memory). */
/* clang-format off */
static const struct wifi_mcs MCS[WIFI_MCS_COUNT] = {
    {     "BPSK", "1/2",  1, 1, 2, { -82, -79, -76, -73, -70 },  6 },
    {     "QPSK", "1/2",  2, 1, 2, { -79, -76, -73, -70, -67 }, 12 },
    {     "QPSK", "3/4",  2, 3, 4, { -77, -74, -71, -68, -65 }, 18 },
    {   "16-QAM", "1/2",  4, 1, 2, { -74, -71, -68, -65, -62 }, 24 },
    {   "16-QAM", "3/4",  4, 3, 4, { -70, -67, -64, -61, -58 }, 36 },
    {   "64-QAM", "2/3",  6, 2, 3, { -66, -63, -60, -57, -54 }, 48 },
    {   "64-QAM", "3/4",  6, 3, 4, { -65, -62, -59, -56, -53 }, 54 },
    {   "64-QAM", "5/6",  6, 5, 6, { -64, -61, -58, -55, -52 }, 54 },
    {  "256-QAM", "3/4",  8, 3, 4, { -59, -56, -53, -50, -47 }, 54 },
    {  "256-QAM", "5/6",  8, 5, 6, { -57, -54, -51, -48, -45 }, 54 },
    { "1024-QAM", "3/4", 10, 3, 4, { -54, -51, -48, -45, -42 }, 54 },
    { "1024-QAM", "5/6", 10, 5, 6, { -52, -49, -46, -43, -40 }, 54 },
    { "4096-QAM", "3/4", 12, 3, 4, { -49, -46, -43, -40, -37 }, 54 },
    { "4096-QAM", "5/6", 12, 5, 6, { -46, -43, -40, -37, -34 }, 54 },
};

/* Tones, symbols, guard intervals: IEEE 802.11-2016 clauses 19 (HT) and 21 (VHT), 802.11ax-2021 clause 27 (HE, whole-band
 * resource unit), 802.11be clause 36 (EHT), from memory; the VHT rates they give equal the Linux kernel's table.
 * Preambles: 20 us of legacy fields in all; HT mixed: HT-SIG 8, STF 4, LTF 4 each; VHT: SIG-A 8, STF 4, LTF 4 each, SIG-B 4;
 * HE single user: RL-SIG 4, SIG-A 8, STF 4, LTF 6.4 + 1.6 each (2x); EHT: RL-SIG 4, U-SIG 8, EHT-SIG 8 (two symbols, one user),
 * STF 4, LTF as HE.  HE value read in the ns-3 simulator's reference script, others from memory.
 * Aggregates: 2^16 - 1, 2^20 - 1, 6500631 and 15523200 octets; windows 64, 64, 256, 1024; a compressed block acknowledgement is
 * 24 octets and its bitmap (from memory). */
static const struct wifi_generation GENERATIONS[PHY_COUNT] = {
    [PHY_N]  = { "HT",  "n",   7, 4, {  52, 108,   0,    0,    0 },  3.2e-6, 0.8e-6, 32e-6, 4e-6, 0,        65535,   64,  32 },
    [PHY_AC] = { "VHT", "ac",  9, 8, {  52, 108, 234,  468,    0 },  3.2e-6, 0.8e-6, 32e-6, 4e-6, 4e-6,   1048575,   64,  32 },
    [PHY_AX] = { "HE",  "ax", 11, 8, { 234, 468, 980, 1960,    0 }, 12.8e-6, 0.8e-6, 36e-6, 8e-6, 0,      6500631,  256,  56 },
    [PHY_BE] = { "EHT", "be", 13, 8, { 234, 468, 980, 1960, 3920 }, 12.8e-6, 0.8e-6, 44e-6, 8e-6, 0,     15523200, 1024, 152 },
};
/* clang-format on */

const struct wifi_mcs *wifi_mcs(int mcs) { return &MCS[mcs]; }

const struct wifi_generation *wifi_generation(enum phy phy) { return &GENERATIONS[phy]; }

int wifi_width_index(double width_mhz)
{
    for (int i = 0; i < WIFI_WIDTHS; i++)
        if (width_mhz == 20 << i)
            return i;
    return -1;
}

int wifi_training_fields(int streams)
{
    /* IEEE 802.11-2016 Table 21-13, from memory: orthogonal cover codes exist for these lengths only. */
    static const int FIELDS[WIFI_STREAMS_MAX] = { 1, 2, 4, 4, 6, 6, 8, 8 };
    return FIELDS[streams - 1];
}

/* wifi.h - the generations of IEEE 802.11 as numbers: tones, symbols, modulations, sensitivities.
 *
 * Everything a data rate, an airtime or a choice of modulation is computed from; no rate is stored.  Sources stand beside
 * the tables in wifi.c.  Widths are 20 << i MHz for i in 0 .. WIFI_WIDTHS - 1. */
#ifndef RT_DATA_WIFI_H
#define RT_DATA_WIFI_H

#include "data/wireless.h"

enum { WIFI_WIDTHS = 5, WIFI_MCS_COUNT = 14, WIFI_STREAMS_MAX = 8 };

/* One step of modulation and coding, the same in all generations that have it. */
struct wifi_mcs {
    const char *modulation, *coding;
    int bits_per_tone;
    int coded_of, coded_from; /* code rate as a fraction */
    /* Weakest level at each receive antenna at which at most 10 % of frames of 4096 octets are lost, by width. */
    double sensitivity_dbm[WIFI_WIDTHS];
    /* Rate whose modulation a response follows: the non-HT reference rate. */
    double reference_mbps;
};

/* One generation. */
struct wifi_generation {
    const char *name;   /* of its PHY: HT, VHT, HE, EHT */
    const char *letter; /* of the amendment: n, ac, ax, be */
    int mcs_top;
    int streams_max;
    int data_tones[WIFI_WIDTHS]; /* 0: the width does not exist */
    double dft_s;                /* length of a symbol without its guard interval */
    double guard_s;              /* the guard interval every receiver supports */
    double preamble_s;           /* all before the training fields of the streams */
    double training_s;           /* one training field */
    double after_training_s;     /* fields between training and data */
    double aggregate_max_bytes;  /* of one frame of many packets (A-MPDU) */
    int window;                  /* packets one block acknowledgement answers */
    double block_ack_bytes;      /* with a bitmap for that window */
};

/* mcs in 0 .. WIFI_MCS_COUNT - 1. */
const struct wifi_mcs *wifi_mcs(int mcs);
const struct wifi_generation *wifi_generation(enum phy phy);
/* Index i of a width of 20 << i MHz, or -1. */
int wifi_width_index(double width_mhz);
/* Training fields that n streams need (1, 2, 4, 4, 6, 6, 8, 8). */
int wifi_training_fields(int streams);

/* The noise figure of the reference receiver behind the sensitivities; the loss of its making, 5 dB, is part of them. */
#define WIFI_REFERENCE_NOISE_FIGURE_DB 10.0

#endif

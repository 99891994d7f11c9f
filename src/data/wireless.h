/* wireless.h - the words for bands and generations of IEEE 802.11 that the model and the tables share. */
#ifndef RT_DATA_WIRELESS_H
#define RT_DATA_WIRELESS_H

/* A band of IEEE 802.11 use. */
enum band { BAND_2G4, BAND_5G, BAND_6G, BAND_COUNT };
/* IEEE 802.11n, ac, ax, be: HT, VHT, HE, EHT. */
enum phy { PHY_N, PHY_AC, PHY_AX, PHY_BE };
enum { PHY_COUNT = PHY_BE + 1 };

#endif

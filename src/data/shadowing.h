/* shadowing.h - how far levels scatter about their local mean in dwellings. */
#ifndef RT_DATA_SHADOWING_H
#define RT_DATA_SHADOWING_H

/* Standard deviation of log-normal shadowing in dwellings, dB.
 * Source: ITU-R P.1238-8 to -10, table of shadow fading statistics, residential, 1.8 to 2 GHz (from memory; the
 * Recommendation could not be opened).  It is the only row for dwellings, so it serves 2.4, 5 and 6 GHz alike. */
#define SHADOWING_RESIDENTIAL_DB 8.0

#endif

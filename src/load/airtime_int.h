/* airtime_int.h - shared by the sources of airtime.h. */
#ifndef RT_LOAD_AIRTIME_INT_H
#define RT_LOAD_AIRTIME_INT_H

#include "load/airtime.h"

/* The station at which a source's state uses the radio: the source's device or the other end; NULL: neither is on it. */
const struct station *air_station_of(const struct airtime *a, uint32_t radio, const struct demand_source *source,
                                     const struct demand_state *state);
/* Share of the time that a use takes while it lasts. */
double air_share_of_use(const struct airtime *a, uint32_t radio, const struct load_use *u);

#endif

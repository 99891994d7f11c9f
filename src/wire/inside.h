/* inside.h - devices that stand in a cabinet, by their place. */
#ifndef RT_WIRE_INSIDE_H
#define RT_WIRE_INSIDE_H

#include "house/house.h"

struct cabinet_size {
    double w_m, h_m, d_m;
    bool is_known;
};

/* Of the part; of one that does not say by its rack units, or 0.4 m high: 0.57 m wide, 0.45 m deep (common practice, no source). */
struct cabinet_size cabinet_size_of(const struct house *h, uint32_t cabinet);
/* The cabinet (of equipment) within whose box the device's place lies; NO_REF: none. */
uint32_t cabinet_of_device(const struct house *h, uint32_t device);

#endif

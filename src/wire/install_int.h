/* install_int.h - shared by the sources of install.h. */
#ifndef RT_WIRE_INSTALL_INT_H
#define RT_WIRE_INSTALL_INT_H

#include "wire/install.h"

/* Numbers, dimensions and diameters of all work. */
void install_place_work(struct install *in);
/* From the two nearest walls in sight that do not run alongside; how many there are. */
uint32_t install_dims_at(const struct house *h, uint32_t floor, struct vec2 at_m, struct install_dim *dims);

#endif

/* other_parts.h - a house as if its parts file were another: what a change of the parts would lead to. */
#ifndef RT_HOUSE_OTHER_PARTS_H
#define RT_HOUSE_OTHER_PARTS_H

#include "house/house.h"

/* house_read_bytes() as if the parts file that the house names held these bytes (p NULL: those of the file). */
RT_MUST_CHECK enum rt_code house_read_bytes_with(const struct run *run, const char *path, struct str bytes,
                                                 struct str parts_bytes, struct house **out, struct rt_problems *p);

#endif

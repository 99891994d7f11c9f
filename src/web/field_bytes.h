/* field_bytes.h - a field as the page gets it: a head of 64 bytes and a float for each node, all little-endian.
 *
 *   byte  0  "RTFD"
 *         4  uint32   version of this form, 1
 *         8  uint32   bytes before the values, 64
 *        12  uint32   columns
 *        16  uint32   rows
 *        20  uint32   the house's revision
 *        24  float64  step between nodes, m
 *        32  float64  x of the first node, m
 *        40  float64  y of the first node, m
 *        48  float64  z of all, m above the datum
 *        56  float32  the least value, NaN where there is none
 *        60  float32  the largest
 *        64  float32  the values, row after row from the first node, y rising; NaN: nothing is known there */
#ifndef RT_WEB_FIELD_BYTES_H
#define RT_WEB_FIELD_BYTES_H

#include "base/str.h"

enum { FIELD_BYTES_HEAD = 64, FIELD_BYTES_VERSION = 1 };

struct field_nodes {
    uint32_t columns, rows;
    double step_m, x0_m, y0_m, z_m;
    const float *v; /* [rows][columns] */
};

/* Empty: the arena's ceiling. */
struct str field_bytes(struct arena *a, const struct field_nodes *f, int64_t revision);

#endif

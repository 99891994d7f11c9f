/* constructs.h - the library of walls, floors, roofs, doors and windows that a house file may use by name.
 *
 * Each has its layers, from one face to the other, and what was measured through such a thing square on: a middle value
 * and the least and the most one should expect, per band.  Where nothing stands under measured, the layers alone decide.
 * Measured values carry their source; a value that is nobody's measurement says so. */
#ifndef RT_DATA_CONSTRUCTS_H
#define RT_DATA_CONSTRUCTS_H

#include <stdint.h>

#include "base/str.h"

struct built_in_layer {
    const char *material; /* a name of materials.h */
    double thickness_m;
};

/* Loss at normal incidence in one band: low_db (hopeful) <= loss_db (middle) <= high_db (careful). */
struct built_in_measured {
    double band_ghz; /* 2.4, 5 or 6 */
    double loss_db, low_db, high_db;
    const char *source;
};

struct built_in_construct {
    const char *id;
    const char *says; /* for a householder */
    const struct built_in_layer *layers;
    uint32_t n_layers;
    const struct built_in_measured *measured; /* in order of bands */
    uint32_t n_measured;
};

uint32_t built_in_construct_count(void);
/* i below built_in_construct_count(). */
const struct built_in_construct *built_in_construct_get(uint32_t i);
/* The construct of that name, or NULL. */
const struct built_in_construct *built_in_construct_find(struct str id);

#endif

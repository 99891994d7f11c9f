/* field_raster.h - the field of one sheet between the cells of its grid: for the eye, and for its contour lines.
 *
 * Between cell centres the gain (dB) of each radio follows the uniform quadratic B-spline; a cell has a say only in its
 * own room or where no wall stands between, so that the jump at a wall stays a jump.  Each room is a patch with a finer
 * lattice that reaches a little beyond its outline, to be cut there when drawn. */
#ifndef RT_DRAW_FIELD_RASTER_H
#define RT_DRAW_FIELD_RASTER_H

#include "draw/contour.h"
#include "draw/draw.h"

/* What a gain is worth to the device; it never falls as the gain rises. */
enum raster_quantity { RASTER_LEVEL_DBM, RASTER_RATE_MBPS };

struct raster_radio {
    const struct ap_radio *ap;
    uint32_t radio;         /* index into fields->radios */
    double offset_db;       /* level = gain + offset */
    const float *rate_mbps; /* by gain; NULL for levels */
};

struct raster_patch {
    uint32_t room;        /* NO_REF: what lies outside of rooms; its lattice spans the floor */
    struct lattice shape; /* v unset */
    float **gain_db;      /* [radios.n] -> [ny][nx]; NaN where nothing is known */
};

struct raster {
    const struct draw_options *options;
    enum raster_quantity quantity;
    uint32_t rank;                     /* 0: the best access point at each spot, 1: the second ... */
    LIST(struct raster_radio) radios;  /* of the band, that the device can use, in order of equipment */
    LIST(struct raster_patch) patches; /* the rest first, then the floor's rooms in order */
};

/* Access points that send in a band which the device can use. */
uint32_t raster_count_access_points(const struct fields *f, const struct draw_options *o, enum band band);

/* Builds the raster in the arena; false when its ceiling is reached. */
bool raster_build(struct arena *a, const struct house *h, const struct fields *f, const struct draw_options *o,
                  struct draw_subject subject, enum raster_quantity quantity, uint32_t rank, struct raster *out);

/* The value at a place of a patch's lattice, counted in its steps (0 to nx - 1, 0 to ny - 1; gains are linear between the
 * nodes); NaN where nothing is known. */
double raster_value(const struct raster *r, const struct raster_patch *patch, double ix, double iy);
/* The most that any radio can give however near. */
double raster_most(const struct raster *r);
/* A lattice for contour_trace(): gain to spare before the value falls below `level`, so the line of level 0 is the
 * line of `level` itself even where values go in steps.  NULL when the arena's ceiling is reached. */
float *raster_spare_db(struct arena *a, const struct raster *r, const struct raster_patch *patch, double level);

#endif

/* field.h - propagation from the house's radios to spots and to whole floors.
 *
 * Method (DESIGN section 4): direct ray; specular reflections to `order` by the image method, every leg with its own
 * crossings; diffraction at vertical edges and slab holes by the uniform theory.  Path powers add in the local mean.
 * Gains are from the antenna port of the access point to an isotropic antenna at the spot: they hold the access point's
 * antenna pattern but neither its power nor the device's antenna, so retuning needs no new field. */
#ifndef RT_RADIO_FIELD_H
#define RT_RADIO_FIELD_H

#include <math.h>

#include "radio/ap_radio.h"
#include "radio/scene.h"

struct trace_options {
    int order;              /* 0 to 3 reflections; default 2 */
    bool diffraction;       /* default true */
    enum estimate estimate; /* of wall losses */
    bool vertical;          /* for studies: E along z all the way; default: the mean of all polarisations, for devices
                               are held at any angle and access points have crossed antennas */
};

/* What weak paths that are left out may weigh together at any spot, so that it is missed by the field: about this much at
 * gains above -110 dB (no device hears less), more where waves cancel, less almost everywhere: half of the last digit that is
 * printed.  For a preview, while something is moved, the eye cannot tell a tenth of a dB. */
#define FIELD_MISSING_DB 0.02
#define FIELD_MISSING_IN_PREVIEW_DB 0.2

struct field_options {
    struct trace_options trace;
    double cell_m;     /* default 0.25 */
    double missing_db; /* 0: FIELD_MISSING_DB */
};

/* One floor at one height.  Cell (ix, iy) has its centre at x0_m + (ix + 0.5) * cell_m, likewise y.  Rasters are
 * row-major [ny][nx], y rising with the row. */
struct grid {
    uint32_t floor;
    double x0_m, y0_m, cell_m;
    double height_m; /* above the floor */
    double z_m;      /* above the datum */
    uint32_t nx, ny;
    bool *inside;   /* [ny][nx]: the centre lies within the floor's outline */
    uint32_t *room; /* [ny][nx]: index of the room, NO_REF outside of rooms */
    bool *wanted;   /* [ny][nx]: the field is asked for there; NULL: everywhere inside */
};

struct fields {
    LIST(struct grid) grids; /* in order of floors; several heights of a floor follow each other */
    ap_radio_list radios;
    float **
        gain_db; /* [grid * radios.n + radio] -> [ny][nx]; NaN outside the floor's outline, and where it was not asked for */
    struct field_options options;
};

/* Default grids: every floor at 1.2 m, and at heights_m of the promises where those differ. */
RT_MUST_CHECK enum rt_code grids_of_house(const struct run *run, const struct house *h, double cell_m,
                                          struct fields *out, struct rt_problems *p);

/* The grid of a floor whose height is nearest to the one wanted; NO_REF: the floor has none. */
uint32_t field_grid_at(const struct fields *f, uint32_t floor, double height_m);
/* The cell nearest to a place that has a field; false: the grid has none. */
bool field_nearest_cell(const struct fields *f, uint32_t grid, struct vec2 at_m, uint32_t *ix, uint32_t *iy);

/* ---- a field at some cells only ----
 * Cells are computed by up to 16 neighbours together, and only where one of these is wanted: what stands elsewhere is NaN, never a
 * level.  What is computed is the same to the last bit as in the whole field, whatever else is asked for. */

/* From now on nothing is asked for but what is wanted below.  Before the field is computed.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code fields_want_nothing(const struct run *run, struct fields *f, struct rt_problems *p);
/* The cells of a room; one cell.  Where everything is asked for already nothing changes. */
void fields_want_room(struct fields *f, uint32_t grid, uint32_t room);
void fields_want_cell(struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy);
/* Everything is asked for; is it? */
void fields_want_all(struct fields *f);
bool fields_want_whole(const struct fields *f);
/* Computes what is wanted and not there yet, with the radios and options the field was begun with.  Errors: those of
 * fields_compute(). */
RT_MUST_CHECK enum rt_code fields_compute_more(const struct run *run, const struct scene *s, struct fields *f,
                                               struct rt_problems *p);

/* What walls and edges do to waves, tabulated: all of a field that does not depend on where an access point is.  Made once for a
 * scene while one is dragged, a preview then costs no more than its paths. */
struct field_tables;

/* Tables for radios of these frequencies (bands of one access point follow each other in the list, as from ap_radios_resolve())
 * and the estimate and diffraction of `options`.  They refer to the scene, and live like *out in run->arena.
 * Errors: RT_NOMEM; those of wall_table_build(). */
RT_MUST_CHECK enum rt_code field_tables_build(const struct run *run, const struct scene *s, ap_radio_list radios,
                                              struct trace_options options, struct field_tables **out,
                                              struct rt_problems *p);

/* As fields_compute() below, to the last bit, with tables that were made before, for the same scene, estimate and diffraction.
 * For radios of a frequency they lack the tables are made anew, for this field only. */
RT_MUST_CHECK enum rt_code fields_compute_with(const struct run *run, const struct field_tables *tables,
                                               ap_radio_list radios, struct field_options options, struct fields *out,
                                               struct rt_problems *p);

/* Fills out->gain_db for out->grids and radios (both set before).  Same bytes for any run->n_threads.
 * Errors: RT_NOMEM, RT_CANCELLED. */
RT_MUST_CHECK enum rt_code fields_compute(const struct run *run, const struct house *h, const struct scene *s,
                                          ap_radio_list radios, struct field_options options, struct fields *out,
                                          struct rt_problems *p);

static inline float field_gain_db(const struct fields *f, uint32_t grid, uint32_t radio, uint32_t ix, uint32_t iy)
{
    return f->gain_db[(size_t)grid * f->radios.n + radio][(size_t)iy * f->grids.v[grid].nx + ix];
}

/* False outside the outline, and where the field was not asked for. */
static inline bool field_is_known(const struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy)
{
    return f->radios.n == 0 || !isnan(field_gain_db(f, grid, 0, ix, iy));
}

/* ---- one spot ---- */

enum path_kind { PATH_DIRECT, PATH_REFLECTED, PATH_DIFFRACTED };

struct crossing {
    struct str id; /* wall (and opening), floor, plane or obstacle */
    uint32_t construct;
    double angle_deg; /* of incidence, 0 square on */
    double loss_db;
    struct vec3 at_m;
    bool is_reflection; /* mirrored here; loss_db is then the reflection's */
    bool is_bend; /* bent here at an edge; loss_db is then the bending's against a straight way of the same length */
};

struct path {
    enum path_kind kind;
    int order; /* reflections */
    double length_m;
    double free_space_db;
    double antenna_dbi; /* of the access point, towards this path */
    double gain_db;     /* antenna, free space and all losses; add the power for a level */
    LIST(struct crossing) crossings;
    vec3_list points; /* from antenna to spot, with every bend */
};

typedef LIST(struct path) path_list;

struct wall_tables; /* wall_table.h */

/* All paths from one radio to a spot (z above the datum), strongest first, at most max_paths (0: all).  gain_db is the
 * total over all paths, the same number the field has there.  What walls do is taken from `tables`, where it is kept for the next
 * spot; NULL: for this one only.  Lives in run->arena. */
RT_MUST_CHECK enum rt_code spot_paths(const struct run *run, struct wall_tables *tables, const struct scene *s,
                                      const struct ap_radio *radio, struct vec3 at_m, struct trace_options options,
                                      uint32_t max_paths, path_list *out, double *gain_db, struct rt_problems *p);

#endif

/* beam.h - the fast tracer: the same physics as trace.h, for the cells of a small square at once.
 *
 * A tile is up to 16 neighbouring cells of a grid, its lanes: a square of them, at the rim of a floor often what two squares
 * have there.  For each chain of mirrors and each edge the lanes find their points of bouncing or bending together, and each leg
 * is tested against the planes that the lanes' ends lie on either side of.  All radios at one place (bands of one access point)
 * share this geometry: a beam_f4 holds one number per radio.  Single precision, ratios of power multiplied along the path.
 *
 * Chains are sifted on the way down from a floor's grid over squares of 16 x 16 and 8 x 8 cells to tiles: one is dropped as soon as
 * no point of the square can see its last mirrors' faces in them.
 *
 * Paths too weak to matter are left out.  What a path can bring at most (losses not yet looked at count as none) is weighed
 * against what the tile's cells have already; the weakest candidates go as long as all that went together weighs less than
 * missing_db of field.h.  Where a path and its bent wave nearly cancel, up to four times that may be missing.  Paths are
 * weighed against BEAM_FAINT (a gain of -110 dB) at least: no device hears much less than that. */
#ifndef RT_RADIO_BEAM_H
#define RT_RADIO_BEAM_H

#include "radio/field.h"
#include "radio/scene_int.h"
#include "radio/trace.h"

enum { BEAM_SIDE = 4, BEAM_LANES = BEAM_SIDE * BEAM_SIDE, BEAM_RADIOS = 4, BEAM_BLOCK = 16, BEAM_LEVELS = 4 };
#define BEAM_FAINT 1e-11f

/* One number per radio of an antenna; radios that are not there count 0. */
typedef float beam_f4 __attribute__((vector_size(16)));

/* One complex number per radio. */
struct beam_c4 {
    beam_f4 re, im;
};

struct beam_vec {
    float x, y, z;
};

struct beam_points {
    _Alignas(64) float x[BEAM_LANES], y[BEAM_LANES], z[BEAM_LANES];
};

/* One number per radio and lane. */
struct beam_lanes {
    _Alignas(64) float v[BEAM_RADIOS][BEAM_LANES];
};

/* ---- the scene in single precision, about its middle ---- */

struct beam_side {
    float ax, ay, bx, by;       /* ends */
    float dx, dy, over_length2; /* for the distance */
    float slope;                /* x per y */
};

struct beam_polygon {
    uint32_t n;
    const struct beam_side *sides;
    float tolerance2_m2;
};

struct beam_patch {
    float u0, u1, v0, v1;
    int32_t row;
};

struct beam_face {
    struct beam_vec u, v;
    float ou, ov, u0, u1, v0, v1;
    uint32_t plane;
    int32_t row; /* in the tables */
    int32_t mirrors_on;
    struct beam_polygon outline;
    uint32_t n_cuts, n_patches;
    const struct beam_polygon *cuts;
    const struct beam_patch *patches;
};

struct beam_screen {
    struct beam_vec along, n;
    uint32_t plane;
    uint32_t behind; /* as in the scene */
    int32_t row;
    int32_t mirrors_on;
};

struct beam_edge {
    struct beam_vec from, axis;
    float length_m;
    uint32_t n_screens, n_planes;
    struct beam_screen screens[EDGE_SCREENS_MAX];
    uint32_t planes[EDGE_SCREENS_MAX];
    uint32_t n_touching;
    struct beam_screen touching[EDGE_SCREENS_MAX]; /* what faces have on the edge's line */
};

/* A row of the tables: a construct, or half of it in dB (of the two sides of a solid obstacle each takes half). */
struct beam_row {
    uint32_t construct;
    bool is_half;
};

struct beam_scene {
    const struct scene *scene;
    struct vec3 middle;
    uint32_t n_planes, n_padded; /* a multiple of 16; the padding is never crossed */
    float *nx, *ny, *nz, *d;
    const uint32_t *first_face; /* [n_planes + 1] */
    uint32_t n_faces, n_faces_padded;
    struct beam_face *faces;
    float *box[6];       /* [n_faces_padded]: x, y, z least, then most; the padding is nowhere */
    beam_f4 *low, *high; /* [n_faces]: the same, x, y, z */
    float *plan
        [5]; /* [n_faces_padded]: ends of an upright face seen from above, x, y, x, y; others: the last is PLENTY, else 0 */
    struct beam_edge *edges;
    uint32_t n_rows;
    struct beam_row *rows;
};

RT_MUST_CHECK enum rt_code beam_scene_build(struct arena *a, const struct scene *s, struct beam_scene *out,
                                            struct rt_problems *p);

/* ---- the radios at one place ---- */

/* What the amplitude changes by from one side of an edge to the other, over the angle: [WALL_TABLE_NODES]. */
struct beam_jump {
    int32_t row, other; /* of the screens on either side, -1 none */
    const struct beam_c4 *at;
    beam_f4 most; /* of the amplitude */
};

/* The jumps of all edges whose screens lie in one plane, each kind once. */
struct beam_jump_kind {
    bool is_mirror;
    struct beam_jump jump;
};

/* What the walls do to waves of the frequencies of radios at one place: nothing here depends on the place. */
struct beam_tables {
    uint32_t n_radios;
    double f_hz[BEAM_RADIOS];
    struct trace_options options; /* of which estimate and diffraction matter */
    /* [n_rows][WALL_TABLE_NODES]; powers, then phases (of length 1) as in trace_amplitude(); of half a construct wall_half_at() */
    beam_f4 *pass, *mirror;
    struct beam_c4 *pass_phase, *mirror_phase;
    LIST(struct beam_jump_kind) jumps;
};

/* radios: 1 to BEAM_RADIOS; of them only the frequencies matter. */
RT_MUST_CHECK enum rt_code beam_tables_build(const struct run *run, const struct beam_scene *bs,
                                             const struct ap_radio *radios, uint32_t n_radios,
                                             struct trace_options options, struct beam_tables *out,
                                             struct rt_problems *p);

/* A term of an edge: the wave bent out of the direct path, or out of the one mirrored by a plane that holds the edge. */
struct beam_term {
    uint32_t group; /* 0: direct; 1 + plane */
    uint32_t plane; /* of a screen */
    bool is_mirror;
    int32_t seen_from; /* a mirror: the side of the plane on which the spot must be; 0 either */
    bool is_flat;      /* all screens lie in that plane: `jump` is from behind screen 0 to the other side */
    struct beam_vec image, n;
    struct beam_jump jump; /* without is_flat only `most` */
};

enum { BEAM_TERMS_MAX = 1 + EDGE_SCREENS_MAX };

/* A stretch of the edge's line over which what reaches it from the antenna changes without a jump: of the line's nodes those
 * from `first` to `last`, at even steps, the first and the last at its ends. */
struct beam_stretch {
    float from_m, to_m, nodes_per_m;
    int32_t first, last;
};

/* An edge as the antenna sees it. */
struct beam_edge_in {
    float along_m, flat_m; /* of the antenna along the edge, and from its line */
    uint32_t n_terms;
    struct beam_term terms[BEAM_TERMS_MAX];
    uint32_t n_stretches; /* one after the other; together they hold every point over which a wave bends to a spot */
    const struct beam_stretch *stretches;
    /* [of the last stretch `last`, + 1]: what reaches the nodes, the antenna's gain and what walls leave of the power; its phase */
    const beam_f4 *power;
    const struct beam_c4 *phase;
};

struct beam_chain {
    struct beam_vec image[TRACE_ORDER_MAX]; /* after the first, second, third mirror */
    float image_side_m[TRACE_ORDER_MAX];    /* of image[i] to planes[i] */
    uint32_t planes[TRACE_ORDER_MAX];
    int32_t n;
};

/* Steps of half a degree. */
enum { BEAM_ELEVATIONS = 361, BEAM_AZIMUTHS = 721 };

struct beam_antenna {
    struct vec3 from;
    struct beam_vec at;
    uint32_t n_radios;
    beam_f4 free_space; /* (wavelength / 4 pi)^2 */
    beam_f4 wave_number;
    const float *side_m;              /* [n_padded] of the antenna to the planes */
    const struct beam_tables *tables; /* the members of which follow */
    const beam_f4 *pass, *mirror;
    const struct beam_c4 *pass_phase, *mirror_phase;
    struct beam_vec front, up, right;
    beam_f4 elevation[BEAM_ELEVATIONS + 1];
    beam_f4 *azimuth; /* [BEAM_AZIMUTHS + 1]; NULL: all are round */
    uint32_t n_chains;
    const struct beam_chain *chains;
    const struct beam_edge_in *edges; /* as in the scene */
};

/* A box about all spots that will be asked for, in metres of the house. */
struct beam_box {
    struct vec3 low, high;
};

/* radios: the tables' number of them, of one place and pose.  Refers to the tables. */
RT_MUST_CHECK enum rt_code beam_antenna_build(const struct run *run, const struct beam_scene *bs,
                                              const struct beam_tables *tables, const struct ap_radio *radios,
                                              struct trace_options options, double missing_db, struct beam_box spots,
                                              struct beam_antenna *out, struct rt_problems *p);

/* ---- work of one thread ---- */

/* One end of a leg: a point for every lane, the box about them (least x, y, z, most x, y, z), and the least and most that their
 * sides to the planes can be. */
struct beam_end {
    const struct beam_points *at;
    int n_before; /* of a bounce: at[-1], at[-2] ... are the path's points before it, as many; others: 0 */
    float box[6];
    float *low_m, *high_m; /* [n_padded] */
};

/* A path yet to be traced, and the most that it can bring to a lane over what the lane has. */
struct beam_candidate {
    float weight;
    uint32_t i;
};

struct beam_complex {
    beam_f4 re[BEAM_LANES], im[BEAM_LANES];
};

/* The most that an edge can bring to lanes, without walls and antenna: power, and power by interference (which falls with the
 * root of what walls leave).  Then what walls and the antenna leave. */
struct beam_weighed {
    struct beam_lanes power, crossed;
    beam_f4 legs[BEAM_LANES];
    struct beam_complex phase; /* of the legs; where the group interferes */
    bool any_window;
};

/* A path that is cut off at edges with its bent waves: top of trace.h. */
struct beam_group {
    struct beam_lanes re, im, rest;
    struct beam_lanes parent; /* amplitude of the path itself */
};

struct beam_work {
    const struct beam_scene *bs;
    const struct beam_antenna *antenna;
    struct trace_options options;
    uint32_t *alive[BEAM_LEVELS]; /* chains that may reach the grid, the block, a quarter of it, the tile */
    uint32_t n_alive[BEAM_LEVELS];
    const struct grid *sifted; /* the grid of alive[0] */
    /* the tile */
    struct beam_points at, from;       /* the spots; the antenna in every lane */
    uint32_t active;                   /* bits of lanes */
    beam_f4 sum[BEAM_LANES];           /* power of paths without a group */
    beam_f4 total[BEAM_LANES];         /* all paths found before the edges, roughly: what others are weighed against */
    struct beam_lanes over;            /* 1 / (total + BEAM_FAINT), once the edges' turn has come */
    float may_leave_out, left_out;     /* weights: of what may be left out at a tile, of what was */
    struct beam_candidate *candidates; /* [the more of chains and edges] */
    struct beam_weighed *weighed;      /* [edges] */
    uint32_t *near;                    /* [edges]: the stretch asked for last: the next tile's is not far */
    struct beam_group *groups;         /* [1 + n_planes] */
    uint32_t *touched;                 /* groups in use */
    bool *is_touched;
    uint32_t n_touched;
    struct beam_end start, spot, bounces[TRACE_ORDER_MAX], edge; /* of legs: the antenna, the spots ... */
    int32_t *between;                                            /* [n_padded]: scratch of beam_leg() */
};

RT_MUST_CHECK enum rt_code beam_work_init(struct arena *a, const struct beam_scene *bs,
                                          const struct beam_antenna *antenna, struct trace_options options,
                                          double missing_db, struct beam_work *out, struct rt_problems *p);

/* Gains of all radios at the spots of one tile: out[lane][radio], power ratios.  `active` tells the lanes that matter. */
void beam_tile(struct beam_work *w, const struct beam_points *at, uint32_t active, beam_f4 out[BEAM_LANES]);
/* Keeps from the list of level - 1 (level 0: from all) the chains that may reach the rectangle of those corners. */
void beam_sift(struct beam_work *w, int level, const struct beam_vec corners[4]);

#endif

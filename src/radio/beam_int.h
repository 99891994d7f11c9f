/* beam_int.h - shared by the sources of the fast tracer. */
#ifndef RT_RADIO_BEAM_INT_H
#define RT_RADIO_BEAM_INT_H

#include <string.h>

#include "radio/beam.h"
#include "radio/wall_table.h"

static inline struct beam_vec beam_vec_sub(struct beam_vec a, struct beam_vec b)
{
    return (struct beam_vec){ a.x - b.x, a.y - b.y, a.z - b.z };
}
static inline struct beam_vec beam_vec_add(struct beam_vec a, struct beam_vec b)
{
    return (struct beam_vec){ a.x + b.x, a.y + b.y, a.z + b.z };
}
static inline struct beam_vec beam_vec_scale(struct beam_vec a, float k)
{
    return (struct beam_vec){ a.x * k, a.y * k, a.z * k };
}
static inline float beam_vec_dot(struct beam_vec a, struct beam_vec b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
static inline struct beam_vec beam_vec_cross(struct beam_vec a, struct beam_vec b)
{
    return (struct beam_vec){ a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x };
}
static inline struct beam_vec beam_vec_from(struct vec3 v)
{
    return (struct beam_vec){ (float)v.x, (float)v.y, (float)v.z };
}
static inline struct beam_vec beam_lane(const struct beam_points *p, int lane)
{
    return (struct beam_vec){ p->x[lane], p->y[lane], p->z[lane] };
}

/* fminf() and fmaxf() without their care for NaN, which costs a call. */
static inline float beam_less(float a, float b) { return a < b ? a : b; }
static inline float beam_more(float a, float b) { return a > b ? a : b; }

static inline beam_f4 beam_f4_all(float x) { return (beam_f4){ x, x, x, x }; }
static inline beam_f4 beam_f4_sqrt(beam_f4 x)
{
    return (beam_f4){ sqrtf(x[0]), sqrtf(x[1]), sqrtf(x[2]), sqrtf(x[3]) };
}
/* Element by element. */
static inline beam_f4 beam_f4_most(beam_f4 a, beam_f4 b)
{
    return (beam_f4){ a[0] > b[0] ? a[0] : b[0], a[1] > b[1] ? a[1] : b[1], a[2] > b[2] ? a[2] : b[2],
                      a[3] > b[3] ? a[3] : b[3] };
}
static inline float beam_f4_largest(beam_f4 a)
{
    const float p = a[0] > a[1] ? a[0] : a[1], q = a[2] > a[3] ? a[2] : a[3];
    return p > q ? p : q;
}

static inline struct beam_c4 beam_times(struct beam_c4 a, struct beam_c4 b)
{
    return (struct beam_c4){ a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re };
}

/* What lanes have, by radios, into what radios have, by lanes. */
static inline void beam_by_radio(const beam_f4 in[BEAM_LANES], struct beam_lanes *out)
{
    for (int l = 0; l < BEAM_LANES; l += 4) {
        const beam_f4 a = __builtin_shufflevector(in[l], in[l + 1], 0, 4, 1, 5);
        const beam_f4 b = __builtin_shufflevector(in[l + 2], in[l + 3], 0, 4, 1, 5);
        const beam_f4 c = __builtin_shufflevector(in[l], in[l + 1], 2, 6, 3, 7);
        const beam_f4 d = __builtin_shufflevector(in[l + 2], in[l + 3], 2, 6, 3, 7);
        const beam_f4 rows[BEAM_RADIOS] = { __builtin_shufflevector(a, b, 0, 1, 4, 5),
                                            __builtin_shufflevector(a, b, 2, 3, 6, 7),
                                            __builtin_shufflevector(c, d, 0, 1, 4, 5),
                                            __builtin_shufflevector(c, d, 2, 3, 6, 7) };
        for (int r = 0; r < BEAM_RADIOS; r++)
            memcpy(&out->v[r][l], &rows[r], sizeof rows[r]);
    }
}

/* The place of an angle in a row of the tables. */
struct beam_node {
    uint32_t i;
    float share;
};

static inline struct beam_node beam_node_of(float cos_incidence)
{
    const struct wall_angle a = wall_angle_of(cos_incidence);
    return (struct beam_node){ a.node, a.share };
}

/* The same for all lanes; also between the nodes of an edge's line. */
struct beam_places {
    int32_t node[BEAM_LANES];
    float share[BEAM_LANES]; /* of the next node */
};

static inline beam_f4 beam_look_up(const beam_f4 *table, int32_t row, struct beam_node at)
{
    const beam_f4 *n = table + (size_t)row * WALL_TABLE_NODES + at.i;
    return n[0] + at.share * (n[1] - n[0]);
}

/* The same of complex numbers: n points to those of the place in the tables. */
static inline struct beam_c4 beam_between(const struct beam_c4 *n, float share)
{
    return (struct beam_c4){ n[0].re + share * (n[1].re - n[0].re), n[0].im + share * (n[1].im - n[0].im) };
}

/* Row of what the face has where each lane meets its plane, -1 nothing; returns the bits of lanes that meet something.  `at` are
 * points of the plane. */
uint32_t beam_face_rows(const struct beam_face *f, const struct beam_points *at, int32_t rows[BEAM_LANES]);

/* Fills an end (whose arrays are there) from its points, of a path that has n_before points before these. */
void beam_end_init(const struct beam_scene *bs, const struct beam_points *at, int n_before, struct beam_end *out);

/* Multiplies power[lane] by what the faces between the two ends leave of it, but for those of the given planes.  Unless it is
 * NULL, *phase is turned by the phases of what is passed. */
void beam_leg(const struct beam_work *w, const struct beam_end *a, const struct beam_end *b, const uint32_t *without,
              uint32_t n_without, beam_f4 power[BEAM_LANES], struct beam_complex *phase);

/* Power gain of the antenna towards points; its own place counts as its front. */
void beam_antenna_gains(const struct beam_antenna *a, const struct beam_points *to, beam_f4 gain[BEAM_LANES]);

/* Leaves out the lightest candidates below the limit; returns how many are left, in their order. */
uint32_t beam_choose(struct beam_work *w, uint32_t n, float limit);

struct beam_group *beam_group_of(struct beam_work *w, uint32_t group);

void beam_add_edges(struct beam_work *w);

/* One screen, or two that go on straight behind the edge. */
bool beam_edge_is_flat(const struct beam_edge *e);
/* The jump of such an edge. */
const struct beam_jump *beam_jump_of(const struct beam_tables *t, const struct beam_edge *e, bool is_mirror);

/* ---- edges ---- */

static inline float beam_turn(struct beam_vec axis, struct beam_vec a, struct beam_vec b)
{
    return beam_vec_dot(axis, beam_vec_cross(a, b));
}
/* W of trace.h. */
static inline float beam_window(float apart2)
{
    const float rest = 1.0f - apart2 * (float)(1.0 / TRACE_APART2), up = rest > 0.0f ? rest : 0.0f;
    return up * up * up * up;
}

/* Fills the antenna's view of the edges.  False when memory is short. */
bool beam_look_at_edges(struct arena *a, const struct beam_scene *bs, struct trace_options options, double missing_db,
                        struct beam_box spots, struct beam_antenna *out);
/* What gets from the antenna to the lines of all edges, for spots in that box, as fine as what may be missing asks for.  False
 * when memory is short. */
bool beam_find_arrivals(struct arena *a, const struct beam_scene *bs, double missing_db, struct beam_box spots,
                        const struct beam_antenna *an, struct beam_edge_in *edges);

/* The places of points of the line; those beyond all stretches are at the nearer end.  They are looked for from stretch *near on,
 * which becomes that of the last. */
void beam_find_places(const struct beam_edge_in *in, const float where_m[BEAM_LANES], uint32_t *near,
                      struct beam_places *out);
/* What reaches places of the line. */
void beam_powers_at(const struct beam_edge_in *in, const struct beam_places *at, beam_f4 power[BEAM_LANES]);
void beam_phases_at(const struct beam_edge_in *in, const struct beam_places *at, struct beam_complex *phase);

#endif

/* wall_table.h - what every construct of the house does to a wave, tabulated over the angle of incidence.
 *
 * For one frequency and one estimate: transmission and reflection of TE and TM waves (the electric field at right angles
 * to, and in, the plane of incidence) by the construct's layers (slab.h), where the construct has a measured loss scaled
 * by it:
 *
 *     loss(angle) = slab_loss(angle) * measured(square on) / slab_loss(square on)        in dB, TE and TM alike
 *
 * up to twice the slab; what was measured beyond that is added, the same at every angle.  (The layers' echoes swing with the
 * angle; blown up six times, as a floor that loses 2 dB by its layers and 12 dB by measurement would ask, they would be
 * walls of 50 dB that nobody ever met.  A slab that loses nothing square on could not be scaled at all.)  A measured loss
 * holds over its whole band, is interpolated over the logarithm of frequency between bands and held beyond.  The careful
 * estimate takes high_db, the middle one loss_db, the hopeful one low_db.  Reflection is the layers', weakened where both
 * together would hold more than the whole power.
 *
 * Looking up: powers, so that TE and TM mix as they do in nature and crossings multiply.  Interpolation is within 0.05 dB of
 * the exact value up to 60 dB of loss (transmission), and for reflection within 0.05 dB or 0.3 % of the power that arrives (tested). */
#ifndef RT_RADIO_WALL_TABLE_H
#define RT_RADIO_WALL_TABLE_H

#include <complex.h>
#include <math.h>

#include "house/house.h"

/* Nodes are uniform in sqrt(cos(angle)): fine where grazing waves change fast.  Node 0 is grazing, the last is square on.
 * Each quantity stands in rows of WALL_TABLE_NODES, one row a construct that is used; [0] TE, [1] TM. */
enum { WALL_TABLE_NODES = 1537 };

struct wall_pass {
    float t_abs[2]; /* amplitude that passes, over that of the same way in air; 1e-10 (200 dB) to 1 */
};

struct wall_mirror {
    float r_re[2], r_im[2]; /* amplitude reflected, at the front face */
};

struct wall_phase {
    float t_re[2], t_im[2]; /* direction of the amplitude that passes: length 1 */
};

/* Direction of the amplitude that half of a construct passes, of an unpolarised mean: the root of the whole's.  Of the two roots
 * it is the one that follows from the angle next to it, so that nothing jumps where the whole turns by 180 degrees. */
struct wall_half {
    float re, im;
};

struct wall_table {
    double f_hz;
    enum estimate estimate;
    uint32_t n_constructs;
    const uint32_t *first_node;   /* [n_constructs]: where the construct's row starts; 0 for those not used */
    const struct wall_pass *pass; /* these three: rows of nodes, the first one all zero */
    const struct wall_mirror *mirror;
    const struct wall_phase *phase;
    const struct wall_half *half;    /* rows of nodes; those of solid obstacles' constructs are filled */
    const float *half_thickness_rad; /* [n_constructs]: half the thickness times 2 pi / wavelength */
};

/* Tables of one scene's house that are made when first asked for and kept: by whom asks for many spots. */
struct wall_tables {
    const struct run *run; /* in whose arena they live */
    struct kept_wall_table *first;
};

/* The table for a frequency and an estimate; it lives as long as tables->run's arena.  Errors: those of wall_table_build(). */
RT_MUST_CHECK enum rt_code wall_tables_get(struct wall_tables *tables, const struct house *h, double f_hz,
                                           enum estimate estimate, const struct wall_table **out,
                                           struct rt_problems *p);

/* Tabulates the constructs of the house (same indices as h->constructs) in run->arena.  f_hz > 0.  Constructs that no wall,
 * opening, floor, ceiling, plane or obstacle is made of are not tabulated: they let nothing through and mirror nothing.
 * Errors: RT_NOMEM; RT_UNKNOWN_REF for a material that is not in data/materials.h. */
RT_MUST_CHECK enum rt_code wall_table_build(const struct run *run, const struct house *h, double f_hz,
                                            enum estimate estimate, struct wall_table *out, struct rt_problems *p);

/* The loss square on that was measured, at a frequency, by an estimate; NaN if the construct states none. */
double wall_measured_db(const struct construct *c, double f_hz, enum estimate estimate);

/* ---- looking up ---- */

/* A place between two nodes.  It depends on the angle alone: one serves all tables and constructs. */
struct wall_angle {
    uint32_t node;
    float share; /* of the next node, 0..1 */
};

/* From the cosine of the angle of incidence, 0..1 (values outside are taken as the nearer end). */
static inline struct wall_angle wall_angle_of(float cos_incidence)
{
    const float c = cos_incidence < 0.0f ? 0.0f : cos_incidence > 1.0f ? 1.0f : cos_incidence;
    const float u = sqrtf(c) * (float)(WALL_TABLE_NODES - 1);
    const uint32_t i = (uint32_t)u;
    const uint32_t node = i < WALL_TABLE_NODES - 2 ? i : WALL_TABLE_NODES - 2;
    return (struct wall_angle){ node, u - (float)node };
}

/* Shares of the power, 0..1. */
struct wall_effect {
    float pass, mirror;
};

/* Effect on a wave of which the share te (0..1) of the power is TE, the rest TM.  What is not used costs nothing. */
static inline struct wall_effect wall_effect_at(const struct wall_table *t, uint32_t construct, struct wall_angle angle,
                                                float te)
{
    const size_t i = t->first_node[construct] + angle.node;
    const struct wall_pass *p = &t->pass[i];
    const struct wall_mirror *m = &t->mirror[i];
    float pass[2], mirror[2];
    for (int w = 0; w < 2; w++) {
        const float t_abs = p[0].t_abs[w] + angle.share * (p[1].t_abs[w] - p[0].t_abs[w]);
        const float re = m[0].r_re[w] + angle.share * (m[1].r_re[w] - m[0].r_re[w]);
        const float im = m[0].r_im[w] + angle.share * (m[1].r_im[w] - m[0].r_im[w]);
        pass[w] = t_abs * t_abs;
        mirror[w] = re * re + im * im;
    }
    const float tm = 1.0f - te;
    return (struct wall_effect){ te * pass[0] + tm * pass[1], te * mirror[0] + tm * mirror[1] };
}

static inline struct wall_effect wall_table_at(const struct wall_table *t, uint32_t construct, float cos_incidence,
                                               float te)
{
    return wall_effect_at(t, construct, wall_angle_of(cos_incidence), te);
}

/* Loss of a share of power, at most 200 dB. */
static inline double wall_loss_db(double power) { return -10.0 * log10(fmax(power, 1e-20)); }

/* Amplitudes, [0] TE, [1] TM, with the signs of slab.h.  Both refer to the plane in the middle of the construct, where the
 * scene has its face: t over the same way in air (1 for air), r as if the wave were mirrored at that plane. */
struct wall_amplitudes {
    float complex t[2], r[2];
};

/* For what needs phases (diffraction); slower than wall_effect_at(). */
struct wall_amplitudes wall_amplitudes_at(const struct wall_table *t, uint32_t construct, float cos_incidence);

/* The half's direction (of length 1 nearly) for a construct of a solid obstacle. */
static inline float complex wall_half_at(const struct wall_table *t, uint32_t construct, float cos_incidence)
{
    const struct wall_angle angle = wall_angle_of(cos_incidence);
    const struct wall_half *h = &t->half[t->first_node[construct] + angle.node];
    return CMPLXF(h[0].re + angle.share * (h[1].re - h[0].re), h[0].im + angle.share * (h[1].im - h[0].im));
}

#endif

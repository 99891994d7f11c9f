/* wall_table.h - what every construct of the house does to a wave, tabulated over the angle of incidence.
 *
 * For one frequency and one estimate: transmission loss and reflection loss for TE and TM waves (E at right angles to, and
 * in, the plane of incidence), by the transfer matrix of the construct's layers (slab.h), scaled in dB by the measured
 * loss where the construct has one.  Interpolation error under 0.05 dB up to 60 dB of loss (tested). */
#ifndef RT_RADIO_WALL_TABLE_H
#define RT_RADIO_WALL_TABLE_H

#include <math.h>

#include "house/house.h"

/* Nodes are uniform in u = sqrt(cos(angle)): fine where grazing waves change fast. */
enum { WALL_TABLE_NODES = 257 };

struct wall_node {
    float loss_db[2];   /* [0] TE, [1] TM: transmission */
    float mirror_db[2]; /* reflection */
};

struct wall_table {
    double f_hz;
    enum estimate estimate;
    uint32_t n_constructs;
    const struct wall_node *nodes; /* [n_constructs][WALL_TABLE_NODES] */
};

/* Tabulates all constructs of the house.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code wall_table_build(const struct run *run, const struct house *h, double f_hz,
                                            enum estimate estimate, struct wall_table *out, struct rt_problems *p);

struct wall_effect {
    float loss_db, mirror_db;
};

/* Effect at an angle of incidence given by its cosine (0..1), for a wave of which the share te (0..1) of the power is TE. */
static inline struct wall_effect wall_table_at(const struct wall_table *t, uint32_t construct, float cos_incidence,
                                               float te)
{
    const float u = sqrtf(cos_incidence < 0.0f ? 0.0f : cos_incidence) * (float)(WALL_TABLE_NODES - 1);
    int i = (int)u;
    if (i > WALL_TABLE_NODES - 2)
        i = WALL_TABLE_NODES - 2;
    const float k = u - (float)i;
    const struct wall_node *a = &t->nodes[(size_t)construct * WALL_TABLE_NODES + (size_t)i], *b = a + 1;
    const float loss_te = a->loss_db[0] + k * (b->loss_db[0] - a->loss_db[0]);
    const float loss_tm = a->loss_db[1] + k * (b->loss_db[1] - a->loss_db[1]);
    const float mirror_te = a->mirror_db[0] + k * (b->mirror_db[0] - a->mirror_db[0]);
    const float mirror_tm = a->mirror_db[1] + k * (b->mirror_db[1] - a->mirror_db[1]);
    return (struct wall_effect){ te * loss_te + (1.0f - te) * loss_tm, te * mirror_te + (1.0f - te) * mirror_tm };
}

#endif

/* beam_term.h - the ways over an edge and how they turn there, for all lanes of a tile. */
#ifndef RT_RADIO_BEAM_TERM_H
#define RT_RADIO_BEAM_TERM_H

#include "radio/beam.h"

/* The ways of all lanes over an edge; ways of length 1. */
struct beam_ways {
    struct beam_points point, in, out;
    float flat_out_m[BEAM_LANES], length_m[BEAM_LANES], where_m[BEAM_LANES], end_per_m[BEAM_LANES];
    float is_bent[BEAM_LANES]; /* 1: both legs have a length */
};

void beam_find_ways(const struct beam_work *w, const struct beam_edge *e, const struct beam_edge_in *in,
                    struct beam_ways *out);

/* How far they turn in one term. */
struct beam_reach {
    float reach_m[BEAM_LANES]; /* X of trace.h over the wave number */
    float window[BEAM_LANES];  /* W of trace.h */
    bool any_window;
};

void beam_find_reach(const struct beam_work *w, const struct beam_edge *e, const struct beam_edge_in *in,
                     const struct beam_term *t, const struct beam_ways *ways, struct beam_reach *out);

/* Adds the waves that the edge bends to the groups, with the legs that are already known. */
void beam_add_edge(struct beam_work *w, uint32_t edge);

#endif

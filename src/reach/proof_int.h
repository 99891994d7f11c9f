/* proof_int.h - what the sources of the proof share. */
#ifndef RT_REACH_PROOF_INT_H
#define RT_REACH_PROOF_INT_H

#include "reach/proof.h"

/* One family, one kind of week. */
struct view {
    struct proof *proof;
    struct space *s;
    struct arena *a;
    enum family family;
    uint32_t week;
    bool failed;
};

/* The sets of packets that struct proof keeps for its questions; see there. */
packet_set crossing_packets(struct view *v);
packet_set honest_packets(struct view *v); /* crossing ones are needed before */
packet_set called_packets(struct view *v);
packet_set basic_packets(struct view *v);

#endif

/* rehearse_act.h - rules loaded, probes sent, what was seen held against what was expected. */
#ifndef RT_REACH_REHEARSE_ACT_H
#define RT_REACH_REHEARSE_ACT_H

#include "reach/rehearse_probe.h"

/* What must be seen of a probe: of the bits (SEEN_...) in `mask`, exactly those in `bits`. */
struct expectation {
    uint8_t bits, mask;
};

/* The gateway with one set of rules, and the probes that try them. */
struct act {
    struct str rules; /* nftables text */
    const struct probe *probes;
    const struct expectation *expected;
    uint32_t n;
    uint8_t *seen; /* in shared memory (apart_memory), n bytes */
};

struct play {
    const struct stage_plan *stage;
    const struct act *acts;
    uint32_t n_acts;
    bool *answers_unlimited; /* in shared memory */
    /* Done on the stage after the acts; NULL: nothing. */
    enum rt_code (*finale)(void *user, const struct run *run, const struct stage *s, struct rt_problems *p);
    void *user;
};

/* Builds the stage and performs all acts.  A probe that stays silent although something was expected is tried again with more
 * patience before its silence counts.  An apart_work: `user` is a struct play. */
enum rt_code play_perform(void *user, const struct run *run, struct rt_problems *p);

/* Did the kernel do what was expected?  Refusals count only where the kernel may refuse as often as it likes (TCP resets always
 * may). */
bool act_agrees(const struct probe *probe, struct expectation expected, uint8_t seen, bool answers_unlimited);

#endif

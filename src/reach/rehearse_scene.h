/* rehearse_scene.h - conversations that run while the hours change: what is open, and what still passes afterwards. */
#ifndef RT_REACH_REHEARSE_SCENE_H
#define RT_REACH_REHEARSE_SCENE_H

#include "reach/rehearse_ask.h"

/* What passed, as bits. */
enum {
    PASSED_THERE_BEFORE = 1, /* from who began it, before the hours changed */
    PASSED_BACK_BEFORE = 2,
    PASSED_THERE_AFTER = 4,
    PASSED_BACK_AFTER = 8,
    PASSED_ALL = 15
};

/* One change of the hours, with conversations (TCP connections, UDP streams) over it. */
struct scene {
    const struct probe *probes; /* talk over TCP and UDP */
    const uint8_t *expected;    /* PASSED_..., of each */
    uint32_t n;
    uint8_t *passed;    /* in shared memory, n bytes */
    int64_t *changed_s; /* in shared memory: UNIX time of the change; 0: it did not come to it */
    /* The rules whose hours change at this UNIX time. */
    enum rt_code (*rules)(void *user, const struct run *run, int64_t change_s, struct buf *out, struct rt_problems *p);
    void *user;
};

/* On a stage that stands.  Waits for the change: a few seconds.  Errors: as stage_load(), RT_IO (the machine was too busy to open
 * the conversations in time, several times over). */
RT_MUST_CHECK enum rt_code scene_perform(const struct run *run, const struct stage *s, const struct scene *scene,
                                         struct rt_problems *p);

#endif

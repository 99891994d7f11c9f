/* rehearse_ask.h - the questions of a rehearsal: who sends what to whom, and what the proof says to it. */
#ifndef RT_REACH_REHEARSE_ASK_H
#define RT_REACH_REHEARSE_ASK_H

#include "reach/rehearse_act.h"
#include "reach/rehearse_cast.h"
#include "reach/space.h"

/* Probes and, beside each, its first packet as the gateway's rules meet it (translated by port openings). */
struct questions {
    VEC(struct probe) probes;
    VEC(struct packet) packets;
    VEC(bool) unfiltered; /* inside one segment: the gateway never sees it */
};

/* All questions of a house, in an order that does not change. */
RT_MUST_CHECK enum rt_code questions_make(const struct run *run, const struct cast *c, struct questions *out,
                                          struct rt_problems *p);

/* The packets of a conversation after its first: the next in its direction, and the answer. */
struct packet packet_later(const struct packet *first);
struct packet packet_answer(const struct packet *first, axis_value answerer_mac);

/* The proof of both families at one state of the house's hours. */
struct verdicts {
    const struct policy *policy;
    struct judgement *judged[FAMILY_COUNT];
};
/* hours_hold[i]: house->hours.v[i] holds, at every minute. */
RT_MUST_CHECK enum rt_code verdicts_make(const struct run *run, const struct policy *policy, const bool *hours_hold,
                                         struct verdicts *out, struct rt_problems *p);
const struct rule *verdict_on(const struct verdicts *v, const struct packet *packet, enum action *action);

/* What must be seen of a question, by the proof. */
struct expectation question_expect(const struct cast *c, const struct verdicts *v, const struct questions *q,
                                   uint32_t i);

#endif

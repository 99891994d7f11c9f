/* policy_facts.h - what the promises that the gateway's rules keep have in common: evidence and words. */
#ifndef RT_PROMISE_POLICY_FACTS_H
#define RT_PROMISE_POLICY_FACTS_H

#include "promise/result.h"

/* The question a promise asks. */
struct question policy_question(const struct promise *promise);

/* Kept, for every packet: sets state, reason and evidence.  Returns RT_OK. */
enum rt_code result_proven(struct evaluation *ev, struct promise_result *out);
/* Broken by this packet.  Returns RT_OK. */
enum rt_code result_by_packet(struct evaluation *ev, struct promise_result *out, const struct proof_witness *w);

/* Two devices, one of each side, that share a segment and so talk without the gateway. */
struct insiders {
    bool is_found;
    uint32_t from, to; /* devices */
    enum l2_talk talk;
    struct str because;
};
/* The first pair that client isolation parts (`isolated`), or that nothing parts.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code find_insiders(struct evaluation *ev, const struct promise *promise, bool isolated,
                                         struct insiders *out, struct rt_problems *p);

/* Ends as broken if two segments meet below the gateway: its rules then prove nothing; true then. */
bool is_bridged(struct evaluation *ev, struct promise_result *out);

/* Ends as unknown if a side of the promise is nowhere on the network; true then. */
bool is_nowhere(struct evaluation *ev, const struct promise *promise, struct promise_result *out);

#endif

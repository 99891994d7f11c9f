/* `hours`: at these hours nothing passes between these and the internet, conversations that run already included. */
#include "promise/policy_facts.h"

enum rt_code promise_hours(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                           struct rt_problems *p)
{
    struct proof *proof;
    RT_TRY(evaluation_proof(ev, &proof, p));
    if (is_nowhere(ev, promise, out) || is_bridged(ev, out))
        return RT_OK;
    const struct question q = policy_question(promise);
    struct proof_witness w;
    RT_TRY(proof_find_passing(proof, &q, &w, p));
    if (w.is_found)
        return result_by_packet(ev, out, &w);
    RT_TRY(result_proven(ev, out));
    out->reason = STR("every packet and every running conversation, clock changes included");
    return RT_OK;
}

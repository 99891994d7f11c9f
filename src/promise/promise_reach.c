/* `reach`: these can always use that service of those, at these hours. */
#include "promise/loss.h"
#include "promise/policy_facts.h"

enum rt_code promise_reach(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                           struct rt_problems *p)
{
    struct proof *proof;
    RT_TRY(evaluation_proof(ev, &proof, p));
    if (is_nowhere(ev, promise, out))
        return RT_OK;
    bool is_lost;
    RT_TRY(breaks_by_way(ev, promise, &is_lost, out, p));
    if (is_lost)
        return RT_OK;
    struct insiders pair;
    RT_TRY(find_insiders(ev, promise, true, &pair, p));
    if (pair.is_found)
        return result_broken(ev, out, "%.*s and %.*s: %.*s", STR_ARG(ev->h->devices.v[pair.from].id),
                             STR_ARG(ev->h->devices.v[pair.to].id), STR_ARG(pair.because));
    const struct question q = policy_question(promise);
    struct proof_witness w;
    RT_TRY(proof_find_refusal(proof, &q, &w, p));
    return w.is_found ? result_by_packet(ev, out, &w) : result_proven(ev, out);
}

#include "promise/promise.h"

#include "base/units.h"
#include "promise/mend.h"

/* A new kind of promise: a file with its evaluator, and its row here. */
/* clang-format off */
static promise_evaluator *const EVALUATORS[PROMISE_KIND_COUNT] = {
    [PROMISE_SIGNAL] = promise_signal,
    [PROMISE_RATE] = promise_rate,
    [PROMISE_ROAMING] = promise_roaming,
    [PROMISE_QUIET] = promise_quiet,
    [PROMISE_EXPOSURE] = promise_exposure,
    [PROMISE_APART] = promise_apart,
    [PROMISE_REACH] = promise_reach,
    [PROMISE_HOURS] = promise_hours,
    [PROMISE_POWER] = promise_power,
    [PROMISE_CABLE] = promise_cable,
    [PROMISE_OUTAGE] = promise_outage,
    [PROMISE_COST] = promise_cost,
    [PROMISE_LINE] = promise_line,
    [PROMISE_RECORDING] = promise_recording,
    [PROMISE_GROWTH] = promise_growth,
    [PROMISE_SURVIVE] = promise_survive,
};
/* clang-format on */

const char *promise_state_name(enum promise_state s)
{
    static const char *const NAMES[] = { "kept", "broken", "unknown" };
    return NAMES[s];
}

enum rt_code promise_evaluate(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                              struct rt_problems *p)
{
    *out = (struct promise_result){ .promise = promise,
                                    .state = PROMISE_UNKNOWN,
                                    .margin = RT_NOT_GIVEN,
                                    .unit = "",
                                    .evidence = fact_object(ev->run->arena, NULL, NULL) };
    if (!out->evidence)
        return rt_fail_memory(p);
    return EVALUATORS[promise->kind](ev, promise, out, p);
}

enum rt_code promise_of_whole(struct evaluation *whole, uint32_t promise, const struct promise_result **out,
                              struct rt_problems *p)
{
    if (!whole->results)
        whole->results = ARENA_ARRAY(whole->run->arena, struct promise_result, whole->h->promises.n);
    if (!whole->results)
        return rt_fail_memory(p);
    struct promise_result r = whole->results[promise]; /* an evaluator may ask for others meanwhile */
    if (!r.promise)
        RT_TRY(promise_evaluate(whole, &whole->h->promises.v[promise], &r, p));
    whole->results[promise] = r;
    *out = &whole->results[promise];
    return RT_OK;
}

enum rt_code promise_as_whole(struct evaluation *damaged, const struct promise *promise, struct promise_result *out,
                              struct rt_problems *p)
{
    const struct promise_result *r = NULL;
    RT_TRY(promise_of_whole(damaged->whole, (uint32_t)(promise - damaged->h->promises.v), &r, p));
    *out = *r;
    return RT_OK;
}

bool promise_needs_field(enum promise_kind kind)
{
    enum {
        NEED = 1 << PROMISE_SIGNAL | 1 << PROMISE_RATE | 1 << PROMISE_ROAMING | 1 << PROMISE_QUIET | 1 << PROMISE_LINE |
               1 << PROMISE_RECORDING | 1 << PROMISE_GROWTH | 1 << PROMISE_SURVIVE | 1 << PROMISE_OUTAGE
    };
    return NEED & 1u << kind;
}

enum rt_code promises_begin(struct evaluation *ev, unsigned kinds, struct rt_problems *p)
{
    struct proof *proof;
    ev->kinds = kinds;
    ev->results = NULL; /* judged anew each time */
    ev->failures = NULL;
    /* addresses that clash are told even if nothing is promised */
    return kinds & POLICY_PROMISE_KINDS && ev->h->segments.n ? evaluation_proof(ev, &proof, p) : RT_OK;
}

enum rt_code promises_finish(struct evaluation *ev, struct promise_results *out, struct rt_problems *p)
{
    const uint32_t n = ev->h->promises.n;
    *out = (struct promise_results){ .v = ARENA_ARRAY(ev->run->arena, struct promise_result, n) };
    if (!out->v)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < n; i++) {
        const struct promise *promise = &ev->h->promises.v[i];
        if (!(ev->kinds & 1u << promise->kind))
            continue;
        if (run_is_cancelled(ev->run))
            return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped");
        run_report(ev->run, "promises", (double)i / n);
        const struct promise_result *r = NULL;
        RT_TRY(promise_of_whole(ev, i, &r, p));
        out->v[out->n++] = *r;
        out->n_kept += r->state == PROMISE_KEPT;
        out->n_broken += r->state == PROMISE_BROKEN;
        out->n_unknown += r->state == PROMISE_UNKNOWN;
    }
    return RT_OK;
}

enum rt_code promises_evaluate(struct evaluation *ev, unsigned kinds, struct promise_results *out,
                               struct rt_problems *p)
{
    RT_TRY(promises_begin(ev, kinds, p));
    return promises_finish(ev, out, p);
}

void promise_write_json(struct json *j, const char *key, const struct promise_result *r)
{
    json_begin_object(j, key);
    json_str(j, "id", r->promise->id);
    json_text(j, "kind", promise_kind_name(r->promise->kind));
    json_str(j, "says", r->promise->says);
    json_text(j, "state", promise_state_name(r->state));
    json_fixed(j, "margin", r->margin, r->margin_decimals);
    json_text(j, "unit", r->unit);
    json_str(j, "reason", r->reason);
    fact_write(j, "evidence", r->evidence);
    json_end_object(j);
}

void promises_write_list(struct json *j, const struct promise_results *r)
{
    json_begin_array(j, "promises");
    for (uint32_t i = 0; i < r->n; i++)
        promise_write_json(j, NULL, &r->v[i]);
    json_end_array(j);
}

static void write_chosen(struct json *j, const struct house *h)
{
    json_begin_array(j, "chosen");
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        const struct equipment *thing = &h->equipment.v[e];
        if (!thing->because.n || thing->part.i == NO_REF)
            continue;
        json_begin_object(j, NULL);
        json_str(j, "id", thing->id);
        json_str(j, "part", h->parts.list.v[thing->part.i].id);
        json_str(j, "because", thing->because);
        json_end_object(j);
    }
    json_end_array(j);
}

void promises_write_json(struct json *j, const struct evaluation *ev, const struct promise_results *r,
                         const struct failure_table *failures, const struct mends *mends)
{
    json_begin_object(j, NULL);
    json_str(j, "house", ev->h->name);
    json_text(j, "estimate", estimate_name(ev->options.trace.estimate));
    promises_write_list(j, r);
    write_chosen(j, ev->h);
    json_begin_object(j, "counts");
    json_int(j, "kept", r->n_kept);
    json_int(j, "broken", r->n_broken);
    json_int(j, "unknown", r->n_unknown);
    json_end_object(j);
    if (failures)
        failure_table_write_json(j, "failures", failures);
    if (failures && mends)
        mends_write_json(j, "mends", failures, mends);
    json_end_object(j);
    json_end(j);
}

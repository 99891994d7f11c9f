/* A stage is the whole house with what later phases bring counted as dead: the same fields, routes and rules, so that a stage takes as
 * long as a failure. */
#include "promise/phase_keeps.h"

#include "promise/failure_table.h"

static bool is_before(const struct house *h, uint32_t a, uint32_t b)
{
    const struct str x = h->phases.v[a].by_date, y = h->phases.v[b].by_date;
    const int order = x.n && y.n ? str_cmp(x, y) : (int)!x.n - (int)!y.n;
    return order ? order < 0 : a < b;
}

/* What is not there yet once these phases are in. */
static enum rt_code find_missing(struct evaluation *whole, const bool *is_in, struct absence *out, uint32_t *n,
                                 struct rt_problems *p)
{
    const struct house *h = whole->h;
    const struct bill *bill;
    RT_TRY(evaluation_bill(whole, &bill, p));
    *out = (struct absence){ ARENA_ARRAY(whole->run->arena, bool, h->equipment.n),
                             ARENA_ARRAY(whole->run->arena, bool, h->cables.n) };
    if (!out->equipment || !out->cables)
        return rt_fail_memory(p);
    *n = 0;
    for (uint32_t i = 0; i < h->equipment.n; i++) {
        const struct equipment *e = &h->equipment.v[i];
        out->equipment[i] = !e->owned && e->phase.i != NO_REF && !is_in[e->phase.i];
        *n += out->equipment[i];
    }
    for (uint32_t i = 0; i < h->cables.n; i++) {
        const uint32_t phase = bill->cable_phases[i];
        out->cables[i] = !h->cables.v[i].owned && phase != NO_REF && !is_in[phase];
        *n += out->cables[i];
    }
    return RT_OK;
}

static enum rt_code judge_stage(struct evaluation *whole, const bool *is_in, struct phase_stage *s,
                                struct rt_problems *p)
{
    struct absence absence;
    struct damage *d = NULL;
    RT_TRY(find_missing(whole, is_in, &absence, &s->n_missing, p));
    if (s->n_missing)
        RT_TRY(damage_of_absence(whole, &absence, &d, p));
    for (uint32_t i = 0; i < whole->h->promises.n; i++) {
        RT_TRY(d ? promise_after(whole, d, i, &s->results[i], p) : promise_of_whole(whole, i, &s->results[i], p));
        s->n_kept += s->results[i]->state == PROMISE_KEPT;
        s->n_later += phase_is_later(whole, s, i);
    }
    return RT_OK;
}

enum rt_code phases_judge(struct evaluation *whole, struct phase_stages *out, struct rt_problems *p)
{
    const struct house *h = whole->h;
    struct arena *a = whole->run->arena;
    const uint32_t n = h->phases.n;
    bool *is_in = ARENA_ARRAY(a, bool, n);
    out->v.v = ARENA_ARRAY(a, struct phase_stage, n);
    out->v.n = n;
    if (!is_in || !out->v.v)
        return rt_fail_memory(p);
    for (uint32_t k = 0; k < n; k++) {
        struct phase_stage *s = &out->v.v[k];
        uint32_t next = NO_REF;
        for (uint32_t i = 0; i < n; i++)
            if (!is_in[i] && (next == NO_REF || is_before(h, i, next)))
                next = i;
        is_in[next] = true;
        *s = (struct phase_stage){ .phase = next,
                                   .results = ARENA_ARRAY(a, const struct promise_result *, h->promises.n) };
        if (!s->results)
            return rt_fail_memory(p);
        RT_TRY(judge_stage(whole, is_in, s, p));
    }
    return RT_OK;
}

bool phase_is_later(const struct evaluation *whole, const struct phase_stage *stage, uint32_t promise)
{
    return whole->results[promise].state == PROMISE_KEPT && stage->results[promise]->state != PROMISE_KEPT;
}

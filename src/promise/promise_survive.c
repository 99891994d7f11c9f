/* `survive`: these promises still hold after any single failure of these kinds.
 *
 * Each named promise is judged again in the house that each failure leaves.  The margin is that of the worst: broken before unknown
 * before kept, and among promises of one unit the least. */
#include <string.h>

#include "base/units.h"
#include "promise/failure_table.h"
#include "promise/result.h"

struct survival {
    struct evaluation *ev;
    struct failure_table *table;
    const struct promise *promise;
    uint32_t n_tried, n_breaking;
    uint32_t worst_row;
    const struct promise_result *worst;
    struct fact *list;
};

static uint32_t index_of(const struct house *h, struct str id)
{
    for (uint32_t i = 0; i < h->promises.n; i++)
        if (str_eq(h->promises.v[i].id, id))
            return i;
    return NO_REF;
}

static bool kind_is_asked(const struct promise *promise, enum failure_kind kind)
{
    for (uint32_t i = 0; i < promise->failures.n; i++)
        if (str_is(promise->failures.v[i], failure_kind_name(kind)))
            return true;
    return false;
}

static bool is_worse(const struct promise_result *a, const struct promise_result *b)
{
    static const int RANKS[] = { [PROMISE_KEPT] = 0, [PROMISE_UNKNOWN] = 1, [PROMISE_BROKEN] = 2 };
    if (RANKS[a->state] != RANKS[b->state])
        return RANKS[a->state] > RANKS[b->state];
    if (!is_given(a->margin) ||
        !is_given(b->margin)) /* broken without a figure is broken altogether; kept so, proven */
        return a->state == PROMISE_BROKEN ? !is_given(a->margin) && is_given(b->margin)
                                          : is_given(a->margin) && !is_given(b->margin);
    return strcmp(a->unit, b->unit) == 0 && a->margin < b->margin;
}

static void result_facts(struct survival *s, struct fact *list, const struct promise_result *r)
{
    struct arena *a = s->ev->run->arena;
    struct fact *o = fact_object(a, list, NULL);
    fact_str(a, o, "id", r->promise->id);
    fact_text(a, o, "state", promise_state_name(r->state));
    fact_num(a, o, "margin", r->margin, r->margin_decimals);
    fact_text(a, o, "unit", r->unit);
    fact_str(a, o, "reason", r->reason);
}

static enum rt_code try_row(struct survival *s, uint32_t row, struct rt_problems *p)
{
    struct arena *a = s->ev->run->arena;
    const struct failure *f = &s->table->rows.v[row].failure;
    struct fact *o = fact_object(a, s->list, NULL);
    bool breaks = false;
    fact_text(a, o, "kind", failure_kind_name(f->kind));
    fact_str(a, o, "id", f->id);
    fact_str(a, o, "says", f->says);
    struct fact *promises = fact_array(a, o, "promises");
    for (uint32_t i = 0; i < s->promise->promises.n; i++) {
        const struct promise_result *r = NULL;
        RT_TRY(failure_result(s->table, row, index_of(s->ev->h, s->promise->promises.v[i]), &r, p));
        result_facts(s, promises, r);
        breaks |= r->state == PROMISE_BROKEN;
        if (!s->worst || is_worse(r, s->worst)) {
            s->worst = r;
            s->worst_row = row;
        }
    }
    s->n_tried++;
    s->n_breaking += breaks;
    return RT_OK;
}

/* One that is broken before anything fails; NULL: none is. */
static enum rt_code find_broken_before(struct survival *s, const struct promise_result **out, struct rt_problems *p)
{
    *out = NULL;
    for (uint32_t i = 0; i < s->promise->promises.n && !*out; i++) {
        const struct promise_result *r = NULL;
        RT_TRY(promise_of_whole(s->ev, index_of(s->ev->h, s->promise->promises.v[i]), &r, p));
        *out = r->state == PROMISE_BROKEN ? r : NULL;
    }
    return RT_OK;
}

static void end_by_worst(struct survival *s, struct promise_result *out)
{
    struct buf b = { .arena = s->ev->run->arena };
    const struct str without = s->table->rows.v[s->worst_row].failure.says;
    const struct promise_result *w = s->worst;
    out->state = w->state;
    out->margin = w->margin;
    out->unit = w->unit;
    out->margin_decimals = w->margin_decimals;
    out->in_place = w->in_place;
    buf_printf(&b, "without %.*s", STR_ARG(without));
    if (s->promise->promises.n > 1)
        buf_printf(&b, ", `%.*s`", STR_ARG(w->promise->id));
    buf_printf(&b, ": %.*s", STR_ARG(w->reason));
    if (w->state == PROMISE_BROKEN && s->n_tried > 1)
        buf_printf(&b, "; %u of %u failures break it", s->n_breaking, s->n_tried);
    out->reason = buf_done(&b);
    out->witness = w->witness;
}

/* Kinds of failure that this house cannot have: without one of those asked for nothing is promised. */
static enum rt_code end_empty(struct survival *s, struct promise_result *out)
{
    struct buf b = { .arena = s->ev->run->arena };
    for (uint32_t i = 0; i < s->promise->failures.n; i++)
        buf_printf(&b, "%s%.*s", i ? " or " : "", STR_ARG(s->promise->failures.v[i]));
    return result_unknown(s->ev, out,
                          "say under `equipment`, `cables` or `line` what could fail: the house has no %.*s",
                          STR_ARG(buf_done(&b)));
}

enum rt_code promise_survive(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                             struct rt_problems *p)
{
    struct survival s = { .ev = ev, .promise = promise };
    const struct promise_result *before = NULL;
    if (ev->damage)
        return promise_as_whole(ev, promise, out, p);
    RT_TRY(evaluation_failures(ev, &s.table, p));
    RT_TRY(find_broken_before(&s, &before, p));
    s.list = fact_array(ev->run->arena, out->evidence, "failures");
    for (uint32_t i = 0; i < s.table->rows.n; i++)
        if (kind_is_asked(promise, s.table->rows.v[i].failure.kind))
            RT_TRY(try_row(&s, i, p));
    if (!s.worst)
        return end_empty(&s, out);
    end_by_worst(&s, out);
    if (before) {
        out->margin = before->margin;
        out->unit = before->unit;
        out->margin_decimals = before->margin_decimals;
        return result_broken(ev, out, "`%.*s` is broken even while all works: %.*s", STR_ARG(before->promise->id),
                             STR_ARG(before->reason));
    }
    fact_str(ev->run->arena, out->evidence, "worst_failure", s.table->rows.v[s.worst_row].failure.says);
    fact_str(ev->run->arena, out->evidence, "worst_promise", s.worst->promise->id);
    return out->reason.p ? RT_OK : rt_fail_memory(p);
}

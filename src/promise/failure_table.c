#include "promise/failure_table.h"

#include <string.h>

enum rt_code evaluation_failures(struct evaluation *whole, struct failure_table **out, struct rt_problems *p)
{
    struct arena *a = whole->run->arena;
    if (!whole->failures) {
        failure_list list;
        struct failure_table *t = ARENA_NEW(a, struct failure_table);
        RT_TRY(failures_of_house(a, whole->h, ALL_FAILURE_KINDS, &list, p));
        if (!t)
            return rt_fail_memory(p);
        t->whole = whole;
        t->rows.v = ARENA_ARRAY(a, struct failure_row, list.n);
        if (!t->rows.v)
            return rt_fail_memory(p);
        for (uint32_t i = 0; i < list.n; i++) {
            struct failure_row *row = &t->rows.v[t->rows.n++];
            *row =
                (struct failure_row){ .failure = list.v[i],
                                      .results = ARENA_ARRAY(a, const struct promise_result *, whole->h->promises.n) };
            if (!row->results)
                return rt_fail_memory(p);
        }
        whole->failures = t;
    }
    *out = whole->failures;
    return RT_OK;
}

enum rt_code failure_damage(struct failure_table *t, uint32_t row, const struct damage **out, struct rt_problems *p)
{
    struct failure_row *r = &t->rows.v[row];
    if (!r->damage) {
        RT_TRY(damage_make(t->whole, &r->failure, &r->damage, p));
        for (uint32_t i = 0; i < t->whole->h->equipment.n + t->whole->h->devices.n; i++) {
            r->n_dead += r->damage->dead_thing[i];
            r->n_cut_off += r->damage->cut_off[i];
        }
    }
    *out = r->damage;
    return RT_OK;
}

bool failure_touches(enum promise_kind kind)
{
    switch (kind) {
    case PROMISE_APART: /* with less that works nothing more gets through */
    case PROMISE_HOURS:
    case PROMISE_COST:
    case PROMISE_EXPOSURE:
    case PROMISE_GROWTH:
    case PROMISE_SURVIVE:
        return false;
    default:
        return true;
    }
}

/* Promises about the air: they change with the radios that are lost and the devices that move; whatever else dies, those that are left
 * ask for no more than all did. */
static bool hangs_on_radios(const struct promise *promise)
{
    return promise->kind == PROMISE_SIGNAL || promise->kind == PROMISE_ROAMING || promise->kind == PROMISE_RATE ||
           promise->kind == PROMISE_QUIET;
}

/* What another failure that takes the same radios gave; NULL: none was asked about yet. */
static const struct promise_result *same_radios(const struct failure_table *t, const struct damage *d, uint32_t promise)
{
    for (uint32_t i = 0; i < t->rows.n; i++) {
        const struct failure_row *r = &t->rows.v[i];
        if (r->damage && r->damage != d && r->results[promise] &&
            memcmp(r->damage->dead_radio, d->dead_radio, d->n_radios * sizeof *d->dead_radio) == 0)
            return r->results[promise];
    }
    return NULL;
}

/* Is it as in the whole house?  Who is left asks the line for no more than all did. */
static bool is_untouched(const struct promise *promise, const struct damage *d)
{
    return !failure_touches(promise->kind) || (hangs_on_radios(promise) && d->n_dead_radios == 0) ||
           (promise->kind == PROMISE_LINE && !d->line_dead);
}

enum rt_code promise_after(struct evaluation *whole, const struct damage *d, uint32_t promise,
                           const struct promise_result **out, struct rt_problems *p)
{
    const struct promise *asked = &whole->h->promises.v[promise];
    struct evaluation hurt;
    if (is_untouched(asked, d))
        return promise_of_whole(whole, promise, out, p);
    struct promise_result *r = ARENA_NEW(whole->run->arena, struct promise_result);
    if (!r)
        return rt_fail_memory(p);
    evaluation_damaged(&hurt, whole, d);
    RT_TRY(promise_evaluate(&hurt, asked, r, p));
    *out = r;
    return RT_OK;
}

enum rt_code failure_result(struct failure_table *t, uint32_t row, uint32_t promise, const struct promise_result **out,
                            struct rt_problems *p)
{
    struct failure_row *r = &t->rows.v[row];
    if (!r->results[promise]) {
        const struct damage *d = NULL;
        const struct promise_result *found = NULL, *whole = NULL;
        RT_TRY(failure_damage(t, row, &d, p));
        RT_TRY(promise_of_whole(t->whole, promise, &whole, p));
        if (hangs_on_radios(whole->promise))
            found = same_radios(t, d, promise);
        if (!found)
            RT_TRY(promise_after(t->whole, d, promise, &found, p));
        r->results[promise] = found;
        r->n_broken += found->state == PROMISE_BROKEN && whole->state != PROMISE_BROKEN;
    }
    *out = r->results[promise];
    return RT_OK;
}

bool failure_breaks(const struct failure_table *t, uint32_t row, uint32_t promise)
{
    const struct promise_result *r = t->rows.v[row].results[promise];
    return r && r->state == PROMISE_BROKEN && t->whole->results[promise].state != PROMISE_BROKEN;
}

enum rt_code failure_table_fill(struct failure_table *t, struct rt_problems *p)
{
    for (uint32_t i = 0; i < t->rows.n; i++) {
        if (run_is_cancelled(t->whole->run))
            return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped");
        const struct damage *damage; /* what it takes along, told of a house that was promised nothing too */
        run_report(t->whole->run, "failures", (double)i / t->rows.n);
        RT_TRY(failure_damage(t, i, &damage, p));
        for (uint32_t k = 0; k < t->whole->h->promises.n; k++) {
            const struct promise_result *r = NULL;
            RT_TRY(failure_result(t, i, k, &r, p));
        }
    }
    return RT_OK;
}

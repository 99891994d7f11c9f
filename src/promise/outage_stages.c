#include "promise/outage_stages.h"

#include <stdlib.h>

#include "base/units.h"
#include "promise/failure_table.h"

enum { NAMED = 3 };

struct stages {
    struct evaluation *ev;
    struct arena *arena;
    struct buf words;
    bool *gone, *broken; /* things and promises of earlier stages */
    bool line_gone;
};

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* At once, then whenever a battery is empty; each time once. */
static double *times_of(struct arena *a, const struct energy_plan *energy, uint32_t *n)
{
    double *times = ARENA_ARRAY(a, double, (size_t)energy->h->batteries.n + 1);
    if (!times)
        return NULL;
    times[0] = 0.0;
    *n = 1;
    for (uint32_t b = 0; b < energy->h->batteries.n; b++)
        if (energy->batteries[b].minutes > 0.0)
            times[(*n)++] = energy->batteries[b].minutes;
    qsort(times, *n, sizeof *times, by_value);
    uint32_t kept = 1;
    for (uint32_t i = 1; i < *n; i++)
        if (times[i] > times[kept - 1])
            times[kept++] = times[i];
    *n = kept;
    return times;
}

/* Outage itself is about this; what no failure touches stays as it is. */
static bool is_asked(const struct evaluation *ev, const struct promise *promise)
{
    return ev->kinds & 1u << promise->kind && failure_touches(promise->kind) && promise->kind != PROMISE_OUTAGE;
}

static void count_words(struct buf *b, uint32_t n, const char *what)
{
    buf_printf(b, "%u %s%s", n, what, n == 1 ? "" : "s");
}

/* Things that go now: as evidence, and in words. */
static void tell_things(struct stages *s, const struct damage *d, struct fact *o)
{
    const struct house *h = s->ev->h;
    struct fact *list = fact_array(s->arena, o, "lost");
    struct buf names = { .arena = s->arena };
    uint32_t n = 0;
    if (d->line_dead && !s->line_gone) {
        fact_text(s->arena, list, NULL, LINE_BOX_NAME);
        buf_text(&names, "the line");
        n = 1;
    }
    s->line_gone |= d->line_dead;
    for (uint32_t t = 0; t < h->equipment.n + h->devices.n; t++) {
        if (s->gone[t] || !damage_has_lost(d, t))
            continue;
        s->gone[t] = true;
        fact_str(s->arena, list, NULL, damage_thing_id(h, t));
        if (n++ < NAMED)
            buf_printf(&names, "%s%.*s", n > 1 ? ", " : "", STR_ARG(damage_thing_id(h, t)));
    }
    if (n > NAMED) {
        buf_text(&names, " and ");
        count_words(&names, n - NAMED, "other");
    }
    buf_str(&s->words, n ? buf_done(&names) : STR("nothing more"));
}

static enum rt_code tell_promises(struct stages *s, const struct damage *d, struct fact *o, struct rt_problems *p)
{
    const struct house *h = s->ev->h;
    struct fact *list = fact_array(s->arena, o, "broken");
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise_result *now = NULL, *whole = NULL;
        if (s->broken[i] || !is_asked(s->ev, &h->promises.v[i]))
            continue;
        RT_TRY(promise_of_whole(s->ev, i, &whole, p));
        RT_TRY(promise_after(s->ev, d, i, &now, p));
        if (now->state != PROMISE_BROKEN || whole->state == PROMISE_BROKEN)
            continue;
        s->broken[i] = true;
        n++;
        fact_str(s->arena, list, NULL, h->promises.v[i].id);
    }
    if (n) {
        buf_text(&s->words, " go, and with them ");
        count_words(&s->words, n, "promise");
    } else {
        buf_text(&s->words, " go");
    }
    return RT_OK;
}

static enum rt_code tell_mains(struct stages *s, struct fact *evidence, struct rt_problems *p)
{
    const struct energy_plan *energy = NULL;
    struct fact *list = fact_array(s->arena, evidence, "stages");
    uint32_t n = 0;
    RT_TRY(evaluation_energy(s->ev, &energy, p));
    const double *times = times_of(s->arena, energy, &n);
    if (!times)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < n; i++) {
        const struct failure f = { .kind = FAILURE_MAINS, .i = NO_REF, .recording = NO_REF, .after_minutes = times[i] };
        struct damage *d = NULL;
        RT_TRY(damage_make(s->ev, &f, &d, p));
        struct fact *o = fact_object(s->arena, list, NULL);
        fact_num(s->arena, o, "from_minutes", times[i], 1);
        if (i == 0)
            buf_text(&s->words, "without mains at once ");
        else
            buf_printf(&s->words, ", after %.0f min ", times[i]);
        tell_things(s, d, o);
        RT_TRY(tell_promises(s, d, o, p));
    }
    return RT_OK;
}

static enum rt_code tell_line(struct stages *s, struct fact *evidence, struct rt_problems *p)
{
    const struct house *h = s->ev->h;
    const struct failure f = { .kind = FAILURE_LINE, .i = NO_REF, .recording = NO_REF };
    struct damage *d = NULL;
    uint32_t n = 0, n_asked = 0;
    if (!h->line.at.line)
        return RT_OK;
    RT_TRY(damage_make(s->ev, &f, &d, p));
    struct fact *o = fact_object(s->arena, evidence, "without_line");
    struct fact *broken = fact_array(s->arena, o, "broken"), *works = fact_array(s->arena, o, "works");
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise_result *now = NULL, *whole = NULL;
        if (!is_asked(s->ev, &h->promises.v[i]))
            continue;
        RT_TRY(promise_of_whole(s->ev, i, &whole, p));
        RT_TRY(promise_after(s->ev, d, i, &now, p));
        if (whole->state != PROMISE_KEPT)
            continue;
        n_asked++;
        n += now->state == PROMISE_KEPT;
        fact_str(s->arena, now->state == PROMISE_KEPT ? works : broken, NULL, h->promises.v[i].id);
    }
    if (n_asked)
        buf_printf(&s->words, "; without the line %u of %u promises inside hold", n, n_asked);
    return RT_OK;
}

enum rt_code outage_tell_stages(struct evaluation *ev, struct promise_result *out, struct rt_problems *p)
{
    struct arena *a = ev->run->arena;
    struct stages s = { .ev = ev, .arena = a, .words.arena = a };
    s.gone = ARENA_ARRAY(a, bool, (size_t)ev->h->equipment.n + ev->h->devices.n);
    s.broken = ARENA_ARRAY(a, bool, ev->h->promises.n);
    if (!s.gone || !s.broken)
        return rt_fail_memory(p);
    buf_printf(&s.words, "%.*s; ", STR_ARG(out->reason));
    RT_TRY(tell_mains(&s, out->evidence, p));
    RT_TRY(tell_line(&s, out->evidence, p));
    out->reason = buf_done(&s.words);
    return s.words.failed ? rt_fail_memory(p) : RT_OK;
}

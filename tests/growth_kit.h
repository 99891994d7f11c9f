/* growth_kit.h - a promise of growth in a small house, and the figures of its evidence. */
#ifndef RT_GROWTH_KIT_H
#define RT_GROWTH_KIT_H

#include <string.h>

#include "promise/promise.h"
#include "wire_kit.h"

struct grown {
    struct check_run c;
    struct promise_result r;
    struct evaluation ev;
};

/* The growth promise of a house of two texts, the only one of its kind; radio: with coarse fields, without bounces. */
static inline struct grown grow_house(const char *head, const char *rest, bool radio)
{
    struct grown q = { .c = check_run_begin() };
    const struct str text = str_from(arena_printf(q.c.run.arena, "%s%s", head, rest));
    struct house *h = NULL;
    CHECK_OK(&q.c,
             house_read_bytes(&q.c.run, check_path(&q.c, "tests/houses/test.house.yaml"), text, &h, &q.c.problems));
    struct evaluation ev = { .run = &q.c.run, .h = h };
    if (radio) {
        struct field_options options = evaluation_default_options(h);
        options.cell_m = 0.5;
        options.trace.order = 0;
        options.trace.diffraction = false;
        CHECK_OK(&q.c, evaluation_begin(&ev, &q.c.run, h, options, &q.c.problems));
    }
    struct promise_results results;
    CHECK_OK(&q.c, promises_evaluate(&ev, 1u << PROMISE_GROWTH, &results, &q.c.problems));
    q.r = results.v[0];
    q.ev = ev; /* its run is that of the caller's copy no longer: for what was computed, not for more */
    return q;
}

static inline const struct fact *fact_of(const struct fact *object, const char *key)
{
    for (const struct fact *f = object->first; f; f = f->next)
        if (strcmp(f->key, key) == 0)
            return f;
    fail_msg("no fact %s", key);
    return NULL;
}

/* The first use whose words hold `what`. */
static inline const struct fact *use_with(const struct grown *q, const char *what)
{
    for (const struct fact *o = fact_of(q->r.evidence, "uses")->first; o; o = o->next) {
        const struct str words = fact_of(o, "what")->text;
        if (memmem(words.p, words.n, what, strlen(what)))
            return o;
    }
    return NULL;
}

/* A figure of it. */
static inline double use_of(const struct grown *q, const char *what, const char *key)
{
    const struct fact *o = use_with(q, what);
    if (!o)
        fail_msg("no use %s", what);
    return fact_of(o, key)->num;
}

static inline bool says(const struct grown *q, const char *words)
{
    return memmem(q->r.reason.p, q->r.reason.n, words, strlen(words)) != NULL;
}

#endif

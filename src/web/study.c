#include "web/study.h"

#include <pthread.h>
#include <stdatomic.h>

#include "web/told.h"
#include "wire/open_parts.h"

enum { STUDY_MB = 128, LANE_MB = 512, LANE_ENOUGH_MB = 256 };

/* A lane, its lock, and the arena in which all of it lives. */
struct track {
    pthread_mutex_t lock;
    struct arena *arena; /* NULL: nobody asked for anything yet */
    struct run run;
    struct lane lane;
    atomic_bool is_full;
};

struct study {
    atomic_uint holders;
    atomic_bool is_given_up;
    int64_t number;
    const char *path;
    struct str bytes;
    struct run run;      /* over the arena */
    struct arena *arena; /* of the house; under the lock */
    pthread_mutex_t lock;
    struct house *house; /* read once; does not change then */
    struct track tracks[STUDY_LANES];
};

struct study *study_new(const struct run *run, const char *path, int64_t number, struct str bytes)
{
    struct arena *a = arena_new((size_t)STUDY_MB << 20);
    struct study *s = a ? ARENA_NEW(a, struct study) : NULL;
    if (!s || !(bytes = str_dup(a, bytes)).p) {
        arena_free(a);
        return NULL;
    }
    s->number = number;
    s->path = path;
    s->bytes = bytes;
    s->arena = a;
    s->run = *run;
    s->run.arena = a;
    s->run.cancel = &s->is_given_up;
    atomic_init(&s->holders, 1);
    atomic_init(&s->is_given_up, false);
    pthread_mutex_init(&s->lock, NULL);
    for (int i = 0; i < STUDY_LANES; i++) {
        pthread_mutex_init(&s->tracks[i].lock, NULL);
        atomic_init(&s->tracks[i].is_full, false);
    }
    return s;
}

void study_hold(struct study *s) { atomic_fetch_add(&s->holders, 1); }

void study_drop(struct study *s)
{
    if (!s || atomic_fetch_sub(&s->holders, 1) > 1)
        return;
    for (int i = 0; i < STUDY_LANES; i++) {
        arena_free(s->tracks[i].arena);
        pthread_mutex_destroy(&s->tracks[i].lock);
    }
    pthread_mutex_destroy(&s->lock);
    arena_free(s->arena);
}

void study_give_up(struct study *s) { atomic_store(&s->is_given_up, true); }

bool study_is_given_up(const struct study *s) { return atomic_load(&s->is_given_up); }

int64_t study_number(const struct study *s) { return s->number; }

bool study_is_full(struct study *s)
{
    bool is = false;
    for (int i = 0; i < STUDY_LANES; i++)
        is |= atomic_load(&s->tracks[i].is_full);
    return is;
}

/* ---- under way ---- */

/* With the study's lock. */
static enum rt_code read_now(struct study *s, struct rt_problems *p)
{
    struct house *h = NULL;
    RT_TRY(house_read_bytes(&s->run, s->path, s->bytes, &h, p));
    RT_TRY(open_parts_choose(&s->run, h, p));
    s->house = h;
    return RT_OK;
}

/* The house as read; after an error it is read again, for whoever asks next must hear of it too. */
static enum rt_code read_house(struct study *s, const struct house **out, struct rt_problems *p)
{
    enum rt_code code = RT_OK;
    pthread_mutex_lock(&s->lock);
    if (!s->house) {
        struct rt_problems own;
        const struct arena_mark mark = arena_mark(s->arena);
        rt_problems_init(&own, s->arena);
        code = read_now(s, &own);
        problems_copy(p, &own);
        if (code)
            arena_reset(s->arena, mark);
    }
    *out = s->house;
    pthread_mutex_unlock(&s->lock);
    return code;
}

/* With the track's lock. */
static enum rt_code begin(struct study *s, struct track *t, struct rt_problems *p)
{
    const struct house *h = NULL;
    RT_TRY(read_house(s, &h, p));
    t->run = s->run;
    t->run.arena = t->arena;
    return evaluation_begin(&t->lane.ev, &t->run, h, evaluation_default_options(h), p);
}

/* With the track's lock.  Texts of problems may lie in what is computed: they are copied before it goes. */
static enum rt_code prepare(struct study *s, struct track *t, struct rt_problems *p)
{
    if (t->arena)
        return RT_OK;
    t->arena = arena_new((size_t)LANE_MB << 20);
    if (!t->arena)
        return rt_fail_memory(p);
    struct rt_problems own;
    rt_problems_init(&own, t->arena);
    const enum rt_code code = begin(s, t, &own);
    problems_copy(p, &own);
    if (code) {
        arena_free(t->arena);
        t->arena = NULL;
    }
    return code;
}

/* The whole field at the estimate that promises are judged at is made in one lane, for all: its numbers do not change once they are
 * there, and live as long as the study.  The radios it names are those of the borrower, which are the same. */
static enum rt_code borrow_field(struct study *s, struct evaluation *to, struct rt_problems *p)
{
    const enum estimate e = to->options.trace.estimate;
    struct track *t = &s->tracks[LANE_FIELD];
    const struct fields *whole = NULL;
    if (to->fields[e] || to->radios.n == 0)
        return RT_OK;
    struct fields *own = ARENA_NEW(to->run->arena, struct fields);
    if (!own)
        return rt_fail_memory(p);
    pthread_mutex_lock(&t->lock);
    enum rt_code code = prepare(s, t, p);
    if (!code)
        code = evaluation_fields(&t->lane.ev, e, &whole, p);
    pthread_mutex_unlock(&t->lock);
    if (code)
        return code;
    *own = *whole;
    own->radios = to->radios;
    to->fields[e] = own;
    return RT_OK;
}

static enum rt_code ask(struct study *s, enum study_lane in, study_use *use, void *user, struct rt_problems *p)
{
    struct track *t = &s->tracks[in];
    RT_TRY(prepare(s, t, p));
    if (in == LANE_JUDGE || in == LANE_PAPER)
        RT_TRY(borrow_field(s, &t->lane.ev, p));
    struct rt_problems own;
    rt_problems_init(&own, t->arena);
    const enum rt_code code = use(&t->lane, user, &own);
    problems_copy(p, &own);
    if (arena_used(t->arena) > (size_t)LANE_ENOUGH_MB << 20)
        atomic_store(&t->is_full, true);
    return code;
}

enum rt_code study_ask(struct study *s, enum study_lane in, study_use *use, void *user, struct rt_problems *p)
{
    struct rt_problems own;
    rt_problems_init(&own, p->arena);
    pthread_mutex_lock(&s->tracks[in].lock);
    const enum rt_code code = ask(s, in, use, user, &own);
    pthread_mutex_unlock(&s->tracks[in].lock);
    if (code == RT_CANCELLED && study_is_given_up(s))
        return code;
    problems_copy(p, &own);
    return code;
}

enum rt_code lane_judge(struct lane *lane, struct rt_problems *p)
{
    struct promise_results all;
    if (lane->judged.v)
        return RT_OK;
    RT_TRY(promises_evaluate(&lane->ev, ALL_PROMISE_KINDS, &all, p));
    lane->judged = all;
    return RT_OK;
}

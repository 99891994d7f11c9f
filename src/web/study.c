#include "web/study.h"

#include <pthread.h>
#include <stdatomic.h>

#include "base/memory.h"
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
    struct study_state of;
    const char *path;
    struct str bytes;
    struct run run;      /* over the arena */
    struct arena *arena; /* of the house; under the lock */
    pthread_mutex_t lock;
    struct house *house;     /* read once; does not change then */
    struct rt_problems told; /* by its reader */
    struct track tracks[STUDY_LANES];
};

struct study *study_new(const struct run *run, const char *path, struct study_state of, struct str bytes)
{
    struct arena *a = arena_new((size_t)STUDY_MB << 20);
    struct study *s = a ? ARENA_NEW(a, struct study) : NULL;
    if (!s || !(bytes = str_dup(a, bytes)).p) {
        arena_free(a);
        return NULL;
    }
    s->of = of;
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

struct study_state study_state(const struct study *s) { return s->of; }

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
    rt_problems_init(&s->told, s->arena);
    const enum rt_code code = house_read_bytes(&s->run, s->path, s->bytes, &h, &s->told);
    problems_copy(p, &s->told);
    if (code)
        return code;
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

bool study_read(struct study *s, struct rt_problems *p)
{
    struct rt_problems unheard;
    const struct house *h = NULL;
    rt_problems_init(&unheard, p->arena);
    if (read_house(s, &h, &unheard) != RT_OK)
        return false;
    problems_copy(p, &s->told);
    return true;
}

/* With the track's lock.  A quick field leaves half of the processors to the browser that waits for it. */
static enum rt_code begin(struct study *s, struct track *t, struct rt_problems *p)
{
    const struct house *h = NULL;
    RT_TRY(read_house(s, &h, p));
    t->run = s->run;
    t->run.arena = t->arena;
    if (t == &s->tracks[LANE_PREVIEW] && t->run.n_threads > 1)
        t->run.n_threads /= 2;
    t->lane = (struct lane){ .study = s };
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

/* Of the same house, so that what is made of it may stand for the other's own. */
static enum rt_code with_lane(struct study *s, enum study_lane in, study_use *make, void *user, struct rt_problems *p)
{
    struct track *t = &s->tracks[in];
    pthread_mutex_lock(&t->lock);
    enum rt_code code = prepare(s, t, p);
    if (!code)
        code = make(&t->lane, user, p);
    pthread_mutex_unlock(&t->lock);
    return code;
}

/* What is lent does not change once it is there, and lives as long as the study. */
static enum rt_code lend_cables(struct lane *lender, void *user, struct rt_problems *p)
{
    struct evaluation *to = user;
    const struct cable_plan *cables;
    const struct wire_links *links;
    RT_TRY(evaluation_cables(&lender->ev, &cables, &links, p));
    to->cables = lender->ev.cables;
    to->links = lender->ev.links;
    return RT_OK;
}

/* The radios it names are those of the borrower, which are the same. */
static enum rt_code lend_field(struct lane *lender, void *user, struct rt_problems *p)
{
    struct evaluation *to = user;
    const enum estimate e = to->options.trace.estimate;
    const struct fields *whole;
    struct fields *own = ARENA_NEW(to->run->arena, struct fields);
    if (!own)
        return rt_fail_memory(p);
    RT_TRY(evaluation_fields(&lender->ev, e, &whole, p));
    *own = *whole;
    own->radios = to->radios;
    to->fields[e] = own;
    return RT_OK;
}

/* Locks are taken towards lanes that borrow nothing. */
enum rt_code lane_borrow_cables(struct lane *lane, struct rt_problems *p)
{
    return lane->ev.cables ? RT_OK : with_lane(lane->study, LANE_HOUSE, lend_cables, &lane->ev, p);
}

enum rt_code lane_borrow_field(struct lane *lane, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    return ev->fields[ev->options.trace.estimate] || ev->radios.n == 0
               ? RT_OK
               : with_lane(lane->study, LANE_FIELD, lend_field, ev, p);
}

static enum rt_code ask(struct study *s, enum study_lane in, study_use *use, void *user, struct rt_problems *p)
{
    struct track *t = &s->tracks[in];
    RT_TRY(prepare(s, t, p));
    if (in == LANE_JUDGE || in == LANE_PAPER)
        RT_TRY(lane_borrow_cables(&t->lane, p));
    if (in == LANE_PAPER)
        RT_TRY(lane_borrow_field(&t->lane, p));
    struct rt_problems own;
    rt_problems_init(&own, t->arena);
    const enum rt_code code = use(&t->lane, user, &own);
    problems_copy(p, &own);
    arena_give_back(t->arena);
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

static enum rt_code begin_judging(struct lane *lane, struct rt_problems *p)
{
    if (!lane->is_judging)
        RT_TRY(promises_begin(&lane->ev, ALL_PROMISE_KINDS, p));
    lane->is_judging = true;
    return RT_OK;
}

enum rt_code lane_judge(struct lane *lane, struct rt_problems *p)
{
    struct promise_results all;
    if (lane->judged.v)
        return RT_OK;
    RT_TRY(lane_borrow_field(lane, p));
    RT_TRY(begin_judging(lane, p));
    RT_TRY(promises_finish(&lane->ev, &all, p));
    lane->judged = all;
    return RT_OK;
}

/* Its index in the house. */
static uint32_t find_nth(const struct house *h, uint32_t nth)
{
    for (int late = 0; late < 2; late++)
        for (uint32_t i = 0; i < h->promises.n; i++)
            if (promise_needs_field(h->promises.v[i].kind) == (late == 1) && nth-- == 0)
                return i;
    return NO_REF;
}

enum rt_code lane_judge_one(struct lane *lane, uint32_t nth, const struct promise_result **out, struct rt_problems *p)
{
    const struct house *h = lane->ev.h;
    const uint32_t i = find_nth(h, nth);
    if (promise_needs_field(h->promises.v[i].kind))
        RT_TRY(lane_borrow_field(lane, p));
    RT_TRY(begin_judging(lane, p));
    return promise_of_whole(&lane->ev, i, out, p);
}

#include "web/jobs.h"

#include <stdatomic.h>
#include <string.h>
#include <time.h>

#include "design/design.h"
#include "design/design_text.h"
#include "web/told.h"
#include "wire/open_parts.h"

enum { WORK_MB = 1024, KEPT_MB = 64, WHAT_MOST = 200 };

struct job {
    struct jobs *all;
    uint32_t number;
    pthread_t thread;
    bool is_joined;
    atomic_bool cancel;
    struct arena *kept; /* of the order and of the result */
    struct job_order order;
    struct run run;
    /* under the lock of all */
    enum job_state state;
    char what[WHAT_MOST];
    double share;
    uint32_t news;
    struct str json, file;
    struct rt_problems problems;
};

static void tell(struct job *j)
{
    j->news++;
    pthread_cond_broadcast(&j->all->changed);
}

static void report(void *user, const char *what, double share)
{
    struct job *j = user;
    pthread_mutex_lock(&j->all->lock);
    if (strcmp(j->what, what) != 0 || share - j->share >= 0.01 || share < j->share) {
        snprintf(j->what, sizeof j->what, "%s", what);
        j->share = share;
        tell(j);
    }
    pthread_mutex_unlock(&j->all->lock);
}

/* ---- the work ---- */

struct made {
    struct buf json;
    struct str file;
};

static enum rt_code make(struct job *j, struct arena *work, struct made *out, struct rt_problems *p)
{
    struct run run = j->run;
    struct house *h = NULL;
    struct design *d = NULL;
    run.arena = work;
    run.cancel = &j->cancel;
    run.progress = (struct progress){ report, j };
    RT_TRY(workspace_read_house(j->order.workspace, work, j->order.bytes, &h, p));
    RT_TRY(open_parts_choose(&run, h, p));
    RT_TRY(design_make(&run, h, j->order.options, &d, p));
    run.cancel = NULL; /* asked to stop, it still gives the best so far */
    RT_TRY(fit_write(&run, h, d->fitted.house, &out->file, p));
    struct json json = { .out = &out->json, .compact = true };
    design_write_json(&json, d, NULL);
    return out->json.failed ? rt_fail_memory(p) : RT_OK;
}

/* JSON within other JSON has no line end of its own. */
static struct str without_end(struct str json)
{
    while (json.n && json.p[json.n - 1] == '\n')
        json.n--;
    return json;
}

static void *work(void *user)
{
    struct job *j = user;
    struct arena *arena = arena_new((size_t)WORK_MB << 20);
    struct rt_problems p;
    enum rt_code code = RT_NOMEM;
    rt_problems_init(&p, arena ? arena : j->kept);
    struct made made = { .json = { .arena = arena } };
    if (arena)
        code = make(j, arena, &made, &p);
    pthread_mutex_lock(&j->all->lock);
    problems_copy(&j->problems, &p);
    if (!code) {
        j->json = str_dup(j->kept, without_end(buf_done(&made.json)));
        j->file = str_dup(j->kept, made.file);
        if (!j->json.p || !j->file.p)
            code = RT_NOMEM;
    }
    if (code && !j->problems.n_errors)
        (void)rt_fail(&j->problems, code, RT_NOWHERE, NULL,
                      code == RT_CANCELLED ? "it was stopped before there was anything to show"
                                           : "there is no memory left");
    j->state = code ? JOB_FAILED : JOB_DONE;
    j->share = code ? j->share : 1.0;
    tell(j);
    pthread_mutex_unlock(&j->all->lock);
    arena_free(arena);
    return NULL;
}

/* ---- all of them ---- */

void jobs_open(struct jobs *all)
{
    pthread_condattr_t by_steady_clock;
    *all = (struct jobs){ .next = 1 };
    pthread_mutex_init(&all->lock, NULL);
    pthread_condattr_init(&by_steady_clock);
    pthread_condattr_setclock(&by_steady_clock, CLOCK_MONOTONIC);
    pthread_cond_init(&all->changed, &by_steady_clock);
    pthread_condattr_destroy(&by_steady_clock);
}

static void drop(struct job **slot)
{
    struct job *j = *slot;
    pthread_join(j->thread, NULL);
    *slot = NULL;
    arena_free(j->kept);
}

void jobs_stop(struct jobs *all)
{
    pthread_mutex_lock(&all->lock);
    all->is_ending = true;
    for (int i = 0; i < JOBS_KEPT; i++)
        if (all->v[i])
            atomic_store(&all->v[i]->cancel, true);
    pthread_cond_broadcast(&all->changed);
    pthread_mutex_unlock(&all->lock);
}

void jobs_close(struct jobs *all)
{
    jobs_stop(all);
    for (int i = 0; i < JOBS_KEPT; i++)
        if (all->v[i])
            drop(&all->v[i]);
    pthread_cond_destroy(&all->changed);
    pthread_mutex_destroy(&all->lock);
}

bool jobs_are_ending(struct jobs *all)
{
    pthread_mutex_lock(&all->lock);
    const bool are = all->is_ending;
    pthread_mutex_unlock(&all->lock);
    return are;
}

static struct job *find(struct jobs *all, uint32_t number)
{
    for (int i = 0; i < JOBS_KEPT; i++)
        if (all->v[i] && all->v[i]->number == number)
            return all->v[i];
    return NULL;
}

/* A free place, if need be that of the job that ended and is oldest; NULL: too many run. */
static struct job **place(struct jobs *all)
{
    struct job **oldest = NULL;
    int running = 0;
    for (int i = 0; i < JOBS_KEPT; i++)
        running += all->v[i] && all->v[i]->state == JOB_RUNNING;
    if (running >= JOBS_AT_ONCE)
        return NULL;
    for (int i = 0; i < JOBS_KEPT; i++) {
        if (!all->v[i])
            return &all->v[i];
        if (all->v[i]->state != JOB_RUNNING && (!oldest || all->v[i]->number < (*oldest)->number))
            oldest = &all->v[i];
    }
    drop(oldest);
    return oldest;
}

static struct job *job_new(struct jobs *all, const struct job_order *order, const struct run *run)
{
    struct arena *kept = arena_new((size_t)KEPT_MB << 20);
    struct job *j = kept ? ARENA_NEW(kept, struct job) : NULL;
    if (j) {
        j->all = all;
        j->kept = kept;
        j->order = *order;
        j->order.house = str_dup(kept, order->house);
        j->order.bytes = str_dup(kept, order->bytes);
        j->run = *run;
        rt_problems_init(&j->problems, kept);
        snprintf(j->what, sizeof j->what, "beginning");
    }
    if (!j || !j->order.house.p || !j->order.bytes.p) {
        arena_free(kept);
        return NULL;
    }
    return j;
}

static enum rt_code start(struct jobs *all, struct job *j, uint32_t *number, struct rt_problems *p)
{
    if (all->is_ending)
        return rt_fail(p, RT_LIMIT, RT_NOWHERE, NULL, "the server is being stopped");
    struct job **at = place(all);
    if (!at)
        return rt_fail(p, RT_LIMIT, RT_NOWHERE, "wait until one has ended, or cancel it",
                       "%d designs are under way already", JOBS_AT_ONCE);
    j->number = all->next;
    if (pthread_create(&j->thread, NULL, work, j) != 0)
        return rt_fail(p, RT_NOMEM, RT_NOWHERE, "close something else", "the system starts no further thread");
    *number = all->next++;
    *at = j;
    return RT_OK;
}

enum rt_code job_start(struct jobs *all, const struct job_order *order, const struct run *run, uint32_t *number,
                       struct rt_problems *p)
{
    struct job *j = job_new(all, order, run);
    if (!j)
        return rt_fail_memory(p);
    pthread_mutex_lock(&all->lock);
    const enum rt_code code = start(all, j, number, p);
    pthread_mutex_unlock(&all->lock);
    if (code)
        arena_free(j->kept);
    return code;
}

/* ---- one of them ---- */

static enum rt_code no_such_job(struct rt_problems *p)
{
    return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "begin it anew", "there is no such job, or it was long ago");
}

static bool look(const struct job *j, struct arena *a, struct job_view *out)
{
    const size_t n = strlen(j->what);
    *out = (struct job_view){ .number = j->number,
                              .state = j->state,
                              .revision = j->order.revision,
                              .house = str_dup(a, j->order.house),
                              .what = str_dup(a, (struct str){ j->what, n }),
                              .share = j->share,
                              .news = j->news };
    rt_problems_init(&out->problems, a);
    problems_copy(&out->problems, &j->problems);
    if (j->state == JOB_DONE) {
        out->json = str_dup(a, j->json);
        out->file = str_dup(a, j->file);
    }
    return out->house.p && out->what.p && (j->state != JOB_DONE || (out->json.p && out->file.p));
}

enum rt_code job_look(struct jobs *all, struct arena *a, uint32_t number, struct job_view *out, struct rt_problems *p)
{
    pthread_mutex_lock(&all->lock);
    const struct job *j = find(all, number);
    const bool is_copied = j && look(j, a, out);
    pthread_mutex_unlock(&all->lock);
    if (!j)
        return no_such_job(p);
    return is_copied ? RT_OK : rt_fail_memory(p);
}

enum rt_code job_cancel(struct jobs *all, uint32_t number, struct rt_problems *p)
{
    pthread_mutex_lock(&all->lock);
    struct job *j = find(all, number);
    if (j)
        atomic_store(&j->cancel, true);
    pthread_mutex_unlock(&all->lock);
    return j ? RT_OK : no_such_job(p);
}

void job_wait(struct jobs *all, uint32_t number, uint32_t news, int seconds)
{
    struct timespec until;
    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += seconds;
    pthread_mutex_lock(&all->lock);
    for (;;) {
        const struct job *j = find(all, number);
        if (all->is_ending || !j || j->news != news || pthread_cond_timedwait(&all->changed, &all->lock, &until) != 0)
            break;
    }
    pthread_mutex_unlock(&all->lock);
}

void jobs_rest(struct jobs *all, int seconds)
{
    struct timespec until;
    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += seconds;
    pthread_mutex_lock(&all->lock);
    while (!all->is_ending && pthread_cond_timedwait(&all->changed, &all->lock, &until) == 0)
        continue;
    pthread_mutex_unlock(&all->lock);
}

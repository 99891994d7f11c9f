/* What is computed of a house as it is now, and its file read as a house. */
#include <time.h>

#include "house/other_parts.h"
#include "web/workspace_int.h"

static int64_t now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec;
}

/* With the house's lock: the study of the present revision, held for the caller. */
static enum rt_code present(struct workspace *w, struct arena *a, struct study **out, struct rt_problems *p)
{
    struct workspace_state state;
    RT_TRY(workspace_look_within(w, a, &state, p));
    if (!w->study) {
        RT_TRY(workspace_check_parts(w, a, state.bytes, p));
        w->study =
            study_new(&w->all->run, w->path, (struct study_state){ state.revision.number, state.parts }, state.bytes);
    }
    if (!w->study)
        return rt_fail_memory(p);
    if (atomic_load(&w->all->is_ending))
        study_give_up(w->study);
    study_hold(w->study);
    w->asked_s = now_s();
    *out = w->study;
    return RT_OK;
}

/* Lets go of it; what much was asked of gives way, though it goes on for those who use it. */
static void leave(struct workspace *w, struct study *s)
{
    pthread_mutex_lock(&w->lock);
    if (w->study == s && study_is_full(s))
        workspace_forget_study(w);
    pthread_mutex_unlock(&w->lock);
    study_drop(s);
}

enum rt_code workspace_compute(struct workspace *w, struct arena *a, enum study_lane in, study_use *use, void *user,
                               struct study_state *of, struct rt_problems *p)
{
    enum rt_code code = RT_CANCELLED;
    bool again = true;
    while (again) {
        struct study *s = NULL;
        pthread_mutex_lock(&w->lock);
        code = present(w, a, &s, p);
        pthread_mutex_unlock(&w->lock);
        if (code)
            return code;
        code = study_ask(s, in, use, user, p);
        *of = study_state(s);
        again = code == RT_CANCELLED && study_is_given_up(s) && !atomic_load(&w->all->is_ending);
        leave(w, s);
    }
    return code == RT_CANCELLED ? rt_fail(p, code, RT_NOWHERE, NULL, "the server is being stopped") : code;
}

bool workspaces_forget(struct workspaces *all, int64_t idle_s)
{
    bool any = false;
    pthread_mutex_lock(&all->lock);
    for (uint32_t i = 0; i < all->list.n; i++) {
        struct workspace *w = all->list.v[i];
        pthread_mutex_lock(&w->lock);
        if (w->study && now_s() - w->asked_s >= idle_s) {
            workspace_forget_study(w);
            any = true;
        }
        pthread_mutex_unlock(&w->lock);
    }
    pthread_mutex_unlock(&all->lock);
    return any;
}

enum rt_code workspace_read_house(struct workspace *w, struct arena *a, struct str bytes, struct house **out,
                                  struct rt_problems *p)
{
    return workspace_read_house_with(w, a, bytes, (struct str){ 0 }, out, p);
}

enum rt_code workspace_read_house_with(struct workspace *w, struct arena *a, struct str bytes, struct str parts_bytes,
                                       struct house **out, struct rt_problems *p)
{
    struct run run = w->all->run;
    run.arena = a;
    RT_TRY(workspace_check_parts(w, a, bytes, p));
    return house_read_bytes_with(&run, w->path, bytes, parts_bytes, out, p);
}

enum rt_code workspace_read_parts(struct workspace *w, struct arena *a, struct str bytes, struct parts *out,
                                  struct rt_problems *p)
{
    struct run run = w->all->run;
    run.arena = a;
    return parts_read_bytes(&run, w->path, bytes, out, p);
}

enum rt_code workspace_check(struct workspace *w, struct arena *a, const struct workspace_state *state,
                             struct rt_problems *p)
{
    struct study *s = NULL;
    struct house *h = NULL;
    struct rt_problems unheard;
    bool is_told = false;
    rt_problems_init(&unheard, a);
    pthread_mutex_lock(&w->lock);
    const bool can = present(w, a, &s, &unheard) == RT_OK;
    pthread_mutex_unlock(&w->lock);
    if (can) {
        is_told =
            study_state(s).number == state->revision.number && study_state(s).parts == state->parts && study_read(s, p);
        leave(w, s);
    }
    return is_told ? RT_OK : workspace_read_house(w, a, state->bytes, &h, p);
}

/* run.h - what one run of the program carries with it in place of globals. */
#ifndef RT_RUN_H
#define RT_RUN_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>

#include "base/arena.h"

/* Told how far a long piece of work is.  It is called from the thread that started the work only. */
struct progress {
    void (*report)(void *user, const char *what, double share_done);
    void *user;
};

struct run {
    struct arena *arena;       /* lives as long as the run; results go here unless a call says otherwise */
    uint64_t seed;             /* every random number derives from it */
    int n_threads;             /* at least 1; results do not depend on it */
    int64_t now_s;             /* UNIX time that counts as now */
    struct progress progress;  /* report may be NULL */
    const atomic_bool *cancel; /* set from outside to stop early; NULL: never */
};

static inline bool run_is_cancelled(const struct run *run)
{
    return run->cancel && atomic_load_explicit(run->cancel, memory_order_relaxed);
}

static inline void run_report(const struct run *run, const char *what, double share_done)
{
    if (run->progress.report)
        run->progress.report(run->progress.user, what, share_done);
}

#endif

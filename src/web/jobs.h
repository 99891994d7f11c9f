/* jobs.h - designs under way: each in a thread of its own, on a copy of the house's bytes, holding no lock of the house.
 *
 * A job is asked how far it is, waited for, cancelled (what was found so far stays), and looked at until it gives way to later ones.
 * Safe for use by several threads. */
#ifndef RT_WEB_JOBS_H
#define RT_WEB_JOBS_H

#include <pthread.h>

#include "design/space.h"
#include "web/workspace.h"

enum { JOBS_AT_ONCE = 2, JOBS_KEPT = 8, JOBS_RETRY_S = 5 };

enum job_state { JOB_RUNNING, JOB_DONE, JOB_FAILED };

struct job; /* opaque */

struct jobs {
    pthread_mutex_t lock;
    pthread_cond_t changed;
    struct job *v[JOBS_KEPT]; /* NULL: free */
    uint32_t next;
    bool is_ending;
};

/* What a job is to do.  Texts need not outlive the call. */
struct job_order {
    struct workspace *workspace;
    struct str house; /* its name */
    int64_t revision; /* that the bytes are */
    struct str bytes;
    struct design_options options;
};

/* How it stands; texts in the arena they were asked for in. */
struct job_view {
    uint32_t number;
    enum job_state state;
    struct str house;
    int64_t revision;
    struct str what;             /* it does, in words */
    double share;                /* done, 0 to 1 */
    uint32_t news;               /* rises with each change */
    struct str json;             /* of what is done: as `design --json` */
    struct str file;             /* ... and the designed house file */
    struct rt_problems problems; /* of what failed; of what is done, its warnings */
};

void jobs_open(struct jobs *all);
/* Cancels all that run, waits for them, frees everything; whoever waits is woken. */
void jobs_close(struct jobs *all);
/* From now on none is begun, those that run are cancelled, and whoever waits is told that all has ended. */
void jobs_stop(struct jobs *all);

/* Errors: RT_LIMIT (as many run as may at once), RT_NOMEM. */
RT_MUST_CHECK enum rt_code job_start(struct jobs *all, const struct job_order *order, const struct run *run,
                                     uint32_t *number, struct rt_problems *p);
/* Errors: RT_UNKNOWN_REF (there is no such job, or it gave way), RT_NOMEM. */
RT_MUST_CHECK enum rt_code job_look(struct jobs *all, struct arena *a, uint32_t number, struct job_view *out,
                                    struct rt_problems *p);
RT_MUST_CHECK enum rt_code job_cancel(struct jobs *all, uint32_t number, struct rt_problems *p);
/* Waits until there are news after these, the job is not there any more, all end, or so many seconds are over. */
void job_wait(struct jobs *all, uint32_t number, uint32_t news, int seconds);
bool jobs_are_ending(struct jobs *all);
/* Waits so many seconds, or until all end. */
void jobs_rest(struct jobs *all, int seconds);

#endif

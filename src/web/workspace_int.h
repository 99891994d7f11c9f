/* workspace_int.h - one house of the server, shared by what changes its file (workspace.c) and what is computed of it
 * (workspace_study.c). */
#ifndef RT_WEB_WORKSPACE_INT_H
#define RT_WEB_WORKSPACE_INT_H

#include <limits.h>

#include "web/workspace.h"

struct workspace {
    struct workspaces *all;
    struct str name;
    const char *path;
    bool is_parts;             /* a parts file, which no study is made of */
    char parts_path[PATH_MAX]; /* the parts file that the house names; empty: none that is there */
    int64_t parts_of;          /* the revision that names it; 0: not looked for yet */
    pthread_mutex_t lock;
    struct study *study; /* of the present revision, as of the last look; NULL: nobody asked for anything */
    int64_t asked_s;     /* when something was asked of it last, by a clock that is never set */
};

/* With the house's lock: what workspace_look() does.  What is computed of an earlier state is given up. */
RT_MUST_CHECK enum rt_code workspace_look_within(struct workspace *w, struct arena *a, struct workspace_state *out,
                                                 struct rt_problems *p);
/* May the parts file that these bytes name be read?  Errors: RT_CONFLICT. */
RT_MUST_CHECK enum rt_code workspace_check_parts(struct workspace *w, struct arena *a, struct str bytes,
                                                 struct rt_problems *p);
/* With the house's lock.  Whoever still uses the study keeps it until they are done. */
void workspace_forget_study(struct workspace *w);

#endif

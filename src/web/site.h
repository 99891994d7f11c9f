/* site.h - the building site of each house: its checklist and what its readings should have been, as the present revision has them.
 *
 * Apart from the workspace's evaluation: ticks are looked at every few seconds, and must not wait for a computation.  Safe for several
 * threads. */
#ifndef RT_WEB_SITE_H
#define RT_WEB_SITE_H

#include <pthread.h>

#include "book/checklist.h"
#include "web/records.h"
#include "web/workspace.h"

/* What one reading is held against; as the engine has it for a phone, as `signal` does. */
struct expected {
    int64_t number;      /* of the reading */
    bool is_gone;        /* the house has no such floor or access point, or not that band on it */
    double level_dbm;    /* NaN: gone, or nothing arrives */
    struct str where;    /* in words */
    uint32_t room;       /* of house->rooms; NO_REF: in none */
    struct str promises; /* JSON: [{"id", "says", "needed_dbm", "passed"}], what was promised there */
};

struct site {
    struct str house;
    pthread_mutex_t lock;
    struct arena *arena; /* of that state; NULL: nothing yet */
    struct study_state of;
    bool has_list;
    struct checklist list;
    const char *estimate;
    VEC(struct expected) expected;
};

struct sites {
    pthread_mutex_t lock;
    struct arena *arena; /* its own, under the lock */
    VEC(struct site *) list;
};

/* Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code sites_open(struct sites *all, struct rt_problems *p);
void sites_close(struct sites *all);

/* The site of a house, locked, of the present revision; unlock it with site_leave().  Errors: those of workspace_look(). */
RT_MUST_CHECK enum rt_code site_enter(struct sites *all, struct workspace *w, struct str house, struct arena *scratch,
                                      struct site **out, struct rt_problems *p);
void site_leave(struct site *site);
/* While it is entered: makes what is not there yet.  Errors: those of checklist_make(), spot_report_make(). */
RT_MUST_CHECK enum rt_code site_need_list(struct site *site, struct workspace *w, struct arena *scratch,
                                          struct rt_problems *p);
RT_MUST_CHECK enum rt_code site_need_expected(struct site *site, struct workspace *w, struct arena *scratch,
                                              const reading_list *readings, struct rt_problems *p);
/* NULL: there is none of that number. */
const struct expected *site_expected(const struct site *site, int64_t number);
const struct checklist_box *site_box(const struct site *site, struct str id);

#endif

/* workspace.h - one house as the server has it: the file's bytes, the revision they are, and what was computed of them.
 *
 * Every change goes the same way: look at the file (somebody may have changed it outside), make the new bytes, note them in the store,
 * replace the file, move the mark.  A change says on which revision it was made.  If the house has moved on since, it is made on what
 * is there now, if nothing it touches was touched; else it is refused, and nothing is lost.
 *
 * Calls lock the house for as long as files are read and written; several threads may ask. */
#ifndef RT_WEB_WORKSPACE_H
#define RT_WEB_WORKSPACE_H

#include <pthread.h>
#include <stdatomic.h>

#include "base/run.h"
#include "house/edit.h"
#include "house/house.h"
#include "web/folder.h"
#include "web/store.h"
#include "web/study.h"

struct workspace; /* opaque */

/* The house by its name, opened when it is first asked for; kept until workspaces_close().  Errors: those of folder_path() and
 * folder_look(). */
struct workspaces {
    struct arena *arena; /* its own, under the lock */
    pthread_mutex_t lock;
    struct folder folder;
    struct store *store;
    struct run run;        /* of the server: threads, seed; its arena is not used by houses */
    VEC(struct str) parts; /* parts files outside the folder that houses named when the server was started */
    VEC(struct workspace *) list;
    atomic_bool is_ending;
};

RT_MUST_CHECK enum rt_code workspaces_open(struct workspaces *all, const struct run *run, const char *path,
                                           struct rt_problems *p);
void workspaces_close(struct workspaces *all);
/* What is being computed stops, and nothing is begun any more: before the server waits for the requests under way. */
void workspaces_stop(struct workspaces *all);
RT_MUST_CHECK enum rt_code workspace_find(struct workspaces *all, struct str name, struct workspace **out,
                                          struct rt_problems *p);
/* The parts file that a house names, as it is now: looked at, edited, taken back and restored by the same calls, with a history of its
 * own.  Every house that names it is computed anew after a change.  Errors: RT_UNKNOWN_REF (it names none, or one that is not there),
 * RT_CONFLICT (one that may not be read, or has not the name of a parts file, NAME.parts.yaml). */
RT_MUST_CHECK enum rt_code workspace_find_parts(struct workspace *house, struct arena *a, struct workspace **out,
                                                struct rt_problems *p);
bool workspace_is_parts(const struct workspace *w);
/* By which it is asked for; of a parts file its path as seen from the folder. */
struct str workspace_name(const struct workspace *w);
const char *workspace_path(const struct workspace *w); /* absolute */

/* What the house is now; bytes in the arena. */
struct workspace_state {
    struct revision revision;
    struct str bytes;
    uint64_t parts;       /* of a house: mark of the parts file that it names (study.h) */
    bool changed_outside; /* found so by this look */
};
RT_MUST_CHECK enum rt_code workspace_look(struct workspace *w, struct arena *a, struct workspace_state *out,
                                          struct rt_problems *p);

/* A mark of its file, and of the parts file that it named when it was looked at last, of what the file system says of them: another
 * whenever either was written or replaced.  Cheap: nothing is read. */
uint64_t workspace_mark(struct workspace *w);

/* A change made on revision `base` (0: whatever is there).  The file need not be a house that can be read: diagnostics are asked for
 * apart.  Errors: RT_CONFLICT (what it touches was changed since), and edit_apply()'s. */
RT_MUST_CHECK enum rt_code workspace_edit(struct workspace *w, struct arena *a, int64_t base, const struct edit *edits,
                                          size_t n, struct str what, struct workspace_state *out,
                                          struct rt_problems *p);
/* The whole text; refused with RT_CONFLICT if the house is no longer at `base`. */
RT_MUST_CHECK enum rt_code workspace_write(struct workspace *w, struct arena *a, int64_t base, struct str bytes,
                                           struct str what, struct workspace_state *out, struct rt_problems *p);

/* Back to the parent, forth to the child the user was at last, or to any revision, which becomes a new one after the present.
 * Errors: RT_CONFLICT (there is none: nothing to undo, nothing to redo), RT_UNKNOWN_REF. */
RT_MUST_CHECK enum rt_code workspace_undo(struct workspace *w, struct arena *a, struct workspace_state *out,
                                          struct rt_problems *p);
RT_MUST_CHECK enum rt_code workspace_redo(struct workspace *w, struct arena *a, struct workspace_state *out,
                                          struct rt_problems *p);
RT_MUST_CHECK enum rt_code workspace_restore(struct workspace *w, struct arena *a, int64_t number,
                                             struct workspace_state *out, struct rt_problems *p);
RT_MUST_CHECK enum rt_code workspace_history(struct workspace *w, struct arena *a, uint32_t most, revision_list *out,
                                             bool *can_undo, bool *can_redo, struct rt_problems *p);

/* The file as it was.  Errors: RT_UNKNOWN_REF. */
RT_MUST_CHECK enum rt_code workspace_then(struct workspace *w, struct arena *a, int64_t number, struct str *bytes,
                                          struct rt_problems *p);
/* Notes how the promises stood at a revision. */
RT_MUST_CHECK enum rt_code workspace_judged(struct workspace *w, int64_t number, int32_t kept, int32_t broken,
                                            int32_t unknown, struct rt_problems *p);

/* A house of the folder that is not there yet, with these bytes.  Errors: RT_CONFLICT (it is there). */
RT_MUST_CHECK enum rt_code workspace_create(struct workspaces *all, struct str name, struct str bytes,
                                            struct rt_problems *p);

/* The parts file that the bytes of a house file at that place name, as an absolute path; empty: none, or not one that is there.
 * Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code workspace_parts_of(struct arena *a, const char *house_path, struct str bytes,
                                              struct str *out, struct rt_problems *p);

/* Something computed of the house as it is now (study.h), holding no lock of the house: edits, files and history never wait for it.
 * If the house is changed before the answer is there, `use` is called again, of what it is then.  Problems of reading the house
 * (diagnostics) come back as its error; RT_CANCELLED: the server is being stopped. */
RT_MUST_CHECK enum rt_code workspace_compute(struct workspace *w, struct arena *a, enum study_lane in, study_use *use,
                                             void *user, struct study_state *of, struct rt_problems *p);
/* Forgets what was computed of houses that nobody has asked about for so many seconds, so that a server at rest is small.  True: there
 * was something. */
bool workspaces_forget(struct workspaces *all, int64_t idle_s);
/* Diagnostics of the house as it was looked at, as workspace_read_house() would tell them, but read once for all who ask.  Errors: its. */
RT_MUST_CHECK enum rt_code workspace_check(struct workspace *w, struct arena *a, const struct workspace_state *state,
                                           struct rt_problems *p);
/* The house of any bytes as this one's file would be read, parts and all: what diagnostics are made of.  Lives in the arena; takes no
 * lock.  Errors: house_read_bytes()'s, RT_CONFLICT (it names a parts file that may not be read). */
RT_MUST_CHECK enum rt_code workspace_read_house(struct workspace *w, struct arena *a, struct str bytes,
                                                struct house **out, struct rt_problems *p);
/* The same as if its parts file held these bytes. */
RT_MUST_CHECK enum rt_code workspace_read_house_with(struct workspace *w, struct arena *a, struct str bytes,
                                                     struct str parts_bytes, struct house **out, struct rt_problems *p);
/* Of a parts file: the parts in these bytes.  Errors: parts_read_bytes()'s. */
RT_MUST_CHECK enum rt_code workspace_read_parts(struct workspace *w, struct arena *a, struct str bytes,
                                                struct parts *out, struct rt_problems *p);

#endif

#include "web/workspace_int.h"

#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "house/edit_int.h"
#include "web/parts_files.h"

enum { ALL_MB = 256 };

/* ---- parts ---- */

enum rt_code workspace_parts_of(struct arena *a, const char *house_path, struct str bytes, struct str *out,
                                struct rt_problems *p)
{
    struct edit_node *root = NULL;
    struct rt_problems unheard;
    char real[PATH_MAX];
    *out = (struct str){ 0 };
    rt_problems_init(&unheard, a);
    if (edit_parse(a, house_path, bytes, &root, &unheard) != RT_OK || root->kind != EDIT_MAPPING)
        return RT_OK; /* the reader will say what is wrong with it */
    const uint32_t i = edit_find_entry(root, STR("parts_file"));
    if (i == root->entries.n || root->entries.v[i].value->kind != EDIT_SCALAR)
        return RT_OK;
    const struct str named = root->entries.v[i].value->text;
    const char *slash = strrchr(house_path, '/');
    const char *path = named.n && named.p[0] == '/'
                           ? arena_printf(a, "%.*s", STR_ARG(named))
                           : arena_printf(a, "%.*s%.*s", (int)(slash + 1 - house_path), house_path, STR_ARG(named));
    if (!path)
        return rt_fail_memory(p);
    if (realpath(path, real))
        *out = str_dup(a, str_from(real));
    return RT_OK;
}

static bool is_within(const char *folder, struct str path)
{
    const size_t n = strlen(folder);
    return path.n > n && memcmp(path.p, folder, n) == 0 && (folder[n - 1] == '/' || path.p[n] == '/');
}

/* A browser may not make the server read whatever file it names. */
static enum rt_code may_read(const struct workspaces *all, struct str parts, struct rt_problems *p)
{
    bool may = !parts.n || is_within(all->folder.path, parts);
    for (uint32_t i = 0; i < all->parts.n && !may; i++)
        may = str_eq(all->parts.v[i], parts);
    return may ? RT_OK
               : rt_fail(
                     p, RT_CONFLICT, RT_NOWHERE,
                     "put the parts file into the folder, or start the server anew with this house file as it is",
                     "the parts file lies outside the folder that is served, and was not named when it was started");
}

enum rt_code workspace_check_parts(struct workspace *w, struct arena *a, struct str bytes, struct rt_problems *p)
{
    struct str parts;
    RT_TRY(workspace_parts_of(a, w->path, bytes, &parts, p));
    return may_read(w->all, parts, p);
}

/* Notes the parts file that a house names now, if it can be read. */
static enum rt_code allow_parts_of(struct workspaces *all, struct arena *a, struct str name, struct rt_problems *p)
{
    const char *path = NULL;
    struct stat st;
    struct str bytes, parts;
    struct rt_problems unheard;
    rt_problems_init(&unheard, a);
    RT_TRY(folder_path(a, &all->folder, name, &path, p));
    if (folder_look(path, &st, &unheard) != RT_OK || file_read(a, path, HOUSE_MAX_BYTES, &bytes, &unheard) != RT_OK)
        return RT_OK;
    RT_TRY(workspace_parts_of(a, path, bytes, &parts, p));
    if (!parts.n)
        return RT_OK;
    parts = str_dup(all->arena, parts);
    return parts.p && VEC_PUSH(all->arena, &all->parts, parts) ? RT_OK : rt_fail_memory(p);
}

/* Parts files outside the folder that the houses name now, before any browser can have a say. */
static enum rt_code allow_parts(struct workspaces *all, struct rt_problems *p)
{
    folder_names names;
    struct arena *a = arena_new((size_t)ALL_MB << 20);
    enum rt_code code = a ? folder_list(a, &all->folder, &names, p) : rt_fail_memory(p);
    for (uint32_t i = 0; !code && i < names.n; i++) {
        const struct arena_mark mark = arena_mark(a);
        code = allow_parts_of(all, a, names.v[i], p);
        arena_reset(a, mark);
    }
    arena_free(a);
    return code;
}

/* ---- all houses ---- */

static enum rt_code open_all(struct workspaces *all, const char *path, struct rt_problems *p)
{
    RT_TRY(folder_open(all->arena, path, &all->folder, p));
    RT_TRY(allow_parts(all, p));
    return store_open(all->arena, all->folder.path, &all->store, p);
}

/* The run's arena is its user's: what requests leave for later ones needs one of its own. */
enum rt_code workspaces_open(struct workspaces *all, const struct run *run, const char *path, struct rt_problems *p)
{
    *all = (struct workspaces){ .arena = arena_new((size_t)ALL_MB << 20), .run = *run };
    all->run.progress = (struct progress){ 0 }; /* not from several threads at once */
    pthread_mutex_init(&all->lock, NULL);
    const enum rt_code code = all->arena ? open_all(all, path, p) : rt_fail_memory(p);
    if (code) {
        pthread_mutex_destroy(&all->lock);
        arena_free(all->arena);
    }
    return code;
}

void workspace_forget_study(struct workspace *w)
{
    study_drop(w->study);
    w->study = NULL;
}

void workspaces_stop(struct workspaces *all)
{
    atomic_store(&all->is_ending, true);
    pthread_mutex_lock(&all->lock);
    for (uint32_t i = 0; i < all->list.n; i++) {
        struct workspace *w = all->list.v[i];
        pthread_mutex_lock(&w->lock);
        if (w->study)
            study_give_up(w->study);
        pthread_mutex_unlock(&w->lock);
    }
    pthread_mutex_unlock(&all->lock);
}

void workspaces_close(struct workspaces *all)
{
    for (uint32_t i = 0; i < all->list.n; i++) {
        workspace_forget_study(all->list.v[i]);
        pthread_mutex_destroy(&all->list.v[i]->lock);
    }
    store_close(all->store);
    pthread_mutex_destroy(&all->lock);
    arena_free(all->arena);
}

static struct workspace *add(struct workspaces *all, struct str name, const char *path, bool is_parts)
{
    struct workspace *w = ARENA_NEW(all->arena, struct workspace);
    if (!w)
        return NULL;
    *w = (struct workspace){ .all = all, .name = str_dup(all->arena, name), .path = path, .is_parts = is_parts };
    pthread_mutex_init(&w->lock, NULL);
    return w->name.p && VEC_PUSH(all->arena, &all->list, w) ? w : NULL;
}

static enum rt_code find_or_add(struct workspaces *all, struct str name, struct workspace **out, struct rt_problems *p)
{
    const char *path = NULL;
    struct stat st;
    for (uint32_t i = 0; i < all->list.n; i++)
        if (!all->list.v[i]->is_parts && str_eq(all->list.v[i]->name, name)) {
            *out = all->list.v[i];
            return folder_look((*out)->path, &st, p);
        }
    /* a house that is not there leaves nothing behind: a browser may ask for as many as it likes */
    RT_TRY(folder_path(p->arena, &all->folder, name, &path, p));
    RT_TRY(folder_look(path, &st, p));
    const char *kept = str_dup(all->arena, str_from(path)).p;
    *out = kept ? add(all, name, kept, false) : NULL;
    return *out ? RT_OK : rt_fail_memory(p);
}

enum rt_code workspace_find(struct workspaces *all, struct str name, struct workspace **out, struct rt_problems *p)
{
    *out = NULL;
    pthread_mutex_lock(&all->lock);
    const enum rt_code code = find_or_add(all, name, out, p);
    pthread_mutex_unlock(&all->lock);
    return code;
}

bool workspace_is_parts(const struct workspace *w) { return w->is_parts; }

struct str workspace_name(const struct workspace *w) { return w->name; }

const char *workspace_path(const struct workspace *w) { return w->path; }

enum rt_code workspace_find_parts(struct workspace *house, struct arena *a, struct workspace **out,
                                  struct rt_problems *p)
{
    struct workspaces *all = house->all;
    struct workspace_state s;
    struct str path;
    *out = NULL;
    RT_TRY(workspace_look(house, a, &s, p));
    RT_TRY(workspace_parts_of(a, house->path, s.bytes, &path, p));
    if (!path.n)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "name one: `parts_file: NAME.parts.yaml`",
                       "the house names no parts file that is there");
    RT_TRY(may_read(all, path, p));
    if (!parts_file_has_name(path))
        return rt_fail(p, RT_CONFLICT, RT_NOWHERE, "call it NAME.parts.yaml", "this is not the name of a parts file");
    pthread_mutex_lock(&all->lock);
    for (uint32_t i = 0; i < all->list.n && !*out; i++)
        if (all->list.v[i]->is_parts && str_eq(str_from(all->list.v[i]->path), path))
            *out = all->list.v[i];
    if (!*out) {
        const char *kept = str_dup(all->arena, path).p;
        const struct str name = parts_file_name(a, all->folder.path, path);
        *out = kept && name.n ? add(all, name, kept, true) : NULL;
    }
    pthread_mutex_unlock(&all->lock);
    return *out ? RT_OK : rt_fail_memory(p);
}

/* ---- the present state ---- */

/* What is computed of an earlier state nobody will ask for again: it stops. */
static void give_up_others(struct workspace *w, int64_t number, uint64_t parts)
{
    if (!w->study || (study_state(w->study).number == number && study_state(w->study).parts == parts))
        return;
    study_give_up(w->study);
    workspace_forget_study(w);
}

static enum rt_code read_file(struct workspace *w, struct arena *a, struct str *out, struct rt_problems *p)
{
    struct stat st;
    RT_TRY(folder_look(w->path, &st, p));
    return file_read(a, w->path, HOUSE_MAX_BYTES, out, p);
}

/* Notes a state that the file holds already. */
static enum rt_code note(struct workspace *w, struct arena *a, int64_t parent, struct str what, struct str bytes,
                         struct revision *out, struct rt_problems *p)
{
    struct store *s = w->all->store;
    int64_t number = 0;
    RT_TRY(store_add(s, w->name, parent, time(NULL), what, bytes, &number, p));
    RT_TRY(store_mark(s, w->name, number, p));
    return store_read(s, a, w->name, number, out, NULL, p);
}

/* The mark follows the file: after a kill between the two, and after a change by another program. */
static enum rt_code look_at_file(struct workspace *w, struct arena *a, struct workspace_state *out,
                                 struct rt_problems *p)
{
    struct store *s = w->all->store;
    struct str marked = { 0 };
    struct revision same;
    *out = (struct workspace_state){ 0 };
    RT_TRY(read_file(w, a, &out->bytes, p));
    RT_TRY(store_marked(s, a, w->name, &out->revision, &marked, p));
    if (out->revision.number && str_eq(marked, out->bytes))
        return RT_OK;
    const int64_t parent = out->revision.number;
    RT_TRY(store_find(s, a, w->name, out->bytes, &same, p));
    if (same.number && same.parent == parent) { /* noted, written, and then stopped */
        out->revision = same;
        return store_mark(s, w->name, same.number, p);
    }
    out->changed_outside = parent != 0;
    return note(w, a, parent, parent ? STR("changed outside") : STR("as it was found"), out->bytes, &out->revision, p);
}

/* Which state the house's parts file is in; the house is searched for its name once a revision. */
static enum rt_code mark_parts(struct workspace *w, struct arena *a, struct workspace_state *out, struct rt_problems *p)
{
    struct str parts;
    if (w->parts_of != out->revision.number || !w->parts_path[0]) {
        RT_TRY(workspace_parts_of(a, w->path, out->bytes, &parts, p));
        snprintf(w->parts_path, sizeof w->parts_path, "%.*s", STR_ARG(parts));
        w->parts_of = out->revision.number;
    }
    out->parts = w->parts_path[0] ? parts_file_mark(w->parts_path) : 0;
    return RT_OK;
}

enum rt_code workspace_look_within(struct workspace *w, struct arena *a, struct workspace_state *out,
                                   struct rt_problems *p)
{
    RT_TRY(look_at_file(w, a, out, p));
    if (!w->is_parts)
        RT_TRY(mark_parts(w, a, out, p));
    give_up_others(w, out->revision.number, out->parts);
    return RT_OK;
}

/* New bytes in place of the present ones, as one step of the history. */
static enum rt_code put(struct workspace *w, struct arena *a, struct str what, struct str bytes,
                        struct workspace_state *state, struct rt_problems *p)
{
    struct store *s = w->all->store;
    int64_t number = 0;
    if (str_eq(bytes, state->bytes))
        return RT_OK;
    RT_TRY(store_add(s, w->name, state->revision.number, time(NULL), what, bytes, &number, p));
    RT_TRY(file_replace(a, w->path, state->bytes, bytes, p));
    RT_TRY(store_mark(s, w->name, number, p));
    give_up_others(w, number, 0);
    state->bytes = bytes;
    return store_read(s, a, w->name, number, &state->revision, NULL, p);
}

enum rt_code workspace_look(struct workspace *w, struct arena *a, struct workspace_state *out, struct rt_problems *p)
{
    pthread_mutex_lock(&w->lock);
    const enum rt_code code = workspace_look_within(w, a, out, p);
    pthread_mutex_unlock(&w->lock);
    return code;
}

uint64_t workspace_mark(struct workspace *w)
{
    pthread_mutex_lock(&w->lock);
    const uint64_t own = parts_file_mark(w->path), parts = w->parts_path[0] ? parts_file_mark(w->parts_path) : 0;
    pthread_mutex_unlock(&w->lock);
    return own ^ (parts << 1 | parts >> 63);
}

/* ---- changes ---- */

static enum rt_code moved_on(const struct workspace *w, const struct workspace_state *state, struct rt_problems *p)
{
    return rt_fail(p, RT_CONFLICT, RT_NOWHERE, "look at what it is now, and make your change on that",
                   "the %s was changed meanwhile (%.*s): what you change is not what you saw",
                   w->is_parts ? "parts file" : "house", STR_ARG(state->revision.what));
}

/* Edits meant for an earlier revision are made on the present one if they mean the same there. */
static enum rt_code check_base(struct workspace *w, struct arena *a, int64_t base, const struct edit *edits, size_t n,
                               const struct workspace_state *state, struct rt_problems *p)
{
    struct revision was;
    struct str bytes = { 0 };
    bool is_untouched = false;
    if (!base || base == state->revision.number)
        return RT_OK;
    RT_TRY(store_read(w->all->store, a, w->name, base, &was, &bytes, p));
    RT_TRY(edit_check_untouched(w->path, bytes, state->bytes, edits, n, &is_untouched, p));
    return is_untouched ? RT_OK : moved_on(w, state, p);
}

static enum rt_code edit(struct workspace *w, struct arena *a, int64_t base, const struct edit *edits, size_t n,
                         struct str what, struct workspace_state *out, struct rt_problems *p)
{
    struct edit_change change;
    RT_TRY(workspace_look_within(w, a, out, p));
    RT_TRY(check_base(w, a, base, edits, n, out, p));
    RT_TRY(edit_apply(a, w->path, out->bytes, edits, n, &change, p));
    return put(w, a, what, change.bytes, out, p);
}

enum rt_code workspace_edit(struct workspace *w, struct arena *a, int64_t base, const struct edit *edits, size_t n,
                            struct str what, struct workspace_state *out, struct rt_problems *p)
{
    pthread_mutex_lock(&w->lock);
    const enum rt_code code = edit(w, a, base, edits, n, what, out, p);
    pthread_mutex_unlock(&w->lock);
    return code;
}

static enum rt_code write_whole(struct workspace *w, struct arena *a, int64_t base, struct str bytes, struct str what,
                                struct workspace_state *out, struct rt_problems *p)
{
    RT_TRY(workspace_look_within(w, a, out, p));
    if (base && base != out->revision.number)
        return moved_on(w, out, p);
    return put(w, a, what, bytes, out, p);
}

enum rt_code workspace_write(struct workspace *w, struct arena *a, int64_t base, struct str bytes, struct str what,
                             struct workspace_state *out, struct rt_problems *p)
{
    pthread_mutex_lock(&w->lock);
    const enum rt_code code = write_whole(w, a, base, bytes, what, out, p);
    pthread_mutex_unlock(&w->lock);
    return code;
}

/* ---- back and forth ---- */

/* The file becomes what it was at a revision, and the mark goes there. */
static enum rt_code go_to(struct workspace *w, struct arena *a, int64_t number, struct workspace_state *state,
                          struct rt_problems *p)
{
    struct str bytes = { 0 };
    RT_TRY(store_read(w->all->store, a, w->name, number, &state->revision, &bytes, p));
    RT_TRY(file_replace(a, w->path, state->bytes, bytes, p));
    give_up_others(w, number, 0);
    state->bytes = bytes;
    return store_mark(w->all->store, w->name, number, p);
}

static enum rt_code step(struct workspace *w, struct arena *a, bool is_back, struct workspace_state *out,
                         struct rt_problems *p)
{
    struct revision child = { 0 };
    RT_TRY(workspace_look_within(w, a, out, p));
    if (!is_back)
        RT_TRY(store_child(w->all->store, a, w->name, out->revision.number, &child, p));
    const int64_t to = is_back ? out->revision.parent : child.number;
    return to ? go_to(w, a, to, out, p)
              : rt_fail(p, RT_CONFLICT, RT_NOWHERE, NULL,
                        is_back ? "there is nothing to undo" : "there is nothing to redo");
}

enum rt_code workspace_undo(struct workspace *w, struct arena *a, struct workspace_state *out, struct rt_problems *p)
{
    pthread_mutex_lock(&w->lock);
    const enum rt_code code = step(w, a, true, out, p);
    pthread_mutex_unlock(&w->lock);
    return code;
}

enum rt_code workspace_redo(struct workspace *w, struct arena *a, struct workspace_state *out, struct rt_problems *p)
{
    pthread_mutex_lock(&w->lock);
    const enum rt_code code = step(w, a, false, out, p);
    pthread_mutex_unlock(&w->lock);
    return code;
}

static enum rt_code restore(struct workspace *w, struct arena *a, int64_t number, struct workspace_state *out,
                            struct rt_problems *p)
{
    struct revision then;
    struct str bytes = { 0 };
    RT_TRY(workspace_look_within(w, a, out, p));
    RT_TRY(store_read(w->all->store, a, w->name, number, &then, &bytes, p));
    const char *what = arena_printf(a, "restored revision %lld", (long long)number);
    return what ? put(w, a, str_from(what), bytes, out, p) : rt_fail_memory(p);
}

enum rt_code workspace_restore(struct workspace *w, struct arena *a, int64_t number, struct workspace_state *out,
                               struct rt_problems *p)
{
    pthread_mutex_lock(&w->lock);
    const enum rt_code code = restore(w, a, number, out, p);
    pthread_mutex_unlock(&w->lock);
    return code;
}

static enum rt_code history(struct workspace *w, struct arena *a, uint32_t most, revision_list *out, bool *can_undo,
                            bool *can_redo, struct rt_problems *p)
{
    struct workspace_state state;
    struct revision child;
    RT_TRY(workspace_look_within(w, a, &state, p));
    RT_TRY(store_child(w->all->store, a, w->name, state.revision.number, &child, p));
    *can_undo = state.revision.parent != 0;
    *can_redo = child.number != 0;
    return store_list(w->all->store, a, w->name, most, out, p);
}

enum rt_code workspace_history(struct workspace *w, struct arena *a, uint32_t most, revision_list *out, bool *can_undo,
                               bool *can_redo, struct rt_problems *p)
{
    pthread_mutex_lock(&w->lock);
    const enum rt_code code = history(w, a, most, out, can_undo, can_redo, p);
    pthread_mutex_unlock(&w->lock);
    return code;
}

enum rt_code workspace_then(struct workspace *w, struct arena *a, int64_t number, struct str *bytes,
                            struct rt_problems *p)
{
    struct revision then;
    pthread_mutex_lock(&w->lock);
    const enum rt_code code = store_read(w->all->store, a, w->name, number, &then, bytes, p);
    pthread_mutex_unlock(&w->lock);
    return code;
}

enum rt_code workspace_judged(struct workspace *w, int64_t number, int32_t kept, int32_t broken, int32_t unknown,
                              struct rt_problems *p)
{
    pthread_mutex_lock(&w->lock);
    const enum rt_code code = store_judge(w->all->store, w->name, number, kept, broken, unknown, p);
    pthread_mutex_unlock(&w->lock);
    return code;
}

enum rt_code workspace_create(struct workspaces *all, struct str name, struct str bytes, struct rt_problems *p)
{
    const char *path = NULL;
    struct stat st;
    pthread_mutex_lock(&all->lock);
    enum rt_code code = folder_path(all->arena, &all->folder, name, &path, p);
    if (!code && lstat(path, &st) == 0)
        code = rt_fail(p, RT_CONFLICT, RT_NOWHERE, "give it another name", "there is a house of that name already");
    if (!code)
        code = file_write(path, bytes, 0644, p);
    pthread_mutex_unlock(&all->lock);
    return code;
}

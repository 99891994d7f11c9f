#include "reach/export.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "reach/calendar.h"

static const struct export_form FORMS[] = {
#define ROW(name, says, make) { name, says, make },
    EXPORT_FORMS(ROW, ROW)
#undef ROW
};

const struct export_form *export_forms(uint32_t *n)
{
    *n = RT_COUNT(FORMS);
    return FORMS;
}

const struct export_form *export_form_find(struct str name)
{
    for (size_t i = 0; i < RT_COUNT(FORMS); i++)
        if (str_is(name, FORMS[i].name))
            return &FORMS[i];
    return NULL;
}

enum { CALENDAR_YEARS = 3 };

enum rt_code export_prepare(const struct run *run, const struct house *h, const struct port_pick *picks,
                            bool with_secrets, struct export_house *out, struct rt_problems *p)
{
    struct address_plan *plan;
    struct policy *policy;
    struct calendar *calendar;
    struct layer2 *l2;
    struct secrets *secrets = NULL;
    RT_TRY(addresses_plan(run, h, &plan, p));
    RT_TRY(policy_compile(run, plan, &policy, p));
    RT_TRY(calendar_make(run, h, run->now_s, CALENDAR_YEARS, &calendar, p));
    RT_TRY(layer2_plan(run, plan, picks, &l2, p));
    if (with_secrets)
        RT_TRY(secrets_open(run, h, &secrets, p));
    *out = (struct export_house){ run, h, plan, policy, calendar, l2, secrets };
    return RT_OK;
}

struct buf export_begin(struct export_folder *out) { return (struct buf){ .arena = out->arena }; }

void export_end(struct export_folder *out, const struct buf *text, uint32_t mode, const char *path, ...)
{
    va_list args;
    va_start(args, path);
    char *name = arena_vprintf(out->arena, path, args);
    va_end(args);
    const struct export_file f = { .path = str_from(name ? name : ""), .bytes = buf_done(text), .mode = mode };
    out->failed |= !name || text->failed || !VEC_PUSH(out->arena, &out->files, f);
}

/* ---- folders ---- */

/* Lists what an export wrote, so that a later one knows what it may replace. */
#define LIST_NAME ".rooftree_export"

struct tree {
    struct arena *arena;
    VEC(struct str) files, folders; /* below the top; a folder before what is in it */
    bool failed;
};

static void walk(struct tree *t, const char *top, const char *below)
{
    const char *here = below[0] ? arena_printf(t->arena, "%s/%s", top, below) : top;
    DIR *dir = here ? opendir(here) : NULL;
    if (!dir) {
        t->failed = true;
        return;
    }
    for (const struct dirent *e = readdir(dir); e && !t->failed; e = readdir(dir)) {
        struct stat st;
        if (strcmp(e->d_name, ".") == 0 || strcmp(e->d_name, "..") == 0)
            continue;
        char *name = arena_printf(t->arena, "%s%s%s", below, below[0] ? "/" : "", e->d_name);
        const bool is_there = name && fstatat(dirfd(dir), e->d_name, &st, AT_SYMLINK_NOFOLLOW) == 0;
        const bool is_folder = is_there && S_ISDIR(st.st_mode);
        t->failed |= !is_there || !(is_folder ? VEC_PUSH(t->arena, &t->folders, str_from(name))
                                              : VEC_PUSH(t->arena, &t->files, str_from(name)));
        if (is_folder && !t->failed)
            walk(t, top, name);
    }
    closedir(dir);
}

/* Removes what the tree lists, then the folder itself. */
static bool remove_tree(struct arena *a, const char *top)
{
    struct tree t = { .arena = a };
    walk(&t, top, "");
    bool ok = !t.failed;
    for (uint32_t i = 0; ok && i < t.files.n; i++) {
        const char *path = arena_printf(a, "%s/%s", top, t.files.v[i].p);
        ok = path && unlink(path) == 0;
    }
    for (uint32_t i = t.folders.n; ok && i-- > 0;) {
        const char *path = arena_printf(a, "%s/%s", top, t.folders.v[i].p);
        ok = path && rmdir(path) == 0;
    }
    return ok && rmdir(top) == 0;
}

static enum rt_code fail_folder(struct rt_problems *p, const char *path, const char *what)
{
    return rt_fail(p, RT_IO, (struct rt_place){ .file = path }, NULL, "cannot %s: %s", what, strerror(errno));
}

static bool is_listed(struct str list, struct str name)
{
    for (size_t from = 0; from < list.n;) {
        const char *end = memchr(list.p + from, '\n', list.n - from);
        const size_t n = end ? (size_t)(end - list.p) - from : list.n - from;
        if (str_eq((struct str){ list.p + from, n }, name))
            return true;
        from += n + 1;
    }
    return false;
}

/* A folder that is there may be replaced if nothing in it is somebody else's. */
static enum rt_code check_replaceable(struct arena *a, const char *path, struct rt_problems *p)
{
    struct tree t = { .arena = a };
    struct str list = { 0 };
    walk(&t, path, "");
    if (t.failed)
        return fail_folder(p, path, "look into the folder");
    const char *name = arena_printf(a, "%s/%s", path, LIST_NAME);
    struct stat st;
    if (name && lstat(name, &st) == 0 && S_ISREG(st.st_mode))
        RT_TRY(file_read(a, name, 1024 * 1024, &list, p));
    for (uint32_t i = 0; i < t.files.n; i++)
        if (!str_is(t.files.v[i], LIST_NAME) && !is_listed(list, t.files.v[i]))
            return rt_fail(p, RT_CONFLICT, (struct rt_place){ .file = path }, "name another folder, or move that away",
                           "the folder holds '%.*s', which was not written here by this program",
                           STR_ARG(t.files.v[i]));
    return RT_OK;
}

static enum rt_code write_files(struct arena *a, const struct export_folder *files, const char *top,
                                struct rt_problems *p)
{
    struct buf list = { .arena = a };
    for (uint32_t i = 0; i < files->files.n; i++) {
        const struct export_file *f = &files->files.v[i];
        char *path = arena_printf(a, "%s/%.*s", top, STR_ARG(f->path));
        if (!path)
            return rt_fail_memory(p);
        char *slash = strrchr(path, '/');
        *slash = '\0';
        RT_TRY(file_make_folder(path, p));
        *slash = '/';
        RT_TRY(file_write(path, f->bytes, f->mode, p));
        buf_printf(&list, "%.*s\n", STR_ARG(f->path));
    }
    const char *path = arena_printf(a, "%s/%s", top, LIST_NAME);
    return path && !list.failed ? file_write(path, buf_done(&list), 0644, p) : rt_fail_memory(p);
}

/* Puts the new folder in place of the old one, which then has the new one's former name. */
static enum rt_code swap_in(const char *fresh, const char *path, bool exists, struct rt_problems *p)
{
    const int done = exists ? renameat2(AT_FDCWD, fresh, AT_FDCWD, path, RENAME_EXCHANGE) : rename(fresh, path);
    return done == 0 ? RT_OK : fail_folder(p, path, "put the folder in its place");
}

/* The folder to write, as it is named without a slash at its end, and whether it is there; one that is must be ours to replace. */
static enum rt_code look_at(struct arena *a, const char *path, char *target, mode_t *mode, bool *exists,
                            struct rt_problems *p)
{
    struct stat st;
    size_t n = strlen(path);
    while (n > 1 && path[n - 1] == '/')
        n--;
    if (snprintf(target, PATH_MAX, "%.*s", (int)n, path) >= PATH_MAX || !n)
        return rt_fail(p, RT_USAGE, RT_NOWHERE, NULL, "this is no name of a folder");
    *exists = lstat(target, &st) == 0;
    *mode = *exists ? st.st_mode & 07777 : 0755;
    if (*exists && !S_ISDIR(st.st_mode))
        return rt_fail(p, RT_IO, (struct rt_place){ .file = path }, "take another name", "this is not a folder");
    return *exists ? check_replaceable(a, target, p) : RT_OK;
}

/* Length of what stands before the last part of a path: its slash included, or 0. */
static int up_of(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? (int)(slash - path) + 1 : 0;
}

enum rt_code export_check(struct arena *scratch, const char *path, struct rt_problems *p)
{
    char target[PATH_MAX];
    mode_t mode;
    bool exists;
    RT_TRY(look_at(scratch, path, target, &mode, &exists, p));
    const int up = up_of(target); /* it is made aside, beside what is there */
    target[up > 1 ? up - 1 : up] = '\0';
    return file_check_folder(up ? target : ".", p);
}

enum rt_code export_write(struct arena *scratch, const struct export_folder *files, const char *path,
                          struct rt_problems *p)
{
    char target[PATH_MAX];
    mode_t mode;
    bool exists;
    RT_TRY(look_at(scratch, path, target, &mode, &exists, p));
    const int up = up_of(target);
    char *fresh = arena_printf(scratch, "%.*s.%s.saving.XXXXXX", up, target, target + up);
    if (!fresh)
        return rt_fail_memory(p);
    if (up > 1) {
        target[up - 1] = '\0';
        RT_TRY(file_make_folder(target, p));
        target[up - 1] = '/';
    }
    if (!mkdtemp(fresh)) /* mode 0700 while it fills */
        return fail_folder(p, path, "make a folder beside it");
    enum rt_code code = write_files(scratch, files, fresh, p);
    if (!code && chmod(fresh, mode) != 0)
        code = fail_folder(p, path, "set the folder's mode");
    if (!code)
        code = swap_in(fresh, target, exists, p);
    if ((code || exists) && !remove_tree(scratch, fresh) && !code)
        code = fail_folder(p, fresh, "remove the old folder");
    return code;
}

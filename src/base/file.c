#include "base/file.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

static enum rt_code fail_errno(struct rt_problems *p, const char *path, const char *what)
{
    const int e = errno;
    struct rt_place at = { .file = path };
    return rt_fail(p, RT_IO, at, NULL, "cannot %s: %s", what, strerror(e));
}

/* ---- what was meant by a name that is not there ---- */

/* Length of the folder in front of a file's name, with its slash. */
static size_t folder_of(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? (size_t)(slash - path) + 1 : 0;
}

static bool is_there(const char *path, size_t n_folder)
{
    char folder[PATH_MAX] = ".";
    struct stat st;
    if (n_folder >= sizeof folder)
        return false;
    if (n_folder)
        memcpy(folder, path, n_folder);
    folder[n_folder ? n_folder : 1] = '\0';
    return stat(folder, &st) == 0 && S_ISDIR(st.st_mode);
}

/* The name in a folder that is most like this one and has its ending; p NULL: none is near. */
static struct str nearest_name(struct arena *a, const char *path, size_t n_folder)
{
    enum { NAMES_MOST = 1000 };
    const char *name = path + n_folder, *ending = strchr(name, '.');
    const size_t n_stem = ending ? (size_t)(ending - name) : strlen(name);
    const char *folder = n_folder ? arena_printf(a, "%.*s", (int)n_folder, path) : ".";
    struct str *stems = ARENA_ARRAY(a, struct str, NAMES_MOST);
    DIR *dir = folder && stems ? opendir(folder) : NULL;
    size_t n = 0;
    for (struct dirent *e; dir && n < NAMES_MOST && (e = readdir(dir)) != NULL;) {
        const char *end = strchr(e->d_name, '.');
        if (strcmp(end ? end : "", ending ? ending : "") != 0 || end == e->d_name)
            continue;
        stems[n] = str_dup(a, (struct str){ e->d_name, end ? (size_t)(end - e->d_name) : strlen(e->d_name) });
        n += stems[n].p != NULL;
    }
    if (dir)
        closedir(dir);
    const size_t near = n ? str_nearest((struct str){ name, n_stem }, stems, n) : n;
    return near < n ? stems[near] : (struct str){ 0 };
}

static enum rt_code fail_not_there(struct rt_problems *p, const char *path)
{
    const struct rt_place at = { .file = path };
    const size_t n_folder = folder_of(path);
    if (!is_there(path, n_folder))
        return rt_fail(p, RT_IO, at, "give the path of a file that is there", "there is no folder %.*s", (int)n_folder,
                       path);
    const struct str near = nearest_name(p->arena, path, n_folder);
    const char *ending = strchr(path + n_folder, '.');
    const char *hint = near.p ? arena_printf(p->arena, "did you mean %.*s%.*s%s?", (int)n_folder, path, STR_ARG(near),
                                             ending ? ending : "")
                              : "give the path of a file that is there";
    return rt_fail(p, RT_IO, at, hint, "there is no such file");
}

/* ---- reading ---- */

static enum rt_code read_all(struct arena *a, int fd, const char *path, size_t max_bytes, struct str *out,
                             struct rt_problems *p)
{
    struct stat st;
    if (fstat(fd, &st) != 0)
        return fail_errno(p, path, "look at the file");
    if (S_ISDIR(st.st_mode))
        return rt_fail(p, RT_IO, (struct rt_place){ .file = path }, "name a file inside it", "this is a folder");
    size_t cap = S_ISREG(st.st_mode) && st.st_size > 0 ? (size_t)st.st_size + 1 : 65536;
    if (cap > max_bytes + 1)
        cap = max_bytes + 1;
    char *bytes = arena_alloc(a, cap + 1, 1);
    size_t n = 0;
    while (bytes) {
        const ssize_t got = read(fd, bytes + n, cap - n);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return fail_errno(p, path, "read the file");
        if (got == 0)
            break;
        n += (size_t)got;
        if (n > max_bytes)
            return rt_fail(p, RT_LIMIT, (struct rt_place){ .file = path }, NULL,
                           "the file is larger than %zu MiB, the most this program reads", max_bytes >> 20);
        if (n == cap) {
            const size_t bigger_cap = cap * 2 > max_bytes + 1 ? max_bytes + 1 : cap * 2;
            char *bigger = arena_alloc(a, bigger_cap + 1, 1);
            if (bigger)
                memcpy(bigger, bytes, n);
            bytes = bigger;
            cap = bigger_cap;
        }
    }
    if (!bytes)
        return rt_fail_memory(p);
    bytes[n] = '\0';
    *out = (struct str){ bytes, n };
    return RT_OK;
}

enum rt_code file_read(struct arena *a, const char *path, size_t max_bytes, struct str *out, struct rt_problems *p)
{
    if (strcmp(path, "-") == 0)
        return read_all(a, STDIN_FILENO, path, max_bytes, out, p);
    const int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return errno == ENOENT ? fail_not_there(p, path) : fail_errno(p, path, "open the file");
    const enum rt_code code = read_all(a, fd, path, max_bytes, out, p);
    close(fd);
    return code;
}

static bool write_all(int fd, struct str bytes)
{
    for (size_t n = 0; n < bytes.n;) {
        const ssize_t put = write(fd, bytes.p + n, bytes.n - n);
        if (put < 0 && errno == EINTR)
            continue;
        if (put < 0)
            return false;
        n += (size_t)put;
    }
    return true;
}

/* Makes the rename durable; a file system that cannot sync a folder is no reason to fail. */
static void sync_folder_of(const char *path)
{
    char folder[PATH_MAX];
    snprintf(folder, sizeof folder, "%s", path);
    char *slash = strrchr(folder, '/');
    if (slash)
        slash[slash == folder ? 1 : 0] = '\0';
    const int fd = open(slash ? folder : ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0)
        return;
    (void)!fsync(fd);
    close(fd);
}

/* True if the path still names the open file: another process may have moved it away while we waited for the lock. */
static bool still_names(const char *path, int fd)
{
    struct stat here, held;
    return fstat(fd, &held) == 0 && lstat(path, &here) == 0 && here.st_dev == held.st_dev && here.st_ino == held.st_ino;
}

static bool lock(int fd)
{
    while (flock(fd, LOCK_EX) != 0)
        if (errno != EINTR)
            return false;
    return true;
}

/* Opens and locks the one temporary file that belongs to a target: PATH's folder, ".NAME.saving".  One left behind by a
 * process that was killed is taken over, so that they never pile up; two that save at once wait for each other. */
static int open_temp(const char *temp)
{
    enum { TRIES = 1000 };
    for (int i = 0; i < TRIES; i++) {
        const int fd = open(temp, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK, 0600);
        if (fd < 0 && (errno == EACCES || errno == ELOOP || errno == EISDIR || errno == ENXIO) && unlink(temp) == 0)
            continue; /* a left-over that cannot be written, or something else in its place */
        if (fd < 0)
            return -1;
        if (!lock(fd)) {
            const int e = errno;
            close(fd);
            errno = e;
            return -1;
        }
        if (!still_names(temp, fd)) { /* its owner finished: it is the target by now */
            close(fd);
            continue;
        }
        struct stat st;
        if (fstat(fd, &st) == 0 && S_ISREG(st.st_mode) && st.st_nlink == 1)
            return fd;
        const bool is_gone = unlink(temp) == 0; /* never write through another name of somebody's file */
        close(fd);
        if (!is_gone)
            return -1;
    }
    errno = EBUSY;
    return -1;
}

static enum rt_code write_in_place(const char *path, const char *target, struct str bytes, struct rt_problems *p)
{
    const int fd = open(target, O_WRONLY | O_CLOEXEC);
    const bool ok = fd >= 0 && write_all(fd, bytes);
    const enum rt_code code = ok ? RT_OK : fail_errno(p, path, "write the file");
    if (fd >= 0)
        close(fd);
    return code;
}

static bool temp_of(const char *target, char *temp, size_t size)
{
    const char *slash = strrchr(target, '/');
    const int folder = slash ? (int)(slash - target) + 1 : 0;
    return snprintf(temp, size, "%.*s.%s.saving", folder, target, target + folder) < (int)size;
}

static enum rt_code fail_folder(struct rt_problems *p, const char *path)
{
    if (errno != ENOENT)
        return fail_errno(p, path, "make a file in this folder");
    if (is_there(path, folder_of(path))) /* one of the kernel's, such as /proc */
        return rt_fail(p, RT_IO, (struct rt_place){ .file = path }, "name another folder",
                       "cannot make a file there: the folder takes none");
    return rt_fail(p, RT_IO, (struct rt_place){ .file = path }, "make the folder first, or name another",
                   "cannot make a file there: there is no such folder");
}

/* What is written, where its temporary file stands, and what is there now. */
struct place {
    char target[PATH_MAX], temp[PATH_MAX];
    struct stat st;
    bool exists;
};

static enum rt_code find_place(const char *path, struct place *out, struct rt_problems *p)
{
    if (!realpath(path, out->target) &&
        snprintf(out->target, sizeof out->target, "%s", path) >= (int)sizeof out->target) {
        errno = ENAMETOOLONG;
        return fail_errno(p, path, "write the file");
    }
    out->exists = stat(out->target, &out->st) == 0;
    if (out->exists && S_ISDIR(out->st.st_mode))
        return rt_fail(p, RT_IO, (struct rt_place){ .file = path }, "name a file inside it", "this is a folder");
    if (!temp_of(out->target, out->temp, sizeof out->temp)) {
        errno = ENAMETOOLONG;
        return fail_errno(p, path, "write the file");
    }
    return RT_OK;
}

enum rt_code file_check_place(const char *path, struct rt_problems *p)
{
    struct place place;
    RT_TRY(find_place(path, &place, p));
    if (place.exists && !S_ISREG(place.st.st_mode))
        return access(place.target, W_OK) == 0 ? RT_OK : fail_errno(p, path, "write the file");
    const int fd = open_temp(place.temp);
    if (fd < 0)
        return fail_folder(p, path);
    unlink(place.temp); /* while the lock is held */
    close(fd);
    return RT_OK;
}

enum rt_code file_write(const char *path, struct str bytes, uint32_t mode, struct rt_problems *p)
{
    struct place place;
    RT_TRY(find_place(path, &place, p));
    if (place.exists && !S_ISREG(place.st.st_mode)) /* a pipe or a device cannot be replaced, only written */
        return write_in_place(path, place.target, bytes, p);
    const int fd = open_temp(place.temp);
    if (fd < 0)
        return fail_folder(p, path);
    const mode_t wanted = place.exists ? place.st.st_mode & 07777 : (mode_t)mode;
    const bool ok = ftruncate(fd, 0) == 0 && write_all(fd, bytes) && fchmod(fd, wanted) == 0 && fsync(fd) == 0 &&
                    rename(place.temp, place.target) == 0; /* while the lock is held */
    enum rt_code code = RT_OK;
    if (!ok) {
        code = fail_errno(p, path, "write the file");
        unlink(place.temp);
    }
    close(fd);
    if (ok)
        sync_folder_of(place.target);
    return code;
}

/* Opens and locks a file under the name it has once the lock is held. */
static int open_locked(const char *target)
{
    for (;;) {
        const int fd = open(target, O_RDONLY | O_CLOEXEC);
        if (fd < 0)
            return -1;
        if (!lock(fd)) {
            const int e = errno;
            close(fd);
            errno = e;
            return -1;
        }
        if (still_names(target, fd))
            return fd;
        close(fd);
    }
}

enum rt_code file_replace(struct arena *scratch, const char *path, struct str seen, struct str bytes,
                          struct rt_problems *p)
{
    char target[PATH_MAX];
    if (!realpath(path, target))
        return fail_errno(p, path, "find the file");
    const int fd = open_locked(target);
    if (fd < 0)
        return fail_errno(p, path, "open the file");
    const struct arena_mark mark = arena_mark(scratch);
    struct str now = { 0 };
    enum rt_code code = RT_OK;
    struct stat st;
    if (fstat(fd, &st) == 0 && S_ISREG(st.st_mode) && (size_t)st.st_size == seen.n)
        code = read_all(scratch, fd, path, seen.n, &now, p);
    if (!code && !(now.p && str_eq(now, seen)))
        code = rt_fail(p, RT_CONFLICT, (struct rt_place){ .file = path }, "read it again, then make the change anew",
                       "the file was changed by somebody else since it was read");
    if (!code)
        code = file_write(target, bytes, 0644, p);
    if (!code)
        arena_reset(scratch, mark);
    close(fd);
    return code;
}

enum rt_code file_make_folder(const char *path, struct rt_problems *p)
{
    char part[PATH_MAX];
    const size_t n = strlen(path);
    if (n >= sizeof part)
        return rt_fail(p, RT_IO, RT_NOWHERE, NULL, "the folder's name is too long");
    for (size_t i = 1; i <= n; i++) {
        if (path[i] != '/' && path[i] != '\0')
            continue;
        memcpy(part, path, i);
        part[i] = '\0';
        if (mkdir(part, 0777) != 0 && errno != EEXIST)
            return fail_errno(p, path, "make the folder");
    }
    struct stat st;
    if (stat(path, &st) != 0 || !S_ISDIR(st.st_mode))
        return rt_fail(p, RT_IO, (struct rt_place){ .file = path }, "take another name", "this is not a folder");
    return RT_OK;
}

/* The nearest that is there, of a folder and those it is to stand in: cut off in place. */
static void cut_to_what_is_there(char *path)
{
    struct stat st;
    while (lstat(path, &st) != 0) {
        char *slash = strrchr(path, '/');
        if (!slash)
            memcpy(path, ".", 2); /* a name alone: in the folder we are in */
        else
            slash[slash == path] = '\0';
        if (!slash || slash == path)
            return;
    }
}

enum rt_code file_check_folder(const char *path, struct rt_problems *p)
{
    char trial[PATH_MAX];
    struct stat st;
    size_t n = strlen(path);
    if (stat(path, &st) == 0 && !S_ISDIR(st.st_mode))
        return rt_fail(p, RT_IO, (struct rt_place){ .file = path }, "take another name", "this is not a folder");
    while (n > 1 && path[n - 1] == '/')
        n--;
    static const char TRIAL[] = "/.rooftree.XXXXXX";
    if (!n || n + sizeof TRIAL > sizeof trial)
        return rt_fail(p, RT_IO, (struct rt_place){ .file = path }, "take another name", "this is no name of a folder");
    memcpy(trial, path, n);
    trial[n] = '\0';
    cut_to_what_is_there(trial);
    memcpy(trial + strlen(trial), TRIAL, sizeof TRIAL);
    if (mkdtemp(trial) && rmdir(trial) == 0)
        return RT_OK;
    if (errno != ENOENT)
        return fail_errno(p, path, "make a folder there");
    return rt_fail(p, RT_IO, (struct rt_place){ .file = path }, "name another folder",
                   "cannot make a folder there: the folder it is to stand in takes none");
}

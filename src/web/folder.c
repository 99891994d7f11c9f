#include "web/folder.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#define ENDING ".house.yaml"
enum { NAME_MOST = 64, NAMES_MOST = 1000 };

bool folder_is_name(struct str name)
{
    if (!name.n || name.n > NAME_MOST)
        return false;
    for (size_t i = 0; i < name.n; i++) {
        const char c = name.p[i];
        if (!((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || (i && (c == '_' || c == '-'))))
            return false;
    }
    return true;
}

/* "larch_end" of "larch_end.house.yaml"; empty: none. */
static struct str name_of(struct str file)
{
    const size_t n = sizeof ENDING - 1;
    if (file.n <= n || memcmp(file.p + file.n - n, ENDING, n) != 0)
        return (struct str){ 0 };
    const struct str name = { file.p, file.n - n };
    return folder_is_name(name) ? name : (struct str){ 0 };
}

static enum rt_code no_such_path(const char *path, struct rt_problems *p)
{
    return rt_fail(p, RT_IO, RT_NOWHERE, "name a folder with house files, or a house file", "%s cannot be opened: %s",
                   path, strerror(errno));
}

enum rt_code folder_open(struct arena *a, const char *path, struct folder *out, struct rt_problems *p)
{
    struct stat st;
    char real[4096];
    *out = (struct folder){ 0 };
    if (!realpath(path, real) || stat(real, &st) != 0)
        return no_such_path(path, p);
    char *slash = strrchr(real, '/');
    if (!S_ISDIR(st.st_mode)) {
        out->only = str_dup(a, name_of(str_from(slash + 1)));
        if (!out->only.n)
            return rt_fail(p, RT_USAGE, RT_NOWHERE,
                           "call it NAME.house.yaml, NAME in small letters, figures, '_' and '-'",
                           "%s does not have the name of a house file", path);
        *(slash == real ? slash + 1 : slash) = '\0';
    }
    out->path = str_dup(a, str_from(real)).p;
    return out->path ? RT_OK : rt_fail_memory(p);
}

static int by_bytes(const void *a, const void *b) { return str_cmp(*(const struct str *)a, *(const struct str *)b); }

enum rt_code folder_list(struct arena *a, const struct folder *f, folder_names *out, struct rt_problems *p)
{
    VEC(struct str) names = { 0 };
    bool has_room = true;
    if (f->only.n) {
        has_room = VEC_PUSH(a, &names, f->only);
    } else {
        DIR *d = opendir(f->path);
        if (!d)
            return no_such_path(f->path, p);
        for (const struct dirent *e = readdir(d); e && has_room && names.n < NAMES_MOST; e = readdir(d)) {
            const struct str name = name_of(str_from(e->d_name));
            if (!name.n)
                continue;
            const struct str kept = str_dup(a, name);
            has_room = kept.p && VEC_PUSH(a, &names, kept);
        }
        closedir(d);
    }
    if (!has_room)
        return rt_fail_memory(p);
    if (names.n)
        qsort(names.v, names.n, sizeof *names.v, by_bytes);
    *out = (folder_names){ names.v, names.n };
    return RT_OK;
}

enum rt_code folder_path(struct arena *a, const struct folder *f, struct str name, const char **out,
                         struct rt_problems *p)
{
    if (!folder_is_name(name) || (f->only.n && !str_eq(name, f->only)))
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "ask for the list of houses", "there is no such house here");
    *out = arena_printf(a, "%s/%.*s" ENDING, f->path, STR_ARG(name));
    return *out ? RT_OK : rt_fail_memory(p);
}

enum rt_code folder_look(const char *path, struct stat *st, struct rt_problems *p)
{
    if (lstat(path, st) != 0)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "ask for the list of houses", "there is no such house here");
    if (!S_ISREG(st->st_mode))
        return rt_fail(p, RT_CONFLICT, RT_NOWHERE, "put the file itself into the folder",
                       "this house file is a link or something else that is no plain file");
    return RT_OK;
}

#include "web/parts_files.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define ENDING ".parts.yaml"
enum { FILES_MOST = 100 };

typedef VEC(struct parts_file) found;

bool parts_file_has_name(struct str path)
{
    const size_t n = sizeof ENDING - 1;
    return path.n > n && memcmp(path.p + path.n - n, ENDING, n) == 0 && path.p[path.n - n - 1] != '/';
}

uint64_t parts_file_mark(const char *path)
{
    struct stat st;
    if (stat(path, &st) != 0)
        return 0;
    const uint64_t said[] = { (uint64_t)st.st_dev, (uint64_t)st.st_ino, (uint64_t)st.st_size,
                              (uint64_t)st.st_mtim.tv_sec, (uint64_t)st.st_mtim.tv_nsec };
    uint64_t mark = 0xcbf29ce484222325u; /* in the manner of FNV-1a: it need only be another */
    for (size_t i = 0; i < RT_COUNT(said); i++)
        mark = (mark ^ said[i]) * 0x100000001b3u;
    return mark ? mark : 1;
}

/* An absolute path as seen from the folder: up to where both part, then down. */
struct str parts_file_name(struct arena *a, const char *folder, struct str path)
{
    struct buf b = { .arena = a };
    size_t same = 0, i = 0;
    for (; folder[i] && i < path.n && folder[i] == path.p[i]; i++)
        if (folder[i] == '/')
            same = i + 1;
    if (!folder[i] && i < path.n && path.p[i] == '/')
        same = i + 1;
    for (const char *c = folder + (same < strlen(folder) ? same : strlen(folder)); *c;) {
        buf_text(&b, "../");
        c += strcspn(c, "/");
        c += *c == '/';
    }
    buf_printf(&b, "%.*s", (int)(path.n - same), path.p + same);
    return b.failed ? (struct str){ 0 } : buf_done(&b);
}

static enum rt_code add(const struct workspaces *all, struct arena *a, struct str path, found *out,
                        struct rt_problems *p)
{
    struct parts parts;
    struct rt_problems unheard;
    struct run run = all->run;
    struct parts_file f = { .path = parts_file_name(a, all->folder.path, path) };
    const char *text = arena_printf(a, "%.*s", STR_ARG(path));
    run.arena = a;
    rt_problems_init(&unheard, a);
    if (!f.path.n || !text)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < out->n; i++)
        if (str_eq(out->v[i].path, f.path))
            return RT_OK;
    if (parts_read(&run, text, &parts, &unheard) == RT_OK)
        f.currency = parts.currency;
    return VEC_PUSH(a, out, f) ? RT_OK : rt_fail_memory(p);
}

static int by_bytes(const void *a, const void *b) { return str_cmp(*(const struct str *)a, *(const struct str *)b); }

static enum rt_code add_folder(const struct workspaces *all, struct arena *a, found *out, struct rt_problems *p)
{
    VEC(struct str) names = { 0 };
    bool has_room = true;
    DIR *d = opendir(all->folder.path);
    if (!d)
        return rt_fail(p, RT_IO, RT_NOWHERE, NULL, "%s cannot be opened: %s", all->folder.path, strerror(errno));
    for (const struct dirent *e = readdir(d); e && has_room && names.n < FILES_MOST; e = readdir(d)) {
        const size_t n = strlen(e->d_name), ending = sizeof ENDING - 1;
        if (n <= ending || e->d_name[0] == '.' || strcmp(e->d_name + n - ending, ENDING) != 0)
            continue;
        const char *path = arena_printf(a, "%s/%s", all->folder.path, e->d_name);
        has_room = path && VEC_PUSH(a, &names, str_from(path));
    }
    closedir(d);
    if (!has_room)
        return rt_fail_memory(p);
    if (names.n)
        qsort(names.v, names.n, sizeof *names.v, by_bytes);
    for (uint32_t i = 0; i < names.n; i++)
        RT_TRY(add(all, a, names.v[i], out, p));
    return RT_OK;
}

enum rt_code parts_files_list(const struct workspaces *all, struct arena *a, parts_file_list *out,
                              struct rt_problems *p)
{
    found all_found = { 0 };
    RT_TRY(add_folder(all, a, &all_found, p));
    for (uint32_t i = 0; i < all->parts.n; i++)
        RT_TRY(add(all, a, all->parts.v[i], &all_found, p));
    *out = (parts_file_list){ all_found.v, all_found.n };
    return RT_OK;
}

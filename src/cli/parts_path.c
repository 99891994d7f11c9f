#include "cli/parts_path.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "house/edit.h"

/* The folder of a path, without links and dots; false: there is no such folder. */
static bool folder_of(const char *path, char out[static PATH_MAX])
{
    const char *slash = strrchr(path, '/');
    char folder[PATH_MAX];
    const size_t n = slash ? (size_t)(slash - path) + 1 : 0;
    if (n >= sizeof folder)
        return false;
    memcpy(folder, path, n);
    folder[n] = '\0';
    return realpath(n ? folder : ".", out) != NULL;
}

/* `to` as seen from the folder `from`, both absolute. */
static struct str relative(struct arena *a, const char *from, const char *to)
{
    struct buf b = { .arena = a };
    size_t same = 0;
    for (size_t i = 0;; i++) {
        const bool from_ends = from[i] == '/' || from[i] == '\0';
        if (from_ends && to[i] == '/')
            same = i;
        if (from[i] != to[i] || from[i] == '\0')
            break;
    }
    for (const char *p = from + same; *p; p++)
        if (*p == '/' && p[1])
            buf_text(&b, "../");
    buf_text(&b, to + same + 1);
    return b.failed ? STR("") : buf_done(&b);
}

enum rt_code parts_path_move(const struct run *run, const struct house *h, const char *out_path, struct str *bytes,
                             struct rt_problems *p)
{
    char old_folder[PATH_MAX], folder[PATH_MAX], parts[PATH_MAX];
    if (!h->parts_file.n)
        return RT_OK;
    if (!folder_of(out_path, folder))
        return rt_fail(p, RT_IO, RT_NOWHERE, "make the folder first", "there is no folder for %s", out_path);
    if (!folder_of(h->path, old_folder) || strcmp(folder, old_folder) == 0 || !realpath(h->parts.path, parts))
        return RT_OK;
    const struct str path = relative(run->arena, folder, parts);
    struct buf quoted = { .arena = run->arena };
    struct json j = { .out = &quoted, .compact = true };
    json_str(&j, NULL, path);
    if (!path.n || quoted.failed)
        return rt_fail_memory(p);
    const struct edit edit = { EDIT_SET, STR("/parts_file"), buf_done(&quoted) };
    struct edit_change change;
    RT_TRY(edit_apply(run->arena, h->path, *bytes, &edit, 1, &change, p));
    *bytes = change.bytes;
    return RT_OK;
}

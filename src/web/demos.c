#include "web/demos.h"

#include <string.h>
#include <sys/stat.h>

#include "base/file.h"

static bool is_there(const char *path)
{
    struct stat st;
    return path && stat(path, &st) == 0;
}

/* One of the two folders below it; NULL: it is not there, or a single house is served, beside which none is begun. */
static const char *below(struct arena *a, const char *demos, const struct workspaces *all, const char *what)
{
    const char *path = demos && !all->folder.only.n ? arena_printf(a, "%s/%s", demos, what) : NULL;
    return is_there(path) ? path : NULL;
}

static enum rt_code no_such_demo(struct rt_problems *p)
{
    return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "ask for the list of houses", "there is no such demo");
}

/* ---- lists ---- */

static bool folder_has(const struct workspaces *all, struct arena *a, struct str file, const char *ending)
{
    return is_there(arena_printf(a, "%s/%.*s%s", all->folder.path, STR_ARG(file), ending));
}

enum rt_code demos_list(const char *demos, const struct workspaces *all, struct arena *a, demo_list *out,
                        struct rt_problems *p)
{
    const struct folder folder = { .path = below(a, demos, all, "houses") };
    folder_names names = { 0 };
    VEC(struct demo_house) found = { 0 };
    *out = (demo_list){ 0 };
    if (!folder.path)
        return RT_OK;
    RT_TRY(folder_list(a, &folder, &names, p));
    for (uint32_t i = 0; i < names.n; i++) {
        struct run run = all->run;
        struct house *h = NULL;
        struct rt_problems unheard;
        const char *path = arena_printf(a, "%s/%.*s.house.yaml", folder.path, STR_ARG(names.v[i]));
        run.arena = a;
        rt_problems_init(&unheard, a);
        if (!path)
            return rt_fail_memory(p);
        if (folder_has(all, a, names.v[i], ".house.yaml") || house_read(&run, path, &h, &unheard) != RT_OK)
            continue;
        if (!VEC_PUSH(a, &found, ((struct demo_house){ names.v[i], h->name })))
            return rt_fail_memory(p);
    }
    *out = (demo_list){ found.v, found.n };
    return RT_OK;
}

enum rt_code demos_list_parts(const char *demos, const struct workspaces *all, struct arena *a, parts_file_list *out,
                              struct rt_problems *p)
{
    const struct workspaces there = { .run = all->run, .folder = { .path = below(a, demos, all, "parts") } };
    parts_file_list found = { 0 };
    *out = (parts_file_list){ 0 };
    if (!there.folder.path)
        return RT_OK;
    RT_TRY(parts_files_list(&there, a, &found, p));
    for (uint32_t i = 0; i < found.n; i++)
        if (!folder_has(all, a, found.v[i].path, ""))
            found.v[out->n++] = found.v[i];
    out->v = found.v;
    return RT_OK;
}

/* ---- copies ---- */

static enum rt_code copy_into(const struct workspaces *all, struct arena *a, const char *from, const char **made,
                              struct rt_problems *p)
{
    struct str bytes;
    const char *to = arena_printf(a, "%s/%s", all->folder.path, strrchr(from, '/') + 1);
    if (!to)
        return rt_fail_memory(p);
    if (is_there(to))
        return RT_OK;
    RT_TRY(file_read(a, from, HOUSE_MAX_BYTES, &bytes, p));
    RT_TRY(file_write(to, bytes, 0644, p));
    *made = to;
    return RT_OK;
}

enum rt_code demos_copy_parts(const char *demos, const struct workspaces *all, struct arena *a, struct str name,
                              const char **made, struct rt_problems *p)
{
    parts_file_list found;
    *made = NULL;
    RT_TRY(demos_list_parts(demos, all, a, &found, p));
    for (uint32_t i = 0; i < found.n; i++)
        if (str_eq(found.v[i].path, name)) {
            const char *from = arena_printf(a, "%s/parts/%.*s", demos, STR_ARG(name));
            return from ? copy_into(all, a, from, made, p) : rt_fail_memory(p);
        }
    return no_such_demo(p);
}

enum rt_code demos_house(const char *demos, const struct workspaces *all, struct arena *a, struct str name,
                         struct str *out, const char **made, struct rt_problems *p)
{
    struct str bytes, parts;
    struct edit_change change;
    *made = NULL;
    const char *houses = below(a, demos, all, "houses");
    const char *path =
        houses && folder_is_name(name) ? arena_printf(a, "%s/%.*s.house.yaml", houses, STR_ARG(name)) : NULL;
    if (!is_there(path))
        return no_such_demo(p);
    RT_TRY(file_read(a, path, HOUSE_MAX_BYTES, &bytes, p));
    RT_TRY(workspace_parts_of(a, path, bytes, &parts, p));
    *out = bytes;
    if (!parts.n)
        return RT_OK;
    RT_TRY(copy_into(all, a, parts.p, made, p));
    const struct edit beside = { EDIT_SET, STR("/parts_file"), str_from(strrchr(parts.p, '/') + 1) };
    RT_TRY(edit_apply(a, path, bytes, &beside, 1, &change, p));
    *out = change.bytes;
    return RT_OK;
}

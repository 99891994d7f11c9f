#include "web/page.h"

#include <dirent.h>
#include <string.h>
#include <sys/stat.h>

#include "base/file.h"
#include "base/random.h"

enum { FILES_MOST = 2000, DEPTH_MOST = 8 };
static const size_t BYTES_MOST = (size_t)64 << 20;

static const struct {
    const char *ending, *type;
} TYPES[] = {
    { ".html", "text/html; charset=utf-8" },
    { ".js", "text/javascript; charset=utf-8" },
    { ".css", "text/css; charset=utf-8" },
    { ".json", "application/json" },
    { ".svg", "image/svg+xml" },
    { ".png", "image/png" },
    { ".woff2", "font/woff2" },
    { ".webmanifest", "application/manifest+json" },
    { ".txt", "text/plain; charset=utf-8" },
};

typedef VEC(struct page_file) file_vec;

struct loading {
    struct arena *a;
    file_vec files;
    size_t bytes;
    struct rt_problems *p;
};

static const char *type_of(const char *name)
{
    const char *dot = strrchr(name, '.');
    for (size_t i = 0; dot && i < RT_COUNT(TYPES); i++)
        if (strcmp(dot, TYPES[i].ending) == 0)
            return TYPES[i].type;
    return NULL;
}

/* Tells one state of a file from another; no defence is built on it. */
static struct str etag_of(struct arena *a, struct str bytes)
{
    uint64_t h = random_u64(1, bytes.n, 0);
    for (size_t i = 0; i < bytes.n; i++)
        h = (h ^ (unsigned char)bytes.p[i]) * UINT64_C(1099511628211);
    const char *made = arena_printf(a, "%016llx", (unsigned long long)h);
    return str_from(made ? made : "");
}

static enum rt_code add_file(struct loading *l, const char *path, const char *asked)
{
    struct page_file f = { .path = str_from(asked), .type = type_of(asked) };
    if (!f.type)
        return rt_fail(l->p, RT_SHAPE, RT_NOWHERE, "take it out of the folder of the page",
                       "%s has an ending that no file of the page has", path);
    RT_TRY(file_read(l->a, path, BYTES_MOST - l->bytes, &f.bytes, l->p));
    l->bytes += f.bytes.n;
    f.etag = etag_of(l->a, f.bytes);
    f.is_lasting = strncmp(asked, "/assets/", 8) == 0;
    if (l->files.n == FILES_MOST)
        return rt_fail(l->p, RT_LIMIT, RT_NOWHERE, NULL, "the page has more than %d files", FILES_MOST);
    return f.etag.n && VEC_PUSH(l->a, &l->files, f) ? RT_OK : rt_fail_memory(l->p);
}

static enum rt_code add_folder(struct loading *l, const char *path, const char *asked, int depth)
{
    enum rt_code code = RT_OK;
    DIR *d = depth < DEPTH_MOST ? opendir(path) : NULL;
    if (!d)
        return rt_fail(l->p, RT_IO, RT_NOWHERE, "build it with ./run build, or install the program whole",
                       "the files of the page are not in %s", path);
    for (const struct dirent *e = readdir(d); e && !code; e = readdir(d)) {
        struct stat st;
        const char *below = arena_printf(l->a, "%s/%s", path, e->d_name);
        const char *name = arena_printf(l->a, "%s/%s", asked, e->d_name);
        if (e->d_name[0] == '.')
            continue;
        if (!below || !name)
            code = rt_fail_memory(l->p);
        else if (lstat(below, &st) == 0 && S_ISDIR(st.st_mode))
            code = add_folder(l, below, name, depth + 1);
        else if (S_ISREG(st.st_mode))
            code = add_file(l, below, name);
    }
    closedir(d);
    return code;
}

enum rt_code page_load(struct arena *a, const char *folder, struct page *out, struct rt_problems *p)
{
    struct loading l = { .a = a, .p = p };
    *out = (struct page){ 0 };
    RT_TRY(add_folder(&l, folder, "", 0));
    out->files.v = l.files.v;
    out->files.n = l.files.n;
    return RT_OK;
}

const struct page_file *page_find(const struct page *page, struct str path)
{
    if (str_is(path, "/"))
        path = STR("/index.html");
    for (uint32_t i = 0; i < page->files.n; i++)
        if (str_eq(page->files.v[i].path, path))
            return &page->files.v[i];
    return NULL;
}

#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/units.h"
#include "web/api.h"
#include "web/api_json.h"
#include "web/demos.h"
#include "web/parts_files.h"

enum rt_code api_house(struct request *q, struct workspace **out, struct rt_problems *p)
{
    return workspace_find(&q->server->houses, q->params[0], out, p);
}

struct str api_etag(struct request *q, int64_t revision)
{
    const char *made = arena_printf(q->arena, "r%lld", (long long)revision);
    return str_from(made ? made : "");
}

struct str api_state_tag(struct arena *a, struct study_state of)
{
    const char *made = of.parts ? arena_printf(a, "r%lld.%016llx", (long long)of.number, (unsigned long long)of.parts)
                                : arena_printf(a, "r%lld", (long long)of.number);
    return str_from(made ? made : "");
}

struct str api_etag_of(struct request *q, struct study_state of) { return api_state_tag(q->arena, of); }

static enum rt_code tell_state(struct request *q, struct workspace *w, const struct workspace_state *s, bool is_tried,
                               struct reply *r, struct rt_problems *p)
{
    struct house *h = NULL;
    struct parts parts;
    struct rt_problems wrong;
    struct json_body b;
    rt_problems_init(&wrong, q->arena);
    /* what is wrong with it is the answer */
    const bool is_parts = workspace_is_parts(w);
    const bool can = (is_parts ? workspace_read_parts(w, q->arena, s->bytes, &parts, &wrong)
                               : workspace_read_house(w, q->arena, s->bytes, &h, &wrong)) == RT_OK;
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_int(j, "revision", s->revision.number);
    json_str(j, "what", s->revision.what);
    json_bool(j, "changed_outside", s->changed_outside);
    json_bool(j, "can_be_read", can);
    problems_write_json(j, "problems", &wrong);
    if (is_tried && is_parts && can)
        RT_TRY(api_tell_breaks(q, j, w, s->bytes, p));
    if (is_tried && !can)
        json_str(j, "file", s->bytes);
    json_end_object(j);
    r->etag = api_etag(q, s->revision.number);
    return reply_json_end(&b, r, p);
}

enum rt_code api_tell_state(struct request *q, struct workspace *w, const struct workspace_state *s, struct reply *r,
                            struct rt_problems *p)
{
    return tell_state(q, w, s, false, r, p);
}

enum rt_code api_tell_tried(struct request *q, struct workspace *w, const struct workspace_state *s, struct reply *r,
                            struct rt_problems *p)
{
    return tell_state(q, w, s, true, r, p);
}

/* ---- the list ---- */

static void tell_house(struct request *q, struct json *j, struct str name)
{
    struct workspace *w = NULL;
    struct workspace_state s = { 0 };
    struct house *h = NULL;
    struct rt_problems unheard;
    const struct arena_mark mark = arena_mark(q->arena);
    rt_problems_init(&unheard, q->arena);
    const bool can = workspace_find(&q->server->houses, name, &w, &unheard) == RT_OK &&
                     workspace_look(w, q->arena, &s, &unheard) == RT_OK &&
                     workspace_read_house(w, q->arena, s.bytes, &h, &unheard) == RT_OK;
    struct str title = can ? h->name : (struct str){ 0 };
    char kept[200];
    snprintf(kept, sizeof kept, "%.*s", STR_ARG(title));
    arena_reset(q->arena, mark);
    json_begin_object(j, NULL);
    json_str(j, "name", name);
    json_text(j, "title", can ? kept : NULL);
    json_bool(j, "can_be_read", can);
    json_end_object(j);
}

static void tell_parts_files(struct json *j, const char *key, const parts_file_list *files)
{
    json_begin_array(j, key);
    for (uint32_t i = 0; i < files->n; i++) {
        json_begin_object(j, NULL);
        json_str(j, "path", files->v[i].path);
        json_str(j, "currency", files->v[i].currency);
        json_end_object(j);
    }
    json_end_array(j);
}

enum rt_code api_houses_list(struct request *q, struct reply *r, struct rt_problems *p)
{
    const struct workspaces *all = &q->server->houses;
    folder_names names;
    parts_file_list parts, demo_parts;
    demo_list demos;
    struct json_body b;
    RT_TRY(folder_list(q->arena, &all->folder, &names, p));
    RT_TRY(parts_files_list(all, q->arena, &parts, p));
    RT_TRY(demos_list(q->server->demos, all, q->arena, &demos, p));
    RT_TRY(demos_list_parts(q->server->demos, all, q->arena, &demo_parts, p));
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_begin_array(j, "houses");
    for (uint32_t i = 0; i < names.n; i++)
        tell_house(q, j, names.v[i]);
    json_end_array(j);
    tell_parts_files(j, "parts_files", &parts);
    json_begin_array(j, "demos");
    for (uint32_t i = 0; i < demos.n; i++) {
        json_begin_object(j, NULL);
        json_str(j, "name", demos.v[i].name);
        json_str(j, "title", demos.v[i].title);
        json_end_object(j);
    }
    json_end_array(j);
    tell_parts_files(j, "demo_parts", &demo_parts);
    json_end_object(j);
    return reply_json_end(&b, r, p);
}

/* ---- a new one ---- */

/* A text that YAML reads as itself: in double quotes, with JSON's escapes. */
static struct str quoted(struct arena *a, struct str text)
{
    struct buf b = { .arena = a };
    struct json j = { .out = &b, .compact = true };
    json_str(&j, NULL, text);
    return b.failed ? STR("\"\"") : buf_done(&b);
}

/* A house stands on something: one floor, a rectangle to be drawn over. */
static enum rt_code first_floor(const struct api_json *body, struct buf *out, struct rt_problems *p)
{
    const double width_m = given_or(api_json_number(body, "width_m"), 10.0);
    const double depth_m = given_or(api_json_number(body, "depth_m"), 8.0);
    const double height_m = given_or(api_json_number(body, "height_m"), 2.4);
    if (!(width_m >= 1.0 && width_m <= 500.0 && depth_m >= 1.0 && depth_m <= 500.0 && height_m >= 1.0 &&
          height_m <= 50.0))
        return rt_fail(p, RT_RANGE, RT_NOWHERE, "in metres", "no house is as wide, as deep or as high as that");
    buf_printf(out, "floors:\n  ground: {level_m: 0, height_m: %g, outline: [[0, 0], [%g, 0], [%g, %g], [0, %g]]}\n",
               height_m, width_m, width_m, depth_m, depth_m);
    return RT_OK;
}

static enum rt_code blank(struct request *q, const struct api_json *body, struct buf *out, const char **made,
                          struct rt_problems *p)
{
    static const char *const KEYS[] = { "country", "time_zone", "currency" };
    struct str title = api_json_text(body, "title");
    if (!title.n)
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "give `title`", "a house needs a name that people call it by");
    buf_text(out, "rooftree: 1\n");
    buf_printf(out, "name: %.*s\n", STR_ARG(quoted(q->arena, title)));
    for (size_t i = 0; i < RT_COUNT(KEYS); i++) {
        const struct str value = api_json_text(body, KEYS[i]);
        if (!value.n)
            return rt_fail(p, RT_SHAPE, RT_NOWHERE, "give `country`, `time_zone` and `currency`",
                           "a house needs its %s", KEYS[i]);
        buf_printf(out, "%s: %.*s\n", KEYS[i], STR_ARG(quoted(q->arena, value)));
    }
    const struct str copied = api_json_text(body, "demo_parts");
    const struct str parts = copied.n ? copied : api_json_text(body, "parts_file");
    if (copied.n)
        RT_TRY(demos_copy_parts(q->server->demos, &q->server->houses, q->arena, copied, made, p));
    if (parts.n)
        buf_printf(out, "parts_file: %.*s\n", STR_ARG(quoted(q->arena, parts)));
    RT_TRY(first_floor(body, out, p));
    return out->failed ? rt_fail_memory(p) : RT_OK;
}

enum rt_code api_houses_make(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct api_json body;
    struct buf bytes = { .arena = q->arena };
    RT_TRY(api_json_read(q->body, &body, p));
    const struct str name = api_json_text(&body, "name"), from = api_json_text(&body, "from");
    const struct str demo = api_json_text(&body, "demo");
    const char *made = NULL; /* parts copied for it */
    enum rt_code code = RT_OK;
    if (from.n) {
        struct workspace *w = NULL;
        struct workspace_state s;
        code = workspace_find(&q->server->houses, from, &w, p);
        if (!code && !(code = workspace_look(w, q->arena, &s, p)))
            buf_str(&bytes, s.bytes);
    } else if (demo.n) {
        struct str copy = { 0 };
        code = demos_house(q->server->demos, &q->server->houses, q->arena, demo, &copy, &made, p);
        buf_str(&bytes, copy);
    } else {
        code = blank(q, &body, &bytes, &made, p);
    }
    if (!code)
        code = workspace_create(&q->server->houses, name, buf_done(&bytes), p);
    if (code && made)
        (void)unlink(made);
    if (!code) {
        r->status = 201;
        r->location = arena_printf(q->arena, "/api/houses/%.*s/file", STR_ARG(name));
    }
    api_json_end(&body);
    return code || r->location ? code : rt_fail_memory(p);
}

/* The file: as text, as a model, edited, back and forth through its history. */
#include <string.h>

#include "house/edit_int.h"
#include "web/api.h"
#include "web/api_json.h"

enum { HISTORY_MOST = 200 };
static const char YAML[] = "application/yaml"; /* RFC 9512 */

/* Which file is meant: the house's own, or that of its parts. */
typedef enum rt_code find_file(struct request *q, struct workspace **out, struct rt_problems *p);

static enum rt_code file_as_it_is(struct request *q, find_file *find, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct workspace_state s;
    RT_TRY(find(q, &w, p));
    RT_TRY(workspace_look(w, q->arena, &s, p));
    *r = (struct reply){ .status = 200, .body = s.bytes, .type = YAML, .etag = api_etag(q, s.revision.number) };
    return RT_OK;
}

static enum rt_code write_file(struct request *q, find_file *find, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct workspace_state s;
    const int64_t base = http_revision(q->if_match);
    RT_TRY(find(q, &w, p));
    if (!base) { /* RFC 6585, section 3 */
        r->status = 428;
        return rt_fail(p, RT_USAGE, RT_NOWHERE, "send If-Match with the revision you changed",
                       "without the revision it is a change of, the file might take somebody's work away");
    }
    RT_TRY(workspace_write(w, q->arena, base, q->body, STR("changed as text"), &s, p));
    return api_tell_state(q, w, &s, r, p);
}

/* ---- the model ---- */

/* A scalar as YAML 1.2's core schema types it. */
static void write_scalar(struct json *j, const char *key, const struct edit_node *n, struct arena *a)
{
    if (edit_is_null(n)) {
        json_null(j, key);
        return;
    }
    if (edit_is_text(n)) {
        json_str(j, key, n->text);
        return;
    }
    const char *text = arena_printf(a, "%.*s", STR_ARG(n->text));
    char *end = NULL;
    const double number = text ? strtod(text, &end) : 0.0;
    if (text && end != text && *end == '\0')
        json_num(j, key, number);
    else if (str_is(n->text, "true") || str_is(n->text, "True") || str_is(n->text, "TRUE"))
        json_bool(j, key, true);
    else if (str_is(n->text, "false") || str_is(n->text, "False") || str_is(n->text, "FALSE"))
        json_bool(j, key, false);
    else
        json_str(j, key, n->text);
}

void api_write_node(struct json *j, const char *key, const struct edit_node *n, struct arena *a)
{
    switch (n->kind) {
    case EDIT_MAPPING:
        json_begin_object(j, key);
        for (uint32_t i = 0; i < n->entries.n; i++) {
            const char *name = arena_printf(a, "%.*s", STR_ARG(n->entries.v[i].key->text));
            if (name)
                api_write_node(j, name, n->entries.v[i].value, a);
        }
        json_end_object(j);
        break;
    case EDIT_SEQUENCE:
        json_begin_array(j, key);
        for (uint32_t i = 0; i < n->entries.n; i++)
            api_write_node(j, NULL, n->entries.v[i].value, a);
        json_end_array(j);
        break;
    case EDIT_ALIAS:
        json_str(j, key, n->text);
        break;
    case EDIT_SCALAR:
        write_scalar(j, key, n, a);
    }
}

enum rt_code api_model_read(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct workspace_state s;
    struct edit_node *root = NULL;
    struct rt_problems wrong;
    struct json_body b;
    rt_problems_init(&wrong, q->arena);
    RT_TRY(api_house(q, &w, p));
    RT_TRY(workspace_look(w, q->arena, &s, p));
    const bool can_be_read = workspace_check(w, q->arena, &s, &wrong) == RT_OK; /* else what is wrong is told */
    const struct str tag = api_etag_of(q, (struct study_state){ s.revision.number, s.parts });
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_int(j, "revision", s.revision.number);
    json_str(j, "state", tag);
    json_bool(j, "can_be_read", can_be_read);
    problems_write_json(j, "problems", &wrong);
    struct rt_problems unheard;
    rt_problems_init(&unheard, q->arena);
    if (edit_parse(q->arena, NULL, s.bytes, &root, &unheard) == RT_OK)
        api_write_node(j, "house", root, q->arena);
    else
        json_null(j, "house");
    json_end_object(j);
    r->etag = tag;
    return reply_json_end(&b, r, p);
}

/* ---- edits ---- */

static bool read_op(struct str name, enum edit_op *out)
{
    static const char *const OPS[] = {
        [EDIT_SET] = "set", [EDIT_ADD] = "add", [EDIT_REMOVE] = "remove", [EDIT_RENAME] = "rename"
    };
    for (size_t i = 0; i < RT_COUNT(OPS); i++)
        if (str_is(name, OPS[i])) {
            *out = (enum edit_op)i;
            return true;
        }
    return false;
}

/* A value is any JSON; for a rename the new key, as a text. */
static enum rt_code read_value(struct request *q, const struct api_json *item, struct edit *e, struct rt_problems *p)
{
    if (e->op == EDIT_REMOVE)
        return RT_OK;
    if (!api_json_has(item, "value"))
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, NULL, "this edit needs a value");
    if (e->op == EDIT_RENAME) {
        e->value = api_json_text(item, "value");
        return e->value.n ? RT_OK : rt_fail(p, RT_SHAPE, RT_NOWHERE, NULL, "a rename needs the new name as a text");
    }
    e->value = api_json_again(q->arena, item, "value");
    return e->value.n ? RT_OK : rt_fail_memory(p);
}

static enum rt_code read_edits(struct request *q, const struct api_json *body, struct edit **out, size_t *n,
                               struct rt_problems *p)
{
    *n = api_json_count(body, "edits");
    if (!*n || *n > EDIT_MAX_EDITS)
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "send `edits`: a list", "between 1 and %d edits are made at once",
                       EDIT_MAX_EDITS);
    *out = ARENA_ARRAY(q->arena, struct edit, *n);
    if (!*out)
        return rt_fail_memory(p);
    for (size_t i = 0; i < *n; i++) {
        const struct api_json item = api_json_item(body, "edits", i);
        struct edit *e = &(*out)[i];
        e->path = api_json_text(&item, "path");
        if (!read_op(api_json_text(&item, "op"), &e->op))
            return rt_fail(p, RT_SHAPE, RT_NOWHERE, "set, add, remove or rename", "edit %zu has no such `op`", i);
        RT_TRY(read_value(q, &item, e, p));
    }
    return RT_OK;
}

static enum rt_code edit_file(struct request *q, find_file *find, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct workspace_state s;
    struct api_json body;
    struct edit *edits = NULL;
    size_t n = 0;
    RT_TRY(find(q, &w, p));
    RT_TRY(api_json_read(q->body, &body, p));
    enum rt_code code = read_edits(q, &body, &edits, &n, p);
    struct str what = api_json_text(&body, "what");
    if (!what.n)
        what = STR("edited");
    if (!code)
        code = workspace_edit(w, q->arena, http_revision(q->if_match), edits, n, what, &s, p);
    api_json_end(&body);
    RT_TRY(code);
    return api_tell_state(q, w, &s, r, p);
}

/* What a change would lead to, for one that is being typed: nothing is saved. */
static enum rt_code try_file(struct request *q, find_file *find, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct workspace_state s;
    struct api_json body;
    struct edit *edits = NULL;
    struct edit_change change;
    size_t n = 0;
    RT_TRY(find(q, &w, p));
    RT_TRY(api_json_read(q->body, &body, p));
    enum rt_code code = read_edits(q, &body, &edits, &n, p);
    if (!code)
        code = workspace_look(w, q->arena, &s, p);
    if (!code)
        code = edit_apply(q->arena, NULL, s.bytes, edits, n, &change, p);
    api_json_end(&body);
    RT_TRY(code);
    s.bytes = change.bytes;
    return api_tell_tried(q, w, &s, r, p);
}

/* ---- history ---- */

static enum rt_code undo(struct request *q, find_file *find, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct workspace_state s;
    RT_TRY(find(q, &w, p));
    RT_TRY(workspace_undo(w, q->arena, &s, p));
    return api_tell_state(q, w, &s, r, p);
}

static enum rt_code redo(struct request *q, find_file *find, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct workspace_state s;
    RT_TRY(find(q, &w, p));
    RT_TRY(workspace_redo(w, q->arena, &s, p));
    return api_tell_state(q, w, &s, r, p);
}

static enum rt_code history(struct request *q, find_file *find, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct workspace_state s;
    revision_list list;
    bool can_undo, can_redo;
    struct json_body b;
    RT_TRY(find(q, &w, p));
    RT_TRY(workspace_history(w, q->arena, HISTORY_MOST, &list, &can_undo, &can_redo, p));
    RT_TRY(workspace_look(w, q->arena, &s, p));
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_int(j, "at", s.revision.number);
    json_bool(j, "can_undo", can_undo);
    json_bool(j, "can_redo", can_redo);
    json_begin_array(j, "revisions");
    for (uint32_t i = 0; i < list.n; i++) {
        const struct revision *v = &list.v[i];
        json_begin_object(j, NULL);
        json_int(j, "number", v->number);
        json_int(j, "parent", v->parent);
        json_int(j, "at_s", v->at_s);
        json_str(j, "what", v->what);
        if (v->kept >= 0) {
            json_int(j, "kept", v->kept);
            json_int(j, "broken", v->broken);
            json_int(j, "unknown", v->unknown);
        }
        json_end_object(j);
    }
    json_end_array(j);
    json_end_object(j);
    return reply_json_end(&b, r, p);
}

enum rt_code api_revision_number(struct str s, int64_t *out, struct rt_problems *p)
{
    *out = 0;
    for (size_t i = 0; i < s.n; i++) {
        if (s.n > 15 || s.p[i] < '0' || s.p[i] > '9')
            return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "ask for the list of revisions", "there is no such revision");
        *out = *out * 10 + (s.p[i] - '0');
    }
    return RT_OK;
}

static enum rt_code restore(struct request *q, find_file *find, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct workspace_state s;
    int64_t number;
    RT_TRY(api_revision_number(q->params[1], &number, p));
    RT_TRY(find(q, &w, p));
    RT_TRY(workspace_restore(w, q->arena, number, &s, p));
    return api_tell_state(q, w, &s, r, p);
}

enum rt_code api_revision_read(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct str bytes = { 0 };
    int64_t number;
    RT_TRY(api_revision_number(q->params[1], &number, p));
    RT_TRY(api_house(q, &w, p));
    RT_TRY(workspace_then(w, q->arena, number, &bytes, p));
    *r = (struct reply){ .status = 200, .body = bytes, .type = YAML, .etag = api_etag(q, number), .is_lasting = true };
    return RT_OK;
}

/* ---- of the house, and of its parts file ---- */

#define BOTH(name, what)                                                                     \
    enum rt_code api_##name(struct request *q, struct reply *r, struct rt_problems *p)       \
    {                                                                                        \
        return what(q, api_house, r, p);                                                     \
    }                                                                                        \
    enum rt_code api_parts_##name(struct request *q, struct reply *r, struct rt_problems *p) \
    {                                                                                        \
        return what(q, api_parts_file, r, p);                                                \
    }
BOTH(file_read, file_as_it_is)
BOTH(file_write, write_file)
BOTH(edit, edit_file)
BOTH(try, try_file)
BOTH(undo, undo)
BOTH(redo, redo)
BOTH(history, history)
BOTH(restore, restore)

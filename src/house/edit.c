/* One edit: read the tree, find the spot, note the splices (all in terms of the bytes before the edit), make the new
 * bytes, change the tree in memory, read the new bytes and compare the two trees. */
#include "house/edit.h"

#include <string.h>

#include "house/edit_int.h"

struct rt_place edit_place_of(const struct edit_work *w, size_t from, size_t to)
{
    return edit_place(w->file, w->bytes, from, to > from ? to - from : 1);
}

/* ---- paths ---- */

void edit_path_add(struct buf *path, struct str key)
{
    buf_char(path, '/');
    for (size_t i = 0; i < key.n; i++) {
        if (key.p[i] == '~' || key.p[i] == '/')
            buf_text(path, key.p[i] == '~' ? "~0" : "~1");
        else
            buf_char(path, key.p[i]);
    }
}

/* RFC 6901, section 3: "~1" is "/", "~0" is "~", nothing else follows a tilde. */
static enum rt_code next_step(struct edit_work *w, struct str *path, struct str *step)
{
    struct buf b = { .arena = w->scratch };
    size_t i = 1;
    buf_text(&b, "");
    for (; i < path->n && path->p[i] != '/'; i++) {
        if (path->p[i] != '~') {
            buf_char(&b, path->p[i]);
            continue;
        }
        i++;
        if (i >= path->n || (path->p[i] != '0' && path->p[i] != '1'))
            return rt_fail(w->p, RT_SYNTAX, RT_NOWHERE, "write ~0 for a tilde and ~1 for a slash in a key",
                           "the path breaks off behind a tilde");
        buf_char(&b, path->p[i] == '0' ? '~' : '/');
    }
    if (b.failed)
        return rt_fail_memory(w->p);
    *step = buf_done(&b);
    *path = (struct str){ path->p + i, path->n - i };
    return RT_OK;
}

/* RFC 6901, section 4: figures without a leading zero. */
bool edit_read_index(struct str s, uint32_t *i)
{
    if (s.n == 0 || s.n > 9 || (s.n > 1 && s.p[0] == '0'))
        return false;
    *i = 0;
    for (size_t k = 0; k < s.n; k++) {
        if (s.p[k] < '0' || s.p[k] > '9')
            return false;
        *i = *i * 10 + (uint32_t)(s.p[k] - '0');
    }
    return true;
}

uint32_t edit_find_entry(const struct edit_node *in, struct str step)
{
    uint32_t i = in->entries.n;
    if (in->kind == EDIT_SEQUENCE)
        return edit_read_index(step, &i) && i < in->entries.n ? i : in->entries.n;
    for (i = 0; i < in->entries.n; i++)
        if (str_eq(in->entries.v[i].key->text, step))
            return i;
    return i;
}

enum rt_code edit_fail_not_there(struct edit_work *w, const struct edit_spot *s)
{
    const struct edit_node *in = s->in;
    const char *where = s->shown.n ? "" : "the file";
    const struct rt_place at = edit_place_of(w, in->from, in->from);
    if (in->kind == EDIT_SEQUENCE)
        return rt_fail(w->p, RT_UNKNOWN_REF, at, "count the items from 0", "%s%.*s has %u items and no item '%.*s'",
                       where, STR_ARG(s->shown), (unsigned)in->entries.n, STR_ARG(s->last));
    struct str *keys = ARENA_ARRAY(w->scratch, struct str, in->entries.n + 1);
    if (!keys)
        return rt_fail_memory(w->p);
    for (uint32_t i = 0; i < in->entries.n; i++)
        keys[i] = in->kind == EDIT_MAPPING ? in->entries.v[i].key->text : (struct str){ 0 };
    const size_t near = str_nearest(s->last, keys, in->entries.n);
    const char *hint = near < in->entries.n ? arena_printf(w->scratch, "did you mean '%.*s'?", STR_ARG(keys[near]))
                                            : "look at the names in the file";
    return rt_fail(w->p, RT_UNKNOWN_REF, at, hint, "there is no '%.*s' in %s%.*s", STR_ARG(s->last), where,
                   STR_ARG(s->shown));
}

enum rt_code edit_find_spot(struct edit_work *w, struct str path, struct edit_spot *s)
{
    if (path.n == 0 || path.p[0] != '/')
        return rt_fail(w->p, RT_SYNTAX, RT_NOWHERE, "write it like /devices/printer/room",
                       "'%.*s' is not a path to something in the file", STR_ARG(path));
    const struct str whole = path;
    *s = (struct edit_spot){ .in = w->root };
    for (;;) {
        s->shown = (struct str){ whole.p, whole.n - path.n };
        RT_TRY(next_step(w, &path, &s->last));
        const bool is_leaf = s->in->kind == EDIT_ALIAS || (s->in->kind == EDIT_SCALAR && !edit_is_null(s->in));
        if (s->in->kind == EDIT_ALIAS)
            return rt_fail(w->p, RT_CONFLICT, edit_place_of(w, s->in->from, s->in->to),
                           "edit the value that it repeats, or replace the alias as a whole",
                           "%.*s is an alias: it repeats a value that stands elsewhere", STR_ARG(s->shown));
        if (is_leaf)
            return rt_fail(w->p, RT_UNKNOWN_REF, edit_place_of(w, s->in->from, s->in->to), "take a shorter path",
                           "%s%.*s holds a single value, there is nothing inside it", s->shown.n ? "" : "the file",
                           STR_ARG(s->shown));
        s->i = edit_find_entry(s->in, s->last);
        if (path.n == 0)
            return RT_OK;
        if (s->i == s->in->entries.n)
            return edit_fail_not_there(w, s);
        s->within_flow = s->within_flow || s->in->form == EDIT_FLOW;
        s->owner = &s->in->entries.v[s->i];
        s->in = s->owner->value;
    }
}

/* The new value takes no part in the file's anchors. */
static enum rt_code check_value(struct edit_work *w, const struct edit_node *v)
{
    if (v->kind == EDIT_ALIAS || v->anchor.n || v->tag.n)
        return rt_fail(w->p, RT_SHAPE, RT_NOWHERE, "write the value out",
                       "a new value may not use anchors (&), aliases (*) or tags (!)");
    for (uint32_t i = 0; i < v->entries.n; i++)
        RT_TRY(check_value(w, v->entries.v[i].value));
    return RT_OK;
}

/* ---- one edit, and several ---- */

static enum rt_code plan(struct edit_work *w, const struct edit *edit)
{
    struct edit_spot s;
    if (edit->op == EDIT_SET || edit->op == EDIT_ADD) {
        RT_TRY(edit_parse(w->scratch, NULL, edit->value, &w->value, w->p));
        RT_TRY(check_value(w, w->value));
        w->source = edit->value;
    }
    RT_TRY(edit_find_spot(w, edit->path, &s));
    switch (edit->op) {
    case EDIT_SET:
        return edit_set(w, &s);
    case EDIT_ADD:
        return edit_add(w, &s);
    case EDIT_REMOVE:
        return edit_remove(w, &s);
    case EDIT_RENAME:
        return edit_rename(w, &s, edit->value);
    }
    return rt_fail(w->p, RT_SHAPE, RT_NOWHERE, NULL, "there is no such kind of edit");
}

typedef VEC(struct edit_splice) splice_vec;

/* The bytes with the splices made (they are in rising order and do not overlap), noted from the last to the first so
 * that each speaks of the bytes before it. */
static enum rt_code make(struct edit_work *w, struct str *out, splice_vec *notes)
{
    size_t n = w->bytes.n;
    for (uint32_t i = 0; i < w->splices.n; i++)
        n = n - (w->splices.v[i].to - w->splices.v[i].from) + w->splices.v[i].is.n;
    char *bytes = arena_alloc(w->arena, n + 1, 1);
    if (!bytes)
        return rt_fail_memory(w->p);
    size_t at = 0, from = 0;
    for (uint32_t i = 0; i < w->splices.n; i++) {
        const struct edit_cut *s = &w->splices.v[i];
        memcpy(bytes + at, w->bytes.p + from, s->from - from);
        at += s->from - from;
        if (s->is.n)
            memcpy(bytes + at, s->is.p, s->is.n);
        at += s->is.n;
        from = s->to;
    }
    if (w->bytes.n > from)
        memcpy(bytes + at, w->bytes.p + from, w->bytes.n - from);
    *out = (struct str){ bytes, n };
    for (uint32_t i = w->splices.n; i-- > 0;) {
        const struct edit_cut *s = &w->splices.v[i];
        const struct edit_splice note = { .at = s->from,
                                          .was =
                                              str_dup(w->arena, (struct str){ w->bytes.p + s->from, s->to - s->from }),
                                          .is = str_dup(w->arena, s->is) };
        if (!note.was.p || !note.is.p || !VEC_PUSH(w->arena, notes, note))
            return rt_fail_memory(w->p);
    }
    return RT_OK;
}

/* The new bytes must mean the old tree with the edit made, and nothing else. */
static enum rt_code check_result(struct edit_work *w, struct str bytes)
{
    struct edit_node *got = NULL;
    struct rt_problems quiet;
    rt_problems_init(&quiet, w->scratch);
    const enum rt_code code = edit_parse(w->scratch, w->file, bytes, &got, &quiet);
    if (code == RT_NOMEM || code == RT_LIMIT)
        return rt_fail(w->p, code, RT_NOWHERE, NULL, "%s",
                       quiet.list.n ? quiet.list.v[0].msg : "the edited file is too large");
    if (!code && edit_same(w->root, got))
        return RT_OK;
    const size_t at = w->splices.n ? w->splices.v[0].from : 0;
    return rt_fail(w->p, RT_SHAPE, edit_place_of(w, at, at), "edit the file by hand here",
                   "this edit cannot be made without touching other parts of the file; nothing was changed");
}

static enum rt_code apply_one(struct edit_work *w, const struct edit *edit, struct str *bytes, splice_vec *notes)
{
    struct str out;
    RT_TRY(edit_parse(w->scratch, w->file, w->bytes, &w->root, w->p));
    w->style = edit_style_of(w->bytes, w->root);
    RT_TRY(plan(w, edit));
    RT_TRY(make(w, &out, notes));
    RT_TRY(check_result(w, out));
    *bytes = out;
    return RT_OK;
}

enum rt_code edit_apply(struct arena *a, const char *file, struct str bytes, const struct edit *edits, size_t n,
                        struct edit_change *out, struct rt_problems *p)
{
    if (n > EDIT_MAX_EDITS)
        return rt_fail(p, RT_LIMIT, RT_NOWHERE, "make them in several changes", "more than %d edits in one change",
                       EDIT_MAX_EDITS);
    struct arena *scratch = arena_new((size_t)1 << 30);
    if (!scratch)
        return rt_fail_memory(p);
    splice_vec notes = { 0 };
    enum rt_code code = RT_OK;
    for (size_t i = 0; i < n && !code; i++) {
        const struct arena_mark mark = arena_mark(scratch);
        struct edit_work w = { .scratch = scratch, .arena = a, .file = file, .bytes = bytes, .p = p };
        code = apply_one(&w, &edits[i], &bytes, &notes);
        arena_reset(scratch, mark);
    }
    arena_free(scratch);
    if (code)
        return code;
    if (n == 0)
        bytes = str_dup(a, bytes);
    if (!bytes.p)
        return rt_fail_memory(p);
    out->bytes = bytes;
    out->splices.v = notes.v;
    out->splices.n = notes.n;
    return RT_OK;
}

/* ---- back and forth ---- */

static enum rt_code walk(struct arena *a, const char *file, struct str bytes, const struct edit_change *change,
                         bool is_back, struct str *out, struct rt_problems *p)
{
    bytes = str_dup(a, bytes);
    for (uint32_t k = 0; bytes.p && k < change->splices.n; k++) {
        const struct edit_splice *s = &change->splices.v[is_back ? change->splices.n - 1 - k : k];
        const struct str from = is_back ? s->is : s->was, to = is_back ? s->was : s->is;
        if (s->at > bytes.n || from.n > bytes.n - s->at || (from.n && memcmp(bytes.p + s->at, from.p, from.n) != 0))
            return rt_fail(p, RT_CONFLICT, (struct rt_place){ .file = file }, "undo it by hand",
                           "the file was changed since, this change does not fit any more");
        struct buf b = { .arena = a };
        buf_add(&b, bytes.p, s->at);
        buf_str(&b, to);
        buf_add(&b, bytes.p + s->at + from.n, bytes.n - s->at - from.n);
        buf_text(&b, "");
        if (b.failed)
            return rt_fail_memory(p);
        bytes = buf_done(&b);
    }
    if (!bytes.p)
        return rt_fail_memory(p);
    *out = bytes;
    return RT_OK;
}

enum rt_code edit_undo(struct arena *a, const char *file, struct str bytes, const struct edit_change *change,
                       struct str *out, struct rt_problems *p)
{
    return walk(a, file, bytes, change, true, out, p);
}

enum rt_code edit_redo(struct arena *a, const char *file, struct str bytes, const struct edit_change *change,
                       struct str *out, struct rt_problems *p)
{
    return walk(a, file, bytes, change, false, out, p);
}

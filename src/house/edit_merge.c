/* Whether what an edit touches is the same in two states of a file: then it means the same in both. */
#include "house/edit_int.h"

/* The value at a path; NULL: nothing is there.  *in: the collection that holds it, or would; NULL: not even that. */
static struct edit_node *find(struct edit_work *w, struct str path, struct edit_node **in, struct str *last)
{
    struct edit_spot s;
    struct rt_problems unheard, *heard = w->p;
    rt_problems_init(&unheard, w->scratch);
    w->p = &unheard;
    const enum rt_code code = edit_find_spot(w, path, &s);
    w->p = heard;
    *in = code ? NULL : s.in;
    *last = code ? (struct str){ 0 } : s.last;
    return !code && s.i < s.in->entries.n ? s.in->entries.v[s.i].value : NULL;
}

static bool is_same_node(const struct edit_node *a, const struct edit_node *b)
{
    return a && b ? edit_same(a, b) : a == b;
}

static bool is_untouched(struct edit_work *was, struct edit_work *is, const struct edit *edit)
{
    struct edit_node *was_in, *is_in;
    struct str last, same_last;
    struct edit_node *was_there = find(was, edit->path, &was_in, &last);
    struct edit_node *is_there = find(is, edit->path, &is_in, &same_last);
    /* Put before an item: which one that is depends on all of them.  At the end it does not. */
    if (edit->op == EDIT_ADD && was_in && was_in->kind == EDIT_SEQUENCE && !str_is(last, "-"))
        return is_same_node(was_in, is_in);
    /* An item is its place among the others. */
    if (edit->op != EDIT_ADD && was_in && was_in->kind == EDIT_SEQUENCE)
        return is_same_node(was_in, is_in);
    return is_same_node(was_there, is_there);
}

enum rt_code edit_check_untouched(const char *file, struct str was, struct str is, const struct edit *edits, size_t n,
                                  bool *out, struct rt_problems *p)
{
    struct arena *scratch = arena_new((size_t)1 << 30);
    if (!scratch)
        return rt_fail_memory(p);
    struct edit_work before = { .scratch = scratch, .arena = scratch, .file = file, .bytes = was, .p = p },
                     now = { .scratch = scratch, .arena = scratch, .file = file, .bytes = is, .p = p };
    enum rt_code code = edit_parse(scratch, file, was, &before.root, p);
    if (!code)
        code = edit_parse(scratch, file, is, &now.root, p);
    *out = !code;
    for (size_t i = 0; i < n && *out; i++)
        *out = is_untouched(&before, &now, &edits[i]);
    arena_free(scratch);
    return code;
}

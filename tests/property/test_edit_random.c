/* Random edits of the demo houses and of a file written in every manner YAML has: undone they give the same bytes, lines
 * that have nothing to do with them stay, and the tree is the one that the edit must lead to (that tree is made here
 * from yaml_read()'s, which is another reader than the one the edits use). */
#include "check.h"

#include <glob.h>
#include <string.h>

#include "base/file.h"
#include "house/edit.h"
#include "house/yaml.h"

/* A path to every entry of a tree. */
struct entry {
    struct str path, parent, key; /* key.p NULL: an item */
    const struct yaml_node *in;
    uint32_t i;
};
typedef VEC(struct entry) entry_vec;

static const struct yaml_limits LIMITS = { .depth = 40, .aliases = 100, .items = 5000, .weight = 1000000 };

static const char MANNERS[] = "# manners\r\n"
                              "plain: word   # a comment\r\n"
                              "single: 'it''s'\r\n"
                              "double: \"tab\\there\"\r\n"
                              "nothing:\r\n"
                              "block: |\r\n  one\r\n\r\n  two\r\n"
                              "folded: >-\r\n    long\r\n    text\r\n\r\n"
                              "flow: { a: 1, b: [x, 'y', {c: d}], e: {} }\r\n"
                              "points: [\r\n  [0, 0], # corner\r\n  [4, 0],\r\n  [4, 3] ]\r\n"
                              "compact:\r\n"
                              "- - 1\r\n  - 2\r\n"
                              "- k: v\r\n  l:\r\n  - m\r\n  - n # why\r\n"
                              "-   deep:\r\n        er: [ ]\r\n"
                              "over: one\r\n  two\r\n"
                              "spaced:\r\n\r\n"
                              "    first:\r\n        x: 1\r\n        # inside\r\n\r\n"
                              "    second: { x: 2 }\r\n\r\n"
                              "    # about the third\r\n"
                              "    third:\r\n        x: 3\r\n\r\n"
                              "last: end";

static uint32_t size_of(const struct yaml_node *node)
{
    return node->kind == YAML_MAP ? node->pairs.n : node->kind == YAML_LIST ? node->items.n : 0;
}

static void collect(struct arena *a, const struct yaml_node *node, struct str path, entry_vec *out)
{
    for (uint32_t i = 0; i < size_of(node); i++) {
        const bool is_map = node->kind == YAML_MAP;
        struct buf b = { .arena = a };
        struct entry e = { .parent = path, .in = node, .i = i };
        if (is_map)
            e.key = node->pairs.v[i].key->text;
        buf_str(&b, path);
        edit_path_add(&b, is_map ? e.key : str_from(arena_printf(a, "%u", (unsigned)i)));
        e.path = buf_done(&b);
        if (!VEC_PUSH(a, out, e))
            fail_msg("no memory");
        collect(a, is_map ? node->pairs.v[i].value : node->items.v[i], e.path, out);
    }
}

/* One edit, and how it shows in a printed tree: `is` stands at the entry `at` of `in`; in place of the value (SET), of the
 * key (RENAME), of both (REMOVE), or before it (ADD; at == size: at the end). */
struct wanted {
    const struct yaml_node *in;
    uint32_t at;
    enum edit_op op;
    struct str is;
};

/* The tree as one line, with the edit (NULL: none) taken into account. */
static void print_tree(struct buf *b, const struct yaml_node *node, const struct wanted *w)
{
    if (node->kind == YAML_WORD) {
        if (node->is_null)
            buf_text(b, "null");
        else
            buf_printf(b, "<%.*s>", STR_ARG(node->text));
        return;
    }
    const bool is_map = node->kind == YAML_MAP;
    const uint32_t n = size_of(node);
    buf_char(b, is_map ? '{' : '[');
    for (uint32_t i = 0; i <= n; i++) {
        const bool is_here = w && w->in == node && w->at == i;
        if (is_here && w->op == EDIT_ADD)
            buf_str(b, w->is);
        if (i == n || (is_here && w->op == EDIT_REMOVE))
            continue;
        if (is_map && !(is_here && w->op == EDIT_RENAME))
            buf_printf(b, "<%.*s>", STR_ARG(node->pairs.v[i].key->text));
        if (is_here && w->op != EDIT_ADD)
            buf_str(b, w->is);
        if (!is_here || w->op != EDIT_SET)
            print_tree(b, is_map ? node->pairs.v[i].value : node->items.v[i], w);
        buf_char(b, ',');
    }
    buf_char(b, is_map ? '}' : ']');
}

static const struct yaml_node *parse(struct check_run *c, struct str bytes)
{
    const struct yaml_node *root = NULL;
    CHECK_OK(c, yaml_read(c->run.arena, "h", bytes, &LIMITS, &root, &c->problems));
    return root;
}

/* Values, and how print_tree() prints them. */
static const struct {
    const char *yaml, *printed;
} VALUES[] = {
    { "42", "<42>" },
    { "hall", "<hall>" },
    { "\"a: b # c\"", "<a: b # c>" },
    { "\"20:30\"", "<20:30>" },
    { "'- x'", "<- x>" },
    { "\"\"", "<>" },
    { "\"two\\nlines\"", "<two\nlines>" },
    { "[1, [2, three]]", "[<1>,[<2>,<three>,],]" },
    { "{}", "{}" },
    { "{\"k\": {\"l\": [1]}, \"m\": \"no\"}", "{<k>{<l>[<1>,],},<m><no>,}" },
    { "[{\"k\": 1, \"l\": 2}, {\"k\": 3}]", "[{<k><1>,<l><2>,},{<k><3>,},]" },
    { "# why\nk:   1 # one\nl:\n- m\n-  n: |\n     text\n\n     more\n", "{<k><1>,<l>[<m>,{<n><text\n\nmore\n>,},],}" },
};

static size_t count_lines(const char *p, size_t n)
{
    size_t lines = 0;
    for (size_t i = 0; i < n; i++)
        lines += p[i] == '\n';
    return lines;
}

/* All lines stay but those of the entry, one beside it (a blank one, or the line of the key that holds it all) and the
 * one in which the edit begins. */
static void check_lines(struct str new, struct str old, const struct wanted *w)
{
    size_t start = 0, end = 0;
    while (start < old.n && start < new.n &&old.p[start] == new.p[start])
        start++;
    while (end < old.n - start && end < new.n - start &&old.p[old.n - 1 - end] == new.p[new.n - 1 - end])
        end++;
    size_t allowed = 2;
    if (w->op != EDIT_ADD) {
        const bool is_map = w->in->kind == YAML_MAP;
        const struct yaml_node *v = is_map ? w->in->pairs.v[w->at].value : w->in->items.v[w->at];
        const size_t from = is_map ? w->in->pairs.v[w->at].key->at.byte : v->at.byte;
        allowed += v->end > from ? count_lines(old.p + from, v->end - from) : 0;
    }
    const size_t differ = count_lines(old.p + start, old.n - start - end);
    if (differ > allowed)
        print_error("%zu lines differ, at most %zu may\n", differ, allowed);
    CHECK("lines that were not edited stay", differ <= allowed);
}

/* An entry added at the end and removed again: as if nothing had been, where no {} or null had to give way. */
static void check_removed_again(struct check_run *c, struct str old, const struct edit_change *change, struct str path,
                                const struct wanted *wanted)
{
    const uint32_t n = size_of(wanted->in);
    if (n == 0 || wanted->at < n)
        return;
    if (wanted->in->kind == YAML_LIST)
        path = str_from(arena_printf(c->run.arena, "%.*s%u", (int)path.n - 1, path.p, (unsigned)n));
    const struct edit edit = { .op = EDIT_REMOVE, .path = path };
    struct edit_change again;
    CHECK_OK(c, edit_apply(c->run.arena, "h", change->bytes, &edit, 1, &again, &c->problems));
    CHECK_TEXT("added and removed", again.bytes, old);
}

static void check_edit(struct check_run *c, struct str old, const struct edit *edit, const struct yaml_node *root,
                       const struct wanted *wanted)
{
    struct arena *a = c->run.arena;
    struct edit_change change;
    const enum rt_code code = edit_apply(a, "h", old, edit, 1, &change, &c->problems);
    if (code)
        print_error("edit %d of %.*s to %.*s\n", (int)edit->op, STR_ARG(edit->path), STR_ARG(edit->value));
    CHECK_OK(c, code);
    struct buf want = { .arena = a }, got = { .arena = a };
    print_tree(&want, root, wanted);
    print_tree(&got, parse(c, change.bytes), NULL);
    CHECK_TEXT("tree", buf_done(&got), buf_done(&want));
    check_lines(change.bytes, old, wanted);
    struct str back;
    CHECK_OK(c, edit_undo(a, "h", change.bytes, &change, &back, &c->problems));
    CHECK_TEXT("undone", back, old);
    if (edit->op == EDIT_ADD)
        check_removed_again(c, old, &change, edit->path, wanted);
}

static bool has_key(const struct yaml_node *map, struct str key)
{
    for (uint32_t i = 0; i < map->pairs.n; i++)
        if (str_eq(map->pairs.v[i].key->text, key))
            return true;
    return false;
}

static void random_edit(struct random *r, struct check_run *c, struct str bytes)
{
    struct arena *a = c->run.arena;
    const struct yaml_node *root = parse(c, bytes);
    entry_vec all = { 0 };
    collect(a, root, STR(""), &all);
    const struct entry *e = &all.v[random_below(r, all.n)];
    const uint32_t v = random_below(r, RT_COUNT(VALUES)), n = size_of(e->in);
    const bool is_map = e->in->kind == YAML_MAP;
    struct edit edit = { (enum edit_op)random_below(r, 4), e->path, str_from(VALUES[v].yaml) };
    struct wanted wanted = { e->in, e->i, edit.op, str_from(VALUES[v].printed) };
    struct buf b = { .arena = a };
    if (edit.op == EDIT_REMOVE)
        wanted.is = STR("");
    if (edit.op == EDIT_RENAME) {
        edit.value = random_below(r, 2) ? STR("new name: #1") : STR("renamed");
        if (!is_map || has_key(e->in, edit.value))
            return;
        wanted.is = str_from(arena_printf(a, "<%.*s>", STR_ARG(edit.value)));
    }
    if (edit.op == EDIT_ADD && is_map) {
        buf_printf(&b, "%.*s/an added one", STR_ARG(e->parent));
        edit.path = buf_done(&b);
        wanted.at = n;
        wanted.is = str_from(arena_printf(a, "<an added one>%s,", VALUES[v].printed));
    } else if (edit.op == EDIT_ADD) {
        wanted.is = str_from(arena_printf(a, "%s,", VALUES[v].printed));
        if (random_below(r, 2)) {
            buf_printf(&b, "%.*s/-", STR_ARG(e->parent));
            edit.path = buf_done(&b);
            wanted.at = n;
        }
    }
    check_edit(c, bytes, &edit, root, &wanted);
}

PROP(edits_of_every_manner, 3000)
{
    struct check_run c = check_run_begin();
    random_edit(r, &c, (struct str){ MANNERS, sizeof MANNERS - 1 });
    check_run_end(&c);
}

static void edit_files(struct random *r, const char *pattern)
{
    struct check_run c = check_run_begin();
    glob_t found = { 0 };
    if (glob(check_path(&c, pattern), 0, NULL, &found) == 0 && found.gl_pathc) {
        struct str bytes;
        const char *path = found.gl_pathv[random_below(r, (uint32_t)found.gl_pathc)];
        CHECK_OK(&c, file_read(c.run.arena, path, EDIT_MAX_BYTES, &bytes, &c.problems));
        random_edit(r, &c, bytes);
    }
    CHECK("there are such files", found.gl_pathc > 0);
    globfree(&found);
    check_run_end(&c);
}

PROP(edits_of_the_demo_houses, 60) { edit_files(r, "houses/*.yaml"); }
PROP(edits_of_the_demo_parts, 40) { edit_files(r, "parts/*.yaml"); }

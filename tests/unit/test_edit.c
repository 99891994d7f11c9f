/* Edits of YAML text: what must come out is written down byte by byte.  What a plain word means follows the core schema
 * of YAML 1.2.2 (section 10.3); paths follow RFC 6901. */
#include "check.h"

#include <string.h>

#include "house/edit.h"

struct row {
    const char *what, *before;
    enum edit_op op;
    const char *path, *value, *after; /* after NULL: refused, file unchanged */
};

/* clang-format off */
static const struct row ROWS[] = {
    /* set a word */
    { "plain", "a: 1 # one\nb: two\n", EDIT_SET, "/a", "2", "a: 2 # one\nb: two\n" },
    { "no newline at the end", "a: 1\nb: two", EDIT_SET, "/b", "three", "a: 1\nb: three" },
    { "CRLF", "a: 1\r\nb: two\r\n", EDIT_SET, "/a", "20", "a: 20\r\nb: two\r\n" },
    { "quotes kept", "a: \"x y\"  # c\n", EDIT_SET, "/a", "z", "a: \"z\"  # c\n" },
    { "single quotes kept", "a: 'x'\n", EDIT_SET, "/a", "\"it's\"", "a: 'it''s'\n" },
    { "a number out of quotes", "a: \"5\"\n", EDIT_SET, "/a", "6", "a: 6\n" },
    { "text that looks like a number", "a: x\n", EDIT_SET, "/a", "\"6\"", "a: \"6\"\n" },
    { "text that looks like a truth value", "a: x\n", EDIT_SET, "/a", "\"true\"", "a: \"true\"\n" },
    { "Norway", "country: DE\n", EDIT_SET, "/country", "NO", "country: \"NO\"\n" },
    { "time of day", "from: \"20:30\"\n", EDIT_SET, "/from", "21:00", "from: \"21:00\"\n" },
    { "MAC address of figures only", "mac: x\n", EDIT_SET, "/mac", "52:54:00:12:34:56", "mac: \"52:54:00:12:34:56\"\n" },
    { "address", "ipv4: x\n", EDIT_SET, "/ipv4", "192.168.10.0/24", "ipv4: 192.168.10.0/24\n" },
    { "colon and hash", "a: x\n", EDIT_SET, "/a", "\"b: c # d\"", "a: \"b: c # d\"\n" },
    { "new line inside", "a: x\n", EDIT_SET, "/a", "\"b\\nc\\t\\u0001\"", "a: \"b\\nc\\t\\x01\"\n" },
    { "letters beyond ASCII", "a: \xc3\xa4\nb: 1\n", EDIT_SET, "/b", "\xc3\xbc", "a: \xc3\xa4\nb: \xc3\xbc\n" },
    { "invisible letters", "a: x\n", EDIT_SET, "/a", "\"\\u0085\\u2028\\ufeff\"", "a: \"\\u0085\\u2028\\ufeff\"\n" },
    { "byte order mark kept", "\xef\xbb\xbf" "a: 1\n", EDIT_SET, "/a", "2", "\xef\xbb\xbf" "a: 2\n" },
    { "empty text", "a: x\n", EDIT_SET, "/a", "\"\"", "a: \"\"\n" },
    { "null", "a: x\n", EDIT_SET, "/a", "null", "a: null\n" },
    { "was null", "a:   # nothing yet\nb: 1\n", EDIT_SET, "/a", "7", "a: 7   # nothing yet\nb: 1\n" },
    { "in brackets", "a: [ 1,2 , 3]\n", EDIT_SET, "/a/1", "20", "a: [ 1,20 , 3]\n" },
    { "in brackets, a comma inside", "a: [x, y]\n", EDIT_SET, "/a/0", "\"p, q\"", "a: [\"p, q\", y]\n" },
    { "in braces", "a: {b: c, d: e}\n", EDIT_SET, "/a/d", "f", "a: {b: c, d: f}\n" },
    { "item", "a:\n- x\n- y # why\n", EDIT_SET, "/a/1", "z", "a:\n- x\n- z # why\n" },
    { "compact lists", "a:\n  - - 1\n    - 2\n  - - 3\n", EDIT_SET, "/a/0/1", "5", "a:\n  - - 1\n    - 5\n  - - 3\n" },
    { "text block to a word", "a: |\n  one\n  two\n\nb: 1\n", EDIT_SET, "/a", "x", "a: x\n\nb: 1\n" },
    { "folded over lines", "a: one\n  two\nb: 1\n", EDIT_SET, "/a", "x", "a: x\nb: 1\n" },
    { "same value: nothing happens", "a: 'x'\n", EDIT_SET, "/a", "x", "a: 'x'\n" },
    { "slash and tilde in a key", "a/b~c: 1\n", EDIT_SET, "/a~1b~0c", "2", "a/b~c: 2\n" },
    { "alias replaced", "a: &x 1\nb: *x\n", EDIT_SET, "/b", "3", "a: &x 1\nb: 3\n" },
    { "JSON", "{\"a\": {\"b\": [1, 2]}}", EDIT_SET, "/a/b/0", "9", "{\"a\": {\"b\": [9, 2]}}" },
    { "document marks", "---\na: 1\n...\n", EDIT_SET, "/a", "2", "---\na: 2\n...\n" },
    /* set something with parts */
    { "word to list", "a: x # c\n", EDIT_SET, "/a", "[1, 2]", "a: [1, 2] # c\n" },
    { "word to mapping", "a: x # c\nb: 1\n", EDIT_SET, "/a", "{ p: 1, q: [0, 1] }", "a: # c\n  p: 1\n  q: [0, 1]\nb: 1\n" },
    { "mapping to word", "a: # c\n  p: 1\n  q: 2\nb: 1\n", EDIT_SET, "/a", "x", "a: x # c\nb: 1\n" },
    { "mapping to word at the end", "b: 1\na:\n  p: 1", EDIT_SET, "/a", "x", "b: 1\na: x" },
    { "mapping to mapping", "a:\n    p: 1 # gone\n    q: 2\nb: 1\n", EDIT_SET, "/a", "{ r: 1 }", "a:\n    r: 1\nb: 1\n" },
    { "block text comes as it stands", "a: x\nb: 1\n", EDIT_SET, "/a", "# first\np:   1\nq: # then\n  - 2\n", "a:\n  # first\n  p:   1\n  q: # then\n    - 2\nb: 1\n" },
    { "outline", "o: [[0, 0], [4, 0]]\n", EDIT_SET, "/o", "[[0,0],[5,0],[5,3]]", "o: [[0, 0], [5, 0], [5, 3]]\n" },
    { "item to mapping", "a:\n  - x\n  - y\n", EDIT_SET, "/a/0", "{\"k\": 1, \"l\": 2}", "a:\n  - k: 1\n    l: 2\n  - y\n" },
    { "item with a comment to mapping", "a:\n  - x # c\n", EDIT_SET, "/a/0", "{ k: 1, l: 2 }", "a:\n  - # c\n    k: 1\n    l: 2\n" },
    { "list below its key to mapping", "a:\n- x\nb: 1\n", EDIT_SET, "/a", "{ k: 1 }", "a:\n  k: 1\nb: 1\n" },
    /* add to a mapping */
    { "key", "a: 1\nb: 2\n", EDIT_ADD, "/c", "3", "a: 1\nb: 2\nc: 3\n" },
    { "key, no newline at the end", "a: 1\nb: 2", EDIT_ADD, "/c", "3", "a: 1\nb: 2\nc: 3" },
    { "key, CRLF", "a: 1\r\nb:\r\n  c: 2\r\n", EDIT_ADD, "/b/d", "{e: 1}", "a: 1\r\nb:\r\n  c: 2\r\n  d:\r\n    e: 1\r\n" },
    { "key in the middle", "a:\n   x: 1 # one\n\n# b\nb: 2\n", EDIT_ADD, "/a/y", "2", "a:\n   x: 1 # one\n   y: 2\n\n# b\nb: 2\n" },
    { "behind comments inside", "a:\n  x:\n    k: 1\n    # more of x\n  # no more\nb: 2\n", EDIT_ADD, "/a/y", "2", "a:\n  x:\n    k: 1\n    # more of x\n  y: 2\n  # no more\nb: 2\n" },
    { "like neighbours in braces", "d:\n  a: {kind: phone, room: hall}\n", EDIT_ADD, "/d/b", "{\"kind\": \"tablet\", \"room\": \"loft\"}", "d:\n  a: {kind: phone, room: hall}\n  b: {kind: tablet, room: loft}\n" },
    { "like neighbours in lines", "d:\n    a:\n        kind: phone\n        says: \"Mia's\"\n        at: [1, 2]\n", EDIT_ADD, "/d/b", "{\"kind\": \"tablet\", \"says\": \"Jo\", \"at\": [3,4]}", "d:\n    a:\n        kind: phone\n        says: \"Mia's\"\n        at: [1, 2]\n    b:\n        kind: tablet\n        says: \"Jo\"\n        at: [3, 4]\n" },
    { "blank lines between neighbours", "d:\n  a:\n    k: 1\n\n  b:\n    k: 2\n\ne: 1\n", EDIT_ADD, "/d/c", "{k: 3}", "d:\n  a:\n    k: 1\n\n  b:\n    k: 2\n\n  c:\n    k: 3\n\ne: 1\n" },
    { "to braces", "a: { b: 1 }\n", EDIT_ADD, "/a/c", "2", "a: { b: 1, c: 2 }\n" },
    { "to braces over lines", "a: {\n  b: 1,\n  c: 2,\n  }\n", EDIT_ADD, "/a/d", "3", "a: {\n  b: 1,\n  c: 2,\n  d: 3,\n  }\n" },
    { "to JSON", "{\"a\":{\"b\":1}}\n", EDIT_ADD, "/a/c", "\"x\"", "{\"a\":{\"b\":1, c: x}}\n" },
    { "to empty braces", "d: {} # none\ne: 1\n", EDIT_ADD, "/d/a", "{k: v}", "d: # none\n  a:\n    k: v\ne: 1\n" },
    { "to nothing", "d:\n\ne: 1\n", EDIT_ADD, "/d/a", "5", "d:\n  a: 5\n\ne: 1\n" },
    { "to nothing, last", "e: 1\nd:", EDIT_ADD, "/d/a", "5", "e: 1\nd:\n  a: 5" },
    { "to an empty file", "", EDIT_ADD, "/a", "1", "a: 1\n" },
    { "to a file of comments", "# only\n", EDIT_ADD, "/a", "1", "# only\na: 1\n" },
    { "to empty braces inside braces", "a: {b: {}}\n", EDIT_ADD, "/a/b/c", "1", "a: {b: {c: 1}}\n" },
    { "to nothing inside braces", "a: {b: , c: 1}\n", EDIT_ADD, "/a/b/d", "1", "a: {b: {d: 1} , c: 1}\n" },
    { "in a compact item", "a:\n  - x: 1\n    y: 2\n  - x: 3\n", EDIT_ADD, "/a/0/z", "[1]", "a:\n  - x: 1\n    y: 2\n    z: [1]\n  - x: 3\n" },
    { "after a text block", "a: |\n  t\n\n\nb: |+\n  u\n\n", EDIT_ADD, "/c", "1", "a: |\n  t\n\n\nb: |+\n  u\n\nc: 1\n" },
    { "a key that needs quotes", "a: 1\n", EDIT_ADD, "/no", "1", "a: 1\n\"no\": 1\n" },
    { "a list of mappings", "a: 1\n", EDIT_ADD, "/u", "[{\"s\":\"ipp\",\"w\":\"p\"},{\"s\":\"dns\"}]", "a: 1\nu:\n  - s: ipp\n    w: p\n  - s: dns\n" },
    { "dashes below the key as elsewhere", "a:\n- 1\n", EDIT_ADD, "/u", "[{\"s\":1}]", "a:\n- 1\nu:\n- s: 1\n" },
    { "block text", "d:\n  a:\n    k: 1\n", EDIT_ADD, "/d/b", "k: 2   # two\nl:\n    - |\n      text\n\n      more\n", "d:\n  a:\n    k: 1\n  b:\n    k: 2   # two\n    l:\n        - |\n          text\n\n          more\n" },
    /* add to a list */
    { "append", "a:\n  - 1\n  - 2 # two\nb: 1\n", EDIT_ADD, "/a/-", "3", "a:\n  - 1\n  - 2 # two\n  - 3\nb: 1\n" },
    { "insert first", "a:\n  - 1\n  - 2\n", EDIT_ADD, "/a/0", "0", "a:\n  - 0\n  - 1\n  - 2\n" },
    { "insert between", "a:\n  - 1\n  # about two\n  - 2\n", EDIT_ADD, "/a/1", "1.5", "a:\n  - 1\n  - 1.5\n  # about two\n  - 2\n" },
    { "insert first in a compact list", "a:\n  - - 1\n    - 2\n", EDIT_ADD, "/a/0/0", "0", "a:\n  - - 0\n    - 1\n    - 2\n" },
    { "append in brackets", "a: [1, 2]\n", EDIT_ADD, "/a/-", "3", "a: [1, 2, 3]\n" },
    { "append in tight brackets", "a: [1,2]\n", EDIT_ADD, "/a/-", "3", "a: [1,2,3]\n" },
    { "insert in brackets", "a: [1, 2]\n", EDIT_ADD, "/a/0", "0", "a: [0, 1, 2]\n" },
    { "append to empty brackets", "a: []\n", EDIT_ADD, "/a/-", "x", "a: [x]\n" },
    { "mapping to empty brackets", "a: []\n", EDIT_ADD, "/a/-", "{k: 1}", "a:\n  - k: 1\n" },
    { "points over lines", "o: [\n  [0, 0],\n  [4, 0]\n  ]\n", EDIT_ADD, "/o/-", "[4,3]", "o: [\n  [0, 0],\n  [4, 0],\n  [4, 3]\n  ]\n" },
    { "item in braces like the others", "u:\n  - { s: ipp, w: a }\n", EDIT_ADD, "/u/-", "{\"s\":\"dns\",\"w\":\"b\"}", "u:\n  - { s: ipp, w: a }\n  - { s: dns, w: b }\n" },
    { "block text as an item", "u:\n  - s: 1\n", EDIT_ADD, "/u/-", "  s: 2\n  t: # c\n    - 3\n", "u:\n  - s: 1\n  - s: 2\n    t: # c\n      - 3\n" },
    { "to empty braces behind a dash", "a:\n- {} # c\n- {}\n", EDIT_ADD, "/a/0/k", "1", "a:\n- # c\n  k: 1\n- {}\n" },
    { "to empty braces behind a dash, no comment", "a:\n- {}\n", EDIT_ADD, "/a/0/k", "1", "a:\n- k: 1\n" },
    /* remove */
    { "key", "a: 1\nb: 2 # gone\nc: 3\n", EDIT_REMOVE, "/b", "", "a: 1\nc: 3\n" },
    { "last key, no newline", "a: 1\nb: 2", EDIT_REMOVE, "/b", "", "a: 1" },
    { "with its lines", "d:\n  # kept\n  a:\n    k: 1\n    # inside\n  b:\n    k: 2\n", EDIT_REMOVE, "/d/a", "", "d:\n  # kept\n  b:\n    k: 2\n" },
    { "the only one", "d: # c\n  a:\n    k: 1\ne: 1\n", EDIT_REMOVE, "/d/a", "", "d: {} # c\ne: 1\n" },
    { "the only item", "d:\n- x\ne: 1\n", EDIT_REMOVE, "/d/0", "", "d: []\ne: 1\n" },
    { "one of several with blank lines", "d:\n  a: 1\n\n  b: 2\n\n  c: 3\n", EDIT_REMOVE, "/d/b", "", "d:\n  a: 1\n\n  c: 3\n" },
    { "first in a compact item", "a:\n  - x: 1\n    y: 2\n", EDIT_REMOVE, "/a/0/x", "", "a:\n  - y: 2\n" },
    { "only one in a compact item", "a:\n  - x: 1\n  - y\n", EDIT_REMOVE, "/a/0/x", "", "a:\n  - {}\n  - y\n" },
    { "item", "a:\n- 1\n- 2\n- 3\n", EDIT_REMOVE, "/a/1", "", "a:\n- 1\n- 3\n" },
    { "first in brackets", "a: [1, 2, 3]\n", EDIT_REMOVE, "/a/0", "", "a: [2, 3]\n" },
    { "last in brackets", "a: [1, 2, 3 ]\n", EDIT_REMOVE, "/a/2", "", "a: [1, 2 ]\n" },
    { "only one in brackets", "a: [ 1 ]\n", EDIT_REMOVE, "/a/0", "", "a: []\n" },
    { "last in brackets behind a comment", "a: [\n  1, # one\n  2, # two\n  ]\n", EDIT_REMOVE, "/a/1", "", "a: [\n  1, # one\n   # two\n  ]\n" },
    { "all of the file", "a: 1\n", EDIT_REMOVE, "/a", "", "{}\n" },
    /* rename */
    { "key", "a: 1\nb: 2 # c\n", EDIT_RENAME, "/b", "bee", "a: 1\nbee: 2 # c\n" },
    { "quoted key", "\"a\": 1\n", EDIT_RENAME, "/a", "b c", "\"b c\": 1\n" },
    { "key in braces", "x: {a: 1, b: 2}\n", EDIT_RENAME, "/x/a", "c", "x: {c: 1, b: 2}\n" },
    /* refused */
    { "no such key", "a: 1\n", EDIT_SET, "/b", "2", NULL },
    { "no such way", "a: 1\n", EDIT_SET, "/b/c", "2", NULL },
    { "inside a word", "a: 1\n", EDIT_SET, "/a/b", "2", NULL },
    { "index too large", "a: [1]\n", EDIT_SET, "/a/1", "2", NULL },
    { "index with a zero in front", "a: [1, 2]\n", EDIT_SET, "/a/01", "2", NULL },
    { "there already", "a: 1\n", EDIT_ADD, "/a", "2", NULL },
    { "renamed onto another", "a: 1\nb: 2\n", EDIT_RENAME, "/a", "b", NULL },
    { "not a path", "a: 1\n", EDIT_SET, "a", "2", NULL },
    { "tilde", "a: 1\n", EDIT_SET, "/a~", "2", NULL },
    { "value is not YAML", "a: 1\n", EDIT_SET, "/a", "[1", NULL },
    { "value has an anchor", "a: 1\n", EDIT_SET, "/a", "&x 1", NULL },
    { "inside an alias", "a: &x {b: 1}\nc: *x\n", EDIT_SET, "/c/b", "2", NULL },
    { "an alias depends on it", "a: &x 1\nc: *x\n", EDIT_SET, "/a", "2", NULL },
    { "an alias depends on it, removed", "d:\n  a: &x 1\nc: *x\n", EDIT_REMOVE, "/d", "", NULL },
    { "file is not YAML", "a: [1\n", EDIT_SET, "/a", "2", NULL },
    { "file is not text", "a: \xff\nb: 1\n", EDIT_SET, "/a", "2", NULL },
    { "twice the same key", "a: 1\na: 2\n", EDIT_SET, "/a", "2", NULL },
    { "an explicit key", "? a\n: 1\n", EDIT_SET, "/a", "2", NULL },
};
/* clang-format on */

/* Prints what differs, so that all rows are seen at once. */
static bool is_text(const struct row *row, const char *what, struct str got, struct str want)
{
    if (!str_eq(got, want))
        print_error("%s, %s:\n--- got\n%.*s\n--- want\n%.*s\n---\n", row->what, what, STR_ARG(got), STR_ARG(want));
    return str_eq(got, want);
}

static bool row_holds(const struct row *row)
{
    struct check_run c = check_run_begin();
    struct arena *a = c.run.arena;
    const struct edit edit = { row->op, str_from(row->path), str_from(row->value) };
    const struct str before = str_from(row->before);
    struct edit_change change = { 0 };
    struct str back = { 0 }, forth = { 0 };
    const enum rt_code code = edit_apply(a, "h.yaml", before, &edit, 1, &change, &c.problems);
    bool ok;
    if (!row->after)
        ok = code != RT_OK && c.problems.n_errors == 1 && !change.bytes.p;
    else
        ok = code == RT_OK && is_text(row, "result", change.bytes, str_from(row->after)) &&
             edit_undo(a, "h.yaml", change.bytes, &change, &back, &c.problems) == RT_OK &&
             is_text(row, "undone", back, before) &&
             edit_redo(a, "h.yaml", back, &change, &forth, &c.problems) == RT_OK &&
             is_text(row, "done again", forth, change.bytes);
    if (!ok) {
        struct buf out = { .arena = a };
        rt_problems_format(&c.problems, &out);
        print_error("row '%s' fails, %s\n%.*s", row->what, rt_code_name(code), STR_ARG(buf_done(&out)));
    }
    check_run_end(&c);
    return ok;
}

TEST(edits_come_out_byte_by_byte)
{
    bool all = true;
    for (size_t i = 0; i < RT_COUNT(ROWS); i++)
        all = row_holds(&ROWS[i]) && all;
    CHECK("all rows", all);
}

TEST(several_edits_are_one_change)
{
    struct check_run c = check_run_begin();
    const struct str before = STR("rooms:\n  hall: {}\ndevices:\n  tv:\n    room: hall\n");
    const struct edit edits[] = {
        { EDIT_RENAME, STR("/rooms/hall"), STR("lounge") },
        { EDIT_SET, STR("/devices/tv/room"), STR("lounge") },
        { EDIT_ADD, STR("/devices/pad"), STR("{ room: lounge }") },
        { EDIT_SET, STR("/devices/pad/room"), STR("nowhere") },
    };
    struct edit_change change;
    CHECK_OK(&c, edit_apply(c.run.arena, "h", before, edits, RT_COUNT(edits), &change, &c.problems));
    CHECK_TEXT("all", change.bytes,
               STR("rooms:\n  lounge: {}\ndevices:\n  tv:\n    room: lounge\n  pad:\n    room: nowhere\n"));
    struct str back;
    CHECK_OK(&c, edit_undo(c.run.arena, "h", change.bytes, &change, &back, &c.problems));
    CHECK_TEXT("undone", back, before);
    CHECK("not undone twice", edit_undo(c.run.arena, "h", back, &change, &back, &c.problems) == RT_CONFLICT);
    check_run_end(&c);
}

TEST(a_wrong_edit_among_right_ones_changes_nothing)
{
    struct check_run c = check_run_begin();
    const struct edit edits[] = {
        { EDIT_SET, STR("/a"), STR("2") },
        { EDIT_SET, STR("/rom"), STR("x") },
    };
    struct edit_change change = { 0 };
    CHECK("code",
          edit_apply(c.run.arena, "h.yaml", STR("a: 1\nroom: 2\n"), edits, 2, &change, &c.problems) == RT_UNKNOWN_REF);
    CHECK("nothing", !change.bytes.p && change.splices.n == 0);
    struct buf out = { .arena = c.run.arena };
    rt_problems_format(&c.problems, &out);
    CHECK_TEXT("message", buf_done(&out), STR("h.yaml:1:1: there is no 'rom' in the file\n    did you mean 'room'?\n"));
    check_run_end(&c);
}

TEST(paths_are_escaped)
{
    struct check_run c = check_run_begin();
    struct buf b = { .arena = c.run.arena };
    edit_path_add(&b, STR("devices"));
    edit_path_add(&b, STR("a/b~c"));
    CHECK_TEXT("RFC 6901, section 3", buf_done(&b), STR("/devices/a~1b~0c"));
    check_run_end(&c);
}

/* Every arena ceiling below what is needed is a clean RT_NOMEM. */
TEST(memory_runs_out_cleanly)
{
    const struct edit edit = { EDIT_ADD, STR("/a/c"), STR("{ k: [1, 2] }") };
    bool has_passed = false;
    for (size_t limit = 64; !has_passed && limit < 1 << 20; limit += 97) {
        struct arena *a = arena_new(limit);
        struct rt_problems p;
        rt_problems_init(&p, a);
        struct edit_change change = { 0 };
        const enum rt_code code = edit_apply(a, "h", STR("a:\n  b: {}\n"), &edit, 1, &change, &p);
        CHECK("RT_NOMEM or done", code == RT_OK || (code == RT_NOMEM && !change.bytes.p));
        has_passed = code == RT_OK;
        arena_free(a);
    }
    CHECK("passes with enough", has_passed);
}

/* The tree of a YAML file: what a word's text is, and that its bytes are those of the file. */
#include "check.h"
#include "house/yaml.h"

#include <string.h>

static const struct yaml_limits LIMITS = { .depth = 6, .aliases = 4, .items = 20, .weight = 200 };

static const struct yaml_node *read_text(struct check_run *c, const char *text, enum rt_code *code)
{
    const struct yaml_node *root = NULL;
    *code = yaml_read(c->run.arena, "t.yaml", str_from(text), &LIMITS, &root, &c->problems);
    return root;
}

/* Every node's bytes lie in the file and in its parent; a word not in quotes stands there as its text says. */
static void check_bytes(struct str bytes, const struct yaml_node *node)
{
    CHECK("bytes in the file", node->at.byte + node->at.n <= bytes.n && node->at.byte <= node->end);
    if (node->kind == YAML_WORD && !node->is_quoted && !node->is_null)
        CHECK_TEXT("bytes", ((struct str){ bytes.p + node->at.byte, node->at.n }), node->text);
    for (uint32_t i = 0; i < node->items.n; i++)
        check_bytes(bytes, node->items.v[i]);
    for (uint32_t i = 0; i < node->pairs.n; i++) {
        check_bytes(bytes, node->pairs.v[i].key);
        check_bytes(bytes, node->pairs.v[i].value);
    }
}

TEST(words_keep_their_bytes)
{
    /* After YAML 1.2.2, sections 7.3 and 8.1: quoting, folding, blocks. */
    static const char TEXT[] = "plain: a word # and a comment\n"
                               "single: 'it''s'\n"
                               "double: \"a\\tb\\u00e9\"\n"
                               "gar\xc3\xa7on: {x: 1, \"y z\": [2, 3]}\n"
                               "block: |\n  one\n  two\n"
                               "folded: >\n  one\n  two\n"
                               "nothing:\n"
                               "tilde: ~\n"
                               "quoted_tilde: '~'\n";
    struct check_run c = check_run_begin();
    enum rt_code code;
    const struct yaml_node *root = read_text(&c, TEXT, &code);
    CHECK_OK(&c, code);
    CHECK_TEXT("plain", yaml_get(root, "plain")->text, STR("a word"));
    CHECK_TEXT("single", yaml_get(root, "single")->text, STR("it's"));
    CHECK_NEAR("its bytes, quotes included", (double)yaml_get(root, "single")->at.n, 7, 0, "");
    CHECK_TEXT("double", yaml_get(root, "double")->text, STR("a\tb\xc3\xa9"));
    CHECK_TEXT("block", yaml_get(root, "block")->text, STR("one\ntwo\n"));
    CHECK_TEXT("folded", yaml_get(root, "folded")->text, STR("one two\n"));
    CHECK("nothing", yaml_get(root, "nothing")->is_null && yaml_get(root, "nothing")->at.line == 11);
    CHECK("tilde", yaml_get(root, "tilde")->is_null && !yaml_get(root, "quoted_tilde")->is_null);
    const struct yaml_node *flow = yaml_get(root, "gar\xc3\xa7on");
    CHECK("flow", flow && flow->is_flow && flow->at.line == 4);
    CHECK_NEAR("columns count letters, not bytes", flow->at.col, 9, 0, "");
    CHECK_NEAR("items", yaml_get(flow, "y z")->items.n, 2, 0, "");
    check_bytes(str_from(TEXT), root);
    check_run_end(&c);
}

TEST(byte_order_mark_and_line_ends)
{
    static const char TEXT[] = "\xef\xbb\xbf"
                               "a: 1\r\nb: two\r\n";
    struct check_run c = check_run_begin();
    enum rt_code code;
    const struct yaml_node *root = read_text(&c, TEXT, &code);
    CHECK_OK(&c, code);
    CHECK("place of a", root->pairs.v[0].key->at.line == 1 && root->pairs.v[0].key->at.col == 1);
    CHECK_TEXT("no carriage return", yaml_get(root, "b")->text, STR("two"));
    CHECK("place of b", yaml_get(root, "b")->at.line == 2 && yaml_get(root, "b")->at.col == 4);
    check_bytes(str_from(TEXT), root);
    check_run_end(&c);
}

TEST(json_reads)
{
    struct check_run c = check_run_begin();
    enum rt_code code;
    const struct yaml_node *root = read_text(&c, "{\"a\": [1, {\"b\": \"x\"}], \"c\": true}", &code);
    CHECK_OK(&c, code);
    CHECK_TEXT("b", yaml_get(yaml_get(root, "a")->items.v[1], "b")->text, STR("x"));
    check_run_end(&c);
}

TEST(an_alias_repeats_its_value_where_it_stands)
{
    struct check_run c = check_run_begin();
    enum rt_code code;
    const struct yaml_node *root = read_text(&c, "a: &x [1, 2]\nb: *x\n", &code);
    CHECK_OK(&c, code);
    const struct yaml_node *b = yaml_get(root, "b");
    CHECK("items", b->kind == YAML_LIST && b->items.n == 2 && str_is(b->items.v[1]->text, "2"));
    CHECK("place", b->at.line == 2 && b->at.col == 4 && b->at.n == 2);
    check_run_end(&c);
}

TEST(what_is_refused)
{
    static const struct {
        const char *text;
        enum rt_code code;
        uint32_t line, col;
        const char *told;
    } CASES[] = {
        { "a: 1\na: 2\n", RT_SHAPE, 2, 1, "'a' is given twice; it stands in line 1 already" },
        { "a: 1\n\"a\": 2\n", RT_SHAPE, 2, 1, "'a' is given twice; it stands in line 1 already" },
        { "a: !x b\n", RT_SYNTAX, 1, 4, "tags (!) are not used in this format" },
        { "a: *x\n", RT_SYNTAX, 1, 4, "'*x' repeats a value that has no anchor '&x'" },
        { "a: &x [*x]\n", RT_SYNTAX, 1, 8, "'*x' repeats a value that has no anchor '&x'" },
        { "[a]: 1\n", RT_SYNTAX, 1, 1, "a key must be a word, not a list or mapping" },
        { "a: 1\n---\nb: 2\n", RT_SYNTAX, 2, 1, "a second document begins here" },
        { "a: [[[[[[1]]]]]]\n", RT_LIMIT, 1, 9, "lists or mappings are nested deeper than 6 levels" },
        { "a: [1,2,3,4,5,6,7,8,9,0,1,2,3,4,5,6,7,8,9,0,1]\n", RT_LIMIT, 1, 45, "more than 20 items in one list" },
        { "a: &a 1\nb: [*a,*a,*a,*a,*a]\n", RT_LIMIT, 2, 17, "more than 4 aliases (*) in the file" },
        { "a\n b: 1\n", RT_SYNTAX, 2, 2, NULL },
        { "a: \"x\n", RT_SYNTAX, 1, 5, NULL },
        { "a: [1, 2\n", RT_SYNTAX, 2, 1, NULL },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        enum rt_code code;
        const struct yaml_node *root = read_text(&c, CASES[i].text, &code);
        CHECK(CASES[i].text, code == CASES[i].code && c.problems.list.n == 1);
        CHECK(CASES[i].text, (root != NULL) == (code == RT_SHAPE));
        const struct rt_problem *p = &c.problems.list.v[0];
        if (CASES[i].told) {
            CHECK_TEXT(CASES[i].text, str_from(p->msg), str_from(CASES[i].told));
            CHECK_NEAR(CASES[i].text, p->at.line, CASES[i].line, 0, "line");
            CHECK_NEAR(CASES[i].text, p->at.col, CASES[i].col, 0, "column");
        }
        check_run_end(&c);
    }
}

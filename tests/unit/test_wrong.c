/* What a householder is told about a wrong file: exactly this.
 *
 * tests/golden/wrong/NAME.yaml holds a house (NAME begins with parts_: a parts file), a line "--- expect", and the text
 * that must come out.  RT_GOLDEN_UPDATE=1 writes what does come out: read the difference before it is kept. */
#include "check.h"

#include <glob.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "house/house.h"
#include "reach/policy.h"

enum { CASES_LEAST = 60, CASE_BYTES_MAX = 65536 };

static const char MARK[] = "--- expect\n";

static struct str told(struct check_run *c, bool is_parts, struct str bytes, enum rt_code *code)
{
    struct house *h = NULL;
    struct parts parts;
    struct address_plan *plan = NULL;
    *code = is_parts ? parts_read_bytes(&c->run, "parts.yaml", bytes, &parts, &c->problems)
                     : house_read_bytes(&c->run, "house.yaml", bytes, &h, &c->problems);
    if (h)
        *code = addresses_plan(&c->run, h, &plan, &c->problems);
    struct policy *policy;
    if (h && !*code)
        *code = policy_compile(&c->run, plan, &policy, &c->problems);
    struct buf out = { .arena = c->run.arena };
    rt_problems_format(&c->problems, &out);
    return buf_done(&out);
}

/* Every error names a file, and says something. */
static bool are_well_formed(const struct check_run *c)
{
    bool ok = c->problems.n_errors > 0;
    for (uint32_t i = 0; i < c->problems.list.n; i++) {
        const struct rt_problem *p = &c->problems.list.v[i];
        ok = ok && p->at.file && strlen(p->msg) > 8;
    }
    return ok;
}

static bool case_holds(const char *path)
{
    struct check_run c = check_run_begin();
    struct str all = { 0 };
    CHECK_OK(&c, file_read(c.run.arena, path, CASE_BYTES_MAX, &all, &c.problems));
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    const char *mark = memmem(all.p, all.n, MARK, sizeof MARK - 1);
    const size_t n_house = mark ? (size_t)(mark - all.p) : all.n;
    const struct str want = { all.p + n_house + sizeof MARK - 1, mark ? all.n - n_house - (sizeof MARK - 1) : 0 };
    enum rt_code code;
    const struct str got = told(&c, strncmp(name, "parts_", 6) == 0, (struct str){ all.p, n_house }, &code);
    bool ok = code != RT_OK && are_well_formed(&c) && code == c.problems.list.v[0].code;
    if (!ok)
        print_error("%s: refused with %s, %u errors\n", name, rt_code_name(code), (unsigned)c.problems.n_errors);
    if (getenv("RT_GOLDEN_UPDATE")) {
        struct buf out = { .arena = c.run.arena };
        buf_add(&out, all.p, n_house);
        buf_text(&out, MARK);
        buf_str(&out, got);
        CHECK_OK(&c, file_write(path, buf_done(&out), 0644, &c.problems));
    } else if (!mark || !str_eq(got, want)) {
        print_error("%s:\n--- got\n%.*s\n--- want\n%.*s\n---\n", name, STR_ARG(got), STR_ARG(want));
        ok = false;
    }
    check_run_end(&c);
    return ok;
}

/* Parts files of the cases are named from the folder of the cases, and so is the house. */
TEST(wrong_files_are_told_apart_in_these_words)
{
    struct check_run c = check_run_begin();
    CHECK("folder", chdir(check_path(&c, "tests/golden/wrong")) == 0);
    glob_t found = { 0 };
    CHECK("cases", glob("*.yaml", 0, NULL, &found) == 0 && found.gl_pathc >= CASES_LEAST);
    bool all = true;
    for (size_t i = 0; i < found.gl_pathc; i++)
        all = case_holds(found.gl_pathv[i]) && all;
    print_message("    %zu wrong files\n", (size_t)found.gl_pathc);
    globfree(&found);
    CHECK("all cases", all);
    check_run_end(&c);
}

/* ---- files too odd or too large to be kept ---- */

static void check_told(struct str bytes, enum rt_code want_code, const char *want)
{
    struct check_run c = check_run_begin();
    enum rt_code code;
    const struct str got = told(&c, false, bytes, &code);
    CHECK_TEXT("told", got, str_from(want));
    CHECK("code", code == want_code);
    check_run_end(&c);
}

TEST(a_file_that_is_no_text)
{
    static const char ELF[] = "\177ELF\2\1\1\0\0\0\0\0\0\0\0\0\3\0>\0\1";
    static const char UTF_16[] = "\xff\xfer\0o\0o\0f\0t\0r\0e\0e\0:\0 \0001\0";
    static const char CUT_LETTER[] = "rooftree: 1\nname: Caf\xc3";
    static const char BELL[] = "rooftree: 1\nname: a\ab\n";
    check_told((struct str){ ELF, sizeof ELF - 1 }, RT_SYNTAX,
               "house.yaml:1:1: the control character 0x7f has no place in a text file\n"
               "     ELF              >  \n"
               "    ^\n"
               "    is it a text file? if so, delete the character\n");
    check_told((struct str){ UTF_16, sizeof UTF_16 - 1 }, RT_SYNTAX,
               "house.yaml:1:1: the byte 0xff is not UTF-8: this is not a text file, or one in another encoding\n"
               "    ??r o o f t r e e :   1 \n"
               "    ^\n"
               "    save the file as UTF-8 text\n");
    check_told((struct str){ CUT_LETTER, sizeof CUT_LETTER - 1 }, RT_SYNTAX,
               "house.yaml:2:10: the byte 0xc3 is not UTF-8: this is not a text file, or one in another encoding\n"
               "    name: Caf?\n"
               "             ^\n"
               "    save the file as UTF-8 text\n");
    check_told((struct str){ BELL, sizeof BELL - 1 }, RT_SYNTAX,
               "house.yaml:2:8: the control character 0x07 has no place in a text file\n"
               "    name: a b\n"
               "           ^\n"
               "    is it a text file? if so, delete the character\n");
}

TEST(an_empty_file)
{
    check_told(STR(""), RT_SHAPE,
               "house.yaml: the file is empty\n"
               "    begin it with 'rooftree: 1'\n");
}

TEST(a_file_of_100_megabytes)
{
    struct arena *a = arena_new((size_t)400 << 20);
    struct buf b = { .arena = a };
    buf_text(&b, "rooftree: 1\n");
    buf_fill(&b, '#', 100 * 1000 * 1000);
    check_told(buf_done(&b), RT_LIMIT, "house.yaml: the file is larger than 4 MiB, the most this program reads\n");
    arena_free(a);
}

TEST(lists_nested_without_end)
{
    struct check_run c = check_run_begin();
    struct buf b = { .arena = c.run.arena };
    buf_text(&b, "rooftree: 1\nname: ");
    buf_fill(&b, '[', 100000);
    check_told(
        buf_done(&b), RT_LIMIT,
        "house.yaml:2:30: lists or mappings are nested deeper than 24 levels\n"
        "    name: "
        "[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[\n"
        "                                 ^\n"
        "    no key of the format needs it\n");
    check_run_end(&c);
}

TEST(aliases_that_multiply)
{
    struct check_run c = check_run_begin();
    struct buf b = { .arena = c.run.arena };
    buf_text(&b, "a0: &a0 [x, x, x, x, x, x, x, x, x]\n");
    for (int i = 1; i < 12; i++)
        buf_printf(&b, "a%d: &a%d [*a%d, *a%d, *a%d, *a%d, *a%d]\n", i, i, i - 1, i - 1, i - 1, i - 1, i - 1);
    check_told(buf_done(&b), RT_LIMIT,
               "house.yaml:8:25: more than 500000 values in the file\n"
               "    a7: &a7 [*a6, *a6, *a6, *a6, *a6]\n"
               "                            ^^^\n"
               "    write less with aliases\n");
    check_run_end(&c);
}

TEST(more_rooms_than_any_house_has)
{
    struct check_run c = check_run_begin();
    struct buf b = { .arena = c.run.arena };
    buf_text(&b, "rooftree: 1\nrooms:\n");
    for (int i = 0; i <= HOUSE_MAX_ITEMS; i++)
        buf_printf(&b, "  r%d: { floor: g, outline: [[0, 0], [1, 0], [1, 1]] }\n", i);
    check_told(buf_done(&b), RT_LIMIT,
               "house.yaml:5003:10: more than 5000 items in one list\n"
               "      r5000: { floor: g, outline: [[0, 0], [1, 0], [1, 1]] }\n"
               "             ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^\n"
               "    split it up\n");
    check_run_end(&c);
}

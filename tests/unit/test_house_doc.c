/* docs/house_file.md: its example reads as it stands, and its tables of keys are those of the reader.  With
 * RT_GOLDEN_UPDATE=1 the tables are written. */
#include "base/file.h"
#include "check.h"
#include "house/field_int.h"

#include <stdlib.h>
#include <string.h>

static struct str document(struct check_run *c)
{
    struct str text = { 0 };
    CHECK_OK(c, file_read(c->run.arena, check_path(c, "docs/house_file.md"), 1 << 20, &text, &c->problems));
    return text;
}

/* What stands between two lines, the lines left out. */
static struct str between(struct str text, const char *from, const char *to)
{
    const char *a = text.p ? strstr(text.p, from) : NULL;
    a = a ? strchr(a, '\n') : NULL;
    const char *b = a ? strstr(a + 1, to) : NULL;
    CHECK(from, b != NULL);
    return (struct str){ a + 1, (size_t)(b - a) - 1 };
}

TEST(the_example_reads)
{
    struct check_run c = check_run_begin();
    const struct str example = between(document(&c), "```yaml", "```\n");
    struct house *h = NULL;
    CHECK_OK(&c, house_read_bytes(&c.run, check_path(&c, "houses/example.house.yaml"), example, &h, &c.problems));
    CHECK("without a warning", c.problems.list.n == 0);
    CHECK("all of it", h->rooms.n == 2 && h->walls.n == 2 && h->equipment.n == 1 && h->promises.n == 2);
    check_run_end(&c);
}

TEST(the_limits_are_those_of_the_reader)
{
    struct check_run c = check_run_begin();
    struct buf want = { .arena = c.run.arena };
    buf_printf(
        &want,
        "The file is at most %d MiB, with %d,000 values in all, %d,000 in a list, %d points in an outline, lists and "
        "mappings %d deep, and\n%d repeated values.",
        HOUSE_MAX_BYTES >> 20, HOUSE_MAX_VALUES / 1000, HOUSE_MAX_ITEMS / 1000, FIELD_POINTS_MAX, HOUSE_MAX_DEPTH,
        HOUSE_MAX_ALIASES);
    CHECK(want.p, strstr(document(&c).p, want.p) != NULL);
    check_run_end(&c);
}

static void replace(struct buf *out, struct str text, struct str part, struct str by)
{
    const size_t before = (size_t)(part.p - text.p);
    buf_add(out, text.p, before);
    buf_str(out, by);
    buf_add(out, part.p + part.n, text.n - before - part.n);
}

static void check_keys(const char *mark, void (*write)(struct buf *out))
{
    struct check_run c = check_run_begin();
    const struct str text = document(&c);
    const struct str have = between(text, mark, "<!-- end -->");
    struct buf want = { .arena = c.run.arena };
    buf_char(&want, '\n');
    write(&want);
    if (getenv("RT_GOLDEN_UPDATE")) {
        struct buf all = { .arena = c.run.arena };
        replace(&all, text, have, buf_done(&want));
        CHECK_OK(&c, file_write(check_path(&c, "docs/house_file.md"), buf_done(&all), 0644, &c.problems));
    } else {
        CHECK_TEXT("docs/house_file.md (RT_GOLDEN_UPDATE=1 writes it)", have, buf_done(&want));
    }
    check_run_end(&c);
}

TEST(keys_of_the_house_file) { check_keys("<!-- keys of the house file -->", house_write_reference); }
TEST(keys_of_the_parts_file) { check_keys("<!-- keys of the parts file -->", parts_write_reference); }

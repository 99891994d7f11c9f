#include "base/file.h"

#include <dirent.h>
#include <stdlib.h>
#include <unistd.h>

#include "check.h"

/* A folder of its own for a test. */
static char *make_folder(struct check_run *c)
{
    char *folder = arena_printf(c->run.arena, "%s/rooftree-file-XXXXXX", getenv("TMPDIR") ? getenv("TMPDIR") : "/tmp");
    if (!mkdtemp(folder))
        fail_msg("no folder for the test");
    return folder;
}

static unsigned entries(const char *folder)
{
    DIR *d = opendir(folder);
    unsigned n = 0;
    while (readdir(d))
        n++;
    closedir(d);
    return n - 2;
}

TEST(what_is_written_is_read)
{
    struct check_run c = check_run_begin();
    const char *folder = make_folder(&c), *path = arena_printf(c.run.arena, "%s/a", folder);
    struct str back;
    CHECK_OK(&c, file_write(path, STR("one\0two"), 0600, &c.problems));
    CHECK_OK(&c, file_read(c.run.arena, path, 100, &back, &c.problems));
    CHECK_TEXT("bytes", back, STR("one\0two"));
    CHECK_NEAR("no temporary file stays", entries(folder), 1, 0, "files");
    unlink(path);
    rmdir(folder);
    check_run_end(&c);
}

TEST(trouble_is_told_and_leaves_nothing_behind)
{
    struct check_run c = check_run_begin();
    const char *folder = make_folder(&c);
    struct str back;
    CHECK("no file",
          file_read(c.run.arena, arena_printf(c.run.arena, "%s/none", folder), 9, &back, &c.problems) == RT_IO);
    CHECK("a folder", file_read(c.run.arena, folder, 9, &back, &c.problems) == RT_IO);
    const char *path = arena_printf(c.run.arena, "%s/a", folder);
    CHECK_OK(&c, file_write(path, STR("0123456789"), 0600, &c.problems));
    CHECK("too large", file_read(c.run.arena, path, 9, &back, &c.problems) == RT_LIMIT);
    CHECK("just fits", file_read(c.run.arena, path, 10, &back, &c.problems) == RT_OK);
    const char *nowhere = arena_printf(c.run.arena, "%s/none/a", folder);
    CHECK("no such folder", file_write(nowhere, STR("x"), 0600, &c.problems) == RT_IO);
    CHECK("over a folder", file_write(folder, STR("x"), 0600, &c.problems) == RT_IO);
    CHECK_NEAR("files", entries(folder), 1, 0, "files");
    CHECK_NEAR("each told once", c.problems.n_errors, 5, 0, "problems");
    unlink(path);
    rmdir(folder);
    check_run_end(&c);
}

TEST(folders_are_made_with_their_parents)
{
    struct check_run c = check_run_begin();
    const char *folder = make_folder(&c), *deep = arena_printf(c.run.arena, "%s/x/y", folder);
    CHECK_OK(&c, file_check_folder(deep, &c.problems));
    CHECK_NEAR("nothing is made by asking", entries(folder), 0, 0, "files");
    CHECK_OK(&c, file_make_folder(deep, &c.problems));
    CHECK_OK(&c, file_make_folder(deep, &c.problems));
    CHECK_OK(&c, file_check_folder(deep, &c.problems));
    CHECK_OK(&c, file_check_folder("name_alone", &c.problems));
    CHECK_NEAR("nor in what is there", entries(deep), 0, 0, "files");
    const char *file = arena_printf(c.run.arena, "%s/f", deep);
    CHECK_OK(&c, file_write(file, STR(""), 0600, &c.problems));
    CHECK("a file is no folder", file_make_folder(file, &c.problems) == RT_IO);
    CHECK("and nothing goes into it", file_check_folder(file, &c.problems) == RT_IO);
    CHECK("nor below it", file_check_folder(arena_printf(c.run.arena, "%s/below", file), &c.problems) == RT_IO);
    CHECK("no name", file_check_folder("", &c.problems) == RT_IO);
    unlink(file);
    rmdir(deep);
    rmdir(arena_printf(c.run.arena, "%s/x", folder));
    rmdir(folder);
    check_run_end(&c);
}

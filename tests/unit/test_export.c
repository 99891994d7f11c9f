/* The folder of an export, and exports with little memory.  What the files say is judged by
 * test_export.py and test_export_linux.py. */
#include <errno.h>
#include <signal.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/file.h"
#include "check.h"
#include "reach/export.h"

static const char QUAY[] = "houses/quay_flat.house.yaml";

/* Every ceiling below what is needed is a clean RT_NOMEM, in each form. */
TEST(little_memory_is_an_error)
{
    uint32_t n;
    const struct export_form *forms = export_forms(&n);
    struct check_run c = check_run_begin();
    const char *path = check_path(&c, QUAY);
    for (uint32_t i = 0; i < n; i++) {
        if (!forms[i].make)
            continue; /* made of more than the network: test_settings.c */
        enum rt_code code = RT_NOMEM;
        unsigned stops = 0;
        for (size_t limit = 64 * 1024; code == RT_NOMEM; limit += limit / 12, stops++) {
            struct arena *a = arena_new(limit);
            struct run run = c.run;
            struct rt_problems problems;
            struct house *h;
            struct export_house x;
            struct export_folder out = { .arena = a };
            run.arena = a;
            rt_problems_init(&problems, a);
            code = house_read(&run, path, &h, &problems);
            if (!code)
                code = export_prepare(&run, h, NULL, false, &x, &problems);
            if (!code)
                code = forms[i].make(&x, &out, &problems);
            CHECK("whole or not at all", code == RT_NOMEM || (code == RT_OK && out.files.n && !out.failed));
            arena_free(a);
        }
        CHECK(forms[i].name, code == RT_OK && stops > 5);
    }
    check_run_end(&c);
}

TEST(forms_are_found_by_name)
{
    CHECK("linux", export_form_find(STR("linux")) && strcmp(export_form_find(STR("linux"))->name, "linux") == 0);
    CHECK("sheet", export_form_find(STR("sheet")) && !export_form_find(STR("sheet"))->make);
    CHECK("none", !export_form_find(STR("windows")) && !export_form_find(STR("")));
}

/* ---- writing ---- */

static struct export_folder some_files(struct arena *a, char mark, uint32_t n)
{
    struct export_folder out = { .arena = a };
    for (uint32_t i = 0; i < n; i++) {
        struct buf b = export_begin(&out);
        buf_fill(&b, mark, 1000);
        export_end(&out, &b, i ? 0644 : 0600, "sub%u/file%u", i % 3, i);
    }
    return out;
}

/* The mark that all files of the folder bear; 0: they differ, or one is missing. */
static char mark_of(struct arena *a, const char *folder, uint32_t n)
{
    char mark = 0;
    for (uint32_t i = 0; i < n; i++) {
        struct rt_problems quiet;
        struct str s = { 0 };
        rt_problems_init(&quiet, a);
        if (file_read(a, arena_printf(a, "%s/sub%u/file%u", folder, i % 3, i), 1 << 20, &s, &quiet) || s.n != 1000 ||
            (mark && s.p[0] != mark))
            return 0;
        mark = s.p[0];
    }
    return mark;
}

static void remove_all(struct arena *a, const char *folder)
{
    CHECK("removed", system(arena_printf(a, "rm -rf '%s'", folder)) == 0);
}

TEST(modes_are_as_asked)
{
    struct check_run c = check_run_begin();
    char top[] = "/tmp/export_test_XXXXXX";
    struct stat st;
    CHECK("folder", mkdtemp(top) != NULL);
    const char *folder = arena_printf(c.run.arena, "%s/new/out/", top);
    const struct export_folder files = some_files(c.run.arena, 'a', 4);
    CHECK_OK(&c, export_write(c.run.arena, &files, folder, &c.problems));
    CHECK("secret", stat(arena_printf(c.run.arena, "%s/sub0/file0", folder), &st) == 0 && (st.st_mode & 07777) == 0600);
    CHECK("plain", stat(arena_printf(c.run.arena, "%s/sub1/file1", folder), &st) == 0 && (st.st_mode & 07777) == 0644);
    CHECK("folder", stat(folder, &st) == 0 && (st.st_mode & 07777) == 0755);
    remove_all(c.run.arena, top);
    check_run_end(&c);
}

/* A process that is killed at any instant leaves the old folder or the new one. */
TEST(killed_at_any_instant)
{
    enum { N = 40, TIMES = 60 };
    struct check_run c = check_run_begin();
    char top[] = "/tmp/export_test_XXXXXX";
    CHECK("folder", mkdtemp(top) != NULL);
    const char *folder = arena_printf(c.run.arena, "%s/out", top);
    const struct export_folder files = some_files(c.run.arena, 'a', N);
    CHECK_OK(&c, export_write(c.run.arena, &files, folder, &c.problems));
    for (unsigned i = 0; i < TIMES; i++) {
        int ready[2];
        CHECK("pipe", pipe(ready) == 0);
        const pid_t child = fork();
        CHECK("fork", child >= 0);
        if (child == 0) {
            const struct export_folder again = some_files(c.run.arena, (char)('b' + i % 20), N);
            (void)!write(ready[1], "x", 1);
            _exit(export_write(c.run.arena, &again, folder, &c.problems));
        }
        char x;
        CHECK("begun", read(ready[0], &x, 1) == 1);
        usleep(i * 300); /* somewhere in its work, or behind it */
        kill(child, SIGKILL);
        CHECK("ended", waitpid(child, NULL, 0) == child);
        close(ready[0]);
        close(ready[1]);
        CHECK("one of them, whole", mark_of(c.run.arena, folder, N) != 0);
    }
    remove_all(c.run.arena, top);
    check_run_end(&c);
}

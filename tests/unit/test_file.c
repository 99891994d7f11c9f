/* Saving: at every instant the file is the old one or the new one, and nothing piles up beside it.  The rules checked
 * are POSIX.1-2017's for rename() (the name refers to the old or the new file throughout) and open() with O_CREAT. */
#include "check.h"

#include <dirent.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/file.h"

enum { KILLS = 200, MAX_BYTES = 1 << 20 };

struct folder {
    struct check_run c;
    char path[64], file[96];
};

static struct folder folder_new(void)
{
    struct folder f = { .c = check_run_begin(), .path = "/tmp/rooftree-test-XXXXXX" };
    if (!mkdtemp(f.path))
        fail_msg("no folder for the test");
    snprintf(f.file, sizeof f.file, "%s/h.house.yaml", f.path);
    return f;
}

/* Names in the folder, and removes them when asked. */
static unsigned count_files(const struct folder *f, bool and_remove)
{
    unsigned n = 0;
    DIR *d = opendir(f->path);
    for (const struct dirent *e; d && (e = readdir(d));) {
        if (strcmp(e->d_name, ".") == 0 || strcmp(e->d_name, "..") == 0)
            continue;
        n++;
        if (and_remove)
            unlinkat(dirfd(d), e->d_name, 0);
    }
    closedir(d);
    return n;
}

static void folder_end(struct folder *f)
{
    count_files(f, true);
    rmdir(f->path);
    check_run_end(&f->c);
}

static struct str read_back(struct folder *f)
{
    struct str s = { 0 };
    CHECK_OK(&f->c, file_read(f->c.run.arena, f->file, MAX_BYTES, &s, &f->c.problems));
    return s;
}

static struct str filled(struct arena *a, char with, size_t n)
{
    char *p = arena_alloc(a, n + 1, 1);
    memset(p, with, n);
    return (struct str){ p, n };
}

static void sleep_ns(uint32_t ns) { nanosleep(&(struct timespec){ .tv_nsec = (long)ns }, NULL); }

TEST(a_save_killed_at_any_instant_leaves_the_old_or_the_new_file)
{
    struct folder f = folder_new();
    const struct str old = filled(f.c.run.arena, 'a', 120000), new = filled(f.c.run.arena, 'b', 70000);
    struct random r = { .seed = 7 };
    unsigned n_old = 0, n_new = 0, n_left = 0;
    CHECK_OK(&f.c, file_write(f.file, old, 0644, &f.c.problems));
    for (int i = 0; i < KILLS; i++) {
        int started[2];
        CHECK("pipe", pipe(started) == 0);
        const pid_t child = fork();
        if (child == 0)
            for (bool is_new = true;; is_new = !is_new)
                if (file_write(f.file, is_new ? new : old, 0644, &f.c.problems) || write(started[1], "", 1) != 1)
                    _exit(1);
        char byte;
        CHECK("it saves", read(started[0], &byte, 1) == 1);
        sleep_ns(random_below(&r, 4000000));
        kill(child, SIGKILL);
        int status = 0;
        waitpid(child, &status, 0);
        close(started[0]);
        close(started[1]);
        CHECK("saves until it is killed", WIFSIGNALED(status));
        const struct arena_mark mark = arena_mark(f.c.run.arena);
        const struct str now = read_back(&f);
        const bool is_old = str_eq(now, old), is_new = str_eq(now, new);
        CHECK("entirely old or entirely new", is_old || is_new);
        n_old += is_old;
        n_new += is_new;
        arena_reset(f.c.run.arena, mark);
        const unsigned n = count_files(&f, false);
        CHECK("at most one temporary file, however often it happened", n <= 2);
        n_left += n == 2;
    }
    print_message("    %u times old, %u times new, %u times a temporary file left\n", n_old, n_new, n_left);
    CHECK("the kills fell on both sides, or the test shows nothing", n_old && n_new && n_left);
    CHECK_OK(&f.c, file_write(f.file, old, 0644, &f.c.problems));
    CHECK("the next save takes the left-over away", count_files(&f, false) == 1);
    CHECK_TEXT("saved", read_back(&f), old);
    folder_end(&f);
}

/* Each child adds 1 to the figure in the file, again and again; a lost update would show in the sum. */
TEST(changes_of_several_processes_are_never_lost)
{
    enum { CHILDREN = 4, ROUNDS = 25 };
    struct folder f = folder_new();
    CHECK_OK(&f.c, file_write(f.file, STR("0"), 0644, &f.c.problems));
    for (int k = 0; k < CHILDREN; k++) {
        if (fork() != 0)
            continue;
        for (int done = 0; done < ROUNDS;) {
            struct arena *a = arena_new(1 << 20);
            struct rt_problems p;
            rt_problems_init(&p, a);
            struct str seen = { 0 };
            if (file_read(a, f.file, MAX_BYTES, &seen, &p))
                _exit(1);
            const char *next = arena_printf(a, "%ld", strtol(seen.p, NULL, 10) + 1);
            const enum rt_code code = file_replace(a, f.file, seen, str_from(next), &p);
            if (code && code != RT_CONFLICT)
                _exit(1);
            done += code == RT_OK;
            arena_free(a);
        }
        _exit(0);
    }
    bool ok = true;
    for (int k = 0, status; k < CHILDREN; k++)
        ok = wait(&status) > 0 && WIFEXITED(status) && WEXITSTATUS(status) == 0 && ok;
    CHECK("all children finish", ok);
    CHECK_TEXT("none lost", read_back(&f), STR("100"));
    CHECK("nothing left", count_files(&f, false) == 1);
    folder_end(&f);
}

TEST(a_file_changed_by_somebody_else_is_not_overwritten)
{
    struct folder f = folder_new();
    CHECK_OK(&f.c, file_write(f.file, STR("theirs"), 0644, &f.c.problems));
    CHECK("same length", file_replace(f.c.run.arena, f.file, STR("mine 1"), STR("x"), &f.c.problems) == RT_CONFLICT);
    CHECK("other length", file_replace(f.c.run.arena, f.file, STR(""), STR("x"), &f.c.problems) == RT_CONFLICT);
    CHECK_TEXT("untouched", read_back(&f), STR("theirs"));
    CHECK_OK(&f.c, file_replace(f.c.run.arena, f.file, STR("theirs"), STR("ours"), &f.c.problems));
    CHECK_TEXT("replaced", read_back(&f), STR("ours"));
    unlink(f.file);
    CHECK("gone", file_replace(f.c.run.arena, f.file, STR("ours"), STR("x"), &f.c.problems) == RT_IO);
    CHECK("not made again", count_files(&f, false) == 0);
    folder_end(&f);
}

TEST(mode_and_links_stay)
{
    struct folder f = folder_new();
    char link[96];
    struct stat st = { 0 };
    snprintf(link, sizeof link, "%s/link", f.path);
    CHECK_OK(&f.c, file_write(f.file, STR("1"), 0640, &f.c.problems));
    CHECK("new: the mode asked for", stat(f.file, &st) == 0 && (st.st_mode & 0777) == 0640);
    chmod(f.file, 0604);
    CHECK("link made", symlink("h.house.yaml", link) == 0);
    CHECK_OK(&f.c, file_write(link, STR("2"), 0600, &f.c.problems));
    CHECK("old: its own mode", stat(f.file, &st) == 0 && (st.st_mode & 0777) == 0604);
    CHECK("still a link", lstat(link, &st) == 0 && S_ISLNK(st.st_mode));
    CHECK_TEXT("followed", read_back(&f), STR("2"));
    folder_end(&f);
}

/* What stands under the temporary file's name must never be written through. */
TEST(nothing_is_written_through_a_trap)
{
    struct folder f = folder_new();
    char temp[96], other[96];
    snprintf(temp, sizeof temp, "%s/.h.house.yaml.saving", f.path);
    snprintf(other, sizeof other, "%s/other", f.path);
    CHECK_OK(&f.c, file_write(other, STR("precious"), 0644, &f.c.problems));
    CHECK("hard link", link(other, temp) == 0);
    CHECK_OK(&f.c, file_write(f.file, STR("1"), 0644, &f.c.problems));
    CHECK("symbolic link", symlink("other", temp) == 0);
    CHECK_OK(&f.c, file_write(f.file, STR("2"), 0644, &f.c.problems));
    CHECK("pipe", mkfifo(temp, 0600) == 0);
    CHECK_OK(&f.c, file_write(f.file, STR("3"), 0644, &f.c.problems));
    CHECK_TEXT("saved", read_back(&f), STR("3"));
    struct str s;
    CHECK_OK(&f.c, file_read(f.c.run.arena, other, MAX_BYTES, &s, &f.c.problems));
    CHECK_TEXT("untouched", s, STR("precious"));
    CHECK("a folder in its place", mkdir(temp, 0700) == 0);
    CHECK("is an error", file_write(f.file, STR("4"), 0644, &f.c.problems) == RT_IO);
    rmdir(temp);
    folder_end(&f);
}

/* A rehearsal leaves nothing behind, however it ends: the program is killed or interrupted in the middle of one.
 *
 * This test takes in the orphans of the program (PR_SET_CHILD_SUBREAPER), so when it has no children left, every process of the
 * rehearsal is gone, and with the last of them its namespaces: they have no names by which they could outlive it. */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "check.h"

enum { PATH_MAX_LEN = 512, LOOK_EVERY_MS = 5, NOBODY = 65534 };

/* How the program is started. */
struct start {
    bool as_nobody;
};

static void nap(void)
{
    const struct timespec t = { 0, LOOK_EVERY_MS * 1000000L };
    nanosleep(&t, NULL);
}

/* Its outputs go to the end of a pipe that is returned in *out. */
static pid_t start_program(struct check_run *c, struct start how, int *out)
{
    int ends[2];
    const char *program = getenv("RT_PROGRAM"), *house = check_path(c, "houses/larch_end.house.yaml");
    assert_non_null(program);
    assert_int_equal(pipe2(ends, O_CLOEXEC), 0);
    const pid_t pid = fork();
    if (pid == 0) {
        dup2(ends[1], STDOUT_FILENO);
        dup2(ends[1], STDERR_FILENO);
        if (how.as_nobody && (setgid(NOBODY) != 0 || setuid(NOBODY) != 0))
            _exit(126);
        execl(program, program, "rehearse", house, (char *)NULL);
        _exit(127);
    }
    close(ends[1]);
    *out = ends[0];
    return pid;
}

/* The namespace of a process, or "" when there is no such process. */
static void namespace_of(pid_t pid, char out[PATH_MAX_LEN])
{
    char path[64];
    snprintf(path, sizeof path, "/proc/%d/ns/net", (int)pid);
    const ssize_t n = readlink(path, out, PATH_MAX_LEN - 1);
    out[n > 0 ? n : 0] = '\0';
}

static pid_t parent_of(pid_t pid)
{
    char path[64], text[512];
    int parent = 0;
    snprintf(path, sizeof path, "/proc/%d/stat", (int)pid);
    FILE *f = fopen(path, "re");
    if (!f)
        return 0;
    const size_t n = fread(text, 1, sizeof text - 1, f);
    fclose(f);
    text[n] = '\0';
    const char *end = strrchr(text, ')'); /* the name before it may hold anything */
    return end && sscanf(end + 1, " %*c %d", &parent) == 1 ? (pid_t)parent : 0;
}

/* A child of the program that is in a network of its own by now; 0: none yet. */
static pid_t child_apart(pid_t program)
{
    char own[PATH_MAX_LEN], theirs[PATH_MAX_LEN];
    namespace_of(getpid(), own);
    DIR *processes = opendir("/proc");
    pid_t found = 0;
    for (struct dirent *e; processes && !found && (e = readdir(processes));) {
        const pid_t pid = (pid_t)strtol(e->d_name, NULL, 10);
        if (pid <= 0 || parent_of(pid) != program)
            continue;
        namespace_of(pid, theirs);
        if (theirs[0] && strcmp(theirs, own) != 0)
            found = pid;
    }
    if (processes)
        closedir(processes);
    return found;
}

static void names_in(const char *folder, struct buf *out)
{
    DIR *d = opendir(folder);
    for (struct dirent *e; d && (e = readdir(d));)
        buf_printf(out, "%s ", e->d_name);
    if (d)
        closedir(d);
    buf_text(out, ".");
}

/* What a rehearsal might leave: interfaces of the machine, namespaces with names. */
static struct str left_over(struct check_run *c)
{
    struct buf out = { .arena = c->run.arena };
    names_in("/sys/class/net", &out);
    names_in("/run/netns", &out);
    return buf_done(&out);
}

static const char *read_all(struct check_run *c, int fd)
{
    struct buf out = { .arena = c->run.arena };
    char bytes[1024];
    for (ssize_t n; (n = read(fd, bytes, sizeof bytes)) > 0;)
        buf_add(&out, bytes, (size_t)n);
    close(fd);
    return out.p ? out.p : "";
}

static bool skips(const char *said)
{
    if (!strstr(said, "namespace") || !strstr(said, "allow"))
        return false;
    print_message("skipped: %s", said);
    return true;
}

/* Starts it, waits until its network stands apart, sends the signal, and waits for every process of it.  Returns the program's
 * own status; -1: it ended by itself before, as where namespaces are forbidden. */
static int interrupted_by(struct check_run *c, int number, const char **said)
{
    int out, status = 0, own = -1;
    assert_int_equal(prctl(PR_SET_CHILD_SUBREAPER, 1), 0);
    const struct str before = left_over(c);
    const pid_t program = start_program(c, (struct start){ 0 }, &out);
    while (!child_apart(program)) {
        if (waitpid(program, &status, WNOHANG) == program) {
            *said = read_all(c, out);
            return -1;
        }
        nap();
    }
    for (unsigned i = 0; i < 40; i++) /* into the middle of it */
        nap();
    kill(program, number);
    for (pid_t pid; (pid = wait(&status)) > 0 || errno == EINTR;)
        if (pid == program)
            own = status;
    CHECK("no process is left", errno == ECHILD);
    CHECK_TEXT("interfaces and named namespaces as before", left_over(c), before);
    *said = read_all(c, out);
    return own;
}

TEST(nothing_is_left_after_a_kill)
{
    struct check_run c = check_run_begin();
    const char *said;
    const int status = interrupted_by(&c, SIGKILL, &said);
    if (status == -1 && skips(said))
        skip();
    CHECK("it was killed in the middle", WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
    check_run_end(&c);
}

TEST(nothing_is_left_after_an_interrupt)
{
    struct check_run c = check_run_begin();
    const char *said;
    const int status = interrupted_by(&c, SIGINT, &said);
    if (status == -1 && skips(said))
        skip();
    CHECK("it ended by itself", WIFEXITED(status));
    CHECK_NEAR("status", WEXITSTATUS(status), 2, 0, "");
    CHECK("it says so", strstr(said, "stopped") != NULL);
    check_run_end(&c);
}

static int runs_to_the_end(struct check_run *c, struct start how, const char **said)
{
    int out, status = 0;
    const pid_t program = start_program(c, how, &out);
    *said = read_all(c, out);
    assert_int_equal(waitpid(program, &status, 0), program);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

/* The shell's words in a user namespace of the test's own, where limits can be set without touching the machine's. */
static int run_in_user_namespace(struct check_run *c, const char *first, const char **said)
{
    const char *program = getenv("RT_PROGRAM"), *house = check_path(c, "houses/quay_flat.house.yaml");
    assert_non_null(program);
    FILE *f = popen(
        arena_printf(c->run.arena, "unshare -Urm sh -c '%s && exec %s rehearse %s' 2>&1", first, program, house), "re");
    assert_non_null(f);
    char text[2000];
    const size_t n = fread(text, 1, sizeof text - 1, f);
    text[n] = '\0';
    *said = arena_printf(c->run.arena, "%s", text);
    const int status = pclose(f);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

TEST(what_is_missing_is_told)
{
    static const struct {
        const char *first, *says;
    } ROWS[] = {
        { "echo 0 > /proc/sys/user/max_net_namespaces", "no network namespaces (user.max_net_namespaces is 0)" },
        { "mount --bind /dev/null $(command -v nft || echo /usr/sbin/nft)", "the program `nft`" },
    };
    struct check_run c = check_run_begin();
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        const char *said;
        const int status = run_in_user_namespace(&c, ROWS[i].first, &said);
        if (strncmp(said, "unshare:", 8) == 0) {
            print_message("skipped: %s", said);
            skip();
        }
        CHECK_NEAR("status", status, 2, 0, "");
        CHECK(ROWS[i].says, strstr(said, ROWS[i].says) != NULL);
    }
    check_run_end(&c);
}

/* Not as root: where the kernel lets users have namespaces. */
TEST(a_user_may_rehearse)
{
    struct check_run c = check_run_begin();
    const char *said, *program = getenv("RT_PROGRAM");
    const int status = runs_to_the_end(&c, (struct start){ .as_nobody = geteuid() == 0 }, &said);
    if (status == 127 || status == 126) {
        print_message("skipped: nobody may not start %s\n", program);
        skip();
    }
    if (status == 2 && skips(said))
        skip();
    CHECK_NEAR("status", status, 0, 0, "");
    CHECK("all as proven", strstr(said, "The kernel does what is proven") != NULL);
    check_run_end(&c);
}

#include "reach/rehearse_apart.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include "reach/rehearse_stage.h"

enum { LOOK_EVERY_MS = 50 };

/* What the child tells its parent. */
struct told {
    atomic_int code; /* enum rt_code; -1 while it works */
    bool has_problem, has_hint;
    char msg[1000], hint[400];
    atomic_uint share_permille;
    char doing[64];
};

void *apart_memory(size_t n)
{
    void *m = mmap(NULL, n ? n : 1, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    return m == MAP_FAILED ? NULL : m;
}

void apart_memory_free(void *memory, size_t n)
{
    if (memory)
        munmap(memory, n ? n : 1);
}

/* ---- in the child ---- */

static void tell_progress(void *user, const char *what, double share_done)
{
    struct told *told = user;
    snprintf(told->doing, sizeof told->doing, "%s", what);
    atomic_store(&told->share_permille, (unsigned)(share_done * 1000.0));
}

static _Noreturn void child(const struct run *run, apart_work *work, void *user, struct told *told, pid_t parent)
{
    /* The parent hears Ctrl-C and decides. */
    (void)signal(SIGINT, SIG_IGN);
    (void)signal(SIGTERM, SIG_IGN);
    (void)signal(SIGPIPE, SIG_IGN);
    struct run own = *run;
    own.cancel = NULL;
    own.progress = (struct progress){ tell_progress, told };
    struct rt_problems problems;
    rt_problems_init(&problems, run->arena);
    enum rt_code code = stage_leave_host(&problems);
    /* Asked for after the change of user namespace, which may undo it; a parent gone by then is noticed. */
    if (prctl(PR_SET_PDEATHSIG, SIGKILL) != 0 || getppid() != parent)
        _exit(1);
    if (code == RT_OK)
        code = work(user, &own, &problems);
    if (problems.list.n) {
        told->has_problem = true;
        told->has_hint = problems.list.v[0].hint != NULL;
        snprintf(told->msg, sizeof told->msg, "%s", problems.list.v[0].msg);
        snprintf(told->hint, sizeof told->hint, "%s", told->has_hint ? problems.list.v[0].hint : "");
    }
    atomic_store(&told->code, (int)code);
    _exit(0);
}

/* ---- in the parent ---- */

static void wait_for(const struct run *run, pid_t pid, struct told *told)
{
    const int fd = (int)syscall(SYS_pidfd_open, pid, 0);
    for (;;) {
        struct pollfd ended = { .fd = fd, .events = POLLIN };
        const int n = poll(&ended, fd >= 0, LOOK_EVERY_MS);
        if (run_is_cancelled(run))
            kill(pid, SIGKILL);
        siginfo_t info = { 0 };
        if (n > 0 || waitid(P_PID, (id_t)pid, &info, WEXITED | WNOHANG | WNOWAIT) != 0 || info.si_pid == pid)
            break;
        if (told->doing[0])
            run_report(run, told->doing, (double)atomic_load(&told->share_permille) / 1000.0);
    }
    if (fd >= 0)
        close(fd);
    while (waitpid(pid, NULL, 0) < 0 && errno == EINTR)
        continue;
}

enum rt_code apart_run(const struct run *run, apart_work *work, void *user, struct rt_problems *p)
{
    struct told *told = apart_memory(sizeof *told);
    if (!told)
        return rt_fail_memory(p);
    atomic_store(&told->code, -1);
    const pid_t parent = getpid(), pid = fork();
    if (pid == 0)
        child(run, work, user, told, parent);
    if (pid > 0)
        wait_for(run, pid, told);
    const int ended = atomic_load(&told->code);
    enum rt_code code = ended < 0 ? RT_IO : (enum rt_code)ended;
    if (pid > 0 && run_is_cancelled(run))
        code = rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped before the end");
    else if (pid < 0)
        code = rt_fail(p, RT_MISSING, RT_NOWHERE, NULL, "no process can be started for the rehearsal");
    else if (ended < 0)
        code = rt_fail(p, RT_IO, RT_NOWHERE, "run it again", "the rehearsal's process ended before its time");
    else if (code && told->has_problem)
        code = rt_fail(p, code, RT_NOWHERE, told->has_hint ? arena_printf(run->arena, "%s", told->hint) : NULL, "%s",
                       told->msg);
    apart_memory_free(told, sizeof *told);
    return code;
}

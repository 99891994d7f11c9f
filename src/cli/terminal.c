#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include "cli/command.h"

enum { COLUMNS_USUAL = 100, COLUMNS_MOST = 160 };

void cli_look_at_terminal(struct cli *cli)
{
    struct winsize size;
    const bool is_terminal = isatty(STDOUT_FILENO);
    const char *columns = getenv("COLUMNS"), *no_color = getenv("NO_COLOR");
    cli->columns = COLUMNS_USUAL;
    if (is_terminal && ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
        cli->columns = size.ws_col;
    else if (columns && strtoul(columns, NULL, 10) > 0)
        cli->columns = (unsigned)strtoul(columns, NULL, 10);
    if (cli->columns > COLUMNS_MOST)
        cli->columns = COLUMNS_MOST;
    cli->colour = is_terminal && !(no_color && *no_color);
}

int cli_print(struct cli *cli, const struct buf *text, int status)
{
    cli_unwatch();
    if (text->failed) {
        (void)rt_fail_memory(&cli->problems);
        return cli_problems(cli, EXIT_TROUBLE);
    }
    if (fwrite(text->p ? text->p : "", 1, text->n, stdout) != text->n || fflush(stdout) != 0) {
        fprintf(stderr, "rooftree: cannot write the output: %s\n", strerror(errno));
        return EXIT_TROUBLE;
    }
    return status;
}

int cli_problems(struct cli *cli, int status)
{
    cli_unwatch();
    struct buf out = { .arena = cli->problems.arena };
    rt_problems_format(&cli->problems, &out);
    if (out.n && fwrite(out.p, 1, out.n, stderr) != out.n)
        return EXIT_TROUBLE;
    return cli->problems.n_errors ? EXIT_TROUBLE : status;
}

/* ---- progress and Ctrl-C ---- */

/* The one thing of the program that a signal handler must be able to reach. */
static atomic_bool stop_asked;
static bool line_is_shown;

static void on_interrupt(int number)
{
    if (atomic_exchange(&stop_asked, true)) {
        signal(number, SIG_DFL); /* asked twice: go at once */
        raise(number);
    }
}

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

struct watch {
    double started_s, shown_s;
};

static void show_progress(void *user, const char *what, double share_done)
{
    struct watch *w = user;
    const double t = now_s();
    if (t - w->started_s < 1.0 || t - w->shown_s < 0.1)
        return;
    w->shown_s = t;
    line_is_shown = true;
    fprintf(stderr, "\r%-40.40s %3.0f %%", what, share_done * 100.0);
}

void cli_watch(struct cli *cli)
{
    struct sigaction action = { .sa_handler = on_interrupt };
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
    cli->run.cancel = &stop_asked;
    struct watch *w = ARENA_NEW(cli->run.arena, struct watch);
    if (!w || !isatty(STDERR_FILENO))
        return;
    *w = (struct watch){ .started_s = now_s() };
    cli->run.progress = (struct progress){ show_progress, w };
}

void cli_unwatch(void)
{
    if (line_is_shown)
        fprintf(stderr, "\r%50s\r", "");
    line_is_shown = false;
}

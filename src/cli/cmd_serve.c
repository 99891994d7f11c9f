#include <spawn.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/units.h"
#include "cli/command.h"
#include "web/server.h"

extern char **environ;

/* The page's files: where they were installed, or beside the program that was just built. */
static const char *page_folder(struct arena *a)
{
    char self[4096];
    struct stat st;
    const ssize_t n = readlink("/proc/self/exe", self, sizeof self - 1);
    if (n > 0) {
        self[n] = '\0';
        char *slash = strrchr(self, '/');
        const char *beside = slash ? arena_printf(a, "%.*s/page", (int)(slash - self), self) : NULL;
        if (beside && stat(beside, &st) == 0 && S_ISDIR(st.st_mode))
            return beside;
    }
    return RT_PAGE_FOLDER;
}

/* The desktop's own way to open a link, where there is a desktop. */
static bool open_link(const char *link)
{
    static char opener[] = "xdg-open";
    pid_t child;
    char kept[200];
    if (!getenv("DISPLAY") && !getenv("WAYLAND_DISPLAY"))
        return false;
    snprintf(kept, sizeof kept, "%s", link);
    char *const words[] = { opener, kept, NULL };
    return posix_spawnp(&child, opener, NULL, NULL, words, environ) == 0;
}

static void wait_for_stop(const struct run *run)
{
    const struct timespec a_moment = { .tv_nsec = 200000000 };
    while (!run_is_cancelled(run))
        nanosleep(&a_moment, NULL);
}

int cmd_serve(struct cli *cli)
{
    struct server *server = NULL;
    const struct server_options options = { .path = cli->args.file ? cli->args.file : ".",
                                            .page = cli->args.page ? cli->args.page : page_folder(cli->run.arena),
                                            .port = (uint16_t)given_or(cli->args.port, 0) };
    if (server_start(&cli->run, &options, &server, &cli->problems) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    const char *link = server_link(server);
    struct buf out = { .arena = cli->run.arena };
    buf_printf(&out, "%s\n", link ? link : "");
    int status = cli_print(cli, &out, EXIT_KEPT);
    if (!cli->args.no_open && !open_link(link))
        fprintf(stderr, "open this link in a browser on this machine; it works once.  Ctrl-C stops the server.\n");
    wait_for_stop(&cli->run);
    server_stop(server);
    return cli_problems(cli, status);
}

#include <spawn.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "base/units.h"
#include "cli/command.h"
#include "web/server.h"

extern char **environ;

/* A folder that stands so from the program's own, if the program was just built and not installed; NULL: there is none. */
static const char *folder_beside(struct arena *a, const char *way)
{
    char self[4096];
    struct stat st;
    const ssize_t n = readlink("/proc/self/exe", self, sizeof self - 1);
    if (n <= 0)
        return NULL;
    self[n] = '\0';
    const char *slash = strrchr(self, '/');
    const char *beside = slash ? arena_printf(a, "%.*s/%s", (int)(slash - self), self, way) : NULL;
    return beside && stat(beside, &st) == 0 && S_ISDIR(st.st_mode) ? beside : NULL;
}

static const char *page_folder(struct arena *a)
{
    const char *built = folder_beside(a, "page");
    return built ? built : RT_DATA_FOLDER "/page";
}

/* The demo houses and parts, to begin from. */
static const char *demos_folder(struct arena *a)
{
    const char *source = folder_beside(a, "../parts");
    return source ? arena_printf(a, "%.*s", (int)(strlen(source) - strlen("/parts")), source) : RT_DATA_FOLDER;
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

/* The first line of the file; a file that others may read is said to be one. */
static enum rt_code read_password(struct cli *cli, struct str *out)
{
    struct stat st;
    struct rt_problems *p = &cli->problems;
    RT_TRY(file_read(cli->run.arena, cli->args.password_file, 4096, out, p));
    for (size_t i = 0; i < out->n; i++)
        if (out->p[i] == '\n' || out->p[i] == '\r')
            out->n = i;
    if (!out->n)
        return rt_fail(p, RT_USAGE, RT_NOWHERE, "write the password on its first line", "%s holds no password",
                       cli->args.password_file);
    if (stat(cli->args.password_file, &st) == 0 && (st.st_mode & 077))
        rt_warn(p, RT_USAGE, RT_NOWHERE, "chmod 600 keeps it yours", "other users of this machine can read %s",
                cli->args.password_file);
    return RT_OK;
}

/* With --listen: the file's password, or one made now, which is told once. */
static enum rt_code ask_password(struct cli *cli, struct server_options *options, char made[PASSWORD_MADE])
{
    if (!cli->args.listen && (cli->args.password_file || cli->args.name))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "say with --listen ADDRESS where to listen",
                       "a password or a name is of use only where others may come in");
    if (!cli->args.listen)
        return RT_OK;
    if (cli->args.password_file)
        return read_password(cli, &options->password);
    RT_TRY(password_make(made, &cli->problems));
    options->password = str_from(made);
    return RT_OK;
}

static void warn_beyond(const char *made)
{
    if (made[0])
        fprintf(stderr, "password: %s\nIt was made for this start and is told only now.\n", made);
    fprintf(stderr,
            "Nothing of what goes over that network is encrypted: whoever sees its traffic can read the password and\n"
            "all else, and take over.  Do this in your own house alone, and stop it (Ctrl-C) when you are done.\n");
}

int cmd_serve(struct cli *cli)
{
    struct server *server = NULL;
    char made[PASSWORD_MADE] = "";
    struct server_options options = { .path = cli->args.file ? cli->args.file : ".",
                                      .page = cli->args.page ? cli->args.page : page_folder(cli->run.arena),
                                      .demos = demos_folder(cli->run.arena),
                                      .port = (uint16_t)given_or(cli->args.port, 0),
                                      .listen = cli->args.listen,
                                      .names = cli->args.name };
    if (ask_password(cli, &options, made) != RT_OK ||
        server_start(&cli->run, &options, &server, &cli->problems) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    const char *link = server_link(server), *beyond = server_link_beyond(server);
    struct buf out = { .arena = cli->run.arena };
    buf_printf(&out, "%s\n", link ? link : "");
    if (beyond)
        buf_printf(&out, "%s\n", beyond);
    int status = cli_print(cli, &out, EXIT_KEPT);
    if (beyond)
        warn_beyond(made);
    explicit_bzero(made, sizeof made);
    if (!cli->args.no_open && !open_link(link))
        fprintf(stderr, "open this link in a browser on this machine; it works once.  Ctrl-C stops the server.\n");
    wait_for_stop(&cli->run);
    server_stop(server);
    return cli_problems(cli, status);
}

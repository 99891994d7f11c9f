/* rooftree - plans, proves and keeps the data network of a house. */
#include <omp.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "cli/command.h"

static int fail_unknown_command(struct cli *cli, const char *name)
{
    size_t n;
    const struct command *c = commands(&n);
    struct str names[32];
    for (size_t i = 0; i < n && i < RT_COUNT(names); i++)
        names[i] = str_from(c[i].name);
    const size_t near = str_nearest(str_from(name), names, n);
    rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE,
            near < n ? arena_printf(cli->run.arena, "did you mean `rooftree %s`?", c[near].name)
                     : "rooftree help lists the commands",
            "there is no command `%s`", name);
    return cli_problems(cli, EXIT_TROUBLE);
}

static int run_command(struct cli *cli, int argc, char **argv)
{
    const char *name = argc > 1 ? argv[1] : "help";
    if (strcmp(name, "--help") == 0 || strcmp(name, "-h") == 0)
        name = "help";
    if (strcmp(name, "--version") == 0)
        name = "version";
    const struct command *c = command_find(name);
    if (!c)
        return fail_unknown_command(cli, name);
    if (args_parse(c, argc > 2 ? argc - 2 : 0, argv + 2, &cli->args, &cli->problems) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    if (cli->args.help) {
        struct buf out = { .arena = cli->run.arena };
        help_command(c, &out);
        return cli_print(cli, &out, EXIT_KEPT);
    }
    cli->run.n_threads = cli->args.threads > 0 ? (int)cli->args.threads : omp_get_num_procs();
    cli_watch(cli);
    return c->run(cli);
}

int main(int argc, char **argv)
{
    struct cli cli = { .run = { .arena = arena_new((size_t)ARENA_DEFAULT_LIMIT_MB << 20),
                                .seed = 1,
                                .n_threads = 1,
                                .now_s = time(NULL) } };
    if (!cli.run.arena) {
        fprintf(stderr, "rooftree: the system has no memory left\n");
        return EXIT_TROUBLE;
    }
    rt_problems_init(&cli.problems, cli.run.arena);
    cli_look_at_terminal(&cli);
    const int status = run_command(&cli, argc, argv);
    arena_free(cli.run.arena);
    return status;
}

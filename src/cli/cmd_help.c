#include <string.h>

#include "cli/command.h"

int cmd_help(struct cli *cli)
{
    struct buf out = { .arena = cli->run.arena };
    const char *form = cli->args.form ? cli->args.form : "text";
    const struct command *c = cli->args.file ? command_find(cli->args.file) : NULL;
    if (cli->args.file && !c) {
        rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "rooftree help lists the commands", "there is no command `%s`",
                cli->args.file);
        return cli_problems(cli, EXIT_TROUBLE);
    }
    if (c)
        help_command(c, &out);
    else if (strcmp(form, "man") == 0)
        help_manual_page(&out);
    else if (strcmp(form, "bash") == 0)
        help_completion(&out);
    else if (strcmp(form, "markdown") == 0)
        help_markdown(&out);
    else
        help_overview(&out);
    return cli_print(cli, &out, EXIT_KEPT);
}

int cmd_version(struct cli *cli)
{
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json)
        buf_text(&out, "{\"name\": \"rooftree\", \"version\": \"" RT_VERSION "\"}\n");
    else
        buf_text(&out, "rooftree " RT_VERSION "\n");
    return cli_print(cli, &out, EXIT_KEPT);
}
